"""Protection against reversed poles, read from a build file by its parts and worked out."""

import math

import pytest
from tests.build.readings import SHORT, problems_of

from boomwright.build.drawer import load_drawer
from boomwright.build.read import parse_build
from boomwright.build.soldered_polarity import gate_rating, reversed_current
from boomwright.design.polarity.design import design_polarity

DRAWER = load_drawer()


def text_of(circuit: str, more: str = "") -> str:
    return f"{SHORT}[polarity]\n{more}[polarity.circuit]\n{circuit}"


def polarity(circuit: str, more: str = ""):
    return parse_build(text_of(circuit, more)).polarity[0]


def drop_at(part, amps: float) -> float:
    return part.drop.likely + amps * part.resistance.likely


@pytest.mark.parametrize(
    ("device", "kind", "rated"),
    [("1N5822", "series-schottky", 3.0), ("1N5401", "series-silicon", 3.0)],
)
def test_a_series_diode_drops_what_its_design_says(device, kind, rated):
    part = polarity(f'device = "{device}"\n', f'type = "{kind}"\n')
    assert part.rating.likely == rated
    sheet = design_polarity(
        kind,
        fuse_rating=5.0,
        load_current=1.0,
        peak_current=rated,
        battery_low=10.5,
        battery_high=12.6,
        part=device,
        drawer=DRAWER,
    )
    assert drop_at(part, rated) == pytest.approx(
        sheet.figure("volts lost at the peak").likely, rel=0.01
    )
    # A line through two points of a curve: a few hundredths of a volt off between them.
    assert drop_at(part, 1.0) == pytest.approx(
        sheet.figure("volts lost on average").likely, abs=0.03
    )
    assert part.drop.low < part.drop.likely < part.drop.high


def test_the_drop_at_the_rated_current_is_the_data_sheets():
    part = polarity('device = "1N5822"\n')
    assert part.type == "series-schottky"
    assert drop_at(part, 3.0) == pytest.approx(0.48, abs=0.001)
    assert (part.drop.basis, part.resistance.basis) == ("typical", "typical")


def test_a_shunt_diode_costs_nothing():
    part = polarity('device = "1N5401"\n', 'type = "shunt-diode"\n')
    assert (part.drop.likely, part.resistance.likely) == (0.0, 0.0)
    assert part.rating.likely == 3.0


def test_a_transistor_has_its_resistance_and_what_a_bare_one_carries():
    part = polarity('device = "p-mosfet-55v-30a"\n')
    assert part.type == "p-mosfet"
    assert part.drop.likely == pytest.approx(0.0, abs=1e-3)
    assert part.resistance.likely == pytest.approx(0.05, rel=0.02)
    # 1.5 W in 50 mΩ.
    assert part.rating.likely == pytest.approx(math.sqrt(1.5 / 0.05), rel=0.02)
    assert part.rating.low < part.rating.likely < part.rating.high


def test_a_small_transistor_is_held_to_its_rated_current():
    assert polarity('device = "p-mosfet-20v-logic-4a"\n').rating.likely == pytest.approx(4.0)


def test_a_gate_that_is_driven_too_little_costs_ohms():
    low = SHORT.replace("cells = 6", "cells = 3")
    text = f'{low}[polarity]\n[polarity.circuit]\ndevice = "p-mosfet-55v-30a"\n'
    part = parse_build(text.replace('"8 V"', '"4 V"')).polarity[0]
    # 10 V less 3 V of threshold, against 5.25 V less 3 V.
    assert part.resistance.likely == pytest.approx(0.05 * 7.0 / 2.25, rel=0.1)


def test_what_the_file_says_wins_and_a_drawer_part_gives_way():
    more = 'part = "p-mosfet-10a"\nresistance = "31 mΩ (measured)"\n'
    part = polarity('device = "p-mosfet-55v-30a"\n', more)
    assert part.resistance.likely == pytest.approx(0.031, rel=1e-9)
    assert part.rating.likely == pytest.approx(5.48, rel=0.02)
    usual = parse_build(f'{SHORT}[polarity]\npart = "p-mosfet-10a"\n').polarity[0]
    assert usual.rating.likely == 10.0


@pytest.mark.parametrize(
    ("circuit", "more", "line", "key", "fragment"),
    [
        ('device = "1N5401A"\n', "", 16, "device", "Did you mean '1N5401'?"),
        ('device = "1N5401"\n', "", 16, "device", "type = 'shunt-diode'"),
        ('device = "2N7000"\n', "", 16, "device", "n-mosfet"),
        ('device = "led-red-5mm"\n', "", 16, "device", "protects nothing"),
        ('device = "1N5822"\n', 'type = "p-mosfet"\n', 17, "device", "'p-mosfet'"),
        ('device = "1N5822"\ngate_zener = "1N47"\n', "", 17, "gate_zener", "1N47"),
        ('device = "1N5822"\ngate_resistor = "5 V"\n', "", 17, "gate_resistor", "voltage"),
        ('gate_resistor = "5 kΩ"\n', "", 15, "device", "missing"),
        ('device = "1N5822"\ndevise = "1N5822"\n', "", 17, "devise", "Did you mean 'device'?"),
    ],
)
def test_every_mistake_has_its_line_and_key(circuit, more, line, key, fragment):
    (found,) = problems_of(text_of(circuit, more), DRAWER)
    assert (found.line, found.key) == (line, f"polarity.circuit.{key}")
    assert fragment in str(found)


def test_current_with_swapped_poles():
    diode = DRAWER.part("diode", "1N5401")
    amps = reversed_current(diode, voltage=12.7, resistance=0.2, fuse_rating=5.0)
    assert amps == pytest.approx((12.7 - 1.6) / 0.2, rel=0.05)
    assert reversed_current(diode, voltage=12.7, resistance=0.1, fuse_rating=5.0) > 1.8 * amps


def test_gates_of_small_types_stand_less():
    assert gate_rating(DRAWER.part("transistor", "p-mosfet-20v-logic-4a")) == 12.0
    assert gate_rating(DRAWER.part("transistor", "p-mosfet-30v-logic-10a")) == 20.0


def test_an_own_part_that_is_wrong_itself_is_told():
    diode = {**DRAWER.filling("diode", "1N5822"), "drop": "0.4 A"}
    drawer = DRAWER.with_overlay({"diode": {"own": diode}})
    (found,) = problems_of(text_of('device = "own"\n'), drawer)
    assert (found.line, found.key) == (16, "polarity.circuit.device")
    assert "not whole" in found.says


def test_what_is_worked_out_beyond_belief_is_told_at_the_circuit():
    transistor = {
        **DRAWER.filling("transistor", "p-mosfet-55v-30a"),
        "current_max": "10 mA [10 to 10]",
        "on_resistance": "50 Ω [50 to 50]",
    }
    drawer = DRAWER.with_overlay({"transistor": {"own": transistor}})
    (found,) = problems_of(text_of('device = "own"\n'), drawer)
    assert (found.line, found.key) == (15, "polarity.circuit")
    assert "resistance" in found.says
    assert "5 Ω" in found.expected
