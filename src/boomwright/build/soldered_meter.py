"""What a battery gauge draws, where its marks lie, and which chemistry they fit."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from boomwright.build.circuits import MeterCircuit
from boomwright.circuit.values import Floats
from boomwright.errors import Problem
from boomwright.physics.chemistry import CHARGE_GRID, Chemistry, load_chemistries

__all__ = ["charge_at", "meter_marks", "meter_problems", "meter_quantities"]

_VOLTMETER = "14 mA [6 to 25] (typical)"
# What comparators, reference and dividers take; typical of class, from memory.
_OWN = (2e-3, 1.2e-3, 3.5e-3)
_FITS = 0.25
"""How far marks may lie from evenly spread ones, as a share of the charge, and still fit."""

_USUAL_CELLS = {
    "lead-agm": (3, 6, 12),
    "lifepo4": (2, 4, 8),
    "li-ion-nmc": (1, 2, 3, 4, 5),
    "nimh": (8, 10),
}
_STEPS = ("divider_top", "divider_bottom")


def meter_problems(circuit: MeterCircuit, table: Mapping[str, Any]) -> list[tuple[str, Problem]]:
    """What keeps a gauge from being worked out, with the key it stands at.

    Parameters
    ----------
    circuit : MeterCircuit
        As the build file has it.
    table : mapping
        The table it stands in.

    Returns
    -------
    list of (key, Problem)
        Empty where all is there.
    """
    use = table.get("use", "meter")
    if use != "meter":
        says = "a gauge's circuit in something that is no meter"
        return [("", Problem(says, got=f"use = {use!r}", expected="use = 'meter'"))]
    if circuit.marks:
        return []
    found = []
    for key in _STEPS:
        if circuit.kind == "ladder" and getattr(circuit, key) is None:
            means = (MeterCircuit.model_fields[key].description or "").rstrip(".")
            says = f"a ladder without marks needs it: {means}"
            found.append((key, Problem(says, hint="Add it, or write the marks.")))
    if circuit.kind == "ladder" and len(circuit.chain) < 2:
        says = "a ladder without marks needs its chain of resistors"
        expected = "at least two resistors, one more than LEDs"
        found.append(("chain", Problem(says, expected=expected, hint="Or write the marks.")))
    return found


def meter_marks(circuit: MeterCircuit) -> Floats:
    """Battery volts of a gauge's marks, rising [V].

    Parameters
    ----------
    circuit : MeterCircuit
        As the build file has it, without problems.

    Returns
    -------
    array, shape (marks,)

    Notes
    -----
    V = V_ref (R below the tap / R of the chain) (R1 + R2) / R2.

    Examples
    --------
    >>> circuit = MeterCircuit.model_validate(
    ...     {"divider_top": "90 kΩ", "divider_bottom": "10 kΩ", "chain": ["10 kΩ"] * 5}
    ... )
    >>> meter_marks(circuit).round(1).tolist()
    [5.0, 10.0, 15.0, 20.0]
    """
    top, bottom = circuit.divider_top, circuit.divider_bottom
    if circuit.marks or top is None or bottom is None or len(circuit.chain) < 2:
        return np.sort(np.array([mark.likely for mark in circuit.marks], dtype=np.float64))
    chain = np.array([resistor.likely for resistor in circuit.chain])
    below = np.cumsum(chain[::-1])
    scale = 1.0 + top.likely / bottom.likely
    return np.asarray(circuit.reference.likely * scale * below[:-1] / below[-1])


def charge_at(volts: Floats, chemistry: Chemistry, cells: int) -> Floats:
    """Charge of a rested battery at some volts, 0 to 1.

    Parameters
    ----------
    volts : array
        Volts of the battery [V].
    chemistry : Chemistry
        Its chemistry.
    cells : int
        Its cells in series.

    Returns
    -------
    array, same shape

    Examples
    --------
    >>> agm = load_chemistries()["lead-agm"]
    >>> charge_at(np.array([5.0, 14.0]), agm, 6).tolist()
    [0.0, 1.0]
    """
    found: Floats = np.interp(volts, cells * chemistry.ocv_table, CHARGE_GRID)
    return found


def _misfit(marks: Floats, chemistry: Chemistry, cells: int) -> float:
    """Mean distance of marks from evenly spread ones, as a share of the charge."""
    charge = charge_at(marks, chemistry, cells)
    even = (np.arange(marks.size) + 0.5) / marks.size
    table = cells * chemistry.ocv_table
    span = float(table[-1] - table[0])
    beyond = np.maximum(marks - table[-1], 0.0) + np.maximum(table[0] - marks, 0.0)
    return float(np.mean(np.abs(charge - even) + beyond / span))


def _fitting(marks: Floats, battery: Mapping[str, Any] | None) -> str:
    """Chemistry that marks fit: the battery's own where they do, else the nearest."""
    facts = load_chemistries()
    if battery is not None:
        own, cells = str(battery.get("chemistry")), battery.get("cells")
        if own in facts and isinstance(cells, int) and _misfit(marks, facts[own], cells) <= _FITS:
            return own
    misfits = {
        name: min(_misfit(marks, facts[name], count) for count in counts)
        for name, counts in _USUAL_CELLS.items()
    }
    return min(misfits, key=lambda name: misfits[name])


def meter_quantities(circuit: MeterCircuit, battery: Any) -> dict[str, Any]:
    """Entries of a load's table that follow from a gauge.

    Parameters
    ----------
    circuit : MeterCircuit
        As the build file has it, without problems.
    battery : mapping or None
        The battery as the file has it.

    Returns
    -------
    dict
        ``use``, ``current``, and ``shows`` where it has marks.
    """
    marks = meter_marks(circuit)
    found: dict[str, Any] = {"use": "meter", "current": _VOLTMETER}
    if circuit.kind == "ladder":
        led, (own, least, most) = circuit.led_current, _OWN
        # Half of the LEDs are lit on the way down, all of them at first, one at last.
        likely = own + 0.5 * marks.size * led.likely
        low, high = least + led.low, most + marks.size * led.high
        found["current"] = f"{likely:.4g} A [{min(low, likely):.4g} to {high:.4g}] (typical)"
    if marks.size:
        found["shows"] = _fitting(marks, battery if isinstance(battery, Mapping) else None)
    return found
