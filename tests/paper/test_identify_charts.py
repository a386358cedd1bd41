"""The chart of an identified driver: its points, its curve and what is left between them."""

import json

import numpy as np
import pytest
from tests.bench.driver.drivers import DRIVER, grid

from boomwright.paper.charts import chart_svg
from boomwright.paper.identify_charts import Curve, impedance_chart
from boomwright.paper.look import LIGHT, LOOKS
from boomwright.physics.driver import electrical_impedance

HERTZ = grid(61)
OHMS = electrical_impedance(DRIVER, HERTZ)


def curve(says="free air", *, phase=True, off=1.02):
    return Curve(
        says, HERTZ, off * np.abs(OHMS), np.angle(OHMS) if phase else None, OHMS, HERTZ, OHMS
    )


def values(layer, chart):
    rows = chart.to_dict()["datasets"][layer["data"]["name"]]
    return [row["value"] for row in (json.loads(rows) if isinstance(rows, str) else rows)]


def panels(chart):
    return chart.to_dict()["vconcat"]


@pytest.mark.parametrize(("phase", "count"), [(True, 3), (False, 2)])
def test_phase_has_a_panel_only_where_it_was_read(phase, count):
    assert len(panels(impedance_chart([curve(phase=phase)]))) == count


def test_misses_are_measured_over_fitted_in_per_cent():
    chart = impedance_chart([curve(off=1.02)])
    found = values(panels(chart)[-1]["layer"][0], chart)
    assert found == pytest.approx([100 * np.log(1.02)] * HERTZ.size, rel=1e-9)


def test_points_and_line_are_at_their_ohms():
    chart = impedance_chart([curve()])
    points, line = (values(layer, chart) for layer in panels(chart)[0]["layer"][:2])
    assert points == pytest.approx(1.02 * np.abs(OHMS), rel=1e-9)
    assert line == pytest.approx(np.abs(OHMS), rel=1e-9)


@pytest.mark.parametrize("look", LOOKS.values(), ids=lambda look: look.name)
def test_three_curves_are_told_by_shape_and_dash(look):
    curves = [curve("free air"), curve("with mass", off=0.97), curve("on the box", phase=False)]
    chart = impedance_chart(curves, look=look, title="Impedance of the launch's driver")
    top = panels(chart)[0]["layer"]
    assert len({layer["mark"]["shape"] for layer in top[:3]}) == 3
    assert len({tuple(layer["mark"]["strokeDash"]) for layer in top[3:6]}) == 3
    svg = chart_svg(chart)
    for text in ("with mass", "on the box", "frequency [Hz]", "phase [°]"):
        assert text in svg


def test_no_curve_and_too_many_are_refused():
    with pytest.raises(ValueError, match="got 0"):
        impedance_chart([], look=LIGHT)
    with pytest.raises(ValueError, match="got 4"):
        impedance_chart([curve()] * 4)
