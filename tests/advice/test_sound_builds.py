"""Sound builds, whatever feeds them, and the good examples: no rule finds fault with them."""

from __future__ import annotations

import pytest
from tests.advice.cases import BASE, LITHIUM, SUPPLY, case_of, example, with_

from boomwright.advice.rules import all_rules

NICKEL = with_(
    BASE,
    {
        "want": {"hours": "1.5 h"},
        "battery": {"part": "nimh-10s-2ah"},
        "charger": {"part": "nimh-10s-0a2"},
        "cutoff": {"part": "nimh-10s-latching"},
    },
    remove=["cutoff.off"],
)
RELAY = with_(BASE, {"cutoff": {"part": "lead-12v-transistor"}}, remove=["cutoff.off"])

SOUND = {
    "lead": BASE,
    "mains": SUPPLY,
    "lithium": LITHIUM,
    "nickel": NICKEL,
    "relay": RELAY,
    **{name: example(name) for name in ("market-stall", "rowing-launch", "allotment-day")},
}


@pytest.mark.parametrize("name", SOUND)
def test_no_rule_finds_fault_with_a_sound_build(name: str) -> None:
    found = [item for rule in all_rules() for item in rule.findings(case_of(SOUND[name]))]
    assert [(item.id, item.where, item.says) for item in found if item.level != "fine"] == []
