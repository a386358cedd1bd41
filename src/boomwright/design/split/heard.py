"""Both halves at once: polarity, the sum at the listener, the load on the amplifier."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from boomwright.design.split.branch import Branch
from boomwright.design.split.drive import Drive
from boomwright.design.split.wish import SplitWish
from boomwright.outcome.voices import Voice
from boomwright.physics.arrays import Complexes, Floats
from boomwright.physics.curves import crossing, decibels, least_impedance, response_corner
from boomwright.physics.nature import REFERENCE_PRESSURE
from boomwright.physics.summed import path_length, phase_between, summed_pressure

__all__ = [
    "GRID",
    "Gain",
    "Heard",
    "Spread",
    "amplifier_load",
    "ends_of",
    "greatest_gain",
    "heard",
    "spread_of",
    "summed",
    "whole_band",
]

GRID: Floats = np.geomspace(20.0, 20e3, 601)
"""Frequencies at which a split is looked at [Hz]."""

_AROUND = 2.0
"""The sum is judged from the crossover over this factor to the crossover times it."""

_BELOW = 4.0
_LOWEST_OF_END = 1.2
"""How far below the crossover the whole band begins, and how far above the woofer's lower end."""

_SPREAD_POINTS, _BEYOND_POINTS = 97, 16


@dataclass(frozen=True, eq=False)
class Heard:
    """What the listener hears; levels at 1 m for 2.83 V, the paths' difference counted.

    Parameters
    ----------
    frequency : array, shape (n,)
        Frequencies [Hz].
    branches : tuple of array, shape (n,)
        Level of each driver alone [dB].
    both : array, shape (n,)
        Level of all together [dB].
    turned : array, shape (n,)
        The same with one of them the other way round [dB].
    phase : array, shape (n,)
        Lead of the woofer over the tweeter, polarity counted [rad]; 0 for one driver.
    """

    frequency: Floats
    branches: tuple[Floats, ...]
    both: Floats
    turned: Floats
    phase: Floats


@dataclass(frozen=True)
class Gain:
    """Most volts that a driver gets over those of the amplifier.

    Parameters
    ----------
    level : float
        Over the amplifier's [dB].
    frequency : float
        Where [Hz].
    """

    level: float
    frequency: float


@dataclass(frozen=True, eq=False)
class Spread:
    """Many builds of one design, the likely one first, arrays of shape (1 + builds,).

    Parameters
    ----------
    crosses : array
        Frequency at which both are equally loud [Hz]; not a number for one driver.
    sum_there : array
        Level of the sum at the design's frequency over the woofer's flat level [dB].
    uneven : array
        Highest less lowest level of the sum an octave either side of the split [dB].
    uneven_all : array
        The same over all that both drivers cover, the drivers' own ends taken out [dB].
    least : array
        Least impedance at the amplifier [Ω].
    tweeter_volts : array, shape (1 + builds, 3)
        Volts at the tweeter for a volt at the amplifier, at half, once and twice the frequency.
    woofer_volts : array, shape (1 + builds, 3)
        The same at the woofer.
    corners : tuple of array
        Where the sound of each driver alone has fallen by what its target loses at its corner
        [Hz]; not a number where it does so beyond two octaves.
    """

    crosses: Floats
    sum_there: Floats
    uneven: Floats
    uneven_all: Floats
    least: Floats
    tweeter_volts: Floats
    woofer_volts: Floats
    corners: tuple[Floats, ...]


def _paths(branches: Sequence[Branch], wish: SplitWish) -> list[Floats]:
    """Way of each driver to a listener level with the highest band."""
    last = len(branches) - 1
    return [
        path_length(
            wish.distance,
            aside=0.0 if place == last else wish.spacing or 0.0,
            offset=branch.drive.driver.offset.likely,
        )
        for place, branch in enumerate(branches)
    ]


def summed(
    pressures: Sequence[Complexes], frequency: Floats, branches: Sequence[Branch], wish: SplitWish
) -> Complexes:
    """Sound of all branches at the listener, brought back to 1 m [same unit].

    Parameters
    ----------
    pressures : sequence of array of complex, shape (..., n)
        Of each branch at 1 m.
    frequency : array, shape (n,)
        Frequencies [Hz].
    branches : sequence of Branch
        Woofer first; their polarity and offsets count.
    wish : SplitWish
        Where the listener is.

    Returns
    -------
    array of complex, shape (..., n)
    """
    found = summed_pressure(
        pressures,
        frequency,
        paths=_paths(branches, wish),
        reversed_=[branch.reversed for branch in branches],
    )
    return np.asarray(found * wish.distance, dtype=np.complex128)


def _levels(pressure: Complexes) -> Floats:
    return decibels(pressure * np.sqrt(8.0) / REFERENCE_PRESSURE)


def heard(branches: Sequence[Branch], wish: SplitWish) -> Heard:
    """Levels of each driver and of all together.

    Parameters
    ----------
    branches : sequence of Branch
        Woofer first.
    wish : SplitWish
        What is wanted: where the listener is.

    Returns
    -------
    Heard
    """
    pressures = [branch.pressure(GRID) for branch in branches]
    other = [*branches[:-1], replace(branches[-1], reversed=not branches[-1].reversed)]
    phase = np.zeros_like(GRID)
    if len(branches) > 1:
        silence = np.zeros_like(pressures[0])
        low = summed([pressures[0], silence], GRID, branches, wish)
        phase = phase_between(low, summed([silence, pressures[1]], GRID, branches, wish))
    return Heard(
        frequency=GRID,
        branches=tuple(_levels(one) for one in pressures),
        both=_levels(summed(pressures, GRID, branches, wish)),
        turned=_levels(summed(pressures, GRID, other, wish)),
        phase=phase,
    )


def greatest_gain(branch: Branch) -> Gain:
    """Where a filter gives its driver most of the amplifier's volts: a filter that rings, more."""
    gain = decibels(branch.ladder(GRID).transfer[0])
    at = int(np.argmax(gain))
    return Gain(float(gain[at]), float(GRID[at]))


def whole_band(drives: Sequence[Drive], frequency: float) -> tuple[float, float]:
    """Ends of what the sum is judged over [Hz]: two octaves below the split to the treble's end.

    Parameters
    ----------
    drives : sequence of Drive
        Woofer first.
    frequency : float
        Where the bands meet [Hz].

    Returns
    -------
    tuple of float
    """
    low_end = drives[0].driver.low_end
    below = _LOWEST_OF_END * low_end.likely if low_end is not None else GRID[0]
    low = min(max(frequency / _BELOW, below), frequency / _AROUND)
    high = min(drives[-1].driver.high_end.likely, GRID[-1])
    return float(low), float(max(high, min(_AROUND * frequency, GRID[-1])))


def ends_of(drives: Sequence[Drive], frequency: Floats) -> Floats:
    """What the woofer's own bass and the tweeter's own treble have lost, (n,) [dB], 0 or below.

    Parameters
    ----------
    drives : sequence of Drive
        Woofer first.
    frequency : array, shape (n,)
        Frequencies [Hz].

    Returns
    -------
    array
    """
    woofer, tweeter = drives[0].voice, drives[-1].voice
    bass = _endless(woofer).shape(frequency)[0]
    treble = tweeter.shape(frequency)[0] / _endless(tweeter).shape(frequency)[0]
    return np.minimum(decibels(bass), 0.0) + np.minimum(decibels(treble), 0.0)


def _endless(voice: Voice) -> Voice:
    """A voice whose treble does not end."""
    return replace(voice, corners=(voice.corners[0], np.inf))


def amplifier_load(branches: Sequence[Branch], wish: SplitWish, frequency: Floats) -> Complexes:
    """What one channel of the amplifier sees, (n,) [Ω]: both side by side, or the lower one.

    Parameters
    ----------
    branches : sequence of Branch
        The branches.
    wish : SplitWish
        Whether they hang on one channel.
    frequency : array, shape (n,)
        Frequencies [Hz].

    Returns
    -------
    array of complex
    """
    each = np.stack([branch.ladder(frequency).impedance[0] for branch in branches])
    if wish.together:
        return np.asarray(1.0 / np.sum(1.0 / each, axis=0), dtype=np.complex128)
    lower = np.argmin(np.min(np.abs(each), axis=-1))
    return np.asarray(each[lower], dtype=np.complex128)


def spread_of(
    branches: Sequence[Branch],
    frequency: float,
    level: float,
    wish: SplitWish,
    *,
    taken: Sequence[float],
) -> Spread:
    """Many builds from parts and drivers that differ as those of one delivery do.

    Parameters
    ----------
    branches : sequence of Branch
        Woofer first.
    frequency : float
        Where the bands meet [Hz].
    level : float
        Flat level that the sum is held against [dB re 1 Pa for 1 V].
    wish : SplitWish
        How many builds.
    taken : sequence of float
        Level that each filter leaves in the band that it passes [dB].

    Returns
    -------
    Spread
    """
    drives = [branch.drive for branch in branches]
    ends = whole_band(drives, frequency)
    around = np.geomspace(frequency / 4.0, frequency * 4.0, _SPREAD_POINTS)
    if ends[1] > around[-1]:
        beyond = np.geomspace(around[-1], ends[1], _BEYOND_POINTS)[1:]
        around = np.concatenate([around, beyond])
    wide = np.geomspace(max(20.0, frequency / 40.0), min(20e3, frequency * 8.0), _SPREAD_POINTS)
    at = frequency * np.array([0.5, 1.0, 2.0])
    pressures, volts, loads, corners = [], [], [], []
    for branch, left in zip(branches, taken, strict=True):
        loose = branch.drive.loose(branch.filter, wish.builds)
        pressures.append(loose.voice.filtered(around).transfer * loose.pressure(around))
        own = decibels(pressures[-1] / loose.flat) - left
        side: Literal["low", "high"] = "low" if branch.high_pass else "high"
        corners.append(response_corner(around, np.minimum(own, 0.0), drop_db=wish.drop, side=side))
        volts.append(np.abs(loose.voice.filtered(at).transfer))
        loads.append(loose.voice.filtered(wide).impedance)
    level_of = [decibels(one) for one in pressures]
    both = decibels(summed(pressures, around, branches, wish))
    inside = np.abs(np.log(around / frequency)) <= np.log(_AROUND) + 1e-9
    whole = (around >= ends[0]) & (around <= 1.0001 * ends[1])
    flat = both - ends_of(drives, around)
    count = both.shape[0]
    none = np.full(count, np.nan)
    several = len(branches) > 1
    load = loads[0]
    if several and wish.together:
        load = loads[0] * loads[1] / (loads[0] + loads[1])
    least = least_impedance(wide, load).impedance
    if several and not wish.together:
        least = np.minimum(least, least_impedance(wide, loads[1]).impedance)
    last = volts[-1]
    return Spread(
        crosses=crossing(around, level_of[0], level_of[1]) if several else none,
        sum_there=both[:, _SPREAD_POINTS // 2] - level,
        uneven=np.ptp(both[:, inside], axis=-1),
        uneven_all=np.ptp(flat[:, whole], axis=-1) if several else none,
        least=np.broadcast_to(least, count),
        tweeter_volts=np.broadcast_to(last, (count, 3)),
        woofer_volts=np.broadcast_to(volts[0], (count, 3)),
        corners=tuple(corners),
    )
