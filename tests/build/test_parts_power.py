"""Batteries, chargers, protection and rails of the drawer: physically possible, and as named."""

from __future__ import annotations

import math
import re

import pytest
from tests.build.drawer_parts import CHEMISTRIES, MADE_FOR, charged_cells, of_kind, physics_data

from boomwright.build.components import Relay
from boomwright.build.power import Battery, Charger, Cutoff, Fuse, Polarity, Rail, Supply


class TestBatteriesAndChargers:
    def test_cells_make_the_volts_of_the_title(self) -> None:
        for battery in of_kind(Battery):
            title = re.search(r"([\d.]+) V", battery.title)
            assert title is not None, battery.name
            nominal = CHEMISTRIES[battery.chemistry]["voltage_nominal"]["value"]
            assert battery.cells * nominal == pytest.approx(float(title[1]), rel=1e-9), battery.name

    def test_name_tells_cells_strings_and_charge(self) -> None:
        for battery in of_kind(Battery):
            if cells := re.search(r"-(\d+)s", battery.name):
                assert battery.cells == int(cells[1]), battery.name
            if strings := re.search(r"s(\d+)p-", battery.name):
                assert battery.strings == int(strings[1]), battery.name
            if charge := re.search(r"-(\d+)ah(\d?)$", battery.name):
                ampere_hours = battery.strings * battery.capacity.likely / 3600
                named = float(f"{charge[1]}.{charge[2] or 0}")
                assert ampere_hours == pytest.approx(named, rel=1e-9), battery.name

    def test_weight_fits_the_energy_of_the_chemistry(self) -> None:
        for battery in of_kind(Battery):
            chemistry = CHEMISTRIES[battery.chemistry]
            volts = battery.cells * chemistry["voltage_nominal"]["value"]
            energy = volts * battery.strings * battery.capacity.likely / 3600
            assert battery.mass is not None
            specific = energy / battery.mass.likely
            span = chemistry["specific_energy"]
            # Small packs carry more case and wire for their energy, large ones less.
            assert 0.8 * span["low"] < specific < 1.2 * span["high"], battery.name

    def test_lithium_packs_have_a_protection_board_and_others_none(self) -> None:
        for battery in of_kind(Battery):
            limits = (
                battery.protection_continuous,
                battery.protection_trip,
                battery.protection_voltage,
            )
            lithium = battery.chemistry in {"lifepo4", "li-ion-nmc"}
            assert all((limit is not None) == lithium for limit in limits), battery.name

    def test_protection_trips_above_what_it_carries_and_below_a_charged_cell(self) -> None:
        for battery in of_kind(Battery):
            continuous, trip = battery.protection_continuous, battery.protection_trip
            opens = battery.protection_voltage
            if continuous is None or trip is None or opens is None:
                continue
            assert trip.low >= continuous.high, battery.name
            chemistry = CHEMISTRIES[battery.chemistry]
            floor = chemistry["voltage_floor"]["value"] * battery.cells
            nominal = chemistry["voltage_nominal"]["value"] * battery.cells
            assert 0.999 * floor <= opens.low < opens.high < nominal, battery.name

    def test_charger_that_stops_ends_inside_the_window_of_its_chemistry(self) -> None:
        for charger in of_kind(Charger):
            if charger.made_for == "unknown" or not charger.limits_voltage:
                continue
            cells = charged_cells(charger.name)
            full = CHEMISTRIES[MADE_FOR[charger.made_for]]["voltage_full_charge"]
            window = (full["low"], full["high"])
            if "float" in charger.name:
                floating = CHEMISTRIES["lead-agm"]["voltage_float"]
                window = (floating["low"], floating["high"])
            per_cell = charger.voltage.likely / cells
            assert 0.99 * window[0] <= per_cell <= 1.01 * window[1], charger.name

    def test_charger_without_limit_can_pass_full_charge(self) -> None:
        unlimited = [part for part in of_kind(Charger) if not part.limits_voltage]
        assert unlimited
        for charger in unlimited:
            assert charger.voltage.likely > 6 * 2.5, charger.name

    def test_supply_title_names_its_volts(self) -> None:
        for supply in of_kind(Supply):
            assert f"{supply.voltage.likely:g} V" in supply.title


class TestProtection:
    def test_fuse_ratings_are_those_of_the_standards(self) -> None:
        rows = {"blade": "blade", "glass-quick": "tube_quick", "glass-slow": "tube_time_lag"}
        standards = physics_data("fuses.toml")
        for fuse in of_kind(Fuse):
            ratings = standards[rows[fuse.type]]["ratings"]
            assert any(math.isclose(fuse.rating.likely, rating) for rating in ratings), fuse.name
            assert fuse.rating.certain

    def test_blade_fuses_from_one_to_thirty_amps_are_all_there(self) -> None:
        blades = [fuse.rating.likely for fuse in of_kind(Fuse) if fuse.type == "blade"]
        assert blades == [1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30]

    def test_cutoff_closes_well_above_where_it_opens(self) -> None:
        for cutoff in of_kind(Cutoff):
            if cutoff.on is None:
                assert cutoff.name == "relay-one-threshold"
                continue
            assert cutoff.on.low > cutoff.off.high, cutoff.name

    def test_cutoff_takes_no_more_open_than_closed(self) -> None:
        for cutoff in of_kind(Cutoff):
            assert cutoff.drain_off.likely <= cutoff.drain_on.likely, cutoff.name

    def test_cutoff_opens_inside_the_useful_volts_of_its_chemistry(self) -> None:
        chemistry_of = {"lead": "lead-agm", "lfp": "lifepo4", "li": "li-ion-nmc", "nimh": "nimh"}
        for cutoff in of_kind(Cutoff):
            chemistry = chemistry_of.get(cutoff.name.split("-")[0])
            if chemistry is None:
                continue
            cells = charged_cells(cutoff.name)
            floor = CHEMISTRIES[chemistry]["voltage_floor"]["value"] * cells
            full = CHEMISTRIES[chemistry]["emf"]["volts"][-1] * cells
            assert floor < cutoff.off.likely < full, cutoff.name

    def test_polarity_drop_follows_its_type(self) -> None:
        drops: dict[str, list[float]] = {}
        for part in of_kind(Polarity):
            assert part.drop is not None
            drops.setdefault(part.type, []).append(part.drop.likely)
        assert max(drops["series-schottky"]) < min(drops["series-silicon"])
        assert max(drops["p-mosfet"]) == max(drops["shunt-diode"]) == 0.0

    def test_relay_pulls_in_above_where_it_lets_go(self) -> None:
        for relay in of_kind(Relay):
            assert relay.operate.likely > relay.release.likely, relay.name
            if relay.contacts != "latching":
                assert relay.operate.low > relay.release.high, relay.name

    def test_new_relays_keep_the_usual_direct_current_limits(self) -> None:
        # IEC 61810-1 practice, from memory: operate at 75 % or less, release at 10 % or more.
        for relay in of_kind(Relay):
            if "salvaged" not in relay.name:
                assert relay.operate.high <= 0.75 + 1e-12, relay.name
                assert relay.release.low >= 0.10 - 1e-12, relay.name

    def test_relay_coil_takes_a_believable_power(self) -> None:
        for relay in of_kind(Relay):
            watts = relay.coil_voltage.likely**2 / relay.coil_resistance.likely
            assert 0.1 < watts < 2.5, relay.name


class TestRails:
    def test_bare_board_stands_no_more_than_its_label(self) -> None:
        for rail in of_kind(Rail):
            if rail.bare_limit is not None:
                assert rail.bare_limit.likely <= rail.current_limit.likely, rail.name

    def test_input_leaves_room_above_or_below_the_output(self) -> None:
        for rail in of_kind(Rail):
            assert rail.input_max is not None
            if rail.type in {"linear", "buck"}:
                least = rail.voltage.likely + rail.dropout.low
                assert rail.input_max.likely > least, rail.name
                if rail.input_min is not None:
                    assert rail.input_min.likely >= 0.999 * least, rail.name
            if rail.type == "boost":
                assert rail.input_min is not None
                assert rail.input_min.likely < rail.voltage.likely, rail.name

    def test_title_names_the_output_volts(self) -> None:
        for rail in of_kind(Rail):
            named = [float(volts) for volts in re.findall(r"([\d.]+) V", rail.title)]
            assert not named or any(
                abs(volts - rail.voltage.likely) < 0.03 * volts for volts in named
            ), rail.name

    def test_bare_junction_runs_hotter_than_the_case_alone(self) -> None:
        for rail in of_kind(Rail):
            assert rail.junction_ambient.low > rail.junction_case.high, rail.name
