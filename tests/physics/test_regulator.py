"""Rails: energy balance, limits, the converter's loss law."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boomwright.physics.regulator import (
    boost_input_current,
    buck_inductance,
    buck_output,
    buck_output_capacitance,
    buck_output_ripple,
    buck_ripple_current,
    converter_efficiency,
    converter_heat,
    converter_input_power,
    converter_peak_power,
    holdup_time,
    junction_temperature,
    linear_current_limit,
    linear_heat,
    linear_input_current,
    linear_output,
    linear_power_limit,
    ripple_peak_to_peak,
    ripple_rms,
    smoothing_capacitance,
)

MODULE = {
    "power_idle": 0.12,
    "resistive_share": 0.55,
    "efficiency_peak": 0.91,
    "power_rated": 17.0,
}


def test_linear_output_holds_then_follows_then_ends():
    found = linear_output(np.array([14.0, 7.1, 6.0, 1.5]), voltage_set=5.0, dropout=2.0)
    np.testing.assert_allclose(found, [5.0, 5.0, 4.0, 0.0])


def test_linear_regulator_gives_out_what_it_takes_in():
    taken = 12.3 * linear_input_current(0.31, current_ground=0.006)
    heat = linear_heat(12.3, voltage_out=5.0, current_out=0.31, current_ground=0.006)
    assert float(taken) == pytest.approx(5.0 * 0.31 + float(heat))


def test_at_the_current_limit_the_junction_is_at_its_limit():
    part = {"junction_max": 398.0, "ambient": 311.0, "resistance": 58.0}
    rail = {"voltage_out": 5.0, "current_ground": 0.005}
    amps = linear_current_limit(13.1, **rail, **part)
    heat = linear_heat(13.1, current_out=amps, **rail)
    assert float(heat) == pytest.approx(
        float(linear_power_limit(junction_max=398.0, ambient=311.0, resistance=58.0))
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
        resistance=58.0,
    )
    assert amps.tolist() == [np.inf, np.inf, 0.0]


def test_air_hotter_than_the_limit_leaves_no_power():
    assert float(linear_power_limit(junction_max=350.0, ambient=360.0, resistance=5.0)) == 0.0
    with pytest.raises(ValueError, match="got 0 K/W"):
        linear_power_limit(junction_max=398.0, ambient=311.0, resistance=0.0)


def test_chain_adds_its_links():
    found = junction_temperature(3.0, ambient=300.0, resistances=[2.0, np.array([1.0, 4.0])])
    np.testing.assert_allclose(found, [309.0, 318.0])


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


def test_buck_output_follows_a_sinking_battery():
    found = buck_output(np.array([12.0, 6.0]), voltage_set=5.1, dropout=1.4)
    np.testing.assert_allclose(found, [5.1, 4.6])


def test_boost_draws_more_from_a_lower_battery():
    volts = np.array([12.6, 11.0, 9.5])
    amps = boost_input_current(33.0, voltage_in=volts, efficiency=0.88)
    np.testing.assert_allclose(amps * volts * 0.88, 33.0, rtol=1e-12)
    with pytest.raises(ValueError, match="got 0 V"):
        boost_input_current(33.0, voltage_in=0.0, efficiency=0.88)


def test_buck_sizing_turns_round():
    coil = buck_inductance(13.0, voltage_out=5.0, ripple_current=0.7, frequency=310e3)
    ripple = buck_ripple_current(13.0, voltage_out=5.0, inductance=coil, frequency=310e3)
    assert float(ripple) == pytest.approx(0.7)
    store = buck_output_capacitance(0.7, ripple=0.03, frequency=310e3)
    assert float(buck_output_ripple(0.7, capacitance=store, frequency=310e3)) == pytest.approx(0.03)


def test_buck_without_a_step_has_no_ripple():
    found = buck_ripple_current(5.0, voltage_out=5.0, inductance=1e-5, frequency=3e5)
    assert float(found) == 0.0


def test_smoothing_turns_round():
    store = smoothing_capacitance(0.6, ripple=0.4, frequency=100.0)
    assert float(ripple_peak_to_peak(0.6, capacitance=store, frequency=100.0)) == pytest.approx(0.4)


def test_ripple_rms_is_that_of_a_triangle():
    wave = np.abs(np.linspace(-1.0, 1.0, 200_001)) * 3.0
    rms = float(np.std(wave))
    assert float(ripple_rms(3.0)) == pytest.approx(rms, rel=1e-4)


def test_holdup_ends_at_zero_and_infinity():
    time = holdup_time(
        np.array([0.0, 0.5, 0.5, 0.0]),
        capacitance=1e-3,
        voltage_start=np.array([12.0, 12.0, 8.0, 8.0]),
        voltage_end=9.0,
    )
    np.testing.assert_allclose(time, [np.inf, 6e-3, 0.0, 0.0])


@pytest.mark.parametrize(
    ("law", "message"),
    [
        (
            lambda: buck_ripple_current(12.0, voltage_out=5.0, inductance=0.0, frequency=1e5),
            "inductance: got 0 H",
        ),
        (lambda: ripple_peak_to_peak(1.0, capacitance=0.0, frequency=100.0), "got 0 F"),
        (lambda: smoothing_capacitance(1.0, ripple=0.0, frequency=100.0), "got 0 V"),
        (lambda: ripple_peak_to_peak(1.0, capacitance=1e-3, frequency=-1.0), "got -1 Hz"),
    ],
)
def test_sizing_names_what_is_wrong(law, message):
    with pytest.raises(ValueError, match=message):
        law()
