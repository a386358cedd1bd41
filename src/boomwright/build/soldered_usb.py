"""What a charging socket's resistors tell a phone, and what it then draws."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from boomwright.build.circuits import UsbCircuit
from boomwright.build.quantities import format_quantity
from boomwright.circuit.blocks.usb import USB_KINDS, UsbValues, usb_netlist
from boomwright.circuit.operating import operating_point
from boomwright.errors import Problem

__all__ = ["Told", "usb_problems", "usb_quantities", "what_it_tells"]

_NOMINAL = 5.0
# All from memory: the most between joined data pins (USB battery charging 1.2); the volts that
# older phones look for on D+ and D-, and what each pair tells; the volts on a CC pin with the
# phone's 5.1 kΩ below which each current holds (USB Type-C).
_MOST_LINK, _JOINED = 200.0, 1.5
_PAIRS = {(2.0, 2.7): 1.0, (2.7, 2.0): 2.1, (2.7, 2.7): 2.4}
_NEAR = 0.2
_CC_LEAST = 0.2
_CC_LEVELS = ((0.66, 0.5), (1.23, 1.5), (2.04, 3.0))

_DRAWN = {
    ("joined", 1.5): "1 A [0.8 to 1.5] (typical)",
    ("divider", 1.0): "0.95 A [0.8 to 1] (typical)",
    ("divider", 2.1): "1.6 A [0.9 to 2.1] (typical)",
    ("divider", 2.4): "1.7 A [0.9 to 2.4] (typical)",
    ("type-c", 0.5): "0.4 A [0.1 to 0.5] (typical)",
    ("type-c", 1.5): "1.3 A [0.9 to 1.5] (typical)",
    ("type-c", 3.0): "2 A [1.2 to 3] (typical)",
}
_DRAWN_UNTOLD = "0.4 A [0.1 to 0.5] (typical)"
_PINS = {"joined": "shorted", "divider": "divider", "type-c": "negotiated"}


@dataclass(frozen=True)
class Told:
    """What a socket tells a phone.

    Parameters
    ----------
    current : float
        What it may draw, 0 where it understands nothing [A].
    shows : str
        What the phone finds, in words.
    wanted : str
        What would be understood, in words.
    """

    current: float
    shows: str
    wanted: str


def usb_problems(circuit: UsbCircuit) -> list[tuple[str, Problem]]:
    """What keeps a socket from being worked out, with the key it stands at.

    Parameters
    ----------
    circuit : UsbCircuit
        As the build file has it.

    Returns
    -------
    list of (key, Problem)
        Empty where all is there.
    """
    found = []
    for key in USB_KINDS[circuit.kind][1]:
        if getattr(circuit, key) is None:
            means = (UsbCircuit.model_fields[key].description or "").rstrip(".")
            says = f"a socket of kind {circuit.kind!r} needs it: {means}"
            found.append((key, Problem(says, hint="Add it.")))
    return found


def what_it_tells(circuit: UsbCircuit) -> Told:
    """What a socket's circuit tells a phone, solved at 5 V.

    Parameters
    ----------
    circuit : UsbCircuit
        As the build file has it, without problems.

    Returns
    -------
    Told

    Examples
    --------
    >>> what_it_tells(UsbCircuit.model_validate({"kind": "type-c", "pull_up": "22 kΩ"})).current
    1.5
    """
    if circuit.kind == "joined":
        ohms = circuit.link_resistance.likely
        return Told(
            _JOINED if ohms <= _MOST_LINK else 0.0,
            f"{format_quantity(ohms, 'resistance')} lies between the data pins",
            "join D+ and D- with a bridge of wire",
        )
    values: dict[str, Any] = {
        key: None if (value := getattr(circuit, key)) is None else value.likely
        for key in ("plus_top", "plus_bottom", "minus_top", "minus_bottom", "pull_up")
    }
    netlist = usb_netlist(
        circuit.kind,
        UsbValues(rail_voltage=_NOMINAL, rail_resistance=1e-3, lead_resistance=1e-3, **values),
    )
    point = operating_point(netlist)
    if circuit.kind == "type-c":
        volts = float(point.voltage("cc1")[0])
        amps = next((amps for most, amps in _CC_LEVELS if volts <= most), 0.0)
        return Told(
            amps if volts >= _CC_LEAST else 0.0,
            f"a phone on it has {format_quantity(volts, 'voltage', digits=3)} on its CC pin",
            "take 22 kΩ from 5 V to each CC pin for 1.5 A, or 10 kΩ for 3 A",
        )
    plus, minus = float(point.voltage("dp")[0]), float(point.voltage("dm")[0])
    near = [
        amps
        for (first, second), amps in _PAIRS.items()
        if abs(plus - first) <= _NEAR and abs(minus - second) <= _NEAR
    ]
    return Told(
        near[0] if near else 0.0,
        f"D+ has {format_quantity(plus, 'voltage', digits=3)} and D- "
        f"{format_quantity(minus, 'voltage', digits=3)}",
        "make 2 V on D+ and 2.7 V on D- for 1 A, or join the two pins and nothing else",
    )


def usb_quantities(circuit: UsbCircuit) -> dict[str, Any]:
    """Entries of a port's table that follow from its circuit.

    Parameters
    ----------
    circuit : UsbCircuit
        As the build file has it, without problems.

    Returns
    -------
    dict
        ``data_pins``, and ``current``: what phones draw that are told so, typical of class.
    """
    told = what_it_tells(circuit).current
    if told == 0.0:
        return {"data_pins": "open", "current": _DRAWN_UNTOLD}
    return {"data_pins": _PINS[circuit.kind], "current": _DRAWN[circuit.kind, told]}
