"""A person's own parts: laid over the drawer, and their problems told like those of a build."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from tests.build.readings import DRAWER, SHORT, only

from boomwright.build.read import read_build, read_parts
from boomwright.errors import BuildFileError, Problem

OWN = """\
[fuse.my-fuse]
rating = "3.3 A"
[driver.cone]
power = "17 W"
"""


def _with_parts(folder: Path, own: str, parts: str = "my-parts.toml", name: str = "") -> Path:
    (folder / (name or "my-parts.toml")).write_text(own, encoding="utf-8")
    file = folder / "stall.toml"
    text = f"parts = '{parts}'\n" + re.sub(
        r"\[driver\].*", "[driver]\npart = 'cone'\n", SHORT, flags=re.DOTALL
    )
    file.write_text(text + "[fuse]\npart = 'my-fuse'\n", encoding="utf-8")
    return file


def test_own_parts_are_laid_over_the_drawer(tmp_path):
    build = read_build(_with_parts(tmp_path, OWN), drawer=DRAWER)
    assert (build.fuse[0].rating.likely, build.fuse[0].rating.basis) == (3.3, "label")
    assert (build.driver[0].power.likely, build.driver[0].power.basis) == (17.0, "label")
    assert (build.driver[0].impedance.likely, build.driver[0].impedance.basis) == (8.0, "typical")
    assert "my-fuse" not in DRAWER.names("fuse")


def test_own_parts_in_a_folder_below(tmp_path):
    (tmp_path / "below").mkdir()
    file = _with_parts(tmp_path, OWN, "below/p.toml", "below/p.toml")
    assert read_build(file, drawer=DRAWER).fuse[0].rating.likely == 3.3


def _parts_problems(file: Path) -> tuple[Problem, ...]:
    with pytest.raises(BuildFileError) as caught:
        read_build(file, drawer=DRAWER)
    assert all(problem.says for problem in caught.value.problems)
    return caught.value.problems


@pytest.mark.parametrize("parts", ["../my-parts.toml", "below/../../x.toml", "/etc/parts.toml"])
def test_own_parts_outside_the_folder(tmp_path, parts):
    (problem,) = _parts_problems(_with_parts(tmp_path, OWN, parts))
    assert problem.says == "a parts file outside the build's folder"
    assert (problem.line, problem.key, problem.got) == (1, "parts", repr(parts))
    assert problem.file == "stall.toml"


@pytest.mark.parametrize("parts", ["missing.toml", "no\\folder", "a/b/c"])
def test_own_parts_that_are_missing(tmp_path, parts):
    (problem,) = _parts_problems(_with_parts(tmp_path, OWN, parts))
    assert problem.says == "there is no such parts file"
    assert (problem.line, problem.key, problem.got) == (1, "parts", repr(parts))
    assert "boomwright new" not in str(problem)


def test_own_parts_that_are_no_toml_or_a_folder(tmp_path):
    (problem,) = _parts_problems(_with_parts(tmp_path, "[fuse.x]\nrating == 1\n"))
    assert (problem.file, problem.line) == ("my-parts.toml", 2)
    assert problem.says.startswith("not TOML")
    (tmp_path / "folder").mkdir()
    (problem,) = _parts_problems(_with_parts(tmp_path, OWN, "folder"))
    assert "folder" in problem.says


def test_own_parts_with_mistakes_are_told_at_once(tmp_path):
    own = '[fuse.a]\nrating = "3 V"\n[fuse.b]\nratign = "4 A"\n[driver.cone]\npower = "18 parsec"\n'
    found = _parts_problems(_with_parts(tmp_path, own))
    assert [(problem.file, problem.line, problem.key) for problem in found] == [
        ("my-parts.toml", 2, "fuse.a.rating"),
        ("my-parts.toml", 3, "fuse.b.rating"),
        ("my-parts.toml", 4, "fuse.b.ratign"),
        ("my-parts.toml", 6, "driver.cone.power"),
    ]
    assert found[2].hint == "Did you mean 'rating'?"


@pytest.mark.parametrize(
    ("own", "line", "says"),
    [
        ("x = 1\n[fuze.a]\nrating = '3 A'\n", 1, "unknown kind of part"),
        ("\n[fuze.a]\nrating = '3 A'\n", 2, "unknown kind of part"),
        ("\n\n[fuse]\nrating = '3 A'\n", 3, "not a table of parts"),
        ("[[fuse]]\nrating = '3 A'\n", 1, "not a table of parts"),
        ("fuse = 7\n", 1, "not a table of parts"),
    ],
)
def test_own_parts_that_are_no_parts(tmp_path, own, line, says):
    problem = _parts_problems(_with_parts(tmp_path, own))[0]
    assert (problem.line, problem.says) == (line, says)
    assert problem.hint or problem.expected


def test_own_parts_that_are_empty_change_nothing(tmp_path):
    file = tmp_path / "empty.toml"
    file.write_text("# nothing yet\n")
    assert read_parts(file, drawer=DRAWER).tables == DRAWER.tables


@pytest.mark.parametrize("wrong", ["5", "true", "['a.toml']", "{a = 1}"])
def test_parts_that_are_no_text(wrong):
    problem = only(f"parts = {wrong}\n" + SHORT)
    assert (problem.line, problem.key, problem.expected) == (1, "parts", "text in quotes")
