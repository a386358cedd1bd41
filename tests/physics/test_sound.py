"""Sound laws: limits, silence, broadcasting, inverse pairs."""

import math

import numpy as np
import pytest

from boomwright.physics.sound import (
    PLACES,
    a_weighting,
    boundary_gain_power,
    boundary_gain_velocity,
    c_weighting,
    coherent_gain,
    distance_loss,
    level_sum,
    sound_level,
)


def test_weightings_are_zero_at_one_kilohertz():
    assert float(a_weighting(1000.0)) == pytest.approx(0.0, abs=1e-12)  # dB, rounding
    assert float(c_weighting(1000.0)) == pytest.approx(0.0, abs=1e-12)  # dB, rounding


def test_weightings_at_the_ends():
    assert a_weighting(np.array([0.0])) == -math.inf
    assert c_weighting(np.array([0.0])) == -math.inf
    # Far above the poles both fall by 12 dB per octave, far below A by 24 and C by 12.
    for law, low in ((a_weighting, 24.0824), (c_weighting, 12.0412)):
        assert float(law(2e7) - law(4e7)) == pytest.approx(12.0412, rel=1e-4)
        assert float(law(0.02) - law(0.01)) == pytest.approx(low, rel=1e-4)


def test_weightings_broadcast_and_refuse():
    assert a_weighting(np.full((3, 4), 250.0)).shape == (3, 4)
    with pytest.raises(ValueError, match="got -50 Hz"):
        a_weighting(np.array([40.0, -50.0]))


def test_distance():
    assert float(distance_loss(10.0)) == pytest.approx(20.0, rel=1e-12)
    assert float(distance_loss(0.5)) == pytest.approx(-float(distance_loss(2.0)), rel=1e-12)
    assert float(distance_loss(3.0, 3.0)) == 0.0
    assert distance_loss(np.array([[2.0], [4.0], [7.0]]), np.ones(4)).shape == (3, 4)
    with pytest.raises(ValueError, match="distance: got 0 m"):
        distance_loss(0.0)


def test_level_of_a_loudspeaker():
    assert float(sound_level(84.0, power=1.0, distance=1.0)) == 84.0
    assert float(sound_level(84.0, power=0.0, distance=2.0)) == -math.inf
    many = sound_level(np.array([[82.0], [85.0], [91.0]]), power=np.full(4, 5.0), distance=3.0)
    assert many.shape == (3, 4)
    with pytest.raises(ValueError, match="got -6 W"):
        sound_level(84.0, power=-6.0, distance=2.0)


class TestSums:
    def test_silence_adds_nothing(self):
        assert float(level_sum(np.array([-math.inf, 66.0]))) == pytest.approx(66.0, rel=1e-12)
        assert float(level_sum(np.array([-math.inf, -math.inf]))) == -math.inf

    def test_order_and_size_do_not_matter(self):
        levels = np.array([55.0, 81.0, 68.0])
        assert float(level_sum(levels)) == pytest.approx(float(level_sum(levels[::-1])))
        shifted = level_sum(levels + 5000.0)
        assert float(shifted) - 5000.0 == pytest.approx(float(level_sum(levels)), rel=1e-9)

    def test_axis(self):
        levels = np.arange(60.0, 84.0).reshape(2, 3, 4)
        assert level_sum(levels, axis=1).shape == (2, 4)
        assert level_sum(levels, axis=1)[1, 2] == pytest.approx(float(level_sum(levels[1, :, 2])))

    def test_coherent_is_twice_incoherent(self):
        count = 7
        together = float(level_sum(np.full(count, 50.0))) - 50.0
        assert float(coherent_gain(float(count))) == pytest.approx(2.0 * together, rel=1e-12)
        with pytest.raises(ValueError, match="number of sources: got 0"):
            coherent_gain(0.0)


class TestPlaces:
    def test_half_space_is_the_zero(self):
        assert [round(gain, 2) for gain in PLACES.values()] == [-3.01, 0.0, 3.01, 6.02]
        assert list(PLACES) == ["open", "floor", "floor-wall", "corner"]

    def test_steps_are_those_of_fixed_power(self):
        gains = boundary_gain_power(np.arange(4.0))
        assert list(PLACES.values()) == pytest.approx(list(gains - gains[1]))
        assert boundary_gain_velocity(np.arange(4.0)) == pytest.approx(2.0 * gains)
