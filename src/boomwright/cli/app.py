"""The command ``boomwright`` and its verbs."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from boomwright.cli.design.app import design_app
from boomwright.cli.identify.app import identify_app

__all__ = ["app", "main"]

app = typer.Typer(
    name="boomwright",
    help="The workbench for battery-powered sound: one build file in, an honest verdict out.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

app.add_typer(design_app, name="design")
app.add_typer(identify_app, name="identify")

FileArgument = Annotated[Path, typer.Argument(metavar="FILE", help="The build file.")]
PartsOption = Annotated[
    Path | None, typer.Option("--parts", help="A file of your own parts, laid over the drawer.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print data instead of words.")]


def _version(wanted: bool) -> None:
    if wanted:
        from boomwright import __version__

        typer.echo(f"boomwright {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    pass


@app.command()
def check(
    file: FileArgument,
    json: JsonOption = False,
    full: Annotated[
        bool, typer.Option("--full", help="With --json: every number of the run as well.")
    ] = False,
    brief: Annotated[
        bool, typer.Option("--brief", help="Only the verdict and the four answers.")
    ] = False,
    fix: Annotated[
        list[str] | None,
        typer.Option(
            "--fix",
            metavar="ID",
            help="Mend a finding in the file, then check it again; 'all-safe' mends every finding "
            "whose mending brings no new one to stop. 'undo' takes it back.",
        ),
    ] = None,
    effects: Annotated[
        bool,
        typer.Option(
            "--effects/--no-effects", help="Work out what mending each finding would change."
        ),
    ] = True,
    parts: PartsOption = None,
) -> None:
    """Say how loud, how long, how hot and how safe a build is.

    Exit code: 0 fine or mind, 1 something must stop, 2 the file cannot be used.
    """
    if fix:
        from boomwright.cli.mend import mend_file

        raise typer.Exit(mend_file(file, fix, json=json, parts=parts))
    from boomwright.cli.check import check_file

    raise typer.Exit(
        check_file(file, json=json, full=full, brief=brief, effects=effects, parts=parts)
    )


@app.command()
def sound(
    file: FileArgument,
    driver: Annotated[
        str, typer.Option("--driver", metavar="NAME", help="Only this driver of the build.")
    ] = "",
    output: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--output",
            metavar="NAME",
            help="Write the charts: one page if it ends in .html, else a folder of pictures.",
        ),
    ] = None,
    json: JsonOption = False,
    parts: PartsOption = None,
) -> None:
    """Show how a build sounds, what limits it at each frequency, and what ears take."""
    from boomwright.cli.sound.app import show_sound

    show_sound(file, driver=driver, json=json, output=output, parts=parts)


@app.command()
def undo(
    file: FileArgument,
    redo: Annotated[
        bool, typer.Option("--redo", help="Put back what was last taken back.")
    ] = False,
    json: JsonOption = False,
) -> None:
    """Take the last mending of a build file back."""
    from boomwright.cli.mend import undo_file

    undo_file(file, redo=redo, json=json)


@app.command()
def compare(
    first: Annotated[Path, typer.Argument(metavar="A", help="A build file.")],
    second: Annotated[Path, typer.Argument(metavar="B", help="Another one.")],
    json: JsonOption = False,
    parts: PartsOption = None,
) -> None:
    """Say what differs between two builds, in the file and in the outcome."""
    from boomwright.cli.compare import compare_files

    compare_files(first, second, json=json, parts=parts)


@app.command()
def explain(
    what: Annotated[
        str, typer.Argument(metavar="WHAT", help="A finding's id or a quantity; none lists them.")
    ] = "",
    file: Annotated[
        Path | None, typer.Option("--of", metavar="FILE", help="A build, for its own numbers.")
    ] = None,
    json: JsonOption = False,
    parts: PartsOption = None,
) -> None:
    """Show the law, equation, source and numbers behind a finding or a figure."""
    from boomwright.cli.explain import explain_what

    explain_what(what, file=file, json=json, parts=parts)


@app.command()
def new(
    file: Annotated[Path | None, typer.Argument(metavar="FILE", help="The file to write.")] = None,
    start: Annotated[
        str, typer.Option("--from", metavar="NAME", help="Starting point; --list shows them.")
    ] = "lead-acid",
    name: Annotated[str, typer.Option(help="What the build is called.")] = "",
    ask: Annotated[bool, typer.Option("--ask", help="Ask one question after the other.")] = False,
    replace: Annotated[
        bool, typer.Option("--replace", help="Write over a file that is there already.")
    ] = False,
    show: Annotated[bool, typer.Option("--list", help="List the starting points.")] = False,
    json: JsonOption = False,
) -> None:
    """Write a short, commented build file to start from."""
    from boomwright.cli.new import list_starts, new_file

    if show:
        list_starts(json=json)
        return
    new_file(file, start=start, name=name, ask=ask, replace=replace, json=json)


@app.command()
def drawer(
    kind: Annotated[str, typer.Argument(metavar="KIND", help="Kind of part.")] = "",
    part: Annotated[str, typer.Argument(metavar="PART", help="Name of a part.")] = "",
    json: JsonOption = False,
    parts: PartsOption = None,
) -> None:
    """Look into the parts drawer: its kinds, the parts of a kind, or one part."""
    from boomwright.cli.drawer import show_drawer

    show_drawer(kind, part, json=json, parts=parts)


@app.command()
def programme(
    files: Annotated[
        list[Path],
        typer.Argument(metavar="FILES", help="Sound files, or folders of them."),
    ],
    build: Annotated[
        Path | None,
        typer.Option("--build", metavar="BUILD", help="A build that shall play it, for a look."),
    ] = None,
    put: Annotated[
        Path | None,
        typer.Option("--put", metavar="BUILD", help="Write it into a build, which then plays it."),
    ] = None,
    title: Annotated[str, typer.Option(help="What the music is called.")] = "",
    chart: Annotated[
        Path | None,
        typer.Option(metavar="CHART", help="Draw it, as .svg, .html, .pdf or .png."),
    ] = None,
    json: JsonOption = False,
    parts: PartsOption = None,
) -> None:
    """Measure your own music: how loud, how peaky, where its sound lies.

    Reads WAV, FLAC, OGG and MP3. With --build it says how loud and how long the build plays it at a
    few settings of the volume, and how often it clips there.
    """
    from boomwright.cli.programme.app import ProgrammeRequest, measure_and_show

    measure_and_show(ProgrammeRequest(files, put, build, title, chart, json, parts))


@app.command()
def schema() -> None:
    """Print the JSON Schema of a build file."""
    from boomwright.cli.schema import print_schema

    print_schema()


def main() -> None:
    """Run the command; every error ends in words and an exit code, never in a traceback."""
    from boomwright.errors import BoomwrightError

    try:
        app()
    except BoomwrightError as error:
        typer.echo(_words(error), err=True)
        sys.exit(error.exit_code)
    except KeyboardInterrupt:
        typer.echo("stopped", err=True)
        sys.exit(130)
    except BrokenPipeError:
        # The reader of the output has left, as `head` does; there is nobody to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    except Exception as error:
        if os.environ.get("BOOMWRIGHT_DEBUG"):
            raise
        typer.echo(
            f"Boomwright itself went wrong: {type(error).__name__}: {error}\n"
            "Your files are as they were. BOOMWRIGHT_DEBUG=1 shows where it happened.",
            err=True,
        )
        sys.exit(70)


def _words(error: Exception) -> str:
    from boomwright.errors import InputError

    if not isinstance(error, InputError):
        return str(error)
    count = len(error.problems)
    head = "1 thing to put right" if count == 1 else f"{count} things to put right"
    return "\n".join([f"{head}:", *(f"  {problem}" for problem in error.problems)])
