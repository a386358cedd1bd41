"""Operating points: against a general root finder, against themselves, and energy in = out."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import root
from tests.circuit.test_cutoff_block import family_values
from tests.circuit.test_readings import balance

from boomwright.circuit import operating
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES, cutoff_netlist
from boomwright.circuit.netlist import Netlist
from boomwright.circuit.operating import operating_point
from boomwright.circuit.parts import (
    Bipolar,
    Capacitor,
    Comparator,
    CurrentSource,
    Diode,
    Inductor,
    Mosfet,
    Part,
    Relay,
    Resistor,
    Switch,
    VoltageSource,
    Zener,
)
from boomwright.circuit.readings import part_readings
from boomwright.errors import ConvergenceError, NetlistError

SOURCE = VoltageSource(name="V1", a="in", b="0", voltage=12.0)
SCALE = 1.380_649e-23 * 298.15 / 1.602_176_634e-19
"""kT/q at 25 °C [V], from the constants of the SI."""


def _r(name: str, a: str, b: str, resistance: object) -> Resistor:
    return Resistor(name=name, a=a, b=b, resistance=resistance)  # type: ignore[arg-type]


def _diode_current(volts: float, saturation: float) -> float:
    # Beyond 1.5 V a straight line, so that the root finder does not overflow.
    inside = min(volts, 1.5) / SCALE
    return saturation * (np.exp(inside) * (1.0 + max(volts - 1.5, 0.0) / SCALE) - 1.0)


def left_over(net: Netlist, volts: np.ndarray) -> np.ndarray:
    """Current into each node but the source's, by laws written here a second time."""
    nodes = [name for name in net.nodes if name != "in"]
    at = {"0": 0.0, "in": 12.0, **dict(zip(nodes, volts, strict=True))}
    sums = dict.fromkeys([*nodes, "0", "in"], 0.0)
    for part in net.parts:
        if isinstance(part, Resistor):
            amps = (at[part.a] - at[part.b]) / float(part.resistance)
            sums[part.a] -= amps
            sums[part.b] += amps
        elif isinstance(part, Diode):
            amps = _diode_current(at[part.anode] - at[part.cathode], float(part.saturation_current))
            sums[part.anode] -= amps
            sums[part.cathode] += amps
        elif isinstance(part, Bipolar):
            forward = _diode_current(at[part.base] - at[part.emitter], 1e-14)
            back = _diode_current(at[part.base] - at[part.collector], 1e-14)
            collector = forward - back - back / float(part.gain_reverse)
            base = forward / float(part.gain) + back / float(part.gain_reverse)
            sums[part.collector] -= collector
            sums[part.base] -= base
            sums[part.emitter] += collector + base
    return np.array([sums[name] for name in nodes])


def drawn_circuit(seed: int, *, transistor: bool = False) -> Netlist:
    """A mesh of resistors with diodes and at most one transistor, so that it has one solution."""
    rng = np.random.default_rng(seed)
    nodes = [f"n{index}" for index in range(int(rng.integers(2, 6)))]
    parts: list[Part] = [SOURCE]
    before = "in"
    for index, node in enumerate(nodes):
        parts.append(_r(f"R{index}", before, node, 10.0 ** rng.uniform(2.0, 4.5)))
        parts.append(_r(f"R{index}g", node, "0", 10.0 ** rng.uniform(2.5, 5.0)))
        before = node
    for index in range(int(rng.integers(1, 4))):
        # None straight at the battery, where two in a row would only burn.
        anode, cathode = (str(node) for node in rng.permutation(["0", *nodes])[:2])
        saturation = 10.0 ** rng.uniform(-14.0, -9.0)
        name = f"D{index}"
        parts.append(Diode(name=name, anode=anode, cathode=cathode, saturation_current=saturation))
    if transistor:
        collector, base, emitter = (str(node) for node in rng.permutation(["0", *nodes])[:3])
        gain = float(rng.uniform(40.0, 400.0))
        parts.append(Bipolar(name="Q1", collector=collector, base=base, emitter=emitter, gain=gain))
    return Netlist(f"mesh {seed}", tuple(parts))


@pytest.mark.parametrize("transistor", [False, True])
def test_random_circuits_against_a_general_root_finder(transistor):
    compared = 0
    for seed in range(40):
        net = drawn_circuit(seed, transistor=transistor)
        point = operating_point(net)
        nodes = [name for name in net.nodes if name != "in"]
        ours = np.array([float(point.voltage(name)[0]) for name in nodes])
        # Node conductances of 1e-12 S are ours alone: 12 V of them are 12 pA.
        assert np.max(np.abs(left_over(net, ours))) < 1e-8
        begin = ours + np.random.default_rng(seed).normal(0.0, 0.01, ours.shape)
        found = root(lambda volts, net=net: left_over(net, volts), begin, tol=1e-13)
        if np.max(np.abs(found.fun)) < 1e-9:
            compared += 1
            np.testing.assert_allclose(ours, found.x, atol=1e-5)
    assert compared > 30


@pytest.mark.parametrize("family", CUTOFF_FAMILIES)
def test_powers_of_every_family_sum_to_zero_at_every_voltage(family):
    # Tellegen: what the source gives is what the parts turn to heat.
    net = cutoff_netlist(family, family_values(family))
    watch = CUTOFF_FAMILIES[family].watch
    volts = np.linspace(0.5, 18.0, 36)
    for held in (False, True):
        states = {watch.relay: np.full(36, held)} if watch.relay else None
        point = operating_point(net, levels={"BT1": volts}, states=states)
        # A share of all power; the solver leaves 1e-7 of each current.
        assert np.max(np.abs(balance(part_readings(point)))) < 1e-6


@pytest.mark.parametrize("kelvin", [253.15, 333.15])
def test_powers_sum_to_zero_cold_and_hot(kelvin):
    for family in CUTOFF_FAMILIES:
        net = cutoff_netlist(family, family_values(family), voltage=12.6)
        point = operating_point(net, temperature=kelvin)
        assert abs(float(balance(part_readings(point))[0])) < 1e-6  # share of all power


@pytest.mark.parametrize("family", CUTOFF_FAMILIES)
def test_no_part_of_a_family_but_the_battery_gives_power(family):
    net = cutoff_netlist(family, family_values(family))
    point = operating_point(net, levels={"BT1": np.linspace(0.0, 16.0, 25)})
    for name, reading in part_readings(point).items():
        if name != "BT1":
            assert np.min(reading.watts) > -1e-12, name


@pytest.mark.parametrize("family", CUTOFF_FAMILIES)
def test_batch_equals_one_by_one(family):
    net = cutoff_netlist(family, family_values(family))
    # Far enough from both thresholds that each voltage has one answer.
    volts = np.concatenate([np.linspace(1.0, 7.0, 90), np.linspace(12.6, 16.0, 90)])
    many = operating_point(net, levels={"BT1": volts})
    for index in range(0, 180, 23):
        one = operating_point(net, levels={"BT1": float(volts[index])})
        np.testing.assert_allclose(
            many.unknowns[:, index], one.unknowns[:, 0], rtol=1e-5, atol=1e-6
        )
        for name, state in one.states.items():
            assert many.states[name][index] == state[0]


def test_batch_of_random_values_equals_one_by_one():
    rng = np.random.default_rng(5)
    net = drawn_circuit(11, transistor=True)
    spread = {
        part.name: rng.uniform(0.5, 2.0, 300) for part in net.parts if isinstance(part, Resistor)
    }
    many = net
    for name, factors in spread.items():
        many = many.with_values(name, resistance=factors * net.part(name).resistance)
    whole = operating_point(many)
    for index in range(0, 300, 37):
        alone = net
        for name, factors in spread.items():
            alone = alone.with_values(
                name, resistance=float(factors[index] * net.part(name).resistance)
            )
        np.testing.assert_allclose(
            whole.unknowns[:, index], operating_point(alone).unknowns[:, 0], rtol=1e-6, atol=1e-8
        )


def test_batch_in_chunks_equals_the_whole(monkeypatch):
    net = drawn_circuit(3).with_values("R0", resistance=np.geomspace(50.0, 5e4, 23))
    whole = operating_point(net)
    monkeypatch.setattr(operating, "_CHUNK", 6)
    np.testing.assert_allclose(operating_point(net).unknowns, whole.unknowns, rtol=1e-8, atol=1e-9)


def test_temperatures_of_a_batch():
    kelvin = np.array([263.15, 298.15, 343.15])
    net = Netlist(
        "d", (SOURCE, _r("R1", "in", "d", 11.3e3), Diode(name="D1", anode="d", cathode="0"))
    )
    many = operating_point(net, temperature=kelvin).voltage("d")
    for index, value in enumerate(kelvin):
        one = operating_point(net, temperature=float(value)).voltage("d")[0]
        assert float(many[index]) == pytest.approx(float(one), rel=1e-8)
    # About -2 mV/K at constant current: common textbook rule, from memory.
    assert -2.3e-3 < float(many[2] - many[0]) / 80.0 < -1.6e-3


def test_zener_and_base_drift_with_opposite_signs():
    def volts(kelvin: float) -> float:
        zener = Zener(
            name="D1",
            anode="b",
            cathode="z",
            voltage=9.1,
            test_current=0.028,
            temperature_coefficient=5.6e-3,
        )
        feed = CurrentSource(name="I1", a="0", b="z", current=1e-3)
        return float(
            operating_point(
                Netlist("stack", (feed, zener, Diode(name="D2", anode="b", cathode="0"))),
                temperature=kelvin,
            ).voltage("z")[0]
        )

    # + 5.6 mV/K of a 9.1 V zener, by the rule of thumb, and -2 mV/K of the junction below it.
    assert (volts(318.15) - volts(278.15)) / 40.0 == pytest.approx(5.6e-3 - 1.8e-3, rel=0.1)


def test_voltages_between_nodes_and_against_ground():
    point = operating_point(
        Netlist("d", (SOURCE, _r("R1", "in", "m", 1e3), _r("R2", "m", "0", 3e3)))
    )
    assert float(point.voltage("m")[0]) == pytest.approx(9.0, rel=1e-6)
    assert float(point.voltage("in", "m")[0]) == pytest.approx(3.0, rel=1e-6)
    assert float(point.voltage("0")[0]) == 0.0
    assert float(point.voltage("0", "m")[0]) == pytest.approx(-9.0, rel=1e-6)
    assert float(point.branch_current("V1")[0]) == pytest.approx(-3e-3, rel=1e-6)


def test_unknown_node_and_current_name_what_there_is():
    diode = Diode(name="D1", anode="m", cathode="0", resistance=1.0)
    point = operating_point(Netlist("d", (SOURCE, _r("R1", "in", "m", 1e3), diode)))
    with pytest.raises(NetlistError, match=r"no such node.*'x'.*one of in, m, 0"):
        point.voltage("x")
    with pytest.raises(NetlistError, match=r"'R1'; expected one of V1$"):
        point.branch_current("R1")
    with pytest.raises(NetlistError, match=r"'D1#'; expected one of V1$"):
        point.branch_current("D1#")


def test_levels_of_unknown_sources_are_all_named():
    net = Netlist(
        "d",
        (SOURCE, CurrentSource(name="I1", a="in", b="0", current=1e-3), _r("R1", "in", "0", 1.0)),
    )
    with pytest.raises(NetlistError) as caught:
        operating_point(net, levels={"V7": 1.0, "R1": 2.0, "V1": 3.0})
    assert [problem.got for problem in caught.value.problems] == ["'V7'", "'R1'"]
    # In the order of the circuit, the same on every run.
    assert {problem.expected for problem in caught.value.problems} == {"one of V1, I1"}


@pytest.mark.parametrize("size", [2, 4])
def test_levels_of_another_size_than_the_values(size):
    net = Netlist("d", (SOURCE, _r("R1", "in", "0", np.full(3, 1e3))))
    with pytest.raises(NetlistError, match=rf"{size}"):
        operating_point(net, levels={"V1": np.full(size, 12.0)})


def test_temperatures_of_another_size_than_the_values():
    net = Netlist("d", (SOURCE, _r("R1", "in", "0", np.full(3, 1e3))))
    with pytest.raises(NetlistError, match="4"):
        operating_point(net, temperature=np.full(4, 300.0))


def test_capacitor_blocks_and_coil_conducts():
    parts = (
        SOURCE,
        _r("R1", "in", "m", 100.0),
        Inductor(name="L1", a="m", b="x", inductance=10.0, resistance=50.0),
        _r("R2", "x", "0", 150.0),
        Capacitor(name="C1", a="x", b="y", capacitance=1.0),
        _r("R3", "y", "0", 10.0),
    )
    point = operating_point(Netlist("rest", parts))
    assert float(point.voltage("x")[0]) == pytest.approx(6.0, rel=1e-6)
    assert float(point.voltage("y")[0]) == pytest.approx(0.0, abs=1e-12)  # V
    assert float(point.branch_current("L1")[0]) == pytest.approx(0.04, rel=1e-6)


def _relay(**changes: object) -> Relay:
    values: dict[str, object] = {
        "name": "K1",
        "coil_a": "in",
        "coil_b": "0",
        "coil_resistance": 200.0,
        "operate": 0.05,
        "release": 0.02,
        "common": "in",
        "made": "out",
    }
    return Relay(**{**values, **changes})  # type: ignore[arg-type]


def test_contact_follows_its_coil_and_keeps_its_state_between():
    net = Netlist("relay", (SOURCE, _relay(), _r("R1", "out", "0", 100.0)))
    assert operating_point(net).states["K1"].tolist() == [True]
    between = {"V1": 7.0}
    assert operating_point(net, levels=between).states["K1"].tolist() == [False]
    pulled = {"K1": np.array([True])}
    assert operating_point(net, levels=between, states=pulled).states["K1"].tolist() == [True]
    assert operating_point(net, levels={"V1": 3.0}, states=pulled).states["K1"].tolist() == [False]


def test_chain_of_relays_falls_in_one_after_the_other():
    parts: list[Part] = [SOURCE]
    before = "in"
    for number in range(1, 9):
        parts.append(_relay(name=f"K{number}", coil_a=before, made=f"o{number}"))
        parts.append(_r(f"R{number}", f"o{number}", "0", 1e3))
        before = f"o{number}"
    point = operating_point(Netlist("chain", tuple(parts)))
    assert all(state[0] for state in point.states.values())
    assert float(point.voltage("o8")[0]) == pytest.approx(12.0, rel=1e-3)


def test_long_chain_of_relays_is_no_buzzer():
    parts: list[Part] = [SOURCE]
    before = "in"
    for number in range(1, 21):
        parts.append(_relay(name=f"K{number}", coil_a=before, made=f"o{number}"))
        before = f"o{number}"
    parts.append(_r("R1", before, "0", 1e3))
    point = operating_point(Netlist("chain", tuple(parts)))
    assert all(state[0] for state in point.states.values())


def test_start_from_a_point_keeps_its_states():
    net = Netlist("relay", (SOURCE, _relay(), _r("R1", "out", "0", 100.0)))
    high = operating_point(net)
    assert operating_point(net, levels={"V1": 7.0}, start=high).states["K1"].tolist() == [True]


def test_start_of_many_samples_widens_the_answer():
    net = Netlist("relay", (SOURCE, _relay(), _r("R1", "out", "0", 100.0)))
    many = operating_point(net, levels={"V1": np.array([12.0, 3.0, 7.0])})
    again = operating_point(net, levels={"V1": 7.0}, start=many)
    assert again.states["K1"].tolist() == [True, False, False]


def test_buzzer_finds_no_rest_and_says_which_relay():
    # The broken contact feeds the coil: closed it pulls in, pulled in it opens.
    buzzer = _relay(name="K7", coil_a="c", made="", broken="c")
    with pytest.raises(ConvergenceError, match=r"^bell: K7 finds no rest.*buzzer"):
        operating_point(Netlist("bell", (SOURCE, buzzer, _r("R9", "c", "0", 1e4))))


def test_one_buzzer_in_a_batch_is_told_too():
    ohms = np.array([200.0, 2000.0, 200.0])
    buzzer = _relay(coil_a="c", made="", broken="c", coil_resistance=ohms)
    with pytest.raises(ConvergenceError, match="K1 finds no rest"):
        operating_point(Netlist("bell", (SOURCE, buzzer)))
    weak = _relay(coil_a="c", made="", broken="c", coil_resistance=2000.0)
    assert not operating_point(Netlist("bell", (SOURCE, weak))).states["K1"][0]


def test_ring_of_comparators_finds_no_rest():
    ring = [
        Comparator(name=f"U{n}", plus="half", minus=f"o{n}", output=f"o{n % 3 + 1}", ground="0")
        for n in (1, 2, 3)
    ]
    pulls = [_r(f"R{n}", "in", f"o{n}", 1e3) for n in (1, 2, 3)]
    halves = (_r("R4", "in", "half", 1e4), _r("R5", "half", "0", 1e4))
    with pytest.raises(ConvergenceError, match=r"ring: U[123].*finds no rest"):
        operating_point(Netlist("ring", (SOURCE, *ring, *pulls, *halves)))


def test_circuit_without_a_solution_names_node_and_part():
    # A milliampere is forced into a transistor whose gate is tied to its source.
    parts = (
        CurrentSource(name="I1", a="0", b="drain", current=1e-3),
        Mosfet(name="Q3", drain="drain", gate="0", source="0"),
    )
    with pytest.raises(ConvergenceError) as caught:
        operating_point(Netlist("forced", parts))
    message = str(caught.value)
    assert message.startswith("forced: no voltages and currents were found")
    assert "node drain" in message
    assert "Q3" in message


def test_failing_samples_are_counted():
    parts = (
        CurrentSource(name="I1", a="0", b="drain", current=np.array([1e-3, 1e-11, 2e-3])),
        Mosfet(name="Q3", drain="drain", gate="0", source="0"),
    )
    with pytest.raises(ConvergenceError, match=r"in 2 of 3 samples"):
        operating_point(Netlist("forced", parts))


def test_two_sources_side_by_side_have_no_solution():
    other = VoltageSource(name="V2", a="in", b="0", voltage=11.0)
    with pytest.raises(ConvergenceError, match=r"V[12]"):
        operating_point(Netlist("clash", (SOURCE, other, _r("R1", "in", "0", 10.0))))


def test_levels_leave_the_circuit_alone():
    net = Netlist("d", (SOURCE, _r("R1", "in", "0", 10.0)))
    operating_point(net, levels={"V1": 3.0})
    assert net.part("V1").voltage == 12.0
    assert float(operating_point(net).voltage("in")[0]) == pytest.approx(12.0)


def test_switches_as_their_part_says():
    net = Netlist("key", (SOURCE, Switch(name="S1", a="in", b="x"), _r("R1", "x", "0", 1e3)))
    assert float(operating_point(net).voltage("x")[0]) == pytest.approx(12e-6, rel=1e-3)
    closed = net.with_values("S1", closed=True)
    assert float(operating_point(closed).voltage("x")[0]) == pytest.approx(12.0, rel=1e-4)
