"""Programme and loudness against published standards; every value from memory is marked so."""

from __future__ import annotations

import math

import numpy as np
import pytest

from boomwright.bench.music.loudness import LoudnessMeter, gated_loudness, loudness_range
from boomwright.physics.arrays import Floats
from boomwright.physics.programme import load_programmes

RATE = 48_000


def tones(*steps: tuple[float, float]) -> Floats:
    """Tenths of a stereo sine of 1 kHz whose peaks have each level [dBFS] for some seconds."""
    meter = LoudnessMeter(RATE, 2)
    start = 0.0
    for level, seconds in steps:
        time = start + np.arange(round(RATE * seconds)) / RATE
        start += seconds
        wave = 10.0 ** (level / 20.0) * np.sin(2.0 * np.pi * 1000.0 * time)
        meter.take(np.tile(wave, (2, 1)))
    return meter.tenths()


class TestLoudness:
    """EBU Tech 3341, Loudness metering, 2016, minimum requirements test signals (from memory)."""

    @pytest.mark.parametrize(
        ("steps", "loudness"),
        [
            ([(-23.0, 20.0)], -23.0),  # case 1
            ([(-33.0, 20.0)], -33.0),  # case 2
            ([(-36.0, 10.0), (-23.0, 60.0), (-36.0, 10.0)], -23.0),  # case 3
            (  # case 4
                [(-72.0, 10.0), (-36.0, 10.0), (-23.0, 60.0), (-36.0, 10.0), (-72.0, 10.0)],
                -23.0,
            ),
            ([(-26.0, 20.0), (-20.0, 20.1), (-26.0, 20.0)], -23.0),  # case 5
        ],
    )
    def test_integrated(self, steps, loudness):
        assert gated_loudness(tones(*steps)) == pytest.approx(loudness, abs=0.1)  # LU, the EBU's

    @pytest.mark.parametrize(
        ("levels", "range_lu"),
        [
            ([-20.0, -30.0], 10.0),  # EBU Tech 3342, 2016, case 1 (from memory)
            ([-20.0, -15.0], 5.0),  # case 2
            ([-40.0, -20.0], 20.0),  # case 3
            ([-50.0, -35.0, -20.0, -35.0, -50.0], 15.0),  # case 4
        ],
    )
    def test_range(self, levels, range_lu):
        steps = [(level, 20.0) for level in levels]
        assert loudness_range(tones(*steps)) == pytest.approx(range_lu, abs=1.0)  # LU, the EBU's

    def test_full_scale_sine_on_one_channel(self):
        # ITU-R BS.1770-4, annex 1: 0 dBFS, 997 Hz on one front channel reads -3.01 LKFS (memory).
        meter = LoudnessMeter(RATE, 2)
        wave = np.sin(2.0 * np.pi * 997.0 * np.arange(10 * RATE) / RATE)
        meter.take(np.stack([wave, np.zeros_like(wave)]))
        assert gated_loudness(meter.tenths()) == pytest.approx(-3.01, abs=0.01)  # LKFS


class TestSpectra:
    def test_programme_simulation_is_that_of_an_rc_network(self):
        # IEC 60268-1, simulated programme noise: third-octave levels (from memory). The standard
        # makes them with a passive RC filter behind pink noise: real corners must meet them.
        noise = load_programmes()["noise"]
        frequencies = 10.0 ** (np.round(10.0 * np.log10(noise.frequencies)) / 10.0)
        power = np.ones_like(frequencies)
        for corner in (13.34, 34.73, 34.73):
            power /= 1.0 + (corner / frequencies) ** 2
        for corner in (3893.8, 9353.5):
            power /= 1.0 + (frequencies / corner) ** 2
        levels = 10.0 * np.log10(power)
        levels += np.mean(noise.spectrum_db - levels)
        assert noise.spectrum_db == pytest.approx(levels, abs=0.15)  # dB, the table has one digit

    def test_pink_noise_has_equal_bands(self):
        assert np.ptp(load_programmes()["pink"].spectrum_db) == 0.0

    def test_speech_adds_up_to_the_level_it_was_scaled_to(self):
        # Byrne et al., J. Acoust. Soc. Am. 96 (1994) 2108, table II: 70 dB overall, 62.1 dB in the
        # bands of 400 and 500 Hz (from memory).
        speech = load_programmes()["speech-average"]
        levels = speech.spectrum_db + 62.1
        assert 10.0 * math.log10(np.sum(10.0 ** (levels / 10.0))) == pytest.approx(70.0, abs=0.1)
        at = dict(zip(speech.frequencies, levels, strict=True))
        # The same table: 54.4 dB at 100 Hz, 53.7 at 1 kHz, 45.6 at 4 kHz.
        assert (at[100.0], at[1000.0], at[4000.0]) == pytest.approx((54.4, 53.7, 45.6), abs=0.06)

    def test_average_speech_agrees_with_the_typical_one(self):
        average, typical = (load_programmes()[name] for name in ("speech-average", "speech"))
        for frequency in (250.0, 500.0, 1000.0, 2000.0):
            one, other = (
                float(np.interp(frequency, each.frequencies, each.spectrum_db))
                for each in (average, typical)
            )
            assert one == pytest.approx(other, abs=4.0)  # dB
