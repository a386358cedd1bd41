"""A page for each rule: what it looks for, why, a case where it really fires, and the mending."""

from __future__ import annotations

import inspect
import tomllib
from collections.abc import Callable
from functools import cache, partial
from pathlib import Path
from typing import Any

from boomwright.advice.finding import Finding
from boomwright.advice.rules import Rule, all_rules
from worked import Worked, edited, example, worked

ROOT = Path(__file__).resolve().parent.parent
NOTE = "<!-- Written by scripts/rule_pages.py from the code; edit the code, not this page. -->\n"
QUESTIONS = {"loud": "How loud", "long": "How long", "hot": "How hot", "safe": "How safe"}
FIRST = "first-attempt"


@cache
def cases() -> dict[str, dict[str, Any]]:
    """Rule → the example file and the change of it that makes the rule fire."""
    return tomllib.loads((ROOT / "scripts" / "rule_cases.toml").read_text(encoding="utf-8"))


def case_of(rule: Rule) -> tuple[Worked, list[str]]:
    """A check in which a rule fires, and the words that say how to come by it."""
    case = cases().get(rule.id)
    if case is None:
        shown = worked(example(FIRST), f"examples/{FIRST}.toml")
        return shown, [f"In `examples/{FIRST}.toml`, [the first attempt](../first-attempt.md):"]
    file, change, take_out = case["file"], case.get("change", ""), case.get("take_out", [])
    words = [f"`examples/{file}.toml` is a good build. Change a copy of it like this:", ""]
    if take_out:
        gone = [f"`{path}`" if "." in path else f"`[{path}]`" for path in take_out]
        words += [f"take out {', '.join(gone)}" + (", and write" if change else "."), ""]
    if change:
        words += ["```toml", change.strip(), "```", ""]
    words += ["Then `boomwright check` says:"]
    return worked(edited(example(file), change, take_out), f"{file}.toml"), words


def numbers_of(finding: Finding) -> list[str]:
    rows = [f"| {figure.label} | {figure.shown} |" for figure in finding.numbers]
    return ["", "It rests on:", "", "| number | value |", "|---|---|", *rows] if rows else []


def mending(rule: Rule, finding: Finding) -> list[str]:
    lines = ["", "## What to do", "", finding.do, ""]
    if finding.level == "fine":
        return [*lines, "This is advice and no fault: the verdict stays as it is."]
    if finding.fix is None:
        return [*lines, "No edit of the file alone mends this case; it is for you to decide."]
    says = finding.fix.says[:1].upper() + finding.fix.says[1:].rstrip(".")
    return [
        *lines,
        f"One edit of the file does it here: *{says}.* The check makes it for you:",
        "",
        "```text",
        f"boomwright check FILE --fix {rule.id}",
        "```",
        "",
        "`boomwright undo FILE` takes it back. The file is mended; the box on the bench is not,",
        "until you have done the same with your hands.",
    ]


@cache
def test_texts() -> dict[str, str]:
    files = sorted((ROOT / "tests" / "advice").glob("test_*.py"))
    return {file.name: file.read_text(encoding="utf-8") for file in files}


def tests_of(rule: Rule) -> list[str]:
    """Test files that name a rule, as paths."""
    return [f"tests/advice/{name}" for name, text in test_texts().items() if f'"{rule.id}"' in text]


def rule_page(rule: Rule) -> str:
    check = inspect.getdoc(rule.check) or ""
    shown, how = case_of(rule)
    finding = shown.finding(rule.id)
    held = " and ".join(f"`{path}`" for path in tests_of(rule))
    title = QUESTIONS[rule.question]
    anchor = title.lower().replace(" ", "-")
    lines = [
        NOTE,
        f"# {rule.title}",
        "",
        f"Rule `{rule.id}`, one of those behind the answer [{title}](../rules.md#{anchor}).",
        "",
        "## What it looks for",
        "",
        *check.splitlines(),
        "",
        f"The limit comes from: {rule.source}.",
        "",
        "## A case",
        "",
        *how,
        "",
        "```text",
        shown.said_by(rule.id),
        "```",
        *numbers_of(finding),
        *mending(rule, finding),
        "",
        "## More",
        "",
        f"`boomwright explain {rule.id}` shows the law, its equation and its source.",
        f"Held by {held}." if held else "",
    ]
    return "\n".join(lines).rstrip() + "\n"


PAGES: dict[str, Callable[[], str]] = {
    f"rules/{rule.id}.md": partial(rule_page, rule)
    for rule in sorted(all_rules(), key=lambda rule: rule.id)
}
