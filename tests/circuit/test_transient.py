"""Transients against closed forms, and against other integrators of the same equations."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp, trapezoid
from scipy.linalg import expm
from scipy.special import lambertw

from boomwright.circuit import transient as module
from boomwright.circuit.netlist import Netlist
from boomwright.circuit.parts import (
    Bipolar,
    Capacitor,
    Comparator,
    Coupling,
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
from boomwright.circuit.waveforms import PiecewiseLinear, Pulse, Sine
from boomwright.errors import ConvergenceError, NetlistError


def charging(resistance=1e3, capacitance=2.2e-6, volts=9.0, **source):
    return Netlist(
        "charging",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=volts, **source),
            Resistor(name="R1", a="in", b="out", resistance=resistance),
            Capacitor(name="C1", a="out", b="0", capacitance=capacitance),
        ),
    )


def relay(**values):
    leads = {"coil_a": "x", "coil_b": "0", "coil_resistance": 160.0, "coil_inductance": 0.3}
    return Relay(name="K1", **{**leads, "operate": 0.04, "release": 0.01, **values})


def buzzer():
    """A relay that feeds its coil through its own broken contact, with a resistor beside it."""
    return Netlist(
        "buzzer",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=12.0),
            relay(common="in", broken="x"),
            Resistor(name="R1", a="x", b="0", resistance=1e3),
        ),
    )


def ringing(resistance=12.0, inductance=1e-3, capacitance=0.47e-6):
    return Netlist(
        "ringing",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=5.0),
            Resistor(name="R1", a="in", b="x", resistance=resistance),
            Inductor(name="L1", a="x", b="out", inductance=inductance),
            Capacitor(name="C1", a="out", b="0", capacitance=capacitance),
        ),
    )


def oscillator(resistance=10e3):
    """A comparator that empties a capacitor at 7 V and lets it fill again at 5 V."""
    return Netlist(
        "oscillator",
        (
            VoltageSource(name="V1", a="rail", b="0", voltage=12.0),
            VoltageSource(name="V2", a="mark", b="0", voltage=6.0),
            Resistor(name="R1", a="rail", b="m", resistance=resistance),
            Resistor(name="R2", a="m", b="out", resistance=2e3),
            Capacitor(name="C1", a="m", b="0", capacitance=100e-9),
            Comparator(name="U1", plus="mark", minus="m", output="out", ground="0", gap=1.0),
        ),
    )


def flips(run, name, state, sample=0):
    """Moments at which a part of one sample goes into a state."""
    found, last = [], False
    for moment, part, now in run.events:
        if part == name:
            if bool(now[sample]) is state and last is not state:
                found.append(moment)
            last = bool(now[sample])
    return np.array(found)


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


def test_batch_is_what_one_at_a_time_gives():
    resistances = np.array([470.0, 1e3, 3.3e3])
    times = np.linspace(0.0, 10e-3, 21)
    together = transient(charging(resistances), 10e-3, at_rest=False, times=times)
    assert together.voltage("out").shape == (21, 3)
    for sample, resistance in enumerate(resistances):
        alone = transient(charging(float(resistance)), 10e-3, at_rest=False, times=times)
        found = together.voltage("out")[:, sample]
        assert found == pytest.approx(alone.voltage("out")[:, 0], abs=9.0 * 2e-4)  # V, of 9


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
