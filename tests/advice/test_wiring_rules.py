"""Rules about leads, connectors and switches."""

from __future__ import annotations

import pytest
from tests.advice.cases import BASE, findings, first_attempt_is_caught, mended, only, with_


@pytest.mark.parametrize(
    ("rule", "where", "fragment"),
    [
        ("wire-thin", "switch", "363 mA"),
        ("wire-drop", "amplifier", "dB of clean peaks"),
        ("switch-rating", "switch", "500 mA"),
    ],
)
def test_first_attempt_on_thin_wire(rule: str, where: str, fragment: str) -> None:
    first_attempt_is_caught(rule, "stop", where, fragment)


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
