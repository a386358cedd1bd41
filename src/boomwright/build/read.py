"""From a build file to a Build: every problem found at once, each with its line."""

from __future__ import annotations

import os
from pathlib import Path as FilePath
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from boomwright.build.drawer import DRAWER_KINDS, Drawer, load_drawer
from boomwright.build.files import TomlText, parse_toml, read_toml
from boomwright.build.fill import Filled, fill
from boomwright.build.locate import Path, line_of
from boomwright.build.model import Build
from boomwright.build.nearest import nearest
from boomwright.build.tree import tree_problems
from boomwright.errors import BuildFileError, Problem

__all__ = ["parse_build", "read_build", "read_parts"]

_LONGEST = 300
"""Longest piece of a file that a message repeats [character]."""

_EXPECTED = {
    "bool": "true or false, without quotes",
    "int_": "a whole number, without quotes",
    "string_type": "text in quotes",
}
"""Start of a kind of validation error → what belongs there, in plain words."""


def read_build(path: str | os.PathLike[str], *, drawer: Drawer | None = None) -> Build:
    """A build, read from its file.

    Parameters
    ----------
    path : path
        The build file.
    drawer : Drawer or None
        Parts to take from; the typical parts if None. A parts file that the build names, beside
        it, is laid over them.

    Returns
    -------
    Build

    Raises
    ------
    BuildFileError
        With every problem found in the file, each with its line.
    """
    source = read_toml(path)
    drawer = drawer or load_drawer()
    own = source.values.get("parts")
    if isinstance(own, str) and own:
        drawer = read_parts(_beside(path, own, source), drawer=drawer)
    return _build(source, drawer)


def parse_build(text: str, *, file: str = "build file", drawer: Drawer | None = None) -> Build:
    """A build, read from a text.

    Parameters
    ----------
    text : str
        The text of a build file.
    file : str
        Name for messages.
    drawer : Drawer or None
        Parts to take from; the typical parts if None.

    Returns
    -------
    Build

    Raises
    ------
    BuildFileError
        With every problem found in the text, each with its line.
    """
    return _build(parse_toml(text, file=file), drawer or load_drawer())


def read_parts(path: str | os.PathLike[str], *, drawer: Drawer | None = None) -> Drawer:
    """The drawer with a person's own parts file laid over it.

    Parameters
    ----------
    path : path
        TOML with ``[kind.part-name]`` tables.
    drawer : Drawer or None
        What it is laid over; the typical parts if None.

    Returns
    -------
    Drawer

    Raises
    ------
    BuildFileError
        With every problem found in the file, each with its line.
    """
    source = read_toml(path)
    problems = []
    for kind, parts in source.values.items():
        if kind not in DRAWER_KINDS:
            problems.append(
                _problem(
                    source,
                    (kind,),
                    Problem("unknown kind of part", hint=nearest(kind, DRAWER_KINDS)),
                )
            )
        elif not isinstance(parts, dict) or not all(
            isinstance(part, dict) for part in parts.values()
        ):
            expected = f"tables such as [{kind}.my-part]"
            problems.append(
                _problem(source, (kind,), Problem("not a table of parts", expected=expected))
            )
    if not problems:
        merged = (drawer or load_drawer()).with_overlay(source.values)
        for kind, parts in source.values.items():
            for name in parts:
                problems += _part_problems(merged, kind, name, source)
    if problems:
        raise BuildFileError(problems)
    return merged


def _part_problems(drawer: Drawer, kind: str, name: str, source: TomlText) -> list[Problem]:
    try:
        drawer.part(kind, name)
    except ValidationError as error:
        fields = DRAWER_KINDS[kind].model_fields
        return [
            _problem(source, (kind, name, *_place(detail)), _explain(detail, fields))
            for detail in _each_once(error)
        ]
    return []


def _beside(path: str | os.PathLike[str], own: str, source: TomlText) -> FilePath:
    folder = FilePath(path).parent
    wanted = folder / own
    if FilePath(own).is_absolute() or ".." in FilePath(own).parts:
        problem = Problem(
            "a parts file outside the build's folder", got=repr(own), expected="a file beside it"
        )
        raise BuildFileError([_problem(source, ("parts",), problem)])
    if not wanted.exists():
        problem = Problem("there is no such parts file", got=repr(own))
        raise BuildFileError([_problem(source, ("parts",), problem)])
    return wanted


def _build(source: TomlText, drawer: Drawer) -> Build:
    filled = fill(source.values, drawer)
    found = [*filled.problems, *tree_problems(filled.values)]
    problems = [_problem(source, path, problem, filled=filled) for path, problem in found]
    build = None
    try:
        build = Build.model_validate(filled.values)
    except ValidationError as error:
        known = {path for path, _ in filled.problems}
        for detail in _each_once(error):
            path = _place(detail)
            if any(path[: len(seen)] == seen for seen in known):
                continue
            if not path and any(not seen for seen, _ in found):
                continue
            # A part that the drawer does not have is the one mistake; what it would fill is not.
            if detail["type"] == "missing" and (*path[:-1], "part") in known:
                continue
            problem = _explain(detail, _fields_at(path))
            problems.append(_problem(source, path, problem, filled=filled))
    if problems or build is None:
        raise BuildFileError(sorted(problems, key=lambda problem: problem.line or 0))
    return build


def _fields_at(path: Path) -> dict[str, Any]:
    """Fields of the table that an error stands in, for naming the nearest right key."""
    fields: dict[str, Any] = dict(Build.model_fields)
    for step in path[:-1]:
        if isinstance(step, str):
            fields = _inner_fields(fields[step].annotation) if step in fields else {}
    return fields


def _inner_fields(annotation: Any) -> dict[str, Any]:
    """Fields of the table that an annotation names, alone, optional or in a tuple."""
    for model in (annotation, *get_args(annotation)):
        if isinstance(model, type) and issubclass(model, BaseModel):
            return dict(model.model_fields)
    return {}


def _place(detail: ErrorDetails) -> Path:
    """Path of an error, without the marks of the choices that were tried one by one."""
    return tuple(step for step in detail["loc"] if not str(step).startswith("literal["))


def _each_once(error: ValidationError) -> list[ErrorDetails]:
    """The errors, each place and kind once: choices tried one by one fail one by one."""
    found = {(_place(detail), detail["type"]): detail for detail in reversed(error.errors())}
    return list(reversed(found.values()))


def _explain(detail: ErrorDetails, fields: dict[str, Any]) -> Problem:
    """A validation error in the words of the bench."""
    kind, context = detail["type"], detail.get("ctx", {})
    got = repr(detail["input"])
    got = got if len(got) <= 80 else f"a {type(detail['input']).__name__}"
    key = str(detail["loc"][-1]) if detail["loc"] else ""
    if kind == "boomwright":
        return Problem(context["says"], context["got"], context["expected"], hint=context["hint"])
    if kind == "missing":
        field = fields.get(key)
        means = (
            f": {_as_clause(field.description)}" if field is not None and field.description else ""
        )
        hint = 'Add it, or name a part of the drawer with part = "…".'
        return Problem(f"missing{means}", hint=hint if "part" in fields else "Add it.")
    if kind == "extra_forbidden":
        return Problem("unknown key", hint=nearest(key, fields))
    if kind == "literal_error":
        allowed = [
            word.strip(" '") for word in str(context["expected"]).replace(" or ", ", ").split(",")
        ]
        hint = nearest(str(detail["input"]), [word for word in allowed if word])
        return Problem("not one of the choices", got, str(context["expected"]), hint=hint)
    if kind in {"model_type", "model_attributes_type", "dict_type", "tuple_type", "list_type"}:
        return Problem("not a table of values", got, f"a table such as [{key}]")
    for word, expected in _EXPECTED.items():
        if kind.startswith(word):
            return Problem("not what belongs here", got, expected)
    wanted = detail["msg"]
    for prefix in ("Input should be a valid ", "Input should be "):
        wanted = wanted.removeprefix(prefix)
    return Problem("not what belongs here", got, wanted[:1].lower() + wanted[1:])


def _as_clause(description: str) -> str:
    """A field's description as the end of a sentence; abbreviations keep their capitals."""
    text = description.rstrip(".")
    return text if text[1:2].isupper() else text[:1].lower() + text[1:]


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST else text[:_LONGEST] + "…"


def _problem(
    source: TomlText, path: Path, problem: Problem, *, filled: Filled | None = None
) -> Problem:
    """The problem with its file, line and key; a value of a drawer part names that part."""
    says = problem.says
    origins = filled.origins if filled else {}
    for end in range(len(path), 0, -1):
        if path[:end] in origins:
            says = f"{says} (in the drawer part {origins[path[:end]]!r})"
            break
    written = filled.written(path) if filled else path
    key = ".".join(str(step + 1) if isinstance(step, int) else step for step in written)
    return Problem(
        _short(says),
        _short(problem.got),
        problem.expected,
        file=source.file,
        line=line_of(written, source.lines),
        key=_short(key),
        hint=problem.hint,
    )
