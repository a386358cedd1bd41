"""Many fixes on one build, all the safe ones or one by one: nothing mendable is left."""

from __future__ import annotations

import random
import tomllib

import pytest
from tests.advice.mending import DRAWER, FIRST

from boomwright.advice.effects import Effect, effect_between, likely_verdict, place_of
from boomwright.advice.judge import Verdict
from boomwright.advice.mend import mended_text
from boomwright.advice.safe import mend_safely


def judged(text: str) -> Verdict:
    return likely_verdict(text, drawer=DRAWER)


RESTS = {
    "claim-hollow",
    "battery-second-hand",
    "box-too-small",
    "off-by-button",
    "usb-eats-hours",
}
"""What no edit mends in it: a claim, an unknown battery, a box, a button, a phone."""


def test_all_safe_leaves_only_what_no_edit_mends() -> None:
    result = mend_safely(FIRST, judged=judged, drawer=DRAWER)
    assert result.verdict.level == "mind"
    assert {left.finding.id for left in result.left} == RESTS
    assert all(left.finding.fix is None for left in result.left)
    assert {left.why for left in result.left} == {"no edit mends it"}
    assert not any(item.effect.stops for item in result.done)
    assert all(item.effect.mends(item.finding) for item in result.done)
    assert tomllib.loads(result.text)["want"]["hours"] == "12 h", "the wish went before the parts"
    assert judged(result.text).findings == result.verdict.findings


@pytest.mark.parametrize("seed", range(5))
def test_single_fixes_in_any_order(seed: int) -> None:
    """Each fix by itself, in a random order, new ones at the end, until none is left."""
    chance, text, verdict = random.Random(seed), FIRST, judged(FIRST)
    named: set[str] = {finding.id for finding in verdict.findings if finding.level == "stop"}
    times: dict[tuple[str, str], int] = {}
    for _ in range(45):
        ready = [
            finding
            for finding in verdict.findings
            if finding.fix and times.get(place_of(finding), 0) < 3
        ]
        if not ready:
            break
        finding = chance.choice(ready)
        assert finding.fix is not None
        times[place_of(finding)] = times.get(place_of(finding), 0) + 1
        text = mended_text(text, finding.fix, drawer=DRAWER)
        after = judged(text)
        effect: Effect = effect_between(verdict, after)
        named |= {stop.id for stop in effect.stops}
        stops = {finding.id for finding in after.findings if finding.level == "stop"}
        assert stops <= named, "a stop came that the effect did not name"
        verdict = after
    left = [finding for finding in verdict.findings if finding.level != "fine"]
    assert {finding.id for finding in left} <= RESTS
    assert not [finding.id for finding in left if finding.fix is not None]
    assert not [finding.id for finding in verdict.findings if finding.level == "stop"]
