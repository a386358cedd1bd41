"""Values and circuits in words, as a drawing and those who cannot see it need them."""

from __future__ import annotations

import numpy as np

from boomwright.build.quantities import format_quantity
from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.parts import (
    Bipolar,
    Capacitor,
    Comparator,
    CurrentSource,
    Diode,
    Fuse,
    Inductor,
    Mosfet,
    Part,
    Regulator,
    Relay,
    Resistor,
    ShuntReference,
    Switch,
    VoltageSource,
    Zener,
)
from boomwright.circuit.values import Value

__all__ = ["described", "part_value", "part_word"]

_WORDS: dict[type[object], str] = {
    Capacitor: "capacitor",
    Comparator: "comparator",
    CurrentSource: "current",
    Fuse: "fuse",
    Inductor: "coil",
    Regulator: "regulator",
    Relay: "relay",
    Resistor: "resistor",
    ShuntReference: "shunt reference",
    Zener: "zener diode",
}

_DIODES = {"silicon": "diode", "schottky": "Schottky diode", "signal": "diode", "led": "LED"}

_LEADS = {"a": "one end", "b": "other end", "coil_a": "coil", "coil_b": "coil's other end"}

_VALUES: dict[type[object], tuple[str, str]] = {
    Capacitor: ("capacitance", "capacitance"),
    CurrentSource: ("current", "current"),
    Fuse: ("rating", "current"),
    Inductor: ("inductance", "inductance"),
    Regulator: ("voltage", "voltage"),
    Relay: ("coil_resistance", "resistance"),
    Resistor: ("resistance", "resistance"),
    ShuntReference: ("voltage", "voltage"),
    VoltageSource: ("voltage", "voltage"),
    Zener: ("voltage", "voltage"),
}
"""The value that is printed beside a part: its field and kind of quantity."""


def _range(value: Value, kind: str) -> str:
    """A value, or the range of its samples."""
    array = np.asarray(value, dtype=np.float64)
    low, high = (format_quantity(float(end), kind) for end in (np.min(array), np.max(array)))
    if low == high:
        return low
    unit = high.rpartition(" ")[2]
    return f"{low.removesuffix(f' {unit}')} to {high}"


def part_value(part: Part) -> str:
    """Value of a part as the trade writes it; empty if it is told by its type alone.

    Examples
    --------
    >>> part_value(Resistor(name="R1", a="in", b="0", resistance=4700.0))
    '4.7 kΩ'
    >>> part_value(Capacitor(name="C1", a="in", b="0", capacitance=100e-6))
    '100 µF'
    >>> part_value(Resistor(name="R1", a="in", b="0", resistance=np.array([4500.0, 4900.0])))
    '4.5 to 4.9 kΩ'
    """
    if type(part) not in _VALUES:
        return ""
    field, kind = _VALUES[type(part)]
    text = _range(getattr(part, field), kind)
    return f"coil {text}" if isinstance(part, Relay) else text


def part_word(part: Part) -> str:
    """What a part is, in words."""
    if isinstance(part, Bipolar):
        return f"{part.polarity.upper()} transistor"
    if isinstance(part, Mosfet):
        return f"{part.polarity.upper()}-channel MOS transistor"
    if isinstance(part, Diode):
        return _DIODES[part.kind]
    if isinstance(part, Switch):
        return "push-button" if part.push_button else "switch"
    if isinstance(part, VoltageSource):
        return "battery" if part.name.startswith("BT") else "voltage"
    return _WORDS.get(type(part), "part")


def described(netlist: Netlist) -> str:
    """The circuit part by part, for people who hear a drawing instead of seeing it.

    Examples
    --------
    >>> from boomwright.circuit.parts import Resistor, VoltageSource
    >>> print(described(Netlist("lamp", (
    ...     VoltageSource(name="BT1", a="plus", b="0", voltage=12.0),
    ...     Resistor(name="R1", a="plus", b="0", resistance=24.0),
    ... ))))
    BT1, battery, 12 V: one end to plus, other end to ground.
    R1, resistor, 24 Ω: one end to plus, other end to ground.
    """
    return "\n".join(_sentence(part) for part in netlist.parts if part.NODES)


def _sentence(part: Part) -> str:
    head = ", ".join(
        text for text in (part.name, part_word(part), part_value(part)) if text
    )  # a type without a value leaves no empty place between its commas
    leads = []
    for field in part.NODES:
        if node := getattr(part, field):
            place = "ground" if node == GROUND else node
            leads.append(f"{_LEADS.get(field, field)} to {place}")
    return f"{head}: {', '.join(leads)}."
