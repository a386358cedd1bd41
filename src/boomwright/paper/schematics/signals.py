"""Layouts of what stands in the signal: sum, pad and mute delays."""

from __future__ import annotations

from boomwright.circuit.parts import (
    Bipolar,
    Capacitor,
    Diode,
    Part,
    Relay,
    Resistor,
    Switch,
    VoltageSource,
)
from boomwright.paper.schematics.layout import Layout
from boomwright.paper.schematics.sheet import Sheet
from boomwright.paper.schematics.symbols import Point, bipolar, coil_and_contact

__all__ = ["SIGNAL_LAYOUTS"]


def _inputs(sheet: Sheet, x: float, level: float) -> float:
    """Cable and amplifier inputs from the signal to ground; gives the place of the last."""
    sheet.two("CW1", (x, level), (x, 0.0), "right", say="cable")
    number = 1
    while sheet.has(f"RL{number}"):
        x += 3.5
        sheet.two(f"RL{number}", (x, level), (x, 0.0), "right", say="amplifier")
        number += 1
    return x


def _draw_sum(sheet: Sheet) -> None:
    upper, lower, middle = 6.0, 3.0, 4.5
    sheet.two("V1", (0.0, upper), (0.0, 0.0), "left", say="left", signal=True)
    sheet.two("V2", (1.75, lower), (1.75, 0.0), "right", say="right", signal=True)
    sheet.ground((0.0, 0.0))
    sheet.wire((0.0, upper), (1.75, upper))
    for source, channel, level, node in (
        ("RV1", "R1", upper, "left"),
        ("RV2", "R2", lower, "right"),
    ):
        sheet.two(source, (1.75, level), (4.75, level), "above", say="source")
        sheet.two(channel, (4.75, level), (7.75, level), "above")
        sheet.node(node, (4.75, level), "below")
        sheet.wire((7.75, level), (7.75, middle))
    start = 7.75
    if sheet.has("C1"):
        sheet.node("sum", (start, middle), "right")
        sheet.two("C1", (start + 0.5, middle), (start + 3.0, middle), "above")
        sheet.wire((start, middle), (start + 0.5, middle))
        start += 3.0
    sheet.node("in", (start + 1.0, middle), "left")
    last = _inputs(sheet, start + 1.0, middle)
    sheet.wire((start, middle), (last, middle))
    sheet.wire((0.0, 0.0), (last, 0.0))


def _draw_pad(sheet: Sheet) -> None:
    level = 4.5
    sheet.two("V1", (0.0, level), (0.0, 0.0), "left", say="source", signal=True)
    sheet.ground((0.0, 0.0))
    sheet.two("RV1", (0.0, level), (3.0, level), "above", say="source")
    sheet.node("source", (3.0, level), "below")
    sheet.two("R1", (3.0, level), (6.0, level), "above")
    sheet.node("in", (6.5, level))
    sheet.two("R2", (6.5, level), (6.5, 0.0), "right")
    last = _inputs(sheet, 9.0, level)
    sheet.wire((6.0, level), (last, level))
    sheet.wire((0.0, 0.0), (last, 0.0))


_RAIL = 9.0
_DELAY = 3.75
_BACK = 11.5
"""Where the diode stands that empties the capacitor."""


def _delay(sheet: Sheet) -> Point:
    """Battery, switch, rail, delay and first transistor; gives the place of its collector."""
    sheet.two("BT1", (0.0, _RAIL), (0.0, 0.0), "left")
    sheet.ground((0.0, 0.0))
    sheet.node("batt", (0.0, _RAIL), "left")
    sheet.two("S1", (0.0, _RAIL), (2.5, _RAIL), "above")
    sheet.node("rail", (3.0, _RAIL))
    sheet.two("C2", (3.0, _RAIL), (3.0, 0.0), "right")
    sheet.two("RL", (5.75, _RAIL), (5.75, 0.0), "right", say="amplifier")
    x, back = 9.25, _BACK
    sheet.two("R1", (x, _RAIL), (x, _DELAY), "right")
    sheet.two("C1", (x, _DELAY), (x, 0.0), "right")
    sheet.node("delay", (x, _DELAY), "left")
    sheet.two("D1", (back, _DELAY), (back, _RAIL), "right")
    sheet.wire((x, _DELAY), (back, _DELAY))
    base = back + 2.75
    sheet.two("R2", (back, _DELAY), (base, _DELAY), "above")
    sheet.two("R3", (base, _DELAY), (base, 0.0), "right")
    sheet.wire((base, _DELAY), (base + 2.0, _DELAY))
    sheet.node("base", (base, _DELAY), "right")
    sheet.wire((2.5, _RAIL), (back, _RAIL))
    return _transistor(sheet, "Q1", (base + 2.0, _DELAY))


def _transistor(sheet: Sheet, name: str, base: Point) -> Point:
    """NPN transistor with its emitter on ground; gives the place of its collector."""
    symbol = bipolar(sheet.device(name, Bipolar), base)
    x, lower = symbol.pins["emitter"]
    sheet.place(name, symbol, (x + 0.25, base[1]), "right")
    sheet.wire((x, lower), (x, 0.0))
    return symbol.pins["collector"]


def _pin(sheet: Sheet, collector: Point, pin: float) -> None:
    """The board's mute pin with its pull-up."""
    x, top = collector[0] + 2.5, pin + 2.0
    sheet.wire(collector, (collector[0], pin), (x, pin))
    sheet.node("pin", (collector[0], pin))
    sheet.two("R5", (x, top), (x, pin), "left", say="pull-up")
    sheet.two("V2", (x + 2.0, top), (x + 2.0, 0.0), "right", say="amplifier's")
    sheet.wire((x, top), (x + 2.0, top))
    sheet.node("logic", (x, top), "right")
    sheet.wire((0.0, 0.0), (x + 2.0, 0.0))


def _draw_high(sheet: Sheet) -> None:
    x, y = _delay(sheet)
    _pin(sheet, (x, y), 5.25)


def _draw_low(sheet: Sheet) -> None:
    hold = 5.5
    x, y = _delay(sheet)
    sheet.wire((x, y), (x, hold))
    sheet.two("R4", (x, _RAIL), (x, hold), "right")
    sheet.wire((_BACK, _RAIL), (x, _RAIL))
    sheet.node("hold", (x, hold), "right")
    base = (x + 2.5, hold)
    sheet.wire((x, hold), base)
    _pin(sheet, _transistor(sheet, "Q2", base), 7.0)


def _draw_relay(sheet: Sheet) -> None:
    pull, drive = 5.0, 7.0
    x, top = _delay(sheet)
    sheet.wire((x, top), (x, pull))
    sheet.two("R4", (x, pull), (x, drive), "left")
    sheet.two("R5", (x, _RAIL), (x, drive), "left")
    sheet.node("drive", (x, drive), "right")
    base = (x + 3.0, drive)
    sheet.wire((x, drive), base)
    symbol = bipolar(sheet.device("Q2", Bipolar), base)
    y = symbol.pins["emitter"][0]
    sheet.place("Q2", symbol, (y + 0.25, drive), "right")
    sheet.wire((_BACK, _RAIL), (y, _RAIL), symbol.pins["emitter"])
    coil, middle = 5.0, 2.5
    sheet.wire(symbol.pins["collector"], (y, coil))
    sheet.two("D2", (y - 1.5, 0.0), (y - 1.5, coil), "left")
    sheet.wire((y - 1.5, coil), (y, coil))
    amp, other = 4.0, 2.0
    source, left, right, speaker = y + 3.5, y + 5.0, y + 7.0, y + 8.0
    relay = coil_and_contact(
        ((y, coil), (y, 0.0)),
        ((left, amp), (right, amp)),
        link=((y + 0.55, middle), (y + 1.25, middle), (y + 1.25, amp + 0.9), (y + 6.0, amp + 0.9)),
    )
    sheet.place("K1", relay, (y + 0.75, middle - 0.9), "right")
    sheet.two("V3", (source, amp), (source, other), "right", say="sound", signal=True)
    sheet.two("V4", (source, other), (source, 0.0), "right", say="half the supply")
    sheet.wire((source, amp), (left, amp))
    sheet.wire((right, amp), (speaker, amp))
    sheet.two("LS1", (speaker, amp), (speaker, other), "right")
    sheet.wire((source, other), (speaker, other))
    sheet.node("amp", (source, amp))
    sheet.node("speaker", (speaker, amp))
    sheet.node("amp-", (speaker, other), "below")
    sheet.wire((0.0, 0.0), (source, 0.0))


_MUTE: dict[str, type[Part]] = {
    "BT1": VoltageSource,
    "S1": Switch,
    "C1": Capacitor,
    "C2": Capacitor,
    "D1": Diode,
    "Q1": Bipolar,
    "R1": Resistor,
    "R2": Resistor,
    "R3": Resistor,
    "RL": Resistor,
}
_MUTE_SAYS = (
    "The capacitor fills through its resistor after the switch closes; when the divider on it "
    "opens the first transistor, the sound is let through. The diode empties the capacitor into "
    "the falling rail."
)

SIGNAL_LAYOUTS: dict[str, Layout] = {
    "sum": Layout(
        _draw_sum,
        {"V1": VoltageSource, "V2": VoltageSource, "R1": Resistor, "R2": Resistor},
        "Two resistors bring left and right together into one channel for the amplifier's inputs.",
    ),
    "pad": Layout(
        _draw_pad,
        {"V1": VoltageSource, "RV1": Resistor, "R1": Resistor, "R2": Resistor, "CW1": Capacitor},
        "A resistor in series and one to ground take level away before the amplifier's input.",
    ),
    "mute-low": Layout(
        _draw_low,
        {**_MUTE, "Q2": Bipolar, "R4": Resistor, "R5": Resistor, "V2": VoltageSource},
        _MUTE_SAYS + " Until then the second transistor holds the mute pin low.",
    ),
    "mute-high": Layout(
        _draw_high,
        {**_MUTE, "R5": Resistor, "V2": VoltageSource},
        _MUTE_SAYS + " Until then the pull-up holds the mute pin high.",
    ),
    "mute-relay": Layout(
        _draw_relay,
        {**_MUTE, "Q2": Bipolar, "R4": Resistor, "R5": Resistor, "D2": Diode, "K1": Relay},
        _MUTE_SAYS + " The second transistor then feeds the relay, whose contact joins the "
        "loudspeaker. The loudspeaker's other lead belongs to the board and never to ground.",
    ),
}
"""Layouts of signal circuits, by name."""
