"""Rules about the charger: that there is one, its volts, its current, what it is made for."""

from __future__ import annotations

from collections.abc import Iterator

from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.terms import FAMILIES, in_amps, in_charge, in_hours, in_volts, rechargeable
from boomwright.build.power import Battery, Charger

__all__: list[str] = []

# Lead: 2.35 (a little under 2.40) to 2.50 V a cell; li-ion 4.2 V ± 0.05 V; LiFePO4 to 3.70 V.
_TOO_HIGH = {"lead": 1.021, "lifepo4": 1.014, "li-ion": 1.012}

_TOO_LOW = {"lead": 0.915, "lifepo4": 0.93, "li-ion": 0.955}
"""Share of the full-charge volts beyond which charging harms or stays unfinished: float volts less
1 % for lead, the bounds of a cell for lithium; typical of class, from memory."""

_SLOW = 24 * 3600.0

_EXTRA = 1.2

_FAR_TOO_MUCH = 2.0


def _pack_charge(battery: Battery) -> float:
    return battery.capacity.likely * battery.strings


def _pushes_nothing(case: Case, charger: Charger) -> bool:
    """Whether a charger stays below the volts of the empty battery."""
    return charger.voltage.high < case.outcome.source.volts_floor


def _fitting(case: Case) -> str | None:
    """Charger of the drawer that suits the battery, the fastest that is still gentle."""
    battery, chemistry = case.build.battery, case.chemistry
    if battery is None or chemistry is None or battery.chemistry not in FAMILIES:
        return None
    family, held = FAMILIES[battery.chemistry], case.outcome.source.volts_charging
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
    held = in_volts(case.outcome.source.volts_charging)
    kind = "this chemistry" if battery is None else FAMILIES.get(battery.chemistry, "it")
    advice = f"Take a charger made for {kind} that ends at {held} by itself"
    if part is None:
        return f"{advice}.", None
    # Values the file gives for the old charger would overrule the new part.
    old = ("voltage", "current", "made_for", "limits_voltage", "keyed")
    changes = (Change(name, "part", part), *(Change(name, key, None) for key in old))
    return f"{advice}, such as the drawer part {part}.", Fix(f"Use {part}.", changes)


def _faster(case: Case, charger: Charger) -> Fix | None:
    """Edit for a charger that suits and fills the battery within a day, where there is one."""
    name, battery = _fitting(case), case.build.battery
    if name is None or battery is None:
        return None
    part = case.drawer.part("charger", name)
    if not isinstance(part, Charger) or part.current.likely <= charger.current.likely:
        return None
    slow = _EXTRA * _pack_charge(battery) / part.current.likely > _SLOW
    return None if slow else _take(case, charger.name)[1]


@rule(
    "charger-missing",
    "safe",
    title="No charger named",
    source="common practice, no source",
)
def missing(case: Case) -> Iterator[Says]:
    """A battery that can be charged, and nothing said of how."""
    found = rechargeable(case)
    if found is None or case.build.charger is not None:
        return
    battery, family = found
    held, part = case.outcome.source.volts_charging, _fitting(case)
    yield Says(
        "mind",
        battery.name,
        f"No charger is named for this battery, which is charged to {in_volts(held)}.",
        "The wrong charger ruins more batteries than use does, and whoever borrows the box will "
        "take the nearest plug that fits.",
        f"Name one made for {family} that ends at {in_volts(held)}"
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
    found, charger = rechargeable(case), case.build.charger
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
        says = (
            f"The charger reaches {in_volts(ends)}; this battery may be charged to "
            f"{in_volts(held)}."
        )
        yield Says("stop", charger.name, says, harm, advice, figures, fix)
    elif _pushes_nothing(case, charger):
        floor = case.outcome.source.volts_floor
        yield Says(
            "stop",
            charger.name,
            f"The charger reaches {in_volts(ends)}, and this battery has {in_volts(floor)} even "
            "when it is empty: no current flows into it.",
            "It never gets charged; joined to half of its cells instead, such a charger fills "
            "those alone, and the others are ruined at the next discharge.",
            advice,
            (*figures, Figure("empty battery", floor, "voltage")),
            fix,
        )
    elif ends < _TOO_LOW[family] * held:
        says = (
            f"The charger ends at {in_volts(ends)}; this battery is full only at {in_volts(held)}."
        )
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
    family = FAMILIES.get(battery.chemistry)
    if family is None:
        yield Says(
            "stop",
            charger.name,
            f"A charger of {in_volts(charger.voltage.likely)} is named, and {title} cannot be "
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
        f"Nobody knows what the charger is made for; {title} ends its charge at {in_volts(held)}."
        if unknown
        else f"The charger is made for {charger.made_for}; the battery is {title}, which ends at "
        f"{in_volts(held)}."
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
    found, charger = rechargeable(case), case.build.charger
    if found is None or charger is None or charger.limits_voltage:
        return
    if _pushes_nothing(case, charger):
        return
    if found[1] == "nimh" and charger.made_for == "nimh":
        return
    held = case.outcome.source.volts_charging
    advice, fix = _take(case, charger.name)
    yield Says(
        "stop",
        charger.name,
        f"The charger pushes {in_amps(charger.current.likely)} until somebody unplugs it; it goes "
        f"on to {in_volts(charger.voltage.likely)}, the battery wants {in_volts(held)}.",
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
    found, charger, chemistry = rechargeable(case), case.build.charger, case.chemistry
    if found is None or charger is None or chemistry is None or _pushes_nothing(case, charger):
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
    good = f"{in_amps(usual * charge / 3600.0, digits=2)} to {in_amps(limit, digits=2)}"
    if amps > 1.01 * limit:
        far = amps > _FAR_TOO_MUCH * limit
        yield Says(
            "stop" if far else "mind",
            charger.name,
            f"The charger gives {in_amps(amps)}; {in_charge(charge)} of this kind take "
            f"{in_amps(limit)} at most.",
            "Charged too fast the battery heats up, gasses or loses life.",
            f"Take a charger of {good}.",
            figures,
            _take(case, charger.name)[1],
        )
    elif takes > _SLOW:
        yield Says(
            "mind",
            charger.name,
            f"At {in_amps(amps)} a full charge of {in_charge(charge)} takes about "
            f"{in_hours(takes)}.",
            "A battery that is needed again before it is full stays half empty for good.",
            f"Take a charger of {good}.",
            figures,
            _faster(case, charger),
        )
