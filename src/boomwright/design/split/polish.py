"""Both halves brought together: polarity and neighbouring values that keep the sum even."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from boomwright.design.split.choose import Half, with_values
from boomwright.design.split.heard import summed
from boomwright.design.split.solve import FARTHEST, Target, section_steps
from boomwright.design.split.wish import SplitWish
from boomwright.physics.arrays import Complexes, Floats
from boomwright.physics.curves import decibels
from boomwright.physics.ladder import Step, ladder
from boomwright.physics.preferred import Series, preferred_at_least, preferred_at_most

__all__ = ["polished"]

_PASSES = 8
_AROUND = 2.5
_FAR = 1e3
_WIDE: Floats = np.geomspace(100.0, 20e3, 160)
_LEAST_OF_RATED, _SHORT = 0.85, 30.0
"""Least load over the rated one that is aimed at, and what a lack of it counts [dB]."""
_OWN_SHARE = 0.3
"""What each driver's own strays count beside those of the sum."""


def polished(low: Half, high: Half, frequency: float, wish: SplitWish) -> tuple[Half, Half]:
    """Both halves with the polarity and the preferred values that make the sum most even.

    Value by value, up and down its series, until no single change helps.

    Parameters
    ----------
    low, high : Half
        Woofer and tweeter, each solved for itself.
    frequency : float
        Where the bands meet [Hz].
    wish : SplitWish
        What is wanted.

    Returns
    -------
    tuple of Half
    """
    best: tuple[float, Floats, Floats, bool] | None = None
    for swapped in (False, True):
        pair = _Pair(low, high, frequency, wish, swapped=swapped)
        found = pair.settled()
        if best is None or found[0] < best[0]:
            best = (*found, swapped)
    if best is None:
        raise ValueError("polarity: got none to try")
    _, values_low, values_high, turned = best
    halves = with_values(low, values_low), with_values(high, values_high)
    branch = replace(halves[1].branch, reversed=turned)
    return halves[0], replace(halves[1], branch=branch)


class _Pair:
    """Strays of both halves and of their sum, for many values at once."""

    def __init__(
        self, low: Half, high: Half, frequency: float, wish: SplitWish, *, swapped: bool
    ) -> None:
        self.halves = (low, high)
        self.wish = wish
        self.around = np.geomspace(frequency / _AROUND, frequency * _AROUND, 41)
        self.targets = [Target(half.section) for half in self.halves]
        self.loads = [half.branch.drive.impedance(self.around)[:1] for half in self.halves]
        self.far_loads = [half.branch.drive.impedance(_WIDE)[:1] for half in self.halves]
        self.own = [half.branch.drive.pressure(self.around)[:1] for half in self.halves]
        self.branches = (low.branch, replace(high.branch, reversed=swapped))

    def settled(self) -> tuple[float, Floats, Floats]:
        """Least strays that single steps lead to, with the values there."""
        values = [half.solution.values.copy() for half in self.halves]
        least = float(self._strays(*(one[np.newaxis] for one in values))[0])
        for _ in range(_PASSES):
            before = least
            for half in range(2):
                for place in range(values[half].size):
                    tried = [np.repeat(one[np.newaxis], 4, axis=0) for one in values]
                    tried[half][:, place] = _beside(values[half][place], self.wish.parts)
                    strays = self._strays(*tried)
                    choice = int(np.argmin(strays))
                    if strays[choice] < least:
                        least = float(strays[choice])
                        values[half] = tried[half][choice]
            if least == before:
                break
        return least, values[0], values[1]

    def _strays(self, low: Floats, high: Floats) -> Floats:
        total = np.zeros(low.shape[0])
        for target, half, values in zip(self.targets, self.halves, (low, high), strict=True):
            total = total + _OWN_SHARE * target.cost(values)
            far = np.abs(np.log(values / half.book.values)) - np.log(FARTHEST)
            total = total + _FAR * np.sum(np.maximum(far, 0.0), axis=-1)
        pressures = [self._pressure(place, values) for place, values in enumerate((low, high))]
        level = decibels(summed(pressures, self.around, self.branches, self.wish))
        total = total + np.mean((level - self.halves[0].level) ** 2, axis=-1)
        return np.asarray(total + self._short(low, high))

    def _pressure(self, place: int, values: Floats) -> Complexes:
        found = ladder(self._steps(place, values), self.loads[place], self.around)
        return np.asarray(found.transfer * self.own[place], dtype=np.complex128)

    def _steps(self, place: int, values: Floats) -> list[Step]:
        section = self.halves[place].section
        return [*section_steps(section, values), *section.tail]

    def _short(self, low: Floats, high: Floats) -> Floats:
        """What counts against a load below what the amplifier is made for."""
        if not self.wish.together:
            return np.zeros(low.shape[0])
        admittance = sum(
            1.0 / ladder(self._steps(place, values), self.far_loads[place], _WIDE).impedance
            for place, values in enumerate((low, high))
        )
        least = 1.0 / np.max(np.abs(admittance), axis=-1)
        lacking = _LEAST_OF_RATED - least / self.wish.load_min
        return np.asarray((_SHORT * np.maximum(0.0, lacking)) ** 2)


def _beside(value: float, series: Series) -> Floats:
    """The two preferred values below and the two above."""
    below = float(preferred_at_most(0.999 * value, series))
    above = float(preferred_at_least(1.001 * value, series))
    outer = float(preferred_at_most(0.999 * below, series))
    return np.array([outer, below, above, float(preferred_at_least(1.001 * above, series))])
