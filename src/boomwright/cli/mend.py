"""``boomwright check --fix`` and ``boomwright undo``: mending in the file, and taking it back."""

from __future__ import annotations

import json as json_text
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import typer
from rich.console import Console
from rich.table import Table
from rich.text import Text

from boomwright.advice.effects import effect_between, place_of
from boomwright.advice.finding import Finding
from boomwright.advice.judge import Verdict, judge
from boomwright.advice.mend import mended_text
from boomwright.advice.rules import all_rules
from boomwright.advice.safe import Left, Mended, mend_safely
from boomwright.build.drawer import Drawer
from boomwright.build.edit import Edit, edits_between
from boomwright.build.history import file_text, step_back, step_forward, write_kept
from boomwright.build.nearest import nearest
from boomwright.build.read import parse_build
from boomwright.cli.check import effect_values, verdict_values
from boomwright.cli.opening import opened
from boomwright.cli.show import console, edit_table, fix_name, mark, print_verdict, steps_shown
from boomwright.errors import InputError, Problem
from boomwright.outcome.data import Outcome
from boomwright.outcome.run import run_build

__all__ = ["mend_file", "undo_file"]

_ALL_SAFE = "all-safe"


class _Desk:
    """Verdicts on texts of one file, each text worked out once."""

    def __init__(self, file: Path, drawer: Drawer) -> None:
        self.file, self.drawer = file, drawer
        self._seen: dict[str, tuple[Verdict, Outcome]] = {}

    def judged(self, text: str) -> Verdict:
        return self.both(text)[0]

    def both(self, text: str) -> tuple[Verdict, Outcome]:
        if text not in self._seen:
            build = parse_build(text, file=self.file.name, drawer=self.drawer)
            outcome = run_build(build, drawer=self.drawer)
            self._seen[text] = judge(build, outcome, drawer=self.drawer), outcome
        return self._seen[text]


def mend_file(file: Path, fix: Sequence[str], *, json: bool, parts: Path | None) -> int:
    """Mend findings of a build file, write it, and print what that changed.

    Parameters
    ----------
    file : Path
        The build file.
    fix : sequence of str
        Ids of findings, each with ``@part`` where several have that id; ``all-safe`` for all whose
        mending brings nothing new to stop.
    json : bool
        Print data.
    parts : Path or None
        Own parts, laid over the drawer.

    Returns
    -------
    int
        Exit code of the new verdict: 1 if something must stop, else 0.

    Raises
    ------
    InputError
        If a finding cannot be mended so; nothing is written.
    WriteError
        If the file cannot be written; it is untouched.
    """
    build, drawer = opened(file, parts)
    desk, text = _Desk(file, drawer), file_text(file)
    _known(fix)
    new, done, left = text, list[Mended](), list[Left]()
    with steps_shown(None) as steps:
        steps.step("checking")
        at_first = desk.judged(text)
        for asked in [name for name in fix if name != _ALL_SAFE]:
            finding = _asked_for(asked, desk.judged(new), at_first)
            if finding is None:
                continue
            steps.step(f"mending {finding.id}")
            new, mended = _mended(new, finding, desk)
            done.append(mended)
        if _ALL_SAFE in fix:
            result = mend_safely(
                new,
                judged=desk.judged,
                drawer=drawer,
                file=file.name,
                seen=lambda finding: steps.step(f"mending {finding.id}"),
            )
            new, left = result.text, list(result.left)
            done += result.done
        verdict, outcome = desk.both(new)
    if new != text:
        if file_text(file) != text:
            says = "the file was changed meanwhile by something else"
            raise InputError(
                [Problem(says, file=str(file), hint="Nothing was written; try again.")]
            )
        write_kept(file, new)
    edits = edits_between(text, new)
    if json:
        values = {
            "file": str(file),
            "mended": [_mended_values(item) for item in done],
            "left": [
                {"id": item.finding.id, "where": item.finding.where, "why": item.why}
                for item in left
            ],
            "changes": _edit_values(edits),
            "verdict": verdict_values(verdict, name=build.name, file=str(file)),
        }
        typer.echo(json_text.dumps(values, ensure_ascii=False, indent=2, allow_nan=False))
    else:
        screen = console()
        _print_mended(screen, done, edits, str(file))
        _print_new_stops(screen, done, verdict)
        screen.print()
        print_verdict(screen, verdict, outcome, name=build.name, file=str(file), brief=True)
        if _ALL_SAFE in fix:
            _print_left(screen, left)
        else:
            _print_rest(screen, verdict)
        if edits:
            screen.print()
            screen.print(Text(f"'boomwright undo {file}' takes it back.", style="dim"))
    return 1 if verdict.level == "stop" else 0


def _known(fix: Sequence[str]) -> None:
    """Refuse what is no rule's name, before anything is worked out."""
    ids = [rule.id for rule in all_rules()]
    problems = [
        Problem(
            "no finding has that name", got=repr(asked), hint=nearest(asked.partition("@")[0], ids)
        )
        for asked in fix
        if asked != _ALL_SAFE and asked.partition("@")[0] not in ids
    ]
    if problems:
        raise InputError(problems)


def _asked_for(asked: str, now: Verdict, at_first: Verdict) -> Finding | None:
    """The finding that a person means, None if an earlier mending has taken it along."""
    name, _, where = asked.partition("@")
    hint = "Nothing was written."

    def meant(verdict: Verdict) -> list[Finding]:
        return [item for item in verdict.findings if item.id == name and where in ("", item.where)]

    found = meant(now)
    if not found and meant(at_first):
        return None
    if not found:
        others = [item.where for item in now.findings if item.id == name]
        says = f"{name} is no finding of this build, so there is nothing to mend"
        if others:
            says = f"{name} is found at {', '.join(others)}"
        raise InputError([Problem(says, got=repr(asked), hint=hint)])
    if all(item.fix is None for item in found):
        says = f"no edit of the file mends {name}; by hand: {found[0].do.rstrip('.')}"
        raise InputError([Problem(says, hint=hint)])
    places = list(dict.fromkeys(item.where for item in found if item.fix is not None))
    if len(places) > 1:
        choices = " or ".join(f"{name}@{place}" for place in places)
        raise InputError([Problem(f"{name} is found {len(places)} times; write {choices}")])
    return next(item for item in found if item.fix is not None)


def _mended(text: str, finding: Finding, desk: _Desk) -> tuple[str, Mended]:
    if finding.fix is None:
        raise ValueError(f"{finding.id} has no fix")
    new = mended_text(text, finding.fix, drawer=desk.drawer, file=desk.file.name)
    return new, Mended(finding, effect_between(desk.judged(text), desk.judged(new)))


def _mended_values(item: Mended) -> dict[str, Any]:
    return {
        "id": item.finding.id,
        "where": item.finding.where,
        "says": item.finding.fix.says if item.finding.fix else "",
        "gone": item.effect.mends(item.finding),
        "effect": effect_values(item.effect),
    }


def _edit_values(edits: Sequence[Edit]) -> list[dict[str, Any]]:
    return [
        {"key": edit.key, "before": edit.before, "after": edit.after, "line": edit.line}
        for edit in edits
    ]


def _print_mended(
    screen: Console, done: Sequence[Mended], edits: Sequence[Edit], file: str
) -> None:
    if not edits:
        screen.print(Text("Nothing was mended; the file is as it was."))
        return
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column()
    for item in done:
        finding = item.finding
        table.add_row(
            mark(finding.level), Text.assemble((finding.id, "bold"), f"  {finding.where}")
        )
        if finding.fix is not None:
            table.add_row("", Text(f"{_sentence(finding.fix.says)}"))
        if not item.effect.mends(finding):
            table.add_row("", Text("It is still there: this edit alone is not enough."))
        for come in item.effect.comes:
            table.add_row(
                "", Text.assemble("brings ", mark(come.level), f"  {come.id}: {come.says}")
            )
    screen.print(Text(f"Mended in {file}", style="bold"))
    screen.print(table)
    screen.print()
    screen.print(edit_table(edits))


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if text.endswith(".") else ".")


def _print_new_stops(screen: Console, done: Sequence[Mended], verdict: Verdict) -> None:
    """Name what came to stop by the mending and is there at its end."""
    now = {place_of(item) for item in verdict.findings if item.level == "stop"}
    for item in done:
        for stop in item.effect.stops:
            if place_of(stop) in now:
                says = f"This mends {item.finding.id} but brings {stop.id}, which must stop: "
                screen.print()
                screen.print(Text.assemble(mark("stop"), "  ", says, stop.says))


def _print_left(screen: Console, left: Sequence[Left]) -> None:
    screen.print()
    if not left:
        screen.print(Text("Nothing is left to mend."))
        return
    table = Table(box=None, padding=(0, 2, 0, 0), show_header=False)
    table.add_column(no_wrap=True)
    table.add_column(no_wrap=True)
    table.add_column(no_wrap=True, style="dim")
    table.add_column()
    for item in left:
        finding = item.finding
        table.add_row(mark(finding.level), finding.id, finding.where, item.why)
    screen.print(Text("Left as they are", style="bold"))
    screen.print(table)


def _print_rest(screen: Console, verdict: Verdict) -> None:
    names = [fix_name(item, verdict.findings) for item in verdict.findings if item.fix is not None]
    screen.print()
    if names:
        more = f" and {len(names) - 6} more" if len(names) > 6 else ""
        screen.print(Text(f"An edit would also mend {', '.join(names[:6])}{more}.", style="dim"))


def undo_file(file: Path, *, redo: bool, json: bool) -> None:
    """Take the last mending of a build file back, or put it in again.

    Parameters
    ----------
    file : Path
        The build file.
    redo : bool
        Put back what was last taken back.
    json : bool
        Print data.

    Raises
    ------
    InputError
        If there is nothing to take back.
    WriteError
        If the file cannot be written; it is untouched.
    """
    step = step_forward(file) if redo else step_back(file)
    edits = edits_between(step.before, step.after)
    if json:
        values = {
            "file": str(file),
            "changes": _edit_values(edits),
            "back": step.back,
            "forward": step.forward,
        }
        typer.echo(json_text.dumps(values, ensure_ascii=False, indent=2, allow_nan=False))
        return
    screen = console()
    what = "Put in again" if redo else "Taken back"
    screen.print(Text(f"{what} in {file}", style="bold"))
    screen.print(edit_table(edits))
    ways = f"{step.back} more back, {step.forward} forward"
    hint = f" ('boomwright undo {file} --redo')" if step.forward else ""
    screen.print(Text(f"{ways}{hint}.", style="dim"))
