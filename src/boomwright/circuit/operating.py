"""The operating point: every voltage and current at rest, and the state of every contact."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from boomwright.circuit.equations import Equations
from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.newton import solve_curved
from boomwright.circuit.values import NOMINAL_TEMPERATURE, Floats, Truths, Value
from boomwright.errors import ConvergenceError, NetlistError, Problem

__all__ = ["OperatingPoint", "operating_point", "settle"]

_FLIPS = 12
_CHUNK = 4096


@dataclass(frozen=True)
class OperatingPoint:
    """Voltages, currents and states of a circuit at rest.

    Parameters
    ----------
    equations : Equations
        The circuit.
    unknowns : array, shape (size, samples)
        Node voltages, then the currents through sources and coils.
    states : dict of str to array of bool, shape (samples,)
        Whether each relay is pulled in, each comparator output conducts.
    levels : dict of str to value
        Sources that give something else than their part says [V or A].
    """

    equations: Equations
    unknowns: Floats
    states: dict[str, Truths]
    levels: dict[str, Value] = field(default_factory=dict)

    def voltage(self, node: str, against: str = GROUND) -> Floats:
        """Voltage of a node against another [V], shape (samples,)."""
        difference: Floats = self._at(node) - self._at(against)
        return difference

    def _at(self, node: str) -> Floats:
        rows = self.equations.rows
        if node not in rows:
            raise NetlistError(
                [
                    Problem(
                        "no such node in the circuit",
                        got=repr(node),
                        expected=f"one of {', '.join(rows)}",
                    )
                ]
            )
        row = rows[node]
        return self.unknowns[row] if row >= 0 else np.zeros(self.unknowns.shape[1])

    def branch_current(self, name: str) -> Floats:
        """Current from ``a`` to ``b`` through a source, an inductor or a relay's coil [A]."""
        if name not in self.equations.branches or name.endswith("#"):
            known = ", ".join(key for key in self.equations.branches if not key.endswith("#"))
            raise NetlistError(
                [
                    Problem(
                        "no current of a source or coil by this name",
                        got=repr(name),
                        expected=f"one of {known}",
                    )
                ]
            )
        current: Floats = self.unknowns[self.equations.branches[name]]
        return current


def operating_point(
    netlist: Netlist,
    *,
    temperature: Value = NOMINAL_TEMPERATURE,
    levels: Mapping[str, Value] | None = None,
    states: Mapping[str, Truths] | None = None,
    start: OperatingPoint | None = None,
) -> OperatingPoint:
    """Operating point of a circuit.

    Capacitors carry nothing and coils drop only their resistance. Contacts start in the given
    states (or as in ``start``, or open) and switch until all of them agree with their coils.

    Parameters
    ----------
    netlist : Netlist
        The circuit.
    temperature : float or array
        Temperature of all parts [K].
    levels : mapping or None
        Sources at another level than their part says [V or A], numbers or arrays (samples,).
    states : mapping or None
        States to start from, by name.
    start : OperatingPoint or None
        An operating point of the same circuit close by.

    Returns
    -------
    OperatingPoint

    Raises
    ------
    ConvergenceError
        If no solution is found, or a contact finds no rest (a relay that buzzes); names where.
    NetlistError
        If a level names no source, or batches do not fit each other.

    Notes
    -----
    The currents into every node sum to zero: G x + i(x) = z, with G the parts in proportion, i the
    curved ones and z the sources.

    References
    ----------
    .. [1] C.-W. Ho, A. E. Ruehli, P. A. Brennan, The modified nodal approach to network analysis,
       IEEE Trans. Circuits and Systems 22, 1975 (from memory).

    Examples
    --------
    >>> from boomwright.circuit.parts import Diode, Resistor, VoltageSource
    >>> lamp = Netlist(
    ...     "diode and resistor",
    ...     (
    ...         VoltageSource(name="V1", a="in", b="0", voltage=5.0),
    ...         Resistor(name="R1", a="in", b="d", resistance=1e3),
    ...         Diode(name="D1", anode="d", cathode="0"),
    ...     ),
    ... )
    >>> round(float(operating_point(lamp).voltage("d")[0]), 3)
    0.688
    """
    given = dict(levels or {})
    sources = [part.name for part in netlist.parts if hasattr(part, "waveform")]
    unknown = [name for name in given if name not in sources]
    if unknown:
        raise NetlistError(
            [
                Problem("no such source", got=repr(name), expected=f"one of {', '.join(sources)}")
                for name in unknown
            ]
        )
    widest = max((np.size(level) for level in given.values()), default=1)
    if start is not None:
        widest = max(widest, start.unknowns.shape[1])
    sizes = {np.size(level) for level in given.values()} | {np.size(temperature), netlist.samples}
    if start is not None:
        sizes.add(start.unknowns.shape[1])
    if len(sizes - {1}) > 1:
        says = "levels, temperatures and values of unequal batch sizes"
        raise NetlistError([Problem(says, got=str(sorted(sizes - {1})), key=netlist.title)])
    equations = Equations(netlist, temperature=temperature, samples=widest)
    before = start.states if start is not None else {}
    first = equations.first_states({**before, **(states or {})})
    begin = None if start is None else start.unknowns
    return settle(equations, first, levels=given, start=begin)


def settle(
    equations: Equations,
    states: dict[str, Truths],
    *,
    levels: Mapping[str, Value] | None = None,
    start: Floats | None = None,
) -> OperatingPoint:
    """Operating point from given states on, contacts switching until all agree.

    Parameters
    ----------
    equations : Equations
        The circuit.
    states : dict of str to array of bool, shape (samples,)
        States to start from.
    levels : mapping or None
        Sources at another level than their part says.
    start : array or None, shape (size, samples)
        Unknowns to start from.

    Returns
    -------
    OperatingPoint

    Raises
    ------
    ConvergenceError
        As for :func:`operating_point`.
    """
    right = equations.excitation(levels)
    unknowns = start
    states = {name: state.copy() for name, state in states.items()}
    for _ in range(_FLIPS + len(equations.stateful)):
        unknowns = _solve_in_chunks(equations, equations.linear(states), right, unknowns)
        moved = _flipped(equations, unknowns, states)
        if not moved:
            return OperatingPoint(equations, unknowns, states, dict(levels or {}))
    names = " and ".join(moved)
    raise ConvergenceError(
        f"{equations.netlist.title}: {names} finds no rest; each state calls for the other, as in "
        "a buzzer. Follow it in time instead, or give it a gap between its two thresholds"
    )


def _flipped(equations: Equations, unknowns: Floats, states: dict[str, Truths]) -> list[str]:
    """Parts whose state changes at these unknowns, changed in place.

    A contact waits for the comparators of its sample: both at once could drive each other in
    circles that no relay is fast enough for.
    """
    moved: list[str] = []
    waits = np.ones(equations.samples, dtype=bool)
    for part in sorted(equations.stateful, key=lambda item: item.slow):
        state = states[part.name]
        changes = part.wanted(unknowns, state) != state
        if part.slow:
            changes &= waits
        else:
            waits &= ~changes
        if np.any(changes):
            moved.append(part.name)
            states[part.name] = np.where(changes, ~state, state)
    return moved


def _solve_in_chunks(
    equations: Equations, linear: Floats, right: Floats, start: Floats | None
) -> Floats:
    """Solution in batches that stay in the processor's own memory."""
    samples = right.shape[1]
    if samples <= _CHUNK:
        return solve_curved(equations, linear, right, start)
    found = np.empty_like(right)
    for begin in range(0, samples, _CHUNK):
        part = slice(begin, begin + _CHUNK)
        found[:, part] = solve_curved(
            equations.picked(part),
            linear if linear.shape[-1] == 1 else linear[:, :, part],
            right[:, part],
            None if start is None else np.broadcast_to(start, right.shape)[:, part],
        )
    return found
