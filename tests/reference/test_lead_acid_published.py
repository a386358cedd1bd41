"""Published values of lead-acid batteries, and of lithium cells where a list gives them.

Each value stands beside its source; "from memory" where nobody opened the document.
"""

import numpy as np
import pytest

from boomwright.physics.battery import (
    battery_emf,
    battery_full,
    battery_step,
    rested_voltage,
    state_of_charge,
)
from boomwright.physics.chemistry import end_voltage, load_chemistries
from boomwright.physics.pack import battery_pack
from boomwright.physics.peukert import peukert_exponent, peukert_time
from boomwright.physics.shelf import self_discharge_rate

HOUR = 3600.0
CELLS = load_chemistries()


def twelve_volts(name, ampere_hours=7.0):
    return battery_pack(
        CELLS[name], capacity_rated=ampere_hours * HOUR, duration_rated=20 * HOUR, cells=6
    )


def label_charge(battery, share, ampere_hours=7.0):
    """State of charge when a share of the label's 20 h capacity is left."""
    return 1.0 - (1.0 - share) * ampere_hours * HOUR / battery.capacity


def discharge_time(battery, current, volts_end):
    early = np.zeros(np.shape(current))
    late = battery.capacity / current
    for _ in range(60):
        middle = 0.5 * (early + late)
        state = battery_step(battery, battery_full(battery), current=current, duration=middle)
        alive = battery_emf(battery, state) - current * battery.resistance_ohmic > volts_end
        early, late = np.where(alive, middle, early), np.where(alive, late, middle)
    return early


def capacity_share(name, hours):
    """Simulated capacity of a run of so many hours to its usual end volts, of the 20 h one."""
    battery = twelve_volts(name)
    slow, fast = np.array(7.0 / hours / 8.0), np.array(7.0 / hours)
    for _ in range(60):
        current = 0.5 * (slow + fast)
        ends = 6 * end_voltage(CELLS[name], duration=hours * HOUR)
        lasting = discharge_time(battery, current, ends) > hours * HOUR
        slow, fast = np.where(lasting, current, slow), np.where(lasting, fast, current)
    return float(slow) * hours / 7.0


@pytest.mark.parametrize("share_reading", ["of the label", "of the whole charge"])
@pytest.mark.parametrize(("share", "volts"), [(1.0, 12.6), (0.75, 12.4), (0.25, 12.0)])
def test_flooded_open_circuit(share, volts, share_reading):
    # List of open-circuit volts of flooded 12 V batteries (seen), 0.1 V
    battery = twelve_volts("lead-flooded")
    if share_reading == "of the label":
        share = label_charge(battery, share)
    rested = float(rested_voltage(battery, state_of_charge=share))
    assert rested == pytest.approx(volts, abs=0.1)  # V, tables disagree by this much


@pytest.mark.parametrize("share_reading", ["of the label", "of the whole charge"])
@pytest.mark.parametrize(
    ("share", "low", "high"), [(1.0, 12.8, 13.0), (0.75, 12.5, 12.6), (0.5, 12.2, 12.3)]
)
def test_sealed_open_circuit(share, low, high, share_reading):
    # Linden and Reddy, Handbook of Batteries (from memory); range, 0.1 V outside it
    battery = twelve_volts("lead-agm")
    if share_reading == "of the label":
        share = label_charge(battery, share)
    assert low - 0.1 < float(rested_voltage(battery, state_of_charge=share)) < high + 0.1


@pytest.mark.parametrize("name", ["lead-flooded", "lead-agm"])
def test_run_down_at_the_rated_rate_and_rested(name):
    # List of open-circuit volts of flooded 12 V batteries (seen): 11.6 V at 0 %, 0.1 V
    battery = twelve_volts(name)
    empty = battery_step(battery, battery_full(battery), current=0.35, duration=20 * HOUR)
    # IEC 61056-1 (from memory): the rated run ends at 10.5 V
    loaded = float(battery_emf(battery, empty) - 0.35 * battery.resistance_ohmic)
    assert loaded == pytest.approx(10.5, rel=0.01)
    rested = float(rested_voltage(battery, state_of_charge=state_of_charge(battery, empty)))
    assert rested == pytest.approx(11.6, abs=0.1)  # V, tables disagree by this much


@pytest.mark.parametrize(("name", "gravity"), [("lead-flooded", 1.265), ("lead-agm", 1.300)])
def test_full_cell_follows_its_acid(name, gravity):
    # E = specific gravity + 0.84 V: 12.63 V and 12.84 V (Linden and Reddy, Vinal; from memory)
    full = float(rested_voltage(twelve_volts(name), state_of_charge=1.0))
    assert full == pytest.approx(6 * (gravity + 0.84), abs=6 * 0.02)  # V, 0.02 V for each cell


def test_end_volts():
    agm, flooded = CELLS["lead-agm"], CELLS["lead-flooded"]
    # US Navy training manual 14344 (seen): 1.75 V at 10 h; 3 cells 5.25 V; no cell below 1.65 V
    assert float(end_voltage(flooded, duration=10 * HOUR)) == pytest.approx(1.75)
    assert 3 * float(end_voltage(flooded, duration=10 * HOUR)) == pytest.approx(5.25)
    assert flooded.voltage_floor == pytest.approx(1.65)
    # IEC 61056-1 (from memory): 10.5 V at 20 h
    assert 6 * agm.voltage_rated_end == pytest.approx(10.5)
    # IEC 60896-21/22 (from memory): 1.80 V at 10 h and 1.60 V at 1 h, 0.05 V
    ends = end_voltage(agm, duration=HOUR * np.array([10.0, 1.0]))
    assert ends == pytest.approx([1.80, 1.60], abs=0.0501)  # V, the table's tolerance


@pytest.mark.parametrize(
    ("hours", "low", "high"),
    [(20.0, 0.999, 1.001), (10.0, 0.93, 0.95), (1.0, 0.55, 0.65), (0.5, 0.45, 0.55)],
)
def test_sealed_capacity_by_rate(hours, low, high):
    # Linden and Reddy, small valve-regulated types, share of the 20 h capacity (from memory)
    assert low <= capacity_share("lead-agm", hours) <= high


@pytest.mark.parametrize(
    ("name", "low", "high"), [("lead-agm", 1.05, 1.25), ("lead-flooded", 1.2, 1.6)]
)
def test_peukert_exponent_of_the_simulated_battery(name, low, high):
    # Article on Peukert's law (seen, weak page): AGM 1.05 to 1.15, gel 1.1 to 1.25, flooded
    # 1.2 to 1.6. The handbook's 1 h capacity of 55 to 65 % means 1.17 to 1.25 for small sealed
    # types, so the gel bound is used for them.
    one_hour = capacity_share(name, 1.0) * 7.0
    exponent = peukert_exponent(
        current_slow=0.35, duration_slow=20 * HOUR, current_fast=one_hour, duration_fast=HOUR
    )
    assert low <= float(exponent) <= high


@pytest.mark.parametrize(
    ("ampere_hours", "current", "exponent", "hours"),
    [(100.0, 10.0, 1.2, 8.7055), (7.0, 1.4, 1.25, 3.5355), (100.0, 5.0, 1.2, 20.0)],
)
def test_peukert_run_time(ampere_hours, current, exponent, hours):
    # Rated-hour form (Doerffel and Sharkh 2006), computed; 0.1 %
    time = peukert_time(
        capacity_rated=ampere_hours * HOUR,
        duration_rated=20 * HOUR,
        current=current,
        exponent=exponent,
    )
    assert float(time) / HOUR == pytest.approx(hours, rel=1e-3)


def test_peukert_short_form_holds_for_the_one_ampere_capacity_only():
    # Article on Peukert's law (seen): t = C / I^k gives 14.5 h for 100 Ah, k 1.2 and 5 A. That is
    # the run time if the 100 Ah belong to 1 A (100 h); rated at 20 h it is 20 h (computed).
    hours = np.array([100.0, 20.0])
    time = peukert_time(
        capacity_rated=100 * HOUR, duration_rated=hours * HOUR, current=5.0, exponent=1.2
    )
    assert time / HOUR == pytest.approx([14.5, 20.0], rel=2e-3)


def test_peukert_exponent_from_two_discharges():
    # computed: 0.35 A for 20 h and 4.2 A for 1 h; 0.1 %
    exponent = peukert_exponent(
        current_slow=0.35, duration_slow=20 * HOUR, current_fast=4.2, duration_fast=HOUR
    )
    assert float(exponent) == pytest.approx(1.2056, rel=1e-3)


def test_charging_volts():
    agm = CELLS["lead-agm"]
    # IEEE 1188 and Linden and Reddy (from memory): cycles 14.4 to 15.0 V, float 13.5 to 13.8 V
    assert 14.4 <= 6 * agm.voltage_full_charge <= 15.0
    assert 13.5 <= 6 * agm.voltage_float <= 13.8
    assert agm.float_temperature == pytest.approx(-0.003)
    assert agm.full_charge_temperature == pytest.approx(-0.005)


def test_self_discharge():
    agm = CELLS["lead-agm"]
    # Linden and Reddy (from memory): 2 to 4 % a month at 20 to 25 °C, doubling per 10 K
    assert 0.02 <= agm.self_discharge <= 0.04
    warm = self_discharge_rate(
        self_discharge=0.03,
        temperature=308.15,
        temperature_reference=298.15,
        doubling=agm.self_discharge_doubling,
    )
    assert float(warm) == pytest.approx(0.06, rel=1e-9)


@pytest.mark.parametrize(("depth", "low", "high"), [(1.0, 150.0, 300.0), (0.5, 350.0, 600.0)])
def test_cycle_life_of_small_sealed_types(depth, low, high):
    # Linden and Reddy (from memory, low), to 60 % of rated capacity at 25 °C
    agm = CELLS["lead-agm"]
    assert low <= np.interp(depth, agm.cycle_depths, agm.cycle_lives) <= high


@pytest.mark.parametrize("volts_end", [10.5, 11.0])
def test_rebound_after_a_ten_hour_load(volts_end):
    # Trade experience (from memory): volts climb 0.5 to 1.5 V within minutes to an hour
    battery = twelve_volts("lead-agm")
    current = np.array(0.7)
    time = discharge_time(battery, current, volts_end)
    cut = battery_step(battery, battery_full(battery), current=current, duration=time)
    waits = np.array([600.0, 3600.0])
    rested = battery_step(battery, cut, current=0.0, duration=waits)
    climb = battery_emf(battery, rested) - volts_end
    assert 0.5 < climb[1] < 1.5
    assert 0.3 * climb[1] < climb[0] < climb[1]


def test_iron_phosphate_limits():
    lfp = CELLS["lifepo4"]
    # Articles on LiFePO4 volts (seen, weak pages): 3.65 / 3.2 / 2.5 to 2.8 V, 0.05 V
    assert lfp.voltage_full_charge == pytest.approx(3.65)
    assert lfp.voltage_nominal == pytest.approx(3.2)
    assert 2.5 <= lfp.voltage_rated_end <= 2.8
    # Linden and Reddy (from memory): rested 3.25 to 3.35 V at 20 to 90 %, 0.03 V
    plateau = lfp.ocv_table[20:91]
    assert np.all((plateau > 3.25 - 0.03) & (plateau < 3.35 + 0.03))


def test_lithium_ion_limits():
    nmc = CELLS["li-ion-nmc"]
    # Article on charge specification (seen): 4.20 V; nominal 3.6 to 3.7, cut-off 2.5 to 3.0 V
    # (Linden and Reddy, from memory); 0.05 V
    assert nmc.voltage_full_charge == pytest.approx(4.20)
    assert 3.6 <= nmc.voltage_nominal <= 3.7
    assert 2.5 <= nmc.voltage_rated_end <= 3.0
    # IEC 62133-2 Annex A (from memory): full charge current from 10 to 45 °C
    assert nmc.charge_temperature_low == pytest.approx(273.15 + 10.0)
    assert nmc.charge_temperature_high == pytest.approx(273.15 + 45.0)
