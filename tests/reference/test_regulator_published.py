"""Rails against published worked examples."""

import pytest

from boomwright.physics.buck import (
    buck_inductance,
    buck_output_capacitance,
    buck_output_ripple,
    buck_ripple_current,
)
from boomwright.physics.heatsink import junction_temperature
from boomwright.physics.linear import linear_heat, linear_power_limit
from boomwright.physics.smoothing import (
    holdup_time,
    ripple_peak_to_peak,
    ripple_rms,
    smoothing_capacitance,
)


def test_linear_regulator_heat():
    # Definition (computed): 12 V to 5 V at 0.5 A.
    found = linear_heat(12.0, voltage_out=5.0, current_out=0.5, current_ground=0.0)
    assert float(found) == pytest.approx(3.5, rel=1e-12)


@pytest.mark.parametrize(("amps", "watts"), [(0.2, 1.5), (0.5, 3.8), (1.0, 7.6)])
def test_linear_regulator_on_a_full_battery(amps, watts):
    # Computed elsewhere, 12.6 V to 5 V, rounded to a tenth of a watt.
    found = linear_heat(12.6, voltage_out=5.0, current_out=amps, current_ground=0.0)
    assert float(found) == pytest.approx(watts, abs=0.051)  # W, half of the last printed digit


def test_power_limit_without_a_sink():
    # Definition (computed): 150 °C, 25 °C, 62 K/W.
    found = linear_power_limit(junction_max=423.15, ambient=298.15, resistance_thermal=62.0)
    assert float(found) == pytest.approx(2.02, rel=5e-3)


@pytest.mark.parametrize(("resistance", "watts"), [(65.0, 1.3), (45.0, 1.9)])
def test_power_limit_of_a_bare_part_in_a_warm_box(resistance, watts):
    # Computed elsewhere: 45 to 65 K/W allow 1.9 to 1.3 W at 40 °C, for a junction of 125 °C.
    found = linear_power_limit(junction_max=398.15, ambient=313.15, resistance_thermal=resistance)
    assert float(found) == pytest.approx(watts, rel=0.01)


def test_power_limit_with_a_sink():
    # R. L. Boylestad and L. Nashelsky, Electronic Devices and Circuit Theory, heat-sink example
    # (from memory): 61.5 W.
    found = linear_power_limit(
        junction_max=473.15, ambient=313.15, resistance_thermal=0.5 + 0.6 + 1.5
    )
    assert float(found) == pytest.approx(61.5, rel=5e-3)


def test_chain_of_the_to_220_example():
    # Lecture slides, TO-220 example (seen): 5 W, 3.0 + 1.0 + 16 K/W, 50 °C to 150 °C.
    found = junction_temperature(5.0, ambient=323.15, resistances=[3.0, 1.0, 16.0])
    assert float(found) == pytest.approx(423.15, rel=1e-6)


def test_full_wave_ripple_constant_for_sixty_hertz():
    # Electrical Power Systems Technology, p. 196 (seen): Vrms = 2.4 I(mA)/C(µF), so 6.4 V for
    # 800 mA and 300 µF; the exact constant is 2.4056.
    peak = ripple_peak_to_peak(0.8, capacitance=300e-6, frequency=120.0)
    assert float(ripple_rms(peak)) == pytest.approx(6.4, rel=5e-3)


def test_full_wave_ripple_constant_for_fifty_hertz():
    # Capacitor-input filter, Vrms = I / (4 sqrt(3) f C) (Boylestad and Nashelsky; computed).
    peak = ripple_peak_to_peak(1e-3, capacitance=1e-6, frequency=100.0)
    assert float(ripple_rms(peak)) == pytest.approx(2.8868, rel=1e-3)


def test_smoothing_capacitor():
    # Worked homework answer (seen): 0.154 A, 1/120 s, 1 V peak to peak.
    found = smoothing_capacitance(0.154, ripple=1.0, frequency=120.0)
    assert float(found) == pytest.approx(1283e-6, rel=5e-3)


def test_peak_to_peak_ripple():
    # Capacitor-input filter (Boylestad and Nashelsky; computed): 1 A, 4700 µF, 50 Hz full wave.
    peak = ripple_peak_to_peak(1.0, capacitance=4700e-6, frequency=100.0)
    assert float(peak) == pytest.approx(2.128, rel=5e-3)
    assert float(ripple_rms(peak)) == pytest.approx(0.6142, rel=5e-3)


def test_holdup():
    # Definition (computed): 4700 µF, 12 V to 9 V, 1 A.
    found = holdup_time(1.0, capacitance=4700e-6, voltage_start=12.0, voltage_end=9.0)
    assert float(found) == pytest.approx(14.1e-3, rel=1e-9)


def test_buck_of_a_textbook():
    # D. W. Hart, Introduction to Power Electronics, Example 6-1 (currents seen, inputs from
    # memory): 50 V, duty 0.4, 400 µH, 100 µF, 20 kHz, 20 Ω.
    ripple = float(buck_ripple_current(50.0, voltage_out=20.0, inductance=400e-6, frequency=20e3))
    assert ripple == pytest.approx(1.5, rel=5e-3)
    assert 20.0 / 20.0 + ripple / 2.0 == pytest.approx(1.75, rel=5e-3)
    assert 20.0 / 20.0 - ripple / 2.0 == pytest.approx(0.25, rel=5e-3)
    swing = buck_output_ripple(ripple, capacitance=100e-6, frequency=20e3)
    assert float(swing) / 20.0 == pytest.approx(0.469e-2, rel=5e-3)


def test_buck_sizing():
    # Continuous-mode formulas (Hart; Mohan, Undeland, Robbins; computed): 12 V to 5 V, 2 A,
    # 500 kHz, 30 % ripple.
    coil = buck_inductance(12.0, voltage_out=5.0, ripple_current=0.6, frequency=500e3)
    assert float(coil) == pytest.approx(9.72e-6, rel=5e-3)
    ripple = buck_ripple_current(12.0, voltage_out=5.0, inductance=coil, frequency=500e3)
    assert 2.0 + float(ripple) / 2.0 == pytest.approx(2.3, rel=5e-3)
    store = buck_output_capacitance(0.6, ripple=0.05, frequency=500e3)
    assert float(store) == pytest.approx(3.0e-6, rel=5e-3)
