"""``boomwright sound``: how a build sounds over frequency, what limits it, and what ears take."""

from __future__ import annotations

import json as json_text
from pathlib import Path

import typer

from boomwright.cli.opening import opened
from boomwright.cli.sound.heard import heard_of
from boomwright.errors import InputError
from boomwright.outcome.run import run_build

__all__ = ["show_sound"]


def show_sound(
    file: Path, *, driver: str, json: bool, output: Path | None, parts: Path | None
) -> None:
    """Print the sound of a build, and write its charts if a name for them is given.

    Parameters
    ----------
    file : Path
        The build file.
    driver : str
        The one driver to show; all together if empty.
    json : bool
        Print data instead of words.
    output : Path or None
        An HTML page, or a folder, for the charts.
    parts : Path or None
        Own parts, laid over the drawer.

    Raises
    ------
    InputError
        If the build, the driver or the name cannot be used.
    WriteError
        If something cannot be written.
    """
    from boomwright.cli.sound.show import print_sound, sound_values

    if output is not None:
        from boomwright.cli.sound.files import output_problems

        if problems := output_problems(output):
            raise InputError(problems)
    build, drawer = opened(file, parts)
    heard = heard_of(build, run_build(build, drawer=drawer), driver=driver)
    written = []
    if output is not None:
        from boomwright.cli.sound.files import write_sound

        written = write_sound(output, heard)
    if json:
        values = {"file": str(file), **sound_values(heard), "written": written}
        typer.echo(json_text.dumps(values, ensure_ascii=False, indent=2, allow_nan=False))
        return
    print_sound(heard, file=str(file), written=written)
