"""What a fix would change: the four answers, the findings that go and those that come."""

from __future__ import annotations

from dataclasses import dataclass

from boomwright.advice.finding import LEVELS, Finding, Fix, Question
from boomwright.advice.judge import Verdict, judge
from boomwright.advice.mend import mended_text
from boomwright.build.drawer import Drawer
from boomwright.build.read import parse_build
from boomwright.outcome.run import run_build

__all__ = ["Effect", "Shift", "effect_between", "effect_of", "likely_verdict", "place_of"]


@dataclass(frozen=True)
class Shift:
    """One of the four answers before and after.

    Parameters
    ----------
    question : str
        Which.
    before, after : float
        Likely values in the SI unit of their kind.
    kind : str
        Key of :data:`boomwright.build.units.KINDS`.
    """

    question: Question
    before: float
    after: float
    kind: str


@dataclass(frozen=True)
class Effect:
    """What a change of a build does.

    Parameters
    ----------
    answers : tuple of Shift
        The four answers.
    goes : tuple of Finding
        Findings that are there before and not after.
    comes : tuple of Finding
        Findings that are there after and not before, or weigh more than before.
    stays : tuple of Finding
        Findings that are there before and after, as they are after.
    """

    answers: tuple[Shift, ...]
    goes: tuple[Finding, ...]
    comes: tuple[Finding, ...]
    stays: tuple[Finding, ...] = ()

    @property
    def stops(self) -> tuple[Finding, ...]:
        """Findings to stop that were none before."""
        return tuple(finding for finding in self.comes if finding.level == "stop")

    def mends(self, finding: Finding) -> bool:
        """Whether a finding goes."""
        return place_of(finding) in [place_of(gone) for gone in self.goes]

    def leaves(self, finding: Finding) -> bool:
        """Whether a finding is there before and after all the same."""
        same = (item for item in self.stays if place_of(item) == place_of(finding))
        return not self.mends(finding) and next(same, None) is not None


def place_of(finding: Finding) -> tuple[str, str]:
    """Rule and part, which tell one finding from another."""
    return finding.id, finding.where


def likely_verdict(text: str, *, drawer: Drawer, file: str = "build file") -> Verdict:
    """Verdict on the likely version of a build alone: quick, and without ranges.

    Parameters
    ----------
    text : str
        Text of a build file.
    drawer : Drawer
        Where parts are looked up.
    file : str
        Name for messages.

    Returns
    -------
    Verdict

    Raises
    ------
    BuildFileError
        If the text is no build.
    """
    build = parse_build(text, file=file, drawer=drawer)
    return judge(build, run_build(build, versions=0, drawer=drawer), drawer=drawer)


def effect_of(
    fix: Fix, *, text: str, before: Verdict, drawer: Drawer, file: str = "build file"
) -> Effect:
    """Effect of a fix on the likely version of a build.

    Parameters
    ----------
    fix : Fix
        The edits.
    text : str
        Text of the build file.
    before : Verdict
        Of that text, from :func:`likely_verdict`.
    drawer : Drawer
        Where parts are looked up.
    file : str
        Name for messages.

    Returns
    -------
    Effect

    Raises
    ------
    BuildFileError
        If the text cannot be mended so, or is no build any more.
    """
    mended = mended_text(text, fix, drawer=drawer, file=file)
    return effect_between(before, likely_verdict(mended, drawer=drawer, file=file))


def effect_between(before: Verdict, after: Verdict) -> Effect:
    """Effect from the verdicts before and after, worked out the same way.

    A finding that only moves to another part of the build neither goes nor comes.
    """
    shifts = tuple(
        Shift(old.question, old.value.likely, new.value.likely, old.kind)
        for old, new in zip(before.answers, after.answers, strict=True)
    )
    old, new = (
        [finding for finding in verdict.findings if finding.level != "fine"]
        for verdict in (before, after)
    )
    heavier, stays = list[Finding](), list[Finding]()
    for same in (_same_place, _same_rule):
        for finding in list(new):
            match = next((other for other in old if same(finding, other)), None)
            if match is not None:
                old.remove(match)
                new.remove(finding)
                stays.append(finding)
                if LEVELS.index(finding.level) > LEVELS.index(match.level):
                    heavier.append(finding)
    comes = sorted([*heavier, *new], key=lambda finding: -LEVELS.index(finding.level))
    return Effect(shifts, tuple(old), tuple(comes), tuple(stays))


def _same_place(one: Finding, other: Finding) -> bool:
    return place_of(one) == place_of(other)


def _same_rule(one: Finding, other: Finding) -> bool:
    return one.id == other.id
