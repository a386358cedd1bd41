"""Sums of drivers: paths, polarity, delay."""

from __future__ import annotations

import numpy as np
import pytest

from boomwright.physics.nature import ROOM_TEMPERATURE, speed_of_sound
from boomwright.physics.summed import path_length, phase_between, summed_pressure

HERTZ = np.geomspace(100.0, 10e3, 25)
ONE = np.exp(1j * np.linspace(0.3, 2.1, 25))


def test_one_driver_is_heard_as_it_is():
    found = summed_pressure([ONE], HERTZ, paths=[2.5])
    assert found == pytest.approx(ONE / 2.5, rel=1e-12)


def test_an_offset_delays_by_its_own_time():
    """17 mm are 49.5 µs at 343.4 m/s: 17.8 degrees for each kilohertz."""
    apart, silent = 0.017, np.zeros_like(ONE)
    found = summed_pressure([silent, ONE], HERTZ, paths=[1.0, 1.0 + apart])
    turn = np.angle(found / ONE, deg=True)
    speed = float(speed_of_sound(ROOM_TEMPERATURE))
    assert turn[:10] == pytest.approx(-360.0 * HERTZ[:10] * apart / speed, rel=1e-9)


def test_half_a_wave_swaps_in_phase_and_turned_round():
    speed = float(speed_of_sound(ROOM_TEMPERATURE))
    paths = [40.0, 40.0 + speed / 2.0 / 2000.0]
    at = np.array([2000.0])
    pair = [np.array([1.0 + 0j]), np.array([1.0 + 0j])]
    plain = abs(summed_pressure(pair, at, paths=paths)[0]) * 40.0
    turned = abs(summed_pressure(pair, at, paths=paths, reversed_=[False, True])[0]) * 40.0
    # The farther one is also a little weaker: 86 mm in 40 m.
    assert plain == pytest.approx(0.0, abs=3e-3)
    assert turned == pytest.approx(2.0, rel=2e-3)


@pytest.mark.parametrize("gain", [0.5, 2.0])
def test_nearer_is_louder(gain):
    near = summed_pressure([ONE], HERTZ, paths=[3.0 / gain])
    far = summed_pressure([ONE], HERTZ, paths=[3.0])
    assert np.abs(near / far) == pytest.approx(np.full(25, gain), rel=1e-12)


def test_paths_by_pythagoras():
    """3-4-5, with an offset that lengthens one leg."""
    assert float(path_length(3.0, aside=4.0)) == pytest.approx(5.0, rel=1e-12)
    assert float(path_length(2.0, aside=4.0, offset=1.0)) == pytest.approx(5.0, rel=1e-12)


def test_versions_broadcast():
    many = ONE * np.array([1.0, 2.0, 4.0])[:, np.newaxis]
    found = summed_pressure([many, ONE], HERTZ, paths=[1.0, 1.3])
    assert found.shape == (3, 25)


def test_phase_between_is_signed():
    assert np.degrees(phase_between(ONE * np.exp(0.5j), ONE)) == pytest.approx(
        np.full(25, np.degrees(0.5)), rel=1e-9
    )
    assert float(phase_between(np.array(1.0 + 0j), np.array(1j))) == pytest.approx(
        -np.pi / 2, rel=1e-12
    )


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: summed_pressure([ONE, ONE], HERTZ, paths=[1.0]), "got 2 pressures, 1 ways"),
        (lambda: summed_pressure([ONE], HERTZ, paths=[-1.5]), "way to the listener: got -1.5 m"),
        (lambda: path_length(0.0), "distance: got 0 m"),
        (lambda: path_length(1.0, offset=-0.25), "offset: got -0.25 m"),
    ],
)
def test_what_cannot_be_is_refused(call, says):
    with pytest.raises(ValueError, match=says):
        call()
