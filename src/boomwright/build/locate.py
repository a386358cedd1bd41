"""Line numbers of the entries of a TOML text.

The standard library reads TOML but does not say where an entry stood. This walks the text once,
skipping over strings and comments, and notes the line of every table header and key. It expects a
text that :mod:`tomllib` has accepted.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator

__all__ = ["Path", "line_numbers", "line_of", "without_strings"]

Path = tuple[str | int, ...]

_STRING_OR_COMMENT = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}'
    r"|'''.*?'{3,5}"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*'"
    r"|\#[^\n]*",
    re.DOTALL,
)
_TOKEN = re.compile(
    _STRING_OR_COMMENT.pattern + r"|\n|[\[\]{}=]|[^\"'#\n\[\]{}=]+",
    re.DOTALL,
)


def without_strings(text: str) -> str:
    """TOML text with every string and comment cut to one letter, each line in its place."""
    return _STRING_OR_COMMENT.sub(lambda found: "x" + "\n" * found[0].count("\n"), text)


def _statements(text: str) -> Iterator[tuple[int, str]]:
    """Line and the part up to '=' of each statement: '[table]', '[[table]]' or 'key ='."""
    line, depth, head, start, in_value = 1, 0, "", 1, False
    for match in _TOKEN.finditer(text):
        token = match[0]
        if token == "\n" and depth <= 0:
            if head.strip():
                yield start, head.strip()
            head, in_value, depth = "", False, 0
        elif token == "=" and not in_value and depth == 0:
            in_value = True
            head += token
        elif in_value:
            depth += {"[": 1, "{": 1, "]": -1, "}": -1}.get(token, 0)
        elif not token.startswith("#"):
            if not head.strip():
                start = line
            head += token
        line += token.count("\n")
    if head.strip():
        yield start, head.strip()


def _keys(head: str) -> tuple[str, ...]:
    """Parts of a dotted key, quotes undone."""
    nested: object = tomllib.loads(f"{head} = 0")
    keys = []
    while isinstance(nested, dict):
        key, nested = next(iter(nested.items()))
        keys.append(key)
    return tuple(keys)


def _landing(path: tuple[str, ...], counts: dict[tuple[str, ...], int]) -> Path:
    """Path with the index of the newest table put in behind every array of tables."""
    found: list[str | int] = []
    for end in range(1, len(path) + 1):
        found.append(path[end - 1])
        if path[:end] in counts:
            found.append(counts[path[:end]])
    return tuple(found)


def line_numbers(text: str) -> dict[Path, int]:
    r"""Line of every table and key.

    Parameters
    ----------
    text : str
        TOML that :mod:`tomllib` accepts.

    Returns
    -------
    dict of tuple to int
        Path → line from 1; a table in an array has its index in the path.

    Examples
    --------
    >>> line_numbers("name = 'x'\n[[fuse]]\nrating = '5 A'\n")[("fuse", 0, "rating")]
    3
    """
    found: dict[Path, int] = {}
    counts: dict[tuple[str, ...], int] = {}
    table: Path = ()
    for line, head in _statements(text):
        if head.startswith("[["):
            keys = _keys(head[2:-2].strip())
            counts[keys] = counts.get(keys, -1) + 1
            # Arrays inside the table before belong to that one: here they start anew.
            counts = {
                array: count
                for array, count in counts.items()
                if len(array) <= len(keys) or array[: len(keys)] != keys
            }
            table = _landing(keys, counts)
            _note(table, line, found)
        elif head.startswith("["):
            table = _landing(_keys(head[1:-1].strip()), counts)
            _note(table, line, found)
            found[table] = line
        elif head.endswith("="):
            _note((*table, *_keys(head[:-1].strip())), line, found)
    return found


def _note(path: Path, line: int, found: dict[Path, int]) -> None:
    """Line of a path and of every table around it that has none yet."""
    for end in range(1, len(path) + 1):
        found.setdefault(path[:end], line)


def line_of(path: Path, lines: dict[Path, int]) -> int | None:
    """Line of an entry, or of the nearest thing around it that has one.

    Parameters
    ----------
    path : tuple
        Keys and indexes from the top.
    lines : dict
        From :func:`line_numbers`.

    Returns
    -------
    int or None

    Examples
    --------
    >>> line_of(("fuse", 0, "rating"), {("fuse", 0): 7})
    7
    """
    for end in range(len(path), 0, -1):
        if path[:end] in lines:
            return lines[path[:end]]
    return None
