import numpy as np
import pytest
from tests.outcome.builds import (
    AGM,
    GUESSED,
    RAILS,
    REAL,
    Row,
    build_of,
    drive_of,
    lamp_box,
    place_of,
    plan_of,
)

from boomwright.outcome.discharge import run_down
from boomwright.outcome.plan import make_plan
from boomwright.outcome.run import run_build
from boomwright.outcome.scenario import scenarios_of
from boomwright.outcome.source import label_charge, source_battery, temperatures
from boomwright.physics.chemistry import CHARGE_GRID
from boomwright.physics.programme import load_programmes

LFP = AGM.replace("lead-agm", "lifepo4").replace("cells = 6", "cells = 4")
NMC = AGM.replace("lead-agm", "li-ion-nmc").replace("cells = 6", "cells = 3")
LFP_REAL = REAL.replace(AGM, LFP).replace('off = "10.8 V', 'off = "11.6 V')


def wanted(text):
    return run_build(build_of(text), versions=0).wanted


def hours(text):
    return wanted(text).duration.likely / 3600


def ran(plan):
    return run_down(plan, scenarios_of(plan.build), drive_of(plan))


# Rated runs: what the label promises.


@pytest.mark.parametrize(
    ("battery", "current", "off", "rated"),
    [
        (AGM, 0.35, 10.5, 20.0),
        (LFP, 1.4, 10.0, 5.0),
        (NMC, 1.4, 8.25, 5.0),
        (AGM + 'rated_hours = "10 h (standard)"\n', 0.7, 10.5, 10.0),
        (AGM.replace("cells = 6", "cells = 6\nstrings = 3"), 1.05, 10.5, 20.0),
    ],
    ids=["agm", "lfp", "nmc", "agm-10h", "agm-3-strings"],
)
def test_rated_current_lasts_the_rated_hours(battery, current, off, rated):
    text = lamp_box(f"{current} A", off=f"{off} V (standard)", battery=battery)
    assert hours(text) == pytest.approx(rated, rel=0.02)


def test_rate_table_of_the_user_is_met():
    table = """
rate_table = [
  { hours = "20 h (standard)", capacity = "6.6 Ah (standard)" },
  { hours = "5 h (standard)", capacity = "5.4 Ah (standard)" },
  { hours = "1 h (standard)", capacity = "3.9 Ah (standard)" },
]
"""
    run = hours(lamp_box("0.33 A", battery=AGM + table))
    assert run == pytest.approx(20.0, rel=0.02)


def test_heavy_current_gives_less_charge():
    slow, fast = (wanted(lamp_box(current)) for current in ("0.35 A", "3.5 A"))
    used = [run.duration.likely * amps for run, amps in ((slow, 0.35), (fast, 3.5))]
    assert 0.5 < used[1] / used[0] < 0.85


# The whole run, against a loop of another make.


def fine_run(plan, column, *, step):
    """Time to the cutoff, charge and energy of a build like REAL, by small plain steps.

    Wells and relaxation by Euler's rule, the network by substitution; only the battery's
    constants and the resistances come from the plan.
    """
    scenarios = scenarios_of(plan.build)
    battery = source_battery(plan, temperatures(plan, scenarios))
    pick = (0, column)
    capacity, share = float(battery.capacity[pick]), float(battery.fraction[pick])
    conductance = float(battery.rate[pick]) * share * (1 - share)
    ohmic, slow = (
        float(values[pick]) for values in (battery.resistance_ohmic, battery.resistance_relaxation)
    )
    lag = float(battery.time_relaxation[pick])
    table = battery.voltage_table[pick]
    fuse, switch, cutoff, lamp, board = (
        plan.nodes[place_of(plan, name)]
        for name in ("fuse", "switch", "cutoff", "load", "amplifier")
    )
    to_cutoff = sum(float(node.lead[0, 0] + node.series[0, 0]) for node in (fuse, switch))
    to_cutoff += float(cutoff.lead[0, 0])
    behind = float(cutoff.series[0, 0])
    own_lead = float(board.lead[0, 0])
    fixed = float(cutoff.current[0, 0] + lamp.current[0, 0])
    programme = load_programmes()[plan.build.want.programme]
    crest = programme.levels[-1]
    mean = np.trapezoid(programme.exceedance, programme.levels)
    drive = drive_of(plan)
    off = plan.build.cutoff[0].off.likely
    load = 6.0

    available, bound, lost = share * capacity, (1 - share) * capacity, 0.0
    time = charge = energy = 0.0
    current = 0.1
    while True:
        emf = np.interp(available / (share * capacity), CHARGE_GRID, table) - lost
        for _ in range(4):
            at_cutoff = emf - current * (ohmic + to_cutoff)
            at_board = at_cutoff - current * behind - (current - fixed) * own_lead
            peak = (at_board - 1.2) / (1 + 0.31 / load)
            rms = peak / crest if drive.flat_out[column] else float(drive.volts[pick])
            if crest * rms > peak * (1 + 1e-9):
                raise AssertionError("this loop knows no clipping")
            power = 0.7 + 2 * (
                rms**2 / load * (1 + 0.31 / load) + 0.03 * at_board * rms * mean / load
            )
            current = fixed + power / at_board
        if at_cutoff <= off + 1.0:
            # A cutoff without a delay sees every bass note: a sine as high as the music's peaks.
            swing, drawn = crest * rms, current
            for _ in range(12):
                beat_at_cutoff = emf - drawn * (ohmic + to_cutoff)
                beat_at_board = beat_at_cutoff - drawn * behind - (drawn - fixed) * own_lead
                power = 0.7 + 2 * (
                    swing**2 / 2 / load * (1 + 0.31 / load)
                    + 0.03 * beat_at_board * swing * (2 / np.pi) / load
                )
                drawn = fixed + power / beat_at_board
            if beat_at_cutoff <= off:
                return time, charge, energy
        flow = conductance * (bound / (1 - share) - available / share)
        available += (flow - current) * step
        bound -= flow * step
        lost += (current * slow - lost) * step / lag
        time += step
        charge += current * step
        energy += emf * current * step


@pytest.mark.parametrize(
    ("text", "column"),
    [(REAL, 1), (REAL.replace("0.13 A", "1.9 A"), 2), (LFP_REAL, 2)],
    ids=["agm-wanted", "agm-lamp-flat-out", "lfp-flat-out"],
)
def test_run_agrees_with_a_fine_plain_loop(text, column):
    plan = plan_of(text.replace('level = "75 dB', 'level = "72 dB'))
    time, charge, energy = fine_run(plan, column, step=4.0)
    run = ran(plan)
    assert run.duration[0, column] == pytest.approx(time, rel=0.002)
    assert run.charge_used[0, column] == pytest.approx(charge, rel=0.002)
    assert run.energy[:, column].sum() == pytest.approx(energy, rel=0.005)


@pytest.mark.parametrize("text", [REAL, LFP_REAL, RAILS], ids=["real", "lfp", "rails"])
def test_energy_is_what_the_battery_gave(text):
    plan = plan_of(text)
    run = ran(plan)
    resistance = source_battery(plan, temperatures(plan, scenarios_of(plan.build))).resistance_ohmic
    for column in range(run.duration.shape[1]):
        time, amps = run.trace.time[:, column], run.trace.current[:, column]
        volts = run.trace.terminal[:, column]
        emf = volts + amps * resistance[0, column]
        # The wells see the current that is held over each step; volts fall within it.
        held = amps[:-1] * np.diff(time)
        behind = np.sum((emf[1:] + emf[:-1]) / 2 * held)
        assert run.energy[:, column].sum() == pytest.approx(behind, rel=0.005)
        outside = np.sum((volts[1:] + volts[:-1]) / 2 * held)
        assert run.energy[:-1, column].sum() == pytest.approx(outside, rel=0.005)
        assert run.charge_used[0, column] == pytest.approx(np.sum(held), rel=1e-9)


# Endings.


@pytest.mark.parametrize(
    ("ending", "text"),
    [
        ("cutoff", REAL),
        (
            "protection",
            REAL.replace(AGM, NMC + 'protection_voltage = "8.4 V (standard)"\n').replace(
                "10.8 V", "6 V"
            ),
        ),
        ("lock-out", REAL.replace('supply_min = "6 V"', 'supply_min = "11.4 V"')),
        ("floor", RAILS),
        ("lock-out", RAILS.replace('"9 V (standard)"', '"11.2 V (standard)"')),
        ("floor", REAL.replace("10.8 V", "9 V")),
    ],
    ids=["cutoff", "protection", "board", "floor", "converter", "cutoff-too-low"],
)
def test_what_ends_the_music(ending, text):
    outcome = run_build(build_of(text), versions=0)
    assert outcome.wanted.ending == ending
    assert outcome.wanted.endings == {ending: 1.0}
    assert outcome.settled
    assert 0 < outcome.wanted.duration.likely < np.inf


def test_run_ends_at_the_volts_of_its_ending():
    # A cutoff that waits for minutes sees no beat, and opens at its own volts.
    plan = plan_of(LFP_REAL.replace("[cutoff]", '[cutoff]\ndelay = "10 min (standard)"'))
    run = ran(plan)
    at_cutoff = run.end.inputs[place_of(plan, "cutoff")]
    np.testing.assert_allclose(at_cutoff, 11.6, atol=0.005)  # volts; a meter shows two decimals
    floor = ran(plan_of(REAL.replace("10.8 V", "9 V"))).end.terminal
    np.testing.assert_allclose(floor, 6 * 1.65, atol=0.02)  # volts; the curve falls steeply here


def test_supply_never_ends():
    text = REAL.replace(AGM, '[supply]\nvoltage = "12 V (standard)"\ncurrent_limit = "3 A"\n')
    run = wanted(text)
    assert run.duration.likely == np.inf
    assert run.duration.low == np.inf
    assert run.ending == "none"
    assert run.charge_left.likely == 1.0


def test_board_that_does_not_start_on_its_supply_plays_no_minute():
    text = REAL.replace(AGM, '[supply]\nvoltage = "12 V (standard)"\ncurrent_limit = "3 A"\n')
    run = wanted(text.replace('supply_min = "6 V"', 'supply_min = "14 V"'))
    assert run.duration.likely == 0
    assert run.ending == "lock-out"


def test_cutoff_above_the_full_battery_plays_no_minute():
    run = wanted(REAL.replace("10.8 V", "12.95 V"))
    assert run.duration.likely == 0
    assert run.ending == "cutoff"
    assert sum(run.energy.values()) == 0
    assert run.charge_left.likely == 1.0


# More and less.


LAMP = lamp_box("0.7 A")


@pytest.mark.parametrize(
    ("longer", "shorter"),
    [
        (REAL, REAL.replace('"75 dB', '"81 dB')),
        (REAL, REAL.replace('outside = "25 °C', 'outside = "0 °C')),
        (REAL, REAL.replace('health = "100 %', 'health = "70 %')),
        (REAL, REAL.replace('charged_to = "100 %', 'charged_to = "80 %')),
        (REAL.replace('"7 Ah', '"9 Ah'), REAL),
        (REAL.replace("0.75 mm²", "2.5 mm²"), REAL),
        (REAL.replace("10.8 V", "10.5 V"), REAL),
        (REAL, REAL.replace("0.13 A", "0.2 A")),
        (REAL.replace('"87 dB', '"93 dB'), REAL),
        (REAL.replace('"0.7 W', '"0.3 W'), REAL),
        (REAL, REAL.replace('amplifier_class = "D"', 'amplifier_class = "AB"')),
        (RAILS.replace('"91 %', '"95 %'), RAILS),
        (LAMP, lamp_box("0.7 A", off="11.5 V (standard)")),
    ],
)
def test_longer_and_shorter(longer, shorter):
    assert hours(longer) > hours(shorter) > 0


def test_phone_shortens_and_quiet_lengthens():
    outcome = run_build(build_of(RAILS), versions=0)
    run = {scenario.key: scenario.duration.likely for scenario in outcome.scenarios}
    assert run["background"] > run["wanted"] > run["wanted+phone"]
    assert run["background"] > run["background+phone"]
    assert run["flat-out"] > run["flat-out+phone"]


@pytest.mark.parametrize("current", ["10 µA", "2 mA", "6 A", "19 A"])
def test_huge_and_tiny_lamps(current):
    text = lamp_box(current)
    outcome = run_build(build_of(text), versions=0)
    run = outcome.wanted
    assert outcome.settled
    assert 0 <= run.duration.likely < np.inf
    # Charge that flowed is no more than what an endless discharge gives.
    assert run.amps.likely * run.duration.likely <= 7 * 3600 * 1.15
    if run.amps.likely < 0.35:
        assert run.amps.likely * run.duration.likely >= 7 * 3600


# After the run.


def test_battery_recovers_with_time_but_not_beyond_its_charge():
    plan = plan_of(REAL.replace("0.13 A", "1.3 A"))
    run = ran(plan)
    battery = source_battery(plan, temperatures(plan, scenarios_of(plan.build)))
    assert np.all(run.end.terminal < run.rebound[0])
    assert np.all(np.diff(run.rebound, axis=0) > 0)
    left = 1.0 - run.charge_used / battery.capacity
    rested = np.interp(left[0], CHARGE_GRID, battery.voltage_table[0, 0])
    assert np.all(run.rebound[2][0] < rested + 1e-6)
    # An hour is more than a time constant of the wells, so most of it is back.
    assert np.all(run.rebound[2][0] > rested - 0.25)


def test_charge_left_is_the_label_less_what_was_used():
    text = GUESSED.replace('charged_to = "100 % (standard)"', 'charged_to = "90 % [80 to 97]"')
    plan = plan_of(text, versions=25)
    run = ran(plan)
    capacity = plan.take("battery", "capacity", plan.build.battery.capacity)
    health = plan.take("battery", "health", plan.build.battery.health)
    start = plan.take("battery", "charged_to", plan.build.battery.charged_to)
    np.testing.assert_allclose(label_charge(plan), capacity * health, rtol=1e-12)
    left = start - run.charge_used / (capacity * health)
    np.testing.assert_allclose(run.charge_left, np.clip(left, 0, 1), rtol=1e-9)
    assert np.any(run.charge_left > 0.05)


# One code path.


@pytest.mark.parametrize("text", [GUESSED, LFP_REAL.replace("0.13 A (standard)", "0.13 A (guess)")])
def test_batch_is_its_versions_one_by_one(text):
    plan = plan_of(text, versions=12)
    batch = ran(plan)
    for row in (0, 4, 12):
        alone = ran(make_plan(plan.build, Row(plan.draws, row)))
        for name in ("duration", "charge_used", "charge_left"):
            np.testing.assert_allclose(
                getattr(batch, name)[row], getattr(alone, name)[0], rtol=1e-9, err_msg=name
            )
        np.testing.assert_allclose(batch.rebound[:, row], alone.rebound[:, 0], rtol=1e-9)
        np.testing.assert_allclose(batch.end.terminal[row], alone.end.terminal[0], rtol=1e-9)


def test_likely_version_does_not_depend_on_how_many_others_there_are():
    few, many = (run_build(build_of(GUESSED), versions=count) for count in (0, 35))
    for one, other in zip(few.scenarios, many.scenarios, strict=True):
        for name in ("duration", "level_start", "volts_end", "charge_left", "air", "amps_peak"):
            likely = getattr(one, name).likely
            assert getattr(other, name).likely == pytest.approx(likely, rel=1e-9), name
        assert sum(one.energy.values()) == pytest.approx(sum(other.energy.values()), rel=1e-9)
