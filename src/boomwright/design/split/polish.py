"""Both halves brought together: polarity and neighbouring values that keep the sum even."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product

import numpy as np

from boomwright.design.split.choose import Half, with_values
from boomwright.design.split.heard import ends_of, summed, whole_band
from boomwright.design.split.section import book_values, section_steps
from boomwright.design.split.target import FARTHEST, Target
from boomwright.design.split.wish import SplitWish
from boomwright.physics.arrays import Complexes, Floats
from boomwright.physics.curves import decibels
from boomwright.physics.ladder import ladder
from boomwright.physics.preferred import Series, preferred_at_least, preferred_at_most

__all__ = ["polished"]

_PASSES = 8
_POINTS = 81
_NEAR, _FAR_SHARE = 1.3, 0.5
"""Octaves from the split within which the sum counts in full, and what it counts beyond."""

_FAR = 1e3
_WIDE: Floats = np.geomspace(100.0, 20e3, 160)
_LEAST_OF_RATED, _SHORT = 0.85, 30.0
"""Least load over the rated one that is aimed at, and what a lack of it counts [dB]."""
_OWN_SHARE = 0.3
"""What each driver's own strays count beside those of the sum."""


def polished(
    low: Half, high: Half, frequency: float, wish: SplitWish, *, moves: int = 1
) -> tuple[float, Half, Half]:
    """Both halves with the polarity and the preferred values that make the sum most even.

    Values go up and down their series until no change helps.

    Parameters
    ----------
    low, high : Half
        Woofer and tweeter, each solved for itself.
    frequency : float
        Where the bands meet [Hz].
    wish : SplitWish
        What is wanted.
    moves : int
        How many values of a half are changed at once, 1 or 2; two find more and take longer.

    Returns
    -------
    tuple of float and two Half
        First the strays that are left, root of their mean square [dB].
    """
    best: tuple[float, Floats, Floats, bool] | None = None
    for swapped in (False, True):
        pair = _Pair(low, high, frequency, wish, swapped=swapped)
        found = pair.settled(moves)
        if best is None or found[0] < best[0]:
            best = (*found, swapped)
    if best is None:
        raise ValueError("polarity: got none to try")
    least, values_low, values_high, turned = best
    halves = with_values(low, values_low), with_values(high, values_high)
    branch = replace(halves[1].branch, reversed=turned)
    return float(np.sqrt(least)), halves[0], replace(halves[1], branch=branch)


@dataclass(frozen=True, eq=False)
class _Tried:
    """What some values of one half make: arrays over the tries, and over frequency."""

    cost: Floats
    pressure: Complexes
    admittance: Complexes


class _One:
    """One half, for many values at once."""

    def __init__(self, half: Half, around: Floats) -> None:
        self.half, self.target = half, Target(half.section)
        drive = half.branch.drive
        self.book = book_values(half.section, drive.rated)
        self.own = drive.pressure(around)[:1]
        # One solution serves the target, the sum and the load.
        parts = (self.target.frequency, around, _WIDE)
        self.frequency = np.concatenate(parts)
        self.cuts = np.cumsum([part.size for part in parts])[:-1]
        self.load = drive.impedance(self.frequency)[:1]

    def tried(self, values: Floats) -> _Tried:
        section = self.half.section
        steps = [*section_steps(section, values), *section.tail]
        found = ladder(steps, self.load, self.frequency)
        first, second = self.cuts
        transfer, impedance = found.transfer, found.impedance
        own = self.target.cost_of(transfer[:, :first], impedance[:, :first])
        far = np.abs(np.log(values / self.book)) - np.log(FARTHEST)
        return _Tried(
            cost=_OWN_SHARE * own + _FAR * np.sum(np.maximum(far, 0.0), axis=-1),
            pressure=np.asarray(transfer[:, first:second] * self.own, dtype=np.complex128),
            admittance=np.asarray(1.0 / impedance[:, second:], dtype=np.complex128),
        )


class _Pair:
    """Strays of both halves and of their sum."""

    def __init__(
        self, low: Half, high: Half, frequency: float, wish: SplitWish, *, swapped: bool
    ) -> None:
        self.wish = wish
        drives = [half.branch.drive for half in (low, high)]
        self.around = np.geomspace(*whole_band(drives, frequency), _POINTS)
        self.wanted = low.level + ends_of(drives, self.around)
        octaves = np.abs(np.log2(self.around / frequency))
        self.weight = np.where(octaves <= _NEAR, 1.0, _FAR_SHARE)
        self.halves = [_One(half, self.around) for half in (low, high)]
        self.branches = (low.branch, replace(high.branch, reversed=swapped))

    def settled(self, moves: int) -> tuple[float, Floats, Floats]:
        """Least strays that steps of some values at once lead to, with the values there."""
        values = [one.half.solution.values for one in self.halves]
        now = [one.tried(value[np.newaxis]) for one, value in zip(self.halves, values, strict=True)]
        least = float(self._strays(*now)[0])
        for _ in range(_PASSES):
            before = least
            for half, places in self._places(moves):
                tries = _beside(values[half], places, self.wish.parts)
                made = self.halves[half].tried(tries)
                strays = self._strays(*((made, now[1]) if half == 0 else (now[0], made)))
                choice = int(np.argmin(strays))
                if strays[choice] < least:
                    least, values[half] = float(strays[choice]), tries[choice]
                    now[half] = self.halves[half].tried(values[half][np.newaxis])
            if least == before:
                break
        return least, values[0], values[1]

    def _places(self, moves: int) -> list[tuple[int, tuple[int, ...]]]:
        return [
            (half, places)
            for half, one in enumerate(self.halves)
            for places in combinations(
                range(one.half.solution.values.size), min(moves, one.half.solution.values.size)
            )
        ]

    def _strays(self, low: _Tried, high: _Tried) -> Floats:
        level = decibels(
            summed([low.pressure, high.pressure], self.around, self.branches, self.wish)
        )
        uneven = np.sum(self.weight * (level - self.wanted) ** 2, axis=-1) / np.sum(self.weight)
        return np.asarray(low.cost + high.cost + uneven + self._short(low, high))

    def _short(self, low: _Tried, high: _Tried) -> Floats:
        """What counts against a load below what the amplifier is made for."""
        if not self.wish.together:
            return np.zeros(1)
        least = 1.0 / np.max(np.abs(low.admittance + high.admittance), axis=-1)
        lacking = _LEAST_OF_RATED - least / self.wish.load_min
        return np.asarray((_SHORT * np.maximum(0.0, lacking)) ** 2)


def _beside(values: Floats, places: Sequence[int], series: Series) -> Floats:
    """Values of which those at some places are theirs or one of four preferred ones around them."""
    choices = list(product(*(_five(float(values[place]), series) for place in places)))
    tries = np.repeat(values[np.newaxis], len(choices), axis=0)
    tries[:, list(places)] = choices
    return tries


def _five(value: float, series: Series) -> tuple[float, ...]:
    below = float(preferred_at_most(0.999 * value, series))
    above = float(preferred_at_least(1.001 * value, series))
    outer = float(preferred_at_most(0.999 * below, series))
    return outer, below, value, above, float(preferred_at_least(1.001 * above, series))
