"""Ends of a latching circuit's gap: where its supply, solved along a pivot, turns back."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.circuit.equations import Equations
from boomwright.circuit.newton import solve_free_source
from boomwright.circuit.operating import OperatingPoint
from boomwright.circuit.values import Floats

__all__ = ["turning_points"]

# The pivot's voltage runs from where a reference's chip wakes to a little above its own voltage:
# even steps below, and steps that shrink towards it, where a fraction of a millivolt turns all.
_WAKES = np.linspace(-0.26, -0.0125, 64)
_SPAN = 0.03
_STEPS = 81
_CROWDING = 6.0
_MISSED = 0.05
_ROUNDS = 6
_SHARES = np.linspace(0.0, 1.0, 7)[1:-1]
_FALLS = 1e-9


@dataclass(frozen=True, eq=False)
class _Way:
    """A circuit whose supply is unknown and whose pivot is given."""

    equations: Equations
    linear: Floats
    right: Floats
    row: int
    control: Floats
    middle: Floats

    def at(self, offset: Floats, start: Floats, volts: Floats) -> tuple[Floats, Floats]:
        """Supply, nan where there is none, and unknowns with the pivot so far from its middle."""
        solved = solve_free_source(
            self.equations,
            self.linear,
            self.right,
            row=self.row,
            control=self.control,
            target=self.middle + offset,
            start=start,
            level=volts,
        )
        return solved.level, solved.unknowns


def turning_points(
    equations: Equations,
    bottom: OperatingPoint,
    *,
    source: str,
    pivot: str,
    span: tuple[float, float],
) -> tuple[Floats, Floats]:
    """Voltages at which a transistor that a shunt reference turns lets go and takes hold.

    Parameters
    ----------
    equations : Equations
        The circuit.
    bottom : OperatingPoint
        The circuit at the lowest voltage.
    source, pivot : str
        The supply, and the node of the reference's pin.
    span : tuple of float
        Lowest and highest voltage that counts [V].

    Returns
    -------
    tuple of array, shape (samples,)
        Off and on voltage [V], nan where the curve does not turn back.

    Notes
    -----
    Along the pivot's voltage the supply rises to the on voltage, falls to the off voltage and
    rises again; in between no state is stable. Each end is narrowed down six times.
    """
    samples, lowest = equations.samples, span[0]
    row = equations.rows[pivot]
    middle = next(
        np.broadcast_to(part.values["voltage"], (samples,))
        for part in equations.curved
        if "cathode_least" in part.values and part.rows[1] == row
    )
    control = np.zeros(equations.size)
    control[row] = 1.0
    linear, right = equations.linear(bottom.states), equations.excitation()
    way = _Way(equations, linear, right, equations.branches[source], control, middle)
    places = np.linspace(-1.0, 1.0, _STEPS)
    crowded = _SPAN * np.sinh(_CROWDING * places) / np.sinh(_CROWDING)
    offsets = np.stack(
        [share * middle for share in _WAKES] + [np.full(samples, offset) for offset in crowded]
    )
    volts, unknowns = np.full(samples, lowest), bottom.unknowns
    curve, missed, kept = [], [], []
    # From far below, so that the first step of the curve proper starts close by.
    for offset in (np.full(samples, -1.0), *offsets):
        found, here = way.at(offset, unknowns, volts)
        good = np.isfinite(found)
        volts, unknowns = np.where(good, found, volts), np.where(good, here, unknowns)
        curve.append(volts)
        missed.append(~good)
        kept.append(unknowns)
    heights, states = np.stack(curve[1:]), np.stack(kept[1:])
    # A step that found nothing repeats the one before; more than a few, and the curve is no curve.
    usable = np.mean(missed[1:], axis=0) <= _MISSED
    falls = np.diff(heights, axis=0) < -_FALLS
    top = np.argmax(falls, axis=0)
    low = len(heights) - 1 - np.argmax(falls[::-1], axis=0)
    usable &= np.any(falls, axis=0) & (top > 0) & (low < len(heights) - 1)
    off = _end(way, offsets, heights, states, low, sign=-1.0)
    on = _end(way, offsets, heights, states, top, sign=1.0)
    usable &= (off > lowest) & (on < span[1])
    return np.where(usable, off, np.nan), np.where(usable, on, np.nan)


def _end(
    way: _Way,
    offsets: Floats,
    heights: Floats,
    states: Floats,
    place: np.ndarray[tuple[int, ...], np.dtype[np.intp]],
    *,
    sign: float,
) -> Floats:
    """Height of the curve at its highest (sign 1) or lowest (-1) near a place."""
    place = np.clip(place, 1, len(heights) - 2)

    def of(values: Floats, step: int = 0) -> Floats:
        picked: Floats = np.take_along_axis(values, (place + step)[None], axis=0)[0]
        return picked

    first, last = of(offsets, -1), of(offsets, 1)
    best, best_offset = of(heights), of(offsets)
    unknowns = np.stack([states[row, :, sample] for sample, row in enumerate(place)], axis=1)
    for _ in range(_ROUNDS):
        start, level, width = unknowns, best, last - first
        for share in _SHARES:
            offset = first + share * width
            found, here = way.at(offset, start, level)
            better = np.isfinite(found) & (sign * np.nan_to_num(found) > sign * best)
            best = np.where(better, found, best)
            best_offset = np.where(better, offset, best_offset)
            unknowns = np.where(better, here, unknowns)
        step = width / (len(_SHARES) + 1)
        first, last = best_offset - step, best_offset + step
    return best
