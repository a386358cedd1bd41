"""What a protection against reversed poles costs and stands, worked out from its parts."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Literal

import numpy as np

from boomwright.build.circuits import PolarityCircuit
from boomwright.build.components import Diode, Transistor, Zener
from boomwright.build.drawer import Drawer
from boomwright.build.draws import Draws
from boomwright.build.quantities import Quantity
from boomwright.build.soldered_values import found_part, part_problems, written
from boomwright.circuit import parts
from boomwright.circuit.blocks.polarity import (
    PolarityKind,
    PolarityValues,
    fitted_diode,
    fitted_mosfet,
    polarity_netlist,
)
from boomwright.circuit.operating import operating_point
from boomwright.circuit.values import Floats
from boomwright.errors import Problem

__all__ = [
    "gate_rating",
    "polarity_problems",
    "polarity_quantities",
    "reversed_current",
]

_VERSIONS = 60
_TYPES: dict[str, tuple[PolarityKind, ...]] = {
    "schottky": ("series-schottky",),
    "silicon": ("shunt-diode", "series-silicon"),
}
_FITS: dict[str, Literal["silicon", "schottky"]] = {
    "shunt-diode": "silicon",
    "series-schottky": "schottky",
    "series-silicon": "silicon",
}
_LESS = 0.25
_NEXT_TO_NOTHING = 1e-4
# A bare TO-220, or a small one on its copper, in the air of a box; typical of class, from memory.
_BARE_POWER = 1.5
_BODY_DROP, _BODY_CURRENT = 0.9, 5.0
_THRESHOLD = Quantity(2.0, 1.0, 3.0, "voltage", "typical")
# A transistor whose threshold is at least this is meant for 10 V of drive, the others for 4.5 V;
# common practice, no source.
_FULL_DRIVE_THRESHOLD = 2.5
_FULL_DRIVE, _LOGIC_DRIVE = 10.0, 4.5
_SMALL_VOLTS, _SMALL_GATE, _GATE = 20.0, 12.0, 20.0


def gate_rating(transistor: Transistor) -> float:
    """Gate-source volts a power transistor stands [V]: typical of class, from memory.

    Small types for low drain volts stand 12 V, others 20 V; the data sheet rules.
    """
    return _SMALL_GATE if transistor.voltage_max.likely <= _SMALL_VOLTS else _GATE


def polarity_problems(
    circuit: PolarityCircuit, table: Mapping[str, Any], drawer: Drawer
) -> list[tuple[str, Problem]]:
    """What keeps a circuit from being worked out, with the key it stands at.

    Parameters
    ----------
    circuit : PolarityCircuit
        As the build file has it.
    table : mapping
        The table it stands in.
    drawer : Drawer
        Where its parts are looked up.

    Returns
    -------
    list of (key, Problem)
        Empty where all is there.
    """
    found = part_problems("device", circuit.device, ("diode", "transistor"), drawer)
    if circuit.gate_zener:
        found += part_problems("gate_zener", circuit.gate_zener, ("zener",), drawer)
    if not found:
        problem = _wrong_device(circuit, table, drawer)
        found += [("device", problem)] if problem is not None else []
    return found


def _wrong_device(
    circuit: PolarityCircuit, table: Mapping[str, Any], drawer: Drawer
) -> Problem | None:
    got, stated = repr(circuit.device), table.get("type")
    transistor = found_part("transistor", circuit.device, Transistor, drawer)
    if transistor is not None:
        if transistor.type != "p-mosfet":
            return Problem(
                f"a transistor of type {transistor.type}", got=got, expected="of type p-mosfet"
            )
        fits: tuple[PolarityKind, ...] = ("p-mosfet",)
        what = "a P-channel transistor"
    else:
        diode = found_part("diode", circuit.device, Diode, drawer)
        fits = _TYPES.get(diode.type, ()) if diode is not None else ()
        what = f"a {diode.type if diode is not None else 'strange'} diode"
        if not fits:
            return Problem(f"{what} protects nothing", got=got, expected="a rectifier or Schottky")
    if stated is None and len(fits) > 1:
        hint = f"Write type = {fits[0]!r} (across the supply) or {fits[1]!r} (in the plus lead)."
        return Problem(f"{what} may stand in two places", got=got, hint=hint)
    if stated is not None and stated not in fits:
        expected = f"a device for type {stated!r}"
        return Problem(f"{what} does not fit", got=got, expected=expected)
    return None


def polarity_quantities(
    circuit: PolarityCircuit, table: Mapping[str, Any], drawer: Drawer, *, voltage: float
) -> dict[str, Any]:
    """Entries of a protection's table that follow from its parts.

    What it drops is solved in the circuit at its rated current and at a quarter of it, and written
    as the volts and the ohms that pass through both.

    Parameters
    ----------
    circuit : PolarityCircuit
        As the build file has it, without problems.
    table : mapping
        The table it stands in.
    drawer : Drawer
        Where its parts are looked up.
    voltage : float
        The emptiest battery, which drives a gate least [V].

    Returns
    -------
    dict
        ``type``, ``drop``, ``resistance`` and ``rating``.

    Raises
    ------
    ConvergenceError
        If the circuit finds no rest.
    """
    draws = Draws(_VERSIONS)
    name = str(table.get("name", "polarity"))
    transistor = found_part("transistor", circuit.device, Transistor, drawer)
    if transistor is not None:
        return _of_transistor(circuit, transistor, drawer, draws, name, voltage)
    diode = found_part("diode", circuit.device, Diode, drawer)
    if diode is None:
        return {}
    kind = str(table.get("type") or _TYPES[diode.type][0])
    rating = diode.current
    if kind == "shunt-diode":
        # It carries nothing until the poles are swapped.
        nothing = {"drop": "0 V (standard)", "resistance": "0 Ω (standard)"}
        return {"type": kind, **nothing, "rating": str(rating)}
    drop = _taken(draws, name, "circuit.drop", diode.drop)
    fitted = fitted_diode(drop, current=rating.likely, kind=_FITS[kind])
    lost = _lost(kind, PolarityValues(diode=fitted), voltage, rating.likely)
    return {"type": kind, **_line(lost, rating.likely), "rating": str(rating)}


def _taken(draws: Draws, name: str, field: str, quantity: Quantity) -> Floats:
    values = draws.take(name, field, quantity)[:, 0]
    return values if values.size > 1 else np.full(draws.versions, values[0])


def _of_transistor(
    circuit: PolarityCircuit,
    device: Transistor,
    drawer: Drawer,
    draws: Draws,
    name: str,
    voltage: float,
) -> dict[str, Any]:
    on = device.on_resistance or Quantity(0.05, 0.02, 0.1, "resistance", "typical")
    gate = device.threshold or _THRESHOLD
    drive = _FULL_DRIVE if gate.likely >= _FULL_DRIVE_THRESHOLD else _LOGIC_DRIVE
    threshold = np.minimum(_taken(draws, name, "circuit.threshold", gate), 0.9 * drive)
    resistance = _taken(draws, name, "circuit.on_resistance", on)
    most = _taken(draws, name, "circuit.current_max", device.current_max)
    power = min(device.power.likely, _BARE_POWER)
    values = PolarityValues(
        mosfet=fitted_mosfet(resistance, threshold=threshold, drive=drive),
        body_diode=fitted_diode(_BODY_DROP, current=_BODY_CURRENT, kind="silicon"),
        gate_resistor=circuit.gate_resistor.likely,
        gate_zener=_zener(circuit, drawer),
    )
    amps = min(float(most[0]), math.sqrt(power / float(resistance[0])))
    less, more = _lost("p-mosfet", values, voltage, amps)
    # Drive beyond what the data sheet's resistance holds at gains next to nothing.
    lost = np.maximum(less, _LESS * amps * resistance), np.maximum(more, amps * resistance)
    # What it carries for hours is what warms a bare one no further than it stands.
    carries = np.minimum(most, amps * np.sqrt(power / np.maximum(amps * lost[1], 1e-6)))
    return {"type": "p-mosfet", **_line(lost, amps), "rating": written(carries, "A")}


def _zener(circuit: PolarityCircuit, drawer: Drawer) -> parts.Zener | None:
    zener = found_part("zener", circuit.gate_zener, Zener, drawer)
    if zener is None:
        return None
    return parts.Zener(
        name="D1",
        anode="",
        cathode="",
        voltage=zener.voltage.likely,
        test_current=zener.test_current.likely,
        slope=zener.slope.likely,
    )


def _lost(kind: str, values: PolarityValues, voltage: float, amps: float) -> tuple[Floats, Floats]:
    """Volts lost at a quarter of a current and at the whole of it."""
    found = []
    for current in (_LESS * amps, amps):
        loaded = replace(
            values,
            load_current=current,
            fuse_resistance=_NEXT_TO_NOTHING,
            battery_resistance=_NEXT_TO_NOTHING,
        )
        point = operating_point(polarity_netlist(kind, loaded, voltage=voltage))  # type: ignore[arg-type]
        found.append(np.maximum(point.voltage("fused") - point.voltage("out"), 0.0))
    return found[0], found[1]


def _line(lost: tuple[Floats, Floats], amps: float) -> dict[str, str]:
    """Volts and ohms that pass through what is lost at two currents."""
    less, more = lost
    resistance = np.maximum((more - less) / ((1.0 - _LESS) * amps), 0.0)
    drop = np.maximum(more - resistance * amps, 0.0)
    return {"drop": written(drop, "V"), "resistance": written(resistance, "Ω")}


def reversed_current(
    device: Diode, *, voltage: float, resistance: float, fuse_rating: float
) -> float:
    """Current through a shunt diode when the poles of a battery are swapped [A].

    Parameters
    ----------
    device : Diode
        The shunt diode.
    voltage : float
        Battery at rest [V].
    resistance : float
        Battery, leads and fuse together [Ω].
    fuse_rating : float
        The fuse [A].

    Returns
    -------
    float

    Examples
    --------
    >>> from boomwright.build.drawer import load_drawer
    >>> diode = load_drawer().part("diode", "1N5401")
    >>> round(reversed_current(diode, voltage=12.7, resistance=0.1, fuse_rating=5.0))
    109
    """
    values = PolarityValues(
        diode=fitted_diode(device.drop.likely, current=device.current.likely, kind="silicon"),
        fuse_rating=fuse_rating,
        fuse_resistance=_NEXT_TO_NOTHING,
        battery_resistance=max(resistance, _NEXT_TO_NOTHING),
        load_resistance=1e6,
    )
    point = operating_point(polarity_netlist("shunt-diode", values, voltage=-voltage))
    return float(np.abs(point.branch_current("BT1"))[0])
