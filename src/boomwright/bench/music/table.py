"""Measured music as the ``[music]`` table of a build file."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from boomwright.bench.music.analysis import Analysis
from boomwright.build.edit import Value
from boomwright.build.music import Music
from boomwright.build.quantities import Quantity, format_quantity

__all__ = ["music_of", "table_values", "title_of"]

_DIGITS = 5
_NAMED = 40
_MOST_LOSS_DB = 60.0


def title_of(given: Sequence[Path], files: Sequence[Path]) -> str:
    """What to call music by the names it came under.

    Examples
    --------
    >>> title_of([Path("evening")], [Path("evening/a.ogg"), Path("evening/b.ogg")])
    'evening'
    >>> title_of([Path("a.ogg"), Path("b.ogg")], [Path("a.ogg"), Path("b.ogg")])
    'a and 1 more'
    """
    first = given[0].resolve() if given[0].is_dir() else given[0]
    name = first.name if given[0].is_dir() else first.stem
    rest = len(files) - 1 if len(given) > 1 else 0
    return (f"{name} and {rest} more" if rest else name)[:200] or "music"


def music_of(analysis: Analysis, title: str) -> Music:
    """Measured music as a build keeps it, rounded as its file has it.

    Parameters
    ----------
    analysis : Analysis
        What was measured.
    title : str
        What to call it.

    Returns
    -------
    Music
    """
    sound = analysis.whole
    names = [file.header.path.name for file in analysis.files]
    if len(names) > _NAMED:
        names = [*names[:_NAMED], f"and {len(names) - _NAMED} more"]
    values = {
        "title": title,
        "files": names,
        "duration": f"{format_quantity(sound.duration, 'time')} (measured)",
        "loudness": _read(sound.loudness),
        "mono_loss": _read(min(sound.mono_loss_db, _MOST_LOSS_DB)),
        "clipped": f"{format_quantity(sound.clipped, 'share')} (measured)",
        "crest_factor": _read(sound.crest_factor_db),
        "levels": _rounded(sound.levels),
        "time_above": _rounded(sound.time_above),
        "bands": [float(band) for band in sound.bands],
        "spectrum_db": [round(float(level), 1) for level in sound.spectrum_db],
    }
    if math.isfinite(sound.loudness_range):
        values["loudness_range"] = _read(sound.loudness_range)
    return Music.model_validate(values)


def table_values(music: Music) -> dict[str, Value | None]:
    """Entries of the table by their keys, in order; None for one that is left out."""
    found: dict[str, Value | None] = {}
    for key in Music.model_fields:
        value = getattr(music, key)
        if isinstance(value, Quantity):
            basis = f" ({value.basis})"
            value = str(value) if str(value).endswith(basis) else f"{value}{basis}"
        found[key] = list(value) if isinstance(value, tuple) else value
    return found


def _read(level_db: float) -> str:
    return f"{format_quantity(level_db, 'decibel')} (measured)"


def _rounded(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> list[float]:
    return [float(f"{value:.{_DIGITS}g}") for value in values]
