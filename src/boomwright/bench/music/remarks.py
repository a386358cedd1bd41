"""What is odd about measured music, in words: clipped, quiet, a lone tone, missing treble."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from boomwright.bench.music.analysis import Analysis, FileSound
from boomwright.bench.music.reading import Header

__all__ = ["MusicRemark", "remarks_of"]

_MUCH_CLIPPED, _SOME_CLIPPED = 1e-2, 5e-4
_QUIET_LOUDNESS = -35.0
_TONE_SHARE = 0.9
_OFFSET = 0.01
_DULL_BELOW = 12_000.0
_MONO_LOSS_DB = 6.0
_SHORT = 600.0


@dataclass(frozen=True)
class MusicRemark:
    """Something to know about a file, or about all of them.

    Parameters
    ----------
    level : str
        ``fine`` for what is only told, ``mind`` for what makes the figures doubtful.
    file : str
        Its name; empty for all together.
    says, do : str
        What is so, and what to do about it.
    """

    level: Literal["fine", "mind"]
    file: str
    says: str
    do: str = ""


def remarks_of(analysis: Analysis) -> tuple[MusicRemark, ...]:
    """Everything that should be known about measured music.

    Parameters
    ----------
    analysis : Analysis
        What was measured.

    Returns
    -------
    tuple of MusicRemark
        File by file, then of all together.
    """
    found = [remark for file in analysis.files for remark in _of_file(file)]
    minutes = analysis.whole.duration / 60.0
    if analysis.whole.duration < _SHORT:
        found.append(
            MusicRemark(
                "fine",
                "",
                f"{minutes:.1f} minutes are little to go by.",
                "Give an album or an evening's list; a folder will do.",
            )
        )
    return tuple(found)


def _of_file(file: FileSound) -> list[MusicRemark]:
    sound, header = file.sound, file.header
    name = header.path.name
    found = []
    if sound.clipped >= _SOME_CLIPPED:
        much = sound.clipped >= _MUCH_CLIPPED
        share = 100.0 * sound.clipped
        found.append(
            MusicRemark(
                "mind" if much else "fine",
                name,
                f"{share:.2g} % of it is clipped in the file already.",
                "It sounds harsh at any volume; look for a better copy." if much else "",
            )
        )
    if sound.loudness < _QUIET_LOUDNESS:
        found.append(
            MusicRemark(
                "mind",
                name,
                f"Very quiet at {sound.loudness:.0f} LUFS: the player may not reach full volume.",
                "Raise its level to about -16 LUFS, or the amplifier's gain.",
            )
        )
    if _is_tone(file):
        found.append(
            MusicRemark(
                "mind",
                name,
                "A steady tone rather than music: it works box and battery far harder.",
                "Leave it out, unless you mean to play it.",
            )
        )
    if abs(sound.offset) > _OFFSET:
        share = 100.0 * sound.offset
        found.append(
            MusicRemark(
                "mind", name, f"A constant {share:.1f} % of full scale lies under it.",
                "The figures leave it out, as a coupling capacitor does.",
            )
        )  # fmt: skip
    if header.rate < 2.0 * _DULL_BELOW:
        top = _kilohertz(header)
        found.append(
            MusicRemark("mind", name, f"Sampled so slowly that nothing above {top} is in it.")
        )
    if sound.mono_loss_db > _MONO_LOSS_DB:
        lost = "all" if math.isinf(sound.mono_loss_db) else f"{sound.mono_loss_db:.0f} dB"
        found.append(
            MusicRemark(
                "mind",
                name,
                f"Left and right cancel: {lost} of it is lost where a box adds them into one.",
                "Listen to it in mono first; one channel may be the wrong way round.",
            )
        )
    if header.holds:
        says = f"Named {header.path.suffix}, yet it holds {header.holds}; it was read as that."
        found.append(MusicRemark("fine", name, says))
    return found


def _is_tone(file: FileSound) -> bool:
    """Whether nearly all power lies in one band, as no music's does."""
    powers = 10.0 ** (file.sound.spectrum_db / 10.0)
    return bool(np.max(powers) > _TONE_SHARE * np.sum(powers))


def _kilohertz(header: Header) -> str:
    return f"{header.rate / 2000.0:g} kHz"
