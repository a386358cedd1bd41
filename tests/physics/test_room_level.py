"""Rooms: Sabine's constant, the two fields, the limits outdoors and far away."""

from __future__ import annotations

import math

import numpy as np
import pytest

from boomwright.physics.room_level import (
    absorption_area,
    critical_distance,
    room_gain_db,
    room_level,
)
from boomwright.physics.sound import distance_loss


def test_sabines_constant():
    # 0.161 s/m at 20 °C: Kinsler & Frey, from memory.
    assert float(absorption_area(87.0, reverberation=0.6)) == pytest.approx(
        0.161 * 87.0 / 0.6, rel=0.002
    )


def test_critical_distance_of_a_room():
    # 0.057 sqrt(Q V/T): the usual short form of room acoustics, from memory.
    area = absorption_area(50.0, reverberation=0.4)
    assert float(critical_distance(area, directivity=1.0)) == pytest.approx(
        0.057 * math.sqrt(50.0 / 0.4), rel=0.01
    )


def test_level_is_the_direct_one_with_the_rooms_gain():
    distance, area = np.array([0.5, 2.0, 9.0]), np.array([[11.0], [47.0]])
    inside = room_level(93.0, distance=distance, absorption=area, directivity=3.0)
    outside = room_level(93.0, distance=distance, absorption=math.inf, directivity=3.0)
    gain = room_gain_db(distance, absorption=area, directivity=3.0)
    assert inside.shape == (2, 3)
    assert inside - outside == pytest.approx(gain)
    assert outside[0] - outside[2] == pytest.approx(float(distance_loss(9.0, 0.5)))


def test_no_gain_outdoors_and_a_steady_level_far_away():
    endless = absorption_area(math.inf, reverberation=1.3)
    assert float(room_gain_db(4.0, absorption=endless)) == 0.0
    far = room_level(88.0, distance=np.array([300.0, 900.0]), absorption=25.0)
    assert far[0] == pytest.approx(far[1], abs=0.01)  # dB
    # 10 log10(4/A): the reverberant field alone.
    assert far[1] == pytest.approx(88.0 + 10.0 * math.log10(4.0 / 25.0), abs=0.01)  # dB


def test_says_what_is_wrong():
    with pytest.raises(ValueError, match="room volume: got 0 m³"):
        absorption_area(0.0, reverberation=0.5)
    with pytest.raises(ValueError, match=r"reverberation time: got -0\.5 s"):
        absorption_area(40.0, reverberation=-0.5)
