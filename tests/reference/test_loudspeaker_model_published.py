"""The full model of driver and box against the figures of Small's papers.

Not opened: formulas from memory, values computed from them by hand. Air of 20 °C: 1.2041 kg/m³ and
343.2 m/s.
"""

from __future__ import annotations

import numpy as np
import pytest

from boomwright.physics.acoustic_load import closed_load, vented_load
from boomwright.physics.box_response import box_response, passband_pressure
from boomwright.physics.driver import (
    DriverModel,
    driver_model,
    electrical_impedance,
    small_signal,
)

STIFFNESS_OF_AIR = 1.2041 * 343.2**2


def level(driver, load, frequency):
    """Response over the flat level [dB]."""
    found = box_response(driver, load, frequency)
    return 20.0 * np.log10(np.abs(found.pressure) / passband_pressure(driver))


class TestImpedanceCurve:
    """R. H. Small, Direct-Radiator Loudspeaker System Analysis, JAES 20 (1972) 383."""

    @pytest.mark.parametrize(
        ("re", "fs", "qms", "qes", "vas", "greatest", "between", "f1", "f2"),
        [
            (6.0, 40.0, 4.0, 0.5714, 0.02234, 48.000, 16.971, 28.284, 56.569),
            (5.6, 50.0, 3.0, 0.4500, 0.00843, 42.933, 15.506, 31.993, 78.141),
        ],
    )
    def test_hump_and_the_two_frequencies_beside_it(
        self, re, fs, qms, qes, vas, greatest, between, f1, f2
    ):
        driver = driver_model(re=re, fs=fs, qms=qms, qes=qes, vas=vas, sd=0.0133)
        sweep = np.geomspace(10.0, 200.0, 4001)
        size = np.abs(electrical_impedance(driver, sweep))
        assert sweep[np.argmax(size)] == pytest.approx(fs, rel=0.001)
        assert size.max() == pytest.approx(greatest, rel=0.005)
        at_both = np.abs(electrical_impedance(driver, np.array([f1, f2])))
        assert at_both == pytest.approx([between, between], rel=0.005)
        # The method read backwards: r0, then qms and qes from where the curve passes its root.
        r0 = size.max() / re
        above = sweep[size > re * np.sqrt(r0)]
        low, high = above[0], above[-1]
        assert np.sqrt(low * high) == pytest.approx(fs, rel=0.005)
        assert fs * np.sqrt(r0) / (high - low) == pytest.approx(qms, rel=0.005)
        assert qms / (r0 - 1.0) == pytest.approx(qes, rel=0.005)

    @pytest.mark.parametrize(
        ("given", "added", "lowered", "grams", "give", "litres", "force", "decibels"),
        [
            ((6.0, 40.0, 4.0, 0.5714, 133e-4), 0.010, 32.0, 17.778, 0.8905, 22.341, 6.849, 86.04),
            ((5.6, 50.0, 3.0, 0.4500, 85e-4), 0.006, 41.0, 12.315, 0.8227, 8.431, 6.939, 85.75),
        ],
    )
    def test_added_mass(self, given, added, lowered, grams, give, litres, force, decibels):
        re, fs, qms, qes, sd = given
        driver = driver_model(re=re, fs=fs, qms=qms, qes=qes, vas=litres / 1000.0, sd=sd)
        assert 1000.0 * float(driver.mms) == pytest.approx(grams, rel=0.005)
        assert 1000.0 * float(driver.cms) == pytest.approx(give, rel=0.005)
        assert float(driver.bl) == pytest.approx(force, rel=0.005)
        heavier = DriverModel(**{**vars(driver), "mms": driver.mms + added})
        assert float(small_signal(heavier).fs) == pytest.approx(lowered, rel=0.005)
        found = small_signal(driver)
        assert float(found.vas) * 1000.0 == pytest.approx(litres, rel=0.015)
        assert float(found.sensitivity) == pytest.approx(decibels, abs=0.05)  # dB, printed digits

    def test_known_volume(self):
        """Read off the impedance curve in a test box of 15 litres, as at the bench."""
        driver = driver_model(re=6.0, fs=40.0, qms=4.0, qes=0.5714, vas=0.02234, sd=0.0133)
        sweep = np.geomspace(20.0, 300.0, 8001)
        size = np.abs(box_response(driver, closed_load(volume=0.015), sweep).impedance)
        fc, r0 = sweep[np.argmax(size)], size.max() / 6.0
        assert fc == pytest.approx(63.111, rel=0.005)
        above = sweep[size > 6.0 * np.sqrt(r0)]
        qec = fc * np.sqrt(r0) / (above[-1] - above[0]) / (r0 - 1.0)
        assert qec == pytest.approx(0.9016, rel=0.005)
        assert 15.0 * (fc * qec / (40.0 * 0.5714) - 1.0) == pytest.approx(22.34, rel=0.005)


class TestClosedBox:
    """R. H. Small, Closed-Box Loudspeaker Systems, Part I, JAES 20 (1972) 798."""

    @pytest.mark.parametrize(
        ("qtc", "f3_over_fc", "hump", "at", "at_fc"),
        [
            (0.500, 1.5538, 0.00, None, -6.02),
            (0.577, 1.2720, 0.00, None, -4.77),
            (0.7071, 1.0000, 0.00, None, -3.01),
            (0.800, 0.8972, 0.21, 2.1381, -1.94),
            (1.000, 0.7862, 1.25, 1.4142, 0.00),
            (1.200, 0.7358, 2.41, 1.2377, 1.58),
            (0.900, 0.8295, 0.69, 1.6164, -0.92),
        ],
    )
    def test_second_order_high_pass(self, qtc, f3_over_fc, hump, at, at_fc):
        # Three times as stiff in the box as in free air: fc is twice fs and qtc twice qts.
        qts, qms, fs, vas = qtc / 2.0, 5.3, 36.0, 0.0471
        driver = driver_model(re=6.2, fs=fs, qms=qms, qes=1 / (1 / qts - 1 / qms), vas=vas, sd=0.02)
        load = closed_load(volume=vas / 3.0)
        found = level(driver, load, 2.0 * fs * np.array([1.0, f3_over_fc]))
        assert found[0] == pytest.approx(at_fc, abs=0.02)  # dB, as the table
        assert found[1] == pytest.approx(-3.01, abs=0.02)  # dB, as the table
        sweep = 2.0 * fs * np.geomspace(0.1, 100.0, 6001)
        curve = level(driver, load, sweep)
        assert curve.max() == pytest.approx(hump, abs=0.02)  # dB, as the table
        if at is not None:
            assert sweep[np.argmax(curve)] / (2.0 * fs) == pytest.approx(at, rel=0.002)

    @pytest.mark.parametrize(
        ("fs", "qts", "litres", "volume", "qtc", "fc", "f3"),
        [
            (35.0, 0.4, 60.0, 28.24, 0.7071, 61.87, 61.87),
            (55.0, 0.5, 12.0, 7.69, 0.8, 88.00, 78.95),
            (40.0, 0.5, 38.0, 38.00, 0.7071, 56.57, 56.57),
            (35.0, 0.4, 60.0, 20.00, 0.8, 70.00, 62.80),
        ],
    )
    def test_drivers_in_boxes(self, fs, qts, litres, volume, qtc, fc, f3):
        driver = driver_model(
            re=5.4, fs=fs, qms=4.9, qes=1 / (1 / qts - 1 / 4.9), vas=litres / 1000.0, sd=0.017
        )
        load = closed_load(volume=volume / 1000.0)
        sweep = np.geomspace(0.3 * fc, 3.0 * fc, 6001)
        size = np.abs(box_response(driver, load, sweep).impedance)
        assert sweep[np.argmax(size)] == pytest.approx(fc, rel=0.002)
        at_fc, at_f3 = level(driver, load, np.array([fc, f3]))
        assert at_fc == pytest.approx(20 * np.log10(qtc), abs=0.02)  # dB, 0.2 % of the volume
        assert at_f3 == pytest.approx(-3.01, abs=0.03)  # dB, 0.2 % of f3 and of the volume

    def test_hump_of_the_small_box(self):
        driver = driver_model(
            re=5.4, fs=35.0, qms=4.9, qes=1 / (1 / 0.4 - 1 / 4.9), vas=0.060, sd=0.017
        )
        curve = level(driver, closed_load(volume=0.020), np.geomspace(40.0, 2000.0, 4001))
        assert curve.max() == pytest.approx(0.213, abs=0.002)  # dB, printed digits


class TestVentedBox:
    """R. H. Small, Vented-Box Loudspeaker Systems, Part I, JAES 21 (1973) 363.

    Table value 0.405 and 1.061 for B4 with QL = 7, from memory.
    """

    @staticmethod
    def b4(qms: float, qts: float = 0.4048, alpha: float = 1.0613):
        driver = driver_model(
            re=5.9, fs=33.0, qms=qms, qes=1 / (1 / qts - 1 / qms), vas=0.0731, sd=0.0214
        )
        return driver, vented_load(volume=0.0731 / alpha, fb=33.0, ql=7.0)

    @pytest.mark.parametrize("qms", [2.7, 5.1, 900.0])
    def test_b4_is_the_fourth_order_butterworth(self, qms):
        from scipy.signal import butter, freqs

        driver, load = self.b4(qms)
        sweep = np.geomspace(8.0, 3300.0, 400)
        b, a = butter(4, 2 * np.pi * 33.0, btype="highpass", analog=True)
        _, response = freqs(b, a, 2 * np.pi * sweep)
        apart = level(driver, load, sweep) - 20.0 * np.log10(np.abs(response))
        # dB: half a unit in the last digit of the printed values moves the curve by 0.005.
        assert np.max(np.abs(apart)) < 0.01
        found = box_response(driver, load, sweep).pressure / passband_pressure(driver)
        assert np.max(np.abs(found - response)) < 2e-3

    def test_f3_is_fs(self):
        driver, load = self.b4(4.4)
        assert float(level(driver, load, 33.0)) == pytest.approx(-3.01, abs=0.01)  # dB, digits

    @pytest.mark.parametrize(("qts", "alpha"), [(0.425, 1.0613), (0.4048, 0.95)])
    def test_other_values_are_not(self, qts, alpha):
        from scipy.signal import butter, freqs

        driver, load = self.b4(4.4, qts=qts, alpha=alpha)
        sweep = np.geomspace(8.0, 3300.0, 400)
        b, a = butter(4, 2 * np.pi * 33.0, btype="highpass", analog=True)
        ideal = np.abs(freqs(b, a, 2 * np.pi * sweep)[1])
        assert np.max(np.abs(level(driver, load, sweep) - 20.0 * np.log10(ideal))) > 0.1


def test_stiffness_of_air_is_that_of_the_tables():
    # So that a difference between the tables and the code is never one of air.
    driver = driver_model(re=6.0, fs=40.0, qms=4.0, qes=0.5714, vas=0.02234, sd=0.0133)
    assert 0.02234 / (float(driver.cms) * 0.0133**2) == pytest.approx(STIFFNESS_OF_AIR, rel=1e-3)
