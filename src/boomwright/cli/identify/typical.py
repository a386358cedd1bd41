"""``boomwright identify typical``: what a class lets expect, and what to measure first."""

from __future__ import annotations

import json as json_text
from pathlib import Path

import typer
from rich.table import Table
from rich.text import Text

from boomwright.bench.driver.typical import TypicalDriver, typical_driver
from boomwright.build.quantities import Quantity, format_quantity
from boomwright.cli.asked import Asked
from boomwright.cli.design.show import heading, plain_table
from boomwright.cli.identify.show import PARAMETER_WORDS
from boomwright.cli.opening import drawer_of
from boomwright.cli.show import console

__all__ = ["show_typical"]

_WORTH = 0.05


def show_typical(
    size: str, impedance: str, *, kind: str, box: str, json: bool, parts: Path | None
) -> None:
    """Print what the class of a driver lets expect.

    Parameters
    ----------
    size, impedance, box : str
        As written; impedance and box may be empty.
    kind : str
        Start of the drawer's part names; the first of that size if empty.
    json : bool
        Print data.
    parts : Path or None
        Own parts, laid over the drawer.

    Raises
    ------
    InputError
        If something written cannot be read, or there is no such class.
    """
    asked = Asked(None, {"SIZE": size, "OHMS": impedance, "--box": box})
    inches = asked.number("SIZE", "length")
    ohms = asked.number("OHMS", "resistance")
    volume = asked.number("--box", "volume")
    for option, value in (("SIZE", inches), ("OHMS", ohms), ("--box", volume)):
        if value is not None and value <= 0.0:
            asked.wrong(option, f"not above zero: {asked.text(option)}")
    if not size:
        asked.wrong("SIZE", "no size given", hint='Such as "5 in" or "13 cm".')
    asked.settle()
    found = typical_driver(
        drawer_of(parts), size=inches or 0.0, ohms=ohms, kind=kind, volume=volume
    )
    if json:
        typer.echo(json_text.dumps(_values(found), ensure_ascii=False, indent=2, allow_nan=False))
        return
    _print(found, boxed=volume is not None)


def _print(found: TypicalDriver, *, boxed: bool) -> None:
    screen = console()
    screen.print(Text(found.title, style="bold"))
    screen.print(Text(f"{found.part}: typical of class, nothing measured", style="dim"))
    heading(screen, "What its class lets expect")
    table = plain_table("", "likely", "from", "to", "what it is")
    for name, quantity in found.quantities.items():
        table.add_row(name, *_three(quantity), PARAMETER_WORDS[name])
    screen.print(table)
    heading(screen, "What follows, 9 times in 10")
    table = plain_table("", "likely", "from", "to")
    for answer in found.answers:
        texts = (
            format_quantity(value, answer.kind, digits=2)
            for value in (answer.likely, answer.low, answer.high)
        )
        table.add_row(answer.name, *texts)
    screen.print(table)
    if not boxed:
        says = "No box was named: one of as much air as its vas. Another: --box."
        screen.print(Text(says, style="dim"))
    heading(screen, "Measure these three next, in this order")
    for number, item in enumerate(found.measure_next, start=1):
        takes = ", ".join(
            f"{100.0 * share:.0f} % of {answer.name}"
            for share, answer in zip(item.narrows, found.answers, strict=True)
            if share >= _WORTH
        )
        grid = Table.grid(padding=(0, 1, 0, 0))
        grid.add_column(width=2, no_wrap=True)
        grid.add_column()
        grid.add_row(f"{number}.", Text(item.measure.name, style="bold"))
        grid.add_row("", Text(item.measure.how))
        grid.add_row("", Text(f"takes away {takes or 'little'}", style="dim"))
        screen.print(grid)
    screen.print(Text("(of the spread that is left by then, as variance)", style="dim"))
    if found.others:
        screen.print()
        named = ", ".join(found.others)
        screen.print(Text(f"Other classes of that size: {named}", style="dim"))


def _three(quantity: Quantity) -> tuple[str, str, str]:
    likely, low, high = (
        format_quantity(value, quantity.kind)
        for value in (quantity.likely, quantity.low, quantity.high)
    )
    return likely, low, high


def _values(found: TypicalDriver) -> dict[str, object]:
    return {
        "part": found.part,
        "title": found.title,
        "others": list(found.others),
        "parameters": {
            name: {"value": item.likely, "low": item.low, "high": item.high, "kind": item.kind}
            for name, item in found.quantities.items()
        },
        "answers": [
            {
                "name": answer.name,
                "low": answer.low,
                "value": answer.likely,
                "high": answer.high,
                "kind": answer.kind,
            }
            for answer in found.answers
        ],
        "measure_next": [
            {
                "name": item.measure.name,
                "tells": list(item.measure.tells),
                "how": item.measure.how,
                "narrows": {
                    answer.name: share
                    for answer, share in zip(found.answers, item.narrows, strict=True)
                },
            }
            for item in found.measure_next
        ],
    }
