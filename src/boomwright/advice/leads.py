"""Wire, fuses and connectors as several rules look at them."""

from __future__ import annotations

from boomwright.advice.finding import Change, Fix
from boomwright.advice.rules import Case
from boomwright.build.components import Connector
from boomwright.build.fields import Lead
from boomwright.build.power import Fed, Fuse
from boomwright.build.quantities import format_quantity
from boomwright.physics.wire import ampacity, awg_area, nearest_awg

__all__ = [
    "WIRE_SIZES",
    "bundled_amps",
    "connector_of",
    "nearest_fuse",
    "open_air_amps",
    "size_for",
    "thicker",
    "wire_named",
]

WIRE_SIZES = tuple(size * 1e-6 for size in (0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0))
"""Wire sizes at the counter [m²], IEC 60228."""


def open_air_amps(area: float) -> float:
    """Current of a single wire in open air, the table's ends kept beyond them [A]."""
    least, most = float(awg_area(30)), float(awg_area(6))
    return float(ampacity(min(max(area, least), most), bundled=False))


def bundled_amps(area: float) -> float:
    """Current of a wire in a bundle or a closed box, by the usual habit [A]."""
    return float(ampacity(area, bundled=True))


def wire_named(area: float) -> str:
    """Wire size in both systems."""
    return f"{format_quantity(area, 'area')} (AWG {int(nearest_awg(area))})"


def size_for(amps: float) -> float | None:
    """Thinnest usual wire that carries a current bundled in a box [m²]."""
    return next((size for size in WIRE_SIZES if bundled_amps(size) >= amps), None)


def thicker(parts: list[Fed], area: float) -> Fix | None:
    """Edit that gives leads another size, length and connector kept."""
    changes = tuple(
        Change(part.name, "lead", _lead_text(part.lead, area))
        for part in parts
        if part.lead.area.likely < area
    )
    names = ", ".join(change.part for change in changes)
    return None if not changes else Fix(f"Feed {names} through {wire_named(area)}.", changes)


def _lead_text(lead: Lead, area: float) -> str:
    fields = [f"{area * 1e6:g} mm²", f"{lead.length.likely:g} m", lead.connector]
    return ", ".join(field for field in fields if field)


def nearest_fuse(case: Case, name: str) -> Fuse | None:
    """First fuse between a part and the source."""
    return next((n.part for n in case.upstream(name) if isinstance(n.part, Fuse)), None)


def connector_of(case: Case, part: Fed) -> Connector | None:
    """Connector at the end of a part's lead, where the drawer knows it."""
    if part.lead.connector not in case.drawer.names("connector"):
        return None
    found = case.drawer.part("connector", part.lead.connector)
    return found if isinstance(found, Connector) else None
