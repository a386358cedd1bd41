"""Linear regulators: heat, dropout and movement against the laws and by hand."""

import numpy as np
import pytest

from boomwright.build.drawer import load_drawer
from boomwright.circuit.spice import spice_netlist
from boomwright.design.regulator.design import design_regulator
from boomwright.errors import InputError
from boomwright.physics.heatsink import sink_resistance_needed
from boomwright.physics.linear import linear_heat


def _designed(**changes):
    usual = {"battery_low": 10.2, "battery_high": 12.6, "load": 0.06}
    return design_regulator(**{**usual, **changes})


@pytest.fixture(scope="module")
def sheet():
    return _designed()


def test_heat_of_the_published_case():
    # Definition (computed): 12 V to 5 V at 0.5 A makes 3.5 W; 5 mA of its own adds 60 mW.
    found = _designed(battery_low=12.0, battery_high=12.0, load=0.5)
    assert found.figure("heat in the regulator").likely == pytest.approx(3.5 + 0.06, rel=1e-9)


def test_heat_follows_the_law(sheet):
    law = linear_heat(12.6, voltage_out=5.0, current_out=0.06, current_ground=8e-3)
    assert sheet.figure("heat in the regulator").high == pytest.approx(float(law), rel=1e-9)


def test_junction_of_a_bare_part(sheet):
    watts = 7.6 * 0.06 + 12.6 * 0.005
    assert sheet.figure("junction on the fullest battery").likely == pytest.approx(
        313.15 + 62.0 * watts, rel=1e-9
    )


def test_sink_cools_the_junction(sheet):
    cooled = _designed(sink=14.0)
    watts = 7.6 * 0.06 + 12.6 * 0.005
    found = cooled.figure("junction on the fullest battery").likely
    assert found == pytest.approx(313.15 + (5.0 + 14.0) * watts, rel=1e-9)
    assert found < sheet.figure("junction on the fullest battery").likely


def test_bare_limit_brings_the_junction_to_its_limit(sheet):
    amps = sheet.figure("load a bare part stands").likely
    there = _designed(load=amps)
    assert there.figure("junction on the fullest battery").likely == pytest.approx(398.15, rel=1e-6)
    over = _designed(load=1.05 * amps)
    assert over.remarks[0].level == "stop"


def test_needed_sink_is_the_law_turned_round():
    found = _designed(load=0.5)
    law = sink_resistance_needed(
        7.6 * 0.5 + 12.6 * 0.005,
        ambient=313.15, junction_max=398.15, junction_case=5.0, case_sink=0.0,
    )  # fmt: skip
    needed = found.figure("largest heat sink")
    assert needed.likely == pytest.approx(float(law), rel=1e-9)
    cooled = _designed(load=0.5, sink=needed.low)
    assert cooled.figure("junction on the fullest battery").high <= 398.15 + 1e-6
    assert all(remark.level != "stop" for remark in cooled.remarks)


def test_lowest_battery_is_output_dropout_and_drops(sheet):
    # 95 % of 5 V, 2 V of dropout, 160 mA through 20 mΩ and the fuse.
    found = sheet.figure("lowest battery")
    fuse = sheet.netlist.part("F1").resistance
    assert found.likely == pytest.approx(4.75 + 2.0 + 0.16 * (0.02 + fuse), rel=2e-3)
    assert found.low < found.likely < found.high


def test_bass_above_dropout_stays_out_and_below_comes_through(sheet):
    assert sheet.figure("output at the bottom of a bass beat").low > 4.98
    deep = _designed(battery_low=7.5, sag=1.2)
    amps = 0.16
    fuse = deep.netlist.part("F1").resistance
    by_hand = 7.5 - 1.2 - 2.0 - amps * (0.02 + fuse)
    found = deep.figure("output at the bottom of a bass beat").likely
    assert found == pytest.approx(by_hand, rel=0.01)
    assert any("bass" in remark.says and remark.level == "mind" for remark in deep.remarks)


def test_ripple_goes_by_the_rejection(sheet):
    assert sheet.figure("ripple at the output").likely == pytest.approx(10.0**-3.5, rel=1e-9)


def test_output_capacitor_calms_a_burst(sheet):
    with_it = sheet.figure("dip in a burst")
    without = sheet.figure("dip in a burst without output capacitor")
    # Without it a coil of 0.3 µH and the load's own 100 nF swing: I sqrt(L/C).
    assert without.likely == pytest.approx(0.1 * np.sqrt(3.0), rel=0.1)
    assert with_it.likely < 0.3 * without.likely
    assert with_it.likely < 0.05


def test_input_diode_comes_in_where_it_helps():
    found = _designed(battery_low=9.2, battery_high=9.9, sag=2.5)
    assert found.netlist.part("D1").kind == "schottky"
    assert found.figure("output at the bottom of a bass beat").low > 4.75
    # Definition of hold-up: t = C dV / I.
    capacitance = found.netlist.part("C1").capacitance
    by_hand = capacitance * (9.2 - 0.45 - 4.75 - 2.0) / (0.16 + 5e-3)
    held = found.figure("input capacitor carries the load for").likely
    assert held == pytest.approx(by_hand, rel=1e-9)
    assert "D1" not in {part.name for part in _designed(battery_low=8.6, sag=0.4).netlist.parts}


def test_step_down_board_takes_less(sheet):
    linear, board = (
        sheet.figure(label).likely
        for label in ("charge taken in 10 h", "charge taken in 10 h, step-down board")
    )
    assert linear == pytest.approx(10 * 3600 * 0.065, rel=1e-9)
    assert board < 0.7 * linear
    assert sheet.figure("heat in a step-down board instead").likely < 0.1


def test_every_limit_holds_its_figure(sheet):
    for figure in sheet.figures:
        assert figure.low <= figure.likely <= figure.high, figure.label
    for reading in sheet.readings:
        assert reading.expect.low <= reading.expect.likely <= reading.expect.high, reading.do


def test_parts_have_room_and_polarity(sheet):
    assert {line.name for line in sheet.parts} == {"F1", "U1", "C1", "C2", "C3", "C4"}
    assert all(line.margin > 1.2 for line in sheet.parts)
    assert all("stripe" in line.note for line in sheet.parts if line.name in ("C1", "C2"))


def test_readings_are_safe(sheet):
    assert "limit 0.1 A" in sheet.readings[0].do
    assert "burn" in sheet.readings[-1].caution
    # What would pass its limit is never asked to run for half an hour.
    cooking = _designed(load=0.6)
    assert not any("30 minutes" in reading.do for reading in cooking.readings)


def test_tab_is_cooler_than_the_junction_by_the_case(sheet):
    # 23 °C and all the way from junction to air but that inside the part: 62 less 5 K/W.
    watts = 7.6 * 0.06 + 12.6 * 0.005
    tab = next(reading for reading in sheet.readings if "30 minutes" in reading.do).expect
    assert tab.likely == pytest.approx(296.15 + 57.0 * watts, rel=1e-9)


def test_it_exports(sheet):
    assert "C2 out 0" in spice_netlist(sheet.netlist)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"battery_low": 6.0, "battery_high": 6.6}, "read 6.6 V; expected above 7 V"),
        ({"load": 1.3}, "beyond the rating of regulator-7805; read 1.4 A"),
        ({"battery_high": 42.0}, "read 42 V; expected 35 V or less"),
        ({"output": 7.4}, "read 7.4 V.*nearest is 8 V"),
        ({"load": float("nan")}, "load of a regulator; read unknown"),
        ({"load": -0.2}, "read -200 mA"),
        ({"battery_low": 13.0}, "read 13 V; expected 12.6 V or less"),
        ({"sag": 11.0}, "below zero; read 11 V"),
        ({"part": "regulator-99"}, "read 'regulator-99'"),
        ({"sink": 0.0}, "sink of a regulator; read 0 K/W"),
        ({"ambient": 372.15, "part": "regulator-7805", "load": float("inf")}, "read no limit"),
    ],
)
def test_impossible_wishes_get_a_reason(changes, words):
    with pytest.raises(InputError, match=words):
        _designed(**changes)


def test_low_battery_is_told_of_the_low_dropout_type():
    with pytest.raises(InputError, match="regulator-ldo-5v-1a would hold from less"):
        _designed(battery_low=6.2, battery_high=6.9)


def test_all_faults_at_once():
    with pytest.raises(InputError) as caught:
        _designed(load=-1.0, output=0.0, sag=-2.0)
    assert {problem.key for problem in caught.value.problems} == {"load", "output", "sag"}


@pytest.mark.parametrize(
    "name",
    [
        name
        for name in load_drawer().names("rail")
        if load_drawer().part("rail", name).type == "linear"
    ],
)
def test_every_linear_regulator_of_the_drawer(name):
    rail = load_drawer().part("rail", name)
    low = rail.voltage.likely + rail.dropout.high + 1.5
    found = design_regulator(
        battery_low=low, battery_high=low + 1.0, output=rail.voltage.likely, load=0.02, burst=0.03,
        part=name,
    )  # fmt: skip
    lowest = found.figure("lowest battery").likely
    assert lowest == pytest.approx(0.95 * rail.voltage.likely + rail.dropout.likely, rel=0.03)
