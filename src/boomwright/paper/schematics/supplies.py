"""Layouts of what stands in the supply: regulator, polarity protection, charging socket."""

from __future__ import annotations

from boomwright.circuit.parts import (
    CurrentSource,
    Diode,
    Fuse,
    Mosfet,
    Part,
    Regulator,
    Resistor,
    VoltageSource,
)
from boomwright.paper.schematics.layout import Layout
from boomwright.paper.schematics.sheet import Sheet
from boomwright.paper.schematics.symbols import block, mosfet

__all__ = ["SUPPLY_LAYOUTS"]

_STEP = 2.5
"""Room for an upright part and its words."""


def _across(sheet: Sheet, names: tuple[str, ...], x: float, rail: float) -> float:
    """Upright parts side by side from the rail to ground; gives the place after the last."""
    for name in names:
        if sheet.has(name):
            sheet.two(name, (x, rail), (x, 0.0), "right")
            x += _STEP
    return x


def _load(sheet: Sheet, x: float, rail: float) -> float:
    """Whatever hangs on the output; gives the place of the last."""
    last = x
    for name in ("RL", "IL"):
        if sheet.has(name):
            sheet.two(name, (x, rail), (x, 0.0), "right", say="load")
            last, x = x, x + _STEP
    return last


def _draw_regulator(sheet: Sheet) -> None:
    rail = 5.0
    sheet.two("BT1", (0.0, rail), (0.0, 0.0), "left")
    sheet.ground((0.0, 0.0))
    sheet.node("batt", (0.0, rail), "left")
    x = 2.5
    sheet.two("F1", (0.0, rail), (x, rail), "above")
    if sheet.has("D1"):
        sheet.two("D1", (x, rail), (x + 2.0, rail), "above")
        x += 2.0
    x += 0.75
    sheet.node("in", (x, rail))
    start = x - 0.75
    end = _across(sheet, ("C1", "C3"), x, rail)
    sheet.wire((start, rail), (end, rail))
    left, right = end + 0.5, end + 3.0
    pins = {"input": (end, rail), "output": (right + 0.5, rail), "ground": (end + 1.75, 3.75)}
    sheet.device("U1", Regulator)
    sheet.place(
        "U1",
        block(left, right, rail + 0.6, rail - 0.75, pins),
        (end + 1.75, rail + 0.75),
        "above",
        say="regulator",
    )
    sheet.caption("in", (left + 0.15, rail), "start")
    sheet.caption("out", (right - 0.15, rail), "end")
    sheet.caption("gnd", (end + 1.75, rail - 0.55), "middle")
    sheet.wire(pins["ground"], (end + 1.75, 0.0))
    x = right + 1.25
    sheet.node("out", (x, rail))
    last = _load(sheet, _across(sheet, ("C4", "C2", "CL"), x, rail), rail)
    sheet.wire(pins["output"], (last, rail))
    sheet.wire((0.0, 0.0), (last, 0.0))


def _source(sheet: Sheet, rail: float) -> float:
    """Battery with its own resistance, and the fuse; gives the place behind the fuse."""
    sheet.two("BT1", (0.0, rail / 2), (0.0, 0.0), "left")
    sheet.two("RBT1", (0.0, rail / 2), (0.0, rail), "left", say="battery's own")
    sheet.ground((0.0, 0.0))
    sheet.node("batt", (0.0, rail), "left")
    sheet.two("F1", (0.0, rail), (2.5, rail), "above")
    return 2.5


def _draw_shunt(sheet: Sheet) -> None:
    rail = 5.0
    x = _source(sheet, rail)
    sheet.two("D1", (x + 0.75, 0.0), (x + 0.75, rail), "right")
    last = _load(sheet, x + 3.75, rail)
    sheet.node("out", (x + 3.0, rail))
    sheet.wire((x, rail), (last, rail))
    sheet.wire((0.0, 0.0), (last, 0.0))


def _draw_series(sheet: Sheet) -> None:
    rail = 5.0
    x = _source(sheet, rail)
    sheet.two("D1", (x, rail), (x + 2.5, rail), "above")
    last = _load(sheet, x + 4.0, rail)
    sheet.node("out", (x + 3.25, rail))
    sheet.wire((x + 2.5, rail), (last, rail))
    sheet.wire((0.0, 0.0), (last, 0.0))


def _draw_transistor(sheet: Sheet) -> None:
    rail, gate = 6.5, 4.25
    x = _source(sheet, rail)
    drain, source = (x + 1.5, rail), (x + 4.0, rail)
    # The diode inside is a part of its own in the netlist, so it is drawn as one.
    symbol = mosfet(sheet.device("Q1", Mosfet), source, drain, diode=False)
    lead = symbol.pins["gate"]
    sheet.place("Q1", symbol, (drain[0] + 0.55, rail - 1.15), "left")
    over = rail + 1.25
    sheet.two("DQ1", (drain[0], over), (source[0], over), "above", say="inside Q1")
    sheet.wire((x, rail), drain)
    sheet.wire(drain, (drain[0], over))
    sheet.wire(source, (source[0], over))
    sheet.node("fused", (x, rail), "right")
    sheet.wire(lead, (lead[0], gate))
    sheet.two("R1", (lead[0], gate), (lead[0], 0.0), "right")
    sheet.node("gate", (lead[0], gate), "left")
    after = source[0] + 0.75
    if sheet.has("D1"):
        sheet.two("D1", (after, gate), (after, rail), "right")
        sheet.wire((lead[0], gate), (after, gate))
    last = _load(sheet, after + 2.75, rail)
    sheet.node("out", (after + 2.0, rail))
    sheet.wire(source, (last, rail))
    sheet.wire((0.0, 0.0), (last, 0.0))


def _rail(sheet: Sheet, rail: float) -> float:
    """The 5 V rail with its sag and the lead to the socket; gives the place of the socket."""
    sheet.two("V1", (0.0, rail), (0.0, 0.0), "left", say="rail")
    sheet.ground((0.0, 0.0))
    sheet.two("RV1", (0.0, rail), (2.75, rail), "above", say="sag")
    sheet.two("RW1", (2.75, rail), (5.5, rail), "above", say="lead")
    sheet.node("rail", (2.75, rail), "below")
    sheet.node("vbus", (5.5, rail), "below")
    return 5.5


def _phone(sheet: Sheet, x: float, rail: float) -> None:
    sheet.two("I1", (x, rail), (x, 0.0), "right", say="phone")
    sheet.wire((5.5, rail), (x, rail))
    sheet.wire((0.0, 0.0), (x, 0.0))


def _draw_joined(sheet: Sheet) -> None:
    rail, line = 6.0, 3.0
    x = _rail(sheet, rail) + 1.0
    sheet.two("R1", (x, line), (x + 3.0, line), "above")
    sheet.node("dp", (x, line), "left")
    sheet.node("dm", (x + 3.0, line), "right")
    sheet.two("V2", (x, line), (x, 0.0), "left", say="phone asks")
    sheet.two("I2", (x + 3.0, line), (x + 3.0, 0.0), "right", say="phone")
    _phone(sheet, x + 6.0, rail)


def _draw_divider(sheet: Sheet) -> None:
    rail, line = 6.0, 3.0
    x = _rail(sheet, rail) + 1.25
    for upper, lower, node, place in (("R1", "R2", "dp", x), ("R3", "R4", "dm", x + 3.5)):
        sheet.two(upper, (place, rail), (place, line), "right")
        sheet.two(lower, (place, line), (place, 0.0), "right")
        sheet.wire((place, line), (place + 1.0, line))
        sheet.open_end((place + 1.0, line))
        sheet.node(node, (place, line), "right")
    _phone(sheet, x + 6.75, rail)


def _draw_type_c(sheet: Sheet) -> None:
    rail, line = 6.0, 3.0
    x = _rail(sheet, rail) + 1.25
    sheet.two("R1", (x, rail), (x, line), "right")
    sheet.two("RL2", (x, line), (x, 0.0), "right", say="phone")
    sheet.node("cc1", (x, line), "right")
    sheet.two("R2", (x + 3.5, rail), (x + 3.5, line), "right")
    sheet.wire((x + 3.5, line), (x + 3.5, line - 0.5))
    sheet.open_end((x + 3.5, line - 0.5))
    sheet.node("cc2", (x + 3.5, line - 0.5), "right")
    _phone(sheet, x + 6.75, rail)


_POLARITY: dict[str, type[Part]] = {"BT1": VoltageSource, "RBT1": Resistor, "F1": Fuse}
_USB: dict[str, type[Part]] = {
    "V1": VoltageSource,
    "RV1": Resistor,
    "RW1": Resistor,
    "I1": CurrentSource,
    "R1": Resistor,
}

SUPPLY_LAYOUTS: dict[str, Layout] = {
    "regulator": Layout(
        _draw_regulator,
        {"BT1": VoltageSource, "F1": Fuse, "U1": Regulator},
        "A linear regulator behind a fuse holds its output's volts; electrolytics hold the "
        "charge, ceramics at its legs keep it from oscillating.",
    ),
    "polarity-shunt-diode": Layout(
        _draw_shunt,
        {**_POLARITY, "D1": Diode},
        "A diode across the supply, behind the fuse, blocks as long as the battery is the right "
        "way round. The wrong way round it conducts and blows the fuse.",
    ),
    "polarity-series-schottky": Layout(
        _draw_series,
        {**_POLARITY, "D1": Diode},
        "A Schottky diode in the positive lead lets current through one way only.",
    ),
    "polarity-series-silicon": Layout(
        _draw_series,
        {**_POLARITY, "D1": Diode},
        "A silicon diode in the positive lead lets current through one way only.",
    ),
    "polarity-p-mosfet": Layout(
        _draw_transistor,
        {**_POLARITY, "Q1": Mosfet, "DQ1": Diode, "R1": Resistor},
        "The diode inside the transistor starts it, then the resistor from gate to ground turns it "
        "fully on. The wrong way round the gate stays at the source and nothing flows.",
    ),
    "usb-joined": Layout(
        _draw_joined,
        {**_USB, "V2": VoltageSource, "I2": CurrentSource},
        "The data lines of the socket are joined, which tells a phone that it is a charger.",
    ),
    "usb-divider": Layout(
        _draw_divider,
        {**_USB, "R2": Resistor, "R3": Resistor, "R4": Resistor},
        "Dividers put two voltages on the data lines, which tell an older phone what it may draw.",
    ),
    "usb-type-c": Layout(
        _draw_type_c,
        {**_USB, "R2": Resistor, "RL2": Resistor},
        "Pull-ups on both CC pins tell the phone what it may draw; the plug joins one of them to "
        "the phone's own resistor to ground, the other stays open.",
    ),
}
"""Layouts of supply circuits, by name."""
