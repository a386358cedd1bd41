"""Battery and cutoff as one loop, against closed forms and an independent march through time."""

import math
from dataclasses import replace

import numpy as np
import pytest
from tests.outcome.builds import REAL, build_of

from boomwright.outcome.cutoff_law import CutoffLaw, early_trip_volts
from boomwright.outcome.cycling import run_with_cutoff
from boomwright.outcome.run import run_build
from boomwright.physics.battery import (
    Battery,
    battery_emf,
    battery_full,
    battery_step,
    rested_voltage,
)
from boomwright.physics.chemistry import CHARGE_GRID, load_chemistries
from boomwright.physics.pack import battery_pack
from boomwright.physics.shelf import MONTH

AGM = load_chemistries()["lead-agm"]
HOUR = 3600.0
DAY = 86400.0
RELAY = CutoffLaw(
    off=10.5,
    on=10.5,
    smoothing=0.05,
    delay_off=0.005,
    delay_on=0.010,
    drain_on=0.030,
    drain_off=0.003,
    resistance=0.040,
)


def agm(ampere_hours):
    return battery_pack(AGM, capacity_rated=ampere_hours * HOUR, duration_rated=20 * HOUR, cells=6)


def steady(volts, resistance):
    """A source of constant volts behind one resistance."""
    return Battery(
        capacity=np.array(1e9),
        fraction=np.array(0.5),
        rate=np.array(1e-4),
        resistance_ohmic=np.array(resistance),
        resistance_relaxation=np.array(0.0),
        time_relaxation=np.array(45.0),
        voltage_table=np.full(CHARGE_GRID.size, volts),
    )


def watch(battery, law, *, volts=(12.0,), amps=(0.8,), share=1.0, **options):
    return run_with_cutoff(
        battery,
        law,
        state=battery_full(battery, state_of_charge=share),
        load_volts=np.array(volts),
        load_amps=np.array(amps),
        chemistry=options.pop("chemistry", AGM),
        cells=6,
        **options,
    )


@pytest.fixture(scope="module")
def nine():
    return agm(9.0)


@pytest.fixture(scope="module")
def small():
    return agm(0.45)


# Ohmic battery: every switching follows from the filter's exponential.


@pytest.mark.parametrize("smoothing", [0.03, 2.7, 40.0])
@pytest.mark.parametrize(("off", "on"), [(10.5, 10.5), (10.4, 11.3)])
def test_period_of_an_ohmic_battery_is_the_filters_own(smoothing, off, on):
    law = CutoffLaw(off=off, on=on, smoothing=smoothing, delay_off=0.004, delay_on=0.013)
    run = watch(steady(12.0, 0.1), law, amps=(20.0,))
    loaded = 12.0 - 20.0 * 0.1
    first = smoothing * math.log((12.0 - loaded) / (off - loaded)) + 0.004
    lowest = loaded + (off - loaded) * math.exp(-0.004 / smoothing)
    highest = 12.0 - (12.0 - on) * math.exp(-0.013 / smoothing)
    opened = smoothing * math.log((12.0 - lowest) / (12.0 - on)) + 0.013
    closed = smoothing * math.log((highest - loaded) / (off - loaded)) + 0.004
    assert run.first_opening == pytest.approx(first, rel=1e-9)
    assert run.first_closing - first == pytest.approx(opened, rel=1e-6)
    assert run.period == pytest.approx(opened + closed, rel=1e-6)
    assert run.buzzes == (opened + closed < 1.0)
    assert run.openings_per_hour == pytest.approx([HOUR // (opened + closed)], rel=1e-5, abs=1)
    assert run.music_after_first == pytest.approx(HOUR * closed / (opened + closed), rel=2e-2)


def test_without_a_filter_only_the_delays_are_left():
    law = CutoffLaw(off=10.5, on=10.6, smoothing=0.0, delay_off=0.25, delay_on=1.5)
    run = watch(steady(12.0, 0.1), law, amps=(20.0,))
    assert run.first_opening == pytest.approx(0.25, rel=1e-9)
    assert run.period == pytest.approx(1.75, rel=1e-9)


def test_own_drain_and_contact_share_the_volts():
    law = CutoffLaw(off=10.5, on=math.inf, drain_on=1.2, drain_off=0.7, resistance=0.35)
    run = watch(steady(12.0, 0.1), law, volts=(5.0, 12.0), amps=(2.5, 6.0))
    # 2 Ω behind 0.35 Ω, beside 1.2 A, at 12 V behind 0.1 Ω.
    amps = (12.0 - 0.12) / 2.45
    assert run.trace.current[0] == pytest.approx(amps + 1.2, rel=1e-9)
    assert run.trace.volts[0] == pytest.approx(12.0 - 0.1 * (amps + 1.2), rel=1e-9)


# The battery's own recovery.


def test_single_threshold_chatters_and_buzzes_on_a_sealed_lead_battery(nine):
    run = watch(nine, RELAY)
    assert run.chatters
    assert run.buzzes
    assert run.openings_per_hour[0] > 10_000
    assert run.at_first.loaded == pytest.approx(10.5 / 6, abs=1e-3)  # V, the filter lags
    assert run.at_first.rested > run.at_first.loaded
    assert 0.0 < run.at_end.charge < run.at_first.charge < 0.5


@pytest.mark.parametrize("on", [math.inf, math.nan])
def test_self_holding_opens_once(nine, on):
    law = replace(RELAY, on=on)
    run = watch(nine, law, time_after=5 * HOUR)
    assert not run.chatters
    assert not run.buzzes
    assert run.opened == 1
    assert run.openings_per_hour.tolist() == [0.0] * 5
    assert run.music_after_first == 0.0
    assert run.end_of_music == run.first_opening
    assert math.isnan(run.period)
    assert math.isinf(run.first_closing)


def test_gap_beyond_the_whole_rebound_is_quiet(nine):
    run = watch(nine, RELAY)
    rebound = 6 * run.at_first.rested - 10.5
    quiet = watch(nine, replace(RELAY, on=10.5 + 1.01 * rebound), time_after=300 * HOUR)
    assert not quiet.chatters
    assert quiet.opened == 1
    assert math.isinf(quiet.first_closing)


@pytest.mark.parametrize("gap", [0.1, 0.35, 0.9])
def test_pause_is_the_batterys_own_recovery(nine, gap):
    law = replace(RELAY, on=10.5 + gap, smoothing=0.0)
    run = watch(nine, law, amps=(0.83,))
    start = battery_step(nine, battery_full(nine), current=0.83 + 0.030, duration=run.first_opening)
    low, high = 0.0, 4 * HOUR
    for _ in range(60):
        middle = 0.5 * (low + high)
        state = battery_step(nine, start, current=0.003, duration=middle)
        volts = float(battery_emf(nine, state) - 0.003 * nine.resistance_ohmic)
        low, high = (middle, high) if volts < law.on else (low, middle)
    assert run.first_closing - run.first_opening == pytest.approx(high + 0.010, rel=2e-4)


def test_first_opening_is_where_the_loaded_volts_meet_the_threshold(nine):
    law = replace(RELAY, on=math.inf, smoothing=0.0, delay_off=0.0)
    run = watch(nine, law, amps=(0.83,))
    state = battery_step(nine, battery_full(nine), current=0.86, duration=run.first_opening)
    volts = battery_emf(nine, state) - 0.86 * nine.resistance_ohmic
    assert float(volts) == pytest.approx(10.5, rel=1e-5)


def marched(battery, law, ohms, *, until, step):
    """The same loop by the smallest means: two wells and a filter, marched in small steps."""
    capacity, fraction = float(battery.capacity), float(battery.fraction)
    rate, tau = float(battery.rate), float(battery.time_relaxation)
    ohmic, slow = float(battery.resistance_ohmic), float(battery.resistance_relaxation)
    table = battery.voltage_table.tolist()
    available, bound, relaxation = fraction * capacity, (1.0 - fraction) * capacity, 0.0
    filtered, closed, openings, charge = table[-1], True, [], 0.0
    for count in range(round(until / step)):
        place = available / (fraction * capacity) * 100.0
        below = min(max(int(place), 0), 99)
        emf = table[below] + (table[below + 1] - table[below]) * (place - below) - relaxation
        current = law.drain_off
        if closed:
            around = ohmic + law.resistance + ohms
            current = (emf - ohmic * law.drain_on) / around + law.drain_on
        filtered += step / law.smoothing * (emf - current * ohmic - filtered)
        heads = bound / (1.0 - fraction) - available / fraction
        flow = rate * fraction * (1.0 - fraction) * heads
        available += step * (flow - current)
        bound -= step * flow
        relaxation += step / tau * (current * slow - relaxation)
        charge += step * current
        if closed and filtered < law.off:
            closed = False
            openings.append((count + 1) * step)
        elif not closed and filtered >= law.on:
            closed = True
    return openings, charge


@pytest.mark.parametrize("gap", [0.25, 0.6])
def test_whole_run_agrees_with_a_march_in_small_steps(small, gap):
    law = CutoffLaw(
        off=10.5,
        on=10.5 + gap,
        smoothing=3.0,
        delay_off=0.0,
        delay_on=1e-9,
        drain_on=0.03,
        drain_off=0.002,
        resistance=0.4,
    )
    run = watch(small, law, volts=(0.0, 15.0), amps=(0.0, 1.5), every_cycle=True)
    end = run.first_opening + HOUR
    openings, charge = marched(small, law, 10.0, until=end, step=0.004)
    assert run.opened == len(openings) > 4
    assert run.openings == pytest.approx(openings[:200], rel=1e-3)
    assert run.charge_used == pytest.approx(charge, rel=1e-3)


# Many cycles passed over at once.


@pytest.mark.parametrize(
    "law",
    [
        replace(RELAY, smoothing=4.0, delay_off=0.3, delay_on=0.4),
        replace(RELAY, on=10.52, smoothing=0.2),
        replace(RELAY, smoothing=0.0, delay_on=0.5, delay_off=0.2),
    ],
    ids=["one threshold", "small gap", "no filter"],
)
def test_cycles_passed_over_are_those_that_would_have_been(nine, law):
    share = 0.16
    quick = watch(nine, law, share=share)
    full = watch(nine, law, share=share, every_cycle=True)
    assert quick.trace.skipped.any()
    assert not full.trace.skipped.any()
    assert full.opened > 500
    assert quick.opened == pytest.approx(full.opened, rel=0.02)
    assert quick.charge_used == pytest.approx(full.charge_used, rel=1e-3)
    assert quick.music_after_first == pytest.approx(full.music_after_first, rel=5e-3)
    assert quick.at_end.charge == pytest.approx(full.at_end.charge, rel=1e-3)
    assert quick.first_opening == full.first_opening
    assert quick.period == full.period


def test_charge_taken_is_the_integral_of_the_current(small):
    law = replace(RELAY, on=10.9, smoothing=1.0)
    run = watch(small, law, volts=(9.0, 13.0), amps=(1.2, 1.7), every_cycle=True)
    integral = np.trapezoid(run.trace.current, run.trace.time)
    assert run.charge_used == pytest.approx(float(integral), rel=1e-3)
    lost = 1.0 - run.charge_used / float(small.capacity)
    assert run.at_end.charge == pytest.approx(lost, rel=1e-9)
    assert np.all(np.diff(run.trace.time) >= 0.0)
    assert run.trace.time[-1] == pytest.approx(run.first_opening + HOUR, rel=1e-12)


def test_wider_gap_never_opens_more_often(nine):
    gaps = (0.0, 0.05, 0.2, 0.5, 1.0, 1.5)
    counts = [watch(nine, replace(RELAY, on=10.5 + gap)).opened for gap in gaps]
    assert counts == sorted(counts, reverse=True)
    assert counts[0] > 100 * counts[2] > 100 * counts[-1]


def test_hours_hold_every_opening_but_the_first(nine):
    run = watch(nine, replace(RELAY, on=10.53), time_after=10 * HOUR)
    assert run.openings_per_hour.shape == (10,)
    assert run.openings_per_hour.sum() == run.opened - 1
    assert 10 < run.openings.size <= 200
    assert np.all(np.diff(run.openings) > 0.0)
    within = np.sum(run.openings <= run.first_opening + HOUR)
    assert run.openings_per_hour[0] >= within - 1


def test_watch_given_up_says_so_and_invents_no_hours(nine, monkeypatch):
    monkeypatch.setattr("boomwright.outcome.cycling._MOST_PHASES", 40)
    run = watch(nine, replace(RELAY, smoothing=0.0, delay_off=0.0), time_after=3 * HOUR)
    assert not run.settled
    assert run.chatters
    assert np.isnan(run.openings_per_hour).all()
    assert run.openings_per_hour.shape == (3,)


# What is left.


def test_drain_alone_ruins_after_ampere_hours_over_amperes(nine):
    lossless = replace(AGM, self_discharge=0.0)
    law = replace(RELAY, on=math.inf, drain_off=0.021)
    run = watch(nine, law, chemistry=lossless)
    left = run.at_first.charge * float(nine.capacity)
    assert run.ruined_after == pytest.approx(left / 0.021, rel=1e-9)
    assert 1.0 < run.ruined_after / DAY < 10.0


def test_self_discharge_hurries_the_drain(nine):
    law = replace(RELAY, on=math.inf, drain_off=0.002)
    run = watch(nine, law, temperature=303.15)
    left = run.at_first.charge * float(nine.capacity)
    # 10 K above the rate's own temperature doubles it; dq/dt = -I - L q down to nothing.
    loss = 2.0 * AGM.self_discharge / MONTH
    closed_form = math.log(1.0 + loss * left / 0.002) / loss
    assert run.ruined_after == pytest.approx(closed_form, rel=1e-6)


def test_without_a_drain_a_constant_share_never_takes_all(nine):
    assert math.isinf(watch(nine, replace(RELAY, on=math.inf, drain_off=0.0)).ruined_after)


def test_days_until_ruin_are_those_of_the_parked_box():
    # Without its switch, which would keep a parked box from draining at all.
    build = build_of(REAL.replace(REAL[REAL.index("[switch]") : REAL.index("[cutoff]")], ""))
    outcome = run_build(build, versions=0)
    curve = outcome.wanted.curve
    warm = build.want.outside.likely
    pack = battery_pack(
        AGM, capacity_rated=7.0 * HOUR, duration_rated=20 * HOUR, cells=6, temperature=warm
    )
    used = float(np.sum(np.array(curve.amps[:-1]) * np.diff(curve.time)))
    drain = build.cutoff[0].drain_off.likely
    # As empty as the coupled run leaves it, the contact opens at once and stays open.
    run = watch(
        pack,
        CutoffLaw(off=16.0, on=math.inf, delay_off=0.0, drain_off=drain),
        amps=(0.0,),
        share=1.0 - used / float(pack.capacity),
        temperature=warm,
    )
    assert run.ruined_after == pytest.approx(outcome.parked.shelf_after_cutoff.likely, rel=2e-3)


def test_chatter_leaves_less_time_until_ruin(nine):
    held = watch(nine, replace(RELAY, on=math.inf), time_after=10 * HOUR)
    loose = watch(nine, RELAY, time_after=10 * HOUR)
    assert loose.ruined_after < held.ruined_after
    assert loose.music_after_first > HOUR
    assert loose.at_end.rested == pytest.approx(
        float(rested_voltage(nine, state_of_charge=loose.at_end.charge)) / 6, rel=1e-9
    )


def test_no_load_never_opens(nine):
    law = replace(RELAY, drain_on=0.0)
    run = watch(nine, law, amps=(0.0,), longest=50 * HOUR)
    assert math.isinf(run.first_opening)
    assert not run.chatters
    assert run.at_first is None
    assert run.opened == 0
    assert run.openings_per_hour.size == 0
    assert run.charge_used == pytest.approx(0.0, abs=1e-6)  # C
    assert run.end_of_music == pytest.approx(50 * HOUR, rel=1e-12)


def test_constant_power_takes_the_higher_volts_until_it_collapses():
    volts = np.linspace(1.0, 14.0, 400)
    law = CutoffLaw(off=4.0, on=11.0)
    run = watch(steady(12.0, 2.0), law, volts=volts, amps=15.0 / volts, longest=HOUR)
    assert run.trace.volts[0] == pytest.approx((12.0 + math.sqrt(144.0 - 120.0)) / 2, rel=1e-4)
    assert math.isinf(run.first_opening)
    # 18 W is the most that 12 V behind 2 Ω can give; below 5 V the load is 1.25 Ω.
    hungry = np.where(volts > 5.0, 20.0 / volts, volts / 1.25)
    fallen = watch(steady(12.0, 2.0), law, volts=volts, amps=hungry, longest=HOUR)
    assert fallen.trace.volts[0] == pytest.approx(12.0 * 1.25 / 3.25, rel=1e-9)


# Bass beats.


def filtered_dip(smoothing, dip_time, delay):
    """Depth that a filtered dip of 1 V keeps for the delay, found step by step."""
    step = 1e-4
    value, course = 0.0, []
    for count in range(round((dip_time + delay + 20 * smoothing) / step)):
        fed = 1.0 if count * step < dip_time else 0.0
        value += (fed - value) * step / smoothing
        course.append(value)
    deepest = sorted(course, reverse=True)
    return deepest[max(round(delay / step) - 1, 0)]


@pytest.mark.parametrize(
    ("smoothing", "dip_time", "delay"),
    [(0.2, 0.1, 0.0), (0.2, 0.1, 0.06), (0.5, 0.12, 0.4), (0.01, 0.09, 0.03)],
)
def test_beat_trips_as_deep_as_its_filtered_dip(smoothing, dip_time, delay):
    law = CutoffLaw(off=10.5, on=10.9, smoothing=smoothing, delay_off=delay)
    volts = early_trip_volts(law, resistance=0.06, dip_amps=5.0, dip_time=dip_time)
    assert volts - 10.5 == pytest.approx(0.3 * filtered_dip(smoothing, dip_time, delay), rel=5e-3)


def test_beat_without_filter_is_all_or_nothing():
    dip = {"resistance": 0.06, "dip_amps": 5.0, "dip_time": 0.1}
    for delay, volts in ((0.0, 10.8), (0.099, 10.8), (0.11, 10.5)):
        law = CutoffLaw(off=10.5, on=10.9, delay_off=delay)
        assert early_trip_volts(law, **dip) == pytest.approx(volts, rel=1e-12)
    slow = CutoffLaw(off=10.5, on=10.9, smoothing=1e-4, delay_off=30.0)
    assert early_trip_volts(slow, **dip) == 10.5


def test_beats_open_it_early_and_leave_more(nine):
    law = replace(RELAY, on=11.6, delay_off=0.0)
    calm = watch(nine, law)
    beats = watch(nine, law, dip_amps=4.0, dip_time=0.08)
    trip = early_trip_volts(law, resistance=0.03, dip_amps=4.0, dip_time=0.08)
    assert beats.first_opening < calm.first_opening
    assert beats.at_first.charge > calm.at_first.charge
    # The contact follows one beat after the mean has met the trip volts.
    assert 6 * beats.at_first.loaded == pytest.approx(trip, abs=2e-3)  # V
    assert watch(nine, law, dip_amps=0.0, dip_time=0.08).first_opening == calm.first_opening


# What cannot be.


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"off": -3.5}, "off: got -3.5 V"),
        ({"on": 9.25}, "on: got 9.25 V, must be 10.5 V"),
        ({"delay_on": 0.0}, "delay_on: got 0 s"),
        ({"delay_off": -0.75}, "delay_off: got -0.75 s"),
        ({"smoothing": math.inf}, "smoothing: got inf s"),
        ({"drain_off": -0.125}, "drain_off: got -0.125 A"),
        ({"resistance": -0.0625}, "resistance: got -0.0625 Ω"),
    ],
)
def test_impossible_cutoff_is_refused(change, says):
    with pytest.raises(ValueError, match=says):
        replace(RELAY, **change)


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"volts": (12.0, 11.5), "amps": (0.5, 0.6)}, "load_volts: got 11.5 V"),
        ({"volts": (11.0, 12.0)}, "load_amps: got shape"),
        ({"volts": (), "amps": ()}, "load_amps: got shape"),
        ({"amps": (-0.375,)}, "load_amps: got -0.375 A"),
        ({"time_after": 1800.0}, "time_after: got 1800 s"),
        ({"longest": math.inf}, "longest: got inf s"),
        ({"dip_amps": -2.5}, "dip_amps: got -2.5 A"),
        ({"dip_time": math.nan}, "dip_time: got nan s"),
    ],
)
def test_impossible_run_is_refused(nine, options, says):
    with pytest.raises(ValueError, match=says):
        watch(nine, RELAY, **options)


def test_batch_is_refused():
    with pytest.raises(ValueError, match="got a batch of 2"):
        watch(agm(np.array([7.0, 9.0])), RELAY)


def test_batch_of_one_is_one(nine):
    law = replace(RELAY, on=11.25)
    wrapped = watch(agm(np.array([[9.0]])), law)
    assert wrapped.openings == pytest.approx(watch(nine, law).openings, rel=1e-12)
