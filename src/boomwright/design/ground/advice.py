"""What to move in the minus wiring so that receiver and amplifier leave each other alone.

Every move is tried: the build is wired so, its minus wiring is worked out again, and what is told
is the whine before and after.
"""

from __future__ import annotations

from dataclasses import dataclass

from boomwright.advice.finding import Change
from boomwright.build.drawer import Drawer
from boomwright.build.model import Build
from boomwright.build.quantities import format_quantity as shown
from boomwright.design.ground.moves import largest_drops, trials
from boomwright.outcome.data import Outcome
from boomwright.outcome.ground import ground_plan
from boomwright.outcome.ground_data import HEARD_FROM, Edge, GroundPlan, Whine, heard_as

__all__ = ["CAUTION", "GroundAdvice", "Move", "Star", "ground_advice", "star_table", "stars"]

CAUTION = (
    "Disconnect battery and charger before you move a wire: a minus wire that slips onto plus "
    "carries all the current the battery can give into a short."
)
"""Said beside every list of moves."""

_VERSIONS = 160
_LEAST_GAIN = 0.5
_KINDS = {"bursts": "Bursts", "ripple": "Ripple", "steps": "Load steps of a phone"}


@dataclass(frozen=True)
class Star:
    """A point where several minus leads meet.

    Parameters
    ----------
    label : str
        J1, J2, … from the source on.
    at : str
        Name of the part on whose minus it lies.
    leads : tuple of Edge
        Leads that end there.
    """

    label: str
    at: str
    leads: tuple[Edge, ...]


@dataclass(frozen=True)
class Move:
    """A change of the wiring, and what it does to the loudest whine.

    Parameters
    ----------
    says : str
        What to do, in one sentence.
    kind : str
        ``wire`` for copper alone, ``part`` where something must be bought.
    changes : tuple of Change
        Edits of the build file that say the same; empty where the file has no words for it.
    before, after : Whine
        The whine it is meant for.
    loudest : Whine
        The loudest whine that is left, perhaps another one.
    plan : GroundPlan
        The minus wiring once it is done.
    """

    says: str
    kind: str
    changes: tuple[Change, ...]
    before: Whine
    after: Whine
    loudest: Whine
    plan: GroundPlan

    @property
    def result(self) -> str:
        """Level before and after, in words."""
        was, now = self.before.level.likely, self.after.level.likely
        return f"{_level(was)} → {_level(now)} at 1 m, {heard_as(now)}"


@dataclass(frozen=True)
class GroundAdvice:
    """The minus wiring as it is, what is wrong with it, and what to move, the best move first.

    Parameters
    ----------
    plan : GroundPlan
        The wiring as the build has it.
    says : str
        The loudest whine, or that there is none, in plain words.
    moves : tuple of Move
        Moves that lower the loudest whine, empty where a quiet room hides it.
    table : str
        What is joined where.
    caution : str
        What to mind before a wire is moved; empty without moves.
    """

    plan: GroundPlan
    says: str
    moves: tuple[Move, ...]
    table: str
    caution: str


def ground_advice(
    build: Build, outcome: Outcome | None = None, *, drawer: Drawer | None = None
) -> GroundAdvice:
    """Minus wiring of a build with what to move in it.

    Parameters
    ----------
    build : Build
        The build.
    outcome : Outcome or None
        Its outcome, so that the ranges rest on as many versions; a usual number if None.
    drawer : Drawer or None
        Where connectors are looked up.

    Returns
    -------
    GroundAdvice
    """
    versions = outcome.versions - 1 if outcome is not None else _VERSIONS
    plan = ground_plan(build, versions=versions, drawer=drawer)
    worst = plan.loudest
    moves: list[Move] = []
    if worst is not None and worst.level.high >= HEARD_FROM:
        for trial in trials(build, plan, worst):
            after = ground_plan(
                trial.build, rewired=trial.rewired, versions=versions, drawer=drawer
            )
            now = after.whine(worst.load, worst.amplifier)
            if now is None or after.loudest is None:
                continue
            if now.level.likely < worst.level.likely - _LEAST_GAIN:
                moves.append(
                    Move(trial.says, trial.kind, trial.changes, worst, now, after.loudest, after)
                )
    moves.sort(key=lambda move: move.after.level.likely)
    caution = CAUTION if moves else ""
    return GroundAdvice(plan, _diagnosis(plan, worst), tuple(moves), star_table(plan), caution)


def stars(plan: GroundPlan) -> tuple[Star, ...]:
    """Points where at least two minus leads end, the source's first.

    Parameters
    ----------
    plan : GroundPlan
        The minus wiring.

    Returns
    -------
    tuple of Star
    """
    ends = {
        node: tuple(edge for edge in plan.edges if edge.end == node and edge.kind != "screen")
        for node in plan.nodes
    }
    many = [(node, leads) for node, leads in ends.items() if len(leads) > 1]
    return tuple(Star(f"J{n}", node, leads) for n, (node, leads) in enumerate(many, start=1))


def star_table(plan: GroundPlan) -> str:
    """What is joined where, as lines of text.

    Parameters
    ----------
    plan : GroundPlan
        The minus wiring.

    Returns
    -------
    str
        Joints with the leads that end there, then the leads that go straight on, then the rings.
    """
    found = stars(plan)
    lines = []
    for star in found:
        lines.append(f"{star.label}  star point at {star.at} minus, leads from")
        lines += [f"      {_lead_row(edge)}" for edge in star.leads]
    starred = {edge.name for star in found for edge in star.leads}
    alone = [edge for edge in plan.edges if edge.name not in starred and edge.kind != "screen"]
    if alone:
        lines.append("One lead each")
        lines += [f"      {_lead_row(edge)} to {edge.end}" for edge in alone]
    for loop in plan.loops:
        ohms = shown(loop.resistance, "resistance", digits=2)
        lines.append(f"Ring of {ohms}: {', '.join(loop.edges)}")
    return "\n".join(lines)


def _lead_row(edge: Edge) -> str:
    size = "" if edge.area is None else f", {shown(edge.area, 'area', digits=2)}"
    length = "" if edge.length is None else f", {shown(edge.length, 'length', digits=2)}"
    ohms = shown(edge.resistance.likely, "resistance", digits=2)
    return f"{edge.start}{size}{length}, {ohms}"


def _level(level: float) -> str:
    return f"{level:.0f} dB" if level > 0.0 else "under 0 dB"


def _diagnosis(plan: GroundPlan, worst: Whine | None) -> str:
    if worst is None:
        return (
            "Nothing pulses beside the music here: no minus lead can carry a whine to an amplifier."
        )
    level, high = worst.level.likely, worst.level.high
    amps = shown(worst.current.likely, "current", digits=2)
    if level < HEARD_FROM:
        perhaps = f" (perhaps {_level(high)})" if high >= HEARD_FROM else ""
        return (
            f"{_KINDS[worst.kind]} of {worst.load} make {_level(level)} at 1 m{perhaps} through "
            f"{worst.amplifier}, {heard_as(level)}."
        )
    ohms = worst.resistance.likely
    at_input = shown(worst.current.likely * ohms, "voltage", digits=2)
    pieces = [_piece(plan.edge(name)) for name, _ in largest_drops(worst)]
    through = " and ".join(pieces) or "the screen of the audio lead"
    return (
        f"{_KINDS[worst.kind]} of {worst.load} run through {through}, which the sound from "
        f"{worst.source} to {worst.amplifier} refers to. {amps} make {at_input} there, as in "
        f"{shown(ohms, 'resistance', digits=2)}, and the gain turns that into "
        f"{shown(worst.volts.likely, 'voltage', digits=2)} at the speaker: about "
        f"{_level(level)} at 1 m ({_level(worst.level.low)} to {_level(high)}), {heard_as(level)}."
    )


def _piece(edge: Edge) -> str:
    if edge.area is None or edge.length is None:
        return f"the {edge.name}"
    length, area = shown(edge.length, "length", digits=2), shown(edge.area, "area", digits=2)
    return f"the minus lead of {edge.name} ({length} of {area})"
