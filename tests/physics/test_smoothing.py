"""Smoothing: sizing there and back, ends of a hold-up."""

import numpy as np
import pytest

from boomwright.physics.smoothing import (
    holdup_time,
    ripple_peak_to_peak,
    ripple_rms,
    smoothing_capacitance,
)


def test_smoothing_turns_round():
    store = smoothing_capacitance(0.6, ripple=0.4, frequency=100.0)
    assert float(ripple_peak_to_peak(0.6, capacitance=store, frequency=100.0)) == pytest.approx(0.4)


def test_ripple_rms_is_that_of_a_triangle():
    wave = np.abs(np.linspace(-1.0, 1.0, 200_001)) * 3.0
    rms = float(np.std(wave))
    assert float(ripple_rms(3.0)) == pytest.approx(rms, rel=1e-4)


def test_holdup_ends_at_zero_and_infinity():
    time = holdup_time(
        np.array([0.0, 0.5, 0.5, 0.0]),
        capacitance=1e-3,
        voltage_start=np.array([12.0, 12.0, 8.0, 8.0]),
        voltage_end=9.0,
    )
    np.testing.assert_allclose(time, [np.inf, 6e-3, 0.0, 0.0])


@pytest.mark.parametrize(
    ("law", "message"),
    [
        (lambda: ripple_peak_to_peak(1.0, capacitance=0.0, frequency=100.0), "got 0 F"),
        (lambda: smoothing_capacitance(1.0, ripple=0.0, frequency=100.0), "got 0 V"),
        (lambda: ripple_peak_to_peak(1.0, capacitance=1e-3, frequency=-1.0), "got -1 Hz"),
    ],
)
def test_sizing_names_what_is_wrong(law, message):
    with pytest.raises(ValueError, match=message):
        law()
