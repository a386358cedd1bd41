"""Rules about fuses, wire, connectors, switches and reversed poles."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np

from boomwright.advice.finding import Change, Figure, Fix, Level
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.topics.battery import most_amps, peak_amps
from boomwright.build.components import Connector
from boomwright.build.fields import Lead
from boomwright.build.power import Fed, Fuse, Polarity, Switch
from boomwright.build.quantities import Quantity, format_quantity
from boomwright.build.tree import Node
from boomwright.outcome.plan import FUSE_KINDS
from boomwright.physics.fuse import fuse_kind, fuse_minimum, next_rating, opening_time_bounds
from boomwright.physics.protection import loss_db
from boomwright.physics.wire import (
    ampacity,
    awg_area,
    awg_diameter,
    nearest_awg,
    preece_fusing_current,
    voltage_drop,
)

_amps = partial(format_quantity, kind="current")
_decibel = partial(format_quantity, kind="decibel")
_length = partial(format_quantity, kind="length")
_share = partial(format_quantity, kind="share", digits=2)
_volts = partial(format_quantity, kind="voltage")

_SIZES = tuple(size * 1e-6 for size in (0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0))
"""Wire sizes at the counter [m²], IEC 60228."""

_FAR = 0.3
_DROP_MIND, _DROP_STOP = 0.03, 0.08
_PEAK_MIND, _PEAK_STOP = 0.10, 0.20
_LOSS_DB = 0.4
_ROCKER = 10.0
"""What an automotive rocker switch stands for certain [A]; typical of class, from memory."""
_PULSE = 0.05
"""Longest time a bass peak flows [s], half a period of 10 Hz; common practice, no source."""
_BRANCH = 2.5
_BLADE_GATE = 1.35
"""Multiple of its rating at which a blade fuse is sure to open, ISO 8820-3 (from memory)."""


def _open_air(area: float) -> float:
    """Current of a single wire in open air, the table's ends kept beyond them [A]."""
    least, most = float(awg_area(30)), float(awg_area(6))
    return float(ampacity(min(max(area, least), most), bundled=False))


def _bundled(area: float) -> float:
    return float(ampacity(area, bundled=True))


def _wire(area: float) -> str:
    return f"{format_quantity(area, 'area')} (AWG {int(nearest_awg(area))})"


def _size_for(amps: float) -> float | None:
    """Thinnest usual wire that carries a current bundled in a box [m²]."""
    return next((size for size in _SIZES if _bundled(size) >= amps), None)


def _size_behind(rating: float, amps: float) -> float:
    """Thinnest usual wire that a blade fuse protects and that carries a current in a box [m²]."""
    guarded = (size for size in _SIZES if _open_air(size) >= _BLADE_GATE * rating)
    return max(next(guarded, _SIZES[-1]), _size_for(amps) or _SIZES[-1])


def _thicker(parts: list[Fed], area: float) -> Fix | None:
    """Edit that gives leads another size, length and connector kept."""
    changes = tuple(
        Change(part.name, "lead", _lead_text(part.lead, area))
        for part in parts
        if part.lead.area.likely < area
    )
    names = ", ".join(change.part for change in changes)
    return None if not changes else Fix(f"Feed {names} through {_wire(area)}.", changes)


def _lead_text(lead: Lead, area: float) -> str:
    fields = [f"{area * 1e6:g} mm²", f"{lead.length.likely:g} m", lead.connector]
    return ", ".join(field for field in fields if field)


def _gate(fuse: Fuse) -> float:
    """Multiple of its rating below which a fuse's standard does not promise that it opens."""
    gates = fuse_kind(FUSE_KINDS[fuse.type]).gates
    return next(gate[0] for gate in gates if np.isfinite(gate[2]))


def _nearest_fuse(case: Case, name: str) -> Fuse | None:
    return next((n.part for n in case.upstream(name) if isinstance(n.part, Fuse)), None)


def _guarded(case: Case, fuse: Fuse) -> list[Fed]:
    """Parts whose lead only this fuse protects: up to the next fuse, or to a rail's output.

    Behind a rail the current is bounded by what the rail can give, not by the fuse.
    """
    found = []
    for node in case.tree:
        path = case.upstream(node.part.name)
        if any(item.kind == "rail" for item in path):
            continue
        if (first := _nearest_fuse(case, node.part.name)) and first.name == fuse.name:
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
    bare = [part for part in bare if short.high > _open_air(part.lead.area.likely)]
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
        thin = _open_air(area) < _BLADE_GATE * rating
        wire = f" and feed it through {_wire(size)}" if thin else ""
        yield Says(
            "stop",
            case.build.battery.name if alone else part.name,
            f"No fuse stands {'at the battery' if alone else f'ahead of {part.name}'}: "
            f"{_amps(short.likely, digits=2)} flow into a short, and the {_wire(area)} to "
            f"{part.name} {glows}"
            + (f" at {_amps(melts, digits=2)}." if short.likely > melts else "."),
            "A pinched or chafed wire then glows in its insulation, and a fire starts inside the "
            "box.",
            f"Fit a fuse of {rating:g} A within 20 cm of the battery's plus{wire}.",
            (
                Figure("current into a short", short.likely, "current"),
                Figure("wire melts at", melts, "current"),
                Figure("greatest average", flows.likely, "current"),
                Figure("fuse", rating, "current"),
            ),
            _add_fuse(case, rating, size) if alone else None,
        )


def _add_fuse(case: Case, rating: float, size: float) -> Fix:
    """Edit that puts a fuse ahead of everything, and thick enough wire behind it."""
    parts = [node.part for node in case.tree if not case.has_upstream(node.part.name, "rail")]
    thin = [part for part in parts if _open_air(part.lead.area.likely) < _BLADE_GATE * rating]
    changes = (
        Change("fuse", "rating", f"{rating:g} A", kind="fuse"),
        Change("fuse", "distance", "10 cm", kind="fuse"),
        Change("fuse", "lead", f"{max(size, 1.5e-6) * 1e6:g} mm², 0.1 m", kind="fuse"),
        *(Change(node.part.name, "fed_by", "fuse") for node in case.tree if node.parent < 0),
        *(wires.changes if (wires := _thicker(thin, size)) else ()),
    )
    wire = f" and use {_wire(size)} behind it" if thin else ""
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
        limit, passes = _open_air(area), _gate(fuse) * rating
        # A source that cannot give what the wire carries needs no fuse to protect it.
        if min(passes, case.outcome.source.short_circuit.high) <= limit:
            continue
        size = next((s for s in _SIZES if _open_air(s) >= passes), _SIZES[-1])
        yield Says(
            "stop" if rating > limit else "mind",
            fuse.name,
            f"A fuse of {_amps(rating)} may pass {_amps(passes)} for minutes; the {_wire(area)} to "
            f"{part.name} carries {_amps(limit)} in open air and {_amps(_bundled(area))} bundled.",
            "On a short through some resistance the wire burns and the fuse stays whole.",
            f"Use {_wire(size)} there, or a fuse of its own of "
            f"{_below(fuse, limit / _gate(fuse)):g} A at the head of that lead.",
            (
                Figure("fuse rating", rating, "current"),
                Figure("wire in open air", limit, "current"),
                Figure("wire bundled", _bundled(area), "current"),
            ),
            _thicker(leads, size),
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
        if not (amps > lasting or (peak > 0 and _tires(peak, rating, kind))):
            continue
        better = _fuse_for(case, fuse.name, kind)
        leads = _guarded(case, fuse)
        holds = min((_open_air(part.lead.area.likely) for part in leads), default=np.inf)
        safe = better > rating and _gate(fuse) * better <= holds
        advice = f"Fit {better:g} A" if better > rating else "Fit a slower kind of fuse"
        yield Says(
            "stop" if amps > rating else "mind",
            fuse.name,
            f"{_amps(amps)} on average and {_amps(max(peak, amps))} on peaks flow through a fuse "
            f"of {_amps(rating)}, which holds {_amps(lasting)} for hours.",
            "It tires and opens one loud evening though nothing is wrong, and the next one fitted "
            "is a nail.",
            f"{advice}." if safe else f"{advice}, and thicker wire behind it.",
            (
                Figure("average current", amps, "current"),
                Figure("peak current", max(peak, amps), "current"),
                Figure("fuse rating", rating, "current"),
            ),
            Fix(f"Fit {better:g} A.", (Change(fuse.name, "rating", f"{better:g} A"),))
            if safe
            else None,
        )


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
        far = "an unknown length" if fuse.distance is None else _length(fuse.distance.likely)
        known = fuse.distance.likely if fuse.distance else np.nan
        yield Says(
            "mind",
            fuse.name,
            f"Between the battery's plus and {fuse.name} lies {far} of lead that no fuse protects; "
            f"{_length(_FAR)} is the most.",
            f"A short in that piece draws {_amps(short, digits=2)} and nothing opens.",
            "Put the fuse within a hand of the plus pole, about 10 cm, and write down the "
            "distance.",
            (
                Figure("lead ahead of the fuse", known, "length"),
                Figure("current into a short", short, "current"),
            ),
            Fix("Put it 10 cm from the battery.", (Change(fuse.name, "distance", "10 cm"),)),
        )


@rule(
    "wire-thin",
    "safe",
    title="Wire too thin for its current",
    source="two habits of equipment wiring: 700 circular mils per ampere, and open air",
)
def wire_thin(case: Case) -> Iterator[Says]:
    """Average current above what a lead carries bundled, or even in open air."""
    loaded = []
    for node in case.tree:
        amps, area = most_amps(case, node.part.name).likely, node.part.lead.area.likely
        if amps > _bundled(area):
            loaded.append((amps / _open_air(area), amps, node.part))
    if not loaded:
        return
    _, amps, part = max(loaded, key=lambda item: item[0])
    area, names = part.lead.area.likely, [item.name for _, _, item in loaded]
    hot = amps > _open_air(area)
    size = _size_for(max(item[1] for item in loaded)) or _SIZES[-1]
    others = f" The same goes for {', '.join(n for n in names if n != part.name)}."
    yield Says(
        "stop" if hot else "mind",
        part.name,
        f"{_amps(amps)} flow on average through the {_wire(area)} to {part.name}, which carries "
        f"{_amps(_bundled(area))} in a bundle and {_amps(_open_air(area))} in open air.",
        "Thin wire runs hot in a closed box and takes volts from the amplifier.",
        f"Use {_wire(size)}." + (others if len(names) > 1 else ""),
        (
            Figure("average current", amps, "current"),
            Figure("carries bundled", _bundled(area), "current"),
            Figure("carries in open air", _open_air(area), "current"),
        ),
        _thicker([item for _, _, item in loaded], size),
    )


def _path(case: Case, name: str) -> list[Node]:
    """Nodes from the source to a part, the part included, up to the last rail above it."""
    own = case.tree[case.place(name)]
    nodes = [own]
    for node in case.upstream(name):
        if node.kind == "rail":
            break
        nodes.append(node)
    return nodes


def _lost(lead: Lead, amps: float) -> float:
    return float(voltage_drop(amps, area=lead.area.likely, length=lead.length.likely))


def _size_for_drop(case: Case, parts: list[Fed], feed: float) -> float:
    """Thinnest usual wire in place of every thinner lead of a path that keeps the drop small."""
    flows = {part.name: most_amps(case, part.name).likely for part in parts}
    least = _size_for(max(flows.values())) or _SIZES[-1]
    for size in _SIZES:
        pieces = [(part, max(size, part.lead.area.likely)) for part in parts]
        ohms = {
            part.name: float(voltage_drop(1.0, area=area, length=part.lead.length.likely))
            for part, area in pieces
        }
        average = sum(ohms[name] * flows[name] for name in ohms)
        peak = sum(ohms[name] * peak_amps(case, name) for name in ohms)
        # A little less is asked for, since thicker wire lets more current through.
        small = average < 0.9 * _DROP_MIND * feed and peak < 0.9 * _PEAK_MIND * feed
        if size >= least and small:
            return size
    return _SIZES[-1]


@rule(
    "wire-drop",
    "loud",
    title="Volts lost in the leads to an amplifier",
    source="Ohm's law with IEC 60028 copper; 3 % is common practice, no source",
)
def wire_drop(case: Case) -> Iterator[Says]:
    """Share of the volts that the leads take, on average and on peaks."""
    for amplifier in case.build.amplifier:
        nodes = _path(case, amplifier.name)
        parts = [node.part for node in nodes]
        runs = case.outcome.scenarios
        feed = max(runs[0].part(part.name).volts_in.likely for part in parts)
        drops = {part.name: _lost(part.lead, most_amps(case, part.name).likely) for part in parts}
        share = sum(drops.values()) / feed
        peak = sum(_lost(part.lead, peak_amps(case, part.name)) for part in parts) / feed
        if share <= _DROP_MIND and peak <= _PEAK_MIND:
            continue
        costs = float(loss_db(feed, drop=min(peak, 0.99) * feed))
        worst = max(parts, key=lambda part: drops[part.name])
        size = _size_for_drop(case, parts, feed)
        yield Says(
            "stop" if share > _DROP_STOP or peak > _PEAK_STOP else "mind",
            worst.name,
            f"The leads to {amplifier.name} lose {_volts(share * feed)} there and back on average, "
            f"{_share(share)} of {_volts(feed)}"
            + (f", and {_decibel(costs)} of clean peaks." if peak > 0 else "."),
            "What the copper takes, the loudspeakers never get; bass pulls the supply down and "
            "the rest of the music with it.",
            f"Use {_wire(size)} or more all the way to {amplifier.name}, or shorter leads.",
            (
                Figure("lost on average", share * feed, "voltage"),
                Figure("share of the volts", share, "share"),
                Figure("share of the volts on peaks", peak, "share"),
                Figure("lost on peaks", costs, "decibel"),
            ),
            _thicker(parts, size),
        )


@rule(
    "wire-unstated",
    "loud",
    title="Leads nobody wrote down",
    source="default lead: typical of class, from memory",
)
def wire_unstated(case: Case) -> Iterator[Says]:
    """Leads of the main path that were left to the default."""
    amplifier = case.build.amplifier[0]
    path = [case.tree[case.place(amplifier.name)], *case.upstream(amplifier.name)]
    blank = [node.part for node in reversed(path) if not node.part.lead.stated]
    if not blank:
        return
    lead = blank[0].lead
    yield Says(
        "mind",
        blank[0].name,
        f"Nothing is said of the leads to {', '.join(part.name for part in blank)}; "
        f"{_wire(lead.area.likely)} and {_length(lead.length.likely)} each are assumed.",
        "Whether the fuse protects the wire, and how much is lost in it, rests on these two "
        "figures.",
        'Measure them and write, for example, lead = "1.5 mm², 0.3 m".',
        (
            Figure("assumed size", lead.area.likely, "area"),
            Figure("assumed length", lead.length.likely, "length"),
        ),
    )


@rule(
    "connector-rating",
    "safe",
    title="A connector carrying too much",
    source="rating of the connector: typical of class, from memory",
)
def connector_rating(case: Case) -> Iterator[Says]:
    """Average current above the rating of a lead's connector."""
    for node in case.tree:
        plug = _connector(case, node.part)
        if plug is None:
            continue
        amps, most = most_amps(case, node.part.name), plug.current
        if not (amps.likely > most.likely or amps.high > most.low):
            continue
        yield Says(
            "stop" if amps.likely > most.likely else "mind",
            node.part.name,
            f"{_amps(amps.likely)} on average (up to {_amps(amps.high)}) flow through the "
            f"{node.part.lead.connector} to {node.part.name}, which carries {_amps(most.likely)}"
            f"{_perhaps(most)}.",
            "An overloaded contact heats up, loosens and burns its plastic.",
            f"Use one for {_amps(1.5 * amps.high, digits=2)} or more, such as flat-two-pin-30a.",
            (
                Figure("average current", amps.likely, "current"),
                Figure("connector carries", most.likely, "current"),
            ),
        )


def _connector(case: Case, part: Fed) -> Connector | None:
    if part.lead.connector not in case.drawer.names("connector"):
        return None
    found = case.drawer.part("connector", part.lead.connector)
    return found if isinstance(found, Connector) else None


@rule(
    "switch-rating",
    "safe",
    title="A switch carrying too much",
    source="direct-current rating of the switch",
)
def switch_rating(case: Case) -> Iterator[Says]:
    """Average or peak current above what the switch may carry."""
    for switch in case.build.switch:
        yield from _overloaded(
            case,
            switch,
            "Contacts that carry too much direct current burn, stick or weld shut.",
            "an automotive rocker or toggle",
            better="rocker-automotive",
        )


def _perhaps(amps: Quantity) -> str:
    """The low end of a rating where it lies well below the likely value."""
    return f" (perhaps {_amps(amps.low)})" if amps.low < 0.95 * amps.likely else ""


def _overloaded(
    case: Case, part: Switch | Polarity, why: str, such_as: str, *, better: str = ""
) -> Iterator[Says]:
    amps, peak, most = most_amps(case, part.name), peak_amps(case, part.name), part.rating
    if amps.likely > most.likely:
        level: Level = "stop"
    elif amps.high > most.low or peak > most.likely:
        level = "mind"
    else:
        return
    need = max(1.5 * amps.high, peak)
    yield Says(
        level,
        part.name,
        f"{_amps(amps.likely)} on average and {_amps(max(peak, amps.likely))} on peaks flow "
        f"through {part.name}, which is rated {_amps(most.likely)}{_perhaps(most)}.",
        why,
        f"Take {such_as} rated {_amps(need, digits=2)} or more for direct current.",
        (
            Figure("average current", amps.likely, "current"),
            Figure("peak current", max(peak, amps.likely), "current"),
            Figure("rating", most.likely, "current"),
        ),
        Fix(
            f"Use {better}.",
            (
                Change(part.name, "part", better),
                Change(part.name, "rating", None),
                Change(part.name, "resistance", None),
            ),
        )
        if better and need < _ROCKER
        else None,
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
        fuse.name for item in case.build.amplifier if (fuse := _nearest_fuse(case, item.name))
    }
    outside = [*case.build.usb, *(item for item in case.build.load if item.use != "meter")]
    for part in outside:
        fuse = _nearest_fuse(case, part.name)
        if fuse is None or fuse.name not in amplifier_fuses:
            continue
        nodes = [case.tree[case.place(part.name)], *case.upstream(part.name)]
        above = [node for node in nodes if not case.has_upstream(node.part.name, "rail")]
        thin = min(above, key=lambda node: node.part.lead.area.likely).part
        limit, rating = _bundled(thin.lead.area.likely), fuse.rating.likely
        if rating <= _BRANCH * limit:
            continue
        lasting = fuse_minimum(most_amps(case, thin.name).high, kind="blade")
        own = float(next_rating(lasting, kind="blade"))
        yield Says(
            "mind",
            part.name,
            f"{part.name} hangs behind {fuse.name} of {_amps(rating)} on "
            f"{_wire(thin.lead.area.likely)}, which carries {_amps(limit)} in a bundle.",
            "Its lead leaves the box and gets pulled and trodden on: a fault there either burns "
            "the thin wire or takes the music with it.",
            f"Give it a fuse of its own of {own:g} A where it branches off.",
            (
                Figure("main fuse", rating, "current"),
                Figure("thin wire bundled", limit, "current"),
                Figure("own fuse", own, "current"),
            ),
        )


@rule(
    "polarity-missing",
    "safe",
    title="Nothing against reversed poles",
    source="common practice, no source",
)
def polarity_missing(case: Case) -> Iterator[Says]:
    """A battery or charger plug that fits either way, and no protection behind it."""
    battery, charger = case.build.battery, case.build.charger
    if battery is None or case.build.polarity:
        return
    first = [node.part for node in case.tree if node.parent < 0]
    loose = [part for part in first if not ((plug := _connector(case, part)) and plug.keyed)]
    if not loose and (charger is None or charger.keyed):
        return
    joint = "the charging plug"
    if loose:
        joint = f"the {loose[0].lead.connector or 'bare lead'} to {loose[0].name}"
    volts = case.outcome.source.volts_full.likely
    amps = max(most_amps(case, part.name).high for part in first)
    guard = "p-mosfet-10a" if amps < 5.0 else "p-mosfet-20a"
    yield Says(
        "mind",
        battery.name,
        f"Poles can be swapped at {joint}, and nothing behind it stops {_volts(volts)} the wrong "
        "way round.",
        "The first swapped plug kills amplifier, converters and receiver at once.",
        f"Fit a p-channel transistor behind the fuse, such as {guard}: it costs next to no volts.",
        (Figure("reversed volts", volts, "voltage"), Figure("average current", amps, "current")),
        Fix(f"Add {guard}.", (Change("polarity", "part", guard, kind="polarity"),)),
    )


@rule(
    "polarity-rating",
    "safe",
    title="Protection against reversed poles that burns itself",
    source="rating of the part; a shunt diode must outlive the fuse",
)
def polarity_rating(case: Case) -> Iterator[Says]:
    """A series part below its current, or a shunt diode that the fuse does not save."""
    for part in case.build.polarity:
        if part.type != "shunt-diode":
            why = "An overheated diode or transistor fails as a short, and the protection is gone."
            yield from _overloaded(case, part, why, "a p-channel transistor")
            continue
        fuse, most = _nearest_fuse(case, part.name), part.rating.likely
        if fuse is not None and most >= fuse.rating.likely:
            continue
        short = case.outcome.source.short_circuit.likely
        flows = f"a fuse of {_amps(fuse.rating.likely)}" if fuse else "no fuse ahead of it"
        yield Says(
            "mind" if fuse else "stop",
            part.name,
            f"The shunt diode is rated {_amps(most)} with {flows}; reversed, up to "
            f"{_amps(short, digits=2)} flow through it.",
            "It must carry the battery's short-circuit current until the fuse opens; a smaller one "
            "may burn open first and protect nothing.",
            f"Take a diode of {_amps(fuse.rating.likely)} or more."
            if fuse
            else "Fit a fuse between the battery and the diode.",
            (
                Figure("diode rating", most, "current"),
                Figure("current into a short", short, "current"),
            ),
        )


@rule(
    "polarity-loss",
    "loud",
    title="A series diode that costs loudness",
    source="clean output in proportion to the supply volts",
)
def polarity_loss(case: Case) -> Iterator[Says]:
    """Decibels of clean power that a series diode takes."""
    loud = case.outcome.scenario("flat-out")
    for part in case.build.polarity:
        place = loud.part(part.name)
        volts, drop = place.volts_in.likely, place.volts_in.likely - place.volts_out.likely
        if not part.type.startswith("series") or volts <= 0:
            continue
        costs = float(loss_db(volts, drop=min(drop, 0.99 * volts)))
        if costs < _LOSS_DB:
            continue
        yield Says(
            "mind",
            part.name,
            f"The series diode drops {_volts(drop)} of {_volts(volts)}: {_decibel(costs)} of clean "
            "level.",
            f"It also turns {_share(drop / volts)} of the battery's energy to heat.",
            "Use a p-channel transistor, which loses a few hundredths of a volt.",
            (
                Figure("drop", drop, "voltage"),
                Figure("lost clean level", costs, "decibel"),
            ),
        )
