"""Wirings worth trying against a whine: leads laid anew, fatter, shorter, or parted by a device."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from boomwright.advice.finding import Change
from boomwright.advice.leads import WIRE_SIZES
from boomwright.build.fields import Lead
from boomwright.build.model import Build
from boomwright.build.power import Fed, Rail
from boomwright.build.quantities import format_quantity as shown
from boomwright.build.quantities import parse_quantity
from boomwright.outcome.ground_data import GroundPlan, Return, Rewired, Whine

__all__ = ["Trial", "largest_drops", "trials"]

_FATTER = 2.5
_OWN_AREA = 1.5e-6
_OWN_LENGTH = 0.1


@dataclass(frozen=True)
class Trial:
    """A wiring worth trying.

    Parameters
    ----------
    says, kind : str
        What to do, and whether it takes ``wire`` alone or a ``part``.
    build : Build
        The build with what its file can say of it.
    rewired : Rewired
        What the file cannot say.
    changes : tuple of Change
        Edits of the file; empty where it has no words for it.
    """

    says: str
    kind: str
    build: Build
    rewired: Rewired
    changes: tuple[Change, ...] = ()


def trials(build: Build, plan: GroundPlan, worst: Whine) -> Iterator[Trial]:
    """Wirings worth trying against a whine."""
    here = Rewired()
    receivers = {item.name: item for item in build.receiver}
    sharing = [item for item in receivers.values() if item.negative == "shared"]
    for item in sharing:
        yield Trial(
            f"Run the minus lead of {item.name} on its own beside its plus lead, not on an "
            "amplifier's.",
            "wire",
            _with_part(build, item, item.model_copy(update={"negative": "own"})),
            here,
            (Change(item.name, "negative", "own"),),
        )
    yield from _rerouted(build, plan, worst)
    yield from _stouter(build, worst)
    source = receivers.get(worst.source)
    if source is not None and not source.isolated:
        yield Trial(
            f"Put an audio isolating transformer between {source.name} and {worst.amplifier}.",
            "part",
            _with_part(build, source, source.model_copy(update={"isolated": True})),
            here,
            (Change(source.name, "isolated", True),),
        )
    rail = _rail_above(build, worst.source)
    if rail is not None and rail.type != "isolated":
        own = _with_part(build, rail, rail.model_copy(update={"type": "isolated"}))
        for item in sharing:
            own = _with_part(own, item, item.model_copy(update={"negative": "own"}))
        yield Trial(
            f"Feed {worst.source} from an isolated converter in place of {rail.name}, its minus "
            "lead on its own.",
            "part",
            own,
            here,
        )
    yield Trial(
        f"Use {worst.amplifier} with a differential input, its minus input wired to the audio "
        "ground.",
        "part",
        build,
        Rewired(differential=(worst.amplifier,)),
    )


def _rerouted(build: Build, plan: GroundPlan, worst: Whine) -> Iterator[Trial]:
    """Minus leads on other ends: the part's and its converter's to the star, the amplifier's."""
    edges = {edge.name: edge for edge in plan.edges}
    star, source = edges[worst.amplifier].end, build.source.name
    rail = _rail_above(build, worst.load)
    movers = [worst.load, *([rail.name] if rail is not None else [])]
    for name in movers:
        edge = edges[name]
        area = max(edge.area or 0.0, _OWN_AREA)
        for to in dict.fromkeys((star, source)):
            if to == name or (edge.end == to and edge.kind == "lead"):
                continue
            item = Return(name, to, area, _way(build, name, to))
            yield _laid(build, item, "wire of its own")
    if worst.kind == "bursts" and rail is not None:
        joint = edges[rail.name].end
        for to in dict.fromkeys((joint, source)):
            if to not in (star, worst.amplifier):
                lead = edges[worst.amplifier]
                area, length = lead.area or _OWN_AREA, max(lead.length or 0.0, _OWN_LENGTH)
                yield _laid(build, Return(worst.amplifier, to, area, length), "lead")


def _laid(build: Build, item: Return, called: str) -> Trial:
    size = f"{shown(item.area, 'area', digits=2)}, {shown(item.length, 'length', digits=2)}"
    says = f"Run the minus of {item.part} on a {called} ({size}) straight to {item.to} minus."
    return Trial(says, "wire", build, Rewired(returns=(item,)))


def _way(build: Build, name: str, to: str) -> float:
    """Length of the plus leads from a part down to another, or to the source [m]."""
    parts = {part.name: part for _, part in build.fed()}
    total = 0.0
    while name in parts and name != to:
        total, name = total + parts[name].lead.length.likely, parts[name].fed_by
    return max(total, _OWN_LENGTH)


def _stouter(build: Build, worst: Whine) -> Iterator[Trial]:
    """Leads between the two grounds fatter, and shorter: the worst of them, then all."""
    parts = {part.name: part for _, part in build.fed()}
    names = [name for name, _ in largest_drops(worst) if name in parts]
    for some in dict.fromkeys((tuple(names[:1]), tuple(names))):
        fatter = {name: lead for name in some if (lead := _fatter(parts[name].lead)) is not None}
        if fatter:
            sizes = ", ".join(f"{lead.area} for {name}" for name, lead in fatter.items())
            yield _leads(build, parts, fatter, f"Use fatter leads: {sizes}.")
        shorter = {name: _shorter(parts[name].lead) for name in some}
        if shorter:
            yield _leads(build, parts, shorter, f"Halve the length of the lead to {_and(some)}.")


def _and(names: tuple[str, ...]) -> str:
    return " and ".join((", ".join(names[:-1]), names[-1])) if len(names) > 1 else names[0]


def _fatter(lead: Lead) -> Lead | None:
    wanted = max(_FATTER * lead.area.likely, _OWN_AREA)
    size = next((size for size in WIRE_SIZES if size >= wanted), WIRE_SIZES[-1])
    if size <= lead.area.likely:
        return None
    area = parse_quantity(f"{size * 1e6:g} mm²", "area")
    return lead.model_copy(update={"area": area, "stated": True})


def _shorter(lead: Lead) -> Lead:
    length = parse_quantity(f"{lead.length.likely / 2:.3g} m", "length")
    return lead.model_copy(update={"length": length, "stated": True})


def _leads(build: Build, parts: dict[str, Fed], leads: dict[str, Lead], says: str) -> Trial:
    for name, lead in leads.items():
        build = _with_part(build, parts[name], parts[name].model_copy(update={"lead": lead}))
    changes = tuple(Change(name, "lead", str(lead)) for name, lead in leads.items())
    return Trial(says, "wire", build, Rewired(), changes)


def _rail_above(build: Build, name: str) -> Rail | None:
    """Converter that feeds a part, through whatever stands between."""
    parts = {part.name: part for _, part in build.fed()}
    while name in parts:
        name = parts[name].fed_by
        if isinstance(found := parts.get(name), Rail):
            return found
    return None


def _with_part(build: Build, old: Fed, new: Fed) -> Build:
    kind = next(kind for kind, part in build.fed() if part.name == old.name)
    changed = tuple(new if item.name == old.name else item for item in getattr(build, kind))
    return build.model_copy(update={kind: changed})


def largest_drops(whine: Whine) -> list[tuple[str, float]]:
    """Leads that make at least a quarter of the greatest drop, the greatest first."""
    ordered = sorted(whine.drops, key=lambda drop: -abs(drop[1]))
    return [drop for drop in ordered if abs(drop[1]) >= 0.25 * abs(ordered[0][1])]
