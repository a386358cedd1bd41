"""Sound levels and hearing limits as printed in standards and reference pages."""

from __future__ import annotations

import math

import numpy as np
import pytest

from boomwright.physics.hearing import (
    allowed_time_niosh,
    allowed_time_osha,
    noise_dose,
    sound_exposure,
    weekly_time_who,
)
from boomwright.physics.nature import air_density, speed_of_sound
from boomwright.physics.sound import (
    a_weighting,
    boundary_gain_power,
    boundary_gain_velocity,
    c_weighting,
    coherent_gain,
    distance_loss,
    level_sum,
    sound_level,
)

# IEC 61672-1 table 3, seen in two secondary copies: nominal frequency [Hz], A-weighting [dB].
A_TABLE = [
    (12.5, -63.4), (16, -56.7), (20, -50.5), (31.5, -39.4), (50, -30.2), (63, -26.2),
    (100, -19.1), (125, -16.1), (200, -10.9), (250, -8.6), (315, -6.6), (400, -4.8),
    (500, -3.2), (800, -0.8), (1000, 0.0), (1600, 1.0), (2000, 1.2), (3150, 1.2),
    (4000, 1.0), (5000, 0.5), (6300, -0.1), (8000, -1.1), (12500, -4.3), (20000, -9.3),
]  # fmt: skip


def exact(nominal: float) -> float:
    """The frequency 10^(n/10) that a nominal third-octave frequency stands for [Hz]."""
    return 10.0 ** (round(10.0 * math.log10(nominal)) / 10.0)


@pytest.mark.parametrize(("nominal", "weight"), A_TABLE)
def test_a_weighting_iec_61672(nominal, weight):
    assert float(a_weighting(exact(nominal))) == pytest.approx(weight, abs=0.1)  # dB, exact f


@pytest.mark.parametrize(("nominal", "weight"), [row for row in A_TABLE if row[0] >= 20])
def test_a_weighting_iec_61672_at_nominal_frequencies(nominal, weight):
    # Below 20 Hz the nominal frequencies are too far from the exact ones for this tolerance.
    assert float(a_weighting(nominal)) == pytest.approx(weight, abs=0.15)  # dB, nominal f


@pytest.mark.parametrize(("nominal", "weight"), [(31.5, -3.0), (100, -0.3), (8000, -3.0)])
def test_c_weighting_iec_61672(nominal, weight):
    assert float(c_weighting(exact(nominal))) == pytest.approx(weight, abs=0.1)  # dB


def test_nominal_31_5_hz_is_not_the_printed_value():
    # The table belongs to 31.62 Hz; at 31.5 Hz the formula gives -39.52 dB (computed).
    assert float(a_weighting(31.5)) == pytest.approx(-39.52, abs=0.01)  # dB


def test_distance_law_decibel_maths():
    # "Decibel maths" page (seen): twice the distance, -6.02 dB.
    assert -float(distance_loss(3.4, 1.7)) == pytest.approx(-6.02, abs=0.01)  # dB


def test_unlike_sources_decibel_maths():
    # "Decibel maths" page (seen): 62 and 73 dB make 73.3 dB.
    assert float(level_sum(np.array([62.0, 73.0]))) == pytest.approx(73.33, abs=0.05)  # dB


def test_two_equal_sources_audio_course():
    # Audio course, combination of sources (seen): 90 and 90 dB make 93 dB.
    assert float(level_sum(np.array([90.0, 90.0]))) == pytest.approx(93.0, abs=0.05)  # dB


@pytest.mark.parametrize(("count", "gain"), [(3, 4.8), (5, 7.0), (10, 10.0)])
def test_equal_incoherent_sources_adding_decibels(count, gain):
    # "Adding decibels" pages (seen), the column for power.
    assert float(level_sum(np.full(count, 71.0))) - 71.0 == pytest.approx(gain, abs=0.05)  # dB


def test_coherent_pair_decibel_maths():
    # "Decibel maths" page (seen): at most 6.0 dB.
    assert float(coherent_gain(2.0)) == pytest.approx(6.0, abs=0.05)  # dB


def test_level_from_sensitivity():
    # Computed from the definitions: 88 dB at 1 W and 1 m, 10 W, 4 m, open air.
    level = sound_level(88.0, power=10.0, distance=4.0)
    assert float(level) == pytest.approx(85.96, abs=0.05)  # dB


def test_boundary_gain_kinsler_frey():
    # Image sources (memory): half, quarter, eighth space over free space.
    surfaces = np.array([1.0, 2.0, 3.0])
    assert boundary_gain_velocity(surfaces) == pytest.approx([6.0, 12.0, 18.0], abs=0.1)  # dB
    assert boundary_gain_power(surfaces) == pytest.approx([3.0, 6.0, 9.0], abs=0.1)  # dB


@pytest.mark.parametrize(
    ("level", "minutes"), [(85.0, 480.0), (88.0, 240.0), (94.0, 60.0), (100.0, 15.0)]
)
def test_niosh_meter_page(level, minutes):
    # NIOSH sound level meter page (seen).
    assert float(allowed_time_niosh(level)) / 60.0 == pytest.approx(minutes, rel=1e-12)


@pytest.mark.parametrize(("level", "minutes"), [(90.0, 151.19), (103.0, 7.50), (106.0, 3.75)])
def test_niosh_engineering_table(level, minutes):
    # Noise exposure level and duration, an engineering table (seen; it rounds down).
    assert float(allowed_time_niosh(level)) / 60.0 == pytest.approx(minutes, rel=1e-4)


def test_dose_niosh_98_126():
    # NIOSH 98-126 dose equation (computed): 91 dBA for 1 h and 88 dBA for 2 h are 100 %.
    dose = noise_dose(np.array([91.0, 88.0]), np.array([3600.0, 7200.0]))
    assert 100.0 * float(dose) == pytest.approx(100.0, abs=0.1)  # per cent


@pytest.mark.parametrize(
    ("level", "hours"), [(90.0, 8.0), (95.0, 4.0), (100.0, 2.0), (105.0, 1.0), (110.0, 0.5)]
)
def test_osha_1910_95(level, hours):
    # 29 CFR 1910.95 table G-16 (90 dBA and 5 dB seen; times from memory).
    assert float(allowed_time_osha(level)) / 3600.0 == pytest.approx(hours, rel=1e-12)


def test_weekly_allowance_itu_h870():
    # ITU-T H.870: 80 dBA for 40 h (seen second-hand); 1.6 Pa²h (memory).
    assert float(sound_exposure(80.0, 40.0 * 3600.0)) / 3600.0 == pytest.approx(1.6, rel=0.005)


def test_weekly_allowance_children_itu_h870():
    # ITU-T H.870: 75 dBA for 40 h, 0.51 Pa²h (memory).
    week = float(weekly_time_who(75.0, limit=75.0))
    assert float(sound_exposure(75.0, week)) / 3600.0 == pytest.approx(0.51, rel=0.01)


@pytest.mark.parametrize(("level", "hours"), [(89.0, 5.036), (95.0, 1.265), (100.0, 0.400)])
def test_weekly_time_itu_h870(level, hours):
    # Computed from the allowance.
    assert float(weekly_time_who(level)) / 3600.0 == pytest.approx(hours, rel=0.005)


def test_air_kinsler_frey():
    # Ideal gas at 20 °C (computed).
    assert float(speed_of_sound(293.15)) == pytest.approx(343.2, rel=0.002)
    assert float(air_density(293.15)) == pytest.approx(1.2041, rel=0.002)
