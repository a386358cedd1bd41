"""Switching converters: the loss law and its limits."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boomwright.physics.converter import (
    boost_input_current,
    converter_efficiency,
    converter_heat,
    converter_input_power,
    converter_peak_power,
)

MODULE = {
    "power_idle": 0.12,
    "resistive_share": 0.55,
    "efficiency_peak": 0.91,
    "power_rated": 17.0,
}


def test_converter_takes_its_idle_power_at_no_load():
    assert float(converter_input_power(0.0, **MODULE)) == 0.12
    assert float(converter_heat(0.0, **MODULE)) == 0.12
    assert float(converter_efficiency(0.0, **MODULE)) == 0.0


def test_converter_reaches_its_peak_efficiency_and_no_more():
    best = float(converter_peak_power(**MODULE))
    assert 0.0 < best < MODULE["power_rated"]
    assert float(converter_efficiency(best, **MODULE)) == pytest.approx(0.91, rel=1e-12)
    around = converter_efficiency(best * np.array([0.8, 0.99, 1.01, 1.25]), **MODULE)
    assert np.all(around < 0.91)


def test_resistive_share_is_the_square_law_part_at_rated_power():
    rated = MODULE["power_rated"]
    load = np.array([0.5, 1.0]) * rated
    half, full = converter_heat(load, **MODULE) - 0.12
    # p1 P + p2 P² at half and full load give the square part as 2 full - 4 half.
    assert (2.0 * full - 4.0 * half) / full == pytest.approx(0.55, rel=1e-9)


@given(
    idle=st.floats(0.0, 5.0),
    share=st.floats(0.0, 0.99),
    best=st.floats(0.3, 1.0),
    rated=st.floats(0.5, 500.0),
)
def test_no_converter_makes_energy_or_beats_its_peak(idle, share, best, rated):
    module = {
        "power_idle": idle,
        "resistive_share": share,
        "efficiency_peak": best,
        "power_rated": rated,
    }
    load = rated * np.linspace(0.0, 1.2, 25)
    taken = converter_input_power(load, **module)
    assert np.all(np.isfinite(taken))
    assert np.all(taken >= load + idle - 1e-9 * rated)
    assert np.all(np.diff(taken) > 0.0)
    assert np.all(converter_efficiency(load, **module) <= best * (1.0 + 1e-9))


def test_converter_without_idle_or_without_square_law():
    no_idle = {**MODULE, "power_idle": 0.0}
    assert float(converter_peak_power(**no_idle)) == 0.0
    assert float(converter_efficiency(1e-9, **no_idle)) == pytest.approx(0.91, rel=1e-6)
    straight = {**MODULE, "resistive_share": 0.0}
    assert float(converter_peak_power(**straight)) == np.inf
    assert float(converter_efficiency(1e9, **straight)) == pytest.approx(0.91, rel=1e-6)
    ideal = {**no_idle, "efficiency_peak": 1.0}
    assert float(converter_input_power(7.0, **ideal)) == 7.0


@pytest.mark.parametrize(
    ("name", "value", "message"),
    [
        ("power_idle", -0.1, r"got -0\.1 W"),
        ("resistive_share", 1.0, r"got 1$"),
        ("efficiency_peak", 1.04, r"got 1\.04"),
        ("efficiency_peak", 0.0, r"got 0$"),
        ("power_rated", 0.0, r"got 0 W"),
    ],
)
def test_converter_names_what_is_wrong(name, value, message):
    with pytest.raises(ValueError, match=message):
        converter_input_power(1.0, **{**MODULE, name: value})


def test_converter_does_not_take_power_back():
    with pytest.raises(ValueError, match="got -2 W"):
        converter_heat(-2.0, **MODULE)


def test_converter_broadcasts():
    load = np.array([[0.0], [4.0], [11.0]])
    best = np.array([0.80, 0.85, 0.90, 0.95])
    taken = converter_input_power(load, **{**MODULE, "efficiency_peak": best})
    assert taken.shape == (3, 4)
    assert np.all(np.diff(taken[1:], axis=1) < 0.0)
    assert converter_efficiency(load, **{**MODULE, "efficiency_peak": best}).shape == (3, 4)


def test_boost_draws_more_from_a_lower_battery():
    volts = np.array([12.6, 11.0, 9.5])
    amps = boost_input_current(33.0, voltage_in=volts, efficiency=0.88)
    np.testing.assert_allclose(amps * volts * 0.88, 33.0, rtol=1e-12)
    with pytest.raises(ValueError, match="got 0 V"):
        boost_input_current(33.0, voltage_in=0.0, efficiency=0.88)
