"""Rules about the low-voltage cutoff."""

from __future__ import annotations

import pytest
from tests.advice.cases import BASE, LITHIUM, case_of, example, findings, mended, only, with_

RELAY = with_(BASE, {"cutoff": {"part": "lead-12v-transistor"}}, remove=["cutoff.off"])


@pytest.mark.parametrize("rule", ["cutoff-too-low", "cutoff-chatters"])
def test_first_attempt_is_stopped(rule: str) -> None:
    text = example("first-attempt")
    found = only(rule, text)
    assert (found.level, found.where) == ("stop", "cutoff")
    assert "9 V" in found.says
    assert findings(rule, mended(text, found)) == []


def test_lead_without_cutoff_is_stopped() -> None:
    text = with_(BASE, remove=["cutoff"])
    found = only("cutoff-missing", text)
    assert (found.level, found.where) == ("stop", "battery")
    assert "9.9 V" in found.says
    assert "11.4 V" in found.do
    assert findings("cutoff-missing", mended(text, found)) == []


def test_lock_out_above_the_floor_is_only_minded() -> None:
    text = with_(BASE, {"amplifier": {"supply_min": "10.5 V (standard)"}}, remove=["cutoff"])
    found = only("cutoff-missing", text)
    assert found.level == "mind"
    assert "10.5 V" in found.says


@pytest.mark.parametrize("battery", ["li-ion-3s2p-6ah", "alkaline-8-d"])
def test_a_board_or_throwaway_cells_need_no_cutoff(battery: str) -> None:
    text = with_(BASE, {"battery": {"part": battery}}, remove=["cutoff", "charger"])
    assert findings("cutoff-missing", text) == []


def test_lithium_without_board_and_cutoff_is_stopped() -> None:
    bare = {"chemistry": "li-ion-nmc", "cells": 3, "capacity": "6 Ah"}
    text = with_(BASE, {"battery": bare}, remove=["battery.part", "cutoff", "charger"])
    found = only("cutoff-missing", text)
    assert found.level == "stop"
    assert "7.5 V" in found.says


@pytest.mark.parametrize(
    ("off", "level", "limit"),
    [("9.5 V (measured)", "stop", "9.9 V"), ("10.2 V (measured)", "mind", "10.5 V")],
)
def test_late_cutoff(off: str, level: str, limit: str) -> None:
    text = with_(BASE, {"cutoff": {"off": off}})
    found = only("cutoff-too-low", text)
    assert (found.level, found.where) == (level, "cutoff")
    assert limit in found.says
    assert findings("cutoff-too-low", mended(text, found)) == []


def test_cutoff_just_above_the_customary_end_is_quiet() -> None:
    assert findings("cutoff-too-low", with_(BASE, {"cutoff": {"off": "10.6 V (measured)"}})) == []


def test_wide_threshold_reaches_below_the_floor() -> None:
    found = only("cutoff-too-low", with_(BASE, {"cutoff": {"off": "10.8 V [9.6 to 12]"}}))
    assert found.level == "mind"
    assert "9.6 V" in found.says


def test_early_cutoff_wastes_charge() -> None:
    text = with_(LITHIUM, {"cutoff": {"off": "11.1 V (measured)"}})
    found = only("cutoff-too-high", text)
    assert (found.level, found.where) == ("mind", "cutoff")
    assert "11.1 V" in found.says
    assert found.numbers[1].value > 0.25
    assert findings("cutoff-too-high", mended(text, found)) == []


def test_lead_may_keep_a_third_but_not_most() -> None:
    assert findings("cutoff-too-high", with_(BASE, {"cutoff": {"off": "11.9 V (measured)"}})) == []
    assert findings("cutoff-too-high", with_(BASE, {"cutoff": {"off": "12.4 V (measured)"}}))


def test_cutoff_that_closes_on_the_rebound() -> None:
    text = with_(RELAY, {"cutoff": {"on": "11.2 V (standard)"}})
    found = only("cutoff-chatters", text)
    assert (found.level, found.where) == ("stop", "cutoff")
    assert "11.2 V" in found.says
    assert findings("cutoff-chatters", mended(text, found)) == []


def test_threshold_left_out_means_no_gap() -> None:
    text = with_(BASE, {"cutoff": {"part": "relay-one-threshold"}})
    assert only("cutoff-chatters", text).level == "stop"


def test_slow_recovery_is_minded() -> None:
    found = only("cutoff-chatters", with_(RELAY, {"cutoff": {"on": "11.5 V [11.2 to 11.8]"}}))
    assert found.level == "mind"


def test_latching_needs_no_gap() -> None:
    text = with_(RELAY, {"cutoff": {"on": "11.2 V (standard)", "latching": True}})
    assert findings("cutoff-chatters", text) == []


@pytest.mark.parametrize(
    ("on", "level"), [("15 V (measured)", "stop"), ("13.2 V (measured)", "mind")]
)
def test_cutoff_that_stays_open(on: str, level: str) -> None:
    text = with_(RELAY, {"cutoff": {"on": on}})
    found = only("cutoff-on-above-full", text)
    assert (found.level, found.where) == (level, "cutoff")
    assert "12.9 V" in found.says
    assert findings("cutoff-on-above-full", mended(text, found)) == []


@pytest.mark.parametrize(
    ("resistance", "level"), [("0.9 Ω (measured)", "stop"), ("0.4 Ω (measured)", "mind")]
)
def test_bass_dips_below_the_threshold(resistance: str, level: str) -> None:
    text = with_(
        BASE, {"battery": {"resistance": resistance}, "cutoff": {"delay": "0 s (standard)"}}
    )
    found = only("cutoff-bass-dip", text)
    assert (found.level, found.where) == (level, "cutoff")
    assert found.numbers[1].value < 11.7
    assert findings("cutoff-bass-dip", mended(text, found)) == []


@pytest.mark.parametrize(
    ("rating", "level"), [("0.3 A (measured)", "stop"), ("2 A (measured)", "mind")]
)
def test_overloaded_cutoff(rating: str, level: str) -> None:
    found = only("cutoff-rating", with_(BASE, {"cutoff": {"rating": rating}}))
    assert (found.level, found.where) == (level, "cutoff")
    assert found.numbers[2].shown in found.says


def test_thirsty_coil() -> None:
    found = only("cutoff-drains", with_(BASE, {"cutoff": {"drain_on": "60 mA (measured)"}}))
    assert (found.level, found.where) == ("mind", "cutoff")
    assert "60 mA" in found.says
    assert found.numbers[1].value > 0.1


def test_drain_after_opening() -> None:
    found = only("cutoff-drains", with_(BASE, {"cutoff": {"drain_off": "8 mA (measured)"}}))
    assert "8 mA" in found.says
    assert found.numbers[1].kind == "time"


def test_volts_pulled_down_by_the_load_are_not_unused_charge() -> None:
    text = with_(
        BASE,
        {
            "battery": {"part": "flooded-12v-45ah"},
            "amplifier": {"part": "class-d-bridge-2x100"},
            "driver": {"part": "driver-6in5-4ohm", "count": 4},
            "want": {"level": "110 dB(A) at 4 m", "programme": "noise"},
        },
    )
    assert case_of(text).outcome.scenario("background").charge_left.likely > 0.5
    assert findings("cutoff-too-high", text) == []
