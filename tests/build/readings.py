"""For tests of reading: a short build, a small drawer, and the problems of a text."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from boomwright.build.drawer import Drawer
from boomwright.build.read import parse_build
from boomwright.errors import BuildFileError, Problem

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))

SHORT = """\
name = "Stall"
[battery]
chemistry = "lead-agm"
cells = 6
capacity = "7 Ah"
[amplifier]
amplifier_class = "D"
topology = "bridge"
supply_min = "8 V"
supply_max = "24 V"
load_min = "4 Ω"
[driver]
impedance = "8 Ω"
"""

DRAWER = Drawer(
    {
        "fuse": {"main-5a": {"rating": "5.5 A"}, "broken": {"rating": "6 V", "distance": "7 cm"}},
        "battery": {
            "bad-rows": {
                "chemistry": "lead-agm",
                "cells": 6,
                "capacity": "7 Ah",
                "rate_table": [{"hours": "1 h", "capacity": "5 V"}],
            }
        },
        "driver": {"cone": {"impedance": "8 Ω"}},
    }
)


def problems_of(text: str, drawer: Drawer | None = None) -> tuple[Problem, ...]:
    """All problems of a build file's text, each fit for a person."""
    with pytest.raises(BuildFileError) as caught:
        parse_build(text, file="stall.toml", drawer=drawer or DRAWER)
    for problem in caught.value.problems:
        well_formed(problem, text)
        assert problem.file == "stall.toml"
    return caught.value.problems


def only(text: str) -> Problem:
    """The one problem of a build file's text."""
    (problem,) = problems_of(text)
    return problem


def well_formed(problem: Problem, text: str) -> None:
    """Hold that a person can read a problem: words, one line, nothing unfilled, not endless."""
    line = str(problem)
    assert problem.says.strip()
    assert len(line.splitlines()) == 1
    assert len(line) < 2500
    for brace in re.findall(r"\{\w*\}", line):
        assert brace in text or brace == "{}"
    if "{}" in line:
        assert re.search(r"=\s*\{\s*\}|\{\}", text)
    assert "Traceback" not in line
    assert "Input should" not in line
    assert "literal[" not in problem.key
    if problem.line is not None:
        assert 1 <= problem.line <= text.count("\n") + 1
