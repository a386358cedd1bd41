"""``boomwright compare``: what differs between two builds."""

from __future__ import annotations

import json as json_text
import math
from pathlib import Path
from typing import Any

import typer
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from boomwright.advice.compare import Comparison, FigurePair, compare
from boomwright.advice.differences import PartChange, ValueChange
from boomwright.build.drawer import load_drawer
from boomwright.build.files import read_toml
from boomwright.build.read import read_build, read_parts
from boomwright.build.units import KINDS
from boomwright.cli.show import console, mark
from boomwright.outcome.data import Range

__all__ = ["compare_files", "comparison_values"]

_QUESTIONS = {"loud": "how loud", "long": "how long", "hot": "how hot", "safe": "how safe"}
_LONGEST = 60


def compare_files(first: Path, second: Path, *, json: bool, parts: Path | None) -> None:
    """Print what differs between two build files.

    Parameters
    ----------
    first, second : Path
        The build files.
    json : bool
        Print data.
    parts : Path or None
        Own parts, laid over the drawer.

    Raises
    ------
    BuildFileError
        If a file cannot be used.
    """
    drawer = read_parts(parts) if parts is not None else load_drawer()
    builds = [read_build(file, drawer=drawer) for file in (first, second)]
    written = read_toml(first).values, read_toml(second).values
    found = compare(builds[0], builds[1], written=written, drawer=drawer)
    if json:
        values = comparison_values(found, files=(str(first), str(second)))
        typer.echo(json_text.dumps(values, ensure_ascii=False, indent=2, allow_nan=False))
        return
    _print(console(), found, (str(first), str(second)))


def comparison_values(comparison: Comparison, *, files: tuple[str, str]) -> dict[str, Any]:
    """Comparison as plain values that :mod:`json` can write.

    Parameters
    ----------
    comparison : Comparison
        The comparison.
    files : (str, str)
        Where the builds stand.

    Returns
    -------
    dict
        Keys ``builds``, ``same``, ``file``, ``answers``, ``figures``, ``findings`` and ``says``.
    """
    return {
        "builds": [
            {"name": name, "file": file, "verdict": level}
            for name, file, level in zip(comparison.names, files, comparison.verdicts, strict=True)
        ],
        "same": comparison.same,
        "file": [
            {
                "kind": part.kind,
                "name": part.name,
                "change": part.change,
                "before": part.before,
                "title": part.title,
                "values": [
                    {
                        "key": value.key,
                        "first": value.first,
                        "second": value.second,
                        "written": value.written,
                    }
                    for value in part.values
                ],
            }
            for part in comparison.file
        ],
        "answers": {
            first.question: {
                name: {"verdict": answer.level, "says": answer.headline, **_range(answer.value)}
                for name, answer in (("first", first), ("second", second))
            }
            | {"unit": KINDS[first.kind].si}
            for first, second in comparison.answers
        },
        "figures": [
            {
                "key": pair.key,
                "label": pair.label,
                "unit": KINDS[pair.kind].si,
                "first": None if pair.first is None else _range(pair.first),
                "second": None if pair.second is None else _range(pair.second),
                "difference": None if pair.difference is None else _range(pair.difference),
                "paired": pair.paired,
                "overlap": pair.overlap,
                "clear": pair.clear,
                "says": pair.says,
            }
            for pair in comparison.figures
        ],
        "findings": [
            {
                "id": change.id,
                "where": change.where,
                "first": change.first,
                "second": change.second,
                "says": change.says,
            }
            for change in comparison.findings
        ],
        "says": list(comparison.sentences),
    }


def _range(value: Range) -> dict[str, float | None]:
    ends = {"likely": value.likely, "low": value.low, "high": value.high}
    return {name: end if math.isfinite(end) else None for name, end in ends.items()}


def _print(screen: Console, found: Comparison, files: tuple[str, str]) -> None:
    for letter, name, file, level in zip("AB", found.names, files, found.verdicts, strict=True):
        screen.print(
            Text.assemble((f"{letter}  ", "bold"), mark(level), f"  {name}  ", (file, "dim"))
        )
    screen.print()
    if found.same:
        screen.print("Both say the same: no difference in the file, none in the outcome.")
        return
    screen.print(Text("In the file", style="bold"))
    if not found.file:
        screen.print("  no difference")
    for part in found.file:
        _print_part(screen, part)
    screen.print()
    screen.print(Text("In the outcome", style="bold"))
    screen.print(_answers(found))
    screen.print()
    screen.print(_figures(found))
    if found.sentences:
        screen.print()
    for sentence in found.sentences:
        screen.print(Padding(Text(f"→ {sentence}"), (0, 0, 0, 2)))
    if found.findings:
        screen.print()
        screen.print(Text("Findings", style="bold"))
    for change in found.findings:
        before = mark(change.first) if change.first else Text("none", style="dim")
        after = mark(change.second) if change.second else Text("gone", style="green")
        head = Text.assemble("  ", before, " → ", after, f"  {change.where}  ", (change.id, "dim"))
        screen.print(head)
        screen.print(Padding(Text(change.says, style="dim"), (0, 0, 0, 4)))


def _print_part(screen: Console, part: PartChange) -> None:
    name = "the file's head" if part.kind == "build" else part.name
    word = {"added": "added in B", "removed": "not in B", "renamed": f"was called {part.before}"}
    kind = "" if part.kind in {"build", "want", name} else f" ({part.kind})"
    note = word.get(part.change, "")
    title = f": {part.title}" if part.title else ""
    screen.print(Text.assemble("  ", (f"{name}{kind}", "bold"), f"  {note}{title}".rstrip()))
    for written in (True, False):
        values = [value for value in part.values if value.written is written]
        if values and not written:
            screen.print(Text("    from that follows", style="dim"))
        for value in values:
            screen.print(_value(value, written))


def _value(value: ValueChange, written: bool) -> Padding:
    before, after = (_short(text) for text in (value.first, value.second))
    line = Text(f"{value.key}  {before} → {after}", style="" if written else "dim")
    return Padding(line, (0, 0, 0, 4))


def _short(text: str) -> str:
    line = " ".join(text.split())
    return (line if len(line) <= _LONGEST else line[: _LONGEST - 1] + "…") or "nothing"


def _answers(found: Comparison) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("", no_wrap=True)
    table.add_column("A")
    table.add_column("B")
    for first, second in found.answers:
        cells = [
            Text.assemble(mark(answer.level), "  ", answer.headline) for answer in (first, second)
        ]
        table.add_row(f"  {_QUESTIONS[first.question]}", *cells)
    return table


def _figures(found: Comparison) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("")
    for head in ("A", "B", "B less A"):
        table.add_column(head, justify="right", no_wrap=True)
    table.add_column("range", no_wrap=True)
    for pair in found.figures:
        if pair.central:
            cells = (pair.shown(pair.first), pair.shown(pair.second), *_less(pair))
            table.add_row(f"  {pair.label}", *cells)
    return table


def _less(pair: FigurePair) -> tuple[str, str]:
    """Likely difference and its range, both signed."""
    found = pair.difference
    if found is None:
        return "", ""
    span = f"{_signed(found.low, pair)} to {_signed(found.high, pair)}"
    return _signed(found.likely, pair), "" if found.certain else span


def _signed(value: float, pair: FigurePair) -> str:
    size = pair.size(abs(value))
    if float(size.split()[0]) == 0:
        return size
    return ("+" if value > 0 else "−") + size
