"""``boomwright check``: the verdict on a build file."""

from __future__ import annotations

import json as json_text
import math
from pathlib import Path
from typing import Any

import typer

from boomwright.advice.finding import Answer, Finding
from boomwright.advice.judge import Verdict, judge
from boomwright.build.drawer import load_drawer
from boomwright.build.quantities import format_quantity
from boomwright.build.read import read_build, read_parts
from boomwright.build.units import KINDS
from boomwright.outcome.run import run_build

__all__ = ["check_file", "verdict_values"]


def check_file(file: Path, *, json: bool, full: bool, brief: bool, parts: Path | None) -> int:
    """Print the verdict on a build file.

    Parameters
    ----------
    file : Path
        The build file.
    json, full : bool
        Print data; with every number of the run.
    brief : bool
        Leave the findings and the run out of the words.
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
    drawer = read_parts(parts) if parts is not None else load_drawer()
    build = read_build(file, drawer=drawer)
    outcome = run_build(build, drawer=drawer)
    verdict = judge(build, outcome, drawer=drawer)
    if json:
        values = verdict_values(verdict, name=build.name, file=str(file))
        if full:
            values["outcome"] = json_text.loads(outcome.to_json())
        typer.echo(json_text.dumps(values, ensure_ascii=False, indent=2, allow_nan=False))
    else:
        from boomwright.cli.show import console, print_verdict

        print_verdict(console(), verdict, outcome, name=build.name, file=str(file), brief=brief)
    return 1 if verdict.level == "stop" else 0


def verdict_values(verdict: Verdict, *, name: str, file: str) -> dict[str, Any]:
    """Verdict as plain values that :mod:`json` can write.

    Parameters
    ----------
    verdict : Verdict
        The verdict.
    name, file : str
        Name of the build and its file.

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
        "findings": [_finding(finding) for finding in verdict.findings],
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


def _finding(finding: Finding) -> dict[str, Any]:
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
    return values
