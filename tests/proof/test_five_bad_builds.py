"""Five bad builds of our own: what an experienced builder names is found, and nothing besides.

``MISTAKES`` has what was put into each build on purpose. What only follows from the wish, or from
another mistake, is in ``MORE``.
"""

from __future__ import annotations

import re

import pytest
from tests.advice.cases import BASE, LITHIUM, SUPPLY, with_
from tests.proof.judged import BUILDS, ROOT, faults, table_rows

from boomwright.advice.rules import all_rules

BAD = sorted(file.stem for file in BUILDS.glob("*.toml"))

MISTAKES = {
    "busker": {
        "cells soldered together without a protection board": ["lithium-without-board"],
        "cells of unknown age at their label": ["battery-second-hand"],
        "a laptop brick as charger": ["charger-voltage", "charger-no-limit", "charger-chemistry"],
        "the charging lead without a fuse": ["charger-bypasses-fuse"],
        "charged where it freezes": ["charge-cold"],
        "nothing ends the discharge": ["cutoff-missing"],
        "twenty amperes of fuse on bell wire": ["fuse-too-big"],
        "the fuse somewhere": ["fuse-far"],
        "bare wires that can be swapped": ["polarity-missing"],
        "a regulator for 15 V on 16.8 V": ["voltage-window"],
        "nobody looked for its capacitors": ["linear-capacitors"],
        "far too much gain": ["gain-mismatch"],
        "a toolbox is not tight": ["box-leaks"],
    },
    "street-party": {
        "a 12 V charger on a 24 V battery": ["charger-voltage"],
        "the charging lead without a fuse": ["charger-bypasses-fuse"],
        "the cutoff of a 12 V battery": ["cutoff-too-low", "cutoff-chatters"],
        "the 12 V receiver on 24 V": ["receiver-voltage"],
        "a lead battery in a sealed crate": ["gas"],
        "a 3 A diode for a board that peaks at six": ["polarity-rating"],
        "a full battery close to what the board survives": ["voltage-window"],
        "a thin lead behind ten amperes": ["fuse-too-big"],
    },
    "camping-radio": {
        "a lithium charger on nickel cells": ["charger-chemistry"],
        "no fuse": ["fuse-missing", "charger-bypasses-fuse"],
        "no switch, and the radio drinks on": ["switch-missing", "shelf-drain"],
        "nothing ends the discharge": ["cutoff-missing"],
        "cells that fit either way": ["polarity-missing"],
        "nine volts regulated out of ten": ["rail-drops-out"],
        "nobody looked for its capacitors": ["linear-capacitors"],
        "output capacitors too small": ["output-capacitor"],
        "they thump when it is switched on": ["mute-missing"],
        "far too much gain": ["gain-mismatch"],
        "a single-ended board on ten volts is no twelve watts": ["claim-hollow"],
        "three watts are not loud out of doors": ["level-not-reached"],
        "drivers without a box": ["cabinet-missing"],
    },
    "power-bank": {
        "fifteen watts cannot feed this": ["unsettled"],
        "the receiver hums through the shared lead": ["shared-negative"],
        "the phone's lead is a hair": ["wire-thin"],
        "the port's data pins hang in the air": ["usb-data-pins"],
        "that loud with these drivers": ["level-not-reached"],
        "24 V burn such drivers": ["driver-overpowered"],
        "a bare converter for hours": ["rail-overloaded"],
    },
    "carnival-float": {
        "bridged outputs bridged again": ["outputs-joined"],
        "four drivers side by side on it": ["load-too-low"],
        "speaker minus wires on the frame": ["bridge-negatives-joined"],
        "a board for forty volts on twelve": ["voltage-window"],
        "so it does not play": ["hours-short"],
        "tweeters without capacitors": ["tweeter-capacitor"],
        "bass from the left, treble from the right": ["one-channel-band"],
        "thirty amperes of fuse on thin leads": ["fuse-too-big"],
        "the fuse a long way from the battery": ["fuse-far"],
        "crocodile clips": ["connector-rating", "polarity-missing", "charger-polarity"],
        "a small switch": ["switch-rating"],
        "an old starter battery at its label": ["battery-second-hand"],
        "two hundred watts on twelve volts": ["claim-hollow", "level-not-reached"],
        "far too much gain": ["gain-mismatch"],
        "loud for hours": ["hearing"],
    },
}
"""What an experienced builder says of each, and the rules that should say so."""

MORE = {
    "busker": {"level-fades", "level-not-reached", "rail-wasteful", "receiver-whines"},
    "camping-radio": {"hours-short", "receiver-whines"},
    "carnival-float": {"bass-guessed", "receiver-whines"},
    "power-bank": {"cone-travel"},
    "street-party": {"dose-builder"},
}

STOPS = {
    "busker": [
        "charger-bypasses-fuse", "charger-no-limit", "charger-voltage", "cutoff-missing",
        "fuse-too-big", "lithium-without-board", "receiver-whines", "voltage-window",
    ],
    "street-party": [
        "charger-bypasses-fuse", "charger-voltage", "cutoff-chatters", "cutoff-too-low", "gas",
        "receiver-voltage",
    ],
    "camping-radio": [
        "charger-bypasses-fuse", "charger-chemistry", "fuse-missing", "level-not-reached",
        "receiver-whines",
    ],
    "power-bank": ["level-not-reached", "shared-negative", "unsettled"],
    "carnival-float": [
        "bridge-negatives-joined", "fuse-too-big", "hours-short", "level-not-reached",
        "load-too-low", "one-channel-band", "outputs-joined", "receiver-whines",
        "tweeter-capacitor", "voltage-window",
    ],
}  # fmt: skip
"""Rules that must stop each build."""

WHERE = {
    ("busker", "voltage-window"): ["rail"],
    ("street-party", "voltage-window"): ["amplifier"],
    ("carnival-float", "voltage-window"): ["treble board"],
    ("carnival-float", "claim-hollow"): ["bass board", "treble board"],
    ("carnival-float", "tweeter-capacitor"): ["treble"],
    ("camping-radio", "shelf-drain"): ["radio"],
    ("power-bank", "wire-thin"): ["usb"],
}
"""Parts that some of the findings must name."""


def text_of(name: str) -> str:
    return (BUILDS / f"{name}.toml").read_text(encoding="utf-8")


def rules_of(name: str) -> set[str]:
    return {rule for rule, _, _ in faults(text_of(name))}


def named(name: str) -> set[str]:
    return {rule for rules in MISTAKES[name].values() for rule in rules}


def test_each_build_is_listed():
    assert sorted(MISTAKES) == sorted(STOPS) == BAD


@pytest.mark.parametrize("name", BAD)
def test_each_mistake_is_found(name):
    missed = {
        mistake: rules for mistake, rules in MISTAKES[name].items() if set(rules) - rules_of(name)
    }
    assert missed == {}


@pytest.mark.parametrize("name", BAD)
def test_nothing_else_is_found(name):
    assert rules_of(name) - named(name) == MORE.get(name, set())


@pytest.mark.parametrize("name", BAD)
def test_what_must_stop_stops_and_nothing_else(name):
    stops = {rule for rule, _, level in faults(text_of(name)) if level == "stop"}
    assert sorted(stops) == STOPS[name]


@pytest.mark.parametrize(("name", "rule"), WHERE)
def test_the_right_part_is_named(name, rule):
    found = [where for other, where, _ in faults(text_of(name)) if other == rule]
    assert found == WHERE[name, rule]


def test_float_with_a_board_that_plays_shows_what_the_dead_one_hid():
    text = text_of("carnival-float").replace("class-ab-split-2x25", "class-d-bridge-2x30")
    more = {rule for rule, _, _ in faults(text)} - rules_of("carnival-float")
    assert more == {"cutoff-chatters", "supply-dip", "wire-drop"}


def test_power_bank_on_a_strong_supply_shows_what_the_weak_one_hid():
    text = with_(text_of("power-bank"), {"supply": {"part": "lab-13v8-10a"}})
    more = {rule for rule, _, _ in faults(text)} - rules_of("power-bank")
    assert more >= {"switch-rating", "receiver-voltage", "usb-voltage"}


PAGE = ROOT / "docs" / "proof.md"
RULES = {rule.id for rule in all_rules()}

SHOWN = {
    "battery-overloaded": with_(
        BASE,
        {
            "want": {"level": "76 dB(A) at 2 m"},
            "battery": {"part": "agm-12v-1ah2"},
            "load": [{"use": "light", "current": "1.5 A", "lead": "0.75 mm², 0.3 m"}],
        },
    ),
    "protection-board-trips": with_(LITHIUM, {"battery": {"protection_trip": "2 A [1.5 to 3]"}}),
    "supply-current-limit": with_(SUPPLY, {"supply": {"current_limit": "0.5 A"}}),
    "cutoff-too-high": with_(BASE, {"cutoff": {"off": "12.5 V (measured)"}}),
    "cutoff-on-above-full": with_(BASE, {"cutoff": {"on": "14.2 V", "latching": False}}),
    "usb-voltage": with_(BASE, {"usb": {"current": "0.5 A"}, "rail": {"voltage": "5.6 V"}}),
    "usb-current-promise": with_(BASE, {"usb": {"current": "2 A", "data_pins": "shorted"}}),
    "usb-not-behind-cutoff": with_(BASE, {"usb": {"fed_by": "switch"}}),
    "meter-sags": with_(
        LITHIUM,
        {
            "want": {"level": "60 dB(A) at 2 m"},
            "battery": {"resistance": "0.9 Ω"},
            "load": [
                {"name": "gauge", "part": "meter-bar-li-ion"},
                {"name": "lamp", "use": "light", "current": "0.8 A", "lead": "0.75 mm², 0.3 m"},
            ],
        },
    ),
    "things-do-not-fit": with_(BASE, {"cabinet": {"taken": "12.5 L"}}),
}
"""A build for each rule of the page that none of the bad builds trips."""


def problems() -> list[list[str]]:
    """Rows of the page's table of what goes wrong most often: number, problem, rules, test."""
    return [row for row in table_rows(PAGE) if row[0].isdigit()]


def ids_in(cell: str) -> list[str]:
    return re.findall(r"`([a-z][\w-]*)`", cell)


def test_page_has_the_twenty_five_problems():
    assert [int(row[0]) for row in problems()] == list(range(1, 26))


@pytest.mark.parametrize("row", problems(), ids=lambda row: row[0])
def test_problem_is_found_by_its_rules(row):
    rules, held = ids_in(row[2]), re.findall(r"`(tests/[\w/]+\.py)`", row[3])
    assert rules
    assert set(rules) <= RULES
    assert held
    for test in held:
        assert any(rule in (ROOT / test).read_text(encoding="utf-8") for rule in rules), test


def test_every_rule_of_the_page_fires():
    first = (ROOT / "examples" / "first-attempt.toml").read_text(encoding="utf-8")
    fired = {rule for rule, _, _ in faults(first)}.union(*(rules_of(name) for name in BAD))
    silent = {rule for row in problems() for rule in ids_in(row[2])} - fired
    assert silent == set(SHOWN)
    missed = [rule for rule in silent if rule not in {item[0] for item in faults(SHOWN[rule], 8)}]
    assert missed == []
