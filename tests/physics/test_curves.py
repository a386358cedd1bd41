"""Figures read off responses."""

from __future__ import annotations

import numpy as np
import pytest

from boomwright.physics.curves import crossing, decibels, least_impedance, response_corner

HERTZ = np.geomspace(20.0, 20e3, 241)


@pytest.mark.parametrize("order", [1, 2, 4])
@pytest.mark.parametrize("corner", [90.0, 2600.0])
def test_corner_of_butterworth_responses(order, corner):
    """Where a Butterworth of any order has lost 3.01 dB is its corner: by definition."""
    low = -10.0 * np.log10(1.0 + (HERTZ / corner) ** (2 * order))
    high = -10.0 * np.log10(1.0 + (corner / HERTZ) ** (2 * order))
    assert float(response_corner(HERTZ, low)) == pytest.approx(corner, rel=2e-3)
    assert float(response_corner(HERTZ, high, side="low")) == pytest.approx(corner, rel=2e-3)


def test_a_peak_beyond_does_not_widen_the_band():
    level = np.where((HERTZ > 500.0) & (HERTZ < 5e3), -12.0, 0.0)
    level = level + np.where(HERTZ <= 500.0, 1.0, 0.0)
    assert 480.0 < float(response_corner(HERTZ, level)) < 520.0


def test_a_response_that_never_falls_has_no_corner():
    assert np.isnan(response_corner(HERTZ, np.zeros_like(HERTZ)))


def test_rows_are_read_one_by_one():
    rows = -20.0 * np.log10(np.abs(1.0 + 1j * HERTZ / np.array([[300.0], [1500.0]])))
    assert response_corner(HERTZ, rows) == pytest.approx([300.0, 1500.0], rel=2e-3)


def test_least_impedance_of_two_resonances():
    """R + s L + 1/(s C) is R where coil and capacitor cancel."""
    s = 2j * np.pi * HERTZ
    seen = 3.3 + s * 1.3e-3 + 1.0 / (s * 12e-6)
    found = least_impedance(HERTZ, seen)
    # Read at points 2.9 % apart.
    assert float(found.impedance) == pytest.approx(3.3, rel=5e-3)
    assert float(found.frequency) == pytest.approx(
        1.0 / (2 * np.pi * (1.3e-3 * 12e-6) ** 0.5), rel=0.02
    )


def test_least_impedance_counts_the_band_only():
    seen = np.where(HERTZ < 100.0, 2.0, 8.0) + 0j
    assert float(least_impedance(HERTZ, seen, low=150.0).impedance) == 8.0
    with pytest.raises(ValueError, match="got none from 30000 to 40000 Hz"):
        least_impedance(HERTZ, seen, low=30e3, high=40e3)


def test_two_first_order_branches_cross_at_their_corner():
    low, high = 1.0 / (1.0 + 1j * HERTZ / 770.0), 1.0 / (1.0 - 1j * 770.0 / HERTZ)
    assert float(crossing(HERTZ, decibels(low), decibels(high))) == pytest.approx(770.0, rel=1e-3)
    assert np.isnan(crossing(HERTZ, decibels(low) + 99.0, decibels(high)))


def test_silence_has_a_level():
    assert float(decibels(np.array(0.0))) == -300.0
