"""What differs between two build files: parts that come, go or change, and who wrote it so."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from boomwright.build.fields import Table
from boomwright.build.model import MANY_KINDS, ONE_KINDS, Build
from boomwright.build.power import RatePoint
from boomwright.build.quantities import Quantity

__all__ = ["PartChange", "ValueChange", "file_changes"]

_POINTERS = ("fed_by", "amplifier", "through")
"""Keys that name another part; they follow it when it is renamed."""

_UNSAID = {"name", "title", "status", "source"}
_ALIKE = 0.7
"""Share of equal values from which two parts of unlike names count as one renamed."""


@dataclass(frozen=True)
class ValueChange:
    """One value that differs.

    Parameters
    ----------
    key : str
        Key within the table.
    first, second : str
        As a person writes it, with what it rests on; empty where there is none.
    written : bool
        Whether the files themselves say different things here; if not, it follows from another
        difference, by the drawer or by the usual chain.
    """

    key: str
    first: str
    second: str
    written: bool


@dataclass(frozen=True)
class PartChange:
    """One part that differs.

    Parameters
    ----------
    kind : str
        Kind of part, ``want`` for the wish, ``music`` for the measured music, ``build``
        for the head of the file.
    name : str
        Its name, in the second build where it is there.
    change : str
        ``added``, ``removed``, ``renamed`` or ``changed``.
    before : str
        Name in the first build, empty for an added part.
    title : str
        What it is in words, for a part that is added or removed.
    values : tuple of ValueChange
        Values that differ, those that were written first.
    """

    kind: str
    name: str
    change: Literal["added", "removed", "renamed", "changed"]
    before: str = ""
    title: str = ""
    values: tuple[ValueChange, ...] = ()


def file_changes(
    first: Build,
    second: Build,
    *,
    written: tuple[Mapping[str, Any], Mapping[str, Any]] | None = None,
) -> tuple[PartChange, ...]:
    """What differs between two builds once drawer and defaults are filled in.

    Parameters
    ----------
    first, second : Build
        The builds.
    written : pair of mapping, optional
        What the two files say themselves, as read from TOML; every value counts as written
        without it.

    Returns
    -------
    tuple of PartChange
        In the order of the file; empty if both mean the same.
    """
    pairs = _pairs(first, second)
    renamed = {one.name: two.name for _, one, two in pairs if one and two}
    raw = written or (None, None)
    found = [
        change
        for kind, one, two in (("build", first, second), ("want", first.want, second.want))
        if (change := _changed(kind, one, two, {}, _head(raw[0], kind), _head(raw[1], kind)))
    ]
    found += _music_changes(first, second, raw)
    for kind, before, after in pairs:
        if before is None or after is None:
            part = before or after
            added = before is None
            found.append(
                PartChange(
                    kind,
                    part.name,
                    "added" if added else "removed",
                    "" if added else part.name,
                    part.title,
                )
            )
            continue
        tables = _table(raw[0], first, before, kind), _table(raw[1], second, after, kind)
        change = _changed(kind, before, after, renamed, *tables)
        if change is not None:
            found.append(change)
    return tuple(found)


def _music_changes(
    first: Build, second: Build, raw: tuple[Mapping[str, Any] | None, Mapping[str, Any] | None]
) -> list[PartChange]:
    """How the builds' own music differs, where either has some."""
    one, two = first.music, second.music
    if one is not None and two is not None:
        change = _changed("music", one, two, {}, _head(raw[0], "music"), _head(raw[1], "music"))
        return [change] if change is not None else []
    if two is not None:
        return [PartChange("music", "music", "added", "", two.title)]
    return [PartChange("music", "music", "removed", "music", one.title)] if one is not None else []


def _parts(build: Build, kind: str) -> list[Any]:
    content = getattr(build, kind)
    return [content] if kind in ONE_KINDS and content is not None else list(content or ())


def _pairs(first: Build, second: Build) -> list[tuple[str, Any, Any]]:
    """Parts of both builds side by side, None where one of them has no such part."""
    found: list[tuple[str, Any, Any]] = []
    for kind in (*ONE_KINDS, *MANY_KINDS):
        ones, twos = _parts(first, kind), _parts(second, kind)
        names = {part.name for part in ones} & {part.name for part in twos}
        matches = {one.name: two for one in ones for two in twos if one.name == two.name}
        left = [part for part in twos if part.name not in names]
        for one in ones:
            two = matches.get(one.name)
            if two is None:
                near = max(left, key=lambda part, one=one: _likeness(one, part), default=None)  # type: ignore[misc]
                if near is not None and (kind in ONE_KINDS or _likeness(one, near) >= _ALIKE):
                    two = near
                    left.remove(near)
            found.append((kind, one, two))
        found += [(kind, None, two) for two in left]
    return found


def _likeness(one: Any, two: Any) -> float:
    keys = [key for key in type(one).model_fields if key not in _UNSAID]
    return sum(_same(getattr(one, key), getattr(two, key)) for key in keys) / len(keys)


def _same(one: Any, two: Any) -> bool:
    """Whether two values mean the same, however they were spelled."""
    if isinstance(one, Quantity) and isinstance(two, Quantity):
        return (one.likely, one.low, one.high, one.basis) == (
            two.likely,
            two.low,
            two.high,
            two.basis,
        )
    if isinstance(one, Table) and isinstance(two, Table):
        keys = type(one).model_fields
        return type(one) is type(two) and all(
            _same(getattr(one, key), getattr(two, key)) for key in keys
        )
    if isinstance(one, tuple) and isinstance(two, tuple):
        return len(one) == len(two) and all(map(_same, one, two))
    return bool(one == two)


def _changed(
    kind: str,
    one: Any,
    two: Any,
    renamed: Mapping[str, str],
    said: Mapping[str, Any] | None,
    says: Mapping[str, Any] | None,
) -> PartChange | None:
    values = []
    tables = {*ONE_KINDS, *MANY_KINDS, "want", "music"} if kind == "build" else _UNSAID
    for key in type(one).model_fields:
        before, after = getattr(one, key), getattr(two, key)
        if key in tables or _same(before, after):
            continue
        if key in _POINTERS and renamed.get(before) == after:
            continue
        written = said is None or says is None or said.get(key) != says.get(key)
        values.append(ValueChange(key, _shown(before), _shown(after), written))
    values.sort(key=lambda value: not value.written)
    before_name, name = (getattr(item, "name", kind) for item in (one, two))
    if kind == "build":
        before_name = name = kind
    if before_name != name:
        return PartChange(kind, name, "renamed", before_name, values=tuple(values))
    return PartChange(kind, name, "changed", name, values=tuple(values)) if values else None


def _head(raw: Mapping[str, Any] | None, kind: str) -> Mapping[str, Any] | None:
    """What a file says at its head or in a table of which there is one."""
    if raw is None or kind == "build":
        return raw
    content = raw.get(kind, {})
    return content if isinstance(content, Mapping) else {}


def _table(
    raw: Mapping[str, Any] | None, build: Build, part: Any, kind: str
) -> Mapping[str, Any] | None:
    """What a file itself says of a part."""
    if raw is None or kind in ONE_KINDS:
        return _head(raw, kind)
    content = raw.get(kind, [])
    tables: Sequence[Any] = content if isinstance(content, list) else [content]
    place = [item is part for item in getattr(build, kind)].index(True)
    table = tables[place] if place < len(tables) else {}
    return table if isinstance(table, Mapping) else {}


def _shown(value: Any) -> str:
    """A value as a person writes it, with what it rests on."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Quantity):
        text = str(value)
        return text if text.endswith(f"({value.basis})") else f"{text} ({value.basis})"
    if isinstance(value, RatePoint):
        return f"{value.capacity} in {value.hours}"
    if isinstance(value, tuple) and len(value) > 1 and isinstance(value[0], float):
        return f"{len(value)} numbers from {value[0]:g} to {value[-1]:g}"
    if isinstance(value, tuple):
        return "; ".join(map(_shown, value))
    return str(value)
