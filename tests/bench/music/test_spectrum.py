"""Third-octave spectrum: against sines, noise, and the mean square of the samples themselves."""

import math

import numpy as np
import pytest
from scipy.signal import sosfilt, welch
from tests.bench.music.sounds import noise, sine

from boomwright.bench.music.spectrum import BANDS, SpectrumMeter, band_edges
from boomwright.physics.sound import a_weighting


def spectrum_of(samples, rate, block=50_021):
    samples = np.asarray(samples, dtype=np.float32)
    meter = SpectrumMeter(rate, len(samples))
    for at in range(0, samples.shape[1], block):
        meter.take(samples[:, at : at + block])
    return meter.found()


class TestBands:
    def test_names_lie_within_a_hundredth_of_the_middles(self):
        edges = band_edges()
        middles = np.sqrt(edges[1:] * edges[:-1])
        assert pytest.approx(middles, rel=0.013) == BANDS
        # IEC 61260-1: ten bands to a decade, exactly.
        assert edges[10] / edges[0] == pytest.approx(10.0, rel=1e-12)

    @pytest.mark.parametrize("place", [2, 9, 17, 25, 29])
    @pytest.mark.parametrize("rate", [44_100, 96_000])
    def test_sine_lies_in_its_band(self, place, rate):
        tone = sine(BANDS[place] * 1.01, 6.0, rate=rate, peak=0.31)
        # Faded in and out: a tone that starts at once is in every band for that moment.
        tone *= np.minimum(1.0, 4.0 * np.hanning(tone.shape[1]))
        found = spectrum_of(tone, rate)
        assert found.bands[place] == pytest.approx(np.mean(tone**2), rel=2e-3)
        others = np.delete(found.bands, place)
        assert np.max(others) < 2e-3 * found.bands[place]
        assert np.max(np.delete(others, [place - 1, place])) < 1e-5 * found.bands[place]

    def test_white_noise_rises_by_a_decibel_a_band(self):
        bands = spectrum_of(noise(60.0, rate=48_000, channels=1), 48_000).bands[10:30]
        rise = np.diff(10.0 * np.log10(bands))
        # Ten bands to a decade: 1 dB; the same over three bands as an octave's 3.01 dB.
        assert np.mean(rise) == pytest.approx(1.0, abs=0.02)  # dB
        assert np.mean(rise) == pytest.approx(10.0 * math.log10(2.0) / 3.0, abs=0.02)  # dB
        assert np.max(np.abs(rise - 1.0)) < 0.25

    def test_pink_noise_is_flat(self):
        # Poles and zeros a decade and a third apart fall by 3 dB an octave within a third of a dB.
        rate = 48_000
        poles = np.exp(-2.0 * np.pi * 10.0 ** np.arange(0.6, 4.6, 0.5) / rate)
        zeros = np.exp(-2.0 * np.pi * 10.0 ** np.arange(0.85, 4.6, 0.5) / rate)
        sections = [
            [1.0, -zero, 0.0, 1.0, -pole, 0.0] for pole, zero in zip(poles, zeros, strict=True)
        ]
        pink = sosfilt(sections, noise(120.0, rate=rate, channels=1, rms=0.01))
        bands = 10.0 * np.log10(spectrum_of(pink, rate).bands[5:25])
        # Long noise still wanders in narrow low bands.
        assert np.max(np.abs(bands - np.mean(bands))) < 1.0
        assert np.polyfit(np.arange(bands.size), bands, 1)[0] == pytest.approx(0.0, abs=0.03)  # dB


class TestPower:
    @pytest.mark.parametrize("seconds", [0.4, 0.7, 3.3])
    @pytest.mark.parametrize("rate", [8_000, 44_100])
    def test_all_frequencies_add_up_to_the_mean_square(self, seconds, rate):
        samples = noise(seconds, rate=rate) + 0.04
        assert spectrum_of(samples, rate).total == pytest.approx(np.mean(samples**2), rel=1e-5)

    def test_bands_add_up_to_what_lies_between_their_ends(self):
        samples = sum(
            sine(frequency, 5.0, rate=44_100, peak=peak)
            for frequency, peak in ((50.0, 0.2), (777.0, 0.1), (9000.0, 0.05))
        )
        found = spectrum_of(samples, 44_100)
        assert found.bands.sum() == pytest.approx((0.2**2 + 0.1**2 + 0.05**2) / 2.0, rel=1e-3)

    def test_agrees_with_the_reference_spectrum(self):
        samples = sosfilt([[0.01, 0.0, 0.0, 1.0, -0.99, 0.0]], noise(20.0, channels=1))
        frequencies, density = welch(samples[0], 44_100, nperseg=1 << 15)
        edges = band_edges()
        found = spectrum_of(samples, 44_100).bands
        for place in (12, 17, 22, 27):
            inside = (frequencies >= edges[place]) & (frequencies < edges[place + 1])
            theirs = density[inside].sum() * frequencies[1]
            assert 10.0 * math.log10(found[place] / theirs) == pytest.approx(0.0, abs=0.2)  # dB

    @pytest.mark.parametrize("frequency", [63.0, 250.0, 4000.0])
    def test_a_weighting_of_a_tone(self, frequency):
        found = spectrum_of(sine(frequency, 5.0, rate=48_000), 48_000)
        level = 10.0 * math.log10(found.weighted / found.total)
        assert level == pytest.approx(float(a_weighting(frequency)), abs=0.05)  # dB

    def test_does_not_hang_on_the_size_of_blocks(self):
        samples = noise(4.0, rate=8_000)
        one, other = (spectrum_of(samples, 8_000, block=block) for block in (1_003, 32_000))
        assert one.bands == pytest.approx(other.bands, rel=1e-5)

    def test_reading_twice_changes_nothing(self):
        meter = SpectrumMeter(8_000, 1)
        meter.take(noise(2.0, rate=8_000, channels=1).astype(np.float32))
        first = meter.found()
        assert meter.found().bands == pytest.approx(first.bands, rel=1e-12)

    def test_holds_nothing_above_half_the_rate(self):
        found = spectrum_of(noise(3.0, rate=8_000), 8_000)
        assert found.highest == 4000.0
        assert np.all(found.bands[BANDS > 4500.0] == 0.0)
