"""A netlist: parts joined at named nodes, checked when it is made."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from functools import cached_property
from numbers import Real

import numpy as np

from boomwright.circuit.parts import (
    Capacitor,
    Comparator,
    Coupling,
    CurrentSource,
    Inductor,
    Mosfet,
    Part,
    Relay,
    _Named,
)
from boomwright.circuit.values import Value
from boomwright.errors import NetlistError, Problem

__all__ = ["GROUND", "Netlist"]

GROUND = "0"
"""Name of the node that voltages are measured against."""

_ABOVE_ZERO = frozenset(
    {
        *("resistance", "capacitance", "inductance", "saturation_current", "emission", "gain"),
        *("gain_reverse", "transconductance", "test_current", "coil_resistance", "operate"),
        *("coil_inductance", "contact_resistance", "on_resistance", "open_resistance", "knee"),
    }
)
_NOT_NEGATIVE = frozenset({"slope", "gap", "release", "quiescent", "leakage", "idle_current"})
_CONTACTS = frozenset({"common", "made", "broken"})
_MAY_BE_ZERO = frozenset({("Inductor", "resistance"), ("Diode", "resistance")})


@dataclass(frozen=True)
class Netlist:
    """Parts joined at nodes.

    Parameters
    ----------
    title : str
        What the circuit is.
    parts : tuple of Part
        Its parts.

    Raises
    ------
    NetlistError
        With every fault: a name given twice, no ground, a node that nothing joins to ground, a
        coupling of unknown inductors, a value out of range, values of unequal batch sizes.

    Examples
    --------
    >>> from boomwright.circuit.parts import Resistor, VoltageSource
    >>> divider = Netlist(
    ...     "divider",
    ...     (
    ...         VoltageSource(name="V1", a="in", b="0", voltage=12.0),
    ...         Resistor(name="R1", a="in", b="mid", resistance=3e3),
    ...         Resistor(name="R2", a="mid", b="0", resistance=1e3),
    ...     ),
    ... )
    >>> divider.nodes
    ('in', 'mid')
    >>> divider.with_values("R2", resistance=1.5e3).part("R2").resistance
    1500.0
    """

    title: str
    parts: tuple[Part, ...]

    def __post_init__(self) -> None:
        problems = list(_problems(self))
        if problems:
            raise NetlistError(problems)

    @cached_property
    def nodes(self) -> tuple[str, ...]:
        """Names of all nodes but ground, in the order in which the parts name them."""
        names = dict.fromkeys(node for part in self.parts for node in part.nodes)
        return tuple(name for name in names if name != GROUND)

    @cached_property
    def samples(self) -> int:
        """Size of the batch: 1 if every value is one number."""
        return max((np.size(value) for _, _, value in _values(self)), default=1)

    def part(self, name: str) -> Part:
        """Part of a name.

        Raises
        ------
        NetlistError
            If there is none.
        """
        for part in self.parts:
            if part.name == name:
                return part
        names = ", ".join(part.name for part in self.parts)
        raise NetlistError(
            [Problem("no such part in the circuit", got=repr(name), expected=f"one of {names}")]
        )

    def with_values(self, name: str, **values: object) -> Netlist:
        """The same circuit with other values in one part."""
        changed = replace(self.part(name), **values)  # type: ignore[arg-type]
        return Netlist(
            self.title, tuple(changed if part.name == name else part for part in self.parts)
        )


def _values(netlist: Netlist) -> Iterator[tuple[Part, str, Value]]:
    for part in netlist.parts:
        for field in fields(part):
            value = getattr(part, field.name)
            number = isinstance(value, Real | np.ndarray) and not isinstance(value, bool)
            if number and field.name != "closed":
                yield part, field.name, value
            elif field.name == "closed":
                yield part, field.name, np.asarray(value, dtype=np.float64)


def _problems(netlist: Netlist) -> Iterator[Problem]:
    names = Counter(part.name for part in netlist.parts)
    for name, count in names.items():
        if count > 1 or not name or any(char.isspace() for char in name):
            yield Problem(
                "parts need names of their own, without spaces",
                got=f"{name!r} {count} times" if count > 1 else repr(name),
                key=netlist.title,
            )
    yield from _empty_leads(netlist)
    yield from _bad_values(netlist)
    deep = {part.name for part, _, value in _values(netlist) if np.ndim(value) > 1}
    for name in sorted(deep):
        says = "values of a batch stand in one row"
        yield Problem(says, got="an array of more dimensions", key=name)
    sizes = {np.size(value) for _, _, value in _values(netlist)} - {1}
    if len(sizes) > 1:
        yield Problem("values of unequal batch sizes", got=str(sorted(sizes)), key=netlist.title)
    inductors = {part.name for part in netlist.parts if isinstance(part, Inductor)}
    for part in netlist.parts:
        if isinstance(part, Coupling):
            if part.first == part.second or not {part.first, part.second} <= inductors:
                yield Problem(
                    "a coupling joins two inductors of the circuit",
                    got=f"{part.first!r} and {part.second!r}",
                    key=part.name,
                )
            if np.any(np.asarray(part.coefficient) <= 0) or np.any(
                np.asarray(part.coefficient) >= 1
            ):
                yield Problem(
                    "coefficient of a coupling",
                    got=f"{part.coefficient}",
                    expected="0 to 1, both out",
                    key=part.name,
                )
    yield from _adrift(netlist)


def _bad_values(netlist: Netlist) -> Iterator[Problem]:
    for part, field, value in _values(netlist):
        array = np.asarray(value, dtype=np.float64)
        least_zero = field in _NOT_NEGATIVE or (type(part).__name__, field) in _MAY_BE_ZERO
        wrong = ~np.isfinite(array)
        if least_zero:
            wrong = wrong | (array < 0)
        elif field in _ABOVE_ZERO:
            wrong = wrong | (array <= 0)
        if np.any(wrong):
            floor = (
                "at least 0" if least_zero else "above 0" if field in _ABOVE_ZERO else "a number"
            )
            yield Problem(
                f"{field.replace('_', ' ')} of a part",
                got=f"{array[wrong].flat[0]:g}",
                expected=f"finite, {floor}",
                key=part.name,
            )
        if isinstance(part, Relay) and field == "operate" and _holds_too_long(part):
            yield Problem(
                "a relay lets go at less current than it pulls in at",
                got=f"operate {part.operate}, release {part.release}",
                key=part.name,
            )


def _holds_too_long(relay: Relay) -> bool:
    operate, release = np.asarray(relay.operate), np.asarray(relay.release)
    # Unequal batches are a fault of their own.
    fits = operate.size == release.size or 1 in (operate.size, release.size)
    return bool(fits and np.any(operate <= release))


def _empty_leads(netlist: Netlist) -> Iterator[Problem]:
    for part in netlist.parts:
        for field in part.NODES:
            if getattr(part, field) == "" and not (isinstance(part, Relay) and field in _CONTACTS):
                lead = field.replace("_", " ")
                yield Problem(f"lead {lead} of a part goes nowhere", key=part.name)


def _adrift(netlist: Netlist) -> Iterator[Problem]:
    """Nodes from which no part leads to ground, and a circuit without ground."""
    if not any(GROUND in part.nodes for part in netlist.parts):
        yield Problem('no part touches ground, the node named "0"', key=netlist.title)
        return
    joined, before = {GROUND}, 0
    while len(joined) != before:
        before = len(joined)
        for part in netlist.parts:
            for group in _galvanic(part):
                if joined & set(group):
                    joined |= set(group)
    left = [name for name in netlist.nodes if name not in joined]
    if left:
        yield Problem("nodes that no part joins to ground", got=", ".join(left), key=netlist.title)


def _galvanic(part: _Named) -> tuple[tuple[str, ...], ...]:
    """Groups of a part's nodes between which direct current can flow, however little."""
    if isinstance(part, Capacitor | CurrentSource):
        return ()
    if isinstance(part, Relay):
        contacts = tuple(node for node in (part.common, part.made, part.broken) if node)
        return (part.coil_a, part.coil_b), contacts
    if isinstance(part, Comparator):
        return ((part.output, part.ground),)
    if isinstance(part, Mosfet):
        return ((part.drain, part.source),)
    return (part.nodes,)
