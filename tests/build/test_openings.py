"""Vents and passive radiators in a build file."""

from __future__ import annotations

import math

import pytest
from tests.build.readings import SHORT, only

from boomwright.build.read import parse_build

BOX = SHORT + '[cabinet]\nvolume = "12 L"\ntype = "vented"\n'


def test_area_of_tubes():
    text = BOX + '[cabinet.vent]\ncount = 2\ndiameter = "4 cm"\nlength = "11 cm"\n'
    cabinet = parse_build(text).cabinet
    assert cabinet is not None
    assert cabinet.vent is not None
    assert cabinet.vent.area == pytest.approx(2 * math.pi * 0.02**2)


def test_area_of_a_slot():
    text = BOX + '[cabinet.vent]\nshape = "slot"\nwidth = "18 cm"\nheight = "2 cm"\nlength = "9 cm"'
    cabinet = parse_build(text).cabinet
    assert cabinet is not None
    assert cabinet.vent is not None
    assert cabinet.vent.area == pytest.approx(0.18 * 0.02)


@pytest.mark.parametrize(
    ("vent", "missing"),
    [
        ('length = "9 cm"', "diameter"),
        ('shape = "slot"\nlength = "9 cm"', "width and height"),
        ('shape = "slot"\nwidth = "18 cm"\nlength = "9 cm"', "height"),
    ],
)
def test_vent_without_a_size(vent, missing):
    problem = only(BOX + f"[cabinet.vent]\n{vent}\n")
    assert problem.says.endswith(f"vent without its {missing}")
    assert problem.line is not None


def test_radiator_box_without_its_radiator():
    problem = only(SHORT + '[cabinet]\nvolume = "12 L"\ntype = "radiator"\n')
    assert "without its radiator" in problem.says
    assert "[cabinet.radiator]" in problem.expected


def test_every_problem_of_a_vent_at_once():
    text = BOX + '[cabinet.vent]\ndiameter = "4 m"\nlength = "11 kg"\nends = "flush"\n'
    from tests.build.readings import problems_of

    keys = {problem.key.rpartition(".")[2] for problem in problems_of(text)}
    assert keys == {"diameter", "length", "ends"}
