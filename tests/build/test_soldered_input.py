"""Resistors ahead of an amplifier's input, read from a build file and worked out."""

import math

import numpy as np
import pytest
from tests.build.readings import SHORT, problems_of

from boomwright.build.circuits import InputCircuit
from boomwright.build.drawer import load_drawer
from boomwright.build.read import parse_build
from boomwright.build.soldered_input import bass_corner, receiver_load
from boomwright.circuit.blocks.summing import PadValues, SumValues, pad_netlist, sum_netlist
from boomwright.circuit.operating import operating_point
from boomwright.circuit.response import ac_response

DRAWER = load_drawer()
SUM = 'left_resistor = "1.2 kΩ"\nright_resistor = "1 kΩ"\n'
PAD = 'series_resistor = "15 kΩ"\nshunt_resistor = "3.3 kΩ"\n'
KNOWN = 'source_impedance = "150 Ω (measured)"\ninput_impedance = "27 kΩ (measured)"\n'


def text_of(circuit: str, more: str = "") -> str:
    return f"{SHORT.replace('[driver]', more + '[driver]')}[amplifier.input_circuit]\n{circuit}"


def amplifier(circuit: str, more: str = ""):
    return parse_build(text_of(circuit, more)).amplifier[0]


def table(text: str) -> InputCircuit:
    pairs = (line.split(" = ") for line in text.strip().splitlines())
    return InputCircuit.model_validate({key: value.strip('"') for key, value in pairs})


def loss_db(volts: float) -> float:
    return -20.0 * math.log10(volts)


def test_a_sum_loses_what_its_circuit_loses():
    board = amplifier(SUM + KNOWN, "channels = 2\n")
    values = SumValues(
        left_resistor=1.2e3, right_resistor=1e3, source_impedance=150.0, load_impedance=27e3
    )
    point = operating_point(sum_netlist(values, left=1.0, right=1.0))
    assert board.input_pad.likely == pytest.approx(loss_db(float(point.voltage("in")[0])), rel=1e-5)
    assert board.input == "sum"
    assert board.input_pad.low < board.input_pad.likely < board.input_pad.high
    assert board.input_pad.basis == "typical"


def test_a_pad_loses_what_its_circuit_loses():
    board = amplifier(PAD + KNOWN)
    values = PadValues(
        series_resistor=15e3, shunt_resistor=3.3e3, source_impedance=150.0, load_impedance=27e3
    )
    point = operating_point(pad_netlist(values))
    assert board.input_pad.likely == pytest.approx(loss_db(float(point.voltage("in")[0])), rel=1e-5)
    assert board.input == "stereo"


def test_a_pad_behind_a_sum():
    board = amplifier(SUM + PAD + KNOWN, "channels = 1\n")
    source = 1.0 / (1.0 / 1350.0 + 1.0 / 1150.0)
    end = 1.0 / (1.0 / 3.3e3 + 1.0 / 27e3)
    assert board.input_pad.likely == pytest.approx(loss_db(end / (source + 15e3 + end)), rel=1e-5)


def test_a_sum_feeds_every_input():
    four = amplifier(SUM + KNOWN, "channels = 4\n").input_pad.likely
    one = amplifier(SUM + KNOWN, "channels = 1\n").input_pad.likely
    assert four > 3.0 * one


def test_what_the_file_says_wins():
    board = amplifier(SUM, 'input = "sum"\ninput_pad = "2.4 dB (measured)"\n')
    assert board.input_pad.likely == 2.4


@pytest.mark.parametrize(
    ("circuit", "more", "line", "key", "fragment"),
    [
        ('left_resistor = "1 kΩ"\n', "", 14, "right_resistor", "only left_resistor"),
        ('right_resistor = "1 kΩ"\n', "", 14, "left_resistor", "only right_resistor"),
        ('shunt_resistor = "1 kΩ"\n', "", 14, "series_resistor", "without its series"),
        ('source_impedance = "90 Ω"\n', "", 14, "", "no resistor"),
        (SUM, 'input = "left"\n', 16, "left_resistor", "input = 'left'"),
        ('left_resistr = "1 kΩ"\n' + PAD, "", 15, "left_resistr", "Did you mean"),
        ('series_resistor = "1 kHz"\n', "", 15, "series_resistor", "unit of frequency"),
    ],
)
def test_every_mistake_has_its_line_and_key(circuit, more, line, key, fragment):
    found = problems_of(text_of(circuit, more), DRAWER)
    assert [(p.line, p.key) for p in found] == [
        (line, ".".join(filter(None, ["amplifier.input_circuit", key])))
    ]
    assert fragment in str(found[0])


def test_load_on_the_receiver_is_the_circuits():
    values = SumValues(
        left_resistor=1.2e3, right_resistor=1e3, source_impedance=150.0, load_impedance=27e3
    )
    point = operating_point(sum_netlist(values, left=0.0, right=1.0))
    amps = (1.0 - float(point.voltage("right")[0])) / 150.0
    seen = float(point.voltage("right")[0]) / amps
    assert receiver_load(table(SUM + KNOWN), 2) == pytest.approx(seen, rel=1e-6)
    end = 1.0 / (1.0 / 3.3e3 + 1.0 / 27e3)
    assert receiver_load(table(PAD + KNOWN), 2) == pytest.approx(15e3 + end, rel=1e-9)


def test_corner_of_the_capacitor_is_the_circuits():
    circuit = table(SUM + KNOWN + 'coupling_capacitor = "220 nF"\n')
    corner = bass_corner(circuit, 2)
    values = SumValues(
        left_resistor=1.2e3,
        right_resistor=1e3,
        source_impedance=150.0,
        load_impedance=27e3,
        coupling_capacitor=220e-9,
        cable_capacitance=1e-15,
    )
    response = ac_response(
        sum_netlist(values, left=1.0, right=1.0), np.array([corner, 1000.0 * corner])
    )
    at, above = np.abs(response.voltage("in"))[:, 0]
    assert at / above == pytest.approx(math.sqrt(0.5), rel=1e-3)
    assert bass_corner(table(SUM), 2) == 0.0
