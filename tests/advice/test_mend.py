"""A fix written into a file: new parts where they belong, all else as it was."""

from __future__ import annotations

import random
import tomllib
from typing import Any

import pytest
from tests.advice.cases import BASE, with_
from tests.advice.mending import DRAWER, GAUGE

from boomwright.advice.finding import Change, Fix
from boomwright.advice.mend import mended_text
from boomwright.build.read import parse_build
from boomwright.errors import BuildFileError


def feeds(text: str) -> dict[str, str]:
    build = parse_build(text, drawer=DRAWER)
    return {part.name: part.fed_by for _, part in build.fed()}


def put_in(text: str, *changes: Change) -> str:
    return mended_text(text, Fix("so", changes), drawer=DRAWER, file="box.toml")


SHORT = """\
name = "Short"

[battery]
part = "agm-12v-7ah"

[load]
name = "gauge"
part = "meter-bar-lead"
fed_by = "battery"

[amplifier]
part = "class-ab-bridge-2x20"

[driver]
part = "driver-5in-8ohm"
"""


@pytest.mark.parametrize(
    ("kind", "part", "feed", "behind"),
    [
        ("fuse", "blade-5a", "battery", {"polarity", "gauge"}),
        ("polarity", "p-mosfet-10a", "fuse", {"switch"}),
        ("switch", "rocker-automotive", "polarity", {"cutoff"}),
        ("cutoff", "lead-12v-latching", "switch", {"rail", "amplifier"}),
    ],
)
def test_new_part_of_the_chain_takes_its_usual_place(
    kind: str, part: str, feed: str, behind: set[str]
) -> None:
    text = with_(BASE, {"load": GAUGE}, remove=[kind, "charger.through"])
    before = feeds(text)
    after = feeds(put_in(text, Change(kind, "part", part, kind=kind)))
    assert after.pop(kind) == feed
    assert {name for name, source in after.items() if source == kind} == behind
    assert {name: after[name] for name in after if name not in behind} == {
        name: before[name] for name in before if name not in behind
    }


def test_chain_grows_in_any_order() -> None:
    parts = {
        "fuse": "blade-5a",
        "polarity": "p-mosfet-10a",
        "switch": "rocker-automotive",
        "cutoff": "lead-12v-latching",
    }
    for seed in range(12):
        text, kinds = SHORT, list(parts)
        random.Random(seed).shuffle(kinds)
        for kind in kinds:
            text = put_in(text, Change(kind, "part", parts[kind], kind=kind))
        after = feeds(text)
        assert after["fuse"] == "battery"
        assert after["polarity"] == "fuse"
        assert after["switch"] == "polarity"
        assert after["cutoff"] == "switch"
        assert after["amplifier"] == "cutoff"
        tables = [line for line in text.split("\n") if line.startswith("[")]
        assert tables[1:5] == ["[fuse]", "[polarity]", "[switch]", "[cutoff]"]


def test_fix_that_says_what_the_new_part_feeds_is_followed() -> None:
    text = with_(BASE, {"load": {**GAUGE, "fed_by": "cutoff"}})
    mended = put_in(
        text,
        Change("gauge fuse", "rating", "1 A", kind="fuse"),
        Change("gauge", "fed_by", "gauge fuse"),
    )
    after = feeds(mended)
    assert (after["gauge"], after["gauge fuse"], after["fuse"]) == (
        "gauge fuse",
        "cutoff",
        "battery",
    )
    assert [table.get("name", "") for table in tomllib.loads(mended)["fuse"]] == ["", "gauge fuse"]


def test_new_rail_takes_nobody_along() -> None:
    text = with_(BASE, {"load": GAUGE}, remove=["rail"])
    before = feeds(text)
    after = feeds(put_in(text, Change("five", "part", "buck-1a-small", kind="rail")))
    assert after.pop("five") == "cutoff"
    assert after == before


def test_new_amplifier_leaves_the_drivers_where_they_were() -> None:
    mended = put_in(BASE, Change("bass", "part", "class-ab-bridge-2x20", kind="amplifier"))
    build = parse_build(mended, drawer=DRAWER)
    assert [board.name for board in build.amplifier] == ["amplifier", "bass"]
    assert [driver.amplifier for driver in build.driver] == ["amplifier"]


def test_name_that_another_kind_has_is_not_taken() -> None:
    text = SHORT.replace('"gauge"', '"fuse"')
    mended = put_in(
        text,
        Change("fuse", "rating", "5 A", kind="fuse"),
        Change("amplifier", "fed_by", "fuse"),
    )
    build = parse_build(mended, drawer=DRAWER)
    assert [fuse.name for fuse in build.fuse] == ["fuse-2"]
    assert build.load[0].name == "fuse"


def test_feed_that_is_usual_is_not_written_out() -> None:
    mended = put_in(
        SHORT,
        Change("fuse", "rating", "5 A", kind="fuse"),
        Change("amplifier", "fed_by", "fuse"),
        Change("gauge", "fed_by", "fuse"),
    )
    values = tomllib.loads(mended)
    assert "fed_by" not in values["amplifier"]
    assert values["load"]["fed_by"] == "fuse"


def test_other_part_takes_along_what_was_said_of_the_old_one() -> None:
    text = with_(BASE, {"switch": {"rating": "2 A", "resistance": "30 mΩ", "mass": "9 g"}})
    values = tomllib.loads(put_in(text, Change("switch", "part", "toggle-large")))["switch"]
    assert values == {"part": "toggle-large", "lead": "1.5 mm², 0.2 m"}
    again = tomllib.loads(put_in(text, Change("switch", "part", "rocker-automotive")))["switch"]
    assert again["rating"] == "2 A"


def test_values_keep_their_kind() -> None:
    changes: tuple[tuple[str, str, Any], ...] = (
        ("charger", "keyed", True),
        ("driver", "count", 4),
        ("fuse", "rating", "7.5 A"),
        ("want", "hours", "3 h"),
        ("cabinet", "leaks", None),
        ("cabinet", "title", None),
    )
    values = tomllib.loads(put_in(BASE, *(Change(*change) for change in changes)))
    assert values["charger"]["keyed"] is True
    assert values["driver"]["count"] == 4
    assert values["fuse"]["rating"] == "7.5 A"
    assert values["want"]["hours"] == "3 h"
    assert "leaks" not in values["cabinet"]


def test_wish_is_written_where_there_is_none() -> None:
    assert tomllib.loads(put_in(SHORT, Change("want", "hours", "3 h")))["want"] == {"hours": "3 h"}


def test_line_ends_are_kept() -> None:
    mended = put_in(SHORT.replace("\n", "\r\n"), Change("fuse", "rating", "5 A", kind="fuse"))
    assert mended.count("\r\n") == mended.count("\n") > SHORT.count("\n")


def test_part_that_is_not_there_is_said() -> None:
    with pytest.raises(BuildFileError, match=r"box\.toml: no such part to mend; read 'amplifer'"):
        put_in(SHORT, Change("amplifer", "input", "sum"))


def test_dotted_tables_that_cannot_grow_are_said() -> None:
    text = SHORT.replace("[load]", "[rail]\npart = 'buck-1a-small'\n[load]")
    text = f"fuse.rating = '5 A'\n{text}"
    with pytest.raises(BuildFileError, match="dotted keys"):
        put_in(text, Change("second", "rating", "5 A", kind="fuse"))
