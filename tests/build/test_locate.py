"""Line numbers of a TOML text against the standard library's reading of it."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from boomwright.build.locate import Path, line_numbers, line_of, without_strings

KEYS = st.one_of(
    st.from_regex(r"[A-Za-z0-9_-]{1,8}", fullmatch=True),
    st.sampled_from(["a.b", "with space", "#", "=", "[x]", "'", '"', "é", "", "{", "]]"]),
)
SCALARS = st.one_of(
    st.integers(-(2**63), 2**63 - 1),
    st.booleans(),
    st.floats(allow_nan=False),
    st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=12),
    st.sampled_from(["# no comment", "[fuse]", "a = 1", '"""', "'''", "\\", "two\nlines", "={[#"]),
)
ARRAYS = st.lists(SCALARS, max_size=3)
TABLES = st.recursive(
    st.dictionaries(KEYS, st.one_of(SCALARS, ARRAYS), max_size=3),
    lambda inner: st.dictionaries(
        KEYS, st.one_of(SCALARS, ARRAYS, inner, st.lists(inner, min_size=1, max_size=3)), max_size=4
    ),
    max_leaves=12,
)


def _paths(value: Any, path: Path = ()) -> list[Path]:
    """Every path of nested values down to keys and to tables in arrays."""
    found: list[Path] = []
    steps = value.items() if isinstance(value, dict) else enumerate(value)
    for step, inner in steps:
        is_table = isinstance(inner, dict)
        if isinstance(step, str) or is_table:
            found.append((*path, step))
        if is_table or (isinstance(inner, list) and inner and isinstance(inner[0], dict)):
            found += _paths(inner, (*path, step))
    return found


def _names(line: str, key: str) -> bool:
    """Whether the line is a header or an assignment that has the key among its parts."""
    tail = line.strip()
    if tail.startswith("["):
        nested: Any = tomllib.loads(tail)
    else:
        nested = tomllib.loads(without_value(tail))
    while isinstance(nested, dict | list) and nested:
        nested = nested[-1] if isinstance(nested, list) else nested
        name, nested = next(iter(nested.items()))
        if name == key:
            return True
    return False


def without_value(line: str) -> str:
    """'key = 0' of a line that may begin a value of several lines."""
    for end in range(len(line)):
        if line[end] == "=":
            candidate = f"{line[:end]}= 0"
            try:
                tomllib.loads(candidate)
            except tomllib.TOMLDecodeError:
                continue
            return candidate
    raise AssertionError(f"no key on the line {line!r}")


@settings(max_examples=250, deadline=None)
@given(TABLES)
def test_every_path_stands_on_the_line_that_names_it(values):
    text = tomlkit.dumps(values)
    read = tomllib.loads(text)
    lines = line_numbers(text)
    rows = text.split("\n")
    for path in _paths(read):
        line = line_of(path, lines)
        assert line is not None
        key = next(step for step in reversed(path) if isinstance(step, str))
        if path in lines:
            assert _names(rows[line - 1], key)


@settings(max_examples=100, deadline=None)
@given(TABLES)
def test_windows_line_ends_change_no_line(values):
    text = tomlkit.dumps(values)
    assert line_numbers(text.replace("\n", "\r\n").replace("\r\n", "\n")) == line_numbers(text)
    assert line_numbers(text.rstrip("\n")) == line_numbers(text)


TEXT = """\
# [comment]
name = "a # b = [c]"
story = \"\"\"
[not-a-table]
key = "no \\\\" key"
\\"\"\" still
\"\"\"
raw = '''
[[nor-this]]
x = 1
'''   # done
numbers = [
    1, # ] not the end
    "]",
    [2,
     3],
]
a.b . "c.d" = true
"quoted key" = {x = 1, y = "}"}

[battery]   # header
'odd=key' = 5
  capacity = "7 Ah"
[battery.pack.inner]
z = ""
[[fuse]]
rating = "5 A"
[[fuse]]

[fuse.lead]
area = '''0.5'''
[[fuse]]
rating = "6 A"
[ "x y" . z ]
last = \"\"\"\"quoted\"\"\"\""""

EXPECTED: dict[Path, int] = {
    ("name",): 2,
    ("story",): 3,
    ("raw",): 8,
    ("numbers",): 12,
    ("a",): 18,
    ("a", "b"): 18,
    ("a", "b", "c.d"): 18,
    ("quoted key",): 19,
    ("battery",): 21,
    ("battery", "odd=key"): 22,
    ("battery", "capacity"): 23,
    ("battery", "pack"): 24,
    ("battery", "pack", "inner"): 24,
    ("battery", "pack", "inner", "z"): 25,
    ("fuse",): 26,
    ("fuse", 0): 26,
    ("fuse", 0, "rating"): 27,
    ("fuse", 1): 28,
    ("fuse", 1, "lead"): 30,
    ("fuse", 1, "lead", "area"): 31,
    ("fuse", 2): 32,
    ("fuse", 2, "rating"): 33,
    ("x y",): 34,
    ("x y", "z"): 34,
    ("x y", "z", "last"): 35,
}


def test_text_with_every_way_of_writing():
    assert tomllib.loads(TEXT)
    assert line_numbers(TEXT) == EXPECTED


def test_arrays_in_arrays_start_anew():
    text = "[[a]]\n[[a.b]]\n[[a.b]]\n[[a]]\n[[a.b]]\nc = 1\n"
    assert tomllib.loads(text)["a"][1]["b"][0] == {"c": 1}
    lines = line_numbers(text)
    assert lines[("a", 0, "b", 1)] == 3
    assert lines[("a", 1, "b", 0)] == 5
    assert lines[("a", 1, "b", 0, "c")] == 6
    assert ("a", 1, "b", 2) not in lines


def test_table_named_after_its_inner_table_has_its_own_line():
    assert line_numbers("[a.b]\n[a]\nc = 1\n")[("a",)] == 2


def test_empty_text_and_comments_have_no_lines():
    assert line_numbers("") == {}
    assert line_numbers("# a = 1\n\n   # [b]") == {}


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("fuse", 1, "rating"), 28),
        (("fuse", 7, "rating"), 26),
        (("battery", "cells"), 21),
        (("numbers", 1, 0), 12),
        (("quoted key", "y"), 19),
        (("nothing",), None),
        ((), None),
    ],
)
def test_line_of_what_is_not_there_is_that_around_it(path, line):
    assert line_of(path, line_numbers(TEXT)) == line


def test_strings_cut_out_keep_every_line():
    cut = without_strings(TEXT)
    assert cut.count("\n") == TEXT.count("\n")
    assert "comment" not in cut
    assert "still" not in cut
    assert "capacity" in cut
