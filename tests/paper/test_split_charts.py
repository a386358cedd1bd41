"""Charts of the split: what they show is what they were given, and no text lies on another."""

from __future__ import annotations

import itertools
import json
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from tests.paper.test_charts import rows_with, texts, words

from boomwright.paper.charts import chart_json, chart_svg
from boomwright.paper.look import DARK, LIGHT, PRINT
from boomwright.paper.split_charts import load_chart, split_chart

HERTZ = np.geomspace(20.0, 20e3, 301)
LOW = 87.3 - 10.0 * np.log10(1.0 + (HERTZ / 2200.0) ** 8)
HIGH = 87.3 - 10.0 * np.log10(1.0 + (2200.0 / HERTZ) ** 8)
BOTH = np.full(301, 87.4) - 12.0 * (HERTZ < 60.0)
TURNED = 87.4 - 25.0 * np.exp(-(np.log(HERTZ / 2200.0) ** 2) / 0.05)
OHMS = 5.6 + 30.0 * np.exp(-(np.log(HERTZ / 62.0) ** 2) / 0.1)
OHMS = OHMS + 0.2 * np.log(HERTZ / HERTZ[266]) ** 2


def two(**more):
    asked = {"names": ("woofer", "tweeter"), "at": 2200.0, **more}
    return split_chart(HERTZ, (LOW, HIGH), BOTH, TURNED, **asked)


def one(**more):
    asked = {"names": ("tweeter",), "at": 4400.0, **more}
    return split_chart(HERTZ, (HIGH,), HIGH, HIGH, **asked)


def load(ohms=OHMS, least=4.0, **more):
    return load_chart(HERTZ, ohms, least_load=least, **more)


MAKERS = {
    "two": two,
    "one": one,
    "split at the edge": lambda **m: two(at=19e3, **m),
    "alike all over": lambda **m: split_chart(
        HERTZ, (BOTH, BOTH), BOTH, BOTH, names=("woofer", "tweeter"), at=700.0, **m
    ),
    "load": load,
    "load of a capacitor": lambda **m: load(np.abs(6.0 + 1.0 / (2j * np.pi * HERTZ * 4e-6)), **m),
    "load at its limit": lambda **m: load(np.full(301, 3.2) + 0.001 * HERTZ / 20e3, **m),
}


@pytest.mark.parametrize(("look", "width"), [(LIGHT, 600), (PRINT, 420)], ids=["light", "print"])
@pytest.mark.parametrize("name", MAKERS)
def test_no_text_overlaps_or_leaves_the_picture(name, look, width):
    svg = chart_svg(MAKERS[name](look=look, width=width))
    found = texts(svg)
    root = ET.fromstring(svg)
    wide, tall = float(root.get("width")), float(root.get("height"))
    assert len(found) > 8
    assert width - 30 <= wide <= width + 4
    for line, left, right, top, bottom in found:
        assert left >= 0.0, line
        assert right <= wide + 2.0, line
        assert 0.0 <= top < bottom <= tall, line
    for a, b in itertools.combinations(found, 2):
        assert a[2] <= b[1] or b[2] <= a[1] or a[4] <= b[3] or b[4] <= a[3], (a, b)


@pytest.mark.parametrize("name", MAKERS)
def test_picture_is_the_same_twice(name):
    assert chart_svg(MAKERS[name]()) == chart_svg(MAKERS[name]())


def test_every_line_is_drawn_with_its_name_and_the_frequency():
    chart = two()
    assert {"woofer", "tweeter", "together", "tweeter turned", "2.2 kHz"} <= {
        *words(chart_svg(chart))
    }
    drawn = rows_with(chart, "frequency", "value")
    assert max(row["value"] for row in drawn) == 87.4
    given = {round(float(value), 9) for level in (LOW, HIGH, BOTH, TURNED) for value in level}
    floor = 87.4 + 4.0 - 42.0
    for row in drawn:
        assert round(row["value"], 9) in given or row["value"] == pytest.approx(floor, rel=1e-9)


def test_one_driver_has_neither_sum_nor_other_polarity():
    shown = words(chart_svg(one()))
    assert "tweeter" in shown
    assert "Sound of the tweeter" in shown
    assert not {"together", "tweeter turned"} & {*shown}


def test_load_tells_its_least_and_what_is_allowed():
    chart = load()
    shown = words(chart_svg(chart))
    assert 9.05e3 < HERTZ[266] < 9.15e3
    assert "Least 5.6 Ω at 9.1 kHz." in shown
    assert {"rated 4 Ω", "least allowed 3.2 Ω"} <= {*shown}
    rules = {row["value"] for row in rows_with(chart, "value") if set(row) == {"value"}}
    assert rules == {4.0, 0.8 * 4.0}


def test_colours_are_those_of_the_look():
    told = json.loads(chart_json(two(look=DARK)))
    assert told["config"]["background"] == DARK.sheet


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: two(names=("woofer",)), "shorter|longer"),
        (lambda: split_chart(HERTZ, (), BOTH, BOTH, names=(), at=1e3), "drivers: got 0"),
        (lambda: split_chart(HERTZ, (LOW[:7],), BOTH, BOTH, names=("woofer",), at=1e3),
         "woofer: got 7 points, must be 301"),
        (lambda: load(np.where(HERTZ > 1e3, -4.5, 8.0)), "ohms: got -4.5 Ω, must be above 0"),
        (lambda: load(least=np.inf), "least load: got inf Ω"),
        (lambda: two(width=100), "width: got 100 px"),
        (lambda: two(at=float("nan")), "at: got nan Hz"),
    ],
)  # fmt: skip
def test_what_cannot_be_drawn_is_refused(call, says):
    with pytest.raises(ValueError, match=says):
        call()
