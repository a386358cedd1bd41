"""The clipped sine against sampled waveforms and its limits."""

from __future__ import annotations

import math

import numpy as np
import pytest

from boomwright.physics.clipping import (
    SQUARE_WAVE_THD,
    clipped_power_factor,
    clipped_sine_power,
    clipped_sine_thd,
    clipping_overdrive,
)


def sampled(overdrive: float) -> tuple[float, float]:
    """Power over the clean limit, and distortion, of a sampled clipped sine."""
    phase = 2.0 * np.pi * np.arange(65536) / 65536
    wave = np.clip(overdrive * np.sin(phase), -1.0, 1.0)
    fundamental = 2.0 * float(np.mean(wave * np.sin(phase)))
    power = float(np.mean(wave**2))
    return 2.0 * power, math.sqrt(max(2.0 * power / fundamental**2 - 1.0, 0.0))


@pytest.mark.parametrize("overdrive", [0.3, 1.0, 1.02, 1.5, 4.0, 60.0])
def test_agrees_with_a_sampled_wave(overdrive):
    power, thd = sampled(overdrive)
    assert float(clipped_sine_power(overdrive)) == pytest.approx(power, rel=1e-5)
    assert float(clipped_sine_thd(overdrive)) == pytest.approx(thd, abs=1e-5)  # ratio; 0 is exact


def test_clean_sine_has_no_distortion():
    assert clipped_sine_thd(np.array([0.0, 0.5, 1.0])) == pytest.approx(0.0, abs=1e-7)  # ratio
    assert clipped_sine_power(np.array([0.0, 0.5, 1.0])) == pytest.approx([0.0, 0.25, 1.0])


def test_ends_of_the_scale():
    assert clipping_overdrive(np.array([0.0, SQUARE_WAVE_THD])) == pytest.approx([1.0, math.inf])
    assert clipped_power_factor(np.array([0.0, SQUARE_WAVE_THD])) == pytest.approx([1.0, 2.0])


def test_rises_with_overdrive():
    drive = np.geomspace(1.001, 1e6, 500)
    assert np.all(np.diff(clipped_sine_power(drive)) > 0.0)
    assert np.all(np.diff(clipped_sine_thd(drive)) > 0.0)


def test_small_angle_series_meets_the_formula():
    # The series takes over at an angle of 1e-3; both sides must agree across it.
    drive = np.array([999.9, 1000.1])
    power = clipped_sine_power(drive)
    slope = -8.0 / (3.0 * math.pi)
    angles = np.arcsin(1.0 / drive)
    expected = slope * (angles[1] - angles[0])
    assert power[1] - power[0] == pytest.approx(expected, rel=1e-4)


def test_overdrive_and_distortion_are_inverse():
    drive = np.array([[1.05, 1.7], [3.0, 25.0]])
    assert clipping_overdrive(clipped_sine_thd(drive)) == pytest.approx(drive, rel=1e-6)
    assert clipped_power_factor(clipped_sine_thd(drive)) == pytest.approx(
        clipped_sine_power(drive), rel=1e-6
    )


def test_refuses_the_impossible():
    with pytest.raises(ValueError, match=r"got 0\.61"):
        clipped_power_factor(np.array([0.1, 0.61]))
    with pytest.raises(ValueError, match=r"got -0\.2"):
        clipping_overdrive(-0.2)
    with pytest.raises(ValueError, match="got -3"):
        clipped_sine_thd(-3.0)
