"""The law, equation, source and numbers behind a finding or a figure."""

from __future__ import annotations

import importlib
import inspect
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any

from boomwright.advice.finding import Finding
from boomwright.advice.rules import Case, Rule, all_rules
from boomwright.advice.steps import Step, figure_steps
from boomwright.build.nearest import nearest
from boomwright.errors import InputError, Problem

__all__ = [
    "Explanation",
    "Law",
    "OwnNumbers",
    "explain",
    "figures",
    "law_of",
    "own_numbers",
    "rules",
]

_QUESTIONS = {"loud": "how loud", "long": "how long", "hot": "how hot", "safe": "how safe"}
_HEADING = re.compile(r"^(\w+)\n-+\n", re.MULTILINE)
_LINK = re.compile(r"\s*\[(\d+)\]_")
_ITEM = re.compile(r"^\.\. \[(\d+)\] ", re.MULTILINE)


@dataclass(frozen=True)
class Law:
    """A law as its function's docstring has it.

    Parameters
    ----------
    name : str
        Dotted name below the package.
    gives : str
        What it gives, in one line.
    valid : str
        The model and where it holds.
    equation : str
        The formula, limit cases and what is left out.
    sources : tuple of str
        Where it is published.
    """

    name: str
    gives: str
    valid: str
    equation: str
    sources: tuple[str, ...]


@dataclass(frozen=True)
class Explanation:
    """What there is to say of a rule or a quantity, whatever the build.

    Parameters
    ----------
    name, title, says : str
        Its name, what it is in a few words, and in a plain sentence.
    kind : str
        ``rule`` or ``quantity``.
    question : str
        Which of the four answers a rule belongs to.
    source : str
        Where a rule's limit comes from.
    field : str
        Where a quantity stands in the Outcome.
    laws : tuple of Law
        The laws behind it.
    joins : tuple of str
        Functions that put the laws together over the whole build.
    figures : tuple of str
        Quantities that a rule looks at; the quantity itself.
    page : str
        Its method page.
    tests : tuple of str
        Test files that hold it.
    """

    name: str
    title: str
    says: str
    kind: str
    laws: tuple[Law, ...]
    page: str
    tests: tuple[str, ...]
    question: str = ""
    source: str = ""
    field: str = ""
    joins: tuple[str, ...] = ()
    figures: tuple[str, ...] = ()


@dataclass(frozen=True)
class OwnNumbers:
    """The numbers of one build behind a rule or a quantity.

    Parameters
    ----------
    steps : dict of str to tuple of Step
        Quantity → its numbers in the order in which they go into the law.
    findings : tuple of Finding
        What the rule finds; empty for a quantity and for a rule that is quiet.
    """

    steps: dict[str, tuple[Step, ...]] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()


@cache
def _data(name: str) -> Mapping[str, Any]:
    text = files("boomwright.advice").joinpath("data", f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def figures() -> dict[str, str]:
    """Every quantity that can be explained, with its title."""
    return {name: str(entry["title"]) for name, entry in _data("figures").items()}


def rules() -> dict[str, str]:
    """Every rule, with its title."""
    return {rule.id: rule.title for rule in all_rules()}


@cache
def law_of(name: str) -> Law:
    """A law, read from the docstring of its function.

    Parameters
    ----------
    name : str
        Dotted name below the package, such as ``physics.wire.wire_resistance``.

    Returns
    -------
    Law

    Examples
    --------
    >>> law_of("physics.wire.wire_resistance").gives
    'Resistance of one copper conductor, one way.'
    """
    module, _, function = name.rpartition(".")
    text = inspect.getdoc(getattr(importlib.import_module(f"boomwright.{module}"), function)) or ""
    parts = _HEADING.split(text)
    found = dict(zip(parts[1::2], parts[2::2], strict=True))
    gives, _, valid = parts[0].partition("\n\n")
    sources = _ITEM.split(found.get("References", ""))[2::2]
    return Law(
        name=name,
        gives=_one_line(gives),
        valid=_plain(valid),
        equation=_plain(found.get("Notes", "")),
        sources=tuple(_one_line(source) for source in sources),
    )


def _one_line(text: str) -> str:
    return " ".join(text.replace("`", "").split())


def _plain(text: str) -> str:
    """Paragraphs, each on one line; marks of the docstring's layout left out."""
    text = re.sub(r"^\.\. math::\s*", "", _LINK.sub("", text), flags=re.MULTILINE)
    paragraphs = (_one_line(part) for part in text.strip().split("\n\n"))
    return "\n".join(part for part in paragraphs if part)


def explain(what: str) -> Explanation:
    """What there is to say of a rule or a quantity.

    Parameters
    ----------
    what : str
        A rule's id or a quantity's name.

    Returns
    -------
    Explanation

    Raises
    ------
    InputError
        If there is neither; with the nearest that there is.
    """
    if what in _data("figures"):
        return _figure(what, _data("figures")[what])
    rule = _rule_named(what)
    if rule is None:
        known = [*figures(), *rules()]
        hint = f"{nearest(what, known)} 'boomwright explain' lists all."
        says = "neither a finding nor a quantity"
        raise InputError([Problem(says, got=repr(what), hint=hint.strip())])
    entry = _data("laws")["rules"].get(rule.id, {"laws": [], "page": "run", "figures": []})
    topic = rule.check.__module__.rpartition(".")[2]
    says = (inspect.getdoc(rule.check) or "").split("\n\n")[0]
    laws = tuple(law_of(name) for name in entry["laws"])
    return Explanation(
        name=rule.id,
        title=rule.title,
        says=_one_line(says),
        kind="rule",
        laws=laws,
        page=_page(entry),
        tests=_tests(entry, f"tests/advice/test_{topic}_rules.py"),
        question=_QUESTIONS[rule.question],
        source=rule.source,
        figures=tuple(entry["figures"]),
    )


def _rule_named(what: str) -> Rule | None:
    return next((rule for rule in all_rules() if rule.id == what), None)


def _figure(name: str, entry: Mapping[str, Any]) -> Explanation:
    return Explanation(
        name=name,
        title=entry["title"],
        says=entry["says"],
        kind="quantity",
        laws=tuple(law_of(law) for law in entry["laws"]),
        page=_page(entry),
        tests=_tests(entry),
        field=entry["field"],
        joins=tuple(entry["joins"]),
        figures=(name,),
    )


def _page(entry: Mapping[str, Any]) -> str:
    return f"docs/method/{entry['page']}.md"


def _tests(entry: Mapping[str, Any], own: str = "") -> tuple[str, ...]:
    """The rule's own test, those of the laws, and those that hold the page; each once."""
    places = [law.split(".")[:2] for law in entry["laws"]]
    found = [own] if own else []
    found += [f"tests/{package}/test_{module}.py" for package, module in places]
    if entry["laws"] or not own:
        found += _data("laws")["pages"][entry["page"]]
    return tuple(dict.fromkeys(found))


def own_numbers(explanation: Explanation, case: Case) -> OwnNumbers:
    """The numbers of a build behind a rule or a quantity.

    Parameters
    ----------
    explanation : Explanation
        What is explained.
    case : Case
        The build after physics.

    Returns
    -------
    OwnNumbers
    """
    steps = {name: figure_steps(name, case) for name in explanation.figures}
    rule = _rule_named(explanation.name) if explanation.kind == "rule" else None
    findings = tuple(rule.findings(case)) if rule is not None else ()
    return OwnNumbers({name: found for name, found in steps.items() if found}, findings)
