"""The parts drawer: every part readable, sourced, and shown by its page as it is."""

from __future__ import annotations

import re
import tomllib

import pytest
from tests.build.drawer_parts import DRAWER, page

from boomwright.build.audio import Driver
from boomwright.build.drawer import DRAWER_KINDS
from boomwright.build.power import Battery, Named
from boomwright.build.quantities import BASES, Quantity

ALL = [(kind, name) for kind in DRAWER_KINDS for name in DRAWER.names(kind)]
REGISTERED_TYPE = re.compile(r"1N\d{3,4}A?|2N\d{4}A?|BC\d{3}(B|-\d{2})|BD\d{3}|TIP\d{2,3}C?")
PLAIN_NAME = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


def _quantities(part: Named) -> dict[str, Quantity]:
    fields = {key: getattr(part, key) for key in type(part).model_fields}
    return {key: value for key, value in fields.items() if isinstance(value, Quantity)}


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


class TestPage:
    def test_page_prints_the_widths_that_are_used(self) -> None:
        rows = re.findall(r"\| (\w+) \| (\d+) % \| (\d+) % \| (.+) \|", page("docs/drawer.md"))
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
        blocks = re.findall(r"```toml\n(.*?)```", page("docs/drawer.md"), re.DOTALL)
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
