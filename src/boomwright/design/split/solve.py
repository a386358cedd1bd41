"""Values of a filter on the real driver: from book values to those that meet the target."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from boomwright.design.split.drive import Drive
from boomwright.physics.air_coil import air_coil
from boomwright.physics.arrays import Complexes, Floats
from boomwright.physics.curves import decibels
from boomwright.physics.filter_values import (
    Alignment,
    filter_response,
    high_pass_steps,
    low_pass_steps,
)
from boomwright.physics.ladder import Place, Step, ladder
from boomwright.physics.preferred import (
    Series,
    nearest_preferred,
    preferred_at_least,
    preferred_at_most,
)

__all__ = [
    "FARTHEST",
    "Section",
    "Solution",
    "book_values",
    "section_steps",
    "solve_section",
    "strays",
    "wire_for",
]

_POINTS, _WIDE = 72, 180
_FLAT = 0.5
"""Part of the band that counts for the level: less than this below the target's best [dB]."""

FARTHEST = 5.0
"""How far from the book's value a part may be searched, as a factor."""

_LEAST_SHARE, _SHORT = 0.85, 60.0
"""Least impedance that a filter may make of the driver's own, and what less counts [dB]."""

_WIRES = (0.7e-3, 0.8e-3, 1.0e-3, 1.25e-3, 1.4e-3)
"""Winding wire as it is sold [m]; common practice, no source."""

_WIRE_SHARE = 0.05
"""Resistance of the woofer's coil over the rated impedance up to which a wire will do."""


@dataclass(frozen=True, eq=False)
class Section:
    """One half of a split: what its driver is to sound like, and on what its values are solved.

    Parameters
    ----------
    drive : Drive
        The driver.
    high_pass : bool
        Whether it plays what is above the frequency.
    frequency : float
        Where the bands meet [Hz].
    alignment : str
        Which polynomial its sound follows.
    order : int
        How steep.
    wire : float
        Diameter of the wire of its coils [m].
    tail : tuple of Step
        What stands between filter and driver: a pad, a branch across.
    """

    drive: Drive
    high_pass: bool
    frequency: float
    alignment: Alignment
    order: int
    wire: float
    tail: tuple[Step, ...] = ()


@dataclass(frozen=True, eq=False)
class Solution:
    """Values found for a section.

    Parameters
    ----------
    values : array, shape (order,)
        Coils [H] and capacitors [F] from the amplifier to the driver.
    error : float
        How far the sound strays from the target, root mean square with quiet parts counted less
        [dB].
    taken : float
        Level that the filter leaves in the band that it passes [dB], mostly below 0.
    """

    values: Floats
    error: float
    taken: float


def book_values(section: Section, resistance: float) -> Floats:
    """Values for a resistor in the driver's place [H], [F]."""
    make = high_pass_steps if section.high_pass else low_pass_steps
    steps = make(
        section.alignment, section.order, frequency=section.frequency, resistance=resistance
    )
    return np.array(
        [
            float(
                np.asarray(step.capacitance if _is_capacitor(section, place) else step.inductance)
            )
            for place, step in enumerate(steps)
        ]
    )


def section_steps(section: Section, values: Floats) -> list[Step]:
    """Steps of a filter with its coils' windings.

    Parameters
    ----------
    section : Section
        The section.
    values : array, shape (..., order)
        Coils [H] and capacitors [F].

    Returns
    -------
    list of Step
        Values of shape (..., 1).
    """
    steps = []
    for place in range(section.order):
        value = values[..., place, np.newaxis]
        where: Place = "across" if place % 2 else "series"
        if _is_capacitor(section, place):
            steps.append(Step(where, capacitance=value))
        else:
            winding = air_coil(value, section.wire).resistance
            steps.append(Step(where, resistance=winding, inductance=value))
    return steps


def wire_for(inductance: float, rated: float) -> float:
    """Thinnest wire whose coil takes little of a driver's power [m].

    Examples
    --------
    >>> wire_for(0.1e-3, 8.0), wire_for(1.5e-3, 8.0)
    (0.0007, 0.0014)
    """
    for wire in _WIRES:
        if float(air_coil(inductance, wire).resistance) <= _WIRE_SHARE * rated:
            return wire
    return _WIRES[-1]


def solve_section(section: Section, series: Series, starts: Sequence[Floats]) -> Solution:
    """Preferred values with which a driver's sound comes nearest to its target.

    Parameters
    ----------
    section : Section
        The section.
    series : str
        Series of preferred values.
    starts : sequence of array, shape (order,)
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

        def missed(logs: Floats, start: Floats = start) -> Floats:
            return grid.residuals(np.exp(logs), start)

        found = least_squares(missed, begin, bounds=(begin - room, begin + room), max_nfev=60)
        if found.cost < least:
            best, least = np.exp(found.x), float(found.cost)
    if best is None:
        raise ValueError("starts: got none, must be at least one set of values")
    choices = [_around(float(value), series) for value in best]
    values = np.array(list(product(*choices)))
    costs = np.sum(grid.residuals(values, best) ** 2, axis=-1)
    chosen = values[int(np.argmin(costs))]
    return Solution(chosen, *grid.error(chosen))


class Target:
    """Where a section's sound should be, on a grid around its frequency.

    Parameters
    ----------
    section : Section
        The section.
    """

    def __init__(self, section: Section) -> None:
        self.section = section
        at, high = section.frequency, section.high_pass
        ends = (at / 2.5, 6.0 * at) if high else (at / 6.0, 2.5 * at)
        near = np.geomspace(max(ends[0], 15.0), min(ends[1], 22e3), _POINTS)
        # Far from the split only the impedance counts: there coil and capacitor may ring.
        self.frequency = np.sort(np.concatenate([near, np.geomspace(20.0, 20e3, _WIDE)]))
        counts = (self.frequency >= near[0]) & (self.frequency <= near[-1])
        self.load: Complexes = section.drive.impedance(self.frequency)[:1]
        self.own = decibels(section.drive.voice.shape(self.frequency))[0]
        ideal = filter_response(
            section.alignment,
            section.order,
            frequency=self.frequency,
            corner=at,
            high_pass=high,
        )
        inside = self.frequency >= at if high else self.frequency <= at
        # A filter cannot lift what the driver itself has lost at the other end of its band.
        self.wanted = decibels(ideal) + np.where(inside, np.minimum(self.own, 0.0), 0.0)
        self.weight = counts * np.clip(1.0 + (self.wanted + 12.0) / 16.0, 0.15, 1.0)
        flat = counts & (self.wanted > np.max(self.wanted[counts]) - _FLAT)
        self.flat = flat.astype(np.float64)
        self.least = float(np.min(np.abs(self.load)))

    def residuals(self, values: Floats, start: Floats) -> Floats:
        """Weighted strays in dB, then what keeps impedance and values within reason."""
        error, seen, _ = self._error(values)
        low = np.min(np.abs(seen), axis=-1, keepdims=True) / self.least
        short = _SHORT * np.maximum(0.0, _LEAST_SHARE - low)
        near = 0.25 * np.log2(values / start)
        return np.concatenate([error * self.weight, short, near], axis=-1)

    def cost(self, values: Floats) -> Floats:
        """Mean square of the weighted strays, and what the impedance adds if it is too low."""
        error, seen, _ = self._error(values)
        low = np.min(np.abs(seen), axis=-1) / self.least
        strays = np.sum((error * self.weight) ** 2, axis=-1) / np.sum(self.weight**2)
        return np.asarray(strays + (_SHORT * np.maximum(0.0, _LEAST_SHARE - low)) ** 2)

    def error(self, values: Floats) -> tuple[float, float]:
        """Weighted root mean square of the strays, and the level left in the band [dB]."""
        error, _, taken = self._error(values)
        squares = np.sum((error * self.weight) ** 2, axis=-1) / np.sum(self.weight**2)
        return float(np.sqrt(squares)), float(taken[0])

    def _error(self, values: Floats) -> tuple[Floats, Complexes, Floats]:
        steps = [*section_steps(self.section, values), *self.section.tail]
        load = self.load if values.ndim > 1 else self.load[0]
        found = ladder(steps, load, self.frequency)
        error = decibels(found.transfer) + self.own - self.wanted
        # What windings and pad take all over is the level's affair, not the shape's.
        taken = np.sum(error * self.flat, axis=-1, keepdims=True) / np.sum(self.flat)
        return error - taken, found.impedance, taken


def strays(section: Section, values: Floats) -> Solution:
    """How values that were not searched for do on the real driver, such as a book's."""
    return Solution(values, *Target(section).error(values))


def _is_capacitor(section: Section, place: int) -> bool:
    return section.high_pass == (place % 2 == 0)


def _around(value: float, series: Series) -> list[float]:
    near = float(nearest_preferred(value, series))
    below = float(preferred_at_most(near * 0.999, series))
    above = float(preferred_at_least(near * 1.001, series))
    return [below, near, above]
