"""The data file of chemistries: complete, physical, and refused when it is not."""

import copy
import tomllib
from importlib.resources import files

import numpy as np
import pytest

from boomwright.physics.chemistry import (
    CHARGE_GRID,
    chemistry_from_table,
    end_voltage,
    load_chemistries,
)

NAMES = ["lead-flooded", "lead-agm", "lifepo4", "li-ion-nmc", "nimh", "alkaline"]
RAW = tomllib.loads(
    (files("boomwright.physics") / "data" / "chemistries.toml").read_text(encoding="utf-8")
)


def test_names():
    assert list(load_chemistries()) == NAMES


def test_loaded_dict_is_a_copy():
    load_chemistries().clear()
    assert list(load_chemistries()) == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_volts_stand_in_physical_order(name):
    cell = load_chemistries()[name]
    assert cell.ocv_table.shape == CHARGE_GRID.shape
    assert np.all(np.diff(cell.ocv_table) > 0.0)
    assert cell.ocv_table[0] < cell.voltage_floor <= cell.voltage_rated_end
    assert cell.voltage_rated_end < cell.voltage_nominal < cell.ocv_table[-1]
    if cell.voltage_full_charge is not None:
        assert cell.ocv_table[-1] < cell.voltage_full_charge
    if cell.voltage_float is not None:
        assert cell.ocv_table[-1] < cell.voltage_float < cell.voltage_full_charge


@pytest.mark.parametrize("name", NAMES)
def test_ranges_hold_their_values(name):
    cell = load_chemistries()[name]
    assert cell.resistance_low < cell.resistance < cell.resistance_high
    assert cell.self_discharge_low < cell.self_discharge < cell.self_discharge_high
    assert cell.specific_energy_low < cell.specific_energy < cell.specific_energy_high
    assert cell.capacity_low < 1.0 < cell.capacity_high
    assert 0.0 < cell.kibam_fraction < 1.0
    assert 0.0 < cell.ohmic_share < 1.0
    assert 0.0 < cell.depth_advised <= 1.0
    assert np.all(np.diff(cell.capacity_temperatures) > 0.0)
    assert np.interp(298.15, cell.capacity_temperatures, cell.capacity_shares) == pytest.approx(1.0)
    assert np.all(np.diff(cell.cycle_lives) < 0.0)
    assert cell.cautions


@pytest.mark.parametrize("name", NAMES)
def test_every_fact_names_status_and_source(name):
    cell = load_chemistries()[name]
    facts = [key for key, value in RAW[name].items() if isinstance(value, dict)]
    assert sorted(cell.sources) == sorted(facts)
    assert all(": " in source for source in cell.sources.values())


def test_only_lead_gases_in_ordinary_use():
    assert [name for name, cell in load_chemistries().items() if cell.gas] == [
        "lead-flooded",
        "lead-agm",
    ]


def test_alkaline_has_no_way_of_being_charged():
    cell = load_chemistries()["alkaline"]
    assert cell.voltage_full_charge is None
    assert cell.voltage_float is None
    assert cell.charge_current is None
    assert cell.charge_temperature_low is None


def test_temperatures_are_kelvin_and_rates_per_second():
    cell = load_chemistries()["li-ion-nmc"]
    assert cell.charge_temperature_low == pytest.approx(283.15)
    assert cell.charge_temperature_high == pytest.approx(318.15)
    assert cell.kibam_rate == pytest.approx(5.0 / 3600.0)


def test_end_voltage_between_and_beyond_the_published_rates():
    agm = load_chemistries()["lead-agm"]
    ends = end_voltage(agm, duration=3600.0 * np.array([0.1, 1.0, np.sqrt(5.0), 5.0, 100.0]))
    assert ends == pytest.approx([1.60, 1.60, 1.65, 1.70, 1.75])


def test_tables_are_read_only():
    with pytest.raises(ValueError, match="read-only"):
        load_chemistries()["nimh"].ocv_table[3] = 0.0


def test_refuses_a_missing_fact():
    raw = copy.deepcopy(RAW["nimh"])
    del raw["ohmic_share"]
    with pytest.raises(ValueError, match="mine: got no ohmic_share"):
        chemistry_from_table("mine", raw)


@pytest.mark.parametrize(
    ("key", "change", "message"),
    [
        ("resistance", {"unit": "ohm"}, r"mine.resistance: got unit ohm, allowed ohm Ah"),
        ("resistance", {"status": "rumour"}, "mine.resistance: got status rumour"),
        ("self_discharge", {"source": ""}, "mine.self_discharge: got status typical and source ,"),
        ("emf", {"charge": [0.0, 1.0], "volts": [1.3, 1.2]}, r"mine.emf: got volts \[1.3, 1.2\] V"),
    ],
)
def test_refuses_a_faulty_fact(key, change, message):
    raw = copy.deepcopy(RAW["nimh"])
    raw[key].update(change)
    with pytest.raises(ValueError, match=message):
        chemistry_from_table("mine", raw)
