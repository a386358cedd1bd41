"""How to tell that a circuit is on, and whether it changes at a voltage."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.circuit.equations import Equations
from boomwright.circuit.netlist import Netlist
from boomwright.circuit.operating import OperatingPoint, settle
from boomwright.circuit.values import Floats, Truths
from boomwright.errors import ConvergenceError

__all__ = ["Watch", "at_volts", "changes_at"]

_PROBE = 1e-3


@dataclass(frozen=True)
class Watch:
    """How to tell that a circuit is on.

    Parameters
    ----------
    relay : str
        The relay whose contact carries the load; empty if a transistor does.
    node : str
        The node that is fed when it is on, where no relay tells.
    source : str
        The source that is moved.
    pivot : str
        The node whose voltage runs steadily along the way from off to on where a transistor and not
        a contact decides: a shunt reference's pin. Empty where a contact decides.
    held : bool
        The search downwards starts with the relay pulled in, as after its button was pressed.
    """

    relay: str = ""
    node: str = "out"
    source: str = "BT1"
    pivot: str = ""
    held: bool = False

    def on(self, point: OperatingPoint) -> Truths:
        """Whether each sample is on."""
        if self.relay:
            return point.states[self.relay]
        fed = point.voltage(self.node)
        supply = point.voltage(self.source_node(point.equations.netlist))
        return np.asarray(fed > 0.5 * supply)

    def source_node(self, netlist: Netlist) -> str:
        """Node that the source feeds."""
        return netlist.part(self.source).nodes[0]


def at_volts(
    equations: Equations,
    watch: Watch,
    volts: Floats,
    states: dict[str, Truths],
    start: Floats | None,
) -> OperatingPoint:
    """Circuit at a supply's volts, from states and unknowns on."""
    return settle(equations, states, levels={watch.source: volts}, start=start)


def changes_at(
    equations: Equations,
    watch: Watch,
    volts: Floats,
    states: dict[str, Truths],
    start: Floats,
    *,
    down: bool,
) -> Truths:
    """Whether each sample is as it was a millivolt before these volts, and changed after."""
    probe = _PROBE if down else -_PROBE
    was = watch.on(OperatingPoint(equations, start, states))
    try:
        before = at_volts(equations, watch, volts + probe, states, start)
        after = at_volts(equations, watch, volts - probe, before.states, before.unknowns)
    except ConvergenceError:
        return np.zeros(equations.samples, dtype=bool)
    return np.asarray((watch.on(before) == was) & (watch.on(after) != was))
