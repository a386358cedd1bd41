"""Parts list of a cutoff: what each part carries at worst, against what it stands."""

from __future__ import annotations

from boomwright.build import components
from boomwright.build.circuits import CutoffCircuit
from boomwright.build.devices import DEVICE_KINDS
from boomwright.build.drawer import Drawer
from boomwright.build.power import Named
from boomwright.build.quantities import Quantity, format_quantity
from boomwright.build.stress import Stress, part_loads
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES
from boomwright.circuit.readings import Reading
from boomwright.design.cutoff.moves import DESIGNATORS
from boomwright.design.cutoff.wish import CutoffWish
from boomwright.design.sheet import PartLine

__all__ = ["part_lines"]

_RESISTOR_POWERS = (0.25, 0.5, 1.0, 2.0, 5.0)
_CAPACITOR_VOLTS = (10.0, 16.0, 25.0, 35.0, 50.0, 63.0)
_NOTES = {
    "zener": "band (cathode) towards plus",
    "flyback": "band (cathode) to plus; takes the coil's spike",
    "filter_capacitor": "polarised: minus to the battery's minus",
    "transistor": "check the pin order in its data sheet",
    "mosfet": "source to the battery, drain to the load; check the pin order in its data sheet",
    "reference": "check the pin order in its data sheet: makers differ",
    "comparator": "feed its supply pins from the battery side",
    "relay": "contact: common to the battery, normally open to the load",
}


def part_lines(
    circuit: CutoffCircuit, drawer: Drawer, wish: CutoffWish, stress: Stress
) -> tuple[PartLine, ...]:
    """Parts list with what each carries and what it must stand.

    Parameters
    ----------
    circuit : CutoffCircuit
        The circuit.
    drawer : Drawer
        Where its devices are looked up.
    wish : CutoffWish
        Load and highest voltage.
    stress : dict
        From :func:`boomwright.build.stress.circuit_stress`.

    Returns
    -------
    tuple of PartLine
        In the order of their designators.
    """
    kind = "zener" if circuit.family.startswith("zener") else "other"
    needs = set(CUTOFF_FAMILIES[circuit.family].needs)
    lines = []
    for field, name in DESIGNATORS[kind].items():
        value = getattr(circuit, field)
        if name not in stress or value is None or value == "":
            continue
        reading = stress[name]
        if isinstance(value, Quantity) and value.kind == "resistance":
            lines.append(_resistor(name, value, reading))
        elif isinstance(value, Quantity):
            lines.append(_capacitor(name, value, wish))
        elif field in needs:
            part = drawer.part(DEVICE_KINDS[field], value)
            lines.append(_device(name, field, value, part, reading, wish))
    if "reference" in needs:
        name = "U2" if "comparator" in needs else "U1"
        part = drawer.part("reference", circuit.reference)
        lines.append(_device(name, "reference", circuit.reference, part, stress[name], wish))
    if "comparator" in needs:
        part = drawer.part("comparator", circuit.comparator)
        lines.append(_device("U1", "comparator", circuit.comparator, part, stress["U1"], wish))
    if "S1" in stress:
        carries = f"{format_quantity(wish.load_current, 'current')} while pressed"
        what = "push-button, make contact"
        rating = f"{format_quantity(wish.load_current * 1.5, 'current')} or more"
        lines.append(PartLine("S1", what, "", carries, rating, 1.5))
    return tuple(sorted(lines, key=lambda line: (line.name[0], line.name)))


def _watts(reading: Reading) -> float:
    return max(float(reading.watts[0]), 0.0)


def _resistor(name: str, value: Quantity, reading: Reading) -> PartLine:
    watts = _watts(reading)
    rating = next((power for power in _RESISTOR_POWERS if power >= 2.0 * watts), 10.0)
    tight = value.high <= 1.011 * value.likely
    return PartLine(
        name,
        "resistor, metal film 1 %" if tight else "resistor, 5 % or better",
        format_quantity(value.likely, "resistance"),
        format_quantity(watts, "power"),
        f"{format_quantity(rating, 'power')} or more",
        rating / max(watts, 1e-12),
    )


def _capacitor(name: str, value: Quantity, wish: CutoffWish) -> PartLine:
    rating = next((volts for volts in _CAPACITOR_VOLTS if volts >= 1.4 * wish.highest), 100.0)
    return PartLine(
        name,
        "capacitor, electrolytic",
        format_quantity(value.likely, "capacitance"),
        format_quantity(wish.highest, "voltage"),
        f"{rating:.0f} V or more",
        rating / wish.highest,
        note=_NOTES["filter_capacitor"],
    )


def _device(
    name: str, field: str, key: str, part: Named, reading: Reading, wish: CutoffWish
) -> PartLine:
    loads = part_loads(
        part,
        reading,
        highest=wish.highest,
        load_current=wish.load_current,
        peak_current=wish.peak_current,
    )
    carries = ", ".join(format_quantity(load, unit) for load, _, unit in loads)
    rating = ", ".join(format_quantity(limit, unit) for _, limit, unit in loads)
    margin = min(limit / max(load, 1e-12) for load, limit, _ in loads)
    note = _NOTES.get(field, "")
    pins = getattr(part, "pins", "")
    if pins:
        note = note.replace(
            "check the pin order in its data sheet", f"{pins}; its data sheet decides"
        )
    if isinstance(part, components.Transistor) and field == "mosfet":
        hot = (
            part.on_resistance is not None and part.on_resistance.high * wish.peak_current**2 > 1.0
        )
        note += "; heat sink" if hot else ""
    return PartLine(name, part.title or key, key, carries, rating, margin, key, note)
