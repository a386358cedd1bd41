"""Loudness in blocks against the standard's own coefficients and the whole-array reference."""

import math

import numpy as np
import pyloudnorm
import pytest
from scipy.signal import sosfilt
from tests.bench.music.sounds import noise, sine

from boomwright.bench.music.loudness import (
    LoudnessMeter,
    gated_loudness,
    k_weighting,
    loudness_range,
)


def tenths_of(samples, rate, block=4801):
    meter = LoudnessMeter(rate, len(samples))
    for at in range(0, samples.shape[1], block):
        meter.take(samples[:, at : at + block])
    return meter.tenths()


def loudness_of(samples, rate, **kwargs):
    return gated_loudness(tenths_of(samples, rate, **kwargs))


def reference(samples, rate):
    return pyloudnorm.Meter(rate, filter_class="DeMan").integrated_loudness(samples.T)


def varied(seconds, rate, channels, seed):
    """Noise with bass whose level wanders over 30 dB, with gaps of silence, as music has them."""
    draws = np.random.default_rng(seed)
    samples = noise(seconds, rate=rate, channels=channels, seed=seed)
    samples += np.cumsum(samples, axis=1) * 0.01 - np.mean(samples, axis=1, keepdims=True)
    steps = np.repeat(draws.uniform(-30.0, 0.0, int(seconds) + 1), rate)[: samples.shape[1]]
    steps[draws.integers(0, seconds - 3) * rate :][: 2 * rate] = -200.0
    return samples * 10.0 ** (steps / 20.0)


class TestFilter:
    def test_coefficients_are_those_the_standard_prints(self):
        # ITU-R BS.1770-4, annex 1, tables 1 and 2, at 48 kHz (from memory).
        shelf, high_pass = k_weighting(48_000)
        assert shelf[:3] == pytest.approx(
            [1.53512485958697, -2.69169618940638, 1.19839281085285], rel=1e-9
        )
        assert shelf[3:] == pytest.approx([1.0, -1.69065929318241, 0.73248077421585], rel=1e-9)
        assert high_pass[:3] == pytest.approx([1.0, -2.0, 1.0], rel=1e-12)
        assert high_pass[3:] == pytest.approx([1.0, -1.99004745483398, 0.99007225036621], rel=1e-9)

    @pytest.mark.parametrize("rate", [8_000, 22_050, 44_100, 96_000, 192_000])
    def test_weighs_a_tone_alike_at_every_rate(self, rate):
        heard = sosfilt(k_weighting(rate), sine(997.0, 1.0, rate=rate, peak=1.0, channels=1)[0])
        level = 10.0 * math.log10(2.0 * np.mean(heard[rate // 2 :] ** 2))
        # The standard's offset of 0.691 dB is what the filter adds at 997 Hz.
        # Exact at 48 kHz; the bilinear transform of the shelf is off by hundredths elsewhere.
        assert level == pytest.approx(0.691, abs=0.04)  # dB


class TestIntegrated:
    @pytest.mark.parametrize(
        ("rate", "channels", "seed"),
        [(44_100, 2, 1), (48_000, 1, 2), (32_000, 2, 3), (11_025, 1, 4), (96_000, 2, 5)],
    )
    def test_agrees_with_the_whole_array_reference(self, rate, channels, seed):
        samples = varied(17.0, rate, channels, seed)
        assert loudness_of(samples, rate) == pytest.approx(reference(samples, rate), abs=0.02)  # LU

    @pytest.mark.parametrize("block", [1, 777, 4410, 44_100, 1_000_000])
    def test_does_not_hang_on_the_size_of_blocks(self, block):
        samples = varied(5.0, 11_025, 2, 6)[:, :22_051]
        assert loudness_of(samples, 11_025, block=block) == pytest.approx(
            loudness_of(samples, 11_025, block=samples.shape[1]), rel=1e-12
        )

    def test_mono_in_both_channels_is_3_db_louder_than_in_one(self):
        one, two = noise(4.0, channels=1), np.tile(noise(4.0, channels=1), (2, 1))
        apart = loudness_of(two, 44_100) - loudness_of(one, 44_100)
        assert apart == pytest.approx(10.0 * math.log10(2.0), abs=1e-9)  # LU

    def test_silence_has_none(self):
        assert loudness_of(np.zeros((2, 90_000)), 44_100) == -math.inf

    def test_below_the_shortest_block_there_is_none(self):
        assert loudness_of(noise(0.39), 44_100) == -math.inf
        assert loudness_of(noise(0.41), 44_100) > -40.0

    def test_several_stretches_are_gated_as_one(self):
        loud, soft = noise(6.0, rms=0.2), noise(3.0, rms=0.0004, seed=12)
        together = gated_loudness(tenths_of(loud, 44_100), tenths_of(soft, 44_100))
        assert together == pytest.approx(loudness_of(loud, 44_100), abs=1e-9)  # LU


class TestRange:
    def test_agrees_with_the_reference_on_steps(self):
        samples = np.concatenate(
            [noise(20.0, rate=16_000, rms=rms, seed=21) for rms in (0.2, 0.05, 0.12)], axis=1
        )
        meter = pyloudnorm.Meter(16_000, filter_class="DeMan")
        found = loudness_range(tenths_of(samples, 16_000))
        assert found == pytest.approx(meter.loudness_range(samples.T), abs=0.5)  # LU

    def test_too_short_has_none(self):
        assert math.isnan(loudness_range(tenths_of(noise(2.9), 44_100)))
