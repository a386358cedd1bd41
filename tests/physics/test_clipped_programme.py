"""Clipped programmes: limits, derivatives, the inverse, sampled waves."""

import math

import numpy as np
import pytest

from boomwright.physics.clipped_programme import (
    OVERDRIVE_MAX,
    clipped_mean_abs,
    clipped_mean_square,
    rms_for_clipped_mean_square,
    share_clipped,
)
from boomwright.physics.programme import load_programmes, programme_from_table


def table(levels, exceedance, bands=(1000.0,), bands_db=(0.0,)):
    return programme_from_table(
        "made-up",
        title="Made up",
        crest_factor_range_db=(1.0, 2.0),
        amplitudes=levels,
        exceedance=exceedance,
        frequencies=bands,
        spectrum_db=bands_db,
        status="invented",
        source="this test",
    )


class TestClippedMeans:
    def test_limits(self, programme):
        assert float(clipped_mean_square(programme, math.inf)) == pytest.approx(1.0, rel=1e-12)
        assert float(clipped_mean_square(programme, 0.0)) == 0.0
        assert float(clipped_mean_abs(programme, 0.0)) == 0.0
        assert float(share_clipped(programme, 0.0)) == pytest.approx(1.0, rel=1e-12)
        assert float(share_clipped(programme, math.inf)) == 0.0
        tiny = 1e-4
        assert float(clipped_mean_square(programme, tiny)) == pytest.approx(tiny**2, rel=1e-3)

    def test_monotone_and_bounded(self, programme):
        clip = np.linspace(0.0, 9.0, 2001)
        mean_abs = clipped_mean_abs(programme, clip)
        mean_square = clipped_mean_square(programme, clip)
        assert np.all(np.diff(mean_abs) >= 0.0)
        assert np.all(np.diff(mean_square) >= 0.0)
        assert np.all(np.diff(share_clipped(programme, clip)) <= 0.0)
        # No wave has a mean above its root mean square, nor a power above c times its mean.
        assert np.all(mean_abs**2 <= mean_square + 1e-12)
        assert np.all(mean_square <= clip * mean_abs + 1e-12)

    def test_derivatives_are_the_exceedance(self, programme):
        clip, step = np.linspace(0.05, 1.3, 40), 1e-5
        up, down = clip + step, clip - step
        share = share_clipped(programme, clip)
        rise = (clipped_mean_abs(programme, up) - clipped_mean_abs(programme, down)) / (2 * step)
        assert rise == pytest.approx(share, rel=1e-3)
        rise = clipped_mean_square(programme, up) - clipped_mean_square(programme, down)
        assert rise / (2 * step) == pytest.approx(2.0 * clip * share, rel=1e-3)

    def test_sine_is_a_sine(self):
        sine = load_programmes()["sine"]
        wave = math.sqrt(2.0) * np.sin(2.0 * np.pi * (np.arange(20000) + 0.5) / 20000)
        for clip in (0.2, 0.7, 1.1, 1.35, 3.0):
            cut = np.clip(wave, -clip, clip)
            assert float(clipped_mean_abs(sine, clip)) == pytest.approx(
                float(np.mean(np.abs(cut))), rel=1e-3
            )
            assert float(clipped_mean_square(sine, clip)) == pytest.approx(
                float(np.mean(cut**2)), rel=1e-3
            )

    def test_noise_sits_at_its_ceiling(self):
        noise = load_programmes()["noise"]
        ceiling = float(noise.levels[-1])
        assert float(share_clipped(noise, 0.999 * ceiling)) > 0.01
        assert float(share_clipped(noise, ceiling)) == 0.0

    def test_broadcasts(self):
        clip = np.linspace(0.1, 3.0, 12).reshape(3, 4)
        pop = load_programmes()["pop"]
        for law in (clipped_mean_abs, clipped_mean_square, share_clipped):
            assert law(pop, clip).shape == (3, 4)
            assert law(pop, clip)[1, 2] == law(pop, clip[1, 2])

    def test_refuses_a_negative_clip(self):
        with pytest.raises(ValueError, match=r"got -0\.4"):
            clipped_mean_abs(load_programmes()["pop"], np.array([1.0, -0.4]))


class TestInverse:
    def test_round_trip(self, programme):
        peak = 7.3
        rms = np.geomspace(0.01, 1.0, 400) * peak / float(programme.levels[-1]) * OVERDRIVE_MAX
        after = rms**2 * clipped_mean_square(programme, peak / rms)
        back, reached = rms_for_clipped_mean_square(
            programme, mean_square=after * (1.0 - 1e-12), peak=peak
        )
        assert np.all(reached)
        assert back == pytest.approx(rms, rel=1e-8)

    def test_out_of_reach(self, programme):
        rms, reached = rms_for_clipped_mean_square(programme, mean_square=26.0, peak=5.0)
        assert not bool(reached)
        assert float(rms) * float(programme.levels[-1]) == pytest.approx(5.0 * OVERDRIVE_MAX)

    def test_more_overdrive_reaches_further(self):
        dance = load_programmes()["dance"]
        wanted = 0.35 * 6.0**2
        _, mild = rms_for_clipped_mean_square(dance, mean_square=wanted, peak=6.0)
        rms, hard = rms_for_clipped_mean_square(
            dance, mean_square=wanted, peak=6.0, overdrive_max=8.0
        )
        assert (bool(mild), bool(hard)) == (False, True)
        after = rms**2 * clipped_mean_square(dance, 6.0 / rms)
        assert float(after) == pytest.approx(wanted, rel=1e-9)

    def test_silence_and_no_supply(self):
        pop = load_programmes()["pop"]
        rms, reached = rms_for_clipped_mean_square(
            pop, mean_square=np.array([0.0, 0.0, 3.0]), peak=np.array([4.0, 0.0, 0.0])
        )
        assert rms == pytest.approx([0.0, 0.0, 0.0])
        assert list(reached) == [True, True, False]

    def test_square_wave(self):
        square = table([0.0, 3.0], [1.0, 1.0])
        rms, reached = rms_for_clipped_mean_square(
            square, mean_square=np.array([4.0, 8.9, 9.1]), peak=3.0
        )
        assert rms[:2] == pytest.approx([2.0, math.sqrt(8.9)], rel=1e-9)
        assert list(reached) == [True, True, False]

    def test_broadcasts(self):
        rms, reached = rms_for_clipped_mean_square(
            load_programmes()["acoustic"],
            mean_square=np.array([[0.5], [1.5], [4.0]]),
            peak=np.array([5.0, 6.0, 8.0, 11.0]),
        )
        assert rms.shape == reached.shape == (3, 4)

    def test_says_what_is_wrong(self):
        pop = load_programmes()["pop"]
        with pytest.raises(ValueError, match="got -2 V²"):
            rms_for_clipped_mean_square(pop, mean_square=-2.0, peak=3.0)
        with pytest.raises(ValueError, match=r"got 0\.5"):
            rms_for_clipped_mean_square(pop, mean_square=2.0, peak=3.0, overdrive_max=0.5)
