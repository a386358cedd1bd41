"""Vents by themselves: published lengths, ranges, what fits."""

from __future__ import annotations

import math

import pytest
from tests.design.box.boxes import quantity

from boomwright.build.quantities import parse_quantity
from boomwright.design.box.shapes import Vent, inside_size, outside_size, vent_fit
from boomwright.design.box.vents import VentWish, sized_vent, vents_for


def asked(**other):
    values = {
        "volume": quantity("28.3 L", "volume"),
        "tuning": quantity("45 Hz", "frequency"),
        **other,
    }
    return VentWish(**values)


@pytest.mark.parametrize(
    ("ends", "millimetres"), [("flush-free", 175.1), ("flush-flush", 166.3), ("free-free", 184.0)]
)
def test_published_lengths(ends, millimetres):
    # 28.3 L, 45 Hz, 75 mm: Beranek's correction, values computed apart from this code.
    found = sized_vent(asked(ends=ends), Vent("round", 1, 0.075))
    assert 1e3 * found.length.likely == pytest.approx(millimetres, abs=1.0)  # mm, as printed
    assert found.tuning.likely == pytest.approx(45.0)
    assert found.length.low == found.length.high == found.length.likely


def test_published_tuning_of_a_length():
    # 30 L, 120 mm by 70 mm: 47.28 Hz.
    wish = asked(volume=quantity("30 L", "volume"))
    found = sized_vent(wish, Vent("round", 1, 0.070), length=0.120)
    assert found.tuning.likely == pytest.approx(47.28, rel=0.005)
    assert found.vent.length == found.length.low == found.length.high == 0.120


def test_air_speed_is_the_published_one():
    # 90 dB at 40 Hz through 70 mm: 4.83 m/s peak (Beranek, simple source).
    wish = asked(tuning=quantity("40 Hz", "frequency"), level=90.0)
    found = sized_vent(wish, Vent("round", 1, 0.070))
    assert found.speed == pytest.approx(4.83, rel=0.01)
    assert found.loudest == pytest.approx(90.0 + 20.0 * math.log10(17.0 / found.speed))


def test_uncertain_box_gives_a_range():
    wish = asked(volume=parse_quantity("28.3 L ±4 %", "volume"))
    across = parse_quantity("75 mm ±1 mm", "length")
    found = sized_vent(wish, Vent("round", 1, 0.075), across=across)
    # Less air and a wider bore ask for a longer vent.
    longest = sized_vent(
        asked(volume=quantity("27.168 L", "volume")), Vent("round", 1, 0.076)
    ).length.likely
    assert found.length.high == pytest.approx(longest)
    assert found.tuning.low < 45.0 < found.tuning.high


def test_all_vents_are_in_order_and_say_whether_they_fit():
    found = vents_for(asked(displacement=6e-5))
    ranks = [("straight", "bent", "too long", "too short").index(each.fit) for each in found]
    assert ranks == sorted(ranks)
    assert len(set(ranks)) > 1
    for each in found:
        wanted = 0.8 * 45.0 * 6e-5
        assert each.least == pytest.approx(each.vent.count * each.vent.area / wanted)


@pytest.mark.parametrize(
    ("length", "fit"),
    [(0.01, "too short"), (0.15, "straight"), (0.30, "bent"), (0.60, "too long")],
)
def test_fit(length, fit):
    assert vent_fit(length, volume=0.016, across=0.060, wall=0.018) == fit


def test_sizes_enclose_the_volume():
    width, height, depth = (float(side) for side in inside_size(0.019))
    assert width * height * depth == pytest.approx(0.019)
    outer = outside_size(0.019, wall=0.012)
    assert outer == pytest.approx((width + 0.024, height + 0.024, depth + 0.024))


def test_vent_takes_what_its_tube_takes():
    vent = Vent("round", 2, 0.046, length=0.135)
    # Outside 50 mm, and 120 mm of it stand inside behind a board of 15 mm.
    assert vent.taken(0.015) == pytest.approx(2.0 * math.pi * 0.025**2 * 0.120)
