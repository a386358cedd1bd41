"""Charts of a box: they show the curves they were given, in words that are right."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from tests.design.box.boxes import wish

from boomwright.design.box.choices import proposed
from boomwright.design.box.curves import box_curves
from boomwright.design.box.wish import subject_of
from boomwright.paper.box_charts import bass_chart, box_charts, impedance_chart, travel_chart
from boomwright.paper.charts import chart_json, chart_svg
from boomwright.paper.look import DARK, LIGHT, PRINT

WISH = wish(largest=0.028)
SUBJECT = subject_of(WISH, versions=0)
DESIGNS = {
    design.kind: design for design in proposed(WISH, subject=SUBJECT) if design.title != "C4"
}
CURVES = {kind: box_curves(design, WISH, SUBJECT) for kind, design in DESIGNS.items()}


def texts(chart):
    """Every word of the picture."""
    picture = ET.fromstring(chart_svg(chart))
    return [
        "".join(item.itertext()) for item in picture.iter() if item.tag.rpartition("}")[2] == "text"
    ]


def drawn(chart):
    """Points of every line."""
    whole = json.loads(chart_json(chart))
    lines = []

    def walk(item, data):
        if isinstance(item, list):
            for value in item:
                walk(value, data)
        elif isinstance(item, dict):
            data = item.get("data", data)
            mark = item.get("mark")
            if isinstance(mark, dict) and mark.get("type") == "line":
                values = data.get("values") or whole["datasets"][data["name"]]
                rows = json.loads(values) if isinstance(values, str) else values
                lines.append(np.array([(row["along"], row["value"]) for row in rows]))
            for value in item.values():
                walk(value, data)

    walk(whole, None)
    return lines


@pytest.mark.parametrize(
    ("kind", "look"), [("closed", LIGHT), ("vented", DARK), ("radiator", PRINT)]
)
def test_every_chart_of_every_kind_is_drawn(kind, look):
    design = DESIGNS[kind]
    charts = box_charts(
        CURVES[kind],
        xmax=0.0045,
        radiator_xmax=design.radiator.cone.xmax if design.radiator else None,
        title=f"a {kind} one",
        look=look,
    )
    assert list(charts) == ["bass", "impedance", "travel", "limits"]
    for name, chart in charts.items():
        words = " ".join(texts(chart))
        assert f"a {kind} one" in words, name
    words = " ".join(texts(charts["travel"]))
    assert ("air in the vent" in words) == (kind == "vented")
    assert ("passive radiator" in words) == (kind == "radiator")
    assert "limit 4.5 mm" in words


def test_bass_line_is_the_response():
    curves = CURVES["vented"]
    line = next(points for points in drawn(bass_chart([("it", curves)])) if points[:, 1].max() < 9)
    at = np.interp(np.log(line[:, 0]), np.log(curves.frequency), curves.response)
    seen = at > -50.0
    assert line[seen, 1] == pytest.approx(at[seen], abs=0.01)  # dB, interpolated


def test_bass_end_is_told():
    curves = CURVES["closed"]
    end = curves.frequency[int(np.argmax(curves.response > -3.0103))]
    words = " ".join(texts(bass_chart([("it", curves)])))
    assert f"3 dB down at {end:.0f} Hz" in words


def test_several_boxes_have_a_key():
    both = [("first", CURVES["closed"]), ("second", CURVES["vented"])]
    for chart in (bass_chart(both), impedance_chart(both)):
        words = texts(chart)
        assert "first" in words
        assert "second" in words


def test_travel_far_beyond_its_limit_leaves_the_plot():
    """A plot that held everything would flatten the limit into its bottom."""
    curves = CURVES["closed"]
    chart = travel_chart(curves, xmax=float(np.max(curves.travel)) / 40.0, title="it")
    domains = [
        item["scale"]["domain"]
        for item in _encodings(json.loads(chart_json(chart)))
        if "domain" in item.get("scale", {}) and item["scale"].get("type") == "linear"
    ]
    limit = 1e3 * float(np.max(curves.travel)) / 40.0
    assert max(domain[1] for domain in domains) <= 5.0 * limit


def _encodings(item):
    if isinstance(item, dict):
        if "y" in item.get("encoding", {}):
            yield item["encoding"]["y"]
        for value in item.values():
            yield from _encodings(value)
    elif isinstance(item, list):
        for value in item:
            yield from _encodings(value)
