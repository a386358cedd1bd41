"""Transients in which contacts move: when they do, what jumps there, and when to give up."""

from __future__ import annotations

import numpy as np
import pytest
from tests.circuit.timed import buzzer, charging, flips, oscillator, relay

from boomwright.circuit import march as module
from boomwright.circuit.netlist import Netlist
from boomwright.circuit.parts import (
    Bipolar,
    Comparator,
    CurrentSource,
    Diode,
    Inductor,
    Relay,
    Resistor,
    Switch,
    VoltageSource,
    Zener,
)
from boomwright.circuit.sweep import sweep
from boomwright.circuit.transient import transient
from boomwright.circuit.values import thermal_voltage
from boomwright.circuit.waveforms import PiecewiseLinear
from boomwright.errors import ConvergenceError


@pytest.mark.parametrize("volts", [7.5, 12.0, 14.4])
def test_relay_pulls_in_when_its_coil_has_filled(volts):
    circuit = Netlist(
        "relay",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=volts),
            Switch(name="S1", a="in", b="x", schedule=((2e-3, True),), on_resistance=0.5),
            relay(common="in", made="lamp"),
            Resistor(name="R1", a="lamp", b="0", resistance=22.0),
        ),
    )
    run = transient(circuit, 20e-3, accuracy=1e-6)
    exact = 2e-3 - 0.3 / 160.5 * np.log(1.0 - 0.04 * 160.5 / volts)
    assert [(name, bool(state[0])) for _, name, state in run.events] == [("K1", True)]
    assert run.events[0][0] == pytest.approx(exact, rel=2e-5)
    before = run.times <= run.events[0][0]
    assert not np.any(run.states["K1"][before])
    assert np.all(run.states["K1"][~before])
    assert run.voltage("lamp")[~before, 0] == pytest.approx(volts * 22.0 / 22.03, rel=1e-6)


def test_buzzer_has_the_period_of_its_two_time_constants():
    run = transient(buzzer(), 30e-3, at_rest=False, accuracy=1e-5)
    beside = 0.03 * 1e3 / 1000.03
    full, fill = 12.0 * 1e3 / 1000.03 / (160.0 + beside), 0.3 / (160.0 + beside)
    on = fill * np.log((full - 0.01) / (full - 0.04))
    off = 0.3 / 1160.0 * np.log(0.04 / 0.01)
    pulls, drops = flips(run, "K1", True), flips(run, "K1", False)
    assert len(pulls) == 1 + int((30e-3 - pulls[0]) / (on + off))
    assert pulls[0] == pytest.approx(fill * np.log(full / (full - 0.04)), rel=1e-4)
    assert np.diff(pulls) == pytest.approx(on + off, rel=2e-4)
    assert drops[0] - pulls[0] == pytest.approx(off, rel=2e-4)


def test_oscillator_has_the_period_of_its_two_slopes():
    run = transient(oscillator(), 5e-3, at_rest=False)
    low = 12.0 * 2060.0 / 12060.0
    up = 10e3 * 100e-9 * np.log(7.0 / 5.0)
    down = 10e3 * 2060.0 / 12060.0 * 100e-9 * np.log((7.0 - low) / (5.0 - low))
    fires = flips(run, "U1", True)
    assert len(fires) > 5
    assert fires[0] == pytest.approx(10e3 * 100e-9 * np.log(12.0 / 5.0), rel=1e-3)
    assert np.diff(fires) == pytest.approx(up + down, rel=5e-4)
    later = run.times > fires[0]
    assert run.voltage("m")[later].min() == pytest.approx(5.0, rel=1e-3)
    assert run.voltage("m").max() == pytest.approx(7.0, rel=1e-3)


def test_comparator_that_calls_for_its_own_opposite_is_named():
    circuit = Netlist(
        "comparator on itself",
        (
            VoltageSource(name="V1", a="rail", b="0", voltage=12.0),
            VoltageSource(name="V2", a="mark", b="0", voltage=3.0),
            Resistor(name="R1", a="rail", b="out", resistance=1e3),
            Comparator(name="U7", plus="mark", minus="out", output="out", ground="0"),
        ),
    )
    with pytest.raises(ConvergenceError, match=r"comparator on itself: U7 finds no rest at 0 s"):
        transient(circuit, 1e-3, at_rest=False)


def test_chain_of_contacts_falls_at_one_moment_or_one_after_another():
    circuit = Netlist(
        "chain",
        (
            VoltageSource(
                name="V1", a="in", b="0", voltage=0.0, waveform=PiecewiseLinear((0, 1), (0, 10))
            ),
            VoltageSource(name="V2", a="rail", b="0", voltage=5.0),
            VoltageSource(name="V3", a="mark", b="0", voltage=2.5),
            Comparator(name="U1", plus="mark", minus="in", output="a", ground="0"),
            Resistor(name="R1", a="rail", b="a", resistance=1e3),
            Comparator(name="U2", plus="mark", minus="a", output="b", ground="0"),
            Resistor(name="R2", a="rail", b="b", resistance=2e3),
        ),
    )
    run = transient(circuit, 1.0)
    # The second conducts from the start; one crossing turns both round.
    assert [(name, bool(state[0])) for _, name, state in run.events] == [
        ("U1", True),
        ("U2", False),
    ]
    assert [moment for moment, _, _ in run.events] == pytest.approx([0.2501, 0.2501], abs=2e-7)  # s
    assert run.voltage("b")[[0, -1], 0] == pytest.approx([5.0 * 60 / 2060, 5.0], rel=1e-4)


def test_each_sample_flips_at_its_own_moment():
    resistances = np.array([8e3, 10e3, 12e3])
    run = transient(oscillator(resistances), 3e-3, at_rest=False)
    for sample, resistance in enumerate(resistances):
        fires = flips(run, "U1", True, sample)
        whole = resistance + 2060.0
        low, between = 12.0 * 2060.0 / whole, resistance * 2060.0 / whole
        period = 1e-7 * (
            resistance * np.log(7.0 / 5.0) + between * np.log((7.0 - low) / (5.0 - low))
        )
        assert len(fires) > 2
        assert np.diff(fires) == pytest.approx(period, rel=5e-4)


def test_levels_and_temperature_make_a_batch():
    levels = {"V1": np.array([6.0, 9.0, 12.0])}
    run = transient(charging(), 2.2e-3, at_rest=False, levels=levels, times=np.array([2.2e-3]))
    assert run.voltage("out")[0] == pytest.approx(levels["V1"] * (1 - np.exp(-1.0)), rel=3e-4)
    circuit = Netlist(
        "warm relay",
        (VoltageSource(name="V1", a="x", b="0", voltage=12.0), relay(coil_inductance=0.2)),
    )
    run = transient(circuit, 8e-3, at_rest=False, temperature=np.array([298.15, 348.15]))
    warm = 160.0 * (1.0 + 50.0 * 0.00393 / (1.0 + 5.0 * 0.00393))
    for sample, coil in enumerate((160.0, warm)):
        exact = -0.2 / coil * np.log(1.0 - 0.04 * coil / 12.0)
        assert flips(run, "K1", True, sample) == pytest.approx([exact], rel=2e-4)


def test_switch_follows_its_schedule():
    circuit = Netlist(
        "switched",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=9.0),
            Switch(
                name="S1",
                a="in",
                b="out",
                schedule=((3e-3, False), (1e-3, True)),
                on_resistance=10.0,
            ),
            Resistor(name="R1", a="out", b="0", resistance=90.0),
        ),
    )
    times = np.array([0.5e-3, 0.999e-3, 1.001e-3, 2.5e-3, 3.001e-3, 5e-3])
    run = transient(circuit, 5e-3, times=times)
    assert run.voltage("out")[:, 0] == pytest.approx([0, 0, 8.1, 8.1, 0, 0], abs=1e-6)  # V


def test_latch_without_inertia_snaps_over():
    fired = PiecewiseLinear((1e-3, 5e-3, 6e-3, 9e-3), (0.0, 0.3e-3, 0.3e-3, 0.0))
    circuit = Netlist(
        "latch",
        (
            VoltageSource(name="V1", a="rail", b="0", voltage=12.0),
            Resistor(name="R1", a="rail", b="a", resistance=1e3),
            Bipolar(name="Q1", polarity="pnp", emitter="a", base="b", collector="g"),
            Bipolar(name="Q2", emitter="0", base="g", collector="b"),
            Resistor(name="R2", a="a", b="b", resistance=10e3),
            Resistor(name="R3", a="g", b="0", resistance=10e3),
            CurrentSource(name="I1", a="0", b="g", current=0.0, waveform=fired),
        ),
    )
    run = transient(circuit, 10e-3)
    volts = run.voltage("a")[:, 0]
    assert volts[0] == pytest.approx(12.0, rel=1e-3)
    # It stays on when the trigger has gone: two junctions in series is all it drops.
    assert 0.6 < volts[-1] < 1.1
    moment = run.times[np.argmax(volts < 6.0)]
    assert 1.5e-3 < moment < 4e-3


def test_coil_without_a_diode_throws_its_flux_into_the_open_contact():
    circuit = Netlist(
        "bare coil",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=12.0),
            Switch(name="S1", a="in", b="x", closed=True, schedule=((1e-3, False),)),
            Inductor(name="L1", a="x", b="0", inductance=0.3, resistance=160.0),
            Resistor(name="R1", a="x", b="0", resistance=4.7e3),
        ),
    )
    run = transient(circuit, 1.4e-3, accuracy=1e-5)
    first = 12.0 / 160.02
    # All of the coil's current goes on through the resistor: 352 V from a 12 V circuit.
    assert run.voltage("x").min() == pytest.approx(-first * 4.7e3, rel=1e-3)
    later = run.times > 1.001e-3
    exact = first * np.exp(-(run.times[later] - 1e-3) * 4860.0 / 0.3)
    assert run.branch_current("L1")[later, 0] == pytest.approx(exact, abs=first * 2e-4)  # A


def test_transistor_lets_a_coil_go_into_its_diode_without_a_false_spike():
    drive = PiecewiseLinear((1e-3, 1.01e-3), (5.0, 0.0))
    circuit = Netlist(
        "relay driver",
        (
            VoltageSource(name="V1", a="rail", b="0", voltage=12.0),
            VoltageSource(name="V2", a="d", b="0", voltage=5.0, waveform=drive),
            Resistor(name="R1", a="d", b="b", resistance=1e3),
            Bipolar(name="Q1", collector="x", base="b", emitter="0"),
            Diode(name="D1", anode="x", cathode="rail"),
            Inductor(name="L1", a="rail", b="x", inductance=0.3, resistance=160.0),
        ),
    )
    run = transient(circuit, 5e-3)
    amps = run.branch_current("L1")[:, 0]
    clamp = thermal_voltage() * np.log(amps.max() / 1e-14)
    assert run.voltage("x").max() == pytest.approx(12.0 + clamp, rel=1e-3)
    # From there on, the rail sees the coil's current come round in the loop, not from itself.
    assert amps[run.times > 3e-3].max() < 0.5 * amps[0]
    assert run.branch_current("V1")[-1, 0] == pytest.approx(0.0, abs=1e-6)  # A


def test_slow_cutoff_switches_where_the_sweep_does():
    gains = np.linspace(80.0, 300.0, 5)
    battery = PiecewiseLinear((0.0, 20.0, 40.0), (8.0, 14.0, 8.0))
    circuit = Netlist(
        "cutoff",
        (
            VoltageSource(name="V1", a="bat", b="0", voltage=8.0, waveform=battery),
            Zener(name="D1", anode="z", cathode="bat", voltage=9.1, test_current=5e-3, slope=10.0),
            Resistor(name="R1", a="z", b="b", resistance=4.7e3),
            Bipolar(name="Q1", collector="x", base="b", emitter="e", gain=gains),
            Resistor(name="R2", a="e", b="0", resistance=22.0),
            Diode(name="D2", anode="x", cathode="bat"),
            Relay(
                name="K1",
                coil_a="bat",
                coil_b="x",
                common="bat",
                made="out",
                coil_resistance=270.0,
                coil_inductance=0.4,
                operate=0.03,
                release=0.008,
            ),
            Resistor(name="R3", a="out", b="0", resistance=12.0),
        ),
    )
    run = transient(circuit, 40.0)
    up, down = np.linspace(8.0, 14.0, 601), np.linspace(14.0, 8.0, 601)
    rest = sweep(circuit, "V1", np.concatenate([up, down])).state("K1")
    for sample in range(len(gains)):
        on, off = flips(run, "K1", True, sample), flips(run, "K1", False, sample)
        assert len(on) == len(off) == 1
        # The sweep says it to a hundredth of a volt, the coil lags the battery by 1.5 ms.
        swept_on = up[np.argmax(rest[:601, sample])]
        swept_off = down[np.argmax(~rest[601:, sample])]
        assert 8.0 + 0.3 * on[0] == pytest.approx(swept_on, abs=0.011)  # V
        assert 20.0 - 0.3 * off[0] == pytest.approx(swept_off, abs=0.011)  # V
        assert swept_on - swept_off > 0.4


def test_points_between_steps_swing_over_no_jump():
    run = transient(oscillator(), 3e-3, at_rest=False)
    found = run.at(np.linspace(0.0, 3e-3, 5001))
    low, high = run.voltage("out").min(), run.voltage("out").max()
    assert found.voltage("out").min() >= low - 1e-9
    assert found.voltage("out").max() <= high + 1e-9
    fires = flips(run, "U1", True)
    around = run.at(np.array([fires[0] - 1e-6, fires[0], fires[0] + 1e-6]))
    assert around.states["U1"][:, 0].tolist() == [False, False, True]
    assert around.events == run.events
    assert run.at(0.0).unknowns[:, 0] == pytest.approx(run.unknowns[:, 0], rel=1e-12)


def test_patience_ends_with_the_part_that_keeps_switching(monkeypatch):
    monkeypatch.setattr(module, "_MOST_STEPS", 300)
    with pytest.raises(
        ConvergenceError, match=r"buzzer: more than 300 steps.*K1 switched \d+ times"
    ):
        transient(buzzer(), 1.0, at_rest=False)


def test_memory_is_spared(monkeypatch):
    monkeypatch.setattr(module, "_MOST_NUMBERS", 2000)
    with pytest.raises(ConvergenceError, match=r"buzzer: \d+ points of 1 samples"):
        transient(buzzer(), 0.1, at_rest=False)
    kept = transient(buzzer(), 0.1, at_rest=False, times=np.array([0.1]))
    assert kept.unknowns.shape == (4, 1, 1)
