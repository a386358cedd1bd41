"""Low-voltage cutoffs as netlists: the families a builder can solder.

All of them stand between the battery's plus (node ``batt``, behind the fuse) and the load (node
``out``), with the battery's minus as ground.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, TypeAlias, TypeVar

from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.parts import (
    Bipolar,
    Capacitor,
    Comparator,
    Diode,
    Mosfet,
    Part,
    Relay,
    Resistor,
    ShuntReference,
    Switch,
    VoltageSource,
    Zener,
)
from boomwright.circuit.values import Value
from boomwright.circuit.watch import Watch

__all__ = [
    "CUTOFF_FAMILIES",
    "CutoffFamily",
    "CutoffValues",
    "Family",
    "cutoff_netlist",
]

CutoffFamily: TypeAlias = Literal[
    "zener-relay",
    "zener-relay-emitter",
    "zener-relay-feedback",
    "zener-relay-holding",
    "reference-relay",
    "reference-mosfet",
    "comparator-relay",
    "comparator-mosfet",
]
"""Kind of circuit."""


@dataclass(frozen=True)
class Family:
    """A kind of cutoff circuit.

    Parameters
    ----------
    title : str
        What it is, in words.
    needs : tuple of str
        Values it cannot be without, as :class:`CutoffValues` names them.
    watch : Watch
        How to tell that it is on.
    holding : bool
        Stays off until its button is pressed, and takes nothing then.
    """

    title: str
    needs: tuple[str, ...]
    watch: Watch
    holding: bool = False


_RELAY = Watch(relay="K1")
_ZENER = ("relay", "zener", "transistor", "flyback", "series_resistor", "base_resistor")
_DIVIDER = ("divider_top", "divider_bottom", "feedback_resistor")
_MOSFET = ("mosfet", "gate_resistor", "drive_resistor")
_COMPARATOR = ("reference", "comparator", "reference_resistor")

CUTOFF_FAMILIES: dict[CutoffFamily, Family] = {
    "zener-relay": Family("Zener, transistor and relay, one threshold", _ZENER, _RELAY),
    "zener-relay-emitter": Family(
        "Zener, transistor and relay, gap by an emitter resistor",
        (*_ZENER, "emitter_resistor"),
        _RELAY,
    ),
    "zener-relay-feedback": Family(
        "Zener, transistor and relay, gap by feedback from the switched side",
        (*_ZENER, "feedback_resistor"),
        _RELAY,
    ),
    "zener-relay-holding": Family(
        "Zener, transistor and relay that feeds its own coil, started by a button",
        _ZENER,
        Watch(relay="K1", held=True),
        holding=True,
    ),
    "reference-relay": Family(
        "Shunt reference that drives a relay",
        ("relay", "reference", "flyback", *_DIVIDER),
        _RELAY,
    ),
    "reference-mosfet": Family(
        "Shunt reference that drives a P-channel transistor",
        ("reference", *_MOSFET, *_DIVIDER),
        Watch(pivot="sense"),
    ),
    "comparator-relay": Family(
        "Comparator that drives a relay",
        ("relay", "transistor", "flyback", "drive_resistor", *_COMPARATOR, *_DIVIDER),
        _RELAY,
    ),
    "comparator-mosfet": Family(
        "Comparator that drives a P-channel transistor",
        (*_MOSFET, *_COMPARATOR, *_DIVIDER),
        Watch(),
    ),
}
"""Every family by its name."""


@dataclass(frozen=True, kw_only=True)
class CutoffValues:
    """Values of a cutoff; what its family does not use stays None.

    Devices are given as parts whose nodes are empty: the family wires them.

    Parameters
    ----------
    relay, zener, transistor, mosfet, reference, comparator, flyback : part or None
        The devices.
    series_resistor : float, array or None
        From the battery to the zener; with the filter capacitor it makes the delay [Ω].
    base_resistor : float, array or None
        From base to ground, against leakage [Ω].
    emitter_resistor : float, array or None
        Below the emitter; its drop makes the gap [Ω].
    zener_resistor : float, array or None
        Between the filter and the zener, so that the filter capacitor sees a resistance [Ω].
    feedback_resistor : float, array or None
        From the switched side back to the sensing point; makes the gap [Ω].
    divider_top, divider_bottom : float, array or None
        The divider in front of a reference or comparator [Ω].
    gate_resistor : float, array or None
        From source to gate of the transistor: keeps it off [Ω].
    drive_resistor : float, array or None
        From the gate to the driver, or the pull-up that feeds the relay's transistor [Ω].
    reference_resistor : float, array or None
        Feeds the reference of a comparator [Ω].
    filter_capacitor : float, array or None
        Keeps a bass beat from tripping it; left out if None [F].
    load_resistance : float or array
        What hangs on it, as a resistance [Ω].
    supply_current : float or array
        What the comparator takes itself at 12 V [A].
    """

    relay: Relay | None = None
    zener: Zener | None = None
    transistor: Bipolar | None = None
    mosfet: Mosfet | None = None
    reference: ShuntReference | None = None
    comparator: Comparator | None = None
    flyback: Diode | None = None
    series_resistor: Value | None = None
    base_resistor: Value | None = None
    emitter_resistor: Value | None = None
    zener_resistor: Value | None = None
    feedback_resistor: Value | None = None
    divider_top: Value | None = None
    divider_bottom: Value | None = None
    gate_resistor: Value | None = None
    drive_resistor: Value | None = None
    reference_resistor: Value | None = None
    filter_capacitor: Value | None = None
    load_resistance: Value = 24.0
    supply_current: Value = 0.6e-3


def cutoff_netlist(family: CutoffFamily, values: CutoffValues, *, voltage: Value = 12.0) -> Netlist:
    """Netlist of a cutoff with its battery and load.

    Parameters
    ----------
    family : str
        Kind of circuit, a key of :data:`CUTOFF_FAMILIES`.
    values : CutoffValues
        Values of its parts.
    voltage : float or array
        Battery voltage [V].

    Returns
    -------
    Netlist
        Battery ``BT1`` from ``batt`` to ground; load ``RL`` from ``out`` to ground.

    Raises
    ------
    ValueError
        If the family is unknown or lacks a value it needs.
    NetlistError
        If a value is out of range.

    Examples
    --------
    >>> from boomwright.circuit.thresholds import find_thresholds
    >>> values = CutoffValues(
    ...     relay=Relay(
    ...         name="K1", coil_a="", coil_b="", coil_resistance=270.0,
    ...         operate=0.030, release=0.0098,
    ...     ),
    ...     zener=Zener(
    ...         name="D1", anode="", cathode="", voltage=9.1, test_current=0.028, slope=3.0
    ...     ),
    ...     transistor=Bipolar(name="Q1", collector="", base="", emitter="", gain=180.0),
    ...     flyback=Diode(name="D2", anode="", cathode=""),
    ...     series_resistor=4700.0,
    ...     base_resistor=10e3,
    ... )
    >>> net = cutoff_netlist("zener-relay", values)
    >>> found = find_thresholds(net, CUTOFF_FAMILIES["zener-relay"].watch, lowest=6, highest=14)
    >>> [round(float(value[0]), 1) for value in (found.off, found.on)]
    [10.0, 10.6]
    """
    if family not in CUTOFF_FAMILIES:
        raise ValueError(
            f"family of a cutoff: got {family!r}, must be one of {', '.join(CUTOFF_FAMILIES)}"
        )
    kind = CUTOFF_FAMILIES[family]
    missing = [name for name in kind.needs if getattr(values, name) is None]
    if missing:
        raise ValueError(f"a cutoff of the family {family} lacks {', '.join(missing)}")
    head: list[Part] = [VoltageSource(name="BT1", a="batt", b=GROUND, voltage=voltage)]
    tail: list[Part] = [Resistor(name="RL", a="out", b=GROUND, resistance=values.load_resistance)]
    if family.startswith("zener"):
        body = _zener_relay(family, values)
    elif family.startswith("reference"):
        body = _reference(family, values)
    else:
        body = _comparator(family, values)
    return Netlist(kind.title, (*head, *body, *tail))


_P = TypeVar("_P", Relay, Zener, Bipolar, Mosfet, ShuntReference, Comparator, Diode)


def _at(part: _P | None, name: str, **nodes: str) -> _P:
    """A device wired to nodes."""
    if part is None:
        raise ValueError(f"{name} is missing")
    return replace(part, name=name, **nodes)  # type: ignore[arg-type]


def _r(name: str, a: str, b: str, value: Value | None) -> Resistor:
    if value is None:
        raise ValueError(f"{name} is missing")
    return Resistor(name=name, a=a, b=b, resistance=value)


def _filter(values: CutoffValues, node: str) -> list[Part]:
    if values.filter_capacitor is None:
        return []
    capacitance = values.filter_capacitor
    return [Capacitor(name="C1", a=node, b=GROUND, capacitance=capacitance, polarised=True)]


def _zener_relay(family: CutoffFamily, values: CutoffValues) -> list[Part]:
    holding = CUTOFF_FAMILIES[family].holding
    feed = "out" if holding else "batt"
    emitter = "e" if values.emitter_resistor is not None else GROUND
    cathode = "sense" if values.zener_resistor is None else "zener"
    parts: list[Part] = [
        _r("R1", feed, "sense", values.series_resistor),
        *_filter(values, "sense"),
        _at(values.zener, "D1", cathode=cathode, anode="base"),
        _r("R2", "base", GROUND, values.base_resistor),
        _at(values.transistor, "Q1", collector="coil", base="base", emitter=emitter),
        _at(values.flyback, "D2", anode="coil", cathode=feed),
        _at(values.relay, "K1", coil_a=feed, coil_b="coil", common="batt", made="out", broken=""),
    ]
    if cathode != "sense":
        parts.append(_r("R5", "sense", cathode, values.zener_resistor))
    if emitter != GROUND:
        parts.append(_r("R3", emitter, GROUND, values.emitter_resistor))
    if family == "zener-relay-feedback":
        parts.append(_r("R4", "out", "sense", values.feedback_resistor))
    if holding:
        parts.append(Switch(name="S1", a="batt", b="out", push_button=True))
    return parts


def _divider(values: CutoffValues, node: str) -> list[Part]:
    return [
        _r("R1", "batt", node, values.divider_top),
        _r("R2", node, GROUND, values.divider_bottom),
        _r("R3", "out", node, values.feedback_resistor),
        *_filter(values, node),
    ]


def _switch(values: CutoffValues, driver: str) -> list[Part]:
    """The P-channel transistor between battery and load, its gate pulled down by the driver."""
    return [
        _at(values.mosfet, "Q1", drain="out", gate="gate", source="batt"),
        _r("R4", "batt", "gate", values.gate_resistor),
        _r("R5", "gate", driver, values.drive_resistor),
    ]


def _reference(family: CutoffFamily, values: CutoffValues) -> list[Part]:
    parts = _divider(values, "sense")
    if family == "reference-mosfet":
        return [
            *parts,
            _at(values.reference, "U1", cathode="low", reference="sense", anode=GROUND),
            *_switch(values, "low"),
        ]
    return [
        *parts,
        _at(values.reference, "U1", cathode="coil", reference="sense", anode=GROUND),
        _at(values.flyback, "D2", anode="coil", cathode="batt"),
        _at(values.relay, "K1", coil_a="batt", coil_b="coil", common="batt", made="out", broken=""),
    ]


def _comparator(family: CutoffFamily, values: CutoffValues) -> list[Part]:
    parts: list[Part] = [
        *_divider(values, "sense"),
        _r("R6", "batt", "ref", values.reference_resistor),
        _at(values.reference, "U2", cathode="ref", reference="ref", anode=GROUND),
        # The comparator's own supply current, as the resistance that takes it at 12 V.
        _r("RU1", "batt", GROUND, 12.0 / values.supply_current),
    ]
    if family == "comparator-mosfet":
        # Low output when the battery is high: it pulls the gate down.
        return [
            *parts,
            _at(values.comparator, "U1", minus="sense", plus="ref", output="low", ground=GROUND),
            *_switch(values, "low"),
        ]
    return [
        *parts,
        _at(values.comparator, "U1", minus="ref", plus="sense", output="base", ground=GROUND),
        _r("R5", "batt", "base", values.drive_resistor),
        _at(values.transistor, "Q1", collector="coil", base="base", emitter=GROUND),
        _at(values.flyback, "D2", anode="coil", cathode="batt"),
        _at(values.relay, "K1", coil_a="batt", coil_b="coil", common="batt", made="out", broken=""),
    ]
