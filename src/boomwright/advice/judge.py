"""From a Build and its Outcome to the verdict: findings and the four answers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.advice.finding import LEVELS, Answer, Finding, Level, Question, worst
from boomwright.advice.rules import Case, all_rules
from boomwright.build.drawer import Drawer, load_drawer
from boomwright.build.model import Build
from boomwright.build.quantities import format_hours, format_quantity
from boomwright.outcome.data import Outcome, Range, ScenarioOutcome

__all__ = ["SILICON_ENDS", "Verdict", "judge"]


SILICON_ENDS = 473.15
"""No silicon part works above this [K]; a hotter figure only says how far off it is."""


_DEAD_VOLTS = 0.5
"""Volts at a part below which nothing in the box works [V]."""


@dataclass(frozen=True)
class Verdict:
    """What is to be said of a build.

    Parameters
    ----------
    level : str
        The worst of the findings.
    answers : tuple of Answer
        How loud, how long, how hot, how safe.
    findings : tuple of Finding
        Worst first.
    """

    level: Level
    answers: tuple[Answer, ...]
    findings: tuple[Finding, ...]


def judge(build: Build, outcome: Outcome, *, drawer: Drawer | None = None) -> Verdict:
    """Verdict on a build.

    Parameters
    ----------
    build : Build
        The build.
    outcome : Outcome
        What physics says of it.
    drawer : Drawer or None
        Where connectors are looked up; the typical parts if None.

    Returns
    -------
    Verdict
    """
    case = Case(build, outcome, drawer or load_drawer())
    findings = [finding for rule in all_rules() for finding in rule.findings(case)]
    findings.sort(key=lambda finding: -LEVELS.index(finding.level))

    def level_of(question: Question) -> Level:
        return worst([finding.level for finding in findings if finding.question == question])

    answers = (
        _how_loud(build, outcome, level_of("loud")),
        _how_long(build, outcome, level_of("long")),
        _how_hot(outcome, level_of("hot")),
        _how_safe(findings, level_of("safe")),
    )
    levels = [finding.level for finding in findings] + [answer.level for answer in answers]
    return Verdict(worst(levels), answers, tuple(findings))


def _how_loud(build: Build, outcome: Outcome, level: Level) -> Answer:
    loud, wanted = outcome.scenario("flat-out"), outcome.wanted
    distance = format_quantity(build.want.level.distance.likely, "length")
    asked = wanted.level_asked
    start, end = (value.likely - asked for value in (wanted.clean_start, wanted.clean_end))
    spare = "to spare" if start >= 0 else "short"
    detail = f"{build.want.level} asked: {abs(start):.0f} dB {spare} with a full battery"
    if build.battery is not None:
        detail += f", {abs(end):.0f} dB {'to spare' if end >= 0 else 'short'} at the end"
    value = loud.clean_start
    headline = f"{value.likely:.0f} dB(A) at {distance}, clean"
    return Answer("loud", level, headline, detail, value, "decibel")


def _how_long(build: Build, outcome: Outcome, level: Level) -> Answer:
    wanted = outcome.wanted
    if _gave_way(wanted):
        return _no_figure("long")
    hours = format_hours(wanted.duration.likely)
    if np.isinf(wanted.duration.likely):
        return Answer("long", level, "no limit", "runs from a supply", wanted.duration, "time")
    low = format_hours(wanted.duration.low)
    high = format_hours(wanted.duration.high)
    others = (outcome.scenario("background"), outcome.scenario("flat-out"))
    parts = [f"{format_hours(other.duration.likely)} {other.title}" for other in others]
    if build.usb:
        phone = outcome.scenario("wanted+phone").duration.likely
        parts.append(f"{format_hours(phone)} with a phone on charge")
    headline = f"{hours} ({low} to {high}) as wanted"
    return Answer("long", level, headline, ", ".join(parts), wanted.duration, "time")


def _how_hot(outcome: Outcome, level: Level) -> Answer:
    key = (
        "flat-out+phone"
        if any(s.key == "flat-out+phone" for s in outcome.scenarios)
        else "flat-out"
    )
    loud = outcome.scenario(key)
    if _gave_way(loud):
        return _no_figure("hot")
    spots = [part for part in loud.parts if not np.isnan(part.junction.likely)]
    if not spots:
        air = format_quantity(loud.air.likely, "temperature")
        return Answer("hot", level, f"{air} in the box", loud.title, loud.air, "temperature")
    hottest = max(spots, key=lambda part: part.junction.likely)
    spot = format_quantity(hottest.junction.likely, "temperature")
    headline = f"{spot} in the hottest part"
    if hottest.junction.likely > SILICON_ENDS:
        limit = format_quantity(SILICON_ENDS, "temperature")
        headline = f"over {limit} in the hottest part: it shuts down or burns"
    air = format_quantity(loud.air.likely, "temperature")
    detail = f"{hottest.name}, {loud.title} for hours; air in the box {air}"
    return Answer("hot", level, headline, detail, hottest.junction, "temperature")


def _gave_way(scenario: ScenarioOutcome) -> bool:
    """Whether the likely source cannot hold its load up, so that currents and heat mean nothing."""
    return any(part.volts_in.likely < _DEAD_VOLTS for part in scenario.parts)


def _no_figure(question: Question) -> Answer:
    nothing = Range(np.nan, np.nan, np.nan)
    detail = "the parts ask for more than their source can give; mend that first"
    return Answer(question, "stop", "no figure: the supply gives way", detail, nothing, "ratio")


def _how_safe(findings: list[Finding], level: Level) -> Answer:
    stops = sum(finding.level == "stop" for finding in findings)
    minds = sum(finding.level == "mind" for finding in findings)
    headline = (
        f"{stops} to stop, {minds} to mind in all"
        if stops or minds
        else "nothing to stop or to mind"
    )
    first = next((finding.says for finding in findings if finding.question == "safe"), "")
    return Answer("safe", level, headline, first, Range(stops, stops, stops), "ratio")
