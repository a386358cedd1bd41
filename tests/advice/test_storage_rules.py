"""Rules about the box on the shelf."""

from __future__ import annotations

import pytest
from tests.advice.cases import BASE, example, findings, mended, only, with_

GAUGE = with_(
    BASE,
    {
        "load": {
            "name": "gauge",
            "current": "11 mA (measured)",
            "fed_by": "fuse",
            "use": "meter",
        }
    },
)


def test_first_attempt_s_gauge_is_stopped() -> None:
    text = example("first-attempt")
    found = only("shelf-drain", text)
    assert (found.level, found.where) == ("stop", "gauge")
    assert "10 mA" in found.says
    assert "ahead of the switch" in found.says
    assert findings("shelf-drain", mended(text, found)) == []


def test_first_attempt_s_button_is_minded() -> None:
    found = only("off-by-button", example("first-attempt"))
    assert (found.level, found.where) == ("mind", "amplifier")
    assert "30 mA" in found.says
    assert found.numbers[1].value == pytest.approx(7 * 3600 / 0.03)


@pytest.mark.parametrize(("shelf", "level"), [("90 d", "stop"), ("24 d", "mind"), ("3 d", "")])
def test_gauge_ahead_of_the_switch(shelf: str, level: str) -> None:
    # 9 Ah at 11 mA last 27 days down to a fifth, less what age, self-discharge and doubt take.
    found = findings("shelf-drain", with_(GAUGE, {"want": {"shelf": shelf}}))
    assert [item.level for item in found] == ([level] if level else [])
    assert all(item.where == "gauge" and "11 mA" in item.says for item in found)


def test_empty_nickel_cells_are_a_nuisance_only() -> None:
    text = with_(
        GAUGE,
        {"battery": {"part": "nimh-10s-2ah"}, "want": {"shelf": "90 d"}},
        remove=["charger", "cutoff"],
    )
    assert only("shelf-drain", text).level == "mind"


def test_box_without_switch() -> None:
    text = with_(BASE, remove=["switch"])
    found = only("switch-missing", text)
    assert (found.level, found.where) == ("mind", "battery")
    assert found.numbers[0].shown in found.says
    assert found.numbers[0].value > 0.08
    assert findings("switch-missing", mended(text, found)) == []
    drained = only("shelf-drain", text)
    assert (drained.level, drained.where) == ("stop", "amplifier")
    assert "there is no switch" in drained.says


def test_button_that_takes_next_to_nothing_is_quiet() -> None:
    text = with_(BASE, {"amplifier": {"off_current": "40 µA (measured)"}})
    assert findings("off-by-button", text) == []


def test_supply_never_runs_down() -> None:
    text = with_(
        BASE,
        {"supply": {"part": "brick-12v-5a"}},
        remove=["battery", "charger", "cutoff", "switch"],
    )
    rules = ("shelf-drain", "switch-missing", "off-by-button")
    assert [findings(rule, text) for rule in rules] == [[], [], []]
