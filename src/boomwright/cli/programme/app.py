"""``boomwright programme``: the user's own music, measured, and the build that plays it."""

from __future__ import annotations

import json as json_text
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import typer
from rich.text import Text

from boomwright.bench.music.analysis import blocks_of, measure
from boomwright.bench.music.reading import read_header, sound_files
from boomwright.bench.music.remarks import remarks_of
from boomwright.bench.music.table import music_of, table_values, title_of
from boomwright.build.drawer import Drawer
from boomwright.build.edit import Value, with_values
from boomwright.build.history import file_text, write_kept
from boomwright.build.locate import Path as TomlPath
from boomwright.build.model import Build
from boomwright.build.music import Music
from boomwright.build.quantities import format_quantity
from boomwright.build.read import parse_build
from boomwright.cli.chart_file import chart_problems, write_chart
from boomwright.cli.opening import opened
from boomwright.cli.programme.show import print_programme, print_volumes, programme_data
from boomwright.cli.show import console, steps_shown
from boomwright.errors import InputError, Problem
from boomwright.outcome.volumes import Volume, volumes_of
from boomwright.physics.programme import load_programmes

__all__ = ["ProgrammeRequest", "measure_and_show", "put_music"]

_LONGEST_TITLE = 200


@dataclass(frozen=True)
class ProgrammeRequest:
    """What was asked for on the command line, as it was written."""

    given: Sequence[Path]
    put: Path | None
    build: Path | None
    title: str
    chart: Path | None
    json: bool
    parts: Path | None


def measure_and_show(request: ProgrammeRequest) -> None:
    """Measure, print, and write what was asked for.

    Parameters
    ----------
    request : ProgrammeRequest
        The command line.

    Raises
    ------
    InputError
        With everything that cannot be used.
    WriteError
        If something cannot be written.
    """
    files, builds = _checked(request)
    with steps_shown(blocks_of(files)) as steps:
        analysis = measure(files, step=steps.step)
    music = music_of(analysis, request.title or title_of(request.given, files))
    volumes: tuple[Volume, ...] = ()
    build = None
    if request.build is not None:
        build, drawer = builds[request.build]
        build = build.model_copy(update={"music": music})
        volumes = volumes_of(build, drawer=drawer)
    written = _write(request, music, builds)
    remarks = remarks_of(analysis)
    if request.json:
        values = programme_data(analysis, music.title, remarks, build, volumes)
        values["written"] = [str(file) for file in (request.put, request.chart) if file is not None]
        typer.echo(json_text.dumps(values, ensure_ascii=False, indent=2, allow_nan=False))
        return
    screen = console()
    print_programme(screen, analysis, music.title, remarks)
    if build is not None:
        print_volumes(screen, build, str(request.build), volumes)
    if written:
        screen.print()
    for line in written:
        screen.print(Text(line))


def _checked(
    request: ProgrammeRequest,
) -> tuple[tuple[Path, ...], dict[Path, tuple[Build, Drawer]]]:
    """Sound files and builds, all that is wrong with any of them at once, before the long work."""
    problems = chart_problems(request.chart)
    files, wrong = sound_files(request.given)
    problems += wrong
    builds: dict[Path, tuple[Build, Drawer]] = {}
    for file in dict.fromkeys(file for file in (request.build, request.put) if file is not None):
        try:
            builds[file] = opened(file, request.parts)
        except InputError as error:
            problems += error.problems
    if len(request.title) > _LONGEST_TITLE:
        got, expected = f"{len(request.title)} letters", f"{_LONGEST_TITLE} at most"
        problems.append(Problem("a title that is too long", got, expected, key="--title"))
    if problems:
        raise InputError([*problems, *_header_problems(files)])
    return files, builds


def _header_problems(files: Sequence[Path]) -> list[Problem]:
    """What is wrong with files at first sight, so that one round is enough to mend most."""
    problems: list[Problem] = []
    for file in files:
        try:
            read_header(file)
        except InputError as error:
            problems += error.problems
    return problems


def _write(
    request: ProgrammeRequest, music: Music, builds: dict[Path, tuple[Build, Drawer]]
) -> list[str]:
    lines = []
    if request.put is not None:
        put_music(request.put, music, builds[request.put][1])
        lines.append(
            f"Written into {request.put} as [music], which it now plays; "
            f"'boomwright undo {request.put}' takes it back."
        )
    if request.chart is not None:
        from boomwright.paper.programme import programme_chart

        known = [build for build, _ in builds.values()]
        beside = load_programmes()[known[0].want.programme] if known else None
        chart = programme_chart(music.programme, beside=beside, subtitle=_says(music))
        write_chart(request.chart, chart, music.title)
        lines.append(f"Chart written to {request.chart}.")
    return lines


def _says(music: Music) -> str:
    """Length, loudness and crest factor in one sentence."""
    length = "" if music.duration is None else format_quantity(music.duration.likely, "time")
    loud = "" if music.loudness is None else f"{music.loudness.likely:.1f} LUFS"
    crest = f"peaks {music.programme.crest_factor_db:.1f} dB over the average"
    return f"{', '.join(part for part in (length, loud, crest) if part)}."


def put_music(file: Path, music: Music, drawer: Drawer) -> None:
    """Write measured music into a build file, in place of what it had.

    Parameters
    ----------
    file : Path
        The build file.
    music : Music
        The music.
    drawer : Drawer
        Parts that the build may name.

    Raises
    ------
    InputError
        If the file cannot be read, or could not be with the music in it; it is as it was then.
    WriteError
        If it cannot be written.
    """
    text = file_text(file)
    newline = "\r\n" if "\r\n" in text else "\n"
    values: dict[TomlPath, Value | None] = {
        ("music", key): value for key, value in table_values(music).items()
    }
    edited = with_values(text.replace("\r\n", "\n"), values)
    parse_build(edited, file=file.name, drawer=drawer)
    write_kept(file, edited.replace("\n", newline))
