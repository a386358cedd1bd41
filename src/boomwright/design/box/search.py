"""Thousands of boxes tried at once: volume by tuning by vent, or by passive radiator."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from boomwright.design.box.heard import music_levels, music_response
from boomwright.design.box.shapes import (
    BORES,
    CONES,
    SLOT_HEIGHTS,
    Radiator,
    Vent,
    radiator_mass,
    slot_width,
    vent_room,
)
from boomwright.design.box.wish import BoxWish, Subject
from boomwright.physics.acoustic_load import radiator_load, vented_load
from boomwright.physics.alignment import BOX_LOSS_Q, vented_box
from boomwright.physics.arrays import Floats, floats
from boomwright.physics.box_response import box_response, passband_pressure
from boomwright.physics.curves import decibels, response_corner
from boomwright.physics.driver import small_signal
from boomwright.physics.limits import DriveLimits
from boomwright.physics.vent import least_vent_area, vent_length

__all__ = ["Found", "best_radiator", "best_vented", "qts_of", "vented_variants"]

_VOLUMES, _TUNINGS = 32, 32
_SMALLEST_SHARE = 1.0 / 8.0
_LOWEST_TUNING, _HIGHEST_TUNING = 0.45, 1.7
_COUNTS = (1, 2)
_RADIATOR_COUNTS = (1, 2)
_GRID = 84
_NOTCH_BELOW = 0.75
"""Resonance of a passive radiator over the tuning, up to which its notch stays out of the bass [1];
common practice, no source."""
_QUIET = 3.0
"""Room between the level and what the air in the vent allows, from which on it is quiet [dB]."""
_FRAME = 1.35
"""Frame of a cone over the diameter of its moving part [1]; typical, from memory."""

NEAR_LOWEST: Final = 1.15
"""How far above the lowest bass that goes is still near enough, where no bass end is wanted."""

HALF_A_DECIBEL: Final = 0.5
"""A smaller box that is no more than this quieter is the better one [dB]."""

LEAST_AREA: Final = 0.5
"""Area of a vent over the least for a driver at its full travel, from which on it is taken [1].

Music seldom asks for all of the travel at the tuning; common practice, no source."""

INSIDE_OVER_NET: Final = 1.08
"""Inside volume over net volume while vent, driver and braces are not yet known [1]."""


@dataclass(frozen=True)
class Found:
    """Best box of a search.

    Parameters
    ----------
    volume, fb : float
        Air [m³] and tuning [Hz].
    vent : Vent or None
        Its vent.
    radiator : Radiator or None
        Its passive radiator.
    f3 : float
        Where its bass is 3 dB down [Hz].
    level : float
        Level of music, battery nearly empty [dB(A)].
    tried : int
        How many boxes were tried.
    """

    volume: float
    fb: float
    vent: Vent | None
    radiator: Radiator | None
    f3: float
    level: float
    tried: int


@dataclass(frozen=True, eq=False)
class Variants:
    """Vented boxes; arrays are (volumes, tunings, vents).

    Parameters
    ----------
    volume, fb : array
        Air [m³], shape (volumes, 1, 1), and tuning [Hz], shape (1, tunings, 1).
    vents : tuple of Vent
        Vents of the last axis; a slot's width follows from the box.
    length, room : array
        Length of each vent [m], and volume of the air in all of them [m³].
    fits, straight : array of bool
        Whether it is wide enough and goes into the box at all, and whether without a bend.
    f3, peak_db : array, shape (volumes, tunings, 1)
        End of the bass [Hz] and hump [dB].
    level, air : array
        Level of music, battery nearly empty, and the one that the air in the vent allows [dB(A)].
    """

    volume: Floats
    fb: Floats
    vents: tuple[Vent, ...]
    length: Floats
    room: Floats
    fits: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]
    straight: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]
    f3: Floats
    peak_db: Floats
    level: Floats
    air: Floats


def qts_of(subject: Subject, resistance: float) -> tuple[float, float, float]:
    """Likely fs, total Q with what stands in series, and vas: [Hz], [1], [m³]."""
    known = small_signal(subject.model)
    fs, qms, qes, vas = (
        float(np.ravel(value)[0]) for value in (known.fs, known.qms, known.qes, known.vas)
    )
    re = float(np.ravel(subject.model.re)[0])
    qes *= (re + resistance) / re
    return fs, qms * qes / (qms + qes), vas


def _volumes(wish: BoxWish) -> Floats:
    if wish.net is not None:
        return np.array([wish.net])
    return np.geomspace(_SMALLEST_SHARE * wish.most, wish.most, _VOLUMES)


def _candidates(inside: Floats) -> tuple[tuple[Vent, ...], Floats]:
    """Vents to try, and the area of one of each in each box, (volumes, 1, vents)."""
    tubes = [Vent("round", count, bore) for bore in BORES for count in _COUNTS]
    slots = [Vent("slot", 1, height) for height in SLOT_HEIGHTS]
    areas = [np.full(inside.shape, tube.area) for tube in tubes]
    areas += [slot.across * slot_width(inside) for slot in slots]
    return (*tubes, *slots), floats(np.stack(areas, axis=-1)[:, np.newaxis, :])


def vented_variants(wish: BoxWish, subject: Subject) -> Variants:
    """Every vented box that is worth a try, with its level and whether its vent fits.

    Parameters
    ----------
    wish : BoxWish
        What is wanted.
    subject : Subject
        The driver in its likely version.

    Returns
    -------
    Variants
    """
    fs, qts, vas = qts_of(subject, wish.resistance)
    volumes = _volumes(wish)
    inside = INSIDE_OVER_NET * volumes
    vents, area = _candidates(inside)
    volume = volumes[:, np.newaxis, np.newaxis]
    fb = np.geomspace(_LOWEST_TUNING * fs, _HIGHEST_TUNING * fs, _TUNINGS)[:, np.newaxis]
    counts = np.array([float(vent.count) for vent in vents])
    across = np.array([vent.across for vent in vents])
    length = vent_length(volume=volume, fb=fb, area=area, count=counts)
    displacement = wish.count * float(np.ravel(subject.model.sd)[0] * subject.xmax[0, 0])
    wide = area * counts >= LEAST_AREA * least_vent_area(fb=fb, displacement=displacement)
    straight, bent = (room + wish.wall for room in vent_room(inside[:, None, None], across))
    share = volume / wish.count
    box = vented_box(fs=fs, qts=qts, vas=vas, volume=share, fb=fb, ql=BOX_LOSS_Q)
    response = music_response(
        subject.flat,
        vented_load(volume=share, fb=fb, ql=BOX_LOSS_Q),
        wish.programme,
        resistance=wish.resistance,
    )
    music = music_levels(
        response,
        _limits(wish, subject, vent_area=floats(1.0)),
        wish.programme,
        high_end=subject.high_end,
        resistance=wish.resistance,
        count=wish.count,
    )[..., np.newaxis]
    # Air speed is the one limit that the vent's size moves: by 20 log10 of its area.
    air = music[3] + 20.0 * np.log10(area * counts / wish.count)
    level = np.minimum(np.min(np.delete(music, 3, axis=0), axis=0), air)
    return Variants(
        volume=volume,
        fb=fb[np.newaxis],
        vents=vents,
        length=length,
        room=floats(length * area * counts),
        fits=wide & (length >= wish.wall) & (length <= bent),
        straight=(length >= wish.wall) & (length <= straight),
        f3=box.f3,
        peak_db=box.peak_db,
        level=level,
        air=floats(np.broadcast_to(air, level.shape)),
    )


def best_vented(wish: BoxWish, subject: Subject) -> Found | None:
    """Loudest vented box whose vent fits and whose bass goes as low as is wanted.

    Of boxes within half a decibel of the loudest the smallest is taken; of its vents a straight one
    before a bent one, a quiet one before a fast one, and then the one that takes least room.

    Parameters
    ----------
    wish : BoxWish
        What is wanted.
    subject : Subject
        The driver in its likely version.

    Returns
    -------
    Found or None
        None where no vent fits or no box reaches that low.
    """
    tried = vented_variants(wish, subject)
    good = tried.fits & (tried.peak_db <= wish.hump)
    # A full battery plays louder than the nearly empty one that the boxes are compared at.
    fast = tried.air < tried.level + _QUIET + 20.0 * np.log10(wish.volts[0] / wish.volts[-1])
    worse = floats(2.0 * ~tried.straight + fast)
    at = _chosen(wish, good, tried.f3, tried.level, tried.volume, (worse, tried.room))
    if at is None:
        return None
    vent = tried.vents[at[2]]
    volume = float(tried.volume[at[0], 0, 0])
    width = float(slot_width(INSIDE_OVER_NET * volume)) if vent.shape == "slot" else 0.0
    return Found(
        volume=volume,
        fb=float(tried.fb[0, at[1], 0]),
        vent=replace(vent, width=width, length=float(tried.length[at])),
        radiator=None,
        f3=float(tried.f3[at[0], at[1], 0]),
        level=float(tried.level[at]),
        tried=tried.level.size,
    )


def best_radiator(wish: BoxWish, subject: Subject) -> Found | None:
    """Loudest box with passive radiators whose bass goes as low as is wanted.

    They move at least as much air as the drivers do, weigh no less than they do without weights,
    and have their notch below the bass.

    Parameters
    ----------
    wish : BoxWish
        What is wanted.
    subject : Subject
        The driver in its likely version.

    Returns
    -------
    Found or None
        None where no radiator goes on the box or none reaches that low.
    """
    fs, _, _ = qts_of(subject, wish.resistance)
    volumes = _volumes(wish)[:, np.newaxis, np.newaxis]
    fb = np.geomspace(_LOWEST_TUNING * fs, _HIGHEST_TUNING * fs, _TUNINGS)[:, np.newaxis]
    pairs = [(cone, count) for cone in CONES for count in _RADIATOR_COUNTS]
    made = [
        radiator_mass(cone, count=count, volume=volumes[..., 0], fb=fb[:, 0])
        for cone, count in pairs
    ]
    mass = np.stack([count * each for (_, count), (each, _) in zip(pairs, made, strict=True)], -1)
    fp = np.stack([each for _, each in made], axis=-1)
    area = np.array([count * cone.sd for cone, count in pairs])
    xmax = np.array([cone.xmax for cone, _ in pairs])
    load = radiator_load(
        volume=(volumes / wish.count)[..., np.newaxis],
        area=(area / wish.count)[:, np.newaxis],
        mass=(mass / wish.count)[..., np.newaxis],
        fp=fp[..., np.newaxis],
        ql=BOX_LOSS_Q,
    )
    limits = _limits(wish, subject, radiator_area=(area / wish.count)[:, np.newaxis])
    limits = replace(limits, radiator_xmax=xmax[:, np.newaxis])
    level = np.min(
        music_levels(
            music_response(subject.flat, load, wish.programme, resistance=wish.resistance),
            limits,
            wish.programme,
            high_end=subject.high_end,
            resistance=wish.resistance,
            count=wish.count,
        ),
        axis=0,
    )
    hertz = np.geomspace(0.25 * fs, 8.0 * fs, _GRID)
    bass = box_response(subject.flat, load, hertz, source_resistance=wish.resistance).pressure
    over = decibels(bass / _flat_pressure(subject, wish.resistance))
    f3 = response_corner(hertz, over, side="low")
    # A panel takes a cone that leaves a finger's width around it.
    widest = np.sqrt(4.0 * np.array([cone.sd for cone, _ in pairs]) / np.pi) * _FRAME
    moved = wish.count * float(np.ravel(subject.model.sd)[0] * subject.xmax[0, 0])
    own = np.array([count * cone.mass for cone, count in pairs])
    fits = (
        (widest <= _panel(volumes))
        & (area * xmax >= moved)
        & (mass >= own)
        & (fp <= _NOTCH_BELOW * fb)
    )
    good = fits & (np.max(over, axis=-1) <= wish.hump) & np.isfinite(f3)
    at = _chosen(wish, good, f3, level, volumes, (area,))
    if at is None:
        return None
    cone, count = pairs[at[2]]
    return Found(
        volume=float(volumes[at[0], 0, 0]),
        fb=float(fb[at[1], 0]),
        vent=None,
        radiator=Radiator(cone, count, float(mass[at]) / count, float(fp[at])),
        f3=float(f3[at]),
        level=float(level[at]),
        tried=level.size,
    )


def _panel(volume: Floats) -> Floats:
    """Lesser side of the front, inside, of a box of that net volume [m]."""
    return floats(slot_width(INSIDE_OVER_NET * volume) / 0.6)


def _flat_pressure(subject: Subject, resistance: float) -> float:
    re = float(np.ravel(subject.model.re)[0])
    return float(np.ravel(passband_pressure(subject.model))[0]) * re / (re + resistance)


def _limits(
    wish: BoxWish,
    subject: Subject,
    *,
    vent_area: Floats | float = np.inf,
    radiator_area: Floats | float = np.inf,
) -> DriveLimits:
    """Limits of a driver in its likely version, battery nearly empty."""
    return DriveLimits(
        volts=wish.volts[-1],
        amps=wish.amps,
        xmax=float(subject.xmax[0, 0]),
        vent_area=vent_area,
        radiator_area=radiator_area,
        power=float(subject.power[0, 0]),
    )


def _chosen(
    wish: BoxWish,
    good: np.ndarray[tuple[int, ...], np.dtype[np.bool_]],
    f3: Floats,
    level: Floats,
    volume: Floats,
    worse: tuple[Floats, ...],
) -> tuple[int, int, int] | None:
    """Place of the best box: low enough, loud, then small, then without what makes it worse."""
    if not good.any():
        return None
    f3 = np.broadcast_to(f3, level.shape)
    low_end = wish.low_end
    if low_end is None:
        low_end = NEAR_LOWEST * float(np.min(f3[good]))
    good = good & (f3 <= low_end)
    if not good.any():
        return None
    best = float(np.max(level[good]))
    near = np.flatnonzero(good & (level >= best - HALF_A_DECIBEL))
    # The last key counts first.
    keys = [np.broadcast_to(key, level.shape).ravel()[near] for key in (*worse[::-1], volume)]
    order = np.lexsort(keys)
    found = np.unravel_index(int(near[order[0]]), level.shape)
    return int(found[0]), int(found[1]), int(found[2])
