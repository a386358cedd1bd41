"""A design in the terminal: figures, parts, readings and remarks in 80 columns."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from boomwright.cli.show import mark
from boomwright.design.sheet import BenchReading, Design, Expected, PartLine, Remark

__all__ = ["design_values", "heading", "plain_table", "print_design"]

_MANY = 100.0


def plain_table(*columns: str, widths: Sequence[int | None] = ()) -> Table:
    """A table without lines, headed in quiet type."""
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim", pad_edge=False)
    sizes = [*widths, *[None] * (len(columns) - len(widths))]
    for place, (name, width) in enumerate(zip(columns, sizes, strict=True)):
        table.add_column(name, width=width, overflow="fold", no_wrap=place == 0)
    return table


def heading(screen: Console, text: str) -> None:
    """Print the heading of a section."""
    screen.print()
    screen.print(Text(text, style="bold"))


def print_design(screen: Console, design: Design) -> None:
    """Print a designed circuit.

    Parameters
    ----------
    screen : Console
        Where to.
    design : Design
        What is to be shown.
    """
    heading(screen, "What it does")
    table = plain_table("", "likely", "from", "to")
    for figure in design.figures:
        table.add_row(figure.label, *_split(figure))
    screen.print(table)
    if design.remarks:
        heading(screen, "To mind")
        for remark in design.remarks:
            _print_remark(screen, remark)
    heading(screen, "Parts")
    screen.print(_parts(design.parts))
    heading(screen, "On the bench, in this order")
    for number, reading in enumerate(design.readings, start=1):
        _print_reading(screen, number, reading)
    if design.cautions:
        heading(screen, "Cautions")
        for caution in design.cautions:
            screen.print(Padding(Text(caution), (0, 0, 0, 2)))


def _split(figure: Expected) -> tuple[str, str, str]:
    """Likely, least and greatest; the last two empty where they say nothing new."""

    def alone(value: float) -> str:
        return Expected("", value, value, value, figure.kind).shown

    if figure.low == figure.high:
        return alone(figure.likely), "", ""
    high = "" if math.isinf(figure.high) else alone(figure.high)
    return alone(figure.likely), alone(figure.low), high


def _print_remark(screen: Console, remark: Remark) -> None:
    line = mark(remark.level)
    line.append("  ")
    line.append(remark.says, style="default not bold")
    screen.print(Padding(line, (0, 0, 0, 2)))
    if remark.do:
        screen.print(Padding(Text(f"→ {remark.do}"), (0, 0, 0, 10)))


def _parts(lines: Sequence[PartLine]) -> Table:
    table = plain_table("", "part", "carries", "stands", "spare")
    for line in lines:
        named = not line.value or bool(line.part)
        what = line.what if named else f"{line.value}, {line.what}"
        words = f"{what} ({line.note})" if line.note else what
        table.add_row(line.name, words, line.carries, line.rating, _spare(line.margin))
    return table


def _spare(margin: float) -> str:
    if margin >= _MANY:
        return "ample"
    return f"{margin:.1f}×"


def _print_reading(screen: Console, number: int, reading: BenchReading) -> None:
    screen.print(Padding(Text(f"{number}. {reading.do}"), (0, 0, 0, 0)))
    if reading.caution:
        screen.print(Padding(Text(f"Caution: {reading.caution}", style="yellow"), (0, 0, 0, 3)))
    line = Text(f"{reading.expect}", style="bold")
    line.append(f"   {reading.meter}   read: ________", style="dim not bold")
    screen.print(Padding(line, (0, 0, 0, 3)))


def design_values(design: Design) -> dict[str, Any]:
    """A design as plain values that :mod:`json` can write; SI units, null for what never comes.

    Parameters
    ----------
    design : Design
        The design.

    Returns
    -------
    dict
    """

    def number(value: float) -> float | None:
        return float(value) if math.isfinite(value) else None

    def expected(figure: Expected) -> dict[str, Any]:
        return {
            "label": figure.label,
            "likely": number(figure.likely),
            "low": number(figure.low),
            "high": number(figure.high),
            "kind": figure.kind,
        }

    return {
        "block": design.block,
        "family": design.family,
        "title": design.title,
        "figures": [expected(figure) for figure in design.figures],
        "parts": [
            {
                "name": line.name,
                "what": line.what,
                "value": line.value,
                "carries": line.carries,
                "stands": line.rating,
                "spare": number(line.margin),
                "part": line.part,
                "note": line.note,
            }
            for line in design.parts
        ],
        "readings": [
            {
                "do": reading.do,
                "meter": reading.meter,
                "expect": expected(reading.expect),
                "caution": reading.caution,
            }
            for reading in design.readings
        ],
        "remarks": [
            {"level": remark.level, "says": remark.says, "do": remark.do}
            for remark in design.remarks
        ],
        "cautions": list(design.cautions),
    }
