"""A fix put into the text of a build file: the right table, the right place in the power tree."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from boomwright.advice.finding import Change, Fix
from boomwright.build.drawer import Drawer
from boomwright.build.edit import Value, with_table, with_values
from boomwright.build.files import parse_toml
from boomwright.build.fill import CHAIN, fill
from boomwright.build.locate import Path
from boomwright.build.model import FED_KINDS, MANY_KINDS, ONE_KINDS
from boomwright.build.nearest import nearest
from boomwright.errors import BuildFileError, Problem

__all__ = ["mended_text"]

_OF_USE = {"name", "part", "fed_by", "lead"}
"""Keys that say how a part is used, whatever its kind: another part in its place keeps them."""

_OF_USE_BY_KIND: Mapping[str, set[str]] = {
    "battery": {"charged_to", "vented_bay"},
    "charger": {"while_playing", "through"},
    "cabinet": {"electronics_apart", "air_holes", "leaks"},
    "fuse": {"distance"},
    "usb": {"current", "phone_energy"},
    "load": {"on_share"},
    "receiver": {"negative", "isolated"},
    "amplifier": {
        *("input", "input_pad", "input_circuit", "speaker_negatives", "sink_outside"),
        "supply_capacitor",
    },
    "driver": {"amplifier", "channel", "count", "wiring", "lead_area", "lead_length"},
}


@dataclass(frozen=True)
class _Parts:
    """Where each part stands in a text, what it is, and what feeds it."""

    paths: dict[str, Path]
    kinds: dict[str, str]
    feeds: dict[str, str]
    stated: frozenset[str]
    drives: dict[str, str]


def mended_text(text: str, fix: Fix, *, drawer: Drawer, file: str = "build file") -> str:
    """Text of a build file with a fix put into it; comments, order and layout stay.

    A part that the fix names and the file does not have gets a table of its own. Unless the fix
    says what it feeds, a fuse, polarity protection, switch or cutoff takes its usual place between
    the battery and all that hung there. Another drawer part in a part's place takes with it what
    the file said of the old one, but not how it is used.

    Parameters
    ----------
    text : str
        Text of a build file that reads.
    fix : Fix
        The edits.
    drawer : Drawer
        Where parts are looked up.
    file : str
        Name for messages.

    Returns
    -------
    str

    Raises
    ------
    BuildFileError
        If the text is not TOML, or the fix cannot be put into it.
    """
    newline = "\r\n" if "\r\n" in text else "\n"
    plain = text.replace("\r\n", "\n")
    before = _parts(plain, drawer, file)
    changes = _with_free_names(fix.changes, before)
    added = {
        change.part: change.kind
        for change in changes
        if change.kind and change.part not in before.paths
    }
    intended = _intended(before, changes, added)
    try:
        edited = _with_changes(plain, changes, added, drawer, file)
        edited = _with_feeds(edited, before, intended, drawer, file)
    except KeyError as error:
        problem = Problem(f"cannot be mended by itself: {error.args[0]}", file=file)
        raise BuildFileError([problem]) from None
    return edited.replace("\n", newline)


def _parts(text: str, drawer: Drawer, file: str) -> _Parts:
    raw = parse_toml(text, file=file).values
    filled = fill(raw, drawer)
    paths: dict[str, Path] = {}
    kinds: dict[str, str] = {}
    feeds: dict[str, str] = {}
    drives: dict[str, str] = {}
    stated = set()
    for kind in (*ONE_KINDS, *MANY_KINDS):
        content = filled.values.get(kind)
        tables = content if isinstance(content, list) else [content]
        for index, table in enumerate(tables):
            if not isinstance(table, dict):
                continue
            name = str(table["name"])
            path: Path = (kind,) if kind in ONE_KINDS else filled.written((kind, index))
            paths[name], kinds[name] = path, kind
            if kind in FED_KINDS:
                feeds[name] = str(table.get("fed_by", ""))
                if _raw_table(raw, path).get("fed_by"):
                    stated.add(name)
            if kind == "driver":
                drives[name] = str(table.get("amplifier", ""))
    return _Parts(paths, kinds, feeds, frozenset(stated), drives)


def _raw_table(raw: Mapping[str, Any], path: Path) -> dict[str, Any]:
    table: Any = raw
    for step in path:
        table = table[step]
    return dict(table)


def _with_free_names(changes: tuple[Change, ...], before: _Parts) -> tuple[Change, ...]:
    """The changes, a new part named anew where another kind of part has its name."""
    anew: dict[str, str] = {}
    for change in changes:
        taken = before.kinds.get(change.part)
        if change.kind and taken and taken != change.kind and change.part not in anew:
            number = 2
            while f"{change.part}-{number}" in before.kinds:
                number += 1
            anew[change.part] = f"{change.part}-{number}"

    def renamed(change: Change) -> Change:
        part = anew.get(change.part, change.part) if change.kind else change.part
        value = change.value
        if change.key in {"fed_by", "through"} and isinstance(value, str):
            value = anew.get(value, value)
        return Change(part, change.key, value, kind=change.kind)

    return tuple(renamed(change) for change in changes)


def _intended(
    before: _Parts, changes: tuple[Change, ...], added: Mapping[str, str]
) -> dict[str, str]:
    """What is to feed each part once the fix is in; a part left out takes what is usual."""
    feeds = dict(before.feeds)
    for change in changes:
        if change.key == "fed_by":
            if isinstance(change.value, str):
                feeds[change.part] = change.value
            else:
                feeds.pop(change.part, None)
    for name, kind in added.items():
        if kind not in FED_KINDS:
            continue
        moved = [part for part, feed in feeds.items() if feed == name]
        if moved:
            feeds.setdefault(name, before.feeds.get(moved[0], _source(before)))
        elif kind in CHAIN and name not in feeds:
            anchor, moved = _usual_place(before, feeds, kind)
            feeds |= dict.fromkeys(moved, name)
            feeds[name] = anchor
    return feeds


def _source(before: _Parts) -> str:
    sources = [name for name, kind in before.kinds.items() if kind in {"battery", "supply"}]
    return sources[0] if sources else "battery"


def _usual_place(before: _Parts, feeds: Mapping[str, str], kind: str) -> tuple[str, list[str]]:
    """What feeds a new part of the usual chain, and the parts that it takes over."""

    def rank(name: str) -> int:
        kind = before.kinds.get(name, "")
        return CHAIN.index(kind) if kind in CHAIN else len(CHAIN)

    own, source = CHAIN.index(kind), _source(before)
    name = next((part for part, what in before.kinds.items() if what == "amplifier"), "")
    upward: list[str] = []
    while name in feeds and feeds[name] not in upward and feeds[name] != source:
        name = feeds[name]
        upward.append(name)
    # The last part toward the amplifier that usually stands ahead of the new one.
    anchor = next((part for part in upward if rank(part) < own), source)
    moved = [part for part, feed in feeds.items() if feed == anchor and rank(part) >= own]
    return anchor, moved


def _with_changes(
    text: str, changes: tuple[Change, ...], added: Mapping[str, str], drawer: Drawer, file: str
) -> str:
    for name, kind in added.items():
        values: dict[str, Value] = {
            change.key: change.value
            for change in changes
            if change.part == name and change.value is not None and change.key != "fed_by"
        }
        count = sum(path[0] == kind for path in _parts(text, drawer, file).paths.values())
        usual = f"{kind}-{count + 1}" if count else kind
        text = with_table(text, kind, values if name == usual else {"name": name, **values})
    paths = {**_parts(text, drawer, file).paths, "want": ("want",)}
    for change in changes:
        if change.part in added:
            continue
        if change.part not in paths:
            hint = nearest(change.part, list(paths))
            raise BuildFileError(
                [Problem("no such part to mend", got=repr(change.part), file=file, hint=hint)]
            )
        path = paths[change.part]
        if change.key == "part" and isinstance(change.value, str):
            text = _without_the_old_part(text, path, change.value, file)
        # What feeds a part is written at the end, and only where the usual feed is another.
        if change.key != "fed_by" or change.value is None:
            text = with_values(text, {(*path, change.key): change.value})
    return text


def _without_the_old_part(text: str, path: Path, part: str, file: str) -> str:
    """Text without what a table says of the thing that another takes the place of."""
    table = _raw_table(parse_toml(text, file=file).values, path)
    if table.get("part") == part:
        return text
    kept = _OF_USE | _OF_USE_BY_KIND.get(str(path[0]), set())
    return with_values(text, {(*path, key): None for key in table if key not in kept})


def _with_feeds(
    text: str, before: _Parts, intended: Mapping[str, str], drawer: Drawer, file: str
) -> str:
    """Text in which every part is fed by what is intended, written out where it must be."""
    for _ in range(len(intended) + 1):
        now = _parts(text, drawer, file)
        wrong: dict[Path, Value | None] = {
            (*now.paths[name], "fed_by"): feed
            for name, feed in intended.items()
            if now.feeds.get(name) != feed and name in now.paths
        }
        wrong |= {
            (*now.paths[name], "amplifier"): board
            for name, board in before.drives.items()
            if board and now.drives.get(name) == ""
        }
        if not wrong:
            return text
        path, value = next(iter(wrong.items()))
        text = with_values(text, {path: value})
    raise KeyError("who feeds whom cannot be put right")
