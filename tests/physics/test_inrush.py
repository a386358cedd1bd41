"""Switch-on pulses against the exponential they stand for."""

import numpy as np
import pytest

from boomwright.physics.inrush import inrush_charge, inrush_integral, inrush_peak


def test_the_filling_pulse_has_the_charge_and_integral_of_its_exponential():
    volts, farads, ohms = 12.6, 1.5e-3, 0.19
    time = np.linspace(0.0, 20.0 * ohms * farads, 40_001)
    current = float(inrush_peak(volts, resistance_loop=ohms)) * np.exp(-time / (ohms * farads))

    def area(height):
        return float(np.sum(0.5 * (height[1:] + height[:-1]) * np.diff(time)))

    assert float(inrush_charge(volts, capacitance=farads)) == pytest.approx(area(current), rel=1e-5)
    found = inrush_integral(volts, capacitance=farads, resistance_loop=ohms)
    assert float(found) == pytest.approx(area(current**2), rel=1e-5)


def test_pulse_without_resistance_is_refused():
    with pytest.raises(ValueError, match="loop resistance: got 0 Ω"):
        inrush_peak(12.0, resistance_loop=0.0)
