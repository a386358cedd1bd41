"""A parked battery: limits of drain and self-discharge."""

import numpy as np
import pytest

from boomwright.physics.shelf import MONTH, self_discharge_rate, shelf_time

DAY = 86400.0


def test_rate_is_the_given_one_at_its_temperature_and_doubles_per_step():
    rates = self_discharge_rate(
        self_discharge=0.04,
        temperature=np.array([293.15, 301.15, 309.15]),
        doubling=8.0,
    )
    assert rates == pytest.approx([0.04, 0.08, 0.16], rel=1e-12)


def test_drain_alone_is_a_division():
    time = shelf_time(charge=25200.0, current=0.03, self_discharge=0.0, temperature=293.15)
    assert float(time) / DAY == pytest.approx(25200.0 / 0.03 / DAY, rel=1e-12)


def test_tiny_self_discharge_joins_the_drain_smoothly():
    drain = {"charge": 25200.0, "current": 0.03, "temperature": 293.15}
    alone = shelf_time(self_discharge=0.0, **drain)
    assert float(shelf_time(self_discharge=1e-15, **drain)) == pytest.approx(float(alone), rel=1e-9)
    assert float(shelf_time(self_discharge=0.05, **drain)) < float(alone)


def test_self_discharge_alone_never_empties_but_halves():
    stored = {"charge": 5000.0, "current": 0.0, "self_discharge": 0.03, "temperature": 293.15}
    assert float(shelf_time(**stored)) == np.inf
    half = shelf_time(charge_end=2500.0, **stored)
    assert float(half) / MONTH == pytest.approx(np.log(2.0) / 0.03, rel=1e-12)


def test_both_losses_obey_their_rate_equation():
    charge, loss, current, length = 25200.0, 0.2 / MONTH, 0.004, 60.0
    left, elapsed = charge, 0.0
    while left > 9000.0:
        left -= length * (current + loss * left)
        elapsed += length
    time = shelf_time(
        charge=charge, current=current, self_discharge=0.2, temperature=293.15, charge_end=9000.0
    )
    assert float(time) == pytest.approx(elapsed, rel=1e-4)


def test_no_loss_at_all_lasts_for_ever():
    time = shelf_time(
        charge=5000.0, current=0.0, self_discharge=0.0, temperature=293.15, charge_end=100.0
    )
    assert float(time) == np.inf


def test_already_there_takes_no_time():
    time = shelf_time(
        charge=np.array([0.0, 80.0]),
        current=0.0,
        self_discharge=0.0,
        temperature=293.15,
        charge_end=np.array([0.0, 90.0]),
    )
    assert time == pytest.approx([0.0, 0.0])


def test_broadcasts_and_warmth_shortens():
    time = shelf_time(
        charge=np.array([[9000.0], [18000.0], [27000.0]]),
        current=0.002,
        self_discharge=0.03,
        temperature=np.array([273.15, 283.15, 293.15, 303.15]),
    )
    assert time.shape == (3, 4)
    assert np.all(np.diff(time, axis=1) < 0.0)
    assert np.all(np.diff(time, axis=0) > 0.0)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"current": -0.02}, "current: got -0.02 A"),
        ({"charge": -5.0}, "charge: got -5 C"),
        ({"self_discharge": -0.1}, "self_discharge: got -0.1 1/month"),
        ({"charge_end": -7.0}, "charge_end: got -7 C"),
    ],
)
def test_refuses_negative_losses(changes, message):
    given = {"charge": 9e3, "current": 0.01, "self_discharge": 0.03, "temperature": 293.15}
    with pytest.raises(ValueError, match=message):
        shelf_time(**(given | changes))
