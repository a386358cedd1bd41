"""A finding: one thing to mind or to stop, with its numbers, its reason and what to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from boomwright.build.quantities import format_quantity
from boomwright.outcome.data import Range

__all__ = ["LEVELS", "Answer", "Change", "Figure", "Finding", "Fix", "Level", "Question", "worst"]

Level = Literal["fine", "mind", "stop"]
LEVELS: tuple[Level, ...] = ("fine", "mind", "stop")
"""Verdicts from best to worst."""

Question = Literal["loud", "long", "hot", "safe"]
"""Which of the four answers a finding belongs to."""


def worst(levels: list[Level] | tuple[Level, ...]) -> Level:
    """The worst of some verdicts, ``fine`` where there are none.

    Examples
    --------
    >>> worst(["fine", "stop", "mind"])
    'stop'
    """
    return max(levels, key=LEVELS.index, default="fine")


@dataclass(frozen=True)
class Figure:
    """A number behind a finding.

    Parameters
    ----------
    label : str
        What it is, in words.
    value : float
        In the SI unit of its kind.
    kind : str
        Key of :data:`boomwright.build.units.KINDS`.
    """

    label: str
    value: float
    kind: str

    @property
    def shown(self) -> str:
        """Printed with its unit."""
        return format_quantity(self.value, self.kind)


@dataclass(frozen=True)
class Change:
    """One edit of the build file.

    Parameters
    ----------
    part : str
        Name of the part, ``want`` for the wish.
    key : str
        Key within its table.
    value : str, int, bool, tuple of str or None
        New value as the file writes it, a tuple for a list; None takes the key out.
    kind : str
        For a part that is not there yet: its kind, and the table is made.
    """

    part: str
    key: str
    value: str | int | bool | tuple[str, ...] | None
    kind: str = ""


@dataclass(frozen=True)
class Fix:
    """What would mend a finding.

    Parameters
    ----------
    says : str
        What it does, in words.
    changes : tuple of Change
        The edits.
    """

    says: str
    changes: tuple[Change, ...]


@dataclass(frozen=True)
class Finding:
    """One thing to mind or to stop.

    Parameters
    ----------
    id : str
        Name of the rule.
    level : str
        ``mind`` or ``stop``; ``fine`` for advice that is no fault.
    question : str
        Which of the four answers it belongs to.
    where : str
        Name of the part it is about.
    says : str
        What is wrong, in one plain sentence.
    numbers : tuple of Figure
        The numbers it rests on.
    why : str
        Why it matters, in one plain sentence.
    do : str
        What to do.
    fix : Fix or None
        The same as an edit of the file, where one edit does it.
    """

    id: str
    level: Level
    question: Question
    where: str
    says: str
    numbers: tuple[Figure, ...]
    why: str
    do: str
    fix: Fix | None = None


@dataclass(frozen=True)
class Answer:
    """One of the four answers: how loud, how long, how hot, how safe.

    Parameters
    ----------
    question : str
        Which.
    level : str
        Its verdict.
    headline : str
        The answer in a few words.
    detail : str
        One sentence more.
    value : Range
        Likely value and range in the SI unit of its kind; a count of findings for ``safe``.
    kind : str
        Key of :data:`boomwright.build.units.KINDS`.
    """

    question: Question
    level: Level
    headline: str
    detail: str
    value: Range
    kind: str
