"""Rules about reversed poles: what stands against them, and what it costs."""

from __future__ import annotations

from collections.abc import Iterator

from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.leads import connector_of, nearest_fuse
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.swaps import guard_for, stout_lead, swap
from boomwright.advice.terms import (
    in_amps,
    in_decibels,
    in_volts,
    most_amps,
    overloaded,
    peak_amps,
    percent,
)
from boomwright.build.power import Polarity
from boomwright.physics.polarity import loss_db

__all__: list[str] = []

_LOSS_DB = 0.4


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
    loose = [part for part in first if not ((plug := connector_of(case, part)) and plug.keyed)]
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
        f"Poles can be swapped at {joint}, and nothing behind it stops {in_volts(volts)} the wrong "
        "way round.",
        "The first swapped plug kills amplifier, converters and receiver at once.",
        f"Fit a p-channel transistor behind the fuse, such as {guard}: it costs next to no volts.",
        (Figure("reversed volts", volts, "voltage"), Figure("average current", amps, "current")),
        Fix(
            f"Add {guard}.",
            (
                Change("polarity", "part", guard, kind="polarity"),
                Change("polarity", "lead", stout_lead(case), kind="polarity"),
            ),
        ),
    )


def _transistor(case: Case, part: Polarity) -> tuple[float, Fix] | None:
    """A transistor that carries what flows through a part, and the current it surely stands."""
    guard = guard_for(case, most_amps(case, part.name).high, peak_amps(case, part.name))
    if guard is None or guard.name == part.part:
        return None
    # The need that advice names has room above what flows; what the part carries decides here.
    return float("inf"), swap(part.name, guard.name)


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
            yield from overloaded(
                case,
                part.name,
                part.rating,
                called=f"{part.name}, which is",
                why=why,
                do="Take a p-channel transistor rated {need} or more for direct current.",
                fix=_transistor(case, part),
            )
            continue
        fuse, most = nearest_fuse(case, part.name), part.rating.likely
        if fuse is not None and most >= fuse.rating.likely:
            continue
        short = case.outcome.source.short_circuit.likely
        flows = f"a fuse of {in_amps(fuse.rating.likely)}" if fuse else "no fuse ahead of it"
        yield Says(
            "mind" if fuse else "stop",
            part.name,
            f"The shunt diode is rated {in_amps(most)} with {flows}; reversed, up to "
            f"{in_amps(short, digits=2)} flow through it.",
            "It must carry the battery's short-circuit current until the fuse opens; a smaller one "
            "may burn open first and protect nothing.",
            f"Take a diode of {in_amps(fuse.rating.likely)} or more."
            if fuse
            else "Fit a fuse between the battery and the diode.",
            (
                Figure("diode rating", most, "current"),
                Figure("current into a short", short, "current"),
            ),
            instead[1] if (instead := _transistor(case, part)) else None,
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
            f"The series diode drops {in_volts(drop)} of {in_volts(volts)}: {in_decibels(costs)} "
            "of clean level.",
            f"It also turns {percent(drop / volts)} of the battery's energy to heat.",
            "Use a p-channel transistor, which loses a few hundredths of a volt.",
            (
                Figure("drop", drop, "voltage"),
                Figure("lost clean level", costs, "decibel"),
            ),
            instead[1] if (instead := _transistor(case, part)) else None,
        )
