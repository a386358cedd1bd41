"""Zener diodes: drift with heat, and the split of a sheet's resistance into knee and slope."""

from __future__ import annotations

import numpy as np
import pytest

from boomwright.physics.zener import zener_knee_and_slope, zener_temperature_coefficient


@pytest.mark.parametrize("volts", [7.5, 9.1, 12.0, 33.0])
def test_coefficient_by_the_rule_of_thumb_above_seven_volts(volts):
    # V_z - 3.5 mV/K, a rule of thumb in print (weak source, good to 30 %).
    assert float(zener_temperature_coefficient(volts)) == pytest.approx(
        (volts - 3.5) * 1e-3, rel=1e-9
    )


def test_nine_volt_zener_drifts_by_the_printed_share():
    # 9.1 V: 5.6 mV/K, which is 0.062 %/K (rule of thumb in print, good to 30 %).
    drift = float(zener_temperature_coefficient(9.1))
    assert drift == pytest.approx(5.6e-3, rel=0.3)
    assert drift / 9.1 == pytest.approx(0.062e-2, rel=0.3)


def test_coefficient_turns_between_five_and_six_volts():
    # Both 5 V and 6 V are stated in print, from memory.
    low, high = zener_temperature_coefficient(np.array([5.0, 6.0]))
    assert low < 0.0 < high
    assert abs(float(zener_temperature_coefficient(5.5))) < 0.5e-3


def test_coefficient_rises_with_voltage_without_a_jump():
    volts = np.linspace(2.0, 100.0, 4901)
    drift = zener_temperature_coefficient(volts)
    assert np.all(np.diff(drift) >= 0.0)
    # No step is greater than the steepest of the straight lines makes of 20 mV.
    assert np.max(np.diff(drift)) < 0.02 * 2e-3


def test_low_zener_falls_with_heat():
    # Tunnelling: about -2 mV/K, from memory.
    assert float(zener_temperature_coefficient(2.4)) == pytest.approx(-2e-3, rel=0.3)
    assert float(zener_temperature_coefficient(1.0)) == float(zener_temperature_coefficient(2.4))


def test_coefficient_broadcasts():
    assert zener_temperature_coefficient(np.full((3, 4), 9.1)).shape == (3, 4)
    assert zener_temperature_coefficient(9.1).shape == ()


SHEET = {"test_current": 0.028, "slope_most": 5.0, "knee_current": 0.5e-3, "knee_slope_most": 700.0}
"""1N4739A, JEDEC list (from memory): 5 Ω at 28 mA, 700 Ω at 0.5 mA."""


@pytest.mark.parametrize("share", [0.15, 0.4, 1.0])
def test_dynamic_resistance_meets_its_share_at_the_test_current(share):
    knee, slope = zener_knee_and_slope(**SHEET, share=share)
    assert float(knee / 0.028 + slope) == pytest.approx(share * 5.0, rel=1e-12)


@pytest.mark.parametrize("share", [0.15, 0.4, 1.0])
def test_dynamic_resistance_stays_within_the_limit_at_the_knee(share):
    knee, slope = zener_knee_and_slope(**SHEET, share=share)
    assert 0.0 < float(knee / 0.5e-3 + slope) <= 700.0 + 5.0


def test_no_share_of_the_resistance_falls_below_zero():
    # A sheet whose knee is flat: what the knee may take is the lesser limit.
    knee, slope = zener_knee_and_slope(
        test_current=0.005, slope_most=60.0, knee_current=1e-3, knee_slope_most=8.0, share=1.0
    )
    assert float(knee) == pytest.approx(0.008, rel=1e-12)
    assert float(slope) == pytest.approx(60.0 - 0.008 / 0.005, rel=1e-12)
    assert np.all(zener_knee_and_slope(**SHEET, share=np.linspace(0.0, 1.0, 5))[1] >= 0.0)


def test_volts_at_ten_milliamperes_of_the_worst_allowed_device():
    # 1N4739A at 10 mA with the greatest slope stands at not less than 9.01 V (computed).
    knee, slope = zener_knee_and_slope(**SHEET, share=1.0)
    volts = 9.1 + float(knee) * np.log(0.010 / 0.028) + float(slope) * (0.010 - 0.028)
    assert volts == pytest.approx(9.01, abs=0.05)  # V, the table's own width


@pytest.mark.parametrize("field", ["test_current", "knee_current"])
@pytest.mark.parametrize("value", [0.0, -0.0031])
def test_currents_must_be_above_zero(field, value):
    with pytest.raises(ValueError, match=rf"{field.replace('_', ' ')}.*{value:g}"):
        zener_knee_and_slope(**{**SHEET, field: value})


def test_knee_and_slope_broadcast():
    knee, slope = zener_knee_and_slope(
        **{**SHEET, "slope_most": np.array([[5.0], [7.0]])}, share=np.array([0.2, 0.4, 0.6])
    )
    assert knee.shape == slope.shape == (2, 3)
