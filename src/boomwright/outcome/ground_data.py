"""What the minus wiring of a build holds: conductors, rings, and whines with how loud they are."""

from __future__ import annotations

from dataclasses import dataclass

from boomwright.outcome.data import Range

__all__ = [
    "HEARD_FROM",
    "Edge",
    "GroundPlan",
    "Loop",
    "Return",
    "Rewired",
    "Whine",
    "heard_as",
]

HEARD_FROM = 20.0
"""Level at 1 m from which a quiet room no longer hides a whine [dB]; common practice, no source."""

_HEARD_AS = (
    (HEARD_FROM, "below what a quiet room hides"),
    (35.0, "heard in a quiet room"),
    (50.0, "as loud as whispering"),
    (65.0, "as loud as talk"),
)


def heard_as(level: float) -> str:
    """How loud a whine of a level at 1 m is, in words.

    Examples
    --------
    >>> heard_as(12.0), heard_as(45.0)
    ('below what a quiet room hides', 'as loud as whispering')
    """
    return next((words for top, words in _HEARD_AS if level < top), "louder than talk")


@dataclass(frozen=True)
class Return:
    """A minus wire laid otherwise than the build file has it.

    Parameters
    ----------
    part : str
        Name of the part whose minus wire it is.
    to : str
        Name of the part, or of the source, whose minus it ends on.
    area, length : float
        Copper [m²] and length one way [m].
    """

    part: str
    to: str
    area: float
    length: float


@dataclass(frozen=True)
class Rewired:
    """Changes that a build file cannot say: minus wires laid anew, amplifiers that subtract."""

    returns: tuple[Return, ...] = ()
    differential: tuple[str, ...] = ()


@dataclass(frozen=True)
class Edge:
    """A minus conductor.

    Parameters
    ----------
    name : str
        Name of the part it belongs to, or the two ends of a screen.
    kind : str
        ``lead`` beside the part's plus wire, ``join`` for one laid elsewhere, ``screen``.
    start, end : str
        Parts at its ends, the source's side last.
    area, length : float or None
        Copper [m²] and length one way [m]; None for a screen.
    resistance : Range
        One way, with half of its connector [Ω].
    carries : tuple of str
        Parts of whose supply current more than a hundredth runs in it.
    """

    name: str
    kind: str
    start: str
    end: str
    area: float | None
    length: float | None
    resistance: Range
    carries: tuple[str, ...]


@dataclass(frozen=True)
class Loop:
    """A ring of minus conductors, by the names of its edges, and its resistance all round [Ω]."""

    edges: tuple[str, ...]
    resistance: float


@dataclass(frozen=True)
class Whine:
    """What one noisy current puts on the drivers of one amplifier, with no music playing.

    Parameters
    ----------
    load, kind : str
        Name of the part whose current it is; ``bursts`` of a receiver, ``ripple`` of a converter,
        ``steps`` of a phone on charge.
    source, amplifier : str
        Where the sound comes from (a receiver, or the port of a phone with a lead) and goes to.
    current : Range
        Audible part of the current, at the part itself [A].
    basis : str
        What the current rests on.
    resistance : Range
        Volts at the input over that current [Ω].
    volts : Range
        At the drivers, root mean square [V].
    level : Range
        At 1 m from the loudest of its drivers [dB]; -60 dB stands for all that is fainter.
    drops : tuple of (str, float)
        Edges between the two grounds with their likely drop [V]; they add up to the input's.
    """

    load: str
    kind: str
    source: str
    amplifier: str
    current: Range
    basis: str
    resistance: Range
    volts: Range
    level: Range
    drops: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class GroundPlan:
    """The minus wiring: its joints, conductors and rings, and every whine, the loudest first."""

    nodes: tuple[str, ...]
    edges: tuple[Edge, ...]
    loops: tuple[Loop, ...]
    whines: tuple[Whine, ...]

    @property
    def loudest(self) -> Whine | None:
        """The loudest whine, None where nothing can whine."""
        return self.whines[0] if self.whines else None

    def edge(self, name: str) -> Edge:
        """Conductor of a name; KeyError if there is none."""
        return {edge.name: edge for edge in self.edges}[name]

    def whine(self, load: str, amplifier: str) -> Whine | None:
        """Whine of a part at an amplifier, None where there is none."""
        found = (w for w in self.whines if (w.load, w.amplifier) == (load, amplifier))
        return next(found, None)
