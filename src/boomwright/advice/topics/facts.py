"""What is known of a build, and what is worth finding out before anything else."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from boomwright.advice.finding import Figure
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.terms import percent
from boomwright.build.model import MANY_KINDS, Build
from boomwright.build.quantities import format_hours
from boomwright.build.units import KINDS
from boomwright.outcome.data import Influence, Range

__all__: list[str] = []

_KNOWN = frozenset({"measured", "standard", "invented"})
_MOST = 3
_ANSWERS = {"long": "the hours", "loud": "the level", "hot": "the hottest part"}


@dataclass(frozen=True)
class _Measure:
    """How one field is measured, and how near the reading comes."""

    name: str
    how: str
    within: float


@dataclass(frozen=True)
class _Unknown:
    """An input that is not known for certain and could be measured."""

    influence: Influence
    measure: _Measure

    @property
    def called(self) -> str:
        """What a sentence calls it."""
        return f"{self.influence.part}, {self.measure.name}"

    @property
    def left(self) -> float:
        """Share of its range that a measurement would leave."""
        return min(2.0 * self.measure.within / max(self.influence.spread, 1e-12), 1.0)


@rule(
    "measure-next",
    "long",
    title="What to measure next",
    source="squared rank correlation over the versions of the build (Spearman 1904, from memory)",
)
def measure_next(case: Case) -> Iterator[Says]:
    """The unknowns that widen the answers most, how to measure them and what that would leave."""
    unknowns = _unknowns(case)[:_MOST]
    if not unknowns:
        return
    count = {1: "One unknown widens", 2: "Two unknowns widen", 3: "Three unknowns widen"}
    listed = "; ".join(f"{item.called} ({_range(item)}), {_part(item)}" for item in unknowns)
    hows = " ".join(
        f"{item.called[:1].upper()}{item.called[1:]}: {item.measure.how} ({_nearness(item)})."
        for item in unknowns
    )
    yield Says(
        "fine",
        unknowns[0].influence.part,
        f"{count[len(unknowns)]} the answers most: {listed}.",
        "A range is only as narrow as the widest thing in it: these readings buy most."
        + _narrowed(case.outcome.wanted.duration, unknowns),
        f"Measure, and write each reading into the file with '(measured)' behind it. {hows}",
        tuple(
            Figure(f"share of {item.called}", item.influence.greatest, "share") for item in unknowns
        ),
    )


def _unknowns(case: Case) -> list[_Unknown]:
    """What can be measured and has not been, the greatest share first."""
    kinds = _kinds(case.build)
    found = []
    for influence in case.outcome.influences:
        kind = kinds.get(influence.part, influence.part)
        measure = _measures().get(_table_of(kind, influence.field))
        if influence.basis in _KNOWN or measure is None:
            continue
        unknown = _Unknown(influence, measure)
        # A value that is already as well known as the bench could tell it stays as it is.
        if unknown.left < 1.0:
            found.append(unknown)
    return found


def _table_of(kind: str, field: str) -> tuple[str, str]:
    """Where a field stands in the data; the lead that feeds a part is the same for every kind."""
    if kind == "driver" and (field == "capacitor" or field.startswith("filter step")):
        return kind, "filter"
    lead, dot, of_lead = field.partition(".")
    return (lead, of_lead) if dot and lead == "lead" else (kind, field)


def _kinds(build: Build) -> dict[str, str]:
    """Kind of each part by its name."""
    named = {build.source.name: "battery" if build.battery else "supply"}
    for kind in MANY_KINDS:
        named |= {part.name: kind for part in getattr(build, kind)}
    return named


@cache
def _measures() -> dict[tuple[str, str], _Measure]:
    text = (files("boomwright.advice") / "data" / "measuring.toml").read_text(encoding="utf-8")
    return {
        (kind, field): _Measure(facts["name"], facts["how"], facts["within"])
        for kind, fields in tomllib.loads(text).items()
        for field, facts in fields.items()
    }


def _range(item: _Unknown) -> str:
    return f"{item.influence.low} to {item.influence.high}"


def _part(item: _Unknown) -> str:
    shares = sorted(item.influence.shares.items(), key=lambda share: -share[1])
    return " and ".join(
        f"{percent(share)} of the spread of {_ANSWERS[answer]}" for answer, share in shares
    )


def _nearness(item: _Unknown) -> str:
    unit = KINDS[item.influence.kind]
    if unit.si == "dB" or unit.offset:
        return f"to about ±{item.measure.within:g} {unit.shown or unit.si}"
    return f"to about ±{percent(item.measure.within)}"


def _narrowed(duration: Range, unknowns: list[_Unknown]) -> str:
    """Range of the hours that the measurements would leave, in words; nothing if no narrower."""
    shares = [(item.influence.shares.get("long", 0.0), item.left) for item in unknowns]
    followed = sum(share for share, _ in shares)
    if followed == 0 or not math.isfinite(duration.high):
        return ""
    # Variances of independent inputs add up; noise may carry the shares a little over the whole.
    rest = max(1.0 - followed, 0.0) + sum(share * left**2 for share, left in shares)
    width = math.sqrt(min(rest, 1.0))
    likely = duration.likely
    low = likely - width * (likely - duration.low)
    high = likely + width * (duration.high - likely)
    was = f"{format_hours(duration.low)} to {format_hours(duration.high)}"
    becomes = f"{format_hours(low)} to {format_hours(high)}"
    return f" With them measured, {was} would become about {becomes}."
