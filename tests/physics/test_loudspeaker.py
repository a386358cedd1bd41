"""Driver laws: limits, inverse pairs, the hot coil against its own definition."""

import math

import numpy as np
import pytest

from boomwright.physics.loudspeaker import (
    power_compression_db,
    qts,
    reference_efficiency,
    sensitivity_from_efficiency,
    sensitivity_from_parameters,
    sensitivity_from_voltage,
    voltage_for_power,
    voltage_sensitivity,
)


def test_total_q_is_below_both():
    assert float(qts(5.0, 0.45)) < 0.45
    assert float(qts(math.inf, 0.45)) == pytest.approx(0.45, rel=1e-12)
    assert float(qts(math.inf, math.inf)) == math.inf
    assert qts(np.array([[3.0], [5.0], [8.0]]), np.full(4, 0.6)).shape == (3, 4)
    with pytest.raises(ValueError, match="qes: got 0"):
        qts(4.0, 0.0)


def test_efficiency_scales_as_it_should():
    base = float(reference_efficiency(52.0, 0.011, qes=0.47))
    assert float(reference_efficiency(104.0, 0.011, qes=0.47)) == pytest.approx(8.0 * base)
    assert float(reference_efficiency(52.0, 0.022, qes=0.94)) == pytest.approx(base)
    # Warmer air carries sound faster, so the same parameters mean a little less.
    assert float(reference_efficiency(52.0, 0.011, qes=0.47, temperature=308.0)) < base


def test_ten_times_the_efficiency_is_ten_decibels():
    both = sensitivity_from_efficiency(np.array([0.003, 0.03]))
    assert both[1] - both[0] == pytest.approx(10.0, rel=1e-12)
    got = sensitivity_from_parameters(np.array([[45.0], [60.0], [80.0]]), np.full(4, 0.02), qes=0.5)
    assert got.shape == (3, 4)
    with pytest.raises(ValueError, match=r"vas: got -0\.02 m³"):
        sensitivity_from_parameters(45.0, -0.02, qes=0.5)


def test_voltage_and_power_sensitivity_are_inverse():
    ohms = np.array([3.2, 5.6, 8.0, 13.0])
    back = sensitivity_from_voltage(voltage_sensitivity(86.5, resistance=ohms), resistance=ohms)
    assert back == pytest.approx(np.full(4, 86.5), rel=1e-12)
    assert float(voltage_sensitivity(86.5, resistance=8.0)) == 86.5
    assert float(voltage_for_power(18.0, 4.0)) ** 2 == pytest.approx(72.0, rel=1e-12)
    with pytest.raises(ValueError, match="power: got -3 W"):
        voltage_for_power(-3.0, 4.0)


class TestHotCoil:
    def test_rated_point_and_cold_limit(self):
        assert float(power_compression_db(25.0, power_rated=25.0)) == pytest.approx(3.0, rel=1e-12)
        assert float(power_compression_db(0.0, power_rated=25.0)) == 0.0
        assert float(power_compression_db(9.0, power_rated=25.0, compression_at_rated=0.0)) == 0.0

    def test_small_power_loses_in_proportion(self):
        small = power_compression_db(np.array([1e-4, 2e-4]), power_rated=30.0)
        assert small[1] / small[0] == pytest.approx(2.0, rel=1e-4)

    def test_level_stops_growing(self):
        watts = np.array([1e12, 1e13])
        level = 10.0 * np.log10(watts) - power_compression_db(watts, power_rated=30.0)
        assert level[1] - level[0] == pytest.approx(0.0, abs=1e-4)  # dB, the limit is 0

    def test_level_never_falls(self):
        watts = np.geomspace(1e-3, 1e4, 300)
        level = 10.0 * np.log10(watts) - power_compression_db(watts, power_rated=12.0)
        assert np.all(np.diff(level) > 0.0)

    def test_heat_balance(self):
        """The coil sits where its heating and its thermal resistance meet."""
        alpha, volts, cold, thermal = 0.00393, 9.0, 6.2, 7.0
        rise = 0.0
        for _ in range(200):
            rise = thermal * volts**2 / (cold * (1.0 + alpha * rise))
        expected = 20.0 * math.log10(1.0 + alpha * rise)
        hot = 1.0 + alpha * 60.0
        rated = 60.0 / thermal * hot
        got = power_compression_db(
            volts**2 / cold, power_rated=rated, compression_at_rated=20.0 * math.log10(hot)
        )
        assert float(got) == pytest.approx(expected, rel=1e-9)

    def test_broadcast_and_refuse(self):
        got = power_compression_db(np.array([[1.0], [5.0], [9.0]]), power_rated=np.full(4, 20.0))
        assert got.shape == (3, 4)
        with pytest.raises(ValueError, match="got -7 W"):
            power_compression_db(-7.0, power_rated=20.0)
        with pytest.raises(ValueError, match="got -1 dB"):
            power_compression_db(7.0, power_rated=20.0, compression_at_rated=-1.0)
