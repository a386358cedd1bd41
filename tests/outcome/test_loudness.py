import numpy as np
import pytest
from tests.outcome.builds import GUESSED, RAILS, REAL, build_of, plan_of

from boomwright.outcome.loudness import asked_volts, level_where_wanted, wanted_level_at_1m
from boomwright.outcome.run import run_build
from boomwright.outcome.scenario import scenarios_of
from boomwright.outcome.speakers import level_at_1m


def carried(text):
    """What the way to the listener takes from the level at 1 m [dB]."""
    return float(level_where_wanted(plan_of(text), np.zeros((1, 1)))[0, 0])


@pytest.mark.parametrize(("distance", "lost"), [("1 m", 0.0), ("2 m", 6.0206), ("8 m", 18.0618)])
def test_level_falls_by_six_decibels_per_doubling(distance, lost):
    assert carried(REAL.replace("at 2 m", f"at {distance}")) == pytest.approx(-lost, abs=1e-4)


@pytest.mark.parametrize(
    ("place", "gain"),
    [("open", -3.0103), ("floor", 0.0), ("floor-wall", 3.0103), ("corner", 6.0206)],
)
def test_walls_close_by_lift_the_level(place, gain):
    text = REAL.replace('place = "floor"', f'place = "{place}"').replace("at 2 m", "at 1 m")
    assert carried(text) == pytest.approx(gain, abs=1e-4)


def test_boxes_add_as_unlike_sources():
    more = REAL.replace('place = "floor"', 'place = "floor"\nboxes = 3')
    assert carried(more) - carried(REAL) == pytest.approx(10 * np.log10(3), abs=1e-9)


def test_background_lies_twelve_decibels_below():
    plan = plan_of(REAL)
    asked = wanted_level_at_1m(plan, scenarios_of(plan.build))
    np.testing.assert_allclose(asked, [[75 + 6.0206 - 12, 75 + 6.0206, 75 + 6.0206]], atol=1e-4)


@pytest.mark.parametrize(
    "text", [REAL, RAILS, GUESSED, REAL.replace("33 W", "4 W").replace("75 dB", "84 dB")]
)
def test_asked_volts_give_the_asked_level(text):
    plan = plan_of(text, versions=30)
    scenarios = scenarios_of(plan.build)
    volts = asked_volts(plan, scenarios)
    level = level_at_1m(plan.outputs, tuple(volts**2 for _ in plan.outputs))
    asked = np.broadcast_to(wanted_level_at_1m(plan, scenarios), level.shape)
    np.testing.assert_allclose(level, asked, atol=0.01)


def test_twenty_decibels_more_take_ten_times_the_volts_and_some_for_the_hot_coil():
    quiet, loud = (
        asked_volts(plan_of(REAL.replace("75 dB", level)), scenarios_of(build_of(REAL)))[0, 1]
        for level in ("60 dB", "80 dB")
    )
    assert 10 < loud / quiet < 10.5


def test_level_shown_is_the_level_asked_where_nothing_clips():
    wanted = run_build(build_of(REAL), versions=0).wanted
    assert wanted.level_asked == pytest.approx(75, abs=1e-9)
    assert wanted.level_start.likely == pytest.approx(75, abs=0.01)


def test_too_loud_a_wish_falls_short():
    wanted = run_build(build_of(REAL.replace("75 dB", "105 dB")), versions=0).wanted
    assert wanted.level_start.likely < 90
    # Twice over the clip point is the most that is asked; 6 dB over clean, less what is cut off.
    assert 0 < wanted.level_start.likely - wanted.clean_start.likely < 6.03
