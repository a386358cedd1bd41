"""Numbers on the way to hours, volts and amps."""

from __future__ import annotations

from collections.abc import Callable

from boomwright.advice.rules import Case
from boomwright.advice.steps.step import Step, Steps, given, loudest, sure
from boomwright.advice.terms import busiest, most_amps, peak_amps
from boomwright.build.power import Battery, Fuse
from boomwright.outcome.plan import FUSE_KINDS
from boomwright.physics.chemistry import Chemistry
from boomwright.physics.fuse import fuse_minimum
from boomwright.physics.shelf import self_discharge_rate
from boomwright.physics.wire import ampacity, wire_resistance

__all__ = ["POWER"]

_ENDINGS = {
    "cutoff": "the cutoff opens",
    "protection": "the pack's protection board opens",
    "lock-out": "a board has too few volts",
    "floor": "the battery is being ruined",
    "empty": "the battery is empty",
    "none": "nothing ends it",
}


def _charge(battery: Battery) -> Steps:
    yield given("charge on the label", battery.capacity, battery.name, times=battery.strings)
    yield given("left of it by age", battery.health, battery.name)


def _how_long(case: Case) -> Steps:
    wanted = case.outcome.wanted
    if case.build.battery is not None:
        yield from _charge(case.build.battery)
        yield given("charged to", case.build.battery.charged_to, case.build.battery.name)
    yield Step("draws at the start", wanted.watts, "power")
    yield Step("which is", wanted.amps, "current")
    yield Step("ends when", sure(0.0), "ratio", text=_ENDINGS[wanted.ending])
    if case.build.battery is not None:
        yield Step("volts at the end", wanted.volts_end, "voltage")
        yield Step("charge left", wanted.charge_left, "share")
    yield given("wanted", case.build.want.hours)
    yield Step("plays", wanted.duration, "time", result=True)


def _draw(case: Case) -> Steps:
    wanted = case.outcome.wanted
    for part in wanted.parts:
        if part.own.likely > 0:
            yield Step("keeps for its use or as heat", part.own, "power", part.name)
    yield Step("current", wanted.amps, "current")
    yield Step("draws", wanted.watts, "power", result=True)


def _peak_current(case: Case) -> Steps:
    use = busiest(case)
    for part in use.parts:
        if part.amps_peak.likely > 0:
            yield Step("peak current", part.amps_peak, "current", part.name)
    yield Step(f"on average, {use.title}", use.amps, "current")
    yield Step("from the source on a peak", use.amps_peak, "current", result=True)


def _battery_volts(case: Case) -> Steps:
    source, wanted = case.outcome.source, case.outcome.wanted
    yield Step("at rest, full", source.volts_full, "voltage", source.name)
    yield Step("resistance", source.resistance, "resistance", source.name)
    yield Step("current at the start", wanted.amps, "current")
    yield Step("under load at the start", sure(wanted.curve.volts[0]), "voltage", result=True)
    yield Step("under load at the end", wanted.volts_end, "voltage", result=True)
    if case.build.battery is not None:
        floor = sure(source.volts_floor)
        yield Step("ruined below", floor, "voltage", source.name)


def _charge_at_rate(case: Case) -> Steps:
    battery, wanted = case.build.battery, case.outcome.wanted
    if battery is None:
        return
    yield from _charge(battery)
    yield Step("current at the start", wanted.amps, "current")
    yield Step("plays", wanted.duration, "time")
    yield Step("charge left", wanted.charge_left, "share", result=True)
    loud = case.outcome.scenario("flat-out")
    yield Step("charge left, flat out", loud.charge_left, "share", result=True)


def _rebound(case: Case) -> Steps:
    if case.build.battery is None:
        return
    wanted = case.outcome.wanted
    yield Step("under load at the end", wanted.volts_end, "voltage")
    yield Step("a minute after", wanted.rebound_soon, "voltage", result=True)
    yield Step("an hour after", wanted.rebound, "voltage", result=True)
    for cutoff in case.build.cutoff:
        yield given("closes again at", cutoff.on or cutoff.off, cutoff.name)


def _short_circuit(case: Case) -> Steps:
    source = case.outcome.source
    yield Step("at rest, full", source.volts_full, "voltage", source.name)
    yield Step("resistance", source.resistance, "resistance", source.name)
    yield Step("into a short", source.short_circuit, "current", source.name, result=True)


def _shelf(case: Case) -> Steps:
    parked, battery, chemistry = case.outcome.parked, case.build.battery, case.chemistry
    if battery is None or chemistry is None:
        return
    yield from _charge(battery)
    for name, drain in parked.drains.items():
        yield Step("drain while off", sure(drain), "current", name)
    yield Step("drain while off, all", parked.drain, "current")
    yield Step("self-discharge a month", sure(_monthly(case, chemistry)), "share", battery.name)
    yield given("wanted", case.build.want.shelf)
    yield Step("from full until ruined", parked.shelf, "time", result=True)


def _monthly(case: Case, chemistry: Chemistry) -> float:
    return float(
        self_discharge_rate(
            self_discharge=chemistry.self_discharge,
            temperature=case.build.want.outside.likely,
            doubling=chemistry.self_discharge_doubling,
        )
    )


def _converter_loss(case: Case) -> Steps:
    wanted = case.outcome.wanted
    for rail in case.build.rail:
        part = wanted.part(rail.name)
        yield Step("volts in", part.volts_in, "voltage", rail.name)
        yield Step("volts out", part.volts_out, "voltage", rail.name)
        if rail.type == "linear":
            yield given("dropout", rail.dropout, rail.name)
            yield given("its own current", rail.ground_current, rail.name)
        else:
            yield given("best efficiency", rail.efficiency, rail.name)
            yield given("takes unloaded", rail.idle_power, rail.name)
        yield Step("current in", part.amps, "current", rail.name)
        yield Step("loss", part.loss, "power", rail.name, result=True)


def _lead_drop(case: Case) -> Steps:
    loud = loudest(case)
    for node in case.plan.nodes:
        part, amps = node.node.part, loud.part(node.name).amps
        lead = part.lead
        copper = 2.0 * float(wire_resistance(lead.area.likely, lead.length.likely))
        total = float(node.lead[0, 0])
        yield given("copper", lead.area, node.name)
        yield given("length, one way", lead.length, node.name)
        yield Step("there and back", sure(copper), "resistance", node.name)
        if lead.connector:
            yield Step(f"plug {lead.connector}", sure(total - copper), "resistance", node.name)
        yield Step("average current, flat out", amps, "current", node.name)
        drop = sure(total * amps.likely)
        yield Step("volts lost", drop, "voltage", node.name, result=True)


def _fuse_choice(case: Case) -> Steps:
    for fuse in case.build.fuse:
        amps = most_amps(case, fuse.name)
        least = float(fuse_minimum(amps.likely, kind=FUSE_KINDS[fuse.type]))
        yield Step("average current", amps, "current", fuse.name)
        yield Step("peak current", sure(peak_amps(case, fuse.name)), "current", fuse.name)
        yield Step("rating needed for hours", sure(least), "current", fuse.name, result=True)
        yield given("rating", fuse.rating, fuse.name)
        yield from _thinnest(case, fuse)


def _thinnest(case: Case, fuse: Fuse) -> Steps:
    """The thinnest lead that this fuse alone guards."""
    behind = [
        node.part
        for node in case.tree
        if next((up.part for up in case.upstream(node.part.name) if up.kind == "fuse"), None)
        is fuse
    ]
    if behind:
        part = min(behind, key=lambda item: item.lead.area.likely)
        yield given(f"thinnest lead behind it, to {part.name}", part.lead.area, fuse.name)
        most = float(ampacity(part.lead.area.likely, bundled=True))
        yield Step("that lead carries, bundled", sure(most), "current", fuse.name, result=True)


def _range(case: Case) -> Steps:
    yield Step("versions", sure(case.outcome.versions), "ratio")
    wanted = case.outcome.wanted
    yield Step("plays", wanted.duration, "time", result=True)
    clean = case.outcome.scenario("flat-out").clean_start
    yield Step("clean level at the listener", clean, "decibel", result=True)


POWER: dict[str, Callable[[Case], Steps]] = {
    "how-long": _how_long,
    "draw": _draw,
    "peak-current": _peak_current,
    "battery-volts": _battery_volts,
    "charge-at-rate": _charge_at_rate,
    "rebound": _rebound,
    "short-circuit": _short_circuit,
    "shelf": _shelf,
    "converter-loss": _converter_loss,
    "lead-drop": _lead_drop,
    "fuse-choice": _fuse_choice,
    "range": _range,
}
"""How to find the numbers of each quantity."""
