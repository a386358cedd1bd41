"""Rules about the charger and about charging: volts, current, chemistry, gas and cold."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from math import isnan

from boomwright.advice.finding import Change, Figure, Fix, Level
from boomwright.advice.rules import Case, Says, rule
from boomwright.build.power import Battery, Charger
from boomwright.build.quantities import format_quantity
from boomwright.physics.nature import ZERO_CELSIUS

_amps = partial(format_quantity, kind="current")
_charge = partial(format_quantity, kind="charge")
_degrees = partial(format_quantity, kind="temperature")
_hours = partial(format_quantity, kind="time")
_volts = partial(format_quantity, kind="voltage")

_FAMILIES = {
    "lead-flooded": "lead",
    "lead-agm": "lead",
    "lifepo4": "lifepo4",
    "li-ion-nmc": "li-ion",
    "nimh": "nimh",
}
_LITHIUM = {"lifepo4", "li-ion-nmc"}
# Lead: 2.35 (a little under 2.40) to 2.50 V a cell; li-ion 4.2 V ± 0.05 V; LiFePO4 to 3.70 V.
_TOO_HIGH = {"lead": 1.021, "lifepo4": 1.014, "li-ion": 1.012}
_TOO_LOW = {"lead": 0.915, "lifepo4": 0.93, "li-ion": 0.955}
"""Share of the full-charge volts beyond which charging harms or stays unfinished: float volts less
1 % for lead, the bounds of a cell for lithium; typical of class, from memory."""

_SLOW = 24 * 3600.0
_EXTRA = 1.2
_FAR_TOO_MUCH = 2.0


def _rechargeable(case: Case) -> tuple[Battery, str] | None:
    battery = case.build.battery
    if battery is None or battery.chemistry not in _FAMILIES:
        return None
    return battery, _FAMILIES[battery.chemistry]


def _pack_charge(battery: Battery) -> float:
    return battery.capacity.likely * battery.strings


def _fitting(case: Case) -> str | None:
    """Charger of the drawer that suits the battery, the fastest that is still gentle."""
    battery, chemistry = case.build.battery, case.chemistry
    if battery is None or chemistry is None or battery.chemistry not in _FAMILIES:
        return None
    family, held = _FAMILIES[battery.chemistry], case.outcome.source.volts_charging
    most = (chemistry.charge_current_high or 0.0) * _pack_charge(battery) / 3600.0
    best, name = 0.0, None
    for key in case.drawer.names("charger"):
        part = case.drawer.part("charger", key)
        if not isinstance(part, Charger) or part.made_for != family or not part.limits_voltage:
            continue
        near = abs(part.voltage.likely / held - 1.0) < (0.04 if family == "nimh" else 0.012)
        if near and part.keyed and best < part.current.likely <= most:
            best, name = part.current.likely, key
    return name


def _take(case: Case, name: str) -> tuple[str, Fix | None]:
    """Advice to take a charger that suits, and the edit for it."""
    battery, part = case.build.battery, _fitting(case)
    held = _volts(case.outcome.source.volts_charging)
    kind = "this chemistry" if battery is None else _FAMILIES.get(battery.chemistry, "it")
    advice = f"Take a charger made for {kind} that ends at {held} by itself"
    if part is None:
        return f"{advice}.", None
    # Values the file gives for the old charger would overrule the new part.
    old = ("voltage", "current", "made_for", "limits_voltage", "keyed")
    changes = (Change(name, "part", part), *(Change(name, key, None) for key in old))
    return f"{advice}, such as the drawer part {part}.", Fix(f"Use {part}.", changes)


@rule(
    "charger-missing",
    "safe",
    title="No charger named",
    source="common practice, no source",
)
def missing(case: Case) -> Iterator[Says]:
    """A battery that can be charged, and nothing said of how."""
    found = _rechargeable(case)
    if found is None or case.build.charger is not None:
        return
    battery, family = found
    held, part = case.outcome.source.volts_charging, _fitting(case)
    yield Says(
        "mind",
        battery.name,
        f"No charger is named for this battery, which is charged to {_volts(held)}.",
        "The wrong charger ruins more batteries than use does, and whoever borrows the box will "
        "take the nearest plug that fits.",
        f"Name one made for {family} that ends at {_volts(held)}"
        + (f", such as the drawer part {part}" if part else "")
        + ", and mark its plug.",
        (Figure("charged to", held, "voltage"),),
        Fix(f"Add the charger {part}.", (Change("charger", "part", part, kind="charger"),))
        if part
        else None,
    )


@rule(
    "charger-voltage",
    "safe",
    title="A charger that ends at the wrong volts",
    source="full-charge volts of the chemistry",
)
def voltage(case: Case) -> Iterator[Says]:
    """End volts outside the window of the pack."""
    found, charger = _rechargeable(case), case.build.charger
    # A nickel charger ends by time or by a dip of the volts, not at a voltage.
    if found is None or charger is None or found[1] == "nimh":
        return
    family, held = found[1], case.outcome.source.volts_charging
    ends = charger.voltage.likely
    figures = (
        Figure("charger ends at", ends, "voltage"),
        Figure("battery wants", held, "voltage"),
    )
    advice, fix = _take(case, charger.name)
    if ends > _TOO_HIGH[family] * held:
        harm = (
            "The battery gasses, dries out and gives off hydrogen."
            if family == "lead"
            else "An overcharged lithium cell can catch fire; its board is the last barrier, not "
            "the charger."
        )
        says = f"The charger reaches {_volts(ends)}; this battery may be charged to {_volts(held)}."
        yield Says("stop", charger.name, says, harm, advice, figures, fix)
    elif ends < _TOO_LOW[family] * held:
        says = f"The charger ends at {_volts(ends)}; this battery is full only at {_volts(held)}."
        why = (
            "A lead battery that never gets full sulphates and fades within months."
            if family == "lead"
            else "Part of its charge is never filled, and the hours are shorter than shown here."
        )
        yield Says("mind", charger.name, says, why, advice, figures, fix)


@rule(
    "charger-chemistry",
    "safe",
    title="A charger made for something else",
    source="way of charging of each chemistry",
)
def made_for(case: Case) -> Iterator[Says]:
    """A charger for another chemistry, or for cells that cannot be charged."""
    battery, charger = case.build.battery, case.build.charger
    if battery is None or charger is None or case.chemistry is None:
        return
    title = case.chemistry.title
    family = _FAMILIES.get(battery.chemistry)
    if family is None:
        yield Says(
            "stop",
            charger.name,
            f"A charger of {_volts(charger.voltage.likely)} is named, and {title} cannot be "
            "charged.",
            "Such cells leak caustic liquid or burst.",
            "Take the charger out of the build, or use NiMH cells of the same size.",
            (Figure("charger ends at", charger.voltage.likely, "voltage"),),
        )
        return
    if charger.made_for == family:
        return
    held = case.outcome.source.volts_charging
    advice, fix = _take(case, charger.name)
    unknown = charger.made_for == "unknown"
    says = (
        f"Nobody knows what the charger is made for; {title} ends its charge at {_volts(held)}."
        if unknown
        else f"The charger is made for {charger.made_for}; the battery is {title}, which ends at "
        f"{_volts(held)}."
    )
    yield Says(
        "mind" if unknown else "stop",
        charger.name,
        says,
        "Each chemistry ends its charge in its own way; the wrong way overcharges it or never "
        "fills it.",
        f"Read its label. {advice}" if unknown else advice,
        (
            Figure("battery ends at", held, "voltage"),
            Figure("charger ends at", charger.voltage.likely, "voltage"),
        ),
        fix,
    )


@rule(
    "charger-no-limit",
    "safe",
    title="A charger that does not stop",
    source="common practice, no source",
)
def no_limit(case: Case) -> Iterator[Says]:
    """No limit of its own; nickel chargers that end by the clock are another matter."""
    found, charger = _rechargeable(case), case.build.charger
    if found is None or charger is None or charger.limits_voltage:
        return
    if found[1] == "nimh" and charger.made_for == "nimh":
        return
    held = case.outcome.source.volts_charging
    advice, fix = _take(case, charger.name)
    yield Says(
        "stop",
        charger.name,
        f"The charger pushes {_amps(charger.current.likely)} until somebody unplugs it; it goes "
        f"on to {_volts(charger.voltage.likely)}, the battery wants {_volts(held)}.",
        "Forgotten for one night it boils a lead battery dry, with hydrogen in the air, or sets a "
        "lithium cell on fire.",
        f"Do not use it. {advice}",
        (
            Figure("charger goes on to", charger.voltage.likely, "voltage"),
            Figure("battery wants", held, "voltage"),
            Figure("charger current", charger.current.likely, "current"),
        ),
        fix,
    )


@rule(
    "charger-current",
    "safe",
    title="Charging too fast or too slow",
    source="charge current of the chemistry: typical of class, from memory",
)
def current(case: Case) -> Iterator[Says]:
    """Charge current against the battery's size."""
    found, charger, chemistry = _rechargeable(case), case.build.charger, case.chemistry
    if found is None or charger is None or chemistry is None:
        return
    charge = _pack_charge(found[0])
    usual, most = chemistry.charge_current or 0.1, chemistry.charge_current_high or 0.25
    amps = charger.current.likely
    limit = most * charge / 3600.0
    takes = _EXTRA * charge / amps
    figures = (
        Figure("charger current", amps, "current"),
        Figure("greatest for this battery", limit, "current"),
        Figure("time for a full charge", takes, "time"),
    )
    good = f"{_amps(usual * charge / 3600.0, digits=2)} to {_amps(limit, digits=2)}"
    if amps > 1.01 * limit:
        far = amps > _FAR_TOO_MUCH * limit
        yield Says(
            "stop" if far else "mind",
            charger.name,
            f"The charger gives {_amps(amps)}; {_charge(charge)} of this kind take "
            f"{_amps(limit)} at most.",
            "Charged too fast the battery heats up, gasses or loses life.",
            f"Take a charger of {good}.",
            figures,
        )
    elif takes > _SLOW:
        yield Says(
            "mind",
            charger.name,
            f"At {_amps(amps)} a full charge of {_charge(charge)} takes about {_hours(takes)}.",
            "A battery that is needed again before it is full stays half empty for good.",
            f"Take a charger of {good}.",
            figures,
        )


@rule(
    "charger-while-playing",
    "safe",
    title="Charging while it plays",
    source="common practice, no source",
)
def while_playing(case: Case) -> Iterator[Says]:
    """Draw, end of charge and hum with the charger left connected."""
    found, charger = _rechargeable(case), case.build.charger
    if found is None or charger is None or not charger.while_playing:
        return
    draw, gives = case.outcome.wanted.amps.likely, charger.current.likely
    empties = draw > gives
    yield Says(
        "mind",
        charger.name,
        f"The box draws {_amps(draw)} as wanted while the charger gives {_amps(gives)}"
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
        f"draws {_amps(short, digits=2)} from the battery"
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
        f"{_volts(volts)}"
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
            f"; overcharged at {_amps(amps)} it makes up to "
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
        f"of, and {_amps(short, digits=2)} can flow into a short.",
        "Only a board watches each cell: without it one cell is overcharged or driven below zero, "
        "and may burn.",
        f"Use a ready-made pack with a board for {battery.cells} cells that carries "
        f"{_amps(1.5 * peak, digits=2)}, and write down its trip current and volts.",
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
        f"It gets as cold as {_degrees(coldest)} where the box is used"
        + (", and the charger stays connected." if charger.while_playing else "."),
        "Charged below 0 °C a lithium cell plates metal inside: it loses charge for good and can "
        "short later.",
        "Charge it indoors, once the pack has been above 10 °C for two hours.",
        (Figure("coldest", coldest, "temperature"),),
    )
