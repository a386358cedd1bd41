"""What to measure next."""

from __future__ import annotations

import dataclasses
import re

from tests.advice.cases import BASE, case_of, example, findings, only, with_

from boomwright.advice.finding import Finding
from boomwright.advice.judge import judge
from boomwright.advice.rules import Case, all_rules
from boomwright.advice.topics.facts import _kinds, _measures, _table_of
from boomwright.build.read import parse_build
from boomwright.outcome.data import Influence
from boomwright.outcome.run import outcome_of
from boomwright.outcome.worked import work_out


def influence(part: str, field: str, basis: str, share: float, spread: float = 0.6) -> Influence:
    return Influence(
        part, field, "power", basis, "1 W", "2 W", "3 W", spread, {"long": share, "hot": 0.3}
    )


def said(*influences: Influence) -> list[Finding]:
    """What the rule says of the plain build, had it these unknowns."""
    case = case_of(BASE)
    outcome = dataclasses.replace(case.outcome, influences=influences)
    rule = next(rule for rule in all_rules() if rule.id == "measure-next")
    return rule.findings(Case(case.build, outcome, case.drawer))


def test_names_the_three_that_widen_most_and_how_to_measure_them() -> None:
    (found,) = said(
        influence("amplifier", "idle_power", "typical", 0.52),
        influence("rail", "efficiency", "label", 0.41),
        influence("battery", "health", "guess", 0.36),
        influence("receiver", "current", "typical", 0.31),
    )
    assert (found.level, found.where, found.question) == ("fine", "amplifier", "long")
    assert "Three unknowns widen" in found.says
    assert "amplifier, idle power (1 W to 3 W), 52 % of the spread of the hours" in found.says
    assert "30 % of the spread of the hottest part" in found.says
    assert "receiver" not in found.says + found.do
    assert [round(figure.value, 2) for figure in found.numbers] == [0.52, 0.41, 0.36]
    assert found.do.count("Amplifier, idle power: put the multimeter") == 1
    assert "±5 %" in found.do


def test_passes_over_what_is_measured_or_cannot_be() -> None:
    (found,) = said(
        influence("want", "outside", "label", 0.9),
        influence("driver", "coupling", "label", 0.8),
        influence("battery", "health", "measured", 0.7),
        influence("cutoff", "off", "standard", 0.6),
        # Its range is as narrow already as a bench would make it.
        influence("rail", "efficiency", "label", 0.5, spread=0.03),
        influence("amplifier", "idle_power", "guess", 0.4),
    )
    assert "One unknown widens the answers most: amplifier, idle power" in found.says


def test_says_nothing_where_nothing_is_left_to_measure() -> None:
    assert said() == []
    assert said(influence("battery", "health", "measured", 0.7)) == []


def test_says_what_range_the_hours_would_keep() -> None:
    hours = case_of(BASE).outcome.wanted.duration
    (found,) = said(influence("amplifier", "idle_power", "guess", 0.75, spread=1.0))
    # Of the variance 25 % stays, and of the 75 % a hundredth: the reading leaves a tenth.
    width = (0.25 + 0.75 * 0.01) ** 0.5
    kept = re.search(r"about ([\d.]+) h to ([\d.]+) h", found.why)
    assert kept is not None
    low, high = (float(text) * 3600 for text in kept.groups())
    # Printed to two digits.
    assert abs(low - (hours.likely - width * (hours.likely - hours.low))) < 1800
    assert abs(high - (hours.likely + width * (hours.high - hours.likely))) < 1800
    assert hours.low < low < hours.likely < high < hours.high


def test_a_guessed_lamp_is_what_to_measure() -> None:
    text = with_(BASE, {"load": {"current": "0.4 A [0.05 to 1] (guess)", "use": "light"}})
    found = only("measure-next", text)
    assert found.where == "load"
    assert "ammeter" in found.do
    measured = with_(BASE, {"load": {"current": "0.4 A (measured)", "use": "light"}})
    assert not [item for item in findings("measure-next", measured) if item.where == "load"]


def test_first_attempt_has_one_and_it_comes_last() -> None:
    case = case_of(example("first-attempt"))
    verdict = judge(case.build, case.outcome)
    fine = [item.id for item in verdict.findings if item.level == "fine"]
    assert fine.count("measure-next") == 1
    assert verdict.findings[-1].id == "measure-next"


def test_advice_is_no_fault() -> None:
    case = case_of(BASE)
    unknown = influence("amplifier", "idle_power", "guess", 0.75)
    verdict = judge(case.build, dataclasses.replace(case.outcome, influences=(unknown,)))
    assert [item.id for item in verdict.findings] == ["measure-next"]
    assert verdict.level == "fine"
    assert {answer.level for answer in verdict.answers} == {"fine"}
    assert verdict.answers[-1].headline == "nothing to stop or to mind"


def test_every_unknown_has_a_way_or_none_can_be() -> None:
    """Each field that is drawn is in the data, but for the weather and what no bench can tell."""
    beyond = {
        ("want", "outside"),
        ("driver", "coupling"),
        ("cabinet", "stuffing gain"),
        ("cabinet", "radiation"),
        ("amplifier", "loss_switching"),
    }
    drawn = set()
    for name in ("first-attempt", "market-stall", "rowing-launch", "allotment-day"):
        build = parse_build(example(name), file=name)
        kinds = _kinds(build)
        worked = work_out(build, versions=3)
        outcome_of(worked)
        taken = worked.plan.draws.taken
        drawn |= {_table_of(kinds.get(item.part, item.part), item.field) for item in taken}
    assert len(drawn) > 20
    assert drawn - set(_measures()) <= beyond


def test_data_is_whole() -> None:
    for (kind, field), measure in _measures().items():
        assert 0 < measure.within <= 1, (kind, field)
        assert measure.how[0].islower(), (kind, field)
        assert not measure.how.endswith("."), (kind, field)
