"""AC responses against laws that any textbook gives, and against sums of their own."""

from __future__ import annotations

import numpy as np
import pytest

from boomwright.circuit.netlist import Netlist
from boomwright.circuit.parts import (
    Bipolar,
    Capacitor,
    Coupling,
    CurrentSource,
    Diode,
    Inductor,
    Relay,
    Resistor,
    VoltageSource,
)
from boomwright.circuit.response import ac_response
from boomwright.circuit.values import thermal_voltage
from boomwright.errors import ConvergenceError, NetlistError


def low_pass(resistance=1e3, capacitance=220e-9, ac=1.0):
    return Netlist(
        "low pass",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=3.0, ac=ac),
            Resistor(name="R1", a="in", b="out", resistance=resistance),
            Capacitor(name="C1", a="out", b="0", capacitance=capacitance),
        ),
    )


def test_low_pass_is_the_closed_form_at_every_frequency():
    frequencies = np.geomspace(1.0, 1e6, 61)
    response = ac_response(low_pass(), frequencies)
    exact = 1.0 / (1.0 + 2j * np.pi * frequencies * 1e3 * 220e-9)
    np.testing.assert_allclose(response.voltage("out")[:, 0], exact, rtol=1e-8)
    assert response.phasors.shape == (3, 61, 1)
    # What rides on the operating point does not hear of it.
    assert response.point.voltage("out")[0] == pytest.approx(3.0, rel=1e-8)


def test_corner_is_3_db_down_and_an_eighth_of_a_turn_late():
    corner = 1.0 / (2.0 * np.pi * 1e3 * 220e-9)
    response = ac_response(low_pass(ac=0.37), np.array([corner]))
    assert response.gain_db("out", "in")[0, 0] == pytest.approx(-10 * np.log10(2.0), rel=1e-8)
    phase = np.angle(response.voltage("out")[0, 0])
    assert phase == pytest.approx(-np.pi / 4, rel=1e-8)
    # Twice the amplitude is twice the answer.
    assert abs(response.voltage("out")[0, 0]) == pytest.approx(0.37 / np.sqrt(2.0), rel=1e-8)


def test_series_resonance_has_the_current_of_its_resistance_and_the_voltage_of_its_q():
    inductance, capacitance, resistance = 2.2e-3, 4.7e-6, 1.5
    circuit = Netlist(
        "series resonance",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=0.0, ac=1.0),
            Inductor(name="L1", a="in", b="x", inductance=inductance, resistance=resistance),
            Capacitor(name="C1", a="x", b="0", capacitance=capacitance),
        ),
    )
    resonance = 1.0 / (2.0 * np.pi * np.sqrt(inductance * capacitance))
    response = ac_response(circuit, np.array([resonance]))
    quality = np.sqrt(inductance / capacitance) / resistance
    assert response.branch_current("L1")[0, 0] == pytest.approx(1.0 / resistance, rel=1e-6)
    assert abs(response.voltage("x")[0, 0]) == pytest.approx(quality, rel=1e-6)


def test_half_power_width_of_a_parallel_resonance_is_its_frequency_over_q():
    inductance, capacitance, resistance = 10e-3, 1e-6, 2e3
    circuit = Netlist(
        "parallel resonance",
        (
            CurrentSource(name="I1", a="0", b="x", current=0.0, ac=1.0),
            Inductor(name="L1", a="x", b="0", inductance=inductance),
            Capacitor(name="C1", a="x", b="0", capacitance=capacitance),
            Resistor(name="R1", a="x", b="0", resistance=resistance),
        ),
    )
    centre = 1.0 / (2.0 * np.pi * np.sqrt(inductance * capacitance))
    width = 1.0 / (2.0 * np.pi * resistance * capacitance)
    upper = np.sqrt(centre**2 + width**2 / 4) + width / 2
    response = ac_response(circuit, np.array([upper - width, centre, upper]))
    sizes = np.abs(response.voltage("x")[:, 0])
    # A current from ground into the node lifts it: positive at resonance.
    assert response.voltage("x")[1, 0] == pytest.approx(resistance, rel=1e-6)
    assert sizes[[0, 2]] == pytest.approx(resistance / np.sqrt(2.0), rel=1e-6)


def test_transformer_shows_the_turns_ratio():
    circuit = Netlist(
        "transformer",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=0.0, ac=2.0),
            Resistor(name="R1", a="in", b="p", resistance=0.1),
            Inductor(name="L1", a="p", b="0", inductance=9.0),
            Inductor(name="L2", a="s", b="0", inductance=0.25),
            Coupling(name="T1", first="L1", second="L2", coefficient=0.999_999),
            Resistor(name="R2", a="s", b="0", resistance=50.0),
        ),
    )
    response = ac_response(circuit, np.array([1e3]))
    # Six turns to one: a sixth of the volts, six times the current, dots at the same end.
    assert response.voltage("s")[0, 0] == pytest.approx(2.0 / 6.0, rel=1e-3)
    ratio = response.branch_current("L2") / response.branch_current("L1")
    omega, mutual = 2e3 * np.pi, 0.999_999 * np.sqrt(9.0 * 0.25)
    assert ratio[0, 0] == pytest.approx(-1j * omega * mutual / (50.0 + 0.25j * omega), rel=1e-8)
    assert abs(ratio[0, 0]) == pytest.approx(6.0, rel=1e-3)


@pytest.mark.parametrize("temperature", [273.15, 298.15, 333.15])
def test_transistor_amplifier_has_the_gain_of_its_transconductance(temperature):
    load = 1e3
    circuit = Netlist(
        "common emitter",
        (
            VoltageSource(name="V1", a="rail", b="0", voltage=12.0),
            VoltageSource(name="V2", a="base", b="0", voltage=0.6, ac=1e-3),
            Resistor(name="R1", a="rail", b="c", resistance=load),
            Bipolar(name="Q1", collector="c", base="base", emitter="0"),
        ),
    )
    response = ac_response(circuit, np.array([100.0, 10e3]), temperature=temperature)
    current = (12.0 - response.point.voltage("c")[0]) / load
    slope = current / thermal_voltage(temperature)
    gain = response.voltage("c")[:, 0] / 1e-3
    assert gain.real == pytest.approx(-float(slope) * load, rel=1e-4)
    assert np.abs(gain.imag).max() == pytest.approx(0.0, abs=1e-9)  # a resistive circuit


def test_diode_divides_by_its_slope_at_the_level_given():
    circuit = Netlist(
        "diode attenuator",
        (
            CurrentSource(name="I1", a="0", b="d", current=0.0),
            VoltageSource(name="V1", a="in", b="0", voltage=0.0, ac=1.0),
            Resistor(name="R1", a="in", b="x", resistance=1e3),
            Capacitor(name="C1", a="x", b="d", capacitance=1.0),
            Diode(name="D1", anode="d", cathode="0"),
        ),
    )
    amps = np.array([1e-5, 1e-4, 1e-3])
    response = ac_response(circuit, np.array([1e3]), levels={"I1": amps})
    slope = float(thermal_voltage()) / amps
    np.testing.assert_allclose(response.voltage("d")[0].real, slope / (1e3 + slope), rtol=1e-4)


def test_sources_together_are_the_sum_of_each_alone():
    def both(first, second):
        return Netlist(
            "summing",
            (
                VoltageSource(name="V1", a="l", b="0", voltage=0.0, ac=first),
                VoltageSource(name="V2", a="r", b="0", voltage=0.0, ac=second),
                Resistor(name="R1", a="l", b="sum", resistance=1e3),
                Resistor(name="R2", a="r", b="sum", resistance=1.5e3),
                Capacitor(name="C1", a="sum", b="0", capacitance=33e-9),
                Resistor(name="R3", a="sum", b="0", resistance=22e3),
            ),
        )

    frequencies = np.geomspace(20.0, 20e3, 7)
    alone = [
        ac_response(both(*pair), frequencies).voltage("sum") for pair in ((0.7, 0.0), (0.0, 0.4))
    ]
    together = ac_response(both(0.7, 0.4), frequencies)
    np.testing.assert_allclose(together.voltage("sum"), alone[0] + alone[1], rtol=1e-12)
    # Kirchhoff: what the sources give (their current counts inwards) is what the sum node takes.
    taken = together.voltage("sum") * (1 / 22e3 + 2j * np.pi * frequencies[:, None] * 33e-9)
    given = -together.branch_current("V1") - together.branch_current("V2")
    np.testing.assert_allclose(given, taken, rtol=1e-6)


def test_voltages_around_a_loop_add_to_nothing():
    response = ac_response(low_pass(), np.array([50.0, 800.0]))
    loop = response.voltage("in", "out") + response.voltage("out") - response.voltage("in")
    assert np.abs(loop).max() == pytest.approx(0.0, abs=1e-15)  # volts, of 1


def test_batch_and_blocks_give_what_one_at_a_time_gives():
    resistances = np.array([330.0, 1e3, 4.7e3])
    frequencies = np.geomspace(10.0, 1e5, 9000)
    whole = ac_response(low_pass(resistances), frequencies).voltage("out")
    assert whole.shape == (9000, 3)
    for sample, resistance in enumerate(resistances):
        one = ac_response(low_pass(float(resistance)), frequencies[::50]).voltage("out")
        np.testing.assert_allclose(whole[::50, sample], one[:, 0], rtol=1e-12)


def test_contact_stays_as_it_is_at_rest():
    circuit = Netlist(
        "muting relay",
        (
            VoltageSource(name="V1", a="coil", b="0", voltage=12.0),
            Relay(
                name="K1",
                coil_a="coil",
                coil_b="0",
                common="in",
                made="out",
                coil_resistance=270.0,
                operate=0.03,
                release=0.01,
            ),
            VoltageSource(name="V2", a="in", b="0", voltage=0.0, ac=1.0),
            Resistor(name="R1", a="out", b="0", resistance=10e3),
        ),
    )
    response = ac_response(circuit, np.array([1e3]), levels={"V1": np.array([5.0, 12.0])})
    muted, heard = response.gain_db("out", "in")[0]
    assert muted == pytest.approx(-100.0, rel=1e-3)
    assert heard == pytest.approx(0.0, abs=1e-4)  # dB


def test_silent_node_is_infinitely_far_down_and_silent_reference_is_refused():
    circuit = Netlist(
        "two islands",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=0.0, ac=1.0),
            Resistor(name="R1", a="in", b="0", resistance=1e3),
            Resistor(name="R2", a="quiet", b="0", resistance=2e3),
        ),
    )
    response = ac_response(circuit, np.array([440.0]))
    assert response.gain_db("quiet", "in")[0, 0] == -np.inf
    with pytest.raises(NetlistError, match="quiet"):
        response.gain_db("in", "quiet")


@pytest.mark.parametrize(
    ("frequencies", "got"),
    [
        ([], "shape"),
        ([100.0, 0.0], "0 Hz"),
        ([-50.0], "-50 Hz"),
        ([np.nan], "nan"),
        ([[1.0]], "1, 1"),
    ],
)
def test_frequencies_that_are_none_are_refused(frequencies, got):
    with pytest.raises(NetlistError, match=got):
        ac_response(low_pass(), np.array(frequencies))


def test_names_that_are_none_are_refused():
    response = ac_response(low_pass(), np.array([100.0]))
    with pytest.raises(NetlistError, match="nowhere"):
        response.voltage("nowhere")
    with pytest.raises(NetlistError, match="R1"):
        response.branch_current("R1")
    with pytest.raises(NetlistError, match="V9"):
        ac_response(low_pass(), np.array([100.0]), levels={"V9": 1.0})


def test_matrix_without_answer_names_the_circuit(monkeypatch):
    def singular(*_):
        raise np.linalg.LinAlgError

    with monkeypatch.context() as patch:
        from boomwright.circuit import response as module

        point = module.operating_point(low_pass())
        patch.setattr(module, "operating_point", lambda *_, **__: point)
        patch.setattr(np.linalg, "solve", singular)
        with pytest.raises(ConvergenceError, match=r"low pass.*between 60 and 70 Hz"):
            ac_response(low_pass(), np.array([60.0, 70.0]))
