"""The power tree: which part takes its power from which."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from boomwright.build.locate import Path
from boomwright.build.model import FED_KINDS, Build, whole_problems
from boomwright.build.nearest import nearest
from boomwright.build.power import Fed
from boomwright.errors import Problem

__all__ = ["FEEDERS", "Node", "power_tree", "tree_problems"]

FEEDERS = ("fuse", "polarity", "switch", "cutoff", "rail")
"""Kinds below the battery that can feed others."""


@dataclass(frozen=True)
class Node:
    """A part's place in the power tree.

    Parameters
    ----------
    kind : str
        Kind of part.
    part : Fed
        The part.
    parent : int
        Place of what feeds it in the tuple that :func:`power_tree` gives; -1 is the source.
    """

    kind: str
    part: Fed
    parent: int


def power_tree(build: Build) -> tuple[Node, ...]:
    """Parts below the source, each after what feeds it.

    Parameters
    ----------
    build : Build
        A build as read from a file, whose tree has no loops.

    Returns
    -------
    tuple of Node

    Raises
    ------
    ValueError
        If a part is fed by nothing that leads to the source.
    """
    waiting = list(build.fed())
    places = {build.source.name: -1}
    nodes: list[Node] = []
    while waiting:
        ready = [(kind, part) for kind, part in waiting if part.fed_by in places]
        if not ready:
            names = ", ".join(part.name for _, part in waiting)
            raise ValueError(f"nothing leads from {build.source.name} to {names}")
        for kind, part in ready:
            nodes.append(Node(kind, part, places[part.fed_by]))
            places[part.name] = len(nodes) - 1
        waiting = [(kind, part) for kind, part in waiting if part.name not in places]
    return tuple(nodes)


def tree_problems(values: Mapping[str, Any]) -> list[tuple[Path, Problem]]:
    """What is wrong with who feeds whom, and with which amplifier drives which driver.

    Works on raw values, so that it can speak up beside other problems of the same file.

    Parameters
    ----------
    values : mapping
        Full form of the file's values.

    Returns
    -------
    list of (path, Problem)
    """
    parents: dict[str, str] = {}
    paths: dict[str, Path] = {}
    kinds: dict[str, str] = {}
    for source in ("battery", "supply"):
        if isinstance(values.get(source), dict):
            kinds[str(values[source].get("name"))] = source
    sources = set(kinds)
    for kind in FED_KINDS:
        content = values.get(kind)
        for index, item in enumerate(content if isinstance(content, list) else []):
            if isinstance(item, dict):
                name = str(item.get("name"))
                kinds[name] = kind
                if isinstance(item.get("fed_by"), str):
                    parents[name] = item["fed_by"]
                    paths[name] = (kind, index, "fed_by")
    if not sources:
        return _whole_problems(values) + _driver_problems(values)
    can_feed = [name for name, kind in kinds.items() if kind in (*FEEDERS, "battery", "supply")]
    problems = []
    for name, parent in parents.items():
        if parent not in kinds:
            problem = Problem(
                "fed by an unknown part", got=repr(parent), hint=nearest(parent, can_feed)
            )
        elif parent not in can_feed:
            says = f"fed by {parent!r}, but the kind {kinds[parent]} feeds nothing"
            problem = Problem(says, hint=f"These can: {', '.join(can_feed)}.")
        elif name in _upstream(name, parents):
            ring = " ← ".join([name, *_upstream(name, parents)])
            problem = Problem(
                f"the power runs in a ring: {ring}", hint="Each line must lead to the source."
            )
        else:
            continue
        problems.append((paths[name], problem))
    problems += _charger_problems(values, kinds)
    return _whole_problems(values) + problems + _driver_problems(values)


def _charger_problems(
    values: Mapping[str, Any], kinds: Mapping[str, str]
) -> list[tuple[Path, Problem]]:
    """A charging lead that joins a part nobody knows: it would pass for one without a fuse."""
    charger = values.get("charger")
    joins = charger.get("through", "") if isinstance(charger, dict) else ""
    if not isinstance(joins, str) or not joins or joins in kinds:
        return []
    problem = Problem("joins an unknown part", got=repr(joins), hint=nearest(joins, [*kinds]))
    return [(("charger", "through"), problem)]


def _whole_problems(values: Mapping[str, Any]) -> list[tuple[Path, Problem]]:
    """What the model can only say of the whole file once all else in it is right."""
    present = {kind for kind in ("battery", "supply") if kind in values}
    present |= {kind for kind in ("amplifier", "driver") if values.get(kind)}
    return [((), problem) for problem in whole_problems(present)]


def _upstream(name: str, parents: Mapping[str, str]) -> list[str]:
    """Names met on the way up, stopping at the source or when one comes again."""
    seen: dict[str, None] = {}
    while name in parents and parents[name] not in seen:
        name = parents[name]
        seen[name] = None
    return list(seen)


def _driver_problems(values: Mapping[str, Any]) -> list[tuple[Path, Problem]]:
    boards = values.get("amplifier")
    amplifiers = [
        str(item.get("name"))
        for item in (boards if isinstance(boards, list) else [])
        if isinstance(item, dict)
    ]
    problems: list[tuple[Path, Problem]] = []
    drivers = values.get("driver")
    for index, driver in enumerate(drivers if isinstance(drivers, list) else []):
        if not isinstance(driver, dict) or not amplifiers:
            continue
        wanted = driver.get("amplifier", "")
        if not isinstance(wanted, str):
            continue
        if not wanted:
            problem = Problem(
                "does not say which amplifier drives it", hint=nearest("", amplifiers)
            )
        elif wanted not in amplifiers:
            problem = Problem(
                "driven by an unknown amplifier",
                got=repr(wanted),
                hint=nearest(wanted, amplifiers),
            )
        else:
            continue
        problems.append((("driver", index, "amplifier"), problem))
    return problems
