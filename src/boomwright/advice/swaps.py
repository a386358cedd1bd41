"""Another part of the drawer in a part's place, as several rules offer it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from boomwright.advice.finding import Change, Fix
from boomwright.advice.rules import Case
from boomwright.build.audio import Cabinet, Receiver
from boomwright.build.fields import Lead
from boomwright.build.power import Battery, Cutoff, Named, Polarity, Supply
from boomwright.outcome.room import gross_volume_of

__all__ = [
    "FIVE_VOLTS",
    "GUARDS",
    "guard_amplifiers",
    "guard_for",
    "larger_battery",
    "larger_cabinet",
    "larger_supply",
    "rail_for",
    "sparing_cutoff",
    "stout_lead",
    "stronger_cutoff",
    "swap",
    "usual_cutoff",
    "with_connector",
]

GUARDS = ("p-mosfet-10a", "p-mosfet-20a")
"""Protection of the drawer that costs next to no volts, the smaller first."""

FIVE_VOLTS = (4.75, 5.25)
"""Least and most that count as 5 V; USB 2.0 at the port."""

_CUTOFFS = {
    ("lead-flooded", 6): "lead-12v-latching",
    ("lead-agm", 6): "lead-12v-latching",
    ("lead-agm", 3): "lead-6v-latching",
    ("lifepo4", 4): "lfp-4s-latching",
    ("li-ion-nmc", 3): "li-ion-3s-latching",
    ("li-ion-nmc", 4): "li-ion-4s-latching",
    ("nimh", 10): "nimh-10s-latching",
}
"""Cutoff of the drawer by chemistry and cells."""

_IDLE = 2e-3
"""What an open cutoff may draw [A]; common practice, no source."""

_STOUT = 1.5e-6
_SAME_VOLTS = 0.03

Part = TypeVar("Part", bound=Named)


def swap(name: str, part: str) -> Fix:
    """Edit that puts a part of the drawer in another's place."""
    return Fix(f"Use {part}.", (Change(name, "part", part),))


def stout_lead(case: Case) -> str:
    """Lead for a new part between battery and amplifiers: as thick as the thickest there."""
    areas = [
        node.part.lead.area.likely
        for node in case.tree
        if node.part.lead.stated and not case.has_upstream(node.part.name, "rail")
    ]
    area = min(max([_STOUT, *areas]), 6e-6)
    return f"{area * 1e6:g} mm², 0.1 m"


def guard_for(case: Case, amps: float, peak: float) -> Polarity | None:
    """Smallest protection of :data:`GUARDS` that surely carries a current and its peaks."""
    parts = (case.drawer.part("polarity", name) for name in GUARDS)
    fitting = (
        part
        for part in parts
        if isinstance(part, Polarity) and amps <= part.rating.low and peak <= part.rating.likely
    )
    return next(fitting, None)


def larger_battery(case: Case, fits: Callable[[Battery], bool]) -> Fix | None:
    """Smallest battery of the drawer with the same volts and chemistry that fits."""
    battery = case.build.battery
    if battery is None:
        return None
    alike = [
        part
        for part in _parts(case, "battery", Battery)
        if (part.chemistry, part.cells) == (battery.chemistry, battery.cells) and fits(part)
    ]
    best = min(alike, key=lambda part: part.capacity.likely * part.strings, default=None)
    return swap(battery.name, best.name) if best else None


def larger_supply(case: Case, amps: float) -> Fix | None:
    """Smallest supply of the drawer with the same volts that surely gives a current."""
    supply = case.build.supply
    if supply is None:
        return None
    volts = supply.voltage.likely
    alike = [
        part
        for part in _parts(case, "supply", Supply)
        if abs(part.voltage.likely / volts - 1) < _SAME_VOLTS and part.current_limit.low >= amps
    ]
    best = min(alike, key=lambda part: part.current_limit.likely, default=None)
    return swap(supply.name, best.name) if best else None


def larger_cabinet(case: Case, volume: float) -> Fix | None:
    """Smallest wooden closed box of the drawer that has a volume inside [m³]."""
    cabinet = case.build.cabinet
    if cabinet is None or cabinet.type != "closed":
        return None
    alike = [
        part
        for part in _parts(case, "cabinet", Cabinet)
        if (part.type, part.material) == ("closed", "wood")
        and part.leaks != "leaky"
        and gross_volume_of(part) >= volume
    ]
    best = min(alike, key=gross_volume_of, default=None)
    return swap(cabinet.name, best.name) if best else None


def _parts(case: Case, kind: str, model: type[Part]) -> list[Part]:
    found = (case.drawer.part(kind, name) for name in case.drawer.names(kind))
    return [part for part in found if isinstance(part, model)]


def with_connector(lead: Lead, connector: str) -> str:
    """A lead as the file writes it, with another connector."""
    return f"{lead.area.likely * 1e6:g} mm², {lead.length.likely:g} m, {connector}"


def usual_cutoff(case: Case) -> Cutoff | None:
    """Latching cutoff of the drawer for the battery."""
    battery = case.build.battery
    name = _CUTOFFS.get((battery.chemistry, battery.cells)) if battery else None
    part = case.drawer.part("cutoff", name) if name else None
    return part if isinstance(part, Cutoff) else None


def guard_amplifiers(case: Case, open_loads: list[str]) -> Fix | None:
    """A cutoff ahead of the amplifiers: the one there is, or a new one."""
    if case.build.cutoff:
        cutoff = case.build.cutoff[0].name
        above = [node.part.name for node in case.upstream(cutoff)]
        # What stands ahead of the cutoff itself cannot be fed from it.
        if any(case.has_upstream(name, "rail") for name in open_loads) or cutoff in open_loads:
            return None
        moved = tuple(Change(name, "fed_by", cutoff) for name in open_loads if name not in above)
        return Fix(f"Feed {', '.join(open_loads)} from {cutoff}.", moved)
    part = usual_cutoff(case)
    if part is None:
        return None
    changes = (
        Change("cutoff", "part", part.name, kind="cutoff"),
        Change("cutoff", "lead", stout_lead(case), kind="cutoff"),
    )
    return Fix(f"Add the cutoff {part.name}.", changes)


def stronger_cutoff(case: Case, cutoff: Cutoff) -> tuple[float, Fix] | None:
    """The usual board, where that is rated higher, and the current it surely stands."""
    part = usual_cutoff(case)
    if part is None or part.name == cutoff.part or part.rating.likely <= cutoff.rating.likely:
        return None
    return part.rating.low, swap(cutoff.name, part.name)


def sparing_cutoff(case: Case, cutoff: Cutoff) -> Fix | None:
    """The usual board, where that draws less and carries what flows."""
    part = usual_cutoff(case)
    if part is None or part.name == cutoff.part:
        return None
    less = part.drain_on.likely < cutoff.drain_on.likely and part.drain_off.likely <= _IDLE
    return swap(cutoff.name, part.name) if less else None


def rail_for(case: Case, receiver: Receiver) -> Fix | None:
    """A 5 V receiver on a rail of its volts: the one there is, or a small board of its own."""
    made = receiver.voltage.likely
    if not FIVE_VOLTS[0] <= made <= FIVE_VOLTS[1]:
        return None
    for rail in case.build.rail:
        if FIVE_VOLTS[0] <= rail.voltage.likely <= FIVE_VOLTS[1] and rail.name != receiver.fed_by:
            return Fix(f"feed it from {rail.name}", (Change(receiver.name, "fed_by", rail.name),))
    feeds = [node for node in case.upstream(receiver.name) if node.kind == "rail"]
    feed = case.tree[feeds[-1].parent].part.name if feeds and feeds[-1].parent >= 0 else ""
    feed = feed or (receiver.fed_by if not feeds else case.build.source.name)
    name, part = f"{receiver.name}-rail", "buck-1a-small"
    return Fix(
        f"add {part} for it",
        (
            Change(name, "part", part, kind="rail"),
            Change(name, "lead", "0.5 mm², 0.2 m", kind="rail"),
            Change(name, "fed_by", feed, kind="rail"),
            Change(receiver.name, "fed_by", name),
        ),
    )
