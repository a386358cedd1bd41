"""Boxes, vents and passive radiators as things that are cut, bought and have to fit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from boomwright.physics.arrays import Floats, FloatsLike, floats
from boomwright.physics.nature import air_density, speed_of_sound

__all__ = [
    "BORES",
    "CONES",
    "SLOT_HEIGHTS",
    "Cone",
    "Fit",
    "Radiator",
    "Vent",
    "inside_size",
    "outside_size",
    "radiator_mass",
    "slot_width",
    "vent_fit",
    "vent_room",
]

BORES = (0.019, 0.025, 0.032, 0.036, 0.046, 0.060, 0.071, 0.086, 0.103)
"""Bores of plastic pipe as sold for drains and cables [m]; typical, from memory: measure yours."""

SLOT_HEIGHTS = (0.012, 0.018, 0.025, 0.035)
"""Heights of slots that a spacer of board gives [m]; common practice, no source."""

_SLOT_SHARE = 0.6
"""Width of a slot over the inside width of the box."""

_PIPE_WALL = 0.002
_SHAPE = (1.0, 1.26, 0.8)
"""Inside width, height and depth of a box of the usual shape, to each other."""

Fit = Literal["straight", "bent", "too long", "too short"]
"""How a vent goes into its box."""


@dataclass(frozen=True)
class Vent:
    """Vents of one kind, all alike.

    Parameters
    ----------
    shape : str
        round or slot.
    count : int
        How many.
    across : float
        Bore of a tube, height of a slot [m].
    width : float
        Width of a slot [m]; 0 for a tube.
    length : float
        Length along its middle [m]; 0 until it is worked out.
    """

    shape: Literal["round", "slot"]
    count: int
    across: float
    width: float = 0.0
    length: float = 0.0

    @property
    def area(self) -> float:
        """Cross-section of one [m²]."""
        if self.shape == "round":
            return math.pi * self.across**2 / 4.0
        return self.across * self.width

    def taken(self, wall: float) -> float:
        """Volume that they take from the inside, their own material included [m³].

        Parameters
        ----------
        wall : float
            Thickness of the board that a slot is made of [m].
        """
        inner = max(self.length - wall, 0.0)
        if self.shape == "round":
            return self.count * math.pi * (self.across + 2.0 * _PIPE_WALL) ** 2 / 4.0 * inner
        return self.count * (self.across + wall) * (self.width + wall) * inner


@dataclass(frozen=True)
class Cone:
    """A class of passive radiators.

    Parameters
    ----------
    title : str
        Its nominal size.
    sd : float
        Cone area [m²].
    xmax : float
        Travel one way [m].
    compliance : float
        Volume of air as stiff as its suspension [m³].
    mass : float
        Its own moving mass, to which weights are added [kg].
    """

    title: str
    sd: float
    xmax: float
    compliance: float
    mass: float


CONES = (
    Cone("3-inch", 32e-4, 0.005, 0.0020, 0.004),
    Cone("4-inch", 54e-4, 0.006, 0.0055, 0.008),
    Cone("5-inch", 88e-4, 0.007, 0.012, 0.014),
    Cone("6.5-inch", 133e-4, 0.009, 0.025, 0.025),
    Cone("8-inch", 215e-4, 0.011, 0.060, 0.050),
    Cone("10-inch", 330e-4, 0.013, 0.120, 0.090),
)
"""Passive radiators by class; typical, from memory."""


@dataclass(frozen=True)
class Radiator:
    """Passive radiators, all alike.

    Parameters
    ----------
    cone : Cone
        Their class.
    count : int
        How many.
    mass : float
        Moving mass of one with what is added to it [kg].
    fp : float
        Resonance of one in free air with that mass [Hz].
    """

    cone: Cone
    count: int
    mass: float
    fp: float


def radiator_mass(
    cone: Cone, *, count: int, volume: FloatsLike, fb: FloatsLike
) -> tuple[Floats, Floats]:
    """Moving mass that tunes a box with passive radiators, and their resonance with it.

    Parameters
    ----------
    cone : Cone
        Their class.
    count : int
        How many.
    volume : float or array
        Air in the box [m³].
    fb : float or array
        Tuning wanted [Hz].

    Returns
    -------
    mass, fp : array
        Of one [kg], [Hz].

    Notes
    -----
    The springs of the suspension and of the air work side by side on the mass.

    Examples
    --------
    >>> mass, fp = radiator_mass(CONES[3], count=1, volume=0.012, fb=45.0)
    >>> round(1000 * float(mass), 1), round(float(fp), 1)
    (38.7, 25.6)
    """
    modulus = float(air_density() * speed_of_sound() ** 2)
    area = count * cone.sd
    own = modulus / (count * cone.compliance)
    both = own + modulus / floats(volume)
    acoustic = both / (2.0 * math.pi * floats(fb)) ** 2
    return floats(acoustic * area**2 / count), floats(fb * (own / both) ** 0.5)


def inside_size(volume: FloatsLike) -> tuple[Floats, Floats, Floats]:
    """Inside width, height and depth of a box of the usual shape [m]."""
    edge = (floats(volume) / math.prod(_SHAPE)) ** (1.0 / 3.0)
    return floats(edge * _SHAPE[0]), floats(edge * _SHAPE[1]), floats(edge * _SHAPE[2])


def outside_size(volume: float, *, wall: float) -> tuple[float, float, float]:
    """Outside width, height and depth of a box [m].

    Parameters
    ----------
    volume : float
        Inside volume with all that stands in it [m³].
    wall : float
        Thickness of the board [m].

    Examples
    --------
    >>> [round(100 * side, 1) for side in outside_size(0.012, wall=0.015)]
    [25.8, 31.8, 21.3]
    """
    width, height, depth = (float(side) + 2.0 * wall for side in inside_size(volume))
    return width, height, depth


def vent_room(volume: FloatsLike, across: FloatsLike) -> tuple[Floats, Floats]:
    """Longest vent that goes straight into a box, and longest with one bend [m].

    Its inner end keeps one diameter, or height of a slot, from the panel behind it. A bend follows
    the depth and then the height.

    Parameters
    ----------
    volume : float or array
        Inside volume [m³].
    across : float or array
        Bore of a tube, height of a slot [m].
    """
    _, height, depth = inside_size(volume)
    straight = depth - across
    return floats(straight), floats(straight + height - 2.0 * floats(across))


def vent_fit(length: float, *, volume: float, across: float, wall: float) -> Fit:
    """How a vent goes into a box.

    Parameters
    ----------
    length : float
        Its length along the middle [m].
    volume : float
        Inside volume of the box [m³].
    across : float
        Bore of a tube, height of a slot [m].
    wall : float
        Thickness of the board; no vent is shorter [m].

    Examples
    --------
    >>> vent_fit(0.16, volume=0.012, across=0.046, wall=0.015)
    'bent'
    """
    straight, bent = (float(room) for room in vent_room(volume, across))
    if length < wall:
        return "too short"
    if length <= straight + wall:
        return "straight"
    return "bent" if length <= bent + wall else "too long"


def slot_width(volume: FloatsLike) -> Floats:
    """Width of a slot in a box of that inside volume [m]."""
    return floats(_SLOT_SHARE * inside_size(volume)[0])
