"""Layouts of the eight families of low-voltage cutoff."""

from __future__ import annotations

from boomwright.circuit.parts import (
    Bipolar,
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
from boomwright.paper.schematics.layout import Layout
from boomwright.paper.schematics.sheet import Sheet
from boomwright.paper.schematics.symbols import (
    Point,
    bipolar,
    coil_and_contact,
    comparator,
    mosfet,
    shunt_reference,
)

__all__ = ["CUTOFF_LAYOUTS"]

_FEED = 1.25
"""Where the lead of the feedback resistor climbs, between battery and divider."""

_DIVIDER = 2.75


def _battery(sheet: Sheet, rail: float) -> None:
    sheet.two("BT1", (0.0, rail), (0.0, 0.0), "left")
    sheet.ground((0.0, 0.0))
    sheet.node("batt", (0.0, rail), "right")


def _load(sheet: Sheet, x: float, rail: float) -> None:
    sheet.two("RL", (x, rail), (x, 0.0), "right", say="load")
    sheet.node("out", (x, rail), "left")


def _floor(sheet: Sheet, *feet: float) -> None:
    """Ground along the bottom, from the battery to the load."""
    sheet.wire((0.0, 0.0), (max(feet), 0.0))


def _feedback(sheet: Sheet, name: str, rail: float, sense: float, end: float) -> None:
    """Resistor from the switched side over the top back to the sensing point."""
    over = rail + 1.75
    sheet.two(name, (8.0, over), (5.0, over), "above")
    sheet.wire((_FEED, over), (5.0, over))
    sheet.wire((_FEED, over), (_FEED, sense), (_DIVIDER, sense))
    sheet.wire((8.0, over), (end, over), (end, rail))


def _filter(sheet: Sheet, x: float, sense: float) -> None:
    if sheet.has("C1"):
        sheet.two("C1", (x, sense), (x, 0.0), "right")


def _relay(sheet: Sheet, x: float, rail: float, joint: float, load: float) -> None:
    """Coil above its driver, flyback diode on its left, contact in the rail on its right."""
    contact = ((x + 2.0, rail), (x + 4.0, rail))
    sheet.place(
        "K1",
        coil_and_contact(((x, rail), (x, joint)), contact),
        (x + 0.75, (rail + joint) / 2 - 0.8),
        "right",
    )
    _flyback(sheet, x, rail, joint)
    sheet.wire((0.0, rail), contact[0])
    sheet.wire(contact[1], (load, rail))


def _flyback(sheet: Sheet, x: float, rail: float, joint: float) -> None:
    sheet.two("D2", (x - 1.5, joint), (x - 1.5, rail), "left")
    sheet.wire((x - 1.5, joint), (x, joint))


def _transistor(sheet: Sheet, base: Point, joint: float, emitter: str = "") -> float:
    """Driver transistor between coil and ground; gives the place of its collector across."""
    symbol = bipolar(sheet.device("Q1", Bipolar), base)
    (x, upper), (_, lower) = symbol.pins["collector"], symbol.pins["emitter"]
    sheet.place("Q1", symbol, (x + 0.25, base[1]), "right")
    sheet.wire((x, upper), (x, joint))
    if emitter:
        sheet.two(emitter, (x, lower), (x, 0.0), "right")
    else:
        sheet.wire((x, lower), (x, 0.0))
    return x


def _zener(sheet: Sheet, x: float, rail: float, sense: float, emitter: str = "") -> float:
    """Zener, base resistor and transistor; gives the place of the collector across."""
    joint = sense + 1.75
    sheet.two("R1", (x, rail), (x, sense), "right")
    _filter(sheet, x, sense)
    sheet.node("sense", (x, sense), "left" if sheet.has("R5") else "right")
    start = x
    if sheet.has("R5"):
        start = x + 3.5
        sheet.two("R5", (x, sense), (start, sense), "above")
    zener = start + 3.5
    sheet.two("D1", (zener, sense), (start, sense), "above")
    sheet.two("R2", (zener, sense), (zener, 0.0), "right")
    base = (zener + 2.0, sense)
    sheet.wire((zener, sense), base)
    sheet.node("base", (zener, sense), "right")
    return _transistor(sheet, base, joint, emitter)


def _draw_zener(sheet: Sheet) -> None:
    rail, sense = 8.5, 3.5
    _battery(sheet, rail)
    x = _zener(sheet, _DIVIDER, rail, sense, "R3" if sheet.has("R3") else "")
    load = x + 5.5
    _relay(sheet, x, rail, sense + 1.75, load)
    if sheet.has("R4"):
        _feedback(sheet, "R4", rail, sense, x + 4.75)
    _load(sheet, load, rail)
    _floor(sheet, load)


def _draw_holding(sheet: Sheet) -> None:
    rail, sense = 8.5, 3.5
    _battery(sheet, rail)
    left, right = (1.5, rail), (3.75, rail)
    x = _zener(sheet, 6.0, rail, sense)
    joint, over = sense + 1.75, rail + 1.0
    symbol = coil_and_contact(
        ((x, rail), (x, joint)),
        (left, right),
        link=((x + 0.4, (rail + joint) / 2 + 0.3), (x + 0.4, over), (2.625, over)),
    )
    sheet.place("K1", symbol, (x + 0.75, (rail + joint) / 2), "right")
    _flyback(sheet, x, rail, joint)
    sheet.wire((0.0, rail), left)
    low = rail - 1.75
    sheet.wire(left, (left[0], low))
    sheet.wire(right, (right[0], low))
    sheet.two("S1", (left[0], low), (right[0], low), "below")
    load = x + 3.5
    sheet.wire(right, (load, rail))
    _load(sheet, load, rail)
    _floor(sheet, load)


def _divider(sheet: Sheet, rail: float, sense: float) -> None:
    sheet.two("R1", (_DIVIDER, rail), (_DIVIDER, sense), "right")
    sheet.two("R2", (_DIVIDER, sense), (_DIVIDER, 0.0), "right")
    sheet.node("sense", (_DIVIDER, sense), "right")
    _filter(sheet, 5.25, sense)


def _reference(sheet: Sheet, x: float, sense: float, top: float, *, divider: bool) -> None:
    """The reference as the switch that pulls ``top`` down, its third lead at the divider."""
    anode, cathode = (x, sense - 0.75), (x, sense + 0.75)
    lead = (x - 1.0, sense)
    sheet.place("U1", shunt_reference(anode, cathode, lead), (x + 0.5, sense), "right")
    sheet.wire(anode, (x, 0.0))
    if top > cathode[1]:
        sheet.wire(cathode, (x, top))
    if divider:
        sheet.wire((_DIVIDER, sense), lead)


def _draw_reference_relay(sheet: Sheet) -> None:
    rail, sense = 8.0, 3.5
    _battery(sheet, rail)
    _divider(sheet, rail, sense)
    x = 8.75
    joint = sense + 1.75
    _reference(sheet, x, sense, joint, divider=True)
    load = x + 5.5
    _relay(sheet, x, rail, joint, load)
    _feedback(sheet, "R3", rail, sense, x + 4.75)
    _load(sheet, load, rail)
    _floor(sheet, load)


def _pass(sheet: Sheet, x: float, rail: float, gate: float, low: Point) -> float:
    """P-channel transistor in the rail with its two gate resistors; gives the load's place."""
    source, drain = (x + 2.0, rail), (x + 4.5, rail)
    symbol = mosfet(sheet.device("Q1", Mosfet), source, drain)
    lead = symbol.pins["gate"]
    sheet.place("Q1", symbol, (drain[0] - 0.9, rail - 1.15), "right")
    sheet.two("R4", (x, rail), (x, gate), "left")
    sheet.two("R5", (x, gate), low, "left")
    sheet.wire((x, gate), (lead[0], gate), lead)
    sheet.node("gate", (x, gate), "right")
    sheet.wire((0.0, rail), source)
    load = x + 6.0
    sheet.wire(drain, (load, rail))
    return load


def _draw_reference_mosfet(sheet: Sheet) -> None:
    rail, sense, gate = 9.0, 3.0, 6.5
    _battery(sheet, rail)
    _divider(sheet, rail, sense)
    x = 8.0
    _reference(sheet, x, sense, 3.75, divider=True)
    load = _pass(sheet, x, rail, gate, (x, 3.75))
    _feedback(sheet, "R3", rail, sense, load - 0.75)
    _load(sheet, load, rail)
    _floor(sheet, load)


def _comparator(sheet: Sheet, rail: float, sense: float, *, minus_above: bool) -> Point:
    """Divider, reference and comparator; gives the place of its output."""
    _battery(sheet, rail)
    _divider(sheet, rail, sense)
    ref, x = sense - 1.2, 8.0
    sheet.two("R6", (x, rail), (x, sense + 1.0), "left")
    sheet.wire((x, sense + 1.0), (x, ref))
    low = ref - 1.75
    sheet.place(
        "U2",
        shunt_reference((x, low), (x, ref), (x - 0.75, (low + ref) / 2)),
        (x + 0.45, (low + ref) / 2),
        "right",
    )
    sheet.wire((x, low), (x, 0.0))
    sheet.wire((x - 0.75, (low + ref) / 2), (x - 0.75, ref), (x, ref))
    sheet.node("ref", (x, ref), "right")
    at = (10.0, sense)
    symbol = comparator(at, minus_above=minus_above, supply="RU1.a")
    foot = symbol.pins["ground"]
    symbol.pins["RU1.b"] = foot
    sheet.place("U1", symbol, (foot[0] + 0.3, foot[1] - 0.3), "right")
    sheet.wire((_DIVIDER, sense), at)
    sheet.wire((x, ref), (at[0], ref))
    sheet.wire(foot, (foot[0], 0.0))
    sheet.wire(symbol.pins["RU1.a"], (foot[0], rail))
    return symbol.pins["output"]


def _draw_comparator_relay(sheet: Sheet) -> None:
    rail, sense = 9.0, 4.75
    output = _comparator(sheet, rail, sense, minus_above=False)
    pull = output[0] + 0.5
    sheet.two("R5", (pull, rail), (pull, output[1]), "left")
    base = (pull + 3.0, output[1])
    sheet.wire(output, base)
    sheet.node("base", (pull, output[1]), "right")
    joint = output[1] + 1.75
    x = _transistor(sheet, base, joint)
    load = x + 5.5
    _relay(sheet, x, rail, joint, load)
    _feedback(sheet, "R3", rail, sense, x + 4.75)
    _load(sheet, load, rail)
    _floor(sheet, load)


def _draw_comparator_mosfet(sheet: Sheet) -> None:
    rail, sense = 9.0, 4.25
    output = _comparator(sheet, rail, sense, minus_above=True)
    x = output[0] + 0.5
    sheet.wire(output, (x, output[1]))
    load = _pass(sheet, x, rail, 6.5, (x, output[1]))
    _feedback(sheet, "R3", rail, sense, load - 0.75)
    _load(sheet, load, rail)
    _floor(sheet, load)


_ENDS: dict[str, type[Part]] = {"BT1": VoltageSource, "RL": Resistor}
_ZENER: dict[str, type[Part]] = {
    **_ENDS,
    "R1": Resistor,
    "R2": Resistor,
    "D1": Zener,
    "D2": Diode,
    "Q1": Bipolar,
    "K1": Relay,
}
_SENSED: dict[str, type[Part]] = {
    **_ENDS,
    "R1": Resistor,
    "R2": Resistor,
    "R3": Resistor,
}
_PASS: dict[str, type[Part]] = {"R4": Resistor, "R5": Resistor, "Q1": Mosfet}
_COMPARED: dict[str, type[Part]] = {
    **_SENSED,
    "R6": Resistor,
    "U1": Comparator,
    "U2": ShuntReference,
    "RU1": Resistor,
}

_ZENER_SAYS = (
    "A full battery drives current through the series resistor and the zener into the base; the "
    "transistor holds the relay, whose contact joins the battery to the load. When the battery "
    "falls too low the zener starves the base and the contact opens. The flyback diode takes the "
    "coil's current then."
)
_SENSED_SAYS = (
    "A divider brings the battery's voltage down to the sensing point; the feedback resistor from "
    "the switched side sets the gap between off and on."
)

CUTOFF_LAYOUTS: dict[str, Layout] = {
    "zener-relay": Layout(_draw_zener, _ZENER, _ZENER_SAYS),
    "zener-relay-emitter": Layout(
        _draw_zener,
        {**_ZENER, "R3": Resistor},
        _ZENER_SAYS + " The resistor below the emitter widens the gap between off and on.",
    ),
    "zener-relay-feedback": Layout(
        _draw_zener,
        {**_ZENER, "R4": Resistor},
        _ZENER_SAYS
        + " The resistor from the switched side to the sensing point widens the gap between off "
        "and on.",
    ),
    "zener-relay-holding": Layout(
        _draw_holding,
        {**_ZENER, "S1": Switch},
        _ZENER_SAYS
        + " All of it is fed from behind the contact: the button starts it, the contact then feeds "
        "its own coil, and once open it stays off and takes nothing.",
    ),
    "reference-relay": Layout(
        _draw_reference_relay,
        {**_SENSED, "D2": Diode, "K1": Relay, "U1": ShuntReference},
        _SENSED_SAYS + " The shunt reference draws current through the relay's coil while the "
        "sensing point stands above its own voltage; the contact joins battery and load.",
    ),
    "reference-mosfet": Layout(
        _draw_reference_mosfet,
        {**_SENSED, **_PASS, "U1": ShuntReference},
        _SENSED_SAYS + " The shunt reference pulls the gate of the P-channel transistor down while "
        "the sensing point stands above its own voltage, and the transistor joins battery and "
        "load. Its gate resistor turns it off.",
    ),
    "comparator-relay": Layout(
        _draw_comparator_relay,
        {**_COMPARED, "R5": Resistor, "Q1": Bipolar, "D2": Diode, "K1": Relay},
        _SENSED_SAYS + " The comparator lets go of the transistor's base while the sensing point "
        "stands above the reference; the transistor holds the relay, whose contact joins battery "
        "and load.",
    ),
    "comparator-mosfet": Layout(
        _draw_comparator_mosfet,
        {**_COMPARED, **_PASS},
        _SENSED_SAYS + " The comparator pulls the gate of the P-channel transistor down while the "
        "sensing point stands above the reference, and the transistor joins battery and load.",
    ),
}
"""Layout of every family of cutoff, by its name."""
