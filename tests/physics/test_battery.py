"""Physical laws that every battery must keep, whatever its chemistry."""

from dataclasses import fields

import numpy as np
import pytest

from boomwright.physics.battery import (
    Battery,
    battery_emf,
    battery_full,
    battery_step,
    rested_voltage,
    short_circuit_current,
    state_of_charge,
)
from boomwright.physics.chemistry import CHARGE_GRID, load_chemistries
from boomwright.physics.kibam import KibamFit
from boomwright.physics.pack import battery_pack

CELLS = load_chemistries()
NAMES = list(CELLS)
HOUR = 3600.0


def pack(name="lead-agm", **changes):
    given = {
        "capacity_rated": 7.2 * HOUR,
        "duration_rated": CELLS[name].duration_rated,
        "cells": 6,
    } | changes
    return battery_pack(CELLS[name], **given)


def terminal(battery, state, current):
    return battery_emf(battery, state) - current * battery.resistance_ohmic


def mixed(*batteries):
    return Battery(
        **{
            field.name: np.stack([getattr(battery, field.name) for battery in batteries])
            for field in fields(Battery)
        }
    )


@pytest.mark.parametrize("name", NAMES)
def test_volts_fall_with_charge_and_with_load(name):
    battery = pack(name)
    rested = rested_voltage(battery, state_of_charge=CHARGE_GRID)
    assert np.all(np.diff(rested) > 0.0)
    currents = np.array([0.0, 0.3, 1.1, 4.0])
    state = battery_step(battery, battery_full(battery), current=currents, duration=600.0)
    assert np.all(np.diff(terminal(battery, state, currents)) < 0.0)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("current", [-0.4, 0.0, 0.9])
def test_charge_is_conserved(name, current):
    battery = pack(name)
    state = battery_step(
        battery, battery_full(battery, state_of_charge=0.6), current=current, duration=1700.0
    )
    assert float(state_of_charge(battery, state) * battery.capacity) == pytest.approx(
        float(0.6 * battery.capacity) - current * 1700.0, rel=1e-12
    )


@pytest.mark.parametrize("name", NAMES)
def test_rested_battery_without_load_stays_as_it_is(name):
    battery = pack(name)
    start = battery_full(battery, state_of_charge=0.7)
    end = battery_step(battery, start, current=0.0, duration=86400.0)
    assert float(battery_emf(battery, end)) == pytest.approx(
        float(rested_voltage(battery, state_of_charge=0.7)), rel=1e-12
    )
    assert float(end.relaxation) == 0.0


@pytest.mark.parametrize("name", NAMES)
def test_volts_climb_after_load_and_never_above_the_rested_volts(name):
    battery = pack(name)
    loaded = battery_step(battery, battery_full(battery), current=2.0, duration=3000.0)
    rest = np.array([0.0, 10.0, 60.0, 600.0, 3600.0, 1e6])
    volts = battery_emf(battery, battery_step(battery, loaded, current=0.0, duration=rest))
    assert np.all(np.diff(volts) > 0.0)
    assert volts[-1] == pytest.approx(
        float(rested_voltage(battery, state_of_charge=state_of_charge(battery, loaded))), rel=1e-9
    )


@pytest.mark.parametrize("name", NAMES)
def test_energy_delivered_is_less_than_the_charge_held(name):
    battery = pack(name)
    state, current, delivered = battery_full(battery), 1.5, 0.0
    held = float(battery.capacity * np.mean(battery.voltage_table))
    while float(terminal(battery, state, current)) > 6 * CELLS[name].voltage_floor:
        before = float(terminal(battery, state, current))
        state = battery_step(battery, state, current=current, duration=30.0)
        delivered += 15.0 * current * (before + float(terminal(battery, state, current)))
    assert 0.2 * held < delivered < held


def test_one_well_pulse_is_open_circuit_less_ohmic_and_relaxation_drop():
    one_well = KibamFit(capacity=9.0 * HOUR, fraction=1.0, rate=0.0, misfit=0.0, assumption="")
    battery = pack("li-ion-nmc", kibam=one_well)
    times, current = np.array([0.0, 1.0, 7.0, 45.0, 400.0, 3000.0]), 2.3
    state = battery_step(battery, battery_full(battery), current=current, duration=times)
    share = 1.0 - current * times / battery.capacity
    expected = rested_voltage(battery, state_of_charge=share) - current * (
        battery.resistance_ohmic
        + battery.resistance_relaxation * (1.0 - np.exp(-times / battery.time_relaxation))
    )
    assert terminal(battery, state, current) == pytest.approx(expected, rel=1e-12)


def test_two_steps_equal_one():
    battery = pack()
    start = battery_full(battery, state_of_charge=0.9)
    halfway = battery_step(battery, start, current=1.4, duration=50.0)
    twice = battery_step(battery, halfway, current=1.4, duration=130.0)
    once = battery_step(battery, start, current=1.4, duration=180.0)
    for field in ("available", "bound", "relaxation"):
        assert float(getattr(twice, field)) == pytest.approx(float(getattr(once, field)), rel=1e-12)


def test_mixed_chemistries_in_one_batch_equal_each_alone():
    alone = [pack("lead-agm"), pack("lifepo4", cells=4), pack("li-ion-nmc", cells=3)]
    together = mixed(*alone)
    currents = np.array([0.5, 1.25, 3.0])
    state = battery_step(together, battery_full(together), current=currents, duration=1500.0)
    for index, battery in enumerate(alone):
        single = battery_step(
            battery, battery_full(battery), current=currents[index], duration=1500.0
        )
        assert battery_emf(together, state)[index] == pytest.approx(
            float(battery_emf(battery, single)), rel=1e-12
        )


def test_pack_state_and_load_broadcast():
    battery = pack(
        capacity_rated=np.array([[5.0], [7.0], [9.0]]) * HOUR, health=np.array([1.0, 0.9, 0.8, 0.7])
    )
    assert battery.capacity.shape == (3, 4)
    assert battery.voltage_table.shape == (3, 4, 101)
    column = pack(capacity_rated=np.array([[5.0], [7.0], [9.0]]) * HOUR)
    state = battery_step(
        column, battery_full(column), current=np.array([0.1, 0.2, 0.4, 0.8]), duration=60.0
    )
    assert state.available.shape == state.bound.shape == state.relaxation.shape == (3, 4)
    assert battery_emf(column, state).shape == (3, 4)
    assert state_of_charge(column, state).shape == (3, 4)


def test_short_circuit_is_limited_by_the_ohmic_part():
    battery = pack(resistance=0.08)
    assert float(short_circuit_current(battery)) == pytest.approx(12.87 / (0.6 * 0.08), rel=1e-9)
    half = short_circuit_current(battery, state_of_charge=0.5)
    assert float(half) < float(short_circuit_current(battery))


def test_small_sealed_lead_gives_more_than_100_a_into_a_short():
    # Trade experience (from memory): a 12 V 7 Ah battery gives over 100 A.
    assert 100.0 < float(short_circuit_current(pack(capacity_rated=7 * HOUR))) < 1000.0


def test_overdrawn_well_lets_volts_collapse_to_nothing():
    battery = pack()
    drawn = battery.capacity * np.array([1.0, 1.01, 1.2])
    state = battery_step(battery, battery_full(battery), current=drawn / 1e7, duration=1e7)
    volts = battery_emf(battery, state)
    assert np.all(volts < 6.0)
    assert volts[0] > volts[1]
    assert volts[-1] == pytest.approx(0.0, abs=0.01)  # V; relaxation drop of a few mA


def test_overfull_well_keeps_the_full_volts():
    battery = pack()
    state = battery_step(battery, battery_full(battery), current=-0.5, duration=7200.0)
    assert float(battery_emf(battery, state) + state.relaxation) == pytest.approx(12.87)


@pytest.mark.parametrize("share", [-0.1, 1.2, np.nan])
def test_state_of_charge_outside_nothing_to_full_is_refused(share):
    with pytest.raises(ValueError, match=f"state_of_charge: got {share:g} of full, allowed 0 to 1"):
        battery_full(pack(), state_of_charge=share)
    with pytest.raises(ValueError, match=f"state_of_charge: got {share:g} of full"):
        rested_voltage(pack(), state_of_charge=share)
