"""How few sweeps a moment takes, and that it is the moment all the same."""

import dataclasses

import numpy as np
import pytest
from tests.outcome.builds import GUESSED, RAILS, REAL, drive_of, plan_of

from boomwright.outcome import network
from boomwright.outcome.network import solve_moment

RESISTANCE = np.array(0.061)


def moment_of(plan, *, volts, guess=None):
    drive = drive_of(plan)
    emf = np.full((plan.draws.versions, len(drive.flat_out)), volts)
    return solve_moment(plan, emf=emf, resistance=RESISTANCE, drive=drive, guess=guess)


@pytest.mark.parametrize("text", [REAL, GUESSED, RAILS])
def test_a_moment_close_by_takes_five_sweeps_at_most(text, monkeypatch):
    plan = plan_of(text, versions=17)
    before = moment_of(plan, volts=12.37)
    assert before.settled
    alone = moment_of(plan, volts=12.31)
    monkeypatch.setattr(network, "_SWEEPS", 5)
    found = moment_of(plan, volts=12.31, guess=before)
    assert found.settled
    for name in ("inputs", "outputs", "currents", "peaks"):
        for one, other in zip(getattr(found, name), getattr(alone, name), strict=True):
            np.testing.assert_allclose(one, other, rtol=0, atol=5e-9)  # V or A, five times settled


def test_a_guess_far_off_leads_to_the_same_moment():
    plan = plan_of(RAILS, versions=5)
    alone = moment_of(plan, volts=11.9)
    far = dataclasses.replace(alone, currents=tuple(3.0 * amps for amps in alone.currents))
    found = moment_of(plan, volts=11.9, guess=far)
    np.testing.assert_allclose(found.current, alone.current, rtol=0, atol=5e-9)


@pytest.mark.parametrize("text", [GUESSED, RAILS])
def test_a_plan_spread_over_the_scenarios_is_the_same_plan(text):
    plan = plan_of(text, versions=7)
    columns = len(drive_of(plan).flat_out)
    wide = plan.widened(columns)
    one, other = moment_of(plan, volts=12.3), moment_of(wide, volts=12.3)
    assert np.array_equal(one.current, other.current)
    (board,) = [node.amplifier for node in wide.nodes if node.amplifier]
    assert board.loss_switching.shape == (8, columns)
    for output, spread in zip(plan.outputs, wide.outputs, strict=True):
        np.testing.assert_array_equal(np.broadcast_to(output.load, spread.load.shape), spread.load)


def test_twins_are_outputs_with_one_load():
    (amplifier,) = [node.amplifier for node in plan_of(GUESSED, versions=3).nodes if node.amplifier]
    assert amplifier.twins == (0, 0)
    first, second = amplifier.outputs
    unlike = dataclasses.replace(
        amplifier, outputs=(first, dataclasses.replace(second, load=1.1 * second.load))
    )
    assert unlike.twins == (0, 1)
