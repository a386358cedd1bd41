"""Charts of sound: lines, rules and bands are what was given, whatever the look and the width."""

import json
import re
from xml.etree import ElementTree

import numpy as np
import pytest

from boomwright.paper.charts import chart_svg
from boomwright.paper.limit_bands import flow
from boomwright.paper.look import DARK, LIGHT, LOOKS, PRINT
from boomwright.paper.marks import Rule
from boomwright.paper.sound_charts import Line, Panel, curves_chart, limits_chart, line_looks
from boomwright.paper.sound_page import Section, Sheet, sound_page

HERTZ = np.geomspace(10.0, 20e3, 61)
LIMITS = ("volts", "amps", "travel", "vent air", "radiator travel", "heat")
CLEAN = np.stack([np.linspace(70.0, 104.0, 61) - drop for drop in (0.0, 1.5, 4.0)])
RULING = np.stack([np.repeat([2, 3, 0], [20, 11, 30]), np.repeat([2, 0], [20, 41]), np.full(61, 0)])


def drawn(chart):
    """Rows of everything that a chart draws."""
    return [json.loads(values) for values in chart.to_dict()["datasets"].values()]


def said(chart):
    return " ".join(ElementTree.fromstring(chart_svg(chart)).itertext())


def limits(**options):
    return limits_chart(
        HERTZ, CLEAN, RULING, states=("full", "half", "nearly empty"), limits=LIMITS, **options
    )


def panel(**options):
    return Panel("level [dB]", [Line("here", HERTZ, CLEAN[0])], (60.0, 110.0), **options)


def test_line_is_drawn_as_given():
    points = max(drawn(curves_chart([panel()], title="T")), key=len)
    heard = HERTZ >= 20.0
    assert [row["along"] for row in points] == pytest.approx(HERTZ[heard].tolist())
    assert [row["value"] for row in points] == pytest.approx(CLEAN[0][heard].tolist())


def test_hole_in_a_line_is_left_out():
    values = np.where(HERTZ > 500.0, np.nan, 80.0)
    points = max(
        drawn(curves_chart([Panel("x", [Line("", HERTZ, values)], (0.0, 99.0))], title="T")),
        key=len,
    )
    assert max(row["along"] for row in points) <= 500.0


def test_rule_within_the_plot_is_told_and_one_outside_is_not():
    rules = [Rule("just here", 90.0, (8, 3)), Rule("far away", 300.0, (8, 3))]
    words = said(curves_chart([panel(rules=rules)], title="T"))
    assert "just here" in words
    assert "far away" not in words


@pytest.mark.parametrize("width", [420, 760])
@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS)
def test_bands_change_where_the_limit_does(look, width):
    chart = limits(look=look, width=width)
    # Bands that are the same in two states are one set of rows.
    bands = [row for rows in drawn(chart) for row in rows if "end" in row]
    heard = HERTZ[HERTZ >= 20.0]
    first = RULING[0][HERTZ >= 20.0]
    cut = int(np.flatnonzero(np.diff(first))[0])
    border = float(np.sqrt(heard[cut] * heard[cut + 1]))
    assert len(bands) == 3 + 1 + 1
    assert any(row["along"] == 20.0 and row["end"] == pytest.approx(border) for row in bands)
    assert max(row["end"] for row in bands) == 20e3
    words = said(chart)
    for limit in ("volts", "travel", "vent", "nearly", "clean level at 1 m [dB]"):
        assert limit in words
    for absent in ("amps", "radiator", "heat"):
        assert absent not in words
    found = float(re.search(r'width="([\d.]+)"', chart_svg(chart))[1])
    assert found <= width


def test_axis_ends_where_the_curves_do():
    low = HERTZ < 1500.0
    chart = limits_chart(
        HERTZ[low], CLEAN[:, low], RULING[:, low], states=("a", "b", "c"), limits=LIMITS
    )
    ends = [row["end"] for rows in drawn(chart) for row in rows if "end" in row]
    assert max(ends) == pytest.approx(HERTZ[low][-1])


def test_lines_are_told_apart_without_colour():
    for look in (LIGHT, DARK, PRINT):
        dashes = [dash for _, dash, _ in line_looks(look)]
        assert len(set(dashes)) == len(dashes)


def test_key_flows_into_rows():
    placed, count = flow([100.0, 120.0, 80.0], 240)
    assert placed == [(0.0, 0), (116.0, 0), (0.0, 1)]
    assert count == 2


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: curves_chart([], title="T"), "none"),
        (lambda: curves_chart([Panel("x", [], (0.0, 1.0))], title="T"), "got 0"),
        (lambda: curves_chart([Panel("x", [Line("", HERTZ, HERTZ)] * 7, (0, 1))], title="T"), "7"),
        (lambda: curves_chart([panel()], title="T", width=100), "100 px"),
        (
            lambda: limits_chart(
                HERTZ, CLEAN[:, 1:], RULING, states=("a", "b", "c"), limits=LIMITS
            ),
            "60",
        ),
        (
            lambda: limits_chart(
                HERTZ, CLEAN, RULING, states=("a", "b", "c"), limits=(*LIMITS, "luck")
            ),
            "7",
        ),
    ],
)
def test_what_cannot_be_drawn_is_refused(make, says):
    with pytest.raises(ValueError, match=says):
        make()


SHEET = Sheet("t", "Levels <now>", ("", "full"), [("20 Hz", "63 & more")], "Mind.")


def whole_page():
    sections = [Section(key, f"Chart {key}", lambda width: limits(width=width)) for key in "ab"]
    return sound_page("Hedges & hares", sections, [SHEET])


def test_page_is_one_whole_without_collisions():
    text = whole_page()
    assert text.startswith("<!doctype html>")
    assert "Hedges &amp; hares" in text
    assert "Levels &lt;now&gt;" in text
    assert "63 &amp; more" in text
    ids = re.findall(r'\bid="([^"]+)"', text)
    assert len(set(ids)) == len(ids)
    for cut in re.findall(r"url\(#([^)]+)\)", text):
        assert cut in ids
    assert text.count("<svg") == 4


def test_page_follows_the_screens_colours():
    text = whole_page()
    style, _, body = text.partition("</style>")
    assert "prefers-color-scheme:dark" in style
    for look in (LIGHT, DARK):
        assert f"--copper:{look.copper}" in style
    # No colour of the light look is left in the drawings.
    assert LIGHT.copper not in body
    assert LIGHT.sheet not in body
    assert "var(--copper)" in body
