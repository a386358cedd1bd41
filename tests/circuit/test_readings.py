"""Volts, amps and watts of parts in solved circuits."""

from __future__ import annotations

import numpy as np
import pytest

from boomwright.circuit.netlist import Netlist
from boomwright.circuit.operating import operating_point
from boomwright.circuit.parts import (
    Bipolar,
    Capacitor,
    Comparator,
    Coupling,
    CurrentSource,
    Diode,
    Fuse,
    Inductor,
    Mosfet,
    Part,
    Regulator,
    Relay,
    Resistor,
    ShuntReference,
    Switch,
    VoltageSource,
    Zener,
)
from boomwright.circuit.readings import Reading, part_readings
from boomwright.circuit.values import Value

SOURCE = VoltageSource(name="V1", a="in", b="0", voltage=12.0)


def _r(name: str, a: str, b: str, resistance: Value) -> Resistor:
    return Resistor(name=name, a=a, b=b, resistance=resistance)


def _read(*parts: Part, **how: object) -> dict[str, Reading]:
    return part_readings(operating_point(Netlist("bench", parts), **how))  # type: ignore[arg-type]


def _values(reading: Reading) -> tuple[float, float, float]:
    return float(reading.volts[0]), float(reading.amps[0]), float(reading.watts[0])


def balance(readings: dict[str, Reading]) -> np.ndarray:
    """Sum of all powers over the sum of their sizes, and a milliwatt.

    A conductance of 1e-12 S from each node to ground is no part: what it takes, up to 1 nW at
    these voltages, has no reading.
    """
    watts = np.stack([reading.watts for reading in readings.values()])
    return np.asarray(np.sum(watts, axis=0) / (np.sum(np.abs(watts), axis=0) + 1e-3))


def test_resistor_source_and_fuse():
    found = _read(
        SOURCE, Fuse(name="F1", a="in", b="x", resistance=1.0, rating=3.0), _r("R1", "x", "0", 5.0)
    )
    assert _values(found["R1"]) == pytest.approx((10.0, 2.0, 20.0), rel=1e-6)
    assert _values(found["F1"]) == pytest.approx((2.0, 2.0, 4.0), rel=1e-6)
    assert _values(found["V1"]) == pytest.approx((12.0, -2.0, -24.0), rel=1e-6)


def test_signs_follow_the_first_terminal():
    found = _read(SOURCE, _r("R1", "0", "in", 6.0))
    assert _values(found["R1"]) == pytest.approx((-12.0, -2.0, 24.0), rel=1e-6)


def test_warm_resistor():
    warm = Resistor(name="R1", a="in", b="0", resistance=10.0, temperature_coefficient=4e-3)
    found = _read(SOURCE, warm, temperature=323.15)
    assert _values(found["R1"]) == pytest.approx((12.0, 12.0 / 11.0, 144.0 / 11.0), rel=1e-6)


def test_current_source_gives_power_into_a_resistor():
    source = CurrentSource(name="I1", a="0", b="n", current=3e-3)
    found = _read(source, _r("R1", "n", "0", 2e3))
    assert _values(found["I1"]) == pytest.approx((-6.0, 3e-3, -18e-3), rel=1e-6)
    assert _values(found["R1"]) == pytest.approx((6.0, 3e-3, 18e-3), rel=1e-6)


def test_current_source_at_another_level_reads_that_level():
    source = CurrentSource(name="I1", a="0", b="n", current=3e-3)
    found = _read(source, _r("R1", "n", "0", 2e3), levels={"I1": 5e-3})
    assert _values(found["I1"]) == pytest.approx((-10.0, 5e-3, -50e-3), rel=1e-6)
    assert float(balance(found)[0]) == pytest.approx(0.0, abs=1e-9)  # share of all power


def test_voltage_source_at_another_level_reads_that_level():
    found = _read(SOURCE, _r("R1", "in", "0", 3.0), levels={"V1": 9.0})
    assert _values(found["V1"]) == pytest.approx((9.0, -3.0, -27.0), rel=1e-6)


def test_charged_capacitor_carries_nothing():
    cap = Capacitor(name="C1", a="x", b="0", capacitance=1e-3)
    found = _read(SOURCE, _r("R1", "in", "x", 1e3), cap)
    assert _values(found["C1"]) == pytest.approx((12.0, 0.0, 0.0), rel=1e-6)


def test_coil_drops_its_resistance_only():
    coil = Inductor(name="L1", a="in", b="x", inductance=0.5, resistance=2.0)
    found = _read(SOURCE, coil, _r("R1", "x", "0", 4.0))
    assert _values(found["L1"]) == pytest.approx((4.0, 2.0, 8.0), rel=1e-6)


def test_transformer_passes_nothing_at_rest():
    parts = (
        SOURCE,
        _r("R1", "in", "p", 60.0),
        Inductor(name="L1", a="p", b="0", inductance=0.1, resistance=1.0),
        Inductor(name="L2", a="s", b="0", inductance=0.4, resistance=2.0),
        Coupling(name="T1", first="L1", second="L2", coefficient=0.98),
        _r("R2", "s", "0", 600.0),
    )
    found = _read(*parts)
    assert _values(found["T1"]) == (0.0, 0.0, 0.0)
    assert abs(float(found["R2"].amps[0])) < 1e-12


@pytest.mark.parametrize("closed", [True, False])
def test_switch(closed):
    switch = Switch(name="S1", a="in", b="x", closed=closed, on_resistance=2.0, open_resistance=1e6)
    found = _read(SOURCE, switch, _r("R1", "x", "0", 4.0))
    amps = 12.0 / (6.0 if closed else 1e6 + 4.0)
    ohms = 2.0 if closed else 1e6
    assert _values(found["S1"]) == pytest.approx((ohms * amps, amps, ohms * amps**2), rel=1e-5)


def test_switches_of_a_batch():
    switch = Switch(name="S1", a="in", b="x", closed=np.array([True, False]), on_resistance=2.0)
    found = _read(SOURCE, switch, _r("R1", "x", "0", 4.0))
    np.testing.assert_allclose(found["S1"].amps, [2.0, 1.2e-8], rtol=1e-4)


def _relay(**changes: object) -> Relay:
    values: dict[str, object] = {
        "name": "K1",
        "coil_a": "k",
        "coil_b": "0",
        "common": "in",
        "coil_resistance": 100.0,
        "operate": 0.08,
        "release": 0.03,
        "contact_resistance": 0.5,
    }
    return Relay(**{**values, **changes})  # type: ignore[arg-type]


def test_relay_heats_by_coil_and_made_contact():
    found = _read(SOURCE, _r("R3", "in", "k", 20.0), _relay(made="m"), _r("R2", "m", "0", 5.5))
    assert float(found["K1"].amps[0]) == pytest.approx(0.1, rel=1e-6)
    assert float(found["K1"].volts[0]) == pytest.approx(10.0, rel=1e-6)
    assert float(found["K1"].contact_amps[0]) == pytest.approx(2.0, rel=1e-6)
    assert float(found["K1"].watts[0]) == pytest.approx(100.0 * 0.01 + 0.5 * 4.0, rel=1e-6)


def test_relay_heats_by_its_broken_contact_too():
    found = _read(
        *(SOURCE, _r("R3", "k", "0", 1e3), _relay(made="m", broken="b")),
        *(_r("R1", "b", "0", 5.5), _r("R2", "m", "0", 7.0)),
    )
    assert float(found["R1"].amps[0]) == pytest.approx(2.0, rel=1e-6)
    assert float(found["K1"].contact_amps[0]) == pytest.approx(0.0, abs=1e-7)  # A, open leakage
    assert float(found["K1"].watts[0]) == pytest.approx(0.5 * 4.0, rel=1e-5)
    assert float(balance(found)[0]) == pytest.approx(0.0, abs=1e-9)  # share of all power


def test_diode_counts_its_own_resistance():
    diode = Diode(name="D1", anode="x", cathode="0", saturation_current=1e-12, resistance=3.0)
    found = _read(SOURCE, _r("R1", "in", "x", 10.0), diode)
    volts, amps, watts = _values(found["D1"])
    assert amps == pytest.approx((12.0 - volts) / 10.0, rel=1e-6)
    assert volts == pytest.approx(0.025693 * np.log(amps / 1e-12) + 3.0 * amps, rel=1e-5)
    assert watts == pytest.approx(volts * amps, rel=1e-9)


def test_zener_reads_below_zero_from_its_anode():
    zener = Zener(name="D1", anode="0", cathode="x", voltage=5.1, test_current=0.049, slope=2.0)
    found = _read(SOURCE, _r("R1", "in", "x", (12.0 - 5.1) / 0.049), zener)
    assert _values(found["D1"]) == pytest.approx((-5.1, -0.049, 5.1 * 0.049), rel=1e-6)


def test_transistor_reads_collector_to_emitter():
    transistor = Bipolar(name="Q1", collector="c", base="b", emitter="0", gain=120.0)
    found = _read(SOURCE, _r("RC", "in", "c", 100.0), _r("RB", "in", "b", 47e3), transistor)
    volts, amps, watts = _values(found["Q1"])
    base = float(found["RB"].amps[0])
    assert amps == pytest.approx(120.0 * base, rel=1e-3)
    assert volts == pytest.approx(12.0 - 100.0 * amps, rel=1e-6)
    assert watts == pytest.approx(volts * amps + (12.0 - 47e3 * base) * base, rel=1e-6)


def test_mos_transistor_reads_drain_to_source():
    transistor = Mosfet(
        name="Q1", drain="d", gate="0", source="in", polarity="p", transconductance=2.0
    )
    found = _read(SOURCE, transistor, _r("R1", "d", "0", 6.0))
    volts, amps, watts = _values(found["Q1"])
    assert -0.2 < volts < 0.0
    assert amps == pytest.approx(-(12.0 + volts) / 6.0, rel=1e-6)
    assert watts == pytest.approx(volts * amps, rel=1e-6)


def test_reference_reads_its_cathode():
    reference = ShuntReference(name="U1", cathode="x", reference="x", anode="0", voltage=2.5)
    found = _read(SOURCE, _r("R1", "in", "x", 950.0), reference)
    volts, amps, watts = _values(found["U1"])
    assert volts == pytest.approx(2.5, rel=5e-3)
    # Pin and cathode hang on one node, and the pin takes 2 µA.
    assert amps == pytest.approx(float(found["R1"].amps[0]) - 2e-6, rel=1e-4)
    assert watts == pytest.approx(volts * float(found["R1"].amps[0]), rel=1e-6)


def test_regulator_heats_by_drop_and_own_current():
    chip = Regulator(name="U1", input="in", output="x", ground="0", voltage=5.0, quiescent=6e-3)
    found = _read(SOURCE, chip, _r("R1", "x", "0", 10.0))
    watts = float(found["U1"].watts[0])
    assert watts == pytest.approx(7.0 * 0.5 + 12.0 * 6e-3, rel=5e-3)
    assert float(found["U1"].amps[0]) == pytest.approx(0.5 + 6e-3, rel=5e-3)


def test_comparator_reads_its_output():
    parts = (
        SOURCE,
        _r("R1", "in", "m", 1e3),
        _r("R2", "m", "0", 1e3),
        Comparator(name="U1", plus="0", minus="m", output="o", ground="0", on_resistance=40.0),
        _r("R3", "in", "o", 560.0),
    )
    found = _read(*parts)
    assert _values(found["U1"]) == pytest.approx((0.8, 0.02, 0.016), rel=1e-6)


def test_every_reading_has_one_value_per_sample():
    parts = (
        *(SOURCE, _r("R1", "in", "x", np.array([1e3, 2e3, 3e3])), _r("R2", "in", "k", 50.0)),
        *(Diode(name="D1", anode="x", cathode="0"), _relay(made="m"), _r("R3", "m", "0", 9.0)),
        Capacitor(name="C1", a="x", b="0", capacitance=1e-6),
        Switch(name="S1", a="x", b="0"),
        CurrentSource(name="I1", a="x", b="0", current=1e-4),
    )
    for name, reading in _read(*parts).items():
        for field in (reading.volts, reading.amps, reading.watts, reading.contact_amps):
            assert field.shape == (3,), name
