"""Linear regulators: energy balance and limits."""

import numpy as np
import pytest

from boomwright.physics.heatsink import junction_temperature
from boomwright.physics.linear import (
    linear_current_limit,
    linear_heat,
    linear_input_current,
    linear_power_limit,
    stepped_down_output,
)


def test_output_holds_then_follows_then_ends():
    found = stepped_down_output(np.array([14.0, 7.1, 6.0, 1.5]), voltage_set=5.0, dropout=2.0)
    np.testing.assert_allclose(found, [5.0, 5.0, 4.0, 0.0])


def test_linear_regulator_gives_out_what_it_takes_in():
    taken = 12.3 * linear_input_current(0.31, current_ground=0.006)
    heat = linear_heat(12.3, voltage_out=5.0, current_out=0.31, current_ground=0.006)
    assert float(taken) == pytest.approx(5.0 * 0.31 + float(heat))


def test_at_the_current_limit_the_junction_is_at_its_limit():
    part = {"junction_max": 398.0, "ambient": 311.0, "resistance_thermal": 58.0}
    rail = {"voltage_out": 5.0, "current_ground": 0.005}
    amps = linear_current_limit(13.1, **rail, **part)
    heat = linear_heat(13.1, current_out=amps, **rail)
    assert float(heat) == pytest.approx(
        float(linear_power_limit(junction_max=398.0, ambient=311.0, resistance_thermal=58.0))
    )
    hot = junction_temperature(heat, ambient=311.0, resistances=[58.0])
    assert float(hot) == pytest.approx(398.0)


def test_current_limit_ends_at_zero_and_infinity():
    amps = linear_current_limit(
        np.array([5.0, 4.0, 12.0]),
        voltage_out=5.0,
        current_ground=np.array([0.004, 0.004, 9.0]),
        junction_max=398.0,
        ambient=311.0,
        resistance_thermal=58.0,
    )
    assert amps.tolist() == [np.inf, np.inf, 0.0]


def test_air_hotter_than_the_limit_leaves_no_power():
    assert (
        float(linear_power_limit(junction_max=350.0, ambient=360.0, resistance_thermal=5.0)) == 0.0
    )
    with pytest.raises(ValueError, match="got 0 K/W"):
        linear_power_limit(junction_max=398.0, ambient=311.0, resistance_thermal=0.0)


def test_output_follows_a_sinking_battery():
    found = stepped_down_output(np.array([12.0, 6.0]), voltage_set=5.1, dropout=1.4)
    np.testing.assert_allclose(found, [5.1, 4.6])
