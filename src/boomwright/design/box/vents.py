"""One vent, or all that come into question, for a box of a given volume and tuning."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from boomwright.build.quantities import Quantity
from boomwright.design.box.shapes import BORES, SLOT_HEIGHTS, Fit, Vent, slot_width, vent_fit
from boomwright.outcome.data import Range
from boomwright.physics.vent import (
    VentEnds,
    least_vent_area,
    pipe_resonance,
    vent_air_speed,
    vent_flow,
    vent_length,
    vent_tuning,
)

__all__ = ["SizedVent", "VentWish", "sized_vent", "vents_for"]


@dataclass(frozen=True, kw_only=True)
class VentWish:
    """What is wanted of a vent.

    Parameters
    ----------
    volume : Quantity
        Net air of the box [m³].
    tuning : Quantity
        Tuning wanted [Hz].
    level : float
        Level at 1 m in half space that the vent alone has to make at the tuning [dB].
    displacement : float
        Cone area times travel of all drivers [m³]; 0 where it is not known.
    ends : str
        How the ends stand.
    along : int
        Panels that the inner end lies along.
    wall : float
        Thickness of the board [m].
    """

    volume: Quantity
    tuning: Quantity
    level: float = 90.0
    displacement: float = 0.0
    ends: VentEnds = "flush-free"
    along: int = 0
    wall: float = 0.015


@dataclass(frozen=True)
class SizedVent:
    """A vent with its length and what comes of it.

    Parameters
    ----------
    vent : Vent
        The vent, at its likely length.
    length : Range
        Length for the tuning, over what is uncertain of box, tuning and bore, or the one that it
        has [m].
    tuning : Range
        Tuning that the likely length gives [Hz].
    fit : str
        How it goes into the box.
    speed : float
        Peak speed of its air for the wanted level [m/s].
    loudest : float
        Level that it makes at 17 m/s [dB].
    pipe : float
        First resonance as a pipe [Hz].
    least : float
        Area over the least for the driver's full travel [1]; infinite where that is not known.
    taken : float
        Volume that it takes from the box [m³].
    """

    vent: Vent
    length: Range
    tuning: Range
    fit: Fit
    speed: float
    loudest: float
    pipe: float
    least: float
    taken: float


def sized_vent(
    wish: VentWish, vent: Vent, *, across: Quantity | None = None, length: float | None = None
) -> SizedVent:
    """One vent at its length.

    Parameters
    ----------
    wish : VentWish
        What is wanted.
    vent : Vent
        Its shape.
    across : Quantity or None
        Bore or height with its range; exact if None.
    length : float or None
        Length that it has [m]; the one that the tuning takes if None.

    Returns
    -------
    SizedVent
    """
    sizes = (vent.across, vent.across, vent.across)
    if across is not None:
        sizes = (across.likely, across.low, across.high)
    corners = np.array(
        [
            (wish.volume.likely, wish.tuning.likely, sizes[0]),
            *product(
                (wish.volume.low, wish.volume.high),
                (wish.tuning.low, wish.tuning.high),
                sizes[1:],
            ),
        ]
    )
    volume, fb, wide = corners.T
    area = np.pi * wide**2 / 4.0 if vent.shape == "round" else wide * vent.width
    every = vent_length(
        volume=volume, fb=fb, area=area, count=vent.count, ends=wish.ends, along=wish.along
    )
    cut = float(every[0]) if length is None else length
    tuned = vent_tuning(
        volume=volume,
        length=max(cut, 0.0),
        area=area,
        count=vent.count,
        ends=wish.ends,
        along=wish.along,
    )
    made = replace(vent, length=cut)
    flow = vent_flow(wish.level, frequency=float(tuned[0]))
    speed = float(vent_air_speed(flow, area=vent.count * vent.area))
    least = np.inf
    if wish.displacement > 0.0:
        wanted = least_vent_area(fb=float(tuned[0]), displacement=wish.displacement)
        least = float(vent.count * vent.area / wanted)
    return SizedVent(
        vent=made,
        length=_range(every) if length is None else Range(cut, cut, cut),
        tuning=_range(tuned),
        fit=vent_fit(cut, volume=wish.volume.likely, across=vent.across, wall=wish.wall),
        speed=speed,
        loudest=wish.level + 20.0 * float(np.log10(_HEARD / speed)),
        pipe=float(pipe_resonance(max(cut, 0.0), area=vent.area, ends=wish.ends, along=wish.along)),
        least=float(least),
        taken=made.taken(wish.wall),
    )


def vents_for(wish: VentWish) -> tuple[SizedVent, ...]:
    """Every usual tube, single and double, and slots: what length each takes and whether it fits.

    Parameters
    ----------
    wish : VentWish
        What is wanted.

    Returns
    -------
    tuple of SizedVent
        Those that fit come first, then by area.
    """
    width = float(slot_width(wish.volume.likely))
    vents = [Vent("round", count, bore) for count in (1, 2) for bore in BORES]
    vents += [Vent("slot", 1, height, width) for height in SLOT_HEIGHTS]
    found = [sized_vent(wish, vent) for vent in vents]
    return tuple(
        sorted(found, key=lambda each: (_ORDER[each.fit], each.vent.count * each.vent.area))
    )


_HEARD = 17.0
_ORDER: dict[Fit, int] = {"straight": 0, "bent": 1, "too long": 2, "too short": 3}


def _range(values: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> Range:
    return Range(float(values[0]), float(np.min(values)), float(np.max(values)))
