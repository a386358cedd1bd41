"""Edits of a build file's text that keep its comments, order and layout."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from boomwright.build.files import parse_toml
from boomwright.build.locate import Path, line_numbers, line_of
from boomwright.build.model import MANY_KINDS

__all__ = ["Edit", "Value", "edits_between", "with_table", "with_values"]

Value = str | int | float | bool | Sequence[str] | Sequence[float]
"""What an edit may write: text, a number, true and false, or a list of texts or numbers."""

_LISTED, _NARROW = 8, 70
"""Numbers on a line of a long list, and letters of a list that stands on one line."""

_ORDER = (
    *("want", "battery", "supply", "charger", "fuse", "polarity", "switch", "cutoff", "rail"),
    *("receiver", "usb", "load", "amplifier", "driver", "cabinet", "music"),
)
"""Order in which tables usually stand in a build file."""

_HEADER = re.compile(r"^(\s*)\[(?!\[)(.*?)\]")


@dataclass(frozen=True)
class Edit:
    """One value that differs between two texts.

    Parameters
    ----------
    key : str
        Dotted path, tables of an array counted from 1.
    before, after : value or None
        The values; None where there is none.
    line : int or None
        Line in the new text; that of its table for what was taken out.
    """

    key: str
    before: Any
    after: Any
    line: int | None


def with_values(text: str, values: Mapping[Path, Value | None]) -> str:
    r"""Text with some values set, everything else as it was.

    Parameters
    ----------
    text : str
        TOML.
    values : mapping of path to value
        Path → new value; None takes the entry out, and its comment stays. Missing tables are made.

    Returns
    -------
    str

    Raises
    ------
    KeyError
        If an index of a path lies past the end of its array, or a path runs through a value.

    Examples
    --------
    >>> print(with_values('[want]\nhours = "5 h"  # one afternoon\n', {("want", "hours"): "6 h"}))
    [want]
    hours = "6 h"  # one afternoon
    <BLANKLINE>
    """
    for path, value in values.items():
        text = _with_value(text, path, value)
    return text


def with_table(text: str, kind: str, values: Mapping[str, Value]) -> str:
    r"""Text with one more table of a kind; a single ``[kind]`` becomes the first of ``[[kind]]``.

    Parameters
    ----------
    text : str
        TOML.
    kind : str
        Name of the table.
    values : mapping
        What stands in it.

    Returns
    -------
    str

    Raises
    ------
    KeyError
        If the kind is written in dotted keys, which cannot become several.

    Examples
    --------
    >>> print(with_table('[fuse]\nrating = "5 A"\n', "fuse", {"name": "lamp fuse"}))
    [[fuse]]
    rating = "5 A"
    <BLANKLINE>
    [[fuse]]
    name = "lamp fuse"
    <BLANKLINE>
    """
    import tomlkit
    from tomlkit.items import AoT, Array, InlineTable

    document = tomlkit.parse(text)
    content = document.get(kind)
    if isinstance(content, InlineTable | Array):
        array = tomlkit.array()
        for table in content if isinstance(content, Array) else [content]:
            array.append(table)
        added = tomlkit.inline_table()
        added.update(values)
        array.append(added)
        document[kind] = array
        return tomlkit.dumps(document)
    body = [f"{key} = {_written(value)}" for key, value in values.items()]
    if content is None:
        return _with_block(text, [f"[{kind}]", *body], _end_before(text, kind))
    rows, lines = text.split("\n"), line_numbers(text)
    if not isinstance(content, AoT):
        header = lines[(kind,)] - 1
        if not _HEADER.match(rows[header]):
            raise KeyError(f"{kind} is written in dotted keys and cannot become several tables")
        rows[header] = _HEADER.sub(r"\1[[\2]]", rows[header], count=1)
        text, last = "\n".join(rows), header + 1
    else:
        last = lines[(kind, len(content) - 1)]
    return _with_block(text, [f"[[{kind}]]", *body], _block_end(text, last))


def edits_between(before: str, after: str) -> tuple[Edit, ...]:
    r"""What differs in value between two texts of a build file.

    Parameters
    ----------
    before, after : str
        TOML.

    Returns
    -------
    tuple of Edit
        In the order of the new text's lines.

    Examples
    --------
    >>> edits_between('[want]\nhours = "5 h"\n', '[want]\nhours = "6 h"\n')[0].after
    '6 h'
    """
    old, new = (parse_toml(text, file="build file") for text in (before, after))
    olds, news = _leaves(old.values), _leaves(new.values)
    found = []
    for path in [*news, *(path for path in olds if path not in news)]:
        was, now = olds.get(path), news.get(path)
        if was == now:
            continue
        source = news if path in news else olds
        alone = all(other[:2] != (path[0], 1) for other in source)
        steps = (path[0], *path[2:]) if alone and path[1:2] == (0,) else path
        line = line_of(path, new.lines) if path in new.lines else line_of(steps, new.lines)
        key = ".".join(str(step + 1) if isinstance(step, int) else step for step in steps)
        found.append(Edit(key, was, now, line))
    return tuple(sorted(found, key=lambda edit: edit.line or 0))


def _leaves(values: Mapping[str, Any]) -> dict[Path, Any]:
    """Every value with its path; a single table counts as the first of its kind."""
    found: dict[Path, Any] = {}
    for kind, content in values.items():
        if kind in MANY_KINDS and isinstance(content, dict):
            content = [content]
        if isinstance(content, dict):
            found |= {(kind, key): value for key, value in content.items()}
        elif isinstance(content, list):
            for index, table in enumerate(content):
                if isinstance(table, dict):
                    found |= {(kind, index, key): value for key, value in table.items()}
        else:
            found[(kind,)] = content
    return found


def _with_value(text: str, path: Path, value: Value | None) -> str:
    import tomlkit
    from tomlkit.container import Container
    from tomlkit.items import AoT, Array, InlineTable, Table

    document = tomlkit.parse(text)
    place: Any = document
    for end, step in enumerate(path[:-1]):
        if isinstance(step, int):
            if not isinstance(place, AoT | Array) or step >= len(place):
                raise KeyError(f"no table {step + 1} at {path[0]}")
        elif not isinstance(place, Container | Table | InlineTable):
            raise KeyError(f"{step} stands in no table")
        elif step not in place:
            if value is None:
                return text
            if end == 0 and len(path) == 2:
                return with_table(text, step, {str(path[1]): value})
            place[step] = tomlkit.table()
        place = place[step]
    key = str(path[-1])
    if not isinstance(place, Container | Table | InlineTable):
        raise KeyError(f"{key} stands in no table")
    if value is None:
        _take_out(place, key)
    elif key not in place and isinstance(place, Table) and (line := _header_line(text, path[:-1])):
        rows = text.split("\n")
        rows.insert(_last_statement(text, line), f"{key} = {_written(value)}")
        return "\n".join(rows)
    elif isinstance(place.get(key), Array) and not isinstance(value, str | int | float):
        _set_items(place[key], value)
    else:
        place[key] = tomlkit.parse(f"value = {_written(value)}")["value"]
    return tomlkit.dumps(document)


def _set_items(array: Any, value: Sequence[str] | Sequence[float]) -> None:
    """Put a list in place of another item by item, so that comments between them stay."""
    while len(array) > len(value):
        array.pop()
    for place, item in enumerate(value):
        if place == len(array):
            array.append(item)
        elif array[place] != item:
            array[place] = item


def _take_out(place: Any, key: str) -> None:
    """Take an entry out and leave the comment behind it on a line of its own."""
    import tomlkit
    from tomlkit.items import Table

    if key not in place:
        return
    body = place.value.body if isinstance(place, Table) else getattr(place, "body", [])
    found = [index for index, (name, _) in enumerate(body) if name is not None and name.key == key]
    comment = body[found[0]][1].trivia.comment if found else ""
    place.pop(key)
    if comment:
        body[found[0]] = (None, tomlkit.comment(comment.lstrip("# ")))


def _written(value: Value) -> str:
    import tomlkit

    if isinstance(value, str | int | float):
        return str(tomlkit.item(value).as_string())
    items = [_written(item) for item in value]
    step = _LISTED if not any(isinstance(item, str) for item in value) else 1
    if len(items) <= _LISTED and sum(map(len, items)) < _NARROW:
        return f"[{', '.join(items)}]"
    lines = (", ".join(items[at : at + step]) for at in range(0, len(items), step))
    return "[\n" + "".join(f"  {line},\n" for line in lines) + "]"


def _header_lines(text: str) -> list[int]:
    rows = text.split("\n")
    lines = set(line_numbers(text).values())
    return sorted(line for line in lines if rows[line - 1].lstrip().startswith("["))


def _header_line(text: str, table: Path) -> int | None:
    """Line of a table's own header, None for tables written in another way."""
    line = line_numbers(text).get(table)
    return line if line in _header_lines(text) else None


def _next_header(text: str, line: int) -> int:
    """Line of the header after a line, one past the end where there is none."""
    after = (header for header in _header_lines(text) if header > line)
    return next(after, len(text.split("\n")) + 1)


def _last_statement(text: str, header: int) -> int:
    """Last line of the last entry of the table whose header stands on a line."""
    rows = text.split("\n")
    last = _next_header(text, header) - 1
    while last > header and (not rows[last - 1].strip() or rows[last - 1].lstrip().startswith("#")):
        last -= 1
    return last


def _block_end(text: str, header: int) -> int:
    """Last line that belongs to a table, comments under its entries with it.

    A comment with no blank line between it and the next header belongs to that header.
    """
    rows = text.split("\n")
    after, least = _next_header(text, header), _last_statement(text, header)
    last = after - 1
    while after <= len(rows) and last > least and rows[last - 1].lstrip().startswith("#"):
        last -= 1
    while last > least and not rows[last - 1].strip():
        last -= 1
    return last


def _end_before(text: str, kind: str) -> int:
    """Last line of the table after which a new kind usually stands."""
    lines, headers = line_numbers(text), _header_lines(text)
    place = _ORDER.index(kind) if kind in _ORDER else len(_ORDER)
    for earlier in reversed(_ORDER[:place]):
        found = [line for path, line in lines.items() if path[0] == earlier and line in headers]
        if found:
            return _block_end(text, max(found))
    first = headers[0] if headers else len(text.split("\n")) + 1
    # Ahead of the first table: the same walk, as if the top of the file were a table.
    rows, last = text.split("\n"), first - 1
    while first <= len(rows) and last > 0 and rows[last - 1].lstrip().startswith("#"):
        last -= 1
    while last > 0 and not rows[last - 1].strip():
        last -= 1
    return last


def _with_block(text: str, block: list[str], after: int) -> str:
    """Text with a block of lines behind a line, one blank line on either side."""
    rows = text.split("\n")
    head, tail = rows[:after], rows[after:]
    if head:
        block = ["", *block]
    if any(row.strip() for row in tail) and tail[0].strip():
        block = [*block, ""]
    return "\n".join([*head, *block, *(tail or [""])])
