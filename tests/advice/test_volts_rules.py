"""Rules about the volts that parts meet."""

from __future__ import annotations

from dataclasses import replace

from tests.advice.cases import BASE, case_of, example, findings, only, with_

from boomwright.advice.rules import all_rules


def test_volts_of_the_first_attempt_are_caught() -> None:
    assert findings("voltage-window", example("first-attempt"))


def test_full_battery_above_the_board_s_limit() -> None:
    text = with_(BASE, {"amplifier": {"supply_max": "12.5 V (standard)"}})
    found = only("voltage-window", text)
    assert (found.level, found.where) == ("stop", "amplifier")
    assert "12.9 V from a full source" in found.says
    assert "12.5 V" in found.says


def test_charging_volts_count_only_while_connected() -> None:
    text = with_(BASE, {"amplifier": {"supply_max": "14 V (standard)"}})
    assert findings("voltage-window", text) == []
    found = only("voltage-window", with_(text, {"charger": {"while_playing": True}}))
    assert found.level == "stop"
    assert "14.6 V while the battery is charged" in found.says


def test_converter_that_may_not_survive() -> None:
    text = with_(BASE, {"rail": {"input_max": "16 V [12 to 20] (typical)"}})
    found = only("voltage-window", text)
    assert (found.level, found.where) == ("mind", "rail")
    assert "perhaps only 12 V" in found.says
    assert findings("voltage-window", with_(BASE, {"rail": {"input_max": "16 V"}})) == []


def test_amplifier_that_never_starts() -> None:
    text = with_(BASE, {"amplifier": {"supply_min": "13.2 V (standard)"}})
    found = only("voltage-window", text)
    assert (found.level, found.where) == ("stop", "amplifier")
    assert "works from 13.2 V and meets 12.8 V" in found.says


def test_amplifier_that_gives_up_before_the_cutoff() -> None:
    text = with_(BASE, {"amplifier": {"supply_min": "12.2 V (standard)"}})
    found = only("voltage-window", text)
    assert found.level == "mind"
    assert "locks out at 12.2 V" in found.says
    assert "11.7 V" in found.do  # where the cutoff opens


def test_moment_without_solution_is_stopped() -> None:
    case = case_of(BASE)
    hopeless = replace(case, outcome=replace(case.outcome, settled=False))
    rule = next(rule for rule in all_rules() if rule.id == "unsettled")
    found = rule.findings(hopeless)
    assert [(item.level, item.where) for item in found] == [("stop", "battery")]
    assert found[0].numbers[0].shown in found[0].says
