"""The first attempt: each of its mistakes is found, and nothing is found that is none.

The good examples and the starting points have no mistake, and none is found.
"""

from __future__ import annotations

import re

import pytest
from tests.proof.judged import ROOT, faults, table_rows

from boomwright.build.starts import start_names, start_text

FIRST = (ROOT / "examples" / "first-attempt.toml").read_text(encoding="utf-8")
PAGE = ROOT / "docs" / "first-attempt.md"
GOOD = ("allotment-day", "market-stall", "rowing-launch")

EXPECTED = [
    ("battery-second-hand", "battery", "mind"),
    ("box-hot", "cabinet", "mind"),
    ("box-too-small", "bass", "mind"),
    ("bridge-negatives-joined", "amplifier", "stop"),
    ("charger-bypasses-fuse", "charger", "stop"),
    ("charger-chemistry", "charger", "mind"),
    ("charger-current", "charger", "mind"),
    ("charger-no-limit", "charger", "stop"),
    ("charger-polarity", "charger", "stop"),
    ("charger-voltage", "charger", "stop"),
    ("charger-while-playing", "charger", "mind"),
    ("claim-hollow", "amplifier", "mind"),
    ("cutoff-chatters", "cutoff", "stop"),
    ("cutoff-drains", "cutoff", "mind"),
    ("cutoff-rating", "cutoff", "mind"),
    ("cutoff-too-low", "cutoff", "stop"),
    ("fuse-missing", "battery", "stop"),
    ("gain-mismatch", "amplifier", "mind"),
    ("gas", "battery", "stop"),
    ("hearing", "want", "mind"),
    ("hours-short", "battery", "stop"),
    ("level-not-reached", "want", "stop"),
    ("linear-capacitors", "rail", "mind"),
    ("linear-cooks", "rail", "stop"),
    ("load-too-low", "amplifier", "stop"),
    ("meter-chemistry", "gauge", "mind"),
    ("off-by-button", "amplifier", "mind"),
    ("one-channel-band", "bass", "stop"),
    ("plastic-soft", "cabinet", "mind"),
    ("polarity-missing", "battery", "mind"),
    ("rail-overloaded", "rail", "mind"),
    ("shared-negative", "receiver", "stop"),
    ("shelf-drain", "gauge", "stop"),
    ("supply-capacitor-small", "amplifier", "mind"),
    ("supply-dip", "amplifier", "stop"),
    ("switch-rating", "switch", "stop"),
    ("tweeter-capacitor", "treble", "stop"),
    ("tweeter-capacitor-polarised", "treble", "stop"),
    ("usb-data-pins", "usb", "mind"),
    ("usb-eats-hours", "usb", "mind"),
    ("voltage-window", "amplifier", "mind"),
    ("wire-drop", "amplifier", "stop"),
    ("wire-thin", "switch", "stop"),
]
"""Every mistake of the first attempt as a rule should name it, and nothing else."""


def found_by() -> dict[str, list[str]]:
    """Mistake of the page → rules that it says find it."""
    return {row[0]: re.findall(r"`([\w-]+)`", row[2]) for row in table_rows(PAGE)}


def test_first_attempt_has_exactly_these_faults():
    assert faults(FIRST) == EXPECTED


def test_page_lists_the_mistakes():
    assert len(found_by()) == 33


@pytest.mark.parametrize("mistake", found_by())
def test_each_mistake_of_the_page_is_found(mistake):
    fired = {rule for rule, _, _ in faults(FIRST)}
    rules = found_by()[mistake]
    assert rules
    assert set(rules) <= fired


def test_each_finding_belongs_to_a_mistake_of_the_page():
    named = {rule for rules in found_by().values() for rule in rules}
    assert {rule for rule, _, _ in faults(FIRST)} - named == set()


@pytest.mark.parametrize("name", GOOD)
def test_good_example_has_no_fault(name):
    text = (ROOT / "examples" / f"{name}.toml").read_text(encoding="utf-8")
    assert faults(text) == []


@pytest.mark.parametrize("name", start_names())
def test_starting_point_has_no_fault(name):
    assert faults(start_text(name, build="As it comes")) == []
