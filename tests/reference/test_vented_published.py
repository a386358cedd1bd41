"""Vented boxes as in the papers of Thiele and Small, and vents as in Beranek's book.

None of them was opened: formulas and constants are from memory, values computed from them apart
from this project's code.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from boomwright.physics.acoustic_load import closed_load, vented_load
from boomwright.physics.alignment import alignment, flat_qts, vented_box
from boomwright.physics.box_response import box_response, passband_pressure
from boomwright.physics.driver import driver_model, small_signal
from boomwright.physics.enclosure import closed_box_volume
from boomwright.physics.limits import LIMITS, DriveLimits, clean_level
from boomwright.physics.vent import (
    end_correction,
    least_vent_area,
    vent_air_speed,
    vent_flow,
    vent_length,
    vent_tuning,
)

# A. N. Thiele, Loudspeakers in Vented Boxes, JAES 19 (1971) 382 and 471: the table of alignments.


@pytest.mark.parametrize(
    ("family", "qts", "alpha", "h", "f3"),
    [
        ("QB3", 0.180, 10.4449, 1.9968, 2.6792),
        ("QB3", 0.259, 4.4563, 1.4133, 1.7721),
        ("QB3", 0.38268, 1.4142, 1.0000, 1.0000),
        ("C4", 0.38269, 1.4142, 1.0000, 1.0000),
        ("C4", 0.415, 1.0528, 0.9277, 0.8663),
        ("C4", 0.466, 0.7243, 0.8270, 0.7260),
        ("C4", 0.557, 0.4858, 0.7177, 0.6001),
    ],
)
def test_thieles_table(family, qts, alpha, h, f3):
    found = alignment(qts, family=family, ql=math.inf)
    assert float(found.alpha) == pytest.approx(alpha, rel=2e-4)
    assert float(found.h) == pytest.approx(h, rel=2e-4)
    assert float(found.f3_ratio) == pytest.approx(f3, rel=2e-4)


# R. H. Small, Vented-Box Loudspeaker Systems I to IV, JAES 21 (1973): the same with leaks, QL 7.


@pytest.mark.parametrize(
    ("family", "qts", "alpha", "h", "f3"),
    [
        ("QB3", 0.25, 4.582, 1.563, 1.967),
        ("QB3", 0.30, 2.845, 1.315, 1.573),
        ("QB3", 0.38, 1.355, 1.058, 1.115),
        ("C4", 0.50, 0.464, 0.803, 0.715),
    ],
)
def test_smalls_lossy_boxes(family, qts, alpha, h, f3):
    found = alignment(qts, family=family, ql=7.0)
    assert float(found.alpha) == pytest.approx(alpha, rel=1e-3)
    assert float(found.h) == pytest.approx(h, rel=1e-3)
    assert float(found.f3_ratio) == pytest.approx(f3, rel=1e-3)


def test_smalls_flattest_box():
    quality = float(flat_qts(7.0))
    assert quality == pytest.approx(0.4048, rel=1e-3)
    for family in ("QB3", "C4", "SC4"):
        found = alignment(quality, family=family, ql=7.0)
        assert float(found.alpha) == pytest.approx(1.0613, rel=0.005)
        assert float(found.h) == pytest.approx(1.0, rel=0.005)
        assert float(found.f3_ratio) == pytest.approx(1.0, rel=0.005)


def test_whole_design():
    found = alignment(0.3, family="QB3", ql=math.inf)
    litres, fb = 20.0 / float(found.alpha), 45.0 * float(found.h)
    assert litres == pytest.approx(6.60, rel=0.01)
    assert fb == pytest.approx(55.59, rel=0.01)
    box = vented_box(fs=45.0, qts=0.3, vas=0.020, volume=litres / 1000.0, fb=fb, ql=math.inf)
    assert float(box.f3) == pytest.approx(66.06, rel=0.01)


# L. L. Beranek, Acoustics, 1954: c 343.2 m/s, end corrections 0.85 r and 0.613 r.


@pytest.mark.parametrize(
    ("litres", "fb", "bore", "flush_free", "flush_flush", "free_free"),
    [
        (28.3, 45.0, 0.075, 175.1, 166.3, 184.0),
        (20.0, 55.0, 0.050, 60.3, 54.3, 66.2),
        (50.0, 38.0, 0.100, 251.4, 239.6, 263.3),
    ],
)
def test_vent_lengths(litres, fb, bore, flush_free, flush_flush, free_free):
    area = math.pi * bore**2 / 4.0
    rows = {"flush-free": flush_free, "flush-flush": flush_flush, "free-free": free_free}
    for ends, millimetres in rows.items():
        length = vent_length(volume=litres / 1000.0, fb=fb, area=area, ends=ends)
        assert 1000.0 * float(length) == pytest.approx(millimetres, abs=1.0)  # mm, as printed


def test_tuning_of_a_given_vent():
    found = vent_tuning(volume=0.030, length=0.120, area=math.pi * 0.035**2)
    assert float(found) == pytest.approx(47.28, rel=0.005)


def test_two_flanged_ends():
    # 1.7 radii, seen in a lecture on Helmholtz resonators.
    assert float(end_correction(math.pi * 0.020**2, ends="flush-flush")) == pytest.approx(
        1.7 * 0.020, rel=0.03
    )


def test_smallest_vent():
    area = float(least_vent_area(fb=40.0, displacement=120e-6))
    assert 1e4 * area == pytest.approx(38.4, rel=0.02)
    # The other form, a round vent of sqrt(fb Vd), takes pi/4 for 0.8.
    assert 1000.0 * math.sqrt(4.0 * area / math.pi) == pytest.approx(69.3, rel=0.02)


def test_speed_for_a_level():
    flow = vent_flow(90.0, frequency=40.0)
    assert 1000.0 * float(flow) == pytest.approx(13.13, rel=0.01)
    peak = float(vent_air_speed(flow, area=math.pi * 0.035**2))
    assert peak == pytest.approx(4.83, rel=0.01)
    assert peak / math.sqrt(2.0) == pytest.approx(3.412, rel=0.01)


# R. H. Small, Closed-Box Loudspeaker Systems, 1972; Beranek: the level at a limit of travel.


@pytest.mark.parametrize(
    ("sd", "xmax", "hertz", "level"), [(0.0200, 0.005, 40.0, 92.63), (0.0133, 0.004, 50.0, 91.02)]
)
def test_travel_limited_level(sd, xmax, hertz, level):
    driver = driver_model(re=6.1, fs=37.0, qms=4.2, qes=0.43, vas=0.055, sd=sd)
    response = box_response(driver, closed_load(volume=0.021), hertz)
    found = clean_level(response, DriveLimits(xmax=xmax), frequency=hertz)
    assert LIMITS[int(found.ruling)] == "travel"
    assert float(found.level) == pytest.approx(level, abs=0.1)  # dB, air constants


@pytest.mark.parametrize(("qtc", "constant", "within"), [(0.7071, 0.424, 0.03), (1.1, 0.85, 0.02)])
def test_displacement_limited_power(qtc, constant, within):
    """Acoustic power over f3⁴ Vd² of a closed box that plays flat to its travel [W s⁴/m⁶]."""
    driver = driver_model(re=5.7, fs=31.0, qms=1e6, qes=0.32, vas=0.081, sd=0.0210)
    small = small_signal(driver)
    volume = closed_box_volume(fs=small.fs, qts=small.qts, vas=small.vas, qtc=qtc)
    hertz = np.geomspace(2.0, 2000.0, 6001)
    response = box_response(driver, closed_load(volume=volume), hertz)
    found = clean_level(response, DriveLimits(xmax=0.0045), frequency=hertz)
    relative = np.abs(response.pressure) / passband_pressure(driver)
    f3 = hertz[int(np.argmax(relative >= math.sqrt(0.5)))]
    # The least voltage that reaches the travel somewhere, and the flat level it makes.
    flat = float(np.min(found.voltage)) * float(passband_pressure(driver))
    power = 2.0 * math.pi * flat**2 / (1.2041 * 343.2)
    assert power / (f3**4 * (0.0210 * 0.0045) ** 2) == pytest.approx(constant, rel=within)


def test_box_of_a_thiele_alignment_is_that_flat():
    """The lumped model of driver, box and vent answers as the filter that it was made from."""
    found = alignment(0.38268, family="QB3", ql=math.inf)
    driver = driver_model(re=6.3, fs=43.0, qms=1e7, qes=0.38268, vas=0.036, sd=0.0170)
    box = vented_load(volume=0.036 / found.alpha, fb=43.0 * found.h)
    hertz = 43.0 * np.array([0.5, 1.0, 2.0])
    ratio = np.abs(box_response(driver, box, hertz).pressure) / passband_pressure(driver)
    # Butterworth of fourth order: 1/sqrt(1 + x^-8).
    expected = 1.0 / np.sqrt(1.0 + np.array([0.5, 1.0, 2.0]) ** -8.0)
    assert ratio == pytest.approx(expected, rel=1e-3)
