"""What rules on air, travel and parameters share: peaks of the music, and what is well known."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from boomwright.advice.finding import Change, Fix
from boomwright.advice.rules import Case
from boomwright.build.audio import Driver
from boomwright.build.quantities import Quantity
from boomwright.build.quantities import format_quantity as shown
from boomwright.outcome.bass import music_square
from boomwright.outcome.loudness import asked_volts
from boomwright.outcome.plan import programme_of
from boomwright.outcome.scenario import Scenario
from boomwright.outcome.sound import OutputSound, VoiceSound
from boomwright.outcome.voices import BASS_BANDS
from boomwright.physics.arrays import Floats

__all__ = [
    "Played",
    "bass_voices",
    "known_well",
    "played",
    "quieter_wish",
    "well_known_bass",
]

_WELL = 1.36
"""Highest over lowest of a value that is known; a class of drivers is wider. No source."""


@dataclass(frozen=True)
class Played:
    """Peak of something as the music plays: at the level asked for, and at the clean limit."""

    wanted: float
    clean: float


def bass_voices(case: Case) -> Iterator[tuple[Driver, OutputSound, VoiceSound]]:
    """Every kind of driver that works on the air of the box, with its first output."""
    drivers = {driver.name: driver for driver in case.build.driver}
    for output, voice in case.sound.voices():
        driver = drivers[voice.name]
        if driver.band in BASS_BANDS:
            yield driver, output, voice


def played(
    case: Case, output: OutputSound, curve: Floats, *, band: tuple[float, float] = (0.0, np.inf)
) -> Played:
    """Peak of what an output makes of the programme, with a full battery.

    A part of the music is taken to be as peaky as the whole (no source), so at the clean limit the
    crest factor cancels: the output's peak volts and the spectrum are enough.

    Parameters
    ----------
    case : Case
        The build.
    output : OutputSound
        The output.
    curve : array, shape (n,)
        Peak of it for a sine of one volt rms at the output, at the frequencies of the sound.
    band : tuple of float
        Frequencies between which it counts [Hz].

    Returns
    -------
    Played
    """
    square = music_square(curve, case.sound.frequency, programme_of(case.build), band=band)
    of_one_volt = float(np.sqrt(square / 2.0))
    own = float(output.peak_volts[0])
    volts = float(asked_volts(case.plan, (Scenario("wanted"),))[0, 0])
    asked = min(volts * float(case.plan.programme.levels[-1]), own)
    return Played(wanted=asked * of_one_volt, clean=own * of_one_volt)


def known_well(quantity: Quantity | None) -> bool:
    """Whether a value is nearer to its part than to a class of parts."""
    return quantity is not None and quantity.high <= _WELL * quantity.low


def well_known_bass(driver: Driver) -> bool:
    """Whether resonance and electrical Q of a driver are known well enough to tune a box to."""
    return known_well(driver.fs) and known_well(driver.qes)


def quieter_wish(case: Case, share: float) -> Fix | None:
    """The wish lowered so that every swing shrinks to a share; None where that is not music."""
    level = np.floor(case.outcome.wanted.level_asked + 20.0 * np.log10(share))
    clean = np.floor(case.outcome.wanted.clean_start.likely + 20.0 * np.log10(share))
    level = min(level, clean)
    if not np.isfinite(level) or level <= 0.0:
        return None
    distance = shown(case.build.want.level.distance.likely, "length")
    written = f"{level:.0f} dB(A) at {distance}"
    return Fix(f"ask for {written}", (Change("want", "level", written),))
