"""Spectrum of a programme: bands that add up, tones at a corner, dB(A)."""

import math

import numpy as np
import pytest

from boomwright.physics.programme import load_programmes, programme_from_table
from boomwright.physics.sound import a_weighting
from boomwright.physics.spectrum import a_weighting_db, band_share_db


class TestBands:
    def test_whole_programme(self, programme):
        assert float(band_share_db(programme, low=0.0, high=math.inf)) == pytest.approx(
            0.0, abs=1e-12  # dB, rounding
        )  # fmt: skip

    def test_adjoining_bands_add_up(self, programme):
        below = band_share_db(programme, low=0.0, high=315.0)
        above = band_share_db(programme, low=315.0, high=math.inf)
        assert float(10.0 ** (below / 10.0) + 10.0 ** (above / 10.0)) == pytest.approx(1.0)

    def test_corner_costs_three_decibels_of_a_tone(self):
        sine = load_programmes()["sine"]
        both = band_share_db(sine, low=np.array([1000.0, 0.0]), high=np.array([math.inf, 1000.0]))
        assert both == pytest.approx([-3.0103, -3.0103], abs=1e-4)  # dB
        assert float(a_weighting_db(sine, low=1000.0, high=math.inf)) == pytest.approx(
            -3.0103, abs=1e-4  # dB
        )  # fmt: skip

    def test_weight_of_one_band(self):
        hum = programme_from_table(
            "hum",
            title="Hum",
            crest_factor_range_db=(4.0, 5.0),
            amplitudes=[0.0, 1.0],
            exceedance=[1.0, 0.0],
            frequencies=[100.0],
            spectrum_db=[-17.0],
            status="invented",
            source="test",
        )
        assert float(a_weighting_db(hum, low=0.0, high=math.inf)) == pytest.approx(
            float(a_weighting(100.0)), rel=1e-12
        )

    def test_bass_counts_little_in_db_a(self):
        dance = load_programmes()["dance"]
        plain = band_share_db(dance, low=np.array([0.0, 120.0]), high=math.inf)
        heard = a_weighting_db(dance, low=np.array([0.0, 120.0]), high=math.inf)
        assert plain[0] - plain[1] > 3.0
        assert heard[0] - heard[1] < 0.5

    def test_monotone_and_broadcast(self, programme):
        low = np.array([[30.0], [90.0], [200.0]])
        high = np.array([1500.0, 3000.0, 6000.0, 12000.0])
        for law in (band_share_db, a_weighting_db):
            got = law(programme, low=low, high=high)
            assert got.shape == (3, 4)
            assert np.all(np.diff(got, axis=0) < 0.0)
            assert np.all(np.diff(got, axis=1) > 0.0)

    def test_says_what_is_wrong(self):
        with pytest.raises(ValueError, match=r"lower corner .* got -20 Hz"):
            band_share_db(load_programmes()["pop"], low=-20.0, high=500.0)
        with pytest.raises(ValueError, match=r"upper corner: got 0 Hz"):
            a_weighting_db(load_programmes()["pop"], low=20.0, high=0.0)
