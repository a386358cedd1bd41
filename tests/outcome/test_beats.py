"""Bass beats open a cutoff early, by Ohm's law and the cutoff's own delay."""

from __future__ import annotations

import numpy as np
import pytest
from tests.outcome.builds import REAL, drive_of, place_of, plan_of

from boomwright.outcome.beats import BEAT, early_trips
from boomwright.outcome.discharge import run_down
from boomwright.outcome.scenario import scenarios_of
from boomwright.outcome.source import source_battery, temperatures


def ran(plan):
    return run_down(plan, scenarios_of(plan.build), drive_of(plan))


def early(text: str) -> np.ndarray:
    plan = plan_of(text)
    scenarios = scenarios_of(plan.build)
    battery = source_battery(plan, temperatures(plan, scenarios))
    shape = (plan.draws.versions, len(scenarios))
    found = early_trips(plan, battery.resistance_ohmic, drive_of(plan), shape)
    assert list(found) == [place_of(plan, "cutoff")]
    return found[place_of(plan, "cutoff")][0]


def with_delay(delay: str) -> str:
    return REAL.replace("[cutoff]", f'[cutoff]\ndelay = "{delay} (standard)"')


def test_louder_music_trips_earlier():
    background, wanted, loudest = early(REAL)[:3]
    assert 0.0 < background < wanted < loudest


def test_a_delay_is_a_first_order_filter():
    at_once = early(REAL)
    for delay, seconds in (("0.1 s", 0.1), ("1 s", 1.0), ("20 s", 20.0)):
        np.testing.assert_allclose(
            early(with_delay(delay)), at_once * (1 - np.exp(-BEAT / seconds)), rtol=1e-6
        )


def test_the_run_ends_that_much_above_the_threshold():
    plan = plan_of(REAL)
    run = ran(plan)
    at_cutoff = run.end.inputs[place_of(plan, "cutoff")][0]
    off = plan.build.cutoff[0].off.likely
    # The run's own end is found within half a hundredth of a volt.
    np.testing.assert_allclose(at_cutoff - off, early(REAL), atol=0.006)


def test_waiting_plays_longer():
    quick, slow = (ran(plan_of(text)).duration[0] for text in (REAL, with_delay("30 s")))
    assert np.all(slow > quick)
    assert slow[2] / quick[2] == pytest.approx(1.0, abs=0.2)  # a small share of the whole run
