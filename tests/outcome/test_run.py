import re
from dataclasses import FrozenInstanceError, fields, is_dataclass
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.outcome.builds import GUESSED, RAILS, REAL, build_of, drive_of, plan_of

from boomwright.build.read import read_build
from boomwright.outcome.data import Outcome, Range, range_of
from boomwright.outcome.discharge import ENDINGS, run_down
from boomwright.outcome.loudness import level_where_wanted
from boomwright.outcome.run import run_build
from boomwright.outcome.scenario import scenarios_of
from boomwright.outcome.speakers import level_at_1m

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))


def ranges_in(value):
    """Every Range of an outcome, however deep."""
    if isinstance(value, Range):
        yield value
    elif is_dataclass(value):
        for field in fields(value):
            yield from ranges_in(getattr(value, field.name))
    elif isinstance(value, tuple):
        for item in value:
            yield from ranges_in(item)


def hold_together(outcome):
    """What every outcome must keep, whatever the build."""
    for found in ranges_in(outcome):
        values = [found.low, found.likely, found.high]
        assert np.all(np.isnan(values)) or found.low <= found.likely <= found.high
    for scenario in outcome.scenarios:
        assert scenario.duration.low >= 0
        assert scenario.ending in ENDINGS
        assert sum(scenario.endings.values()) == pytest.approx(1, rel=1e-12)
        assert scenario.endings.get(scenario.ending, 0) > 0
        assert np.all(np.diff(scenario.curve.time) >= 0)
        assert scenario.watts.likely >= 0
        assert scenario.amps_peak.likely >= 0
        assert scenario.charge_left.low >= 0
        assert scenario.charge_left.high <= 1
        finite = [
            scenario.level_start.likely,
            scenario.clean_start.likely,
            scenario.amps.likely,
            scenario.volts_end.likely,
            scenario.air.likely,
            scenario.heat.likely,
        ]
        assert np.all(np.isfinite(finite))


def energy_gap(scenario, resistance):
    """Energy by parts against the battery's own, both with the current held over each step."""
    time, volts, amps = (
        np.array(row) for row in (scenario.curve.time, scenario.curve.volts, scenario.curve.amps)
    )
    given_out = np.sum(((volts + amps * resistance) * amps)[:-1] * np.diff(time))
    return sum(scenario.energy.values()) - given_out, given_out


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_runs(path):
    build = read_build(path)
    outcome = run_build(build, versions=25)
    hold_together(outcome)
    assert outcome.settled
    assert len(outcome.scenarios) == len(scenarios_of(build))
    assert {part.name for part in outcome.wanted.parts} == {part.name for _, part in build.fed()}
    assert repr(Outcome.from_json(outcome.to_json())) == repr(outcome)


def test_there_are_examples():
    assert len(EXAMPLES) >= 3


def test_scenarios_follow_the_build():
    def keys(text):
        return [scenario.key for scenario in run_build(build_of(text), versions=0).scenarios]

    assert keys(REAL) == ["background", "wanted", "flat-out"]
    assert keys(RAILS)[3:] == ["background+phone", "wanted+phone", "flat-out+phone"]
    assert keys(REAL.replace("[want]", '[want]\ncoldest = "-5 °C"'))[-1] == "wanted+cold"


def test_cold_day_is_colder_and_shorter():
    outcome = run_build(build_of(REAL.replace("[want]", '[want]\ncoldest = "-5 °C"')), versions=0)
    cold = outcome.scenario("wanted+cold")
    assert cold.duration.likely < 0.9 * outcome.wanted.duration.likely
    assert cold.air.likely < outcome.wanted.air.likely - 20
    with pytest.raises(KeyError, match="loud"):
        outcome.scenario("loud")


def test_same_seed_same_words():
    one, same, other = (run_build(build_of(GUESSED), versions=30, seed=seed) for seed in (3, 3, 4))
    assert one.to_json() == same.to_json()
    assert one.to_json() != other.to_json()
    likely = one.wanted.duration.likely
    assert other.wanted.duration.likely == pytest.approx(likely, rel=1e-9)
    assert one.versions == 31


def test_outcome_is_frozen():
    outcome = run_build(build_of(REAL), versions=0)
    with pytest.raises(FrozenInstanceError):
        outcome.name = "changed"
    with pytest.raises(FrozenInstanceError):
        outcome.wanted.duration.likely = 0.0


def test_certain_build_has_no_range():
    outcome = run_build(build_of(REAL), versions=12)
    part = outcome.wanted.part("load")
    assert part.amps.certain
    assert part.amps.likely == pytest.approx(0.13, rel=1e-12)
    with pytest.raises(KeyError):
        outcome.wanted.part("lamp")


def test_notebook_shows_hours_and_escapes_names():
    text = REAL.replace("A real one", "<script>alert('x')</script> & co")
    shown = run_build(build_of(text), versions=4)._repr_html_()
    assert "<script>" not in shown
    assert "&lt;script&gt;" in shown
    assert "&amp; co" in shown
    assert shown.count("<tr>") == 4
    hours = run_build(build_of(text), versions=4).wanted.duration.likely / 3600
    assert re.search(rf"<td>{hours:.1f} \(", shown)


def test_numbers_of_a_scenario_agree_with_each_other():
    outcome = run_build(build_of(REAL), versions=0)
    run = outcome.wanted
    curve = run.curve
    assert run.watts.likely == pytest.approx(curve.volts[0] * curve.amps[0], rel=1e-12)
    assert curve.time[-1] == pytest.approx(run.duration.likely, rel=1e-12)
    assert curve.volts[-1] == pytest.approx(run.volts_end.likely, rel=1e-12)
    assert curve.level[0] == pytest.approx(run.level_start.likely, rel=1e-12)
    assert curve.charge[-1] == pytest.approx(run.charge_left.likely, rel=1e-12)
    assert sum(part.own.likely for part in run.parts) < run.watts.likely
    assert run.rebound.likely > run.rebound_soon.likely > run.volts_end.likely
    assert outcome.source.volts_full.likely == pytest.approx(6 * 2.145, rel=1e-9)
    assert outcome.source.energy_full.likely == pytest.approx(84 * 3600, rel=1e-12)
    short = outcome.source.volts_full.likely / outcome.source.resistance.likely
    assert outcome.source.short_circuit.likely == pytest.approx(short, rel=1e-12)


def test_flat_out_starts_at_the_clean_level():
    run = run_build(build_of(REAL), versions=0).scenario("flat-out")
    assert run.level_start.likely == pytest.approx(run.clean_start.likely, abs=1e-3)
    assert run.level_end.likely < run.level_start.likely
    assert np.isnan(run.level_asked)


def test_range_holds_nine_in_ten():
    values = np.concatenate([[50.0], np.arange(1.0, 101.0)])
    found = range_of(values)
    assert (found.low, found.likely, found.high) == (6.0, 50.0, 95.0)
    assert np.mean((values >= found.low) & (values <= found.high)) >= 0.9


def test_range_of_some_without_end():
    found = range_of(np.array([3.0, np.inf, np.inf, 2.0]))
    assert (found.low, found.likely, found.high) == (2.0, 3.0, np.inf)


def test_shown_ranges_hold_other_versions_of_the_build():
    outcome = run_build(build_of(GUESSED), seed=0)
    plan = plan_of(GUESSED, versions=400, seed=77)
    run = run_down(plan, scenarios_of(plan.build), drive_of(plan))
    level = level_where_wanted(plan, level_at_1m(plan.outputs, run.start.mean_squares))
    for column, scenario in enumerate(outcome.scenarios):
        for found, values in (
            (scenario.duration, run.duration[1:, column]),
            (scenario.volts_end, run.end.terminal[1:, column]),
        ):
            assert 0.80 <= np.mean((values >= found.low) & (values <= found.high)) <= 0.97
    loud = outcome.scenario("flat-out").level_start
    assert 0.80 <= np.mean((level[1:, 2] >= loud.low) & (level[1:, 2] <= loud.high)) <= 0.97
    assert loud.high - loud.low > 3


CELLS = {
    "lead-agm": (6, 12),
    "lead-flooded": (6,),
    "lifepo4": (4, 8),
    "li-ion-nmc": (3, 4, 5),
    "nimh": (10,),
    "alkaline": (8,),
}


@st.composite
def builds(draw):
    """A build as somebody might sensibly write it."""
    chemistry = draw(st.sampled_from(sorted(CELLS)))
    cells = draw(st.sampled_from(CELLS[chemistry]))
    drop = draw(st.sampled_from(["", '[polarity]\ntype = "series-schottky"\n']))
    cutoff = draw(st.sampled_from(["", '[cutoff]\noff = "{:.1f} V"\n']))
    least = {"lead-agm": 1.75, "lead-flooded": 1.75, "lifepo4": 2.8, "li-ion-nmc": 3.1}
    phone = draw(st.booleans())
    rail = (
        '[rail]\ntype = "buck"\nvoltage = "5 V"\ncurrent_limit = "3 A"\n[receiver]\n[usb]\n'
        if phone
        else ""
    )
    return f"""
name = "Any"
[want]
level = "{draw(st.integers(50, 104))} dB at {draw(st.sampled_from([1, 2, 4]))} m"
programme = "{draw(st.sampled_from(["speech", "acoustic", "pop", "dance", "noise", "sine"]))}"
place = "{draw(st.sampled_from(["open", "floor", "corner"]))}"
outside = "{draw(st.integers(-15, 38))} °C"
[battery]
chemistry = "{chemistry}"
cells = {cells}
strings = {draw(st.integers(1, 3))}
capacity = "{draw(st.sampled_from(["1.2 Ah", "2.6 Ah (claim)", "7 Ah", "18 Ah (guess)"]))}"
health = "{draw(st.sampled_from(["100 %", "60 % [30 to 90] (guess)"]))}"
[switch]
{drop}
{cutoff.format(cells * least.get(chemistry, 1.0))}
{rail}
[amplifier]
amplifier_class = "{draw(st.sampled_from(["AB", "D"]))}"
topology = "{draw(st.sampled_from(["bridge", "single-ended", "split"]))}"
channels = {draw(st.integers(1, 4))}
supply_min = "{draw(st.sampled_from(["4.5 V", "8 V"]))}"
supply_max = "36 V"
load_min = "4 Ω"
lead = "{draw(st.sampled_from(["AWG 26, 1 m", "0.75 mm², 0.4 m", "2.5 mm², 0.2 m"]))}"
[driver]
impedance = "{draw(st.sampled_from(["3 Ω", "4 Ω", "8 Ω", "16 Ω"]))}"
sensitivity = "{draw(st.integers(80, 100))} dB (guess)"
count = {draw(st.integers(1, 6))}
wiring = "{draw(st.sampled_from(["parallel", "series"]))}"
[cabinet]
volume = "{draw(st.integers(3, 60))} L"
"""


@settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
@given(builds())
def test_any_sensible_build_comes_out(text):
    outcome = run_build(build_of(text), versions=6)
    hold_together(outcome)
    for scenario in outcome.scenarios:
        assert np.isfinite(scenario.duration.high)
        gap, given_out = energy_gap(scenario, outcome.source.resistance.likely)
        if outcome.settled:
            assert abs(gap) <= 1e-3 * given_out + 1e-9
    assert repr(Outcome.from_json(outcome.to_json())) == repr(outcome)
