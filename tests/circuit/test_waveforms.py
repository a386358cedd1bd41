"""Values of sources in time, and the moments at which they bend."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from boomwright.circuit.waveforms import PiecewiseLinear, Pulse, Sine


def test_sine_starts_at_its_mean_and_peaks_a_quarter_later():
    wave = Sine(1.5, 0.4, 50.0)
    assert float(wave.at(0.0)) == 1.5
    assert float(wave.at(0.005)) == pytest.approx(1.9, rel=1e-12)
    assert float(wave.at(0.015)) == pytest.approx(1.1, rel=1e-12)
    assert wave.corners(10.0) == ()


PULSE = Pulse(low=0.5, high=3.5, delay=1e-3, rise=2e-4, width=4e-4, fall=1e-4)


@pytest.mark.parametrize(
    ("time", "level"),
    [
        (0.0, 0.5),
        (1e-3, 0.5),
        (1.1e-3, 2.0),
        (1.2e-3, 3.5),
        (1.6e-3, 3.5),
        (1.65e-3, 2.0),
        (9.0, 0.5),
    ],
)
def test_pulse(time, level):
    assert float(PULSE.at(time)) == pytest.approx(level, rel=1e-9)


def test_pulse_bends_at_four_moments():
    assert PULSE.corners(1.0) == pytest.approx((1e-3, 1.2e-3, 1.6e-3, 1.7e-3))
    assert PULSE.corners(1.3e-3) == pytest.approx((1e-3, 1.2e-3))
    assert PULSE.corners(0.9e-3) == ()


def test_repeated_pulse_is_the_same_in_every_period():
    wave = Pulse(0.5, 3.5, 1e-3, 2e-4, 4e-4, 1e-4, period=2e-3)
    for time in (1.05e-3, 1.3e-3, 1.62e-3, 2.5e-3):
        for turn in (1, 2, 7):
            assert float(wave.at(time + 2e-3 * turn)) == pytest.approx(
                float(wave.at(time)), rel=1e-6
            )
    assert float(wave.at(0.4e-3)) == 0.5


def test_repeated_pulse_bends_in_every_period_up_to_the_end():
    wave = Pulse(0.5, 3.5, 1e-3, 2e-4, 4e-4, 1e-4, period=2e-3)
    corners = wave.corners(5.5e-3)
    assert corners == pytest.approx(
        (1e-3, 1.2e-3, 1.6e-3, 1.7e-3, 3e-3, 3.2e-3, 3.6e-3, 3.7e-3, 5e-3, 5.2e-3)
    )
    assert wave.corners(0.5e-3) == ()


def test_between_two_corners_every_wave_is_straight():
    wave = Pulse(0.5, 3.5, 1e-3, 2e-4, 4e-4, 1e-4, period=2e-3)
    bends = (0.0, *wave.corners(8e-3))
    for first, last in pairwise(bends):
        middle = 0.5 * (first + last)
        # A hair inside, so that rounding puts no point beyond its corner.
        hair = 1e-9 * (last - first)
        ends = float(wave.at(first + hair)) + float(wave.at(last - hair))
        assert float(wave.at(middle)) == pytest.approx(0.5 * ends, rel=1e-6)


def test_straight_lines_between_points_and_level_outside():
    wave = PiecewiseLinear((1.0, 2.0, 4.0), (3.0, 5.0, -1.0))
    assert [float(wave.at(time)) for time in (-9.0, 1.0, 1.5, 3.0, 99.0)] == [
        3.0,
        3.0,
        4.0,
        2.0,
        -1.0,
    ]
    assert wave.corners(3.0) == (1.0, 2.0)


def test_one_point_is_a_level():
    assert float(PiecewiseLinear((0.0,), (2.5,)).at(7.0)) == 2.5


def test_points_that_are_no_pairs():
    with pytest.raises(ValueError, match="got 2 times and 3 levels"):
        PiecewiseLinear((0.0, 1.0), (1.0, 2.0, 3.0))
    with pytest.raises(ValueError, match="got 0 times and 0 levels"):
        PiecewiseLinear((), ())


@pytest.mark.parametrize("times", [(0.0, 2.0, 1.0), (0.0, 1.0, 1.0)])
def test_times_that_do_not_rise(times):
    with pytest.raises(ValueError, match=r"must rise") as caught:
        PiecewiseLinear(times, (1.0, 2.0, 3.0))
    assert str(times) in str(caught.value)


def test_waveforms_give_numbers_of_one_kind():
    for wave in (Sine(1.0, 0.2, 9.0), PULSE, PiecewiseLinear((0.0, 1.0), (1.0, 2.0))):
        value = wave.at(0.3)
        assert isinstance(value, np.ndarray)
        assert value.shape == ()
        assert value.dtype == np.float64
