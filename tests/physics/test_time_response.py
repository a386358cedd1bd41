"""Delay and step: against closed forms and against SciPy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import signal

from boomwright.physics.acoustic_load import closed_load
from boomwright.physics.box_response import box_response, passband_pressure
from boomwright.physics.driver import driver_model
from boomwright.physics.time_response import group_delay, step_response


def high_pass(hertz, fc, quality):
    """Second-order high-pass."""
    s = 1j * hertz / fc
    return s**2 / (s**2 + s / quality + 1.0)


@pytest.mark.parametrize("quality", [0.5, 0.8, 1.5])
def test_delay_of_a_second_order_high_pass(quality):
    hertz = np.geomspace(10.0, 1000.0, 2001)
    x = hertz / 63.0
    # Derivative of the phase, by hand.
    over = (x**2 + 1.0) / (quality * ((1.0 - x**2) ** 2 + (x / quality) ** 2))
    expected = over / (2.0 * np.pi * 63.0)
    assert group_delay(high_pass(hertz, 63.0, quality), hertz) == pytest.approx(expected, rel=1e-3)


def test_delay_of_many_turns():
    hertz = np.geomspace(100.0, 20_000.0, 4000)
    late = np.stack([np.exp(-2j * np.pi * hertz * delay) for delay in (0.004, 0.011)])
    got = group_delay(late, hertz)
    assert got.shape == (2, 4000)
    assert got[1] == pytest.approx(np.full(4000, 0.011), rel=1e-9)


def test_delay_needs_a_rising_grid():
    with pytest.raises(ValueError, match="rise"):
        group_delay(np.ones(3, dtype=complex), np.array([10.0, 30.0, 20.0]))


@pytest.mark.parametrize("quality", [0.6, 0.9, 1.4])
def test_step_of_a_closed_box_is_scipys(quality):
    driver = driver_model(re=6.0, fs=44.0, qms=1e6, qes=quality / 1.5, vas=0.025, sd=0.0150)
    hertz = np.arange(1.0, 24_001.0)
    box = closed_load(volume=0.025 / (1.5**2 - 1.0))
    response = box_response(driver, box, hertz).pressure / passband_pressure(driver)
    found = step_response(response, 1.0)
    fc = 2.0 * np.pi * 44.0 * 1.5
    theirs = signal.lti([1.0, 0.0, 0.0], [1.0, fc / quality, fc**2])
    early = found.time < 0.1
    _, expected = signal.step(theirs, T=found.time[early])
    # After the first two samples; the jump itself lies between them.
    apart = np.abs(found.step[early] - expected)[2:]
    assert float(np.max(apart)) < 0.01  # of the step's height


def test_step_keeps_leading_axes():
    hertz = np.arange(2.0, 4002.0, 2.0)
    both = np.stack([high_pass(hertz, 40.0, 0.7), 3.0 * high_pass(hertz, 40.0, 0.7)])
    found = step_response(both, 2.0)
    assert found.step.shape == (2, found.time.size)
    assert found.step[1] == pytest.approx(3.0 * found.step[0])
    assert float(found.time[1]) == pytest.approx(1.0 / 8000.0)


def test_step_of_a_low_end_that_does_not_vanish_at_once():
    """A first-order corner leaves a step that decays; the value at 0 Hz is drawn on rightly."""
    hertz = np.arange(0.5, 8000.5, 0.5)
    found = step_response(1j * hertz / (30.0 + 1j * hertz), 0.5)
    expected = np.exp(-2.0 * np.pi * 30.0 * found.time)
    assert float(np.max(np.abs(found.step - expected)[2:])) < 0.005  # of the step's height
