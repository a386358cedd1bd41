"""Receivers, amplifiers, drivers and cabinets of the drawer: physically possible, and as named."""

from __future__ import annotations

import math
import re

import pytest
from tests.build.drawer_parts import DRAWER, of_kind

from boomwright.build.audio import Amplifier, Cabinet, Driver, Receiver
from boomwright.build.power import Load, Usb


class TestSound:
    def test_receiver_bursts_reach_above_its_average(self) -> None:
        for receiver in of_kind(Receiver):
            assert receiver.burst.likely >= receiver.current.likely, receiver.name

    def test_open_data_pins_give_the_least_current(self) -> None:
        ports = of_kind(Usb)
        least_open = [port.current.likely for port in ports if port.data_pins == "open"]
        assert max(least_open) < min(p.current.likely for p in ports if p.data_pins != "open")
        # USB 2.0, from memory: 500 mA at most unless the port says otherwise.
        assert all(port.current.high <= 0.5 for port in ports if port.data_pins == "open")

    def test_gauges_say_for_which_chemistry_they_are_marked(self) -> None:
        for load in of_kind(Load):
            assert bool(load.shows) == load.name.startswith("meter-bar-"), load.name

    def test_amplifier_limits_are_in_order(self) -> None:
        for amplifier in of_kind(Amplifier):
            assert amplifier.supply_min.high < amplifier.supply_max.low, amplifier.name
            assert amplifier.claim is not None
            assert amplifier.claim_voltage is not None
            assert amplifier.claim.basis == "claim"
            assert amplifier.claim.likely > 0
            assert amplifier.claim_voltage.likely <= amplifier.supply_max.likely, amplifier.name

    def test_seller_never_claims_less_than_the_board_gives_clean(self) -> None:
        for amplifier in of_kind(Amplifier):
            clean = _clean_power(amplifier)
            assert amplifier.claim is not None
            assert 0.15 * amplifier.claim.likely < clean < 1.05 * amplifier.claim.likely, (
                amplifier.name
            )

    def test_single_ended_boards_and_only_they_have_an_output_capacitor(self) -> None:
        for amplifier in of_kind(Amplifier):
            has_one = amplifier.output_capacitor is not None
            assert has_one == (amplifier.topology == "single-ended"), amplifier.name

    def test_name_tells_class_topology_and_channels(self) -> None:
        for amplifier in of_kind(Amplifier):
            assert amplifier.name.startswith(f"class-{amplifier.amplifier_class.lower()}-")
            assert f"-{amplifier.topology}-" in amplifier.name
            if channels := re.search(r"-(\d)(?:x|ch)", amplifier.name):
                assert amplifier.channels == int(channels[1])
            else:
                assert amplifier.channels == 1

    def test_voice_coil_resistance_is_the_usual_share_of_the_rating(self) -> None:
        # Direct-current ohms seen on many drivers: 0.70 to 0.88 of the rated impedance.
        for driver in of_kind(Driver):
            assert driver.re is not None
            assert driver.re.low / driver.impedance.likely >= 0.69, driver.name
            assert driver.re.high / driver.impedance.likely <= 0.88, driver.name
            assert f"{driver.impedance.likely:g} Ω" in driver.title
            assert f"-{driver.impedance.likely:g}ohm" in driver.name

    def test_sensitivity_follows_from_resonance_volume_and_q(self) -> None:
        checked = 0
        for driver in of_kind(Driver):
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
        for driver in of_kind(Driver):
            if driver.vas is None or driver.sd is None or driver.fs is None:
                continue
            compliance = driver.vas.likely / (1.204 * 343.2**2 * driver.sd.likely**2)
            mass = 1 / ((2 * math.pi * driver.fs.likely) ** 2 * compliance)
            assert 0.4 < mass / driver.sd.likely < 2.0, driver.name

    def test_bigger_drivers_of_a_family_reach_lower_and_move_more_air(self) -> None:
        for family in ("driver", "woofer"):
            drivers = [
                driver
                for driver in of_kind(Driver)
                if re.fullmatch(family + r"-\d+in\d?-8ohm", driver.name)
            ]
            assert len(drivers) >= 5
            resonances = [driver.fs.likely for driver in drivers if driver.fs is not None]
            moved = [d.sd.likely * d.xmax.likely for d in drivers if d.sd and d.xmax]
            assert resonances == sorted(resonances, reverse=True)
            assert moved == sorted(moved)
            assert len(moved) == len(resonances) == len(drivers)

    def test_tweeters_and_midranges_say_where_they_begin(self) -> None:
        for driver in of_kind(Driver):
            if driver.band in {"mid", "high"}:
                assert driver.low_end is not None
                assert driver.fs is not None
                assert driver.low_end.likely > driver.fs.likely, driver.name
                assert driver.low_end.likely < driver.high_end.likely, driver.name

    def test_cabinet_title_names_its_litres(self) -> None:
        for cabinet in of_kind(Cabinet):
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
