"""The bass of a driver in its box: where it ends, how it humps, and what music makes of a curve."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from boomwright.build.audio import Driver
from boomwright.build.draws import Draws
from boomwright.build.model import Build
from boomwright.outcome.openings import felt_volume, opening_tuning
from boomwright.outcome.room import net_volume_of
from boomwright.outcome.voices import voice_of
from boomwright.physics.acoustic_load import AirLoad
from boomwright.physics.alignment import vented_box
from boomwright.physics.arrays import Floats
from boomwright.physics.curves import decibels, response_corner
from boomwright.physics.driver import DriverModel, SmallSignal, small_signal
from boomwright.physics.programme import Programme

__all__ = ["Bass", "Tuned", "bass_of", "best_tuning", "music_square"]

_FREQUENCIES: Final = np.geomspace(10.0, 2000.0, 240)
_HALF_BAND: Final = 2.0 ** (1.0 / 6.0)
_TUNINGS: Final = np.geomspace(0.5, 2.5, 81)
"""Tunings that are tried, over the resonance of the driver."""
_FLAT: Final = 1.0
"""Hump that still counts as flat [dB]; common practice, no source."""


@dataclass(frozen=True, eq=False)
class Bass:
    """Bass of one driver in its share of the box, the likely version.

    Parameters
    ----------
    model : DriverModel
        The driver.
    load : AirLoad
        The air behind it.
    frequency : array, shape (n,)
        Frequencies [Hz].
    level : array, shape (n,)
        Level over that of the flat part [dB].
    low_end : float
        Where it is 3 dB down [Hz].
    hump, hump_at : float
        Highest rise over the flat part [dB], and where [Hz]; both 0 without one.
    """

    model: DriverModel
    load: AirLoad
    frequency: Floats
    level: Floats
    low_end: float
    hump: float
    hump_at: float

    @property
    def volume(self) -> float:
        """Air that one driver feels, stuffing counted [m³]."""
        return felt_volume(self.load)

    @property
    def tuning(self) -> float:
        """Tuning of a vent or a passive radiator on that air [Hz]; 0 without either."""
        return float(np.nan_to_num(opening_tuning(self.load)))

    @property
    def small(self) -> SmallSignal:
        """The driver in the parameters of the trade."""
        return small_signal(self.model)

    def level_at(self, frequency: float) -> float:
        """Level over that of the flat part at a frequency [dB]."""
        return float(np.interp(np.log(frequency), np.log(self.frequency), self.level))


@dataclass(frozen=True)
class Tuned:
    """A tuning of a box, and the bass it gives.

    Parameters
    ----------
    fb : float
        The tuning [Hz].
    low_end : float
        Where the bass is 3 dB down [Hz].
    hump : float
        Highest rise over the flat part [dB].
    """

    fb: float
    low_end: float
    hump: float


def bass_of(driver: Driver, build: Build) -> Bass | None:
    """Bass of a driver in its box, coil inductance and filter left out.

    Parameters
    ----------
    driver : Driver
        One of the build's drivers.
    build : Build
        The build, perhaps with another cabinet than it has.

    Returns
    -------
    Bass or None
        None without a cabinet, where motor and spring of the driver are not known, or where it
        has no bass: its low end lies beyond 2 kHz.
    """
    if build.cabinet is None or driver.fs is None or driver.qes is None or driver.vas is None:
        return None
    draws = Draws(0)
    volume = net_volume_of(build, draws)
    voice = voice_of(driver, driver.count, build, draws, volume)
    if voice.model is None:
        return None
    level = decibels(voice.bass(voice.model, _FREQUENCIES))[0]
    low_end = float(response_corner(_FREQUENCIES, level, side="low"))
    if not np.isfinite(low_end):
        return None
    top = int(np.argmax(level))
    hump = max(float(level[top]), 0.0)
    return Bass(
        model=voice.model,
        load=voice.load,
        frequency=_FREQUENCIES,
        level=level,
        low_end=low_end,
        hump=hump,
        hump_at=float(_FREQUENCIES[top]) if hump else 0.0,
    )


def best_tuning(bass: Bass) -> Tuned:
    """Tuning that carries a driver deepest in the box it has without a hump.

    As for a vent, losses as the box has them; a passive radiator of enough area comes close. The
    least hump where none is flat.

    Parameters
    ----------
    bass : Bass
        Bass of the driver in a vented box or one with a passive radiator.

    Returns
    -------
    Tuned
    """
    small, load = bass.small, bass.load
    fs, qts = float(np.ravel(small.fs)[0]), float(np.ravel(small.qts)[0])
    reactance = 1.0 / (2.0 * np.pi * bass.tuning * float(np.ravel(load.compliance)[0]))
    # Losses of the air beside those of the leak; for this they may be counted as one.
    loss = reactance / float(np.ravel(load.leak)[0])
    loss += float(np.ravel(load.absorption)[0]) / reactance
    boxes = vented_box(
        fs=fs,
        qts=qts,
        vas=float(np.ravel(small.vas)[0]),
        volume=bass.volume,
        fb=fs * _TUNINGS,
        ql=max(1.0 / max(loss, 1e-9), 1.01),
    )
    flat = boxes.peak_db <= max(_FLAT, float(np.min(boxes.peak_db)))
    best = int(np.argmin(np.where(flat, boxes.f3, np.inf)))
    return Tuned(float(fs * _TUNINGS[best]), float(boxes.f3[best]), float(boxes.peak_db[best]))


def music_square(
    curve: Floats,
    frequency: Floats,
    programme: Programme,
    *,
    band: tuple[float, float] = (0.0, np.inf),
) -> float:
    """Mean square of what a curve makes of a programme, over the programme's own mean square.

    Each third-octave band counts with its share of the programme's power and the mean square of
    the curve in it. What the programme holds outside its bands is left out.

    Parameters
    ----------
    curve : array, shape (n,)
        Anything that one volt makes at each frequency.
    frequency : array, shape (n,)
        Frequencies [Hz], at least one in each band.
    programme : Programme
        The music.
    band : tuple of float
        Frequencies between which it counts [Hz].

    Returns
    -------
    float
        In the unit of the curve, squared.
    """
    centres = programme.frequencies[:, np.newaxis]
    inside = (frequency >= centres / _HALF_BAND) & (frequency < centres * _HALF_BAND)
    counted = np.where((frequency >= band[0]) & (frequency < band[1]), curve**2, 0.0)
    means = (inside @ counted) / np.maximum(inside.sum(axis=1), 1)
    return float(programme.band_powers @ means)
