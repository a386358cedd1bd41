"""Transients against closed forms, and against other integrators of the same equations."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp, trapezoid
from scipy.linalg import expm
from scipy.special import lambertw
from tests.circuit.timed import charging, ringing

from boomwright.circuit.netlist import Netlist
from boomwright.circuit.parts import (
    Capacitor,
    Coupling,
    Diode,
    Inductor,
    Resistor,
    Switch,
    VoltageSource,
)
from boomwright.circuit.transient import transient
from boomwright.circuit.values import thermal_voltage
from boomwright.circuit.waveforms import PiecewiseLinear, Pulse, Sine
from boomwright.errors import ConvergenceError, NetlistError


def test_capacitor_charges_by_the_exponential():
    run = transient(charging(), 20e-3, at_rest=False)
    exact = 9.0 * (1.0 - np.exp(-run.times / 2.2e-3))
    assert run.voltage("out")[:, 0] == pytest.approx(exact, abs=9.0 * 2e-4)  # V, of 9
    assert run.times[0] == 0.0
    assert run.times[-1] == 20e-3
    assert np.all(np.diff(run.times) > 0.0)
    # What the source gives counts inwards.
    assert run.branch_current("V1")[0, 0] == pytest.approx(-9e-3, rel=1e-4)


def test_error_follows_the_accuracy_asked_for():
    errors = []
    for accuracy in (1e-2, 1e-4, 1e-6):
        run = transient(charging(), 10e-3, at_rest=False, accuracy=accuracy)
        exact = 9.0 * (1.0 - np.exp(-run.times / 2.2e-3))
        errors.append(np.max(np.abs(run.voltage("out")[:, 0] - exact)) / 9.0)
    assert errors[0] < 1e-2
    assert errors[1] < 3e-4
    # Errors of steps add up, and a finer run has more of them.
    assert errors[2] < 1e-5
    assert errors[0] > errors[1] > 5 * errors[2]


def test_start_at_rest_stays_at_rest():
    run = transient(ringing(), 1e-3)
    assert run.voltage("out")[:, 0] == pytest.approx(5.0, rel=1e-8)
    assert run.branch_current("L1")[:, 0] == pytest.approx(0.0, abs=1e-9)  # A


def test_coil_current_rises_by_its_time_constant():
    circuit = Netlist(
        "coil",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=12.0),
            Inductor(name="L1", a="in", b="0", inductance=0.5, resistance=270.0),
        ),
    )
    times = np.array([0.5, 1.0, 3.0]) * 0.5 / 270.0
    run = transient(circuit, 6e-3, at_rest=False, times=times)
    exact = 12.0 / 270.0 * -np.expm1(-times * 270.0 / 0.5)
    assert run.branch_current("L1")[:, 0] == pytest.approx(exact, rel=2e-4)


@pytest.mark.parametrize(
    ("resistance", "inductance", "clamp", "start", "zero", "quarter"),
    [
        # Relay coil decay by i = (I0 + U/R) exp(-R t / L) - U/R, computed.
        (160.0, 0.3, 0.7, 75.00e-3, 5.434e-3, 2.312e-3),
        (160.0, 0.3, 24.7, 75.00e-3, 0.742e-3, 0.528e-3),
        (270.0, 0.5, 18.7, 44.44e-3, 0.918e-3, 0.643e-3),
    ],
)
def test_coil_decays_against_a_clamp(resistance, inductance, clamp, start, zero, quarter):
    off = PiecewiseLinear((1e-3, 1e-3 + 1e-9), (12.0, -clamp))
    circuit = Netlist(
        "clamped coil",
        (
            VoltageSource(name="V1", a="x", b="0", voltage=12.0, waveform=off),
            Inductor(name="L1", a="x", b="0", inductance=inductance, resistance=resistance),
        ),
    )
    run = transient(circuit, 1e-3 + zero, times=np.array([1e-3, 1e-3 + quarter, 1e-3 + zero]))
    before, later, last = run.branch_current("L1")[:, 0]
    assert before == pytest.approx(start, rel=5e-4)
    # The table's time has three digits: compare with the law there, and with the table as it says.
    law = (12.0 + clamp) / resistance * np.exp(-quarter * resistance / inductance)
    assert later == pytest.approx(law - clamp / resistance, rel=5e-4)
    assert later == pytest.approx(0.25 * start, rel=5e-3)
    assert last == pytest.approx(0.0, abs=start * 5e-4)  # A, of the first current


def test_coil_decays_through_a_diode():
    circuit = Netlist(
        "relay coil with diode",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=12.0),
            Switch(name="S1", a="in", b="x", closed=True, schedule=((0.5e-3, False),)),
            Inductor(name="L1", a="x", b="0", inductance=0.3, resistance=160.0),
            Diode(name="D1", anode="0", cathode="x"),
        ),
    )
    times = np.linspace(0.6e-3, 5e-3, 12)
    run = transient(circuit, 5e-3, times=times)

    def fall(_, amps):
        return -(160.0 * amps + thermal_voltage() * np.log1p(np.maximum(amps, 0) / 1e-14)) / 0.3

    first = 12.0 / 160.02
    exact = solve_ivp(fall, (0.5e-3, 5e-3), [first], rtol=1e-9, atol=1e-13, t_eval=times)
    assert run.branch_current("L1")[:, 0] == pytest.approx(exact.y[0], abs=first * 2e-4)  # A
    # The coil lifts its end a diode's volts below ground, and no more.
    assert run.voltage("x")[0, 0] == pytest.approx(-0.755, rel=0.02)


def test_series_circuit_rings_by_the_closed_form():
    run = transient(ringing(), 1e-3, at_rest=False)
    damping = 12.0 / 2e-3
    omega = np.sqrt(1.0 / (1e-3 * 0.47e-6) - damping**2)
    wave = np.cos(omega * run.times) + damping / omega * np.sin(omega * run.times)
    exact = 5.0 * (1.0 - np.exp(-damping * run.times) * wave)
    assert run.voltage("out")[:, 0] == pytest.approx(exact, abs=5.0 * 1e-3)  # V, of 5
    assert run.voltage("out").max() == pytest.approx(exact.max(), rel=1e-3)


def test_loss_free_resonance_keeps_its_energy():
    circuit = ringing(resistance=1e-6)
    period = 2.0 * np.pi * np.sqrt(1e-3 * 0.47e-6)
    run = transient(circuit, 20.0 * period, at_rest=False, accuracy=1e-6)
    volts, amps = run.voltage("out")[:, 0] - 5.0, run.branch_current("L1")[:, 0]
    energy = 0.5 * 0.47e-6 * volts**2 + 0.5 * 1e-3 * amps**2
    assert energy[-1] == pytest.approx(0.5 * 0.47e-6 * 25.0, rel=2e-3)


def test_energy_given_is_energy_burnt_and_stored():
    run = transient(ringing(), 2e-4, at_rest=False, accuracy=1e-6)
    amps = run.branch_current("L1")[:, 0]
    given = trapezoid(-run.branch_current("V1")[:, 0] * run.voltage("in")[:, 0], run.times)
    burnt = trapezoid(run.voltage("in", "x")[:, 0] ** 2 / 12.0, run.times)
    stored = 0.5 * 0.47e-6 * run.voltage("out")[-1, 0] ** 2 + 0.5 * 1e-3 * amps[-1] ** 2
    assert burnt > 0.1 * given
    assert given == pytest.approx(burnt + stored, rel=2e-4)


def test_rectifier_with_reservoir_is_what_another_integrator_finds():
    saturation, emission, inside = 1e-9, 1.8, 0.15
    capacitance, load = 470e-6, 100.0
    circuit = Netlist(
        "rectifier",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=0.0, waveform=Sine(0.0, 10.0, 50.0)),
            Diode(
                name="D1",
                anode="in",
                cathode="out",
                saturation_current=saturation,
                emission=emission,
                resistance=inside,
            ),
            Capacitor(name="C1", a="out", b="0", capacitance=capacitance),
            Resistor(name="R1", a="out", b="0", resistance=load),
        ),
    )
    times = np.linspace(1e-3, 0.1, 100)
    run = transient(circuit, 0.1, times=times)
    scale = emission * float(thermal_voltage())

    def rise(time, volts):
        across = 10.0 * np.sin(100.0 * np.pi * time) - volts
        inner = saturation * inside / scale * np.exp((across + saturation * inside) / scale)
        amps = scale / inside * lambertw(inner).real - saturation
        return (amps - volts / load) / capacitance

    exact = solve_ivp(
        rise, (0.0, 0.1), [0.0], method="LSODA", rtol=1e-8, atol=1e-10, t_eval=times, max_step=1e-4
    )
    assert run.voltage("out")[:, 0] == pytest.approx(exact.y[0], abs=9.0 * 1e-3)  # V, of 9
    assert run.voltage("out")[-1, 0] == pytest.approx(exact.y[0, -1], rel=5e-4)


def test_transformer_step_is_the_matrix_exponential():
    first, second, coefficient, source, load = 40e-3, 2.5e-3, 0.97, 8.0, 3.0
    circuit = Netlist(
        "transformer",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=6.0),
            Resistor(name="R1", a="in", b="p", resistance=source),
            Inductor(name="L1", a="p", b="0", inductance=first),
            Inductor(name="L2", a="s", b="0", inductance=second),
            Coupling(name="T1", first="L1", second="L2", coefficient=coefficient),
            Resistor(name="R2", a="s", b="0", resistance=load),
        ),
    )
    times = np.array([0.05e-3, 0.4e-3, 3e-3, 9e-3])
    run = transient(circuit, 10e-3, at_rest=False, times=times)
    mutual = coefficient * np.sqrt(first * second)
    inductances = np.array([[first, mutual], [mutual, second]])
    rates = -np.linalg.solve(inductances, np.diag([source, load]))
    rest = np.array([6.0 / source, 0.0])
    exact = np.array([rest - expm(rates * time) @ rest for time in times])
    found = np.column_stack([run.branch_current(name)[:, 0] for name in ("L1", "L2")])
    assert found == pytest.approx(exact, abs=0.75 * 3e-4)  # A, of 0.75
    # Dots at the same end: a rising primary lifts the secondary.
    assert run.voltage("s")[0, 0] > 0.5


def test_batch_is_what_one_at_a_time_gives():
    resistances = np.array([470.0, 1e3, 3.3e3])
    times = np.linspace(0.0, 10e-3, 21)
    together = transient(charging(resistances), 10e-3, at_rest=False, times=times)
    assert together.voltage("out").shape == (21, 3)
    for sample, resistance in enumerate(resistances):
        alone = transient(charging(float(resistance)), 10e-3, at_rest=False, times=times)
        found = together.voltage("out")[:, sample]
        assert found == pytest.approx(alone.voltage("out")[:, 0], abs=9.0 * 2e-4)  # V, of 9


def test_charge_is_shared_and_half_the_difference_burnt():
    first, second = 10e-6, 22e-6
    circuit = Netlist(
        "two capacitors",
        (
            Capacitor(name="C1", a="x", b="0", capacitance=first),
            Resistor(name="R1", a="x", b="y", resistance=100.0),
            Capacitor(name="C2", a="0", b="y", capacitance=second),
            Resistor(name="R2", a="y", b="0", resistance=1e9),
        ),
    )
    run = transient(
        circuit, 20e-3, at_rest=False, initial_volts={"C1": 8.0, "C2": -3.0}, accuracy=1e-6
    )
    assert run.voltage("x")[0, 0] == pytest.approx(8.0, rel=1e-6)
    assert run.voltage("y")[0, 0] == pytest.approx(3.0, rel=1e-6)
    end = (8.0 * first + 3.0 * second) / (first + second)
    assert run.voltage("x")[-1, 0] == pytest.approx(end, rel=1e-5)
    burnt = trapezoid(run.voltage("x", "y")[:, 0] ** 2 / 100.0, run.times)
    assert burnt == pytest.approx(0.5 * first * second / (first + second) * 25.0, rel=1e-4)


def test_no_pulse_is_strided_over():
    pulse = Pulse(0.0, 5.0, 4e-3, 1e-7, 1e-6, 1e-7)
    run = transient(charging(waveform=pulse), 10e-3, times=np.array([3.9e-3, 4.1e-3]))
    before, after = run.voltage("out")[:, 0]
    assert before == pytest.approx(0.0, abs=1e-9)  # V
    held = np.exp(-0.0999e-3 / 2.2e-3)
    assert after == pytest.approx(5.0 * 1.1e-6 / 2.2e-3 * held, rel=1e-3)


def test_pulse_train_gives_the_mean_and_the_ripple():
    train = Pulse(0.0, 10.0, 0.0, 1e-9, 50e-6 - 1e-9, 1e-9, 200e-6)
    circuit = charging(resistance=10e3, capacitance=1e-6, waveform=train)
    run = transient(circuit, 80e-3, times=np.linspace(79.8e-3, 80e-3, 201))
    tail = run.voltage("out")[:, 0]
    assert tail.mean() == pytest.approx(2.5, rel=2e-3)
    period, on, constant = 200e-6, 50e-6, 10e-3
    ripple = 10.0 * -np.expm1(-on / constant) * -np.expm1(-(period - on) / constant)
    assert np.ptp(tail) == pytest.approx(ripple / -np.expm1(-period / constant), rel=2e-3)


def test_capacitor_straight_on_a_source_carries_the_slope():
    circuit = Netlist(
        "capacitor on a source",
        (
            VoltageSource(name="V1", a="x", b="0", voltage=0.0, waveform=Sine(1.0, 3.0, 50.0)),
            Capacitor(name="C1", a="x", b="0", capacitance=10e-6),
        ),
    )
    run = transient(circuit, 40e-3, most_step=0.2e-3)
    later = run.times > 1e-3
    exact = -10e-6 * 3.0 * 100.0 * np.pi * np.cos(100.0 * np.pi * run.times[later])
    assert run.branch_current("V1")[later, 0] == pytest.approx(exact, abs=9.4e-3 * 5e-3)  # A


def test_what_is_fast_is_damped_and_costs_no_steps():
    circuit = Netlist(
        "stiff",
        (
            *charging(capacitance=1e-3).parts,
            Resistor(name="R2", a="in", b="quick", resistance=1.0),
            Capacitor(name="C2", a="quick", b="0", capacitance=1e-12),
        ),
    )
    run = transient(circuit, 5.0, at_rest=False)
    assert run.voltage("quick")[-1, 0] == pytest.approx(9.0, rel=1e-8)
    assert len(run.times) < 400


def test_points_between_steps_lie_on_the_curve():
    run = transient(charging(), 10e-3, at_rest=False)
    times = np.linspace(0.0, 10e-3, 401)
    exact = 9.0 * (1.0 - np.exp(-times / 2.2e-3))
    assert run.at(times).voltage("out")[:, 0] == pytest.approx(exact, abs=9.0 * 1e-3)  # V, of 9
    kept = transient(charging(), 10e-3, at_rest=False, times=times)
    assert kept.voltage("out")[:, 0] == pytest.approx(exact, abs=9.0 * 3e-4)  # V, of 9
    assert kept.times == pytest.approx(times, rel=1e-15)


def test_node_without_charge_is_right_between_the_steps_too():
    circuit = Netlist(
        "divider",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=0.0, waveform=Sine(0.0, 12.0, 50.0)),
            Resistor(name="R1", a="in", b="mid", resistance=2e3),
            Resistor(name="R2", a="mid", b="0", resistance=1e3),
        ),
    )
    times = np.linspace(0.0, 0.1, 333)
    run = transient(circuit, 0.1, times=times)
    exact = 4.0 * np.sin(100.0 * np.pi * times)
    assert run.voltage("mid")[:, 0] == pytest.approx(exact, abs=4.0 * 3e-4)  # V, of 4


def test_circuit_without_an_answer_names_its_place():
    circuit = Netlist(
        "two sources",
        (
            VoltageSource(name="V1", a="x", b="0", voltage=5.0),
            VoltageSource(name="V2", a="x", b="0", voltage=6.0),
        ),
    )
    with pytest.raises(ConvergenceError, match=r"two sources.*at 0 s of the run"):
        transient(circuit, 1.0, at_rest=False)


@pytest.mark.parametrize(
    ("values", "got"),
    [
        ({"end": 0.0}, "read 0"),
        ({"end": np.inf}, "read inf"),
        ({"most_step": -0.3}, "-0.3"),
        ({"accuracy": 0.7}, "0.7"),
        ({"levels": {"V8": 3.0}}, "V8"),
        ({"initial_volts": {"C1": 2.0}}, "at_rest=False"),
        ({"initial_volts": {"C9": 2.0}, "at_rest": False}, "C9"),
        ({"times": np.array([0.1, 2.5])}, "2.5 s"),
        ({"times": np.array([0.4, 0.2])}, "do not rise"),
        ({"times": np.array([])}, "none"),
    ],
)
def test_what_cannot_be_followed_is_refused(values, got):
    with pytest.raises(NetlistError, match=got):
        transient(charging(), **{"end": 1.0, **values})


def test_names_that_are_none_are_refused():
    run = transient(charging(), 1e-3)
    with pytest.raises(NetlistError, match="nowhere"):
        run.voltage("nowhere")
    with pytest.raises(NetlistError, match="R1"):
        run.branch_current("R1")
    with pytest.raises(NetlistError, match=r"0\.002 s"):
        run.at(2e-3)
