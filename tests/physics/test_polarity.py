"""Reversed poles: the loop, the loss of a diode."""

import numpy as np
import pytest

from boomwright.physics.polarity import loss_db, reverse_current, schottky_loss


def test_reversed_battery_drives_its_loop():
    found = reverse_current(np.array([0.6, 13.1]), voltage_forward=1.1, resistance_loop=0.24)
    np.testing.assert_allclose(found, [0.0, 50.0])


def test_diode_loss_is_voltage_times_current():
    assert float(schottky_loss(2.2, voltage_forward=0.35)) == pytest.approx(0.77)


def test_half_the_supply_is_six_decibels():
    assert float(loss_db(12.0, drop=6.0)) == pytest.approx(20.0 * np.log10(2.0))
    assert loss_db(12.0, drop=np.array([0.0, 12.0, 15.0])).tolist() == [0.0, np.inf, np.inf]


VOLTS = np.array([[3.0], [12.0], [24.0]])

FOUR = np.array([0.1, 0.2, 0.5, 0.9])


def test_polarity_broadcasts():
    assert reverse_current(VOLTS, voltage_forward=1.0, resistance_loop=FOUR).shape == (3, 4)
    assert loss_db(VOLTS, drop=FOUR).shape == (3, 4)


def test_no_supply_has_no_loss():
    with pytest.raises(ValueError, match="got 0 V"):
        loss_db(0.0, drop=0.3)
