"""Amplifier and programme figures from textbooks, standards and plain Fourier analysis."""

from __future__ import annotations

import math

import numpy as np
import pytest

from boomwright.physics.amplifier import (
    RAIL_SHARE,
    clean_power,
    heat_power,
    supply_power,
    swing_peak,
)
from boomwright.physics.clipped_programme import clipped_mean_abs, clipped_mean_square
from boomwright.physics.clipping import (
    SQUARE_WAVE_THD,
    clipped_power_factor,
    clipped_sine_power,
    clipped_sine_thd,
    clipping_overdrive,
)
from boomwright.physics.programme import Programme, load_programmes, programme_from_table


def ideal(supply, share, load, mean_abs, mean_square):
    """Power from the supply of an ideal class-B channel [W]."""
    return supply_power(
        supply_voltage=supply,
        rail_share=share,
        switching=0.0,
        load=load,
        resistance_output=0.0,
        mean_abs=mean_abs,
        mean_square=mean_square,
        power_idle=0.0,
        loss_switching=0.0,
    )


def ideal_sine(supply, share, load, peak):
    return ideal(supply, share, load, 2.0 / np.pi * peak, peak**2 / 2.0)


def largest_heat(supply, share, load):
    peaks = share * supply * np.linspace(0.0, 1.0, 4001)
    drawn = ideal_sine(supply, share, load, peaks)
    return float(np.max(heat_power(drawn, mean_square=peaks**2 / 2.0, load=load)))


def ideal_peak(supply, share, load):
    return swing_peak(
        supply,
        rail_share=share,
        voltage_loss=0.0,
        resistance_output=0.0,
        load=load,
        current_limit=math.inf,
    )


class TestBoylestadNashelsky:
    """Electronic Devices and Circuit Theory, Examples 12.8 and 12.9 (seen)."""

    def test_example_12_8(self):
        # Peak swing Vcc 30 V, so a supply of 60 V with a rail share of one half; 16 ohm.
        delivered = float(clean_power(30.0, 16.0))
        drawn = float(ideal_sine(60.0, 0.5, 16.0, 30.0))
        assert delivered == pytest.approx(28.125, rel=0.005)
        assert drawn == pytest.approx(35.81, rel=0.005)
        assert 100.0 * delivered / drawn == pytest.approx(78.54, rel=0.005)
        assert largest_heat(60.0, 0.5, 16.0) / 2.0 == pytest.approx(5.7, rel=0.005)

    def test_example_12_9(self):
        # Vcc 24 V, 22 V peak: 72 % (71.99).
        share = clean_power(22.0, 8.0) / ideal_sine(48.0, 0.5, 8.0, 22.0)
        assert 100.0 * float(share) == pytest.approx(72.0, abs=0.1)  # per cent, as printed


class TestClassB:
    """Textbook class-B analysis; single-supply and bridge forms by substitution (computed)."""

    def test_worst_point_of_a_sine(self):
        peaks = 17.0 * np.linspace(1e-3, 1.0, 20001)
        drawn = ideal_sine(34.0, 0.5, 5.0, peaks)
        heat = heat_power(drawn, mean_square=peaks**2 / 2.0, load=5.0)
        worst = int(np.argmax(heat))
        assert peaks[worst] / 17.0 == pytest.approx(2.0 / math.pi, rel=1e-3)
        assert heat[worst] / clean_power(17.0, 5.0) == pytest.approx(4.0 / math.pi**2, rel=1e-5)
        assert heat[worst] / drawn[worst] == pytest.approx(0.5, rel=1e-3)

    @pytest.mark.parametrize(
        ("supply", "load", "single", "single_heat", "bridge", "bridge_heat"),
        [
            (12.0, 4.0, 4.500, 1.824, 18.000, 7.295),
            (12.0, 8.0, 2.250, 0.912, 9.000, 3.648),
            (24.0, 8.0, 9.000, 3.648, 36.000, 14.590),
            (13.2, 4.0, 5.445, 2.207, 21.780, 8.827),
        ],
    )
    def test_single_supply(self, supply, load, single, single_heat, bridge, bridge_heat):
        half, whole = RAIL_SHARE["single-ended"], RAIL_SHARE["bridge"]
        assert float(clean_power(ideal_peak(supply, half, load), load)) == pytest.approx(
            single, rel=0.002
        )
        assert float(clean_power(ideal_peak(supply, whole, load), load)) == pytest.approx(
            bridge, rel=0.002
        )
        assert largest_heat(supply, half, load) == pytest.approx(single_heat, rel=0.002)
        assert largest_heat(supply, whole, load) == pytest.approx(bridge_heat, rel=0.002)

    def test_supply_current_at_full_sine(self):
        drawn = float(ideal_sine(12.0, RAIL_SHARE["bridge"], 4.0, 12.0))
        assert drawn == pytest.approx(22.92, rel=0.002)
        assert drawn / 12.0 == pytest.approx(1.9099, rel=0.002)

    def test_square_wave_is_twice_the_sine(self):
        clean = clean_power(ideal_peak(12.0, 1.0, 4.0), 4.0)
        assert float(clean * clipped_sine_power(math.inf)) == pytest.approx(36.0, rel=1e-12)

    def test_one_eighth_of_full_power(self):
        # The 1/8 rule: IEC 62368-1 annex E and 16 CFR 432 (rule from memory, values computed).
        peak = 11.0 * math.sqrt(1.0 / 8.0)
        greatest = float(clean_power(11.0, 6.0))
        drawn = float(ideal_sine(11.0, 1.0, 6.0, peak))
        heat = float(heat_power(drawn, mean_square=peak**2 / 2.0, load=6.0))
        assert 100.0 * drawn / greatest == pytest.approx(45.02, rel=0.002)
        assert 100.0 * heat / greatest == pytest.approx(32.52, rel=0.002)
        assert 100.0 * (drawn - heat) / drawn == pytest.approx(27.77, rel=0.002)
        assert 10.0 * math.log10((drawn - heat) / greatest) == pytest.approx(-9.03, abs=0.01)  # dB


def gaussian() -> Programme:
    """Unclipped Gaussian noise as a table out to five times its root mean square."""
    levels = np.linspace(0.0, 5.0, 401)
    return programme_from_table(
        "gaussian",
        title="Gaussian noise",
        crest_factor_range_db=(12.0, 15.0),
        amplitudes=levels,
        exceedance=[math.erfc(level / math.sqrt(2.0)) for level in levels],
        frequencies=[1000.0],
        spectrum_db=[0.0],
        status="standard",
        source="computed",
    )


class TestClassBOnNoise:
    """Class B on Gaussian noise, peak at the rail, E|v| = sigma sqrt(2/pi) (computed)."""

    # The published rows ignore the clipped tails; the test below counts them.
    @pytest.mark.parametrize(
        ("crest_db", "output", "efficiency", "heat"),
        [(12.0, 12.62, 31.48, 27.46), (9.0, 25.18, 44.47, 31.44), (6.0, 50.24, 62.81, 29.74)],
    )
    def test_tails_ignored(self, crest_db, output, efficiency, heat):
        noise = gaussian()
        rms = 10.0 / 10.0 ** (crest_db / 20.0)
        mean_abs = rms * clipped_mean_abs(noise, math.inf)
        mean_square = rms**2 * clipped_mean_square(noise, math.inf)
        greatest = float(clean_power(10.0, 7.0))
        drawn = float(ideal(10.0, 1.0, 7.0, mean_abs, mean_square))
        delivered = float(mean_square) / 7.0
        assert 100.0 * delivered / greatest == pytest.approx(output, rel=0.02)
        assert 100.0 * delivered / drawn == pytest.approx(efficiency, rel=0.02)
        assert 100.0 * (drawn - delivered) / greatest == pytest.approx(heat, rel=0.02)

    def test_tails_counted_matter_below_nine_decibels(self):
        noise = gaussian()
        kept = [float(clipped_mean_square(noise, 10.0 ** (db / 20.0))) for db in (12.0, 9.0, 6.0)]
        assert kept[0] > 0.999
        assert kept[1] == pytest.approx(0.990, abs=0.005)  # share of power
        assert kept[2] == pytest.approx(0.92, abs=0.01)  # share of power


class TestFourier:
    """Fourier analysis of a hard-clipped sine (computed), THD as harmonics over fundamental."""

    @pytest.mark.parametrize(
        ("thd", "factor", "drive_db"),
        [(0.01, 1.0475, 0.25), (0.10, 1.2878, 2.17), (0.20, 1.4994, 4.90)],
    )
    def test_power_at_distortion(self, thd, factor, drive_db):
        assert float(clipped_power_factor(thd)) == pytest.approx(factor, rel=0.005)
        drive = 20.0 * math.log10(float(clipping_overdrive(thd)))
        assert drive == pytest.approx(drive_db, abs=0.005)  # dB, half a printed digit

    def test_square_wave(self):
        assert pytest.approx(48.34, abs=0.05) == 100.0 * SQUARE_WAVE_THD  # per cent
        assert 100.0 * float(clipped_sine_thd(math.inf)) == pytest.approx(48.34, abs=0.05)

    def test_fundamental_alone_at_ten_per_cent(self):
        # Secondary texts give 1.275 by counting only the fundamental.
        assert float(clipped_power_factor(0.10)) / (1.0 + 0.10**2) == pytest.approx(1.275, abs=5e-4)


class TestCrestFactors:
    """Help page on crest factor and a glossary (seen); IEC 60268 noise (memory)."""

    def test_sine(self):
        assert load_programmes()["sine"].crest_factor_db == pytest.approx(3.01, abs=0.01)  # dB

    def test_speech(self):
        assert load_programmes()["speech"].crest_factor_db == pytest.approx(12.0, abs=2.0)  # dB

    def test_music(self):
        # 12 to 20 dB in the glossary, 18 to 20 dB typical on the help page.
        assert 12.0 <= load_programmes()["pop"].crest_factor_db <= 20.0
        assert 17.9 <= load_programmes()["acoustic"].crest_factor_db <= 20.0

    def test_test_noise(self):
        # Peak over root mean square 1.8 to 2.2, IEC 60268-5 with IEC 60268-1 (memory).
        assert 1.8 <= float(load_programmes()["noise"].levels[-1]) <= 2.2
