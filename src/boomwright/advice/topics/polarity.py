"""Rules about reversed poles: what stands against them, and what it costs."""

from __future__ import annotations

from collections.abc import Iterator

from boomwright.advice.feeds import loudest_use
from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.leads import connector_of, nearest_fuse
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.swaps import guard_for, stout_lead, swap
from boomwright.advice.terms import (
    in_amps,
    in_decibels,
    in_degrees,
    in_volts,
    most_amps,
    overloaded,
    peak_amps,
    percent,
)
from boomwright.build.components import Diode, Transistor, Zener
from boomwright.build.power import Fuse, Polarity
from boomwright.build.quantities import Quantity, format_quantity
from boomwright.build.soldered_polarity import gate_rating, reversed_current
from boomwright.build.soldered_values import found_part
from boomwright.outcome.plan import FUSE_KINDS
from boomwright.physics.fuse import fuse_kind, fuse_resistance, melting_integral
from boomwright.physics.heatsink import junction_temperature
from boomwright.physics.polarity import loss_db
from boomwright.physics.wire import wire_resistance

__all__: list[str] = []

_LOSS_DB = 0.4
_HALF_WAVE = 1.0 / 120.0
_GATE_SHARE = 0.75
_HALF_ON = 2.0
# Junction to air of a bare diode by its rated current: axial of an ampere, axial of some amperes,
# TO-220; and the hottest each kind may become. Typical of class, from memory.
_BARE = ((1.5, 75.0), (7.0, 40.0), (float("inf"), 60.0))
_HOTTEST = {"schottky": 398.15, "silicon": 423.15}
_CLOSE = 20.0


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
        if fuse is not None and _shunt(case, part) is not None:
            continue
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


def _shunt(case: Case, part: Polarity) -> tuple[Diode, Quantity] | None:
    """The diode of a shunt protection and the surge that it stands, where both are known."""
    if part.circuit is None or part.type != "shunt-diode":
        return None
    diode = found_part("diode", part.circuit.device, Diode, case.drawer)
    return (diode, diode.surge) if diode is not None and diode.surge is not None else None


def _loop(case: Case, part: Polarity, fuse: Fuse) -> float:
    """Ohms of battery, leads and fuse with the poles swapped at a shunt diode."""
    leads = [part.lead, *(node.part.lead for node in case.upstream(part.name))]
    copper = sum(float(wire_resistance(ld.area.likely, 2.0 * ld.length.likely)) for ld in leads)
    own = float(fuse_resistance(fuse.rating.likely, kind=FUSE_KINDS[fuse.type]))
    return case.outcome.source.resistance.likely + copper + own


def _lets_through(fuse: Fuse, amps: float) -> tuple[float, float]:
    """Least and greatest integral that a fuse lets through; infinite where it may never open.

    A fuse that melts faster lets less through, so every gate passed bounds it.
    """
    kind, rating = FUSE_KINDS[fuse.type], fuse.rating.likely
    passed = [gate for gate in fuse_kind(kind).gates if gate[0] <= amps / rating]
    bounds = [(multiple * rating) ** 2 * longest for multiple, _, longest in passed]
    most = min(bounds, default=float("inf"))
    return min(float(melting_integral(rating, kind=kind)), most), most


def _joule(integral: float) -> str:
    """An integral of current squared, to two digits or to one."""
    return f"{integral:.0f}" if integral >= 10.0 else f"{integral:.1f}"


@rule(
    "polarity-shunt-dies",
    "safe",
    title="Shunt diode against the fuse that must save it",
    source="integral of current squared: half a wave of the diode's surge, the fuse's gates",
)
def polarity_shunt_dies(case: Case) -> Iterator[Says]:
    """What a fuse lets through with swapped poles against what the shunt diode stands."""
    for part in case.build.polarity:
        fuse, shunt = nearest_fuse(case, part.name), _shunt(case, part)
        if fuse is None or shunt is None:
            continue
        diode, surge = shunt
        amps = reversed_current(
            diode,
            voltage=case.outcome.source.volts_full.likely,
            resistance=_loop(case, part, fuse),
            fuse_rating=fuse.rating.likely,
        )
        least, most = _lets_through(fuse, amps)
        stands, surely = (0.5 * _HALF_WAVE * value**2 for value in (surge.likely, surge.low))
        if most <= surely:
            continue
        never = most == float("inf")
        sure = never or least > stands
        lets = (
            f"{_joule(least)} to {_joule(most)} A² s"
            if not never
            else "current for as long as it lasts"
        )
        yield Says(
            "stop" if sure else "mind",
            part.name,
            f"With swapped poles {in_amps(amps, digits=2)} flow; the fuse of "
            f"{in_amps(fuse.rating.likely)} lets through {lets}, and the diode stands "
            f"{_joule(stands)} A² s.",
            "A diode that burns open before the fuse clears leaves the reversed battery on the "
            "amplifier.",
            f"Take a diode for a surge of {in_amps((2.0 * most / _HALF_WAVE) ** 0.5, digits=2)} or "
            "more, or a p-channel transistor in the plus lead."
            if not never
            else "Take a smaller fuse, or a p-channel transistor in the plus lead.",
            (
                Figure("current with swapped poles", amps, "current"),
                Figure("surge the diode stands", surge.likely, "current"),
            ),
            instead[1] if (instead := _transistor(case, part)) else None,
        )


@rule(
    "polarity-gate",
    "safe",
    title="Gate of a protecting transistor",
    source="gate ratings of 12 V and 20 V are typical of class, from memory",
)
def polarity_gate(case: Case) -> Iterator[Says]:
    """Volts at a protecting transistor's gate against what it stands, and what opens it."""
    for part in case.build.polarity:
        circuit = part.circuit
        if circuit is None or part.type != "p-mosfet":
            continue
        device = found_part("transistor", circuit.device, Transistor, case.drawer)
        if device is None:
            continue
        most = max(case.outcome.source.volts_charging, case.outcome.source.volts_full.high)
        zener = found_part("zener", circuit.gate_zener, Zener, case.drawer)
        volts = most if zener is None else min(most, zener.voltage.high)
        stands = gate_rating(device)
        figures = (
            Figure("volts at the gate", volts, "voltage"),
            Figure("gate stands", stands, "voltage"),
        )
        on = device.on_resistance
        if volts > _GATE_SHARE * stands:
            over = volts > stands
            yield Says(
                "stop" if over else "mind",
                part.name,
                f"The gate meets {in_volts(volts)}, and {circuit.device} stands "
                f"{in_volts(stands)}{'' if over else ' with little room'}.",
                "A gate that breaks through leaves the transistor on or off for ever, and one that "
                "stays on protects nothing.",
                f"Solder a zener of {in_volts(_zener_for(stands))} from gate to source, its band "
                f"to the source, with 10 kΩ or more from gate to minus.",
                figures,
            )
        elif on is not None and part.resistance.likely > _HALF_ON * on.likely:
            yield Says(
                "mind",
                part.name,
                f"Near the end of the battery the gate is driven too little: {circuit.device} has "
                f"{format_quantity(part.resistance.likely, 'resistance', digits=2)} there instead "
                f"of {format_quantity(on.likely, 'resistance')}.",
                "A transistor that is half open runs hot and takes volts from the amplifier.",
                "Take a transistor for logic drive, which opens at 4.5 V.",
                (
                    *figures,
                    Figure("resistance", part.resistance.likely, "resistance"),
                    Figure("resistance when open", on.likely, "resistance"),
                ),
            )


def _zener_for(stands: float) -> float:
    """Usual zener for a gate: three quarters of what it stands, from the series of twelve."""
    return 8.2 if stands < 15.0 else 12.0


@rule(
    "polarity-hot",
    "hot",
    title="Series diode's junction",
    source="heat times the thermal resistance of a bare diode, typical of class, from memory",
)
def polarity_hot(case: Case) -> Iterator[Says]:
    """Junction of a series diode in the loudest use against what its kind stands."""
    air = loudest_use(case).air.likely
    for part in case.build.polarity:
        if part.circuit is None or not part.type.startswith("series"):
            continue
        diode = found_part("diode", part.circuit.device, Diode, case.drawer)
        if diode is None or diode.type not in _HOTTEST:
            continue
        bare = next(ohms for amps, ohms in _BARE if diode.current.likely <= amps)
        watts, limit = case.loudest(part.name).loss.likely, _HOTTEST[diode.type]
        hot = float(junction_temperature(watts, ambient=air, resistances=[bare]))
        if hot <= limit - _CLOSE:
            continue
        over = hot > limit
        yield Says(
            "stop" if over else "mind",
            part.name,
            f"The series diode turns {format_quantity(watts, 'power', digits=2)} into heat in air "
            f"of {in_degrees(air)}: its junction reaches {in_degrees(hot)}, and its kind stands "
            f"{in_degrees(limit)}.",
            "An overheated diode fails as a short, and the protection is gone.",
            "Use a p-channel transistor, which stays cool, or a larger diode with long legs in "
            "free air.",
            (
                Figure("heat", watts, "power"),
                Figure("junction", hot, "temperature"),
                Figure("limit", limit, "temperature"),
            ),
            instead[1] if (instead := _transistor(case, part)) else None,
        )
