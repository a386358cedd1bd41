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
_READ = "read: ________"


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
    ranged = any(figure.low != figure.high for figure in design.figures)
    table = plain_table("", "likely", "from", "to") if ranged else plain_table("", "")
    for figure in design.figures:
        table.add_row(figure.label, *_split(figure)[: 3 if ranged else 1])
    screen.print(table)
    if design.remarks:
        heading(screen, "To mind")
        for remark in design.remarks:
            _print_remark(screen, remark)
    heading(screen, "Parts")
    screen.print(_parts(design.parts))
    if design.cautions:
        heading(screen, "Cautions")
        for caution in design.cautions:
            screen.print(_hung("▲", Text(caution), style="yellow"))
    heading(screen, "On the bench, in this order")
    for number, reading in enumerate(design.readings, start=1):
        _print_reading(screen, number, reading)


def _split(figure: Expected) -> tuple[str, str, str]:
    """Likely, least and greatest; the last two empty where they say nothing new."""

    def alone(value: float) -> str:
        return Expected("", value, value, value, figure.kind).shown

    if figure.low == figure.high:
        return alone(figure.likely), "", ""
    high = "" if math.isinf(figure.high) else alone(figure.high)
    return alone(figure.likely), alone(figure.low), high


def _hung(sign: Text | str, body: Text, *, style: str = "", width: int = 1) -> Padding:
    """A paragraph that hangs beside its sign."""
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(width=width, no_wrap=True, style=style)
    grid.add_column()
    grid.add_row(sign, body)
    return Padding(grid, (0, 0, 0, 2))


def _print_remark(screen: Console, remark: Remark) -> None:
    screen.print(_hung(mark(remark.level), Text(remark.says), width=6))
    if remark.do:
        screen.print(Padding(_hung("→", Text(remark.do)), (0, 0, 0, 8)))


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
    grid = Table.grid(padding=(0, 1, 0, 0))
    grid.add_column(width=len(str(number)) + 1, no_wrap=True)
    grid.add_column()
    grid.add_row(f"{number}.", Text(f"{reading.do[:1].upper()}{reading.do[1:]}"))
    if reading.caution:
        grid.add_row("", Text(f"Caution: {reading.caution}", style="yellow"))
    grid.add_row("", Text(f"with {reading.meter}", style="dim"))
    line = Text(f"{reading.expect}", style="bold")
    room = screen.width - 3 - len(str(number)) - len(line) - len(_READ)
    if room > 1:
        line.append(f"{' ' * room}{_READ}", style="dim not bold")
        grid.add_row("", line)
    else:
        grid.add_row("", line)
        grid.add_row("", Text(_READ, style="dim"))
    screen.print(grid)


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
