"""The solver from any start: one solution is always found, a latch gives one of its true ones."""

from __future__ import annotations

import numpy as np
import pytest
from tests.circuit.test_cutoff_block import family_values
from tests.circuit.test_operating import SCALE, SOURCE, drawn_circuit, left_over

from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES, cutoff_netlist
from boomwright.circuit.equations import Equations
from boomwright.circuit.netlist import Netlist
from boomwright.circuit.newton import solve_curved, solve_free_source
from boomwright.circuit.parts import (
    Bipolar,
    Diode,
    Regulator,
    Resistor,
    VoltageSource,
    Zener,
)
from boomwright.circuit.values import Floats

STARTS = 24


def _r(name: str, a: str, b: str, resistance: float) -> Resistor:
    return Resistor(name=name, a=a, b=b, resistance=resistance)


def _from_anywhere(net: Netlist, *, seed: int, states: bool = False) -> tuple[Equations, Floats]:
    """Solutions from random starts up to 100 V off, one per sample."""
    equations = Equations(net, samples=STARTS)
    given = {part.name: np.full(STARTS, states) for part in equations.stateful}
    start = np.random.default_rng(seed).uniform(-100.0, 100.0, (equations.size, STARTS))
    linear = equations.linear(given)
    return equations, solve_curved(equations, linear, equations.excitation(), start)


@pytest.mark.parametrize("transistor", [False, True])
@pytest.mark.parametrize("seed", range(12))
def test_any_start_leads_to_the_one_solution(seed, transistor):
    net = drawn_circuit(seed, transistor=transistor)
    equations, found = _from_anywhere(net, seed=seed)
    assert np.max(np.ptp(found[: len(net.nodes)], axis=1)) < 1e-5
    volts = np.array([found[equations.rows[name], 0] for name in net.nodes if name != "in"])
    assert np.max(np.abs(left_over(net, volts))) < 1e-8


@pytest.mark.parametrize("voltage", [4.0, 9.9, 13.5])
@pytest.mark.parametrize("family", [name for name in CUTOFF_FAMILIES if name != "reference-mosfet"])
def test_any_start_leads_to_the_same_point_of_a_cutoff_with_its_contacts_held(family, voltage):
    net = cutoff_netlist(family, family_values(family), voltage=voltage)
    for states in (False, True):
        _, found = _from_anywhere(net, seed=7, states=states)
        assert np.max(np.ptp(found, axis=1)) < 2e-5


@pytest.mark.parametrize("amps", [1e-6, 0.3])
def test_zener_and_regulator_from_anywhere(amps):
    parts = (
        VoltageSource(name="V1", a="in", b="0", voltage=16.0),
        _r("R1", "in", "z", 150.0),
        Zener(name="D1", anode="0", cathode="z", voltage=10.0, test_current=0.025, slope=7.0),
        Diode(name="D2", anode="z", cathode="u", saturation_current=1e-9, emission=1.8),
        Regulator(name="U1", input="u", output="out", ground="0", voltage=5.0),
        _r("R2", "out", "0", 5.0 / amps),
    )
    _, found = _from_anywhere(Netlist("supply", parts), seed=3)
    assert np.max(np.ptp(found, axis=1)) < 1e-5


def _latch() -> Netlist:
    parts = []
    for here, there in (("1", "2"), ("2", "1")):
        parts += [
            _r(f"RC{here}", "in", f"c{here}", 1e3),
            _r(f"RB{here}", f"c{there}", f"b{here}", 22e3),
            Bipolar(
                name=f"Q{here}", collector=f"c{here}", base=f"b{here}", emitter="0", gain=120.0
            ),
        ]
    return Netlist("latch", (SOURCE, *parts))


def test_latch_gives_a_true_solution_from_every_start():
    net = _latch()
    equations, found = _from_anywhere(net, seed=21)
    nodes = [name for name in net.nodes if name != "in"]
    kinds = set()
    for sample in range(STARTS):
        volts = {name: float(found[equations.rows[name], sample]) for name in nodes}
        # Kirchhoff with laws written a second time.
        assert np.max(np.abs(left_over(net, np.array(list(volts.values()))))) < 1e-8
        kinds.add((volts["c1"] > 6.0, volts["c2"] > 6.0))
    # One on and the other off, either way round, or both alike: the unstable balance.
    assert kinds <= {(True, False), (False, True), (False, False)}
    assert {(True, False), (False, True)} <= kinds


def test_latch_started_on_one_side_stays_there():
    net = _latch()
    equations = Equations(net, samples=2)
    start = np.zeros((equations.size, 2))
    for name, volts in (("in", 12.0), ("c1", 0.05), ("b1", 0.7), ("c2", 11.0), ("b2", 0.05)):
        start[equations.rows[name], 0] = volts
    for name, volts in (("in", 12.0), ("c2", 0.05), ("b2", 0.7), ("c1", 11.0), ("b1", 0.05)):
        start[equations.rows[name], 1] = volts
    found = solve_curved(equations, equations.linear({}), equations.excitation(), start)
    c1, c2 = found[equations.rows["c1"]], found[equations.rows["c2"]]
    assert c1[0] < 0.2 < 6.0 < c2[0]
    assert c2[1] < 0.2 < 6.0 < c1[1]


def test_ladder_of_many_junctions_from_zero():
    # Forty diodes in a row need forty volts; from no start at all.
    parts = [VoltageSource(name="V1", a="n0", b="r", voltage=60.0), _r("R1", "r", "0", 1e3)]
    parts[0] = VoltageSource(name="V1", a="top", b="0", voltage=60.0)
    parts[1] = _r("R1", "top", "n0", 1e3)
    chain = [
        Diode(name=f"D{n}", anode=f"n{n}", cathode=f"n{n + 1}" if n < 39 else "0")
        for n in range(40)
    ]
    net = Netlist("string", (*parts, *chain))
    equations = Equations(net)
    found = solve_curved(equations, equations.linear({}), equations.excitation())
    amps = float((60.0 - found[equations.rows["n0"], 0]) / 1e3)
    assert 40.0 * SCALE * np.log(amps / 1e-14) == pytest.approx(60.0 - 1e3 * amps, rel=1e-4)


def test_values_over_twelve_decades():
    # A milliohm of contact beside a gigaohm of leakage.
    parts = (SOURCE, _r("R1", "in", "a", 1e-3), _r("R2", "a", "b", 1e9), _r("R3", "b", "0", 1e9))
    equations = Equations(Netlist("wide", parts))
    found = solve_curved(equations, equations.linear({}), equations.excitation())
    # 1e-12 S at each node is ours and weighs against 1e9 Ω by a thousandth.
    assert float(found[equations.rows["b"], 0]) == pytest.approx(6.0, rel=1e-3)
    assert float(found[equations.rows["a"], 0]) == pytest.approx(12.0, rel=1e-9)


def _divider() -> Equations:
    parts = (SOURCE, _r("R1", "in", "d", 1e3), Diode(name="D1", anode="d", cathode="0"))
    return Equations(Netlist("divider", parts))


def test_source_set_free_meets_its_target():
    equations = _divider()
    control = np.zeros(equations.size)
    control[equations.rows["d"]] = 1.0
    solved = solve_free_source(
        equations,
        equations.linear({}),
        equations.excitation(),
        row=equations.branches["V1"],
        control=control,
        target=np.array([0.66]),
        start=np.zeros((equations.size, 1)),
        level=5.0,
    )
    level, unknowns = solved.level, solved.unknowns
    assert solved.rises()[0]
    amps = 1e-14 * (np.exp(0.66 / SCALE) - 1.0)
    assert float(level[0]) == pytest.approx(0.66 + 1e3 * amps, rel=1e-4)
    assert float(unknowns[equations.rows["d"], 0]) == pytest.approx(0.66, abs=1e-8)  # V
    # The same level given as a source gives the target back.
    again = solve_curved(equations, equations.linear({}), equations.excitation({"V1": level}))
    assert float(again[equations.rows["d"], 0]) == pytest.approx(0.66, abs=1e-7)  # V


def test_source_set_free_from_what_it_cannot_move_is_nan():
    parts = (SOURCE, _r("R1", "in", "0", 1e3), VoltageSource(name="V2", a="x", b="0", voltage=3.0))
    equations = Equations(Netlist("apart", parts))
    control = np.zeros(equations.size)
    control[equations.rows["x"]] = 1.0
    solved = solve_free_source(
        equations,
        equations.linear({}),
        equations.excitation(),
        row=equations.branches["V1"],
        control=control,
        target=np.array([4.0]),
        start=np.zeros((equations.size, 1)),
        level=5.0,
    )
    assert np.isnan(solved.level[0])
    assert not solved.rises()[0]
