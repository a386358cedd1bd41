"""Places: the bass and treble ends of every place, and what lies between."""

from __future__ import annotations

import numpy as np
import pytest

from boomwright.physics.placement import baffle_step, place_gain_db
from boomwright.physics.sound import (
    PLACES,
    boundary_gain_power,
    boundary_gain_velocity,
    coherent_gain,
)

SURFACES = {"open": 0, "floor": 1, "floor-wall": 2, "corner": 3}


def test_places_are_those_of_sound():
    assert set(SURFACES) == set(PLACES)


def test_baffle_step_ends_and_middle():
    found = 20.0 * np.log10(np.abs(baffle_step(np.array([0.0, 460.0, 1e6]), width=0.25)))
    assert found[:2] == pytest.approx([-6.0206, -3.0103], rel=1e-4)
    assert found[2] == pytest.approx(0.0, abs=1e-4)  # dB, the limit is 0


def test_baffle_step_never_overshoots():
    curve = np.abs(baffle_step(np.geomspace(10.0, 20_000.0, 400), width=0.18))
    assert np.all(np.diff(curve) > 0.0)


@pytest.mark.parametrize("place", list(SURFACES))
def test_bass_meets_the_gain_at_equal_velocity(place):
    """Half space is one surface, so free space is 6 dB below it (Kinsler & Frey, images)."""
    expected = float(boundary_gain_velocity(SURFACES[place])) - float(boundary_gain_velocity(1.0))
    got = place_gain_db(1.0, place=place, width=0.22)
    assert float(got) == pytest.approx(expected, abs=0.02)  # dB, at 1 Hz


def test_treble_keeps_the_floor_only():
    for place, expected in {
        "open": 0.0,
        "floor": float(boundary_gain_power(1.0)),
        "floor-wall": float(boundary_gain_power(1.0)),
        "corner": float(boundary_gain_power(1.0)),
    }.items():
        got = place_gain_db(60_000.0, place=place, width=0.22)
        assert float(got) == pytest.approx(expected, abs=0.05)  # dB, at 60 kHz


def test_usual_numbers_lie_between_bass_and_treble():
    """Single numbers for places, at equal power, hold somewhere in the band (floor: at its end)."""
    for place in ("open", "floor-wall", "corner"):
        curve = place_gain_db(np.geomspace(20.0, 10_000.0, 300), place=place, width=0.22)
        assert np.min(curve) < PLACES[place] < np.max(curve)


def test_two_equal_sources_when_the_floor_is_near():
    near = place_gain_db(100.0, place="floor", width=0.22, above_floor=0.01)
    bare = place_gain_db(100.0, place="open", width=0.22)
    assert float(near - bare) == pytest.approx(float(coherent_gain(2.0)), abs=0.01)  # dB


def test_a_wall_behind_dips_where_it_is_far():
    """Small source 0.6 m from a wall: sin(x)/x is least at x = 4.49, x = 2 pi f 1.2 m/c."""
    hertz = np.geomspace(40.0, 1000.0, 500)
    arguments = {"width": 0.01, "above_floor": 0.05}
    behind = place_gain_db(hertz, place="floor-wall", before_wall=0.6, **arguments)
    without = place_gain_db(hertz, place="floor", **arguments)
    least = hertz[int(np.argmin(behind - without))]
    assert least == pytest.approx(4.49 * 343.2 / (2.0 * np.pi * 1.2), rel=0.02)


def test_broadcast_and_refuse():
    got = place_gain_db(
        np.geomspace(20.0, 200.0, 5), place="corner", width=np.array([[0.2], [0.3]])
    )
    assert got.shape == (2, 5)
    with pytest.raises(ValueError, match="floor: got 0 m"):
        place_gain_db(50.0, place="floor", width=0.2, above_floor=0.0)
    with pytest.raises(ValueError, match=r"front: got -0\.2 m"):
        baffle_step(50.0, width=-0.2)
