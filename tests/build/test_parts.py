"""The parts drawer: every part readable, sourced, and physically possible."""

from __future__ import annotations

import math
import re
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any, TypeVar

import pytest

from boomwright.build.audio import Amplifier, Cabinet, Driver, Receiver
from boomwright.build.components import Connector, Diode, Relay, Transistor, Wire, Zener
from boomwright.build.drawer import DRAWER_KINDS, load_drawer
from boomwright.build.power import (
    Battery,
    Charger,
    Cutoff,
    Fuse,
    Load,
    Named,
    Polarity,
    Rail,
    Supply,
    Usb,
)
from boomwright.build.quantities import BASES, Quantity
from boomwright.build.read import read_build
from boomwright.build.tree import power_tree
from boomwright.physics.nature import ZERO_CELSIUS

P = TypeVar("P", bound=Named)

DRAWER = load_drawer()
ROOT = Path(__file__).parents[2]
EXAMPLES = ("market-stall", "rowing-launch", "allotment-day", "first-attempt")
ALL = [(kind, name) for kind in DRAWER_KINDS for name in DRAWER.names(kind)]
REGISTERED_TYPE = re.compile(r"1N\d{3,4}A?|2N\d{4}A?|BC\d{3}(B|-\d{2})|BD\d{3}|TIP\d{2,3}C?")
PLAIN_NAME = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


def _of_kind(model: type[P]) -> list[P]:
    kind = next(kind for kind, found in DRAWER_KINDS.items() if found is model)
    parts = [DRAWER.part(kind, name) for name in DRAWER.names(kind)]
    assert parts
    assert all(isinstance(part, model) for part in parts)
    return [part for part in parts if isinstance(part, model)]


def _quantities(part: Named) -> dict[str, Quantity]:
    fields = {key: getattr(part, key) for key in type(part).model_fields}
    return {key: value for key, value in fields.items() if isinstance(value, Quantity)}


def _physics_data(file: str) -> dict[str, Any]:
    text = files("boomwright.physics.data").joinpath(file).read_text(encoding="utf-8")
    return tomllib.loads(text)


CHEMISTRIES = _physics_data("chemistries.toml")
MADE_FOR = {"lead": "lead-agm", "lifepo4": "lifepo4", "li-ion": "li-ion-nmc", "nimh": "nimh"}


class TestEveryPart:
    def test_there_are_at_least_150_of_all_kinds(self) -> None:
        assert len(ALL) >= 150
        assert {kind for kind, _ in ALL} == set(DRAWER_KINDS)

    @pytest.mark.parametrize(("kind", "name"), ALL)
    def test_fits_the_model_of_its_kind(self, kind: str, name: str) -> None:
        assert DRAWER.part(kind, name).name == name

    @pytest.mark.parametrize(("kind", "name"), ALL)
    def test_says_what_it_is_and_where_its_values_come_from(self, kind: str, name: str) -> None:
        part = DRAWER.part(kind, name)
        assert part.status in {"standard", "typical", "invented"}
        assert len(part.source) > 10
        assert re.match(r"[A-Z]", part.title), "a title starts with a capital"
        assert not re.search(r"\((typical|standard|invented)\)", part.title + part.source)

    @pytest.mark.parametrize(("kind", "name"), ALL)
    def test_every_range_holds_its_likely_value(self, kind: str, name: str) -> None:
        for key, value in _quantities(DRAWER.part(kind, name)).items():
            assert value.low <= value.likely <= value.high, key

    @pytest.mark.parametrize(("kind", "name"), ALL)
    def test_a_typical_value_is_never_exact(self, kind: str, name: str) -> None:
        part = DRAWER.part(kind, name)
        for key in DRAWER.tables[kind][name]:
            value = getattr(part, key)
            if isinstance(value, Quantity) and value.basis in {"typical", "claim", "label"}:
                assert value.low < value.high, key

    def test_names_are_plain_words_or_registered_types(self) -> None:
        for kind, name in ALL:
            assert PLAIN_NAME.fullmatch(name) or REGISTERED_TYPE.fullmatch(name), (kind, name)

    def test_titles_differ_within_a_kind(self) -> None:
        for kind in DRAWER_KINDS:
            titles = [DRAWER.part(kind, name).title for name in DRAWER.names(kind)]
            assert len(set(titles)) == len(titles), kind


class TestBatteriesAndChargers:
    def test_cells_make_the_volts_of_the_title(self) -> None:
        for battery in _of_kind(Battery):
            title = re.search(r"([\d.]+) V", battery.title)
            assert title is not None, battery.name
            nominal = CHEMISTRIES[battery.chemistry]["voltage_nominal"]["value"]
            assert battery.cells * nominal == pytest.approx(float(title[1]), rel=1e-9), battery.name

    def test_name_tells_cells_strings_and_charge(self) -> None:
        for battery in _of_kind(Battery):
            if cells := re.search(r"-(\d+)s", battery.name):
                assert battery.cells == int(cells[1]), battery.name
            if strings := re.search(r"s(\d+)p-", battery.name):
                assert battery.strings == int(strings[1]), battery.name
            if charge := re.search(r"-(\d+)ah(\d?)$", battery.name):
                ampere_hours = battery.strings * battery.capacity.likely / 3600
                named = float(f"{charge[1]}.{charge[2] or 0}")
                assert ampere_hours == pytest.approx(named, rel=1e-9), battery.name

    def test_weight_fits_the_energy_of_the_chemistry(self) -> None:
        for battery in _of_kind(Battery):
            chemistry = CHEMISTRIES[battery.chemistry]
            volts = battery.cells * chemistry["voltage_nominal"]["value"]
            energy = volts * battery.strings * battery.capacity.likely / 3600
            assert battery.mass is not None
            specific = energy / battery.mass.likely
            span = chemistry["specific_energy"]
            # Small packs carry more case and wire for their energy, large ones less.
            assert 0.8 * span["low"] < specific < 1.2 * span["high"], battery.name

    def test_lithium_packs_have_a_protection_board_and_others_none(self) -> None:
        for battery in _of_kind(Battery):
            limits = (
                battery.protection_continuous,
                battery.protection_trip,
                battery.protection_voltage,
            )
            lithium = battery.chemistry in {"lifepo4", "li-ion-nmc"}
            assert all((limit is not None) == lithium for limit in limits), battery.name

    def test_protection_trips_above_what_it_carries_and_below_a_charged_cell(self) -> None:
        for battery in _of_kind(Battery):
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
        for charger in _of_kind(Charger):
            if charger.made_for == "unknown" or not charger.limits_voltage:
                continue
            cells = _charged_cells(charger.name)
            full = CHEMISTRIES[MADE_FOR[charger.made_for]]["voltage_full_charge"]
            window = (full["low"], full["high"])
            if "float" in charger.name:
                floating = CHEMISTRIES["lead-agm"]["voltage_float"]
                window = (floating["low"], floating["high"])
            per_cell = charger.voltage.likely / cells
            assert 0.99 * window[0] <= per_cell <= 1.01 * window[1], charger.name

    def test_charger_without_limit_can_pass_full_charge(self) -> None:
        unlimited = [part for part in _of_kind(Charger) if not part.limits_voltage]
        assert unlimited
        for charger in unlimited:
            assert charger.voltage.likely > 6 * 2.5, charger.name

    def test_supply_title_names_its_volts(self) -> None:
        for supply in _of_kind(Supply):
            assert f"{supply.voltage.likely:g} V" in supply.title


def _charged_cells(name: str) -> int:
    if cells := re.search(r"-(\d+)s-", name):
        return int(cells[1])
    return 3 if "-6v-" in name else 6


class TestProtection:
    def test_fuse_ratings_are_those_of_the_standards(self) -> None:
        rows = {"blade": "blade", "glass-quick": "tube_quick", "glass-slow": "tube_time_lag"}
        standards = _physics_data("fuses.toml")
        for fuse in _of_kind(Fuse):
            ratings = standards[rows[fuse.type]]["ratings"]
            assert any(math.isclose(fuse.rating.likely, rating) for rating in ratings), fuse.name
            assert fuse.rating.certain

    def test_blade_fuses_from_one_to_thirty_amps_are_all_there(self) -> None:
        blades = [fuse.rating.likely for fuse in _of_kind(Fuse) if fuse.type == "blade"]
        assert blades == [1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30]

    def test_cutoff_closes_well_above_where_it_opens(self) -> None:
        for cutoff in _of_kind(Cutoff):
            if cutoff.on is None:
                assert cutoff.name == "relay-one-threshold"
                continue
            assert cutoff.on.low > cutoff.off.high, cutoff.name

    def test_cutoff_takes_no_more_open_than_closed(self) -> None:
        for cutoff in _of_kind(Cutoff):
            assert cutoff.drain_off.likely <= cutoff.drain_on.likely, cutoff.name

    def test_cutoff_opens_inside_the_useful_volts_of_its_chemistry(self) -> None:
        chemistry_of = {"lead": "lead-agm", "lfp": "lifepo4", "li": "li-ion-nmc", "nimh": "nimh"}
        for cutoff in _of_kind(Cutoff):
            chemistry = chemistry_of.get(cutoff.name.split("-")[0])
            if chemistry is None:
                continue
            cells = _charged_cells(cutoff.name)
            floor = CHEMISTRIES[chemistry]["voltage_floor"]["value"] * cells
            full = CHEMISTRIES[chemistry]["emf"]["volts"][-1] * cells
            assert floor < cutoff.off.likely < full, cutoff.name

    def test_polarity_drop_follows_its_type(self) -> None:
        drops: dict[str, list[float]] = {}
        for part in _of_kind(Polarity):
            assert part.drop is not None
            drops.setdefault(part.type, []).append(part.drop.likely)
        assert max(drops["series-schottky"]) < min(drops["series-silicon"])
        assert max(drops["p-mosfet"]) == max(drops["shunt-diode"]) == 0.0

    def test_relay_pulls_in_above_where_it_lets_go(self) -> None:
        for relay in _of_kind(Relay):
            assert relay.operate.likely > relay.release.likely, relay.name
            if relay.contacts != "latching":
                assert relay.operate.low > relay.release.high, relay.name

    def test_new_relays_keep_the_usual_direct_current_limits(self) -> None:
        # IEC 61810-1 practice, from memory: operate at 75 % or less, release at 10 % or more.
        for relay in _of_kind(Relay):
            if "salvaged" not in relay.name:
                assert relay.operate.high <= 0.75 + 1e-12, relay.name
                assert relay.release.low >= 0.10 - 1e-12, relay.name

    def test_relay_coil_takes_a_believable_power(self) -> None:
        for relay in _of_kind(Relay):
            watts = relay.coil_voltage.likely**2 / relay.coil_resistance.likely
            assert 0.1 < watts < 2.5, relay.name


class TestRails:
    def test_bare_board_stands_no_more_than_its_label(self) -> None:
        for rail in _of_kind(Rail):
            if rail.bare_limit is not None:
                assert rail.bare_limit.likely <= rail.current_limit.likely, rail.name

    def test_input_leaves_room_above_or_below_the_output(self) -> None:
        for rail in _of_kind(Rail):
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
        for rail in _of_kind(Rail):
            named = [float(volts) for volts in re.findall(r"([\d.]+) V", rail.title)]
            assert not named or any(
                abs(volts - rail.voltage.likely) < 0.03 * volts for volts in named
            ), rail.name

    def test_bare_junction_runs_hotter_than_the_case_alone(self) -> None:
        for rail in _of_kind(Rail):
            assert rail.junction_ambient.low > rail.junction_case.high, rail.name


class TestSound:
    def test_receiver_bursts_reach_above_its_average(self) -> None:
        for receiver in _of_kind(Receiver):
            assert receiver.burst.likely >= receiver.current.likely, receiver.name

    def test_open_data_pins_give_the_least_current(self) -> None:
        ports = _of_kind(Usb)
        least_open = [port.current.likely for port in ports if port.data_pins == "open"]
        assert max(least_open) < min(p.current.likely for p in ports if p.data_pins != "open")
        # USB 2.0, from memory: 500 mA at most unless the port says otherwise.
        assert all(port.current.high <= 0.5 for port in ports if port.data_pins == "open")

    def test_gauges_say_for_which_chemistry_they_are_marked(self) -> None:
        for load in _of_kind(Load):
            assert bool(load.shows) == load.name.startswith("meter-bar-"), load.name

    def test_amplifier_limits_are_in_order(self) -> None:
        for amplifier in _of_kind(Amplifier):
            assert amplifier.supply_min.high < amplifier.supply_max.low, amplifier.name
            assert amplifier.claim is not None
            assert amplifier.claim_voltage is not None
            assert amplifier.claim.basis == "claim"
            assert amplifier.claim.likely > 0
            assert amplifier.claim_voltage.likely <= amplifier.supply_max.likely, amplifier.name

    def test_seller_never_claims_less_than_the_board_gives_clean(self) -> None:
        for amplifier in _of_kind(Amplifier):
            clean = _clean_power(amplifier)
            assert amplifier.claim is not None
            assert 0.15 * amplifier.claim.likely < clean < 1.05 * amplifier.claim.likely, (
                amplifier.name
            )

    def test_single_ended_boards_and_only_they_have_an_output_capacitor(self) -> None:
        for amplifier in _of_kind(Amplifier):
            has_one = amplifier.output_capacitor is not None
            assert has_one == (amplifier.topology == "single-ended"), amplifier.name

    def test_name_tells_class_topology_and_channels(self) -> None:
        for amplifier in _of_kind(Amplifier):
            assert amplifier.name.startswith(f"class-{amplifier.amplifier_class.lower()}-")
            assert f"-{amplifier.topology}-" in amplifier.name
            if channels := re.search(r"-(\d)(?:x|ch)", amplifier.name):
                assert amplifier.channels == int(channels[1])
            else:
                assert amplifier.channels == 1

    def test_voice_coil_resistance_is_the_usual_share_of_the_rating(self) -> None:
        # Direct-current ohms seen on many drivers: 0.70 to 0.88 of the rated impedance.
        for driver in _of_kind(Driver):
            assert driver.re is not None
            assert driver.re.low / driver.impedance.likely >= 0.69, driver.name
            assert driver.re.high / driver.impedance.likely <= 0.88, driver.name
            assert f"{driver.impedance.likely:g} Ω" in driver.title
            assert f"-{driver.impedance.likely:g}ohm" in driver.name

    def test_sensitivity_follows_from_resonance_volume_and_q(self) -> None:
        checked = 0
        for driver in _of_kind(Driver):
            if driver.fs is None or driver.vas is None or driver.qes is None:
                continue
            # Small 1972, from memory, with air at 20 °C: η = 4π²/c³ · fs³ Vas/Qes, 112.16 dB for
            # an acoustic watt in half space.
            litres = driver.vas.likely * 1e3
            efficiency = 9.77e-10 * driver.fs.likely**3 * litres / driver.qes.likely
            level = 112.16 + 10 * math.log10(efficiency)
            assert driver.sensitivity is not None
            assert driver.sensitivity.low <= level <= driver.sensitivity.high, driver.name
            # abs in dB: the sheet value is rounded to half a decibel.
            assert driver.sensitivity.likely == pytest.approx(level, abs=0.26), driver.name
            checked += 1
        assert checked >= 20

    @pytest.mark.parametrize(
        ("size", "fs", "litres", "qts", "level"),
        [
            ("3in", (100, 150), (0.5, 1.5), (0.5, 1.0), (82, 86)),
            ("4in", (70, 110), (2, 5), (0.5, 0.9), (84, 88)),
            ("5in", (55, 90), (5, 12), (0.4, 0.9), (86, 89)),
            ("6in5", (45, 80), (10, 25), (0.4, 1.0), (87, 91)),
            ("8in", (35, 60), (25, 60), (0.4, 1.0), (88, 92)),
        ],
    )
    def test_salvage_drivers_keep_the_ranges_of_their_size(
        self,
        size: str,
        fs: tuple[float, float],
        litres: tuple[float, float],
        qts: tuple[float, float],
        level: tuple[float, float],
    ) -> None:
        # Ranges typical of salvage drivers of each size, from memory.
        for ohms in (4, 8):
            driver = DRAWER.part("driver", f"driver-{size}-{ohms}ohm")
            assert isinstance(driver, Driver)
            assert driver.fs is not None
            assert driver.vas is not None
            assert driver.qms is not None
            assert driver.qes is not None
            assert driver.sensitivity is not None
            assert (driver.fs.low, driver.fs.high) == pytest.approx(fs, rel=1e-9)
            assert (driver.vas.low, driver.vas.high) == pytest.approx(
                (litres[0] * 1e-3, litres[1] * 1e-3), rel=1e-9
            )
            total = 1 / (1 / driver.qms.likely + 1 / driver.qes.likely)
            assert qts[0] <= total <= qts[1]
            assert (driver.sensitivity.low, driver.sensitivity.high) == level

    def test_moving_mass_fits_the_cone(self) -> None:
        # Vas = ρ c² Sd² Cms and fs give the moving mass; cones weigh 0.4 to 2 kg per m².
        for driver in _of_kind(Driver):
            if driver.vas is None or driver.sd is None or driver.fs is None:
                continue
            compliance = driver.vas.likely / (1.204 * 343.2**2 * driver.sd.likely**2)
            mass = 1 / ((2 * math.pi * driver.fs.likely) ** 2 * compliance)
            assert 0.4 < mass / driver.sd.likely < 2.0, driver.name

    def test_bigger_drivers_of_a_family_reach_lower_and_move_more_air(self) -> None:
        for family in ("driver", "woofer"):
            drivers = [
                driver
                for driver in _of_kind(Driver)
                if re.fullmatch(family + r"-\d+in\d?-8ohm", driver.name)
            ]
            assert len(drivers) >= 5
            resonances = [driver.fs.likely for driver in drivers if driver.fs is not None]
            moved = [d.sd.likely * d.xmax.likely for d in drivers if d.sd and d.xmax]
            assert resonances == sorted(resonances, reverse=True)
            assert moved == sorted(moved)
            assert len(moved) == len(resonances) == len(drivers)

    def test_tweeters_and_midranges_say_where_they_begin(self) -> None:
        for driver in _of_kind(Driver):
            if driver.band in {"mid", "high"}:
                assert driver.low_end is not None
                assert driver.fs is not None
                assert driver.low_end.likely > driver.fs.likely, driver.name
                assert driver.low_end.likely < driver.high_end.likely, driver.name

    def test_cabinet_title_names_its_litres(self) -> None:
        for cabinet in _of_kind(Cabinet):
            assert cabinet.width is not None
            assert cabinet.height is not None
            assert cabinet.depth is not None
            litres = 1e3 * cabinet.width.likely * cabinet.height.likely * cabinet.depth.likely
            named = re.search(r"(\d+) litres", cabinet.title)
            assert named is not None, cabinet.name
            assert litres == pytest.approx(float(named[1]), rel=0.05), cabinet.name
            assert f"-{named[1]}l" in cabinet.name


def _clean_power(amplifier: Amplifier) -> float:
    """Clean sine watts of the whole board at the claim's supply into its lowest load."""
    assert amplifier.claim_voltage is not None
    share = 1.0 if amplifier.topology == "bridge" else 0.5
    load = amplifier.load_min.likely
    usable = share * (amplifier.claim_voltage.likely - amplifier.voltage_loss.likely)
    peak = usable * load / (load + amplifier.output_resistance.likely)
    if amplifier.current_max is not None:
        peak = min(peak, amplifier.current_max.likely * load)
    return amplifier.channels * peak**2 / (2 * load)


class TestComponents:
    def test_zener_test_current_is_a_quarter_of_a_watt(self) -> None:
        # Rule of the registered one-watt series: Vz · Izt = 0.25 W, currents rounded.
        for zener in _of_kind(Zener):
            assert zener.voltage.likely * zener.test_current.likely == pytest.approx(
                0.25 * zener.power.likely, rel=0.04
            ), zener.name

    def test_zener_knee_is_softer_than_its_test_point(self) -> None:
        for zener in _of_kind(Zener):
            assert zener.knee_slope.likely > zener.slope.likely
            assert zener.knee_current.likely < zener.test_current.likely

    def test_gauge_wire_has_the_area_of_its_gauge(self) -> None:
        # ASTM B258, from memory: d = 0.127 mm · 92^((36 - n)/39).
        gauges = 0
        for wire in _of_kind(Wire):
            if gauge := re.search(r"awg-(\d+)", wire.name):
                diameter = 0.127e-3 * 92 ** ((36 - int(gauge[1])) / 39)
                assert wire.area.likely == pytest.approx(math.pi / 4 * diameter**2, rel=1e-3)
                gauges += 1
        assert gauges >= 8

    def test_metric_wire_has_the_area_of_its_name(self) -> None:
        for wire in _of_kind(Wire):
            if size := re.search(r"-(\d+)(?:-(\d+))?mm2", wire.name):
                named = float(f"{size[1]}.{size[2] or 0}")
                assert wire.area.likely == pytest.approx(named * 1e-6, rel=1e-9), wire.name
            assert wire.temperature_max.low > ZERO_CELSIUS + 50

    def test_transistors_give_what_their_kind_needs(self) -> None:
        for transistor in _of_kind(Transistor):
            bipolar = transistor.type in {"npn", "pnp"}
            assert (transistor.gain is not None) == bipolar, transistor.name
            assert (transistor.threshold is not None) == (not bipolar), transistor.name
            assert (transistor.on_resistance is not None) == (not bipolar), transistor.name

    def test_complementary_pairs_share_their_limits(self) -> None:
        pairs = [("2N3904", "2N3906"), ("BD139", "BD140"), ("TIP31C", "TIP32C")]
        pairs += [("TIP41C", "TIP42C"), ("TIP120", "TIP125"), ("BC337-25", "BC327-25")]
        for left, right in pairs:
            one, other = DRAWER.part("transistor", left), DRAWER.part("transistor", right)
            assert isinstance(one, Transistor)
            assert isinstance(other, Transistor)
            assert one.voltage_max.likely == other.voltage_max.likely
            assert one.current_max.likely == other.current_max.likely
            assert {one.type, other.type} == {"npn", "pnp"}

    def test_schottky_diodes_drop_less_than_silicon(self) -> None:
        diodes = _of_kind(Diode)
        schottky = max(d.drop.likely for d in diodes if d.type == "schottky")
        silicon = min(d.drop.likely for d in diodes if d.type == "silicon")
        assert schottky < silicon < min(d.drop.likely for d in diodes if d.type == "led")

    def test_rectifier_series_climb_in_reverse_volts(self) -> None:
        series = ("1N4001 1N4002 1N4003 1N4004 1N4005 1N4006 1N4007", "1N5817 1N5818 1N5819")
        for names in series:
            volts = [
                part.voltage_reverse.likely
                for part in _of_kind(Diode)
                if part.name in names.split()
            ]
            assert volts == sorted(set(volts))
            assert len(volts) == len(names.split())

    def test_connector_at_its_current_stays_below_a_few_watts(self) -> None:
        for connector in _of_kind(Connector):
            heat = connector.current.likely**2 * connector.resistance.likely
            assert heat < 1.5, connector.name


class TestPagesAndExamples:
    def test_page_prints_the_widths_that_are_used(self) -> None:
        rows = re.findall(r"\| (\w+) \| (\d+) % \| (\d+) % \| (.+) \|", _page("docs/drawer.md"))
        printed = {name: (float(low), float(high), says) for name, low, high, says in rows}
        assert printed == {
            basis.name: (
                pytest.approx(100 * basis.below, rel=1e-9),
                pytest.approx(100 * basis.above, rel=1e-9),
                basis.says,
            )
            for basis in BASES.values()
        }

    def test_page_shows_a_part_as_it_lies_in_the_drawer(self) -> None:
        blocks = re.findall(r"```toml\n(.*?)```", _page("docs/drawer.md"), re.DOTALL)
        shown = tomllib.loads(blocks[0])
        assert shown == {"agm-12v-7ah": DRAWER.tables["battery"]["agm-12v-7ah"]}
        own = DRAWER.with_overlay(tomllib.loads(blocks[2]))
        battery = own.part("battery", "my-old-agm")
        assert isinstance(battery, Battery)
        assert battery.health.basis == "measured"
        driver = own.part("driver", "driver-5in-8ohm")
        assert isinstance(driver, Driver)
        assert driver.fs is not None
        assert (driver.fs.likely, driver.fs.basis) == (78.0, "measured")

    @pytest.mark.parametrize("name", EXAMPLES)
    def test_example_reads_and_hangs_together(self, name: str) -> None:
        build = read_build(ROOT / "examples" / f"{name}.toml")
        assert len(build.story) > 150
        assert len(power_tree(build)) == len(build.fed())

    @pytest.mark.parametrize("name", EXAMPLES[:-1])
    def test_good_example_has_what_keeps_people_and_battery_safe(self, name: str) -> None:
        build = read_build(ROOT / "examples" / f"{name}.toml")
        assert build.battery is not None
        assert build.charger is not None
        assert build.cabinet is not None
        main = build.fuse[0]
        assert main.fed_by == build.battery.name
        assert main.distance is not None
        assert main.distance.high <= 0.3
        assert build.polarity
        assert build.cutoff[0].latching
        assert build.charger.limits_voltage
        assert build.charger.keyed
        assert build.charger.through == main.name
        assert MADE_FOR[build.charger.made_for] == build.battery.chemistry
        assert build.amplifier[0].speaker_negatives == "separate"
        assert all(driver.impedance.likely >= 4 for driver in build.driver)
        assert build.cabinet.electronics_apart

    def test_every_row_of_the_first_attempt_names_a_field_of_its_build(self) -> None:
        build = read_build(ROOT / "examples" / "first-attempt.toml")
        rows = re.findall(r"^\| (?!What|---).*\| ([^|]+) \|$", _page("docs/first-attempt.md"), re.M)
        assert len(rows) >= 18
        for row in rows:
            for field in re.findall(r"`([a-z_.]+)`", row):
                kind, _, key = field.partition(".")
                tables = getattr(build, kind)
                if "*none*" in row:
                    assert tables == (), field
                    continue
                first = tables[0] if isinstance(tables, tuple) else tables
                assert key in type(first).model_fields, field

    def test_first_attempt_holds_its_mistakes(self) -> None:
        build = read_build(ROOT / "examples" / "first-attempt.toml")
        assert build.battery is not None
        assert build.charger is not None
        amplifier, cutoff = build.amplifier[0], build.cutoff[0]
        bass, treble = build.driver
        assert not build.fuse
        assert not build.polarity
        assert build.battery.second_hand
        assert bass.impedance.likely / bass.count < amplifier.load_min.likely
        assert amplifier.topology == "bridge"
        assert amplifier.speaker_negatives == "common"
        assert cutoff.on is not None
        assert cutoff.on.likely == cutoff.off.likely < amplifier.supply_min.likely
        assert (bass.channel, treble.channel, amplifier.input) == ("left", "right", "stereo")
        assert treble.capacitor is not None
        wanted = 1 / (2 * math.pi * 3000 * treble.impedance.likely)
        assert wanted / treble.capacitor.likely == pytest.approx(100, rel=0.1)
        full = CHEMISTRIES[build.battery.chemistry]["voltage_full_charge"]["high"]
        assert build.charger.voltage.likely > build.battery.cells * full
        assert build.load[0].fed_by == build.battery.name
        assert build.load[0].shows != build.battery.chemistry
        assert build.switch[0].rating.high < 2


def _page(path: str) -> str:
    return (ROOT / path).read_text(encoding="utf-8")
