"""Time near loud sound: exchange rates, equal energy, doses."""

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


class TestTime:
    @pytest.mark.parametrize(
        ("law", "exchange"), [(allowed_time_niosh, 3.0), (allowed_time_osha, 5.0)]
    )
    def test_exchange_halves_the_time(self, law, exchange):
        level = np.array([[70.0], [97.0]])
        assert law(level) / law(level + exchange) == pytest.approx(np.full((2, 1), 2.0))

    def test_weekly_time_is_equal_energy(self):
        level = np.array([76.0, 91.0, 104.0])
        exposure = sound_exposure(level, weekly_time_who(level))
        assert exposure == pytest.approx(np.full(3, exposure[0]), rel=1e-12)

    def test_children_get_less(self):
        ratio = weekly_time_who(92.0) / weekly_time_who(92.0, limit=75.0)
        assert float(ratio) == pytest.approx(10.0**0.5, rel=1e-12)

    def test_silence_is_free(self):
        assert float(weekly_time_who(-math.inf)) == math.inf
        assert float(noise_dose(-math.inf, 3600.0)) == 0.0

    def test_dose_adds_up(self):
        levels, seconds = np.array([87.0, 93.0, 99.0]), np.array([500.0, 1300.0, 170.0])
        total = sum(float(noise_dose(levels[i], seconds[i])) for i in range(3))
        assert float(noise_dose(levels, seconds)) == pytest.approx(total, rel=1e-12)
        assert noise_dose(np.full((3, 4), 88.0), np.full(4, 60.0)).shape == (3,)
