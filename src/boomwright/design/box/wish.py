"""What is wanted of a box, and the driver in numbers."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from boomwright.build.audio import Driver
from boomwright.build.draws import Draws
from boomwright.errors import InputError, Problem
from boomwright.outcome.voices import model_of
from boomwright.physics.arrays import Floats
from boomwright.physics.driver import DriverModel
from boomwright.physics.programme import Programme, load_programmes

__all__ = ["KINDS", "BoxKind", "BoxWish", "Subject", "subject_of"]

BoxKind = Literal["closed", "vented", "radiator"]
KINDS: tuple[BoxKind, ...] = ("closed", "vented", "radiator")
"""Kinds of box that are proposed."""

_NEEDED = ("fs", "qes", "vas", "sd", "xmax")
_USUAL_LARGEST_PER_VAS = 1.5
_LEAST_LARGEST, _MOST_LARGEST = 2e-3, 60e-3


@dataclass(frozen=True, kw_only=True)
class BoxWish:
    """What is wanted of a box.

    Parameters
    ----------
    driver : Driver
        The driver, or one of several alike ones that share the box.
    count : int
        How many share it.
    volts : (float, float, float)
        Peak volts that each driver gets: battery full, half, nearly empty [V].
    amps : float
        Peak current that the amplifier has for each of them [A].
    resistance : float
        Amplifier and leads in series with each of them [Ω].
    programme : Programme
        What is played.
    kinds : tuple of str
        Kinds of box wanted, of `KINDS`.
    net : float or None
        Air that the box has to have [m³]; None leaves it open.
    largest : float or None
        Most air that it may have [m³]; None for half as much again as the suspensions are worth.
    low_end : float or None
        Where the bass may be 3 dB down [Hz]; None for nearly as low as goes.
    hump : float
        Highest rise of the bass above the flat level [dB].
    wall : float
        Thickness of the board [m].
    stuffing : str
        Key of :data:`boomwright.physics.stuffing.STUFFINGS` for closed boxes; others are lined at
        most.
    versions : int
        Versions of the driver, besides the likely one, that the ranges rest on.
    """

    driver: Driver
    count: int = 1
    volts: tuple[float, float, float]
    amps: float = float("inf")
    resistance: float = 0.0
    programme: Programme = field(default_factory=lambda: load_programmes()["pop"])
    kinds: tuple[BoxKind, ...] = KINDS
    net: float | None = None
    largest: float | None = None
    low_end: float | None = None
    hump: float = 2.0
    wall: float = 0.015
    stuffing: Literal["none", "lined", "filled"] = "none"
    versions: int = 60

    @property
    def most(self) -> float:
        """Most air that the box may have [m³]."""
        if self.net is not None:
            return self.net
        if self.largest is not None:
            return self.largest
        vas = self.driver.vas.likely * self.count if self.driver.vas else _LEAST_LARGEST
        return min(max(_USUAL_LARGEST_PER_VAS * vas, _LEAST_LARGEST), _MOST_LARGEST)


@dataclass(frozen=True, eq=False)
class Subject:
    """One driver in numbers, in many versions; arrays are (versions, 1).

    Parameters
    ----------
    model : DriverModel
        Motor and spring, with the inductance of the coil.
    xmax, power : array
        Travel one way [m], power it stands [W].
    high_end : array
        Where its treble ends [Hz].
    draws : Draws
        Where the rest of what is uncertain comes from.
    """

    model: DriverModel
    xmax: Floats
    power: Floats
    high_end: Floats
    draws: Draws

    @property
    def flat(self) -> DriverModel:
        """The motor without its coil's inductance, which a cone that beams makes up for on axis."""
        return self.model.without_inductance


def subject_of(wish: BoxWish, *, versions: int | None = None) -> Subject:
    """The driver of a wish in numbers.

    Parameters
    ----------
    wish : BoxWish
        What is wanted.
    versions : int or None
        Versions besides the likely one, if not those of the wish.

    Returns
    -------
    Subject

    Raises
    ------
    InputError
        If something of the driver is not known without which no box can be found.
    """
    driver = wish.driver
    lacking = [key for key in _NEEDED if getattr(driver, key) is None]
    if lacking:
        hint = "Measure it, or take a typical driver of its size from the drawer."
        says = f"the driver {driver.name!r} lacks {', '.join(lacking)}"
        raise InputError([Problem(says, key="driver", hint=hint)])
    if driver.sd is None or driver.xmax is None:
        raise TypeError("a driver without its cone is refused above")
    draws = Draws(wish.versions if versions is None else versions)
    model = model_of(driver, draws)
    if model is None:
        raise TypeError("a driver with all its parameters has a model")
    return Subject(
        model=model,
        xmax=draws.take(driver.name, "xmax", driver.xmax),
        power=draws.take(driver.name, "power", driver.power),
        high_end=draws.take(driver.name, "high_end", driver.high_end),
        draws=draws,
    )
