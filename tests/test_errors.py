"""The tree of errors and the text of a problem."""

from __future__ import annotations

import inspect

import pytest

import boomwright.errors as errors
from boomwright.errors import (
    BoomwrightError,
    BuildFileError,
    InputError,
    Problem,
    QuantityError,
    WriteError,
)


def test_tree_is_the_one_in_the_docstring():
    classes = [found for _, found in inspect.getmembers(errors, inspect.isclass)]
    ours = [found for found in classes if issubclass(found, Exception)]
    parents = {found.__name__: found.__base__.__name__ for found in ours}
    assert parents == {
        "BoomwrightError": "Exception",
        "InputError": "BoomwrightError",
        "BuildFileError": "InputError",
        "QuantityError": "InputError",
        "NetlistError": "InputError",
        "ConvergenceError": "BoomwrightError",
        "WriteError": "BoomwrightError",
    }
    for found in ours:
        assert found.exit_code == 2
        line = next(line for line in errors.__doc__.splitlines() if f"{found.__name__} " in line)
        assert f"exit code {found.exit_code}" in line
    assert {found.__name__ for found in ours} | {"Problem"} == set(errors.__all__)


def test_one_base_catches_all():
    problem = Problem("too short")
    for error in (BuildFileError([problem]), QuantityError(problem), WriteError("x: full")):
        with pytest.raises(BoomwrightError, match=r"too short|full"):
            raise error


def test_problem_with_all_its_parts():
    problem = Problem(
        "unknown unit 'Ax'",
        got="'7 Ax'",
        expected="a charge such as '7 Ah'",
        file="stall.toml",
        line=12,
        key="battery.capacity",
        hint="Did you mean 'Ah'?",
    )
    assert str(problem) == (
        "stall.toml:12: battery.capacity: unknown unit 'Ax'; read '7 Ax'; "
        "expected a charge such as '7 Ah'. Did you mean 'Ah'?"
    )


@pytest.mark.parametrize(
    ("problem", "text"),
    [
        (Problem("empty"), "empty"),
        (Problem("empty", file="a.toml"), "a.toml: empty"),
        (Problem("empty", file="a.toml", line=3), "a.toml:3: empty"),
        (Problem("empty", key="name"), "name: empty"),
        (Problem("empty", hint="Fill it."), "empty. Fill it."),
        (Problem("empty", got="''"), "empty; read ''"),
        (Problem("empty", expected="text"), "empty; expected text"),
    ],
)
def test_problem_leaves_out_what_is_not_known(problem, text):
    assert str(problem) == text


@pytest.mark.parametrize("code", ["\n", "\r", "\x1b", "\x00", "\x7f", "\x9b", "\u2028"])
def test_problem_is_one_line_without_codes(code):
    text = str(Problem(f"a{code}b", got=f"c{code}d", key=f"e{code}f", hint=f"g{code}h"))
    assert code not in text
    assert len(text.splitlines()) == 1
    assert repr(code)[1:-1] in text


def test_error_lists_every_problem():
    error = InputError([Problem("first", line=1, file="f"), Problem("second", got="9")])
    assert [problem.says for problem in error.problems] == ["first", "second"]
    assert str(error) == "f:1: first\nsecond; read 9"
    assert isinstance(error.problems, tuple)


def test_quantity_error_holds_one_problem():
    error = QuantityError(Problem("no unit", got="'7'"))
    assert error.problems == (Problem("no unit", got="'7'"),)


def test_write_error_is_no_input_error():
    assert not isinstance(WriteError("x"), InputError)


def test_problem_is_frozen():
    with pytest.raises(AttributeError):
        Problem("x").says = "y"  # type: ignore[misc]
