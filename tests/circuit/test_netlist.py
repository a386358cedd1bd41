"""What a netlist refuses, each fault with what was given; and what it knows of itself."""

from __future__ import annotations

import numpy as np
import pytest

from boomwright.circuit.netlist import Netlist
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
from boomwright.errors import NetlistError, Problem

SOURCE = VoltageSource(name="V1", a="in", b="0", voltage=12.0)


def _r(name: str, a: str, b: str, resistance: object = 4700.0) -> Resistor:
    return Resistor(name=name, a=a, b=b, resistance=resistance)  # type: ignore[arg-type]


def _relay(**changes: object) -> Relay:
    values: dict[str, object] = {
        "name": "K1",
        "coil_a": "in",
        "coil_b": "0",
        "coil_resistance": 270.0,
        "operate": 0.031,
        "release": 0.011,
    }
    return Relay(**{**values, **changes})  # type: ignore[arg-type]


def _problems(*parts: Part) -> tuple[Problem, ...]:
    with pytest.raises(NetlistError) as caught:
        Netlist("bench", parts)
    return caught.value.problems


def _only(*parts: Part) -> Problem:
    (problem,) = _problems(*parts)
    return problem


def test_nodes_come_in_the_order_of_the_parts_and_without_ground():
    net = Netlist("three", (_r("R1", "0", "c"), _r("R2", "b", "c"), _r("R3", "a", "b")))
    assert net.nodes == ("c", "b", "a")


def test_samples_are_the_longest_value():
    assert Netlist("one", (SOURCE, _r("R1", "in", "0"))).samples == 1
    net = Netlist("many", (SOURCE, _r("R1", "in", "0", np.full(7, 3.3e3)), _r("R2", "in", "0")))
    assert net.samples == 7


def test_samples_of_a_switch_count():
    closed = np.array([True, False, True])
    net = Netlist("keys", (SOURCE, Switch(name="S1", a="in", b="0", closed=closed)))
    assert net.samples == 3


def test_with_values_changes_one_part_and_leaves_the_first_circuit_alone():
    net = Netlist("pair", (SOURCE, _r("R1", "in", "m", 1100.0), _r("R2", "m", "0", 2200.0)))
    other = net.with_values("R2", resistance=3300.0)
    assert other.part("R2") == _r("R2", "m", "0", 3300.0)
    assert other.part("R1") is net.part("R1")
    assert net.part("R2") == _r("R2", "m", "0", 2200.0)


def test_with_values_is_checked_again():
    net = Netlist("pair", (SOURCE, _r("R1", "in", "0")))
    with pytest.raises(NetlistError, match=r"R1: resistance of a part; read -56"):
        net.with_values("R1", resistance=-56.0)


def test_unknown_part_names_what_there_is():
    net = Netlist("pair", (SOURCE, _r("R1", "in", "0")))
    with pytest.raises(NetlistError, match=r"no such part.*'R7'.*one of V1, R1"):
        net.part("R7")


def test_name_given_twice():
    problem = _only(SOURCE, _r("R1", "in", "m"), _r("R1", "m", "0"))
    assert problem.got == "'R1' 2 times"
    assert problem.key == "bench"


@pytest.mark.parametrize("name", ["", "R 1", "R\t1"])
def test_name_that_is_none(name):
    problem = _only(SOURCE, _r(name, "in", "0"))
    assert problem.got == repr(name)
    assert "without spaces" in problem.says


def test_no_ground():
    problem = _only(_r("R1", "a", "b"), _r("R2", "b", "a"))
    assert "ground" in problem.says
    assert '"0"' in problem.says


def test_ground_alone_is_no_fault_elsewhere():
    # The word counts, not the look: "GND" is a node like any other.
    problem = _only(_r("R1", "a", "GND"), _r("R2", "GND", "a"))
    assert '"0"' in problem.says


@pytest.mark.parametrize(
    ("parts", "adrift"),
    [
        ((Capacitor(name="C1", a="in", b="x", capacitance=1e-6),), "x"),
        ((CurrentSource(name="I1", a="in", b="x", current=1e-3),), "x"),
        ((_r("R1", "x", "y"), _r("R2", "x", "y")), "x, y"),
        ((Mosfet(name="Q1", drain="in", gate="g", source="0"),), "g"),
        ((Comparator(name="U1", plus="p", minus="m", output="in", ground="0"),), "p, m"),
        ((_relay(common="c", made="m", broken="b"),), "c, m, b"),
        ((_relay(common="in", made="m"), _r("R1", "b", "x")), "b, x"),
        ((_relay(coil_a="ka", coil_b="kb", common="in", made="0"),), "ka, kb"),
    ],
    ids=["capacitor", "current", "island", "gate", "inputs", "contacts", "lead", "coil"],
)
def test_nodes_without_a_way_to_ground(parts, adrift):
    problem = _only(SOURCE, *parts)
    assert problem.says == "nodes that no part joins to ground"
    assert problem.got == adrift


@pytest.mark.parametrize(
    "part",
    [
        _r("R1", "in", "x"),
        Inductor(name="L1", a="x", b="in", inductance=0.01),
        Diode(name="D1", anode="x", cathode="in"),
        Zener(name="D1", anode="x", cathode="in", voltage=5.1, test_current=0.049),
        Bipolar(name="Q1", collector="in", base="x", emitter="0"),
        Mosfet(name="Q1", drain="x", gate="in", source="0"),
        ShuntReference(name="U1", cathode="in", reference="x", anode="0"),
        Regulator(name="U1", input="in", output="x", ground="0", voltage=5.0),
        _relay(common="in", made="x"),
        _relay(common="in", broken="x"),
        Comparator(name="U1", plus="in", minus="0", output="x", ground="0"),
        Switch(name="S1", a="in", b="x"),
        Fuse(name="F1", a="in", b="x", resistance=0.02, rating=5.0),
        VoltageSource(name="V2", a="x", b="in", voltage=1.5),
    ],
    ids=lambda part: type(part).__name__,
)
def test_every_conducting_part_joins_its_nodes(part):
    assert "x" in Netlist("one", (SOURCE, part)).nodes


def test_coupling_moves_no_node():
    first = Inductor(name="L1", a="in", b="0", inductance=0.01)
    second = Inductor(name="L2", a="s", b="t", inductance=0.04)
    problem = _only(
        SOURCE, first, second, Coupling(name="T1", first="L1", second="L2", coefficient=0.9)
    )
    assert problem.got == "s, t"


ABOVE_ZERO = [
    (_r("R1", "in", "0", -33.0), "resistance", "-33"),
    (_r("R1", "in", "0", 0.0), "resistance", "0"),
    (Capacitor(name="C1", a="in", b="0", capacitance=-1e-6), "capacitance", "-1e-06"),
    (Inductor(name="L1", a="in", b="0", inductance=0.0), "inductance", "0"),
    (Diode(name="D1", anode="in", cathode="0", saturation_current=0.0), "saturation current", "0"),
    (Diode(name="D1", anode="in", cathode="0", emission=-1.2), "emission", "-1.2"),
    (
        Zener(name="D1", anode="0", cathode="in", voltage=9.1, test_current=-0.03),
        "test current",
        "-0.03",
    ),
    (
        Zener(name="D1", anode="0", cathode="in", voltage=9.1, test_current=0.03, knee=0.0),
        "knee",
        "0",
    ),
    (Bipolar(name="Q1", collector="in", base="in", emitter="0", gain=-90.0), "gain", "-90"),
    (
        Bipolar(name="Q1", collector="in", base="in", emitter="0", gain_reverse=0.0),
        "gain reverse",
        "0",
    ),
    (
        Mosfet(name="Q1", drain="in", gate="in", source="0", transconductance=-2.0),
        "transconductance",
        "-2",
    ),
    (_relay(coil_resistance=-270.0), "coil resistance", "-270"),
    (_relay(coil_inductance=0.0), "coil inductance", "0"),
    (_relay(common="in", made="0", contact_resistance=0.0), "contact resistance", "0"),
    (_relay(common="in", made="0", open_resistance=-1e9), "open resistance", "-1e+09"),
    (Switch(name="S1", a="in", b="0", on_resistance=0.0), "on resistance", "0"),
    (Fuse(name="F1", a="in", b="0", resistance=-0.02, rating=5.0), "resistance", "-0.02"),
]
NOT_NEGATIVE = [
    (
        Zener(name="D1", anode="0", cathode="in", voltage=9.1, test_current=0.03, slope=-4.0),
        "slope",
        "-4",
    ),
    (
        Comparator(name="U1", plus="in", minus="0", output="in", ground="0", gap=-0.01),
        "gap",
        "-0.01",
    ),
    (_relay(release=-0.002), "release", "-0.002"),
    (
        Regulator(name="U1", input="in", output="in", ground="0", voltage=5.0, quiescent=-0.003),
        "quiescent",
        "-0.003",
    ),
    (
        ShuntReference(name="U1", cathode="in", reference="in", anode="0", leakage=-2e-7),
        "leakage",
        "-2e-07",
    ),
    (
        ShuntReference(name="U1", cathode="in", reference="in", anode="0", idle_current=-4e-4),
        "idle current",
        "-0.0004",
    ),
    (Inductor(name="L1", a="in", b="0", inductance=0.1, resistance=-0.4), "resistance", "-0.4"),
    (Diode(name="D1", anode="in", cathode="0", resistance=-0.6), "resistance", "-0.6"),
]


@pytest.mark.parametrize(("part", "field", "got"), ABOVE_ZERO)
def test_value_that_must_be_above_zero(part, field, got):
    problem = _only(SOURCE, part)
    assert problem.says == f"{field} of a part"
    assert (problem.got, problem.expected) == (got, "finite, above 0")
    assert problem.key == part.name


@pytest.mark.parametrize(("part", "field", "got"), NOT_NEGATIVE)
def test_value_that_must_not_be_negative(part, field, got):
    problem = _only(SOURCE, part)
    assert problem.says == f"{field} of a part"
    assert (problem.got, problem.expected) == (got, "finite, at least 0")
    assert problem.key == part.name


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_value_that_is_no_number(value):
    problem = _only(VoltageSource(name="V1", a="in", b="0", voltage=value), _r("R1", "in", "0"))
    assert (problem.got, problem.expected) == (f"{value:g}", "finite, a number")
    assert problem.key == "V1"


def test_lossless_coil_and_diode_are_allowed():
    coil = Inductor(name="L1", a="in", b="x", inductance=0.1, resistance=0.0)
    diode = Diode(name="D1", anode="x", cathode="0", resistance=0.0)
    assert Netlist("bare", (SOURCE, coil, diode)).samples == 1


def test_one_bad_sample_among_many_is_the_one_that_is_told():
    problem = _only(SOURCE, _r("R1", "in", "0", np.array([1e3, -82.0, 2e3])))
    assert problem.got == "-82"


def test_whole_numbers_are_numbers():
    problem = _only(SOURCE, _r("R1", "in", "0", -12))
    assert problem.got == "-12"


@pytest.mark.parametrize("number", [np.int64(-12), np.float32(-12.0), np.array(-12)])
def test_numpy_numbers_are_numbers_too(number):
    problem = _only(SOURCE, _r("R1", "in", "0", number))
    assert problem.got == "-12"


@pytest.mark.parametrize(("operate", "release"), [(0.02, 0.02), (0.02, 0.03)])
def test_relay_that_lets_go_above_what_it_pulls_in_at(operate, release):
    problem = _only(SOURCE, _relay(operate=operate, release=release))
    assert problem.got == f"operate {operate}, release {release}"
    assert problem.key == "K1"


def test_relay_one_sample_of_which_is_upside_down():
    problem = _only(SOURCE, _relay(operate=np.array([0.05, 0.04]), release=np.array([0.02, 0.045])))
    assert "lets go at less current" in problem.says
    assert "0.045" in problem.got


def test_values_of_unequal_batches():
    parts = (_r("R1", "in", "0", np.full(3, 1e3)), _r("R2", "in", "0", np.full(5, 1e3)))
    problem = _only(SOURCE, *parts)
    assert problem.says == "values of unequal batch sizes"
    assert problem.got == "[3, 5]"


def test_relay_of_unequal_batches():
    problem = _only(SOURCE, _relay(operate=np.full(2, 0.05), release=np.full(3, 0.02)))
    assert problem.says == "values of unequal batch sizes"
    assert problem.got == "[2, 3]"


@pytest.mark.parametrize(
    "part",
    [
        _r("R1", "in", ""),
        _r("R1", "", "0"),
        _relay(coil_b=""),
        Diode(name="D1", anode="", cathode="0"),
    ],
    ids=["b", "a", "coil", "anode"],
)
def test_lead_that_goes_nowhere(part):
    # Only a relay's contacts may be left off.
    problem = _only(SOURCE, _r("R9", "in", "0"), part)
    assert problem.key == part.name


def _coupled(first: str, second: str, coefficient: float) -> tuple[Part, ...]:
    return (
        SOURCE,
        Inductor(name="L1", a="in", b="0", inductance=0.01),
        Inductor(name="L2", a="s", b="0", inductance=0.04),
        Coupling(name="T1", first=first, second=second, coefficient=coefficient),
    )


@pytest.mark.parametrize(("first", "second"), [("L1", "L3"), ("V1", "L2"), ("L1", "L1")])
def test_coupling_of_what_is_no_pair_of_coils(first, second):
    problem = _only(*_coupled(first, second, 0.9))
    assert problem.got == f"{first!r} and {second!r}"
    assert problem.key == "T1"


@pytest.mark.parametrize("coefficient", [0.0, 1.0, -0.3, 1.7])
def test_coefficient_of_a_coupling(coefficient):
    problem = _only(*_coupled("L1", "L2", coefficient))
    assert problem.got == str(coefficient)
    assert problem.expected == "0 to 1, both out"


def test_all_faults_are_told_at_once():
    problems = _problems(
        _r("R1", "in", "0", -47.0),
        _r("R1", "in", "0", np.full(2, 51.0)),
        _r("R2", "in", "0", np.full(3, 68.0)),
        Capacitor(name="C1", a="in", b="x", capacitance=np.nan),
        _relay(release=0.5),
        Coupling(name="T1", first="L1", second="L2", coefficient=2.0),
    )
    assert [problem.got for problem in problems] == [
        "'R1' 2 times",
        "-47",
        "nan",
        "operate 0.031, release 0.5",
        "[2, 3]",
        "'L1' and 'L2'",
        "2.0",
        "x",
    ]
