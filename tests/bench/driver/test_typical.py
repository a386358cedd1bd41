"""Typical drivers: ranges as the drawer has them, and measurements ranked by what they tell."""

import numpy as np
import pytest

from boomwright.bench.driver.typical import MEASURES, typical_driver
from boomwright.build.drawer import load_drawer
from boomwright.errors import InputError

INCH = 0.0254
DRAWER = load_drawer()


def with_driver(**changed):
    table = {
        "title": "Driver, 5-inch, 8 Ω, of the market stall",
        "status": "invented",
        "source": "made up for a test",
        "impedance": "8 Ω (standard)",
        "re": "6.4 Ω [6.39 to 6.41]",
        "fs": "71 Hz [70.9 to 71.1]",
        "qms": "4.2 [4.19 to 4.21]",
        "qes": "0.8 [0.799 to 0.801]",
        "vas": "8.1 L [8.09 to 8.11]",
        "sd": "88 cm² [87.9 to 88.1]",
        "sensitivity": "88 dB [80 to 96]",
        **changed,
    }
    return DRAWER.with_overlay({"driver": {"stall-5in-8ohm": table}})


def names(found):
    return [item.measure.name for item in found.measure_next]


def test_ranges_are_the_drawers():
    found = typical_driver(DRAWER, size=5 * INCH, ohms=8.0)
    part = DRAWER.part("driver", "driver-5in-8ohm")
    assert found.part == "driver-5in-8ohm"
    assert found.quantities["fs"] == part.fs
    assert found.quantities["vas"].low < found.quantities["vas"].high
    assert "woofer-5in-8ohm" in found.others


@pytest.mark.parametrize(
    ("size", "kind", "part"),
    [
        (6.5 * INCH, "", "driver-6in5-8ohm"),
        (0.165, "woofer", "woofer-6in5-8ohm"),
        (0.20, "pa", "pa-8in-8ohm"),
        (12 * INCH, "", "woofer-12in-8ohm"),
    ],
)
def test_class_is_found_by_size_and_kind(size, kind, part):
    assert typical_driver(DRAWER, size=size, ohms=8.0, kind=kind).part == part


def test_answers_follow_from_the_class():
    found = typical_driver(with_driver(), size=5 * INCH, kind="stall", volume=0.006)
    resonance, level, box = found.answers
    # A class with next to no width: the closed-box and level laws for its one driver.
    assert resonance.likely == pytest.approx(71.0 * np.sqrt(1.0 + 8.1 / 6.0), rel=2e-3)
    assert resonance.high / resonance.low < 1.01
    qts = 1.0 / (1.0 / 4.2 + 1.0 / 0.8)
    assert box.likely == pytest.approx(0.0081 / ((0.7071 / qts) ** 2 - 1.0), rel=0.05)
    # 9.77e-7 s³/m³ and 112.2 dB for one acoustic watt (Small 1972, from memory).
    efficiency = 9.77e-7 * 71.0**3 * 0.0081 / 0.8
    assert level.likely == pytest.approx(
        112.2 + 10 * np.log10(efficiency) + 10 * np.log10(8 / 6.4),
        abs=0.1,  # dB
    )


@pytest.mark.parametrize(
    ("key", "wide", "first"),
    [
        ("vas", "8 L [4 to 16]", "added mass or test box"),
        ("fs", "71 Hz [45 to 112]", "resonance"),
        ("qes", "0.8 [0.4 to 1.6]", "side frequencies"),
        ("re", "6.4 Ω [4 to 9]", "d.c. ohms"),
    ],
)
def test_what_is_unknown_is_measured_first(key, wide, first):
    found = typical_driver(with_driver(**{key: wide}), size=5 * INCH, kind="stall", volume=0.006)
    assert names(found)[0] == first


def test_three_different_measurements_each_with_its_share():
    for size in (2, 3, 4, 5, 6.5, 8, 10, 12):
        found = typical_driver(DRAWER, size=size * INCH)
        assert len(set(names(found))) == 3
        assert set(names(found)) <= {measure.name for measure in MEASURES}
        for item in found.measure_next:
            assert len(item.narrows) == len(found.answers)
            assert all(0.0 <= share <= 1.0 for share in item.narrows)
        assert max(found.measure_next[0].narrows) > 0.4


def test_same_answer_each_time():
    one = typical_driver(DRAWER, size=5 * INCH)
    other = typical_driver(DRAWER, size=5 * INCH)
    assert one.answers == other.answers
    assert one.measure_next == other.measure_next


def test_wider_class_gives_wider_answers():
    narrow = typical_driver(with_driver(), size=5 * INCH, kind="stall", volume=0.006)
    wide = typical_driver(
        with_driver(fs="71 Hz [50 to 100]"), size=5 * INCH, kind="stall", volume=0.006
    )
    assert wide.answers[0].high - wide.answers[0].low > 10.0 * (
        narrow.answers[0].high - narrow.answers[0].low
    )


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"size": 22 * INCH}, "The nearest: 8 in, 10 in, 12 in"),
        ({"size": 5 * INCH, "ohms": 16.0}, "16 Ω"),
        ({"size": 5 * INCH, "kind": "trumpet"}, "trumpet"),
    ],
)
def test_unknown_class_names_the_nearest(asked, says):
    with pytest.raises(InputError, match=says):
        typical_driver(DRAWER, **asked)
