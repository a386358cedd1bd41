"""Rules about the box on the shelf: what still drains it, and what turns it off."""

from __future__ import annotations

from collections.abc import Iterator

from boomwright.advice.finding import Change, Figure, Fix, Level
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.swaps import stout_lead
from boomwright.advice.terms import in_amps, in_hours


def _behind_switch(case: Case) -> str | None:
    """Part behind the main switch that others may be fed by: the cutoff if there is one there."""
    behind = [
        node.part.name
        for node in case.tree
        if node.kind in {"switch", "cutoff"}
        and (node.kind == "switch" or case.has_upstream(node.part.name, "switch"))
    ]
    return behind[-1] if behind else None


@rule(
    "shelf-drain",
    "long",
    title="Drained on the shelf",
    source="off-drain and self-discharge; a battery left empty is ruined",
)
def shelf_drain(case: Case) -> Iterator[Says]:
    """What flows with the switch off empties the battery before it is charged again."""
    battery, parked, wish = case.build.battery, case.outcome.parked, case.build.want.shelf.likely
    if battery is None or not parked.drains:
        return
    full, empty = parked.shelf, parked.shelf_after_cutoff
    if full.likely < wish:
        # An empty nickel or alkaline battery is a nuisance, an empty lead or lithium one is lost.
        lost = battery.chemistry not in {"nimh", "alkaline"}
        level: Level = "stop" if lost else "mind"
    elif full.low < wish or empty.likely < wish:
        level = "mind"
    else:
        return
    name = max(parked.drains, key=lambda part: parked.drains[part])
    drain, target = parked.drains[name], _behind_switch(case)
    after = full.low >= wish
    lasts = empty if after else full
    state = "An emptied battery put away" if after else "A full battery"
    switched = "which sits ahead of the switch" if case.build.switch else "and there is no switch"
    yield Says(
        level,
        name,
        f"{state} lasts {in_hours(lasts.likely, digits=2)} on the shelf, perhaps only "
        f"{in_hours(lasts.low, digits=2)} ({in_hours(wish)} are wanted): "
        f"{in_amps(parked.drain.likely)} flow with the box off, {in_amps(drain)} of it into "
        f"{name}, {switched}.",
        "A battery that lies empty is ruined within weeks, and nobody notices until the next time.",
        f"Feed {name} from {target}, so that the switch cuts it off."
        if target
        else "Fit a switch right behind the fuse, ahead of everything else.",
        (
            Figure("drain with the box off", parked.drain.likely, "current"),
            Figure(f"drain of {name}", drain, "current"),
            Figure("lasts", lasts.likely, "time"),
            Figure("shelf time wanted", wish, "time"),
        ),
        Fix(f"Feed {name} from {target}.", (Change(name, "fed_by", target),))
        if target and target != name
        else None
        if case.build.switch
        else _add_switch(case),
    )


def _add_switch(case: Case) -> Fix:
    return Fix(
        "Add an automotive rocker switch.",
        (
            Change("switch", "part", "rocker-automotive", kind="switch"),
            Change("switch", "lead", stout_lead(case), kind="switch"),
        ),
    )


@rule(
    "switch-missing",
    "long",
    title="No switch",
    source="common practice, no source",
)
def switch_missing(case: Case) -> Iterator[Says]:
    """Nothing turns an amplifier off."""
    battery, parked = case.build.battery, case.outcome.parked
    if battery is None:
        return
    amplifier = next(
        (item for item in case.build.amplifier if not case.has_upstream(item.name, "switch")), None
    )
    if amplifier is None:
        return
    drain = parked.drain.likely
    yield Says(
        "mind",
        battery.name,
        f"No switch stands ahead of {amplifier.name}: {in_amps(drain)} flow day and night, and a "
        f"full battery lasts {in_hours(parked.shelf.likely, digits=2)}.",
        "An amplifier's own button leaves part of the board alive, and a cutoff helps only once "
        "the battery is empty.",
        "Fit a switch for the whole current right behind the fuse.",
        (
            Figure("drain", drain, "current"),
            Figure("full battery lasts", parked.shelf.likely, "time"),
        ),
        None if case.build.switch else _add_switch(case),
    )


@rule(
    "off-by-button",
    "long",
    title="An amplifier's own button is no switch",
    source="off-drain of soft-switched boards: about 30 mA seen",
)
def off_by_button(case: Case) -> Iterator[Says]:
    """A soft-switched board behind a real switch: the real one must be used."""
    battery, wish = case.build.battery, case.build.want.shelf.likely
    if battery is None:
        return
    for amplifier in case.build.amplifier:
        drain = amplifier.off_current.likely
        if drain <= 0.0 or not case.has_upstream(amplifier.name, "switch"):
            continue
        empty = battery.capacity.likely * battery.strings / drain
        if empty >= wish:
            continue
        yield Says(
            "mind",
            amplifier.name,
            f"Switched off by its own button, {amplifier.name} still takes {in_amps(drain)}: a "
            f"full battery is empty in {in_hours(empty, digits=2)}, and {in_hours(wish)} are "
            "wanted.",
            "The button only puts the board to sleep; whoever uses it believes the box is off.",
            "Turn the box off with the switch ahead of the board, and cover or bridge the button.",
            (
                Figure("taken when off", drain, "current"),
                Figure("full battery lasts", empty, "time"),
            ),
        )
