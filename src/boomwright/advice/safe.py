"""Mending all that can be mended without bringing anything new to stop."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from boomwright.advice.effects import Effect, effect_between, place_of
from boomwright.advice.finding import LEVELS, Finding
from boomwright.advice.judge import Verdict
from boomwright.advice.mend import mended_text
from boomwright.build.drawer import Drawer
from boomwright.errors import BuildFileError

__all__ = ["Left", "Mended", "Mending", "mend_safely"]

_PASSES = 6
_TIMES = 3
"""How often one finding may come back and be mended again."""


@dataclass(frozen=True)
class Mended:
    """A finding that was mended, and what that did."""

    finding: Finding
    effect: Effect


@dataclass(frozen=True)
class Left:
    """A finding that was left, and why."""

    finding: Finding
    why: str


@dataclass(frozen=True)
class Mending:
    """A text after mending: its verdict, what was mended and what was left.

    Parameters
    ----------
    text : str
        The text.
    verdict : Verdict
        Of it.
    done : tuple of Mended
        In the order in which it was done.
    left : tuple of Left
        Every finding that is still there.
    """

    text: str
    verdict: Verdict
    done: tuple[Mended, ...]
    left: tuple[Left, ...]


def mend_safely(
    text: str,
    *,
    judged: Callable[[str], Verdict],
    drawer: Drawer,
    file: str = "build file",
    seen: Callable[[Finding], None] | None = None,
) -> Mending:
    """Mend one finding after the other, the worst first, as long as nothing new comes to stop.

    Each is judged anew on the text as it then is, and only put in if its finding goes. Edits that
    only lower the wish come after all others, since other edits may fulfil it. Passes over the
    findings repeat until one changes nothing.

    Parameters
    ----------
    text : str
        Text of a build file that reads.
    judged : callable
        Text → verdict; raises BuildFileError for a text that is no build.
    drawer : Drawer
        Where parts are looked up.
    file : str
        Name for messages.
    seen : callable, optional
        Told of each finding before it is tried.

    Returns
    -------
    Mending
    """
    verdict, done = judged(text), list[Mended]()
    texts, times = {text}, dict[tuple[str, str], int]()
    why: dict[tuple[str, str], str] = {}
    for _ in range(_PASSES):
        tried: set[tuple[str, str]] = set()
        count = len(done)
        while (finding := _next(verdict, tried)) is not None and finding.fix is not None:
            place = place_of(finding)
            tried.add(place)
            if times.get(place, 0) >= _TIMES:
                why[place] = "it comes back each time"
                continue
            if seen is not None:
                seen(finding)
            try:
                mended = mended_text(text, finding.fix, drawer=drawer, file=file)
                if mended in texts:
                    why[place] = "its edit leads back to a build that was left behind"
                    continue
                after = judged(mended)
            except BuildFileError as error:
                why[place] = f"its edit cannot be put in: {error.problems[0].says}"
                continue
            effect = effect_between(verdict, after)
            if effect.stops:
                names = ", ".join(dict.fromkeys(stop.id for stop in effect.stops))
                why[place] = f"its edit would bring {names} to stop"
            elif not effect.mends(finding):
                why[place] = "its edit alone is not enough"
            else:
                done.append(Mended(finding, effect))
                text, verdict = mended, after
                texts.add(text)
                times[place] = times.get(place, 0) + 1
        if len(done) == count:
            break
    left = tuple(
        Left(finding, _why(finding, why)) for finding in verdict.findings if finding.level != "fine"
    )
    return Mending(text, verdict, tuple(done), left)


def _next(verdict: Verdict, tried: set[tuple[str, str]]) -> Finding | None:
    """The worst finding with an edit that was not tried yet, edits of the wish alone last."""
    waiting = [
        finding
        for finding in verdict.findings
        if finding.fix is not None and place_of(finding) not in tried
    ]
    return min(
        waiting,
        key=lambda finding: (_wish_given_up(finding), -LEVELS.index(finding.level)),
        default=None,
    )


def _wish_given_up(finding: Finding) -> int:
    """0 for an edit of the build, 1 for one of the wish, 2 for one of the hours.

    Hours come last, because a lower level may give them back.
    """
    changes = finding.fix.changes if finding.fix else ()
    if any(change.part != "want" for change in changes):
        return 0
    return 2 if any(change.key == "hours" for change in changes) else 1


def _why(finding: Finding, why: dict[tuple[str, str], str]) -> str:
    if finding.fix is None:
        return "no edit mends it"
    return why.get(place_of(finding), "its edit alone is not enough")
