"""Relays: copper, decay and energy of a coil."""

import numpy as np
import pytest

from boomwright.physics.relay import relay_coil_energy, relay_decay_time, relay_pickup_hot

COIL = {"resistance": 230.0, "inductance": 0.41}


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


VOLTS = np.array([[3.0], [12.0], [24.0]])

FOUR = np.array([0.1, 0.2, 0.5, 0.9])


def test_relay_broadcasts():
    assert relay_decay_time(VOLTS, clamp=0.7, share=FOUR, **COIL).shape == (3, 4)


@pytest.mark.parametrize(
    ("change", "message"),
    [({"clamp": 0.0}, "clamp voltage: got 0 V"), ({"share": 1.5}, r"got 1\.5")],
)
def test_decay_names_what_is_wrong(change, message):
    with pytest.raises(ValueError, match=message):
        relay_decay_time(12.0, **{"clamp": 0.7, **COIL, **change})
