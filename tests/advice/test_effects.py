"""What an effect counts as going and coming."""

from __future__ import annotations

import pytest
from tests.advice.cases import BASE, example, with_

from boomwright.advice.effects import effect_between, effect_of, likely_verdict
from boomwright.advice.finding import Answer, Change, Finding, Fix, Level, Question
from boomwright.advice.judge import Verdict
from boomwright.build.drawer import load_drawer
from boomwright.errors import BuildFileError
from boomwright.outcome.data import Range

DRAWER = load_drawer()


def said(id: str, where: str, level: Level = "mind") -> Finding:
    return Finding(id, level, "safe", where, f"{id} at {where}", (), "", "")


def verdict(*findings: Finding, hours: float = 3600.0) -> Verdict:
    questions: tuple[Question, ...] = ("loud", "long", "hot", "safe")
    answers = tuple(
        Answer(question, "fine", "", "", Range(hours, hours, hours), "time")
        for question in questions
    )
    return Verdict("mind", answers, findings)


def places(findings: tuple[Finding, ...]) -> list[str]:
    return [f"{item.id}@{item.where} {item.level}" for item in findings]


@pytest.mark.parametrize(
    ("before", "after", "goes", "comes"),
    [
        ([("a", "x", "mind")], [], ["a@x mind"], []),
        ([], [("a", "x", "mind"), ("b", "y", "stop")], [], ["b@y stop", "a@x mind"]),
        ([("a", "x", "mind")], [("a", "x", "stop")], [], ["a@x stop"]),
        ([("a", "x", "stop")], [("a", "x", "mind")], [], []),
        ([("a", "x", "stop")], [("a", "y", "stop")], [], []),
        ([("a", "x", "mind")], [("a", "y", "stop")], [], ["a@y stop"]),
        ([("a", "x", "mind"), ("a", "y", "mind")], [("a", "y", "mind")], ["a@x mind"], []),
        ([("a", "x", "mind"), ("a", "x", "mind")], [("a", "x", "mind")], ["a@x mind"], []),
        ([("a", "x", "fine")], [("b", "x", "fine")], [], []),
    ],
)
def test_what_goes_and_comes(before, after, goes, comes):
    effect = effect_between(
        verdict(*(said(*item) for item in before)), verdict(*(said(*item) for item in after))
    )
    assert places(effect.goes) == goes
    assert places(effect.comes) == comes
    assert places(effect.stops) == [place for place in comes if place.endswith("stop")]


def test_what_stays_is_not_mended():
    here, gone = said("a", "x"), said("b", "y")
    effect = effect_between(verdict(here, gone), verdict(here))
    assert (effect.mends(gone), effect.leaves(gone)) == (True, False)
    assert (effect.mends(here), effect.leaves(here)) == (False, True)
    assert not effect.leaves(said("c", "z"))


def test_answers_before_and_after():
    effect = effect_between(verdict(hours=7200.0), verdict(hours=10800.0))
    assert [shift.question for shift in effect.answers] == ["loud", "long", "hot", "safe"]
    assert {(shift.before, shift.after) for shift in effect.answers} == {(7200.0, 10800.0)}


def test_effect_of_a_fuse_on_the_first_attempt():
    text = example("first-attempt")
    before = likely_verdict(text, drawer=DRAWER)
    finding = next(item for item in before.findings if item.id == "fuse-missing")
    effect = effect_of(finding.fix, text=text, before=before, drawer=DRAWER)
    assert effect.mends(finding)
    assert not effect.stops
    assert "branch-fuse" in [come.id for come in effect.comes]
    assert [shift.before for shift in effect.answers] == [
        answer.value.likely for answer in before.answers
    ]


def test_effect_of_a_thirsty_change_shortens_the_run():
    before = likely_verdict(BASE, drawer=DRAWER)
    fix = Fix("half of it", (Change("battery", "capacity", "4.5 Ah"),))
    effect = effect_of(fix, text=BASE, before=before, drawer=DRAWER)
    hours = next(shift for shift in effect.answers if shift.question == "long")
    assert 0.3 < hours.after / hours.before < 0.5
    assert not effect.goes


def test_effect_is_worked_out_with_own_parts():
    drawer = DRAWER.with_overlay({"battery": {"mine": {**DRAWER.tables["battery"]["agm-12v-9ah"]}}})
    text = with_(BASE, {"battery": {"part": "mine"}})
    before = likely_verdict(text, drawer=drawer)
    fix = Fix("so", (Change("want", "hours", "5 h"),))
    assert effect_of(fix, text=text, before=before, drawer=drawer).goes == ()


def test_fix_that_makes_no_build_is_an_error():
    before = likely_verdict(BASE, drawer=DRAWER)
    fix = Fix("so", (Change("battery", "capacity", "nine"),))
    with pytest.raises(BuildFileError, match="nine"):
        effect_of(fix, text=BASE, before=before, drawer=DRAWER)
