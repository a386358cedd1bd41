"""Driver laws: limits, inverse pairs, the hot coil against its own definition."""

from __future__ import annotations

import math

import numpy as np
import pytest

from boomwright.physics.loudspeaker import (
    first_order_capacitor,
    first_order_corner,
    impedance_minimum,
    impedance_parallel,
    impedance_series,
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
    with pytest.raises(ValueError, match="qes must be above 0, got 0"):
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
    with pytest.raises(ValueError, match=r"vas must be above 0, got -0\.02 m³"):
        sensitivity_from_parameters(45.0, -0.02, qes=0.5)


def test_voltage_and_power_sensitivity_are_inverse():
    ohms = np.array([3.2, 5.6, 8.0, 13.0])
    back = sensitivity_from_voltage(voltage_sensitivity(86.5, resistance=ohms), resistance=ohms)
    assert back == pytest.approx(np.full(4, 86.5), rel=1e-12)
    assert float(voltage_sensitivity(86.5, resistance=8.0)) == 86.5
    assert float(voltage_for_power(18.0, 4.0)) ** 2 == pytest.approx(72.0, rel=1e-12)
    with pytest.raises(ValueError, match="got -12 W ohm"):
        voltage_for_power(-3.0, 4.0)


class TestImpedance:
    def test_short_and_open(self):
        assert float(impedance_parallel(np.array([6.0, 0.0]))) == 0.0
        assert float(impedance_parallel(np.array([6.0, math.inf]))) == 6.0
        assert float(impedance_parallel(np.array([math.inf, math.inf]))) == math.inf

    def test_parallel_of_three_is_not_product_over_sum(self):
        three = np.array([4.0, 6.0, 12.0])
        assert float(impedance_parallel(three)) == pytest.approx(2.0, rel=1e-12)
        wrong = float(np.prod(three) / np.sum(three))
        assert wrong / 2.0 > 6.0

    def test_parallel_is_below_the_least(self):
        each = np.array([[8.0, 4.0], [16.0, 5.0], [6.0, 6.0]])
        assert np.all(impedance_parallel(each) < np.min(each, axis=-1))
        assert impedance_parallel(each, axis=0).shape == (2,)
        assert impedance_series(each, axis=0) == pytest.approx([30.0, 15.0])

    def test_rule_broadcasts_and_refuses(self):
        assert impedance_minimum(np.full((3, 4), 5.0)) == pytest.approx(np.full((3, 4), 4.0))
        with pytest.raises(ValueError, match="got -8 ohm"):
            impedance_parallel(np.array([8.0, -8.0]))


class TestHotCoil:
    def test_rated_point_and_cold_limit(self):
        assert float(power_compression_db(25.0, rated=25.0)) == pytest.approx(3.0, rel=1e-12)
        assert float(power_compression_db(0.0, rated=25.0)) == 0.0
        assert float(power_compression_db(9.0, rated=25.0, compression_at_rated=0.0)) == 0.0

    def test_small_power_loses_in_proportion(self):
        small = power_compression_db(np.array([1e-4, 2e-4]), rated=30.0)
        assert small[1] / small[0] == pytest.approx(2.0, rel=1e-4)

    def test_level_stops_growing(self):
        watts = np.array([1e12, 1e13])
        level = 10.0 * np.log10(watts) - power_compression_db(watts, rated=30.0)
        assert level[1] - level[0] == pytest.approx(0.0, abs=1e-4)  # dB, the limit is 0

    def test_level_never_falls(self):
        watts = np.geomspace(1e-3, 1e4, 300)
        level = 10.0 * np.log10(watts) - power_compression_db(watts, rated=12.0)
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
            volts**2 / cold, rated=rated, compression_at_rated=20.0 * math.log10(hot)
        )
        assert float(got) == pytest.approx(expected, rel=1e-9)

    def test_broadcast_and_refuse(self):
        got = power_compression_db(np.array([[1.0], [5.0], [9.0]]), rated=np.full(4, 20.0))
        assert got.shape == (3, 4)
        with pytest.raises(ValueError, match="got -7 W"):
            power_compression_db(-7.0, rated=20.0)
        with pytest.raises(ValueError, match="got -1 dB"):
            power_compression_db(7.0, rated=20.0, compression_at_rated=-1.0)


class TestFirstOrder:
    @pytest.mark.parametrize(
        ("frequency", "ohms", "microfarads"), [(3000.0, 8.0, 6.63), (3000.0, 4.0, 13.26)]
    )
    def test_common_tweeter_capacitors(self, frequency, ohms, microfarads):
        got = 1e6 * float(first_order_capacitor(frequency, ohms))
        assert got == pytest.approx(microfarads, rel=1e-3)

    def test_not_a_hundred_times_too_small(self):
        # A figure met in print: 0.8 µF for 500 Hz in 4 ohm; right is 79.6 µF.
        assert float(first_order_corner(79.6e-6, 4.0)) == pytest.approx(500.0, rel=1e-3)
        assert float(first_order_corner(0.796e-6, 4.0)) == pytest.approx(50_000.0, rel=1e-3)

    def test_inverse(self):
        corner = first_order_corner(np.array([[2.2e-6], [3.3e-6], [6.8e-6]]), np.full(4, 7.0))
        assert corner.shape == (3, 4)
        assert first_order_capacitor(corner, 7.0)[2] == pytest.approx(np.full(4, 6.8e-6))
        with pytest.raises(ValueError, match="frequency must be above 0, got 0 Hz"):
            first_order_capacitor(0.0, 8.0)
