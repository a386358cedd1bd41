"""Three hundred sensible builds: physics holds for each, and hardly one is called wrong."""

from __future__ import annotations

from collections import Counter
from functools import cache

import numpy as np
import pytest
from tests.advice.cases import with_
from tests.proof.sensible import PACKS, sensible_build

from boomwright.advice.judge import Verdict, judge
from boomwright.advice.rules import all_rules
from boomwright.build.read import parse_build
from boomwright.outcome.data import Outcome
from boomwright.outcome.run import run_build

BUILDS = 300
VERSIONS = 8
CHANGED = range(0, BUILDS, 10)
"""Builds that are changed in one thing and run again."""

TRUE_STOPS = {
    "hours-short": "a loud wish, drawn by chance, that the battery does not last for",
}
"""Rules that may stop a sensible build, and why that is right."""

TRUE_MINDS = {
    "hearing": "drivers for the stage make over 100 dB(A) at the box",
    "level-not-reached": "a wish at the limit of the box, or of an unlucky driver",
    "level-fades": "the same, once the battery is low",
    "hours-short": "a wish at the limit of the battery",
    "usb-eats-hours": "a phone all day on a battery sized for the music",
    "claim-hollow": "said only where the wish is not reached either",
    "dose-builder": "an hour or more beside a box that plays for a crowd",
    "bass-wasted": "a box short of level on music with more bass than it plays",
    "cone-travel": "a small driver asked for the last of its travel",
    "cutoff-rating": "the drawer's small cutoff for NiMH behind a strong board",
}
"""Rules that may speak up about a sensible build, and why that is right."""


@cache
def worked(number: int) -> tuple[Outcome, Verdict]:
    build = parse_build(sensible_build(number), file=f"sensible {number}")
    outcome = run_build(build, versions=VERSIONS)
    return outcome, judge(build, outcome)


def likely(text: str) -> Outcome:
    return run_build(parse_build(text, file="changed"), versions=0)


def fired(level: str) -> Counter[str]:
    """Sensible builds by the rules that speak up about them."""
    found: Counter[str] = Counter()
    for number in range(BUILDS):
        rules = {item.id for item in worked(number)[1].findings if item.level == level}
        found.update(rules)
    return found


def test_builds_are_many_kinds():
    texts = {sensible_build(number) for number in range(BUILDS)}
    assert len(texts) == BUILDS
    assert all(any(f'"{pack.source}"' in text for text in texts) for pack in PACKS)
    assert sensible_build(5) == sensible_build(5) != sensible_build(5, seed=8)


@pytest.mark.parametrize("tens", range(0, BUILDS, 50))
def test_every_sensible_build_settles(tens):
    for number in range(tens, tens + 50):
        outcome, verdict = worked(number)
        assert outcome.settled, number
        assert outcome.wanted.duration.likely > 0, number
        assert [answer.question for answer in verdict.answers] == ["loud", "long", "hot", "safe"]


@pytest.mark.parametrize("tens", range(0, BUILDS, 50))
def test_no_energy_is_lost_or_made(tens):
    """What leaves the battery's terminals is what parts and leads take, to 0.1 %.

    Heat, sound, light and the charge of a phone are all of it: a part keeps what comes in and does
    not go on. What the battery loses inside is current squared times its own resistance.
    """
    for number in range(tens, tens + 50):
        outcome, _ = worked(number)
        for run in outcome.scenarios:
            curve = run.curve
            steps = np.diff(curve.time)
            volts, amps = np.array(curve.volts[:-1]), np.array(curve.amps[:-1])
            given = float(np.sum(volts * amps * steps))
            inside = run.energy["battery itself"]
            taken = sum(run.energy.values()) - inside
            assert taken == pytest.approx(given, rel=1e-3), (number, run.key)
            assert min(run.energy.values()) >= -1e-6 * given, (number, run.key)
            if not run.key.endswith("cold"):
                lost = float(np.sum(amps**2 * steps)) * outcome.source.resistance.likely
                assert inside == pytest.approx(lost, rel=1e-3), (number, run.key)


def test_charge_is_counted_alike_in_every_use():
    for number in CHANGED:
        outcome, _ = worked(number)
        labels = []
        for run in outcome.scenarios:
            curve = run.curve
            taken = float(np.sum(np.array(curve.amps[:-1]) * np.diff(curve.time)))
            if taken > 0 and not run.key.endswith("cold"):
                labels.append(taken / (curve.charge[0] - curve.charge[-1]))
        assert np.allclose(labels, labels[:1], rtol=2e-3), number


@pytest.mark.parametrize("number", CHANGED)
def test_louder_is_shorter_and_hotter(number):
    text = sensible_build(number)
    wish = parse_build(text).want.level
    level, distance = wish.level.likely, wish.distance.likely
    quiet, loud = (
        likely(with_(text, {"want": {"level": f"{asked} dB(A) at {distance} m"}}))
        for asked in (level - 6, level)
    )
    assert loud.wanted.watts.likely > quiet.wanted.watts.likely
    assert loud.wanted.heat.likely > quiet.wanted.heat.likely
    assert loud.wanted.air.likely > quiet.wanted.air.likely
    if np.isfinite(loud.wanted.duration.likely):
        assert loud.wanted.duration.likely < quiet.wanted.duration.likely


@pytest.mark.parametrize("number", CHANGED)
def test_thicker_wire_drops_less(number):
    text = sensible_build(number)
    thin = with_(text, {"amplifier": {"lead": "0.5 mm² (standard), 0.5 m (standard)"}})
    thick = with_(text, {"amplifier": {"lead": "4 mm² (standard), 0.5 m (standard)"}})
    found = []
    for changed in (thin, thick):
        run = likely(changed).scenario("flat-out")
        board = next(part for part in run.parts if part.kind == "amplifier")
        found.append((board.volts_in.likely, run.clean_start.likely))
    assert found[1][0] > found[0][0]
    assert found[1][1] > found[0][1]


@pytest.mark.parametrize("number", [n for n in range(BUILDS) if "agm-" in sensible_build(n)][:15])
def test_cold_lead_battery_plays_shorter(number):
    text = sensible_build(number)
    mild, cold = (
        likely(with_(text, {"want": {"outside": outside}})).wanted.duration.likely
        for outside in ("22 °C", "-4 °C")
    )
    assert cold < 0.95 * mild


@pytest.mark.parametrize("number", [n for n in CHANGED if "[battery]" in sensible_build(n)])
def test_bigger_battery_plays_longer(number):
    text = sensible_build(number)
    one, two = (
        likely(with_(text, {"battery": {"strings": strings}})).wanted.duration.likely
        for strings in (1, 2)
    )
    assert two > 1.9 * one


def test_hardly_a_sensible_build_is_stopped():
    stops = fired("stop")
    assert set(stops) == set(TRUE_STOPS)
    assert sum(stops.values()) <= 0.01 * BUILDS


def test_no_rule_of_safety_or_heat_stops_a_sensible_build():
    rules = {rule.id for rule in all_rules() if rule.question in {"safe", "hot"}}
    assert len(rules) > 25
    assert rules & set(fired("stop")) == set()


def test_what_is_minded_in_sensible_builds_is_true():
    minds = fired("mind")
    assert set(minds) == set(TRUE_MINDS)
    assert max(minds.values()) <= 0.08 * BUILDS


def test_most_sensible_builds_have_no_fault():
    fine = sum(worked(number)[1].level == "fine" for number in range(BUILDS))
    assert fine >= 0.8 * BUILDS
