"""Filters for a resistive load: what holds for all of them, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from boomwright.physics.filter_values import (
    ALIGNMENTS,
    band_pass_steps,
    filter_elements,
    filter_polynomial,
    filter_response,
    high_pass_steps,
    low_pass_steps,
)
from boomwright.physics.ladder import ladder

EVERY = [(name, order) for name, orders in ALIGNMENTS.items() for order in orders]


@pytest.mark.parametrize(("alignment", "order"), EVERY)
def test_all_poles_lie_left_and_all_parts_are_real(alignment, order):
    assert np.roots(filter_polynomial(alignment, order)[::-1]).real.max() < 0.0
    elements = filter_elements(alignment, order)
    assert elements.shape == (order,)
    assert (elements > 0.0).all()


@pytest.mark.parametrize(("alignment", "order"), EVERY)
def test_high_pass_is_the_mirror_of_the_low_pass(alignment, order):
    ratio = np.geomspace(0.05, 20.0, 21)
    low = filter_response(alignment, order, frequency=900.0 * ratio, corner=900.0)
    high = filter_response(alignment, order, frequency=900.0 / ratio, corner=900.0, high_pass=True)
    assert high == pytest.approx(np.conj(low), rel=1e-12)


@pytest.mark.parametrize(("alignment", "order"), EVERY)
def test_far_above_it_falls_by_its_order(alignment, order):
    level = np.abs(filter_response(alignment, order, frequency=np.array([1e6, 2e6]), corner=1e3))
    # An octave higher costs 6.02 dB an order.
    assert float(np.log2(level[0] / level[1])) == pytest.approx(order, rel=1e-3)


def test_bessel_delays_all_alike_deep_in_its_band():
    """The group delay of a Bessel filter is flat: within 1 % up to half its corner (4th order)."""
    hertz = np.linspace(10.0, 500.0, 200)
    angle = np.unwrap(np.angle(filter_response("bessel", 4, frequency=hertz, corner=1000.0)))
    delay = -np.diff(angle) / np.diff(hertz)
    assert np.ptp(delay) < 0.01 * delay.mean()


def test_values_broadcast():
    steps = low_pass_steps("butterworth", 2, frequency=np.array([1e3, 2e3]), resistance=8.0)
    assert np.shape(steps[0].inductance) == (2,)
    assert steps[0].inductance[0] == pytest.approx(2.0 * steps[0].inductance[1], rel=1e-12)


def test_band_pass_loses_nothing_in_its_middle():
    steps = band_pass_steps("butterworth", 3, low=300.0, high=3000.0, resistance=6.6)
    middle = float(np.sqrt(300.0 * 3000.0))
    assert abs(ladder(steps, np.array(6.6), middle).transfer) == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: filter_polynomial("linkwitz-riley", 3), "got 3, must be one of 2, 4"),
        (lambda: filter_polynomial("butterworth", 5), "got 5, must be one of 1, 2, 3, 4"),
        (
            lambda: low_pass_steps("butterworth", 2, frequency=-1.5, resistance=8.0),
            "frequency: got -1.5 Hz",
        ),
        (
            lambda: high_pass_steps("bessel", 2, frequency=900.0, resistance=0.0),
            "resistance: got 0 Ω",
        ),
        (
            lambda: band_pass_steps("butterworth", 1, low=4e3, high=500.0, resistance=8.0),
            "got 4000 Hz and 500 Hz, must rise",
        ),
    ],
)
def test_what_cannot_be_is_refused(call, says):
    with pytest.raises(ValueError, match=says):
        call()
