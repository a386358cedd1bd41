"""Capacitors around a linear regulator, read from a build file and worked out."""

import pytest
from tests.build.readings import SHORT, problems_of

from boomwright.build.circuits import RailCircuit
from boomwright.build.drawer import load_drawer
from boomwright.build.read import parse_build
from boomwright.build.soldered_rail import (
    burst_dip,
    capacitors_wanted,
    fitted_capacitance,
    volts_at_beat,
)
from boomwright.circuit.blocks.polarity import fitted_diode
from boomwright.circuit.blocks.regulator import RegulatorValues, regulator_netlist
from boomwright.circuit.parts import Regulator
from boomwright.circuit.transient import transient
from boomwright.circuit.waveforms import Pulse, Sine

DRAWER = load_drawer()
RAIL = SHORT + '[rail]\npart = "regulator-7805"\n'
CHIP = Regulator(name="U1", input="", output="", ground="", voltage=5.0, quiescent=5e-3)


def rail(circuit: str, more: str = "", part: str = "regulator-7805"):
    text = f'{SHORT}[rail]\npart = "{part}"\n{more}[rail.circuit]\n{circuit}'
    return parse_build(text).rail[0]


@pytest.mark.parametrize(
    ("circuit", "enough"),
    [
        ('input_bypass = "330 nF"\noutput_bypass = "100 nF"\n', True),
        ('input_capacitor = "100 µF"\noutput_capacitor = "10 µF"\n', True),
        ('input_bypass = "220 nF"\noutput_bypass = "100 nF"\n', False),
        ('input_capacitor = "100 µF"\n', False),
        ('output_capacitor = "10 µF"\n', False),
        ('input_bypass = "330 nF"\noutput_bypass = "100 nF"\ndistance = "9 cm"\n', False),
        ("", False),
    ],
)
def test_whether_the_capacitors_are_enough(circuit, enough):
    assert rail(circuit).capacitors is enough


def test_low_dropout_types_want_more():
    small = 'input_bypass = "330 nF"\noutput_bypass = "100 nF"\n'
    assert rail(small, part="regulator-ldo-5v-1a").capacitors is False
    large = 'input_capacitor = "10 µF"\noutput_capacitor = "10 µF"\n'
    assert rail(large, part="regulator-ldo-5v-1a").capacitors is True
    assert capacitors_wanted(0.6).fussy
    assert capacitors_wanted(0.6).output == 10e-6


def test_what_the_file_says_wins():
    assert rail("", more="capacitors = true\n").capacitors is True
    enough = 'input_bypass = "330 nF"\noutput_bypass = "100 nF"\n'
    assert rail(enough, more="capacitors = false\n").capacitors is False


def test_no_circuit_leaves_it_open():
    assert parse_build(RAIL).rail[0].capacitors is None
    assert parse_build(RAIL).rail[0].circuit is None


def test_every_mistake_has_its_line_and_key():
    text = RAIL + '[rail.circuit]\ninput_capacitor = "100 V"\nouput_bypass = "100 nF"\n'
    found = problems_of(text, DRAWER)
    assert [(p.line, p.key, p.says) for p in found] == [
        (17, "rail.circuit.input_capacitor", "'V' is a unit of voltage, not of capacitance"),
        (18, "rail.circuit.ouput_bypass", "unknown key"),
    ]
    assert "output_bypass" in found[1].hint


def test_an_unknown_diode_names_the_nearest():
    (found,) = problems_of(RAIL + '[rail.circuit]\ninput_diode = "1N5818A"\n', DRAWER)
    assert (found.line, found.key, found.got) == (17, "rail.circuit.input_diode", "'1N5818A'")
    assert "Did you mean '1N5818'?" in found.hint


def test_a_converter_has_no_such_circuit():
    text = SHORT + '[rail]\npart = "buck-1a-small"\n[rail.circuit]\ninput_bypass = "330 nF"\n'
    (found,) = problems_of(text, DRAWER)
    assert (found.line, found.key, found.got) == (16, "rail.circuit", "type 'buck'")


def test_capacitors_far_away_do_not_count():
    far = RailCircuit.model_validate({"input_capacitor": "47 µF", "distance": "8 cm"})
    near = RailCircuit.model_validate({"input_capacitor": "47 µF", "input_bypass": "3 µF"})
    assert fitted_capacitance(far) == (0.0, 0.0)
    assert fitted_capacitance(near)[0] == pytest.approx(50e-6, rel=1e-12)
    assert fitted_capacitance(near)[1] == 0.0


def test_dip_in_a_burst_agrees_with_the_circuit_in_time():
    circuit = RailCircuit.model_validate({"output_capacitor": "2.2 µF"})
    likely, worst = burst_dip(circuit, 0.2)
    dips = []
    for coil in (0.3e-6, 1e-6):
        values = RegulatorValues(
            regulator=CHIP,
            output_capacitor=2.2e-6,
            output_bypass=None,
            load_bypass=100e-9,
            response_inductance=coil,
        )
        burst = Pulse(0.0, 0.2, 2e-6, 1e-8, 2e-5, 1e-8)
        out = transient(regulator_netlist(values, burst=burst), 2e-5).voltage("out")[:, 0]
        dips.append(out[0] - out.min())
    assert dips[0] == pytest.approx(likely, rel=0.15)
    assert dips[1] == pytest.approx(worst, rel=0.15)
    assert burst_dip(circuit, 0.0) == (0.0, 0.0)


def test_reservoir_carries_the_load_as_the_circuit_in_time_does():
    circuit = RailCircuit.model_validate({"input_capacitor": "470 µF", "input_diode": "1N5819"})
    amps = 0.055
    volts = volts_at_beat(circuit, DRAWER, top=10.0, bottom=6.0, current=amps)
    values = RegulatorValues(
        regulator=CHIP,
        input_capacitor=470e-6,
        input_diode=fitted_diode(0.52, current=1.0, kind="schottky"),
        load_resistance=100.0,
    )
    beat = Sine(8.0, 2.0, 60.0)
    run = transient(regulator_netlist(values, voltage=10.0, sag=beat), 6.0 / 60.0)
    late = run.times > 2.0 / 60.0
    # The battery feeds it for a part of each beat, so the circuit stays somewhat higher.
    least = run.voltage("in")[late, 0].min()
    assert volts - 0.02 <= least <= volts + 0.6


def test_without_a_diode_the_battery_pulls_the_input_down():
    plain = RailCircuit.model_validate({"input_capacitor": "4700 µF"})
    assert volts_at_beat(plain, DRAWER, top=10.0, bottom=6.0, current=0.05) == 6.0
    empty = RailCircuit.model_validate({"input_diode": "1N5819"})
    assert volts_at_beat(empty, DRAWER, top=10.0, bottom=6.0, current=0.05) < 6.0
