"""The builds in ``examples``: sound where they should be, with the mistakes they tell of."""

from __future__ import annotations

import math
import re

import pytest
from tests.build.drawer_parts import CHEMISTRIES, MADE_FOR, ROOT, page

from boomwright.build.read import read_build
from boomwright.build.tree import power_tree

EXAMPLES = ("market-stall", "rowing-launch", "allotment-day", "choir-rehearsal", "first-attempt")


class TestExamples:
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
        rows = re.findall(r"^\| (?!What|---).*\| ([^|]+) \|$", page("docs/first-attempt.md"), re.M)
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
