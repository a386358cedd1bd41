"""Builds worked through for the pages: a file edited as a reader would, and what check says."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import tomlkit
from rich.console import Console

from boomwright.advice.finding import Finding
from boomwright.advice.judge import judge
from boomwright.advice.mend import mended_text
from boomwright.build.drawer import load_drawer
from boomwright.build.read import parse_build
from boomwright.cli.show import print_verdict
from boomwright.outcome.run import run_build

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"


@dataclass(frozen=True)
class Worked:
    """A build file after a check: its findings, and the words on the terminal."""

    findings: tuple[Finding, ...]
    screen: str

    @property
    def answers(self) -> str:
        """The head of the screen, down to the four answers."""
        lines = self.screen.splitlines()
        end = next(place for place, line in enumerate(lines) if line.startswith("use "))
        return "\n".join(lines[:end]).rstrip()

    def said_by(self, rule_id: str) -> str:
        """What the screen shows of a rule, empty if it is silent."""
        paragraphs = re.split(r"\n\n(?=[●▲■] )", self.screen.strip())
        head = re.compile(rf"[●▲■] \S+  .*\b{re.escape(rule_id)}\s*$", re.MULTILINE)
        return "\n\n".join(
            paragraph.rstrip()
            for paragraph in paragraphs[1:]
            if head.match(paragraph.splitlines()[0])
        )

    def finding(self, rule_id: str) -> Finding:
        """The first finding of a rule."""
        found = [finding for finding in self.findings if finding.id == rule_id]
        if not found:
            raise ValueError(f"{rule_id} says nothing here")
        return found[0]


def example(name: str) -> str:
    """Text of a file of ``examples``."""
    return (EXAMPLES / f"{name}.toml").read_text(encoding="utf-8")


@cache
def worked(text: str, file: str) -> Worked:
    """A build file's text after a check."""
    build = parse_build(text, file=file)
    outcome = run_build(build)
    verdict = judge(build, outcome)
    page = io.StringIO()
    screen = Console(file=page, width=80, highlight=False, color_system=None)
    print_verdict(screen, verdict, outcome, name=build.name, file=file, brief=False)
    shown = "\n".join(line.rstrip() for line in page.getvalue().splitlines())
    return Worked(verdict.findings, shown)


def edited(text: str, change: str = "", take_out: Iterable[str] = ()) -> str:
    """A build file's text with tables or keys taken out and others laid over it.

    A row of a table that comes several times is found by its name, in a path too:
    ``driver.bass.wiring``.
    """
    document: dict[str, Any] = tomlkit.parse(text)
    for path in take_out:
        *tables, key = path.split(".")
        place: Any = document
        for step in tables:
            rows = place if isinstance(place, list) else []
            place = next((row for row in rows if row.get("name") == step), None) or place[step]
        del place[key]
    for kind, content in tomlkit.parse(change).items():
        rows = content if isinstance(content, list) else [content]
        for row in rows:
            place = _place(document, kind, row)
            if place is None:
                document[kind] = content
            else:
                place.update(row)
    return tomlkit.dumps(document)


def _place(document: dict[str, Any], kind: str, row: dict[str, Any]) -> Any:
    """Table that a row is laid over, None if it is new."""
    there = document.get(kind)
    if isinstance(there, list):
        return next((table for table in there if table.get("name") == row.get("name")), None)
    return there


def mended(text: str, ids: Iterable[str], file: str) -> str:
    """A build file's text after ``boomwright check --fix`` with these rules, one by one."""
    for rule_id in ids:
        fix = worked(text, file).finding(rule_id).fix
        if fix is None:
            raise ValueError(f"{rule_id} offers no edit here")
        text = mended_text(text, fix, drawer=load_drawer(), file=file)
    return text
