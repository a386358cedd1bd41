"""The four answers say what the Outcome holds, and the verdict is the worst of all."""

import math

import pytest
from tests.advice.cases import BASE, case_of, example, with_

from boomwright.advice.finding import LEVELS
from boomwright.advice.judge import judge


def verdict_of(text):
    case = case_of(text)
    return judge(case.build, case.outcome, drawer=case.drawer), case


def answer(verdict, question):
    return next(item for item in verdict.answers if item.question == question)


def test_answers_are_the_figures_of_the_outcome():
    verdict, case = verdict_of(BASE)
    outcome = case.outcome
    assert [item.question for item in verdict.answers] == ["loud", "long", "hot", "safe"]
    assert answer(verdict, "loud").value == outcome.scenario("flat-out").clean_start
    assert answer(verdict, "long").value == outcome.wanted.duration
    hottest = max(
        part.junction.likely
        for part in outcome.scenario("flat-out").parts
        if not math.isnan(part.junction.likely)
    )
    assert answer(verdict, "hot").value.likely == hottest
    hours = outcome.wanted.duration.likely / 3600
    assert f"{hours:.2g} h" in answer(verdict, "long").headline
    assert f"{hottest - 273.15:.0f} °C" in answer(verdict, "hot").headline


def test_sound_build_is_fine_all_over():
    verdict, _ = verdict_of(BASE)
    assert verdict.level == "fine"
    assert {item.level for item in verdict.answers} == {"fine"}
    assert answer(verdict, "safe").headline == "nothing to stop or to mind"


def test_verdict_is_the_worst_and_findings_come_worst_first():
    verdict, _ = verdict_of(example("first-attempt"))
    ranks = [LEVELS.index(finding.level) for finding in verdict.findings]
    assert ranks == sorted(ranks, reverse=True)
    assert verdict.level == verdict.findings[0].level == "stop"
    stops = sum(finding.level == "stop" for finding in verdict.findings)
    minds = sum(finding.level == "mind" for finding in verdict.findings)
    assert answer(verdict, "safe").headline == f"{stops} to stop, {minds} to mind in all"
    for item in verdict.answers:
        levels = [
            finding.level for finding in verdict.findings if finding.question == item.question
        ]
        assert item.level == max(levels, key=LEVELS.index)


@pytest.mark.parametrize("short", [True, False])
def test_wish_out_of_reach_is_told_as_short(short):
    level = "99 dB(A) at 3 m" if short else "60 dB(A) at 3 m"
    verdict, _ = verdict_of(with_(BASE, {"want": {"level": level}}))
    loud = answer(verdict, "loud")
    assert ("short with a full battery" in loud.detail) is short
    assert level in loud.detail


def test_supply_has_no_limit_of_hours():
    supply = {"supply": {"voltage": "15 V", "current_limit": "8 A"}}
    verdict, _ = verdict_of(with_(BASE, supply, remove=["battery", "charger", "cutoff"]))
    assert answer(verdict, "long").headline == "no limit"


def test_supply_that_gives_way_leaves_no_figure():
    supply = {"supply": {"voltage": "12 V", "current_limit": "8 A", "resistance": "10 Ω"}}
    lamp = {"load": {"current": "6 A"}}
    text = with_(BASE, {**supply, **lamp}, remove=["battery", "charger", "cutoff"])
    verdict, case = verdict_of(text)
    assert not case.outcome.settled
    for question in ("long", "hot"):
        given = answer(verdict, question)
        assert given.level == "stop"
        assert given.headline == "no figure: the supply gives way"
        assert math.isnan(given.value.likely)
