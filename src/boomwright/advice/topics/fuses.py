"""Rules about fuses: that there is one, its size, its place, and what hangs behind it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.leads import (
    WIRE_SIZES,
    bundled_amps,
    nearest_fuse,
    open_air_amps,
    size_for,
    thicker,
    wire_named,
)
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.terms import in_amps, in_metres, most_amps, peak_amps
from boomwright.build.power import Fed, Fuse
from boomwright.outcome.plan import FUSE_KINDS
from boomwright.physics.fuse import fuse_kind, fuse_minimum, next_rating, opening_time_bounds
from boomwright.physics.wire import awg_diameter, nearest_awg, preece_fusing_current

__all__: list[str] = []

_FAR = 0.3

_PULSE = 0.05
"""Longest time a bass peak flows [s], half a period of 10 Hz; common practice, no source."""

_BRANCH = 2.5

_BLADE_GATE = 1.35
"""Multiple of its rating at which a blade fuse is sure to open, ISO 8820-3 (from memory)."""


def _size_behind(rating: float, amps: float) -> float:
    """Thinnest usual wire that a blade fuse protects and that carries a current in a box [m²]."""
    guarded = (size for size in WIRE_SIZES if open_air_amps(size) >= _BLADE_GATE * rating)
    return max(next(guarded, WIRE_SIZES[-1]), size_for(amps) or WIRE_SIZES[-1])


def _gate(fuse: Fuse) -> float:
    """Multiple of its rating below which a fuse's standard does not promise that it opens."""
    gates = fuse_kind(FUSE_KINDS[fuse.type]).gates
    return next(gate[0] for gate in gates if np.isfinite(gate[2]))


def _guarded(case: Case, fuse: Fuse) -> list[Fed]:
    """Parts whose lead only this fuse protects: up to the next fuse, or to a rail's output.

    Behind a rail the current is bounded by what the rail can give, not by the fuse.
    """
    found = []
    for node in case.tree:
        path = case.upstream(node.part.name)
        if any(item.kind == "rail" for item in path):
            continue
        if (first := nearest_fuse(case, node.part.name)) and first.name == fuse.name:
            found.append(node.part)
    return found


def _fuse_for(case: Case, name: str, kind: str = "blade") -> float:
    """Standard rating for what flows through a part: hours of it, and bass peaks too [A]."""
    lasting = float(fuse_minimum(most_amps(case, name).high, kind=kind))
    # A tenth above its rating a fuse holds for hours, and a peak is soon over.
    wanted = max(lasting, peak_amps(case, name) / 1.1)
    rating = float(next_rating(wanted, kind=kind))
    return rating if np.isfinite(rating) else float(np.ceil(wanted))


def _tires(peak: float, rating: float, kind: str) -> bool:
    return float(opening_time_bounds(peak / rating, kind=kind)[0]) < _PULSE


@rule(
    "fuse-missing",
    "safe",
    title="No fuse at the battery",
    source="short-circuit current of the battery; Preece's law for melting wire",
)
def fuse_missing(case: Case) -> Iterator[Says]:
    """A path from the battery with no fuse in it."""
    if case.build.battery is None:
        return
    short = case.outcome.source.short_circuit
    bare = [node.part for node in case.tree if node.parent < 0 and node.kind != "fuse"]
    # A source too weak to overheat the wire needs no fuse.
    bare = [part for part in bare if short.high > open_air_amps(part.lead.area.likely)]
    if not case.build.fuse:
        bare = sorted(bare, key=lambda part: part.lead.area.likely)[:1]
    for part in bare:
        area = part.lead.area.likely
        melts = float(preece_fusing_current(awg_diameter(float(nearest_awg(area)))))
        flows = most_amps(case, part.name)
        rating = _fuse_for(case, part.name)
        glows = "melts" if short.likely > melts else "overheats"
        alone = not case.build.fuse
        size = _size_behind(rating, flows.likely)
        thin = open_air_amps(area) < _BLADE_GATE * rating
        wire = f" and feed it through {wire_named(size)}" if thin else ""
        yield Says(
            "stop",
            case.build.battery.name if alone else part.name,
            f"No fuse stands {'at the battery' if alone else f'ahead of {part.name}'}: "
            f"{in_amps(short.likely, digits=2)} flow into a short, and the {wire_named(area)} to "
            f"{part.name} {glows}"
            + (f" at {in_amps(melts, digits=2)}." if short.likely > melts else "."),
            "A pinched or chafed wire then glows in its insulation, and a fire starts inside the "
            "box.",
            f"Fit a fuse of {rating:g} A within 20 cm of the battery's plus{wire}.",
            (
                Figure("current into a short", short.likely, "current"),
                Figure("wire melts at", melts, "current"),
                Figure("greatest average", flows.likely, "current"),
                Figure("fuse", rating, "current"),
            ),
            _add_fuse(case, rating, size) if alone else _own_fuse(case, part, rating, size),
        )


def _own_fuse(case: Case, part: Fed, rating: float, size: float) -> Fix:
    """Edit that puts a fuse of its own ahead of one part, and thick enough wire behind it."""
    name = f"{part.name}-fuse"
    behind = [
        node.part
        for node in case.tree
        if not case.has_upstream(node.part.name, "rail")
        and part in (node.part, *(above.part for above in case.upstream(node.part.name)))
    ]
    thin = [item for item in behind if open_air_amps(item.lead.area.likely) < _BLADE_GATE * rating]
    changes = (
        Change(name, "rating", f"{rating:g} A", kind="fuse"),
        *((Change(name, "distance", "10 cm", kind="fuse"),) if case.place(part.fed_by) < 0 else ()),
        Change(name, "lead", f"{max(size, 1.5e-6) * 1e6:g} mm², 0.1 m", kind="fuse"),
        Change(name, "fed_by", part.fed_by, kind="fuse"),
        Change(part.name, "fed_by", name),
        *(wires.changes if (wires := thicker(thin, size)) else ()),
    )
    return Fix(f"Give {part.name} a fuse of its own of {rating:g} A.", changes)


def _add_fuse(case: Case, rating: float, size: float) -> Fix:
    """Edit that puts a fuse ahead of everything, and thick enough wire behind it."""
    parts = [node.part for node in case.tree if not case.has_upstream(node.part.name, "rail")]
    thin = [part for part in parts if open_air_amps(part.lead.area.likely) < _BLADE_GATE * rating]
    changes = (
        Change("fuse", "rating", f"{rating:g} A", kind="fuse"),
        Change("fuse", "distance", "10 cm", kind="fuse"),
        Change("fuse", "lead", f"{max(size, 1.5e-6) * 1e6:g} mm², 0.1 m", kind="fuse"),
        *(Change(node.part.name, "fed_by", "fuse") for node in case.tree if node.parent < 0),
        *(wires.changes if (wires := thicker(thin, size)) else ()),
    )
    wire = f" and use {wire_named(size)} behind it" if thin else ""
    return Fix(f"Add a fuse of {rating:g} A{wire}.", changes)


@rule(
    "fuse-too-big",
    "safe",
    title="A fuse that lets the wire burn first",
    source="open-air limits of wire; current that a fuse's standard lets pass for ever",
)
def fuse_too_big(case: Case) -> Iterator[Says]:
    """A lead behind a fuse that would overheat before the fuse opens.

    The two published habits for wire lie a factor 3.5 to 7.5 apart: 1.5 mm² may carry 4.2 A
    bundled and about 27 A in open air. A fuse guards against a short, not against warm wire, so
    the open-air limit decides: above it the rating itself burns the wire; where only the current
    that the fuse passes without promise to open (1.35 times for a blade) lies above it, mind.
    """
    for fuse in case.build.fuse:
        leads = _guarded(case, fuse)
        if not leads:
            continue
        part = min(leads, key=lambda item: item.lead.area.likely)
        area, rating = part.lead.area.likely, fuse.rating.likely
        limit, passes = open_air_amps(area), _gate(fuse) * rating
        # A source that cannot give what the wire carries needs no fuse to protect it.
        if min(passes, case.outcome.source.short_circuit.high) <= limit:
            continue
        size = next((s for s in WIRE_SIZES if open_air_amps(s) >= passes), WIRE_SIZES[-1])
        yield Says(
            "stop" if rating > limit else "mind",
            fuse.name,
            f"A fuse of {in_amps(rating)} may pass {in_amps(passes)} for minutes; the "
            f"{wire_named(area)} to {part.name} carries {in_amps(limit)} in open air and "
            f"{in_amps(bundled_amps(area))} bundled.",
            "On a short through some resistance the wire burns and the fuse stays whole.",
            f"Use {wire_named(size)} there, or a fuse of its own of "
            f"{_below(fuse, limit / _gate(fuse)):g} A at the head of that lead.",
            (
                Figure("fuse rating", rating, "current"),
                Figure("wire in open air", limit, "current"),
                Figure("wire bundled", bundled_amps(area), "current"),
            ),
            thicker(leads, size),
        )


def _below(fuse: Fuse, amps: float) -> float:
    """Greatest standard rating not above a current, the smallest there is at least."""
    ratings = fuse_kind(FUSE_KINDS[fuse.type]).ratings
    return max((rating for rating in ratings if rating <= amps), default=ratings[0])


@rule(
    "fuse-too-small",
    "safe",
    title="A fuse that opens for no reason",
    source="share of the rating that may flow for hours; time-current gates of the fuse",
)
def fuse_too_small(case: Case) -> Iterator[Says]:
    """Average or bass peaks beyond what the fuse holds."""
    for fuse in case.build.fuse:
        kind, rating = FUSE_KINDS[fuse.type], fuse.rating.likely
        amps, peak = most_amps(case, fuse.name).likely, peak_amps(case, fuse.name)
        lasting = fuse_kind(kind).continuous_share * rating
        if not (amps > lasting or _tires(peak, rating, kind)):
            continue
        better = _fuse_for(case, fuse.name, kind)
        leads = _guarded(case, fuse)
        holds = min((open_air_amps(part.lead.area.likely) for part in leads), default=np.inf)
        safe = better > rating and _gate(fuse) * better <= holds
        advice = f"Fit {better:g} A" if better > rating else "Fit a slower kind of fuse"
        yield Says(
            "stop" if amps > rating else "mind",
            fuse.name,
            f"{in_amps(amps)} on average and {in_amps(max(peak, amps))} on peaks flow through a "
            f"fuse of {in_amps(rating)}, which holds {in_amps(lasting)} for hours.",
            "It tires and opens one loud evening though nothing is wrong, and the next one fitted "
            "is a nail.",
            f"{advice}." if safe else f"{advice}, and thicker wire behind it.",
            (
                Figure("average current", amps, "current"),
                Figure("peak current", max(peak, amps), "current"),
                Figure("fuse rating", rating, "current"),
            ),
            _larger_fuse(fuse, better, leads, amps) if better > rating else None,
        )


def _larger_fuse(fuse: Fuse, rating: float, leads: list[Fed], amps: float) -> Fix:
    """Edit that gives a fuse another rating, and wire that stands it."""
    passes = _gate(fuse) * rating
    thin = [part for part in leads if open_air_amps(part.lead.area.likely) < passes]
    guarded = (size for size in WIRE_SIZES if open_air_amps(size) >= passes)
    size = max(next(guarded, WIRE_SIZES[-1]), size_for(amps) or WIRE_SIZES[-1])
    wires = thicker(thin, size)
    says = f"Fit {rating:g} A" + (f" and {wire_named(size)} behind it." if wires else ".")
    changes = (Change(fuse.name, "rating", f"{rating:g} A"), *(wires.changes if wires else ()))
    return Fix(says, changes)


@rule(
    "fuse-far",
    "safe",
    title="Unfused lead between battery and fuse",
    source="common practice: 10 to 30 cm",
)
def fuse_far(case: Case) -> Iterator[Says]:
    """The first fuse far from the battery, or nobody knows how far."""
    if case.build.battery is None:
        return
    short = case.outcome.source.short_circuit.likely
    for node in case.tree:
        fuse = node.part
        if node.parent >= 0 or not isinstance(fuse, Fuse):
            continue
        if fuse.distance is not None and fuse.distance.likely <= _FAR:
            continue
        far = "an unknown length" if fuse.distance is None else in_metres(fuse.distance.likely)
        known = fuse.distance.likely if fuse.distance else np.nan
        yield Says(
            "mind",
            fuse.name,
            f"Between the battery's plus and {fuse.name} lies {far} of lead that no fuse protects; "
            f"{in_metres(_FAR)} is the most.",
            f"A short in that piece draws {in_amps(short, digits=2)} and nothing opens.",
            "Put the fuse within a hand of the plus pole, about 10 cm, and write down the "
            "distance.",
            (
                Figure("lead ahead of the fuse", known, "length"),
                Figure("current into a short", short, "current"),
            ),
            Fix("Put it 10 cm from the battery.", (Change(fuse.name, "distance", "10 cm"),)),
        )


@rule(
    "branch-fuse",
    "safe",
    title="A thin branch that only the main fuse protects",
    source="common practice, no source",
)
def branch_fuse(case: Case) -> Iterator[Says]:
    """A port or lamp, whose lead leaves the box, on the amplifier's fuse.

    A meter stays inside the box and is not meant.
    """
    amplifier_fuses = {
        fuse.name for item in case.build.amplifier if (fuse := nearest_fuse(case, item.name))
    }
    outside = [*case.build.usb, *(item for item in case.build.load if item.use != "meter")]
    for part in outside:
        fuse = nearest_fuse(case, part.name)
        if fuse is None or fuse.name not in amplifier_fuses:
            continue
        nodes = [case.tree[case.place(part.name)], *case.upstream(part.name)]
        above = [node for node in nodes if not case.has_upstream(node.part.name, "rail")]
        thin = min(above, key=lambda node: node.part.lead.area.likely).part
        limit, rating = bundled_amps(thin.lead.area.likely), fuse.rating.likely
        if rating <= _BRANCH * limit:
            continue
        lasting = fuse_minimum(most_amps(case, thin.name).high, kind="blade")
        own = max(float(next_rating(lasting, kind="blade")), _fuse_for(case, thin.name))
        yield Says(
            "mind",
            part.name,
            f"{part.name} hangs behind {fuse.name} of {in_amps(rating)} on "
            f"{wire_named(thin.lead.area.likely)}, which carries {in_amps(limit)} in a bundle.",
            "Its lead leaves the box and gets pulled and trodden on: a fault there either burns "
            "the thin wire or takes the music with it.",
            f"Give it a fuse of its own of {own:g} A where it branches off.",
            (
                Figure("main fuse", rating, "current"),
                Figure("thin wire bundled", limit, "current"),
                Figure("own fuse", own, "current"),
            ),
            _own_fuse(case, thin, own, _size_behind(own, most_amps(case, thin.name).likely)),
        )
