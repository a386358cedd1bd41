"""Sound doses of a run against the published limits."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from tests.outcome.builds import REAL, build_of

from boomwright.build.model import Build
from boomwright.outcome.data import Curve, Outcome, Range
from boomwright.outcome.dose import builder_dose, listener_dose
from boomwright.outcome.loudness import nearer_db
from boomwright.outcome.run import run_build

HOUR = 3600.0
ANY = run_build(build_of(REAL), versions=0)


def heard(*stretches: tuple[float, float], hours: float | None = None) -> Outcome:
    """An outcome whose run as wanted is stretches of (level, hours), and its time to the end."""
    time, level, at = [], [], 0.0
    for decibels, long in stretches:
        time += [at, at + long * HOUR]
        level += [decibels, decibels]
        at += long * HOUR
    still = tuple(1.0 for _ in time)
    curve = Curve(tuple(time), still, still, still, tuple(level))
    end = at if hours is None else hours * HOUR
    run = replace(ANY.wanted, duration=Range(end, end, end), curve=curve)
    return replace(ANY, scenarios=tuple(run if s.key == "wanted" else s for s in ANY.scenarios))


def wanting(hours: float, *, audience: str = "adults", boxes: int = 1, away: float = 2.0) -> Build:
    want = (
        f'[want]\nhours = "{hours} h"\naudience = "{audience}"\nboxes = {boxes}\n'
        f'level = "75 dB(A) at {away} m"\nprogramme = "pop"\nplace = "floor"\n'
    )
    head, _, tail = REAL.partition("[want]")
    _, _, rest = tail.partition("\n[battery]")
    return build_of(f"{head}{want}\n[battery]{rest}")


@pytest.mark.parametrize(
    ("level", "minutes"),
    [
        # NIOSH 98-126, 85 dB(A) for 8 h, 3 dB exchange; published values O8.34 to O8.40.
        (85.0, 480.0),
        (88.0, 240.0),
        (94.0, 60.0),
        (100.0, 15.0),
        (90.0, 151.19),
        (103.0, 7.5),
        (106.0, 3.75),
    ],
)
def test_a_days_dose_is_full_after_the_published_time(level, minutes):
    dose = listener_dose(wanting(24.0), heard((level, minutes / 60.0)))
    assert dose.daily == pytest.approx(1.0, rel=1e-4)
    assert dose.daily_time == pytest.approx(60.0 * minutes, rel=1e-4)


def test_stretches_add_up():
    # Published value O8.41: 91 dB(A) for 1 h and 88 dB(A) for 2 h are 100.0 %.
    dose = listener_dose(wanting(24.0), heard((91.0, 1.0), (88.0, 2.0)))
    assert dose.daily == pytest.approx(1.0, rel=1e-3)
    assert dose.daily_so_far[-1] == dose.daily
    assert dose.daily_so_far[1] == pytest.approx(0.5, rel=1e-3)
    assert list(dose.daily_so_far) == sorted(dose.daily_so_far)


@pytest.mark.parametrize(
    ("level", "hours"),
    [
        # ITU-T H.870 with WHO, 80 dB(A) for 40 h a week, 1.6 Pa²h; published values O8.44 to O8.47.
        (80.0, 40.0),
        (89.0, 5.036),
        (95.0, 1.265),
        (100.0, 0.400),
    ],
)
def test_a_weeks_allowance_is_full_after_the_published_time(level, hours):
    dose = listener_dose(wanting(100.0), heard((level, hours)))
    assert dose.weekly == pytest.approx(1.0, rel=5e-3)
    assert dose.weekly_time == pytest.approx(hours * HOUR, rel=5e-3)
    assert dose.runs_a_week == pytest.approx(1.0, rel=5e-3)


def test_children_have_a_lower_weekly_limit():
    # 75 dB(A) for 40 h: 5 dB less is 10^0.5 of the time.
    outcome = heard((86.0, 1.5))
    adults, children = (
        listener_dose(wanting(9.0, audience=who), outcome) for who in ("adults", "children")
    )
    assert children.weekly / adults.weekly == pytest.approx(math.sqrt(10.0), rel=1e-9)
    assert children.daily == adults.daily
    assert builder_dose(wanting(9.0, audience="children"), outcome).weekly_limit == 80.0


def test_only_the_time_that_is_wanted_counts():
    outcome = heard((82.0, 3.0), (97.0, 6.0))
    short = listener_dose(wanting(3.0), outcome)
    assert short.duration == 3.0 * HOUR
    assert short.level == pytest.approx(82.0, rel=1e-9)
    whole = listener_dose(wanting(30.0), outcome)
    assert whole.duration == 9.0 * HOUR
    # Mean of the energy: 10 log10((3·10^8.2 + 6·10^9.7)/9).
    assert whole.level == pytest.approx(95.305, abs=0.01)  # dB


def test_run_without_end_stays_as_it_began():
    dose = listener_dose(wanting(4.0), heard((85.0, 0.0), hours=math.inf))
    assert dose.duration == 4.0 * HOUR
    assert dose.daily == pytest.approx(0.5, rel=1e-9)
    assert (dose.time[0], dose.time[-1]) == (0.0, 4.0 * HOUR)


def test_box_that_does_not_start_gives_nothing():
    dose = listener_dose(wanting(4.0), heard((85.0, 0.0)))
    assert dose.daily == dose.weekly == 0.0
    assert dose.level == -math.inf
    assert dose.runs_a_week == math.inf


def test_builder_stands_nearer():
    build, outcome = wanting(2.0, away=4.0), heard((70.0, 2.0))
    listener, builder = listener_dose(build, outcome), builder_dose(build, outcome)
    assert (listener.distance, builder.distance) == (4.0, 1.0)
    # 4 m to 1 m in the open is 12.04 dB.
    assert builder.level - listener.level == pytest.approx(12.04, abs=0.01)  # dB
    assert builder.level - listener.level == pytest.approx(nearer_db(build.want, 1.0), rel=1e-9)


def test_builder_serves_one_of_several_boxes():
    outcome = heard((70.0, 2.0))
    one, four = (builder_dose(wanting(2.0, boxes=boxes), outcome).level for boxes in (1, 4))
    # Four boxes at the listener are 6.02 dB over the one beside the builder.
    assert one - four == pytest.approx(6.02, abs=0.01)  # dB


def test_real_run_is_followed_to_its_end():
    build = build_of(REAL)
    dose = listener_dose(build, ANY)
    assert dose.duration == min(build.want.hours.likely, ANY.wanted.duration.likely)
    assert dose.levels[0] == pytest.approx(ANY.wanted.level_start.likely, rel=1e-6)
    assert dose.time[-1] == dose.duration
