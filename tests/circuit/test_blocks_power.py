"""Regulator, polarity and mute blocks against hand formulas."""

import numpy as np
import pytest

from boomwright.circuit.blocks.mute import MUTE_KINDS, MuteValues, mute_netlist
from boomwright.circuit.blocks.polarity import (
    POLARITY_KINDS,
    PolarityValues,
    fitted_diode,
    fitted_mosfet,
    polarity_netlist,
)
from boomwright.circuit.blocks.regulator import RegulatorValues, regulator_netlist
from boomwright.circuit.operating import operating_point
from boomwright.circuit.parts import Bipolar, Diode, Regulator, Relay, Zener
from boomwright.circuit.readings import part_readings
from boomwright.circuit.spice import spice_netlist
from boomwright.circuit.transient import transient
from boomwright.circuit.waveforms import Pulse, Sine

CHIP = Regulator(
    name="U1", input="", output="", ground="", voltage=5.0, dropout=1.9, quiescent=5e-3
)


def _regulator(**changes):
    return RegulatorValues(regulator=CHIP, **{"load_resistance": 10.0, **changes})


def test_regulator_heat_is_what_goes_in_and_does_not_come_out():
    # Definition: (12 V - 5 V) 0.5 A is 3.5 W, and 5 mA of its own at 12 V another 60 mW.
    netlist = regulator_netlist(_regulator(fuse_resistance=1e-6), voltage=12.0)
    watts = part_readings(operating_point(netlist))["U1"].watts
    assert float(watts[0]) == pytest.approx(3.5 + 0.06, rel=3e-3)


def test_regulator_below_dropout_follows_its_input():
    point = operating_point(regulator_netlist(_regulator(), voltage=np.array([6.0, 5.5])))
    amps = point.voltage("out") / 10.0
    expected = np.array([6.0, 5.5]) - 1.9 - amps * (0.02 + 0.08) - 5e-3 * 0.08
    np.testing.assert_allclose(point.voltage("out"), expected, rtol=2e-3)


def test_bass_above_dropout_does_not_reach_the_output():
    still = regulator_netlist(_regulator(), voltage=9.5, sag=Sine(9.5, 0.7, 80.0))
    run = transient(still, 0.025)
    assert float(np.ptp(run.voltage("out"))) < 2e-3
    deep = regulator_netlist(_regulator(), voltage=7.0, sag=Sine(7.0, 0.7, 80.0))
    low = float(np.min(transient(deep, 0.025).voltage("out")))
    # Bottom of the beat less dropout and what fuse and regulator drop.
    assert low == pytest.approx(7.0 - 0.7 - 1.9 - 0.1 * 0.44, rel=0.01)


def test_input_diode_lets_the_capacitor_carry_the_load():
    diode = fitted_diode(0.5, current=1.0, kind="schottky")
    beat = Pulse(9.0, 5.0, 1e-3, 1e-5, 4e-3, 1e-5)
    values = _regulator(input_capacitor=2200e-6, input_diode=diode, load_resistance=50.0)
    run = transient(regulator_netlist(values, voltage=9.0, sag=beat), 5e-3)
    before = float(run.voltage("in")[0, 0])
    after = float(np.min(run.voltage("in")))
    # Charge law: 105 mA for 4 ms out of 2200 µF.
    assert before - after == pytest.approx(0.105 * 4e-3 / 2200e-6, rel=0.03)
    assert float(np.min(run.voltage("out"))) > 4.98


def test_burst_swings_coil_and_capacitor():
    values = _regulator(
        output_capacitor=None,
        output_bypass=None,
        load_bypass=220e-9,
        response_inductance=0.4e-6,
        load_resistance=500.0,
    )
    burst = Pulse(0.0, 0.03, 2e-6, 1e-8, 2e-5, 1e-8)
    run = transient(regulator_netlist(values, voltage=12.0, burst=burst), 4e-6, accuracy=1e-5)
    out = run.voltage("out")[:, 0]
    # A step of current into L and C dips by I sqrt(L/C), a little damped by the 20 mΩ in the loop.
    dip = 0.03 * np.sqrt(0.4e-6 / 220e-9)
    assert out[0] - np.min(out) == pytest.approx(dip, rel=0.02)


@pytest.mark.parametrize(
    ("kind", "drop", "current"), [("silicon", 0.95, 3.0), ("schottky", 0.46, 1.3)]
)
def test_fitted_diode_drops_what_it_should(kind, drop, current):
    values = PolarityValues(
        diode=fitted_diode(drop, current=current, kind=kind), load_current=current
    )
    point = operating_point(polarity_netlist("series-silicon", values))
    assert float(point.voltage("fused", "out")[0]) == pytest.approx(drop, rel=1e-4)


def test_fitted_parts_refuse_what_cannot_be():
    with pytest.raises(ValueError, match=r"got 0\.05 V"):
        fitted_diode(0.05, current=1.0, kind="schottky")
    with pytest.raises(ValueError, match="got 2 V"):
        fitted_mosfet(0.05, threshold=2.5, drive=2.0)


def _transistor(zener=None):
    return PolarityValues(
        mosfet=fitted_mosfet(0.06, threshold=2.0, drive=10.0),
        body_diode=fitted_diode(0.9, current=5.0, kind="silicon"),
        gate_resistor=33e3,
        gate_zener=zener,
    )


def test_transistor_drops_its_resistance_times_the_current():
    values = PolarityValues(**{**_transistor().__dict__, "load_current": 0.4})
    net = polarity_netlist("p-mosfet", values, voltage=10.0 + 0.4 * (0.06 + 0.016) + 0.024)
    drop = float(operating_point(net).voltage("fused", "out")[0])
    assert drop == pytest.approx(0.4 * 0.06, rel=0.01)


def test_transistor_blocks_a_reversed_battery():
    net = polarity_netlist("p-mosfet", _transistor(), voltage=np.array([12.6, -12.6]))
    right, wrong = operating_point(net).voltage("out")
    assert right > 12.4
    assert abs(wrong) < 1e-4


def test_gate_zener_holds_the_gate():
    zener = Zener(name="D1", anode="", cathode="", voltage=12.0, test_current=0.02, slope=9.0)
    point = operating_point(polarity_netlist("p-mosfet", _transistor(zener), voltage=25.2))
    # Below its test current a zener stands a few tenths of a volt lower.
    assert 11.5 < float(point.voltage("out", "gate")[0]) < 12.0
    bare = operating_point(polarity_netlist("p-mosfet", _transistor(), voltage=25.2))
    assert float(bare.voltage("out", "gate")[0]) > 24.0


def test_shunt_diode_takes_the_reversed_battery():
    values = PolarityValues(diode=fitted_diode(0.95, current=3.0, kind="silicon"))
    point = operating_point(polarity_netlist("shunt-diode", values, voltage=-12.6))
    volts = -float(point.voltage("out")[0])
    amps = abs(float(point.branch_current("BT1")[0]))
    assert 0.9 < volts < 2.5
    assert amps == pytest.approx((12.6 - volts) / (0.06 + 0.016), rel=1e-6)


@pytest.mark.parametrize("kind", POLARITY_KINDS)
def test_polarity_without_its_parts_says_so(kind):
    with pytest.raises(ValueError, match=f"{kind} lacks"):
        polarity_netlist(kind, PolarityValues())


def test_unknown_kinds_are_named():
    with pytest.raises(ValueError, match="got 'plug'"):
        polarity_netlist("plug", PolarityValues())
    with pytest.raises(ValueError, match="got 'gate'"):
        mute_netlist("gate", _mute())


def _mute(**changes):
    usual = {
        "charge_resistor": 10e3,
        "capacitor": 100e-6,
        "divider_top": 82e3,
        "divider_bottom": 10e3,
        "transistor": Bipolar(name="Q1", collector="", base="", emitter="", gain=180.0),
        "second": Bipolar(name="Q2", collector="", base="", emitter="", gain=170.0),
        "drive_resistor": 150e3,
        "discharge": fitted_diode(1.0, current=0.2, kind="signal"),
    }
    return MuteValues(**{**usual, **changes})


def _relay_mute():
    return _mute(
        second=Bipolar(name="Q2", collector="", base="", emitter="", polarity="pnp"),
        drive_resistor=3.9e3,
        keeper_resistor=10e3,
        divider_top=39e3,
        divider_bottom=4.7e3,
        flyback=Diode(name="D2", anode="", cathode=""),
        relay=Relay(
            name="K1", coil_a="", coil_b="", coil_resistance=270.0, operate=0.03, release=0.0098
        ),
    )


def test_capacitor_charges_as_ten_kilohm_and_hundred_microfarad_do():
    values = _mute(divider_top=40e6, divider_bottom=2e6)
    net = mute_netlist("mute-high", values, schedule=((1e-3, True),))
    run = transient(net, 1.2, times=np.array([1.001]))
    # One RC, the usual second: 1 - 1/e of the supply.
    assert float(run.voltage("delay")[0, 0]) == pytest.approx(12.0 * (1 - np.exp(-1)), rel=2e-3)


@pytest.mark.parametrize(("kind", "playing"), [("mute-low", 5.0), ("mute-high", 0.0)])
def test_pin_is_let_go_at_rest(kind, playing):
    point = operating_point(mute_netlist(kind, _mute()))
    assert float(point.voltage("pin")[0]) == pytest.approx(playing, abs=0.1)  # V, saturated


@pytest.mark.parametrize(("kind", "muted"), [("mute-low", 0.0), ("mute-high", 5.0)])
def test_pin_is_held_at_first(kind, muted):
    net = mute_netlist(kind, _mute(), schedule=((1e-3, True),))
    run = transient(net, 0.1, times=np.array([0.05]))
    assert float(run.voltage("pin")[0, 0]) == pytest.approx(muted, abs=0.1)  # V, saturated


def test_relay_waits_then_feeds_the_speaker_alone():
    net = mute_netlist("relay", _relay_mute(), schedule=((1e-3, True),))
    run = transient(net, 4.0)
    flips = [(moment, bool(state[0])) for moment, name, state in run.events if name == "K1"]
    assert [state for _, state in flips] == [True]
    assert flips[0][0] > 0.3
    contacts = net.part("K1")
    assert "0" not in (contacts.common, contacts.made)


def test_mute_without_its_parts_says_so():
    with pytest.raises(ValueError, match="mute-low lacks"):
        mute_netlist("mute-low", _mute(second=None))
    with pytest.raises(ValueError, match="lacks keeper_resistor, relay, flyback"):
        mute_netlist("relay", _mute())


@pytest.mark.parametrize("kind", MUTE_KINDS)
def test_mutes_export(kind):
    values = _relay_mute() if kind == "relay" else _mute()
    text = spice_netlist(mute_netlist(kind, values, schedule=((1e-3, True), (2.0, False))))
    assert "C1 delay 0" in text


@pytest.mark.parametrize("kind", POLARITY_KINDS)
def test_polarities_export(kind):
    diode = fitted_diode(0.9, current=3.0, kind="silicon")
    values = _transistor() if kind == "p-mosfet" else PolarityValues(diode=diode)
    text = spice_netlist(polarity_netlist(kind, values))
    assert "RL out 0" in text


def test_regulator_exports():
    diode = fitted_diode(0.5, current=1.0, kind="schottky")
    net = regulator_netlist(_regulator(input_diode=diode), sag=Sine(11.0, 0.5, 70.0))
    assert "C1 in 0" in spice_netlist(net, analyses=(".tran 1m 50m",))
