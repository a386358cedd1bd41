"""A source swept, with every contact and every latch followed from point to point."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.circuit.equations import Equations
from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.operating import OperatingPoint, operating_point, settle
from boomwright.circuit.values import NOMINAL_TEMPERATURE, Floats, Truths, Value

__all__ = ["Sweep", "sweep"]


@dataclass(frozen=True)
class Sweep:
    """A circuit at every level of a source, in the order in which they were given.

    Parameters
    ----------
    source : str
        The source that was swept.
    levels : array, shape (steps,)
        Its levels [V or A].
    points : tuple of OperatingPoint
        One per level.
    """

    source: str
    levels: Floats
    points: tuple[OperatingPoint, ...]

    def voltage(self, node: str, against: str = GROUND) -> Floats:
        """Voltage of a node against another [V], shape (steps, samples)."""
        return np.stack([point.voltage(node, against) for point in self.points])

    def branch_current(self, name: str) -> Floats:
        """Current through a source, an inductor or a relay's coil [A], shape (steps, samples)."""
        return np.stack([point.branch_current(name) for point in self.points])

    def state(self, name: str) -> Truths:
        """State of a relay or comparator, shape (steps, samples)."""
        return np.stack([point.states[name] for point in self.points])


def sweep(
    netlist: Netlist,
    source: str,
    levels: Floats,
    *,
    temperature: Value = NOMINAL_TEMPERATURE,
    states: dict[str, Truths] | None = None,
) -> Sweep:
    """Operating points along a sweep of one source.

    Each point starts from the one before, so that what has two stable states shows its hysteresis:
    give the levels down and up again in one array to see the gap.

    Parameters
    ----------
    netlist : Netlist
        The circuit.
    source : str
        Name of a voltage or current source.
    levels : array, shape (steps,)
        Its levels in order [V or A].
    temperature : float or array
        Temperature of all parts [K].
    states : dict or None
        States at the first level, by name.

    Returns
    -------
    Sweep

    Raises
    ------
    ConvergenceError
        If a point has no solution, or a contact finds no rest.
    NetlistError
        If there is no such source.

    Examples
    --------
    >>> from boomwright.circuit.parts import Relay, Resistor, VoltageSource
    >>> bell = Netlist(
    ...     "relay",
    ...     (
    ...         VoltageSource(name="V1", a="in", b="0", voltage=0.0),
    ...         Relay(
    ...             name="K1", coil_a="in", coil_b="0", common="in", made="out",
    ...             coil_resistance=100.0, operate=0.08, release=0.03,
    ...         ),
    ...         Resistor(name="R1", a="out", b="0", resistance=1e3),
    ...     ),
    ... )
    >>> sweep(bell, "V1", np.array([12.0, 7.0, 2.0, 7.0])).state("K1")[:, 0].tolist()
    [True, True, False, False]
    """
    first = operating_point(
        netlist,
        temperature=temperature,
        levels={source: float(levels[0])},
        states=states,
    )
    points = [first]
    equations: Equations = first.equations
    for level in levels[1:]:
        last = points[-1]
        points.append(
            settle(equations, last.states, levels={source: float(level)}, start=last.unknowns)
        )
    return Sweep(source, np.asarray(levels, dtype=np.float64), tuple(points))
