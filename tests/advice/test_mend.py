"""Every fix mends its finding, keeps the comments, and puts new parts where they belong."""

from __future__ import annotations

import random
import tomllib
from functools import cache
from typing import Any

import pytest
from tests.advice.cases import BASE, LITHIUM, SUPPLY, example, with_

from boomwright.advice.effects import Effect, effect_between, likely_verdict, place_of
from boomwright.advice.finding import Change, Finding, Fix
from boomwright.advice.judge import Verdict
from boomwright.advice.mend import mended_text
from boomwright.advice.rules import Case, all_rules
from boomwright.advice.safe import mend_safely
from boomwright.build.drawer import load_drawer
from boomwright.build.locate import line_numbers
from boomwright.build.read import parse_build
from boomwright.errors import BuildFileError
from boomwright.outcome.run import run_build

FIRST = example("first-attempt")
DRAWER = load_drawer()
RULES = {rule.id: rule for rule in all_rules()}
VERSIONS = 8
"""Versions enough for a range; what is right is tested with more where the rules are tested."""

SINGLE = {
    "amplifier_class": "AB",
    "topology": "single-ended",
    "input": "sum",
    "supply_min": "7 V (standard)",
    "supply_max": "19 V (standard)",
    "load_min": "4 Ω (standard)",
    "lead": "1.5 mm², 0.3 m",
}
PORT = {"part": "usb-a-shorted", "current": "1 A (standard)", "lead": "0.75 mm², 0.2 m"}
STOUT = {
    "fuse": {"rating": "10 A (standard)", "lead": "4 mm², 0.1 m, ring-m5"},
    **{kind: {"lead": "4 mm², 0.2 m"} for kind in ("polarity", "switch", "cutoff", "rail")},
    "amplifier": {"lead": "0.5 mm², 0.3 m"},
}
RAILS = [{"name": "low", "part": "buck-1a-small"}]
HIGH = {"name": "high", "part": "boost-5a-sink", "voltage": "24 V (standard)"}
GAUGE = {"name": "gauge", "current": "9 mA", "fed_by": "battery", "lead": "0.5 mm², 0.3 m"}

IN_FIRST_ATTEMPT = (
    *("bridge-negatives-joined", "supply-capacitor-small", "hours-short", "charger-voltage"),
    *("charger-chemistry", "charger-no-limit", "charger-current", "charger-while-playing"),
    *("charger-polarity", "gas", "cutoff-too-low", "cutoff-chatters", "load-too-low"),
    *("tweeter-capacitor", "tweeter-capacitor-polarised", "fuse-missing", "level-not-reached"),
    *("hearing", "polarity-missing", "linear-cooks", "linear-capacitors", "shared-negative"),
    *("gain-mismatch", "one-channel-band", "meter-chemistry", "shelf-drain", "usb-data-pins"),
    *("wire-thin", "wire-drop", "switch-rating", "rail-overloaded"),
)
"""Rules whose fix is tried on the first attempt."""

FIRES = {
    "outputs-joined": with_(BASE, {"amplifier": {"use": "paralleled"}}),
    "output-capacitor": with_(BASE, {"amplifier": [SINGLE]}),
    "mute-missing": with_(BASE, {"amplifier": [{**SINGLE, "output_capacitor": "1000 µF"}]}),
    "amplifier-rail-volts": with_(
        BASE,
        {
            "rail": [*RAILS, HIGH],
            "receiver": {"fed_by": "low"},
            "amplifier": {"fed_by": "high"},
        },
    ),
    "protection-board-trips": with_(LITHIUM, {"battery": {"protection_trip": "2 A (measured)"}}),
    "supply-current-limit": with_(SUPPLY, {"supply": {"current_limit": "0.3 A [0.28 to 0.32]"}}),
    "battery-overloaded": with_(BASE, {"battery": {"capacity": "0.4 Ah"}}),
    "box-too-small": with_(
        BASE,
        {"cabinet": {"volume": "3 L (standard)"}, "driver": {"volume_taken": "0.4 L (standard)"}},
        remove=["cabinet.part", "cabinet.air_holes"],
    ),
    "box-leaks": with_(BASE, {"cabinet": {"leaks": "leaky"}}),
    "charger-missing": with_(BASE, remove=["charger"]),
    "charger-bypasses-fuse": with_(BASE, remove=["charger.through"]),
    "cutoff-missing": with_(BASE, remove=["cutoff"]),
    "cutoff-missing at the amplifier": with_(BASE, {"amplifier": {"fed_by": "switch"}}),
    "cutoff-too-high": with_(LITHIUM, {"cutoff": {"off": "11.1 V (measured)"}}),
    "cutoff-on-above-full": with_(
        BASE,
        {"cutoff": {"part": "lead-12v-transistor", "on": "15 V (measured)"}},
        remove=["cutoff.off"],
    ),
    "cutoff-bass-dip": with_(
        BASE,
        {"battery": {"resistance": "0.9 Ω (measured)"}, "cutoff": {"delay": "0 s (standard)"}},
    ),
    "cutoff-rating": with_(
        BASE, {"cutoff": {"part": "relay-one-threshold", "rating": "0.4 A (standard)"}}
    ),
    "cutoff-drains": with_(
        BASE, {"cutoff": {"part": "relay-one-threshold", "on": "12.6 V (measured)"}}
    ),
    "fuse-missing at a branch": with_(BASE, {"load": GAUGE}),
    "fuse-too-big": with_(BASE, STOUT),
    "fuse-too-small": with_(BASE, {"fuse": {"rating": "0.4 A (standard)"}}),
    "fuse-far": with_(BASE, remove=["fuse.distance"]),
    "branch-fuse": with_(
        BASE, {"load": {"name": "lamp", "part": "lamp-led-3w", "lead": "0.5 mm², 1.5 m"}}
    ),
    "amplifier-cooks": with_(BASE, {"amplifier": {"sink": "40 K/W (standard)"}}),
    "touch-hot": with_(BASE, {"amplifier": {"sink": "9 K/W (standard)"}}),
    "level-fades": with_(BASE, {"want": {"level": "75.33 dB(A) at 2 m"}}),
    "polarity-rating": with_(
        BASE,
        {"polarity": {"type": "series-schottky", "rating": "0.3 A (standard)"}},
        remove=["polarity.part"],
    ),
    "polarity-loss": with_(BASE, {"polarity": {"part": "series-silicon-3a"}}),
    "rail-wasteful": with_(
        BASE,
        {
            "rail": {"part": "regulator-7805", "capacitors": True},
            "receiver": {"current": "100 mA (standard)"},
        },
    ),
    "receiver-voltage": with_(BASE, {"receiver": {"fed_by": "cutoff"}}),
    "receiver-voltage with no rail": with_(BASE, remove=["rail"]),
    "switch-missing": with_(BASE, remove=["switch"]),
    "shelf-drain with no switch": with_(
        BASE, {"want": {"shelf": "300 d"}, "amplifier": {"off_current": "30 mA"}}, ["switch"]
    ),
    "usb-voltage": with_(
        BASE, {"rail": {"part": "buck-3a-synchronous"}, "usb": {**PORT, "lead": "AWG 26, 1.5 m"}}
    ),
    "usb-current-promise": with_(
        BASE,
        {"rail": {"part": "buck-3a-synchronous"}, "usb": {**PORT, "current": "2 A (standard)"}},
    ),
    "usb-not-behind-cutoff": with_(
        BASE,
        {
            "rail": [
                {"name": "quiet", "part": "buck-1a-small"},
                {"name": "phone", "part": "buck-3a-synchronous", "fed_by": "switch"},
            ],
            "receiver": {"fed_by": "quiet"},
            "usb": {**PORT, "fed_by": "phone"},
        },
    ),
    "connector-rating": with_(
        BASE,
        {
            "want": {"level": "96 dB(A) at 4 m"},
            "amplifier": {"lead": "1.5 mm², 0.3 m, phone-jack-3mm5"},
        },
    ),
    "things-do-not-fit": with_(
        BASE, {"cabinet": {"volume": "3 L"}}, remove=["cabinet.part", "cabinet.electronics_apart"]
    ),
    **dict.fromkeys(IN_FIRST_ATTEMPT, FIRST),
}
"""A build for every rule with a fix; what follows the id tells apart two fixes of one rule."""


def commented(text: str) -> str:
    """A build file's text with a comment above every table and behind every value of one line."""
    rows = text.split("\n")
    for line in sorted(set(line_numbers(text).values()), reverse=True):
        row = rows[line - 1]
        if row.startswith("["):
            rows.insert(line - 1, f"# above line {line}")
        elif row.count('"') != 3:
            rows[line - 1] = f"{row}  # behind line {line}"
    return "\n".join(rows)


@cache
def case_of(text: str) -> Case:
    build = parse_build(text, drawer=DRAWER)
    return Case(build, run_build(build, versions=VERSIONS), DRAWER)


def found(rule: str, text: str) -> list[Finding]:
    return RULES[rule].findings(case_of(text))


def remarks(text: str) -> list[str]:
    return [word for word in text.replace("\n", "  ").split("  ") if word.startswith("# ")]


@pytest.mark.parametrize("name", FIRES)
def test_fix_mends_its_finding_and_keeps_the_comments(name: str) -> None:
    rule, text = name.split()[0], commented(FIRES[name])
    mendable = [finding for finding in found(rule, text) if finding.fix is not None]
    assert mendable, "the case does not fire, or offers no fix"
    for finding in mendable[:2]:
        assert finding.fix is not None
        mended = mended_text(text, finding.fix, drawer=DRAWER)
        after = found(rule, mended)
        gone = sum(item.where == finding.where for item in found(rule, text)) - sum(
            item.where == finding.where for item in after
        )
        assert gone >= 1, [item.says for item in after]
        assert sorted(remarks(mended)) == sorted(remarks(text))
        assert len(remarks(text)) > 40


def test_how_many_rules_mend() -> None:
    mending = {name.split()[0] for name in FIRES}
    assert len(mending) >= 60
    assert mending <= set(RULES)


def test_no_other_rule_offers_a_fix_on_these_builds() -> None:
    mending = {name.split()[0] for name in FIRES}
    others = [rule for rule in all_rules() if rule.id not in mending | SOMETIMES]
    offered = {
        rule.id
        for text in {commented(text) for text in FIRES.values()}
        for rule in others
        if any(finding.fix for finding in rule.findings(case_of(text)))
    }
    assert offered == set()


SOMETIMES = {"box-hot", "plastic-soft"}
"""Rules whose fix helps without being sure to be enough."""


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


def judged(text: str) -> Verdict:
    return likely_verdict(text, drawer=DRAWER)


RESTS = {
    "claim-hollow",
    "battery-second-hand",
    "box-too-small",
    "off-by-button",
    "usb-eats-hours",
}
"""What no edit mends in it: a claim, an unknown battery, a box, a button, a phone."""


def test_all_safe_leaves_only_what_no_edit_mends() -> None:
    result = mend_safely(FIRST, judged=judged, drawer=DRAWER)
    assert result.verdict.level == "mind"
    assert {left.finding.id for left in result.left} == RESTS
    assert all(left.finding.fix is None for left in result.left)
    assert {left.why for left in result.left} == {"no edit mends it"}
    assert not any(item.effect.stops for item in result.done)
    assert all(item.effect.mends(item.finding) for item in result.done)
    assert tomllib.loads(result.text)["want"]["hours"] == "12 h", "the wish went before the parts"
    assert judged(result.text).findings == result.verdict.findings


@pytest.mark.parametrize("seed", range(5))
def test_single_fixes_in_any_order(seed: int) -> None:
    """Each fix by itself, in a random order, new ones at the end, until none is left."""
    chance, text, verdict = random.Random(seed), FIRST, judged(FIRST)
    named: set[str] = {finding.id for finding in verdict.findings if finding.level == "stop"}
    times: dict[tuple[str, str], int] = {}
    for _ in range(45):
        ready = [
            finding
            for finding in verdict.findings
            if finding.fix and times.get(place_of(finding), 0) < 3
        ]
        if not ready:
            break
        finding = chance.choice(ready)
        assert finding.fix is not None
        times[place_of(finding)] = times.get(place_of(finding), 0) + 1
        text = mended_text(text, finding.fix, drawer=DRAWER)
        after = judged(text)
        effect: Effect = effect_between(verdict, after)
        named |= {stop.id for stop in effect.stops}
        stops = {finding.id for finding in after.findings if finding.level == "stop"}
        assert stops <= named, "a stop came that the effect did not name"
        verdict = after
    left = [finding for finding in verdict.findings if finding.level != "fine"]
    assert {finding.id for finding in left} <= RESTS
    assert not [finding.id for finding in left if finding.fix is not None]
    assert not [finding.id for finding in verdict.findings if finding.level == "stop"]
