"""Rules about the battery or supply: its charge, its hours and its current."""

from __future__ import annotations

from collections.abc import Iterator

from boomwright.advice.finding import Change, Figure, Fix, Level
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.swaps import larger_battery, larger_supply
from boomwright.advice.terms import busiest, in_amps, in_hours, in_volts, percent, source_peak
from boomwright.build.power import Battery
from boomwright.build.quantities import format_quantity
from boomwright.outcome.data import Range, ScenarioOutcome
from boomwright.physics.chemistry import end_voltage

__all__: list[str] = []

_HOURS_LOST = 0.7
"""Share of the wanted hours below which the wish has failed; common practice, no source."""

_AT_ONCE = 60.0
"""A run that short is none [s]."""

_STOPS = {
    "cutoff": "the cutoff opens at once",
    "protection": "the pack's board opens at once",
    "lock-out": "a board or converter gets fewer volts than it works from",
    "floor": "the battery falls below what it stands as soon as the music starts",
    "empty": "the battery is empty from the start",
    "none": "nothing plays",
}
"""Ending of a run in words."""

_LARGER = 3.0
"""A battery that many times larger is no longer the same box; common practice, no source."""

_RATES: dict[str, tuple[float, float]] = {
    "lead-flooded": (0.5, 2.0),
    "lead-agm": (1.0, 3.0),
    "lifepo4": (1.0, 2.0),
    "li-ion-nmc": (1.0, 2.0),
    "nimh": (1.0, 3.0),
    "alkaline": (0.15, 0.4),
}
"""Average current over capacity [1/h] to mind and to stop at; common practice, no source."""


@rule(
    "battery-second-hand",
    "long",
    title="A second-hand battery taken at its label",
    source="common practice, no source: retire below 80 % of the label",
)
def second_hand(case: Case) -> Iterator[Says]:
    """A salvaged battery whose charge nobody measured."""
    battery, chemistry = case.build.battery, case.chemistry
    if battery is None or chemistry is None or not battery.second_hand:
        return
    if "measured" in (battery.capacity.basis, battery.health.basis):
        return
    label = battery.capacity.likely * battery.strings
    retire = format_quantity(0.8 * label, "charge")
    stop_at = float(end_voltage(chemistry, duration=5 * 3600.0)) * battery.cells
    yield Says(
        "mind",
        battery.name,
        f"The battery is second-hand, and its {format_quantity(label, 'charge')} are only what "
        f"the label says; the hours here count on {percent(battery.health.likely)} of them.",
        "Salvaged batteries often keep a seventh to a half of their charge, and healthy volts at "
        "rest do not show it.",
        f"Charge it full, let it rest an hour, run a lamp of about {in_amps(label / 3600 / 5)} "
        f"from it down to {in_volts(stop_at)}; amperes times hours is its charge. Write it as "
        "capacity = "
        f'"… Ah (measured)"; below {retire} retire it.',
        (
            Figure("charge on the label", label, "charge"),
            Figure("retire below", 0.8 * label, "charge"),
        ),
    )


@rule(
    "battery-cold",
    "long",
    title="Hours on the coldest day",
    source="charge against temperature: typical of class, from memory",
)
def cold(case: Case) -> Iterator[Says]:
    """Fewer hours than wanted on the coldest day only, or colder than anything known."""
    battery, chemistry, want = case.build.battery, case.chemistry, case.build.want
    if battery is None or chemistry is None or want.coldest is None:
        return
    coldest = want.coldest.likely
    day = case.outcome.scenario("wanted+cold").duration
    known = float(chemistry.capacity_temperatures[0])
    shown = format_quantity(coldest, "temperature")
    figures = (
        Figure("coldest day", coldest, "temperature"),
        Figure("hours on the coldest day", day.likely, "time"),
        Figure("hours wanted", want.hours.likely, "time"),
    )
    if day.likely < want.hours.likely <= case.outcome.wanted.duration.likely:
        yield Says(
            "mind",
            battery.name,
            f"At {shown} it plays {in_hours(day.likely)} of the {in_hours(want.hours.likely)} "
            "wanted.",
            "Cold slows the chemistry: resistance rises, and part of the charge stays inside.",
            f"Keep the battery indoors until it is needed, or plan for {in_hours(day.low)} on such "
            "a day.",
            figures,
        )
    elif coldest < known:
        yield Says(
            "mind",
            battery.name,
            f"The coldest day of {shown} lies below {format_quantity(known, 'temperature')}, where "
            "nothing is known of this chemistry any more.",
            "Far below freezing an empty lead battery freezes and other cells give next to "
            "nothing.",
            f"Keep the battery above {format_quantity(known, 'temperature')}: carry it in a bag "
            "with a warm bottle.",
            figures,
        )


def _hours_level(found: Range, wanted: float) -> Level:
    if found.likely < _HOURS_LOST * wanted:
        return "stop"
    return "mind" if found.low < wanted else "fine"


def _costliest(scenario: ScenarioOutcome) -> tuple[str, float]:
    """Part that takes most of the battery's energy, and its share."""
    total = sum(scenario.energy.values())
    name = max(scenario.energy, key=lambda part: scenario.energy[part])
    return name, scenario.energy[name] / total if total > 0 else 0.0


@rule(
    "hours-short",
    "long",
    title="Fewer hours than wanted",
    source="common practice, no source: under 70 % of the wish counts as failed",
)
def hours_short(case: Case) -> Iterator[Says]:
    """The wanted hours are not reached, or not surely."""
    battery, run, wish = case.build.battery, case.outcome.wanted, case.build.want.hours.likely
    level = _hours_level(run.duration, wish)
    if battery is None or level == "fine":
        return
    name, share = _costliest(run)
    label = battery.capacity.likely * battery.strings
    charge = label * wish / max(run.duration.low, 60.0)
    shorter = _hours_sure(run.duration.low)
    if run.duration.likely < _AT_ONCE:
        yield Says(
            level,
            battery.name,
            f"It does not play at all where {in_hours(wish)} are wanted: {_STOPS[run.ending]}.",
            "A box that stops at once has a fault of its own; a larger battery does not mend it.",
            "Mend that first, then look at the hours again.",
            (
                Figure("hours as wanted, likely", run.duration.likely, "time"),
                Figure("hours wanted", wish, "time"),
            ),
        )
        return
    yield Says(
        level,
        battery.name,
        f"It plays {in_hours(run.duration.likely)} ({in_hours(run.duration.low)} to "
        f"{in_hours(run.duration.high)}) where {in_hours(wish)} are wanted.",
        f"Most of the charge, {percent(share)}, goes to {name}.",
        f"Take about {format_quantity(charge, 'charge', digits=2)} of battery, ask for less "
        f"level, or plan for {shorter or 'much less'}."
        if charge < _LARGER * label
        else f"Ask for less level, or plan for {shorter or 'much less'}: this wish would take "
        f"{format_quantity(charge, 'charge', digits=2)}.",
        (
            Figure("hours as wanted, likely", run.duration.likely, "time"),
            Figure("hours wanted", wish, "time"),
            Figure(f"share of {name}", share, "share"),
        ),
        Fix(f"Plan for {shorter}.", (Change("want", "hours", shorter),)) if shorter else None,
    )


def _hours_sure(seconds: float) -> str:
    """Hours rounded down to a tenth, empty where nothing is left."""
    tenths = int(seconds / 360.0)
    return f"{tenths / 10:g} h" if tenths else ""


@rule(
    "protection-board-trips",
    "loud",
    title="The pack's protection board opens on peaks",
    source="trip currents of such boards: typical of class, from memory",
)
def board_trips(case: Case) -> Iterator[Says]:
    """Peaks above the trip current, or an average above what the board carries."""
    battery = case.build.battery
    if battery is None:
        return
    peak = source_peak(case)
    limits = (
        (battery.protection_trip, peak, "peak", "trips at"),
        (battery.protection_continuous, busiest(case).amps, "average", "carries for ever"),
    )
    for limit, flows, what, does in limits:
        if limit is None or not (flows.likely > limit.likely or flows.high > limit.low):
            continue
        level: Level = "stop" if flows.likely > limit.likely else "mind"
        yield Says(
            level,
            battery.name,
            f"The {what} current is {in_amps(flows.likely)} (up to {in_amps(flows.high)}); the "
            f"pack's protection board {does} {in_amps(limit.likely)} (perhaps "
            f"{in_amps(limit.low)}).",
            "When the board opens, the sound stops at once and comes back only after a power "
            "cycle.",
            f"Take a pack whose board {does} {in_amps(1.5 * flows.high, digits=2)} or more, or "
            "speakers of higher impedance.",
            (
                Figure(f"{what} current", flows.likely, "current"),
                Figure(f"board {does}", limit.likely, "current"),
            ),
            larger_battery(case, lambda pack: _board_holds(pack, peak, busiest(case).amps)),
        )


def _board_holds(pack: Battery, peak: Range, average: Range) -> bool:
    """Whether a pack's protection board surely lets currents pass."""
    trip, lasting = pack.protection_trip, pack.protection_continuous
    return (trip is None or peak.high <= trip.low) and (
        lasting is None or average.high <= lasting.low
    )


@rule(
    "supply-current-limit",
    "loud",
    title="The supply folds back",
    source="rating of the supply",
)
def supply_limit(case: Case) -> Iterator[Says]:
    """A supply asked for more than its current limit."""
    supply = case.build.supply
    # What is asked of a supply that is pulled down altogether is no figure; `unsettled` says so.
    if supply is None or not case.outcome.settled:
        return
    limit, average = supply.current_limit, busiest(case).amps
    peak = source_peak(case)
    if average.likely > limit.likely:
        level: Level = "stop"
    elif average.high > limit.low or peak.likely > limit.likely:
        level = "mind"
    else:
        return
    yield Says(
        level,
        supply.name,
        f"The supply folds back at {in_amps(limit.likely)}; flat out the box draws "
        f"{in_amps(average.likely)} on average and {in_amps(peak.likely)} on peaks.",
        "A supply beyond its limit shuts down or hiccups, and the sound drops out on bass.",
        f"Take a supply of {in_amps(1.25 * peak.likely, digits=2)}, or turn the level down"
        + (" and fit 4700 µF at the amplifier." if level == "mind" else "."),
        (
            Figure("average flat out", average.likely, "current"),
            Figure("peak", peak.likely, "current"),
            Figure("limit of the supply", limit.likely, "current"),
        ),
        larger_supply(case, max(peak.likely, average.high)),
    )


@rule(
    "battery-overloaded",
    "long",
    title="A battery too small for its current",
    source="common practice, no source",
)
def too_small(case: Case) -> Iterator[Says]:
    """An average current out of proportion to the battery's charge."""
    battery = case.build.battery
    if battery is None:
        return
    capacity = battery.capacity.likely * battery.strings
    amps = busiest(case).amps.likely
    rate = amps * 3600.0 / capacity
    mind, stop = _RATES[battery.chemistry]
    if rate <= mind:
        return
    needed = amps * 3600.0 / mind
    yield Says(
        "stop" if rate > stop else "mind",
        battery.name,
        f"An average of {in_amps(amps)} empties {format_quantity(capacity, 'charge')} at "
        f"{rate:.2g} times its charge an hour; {mind:g} is the custom for this kind.",
        "At such a rate the volts sag, much of the charge cannot be had, and the cells age fast.",
        f"Take {format_quantity(needed, 'charge', digits=2)} or more.",
        (
            Figure("average current", amps, "current"),
            Figure("charge", capacity, "charge"),
            Figure("times its charge an hour", rate, "ratio"),
        ),
        larger_battery(case, lambda pack: pack.capacity.likely * pack.strings >= needed),
    )
