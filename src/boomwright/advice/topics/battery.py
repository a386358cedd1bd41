"""Rules about the battery or supply: its charge, its hours, its current and its volts."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from boomwright.advice.finding import Change, Figure, Fix, Level
from boomwright.advice.rules import Case, Says, rule
from boomwright.build.audio import Amplifier
from boomwright.build.power import Rail
from boomwright.build.quantities import Quantity, format_quantity
from boomwright.outcome.data import Range, ScenarioOutcome
from boomwright.physics.chemistry import end_voltage

__all__ = ["busiest", "most_amps", "peak_amps"]

_amps = partial(format_quantity, kind="current")
_hours = partial(format_quantity, kind="time")
_volts = partial(format_quantity, kind="voltage")
_share = partial(format_quantity, kind="share", digits=2)

_HOURS_LOST = 0.7
"""Share of the wanted hours below which the wish has failed; common practice, no source."""

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


def busiest(case: Case) -> ScenarioOutcome:
    """The way of using the box that draws most from the source."""
    return max(case.outcome.scenarios, key=lambda scenario: scenario.amps.likely)


def most_amps(case: Case, name: str) -> Range:
    """Average current of a part in the way of using the box that loads it most."""
    amps = [scenario.part(name).amps for scenario in case.outcome.scenarios]
    return max(amps, key=lambda value: value.likely)


def peak_amps(case: Case, name: str) -> float:
    """Source current at the loudest moment where all of it flows through a part, else 0."""
    if case.has_upstream(name, "rail"):
        return 0.0
    for amplifier in case.build.amplifier:
        path = [amplifier.name, *(node.part.name for node in case.upstream(amplifier.name))]
        if name not in path:
            return 0.0
    return max(scenario.amps_peak.likely for scenario in case.outcome.scenarios)


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
    stop_at = float(end_voltage(chemistry, hours=5.0)) * battery.cells
    yield Says(
        "mind",
        battery.name,
        f"The battery is second-hand, and its {format_quantity(label, 'charge')} are only what "
        f"the label says; the hours here count on {_share(battery.health.likely)} of them.",
        "Salvaged batteries often keep a seventh to a half of their charge, and healthy volts at "
        "rest do not show it.",
        f"Charge it full, let it rest an hour, run a lamp of about {_amps(label / 3600 / 5)} from "
        f"it down to {_volts(stop_at)}; amperes times hours is its charge. Write it as capacity = "
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
            f"At {shown} it plays {_hours(day.likely)} of the {_hours(want.hours.likely)} wanted.",
            "Cold slows the chemistry: resistance rises, and part of the charge stays inside.",
            f"Keep the battery indoors until it is needed, or plan for {_hours(day.low)} on such "
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
    yield Says(
        level,
        battery.name,
        f"It plays {_hours(run.duration.likely)} ({_hours(run.duration.low)} to "
        f"{_hours(run.duration.high)}) where {_hours(wish)} are wanted.",
        f"Most of the charge, {_share(share)}, goes to {name}.",
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
    peak = max((s.amps_peak for s in case.outcome.scenarios), key=lambda item: item.likely)
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
            f"The {what} current is {_amps(flows.likely)} (up to {_amps(flows.high)}); the pack's "
            f"protection board {does} {_amps(limit.likely)} (perhaps {_amps(limit.low)}).",
            "When the board opens, the sound stops at once and comes back only after a power "
            "cycle.",
            f"Take a pack whose board {does} {_amps(1.5 * flows.high, digits=2)} or more, or "
            "speakers of higher impedance.",
            (
                Figure(f"{what} current", flows.likely, "current"),
                Figure(f"board {does}", limit.likely, "current"),
            ),
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
    if supply is None:
        return
    limit, average = supply.current_limit, busiest(case).amps
    peak = max((s.amps_peak for s in case.outcome.scenarios), key=lambda item: item.likely)
    if average.likely > limit.likely:
        level: Level = "stop"
    elif average.high > limit.low or peak.likely > limit.likely:
        level = "mind"
    else:
        return
    yield Says(
        level,
        supply.name,
        f"The supply folds back at {_amps(limit.likely)}; flat out the box draws "
        f"{_amps(average.likely)} on average and {_amps(peak.likely)} on peaks.",
        "A supply beyond its limit shuts down or hiccups, and the sound drops out on bass.",
        f"Take a supply of {_amps(1.25 * peak.likely, digits=2)}, or turn the level down"
        + (" and fit 4700 µF at the amplifier." if level == "mind" else "."),
        (
            Figure("average flat out", average.likely, "current"),
            Figure("peak", peak.likely, "current"),
            Figure("limit of the supply", limit.likely, "current"),
        ),
    )


@rule(
    "battery-overloaded",
    "long",
    title="A battery too small for its current",
    source="common practice, no source",
)
def overloaded(case: Case) -> Iterator[Says]:
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
        f"An average of {_amps(amps)} empties {format_quantity(capacity, 'charge')} at "
        f"{rate:.2g} times its charge an hour; {mind:g} is the custom for this kind.",
        "At such a rate the volts sag, much of the charge cannot be had, and the cells age fast.",
        f"Take {format_quantity(needed, 'charge', digits=2)} or more.",
        (
            Figure("average current", amps, "current"),
            Figure("charge", capacity, "charge"),
            Figure("times its charge an hour", rate, "ratio"),
        ),
    )


@rule(
    "voltage-window",
    "safe",
    title="Volts outside what a part survives or works from",
    source="the part's own limits",
)
def voltage_window(case: Case) -> Iterator[Says]:
    """A part that sees more volts than it survives, or stops before the battery is empty."""
    for node in case.tree:
        part = node.part
        if case.has_upstream(part.name, "rail"):
            continue
        if isinstance(part, Amplifier):
            yield from _too_high(case, part.name, part.supply_max)
            yield from _too_low(case, part)
        elif isinstance(part, Rail) and part.input_max is not None:
            yield from _too_high(case, part.name, part.input_max)


def _highest_volts(case: Case, name: str) -> tuple[Range, str]:
    """Highest volts a part meets, and when."""
    full, charger = case.outcome.source.volts_full, case.build.charger
    if charger is None or not (charger.while_playing or not case.has_upstream(name, "switch")):
        return full, "from a full source"
    volts = charger.voltage.likely
    if volts <= full.likely:
        return full, "from a full source"
    # The spread of a label is far wider than a charger's end volts.
    return Range(volts, volts, volts), "while the battery is charged"


def _surely_stands(limit: Quantity) -> float:
    """What a limit stands for certain: a data sheet's limit as it is, a guess at its low end."""
    return limit.low if limit.basis in {"typical", "guess", "claim"} else limit.likely


def _too_high(case: Case, name: str, limit: Quantity) -> Iterator[Says]:
    most, least_most = limit.likely, _surely_stands(limit)
    volts, when = _highest_volts(case, name)
    if not (volts.likely > most or volts.high > least_most):
        return
    yield Says(
        "stop" if volts.likely > most else "mind",
        name,
        f"{name} meets {_volts(volts.high)} {when}; it survives {_volts(most)}"
        + (f" (perhaps only {_volts(least_most)})." if least_most < most else "."),
        "Above its limit a chip breaks down at once, and what follows it may see full volts too.",
        f"Take a part made for {_volts(1.2 * volts.high, digits=2)} or more"
        + (", or never charge while it is connected." if "charged" in when else "."),
        (
            Figure("volts it meets", volts.high, "voltage"),
            Figure("volts it survives", most, "voltage"),
        ),
    )


def _opens(case: Case) -> float:
    """Volts to which the battery may be run: the cutoff's, or the chemistry's floor."""
    offs = [cutoff.off.likely for cutoff in case.build.cutoff]
    return max([*offs, case.outcome.source.volts_floor])


def _too_low(case: Case, amplifier: Amplifier) -> Iterator[Says]:
    """What a board works from against steady volts; its dips on peaks are another rule's."""
    name, least, run = amplifier.name, amplifier.supply_min.likely, case.outcome.wanted
    meets = run.part(name).volts_in.likely
    figure = Figure("lowest supply of the board", least, "voltage")
    if meets < least:
        yield Says(
            "stop",
            name,
            f"{name} works from {_volts(least)} and meets {_volts(meets)} from a full source.",
            "Below its lowest supply the board stays silent or switches off and on.",
            f"Take a board that works from {_volts(0.9 * meets, digits=2)}, or more cells.",
            (figure, Figure("volts from a full source", meets, "voltage")),
        )
    elif run.endings.get("lock-out", 0.0) > 0.5:
        yield Says(
            "mind",
            name,
            f"The music ends because {name} locks out at {_volts(least)}, with "
            f"{_share(run.charge_left.likely)} of the charge still in the battery.",
            "An amplifier that gives up first wastes charge, and stutters as the battery recovers.",
            f"Take a board that works from {_volts(_opens(case))}, or lose less on the way to it.",
            (figure, Figure("charge left", run.charge_left.likely, "share")),
        )


@rule(
    "unsettled",
    "safe",
    title="A load that asks for more than its feed can give",
    source="Ohm's law: no volts and amps fit together",
)
def unsettled(case: Case) -> Iterator[Says]:
    """Some moment of the build has no solution."""
    if case.outcome.settled:
        return
    source = case.outcome.source
    yield Says(
        "stop",
        source.name,
        "Some load asks for more power than can reach it through "
        f"{format_quantity(source.resistance.likely, 'resistance')} of source and its leads, so "
        "its volts collapse.",
        "A converter draws more current as its volts fall, until nothing is left: the box hiccups "
        "or does not start, and the figures here do not hold.",
        "Thicken the leads to the converters, take a stronger source, or ask less of them, and "
        "check again.",
        (Figure("resistance of the source", source.resistance.likely, "resistance"),),
    )
