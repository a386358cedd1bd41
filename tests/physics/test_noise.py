"""Whine of a shared lead, and small voltages as sound."""

import numpy as np
import pytest

from boomwright.physics.noise import shared_lead_noise, speaker_level


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


VOLTS = np.array([[3.0], [12.0], [24.0]])

FOUR = np.array([0.1, 0.2, 0.5, 0.9])


def test_noise_broadcasts():
    assert speaker_level(VOLTS, sensitivity=FOUR).shape == (3, 4)


def test_level_at_no_distance_is_refused():
    with pytest.raises(ValueError, match="got 0 m"):
        speaker_level(1.0, sensitivity=87.0, distance=0.0)
