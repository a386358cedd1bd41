"""Layout of the ladder of LEDs that shows how full the battery is."""

from __future__ import annotations

from boomwright.circuit.parts import (
    Capacitor,
    Comparator,
    Part,
    Resistor,
    ShuntReference,
    VoltageSource,
)
from boomwright.paper.schematics.layout import Layout
from boomwright.paper.schematics.sheet import Sheet, Side
from boomwright.paper.schematics.symbols import Symbol, comparator, shunt_reference

__all__ = ["LADDER_LAYOUTS"]

_ROW = 3.25
"""Room for one step of the ladder, from top to bottom."""

_DIVIDER = 3.25

_FIRST_CHAIN = 4


def _draw_ladder(sheet: Sheet) -> None:
    comparators = [part.name for part in sheet.netlist.parts if isinstance(part, Comparator)]
    steps = len(comparators)
    taps = [_ROW * (steps - step) for step in range(steps)]
    ref = taps[0] + 2.5
    rail = ref + 2.5
    chain, bus, at, feed = 8.0, 10.5, 11.5, 19.5
    sense = taps[-1] - 0.4
    sheet.two("BT1", (0.0, rail), (0.0, 0.0), "left")
    sheet.ground((0.0, 0.0))
    sheet.node("batt", (0.0, rail), "right")
    _divider(sheet, rail, sense)
    sheet.two("R3", (chain, rail), (chain, ref), "left")
    sheet.node("ref", (chain, ref), "right")
    _reference(sheet, chain, ref)
    places = [ref, *taps, 0.0]
    for index in range(steps + 1):
        upper, lower = (chain, places[index]), (chain, places[index + 1])
        if index == steps:
            # The sensing line passes between the last tap and its resistor.
            upper = (chain, places[index] - 0.8)
            sheet.wire((chain, places[index]), upper)
        # The last one has the filter capacitor's words at its left.
        side: Side = "right" if index == steps else "left"
        sheet.two(f"R{_FIRST_CHAIN + index}", upper, lower, side)
    for step, name in enumerate(comparators):
        tap = taps[step]
        symbol = comparator((at, tap), minus_above=False, supply="" if step else "RU2.a")
        foot = symbol.pins["ground"]
        if step == 0:
            symbol = _supplied(sheet, symbol, rail)
        sheet.place(name, symbol, (foot[0] + 0.3, foot[1] + 0.1), "right")
        sheet.ground(foot)
        sheet.wire((chain, tap), (at, tap))
        sheet.node(f"tap{step + 1}", (chain, tap), "right")
        sheet.wire((bus, tap - 1.2), (at, tap - 1.2))
        output = symbol.pins["output"]
        lamp, end = output[0] + 2.0, output[0] + 4.5
        sheet.two(f"D{step + 1}", (lamp, output[1]), output, "above")
        number = _FIRST_CHAIN + steps + 1 + step
        sheet.two(f"R{number}", (end, output[1]), (lamp, output[1]), "above")
        sheet.wire((end, output[1]), (feed, output[1]))
    sheet.wire((bus, max(taps[0] - 1.2, sense)), (bus, taps[-1] - 1.2))
    sheet.wire((_DIVIDER, sense), (bus, sense))
    sheet.wire((feed, taps[-1] - 0.6), (feed, rail))
    sheet.wire((0.0, rail), (feed, rail))
    sheet.note("The supply of the comparators is drawn once, at the first of them.")
    sheet.wire((0.0, 0.0), (chain, 0.0))


def _supplied(sheet: Sheet, symbol: Symbol, rail: float) -> Symbol:
    """The comparator that shows the supply of its package, which is a part of the netlist."""
    supply = symbol.pins["RU2.a"]
    sheet.wire(supply, (supply[0], rail))
    return Symbol(symbol.strokes, {**symbol.pins, "RU2.b": symbol.pins["ground"]})


def _divider(sheet: Sheet, rail: float, sense: float) -> None:
    x, top = _DIVIDER, rail
    if sheet.has("RV1"):
        top = (rail + sense) / 2
        sheet.two("R1", (x, rail), (x, top), "left")
        sheet.two("RV1", (x, top), (x, sense), "left", say="trimmer")
    else:
        sheet.two("R1", (x, rail), (x, sense), "left")
    sheet.two("R2", (x, sense), (x, 0.0), "left")
    sheet.two("C1", (x + 1.25, sense), (x + 1.25, 0.0), "right")
    sheet.node("sense", (x, sense), "right")


def _reference(sheet: Sheet, chain: float, ref: float) -> None:
    x, low = chain - 2.5, ref - 1.75
    middle = (low + ref) / 2
    symbol = shunt_reference((x, low), (x, ref), (x + 0.75, middle))
    sheet.device("U1", ShuntReference)
    sheet.place("U1", symbol, (x - 0.5, middle), "left")
    sheet.wire((x + 0.75, middle), (x + 0.75, ref))
    sheet.wire((x, ref), (chain, ref))
    sheet.ground((x, low))


_LADDER: dict[str, type[Part]] = {
    "BT1": VoltageSource,
    "C1": Capacitor,
    "R1": Resistor,
    "R2": Resistor,
    "R3": Resistor,
    "RU2": Resistor,
    "U1": ShuntReference,
    "U2A": Comparator,
}

LADDER_LAYOUTS: dict[str, Layout] = {
    "ladder": Layout(
        _draw_ladder,
        _LADDER,
        "A chain of resistors splits the reference into steps. Each comparator lights its LED "
        "while the scaled battery stands above its step, the fullest on top.",
    )
}
"""Layout of the ladder, by name."""
