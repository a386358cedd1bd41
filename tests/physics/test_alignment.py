"""Alignments: against the lumped model, their own definitions and their edges."""

from __future__ import annotations

import math

import numpy as np
import pytest

from boomwright.physics.acoustic_load import vented_load
from boomwright.physics.alignment import alignment, efficiency_bandwidth, flat_qts, vented_box
from boomwright.physics.box_response import box_response, passband_pressure
from boomwright.physics.driver import driver_model


def response_db(*, qts, alpha, h, ql, hertz):
    """Bass of the lumped model, drivers of 50 Hz and 15 litres."""
    driver = driver_model(re=6.0, fs=50.0, qms=1e7, qes=qts, vas=0.015, sd=0.0140)
    box = vented_load(volume=0.015 / alpha, fb=50.0 * h, ql=ql)
    found = box_response(driver, box, hertz)
    return 20.0 * np.log10(np.abs(found.pressure) / passband_pressure(driver))


@pytest.mark.parametrize(
    ("family", "qts", "ql"),
    [("QB3", 0.21, 5.0), ("QB3", 0.36, 10.0), ("SC4", 0.33, 7.0), ("C4", 0.47, 12.0)],
)
def test_f3_is_where_the_lumped_model_is_3_db_down(family, qts, ql):
    found = alignment(qts, family=family, ql=ql)
    at = 50.0 * float(found.f3_ratio)
    down = response_db(qts=qts, alpha=found.alpha, h=found.h, ql=ql, hertz=at)
    assert float(down) == pytest.approx(-10.0 * math.log10(2.0), rel=1e-4)


def test_chebyshev_ripples_evenly():
    """The defining property of C4: both humps alike, and the dip between them at the far level."""
    found = alignment(0.52, family="C4", ql=math.inf)
    hertz = np.geomspace(50.0 * float(found.f3_ratio), 5000.0, 20001)
    curve = response_db(qts=0.52, alpha=found.alpha, h=found.h, ql=math.inf, hertz=hertz)
    inner = np.flatnonzero(np.diff(np.sign(np.diff(curve)))) + 1
    extremes = [float(curve[place]) for place in inner]
    hump, dip, second = extremes
    assert hump > 0.2
    assert dip == pytest.approx(0.0, abs=1e-3)  # dB, the far level
    assert second == pytest.approx(hump, rel=1e-3)


def test_quasi_butterworth_has_no_hump():
    qts = np.linspace(0.15, 0.38, 12)
    found = alignment(qts, family="QB3", ql=9.0)
    box = vented_box(
        fs=47.0, qts=qts, vas=0.019, volume=0.019 / found.alpha, fb=47.0 * found.h, ql=9.0
    )
    assert np.all(box.peak_db < 1e-6)
    assert box.f3 / 47.0 == pytest.approx(found.f3_ratio, rel=1e-9)


def test_families_end_where_they_must():
    flat = float(flat_qts(7.0))
    below, above = flat - 0.01, flat + 0.01
    for family, fits, does_not in (("QB3", below, above), ("SC4", below, above)):
        found = alignment(np.array([fits, does_not]), family=family)
        assert np.isfinite(found.h).tolist() == [True, False]
        assert np.isfinite(found.alpha).tolist() == [True, False]
        assert np.isfinite(found.f3_ratio).tolist() == [True, False]
    assert np.isfinite(alignment(np.array([below, above]), family="C4").h).tolist() == [False, True]
    # Poles cannot be moved farther than all to one place: qts at least 1/(4 + small) there.
    assert math.isnan(float(alignment(0.22, family="SC4", ql=math.inf).h))


def test_larger_box_and_lower_tuning_for_higher_q():
    qts = np.linspace(0.2, 0.39, 20)
    found = alignment(qts, family="QB3")
    assert np.all(np.diff(found.alpha) < 0.0)
    assert np.all(np.diff(found.h) < 0.0)
    assert np.all(np.diff(found.f3_ratio) < 0.0)


class TestAnyBox:
    @pytest.mark.parametrize("qts", [0.31, 0.48, 0.85])
    @pytest.mark.parametrize("fb", [33.0, 50.0, 71.0])
    def test_f3_and_hump_are_those_of_the_lumped_model(self, qts, fb):
        found = vented_box(fs=50.0, qts=qts, vas=0.015, volume=0.011, fb=fb, ql=6.0)
        hertz = np.geomspace(8.0, 3000.0, 60_001)
        curve = response_db(qts=qts, alpha=0.015 / 0.011, h=fb / 50.0, ql=6.0, hertz=hertz)
        last = int(np.flatnonzero(curve < -10.0 * math.log10(2.0))[-1])
        assert float(found.f3) == pytest.approx(hertz[last], rel=5e-4)
        highest = max(float(np.max(curve)), 0.0)
        assert float(found.peak_db) == pytest.approx(highest, abs=2e-3)  # dB, grid

    def test_fields_share_one_shape(self):
        found = vented_box(
            fs=50.0,
            qts=np.array([[0.3], [0.4], [0.5]]),
            vas=0.015,
            volume=np.array([0.009, 0.012, 0.016, 0.020]),
            fb=48.0,
        )
        shapes = {field.shape for field in (found.f3, found.peak_db, found.alpha, found.h)}
        assert shapes == {(3, 4)}

    def test_says_what_is_wrong(self):
        with pytest.raises(ValueError, match=r"ql: got 0\.7, must be above 1"):
            vented_box(fs=50.0, qts=0.4, vas=0.015, volume=0.011, fb=48.0, ql=0.7)
        with pytest.raises(ValueError, match="qts: got 0"):
            alignment(0.0, family="QB3")


def test_efficiency_bandwidth():
    assert float(efficiency_bandwidth(52.0, qes=0.65)) == pytest.approx(80.0)
