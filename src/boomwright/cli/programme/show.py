"""Measured music in the terminal and as data, and what a build makes of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from boomwright.bench.music.analysis import Analysis, Sound
from boomwright.bench.music.remarks import MusicRemark
from boomwright.build.model import Build
from boomwright.build.quantities import format_hours, format_quantity
from boomwright.cli.design.show import heading, plain_table
from boomwright.cli.show import mark
from boomwright.outcome.data import Range
from boomwright.outcome.volumes import OutputClipping, Volume

__all__ = ["print_programme", "print_volumes", "programme_data"]

_BELOW_PEAK_DB = (1.0, 3.0, 6.0, 10.0, 20.0, 30.0)
_BAR = 30
_BAR_DEPTH_DB = 30.0
_LONGEST_NAME = 28
_HAIR, _JUST = 5e-7, 0.5
_COLUMNS = ("", "length", "LUFS", "range", "peak", "crest", "mono", "clipped")


def print_programme(
    screen: Console, analysis: Analysis, title: str, remarks: Sequence[MusicRemark]
) -> None:
    """Print the figures of measured music.

    Parameters
    ----------
    screen : Console
        Where to.
    analysis : Analysis
        What was measured.
    title : str
        What it is called.
    remarks : sequence of MusicRemark
        What to mind.
    """
    whole = analysis.whole
    screen.print(Text(title, style="bold"))
    table = plain_table(*_COLUMNS)
    for column in table.columns[1:]:
        column.justify = "right"
    for file in analysis.files:
        table.add_row(Text(_short(file.header.path.name)), *_cells(file.sound))
    if len(analysis.files) > 1:
        table.add_row(Text("all together", style="bold"), *_cells(whole))
    screen.print(table)
    screen.print(
        Text(
            "range LU; peak dB over full scale; crest: peak over average, dB; mono: dB lost where "
            "left and right are added; clipped: share of time in the file itself",
            style="dim",
        )
    )
    heading(screen, "How much of the time it is beyond a level")
    beyond = plain_table("below the peak", *(f"{below:g} dB" for below in _BELOW_PEAK_DB))
    shares = (whole.share_beyond(below) for below in _BELOW_PEAK_DB)
    beyond.add_row("share of time", *map(_percent, shares))
    screen.print(beyond)
    heading(screen, "Where the sound lies, third-octave bands, the strongest at 0 dB")
    screen.print(_spectrum(whole))
    weighted = (
        f"A level meter set to dB(A) shows {abs(whole.a_weighted_db):.1f} dB "
        f"{'less' if whole.a_weighted_db < 0 else 'more'} than a plain one."
    )
    screen.print(Text(weighted))
    if remarks:
        heading(screen, "To mind")
        for remark in _gathered(remarks):
            says = f"{remark.file}: {remark.says}" if remark.file else remark.says
            grid = Table.grid(padding=(0, 2, 0, 0))
            grid.add_column(width=6, no_wrap=True)
            grid.add_column()
            grid.add_row(mark(remark.level), Text(says))
            if remark.do:
                grid.add_row("", Text(f"→ {remark.do}"))
            screen.print(Padding(grid, (0, 0, 0, 2)))


def _gathered(remarks: Sequence[MusicRemark]) -> list[MusicRemark]:
    """Remarks, those that say the same of many files as one."""
    found: dict[tuple[str, str, str], list[str]] = {}
    for remark in remarks:
        found.setdefault((remark.level, remark.says, remark.do), []).append(remark.file)
    gathered = {}
    for remark in remarks:
        files = found[remark.level, remark.says, remark.do]
        names = ", ".join(files[:3]) + (f" and {len(files) - 3} more" if len(files) > 3 else "")
        one = MusicRemark(remark.level, names, remark.says, remark.do)
        gathered[remark.level, remark.says, remark.do] = one
    return list(gathered.values())


def _short(name: str) -> str:
    return name if len(name) <= _LONGEST_NAME else f"{name[: _LONGEST_NAME - 1]}…"


def _cells(sound: Sound) -> tuple[str, ...]:
    return (
        _clock(sound.duration),
        f"{sound.loudness:.1f}",
        "" if math.isnan(sound.loudness_range) else f"{sound.loudness_range:.1f}",
        f"{sound.peak_db + 0.0:+.1f}",
        f"{sound.crest_factor_db:.1f}",
        "all" if math.isinf(sound.mono_loss_db) else f"{sound.mono_loss_db:.1f}",
        _percent(sound.clipped),
    )


def _clock(seconds: float) -> str:
    whole = round(seconds)
    hours, minutes = divmod(whole // 60, 60)
    return f"{hours}:{minutes:02}:{whole % 60:02}" if hours else f"{minutes}:{whole % 60:02}"


def _percent(share: float) -> str:
    return "0 %" if share < _HAIR else format_quantity(share, "share", digits=2)


def _spectrum(sound: Sound) -> Table:
    """Three bands to a row, with a bar for the octave."""
    table = plain_table("octave", "low", "middle", "high", "")
    for column in table.columns[:4]:
        column.justify = "right"
    levels = dict(zip(sound.bands.tolist(), sound.spectrum_db.tolist(), strict=True))
    bands = list(levels)
    # 20 Hz alone belongs to an octave that begins below what is measured.
    octaves = [bands[at : at + 3] for at in range(1, len(bands), 3)]
    powers = [sum(10.0 ** (levels[band] / 10.0) for band in octave) for octave in octaves]
    for octave, power in zip(octaves, powers, strict=True):
        middle = octave[min(1, len(octave) - 1)]
        depth = 10.0 * np.log10(power / max(powers))
        length = max(round(_BAR * (1.0 + depth / _BAR_DEPTH_DB)), 0)
        cells = [f"{levels[band]:.1f}" for band in octave]
        name = format_quantity(middle, "frequency")
        table.add_row(name, *cells, *[""] * (3 - len(cells)), Text("▪" * length, style="yellow"))
    return table


def print_volumes(screen: Console, build: Build, file: str, volumes: Sequence[Volume]) -> None:
    """Print what a build gives at each setting of the knob.

    Parameters
    ----------
    screen : Console
        Where to.
    build : Build
        The build.
    file : str
        Its file.
    volumes : sequence of Volume
        From :func:`boomwright.outcome.volumes.volumes_of`.
    """
    heading(screen, f"On {build.name}")
    screen.print(Text(file, style="dim"))
    distance = format_quantity(build.want.level.distance.likely, "length")
    table = plain_table(
        "volume", f"dB(A) at {distance}", "draws", "plays", "range", "clips", "at the end"
    )
    for volume in volumes:
        worst = volume.worst
        table.add_row(
            volume.title,
            f"{volume.level.likely:.0f}",
            format_quantity(volume.watts.likely, "power", digits=2),
            format_hours(volume.duration.likely),
            _span(volume.duration),
            _percent(worst.at_start.likely),
            _percent(worst.at_end.likely),
        )
    screen.print(table)
    wanted, asked = volumes[0], build.want.level.level.likely
    if wanted.level.likely < asked - 0.5:
        short = asked - wanted.level.likely
        says = f"The wanted {asked:g} dB(A) are out of reach by {short:.0f} dB."
        screen.print(Text(says))
    elif abs(wanted.over_clean_db) < _JUST:
        screen.print(Text("As wanted it plays just at its clean limit."))
    elif wanted.over_clean_db <= 0.0:
        room = -wanted.over_clean_db
        screen.print(Text(f"As wanted it stays clean, with {room:.0f} dB to spare."))
    else:
        over = wanted.over_clean_db
        screen.print(Text(f"As wanted it is turned {over:.0f} dB past its clean limit."))
    screen.print(
        Text(
            "clips: share of time that the output which clips most is beyond what it can swing, "
            "battery full; at the end of the run beside it",
            style="dim",
        )
    )


def _span(duration: Range) -> str:
    if math.isinf(duration.likely):
        return ""
    low, high = format_hours(duration.low), format_hours(duration.high)
    return f"{low.split()[0] if low.split()[-1] == high.split()[-1] else low} to {high}"


def programme_data(
    analysis: Analysis,
    title: str,
    remarks: Sequence[MusicRemark],
    build: Build | None,
    volumes: Sequence[Volume],
) -> dict[str, Any]:
    """Measured music as plain values that :mod:`json` can write; SI units, shares from 0 to 1.

    Parameters
    ----------
    analysis : Analysis
        What was measured.
    title : str
        What it is called.
    remarks : sequence of MusicRemark
        What to mind.
    build : Build or None
        The build that plays it.
    volumes : sequence of Volume
        What it gives.

    Returns
    -------
    dict
        Keys ``title``, ``files``, ``whole``, ``remarks`` and ``build``.
    """
    return {
        "title": title,
        "files": [
            {
                "file": str(file.header.path),
                "rate": file.header.rate,
                "channels": file.header.channels,
                **_sound_data(file.sound),
            }
            for file in analysis.files
        ],
        "whole": {
            **_sound_data(analysis.whole),
            "levels": _list(analysis.whole.levels),
            "time_above": _list(analysis.whole.time_above),
            "bands": _list(analysis.whole.bands),
            "spectrum_db": _list(analysis.whole.spectrum_db),
            "band_db": _list(analysis.whole.band_db),
        },
        "remarks": [
            {"level": remark.level, "file": remark.file, "says": remark.says, "do": remark.do}
            for remark in remarks
        ],
        "build": None if build is None else _build_data(build, volumes),
    }


def _sound_data(sound: Sound) -> dict[str, Any]:
    return {
        "duration": sound.duration,
        "loudness": _finite(sound.loudness),
        "loudness_range": _finite(sound.loudness_range),
        "peak_db": sound.peak_db,
        "rms_db": sound.rms_db,
        "a_weighted_db": sound.rms_db + sound.a_weighted_db,
        "crest_factor_db": sound.crest_factor_db,
        "mono_loss_db": _finite(sound.mono_loss_db),
        "clipped": sound.clipped,
        "offset": sound.offset,
    }


def _build_data(build: Build, volumes: Sequence[Volume]) -> dict[str, Any]:
    return {
        "name": build.name,
        "level_wanted": build.want.level.level.likely,
        "distance": build.want.level.distance.likely,
        "volumes": [
            {
                "title": volume.title,
                "over_clean_db": volume.over_clean_db,
                "level": _range(volume.level),
                "watts": _range(volume.watts),
                "duration": _range(volume.duration),
                "outputs": [_clipping(output) for output in volume.outputs],
            }
            for volume in volumes
        ],
    }


def _clipping(output: OutputClipping) -> dict[str, Any]:
    return {
        "amplifier": output.amplifier,
        "channel": output.channel,
        "clipped_at_start": _range(output.at_start),
        "clipped_at_end": _range(output.at_end),
    }


def _range(value: Range) -> dict[str, float | None]:
    return {
        "likely": _finite(value.likely),
        "low": _finite(value.low),
        "high": _finite(value.high),
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _list(values: np.ndarray[Any, np.dtype[np.float64]]) -> list[float]:
    return [float(value) for value in values]
