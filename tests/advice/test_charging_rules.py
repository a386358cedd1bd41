"""Rules about charging in the box."""

from __future__ import annotations

import pytest
from tests.advice.cases import BASE, LITHIUM, example, findings, mended, only, with_


@pytest.mark.parametrize(
    ("rule", "level", "where", "fragment"),
    [
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
