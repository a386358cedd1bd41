"""Music measured: how fast, and in how much memory."""

from __future__ import annotations

import tempfile
import tracemalloc
from functools import cache
from pathlib import Path

import numpy as np
import soundfile

from boomwright.bench.music.analysis import measure

__all__ = ["MINUTES", "album", "album_measured", "memory_held"]

MINUTES = 5
"""Length of the music [min]."""

_RATE = 44_100
_SHORT = 1
_FOLDER = tempfile.TemporaryDirectory(prefix="boomwright-")


@cache
def album(kind: str = "flac", minutes: int = MINUTES) -> Path:
    """Stereo noise with the fall of music towards the treble, in a file of a kind."""
    path = Path(_FOLDER.name) / f"{minutes}.{kind}"
    draws = np.random.default_rng(3)
    with soundfile.SoundFile(path, "w", _RATE, 2) as sound:
        for _ in range(minutes * 6):
            bright = draws.standard_normal((_RATE * 10, 2))
            dark = np.cumsum(bright, axis=0) * np.hanning(_RATE * 10)[:, np.newaxis]
            sound.write(0.02 * bright + 0.0005 * dark)
    return path


def album_measured(kind: str = "flac", minutes: int = MINUTES) -> float:
    """Loudness of the album, as the command finds it [LUFS]."""
    return measure([album(kind, minutes)]).whole.loudness


def memory_held() -> tuple[float, float]:
    """Most memory that measuring a minute and the whole album takes [MB]."""
    held = []
    for minutes in (_SHORT, MINUTES):
        path = album("flac", minutes)
        tracemalloc.start()
        measure([path])
        held.append(tracemalloc.get_traced_memory()[1] / 1e6)
        tracemalloc.stop()
    return held[0], held[1]
