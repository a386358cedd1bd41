"""Two builds side by side: what differs in the file, in the outcome and in the findings."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import astuple, dataclass
from typing import Any

import numpy as np

from boomwright.advice.differences import PartChange, file_changes
from boomwright.advice.finding import Answer, Finding, Level
from boomwright.advice.judge import Verdict, judge
from boomwright.build.drawer import Drawer, load_drawer
from boomwright.build.model import Build
from boomwright.build.quantities import format_hours, format_quantity
from boomwright.outcome.data import Outcome, Range, ScenarioOutcome, range_of
from boomwright.outcome.run import VERSIONS, outcome_of
from boomwright.outcome.versions import versions_of
from boomwright.outcome.worked import work_out
from boomwright.physics.arrays import Floats

__all__ = ["Comparison", "FigurePair", "FindingChange", "compare"]

_LEAST = {"decibel": 0.5, "temperature": 1.0}
"""Difference below which nobody notices [dB, K]; common practice, no source."""
_LEAST_SHARE = 0.02
"""The same for all else, as a share of the first value."""

_WORDS = {
    "time": ("shorter", "longer"),
    "decibel": ("quieter", "louder"),
    "temperature": ("cooler", "hotter"),
}


@dataclass(frozen=True)
class FigurePair:
    """One figure of both builds.

    Parameters
    ----------
    key, label : str
        Its name in data and in words.
    kind : str
        Key of :data:`boomwright.build.units.KINDS`.
    first, second : Range or None
        The figure, None where a build has none.
    difference : Range or None
        Second less first, version by version, so that what both share does not blur it; from the
        ends of both ranges where ``paired`` is false, None where a figure is missing or endless.
    paired : bool
        Whether the difference was taken version by version.
    overlap : bool
        Whether the ranges of the two overlap.
    """

    key: str
    label: str
    kind: str
    first: Range | None
    second: Range | None
    difference: Range | None
    paired: bool
    overlap: bool

    @property
    def central(self) -> bool:
        """Whether it is one of the figures that a person asks for first."""
        kind, _, use = self.key.partition(" ")
        wanted = {"level": ("wanted", "flat-out"), "watts": ("wanted",)}
        return use in wanted.get(kind, (use,))

    @property
    def clear(self) -> bool:
        """Whether the range of the difference lies on one side of nothing."""
        found = self.difference
        return found is not None and (found.low > 0 or found.high < 0)

    @property
    def notable(self) -> bool:
        """Whether the likely difference is large enough to matter."""
        if self.difference is None or self.first is None:
            return _endless(self.first) != _endless(self.second)
        least = _LEAST.get(self.kind, _LEAST_SHARE * abs(self.first.likely))
        return abs(self.difference.likely) > least

    @property
    def says(self) -> str:
        """The change in a sentence; empty where there is nothing to say."""
        if not self.notable:
            return ""
        if self.difference is None:
            if self.first is None or self.second is None:
                return ""
            return f"{self.label}: {self.shown(self.first)} → {self.shown(self.second)}"
        low, likely, high = (
            abs(value)
            for value in (self.difference.low, self.difference.likely, self.difference.high)
        )
        if not self.clear:
            ends = f"from {self.size(low)} less to {self.size(high)} more"
            return f"{self.label}: ranges overlap, no clear difference ({ends})"
        less, more = _WORDS.get(self.kind, ("less", "more"))
        word = more if self.difference.likely > 0 else less
        span = " to ".join(self.size(size) for size in sorted((low, high)))
        text = f"{self.label}: {self.size(likely)} {word} ({span})"
        if self.overlap:
            return text + "; clear version by version, though the ranges overlap"
        return text + "; the ranges do not overlap"

    def shown(self, value: Range | None) -> str:
        """A value of this figure printed; a dash where there is none."""
        if value is None:
            return "-"
        if self.key.startswith("duration"):
            return format_hours(value.likely)
        return format_quantity(value.likely, self.kind)

    def size(self, size: float) -> str:
        """A difference without its sign, printed."""
        if self.kind == "temperature":
            return f"{size:.0f} K" if size >= 10 else f"{size:.1f} K"
        if self.key.startswith("duration"):
            return format_hours(size)
        return format_quantity(size, self.kind, digits=2)


@dataclass(frozen=True)
class FindingChange:
    """A finding that comes, goes or changes its level; an empty level is none."""

    id: str
    where: str
    first: Level | None
    second: Level | None
    says: str


@dataclass(frozen=True)
class Comparison:
    """Two builds side by side.

    Parameters
    ----------
    names : (str, str)
        What the builds are called.
    file : tuple of PartChange
        What differs in what they are.
    verdicts : (Level, Level)
        The verdicts.
    answers : tuple of (Answer, Answer)
        How loud, how long, how hot, how safe.
    figures : tuple of FigurePair
        Figures of the outcome.
    findings : tuple of FindingChange
        Findings that differ.
    """

    names: tuple[str, str]
    file: tuple[PartChange, ...]
    verdicts: tuple[Level, Level]
    answers: tuple[tuple[Answer, Answer], ...]
    figures: tuple[FigurePair, ...]
    findings: tuple[FindingChange, ...]

    @property
    def same(self) -> bool:
        """Whether the builds mean the same."""
        return not self.file and not self.findings

    @property
    def sentences(self) -> tuple[str, ...]:
        """A sentence for each change of the outcome that matters."""
        return tuple(pair.says for pair in self.figures if pair.central and pair.says)


@dataclass(frozen=True)
class _Side:
    """One of the two builds, worked out."""

    build: Build
    outcome: Outcome
    verdict: Verdict
    versions: Mapping[str, Floats]


def compare(
    first: Build,
    second: Build,
    *,
    written: tuple[Mapping[str, Any], Mapping[str, Any]] | None = None,
    drawer: Drawer | None = None,
    versions: int = VERSIONS,
    seed: int = 0,
) -> Comparison:
    """Two builds side by side.

    Both are worked out with the same draws wherever they share a part, so that the difference
    between them is the build and not luck.

    Parameters
    ----------
    first, second : Build
        The builds.
    written : pair of mapping, optional
        What the two files say themselves, to tell it from what follows.
    drawer : Drawer or None
        Where connectors are looked up; the typical parts if None.
    versions, seed : int
        As of :func:`boomwright.outcome.run.run_build`.

    Returns
    -------
    Comparison
    """
    drawer = drawer or load_drawer()
    one, two = (_side(build, drawer, versions, seed) for build in (first, second))
    file = file_changes(first, second, written=written)
    return Comparison(
        names=(first.name, second.name),
        file=file,
        verdicts=(one.verdict.level, two.verdict.level),
        answers=tuple(zip(one.verdict.answers, two.verdict.answers, strict=True)),
        figures=_figures(one, two),
        findings=_finding_changes(one.verdict.findings, two.verdict.findings, file),
    )


def _side(build: Build, drawer: Drawer, versions: int, seed: int) -> _Side:
    worked = work_out(build, versions=versions, seed=seed, drawer=drawer)
    outcome = outcome_of(worked)
    verdict = judge(build, outcome, drawer=drawer)
    return _Side(build, outcome, verdict, versions_of(worked))


def _ranges(side: _Side) -> dict[str, tuple[str, str, Range, str]]:
    """Key → label, kind, range and the key of its versions."""
    found: dict[str, tuple[str, str, Range, str]] = {}

    def enter(key: str, label: str, kind: str, value: Range, versions: str = "") -> None:
        found[key] = (label, kind, value, versions or key)

    for scenario in side.outcome.scenarios:
        key, title = scenario.key, scenario.title.replace(" with a phone on charge", ", phone")
        title = title.replace(" on the coldest day", ", coldest day")
        enter(f"duration {key}", f"plays {title}", "time", scenario.duration)
        enter(f"level {key}", f"level {title}", "decibel", scenario.level_start)
        enter(f"watts {key}", f"draws {title}", "power", scenario.watts)
    loud = _loudest(side.outcome)
    hottest = _hottest(loud)
    if hottest:
        versions = f"junction {loud.key} {hottest}"
        enter("junction", "hottest part", "temperature", loud.part(hottest).junction, versions)
    enter("air", "air in the box", "temperature", loud.air, f"air {loud.key}")
    for place, board in enumerate(side.outcome.amplifiers):
        named = f"{board.name} " if len(side.outcome.amplifiers) > 1 else ""
        for output in board.outputs:
            label = f"clean, {named}output {output.channel + 1}"
            versions = f"clean {board.name} {output.channel}"
            enter(f"clean {place} {output.channel}", label, "power", output.clean_full, versions)
    enter("shelf", "on the shelf", "time", side.outcome.parked.shelf)
    for key, label in (("mass", "weight, as far as said"), ("price", "price, as far as said")):
        if key in side.versions:
            enter(key, label, key, range_of(side.versions[key]))
    return found


def _loudest(outcome: Outcome) -> ScenarioOutcome:
    keys = {scenario.key for scenario in outcome.scenarios}
    return outcome.scenario("flat-out+phone" if "flat-out+phone" in keys else "flat-out")


def _hottest(scenario: ScenarioOutcome) -> str:
    spots = [part for part in scenario.parts if not math.isnan(part.junction.likely)]
    return max(spots, key=lambda part: part.junction.likely).name if spots else ""


def _figures(one: _Side, two: _Side) -> tuple[FigurePair, ...]:
    firsts, seconds = _ranges(one), _ranges(two)
    found = []
    for key in dict.fromkeys([*firsts, *seconds]):
        label, kind, _, _ = firsts.get(key) or seconds[key]
        first = firsts[key][2] if key in firsts else None
        second = seconds[key][2] if key in seconds else None
        if first is None or second is None:
            if key not in ("mass", "price"):
                found.append(FigurePair(key, label, kind, first, second, None, False, False))
            continue
        overlap = first.low <= second.high and second.low <= first.high
        before = one.versions.get(firsts[key][3])
        after = two.versions.get(seconds[key][3])
        difference, paired = None, False
        if not (_endless(first) or _endless(second)):
            difference, paired = _difference(first, second, before, after)
        found.append(FigurePair(key, label, kind, first, second, difference, paired, overlap))
    return tuple(found)


def _difference(
    first: Range, second: Range, before: Floats | None, after: Floats | None
) -> tuple[Range, bool]:
    """Second less first, and whether it was taken version by version."""
    if before is not None and after is not None and np.all(np.isfinite([before, after])):
        return range_of(after - before), True
    if all(map(math.isclose, astuple(first), astuple(second))):
        return Range(0.0, 0.0, 0.0), False
    low, high = second.low - first.high, second.high - first.low
    return Range(second.likely - first.likely, low, high), False


def _endless(value: Range | None) -> bool:
    return value is not None and not all(map(math.isfinite, (value.low, value.likely, value.high)))


def _finding_changes(
    first: tuple[Finding, ...], second: tuple[Finding, ...], file: tuple[PartChange, ...]
) -> tuple[FindingChange, ...]:
    """Findings whose level differs; a mere remark counts as none."""
    renamed = {change.before: change.name for change in file if change.change == "renamed"}
    ones, twos = _by_place(first, renamed), _by_place(second, {})
    found = []
    for key in dict.fromkeys([*twos, *ones]):
        one, two = ones.get(key), twos.get(key)
        before, after = one.level if one else None, two.level if two else None
        said = two or one
        if said is not None and before != after:
            found.append(FindingChange(*key, before, after, said.says))
    return tuple(found)


def _by_place(
    findings: tuple[Finding, ...], renamed: Mapping[str, str]
) -> dict[tuple[str, str], Finding]:
    found: dict[tuple[str, str], Finding] = {}
    for finding in findings:
        # Of several findings of one rule at one part, the first is the worst.
        if finding.level != "fine":
            where = renamed.get(finding.where, finding.where)
            found.setdefault((finding.id, where), finding)
    return found
