"""Amplitudes: peak, mean square and share of time beyond levels, against plain arrays."""

import math

import numpy as np
import pytest
from tests.bench.music.sounds import noise, sine

from boomwright.bench.music.amplitudes import LEVELS, AmplitudeMeter, amplitude_table
from boomwright.physics.programme import programme_from_table


def found_of(samples, block=30_011):
    samples = np.asarray(samples, dtype=np.float32)
    meter = AmplitudeMeter(len(samples))
    for at in range(0, samples.shape[1], block):
        piece = samples[:, at : at + block]
        meter.take(piece, piece.astype(np.float64))
    return meter.found()


def programme_of(samples):
    found = found_of(samples)
    levels, time_above = amplitude_table(found.counts, found.swing)
    return programme_from_table(
        "made-up", title="Made up", crest_factor_range_db=(0.0, 40.0), amplitudes=levels,
        exceedance=time_above, frequencies=[1000.0], spectrum_db=[0.0], status="measured",
        source="this test",
    )  # fmt: skip


class TestFigures:
    def test_agree_with_plain_arrays(self):
        samples = noise(3.0, rms=0.07) + np.array([[0.03], [-0.011]])
        found = found_of(samples)
        middle = samples - samples.mean(axis=1, keepdims=True)
        assert found.frames == samples.shape[1]
        assert found.mean_square == pytest.approx(np.mean(middle**2), rel=1e-6)
        assert found.sum_square == pytest.approx(np.mean(middle.mean(axis=0) ** 2), rel=1e-6)
        assert found.peak == pytest.approx(np.abs(samples).max(), rel=1e-6)
        assert found.swing == pytest.approx(np.abs(middle).max(), rel=1e-6)
        assert found.offset == pytest.approx(samples[0].mean(), rel=1e-5)
        assert found.counts.sum() == pytest.approx(1.0, rel=1e-12)

    def test_same_on_both_sides_loses_nothing_and_opposite_all(self):
        wave = noise(1.0, channels=1)
        same = found_of(np.concatenate((wave, wave)))
        opposite = found_of(np.concatenate((wave, -wave)))
        assert same.sum_square == pytest.approx(same.mean_square, rel=1e-12)
        assert opposite.sum_square == pytest.approx(0.0, abs=1e-12 * opposite.mean_square)  # [1]

    def test_share_of_time_is_the_share_of_samples(self):
        samples = noise(2.0, rms=0.2) + 0.05
        found = found_of(samples)
        size = np.abs(samples - samples.mean(axis=1, keepdims=True)).ravel()
        levels, time_above = amplitude_table(found.counts, found.swing)
        assert levels.size == time_above.size == LEVELS
        for level, share in zip(levels[:-1], time_above[:-1], strict=True):
            assert share == pytest.approx(np.mean(size > level), abs=1e-4)  # share of time
        assert time_above[-1] <= 4.0 / size.size


class TestTable:
    @pytest.mark.parametrize("seed", [1, 2])
    def test_keeps_the_crest_factor(self, seed):
        samples = noise(4.0, seed=seed) * noise(4.0, rms=1.0, seed=seed + 7)
        crest_db = 20.0 * math.log10(np.abs(samples).max() / math.sqrt(np.mean(samples**2)))
        assert programme_of(samples).crest_factor_db == pytest.approx(crest_db, abs=0.05)  # dB

    def test_sine(self):
        programme = programme_of(sine(441.0, 3.0, rate=44_100, peak=0.7))
        assert programme.crest_factor_db == pytest.approx(10.0 * math.log10(2.0), abs=0.05)  # dB
        # A sine is beyond a level for 1 - (2/pi) asin(level/peak) of the time.
        beyond = np.interp(1.0, programme.levels, programme.exceedance)
        assert beyond == pytest.approx(0.5, abs=0.01)  # share of time

    def test_square_wave_sits_at_its_ceiling(self):
        square = 0.4 * np.sign(sine(97.0, 2.0, rate=44_100) + 1e-9)
        programme = programme_of(square)
        assert programme.crest_factor_db == pytest.approx(0.0, abs=0.05)  # dB
        assert programme.exceedance[-1] == pytest.approx(1.0, abs=1e-3)  # share of time


class TestClipped:
    @pytest.mark.parametrize("ceiling", [0.35, 0.9, 1.0])
    def test_flat_samples_are_counted(self, ceiling):
        free = noise(3.0, rms=0.5 * ceiling)
        found = found_of(np.clip(free, -ceiling, ceiling))
        assert found.clipped == pytest.approx(np.mean(np.abs(free) >= ceiling), rel=0.02)

    def test_one_side_alone(self):
        free = noise(3.0, rms=0.3)
        found = found_of(np.minimum(free, 0.5))
        assert found.clipped == pytest.approx(np.mean(free >= 0.5), rel=0.02)

    def test_beyond_full_scale_counts(self):
        free = noise(3.0, rms=0.45)
        assert found_of(free).clipped == pytest.approx(np.mean(np.abs(free) > 1.0), rel=0.02)

    @pytest.mark.parametrize("frequency", [31.0, 997.0])
    def test_a_sine_that_turns_is_not_clipped(self, frequency):
        assert found_of(sine(frequency, 4.0, rate=44_100, peak=0.99)).clipped < 2e-4

    def test_free_noise_is_not_clipped(self):
        assert found_of(noise(3.0, rms=0.1)).clipped == 0.0
