"""Rules about fuses."""

from __future__ import annotations

from typing import Any

import pytest
from tests.advice.cases import BASE, example, findings, first_attempt_is_caught, mended, only, with_


def test_first_attempt_without_a_fuse() -> None:
    first_attempt_is_caught("fuse-missing", "stop", "battery", "310 A")


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


@pytest.mark.parametrize("distance", [None, "60 cm"])
def test_fuse_far_from_the_battery(distance: str | None) -> None:
    text = with_(BASE, remove=["fuse.distance"])
    if distance:
        text = with_(text, {"fuse": {"distance": distance}})
    found = only("fuse-far", text)
    assert (found.level, found.where) == ("mind", "fuse")
    assert (distance or "unknown") in found.says
    assert "30 cm" in found.says
    assert findings("fuse-far", mended(text, found)) == []


def test_fuse_within_reach_is_quiet() -> None:
    assert findings("fuse-far", with_(BASE, {"fuse": {"distance": "0.3 m"}})) == []


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
