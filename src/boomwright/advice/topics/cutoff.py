"""Rules about the low-voltage cutoff: that there is one, where it opens, and how it comes back."""

from __future__ import annotations

from collections.abc import Iterator
from math import isclose

from boomwright.advice.finding import Change, Figure, Fix, Level
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.swaps import (
    guard_amplifiers,
    sparing_cutoff,
    stronger_cutoff,
    usual_cutoff,
)
from boomwright.advice.terms import in_amps, in_hours, in_volts, overloaded, percent
from boomwright.build.audio import Amplifier
from boomwright.build.power import Cutoff
from boomwright.build.quantities import BASES, Quantity
from boomwright.build.thresholds import usual_thresholds
from boomwright.physics.chemistry import end_voltage

_UNUSED = 0.25
_RECOVERED = 1.03
_AT_ONCE = 60.0
_BASS = 0.5
_DRAIN_SHARE = 0.1
_FORGOTTEN = 14 * 86400.0
_DRAIN_LEAST = 2e-3
_DRAIN_SMALL = 10e-3
_LABEL_SPREAD = 0.03
"""How far a threshold lies from what its label says; typical of class, from memory."""


def _advised(case: Case) -> tuple[float, float]:
    """Usual off and on volts for the battery."""
    battery = case.build.battery
    if battery is None:
        raise ValueError(f"{case.build.name} has no battery")
    return usual_thresholds(battery.chemistry, battery.cells)


def _threshold(volts: Quantity) -> tuple[float, float]:
    """Lowest and highest that a threshold may be; a label's usual spread is too wide for one."""
    usual = volts.likely * (1.0 - BASES[volts.basis].below)
    if volts.basis != "label" or not isclose(volts.low, usual):
        return volts.low, volts.high
    return volts.likely * (1.0 - _LABEL_SPREAD), volts.likely * (1.0 + _LABEL_SPREAD)


def _unless_soldered(cutoff: Cutoff, fix: Fix | None) -> Fix | None:
    """The fix, but for a soldered circuit: there a part has to change, and not a figure."""
    return fix if cutoff.circuit is None else None


def _at_the_parts(cutoff: Cutoff, do: str) -> str:
    """What to do, with the way to the part to change for a soldered circuit."""
    if cutoff.circuit is None:
        return do
    return f"{do} 'boomwright design cutoff' on this file names the part to change."


def _set(cutoff: Cutoff, key: str, volts: float) -> Fix:
    text = f"{volts:.4g} V ±2 %"
    return Fix(f"Set {cutoff.name}.{key} to {text}.", (Change(cutoff.name, key, text),))


@rule(
    "cutoff-missing",
    "safe",
    title="Nothing stops the discharge",
    source="lowest cell volts of the chemistry",
)
def missing(case: Case) -> Iterator[Says]:
    """A battery that can be run flat because nothing opens in time."""
    battery, chemistry = case.build.battery, case.chemistry
    if battery is None or chemistry is None or battery.chemistry == "alkaline":
        return
    open_loads = [
        load.name
        for load in case.loads()
        if isinstance(load, Amplifier) and not case.has_upstream(load.name, "cutoff")
    ]
    if not open_loads:
        return
    floor = case.outcome.source.volts_floor
    board = battery.protection_voltage
    if board is not None and board.likely >= floor:
        return
    lock_out = min(item.supply_min.likely for item in case.build.amplifier)
    lasts = lock_out >= floor and not any(case.has_upstream(name, "rail") for name in open_loads)
    usual = usual_cutoff(case)
    part = usual.name if usual else None
    off = _advised(case)[0]
    # What the amplifier leaves running empties lithium to where it may not be charged again.
    lithium = battery.chemistry in {"lifepo4", "li-ion-nmc"}
    level: Level = "mind" if battery.chemistry == "nimh" or (lasts and not lithium) else "stop"
    stops = (
        f"only {open_loads[0]} gives up, at {in_volts(lock_out)}, while the rest drains on"
        if lock_out > 0.3 * floor
        else "nothing opens before it is empty"
    )
    yield Says(
        level,
        battery.name,
        f"Nothing disconnects the battery: it is ruined below {in_volts(floor)}; {stops}.",
        "One deep discharge costs a lead battery much of its charge and makes a lithium cell "
        "unsafe to charge again.",
        f"Fit a cutoff that opens at {in_volts(off)} and latches off"
        + (f", such as the drawer part {part}." if part else "."),
        (
            Figure("ruined below", floor, "voltage"),
            Figure("amplifier gives up at", lock_out, "voltage"),
            Figure("usual cutoff", off, "voltage"),
        ),
        guard_amplifiers(case, open_loads),
    )


@rule(
    "cutoff-too-low",
    "safe",
    title="A cutoff that opens too late",
    source="lowest cell volts and customary end volts of the chemistry",
)
def too_low(case: Case) -> Iterator[Says]:
    """A cutoff below what the cells stand, or below where a discharge usually ends."""
    battery, chemistry = case.build.battery, case.chemistry
    if battery is None or chemistry is None:
        return
    floor, run = case.outcome.source.volts_floor, case.outcome.wanted
    # Beyond its table the law stays as it is, so only a run of no length needs care.
    lasts = max(run.duration.likely, 360.0)
    usual_end = float(end_voltage(chemistry, duration=lasts)) * battery.cells
    off = _advised(case)[0]
    for cutoff in case.build.cutoff:
        if case.has_upstream(cutoff.name, "rail"):
            continue
        opens, lowest = cutoff.off, _threshold(cutoff.off)[0]
        ruined = opens.likely < floor or run.ending == "floor"
        # Once it is set above the customary end, the spread of a threshold may dip below it.
        if not (ruined or opens.likely < usual_end - 1e-9 or lowest < floor):
            continue
        limit = floor if ruined or opens.likely >= usual_end else usual_end
        yield Says(
            "stop" if ruined else "mind",
            cutoff.name,
            f"The cutoff opens at {in_volts(opens.likely)} (perhaps {in_volts(lowest)}); this "
            f"battery {'is ruined' if limit == floor else 'usually counts as empty'} below "
            f"{in_volts(limit)}.",
            "The last volts hold next to no charge, and each trip down there costs the battery "
            "some of its life.",
            _at_the_parts(
                cutoff,
                f"Set it to {in_volts(off)}: sweep a bench supply down with the real load and "
                "read where it opens.",
            ),
            (
                Figure("cutoff opens at", opens.likely, "voltage"),
                Figure("lowest for this battery", limit, "voltage"),
                Figure("usual setting", off, "voltage"),
            ),
            _unless_soldered(cutoff, _raise_off(case, cutoff, off)),
        )


def _raise_off(case: Case, cutoff: Cutoff, off: float) -> Fix:
    """Set ``off``, and ``on`` with it where it would not lie above any more."""
    fix = _set(cutoff, "off", off)
    if cutoff.on is None or cutoff.on.likely > off:
        return fix
    on = f"{_advised(case)[1]:.4g} V ±2 %"
    return Fix(
        f"{fix.says[:-1]} and {cutoff.name}.on to {on}.",
        (*fix.changes, Change(cutoff.name, "on", on)),
    )


@rule(
    "cutoff-too-high",
    "long",
    title="A cutoff that leaves charge unused",
    source="depth of discharge advised for the chemistry, and a quarter at least",
)
def too_high(case: Case) -> Iterator[Says]:
    """Much of the charge stays in the battery even at a low level."""
    battery, chemistry = case.build.battery, case.chemistry
    if battery is None or chemistry is None or not case.build.cutoff:
        return
    # At background level no charge is held back by the rate, so that what is left is the cutoff's.
    slow = case.outcome.scenario("background")
    limit = max(_UNUSED, 1.0 - chemistry.depth_advised)
    left = slow.charge_left.likely
    cutoff, off = case.build.cutoff[0], _advised(case)[0]
    if slow.ending != "cutoff" or left <= limit or cutoff.off.likely <= off:
        return
    # Volts that recover far above the threshold were pulled down by the load, not by an empty cell.
    if slow.rebound.likely > _RECOVERED * cutoff.off.likely:
        return
    yield Says(
        "mind",
        cutoff.name,
        f"The cutoff opens at {in_volts(cutoff.off.likely)} with {percent(left)} of the charge "
        "still in the battery.",
        f"This kind may be emptied by {percent(chemistry.depth_advised)} every day without harm.",
        _at_the_parts(cutoff, f"Set it lower, towards {in_volts(off)}."),
        (
            Figure("cutoff opens at", cutoff.off.likely, "voltage"),
            Figure("charge left", left, "share"),
        ),
        _unless_soldered(cutoff, _set(cutoff, "off", off)),
    )


@rule(
    "cutoff-chatters",
    "safe",
    title="A cutoff that comes back by itself",
    source="recovery of the battery once the load has gone",
)
def chatters(case: Case) -> Iterator[Says]:
    """The battery recovers to the volts at which the cutoff closes again."""
    if case.build.battery is None:
        return
    for cutoff in case.build.cutoff:
        if cutoff.latching:
            continue
        on = cutoff.on or cutoff.off
        # A run that ends at once leaves a full battery, whose volts say nothing.
        runs = [run for run in case.outcome.scenarios if run.duration.likely > _AT_ONCE]
        if not runs:
            continue
        soon = max((run.rebound_soon for run in runs), key=lambda item: item.likely)
        later = max((run.rebound for run in runs), key=lambda item: item.likely)
        at_once = on.likely <= max(soon.likely, cutoff.off.likely)
        if not (at_once or on.likely <= later.likely or _threshold(on)[0] <= later.likely):
            continue
        advised = max(_advised(case)[1], later.high + 0.2)
        yield Says(
            "stop" if at_once else "mind",
            cutoff.name,
            f"The cutoff opens at {in_volts(cutoff.off.likely)} and closes at "
            f"{in_volts(on.likely)}; without load the battery recovers to {in_volts(soon.likely)} "
            f"in a minute and {in_volts(later.likely)} in an hour.",
            "It closes again, the load pulls the volts down, and it opens: a relay chatters until "
            "its contacts weld, and the battery is emptied bit by bit.",
            _at_the_parts(
                cutoff,
                f"Make it latch until a button is pressed, or let it close at {in_volts(advised)} "
                "only.",
            ),
            (
                Figure("closes at", on.likely, "voltage"),
                Figure("recovers in a minute to", soon.likely, "voltage"),
                Figure("recovers in an hour to", later.likely, "voltage"),
            ),
            _unless_soldered(
                cutoff, Fix(f"Make {cutoff.name} latch.", (Change(cutoff.name, "latching", True),))
            ),
        )


@rule(
    "cutoff-on-above-full",
    "safe",
    title="A cutoff that does not come back",
    source="rested volts of a full battery",
)
def on_above_full(case: Case) -> Iterator[Says]:
    """The volts at which it closes lie above what a full battery shows."""
    if case.build.battery is None:
        return
    full, charging = case.outcome.source.volts_full, case.outcome.source.volts_charging
    for cutoff in case.build.cutoff:
        on = cutoff.on
        if on is None or cutoff.latching or (highest := _threshold(on)[1]) <= full.likely:
            continue
        never = on.likely > charging
        advised = min(_advised(case)[1], 0.97 * full.low)
        yield Says(
            "stop" if never else "mind",
            cutoff.name,
            f"The cutoff closes at {in_volts(on.likely)} (perhaps {in_volts(highest)}); a full "
            f"battery rests at {in_volts(full.likely)}.",
            "It then stays open for ever."
            if never
            else "It may close only while the charger is connected, and not after a freshly "
            "charged battery has been plugged in.",
            _at_the_parts(cutoff, f"Let it close at {in_volts(advised)}."),
            (
                Figure("closes at", on.likely, "voltage"),
                Figure("full battery", full.likely, "voltage"),
            ),
            _unless_soldered(cutoff, _set(cutoff, "on", advised)),
        )


@rule(
    "cutoff-bass-dip",
    "loud",
    title="A cutoff that opens on a bass beat",
    source="Ohm's law along the path; a beat lasts less than half a second",
)
def bass_dip(case: Case) -> Iterator[Says]:
    """Peaks pull the volts below the threshold of a cutoff that does not wait."""
    loud = case.outcome.scenario("flat-out")
    source, curve = case.outcome.source, loud.curve
    if case.build.battery is None or not curve.time:
        return
    for cutoff in case.build.cutoff:
        if cutoff.delay.likely >= _BASS or case.has_upstream(cutoff.name, "rail"):
            continue
        half = min(range(len(curve.time)), key=lambda place: abs(curve.charge[place] - 0.5))
        before = curve.volts[0] - loud.part(cutoff.name).volts_in.likely
        path = source.resistance.likely + max(before, 0.0) / max(curve.amps[0], 1e-6)
        dips = [
            curve.volts[place] - before - (loud.amps_peak.likely - curve.amps[place]) * path
            for place in (0, half)
        ]
        if dips[1] >= cutoff.off.likely:
            continue
        when = "a full" if dips[0] < cutoff.off.likely else "a half full"
        dip = dips[0] if dips[0] < cutoff.off.likely else dips[1]
        yield Says(
            "stop" if when == "a full" else "mind",
            cutoff.name,
            f"On bass peaks of {in_amps(loud.amps_peak.likely)} {when} battery dips to "
            f"{in_volts(dip)}, below the cutoff's {in_volts(cutoff.off.likely)}.",
            "A cutoff that does not wait takes a bass beat for an empty battery.",
            "Give it a delay of 5 s (a resistor and a capacitor at its sense pin), or set it "
            f"below {in_volts(dip)}.",
            (
                Figure("peak current", loud.amps_peak.likely, "current"),
                Figure("volts on the peak", dip, "voltage"),
                Figure("cutoff opens at", cutoff.off.likely, "voltage"),
            ),
            _unless_soldered(
                cutoff, Fix("Let it wait 5 s.", (Change(cutoff.name, "delay", "5 s"),))
            ),
        )


@rule(
    "cutoff-rating",
    "safe",
    title="A cutoff carrying more than its contact or transistor stands",
    source="rating of the part",
)
def rating(case: Case) -> Iterator[Says]:
    """Average or peak current above the rating."""
    for cutoff in case.build.cutoff:
        yield from overloaded(
            case,
            cutoff.name,
            cutoff.rating,
            called="a cutoff",
            why="An overloaded contact welds shut and then no longer protects; a transistor "
            "overheats.",
            do="Take one rated {need} or more.",
            fix=stronger_cutoff(case, cutoff),
        )


@rule(
    "cutoff-drains",
    "long",
    title="A cutoff that uses much of the battery itself",
    source="common practice, no source: a tenth of the energy, two weeks forgotten",
)
def drains(case: Case) -> Iterator[Says]:
    """A coil that takes a good share of the run, or goes on draining once it has opened."""
    battery, run = case.build.battery, case.outcome.wanted
    if battery is None:
        return
    total = sum(run.energy.values())
    left = run.charge_left.likely * battery.capacity.likely * battery.strings
    for cutoff in case.build.cutoff:
        share = run.energy[cutoff.name] / total if total > 0 else 0.0
        empty = left / max(cutoff.drain_off.likely, 1e-9)
        if share > _DRAIN_SHARE and cutoff.drain_on.likely > _DRAIN_SMALL:
            yield Says(
                "mind",
                cutoff.name,
                f"The cutoff itself takes {in_amps(cutoff.drain_on.likely)}, {percent(share)} of "
                "the energy of a run.",
                "A relay coil is held all the time that music plays.",
                "Use a transistor cutoff or a latching relay, which take 10 mA or less.",
                (
                    Figure("taken while closed", cutoff.drain_on.likely, "current"),
                    Figure("share of the energy", share, "share"),
                ),
                sparing_cutoff(case, cutoff),
            )
        switched = case.has_upstream(cutoff.name, "switch")
        switch = "Turn the switch off" if switched else "Put a switch ahead of it and turn it off"
        if empty < _FORGOTTEN and cutoff.drain_off.likely > _DRAIN_LEAST:
            yield Says(
                "mind",
                cutoff.name,
                f"Once open it still takes {in_amps(cutoff.drain_off.likely)}, which uses up what "
                f"is left in {in_hours(empty)} if the box is left like that.",
                "A box forgotten after the music stopped is emptied all the same.",
                f"{switch} at the end, or take a cutoff that draws 1 mA or less when open.",
                (
                    Figure("taken while open", cutoff.drain_off.likely, "current"),
                    Figure("time to empty", empty, "time"),
                ),
                sparing_cutoff(case, cutoff),
            )
