"""Parts of a netlist bound to the rows of its equations: curved ones, and ones with a state."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from boomwright.circuit import laws
from boomwright.circuit.values import Chosen, Floats, Truths

__all__ = ["Curved", "Junction", "Stateful", "picked"]

_Law = Callable[..., tuple[Floats, Floats]]


@dataclass(frozen=True)
class Curved:
    """A part whose current is a curve of its voltages.

    Parameters
    ----------
    name : str
        Its designator.
    rows : tuple of int
        Unknowns at its terminals, -1 for ground; the last is what its volts are measured against.
    law : callable
        Of volts (terminals - 1, samples) and the values below.
    values : dict
        Arrays of shape (1,) or (samples,).
    fixed : dict
        Plain numbers.
    junctions : tuple
        (terminal from, terminal to, scale, critical volts, turn) for each junction whose steps are
        held back: the junction's volts are ``turn`` times those between the two terminals, less
        ``offset``.
    step : float
        Greatest change of its volts in one step, where no junction rules.
    """

    name: str
    rows: tuple[int, ...]
    law: _Law
    values: dict[str, Floats]
    fixed: dict[str, float]
    junctions: tuple[Junction, ...] = ()
    step: float = np.inf

    def picked(self, index: Chosen) -> Curved:
        """The same part for some of the samples."""
        values = {key: picked(value, index) for key, value in self.values.items()}
        junctions = tuple(junction.picked(index) for junction in self.junctions)
        return replace(self, values=values, junctions=junctions)

    def volts(self, unknowns: Floats) -> Floats:
        """Volts of its terminals against the last one."""
        last = self.rows[-1]
        base = unknowns[last] if last >= 0 else 0.0
        none = np.zeros(unknowns.shape[1])
        return np.stack([(unknowns[r] if r >= 0 else none) - base for r in self.rows[:-1]])

    def currents(self, volts: Floats) -> tuple[Floats, Floats]:
        """Currents into its terminals but the last, and their derivatives."""
        currents, slopes = self.law(
            volts if len(volts) > 1 else volts[0], **self.values, **self.fixed
        )
        if len(volts) > 1:
            return currents, slopes
        return currents[None], slopes[None, None]

    def limited(self, new: Floats, old: Floats) -> Floats:
        """Volts for the next evaluation."""
        if np.isfinite(self.step):
            return np.asarray(old + np.clip(new - old, -self.step, self.step))
        for junction in self.junctions:
            new = junction.limited(new, old)
        return new


@dataclass(frozen=True)
class Junction:
    """A junction among a part's volts: terminal ``plus`` over terminal ``minus``, -1 the last."""

    plus: int
    minus: int
    turn: float
    offset: Floats
    scale: Floats
    critical: Floats
    # Which terminal gives way when the step is held back.
    moves: int

    def picked(self, index: Chosen) -> Junction:
        """The same junction for some of the samples."""
        return replace(
            self,
            offset=picked(self.offset, index),
            scale=picked(self.scale, index),
            critical=picked(self.critical, index),
        )

    def _across(self, volts: Floats) -> Floats:
        low = volts[self.minus] if self.minus >= 0 else 0.0
        high = volts[self.plus] if self.plus >= 0 else 0.0
        return np.asarray(self.turn * (high - low) - self.offset)

    def limited(self, new: Floats, old: Floats) -> Floats:
        """Volts of the part with this junction's step held back."""
        wanted = self._across(new)
        held = laws.junction_limited(
            wanted, self._across(old), scale=self.scale, critical=self.critical
        )
        back = self.turn * (held - wanted)
        found = new.copy()
        found[self.moves] += back if self.moves == self.plus else -back
        return found


@dataclass(frozen=True)
class Stateful:
    """A part that keeps one of two states until its control quantity passes a threshold.

    Parameters
    ----------
    name : str
        Its designator.
    control : array, shape (unknowns,)
        Its control quantity is this times the unknowns.
    rises_at, falls_at : array, shape (1,) or (samples,)
        Control above which the state becomes true, and below which it becomes false.
    joins : tuple
        (row, row, conductance when true, conductance when false) for each contact.
    slow : bool
        Mechanical: it waits for what is electronic.
    """

    name: str
    control: Floats
    rises_at: Floats
    falls_at: Floats
    joins: tuple[tuple[int, int, Floats, Floats], ...]
    slow: bool

    def picked(self, index: Chosen) -> Stateful:
        """The same part for some of the samples."""
        joins = tuple(
            (a, b, picked(true, index), picked(false, index)) for a, b, true, false in self.joins
        )
        rises, falls = picked(self.rises_at, index), picked(self.falls_at, index)
        return replace(self, rises_at=rises, falls_at=falls, joins=joins)

    def wanted(self, unknowns: Floats, state: Truths) -> Truths:
        """State that the unknowns call for."""
        quantity = self.control @ unknowns
        return np.asarray(np.where(state, quantity >= self.falls_at, quantity > self.rises_at))


def picked(values: Floats, index: Chosen) -> Floats:
    """Values of some samples; a value that all of them share stays one."""
    return values if values.shape[-1] == 1 else values[..., index]
