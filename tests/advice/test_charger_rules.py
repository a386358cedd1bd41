"""Rules about the charger."""

from __future__ import annotations

import pytest
from tests.advice.cases import BASE, LITHIUM, example, findings, mended, only, with_


@pytest.mark.parametrize(
    ("rule", "level", "fragment"),
    [
        ("charger-voltage", "stop", "19.5 V"),
        ("charger-chemistry", "mind", "14.7 V"),
        ("charger-no-limit", "stop", "3.4 A"),
        ("charger-current", "mind", "1.75 A"),
    ],
)
def test_charger_of_the_first_attempt_is_caught(rule: str, level: str, fragment: str) -> None:
    found = only(rule, example("first-attempt"))
    assert (found.level, found.where) == (level, "charger")
    assert fragment in found.says
    assert found.numbers


@pytest.mark.parametrize("rule", ["charger-voltage", "charger-chemistry", "charger-no-limit"])
def test_another_charger_mends_the_first_attempt(rule: str) -> None:
    text = example("first-attempt")
    better = mended(text, only(rule, text))
    left = ("charger-voltage", "charger-chemistry", "charger-no-limit", "charger-current")
    assert [findings(other, better) for other in left] == [[], [], [], []]


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
