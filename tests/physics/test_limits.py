"""Clean level: every limit held at its own frequency, and the order of battery states."""

from __future__ import annotations

import math

import numpy as np
import pytest

from boomwright.physics.acoustic_load import closed_load, radiator_load, vented_load
from boomwright.physics.box_response import box_response
from boomwright.physics.driver import driver_model
from boomwright.physics.limits import (
    LIMITS,
    VENT_AIR_SPEED,
    DriveLimits,
    clean_level,
    voltage_limits,
)

HERTZ = np.geomspace(20.0, 2000.0, 401)
DRIVER = driver_model(re=5.9, fs=52.0, qms=3.8, qes=0.46, vas=0.0145, sd=0.0135, le=0.45e-3)
VENTED = box_response(DRIVER, vented_load(volume=0.011, fb=49.0, ql=7.0), HERTZ)


def test_each_limit_is_just_met():
    """Multiplied back, the voltage of each limit makes exactly what is allowed."""
    limits = DriveLimits(
        volts=11.0, amps=2.3, xmax=0.0042, vent_area=0.0019, vent_speed=13.0,
        radiator_area=0.021, radiator_xmax=0.0075, power=17.0,
    )  # fmt: skip
    volts, amps, travel, air, radiator, heat = voltage_limits(VENTED, limits, frequency=HERTZ)
    peak = math.sqrt(2.0)
    assert volts * peak == pytest.approx(np.full(HERTZ.size, 11.0))
    assert peak * amps / np.abs(VENTED.impedance) == pytest.approx(np.full(HERTZ.size, 2.3))
    assert peak * travel * np.abs(VENTED.travel) == pytest.approx(np.full(HERTZ.size, 0.0042))
    flow = peak * np.abs(VENTED.opening)
    assert air * flow / 0.0019 == pytest.approx(np.full(HERTZ.size, 13.0))
    moved = radiator * flow / (2.0 * np.pi * HERTZ * 0.021)
    assert moved == pytest.approx(np.full(HERTZ.size, 0.0075))
    current = heat / np.abs(VENTED.impedance)
    # Power into the driver: current squared times the real part, not volts squared over |Z|.
    assert current**2 * VENTED.impedance.real == pytest.approx(np.full(HERTZ.size, 17.0))


def test_who_rules_where_in_a_vented_box():
    limits = DriveLimits(volts=20.0, xmax=0.004, vent_area=0.0012)
    found = clean_level(VENTED, limits, frequency=HERTZ)
    names = [LIMITS[number] for number in found.ruling]
    assert names[0] == "travel"
    assert names[int(np.argmin(np.abs(HERTZ - 49.0)))] == "vent air"
    assert names[-1] == "volts"


def test_amps_rule_where_the_impedance_is_low():
    limits = DriveLimits(volts=14.0, amps=1.9)
    found = clean_level(VENTED, limits, frequency=HERTZ)
    low = np.abs(VENTED.impedance) < 14.0 / 1.9
    assert np.any(low)
    assert np.any(~low)
    assert np.array_equal(found.ruling == LIMITS.index("amps"), low)


def test_a_fuller_battery_is_never_quieter():
    volts = np.array([[10.2], [12.1], [13.9]])
    found = clean_level(VENTED, DriveLimits(volts=volts, xmax=0.004), frequency=HERTZ)
    assert found.level.shape == found.voltage.shape == found.ruling.shape == (3, HERTZ.size)
    assert np.all(np.diff(found.level, axis=0) >= 0.0)
    # Where travel rules, volts buy nothing.
    bass = found.ruling[0] == LIMITS.index("travel")
    assert np.any(bass)
    assert found.level[0, bass] == pytest.approx(found.level[2, bass])


def test_passive_radiator_rules_at_its_tuning():
    box = radiator_load(volume=0.009, area=0.0205, mass=0.055, fp=18.0)
    response = box_response(DRIVER, box, HERTZ)
    limits = DriveLimits(volts=25.0, xmax=0.009, radiator_area=0.0205, radiator_xmax=0.003)
    found = clean_level(response, limits, frequency=HERTZ)
    assert LIMITS.index("radiator travel") in found.ruling
    assert LIMITS.index("vent air") not in found.ruling


def test_a_closed_box_has_no_vent_to_limit():
    response = box_response(DRIVER, closed_load(volume=0.011), HERTZ)
    each = voltage_limits(response, DriveLimits(vent_area=0.001), frequency=HERTZ)
    assert np.all(np.isinf(each[LIMITS.index("vent air")]))


def test_guidance_speed_is_a_twentieth_of_sound():
    # Small 1973 II, from memory: about 5 % of the speed of sound.
    assert pytest.approx(0.05 * 343.2, rel=0.02) == VENT_AIR_SPEED


def test_says_what_is_wrong():
    with pytest.raises(ValueError, match=r"xmax: got -0\.001 m"):
        clean_level(VENTED, DriveLimits(xmax=-0.001), frequency=HERTZ)
    with pytest.raises(ValueError, match="peak current: got 0 A"):
        clean_level(VENTED, DriveLimits(amps=0.0), frequency=HERTZ)
