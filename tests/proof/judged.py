"""Verdicts for the tests of the judgement: what is wrong with a build, each file judged once."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from boomwright.advice.judge import Verdict, judge
from boomwright.build.read import parse_build
from boomwright.outcome.run import run_build

ROOT = Path(__file__).parents[2]
BUILDS = Path(__file__).parent / "builds"

VERSIONS = 160
"""As many as a check works out, so that the tests see what people see."""


@cache
def verdict_of(text: str, versions: int = VERSIONS) -> Verdict:
    """Verdict on a build file's text."""
    build = parse_build(text, file="proof.toml")
    return judge(build, run_build(build, versions=versions))


def faults(text: str, versions: int = VERSIONS) -> list[tuple[str, str, str]]:
    """Id, part and level of every finding to mind or to stop, sorted; advice is none of them."""
    found = verdict_of(text, versions).findings
    return sorted((item.id, item.where, item.level) for item in found if item.level != "fine")


def table_rows(page: Path) -> list[list[str]]:
    """Rows of the tables of a page, heads left out, each a list of cells."""
    lines = page.read_text(encoding="utf-8").splitlines()
    rows = []
    for line, following in zip(lines, [*lines[1:], ""], strict=True):
        if line.startswith("| ") and not following.startswith("|---"):
            rows.append([cell.strip() for cell in line.strip("|").split(" | ")])
    return rows
