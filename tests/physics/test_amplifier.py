"""Amplifier laws: limits, energy, sampled waveforms, mixed batches."""

import math

import numpy as np
import pytest

from boomwright.physics.amplifier import (
    RAIL_SHARE,
    clean_power,
    gain_excess_db,
    heat_power,
    input_sensitivity,
    supply_power,
    swing_peak,
)


def swing(supply=13.1, **changes):
    given = {
        "rail_share": 1.0,
        "voltage_loss": 1.7,
        "resistance_output": 0.3,
        "load": 4.2,
        "current_limit": math.inf,
    }
    return swing_peak(supply, **(given | changes))


def drawn(**changes):
    given = {
        "supply_voltage": 12.4,
        "rail_share": 1.0,
        "switching": 0.0,
        "load": 3.8,
        "resistance_output": 0.25,
        "mean_abs": 4.1,
        "mean_square": 23.0,
        "power_idle": 0.9,
        "loss_switching": 0.03,
    }
    return supply_power(**(given | changes))


class TestSwing:
    def test_formula(self):
        assert float(swing()) == pytest.approx((13.1 - 1.7) * 4.2 / 4.5, rel=1e-12)
        assert float(swing(rail_share=0.5)) == pytest.approx(0.5 * float(swing()), rel=1e-12)

    def test_current_limit_acts_when_it_is_lower(self):
        assert float(swing(current_limit=1.5)) == pytest.approx(1.5 * 4.2, rel=1e-12)
        assert float(swing(current_limit=90.0)) == pytest.approx(float(swing()), rel=1e-12)

    def test_never_negative(self):
        assert np.all(swing(np.array([0.0, 1.0, 1.7])) == 0.0)

    def test_no_load(self):
        assert float(swing(load=math.inf)) == pytest.approx(11.4, rel=1e-12)
        assert float(clean_power(swing(load=math.inf), math.inf)) == 0.0

    def test_mixed_batch(self):
        shares = np.array([[RAIL_SHARE["bridge"]], [RAIL_SHARE["split"]], [0.5]])
        peaks = swing(np.array([9.0, 11.0, 13.0, 15.0]), rail_share=shares)
        assert peaks.shape == (3, 4)
        assert np.all(np.diff(peaks, axis=1) > 0.0)

    def test_says_what_is_wrong(self):
        with pytest.raises(ValueError, match="load: got -4 Ω"):
            swing(load=np.array([8.0, -4.0]))
        with pytest.raises(ValueError, match="current limit: got 0 A"):
            swing(current_limit=0.0)


class TestSupplyPower:
    def test_energy_balance(self):
        switching = np.array([0.0, 1.0])
        supply = drawn(switching=switching)
        heat = heat_power(supply, mean_square=23.0, load=3.8)
        assert heat + 23.0 / 3.8 == pytest.approx(supply, rel=1e-12)
        assert np.all(heat > 0.0)

    def test_silence_costs_the_idle_power(self):
        quiet = drawn(mean_abs=0.0, mean_square=0.0, switching=np.array([0.0, 1.0]))
        assert quiet == pytest.approx([0.9, 0.9], rel=1e-12)

    def test_no_load_costs_the_idle_power(self):
        assert float(drawn(load=math.inf)) == pytest.approx(0.9, rel=1e-12)

    def test_switching_terms(self):
        expected = 0.9 + 23.0 / 3.8 * (1.0 + 0.25 / 3.8) + 0.03 * 12.4 * 4.1 / 3.8
        assert float(drawn(switching=1.0)) == pytest.approx(expected, rel=1e-12)
        half = float(drawn(switching=1.0, rail_share=0.5))
        assert expected - half == pytest.approx(0.5 * 0.03 * 12.4 * 4.1 / 3.8, rel=1e-9)

    def test_switching_saves_most_when_quiet(self):
        rms = np.array([0.2, 1.0, 5.0])
        linear = drawn(mean_abs=0.8 * rms, mean_square=rms**2)
        switched = drawn(mean_abs=0.8 * rms, mean_square=rms**2, switching=1.0)
        heat = [
            heat_power(watts, mean_square=rms**2, load=3.8) - 0.9 for watts in (linear, switched)
        ]
        assert np.all(np.diff(heat[0] / heat[1]) < 0.0)

    @pytest.mark.parametrize(
        ("kind", "seed"), [("bridge", 11), ("single-ended", 12), ("split", 13)]
    )
    def test_class_b_against_sampled_noise(self, kind, seed):
        """Integrate the rail currents of a clipped noise wave, device by device."""
        supply, load, coil = 14.2, 5.6, 0.4
        limit = float(
            swing(supply, rail_share=RAIL_SHARE[kind], voltage_loss=0.0, resistance_output=coil,
                  load=load)
        )  # fmt: skip
        noise = np.random.default_rng(seed).normal(scale=limit / 2.2, size=200_000)
        # A capacitor or a floating centre passes no direct current: make both halves alike.
        volts = np.clip(np.concatenate((noise, -noise)), -limit, limit)
        current = volts / load
        if kind == "bridge":
            instantaneous = supply * np.abs(current)
        elif kind == "single-ended":
            # The rail feeds the upper device only; the capacitor feeds the lower one.
            instantaneous = supply * np.maximum(current, 0.0)
        else:
            upper, lower = np.maximum(current, 0.0), np.maximum(-current, 0.0)
            instantaneous = supply / 2.0 * upper + supply / 2.0 * lower
        got = drawn(
            supply_voltage=supply,
            rail_share=RAIL_SHARE[kind],
            load=load,
            resistance_output=coil,
            mean_abs=float(np.mean(np.abs(volts))),
            mean_square=float(np.mean(volts**2)),
            power_idle=0.0,
        )
        assert float(got) == pytest.approx(float(np.mean(instantaneous)), rel=1e-9)
        assert float(heat_power(got, mean_square=float(np.mean(volts**2)), load=load)) > 0.0

    def test_class_d_against_sampled_sine(self):
        """A loss-free switching stage with a resistance: the wave's own energy."""
        volts = 6.5 * np.sin(2.0 * np.pi * np.arange(4096) / 4096)
        inside = np.mean((volts / 4.4) ** 2) * 0.35
        got = drawn(
            switching=1.0,
            load=4.4,
            resistance_output=0.35,
            mean_abs=float(np.mean(np.abs(volts))),
            mean_square=float(np.mean(volts**2)),
            power_idle=0.0,
            loss_switching=0.0,
        )
        assert float(got) == pytest.approx(float(np.mean(volts**2) / 4.4 + inside), rel=1e-9)

    def test_mixed_batch(self):
        got = drawn(switching=np.array([[0.0], [1.0], [1.0]]), load=np.array([3.0, 4.0, 6.0, 8.0]))
        assert got.shape == (3, 4)
        assert np.all(np.diff(got, axis=1) < 0.0)


class TestPower:
    def test_half_not_root_half(self):
        # A wrong formula met in print, V²/R/sqrt(2), is 41 % above the right one.
        wrong = 9.0**2 / 5.0 / math.sqrt(2.0)
        assert wrong / float(clean_power(9.0, 5.0)) == pytest.approx(1.414, abs=5e-4)  # ratio

    def test_ten_decibels_are_ten_times_the_power(self):
        # Crest factor 10 dB from 1000 W of sine: about 200 W, not the 10 W of a wrong page.
        peak = math.sqrt(2.0 * 1000.0 * 8.0)
        average = (peak / 10.0 ** (10.0 / 20.0)) ** 2 / 8.0
        assert average == pytest.approx(200.0, rel=1e-9)
        assert float(clean_power(peak, 8.0)) == pytest.approx(1000.0, rel=1e-12)


class TestGain:
    def test_sensitivity_reaches_the_peak(self):
        volts = float(input_sensitivity(11.0, gain_db=29.0))
        assert volts * math.sqrt(2.0) * 10.0 ** (29.0 / 20.0) == pytest.approx(11.0, rel=1e-12)

    def test_excess(self):
        got = gain_excess_db(np.array([0.0, 0.3, 0.6]), 0.3)
        assert got == pytest.approx([-math.inf, 0.0, 6.0206], abs=1e-4)  # dB; 0 is exact
        with pytest.raises(ValueError, match="got 0 V"):
            gain_excess_db(0.7, 0.0)
