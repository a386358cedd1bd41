"""The verdict in the terminal: a mark, a word and a colour; numbers that line up; 80 columns."""

from __future__ import annotations

import math

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from boomwright.advice.finding import Finding, Level
from boomwright.advice.judge import Verdict
from boomwright.build.quantities import format_hours, format_quantity
from boomwright.outcome.data import Outcome, Range

__all__ = ["MARKS", "console", "print_verdict"]

MARKS: dict[Level, tuple[str, str]] = {
    "fine": ("●", "green"),
    "mind": ("▲", "yellow"),
    "stop": ("■", "bold red"),
}
"""Mark and colour of each verdict; the word always stands beside them."""

_QUESTIONS = {"loud": "how loud", "long": "how long", "hot": "how hot", "safe": "how safe"}
_WIDTH = 80

_ENDINGS = {
    "cutoff": "cutoff opens",
    "protection": "pack's board opens",
    "lock-out": "too few volts",
    "floor": "battery ruined",
    "empty": "battery empty",
    "none": "no end",
}


def console() -> Console:
    """Console that never prints wider than a page of 80 columns."""
    screen = Console(highlight=False, soft_wrap=False)
    if screen.width > _WIDTH or not screen.is_terminal:
        screen = Console(highlight=False, width=_WIDTH)
    return screen


def mark(level: Level) -> Text:
    """Verdict as mark, word and colour."""
    sign, colour = MARKS[level]
    return Text(f"{sign} {level}", style=colour)


def print_verdict(
    screen: Console, verdict: Verdict, outcome: Outcome, *, name: str, file: str, brief: bool
) -> None:
    """Print the four answers, the run and the findings.

    Parameters
    ----------
    screen : Console
        Where to.
    verdict : Verdict
        What is to be said.
    outcome : Outcome
        Where the run's numbers stand.
    name, file : str
        Name of the build and its file.
    brief : bool
        Only the four answers.
    """
    head = Table.grid(expand=True)
    head.add_column()
    head.add_column(justify="right")
    head.add_row(Text(name, style="bold"), mark(verdict.level))
    screen.print(head)
    screen.print(Text(file, style="dim"))
    screen.print()
    answers = Table.grid(padding=(0, 2, 0, 0))
    answers.add_column(no_wrap=True)
    answers.add_column(no_wrap=True)
    answers.add_column()
    for answer in verdict.answers:
        answers.add_row(
            _QUESTIONS[answer.question], mark(answer.level), Text(answer.headline, style="bold")
        )
        if answer.detail:
            answers.add_row("", "", Text(answer.detail, style="dim"))
    screen.print(answers)
    if brief:
        return
    screen.print()
    screen.print(_runs(outcome))
    for finding in verdict.findings:
        screen.print()
        _print_finding(screen, finding)


def _runs(outcome: Outcome) -> Table:
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("use", no_wrap=True)
    table.add_column("plays", justify="right", no_wrap=True)
    table.add_column("range", no_wrap=True)
    table.add_column("dB(A)", justify="right", no_wrap=True)
    table.add_column("draws", justify="right", no_wrap=True)
    table.add_column("then", overflow="fold")
    for run in outcome.scenarios:
        table.add_row(
            run.title.replace(" with a phone on charge", ", phone").replace(
                " on the coldest day", ", coldest day"
            ),
            _time(run.duration.likely),
            _span(run.duration),
            f"{run.level_start.likely:.0f}",
            format_quantity(run.watts.likely, "power", digits=2),
            Text(_ENDINGS[run.ending], style="dim"),
        )
    return table


def _time(seconds: float) -> str:
    return format_hours(seconds)


def _span(duration: Range) -> str:
    if math.isinf(duration.likely):
        return ""
    low, high = (_time(value) for value in (duration.low, duration.high))
    if low.split()[-1] == high.split()[-1]:
        low = low.split()[0]
    return f"{low} to {high}"


def _print_finding(screen: Console, finding: Finding) -> None:
    name = Text(finding.where, style="bold")
    screen.print(Text.assemble(mark(finding.level), "  ", name, "  ", (finding.id, "dim")))
    body = [Text(finding.says), Text(finding.why, style="dim"), Text(f"→ {finding.do}")]
    for paragraph in body:
        screen.print(Padding(paragraph, (0, 0, 0, 8)))
