"""Rules about a cutoff soldered from parts: what its tolerances and its parts' ratings allow."""

from __future__ import annotations

from collections.abc import Iterator

from boomwright.advice.finding import Figure
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.terms import in_volts
from boomwright.build.devices import DEVICE_KINDS
from boomwright.build.quantities import format_quantity
from boomwright.build.stress import circuit_stress, part_loads
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES

_WIDE = 0.05
_VERSIONS, _LEVELS = 10, 13
_LEAST_CURRENT = 0.02
_WATCHED = {"transistor": "Q1", "mosfet": "Q1", "zener": "D1", "reference": "U1"}
"""Devices that can be beyond their rating, with their designators; contacts have a rule."""


@rule(
    "cutoff-spread",
    "safe",
    title="A soldered cutoff that may let go almost anywhere",
    source="thresholds of the circuit over the tolerances of its parts",
)
def spread(case: Case) -> Iterator[Says]:
    """Thresholds worked out from parts as they come, never read on the bench."""
    for cutoff in case.build.cutoff:
        off = cutoff.off
        if cutoff.circuit is None or off.basis != "typical":
            continue
        if off.high - off.low <= _WIDE * off.likely:
            continue
        reading = f"{off.likely:.4g} V (measured)"
        yield Says(
            "mind",
            cutoff.name,
            f"Soldered from parts as they come, it may let go anywhere from {in_volts(off.low)} to "
            f"{in_volts(off.high)}; {in_volts(off.likely)} is only the likeliest.",
            "A zener may be 5 % off and a transistor's gain half or twice its label: only a sweep "
            "tells what this very circuit does.",
            "Sweep it down and up on a bench supply with a lamp as load, and write what you read "
            f'into the file: off = "{reading}". '
            "'boomwright design cutoff' on this file gives the limits and what a trimmer must "
            "cover.",
            (
                Figure("lets go at, lowest", off.low, "voltage"),
                Figure("likely", off.likely, "voltage"),
                Figure("highest", off.high, "voltage"),
            ),
        )


@rule(
    "cutoff-part-overloaded",
    "safe",
    title="A part of a soldered cutoff beyond its rating",
    source="the circuit solved from full to empty over tolerances, against the drawer's ratings",
)
def part_overloaded(case: Case) -> Iterator[Says]:
    """A transistor, zener or reference that carries more than it stands; contacts are no part."""
    battery = case.build.battery
    if battery is None:
        return
    wanted, loud = case.outcome.wanted, case.outcome.scenario("flat-out")
    for cutoff in case.build.cutoff:
        circuit = cutoff.circuit
        if circuit is None:
            continue
        average = max(wanted.part(cutoff.name).amps.likely, _LEAST_CURRENT)
        stress = circuit_stress(
            circuit,
            case.drawer,
            highest=case.outcome.source.volts_charging,
            off=cutoff.off.likely,
            load_current=average,
            versions=_VERSIONS,
            levels=_LEVELS,
        )
        for field, name in _WATCHED.items():
            if field not in CUTOFF_FAMILIES[circuit.family].needs or name not in stress:
                continue
            key = getattr(circuit, field)
            loads = part_loads(
                case.drawer.part(DEVICE_KINDS[field], key),
                stress[name],
                highest=case.outcome.source.volts_charging,
                load_current=average,
                peak_current=loud.part(cutoff.name).amps_peak.likely,
            )
            over = [(load, limit, kind) for load, limit, kind in loads if load > limit]
            if not over:
                continue
            load, limit, kind = max(over, key=lambda item: item[0] / item[1])
            carries, stands = format_quantity(load, kind), format_quantity(limit, kind)
            yield Says(
                "stop",
                cutoff.name,
                f"{name} of the cutoff ({key}) carries {carries} at worst and stands {stands}.",
                "Worst is often half on, as the battery sinks through the threshold: a part that "
                "fails there leaves the battery unguarded.",
                "Take a stronger part, or a lighter load on it: 'boomwright design cutoff' on this "
                "file shows what each part carries.",
                (Figure("carries", load, kind), Figure("stands", limit, kind)),
            )
