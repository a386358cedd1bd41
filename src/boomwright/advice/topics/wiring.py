"""Rules about leads, connectors and switches: what they carry and what they lose."""

from __future__ import annotations

from collections.abc import Iterator

from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.leads import (
    WIRE_SIZES,
    bundled_amps,
    connector_of,
    open_air_amps,
    size_for,
    thicker,
    wire_named,
)
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.swaps import with_connector
from boomwright.advice.terms import (
    beyond_source,
    in_amps,
    in_decibels,
    in_metres,
    in_volts,
    most_amps,
    overloaded,
    peak_amps,
    percent,
)
from boomwright.build.fields import Lead
from boomwright.build.power import Fed
from boomwright.build.tree import Node
from boomwright.physics.polarity import loss_db
from boomwright.physics.wire import voltage_drop

__all__: list[str] = []

_DROP_MIND, _DROP_STOP = 0.03, 0.08

_PEAK_MIND, _PEAK_STOP = 0.10, 0.20

_FLAT_PLUG, _FLAT_PIN = "flat-two-pin-30a", 15.0
"""A keyed plug of the drawer and what it carries for certain [A]; typical of class, from memory."""

_ROCKER = 10.0
"""What an automotive rocker switch stands for certain [A]; typical of class, from memory."""


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
        if amps > bundled_amps(area) and not beyond_source(case, amps):
            loaded.append((amps / open_air_amps(area), amps, node.part))
    if not loaded:
        return
    _, amps, part = max(loaded, key=lambda item: item[0])
    area, names = part.lead.area.likely, [item.name for _, _, item in loaded]
    hot = amps > open_air_amps(area)
    size = size_for(max(item[1] for item in loaded)) or WIRE_SIZES[-1]
    others = f" The same goes for {', '.join(n for n in names if n != part.name)}."
    yield Says(
        "stop" if hot else "mind",
        part.name,
        f"{in_amps(amps)} flow on average through the {wire_named(area)} to {part.name}, which "
        f"carries {in_amps(bundled_amps(area))} in a bundle and {in_amps(open_air_amps(area))} in "
        "open air.",
        "Thin wire runs hot in a closed box and takes volts from the amplifier.",
        f"Use {wire_named(size)}." + (others if len(names) > 1 else ""),
        (
            Figure("average current", amps, "current"),
            Figure("carries bundled", bundled_amps(area), "current"),
            Figure("carries in open air", open_air_amps(area), "current"),
        ),
        thicker([item for _, _, item in loaded], size),
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
    least = size_for(max(flows.values())) or WIRE_SIZES[-1]
    for size in WIRE_SIZES:
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
    return WIRE_SIZES[-1]


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
            f"The leads to {amplifier.name} lose {in_volts(share * feed)} there and back on "
            f"average, {percent(share)} of {in_volts(feed)}"
            f", and {in_decibels(costs)} of clean peaks.",
            "What the copper takes, the loudspeakers never get; bass pulls the supply down and "
            "the rest of the music with it.",
            f"Use {wire_named(size)} or more all the way to {amplifier.name}, or shorter leads.",
            (
                Figure("lost on average", share * feed, "voltage"),
                Figure("share of the volts", share, "share"),
                Figure("share of the volts on peaks", peak, "share"),
                Figure("lost on peaks", costs, "decibel"),
            ),
            thicker(parts, size),
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
        f"{wire_named(lead.area.likely)} and {in_metres(lead.length.likely)} each are assumed.",
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
        plug = connector_of(case, node.part)
        if plug is None:
            continue
        amps, most = most_amps(case, node.part.name), plug.current
        if not (amps.likely > most.likely or amps.high > most.low):
            continue
        yield Says(
            "stop" if amps.likely > most.likely else "mind",
            node.part.name,
            f"{in_amps(amps.likely)} on average (up to {in_amps(amps.high)}) flow through the "
            f"{node.part.lead.connector} to {node.part.name}, which carries {in_amps(most.likely)}"
            + (f" (perhaps {in_amps(most.low)})." if most.low < 0.95 * most.likely else "."),
            "An overloaded contact heats up, loosens and burns its plastic.",
            f"Use one for {in_amps(1.5 * amps.high, digits=2)} or more, such as flat-two-pin-30a.",
            (
                Figure("average current", amps.likely, "current"),
                Figure("connector carries", most.likely, "current"),
            ),
            _stout_plug(node.part, amps.high),
        )


def _stout_plug(part: Fed, amps: float) -> Fix | None:
    """A keyed plug for thick wire, where that is enough."""
    if amps > _FLAT_PIN:
        return None
    lead = with_connector(part.lead, _FLAT_PLUG)
    return Fix(f"Join {part.name} by {_FLAT_PLUG}.", (Change(part.name, "lead", lead),))


@rule(
    "switch-rating",
    "safe",
    title="A switch carrying too much",
    source="direct-current rating of the switch",
)
def switch_rating(case: Case) -> Iterator[Says]:
    """Average or peak current above what the switch may carry."""
    for switch in case.build.switch:
        changes = (
            Change(switch.name, "part", "rocker-automotive"),
            Change(switch.name, "rating", None),
            Change(switch.name, "resistance", None),
        )
        yield from overloaded(
            case,
            switch.name,
            switch.rating,
            called=f"{switch.name}, which is",
            why="Contacts that carry too much direct current burn, stick or weld shut.",
            do="Take an automotive rocker or toggle rated {need} or more for direct current.",
            fix=(_ROCKER, Fix("Use rocker-automotive.", changes)),
        )
