"""Closed boxes as in Small's papers (not opened: formulas from memory, values computed)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from boomwright.physics.enclosure import (
    closed_box,
    closed_box_response_db,
    closed_box_volume,
    excursion_level,
    travel_limited_level,
)
from boomwright.physics.loudspeaker import reference_efficiency, sensitivity_from_efficiency

# R. H. Small, Closed-Box Loudspeaker Systems I and II, JAES 20 (1972) 798, 21 (1973) 11.

SMALLS_AIR = 296.2
"""Temperature at which sound travels at the 345 m/s of those papers [K]; from memory."""


@pytest.mark.parametrize(
    ("qtc", "f3", "peak_db", "at", "at_fc_db"),
    [
        (0.500, 1.5538, 0.00, None, -6.02),
        (0.577, 1.2720, 0.00, None, -4.77),
        (0.7071, 1.0000, 0.00, None, -3.01),
        (0.800, 0.8972, 0.21, 2.1381, -1.94),
        (0.900, 0.8295, 0.69, 1.6164, -0.92),
        (1.000, 0.7862, 1.25, 1.4142, 0.00),
        (1.200, 0.7358, 2.41, 1.2377, 1.58),
    ],
)
def test_second_order_high_pass(qtc, f3, peak_db, at, at_fc_db):
    # An infinite box leaves the driver as it is, so qts and fs stand for qtc and fc.
    box = closed_box(fs=62.0, qts=qtc, vas=0.017, volume=math.inf)
    assert float(box.f3) / 62.0 == pytest.approx(f3, rel=0.002)
    assert float(box.peak_db) == pytest.approx(peak_db, abs=0.02)  # dB
    at_fc = closed_box_response_db(62.0, fc=62.0, qtc=qtc)
    assert float(at_fc) == pytest.approx(at_fc_db, abs=0.02)  # dB
    down = closed_box_response_db(f3 * 62.0, fc=62.0, qtc=qtc)
    assert float(down) == pytest.approx(-3.01, abs=0.02)  # dB
    if at is not None:
        ratios = np.geomspace(0.5, 5.0, 20001)
        response = closed_box_response_db(ratios * 62.0, fc=62.0, qtc=qtc)
        assert ratios[int(np.argmax(response))] == pytest.approx(at, rel=0.002)
        assert float(np.max(response)) == pytest.approx(peak_db, abs=0.02)  # dB


@pytest.mark.parametrize(
    ("fs", "qts", "vas", "qtc", "alpha", "litres", "fc", "f3"),
    [
        (35.0, 0.4, 60.0, 0.7071, 2.1250, 28.24, 61.87, 61.87),
        (55.0, 0.5, 12.0, 0.8, 1.5600, 7.69, 88.00, 78.95),
        (40.0, 0.5, 38.0, 0.7071, 1.0000, 38.00, 56.57, 56.57),
    ],
)
def test_volume_for_a_target(fs, qts, vas, qtc, alpha, litres, fc, f3):
    volume = closed_box_volume(fs=fs, qts=qts, vas=vas / 1000.0, qtc=qtc)
    assert 1000.0 * float(volume) == pytest.approx(litres, rel=0.002)
    box = closed_box(fs=fs, qts=qts, vas=vas / 1000.0, volume=volume)
    assert float(box.alpha) == pytest.approx(alpha, rel=0.002)
    assert float(box.fc) == pytest.approx(fc, rel=0.002)
    assert float(box.f3) == pytest.approx(f3, rel=0.002)


def test_given_volume():
    box = closed_box(fs=35.0, qts=0.4, vas=0.060, volume=0.020)
    assert float(box.qtc) == pytest.approx(0.8, rel=0.002)
    assert float(box.fc) == pytest.approx(70.0, rel=0.002)
    assert float(box.f3) == pytest.approx(62.80, rel=0.002)
    assert float(box.peak_db) == pytest.approx(0.213, rel=0.002)


def test_largest_efficiency_constant():
    # eta = k f3³ Vb, k at most 2.0e-6 s³/m³ near a Qtc of 1.1: small box, no mechanical loss.
    qtc = np.linspace(0.6, 2.0, 1401)
    volume = closed_box_volume(fs=20.0, qts=0.01, vas=0.5, qtc=qtc)
    box = closed_box(fs=20.0, qts=0.01, vas=0.5, volume=volume)
    efficiency = reference_efficiency(20.0, 0.5, qes=0.01, temperature=SMALLS_AIR)
    constant = efficiency / (box.f3**3 * volume)
    assert float(np.max(constant)) == pytest.approx(2.0e-6, rel=0.02)
    assert qtc[int(np.argmax(constant))] == pytest.approx(1.1, abs=0.05)  # Q, flat maximum


def displacement_constant(qtc):
    """Acoustic power over f3⁴ Vd² of a box at its travel limit [W s⁴/m⁶]."""
    box = closed_box(fs=50.0, qts=qtc, vas=0.02, volume=math.inf)
    level = travel_limited_level(
        fc=box.fc, qtc=box.qtc, sd=0.0150, xmax=0.006, temperature=SMALLS_AIR
    )
    one_watt = sensitivity_from_efficiency(1.0, temperature=SMALLS_AIR)
    power = 10.0 ** ((level - one_watt) / 10.0)
    return power / (box.f3**4 * (0.0150 * 0.006) ** 2)


def test_displacement_limited_power():
    qtc = np.linspace(0.6, 2.0, 1401)
    constant = displacement_constant(qtc)
    assert float(np.max(constant)) == pytest.approx(0.85, rel=0.02)
    assert qtc[int(np.argmax(constant))] == pytest.approx(1.1, abs=0.05)  # Q, flat maximum


def test_displacement_limited_power_b2():
    constant = float(displacement_constant(math.sqrt(0.5)))
    assert constant == pytest.approx(0.424, rel=0.03)  # air constants


@pytest.mark.parametrize(
    ("sd_cm2", "xmax_mm", "frequency", "level"),
    [(200.0, 5.0, 40.0, 92.63), (133.0, 4.0, 50.0, 91.02)],
)
def test_excursion_limited_level(sd_cm2, xmax_mm, frequency, level):
    # Simple source near a large surface (Beranek; Small 1972).
    got = excursion_level(frequency, sd=sd_cm2 * 1e-4, xmax=xmax_mm * 1e-3)
    assert float(got) == pytest.approx(level, abs=0.1)  # dB, air constants
