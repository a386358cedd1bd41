"""A source swept: hysteresis shows, and every point is a point of its own."""

from __future__ import annotations

import numpy as np
import pytest

from boomwright.circuit.netlist import Netlist
from boomwright.circuit.operating import operating_point
from boomwright.circuit.parts import (
    Comparator,
    CurrentSource,
    Diode,
    Relay,
    Resistor,
    VoltageSource,
)
from boomwright.circuit.sweep import sweep
from boomwright.errors import NetlistError

BELL = Netlist(
    "relay",
    (
        VoltageSource(name="V1", a="in", b="0", voltage=5.0),
        Relay(
            name="K1",
            coil_a="in",
            coil_b="0",
            common="in",
            made="out",
            coil_resistance=100.0,
            operate=0.08,
            release=0.03,
        ),
        Resistor(name="R1", a="out", b="0", resistance=47.0),
    ),
)


def test_relay_remembers_on_the_way_down_and_up():
    levels = np.array([2.0, 7.9, 8.1, 4.0, 3.1, 2.9, 7.9, 8.1])
    run = sweep(BELL, "V1", levels)
    assert run.state("K1")[:, 0].tolist() == [False, False, True, True, True, False, False, True]
    np.testing.assert_array_equal(run.levels, levels)
    assert run.source == "V1"


def test_out_follows_the_supply_while_it_is_made():
    run = sweep(BELL, "V1", np.array([9.0, 5.0, 1.0]))
    share = 47.0 / 47.03
    np.testing.assert_allclose(run.voltage("out")[:, 0], [9.0 * share, 5.0 * share, 0.0], atol=1e-6)
    np.testing.assert_allclose(run.branch_current("K1")[:, 0], [0.09, 0.05, 0.01], rtol=1e-9)
    np.testing.assert_allclose(
        run.voltage("in", "out")[:2, 0], [9.0 * 0.03 / 47.03, 5.0 * 0.03 / 47.03], rtol=1e-5
    )


def test_first_states_count():
    run = sweep(BELL, "V1", np.array([5.0, 6.0]), states={"K1": np.array([True])})
    assert run.state("K1").all()
    assert not sweep(BELL, "V1", np.array([5.0, 6.0])).state("K1").any()


def test_samples_jump_each_in_its_place():
    ohms = np.array([60.0, 100.0, 140.0])
    net = BELL.with_values("K1", coil_resistance=ohms)
    run = sweep(net, "V1", np.array([3.0, 6.0, 9.0, 12.0, 4.0, 3.5, 2.5, 1.0]))
    assert run.state("K1").shape == (8, 3)
    expected = [
        [0, 0, 0],
        [1, 0, 0],
        [1, 1, 0],
        [1, 1, 1],
        [1, 1, 0],
        [1, 1, 0],
        [1, 0, 0],
        [0, 0, 0],
    ]
    assert run.state("K1").astype(int).tolist() == expected


def test_points_of_a_circuit_with_one_solution_do_not_hang_on_the_way():
    net = Netlist(
        "lamp",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=1.0),
            Resistor(name="R1", a="in", b="d", resistance=330.0),
            Diode(name="D1", anode="d", cathode="0"),
        ),
    )
    levels = np.array([-5.0, 0.0, 3.0, 30.0, 0.4])
    run = sweep(net, "V1", levels)
    for level, volts in zip(levels, run.voltage("d")[:, 0], strict=True):
        alone = operating_point(net, levels={"V1": float(level)})
        assert float(volts) == pytest.approx(float(alone.voltage("d")[0]), abs=1e-8)  # V


def test_current_source_is_swept_too():
    net = Netlist(
        "feed",
        (
            CurrentSource(name="I1", a="0", b="n", current=0.0),
            Resistor(name="R1", a="n", b="0", resistance=220.0),
        ),
    )
    run = sweep(net, "I1", np.array([0.01, -0.02]))
    np.testing.assert_allclose(run.voltage("n")[:, 0], [2.2, -4.4], rtol=1e-6)


def test_trigger_shows_the_gap_of_its_feedback():
    # Inverting trigger of a comparator with 10 kΩ and 90 kΩ of feedback: thresholds where the
    # output, high through its pull-up or low, puts the plus input.
    net = Netlist(
        "trigger",
        (
            VoltageSource(name="VCC", a="vcc", b="0", voltage=10.0),
            VoltageSource(name="V1", a="m", b="0", voltage=0.0),
            Resistor(name="R1", a="vcc", b="p", resistance=20e3),
            Resistor(name="R2", a="p", b="0", resistance=20e3),
            Resistor(name="R3", a="p", b="o", resistance=90e3),
            Resistor(name="R4", a="vcc", b="o", resistance=1e3),
            Comparator(name="U1", plus="p", minus="m", output="o", ground="0", gap=0.0),
        ),
    )
    high = 10.0 * (1 / 20e3 + 1 / 91e3) / (2 / 20e3 + 1 / 91e3)
    levels = np.concatenate([np.arange(0.0, 10.0, 0.01), np.arange(10.0, 0.0, -0.01)])
    state = sweep(net, "V1", levels).state("U1")[:, 0]
    turns = levels[1:][np.diff(state.astype(int)) != 0]
    assert turns[0] == pytest.approx(high, abs=0.011)  # V, one step
    output = 10.0 * 60.0 / 1060.0
    low = (10.0 / 20e3 + output / 90e3) / (2 / 20e3 + 1 / 90e3)
    assert turns[1] == pytest.approx(low, abs=0.011)  # V, one step
    assert len(turns) == 2


def test_temperature_counts():
    cold = sweep(BELL, "V1", np.array([8.2]), temperature=298.15)
    hot = sweep(BELL, "V1", np.array([8.2]), temperature=358.15)
    assert cold.state("K1")[0, 0]
    assert not hot.state("K1")[0, 0]


def test_unknown_source():
    with pytest.raises(NetlistError, match=r"no such source; read 'V9'; expected one of V1"):
        sweep(BELL, "V9", np.array([1.0, 2.0]))
