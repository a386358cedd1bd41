"""Rules about charging in the box: music meanwhile, fuse, poles, gas, cells without a board."""

from __future__ import annotations

from collections.abc import Iterator
from math import isnan

from boomwright.advice.finding import Change, Figure, Fix, Level
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.terms import in_amps, in_degrees, in_volts, rechargeable
from boomwright.build.quantities import format_quantity
from boomwright.physics.nature import ZERO_CELSIUS

__all__: list[str] = []

_LITHIUM = {"lifepo4", "li-ion-nmc"}


@rule(
    "charger-while-playing",
    "safe",
    title="Charging while it plays",
    source="common practice, no source",
)
def while_playing(case: Case) -> Iterator[Says]:
    """Draw, end of charge and hum with the charger left connected."""
    found, charger = rechargeable(case), case.build.charger
    if found is None or charger is None or not charger.while_playing:
        return
    # A charger that stays below the empty battery's volts takes no part in the music.
    if charger.voltage.high < case.outcome.source.volts_floor:
        return
    draw, gives = case.outcome.wanted.amps.likely, charger.current.likely
    empties = draw > gives
    yield Says(
        "mind",
        charger.name,
        f"The box draws {in_amps(draw)} as wanted while the charger gives {in_amps(gives)}"
        + (
            ", so the battery still runs down."
            if empties
            else ", so the charger never sees its current fall and does not end the charge."
        ),
        "Everything in the box also meets the charger's volts and its noise: its mains side "
        "brings hum as soon as another mains device shares the sound lead.",
        "Charge with the box switched off, or fit a changeover jack that takes the battery off "
        "the amplifier while the plug is in.",
        (Figure("draw as wanted", draw, "current"), Figure("charger gives", gives, "current")),
        Fix("Unplug the charger to play.", (Change(charger.name, "while_playing", False),)),
    )


@rule(
    "charger-bypasses-fuse",
    "safe",
    title="A charging lead without a fuse",
    source="short-circuit current of the battery; common practice",
)
def bypasses_fuse(case: Case) -> Iterator[Says]:
    """The charging lead joins the battery with no fuse between."""
    battery, charger = case.build.battery, case.build.charger
    if battery is None or charger is None:
        return
    joins = charger.through
    fuses = [fuse.name for fuse in case.build.fuse]
    if joins in fuses or (joins and case.has_upstream(joins, "fuse")):
        return
    short = case.outcome.source.short_circuit.likely
    # A pack's own board opens on a short; it stays the second line, not the first.
    board = battery.protection_trip is not None
    main = next((node.part.name for node in case.tree if node.kind == "fuse"), None)
    yield Says(
        "mind" if board else "stop",
        charger.name,
        f"The charging lead joins {joins or battery.name} with no fuse between, and a short in it "
        f"draws {in_amps(short, digits=2)} from the battery"
        + (" until the pack's own board opens." if board else "."),
        "The socket is the part that gets wet, squeezed and shorted by a loose plug.",
        f"Join it behind {main}, which then clears a short there too."
        if main
        else "Fit a fuse at the battery and join it behind it.",
        (Figure("current into a short", short, "current"),),
        Fix(f"Join the charging lead behind {main}.", (Change(charger.name, "through", main),))
        if main
        else None,
    )


@rule(
    "charger-polarity",
    "safe",
    title="A charging plug that fits either way",
    source="common practice, no source",
)
def polarity(case: Case) -> Iterator[Says]:
    """Nothing keeps the charger from being joined the wrong way round."""
    battery, charger = case.build.battery, case.build.charger
    if battery is None or charger is None or charger.keyed or case.build.polarity:
        return
    joins = charger.through
    fused = joins in [item.name for item in case.build.fuse] or (
        bool(joins) and case.has_upstream(joins, "fuse")
    )
    volts = charger.voltage.likely + case.outcome.source.volts_full.likely
    level: Level = "mind" if fused else "stop"
    yield Says(
        level,
        charger.name,
        "The charging plug fits either way round; the wrong way battery and charger add up to "
        f"{in_volts(volts)}"
        + (", and only the fuse stands between." if fused else ", with no fuse between."),
        "One tired evening kills every board at once, or the charger.",
        "Fit a keyed plug (barrel, two flat pins) or a p-channel transistor behind the fuse.",
        (Figure("battery and charger together", volts, "voltage"),),
        Fix("Use a keyed plug.", (Change(charger.name, "keyed", True),)),
    )


@rule(
    "gas",
    "safe",
    title="A lead battery in a box that does not breathe",
    source="cautions of lead batteries: hydrogen on overcharge",
)
def gas(case: Case) -> Iterator[Says]:
    """Hydrogen has no way out of the cabinet."""
    battery, chemistry, cabinet = case.build.battery, case.chemistry, case.build.cabinet
    if battery is None or chemistry is None or cabinet is None or not chemistry.gas:
        return
    if battery.vented_bay or cabinet.air_holes or cabinet.type == "open":
        return
    charger = case.build.charger
    sealed = cabinet.type == "closed"
    amps = charger.current.likely if charger else 0.0
    # Faraday: one ampere of overcharge makes 0.42 L of hydrogen an hour in each cell.
    litres = 0.42e-3 * amps * battery.cells
    volume = case.outcome.volume_net
    known = not isnan(volume.likely)
    air = f", about {format_quantity(volume.likely, 'volume')} of air" if known else ""
    yield Says(
        "stop" if sealed and charger else "mind",
        battery.name,
        f"The battery sits in a cabinet with no opening for gas{air}"
        + (
            f"; overcharged at {in_amps(amps)} it makes up to "
            f"{format_quantity(litres, 'volume', digits=2)} of hydrogen an hour."
            if charger
            else "."
        ),
        "Hydrogen burns in air from 4 % on, and a relay or switch beside it makes sparks.",
        "Give the battery a bay of its own with holes of at least 1 cm² high and low to the "
        "outside, and charge it with the bay open.",
        (Figure("air in the cabinet", volume.likely, "volume"),)
        + ((Figure("hydrogen in an hour", litres, "volume"),) if charger else ()),
        Fix(
            "Give the battery its own bay, open to the outside.",
            (Change(battery.name, "vented_bay", True),),
        ),
    )


@rule(
    "lithium-without-board",
    "safe",
    title="Lithium cells without a protection board",
    source="cautions of lithium cells",
)
def without_board(case: Case) -> Iterator[Says]:
    """A lithium pack that says nothing of a protection board."""
    battery = case.build.battery
    if battery is None or battery.chemistry not in _LITHIUM:
        return
    facts = (battery.protection_trip, battery.protection_continuous, battery.protection_voltage)
    if any(fact is not None for fact in facts):
        return
    short = case.outcome.source.short_circuit.likely
    peak = max(scenario.amps_peak.high for scenario in case.outcome.scenarios)
    yield Says(
        "stop",
        battery.name,
        f"{battery.cells} lithium cells in series have no protection board that the file tells "
        f"of, and {in_amps(short, digits=2)} can flow into a short.",
        "Only a board watches each cell: without it one cell is overcharged or driven below zero, "
        "and may burn.",
        f"Use a ready-made pack with a board for {battery.cells} cells that carries "
        f"{in_amps(1.5 * peak, digits=2)}, and write down its trip current and volts.",
        (
            Figure("current into a short", short, "current"),
            Figure("peak current", peak, "current"),
        ),
    )


@rule(
    "charge-cold",
    "safe",
    title="Lithium charged below freezing",
    source="cautions of lithium cells: never below 0 °C",
)
def charge_cold(case: Case) -> Iterator[Says]:
    """The place gets colder than a lithium cell may be charged at."""
    battery, charger, want = case.build.battery, case.build.charger, case.build.want
    if battery is None or charger is None or battery.chemistry not in _LITHIUM:
        return
    coldest = want.coldest.likely if want.coldest else want.outside.low
    if coldest >= ZERO_CELSIUS:
        return
    yield Says(
        "stop" if charger.while_playing else "mind",
        charger.name,
        f"It gets as cold as {in_degrees(coldest)} where the box is used"
        + (", and the charger stays connected." if charger.while_playing else "."),
        "Charged below 0 °C a lithium cell plates metal inside: it loses charge for good and can "
        "short later.",
        "Charge it indoors, once the pack has been above 10 °C for two hours.",
        (Figure("coldest", coldest, "temperature"),),
    )
