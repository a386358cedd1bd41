"""A battery gauge by its marks, read from a build file and worked out."""

import numpy as np
import pytest
from tests.build.readings import SHORT, problems_of

from boomwright.build.circuits import MeterCircuit
from boomwright.build.drawer import load_drawer
from boomwright.build.read import parse_build
from boomwright.build.soldered_meter import charge_at, meter_marks
from boomwright.circuit.blocks.ladder import lit_steps
from boomwright.design.ladder.design import design_ladder
from boomwright.physics.chemistry import load_chemistries

DRAWER = load_drawer()
LEAD = 'marks = ["11.5 V", "12.7 V", "12.3 V", "11.9 V"]\n'
IRON = 'marks = ["13.3 V", "13.2 V", "13.1 V", "12.8 V"]\n'
CHAIN = 'divider_top = "47 kΩ"\ndivider_bottom = "10 kΩ"\nchain = ["2.2 kΩ", "1 kΩ", "15 kΩ"]\n'


def text_of(circuit: str, more: str = "", short: str = SHORT) -> str:
    return f"{short}[load]\n{more}[load.circuit]\n{circuit}"


def gauge(circuit: str, more: str = "", short: str = SHORT):
    return parse_build(text_of(circuit, more, short)).load[0]


def test_a_ladder_of_four_leds():
    found = gauge(LEAD + 'led_current = "3 mA (measured)"\n')
    assert found.use == "meter"
    assert found.shows == "lead-agm"
    # 2 mA of its own and half of the four LEDs.
    assert found.current.likely == pytest.approx(8e-3, rel=1e-6)
    assert found.current.low < found.current.likely < found.current.high
    assert found.current.high == pytest.approx(3.5e-3 + 4 * found.circuit.led_current.high)


def test_marks_tell_their_chemistry():
    lithium = SHORT.replace("lead-agm", "lifepo4").replace("cells = 6", "cells = 4")
    assert gauge(IRON).shows == "lifepo4"
    assert gauge(IRON, short=lithium).shows == "lifepo4"
    assert gauge(LEAD, short=lithium).shows == "lead-agm"
    three = 'marks = ["12.3 V", "11.7 V", "11.1 V", "10.5 V"]\n'
    assert gauge(three).shows == "li-ion-nmc"
    flooded = SHORT.replace("lead-agm", "lead-flooded")
    assert gauge(LEAD, short=flooded).shows == "lead-flooded"


def test_a_plain_voltmeter_has_no_marks():
    found = gauge('kind = "voltmeter"\n')
    assert found.shows == ""
    assert found.current.likely == pytest.approx(14e-3)
    divided = 'kind = "voltmeter"\ndivider_top = "47 kΩ"\ndivider_bottom = "10 kΩ"\n'
    assert meter_marks(gauge(divided).circuit).size == 0


def test_marks_from_the_resistors():
    marks = meter_marks(gauge(CHAIN).circuit)
    # 2.5 V over 18.2 kΩ, tapped at 15 kΩ and 16 kΩ, times 5.7.
    expected = 2.5 * 5.7 * np.array([15.0, 16.0]) / 18.2
    assert marks == pytest.approx(expected, rel=1e-9)


def test_marks_are_those_of_the_solved_ladder():
    sheet = design_ladder(
        chemistry="lead-agm", cells=6, capacity=9 * 3600.0, load_current=0.5, trimmer=False
    )
    netlist = sheet.netlist
    steps = sum(part.name.startswith("D") for part in netlist.parts)
    circuit = MeterCircuit.model_validate(
        {
            "divider_top": f"{netlist.part('R1').resistance:g} Ω",
            "divider_bottom": f"{netlist.part('R2').resistance:g} Ω",
            "chain": [f"{netlist.part(f'R{4 + i}').resistance:g} Ω" for i in range(steps + 1)],
            "reference": f"{netlist.part('U1').voltage:g} V",
        }
    )
    marks = meter_marks(circuit)
    just_below, just_above = marks * 0.995, marks * 1.005
    lit = lit_steps(netlist, np.concatenate([just_below, just_above])).sum(axis=1)
    assert lit[:steps].tolist() == list(range(steps))
    assert lit[steps:].tolist() == list(range(1, steps + 1))


def test_what_the_file_says_wins_and_a_drawer_part_gives_way():
    more = 'part = "meter-bar-lfp"\ncurrent = "7 mA (measured)"\n'
    found = gauge(LEAD, more)
    assert found.current.likely == pytest.approx(7e-3)
    assert found.shows == "lead-agm"
    assert gauge(LEAD, more + 'shows = "lifepo4"\n').shows == "lifepo4"


@pytest.mark.parametrize(
    ("circuit", "more", "line", "key", "fragment"),
    [
        ("", "", 15, "divider_top", "a ladder without marks needs it"),
        (CHAIN.replace("chain", "chian"), "", 18, "chian", "Did you mean 'chain'?"),
        ('marks = ["12 V", "11 A"]\n', "", 16, "marks.2", "unit of current"),
        (LEAD, 'use = "fan"\n', 16, "", "use = 'fan'"),
        (LEAD + 'kind = "needle"\n', "", 17, "kind", "'ladder'"),
    ],
)
def test_every_mistake_has_its_line_and_key(circuit, more, line, key, fragment):
    found = problems_of(text_of(circuit, more), DRAWER)
    assert (found[0].line, found[0].key) == (
        line,
        ".".join(filter(None, ["load.circuit", key])),
    )
    assert fragment in str(found[0])


def test_charge_by_rested_volts():
    agm = load_chemistries()["lead-agm"]
    volts = 6.0 * agm.ocv_table[[20, 70]]
    assert charge_at(volts, agm, 6) == pytest.approx([0.2, 0.7], rel=1e-9)
