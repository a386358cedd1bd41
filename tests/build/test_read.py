"""From a build file to a build."""

from __future__ import annotations

import pytest
from tests.build.readings import DRAWER, EXAMPLES, SHORT

from boomwright.build.read import parse_build, read_build


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_example_is_a_build(file):
    build = read_build(file)
    assert build == parse_build(file.read_text(encoding="utf-8"))
    assert build.name
    assert all(part.fed_by for _, part in build.fed())


def test_shortest_build():
    build = parse_build(SHORT)
    assert build.source.name == "battery"
    assert build.amplifier[0].fed_by == "battery"
    assert build.driver[0].amplifier == "amplifier"
    assert build.want.hours.likely == 18000.0


def test_build_on_a_supply():
    text = SHORT.replace("[battery]", "[supply]").replace('chemistry = "lead-agm"\ncells = 6\n', "")
    text = text.replace('capacity = "7 Ah"', 'voltage = "12 V"\ncurrent_limit = "3 A"')
    assert parse_build(text).source.name == "supply"


def test_value_of_the_drawer_gives_way_to_the_file():
    build = parse_build(SHORT + "[fuse]\npart = 'main-5a'\nrating = '3.5 A'\n", drawer=DRAWER)
    assert build.fuse[0].rating.likely == 3.5
    assert build.fuse[0].rating.basis == "label"
    filled = parse_build(SHORT + "[fuse]\npart = 'main-5a'\n", drawer=DRAWER)
    assert (filled.fuse[0].rating.likely, filled.fuse[0].rating.basis) == (5.5, "typical")
