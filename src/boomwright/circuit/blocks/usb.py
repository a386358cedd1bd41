"""What a charging socket tells a phone: by joined data lines, by a divider, by CC pull-ups."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.parts import CurrentSource, Part, Resistor, VoltageSource
from boomwright.circuit.values import Value
from boomwright.errors import NetlistError, Problem

__all__ = ["USB_KINDS", "UsbKind", "UsbValues", "usb_netlist"]

UsbKind: TypeAlias = Literal["joined", "divider", "type-c"]
"""How the socket tells the phone what it may draw."""

USB_KINDS: dict[UsbKind, tuple[str, tuple[str, ...]]] = {
    "joined": ("Charging port with its data lines joined", ("link_resistance",)),
    "divider": (
        "Charging port with dividers on its data lines, for older phones",
        ("plus_top", "plus_bottom", "minus_top", "minus_bottom"),
    ),
    "type-c": ("USB-C socket with pull-ups on its CC pins", ("pull_up",)),
}
"""Title of every kind, and the values that it needs."""


@dataclass(frozen=True, kw_only=True)
class UsbValues:
    """Values of a charging socket; what its kind does not use stays None.

    Parameters
    ----------
    rail_voltage : float or array
        The 5 V rail without load [V].
    rail_resistance : float or array
        How far the rail sags under load, as a resistance [Ω].
    lead_resistance : float or array
        Lead from the rail to the socket, both ways, with fuse and contacts [Ω].
    load_current : float or array
        What the phone draws [A].
    link_resistance : float, array or None
        Between the data lines [Ω].
    detect_voltage, detect_current : float or array
        What a phone puts on D+ and takes from D- while it looks whether they are joined [V], [A].
    plus_top, plus_bottom, minus_top, minus_bottom : float, array or None
        Dividers on D+ and on D- [Ω].
    pull_up : float, array or None
        From 5 V to each CC pin [Ω].
    pull_down : float or array
        In the phone, from its CC pin to ground [Ω].
    """

    rail_voltage: Value = 5.1
    rail_resistance: Value = 0.05
    lead_resistance: Value = 0.08
    load_current: Value = 0.0
    link_resistance: Value | None = None
    detect_voltage: Value = 0.6
    detect_current: Value = 100e-6
    plus_top: Value | None = None
    plus_bottom: Value | None = None
    minus_top: Value | None = None
    minus_bottom: Value | None = None
    pull_up: Value | None = None
    pull_down: Value = 5.1e3


def usb_netlist(kind: UsbKind, values: UsbValues) -> Netlist:
    """Netlist of a charging socket with its rail and a phone.

    Parameters
    ----------
    kind : str
        Key of :data:`USB_KINDS`.
    values : UsbValues
        Values of its parts.

    Returns
    -------
    Netlist
        Rail ``V1``; ``vbus`` at the plug; ``dp`` and ``dm``, or ``cc1`` and ``cc2``. The phone is
        the current ``I1`` and, where it has a say, ``V2`` with ``I2`` or ``RL2``.

    Raises
    ------
    NetlistError
        If a value is missing or out of range.
    ValueError
        If the kind is unknown.

    Examples
    --------
    Pull-ups of 10 kΩ at 5 V and a phone's 5.1 kΩ give 1.689 V.

    >>> from boomwright.circuit.operating import operating_point
    >>> point = operating_point(usb_netlist("type-c", UsbValues(rail_voltage=5.0, pull_up=10e3)))
    >>> round(float(point.voltage("cc1")[0]), 3)
    1.689
    """
    if kind not in USB_KINDS:
        raise ValueError(f"kind of socket: got {kind!r}, must be one of {', '.join(USB_KINDS)}")
    title, needs = USB_KINDS[kind]
    missing = [name for name in needs if getattr(values, name) is None]
    if missing:
        raise NetlistError([Problem(f"a socket of kind {kind} lacks {', '.join(missing)}")])
    parts: list[Part] = [
        VoltageSource(name="V1", a="emf", b=GROUND, voltage=values.rail_voltage),
        Resistor(name="RV1", a="emf", b="rail", resistance=values.rail_resistance),
        Resistor(name="RW1", a="rail", b="vbus", resistance=values.lead_resistance),
        CurrentSource(name="I1", a="vbus", b=GROUND, current=values.load_current),
    ]
    if kind == "joined":
        parts += [
            _resistor("R1", "dp", "dm", values.link_resistance),
            VoltageSource(name="V2", a="dp", b=GROUND, voltage=values.detect_voltage),
            CurrentSource(name="I2", a="dm", b=GROUND, current=values.detect_current),
        ]
    elif kind == "divider":
        parts += [
            _resistor("R1", "vbus", "dp", values.plus_top),
            _resistor("R2", "dp", GROUND, values.plus_bottom),
            _resistor("R3", "vbus", "dm", values.minus_top),
            _resistor("R4", "dm", GROUND, values.minus_bottom),
        ]
    else:
        parts += [
            _resistor("R1", "vbus", "cc1", values.pull_up),
            _resistor("R2", "vbus", "cc2", values.pull_up),
            _resistor("RL2", "cc1", GROUND, values.pull_down),
        ]
    return Netlist(title, tuple(parts))


def _resistor(name: str, a: str, b: str, resistance: Value | None) -> Resistor:
    if resistance is None:
        raise NetlistError([Problem(f"{name} is missing")])
    return Resistor(name=name, a=a, b=b, resistance=resistance)
