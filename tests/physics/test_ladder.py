"""Passive ladders: power, limits, batches, and what every step carries."""

from __future__ import annotations

import numpy as np
import pytest

from boomwright.physics.ladder import Step, ladder, step_impedance

HERTZ = np.geomspace(20.0, 20e3, 41)
LOAD = 6.1 + 2j * np.pi * HERTZ * 0.37e-3
STEPS = (
    Step("series", resistance=0.31, inductance=0.52e-3),
    Step("across", capacitance=11.3e-6),
    Step("series", resistance=2.7),
    Step("across", resistance=8.9, inductance=0.11e-3, capacitance=4.1e-6),
    Step("series", resistance=0.2, inductance=0.13e-3, capacitance=47e-6),
)


def test_no_step_is_a_wire():
    found = ladder((), LOAD, HERTZ)
    assert np.array_equal(found.transfer, np.ones(41))
    assert found.impedance == pytest.approx(LOAD, rel=1e-12)
    assert (found.volts, found.currents) == ((), ())


def test_power_in_is_power_out():
    """What the amplifier gives is turned to heat in the steps' resistances and in the load."""
    found = ladder(STEPS, LOAD, HERTZ)
    given = np.real(1.0 / np.conj(found.impedance))
    spent = np.abs(found.transfer) ** 2 * np.real(1.0 / np.conj(LOAD))
    for step, current in zip(STEPS, found.currents, strict=True):
        spent = spent + np.abs(current) ** 2 * step.resistance
    assert spent == pytest.approx(given, rel=1e-10)


def test_volts_of_the_steps_in_series_and_of_the_load_add_up_to_the_source():
    found = ladder(STEPS, LOAD, HERTZ)
    series = sum(
        volts for step, volts in zip(STEPS, found.volts, strict=True) if step.place == "series"
    )
    assert np.abs(series + found.transfer - 1.0).max() < 1e-12
    for step, volts, current in zip(STEPS, found.volts, found.currents, strict=True):
        assert volts == pytest.approx(current * step_impedance(step, HERTZ), rel=1e-10)


def test_first_current_is_the_amplifiers():
    found = ladder(STEPS, LOAD, HERTZ)
    assert 1.0 / found.currents[0] == pytest.approx(found.impedance, rel=1e-12)


@pytest.mark.parametrize("factor", [0.25, 3.0])
def test_impedances_scaled_alike_leave_the_transfer_as_it_was(factor):
    scaled = tuple(
        Step(
            step.place,
            resistance=factor * step.resistance,
            inductance=factor * step.inductance,
            capacitance=step.capacitance / factor,
        )
        for step in STEPS
    )
    one, other = ladder(STEPS, LOAD, HERTZ), ladder(scaled, factor * LOAD, HERTZ)
    assert other.transfer == pytest.approx(one.transfer, rel=1e-10)
    assert other.impedance == pytest.approx(factor * one.impedance, rel=1e-10)


def test_batches_broadcast():
    farads = np.array([4.7e-6, 6.8e-6, 10e-6])
    steps = (Step("series", capacitance=farads[:, np.newaxis]), Step("across", inductance=0.4e-3))
    found = ladder(steps, LOAD, HERTZ)
    assert found.transfer.shape == (3, 41)
    for row, value in enumerate(farads):
        alone = ladder((Step("series", capacitance=value), steps[1]), LOAD, HERTZ)
        assert found.transfer[row] == pytest.approx(alone.transfer, rel=1e-13)
        assert found.currents[1][row] == pytest.approx(alone.currents[1], rel=1e-13)


def test_a_capacitor_blocks_and_a_coil_passes_the_lowest():
    slow = np.array([1e-3])
    blocked = ladder((Step("series", capacitance=10e-6),), np.array([8.0]), slow)
    passed = ladder((Step("series", inductance=1e-3),), np.array([8.0]), slow)
    assert abs(blocked.transfer[0]) < 1e-6
    assert abs(passed.transfer[0]) == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize(
    ("steps", "load", "says"),
    [
        ((), np.array(0.0), "load: got 0 Ω at 50 Hz"),
        ((Step("across"),), np.array(8.0), "step 1, across: got 0 Ω at 50 Hz"),
        ((Step("series", resistance=-3.0),), np.array(8.0), "resistance of a step: got -3 Ω"),
        ((Step("series", capacitance=0.0),), np.array(8.0), "capacitance of a step: got 0 F"),
        ((Step("series", inductance=-2e-3),), np.array(8.0), "inductance of a step: got -0.002 H"),
    ],
)
def test_what_cannot_be_is_refused(steps, load, says):
    with pytest.raises(ValueError, match=says):
        ladder(steps, load, 50.0)
