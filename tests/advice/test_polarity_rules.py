"""Rules about reversed poles."""

from __future__ import annotations

import pytest
from tests.advice.cases import BASE, findings, first_attempt_is_caught, mended, only, with_


def test_first_attempt_without_care_for_poles() -> None:
    first_attempt_is_caught("polarity-missing", "mind", "battery", "12.9 V")


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
