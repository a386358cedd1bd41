"""What a short build file leaves unsaid: drawer parts, names, and the usual power tree.

A file may write ``[fuse]`` once or ``[[fuse]]`` several times, name a part of the drawer for what
it does not say, and leave out who feeds whom. Here that becomes the full form that the model
checks. Nothing is changed that the file does say.
"""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from boomwright.build.drawer import Drawer
from boomwright.build.fill_circuits import give_circuits
from boomwright.build.locate import Path
from boomwright.build.model import FED_KINDS, MANY_KINDS, ONE_KINDS, Build
from boomwright.build.nearest import nearest
from boomwright.build.quantities import parse_quantity
from boomwright.errors import Problem, QuantityError

__all__ = ["CHAIN", "Filled", "fill"]

CHAIN = ("fuse", "polarity", "switch", "cutoff")
"""Usual order of what stands between the battery and everything it feeds."""

_USB_VOLTAGE = 5.0
_SIZES = frozenset({"width", "height", "depth"})


@dataclass(frozen=True)
class Filled:
    """The values of a build file in full form.

    Parameters
    ----------
    values : dict
        What the model checks.
    problems : tuple of (path, Problem)
        What could not be filled in.
    origins : dict
        Path of each value that came from the drawer → name of the drawer part.
    single : frozenset of str
        Kinds written as one table, whose paths in the file have no index.
    """

    values: dict[str, Any]
    problems: tuple[tuple[Path, Problem], ...] = ()
    origins: dict[Path, str] = field(default_factory=dict)
    single: frozenset[str] = frozenset()

    def written(self, path: Path) -> Path:
        """Path as the file has it: without the index where a kind was written as one table."""
        if len(path) > 1 and path[0] in self.single and path[1] == 0:
            return (path[0], *path[2:])
        return path


def fill(raw: Mapping[str, Any], drawer: Drawer) -> Filled:
    """Full form of a build file's values.

    Parameters
    ----------
    raw : mapping
        As read from TOML.
    drawer : Drawer
        Where ``part = "…"`` is looked up.

    Returns
    -------
    Filled
    """
    values: dict[str, Any] = {}
    problems: list[tuple[Path, Problem]] = []
    origins: dict[Path, str] = {}
    single = {kind for kind in MANY_KINDS if isinstance(raw.get(kind), dict)}
    for kind, content in raw.items():
        if kind in ONE_KINDS:
            if isinstance(content, list):
                says = f"more than one {kind}"
                problems.append(((kind,), Problem(says, expected=f"one [{kind}] table")))
                continue
            values[kind] = _filled_table(kind, content, (kind,), drawer, problems, origins)
        elif kind in MANY_KINDS:
            tables = content if isinstance(content, list) else [content]
            values[kind] = [
                _filled_table(kind, table, (kind, index), drawer, problems, origins)
                for index, table in enumerate(tables)
            ]
        else:
            if kind not in Build.model_fields:
                known = [*Build.model_fields]
                problems.append(((kind,), Problem("unknown key", hint=nearest(kind, known))))
                continue
            values[kind] = content
    _give_names(values, problems)
    _give_feeds(values)
    give_circuits(values, drawer, problems, origins)
    _give_amplifier(values)
    return Filled(values, tuple(problems), origins, frozenset(single))


def _filled_table(
    kind: str,
    table: Any,
    path: Path,
    drawer: Drawer,
    problems: list[tuple[Path, Problem]],
    origins: dict[Path, str],
) -> Any:
    if not isinstance(table, dict):
        return table
    part = table.get("part")
    if not isinstance(part, str) or not part:
        return dict(table)
    filling = drawer.filling(kind, part)
    if filling is None:
        hint = nearest(part, drawer.names(kind))
        hint = f"{hint} 'boomwright drawer {kind}' lists them.".strip()
        problems.append(
            ((*path, "part"), Problem(f"no such {kind} in the drawer", got=repr(part), hint=hint))
        )
        return dict(table)
    if kind == "cabinet" and "volume" in table and not _SIZES & table.keys():
        # A volume of one's own goes before the three sizes of the part it replaces.
        filling = {key: value for key, value in filling.items() if key not in _SIZES}
    origins |= {(*path, key): part for key in filling if key not in table}
    return {**filling, **table}


def _tables(values: Mapping[str, Any]) -> list[tuple[str, int | None, dict[str, Any]]]:
    """Every part table with its kind and its index, None where a kind has one only."""
    found: list[tuple[str, int | None, dict[str, Any]]] = []
    for kind in (*ONE_KINDS, *MANY_KINDS):
        content = values.get(kind)
        if isinstance(content, dict):
            found.append((kind, None, content))
        elif isinstance(content, list):
            found += [
                (kind, index, item) for index, item in enumerate(content) if isinstance(item, dict)
            ]
    return found


def _give_names(values: Mapping[str, Any], problems: list[tuple[Path, Problem]]) -> None:
    taken: dict[str, str] = {}
    for kind, index, table in _tables(values):
        if table.get("name", "") == "":
            table["name"] = kind if not index else f"{kind}-{index + 1}"
        name = table["name"]
        if not isinstance(name, str):
            continue
        if name in taken:
            path: Path = (kind, "name") if index is None else (kind, index, "name")
            says = f"the name {name!r} is taken by another {taken[name]}"
            problems.append((path, Problem(says, hint="Give each part its own name.")))
        taken[name] = kind


def _give_feeds(values: Mapping[str, Any]) -> None:
    """Hang every part that does not say who feeds it where it usually hangs."""
    source = "supply" if "battery" not in values else "battery"
    table = values.get(source)
    end = str(table.get("name", source)) if isinstance(table, dict) else source
    for kind in CHAIN:
        for item in _list(values, kind)[:1]:
            if item.get("fed_by", "") == "":
                item["fed_by"] = end
                end = str(item["name"])
            elif item["fed_by"] == end:
                end = str(item["name"])
    rails = _list(values, "rail")
    for kind in FED_KINDS:
        for item in _list(values, kind):
            if item.get("fed_by", "") == "":
                item["fed_by"] = _usual_feed(kind, item, rails, end)


def _usual_feed(kind: str, item: Mapping[str, Any], rails: list[dict[str, Any]], end: str) -> str:
    """Receivers and USB ports hang on the rail of their voltage, all else on the chain's end."""
    if kind not in {"receiver", "usb"}:
        return end
    wanted = _USB_VOLTAGE if kind == "usb" else _volts(item.get("voltage", "5 V"))
    for rail in rails:
        volts = _volts(rail.get("voltage"))
        if volts is not None and wanted is not None and abs(volts - wanted) < 0.06 * wanted:
            return str(rail["name"])
    return end


def _give_amplifier(values: Mapping[str, Any]) -> None:
    amplifiers = _list(values, "amplifier")
    if len(amplifiers) == 1:
        for driver in _list(values, "driver"):
            driver.setdefault("amplifier", amplifiers[0]["name"])


def _list(values: Mapping[str, Any], kind: str) -> list[dict[str, Any]]:
    content = values.get(kind)
    return [item for item in content if isinstance(item, dict)] if isinstance(content, list) else []


def _volts(text: object) -> float | None:
    with contextlib.suppress(QuantityError):
        return parse_quantity(text, "voltage").likely if isinstance(text, str) else None
    return None
