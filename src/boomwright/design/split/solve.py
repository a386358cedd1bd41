"""Values of a filter on the real driver: from book values to those that meet the target."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from boomwright.design.split.section import Section
from boomwright.design.split.target import FARTHEST, Target
from boomwright.physics.arrays import Floats
from boomwright.physics.preferred import (
    Series,
    nearest_preferred,
    preferred_at_least,
    preferred_at_most,
)

__all__ = ["Solution", "solve_section", "strays"]

_STEP = 1e-4
"""Share by which a value is moved to see what it does."""


@dataclass(frozen=True, eq=False)
class Solution:
    """Values found for a section.

    Parameters
    ----------
    values : array, shape (reactive,) or (reactive + 1,)
        Coils [H] and capacitors [F] from the amplifier to the driver, then the resistor of a
        damped one [Ω].
    error : float
        How far the sound strays from the target, root mean square with quiet parts counted less
        [dB].
    taken : float
        Level that the filter leaves in the band that it passes [dB], mostly below 0.
    """

    values: Floats
    error: float
    taken: float


def solve_section(section: Section, series: Series, starts: Sequence[Floats]) -> Solution:
    """Preferred values with which a driver's sound comes nearest to its target.

    Parameters
    ----------
    section : Section
        The section.
    series : str
        Series of preferred values.
    starts : sequence of array, shape of the values
        Book values to search from.

    Returns
    -------
    Solution
    """
    from scipy.optimize import least_squares

    grid = Target(section)
    best: Floats | None = None
    least = np.inf
    for start in starts:
        room = np.log(FARTHEST)
        begin = np.log(start)
        moved = _STEP * np.eye(start.size)

        def missed(logs: Floats, start: Floats = start) -> Floats:
            return grid.residuals(np.exp(logs), start)

        def slopes(logs: Floats, start: Floats = start, moved: Floats = moved) -> Floats:
            # One call with all values moved costs little more than one with none.
            tried = grid.residuals(np.exp(np.stack([logs, *(logs + moved)])), start)
            return np.asarray((tried[1:] - tried[0]).T / _STEP)

        found = least_squares(
            missed, begin, jac=slopes, bounds=(begin - room, begin + room), max_nfev=60
        )
        if found.cost < least:
            best, least = np.exp(found.x), float(found.cost)
    if best is None:
        raise ValueError("starts: got none, must be at least one set of values")
    choices = [_around(float(value), series) for value in best]
    values = np.array(list(product(*choices)))
    chosen = values[int(np.argmin(grid.cost(values)))]
    return Solution(chosen, *grid.error(chosen))


def strays(section: Section, values: Floats) -> Solution:
    """How values that were not searched for do on the real driver, such as a book's."""
    return Solution(values, *Target(section).error(values))


def _around(value: float, series: Series) -> list[float]:
    near = float(nearest_preferred(value, series))
    below = float(preferred_at_most(near * 0.999, series))
    above = float(preferred_at_least(near * 1.001, series))
    return [below, near, above]
