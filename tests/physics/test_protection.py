"""Protection: relays, switch-on pulses, reversed plugs, whine."""

import numpy as np
import pytest

from boomwright.physics.protection import (
    inrush_charge,
    inrush_integral,
    inrush_peak,
    loss_db,
    relay_coil_energy,
    relay_decay_time,
    relay_pickup_hot,
    reverse_current,
    schottky_loss,
    shared_lead_noise,
    speaker_level,
)

COIL = {"resistance": 230.0, "inductance": 0.41}


def test_reversed_battery_drives_its_loop():
    found = reverse_current(np.array([0.6, 13.1]), voltage_forward=1.1, resistance_loop=0.24)
    np.testing.assert_allclose(found, [0.0, 50.0])


def test_diode_loss_is_voltage_times_current():
    assert float(schottky_loss(2.2, voltage_forward=0.35)) == pytest.approx(0.77)


def test_half_the_supply_is_six_decibels():
    assert float(loss_db(12.0, drop=6.0)) == pytest.approx(20.0 * np.log10(2.0))
    assert loss_db(12.0, drop=np.array([0.0, 12.0, 15.0])).tolist() == [0.0, np.inf, np.inf]


def test_relay_pull_is_a_current_so_the_voltage_follows_the_copper():
    warm = relay_pickup_hot(8.2, temperature_coil=338.15, temperature_rated=296.15)
    expected = 8.2 * (1.0 + 0.00393 * 45.0) / (1.0 + 0.00393 * 3.0)
    assert float(warm) == pytest.approx(expected)
    assert float(relay_pickup_hot(8.2, temperature_coil=293.15)) == pytest.approx(8.2)


def test_coil_current_decays_as_a_step_by_step_sum_says():
    volts, clamp, share = 12.4, 5.1, 0.2
    current = volts / COIL["resistance"]
    end, time, step = share * current, 0.0, 1e-7
    while current > end:
        slope = (clamp + COIL["resistance"] * current) / COIL["inductance"]
        current -= slope * step
        time += step
    found = relay_decay_time(volts, clamp=clamp, share=share, **COIL)
    assert float(found) == pytest.approx(time, rel=1e-3)


def test_coil_energy_comes_out_in_the_clamp_and_the_copper():
    volts, clamp = 12.4, 5.1
    time = np.linspace(0.0, float(relay_decay_time(volts, clamp=clamp, **COIL)), 20_001)
    start, end = volts / COIL["resistance"], clamp / COIL["resistance"]
    constant = COIL["inductance"] / COIL["resistance"]
    current = (start + end) * np.exp(-time / constant) - end
    power = clamp * current + COIL["resistance"] * current**2
    spent = float(np.sum(0.5 * (power[1:] + power[:-1]) * np.diff(time)))
    assert float(relay_coil_energy(volts, **COIL)) == pytest.approx(spent, rel=1e-6)


def test_a_higher_clamp_and_a_higher_share_are_sooner():
    clamp = np.array([0.7, 5.0, 25.0, 100.0])
    assert np.all(np.diff(relay_decay_time(12.0, clamp=clamp, **COIL)) < 0.0)
    share = np.array([0.0, 0.1, 0.5, 1.0])
    time = relay_decay_time(12.0, clamp=0.7, share=share, **COIL)
    assert np.all(np.diff(time) < 0.0)
    assert time[-1] == 0.0


def test_the_filling_pulse_has_the_charge_and_integral_of_its_exponential():
    volts, farads, ohms = 12.6, 1.5e-3, 0.19
    time = np.linspace(0.0, 20.0 * ohms * farads, 40_001)
    current = float(inrush_peak(volts, resistance_loop=ohms)) * np.exp(-time / (ohms * farads))

    def area(height):
        return float(np.sum(0.5 * (height[1:] + height[:-1]) * np.diff(time)))

    assert float(inrush_charge(volts, capacitance=farads)) == pytest.approx(area(current), rel=1e-5)
    found = inrush_integral(volts, capacitance=farads, resistance_loop=ohms)
    assert float(found) == pytest.approx(area(current**2), rel=1e-5)


def test_twenty_decibels_more_gain_is_ten_times_the_noise():
    lead = {"burst_current": 0.06, "resistance": 0.013}
    low, high = shared_lead_noise(gain_db=np.array([6.0, 26.0]), **lead)
    assert high / low == pytest.approx(10.0)
    assert float(shared_lead_noise(gain_db=0.0, **lead)) == pytest.approx(0.06 * 0.013)


def test_speaker_level_is_its_sensitivity_at_two_point_eight_three_volts():
    assert float(speaker_level(2.83, sensitivity=86.5)) == pytest.approx(86.5)
    assert float(speaker_level(-2.83, sensitivity=86.5, distance=2.0)) == pytest.approx(
        86.5 - 20.0 * np.log10(2.0)
    )
    assert float(speaker_level(0.0, sensitivity=86.5)) == -np.inf


def test_protection_broadcasts():
    volts = np.array([[3.0], [12.0], [24.0]])
    four = np.array([0.1, 0.2, 0.5, 0.9])
    assert reverse_current(volts, voltage_forward=1.0, resistance_loop=four).shape == (3, 4)
    assert relay_decay_time(volts, clamp=0.7, share=four, **COIL).shape == (3, 4)
    assert loss_db(volts, drop=four).shape == (3, 4)
    assert speaker_level(volts, sensitivity=four).shape == (3, 4)


@pytest.mark.parametrize(
    ("law", "message"),
    [
        (lambda: inrush_peak(12.0, resistance_loop=0.0), "loop resistance: got 0 Ω"),
        (lambda: loss_db(0.0, drop=0.3), "got 0 V"),
        (lambda: relay_decay_time(12.0, clamp=0.0, **COIL), "clamp voltage: got 0 V"),
        (lambda: relay_decay_time(12.0, clamp=0.7, share=1.5, **COIL), r"got 1\.5"),
        (lambda: speaker_level(1.0, sensitivity=87.0, distance=0.0), "got 0 m"),
    ],
)
def test_wrong_values_are_named(law, message):
    with pytest.raises(ValueError, match=message):
        law()
