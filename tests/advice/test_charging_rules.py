"""Rules about the charger and about charging."""

from __future__ import annotations

import pytest
from tests.advice.cases import BASE, example, findings, mended, only, with_

RULES = (
    "charger-missing",
    "charger-voltage",
    "charger-chemistry",
    "charger-no-limit",
    "charger-current",
    "charger-while-playing",
    "charger-bypasses-fuse",
    "charger-polarity",
    "gas",
    "lithium-without-board",
    "charge-cold",
)

LITHIUM = with_(
    BASE,
    {
        "battery": {"part": "li-ion-3s2p-6ah"},
        "charger": {"part": "li-ion-3s-2a"},
        "cutoff": {"part": "li-ion-3s-latching"},
    },
    remove=["cutoff.off"],
)
NICKEL = with_(
    BASE,
    {
        "battery": {"part": "nimh-10s-2ah"},
        "charger": {"part": "nimh-10s-0a2"},
        "cutoff": {"part": "nimh-10s-latching"},
    },
    remove=["cutoff.off"],
)


@pytest.mark.parametrize("text", [BASE, LITHIUM, NICKEL])
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
        ("charger-voltage", "stop", "charger", "19.5 V"),
        ("charger-chemistry", "mind", "charger", "14.7 V"),
        ("charger-no-limit", "stop", "charger", "3.4 A"),
        ("charger-current", "mind", "charger", "1.75 A"),
        ("charger-while-playing", "mind", "charger", "3.4 A"),
        ("charger-bypasses-fuse", "stop", "charger", "no fuse"),
        ("charger-polarity", "stop", "charger", "32.4 V"),
        ("gas", "stop", "battery", "hydrogen"),
    ],
)
def test_first_attempt_is_caught(rule: str, level: str, where: str, fragment: str) -> None:
    found = only(rule, example("first-attempt"))
    assert (found.level, found.where) == (level, where)
    assert fragment in found.says
    assert found.numbers


@pytest.mark.parametrize("rule", ["charger-voltage", "charger-chemistry", "charger-no-limit"])
def test_another_charger_mends_the_first_attempt(rule: str) -> None:
    text = example("first-attempt")
    better = mended(text, only(rule, text))
    assert [findings(other, better) for other in RULES[1:5]] == [[], [], [], []]


def test_no_charger_is_minded() -> None:
    text = with_(BASE, remove=["charger"])
    found = only("charger-missing", text)
    assert (found.level, found.where) == ("mind", "battery")
    assert "14.7 V" in found.says
    assert "lead-12v-2a" in found.do
    assert findings("charger-missing", mended(text, found)) == []


def test_throwaway_cells_need_no_charger() -> None:
    text = with_(BASE, {"battery": {"part": "alkaline-8-d"}}, remove=["charger"])
    assert findings("charger-missing", text) == []


@pytest.mark.parametrize(
    ("base", "voltage", "level"),
    [
        (BASE, "15.4 V", "stop"),
        (BASE, "14.9 V", ""),
        (BASE, "13.6 V", ""),
        (BASE, "13.1 V", "mind"),
        (LITHIUM, "12.9 V", "stop"),
        (LITHIUM, "12.65 V", ""),
        (LITHIUM, "11.9 V", "mind"),
    ],
)
def test_window_of_the_end_volts(base: str, voltage: str, level: str) -> None:
    found = findings("charger-voltage", with_(base, {"charger": {"voltage": voltage}}))
    assert [item.level for item in found] == ([level] if level else [])
    assert all(voltage in item.says and item.where == "charger" for item in found)


def test_lead_charger_on_lithium_is_stopped() -> None:
    found = only("charger-chemistry", with_(LITHIUM, {"charger": {"made_for": "lead"}}))
    assert (found.level, found.where) == ("stop", "charger")
    assert "12.6 V" in found.says


def test_charger_on_throwaway_cells_is_stopped() -> None:
    found = only("charger-chemistry", with_(BASE, {"battery": {"part": "alkaline-8-d"}}))
    assert found.level == "stop"
    assert "14.6 V" in found.says


def test_panel_straight_on_the_battery_is_stopped() -> None:
    text = with_(BASE, {"charger": {"part": "solar-20w-direct"}})
    found = only("charger-no-limit", text)
    assert (found.level, found.where) == ("stop", "charger")
    assert "21.5 V" in found.says


@pytest.mark.parametrize(
    ("current", "level", "fragment"),
    [
        ("8 A", "stop", "2.25 A at most"),
        ("3 A", "mind", "2.25 A at most"),
        ("2.2 A", "", ""),
        ("0.3 A", "mind", "36 h"),
    ],
)
def test_charge_current(current: str, level: str, fragment: str) -> None:
    found = findings("charger-current", with_(BASE, {"charger": {"current": current}}))
    assert [item.level for item in found] == ([level] if level else [])
    assert all(fragment in item.says for item in found)


def test_charging_while_playing_runs_down_all_the_same() -> None:
    text = with_(BASE, {"charger": {"while_playing": True, "current": "0.1 A"}})
    found = only("charger-while-playing", text)
    assert (found.level, found.where) == ("mind", "charger")
    assert "100 mA, so the battery still runs down" in found.says
    assert findings("charger-while-playing", mended(text, found)) == []


def test_charging_lead_straight_at_the_battery() -> None:
    text = with_(BASE, remove=["charger.through"])
    found = only("charger-bypasses-fuse", text)
    assert (found.level, found.where) == ("stop", "charger")
    assert found.numbers[0].value > 100.0
    assert findings("charger-bypasses-fuse", mended(text, found)) == []


def test_a_pack_s_own_board_softens_it() -> None:
    found = only("charger-bypasses-fuse", with_(LITHIUM, remove=["charger.through"]))
    assert found.level == "mind"


@pytest.mark.parametrize("through", ["fuse", "switch", "cutoff"])
def test_anything_behind_the_fuse_will_do(through: str) -> None:
    text = with_(BASE, {"charger": {"through": through}})
    assert findings("charger-bypasses-fuse", text) == []


@pytest.mark.parametrize(("remove", "level"), [([], "mind"), (["charger.through"], "stop")])
def test_clips_either_way_round(remove: list[str], level: str) -> None:
    text = with_(BASE, {"charger": {"keyed": False}}, remove=["polarity", *remove])
    found = only("charger-polarity", text)
    assert (found.level, found.where) == (level, "charger")
    assert "27.5 V" in found.says
    assert findings("charger-polarity", mended(text, found)) == []


def test_clips_with_protection_are_quiet() -> None:
    assert findings("charger-polarity", with_(BASE, {"charger": {"keyed": False}})) == []


@pytest.mark.parametrize(
    ("cabinet", "remove", "level"),
    [
        ({"air_holes": False}, ["battery.vented_bay"], "stop"),
        ({"air_holes": False}, ["battery.vented_bay", "charger"], "mind"),
        ({"air_holes": False, "type": "vented"}, ["battery.vented_bay"], "mind"),
        ({"air_holes": False, "type": "open"}, ["battery.vented_bay"], ""),
        ({"air_holes": True}, ["battery.vented_bay"], ""),
        ({"air_holes": False}, [], ""),
    ],
)
def test_gas_needs_a_way_out(cabinet: dict[str, object], remove: list[str], level: str) -> None:
    text = with_(BASE, {"cabinet": cabinet}, remove=remove)
    found = findings("gas", text)
    assert [item.level for item in found] == ([level] if level else [])
    for item in found:
        assert item.where == "battery"
        assert item.numbers[0].shown in item.says
        assert findings("gas", mended(text, item)) == []


def test_lithium_gives_off_no_gas() -> None:
    text = with_(LITHIUM, {"cabinet": {"air_holes": False}}, remove=["battery.vented_bay"])
    assert findings("gas", text) == []


def test_bare_lithium_cells_are_stopped() -> None:
    bare = {"chemistry": "lifepo4", "cells": 4, "capacity": "6 Ah"}
    text = with_(BASE, {"battery": bare}, remove=["battery.part"])
    found = only("lithium-without-board", text)
    assert (found.level, found.where) == ("stop", "battery")
    assert "4 lithium cells" in found.says
    guarded = with_(text, {"battery": {"protection_trip": "20 A"}})
    assert findings("lithium-without-board", guarded) == []


@pytest.mark.parametrize(
    ("coldest", "playing", "level"),
    [("-6 °C", False, "mind"), ("-6 °C", True, "stop"), ("1 °C", True, "")],
)
def test_lithium_in_the_cold(coldest: str, playing: bool, level: str) -> None:
    text = with_(LITHIUM, {"want": {"coldest": coldest}, "charger": {"while_playing": playing}})
    found = findings("charge-cold", text)
    assert [item.level for item in found] == ([level] if level else [])
    assert all(coldest in item.says for item in found)


def test_lead_may_be_charged_in_the_cold() -> None:
    assert findings("charge-cold", with_(BASE, {"want": {"coldest": "-6 °C"}})) == []
