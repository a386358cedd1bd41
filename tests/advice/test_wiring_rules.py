"""Rules about fuses, wire, connectors, switches and reversed poles."""

from __future__ import annotations

from typing import Any

import pytest
from tests.advice.cases import BASE, example, findings, mended, only, with_

RULES = (
    "fuse-missing",
    "fuse-too-big",
    "fuse-too-small",
    "fuse-far",
    "wire-thin",
    "wire-drop",
    "wire-unstated",
    "connector-rating",
    "switch-rating",
    "branch-fuse",
    "polarity-missing",
    "polarity-rating",
    "polarity-loss",
)
SUPPLY = with_(BASE, {"supply": {"part": "brick-12v-5a"}}, remove=["battery", "charger", "cutoff"])


@pytest.mark.parametrize("text", [BASE, SUPPLY])
@pytest.mark.parametrize("rule", RULES)
def test_sound_builds_are_left_alone(rule: str, text: str) -> None:
    assert findings(rule, text) == []


@pytest.mark.parametrize("name", ["market-stall", "rowing-launch", "allotment-day"])
@pytest.mark.parametrize("rule", RULES)
def test_good_examples_are_left_alone(rule: str, name: str) -> None:
    assert findings(rule, example(name)) == []


@pytest.mark.parametrize(
    ("rule", "level", "where", "fragment"),
    [
        ("fuse-missing", "stop", "battery", "310 A"),
        ("wire-thin", "stop", "switch", "363 mA"),
        ("wire-drop", "stop", "amplifier", "dB of clean peaks"),
        ("switch-rating", "stop", "switch", "500 mA"),
        ("polarity-missing", "mind", "battery", "12.9 V"),
    ],
)
def test_first_attempt_is_caught(rule: str, level: str, where: str, fragment: str) -> None:
    found = only(rule, example("first-attempt"))
    assert (found.level, found.where) == (level, where)
    assert fragment in found.says
    assert found.numbers


@pytest.mark.parametrize(
    "rule", ["fuse-missing", "wire-thin", "wire-drop", "switch-rating", "polarity-missing"]
)
def test_its_edits_mend_the_first_attempt(rule: str) -> None:
    text = example("first-attempt")
    assert findings(rule, mended(text, only(rule, text))) == []


def test_a_new_fuse_brings_no_new_trouble() -> None:
    text = example("first-attempt")
    better = mended(text, only("fuse-missing", text))
    assert [findings(rule, better) for rule in ("fuse-too-big", "fuse-too-small", "fuse-far")] == [
        [],
        [],
        [],
    ]


def test_part_that_bypasses_the_fuse() -> None:
    gauge = {"name": "gauge", "current": "9 mA", "fed_by": "battery", "lead": "0.5 mm², 0.3 m"}
    found = only("fuse-missing", with_(BASE, {"load": gauge}))
    assert (found.level, found.where) == ("stop", "gauge")
    assert "ahead of gauge" in found.says
    assert found.numbers[0].value > 100.0


def test_cells_too_weak_to_burn_wire_need_no_fuse() -> None:
    text = with_(
        BASE,
        {"battery": {"part": "alkaline-8-aa"}},
        remove=["fuse", "charger", "cutoff"],
    )
    assert findings("fuse-missing", text) == []


@pytest.mark.parametrize(
    ("rating", "lead", "level"),
    [
        ("7.5 A", "1.5 mm², 0.3 m", ""),
        ("15 A", "1.5 mm², 0.3 m", ""),
        ("5 A", "0.5 mm², 0.3 m", ""),
        ("10 A", "0.5 mm², 0.3 m", "mind"),
        ("15 A", "0.5 mm², 0.3 m", "stop"),
        ("2 A", "AWG 26, 0.3 m", "mind"),
        ("5 A", "AWG 26, 0.3 m", "stop"),
    ],
)
def test_fuse_against_the_wire_behind_it(rating: str, lead: str, level: str) -> None:
    edit: dict[str, Any] = {
        "fuse": {"rating": f"{rating} (standard)", "lead": "4 mm², 0.1 m, ring-m5"},
        "polarity": {"lead": "4 mm², 0.1 m"},
        "switch": {"lead": "4 mm², 0.2 m"},
        "cutoff": {"lead": "4 mm², 0.2 m"},
        "rail": {"lead": "4 mm², 0.2 m"},
        "amplifier": {"lead": lead},
    }
    text = with_(BASE, edit)
    found = findings("fuse-too-big", text)
    assert [item.level for item in found] == ([level] if level else [])
    for item in found:
        assert item.where == "fuse"
        assert rating in item.says
        assert "amplifier" in item.says
        assert findings("fuse-too-big", mended(text, item)) == []


def test_wire_behind_a_converter_is_not_the_fuse_s_to_guard() -> None:
    assert findings("fuse-too-big", with_(BASE, {"receiver": {"lead": "AWG 28, 0.2 m"}})) == []


def test_a_second_fuse_guards_its_own_wire() -> None:
    fuses = [
        {"name": "main", "part": "blade-10a", "distance": "10 cm", "lead": "1.5 mm², 0.1 m"},
        {"name": "branch", "part": "blade-1a", "fed_by": "cutoff", "lead": "1.5 mm², 0.1 m"},
    ]
    text = with_(
        BASE,
        {"fuse": fuses, "rail": {"fed_by": "branch", "lead": "AWG 26, 0.2 m"}},
        remove=["fuse", "charger.through"],
    )
    assert findings("fuse-too-big", text) == []
    bare = with_(text, {"rail": {"fed_by": "cutoff"}})
    assert only("fuse-too-big", bare).where == "main"


@pytest.mark.parametrize(("rating", "level"), [("0.4 A", "stop"), ("0.6 A", "mind"), ("1 A", "")])
def test_fuse_that_opens_for_no_reason(rating: str, level: str) -> None:
    text = with_(BASE, {"fuse": {"rating": f"{rating} (standard)"}})
    found = findings("fuse-too-small", text)
    # One ampere holds the half ampere flat out; peaks of 2.7 A tire it.
    assert [item.level for item in found] == ([level] if level else [])
    for item in found:
        assert item.where == "fuse"
        assert item.numbers[2].shown in item.says
        assert findings("fuse-too-small", mended(text, item)) == []


@pytest.mark.parametrize("distance", [None, "0.6 m"])
def test_fuse_far_from_the_battery(distance: str | None) -> None:
    text = with_(BASE, remove=["fuse.distance"])
    if distance:
        text = with_(text, {"fuse": {"distance": distance}})
    found = only("fuse-far", text)
    assert (found.level, found.where) == ("mind", "fuse")
    assert (distance or "unknown") in found.says
    assert "0.3 m" in found.says
    assert findings("fuse-far", mended(text, found)) == []


def test_fuse_within_reach_is_quiet() -> None:
    assert findings("fuse-far", with_(BASE, {"fuse": {"distance": "0.3 m"}})) == []


@pytest.mark.parametrize(
    ("lead", "level"),
    [("AWG 30, 0.1 m", "mind"), ("AWG 26, 0.1 m", "mind"), ("AWG 22, 0.1 m", "")],
)
def test_wire_thin_for_its_current(lead: str, level: str) -> None:
    text = with_(BASE, {"amplifier": {"lead": lead}})
    found = findings("wire-thin", text)
    assert [item.level for item in found] == ([level] if level else [])
    for item in found:
        assert item.where == "amplifier"
        assert lead.split(",")[0] in item.says
        assert findings("wire-thin", mended(text, item)) == []


@pytest.mark.parametrize(
    ("lead", "level"),
    [("0.5 mm², 1 m", ""), ("AWG 26, 2.5 m", "mind"), ("AWG 26, 10 m", "stop")],
)
def test_volts_lost_on_the_way(lead: str, level: str) -> None:
    text = with_(BASE, {"amplifier": {"lead": lead}})
    found = findings("wire-drop", text)
    assert [item.level for item in found] == ([level] if level else [])
    for item in found:
        assert item.where == "amplifier"
        assert item.numbers[0].shown in item.says
        assert findings("wire-drop", mended(text, item)) == []


def test_leads_left_out_are_minded_once() -> None:
    found = only("wire-unstated", with_(BASE, remove=["switch.lead", "amplifier.lead"]))
    assert (found.level, found.where) == ("mind", "switch")
    assert "switch, amplifier" in found.says
    assert "0.5 mm²" in found.says


def test_side_lead_left_out_is_quiet() -> None:
    assert findings("wire-unstated", with_(BASE, remove=["receiver.lead"])) == []


@pytest.mark.parametrize(
    ("plug", "level"),
    [("phone-jack-3mm5", "stop"), ("pin-header-2mm54", ""), ("my-own-plug", "")],
)
def test_connector_against_its_current(plug: str, level: str) -> None:
    text = with_(BASE, {"amplifier": {"lead": f"1.5 mm², 0.3 m, {plug}"}})
    found = findings("connector-rating", with_(text, {"want": {"level": "96 dB(A) at 4 m"}}))
    assert [item.level for item in found] == ([level] if level else [])
    assert all(item.where == "amplifier" and "500 mA" in item.says for item in found)


@pytest.mark.parametrize(
    ("rating", "level"),
    [("0.2 A (measured)", "stop"), ("0.6 A [0.4 to 5]", "mind"), ("3 A (measured)", "")],
)
def test_switch_against_its_current(rating: str, level: str) -> None:
    text = with_(BASE, {"switch": {"rating": rating}})
    found = findings("switch-rating", text)
    assert [item.level for item in found] == ([level] if level else [])
    for item in found:
        assert item.where == "switch"
        assert item.numbers[2].shown in item.says
        assert findings("switch-rating", mended(text, item)) == []


def test_lamp_on_the_amplifier_s_fuse() -> None:
    lamp = {"name": "lamp", "part": "lamp-led-3w", "lead": "0.5 mm², 1.5 m"}
    found = only("branch-fuse", with_(BASE, {"load": lamp}))
    assert (found.level, found.where) == ("mind", "lamp")
    assert "5 A" in found.says
    assert "1 A" in found.do


@pytest.mark.parametrize(
    "edit",
    [
        {"load": {"name": "lamp", "part": "lamp-led-3w", "lead": "1 mm², 1.5 m"}},
        {"load": {"name": "gauge", "part": "meter-bar-lead", "lead": "0.5 mm², 0.2 m"}},
        {
            "load": {"name": "lamp", "part": "lamp-led-3w", "lead": "0.5 mm², 1.5 m"},
            "fuse": {"rating": "3 A"},
        },
    ],
)
def test_stout_or_inner_branches_are_quiet(edit: dict[str, Any]) -> None:
    assert findings("branch-fuse", with_(BASE, edit)) == []


def test_spade_without_protection() -> None:
    text = with_(BASE, remove=["polarity"])
    found = only("polarity-missing", text)
    assert (found.level, found.where) == ("mind", "battery")
    assert "spade-6mm3" in found.says
    assert "12.9 V" in found.says
    assert findings("polarity-missing", mended(text, found)) == []


def test_keyed_plugs_need_no_protection() -> None:
    text = with_(BASE, {"fuse": {"lead": "1.5 mm², 0.1 m, flat-two-pin-30a"}}, ["polarity"])
    assert findings("polarity-missing", text) == []
    clips = with_(text, {"charger": {"keyed": False}})
    assert "charging plug" in only("polarity-missing", clips).says


@pytest.mark.parametrize(
    ("edit", "level", "fragment"),
    [
        ({"type": "series-schottky", "rating": "0.3 A (standard)"}, "stop", "300 mA"),
        ({"type": "p-mosfet", "rating": "2 A (standard)"}, "mind", "2 A"),
        ({"type": "shunt-diode", "rating": "3 A (standard)"}, "mind", "a fuse of 5 A"),
        ({"type": "shunt-diode", "rating": "6 A (standard)"}, "", ""),
    ],
)
def test_protection_against_its_current(edit: dict[str, str], level: str, fragment: str) -> None:
    found = findings("polarity-rating", with_(BASE, {"polarity": edit}, ["polarity.part"]))
    assert [item.level for item in found] == ([level] if level else [])
    assert all(item.where == "polarity" and fragment in item.says for item in found)


def test_shunt_diode_without_a_fuse_protects_nothing() -> None:
    text = with_(BASE, {"polarity": {"part": "shunt-diode-6a"}}, ["fuse", "charger.through"])
    found = only("polarity-rating", text)
    assert found.level == "stop"
    assert "no fuse" in found.says


def test_series_diode_that_costs_loudness() -> None:
    found = only("polarity-loss", with_(BASE, {"polarity": {"part": "series-silicon-3a"}}))
    assert (found.level, found.where) == ("mind", "polarity")
    assert "0.6 dB" in found.says
    text = with_(BASE, {"polarity": {"part": "series-schottky-5a"}})
    assert findings("polarity-loss", text) == []
