"""``boomwright design ground``: what the minus leads join, who whines, and what to move."""

from __future__ import annotations

import json as json_text
from pathlib import Path
from typing import Any

import typer
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from boomwright.build.model import Build
from boomwright.build.quantities import format_quantity
from boomwright.cli.design.files import csv_text, write_files
from boomwright.cli.design.show import heading, plain_table
from boomwright.cli.opening import opened
from boomwright.cli.show import console
from boomwright.design.ground.advice import GroundAdvice, Move, ground_advice, stars
from boomwright.outcome.data import Range
from boomwright.outcome.ground_data import HEARD_FROM, GroundPlan, Whine, heard_as

__all__ = ["show_ground"]

_NOTHING = 1e-9


def show_ground(file: Path, *, folder: Path | None, json: bool, parts: Path | None) -> None:
    """Show the minus wiring of a build file.

    Parameters
    ----------
    file : Path
        The build file.
    folder : Path or None
        Where to write it as a table, as data and as a drawing.
    json : bool
        Print data instead of words.
    parts : Path or None
        A person's own parts.

    Raises
    ------
    InputError
        If the file cannot be used.
    WriteError
        If something cannot be written.
    """
    build, drawer = opened(file, parts)
    advice = ground_advice(build, drawer=drawer)
    values = _values(build, advice)
    written = _write(folder, build, advice, values) if folder is not None else []
    if json:
        typer.echo(json_text.dumps(values, ensure_ascii=False, indent=2, allow_nan=False))
        return
    screen = console()
    screen.print(Text(f"Minus wiring of {build.name}", style="bold"))
    screen.print(Text(advice.says))
    if advice.plan.whines:
        heading(screen, "What whines, with no music playing")
        screen.print(_whines(advice.plan.whines))
    _print_moves(screen, advice)
    heading(screen, "What is joined where")
    screen.print(Padding(Text(advice.table), (0, 0, 0, 2)))
    if not advice.plan.loops:
        screen.print(Padding(Text("No ring: every part has one way back."), (0, 0, 0, 2)))
    if written:
        screen.print()
        screen.print(Text(f"Written to {folder}: {', '.join(written)}."))


def _whines(whines: tuple[Whine, ...]) -> Table:
    # One amplifier needs no column of its own; the headline names it.
    several = len({whine.amplifier for whine in whines}) > 1
    table = plain_table("what", "at the speaker", "at 1 m", "heard as")
    for whine in whines:
        table.add_row(
            f"{whine.load}, {whine.kind}" + f" → {whine.amplifier}" * several,
            _volts(whine.volts.likely),
            _level(whine.level),
            heard_as(whine.level.likely) if whine.level.likely >= HEARD_FROM else "not heard",
        )
    return table


def _volts(volts: float) -> str:
    return "0" if volts < _NOTHING else format_quantity(volts, "voltage", digits=2)


def _level(level: Range) -> str:
    if level.likely <= 0.0:
        return "under 0 dB" if level.high <= 0.0 else f"under 0 dB, {level.high:.0f} at most"
    return f"{level.likely:.0f} dB ({max(level.low, 0.0):.0f} to {level.high:.0f})"


def _print_moves(screen: Console, advice: GroundAdvice) -> None:
    if not advice.moves:
        return
    heading(screen, "What to move, the best first")
    screen.print(Padding(Text(f"Caution: {advice.caution}", style="yellow"), (0, 0, 0, 2)))
    for number, move in enumerate(advice.moves, start=1):
        grid = Table.grid(padding=(0, 1, 0, 0))
        grid.add_column(width=3, no_wrap=True)
        grid.add_column()
        grid.add_row(f"{number}.", Text(move.says))
        grid.add_row("", Text(_result(move), style="bold"))
        for change in move.changes:
            grid.add_row("", Text(f"in the file: {_change(change)}", style="dim"))
        screen.print(Padding(grid, (0, 0, 0, 2)))


def _result(move: Move) -> str:
    volts = _volts(move.after.volts.likely)
    buys = ", takes a part" if move.kind == "part" else ""
    says = f"{move.result}; {volts} at the speaker{buys}"
    other = move.loudest
    if (other.load, other.amplifier) != (move.after.load, move.after.amplifier):
        says += f"; then the loudest is {other.load}, {_level(other.level)}"
    return says


def _change(change: Any) -> str:
    value = change.value
    shown = str(value).lower() if isinstance(value, bool) else f'"{value}"'
    return f"{change.part}: {change.key} = {shown}"


def _write(folder: Path, build: Build, advice: GroundAdvice, values: dict[str, Any]) -> list[str]:
    from boomwright.paper.ground_tree import ground_tree_svg

    return write_files(
        folder,
        {
            "ground.svg": ground_tree_svg(advice.plan, title=f"Minus wiring of {build.name}"),
            "ground.csv": _leads_csv(advice.plan),
            "ground.json": json_text.dumps(values, ensure_ascii=False, indent=2, allow_nan=False),
        },
    )


def _leads_csv(plan: GroundPlan) -> str:
    joints = {star.at: star.label for star in stars(plan)}
    rings = {name: number for number, loop in enumerate(plan.loops, start=1) for name in loop.edges}
    rows = [
        (
            edge.name,
            edge.kind,
            edge.start,
            edge.end,
            joints.get(edge.end, ""),
            "" if edge.area is None else round(1e6 * edge.area, 4),
            "" if edge.length is None else edge.length,
            *(round(1e3 * ohms, 4) for ohms in _three(edge.resistance)),
            rings.get(edge.name, ""),
            "; ".join(edge.carries),
        )
        for edge in plan.edges
    ]
    header = ("lead", "kind", "from", "to", "star", "mm2", "m", "mohm", "mohm least",
              "mohm most", "ring", "carries the current of")  # fmt: skip
    return csv_text(header, rows)


def _three(value: Range) -> tuple[float, float, float]:
    return value.likely, value.low, value.high


def _range(value: Range) -> dict[str, float]:
    return {"likely": value.likely, "low": value.low, "high": value.high}


def _whine(whine: Whine) -> dict[str, Any]:
    return {
        "of": whine.load,
        "kind": whine.kind,
        "from": whine.source,
        "through": whine.amplifier,
        "current": _range(whine.current),
        "basis": whine.basis,
        "volts": _range(whine.volts),
        "level": _range(whine.level),
        "heard_as": heard_as(whine.level.likely),
        "drops": [{"lead": name, "volts": volts} for name, volts in whine.drops],
    }


def _values(build: Build, advice: GroundAdvice) -> dict[str, Any]:
    """All of it as plain values in SI units."""
    plan = advice.plan
    return {
        "build": build.name,
        "says": advice.says,
        "stars": [
            {"label": star.label, "at": star.at, "leads": [edge.name for edge in star.leads]}
            for star in stars(plan)
        ],
        "leads": [
            {
                "name": edge.name,
                "kind": edge.kind,
                "from": edge.start,
                "to": edge.end,
                "area": edge.area,
                "length": edge.length,
                "resistance": _range(edge.resistance),
                "carries": list(edge.carries),
            }
            for edge in plan.edges
        ],
        "rings": [
            {"leads": list(loop.edges), "resistance": loop.resistance} for loop in plan.loops
        ],
        "whines": [_whine(whine) for whine in plan.whines],
        "moves": [
            {
                "says": move.says,
                "kind": move.kind,
                "before": _range(move.before.level),
                "after": _range(move.after.level),
                "volts_after": _range(move.after.volts),
                "loudest_after": _whine(move.loudest),
                "changes": [
                    {"part": change.part, "key": change.key, "value": change.value}
                    for change in move.changes
                ],
            }
            for move in advice.moves
        ],
        "caution": advice.caution,
    }
