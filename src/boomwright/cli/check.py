"""``boomwright check``: the verdict on a build file."""

from __future__ import annotations

import contextlib
import json as json_text
import math
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from boomwright.advice.finding import Answer, Finding
from boomwright.advice.judge import Verdict, judge
from boomwright.build.drawer import Drawer
from boomwright.build.quantities import format_quantity
from boomwright.build.units import KINDS
from boomwright.cli.opening import opened
from boomwright.errors import BuildFileError
from boomwright.outcome.run import run_build

if TYPE_CHECKING:
    from boomwright.advice.effects import Effect

__all__ = ["check_file", "effect_values", "found_effects", "verdict_values"]


def check_file(
    file: Path, *, json: bool, full: bool, brief: bool, effects: bool, parts: Path | None
) -> int:
    """Print the verdict on a build file.

    Parameters
    ----------
    file : Path
        The build file.
    json, full : bool
        Print data; with every number of the run.
    brief : bool
        Leave the findings and the run out of the words.
    effects : bool
        Work out what each fix would change.
    parts : Path or None
        Own parts, laid over the drawer.

    Returns
    -------
    int
        Exit code: 1 if something must stop, else 0.

    Raises
    ------
    BuildFileError
        If the file cannot be used.
    """
    build, drawer = opened(file, parts)
    outcome = run_build(build, drawer=drawer)
    verdict = judge(build, outcome, drawer=drawer)
    found = found_effects(file, verdict, drawer) if effects and not (brief and not json) else {}
    if json:
        values = verdict_values(verdict, name=build.name, file=str(file), effects=found)
        if full:
            values["outcome"] = json_text.loads(outcome.to_json())
        typer.echo(json_text.dumps(values, ensure_ascii=False, indent=2, allow_nan=False))
    else:
        from boomwright.cli.show import console, print_verdict

        print_verdict(
            console(),
            verdict,
            outcome,
            name=build.name,
            file=str(file),
            brief=brief,
            effects=found,
        )
    return 1 if verdict.level == "stop" else 0


def found_effects(file: Path, verdict: Verdict, drawer: Drawer) -> dict[int, Effect]:
    """Effect of each fix by the place of its finding; none where it cannot be put in."""
    fixes = {
        place: finding.fix
        for place, finding in enumerate(verdict.findings)
        if finding.fix is not None
    }
    if not fixes:
        return {}
    from boomwright.advice.effects import effect_of, likely_verdict
    from boomwright.build.history import file_text
    from boomwright.cli.show import steps_shown

    text, found = file_text(file), {}
    before = likely_verdict(text, drawer=drawer, file=file.name)
    with steps_shown(len(fixes)) as steps:
        for place, fix in fixes.items():
            steps.step(f"mending {verdict.findings[place].id}")
            with contextlib.suppress(BuildFileError):
                found[place] = effect_of(
                    fix, text=text, before=before, drawer=drawer, file=file.name
                )
    return found


def verdict_values(
    verdict: Verdict,
    *,
    name: str,
    file: str,
    effects: Mapping[int, Effect] | None = None,
) -> dict[str, Any]:
    """Verdict as plain values that :mod:`json` can write.

    Parameters
    ----------
    verdict : Verdict
        The verdict.
    name, file : str
        Name of the build and its file.
    effects : mapping of int to Effect, optional
        What mending a finding would change, by the finding's place in the verdict.

    Returns
    -------
    dict
        Keys ``name``, ``file``, ``verdict``, ``answers`` and ``findings``.
    """
    return {
        "name": name,
        "file": file,
        "verdict": verdict.level,
        "answers": {answer.question: _answer(answer) for answer in verdict.answers},
        "findings": [
            _finding(finding, (effects or {}).get(place))
            for place, finding in enumerate(verdict.findings)
        ],
    }


def effect_values(effect: Effect) -> dict[str, Any]:
    """Effect as plain values that :mod:`json` can write."""
    return {
        "answers": {
            shift.question: {
                "before": _finite(shift.before),
                "after": _finite(shift.after),
                "unit": KINDS[shift.kind].si,
            }
            for shift in effect.answers
        },
        "goes": [{"id": gone.id, "where": gone.where} for gone in effect.goes],
        "comes": [
            {"id": come.id, "where": come.where, "level": come.level, "says": come.says}
            for come in effect.comes
        ],
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _answer(answer: Answer) -> dict[str, Any]:
    value = answer.value
    return {
        "verdict": answer.level,
        "says": answer.headline,
        "more": answer.detail,
        "likely": _finite(value.likely),
        "low": _finite(value.low),
        "high": _finite(value.high),
        "unit": KINDS[answer.kind].si,
    }


def _finding(finding: Finding, effect: Effect | None = None) -> dict[str, Any]:
    values: dict[str, Any] = {
        "id": finding.id,
        "level": finding.level,
        "question": finding.question,
        "where": finding.where,
        "says": finding.says,
        "numbers": [
            {
                "label": figure.label,
                "value": _finite(figure.value),
                "unit": KINDS[figure.kind].si,
                "shown": format_quantity(figure.value, figure.kind),
            }
            for figure in finding.numbers
        ],
        "why": finding.why,
        "do": finding.do,
    }
    if finding.fix is not None:
        values["fix"] = {
            "says": finding.fix.says,
            "changes": [
                {"part": change.part, "key": change.key, "value": change.value, "kind": change.kind}
                for change in finding.fix.changes
            ],
        }
    if effect is not None:
        values["effect"] = effect_values(effect)
    return values
