"""The law of ladders, the circuit layer and ngspice: three ways to one response.

ngspice 39 is an independent program; it is given the netlist that is exported.
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.circuit.ngspice import Job, run_ngspice
from tests.design.split.drives import designed, driver, drives

from boomwright.circuit.parts import Inductor, Resistor
from boomwright.circuit.response import ac_response
from boomwright.circuit.spice import spice_netlist
from boomwright.design.split.circuit import real_netlist, soldered, wiring_netlist
from boomwright.design.split.design import design_split
from boomwright.design.split.wish import SplitWish
from boomwright.physics.curves import decibels
from boomwright.physics.ladder import ladder

CASES = [
    ("8 ohm", "butterworth", 1),
    ("8 ohm", "linkwitz-riley", 4),
    ("4 ohm", "butterworth", 3),
    ("small", "linkwitz-riley", 2),
]
CLOSE = 0.05
"""Greatest difference of two levels [dB]."""

HERTZ = np.geomspace(20.0, 20e3, 61)


def _levels(found) -> list[np.ndarray]:
    return [decibels(branch.ladder(HERTZ).transfer[0]) for branch in found.branches]


@pytest.mark.parametrize(("name", "alignment", "order"), CASES)
def test_circuit_layer_gives_the_volts_of_the_ladder(name, alignment, order):
    found = designed(name, alignment, order)
    solved = ac_response(found.real, HERTZ)
    for node, level in zip(found.drivers, _levels(found), strict=True):
        other = decibels(solved.voltage(node)[:, 0])
        assert np.abs(other - level).max() < CLOSE


@pytest.mark.parametrize(("name", "alignment", "order"), CASES)
def test_circuit_layer_gives_the_load_of_the_ladder(name, alignment, order):
    found = designed(name, alignment, order)
    current = -ac_response(found.real, HERTZ).branch_current("V1")[:, 0]
    each = [branch.ladder(HERTZ).impedance[0] for branch in found.branches]
    load = 1.0 / sum(1.0 / one for one in each)
    assert np.abs(decibels(current * load)).max() < CLOSE


def test_ngspice_gives_the_volts_of_the_ladder():
    designs = [designed(*case) for case in CASES]
    jobs = [Job(spice_netlist(found.real), ("ac dec 20 20 20k",)) for found in designs]
    for found, (vectors,) in zip(designs, run_ngspice(jobs), strict=True):
        assert vectors is not None
        hertz = vectors["frequency"].real
        assert hertz.size > 50
        for node, branch in zip(found.drivers, found.branches, strict=True):
            level = decibels(branch.ladder(hertz).transfer[0])
            assert np.abs(decibels(vectors[f"v({node})"]) - level).max() < CLOSE


def test_ngspice_on_resistors_gives_the_ladder_on_resistors():
    """What is drawn and exported as wired has each driver as its rated resistance."""
    found = designed("8 ohm", "linkwitz-riley", 4)
    ((vectors,),) = run_ngspice([Job(spice_netlist(found.design.netlist), ("ac dec 20 20 20k",))])
    assert vectors is not None
    hertz = vectors["frequency"].real
    for node, branch in zip(found.drivers, found.branches, strict=True):
        level = decibels(ladder(branch.steps, np.array(branch.drive.rated), hertz).transfer)
        assert np.abs(decibels(vectors[f"v({node})"]) - level).max() < CLOSE


def test_pairs_of_drivers_are_scaled_in_the_circuit_as_in_the_law():
    low = driver("woofer-6in5-8ohm")
    (pair_,) = drives(low, count=2)
    found = design_split(pair_, None, SplitWish(frequency=800.0, builds=20))
    other = decibels(ac_response(found.real, HERTZ).voltage("woofer")[:, 0])
    assert np.abs(other - _levels(found)[0]).max() < CLOSE


def test_an_unknown_driver_stays_a_resistor():
    plain = driver("tweeter-dome-25mm-8ohm", fs=None)
    (high,) = drives(plain)
    found = design_split(None, high, SplitWish(frequency=3300.0, builds=20))
    part = found.real.part("LS1")
    assert isinstance(part, Resistor)
    assert part.resistance == 8.0
    assert any("not known" in remark.says for remark in found.design.remarks)


def test_parts_have_one_name_on_the_drawing_and_on_the_list():
    found = designed("8 ohm", "butterworth", 3)
    drawn = {part.name for part in found.design.netlist.parts} - {"V1"}
    assert {line.name for line in found.design.parts} == drawn
    names = [one.name for one in soldered(found.branches)]
    assert len(names) == len(set(names))
    coil = found.design.netlist.part("L1")
    assert isinstance(coil, Inductor)
    assert np.asarray(coil.resistance) > 0.0


def test_a_driver_turned_round_has_its_plus_at_the_common_lead():
    found = designed("small", "linkwitz-riley", 2)
    assert found.branches[1].reversed
    part = wiring_netlist(found.branches, found.drivers, "x").part("LS2")
    assert isinstance(part, Resistor)
    assert (part.a, part.b) == ("0", "tweeter")
    assert real_netlist(found.branches, found.drivers, "x").samples == 1
