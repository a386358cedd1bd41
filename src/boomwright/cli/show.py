"""The verdict in the terminal: a mark, a word and a colour; numbers that line up; 80 columns."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from boomwright.advice.finding import Finding, Level
from boomwright.advice.judge import SILICON_ENDS, Verdict
from boomwright.build.quantities import format_hours, format_quantity
from boomwright.outcome.data import Outcome, Range

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID

    from boomwright.advice.effects import Effect
    from boomwright.build.edit import Edit

__all__ = ["MARKS", "Steps", "console", "edit_table", "mark", "print_verdict", "steps_shown"]

MARKS: dict[Level, tuple[str, str]] = {
    "fine": ("●", "green"),
    "mind": ("▲", "yellow"),
    "stop": ("■", "bold red"),
}
"""Mark and colour of each verdict; the word always stands beside them."""

_QUESTIONS = {"loud": "how loud", "long": "how long", "hot": "how hot", "safe": "how safe"}
_WIDTH = 80
_PATIENCE = 1.0
_NAMED = 3
"""How many findings one line names before it only counts the rest."""

_ENDINGS = {
    "cutoff": "cutoff opens",
    "protection": "pack's board opens",
    "lock-out": "too few volts",
    "floor": "at its floor volts",
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


class Steps:
    """Steps of a longer work, shown as a bar on a terminal once it has taken a second."""

    def __init__(self, total: int | None) -> None:
        self._total, self._done, self._begun = total, 0, time.monotonic()
        self._bar: Progress | None = None
        self._task: TaskID | None = None

    def step(self, says: str) -> None:
        """Tell that the next step begins."""
        if self._bar is None and time.monotonic() - self._begun > _PATIENCE:
            screen = Console(stderr=True)
            if screen.is_terminal:
                from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

                columns = (TextColumn("{task.description:28}"), BarColumn(), TimeElapsedColumn())
                self._bar = Progress(*columns, console=screen, transient=True)
                self._task = self._bar.add_task(says, total=self._total)
                self._bar.start()
        if self._bar is not None and self._task is not None:
            self._bar.update(self._task, description=says, completed=self._done)
        self._done += 1

    def end(self) -> None:
        """Take the bar away."""
        if self._bar is not None:
            self._bar.stop()


@contextmanager
def steps_shown(total: int | None) -> Iterator[Steps]:
    """Steps that are shown while the block runs.

    Parameters
    ----------
    total : int or None
        How many there are, None where nobody knows.
    """
    steps = Steps(total)
    try:
        yield steps
    finally:
        steps.end()


def print_verdict(
    screen: Console,
    verdict: Verdict,
    outcome: Outcome,
    *,
    name: str,
    file: str,
    brief: bool,
    effects: Mapping[int, Effect] | None = None,
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
    effects : mapping of int to Effect, optional
        What mending a finding would change, by the finding's place in the verdict.
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
    for place, finding in enumerate(verdict.findings):
        screen.print()
        _print_finding(screen, finding)
        effect = (effects or {}).get(place)
        if effect is not None:
            words = _effect_words(finding, effect, fix_name(finding, verdict.findings))
            screen.print(Padding(Text(words, style="dim"), (0, 0, 0, 8)))


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


def fix_name(finding: Finding, findings: Sequence[Finding]) -> str:
    """What ``--fix`` calls a finding: its id, with its part where several have that id."""
    several = sum(other.id == finding.id for other in findings) > 1
    return f"{finding.id}@{finding.where}" if several else finding.id


def _effect_words(finding: Finding, effect: Effect, name: str) -> str:
    """One line on what mending a finding would change."""
    shifts = [
        f"{_QUESTIONS[shift.question]} {before} → {after}"
        for shift in effect.answers
        if shift.question != "safe"
        and (before := _value(shift.before, shift.kind))
        != (after := _value(shift.after, shift.kind))
    ]
    also = [gone.id for gone in effect.goes if gone.id != finding.id]
    brings = [f"{come.id} ({come.level})" for come in effect.comes]
    parts = [", ".join(shifts)] if shifts else []
    if also:
        parts.append(f"also mends {_listed(also)}")
    if brings:
        parts.append(f"brings {_listed(brings)}")
    does = "helped, not mended, by" if effect.leaves(finding) else "mended by"
    does += f" --fix {name}"
    if finding.fix is not None:
        says = finding.fix.says.rstrip(".")
        does += f" ({says[:1].lower()}{says[1:]})"
    return does + (f": {'; '.join(parts)}" if parts else "")


def _listed(names: Sequence[str]) -> str:
    names = list(dict.fromkeys(names))
    shown = ", ".join(names[:_NAMED])
    return f"{shown} and {len(names) - _NAMED} more" if len(names) > _NAMED else shown


def _value(value: float, kind: str) -> str:
    if math.isnan(value):
        return "unknown"
    if kind == "time":
        return format_hours(value)
    if kind == "decibel":
        return f"{value:.0f} dB(A)"
    if kind == "temperature":
        shown = format_quantity(float(round(min(value, SILICON_ENDS))), kind)
        return f"over {shown}" if value > SILICON_ENDS else shown
    return format_quantity(value, kind)


def edit_table(edits: Sequence[Edit]) -> Table:
    """Edits of a file as lines: where, which key, the old value and the new one."""
    table = Table(box=None, padding=(0, 2, 0, 0), show_header=False)
    table.add_column(justify="right", no_wrap=True, style="dim")
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    for edit in edits:
        if edit.after is None:
            change = Text(f"{_plain(edit.before)} taken out")
        elif edit.before is None:
            change = Text(f"new: {_plain(edit.after)}")
        else:
            change = Text(f"{_plain(edit.before)} → {_plain(edit.after)}")
        table.add_row(f"line {edit.line}" if edit.line else "", edit.key, change)
    return table


def _plain(value: object) -> str:
    if isinstance(value, list) and len(str(value)) > _WIDTH:
        return f"{len(value)} values"
    if isinstance(value, list):
        return ", ".join(_plain(item) for item in value)
    if isinstance(value, dict):
        return ", ".join(f"{key} {_plain(item)}" for key, item in value.items())
    return str(value).lower() if isinstance(value, bool) else str(value)
