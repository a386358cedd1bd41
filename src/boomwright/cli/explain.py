"""``boomwright explain``: the law behind a finding or a figure, and a build's own numbers."""

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

from boomwright.advice.explain import (
    Explanation,
    Law,
    OwnNumbers,
    explain,
    figures,
    own_numbers,
    rules,
)
from boomwright.advice.finding import Figure
from boomwright.advice.rules import Case
from boomwright.advice.steps import Step
from boomwright.build.quantities import BASES
from boomwright.build.units import KINDS
from boomwright.cli.opening import opened
from boomwright.cli.show import console, mark
from boomwright.outcome.run import run_build

__all__ = ["explain_what", "explanation_values"]


def explain_what(what: str, *, file: Path | None, json: bool, parts: Path | None) -> None:
    """Print what can be explained, or the law behind one finding or figure.

    Parameters
    ----------
    what : str
        A finding's id or a quantity; empty for all.
    file : Path or None
        A build whose own numbers are put in.
    json : bool
        Print data.
    parts : Path or None
        Own parts, laid over the drawer.

    Raises
    ------
    InputError
        If there is neither such a finding nor such a quantity, or the file cannot be used.
    """
    if not what:
        _print_all(json)
        return
    found = explain(what)
    own, name = None, ""
    if file is not None:
        build, drawer = opened(file, parts)
        own, name = (
            own_numbers(found, Case(build, run_build(build, drawer=drawer), drawer)),
            build.name,
        )
    if json:
        values = explanation_values(found, own, build=name)
        typer.echo(json_text.dumps(values, ensure_ascii=False, indent=2, allow_nan=False))
        return
    screen = console()
    _print(screen, found)
    if own is not None:
        _print_own(screen, found, own, name)


def explanation_values(
    explanation: Explanation, own: OwnNumbers | None, *, build: str
) -> dict[str, Any]:
    """Explanation as plain values that :mod:`json` can write.

    Parameters
    ----------
    explanation : Explanation
        What is explained.
    own : OwnNumbers or None
        A build's numbers.
    build : str
        Name of the build.

    Returns
    -------
    dict
        The fields of the explanation; ``build``, ``steps`` and ``findings`` where there is a build.
    """
    values: dict[str, Any] = {
        "name": explanation.name,
        "kind": explanation.kind,
        "title": explanation.title,
        "says": explanation.says,
        "question": explanation.question,
        "source": explanation.source,
        "field": explanation.field,
        "laws": [
            {
                "name": law.name,
                "gives": law.gives,
                "valid": law.valid,
                "equation": law.equation,
                "sources": list(law.sources),
            }
            for law in explanation.laws
        ],
        "joins": list(explanation.joins),
        "page": explanation.page,
        "tests": list(explanation.tests),
    }
    if own is not None:
        values["build"] = build
        values["steps"] = {
            name: [_step(step) for step in steps] for name, steps in own.steps.items()
        }
        if explanation.kind == "rule":
            values["fires"] = bool(own.findings)
            values["findings"] = [
                {
                    "level": finding.level,
                    "where": finding.where,
                    "says": finding.says,
                    "numbers": [_number(figure) for figure in finding.numbers],
                    "why": finding.why,
                }
                for finding in own.findings
            ]
    return values


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _number(figure: Figure) -> dict[str, Any]:
    return {
        "label": figure.label,
        "value": _finite(figure.value),
        "unit": KINDS[figure.kind].si,
        "shown": figure.shown,
    }


def _step(step: Step) -> dict[str, Any]:
    number = None if step.text else step.value
    return {
        "label": step.label,
        "where": step.where,
        "likely": None if number is None else _finite(number.likely),
        "low": None if number is None else _finite(number.low),
        "high": None if number is None else _finite(number.high),
        "unit": "" if number is None else KINDS[step.kind].si,
        "shown": step.shown,
        "basis": step.basis,
        "result": step.result,
    }


def _print_all(json: bool) -> None:
    if json:
        values = {"quantities": figures(), "rules": rules()}
        typer.echo(json_text.dumps(values, ensure_ascii=False, indent=2))
        return
    screen = console()
    for title, rows in (("Quantities", figures()), ("Findings", rules())):
        screen.print(Text(title, style="bold"))
        table = Table(box=None, padding=(0, 2, 0, 0), show_header=False)
        table.add_column(no_wrap=True)
        table.add_column(style="dim")
        for name, says in rows.items():
            table.add_row(f"  {name}", says)
        screen.print(table)
        screen.print()
    screen.print("'boomwright explain WHAT --of FILE' puts your build's own numbers in.")


def _print(screen: Console, found: Explanation) -> None:
    note = f"a finding about {found.question}" if found.kind == "rule" else found.field
    screen.print(Text.assemble((found.title, "bold"), "  ", (found.name, "dim")))
    screen.print(Text(note, style="dim"))
    screen.print(Text(found.says))
    if found.source:
        _line(screen, "limit from", found.source)
    for law in found.laws:
        _print_law(screen, law)
    if not found.laws:
        screen.print()
        screen.print("No equation: it rests on what is said here and on its page.")
    screen.print()
    if found.joins:
        _line(screen, "joined by", ", ".join(found.joins))
    _line(screen, "page", found.page)
    for place, test in enumerate(found.tests):
        _line(screen, "held by" if place == 0 else "", test)


def _print_law(screen: Console, law: Law) -> None:
    screen.print()
    screen.print(Text.assemble((law.gives, "bold"), "  ", (law.name, "dim")))
    for line in law.equation.splitlines():
        screen.print(Padding(Text(line), (0, 0, 0, 4)))
    for label, text in (("holds", law.valid), *(("source", source) for source in law.sources)):
        for line in text.splitlines():
            _line(screen, label, line)


def _line(screen: Console, label: str, text: str) -> None:
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(width=10, style="dim")
    table.add_column()
    table.add_row(label, Text(text))
    screen.print(table)


def _print_own(screen: Console, found: Explanation, own: OwnNumbers, name: str) -> None:
    screen.print()
    screen.print(Text(f"In {name}", style="bold"))
    for finding in own.findings:
        screen.print(Text.assemble("  ", mark(finding.level), "  ", finding.where))
        screen.print(Padding(Text(finding.says), (0, 0, 0, 4)))
        for figure in finding.numbers:
            screen.print(Padding(Text(f"{figure.label}: {figure.shown}"), (0, 0, 0, 4)))
        screen.print(Padding(Text(finding.why, style="dim"), (0, 0, 0, 4)))
    if found.kind == "rule" and not own.findings:
        quiet = "Quiet here"
        screen.print(f"  {quiet}; these numbers are why:" if own.steps else f"  {quiet}.")
    for quantity, steps in own.steps.items():
        if found.kind == "rule":
            screen.print(Text(f"  {quantity}", style="dim"))
        _print_steps(screen, steps)
    if not own.steps and found.kind == "quantity":
        screen.print("  This build has no such thing.")


def _print_steps(screen: Console, steps: tuple[Step, ...]) -> None:
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(width=2)
    table.add_column()
    table.add_column()
    table.add_column(style="dim")
    where = ""
    for step in steps:
        if step.where != where and step.where:
            table.add_row("", Text(step.where, style="bold"), "", "")
        where = step.where
        style = "bold" if step.result else ""
        cells = Text(f"{'  ' * bool(where)}{step.label}"), Text(step.shown, style=style)
        table.add_row(" →" if step.result else "", *cells, _rests_on(step.basis))
    screen.print(table)


def _rests_on(basis: str) -> str:
    return BASES[basis].name if basis else ""
