"""A driver as a crossover meets it: its impedance in its box, and its sound for each volt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from boomwright.build.audio import Driver
from boomwright.build.draws import Draws
from boomwright.build.fields import typical
from boomwright.build.filters import FilterStep
from boomwright.build.model import Build
from boomwright.build.quantities import Quantity
from boomwright.outcome.room import net_volume_of
from boomwright.outcome.speakers import sensitivity_of
from boomwright.outcome.voices import RE_SHARE, Voice, voice_of
from boomwright.physics.arrays import Complexes, Floats, FloatsLike
from boomwright.physics.nature import REFERENCE_PRESSURE

__all__ = ["Drive", "drive_of", "with_usual_q"]

_USUAL_QES = {
    "full": "0.75 [0.4 to 1.2]",
    "low": "0.5 [0.3 to 0.8]",
    "mid": "0.9 [0.5 to 1.5]",
    "high": "1.4 [0.8 to 2.3]",
}
"""Electrical Q of drivers of which only the resonance is known: the middle of the drawer's."""

# How far two drivers of one delivery differ; typical, from memory.
_LOOSE = {"fs": 0.10, "qes": 0.10, "qms": 0.15, "re": 0.03, "le": 0.10}
_LOOSE_LEVEL = 1.0


@dataclass(frozen=True, eq=False)
class Drive:
    """Drivers of one kind on one channel, without their filter.

    Parameters
    ----------
    driver : Driver
        As the build file has it.
    build : Build
        The build it belongs to.
    count : int
        How many hang on the channel.
    voice : Voice
        The same in numbers.
    level : array, shape (versions, 1)
        Sound of one driver in its flat band for one volt at it, 1 m, half space [Pa/V].
    """

    driver: Driver
    build: Build
    count: int
    voice: Voice
    level: Floats

    @property
    def rated(self) -> float:
        """Rated impedance of the group [Ω]."""
        return self.driver.impedance.likely * self.voice.joined

    @property
    def re(self) -> Floats:
        """D.c. resistance of the group, (versions, 1) [Ω]."""
        one = self.voice.rated * RE_SHARE[0] if self.voice.model is None else self.voice.model.re
        return np.asarray(one * self.voice.joined, dtype=np.float64)

    @property
    def flat(self) -> Floats:
        """Sound of the group in its flat band for one volt at it, (versions, 1) [Pa/V]."""
        # Side by side each gets the volt; in a row each gets its share, and they add up to one.
        return self.level * (1.0 if self.driver.wiring == "series" else self.count)

    def impedance(self, frequency: FloatsLike) -> Complexes:
        """Impedance of the group, (versions, n) [Ω]."""
        return self.voice.impedance(frequency)

    def pressure(self, frequency: FloatsLike) -> Complexes:
        """Sound of the group for one volt at it, (versions, n) [Pa/V]."""
        return self.flat * self.voice.shape(frequency)

    def loose(self, steps: Sequence[FilterStep], versions: int) -> Drive:
        """The same with a filter, in many versions that differ as parts of one delivery do."""
        driver = self.driver.model_copy(update={**_loosened(self.driver), "filter": tuple(steps)})
        return drive_of(driver, self.count, self.build, Draws(versions))


def drive_of(driver: Driver, count: int, build: Build, draws: Draws) -> Drive:
    """Drivers on a channel with all they stand on.

    Parameters
    ----------
    driver : Driver
        The driver, with the filter that is to count.
    count : int
        How many of it hang on the channel.
    build : Build
        The build it belongs to, which says what box it is in.
    draws : Draws
        Where uncertain values come from.

    Returns
    -------
    Drive
    """
    # The box is there and does not differ from one version to the next as drivers do.
    volume = net_volume_of(build, Draws(0)) if build.cabinet is not None else None
    voice = voice_of(driver, count, build, draws, volume)
    level = draws.take(driver.name, "sensitivity", sensitivity_of(driver))
    return Drive(
        driver, build, count, voice, REFERENCE_PRESSURE * 10.0 ** (level / 20.0) / voice.rated**0.5
    )


def with_usual_q(driver: Driver) -> Driver:
    """A driver with the usual electrical Q of its class where the file has its resonance alone.

    Without one it would count as a plain resistor, and a crossover meets its resonance.

    Examples
    --------
    >>> from boomwright.build.drawer import load_drawer
    >>> tweeter = load_drawer().part("driver", "tweeter-dome-19mm-8ohm")
    >>> with_usual_q(tweeter.model_copy(update={"qes": None})).qes.likely
    1.4
    """
    if driver.fs is None or driver.qes is not None:
        return driver
    qes = typical(_USUAL_QES[driver.band], "ratio")
    return driver.model_copy(update={"qes": qes})


def _loosened(driver: Driver) -> dict[str, Quantity]:
    found = {
        name: _around(value, share * value.likely)
        for name, share in _LOOSE.items()
        if (value := getattr(driver, name)) is not None
    }
    found["impedance"] = _around(driver.impedance, 0.0)
    found["sensitivity"] = _around(sensitivity_of(driver), _LOOSE_LEVEL)
    if driver.vas is not None:
        found["vas"] = _around(driver.vas, 0.0)
    return found


def _around(value: Quantity, width: float) -> Quantity:
    return replace(value, low=value.likely - width, high=value.likely + width, text="")
