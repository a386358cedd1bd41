"""Capacitors around a linear regulator: enough of them, in a burst, under a bass beat."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from boomwright.build.circuits import RailCircuit
from boomwright.build.components import Diode
from boomwright.build.drawer import Drawer
from boomwright.build.quantities import Quantity, parse_quantity
from boomwright.build.soldered_values import found_part, part_problems
from boomwright.errors import Problem, QuantityError

__all__ = [
    "BEAT",
    "CapacitorsWanted",
    "burst_dip",
    "capacitors_wanted",
    "fitted_capacitance",
    "rail_problems",
    "rail_quantities",
    "volts_at_beat",
]

BEAT = 60.0
"""Frequency of the bass beat that a reservoir carries over [Hz]; common practice, no source."""

_FUSSY = 1.5
_CLOSE = 0.05
_ROUND = 1e-9
_DROPOUT = "2 V"
# Typical of class, from memory: a regulator's output impedance rises as a coil would make it, and
# a receiver's board has a ceramic of its own.
_RESPONSE = parse_quantity("0.3 µH [0.1 to 1] (typical)", "inductance")
_LOAD_BYPASS = 100e-9
# Share of the drop at the rated current that a diode has at the tenth of it that flows here.
_DROP_SHARE = 0.85


@dataclass(frozen=True)
class CapacitorsWanted:
    """Least capacitance at each end of a regulator [F], and whether it oscillates without."""

    input: float
    output: float
    fussy: bool


def capacitors_wanted(dropout: float) -> CapacitorsWanted:
    """Least capacitors that data sheets of a regulator's class ask for, from memory.

    Parameters
    ----------
    dropout : float
        Its dropout voltage, which tells its class [V].

    Returns
    -------
    CapacitorsWanted

    Examples
    --------
    >>> capacitors_wanted(2.0)
    CapacitorsWanted(input=3.3e-07, output=1e-07, fussy=False)
    """
    if dropout < _FUSSY:
        return CapacitorsWanted(10e-6, 10e-6, fussy=True)
    return CapacitorsWanted(0.33e-6, 0.1e-6, fussy=False)


def fitted_capacitance(circuit: RailCircuit) -> tuple[float, float]:
    """Capacitance at the input and the output that stands close enough to count [F].

    Parameters
    ----------
    circuit : RailCircuit
        As the build file has it.

    Returns
    -------
    tuple of float
    """
    if circuit.distance.likely > _CLOSE:
        return 0.0, 0.0
    return (
        _sum(circuit.input_capacitor, circuit.input_bypass),
        _sum(circuit.output_capacitor, circuit.output_bypass),
    )


def _sum(*found: Quantity | None) -> float:
    return sum(value.likely for value in found if value is not None)


def rail_problems(
    circuit: RailCircuit, table: Mapping[str, Any], drawer: Drawer
) -> list[tuple[str, Problem]]:
    """What keeps a circuit from being worked out, with the key it stands at."""
    kind = table.get("type")
    if isinstance(kind, str) and kind != "linear":
        says = "a circuit around something that is no linear regulator"
        hint = "Take the circuit out: a converter's board has its capacitors."
        return [("", Problem(says, got=f"type {kind!r}", expected="type 'linear'", hint=hint))]
    if not circuit.input_diode:
        return []
    return part_problems("input_diode", circuit.input_diode, ("diode",), drawer)


def rail_quantities(circuit: RailCircuit, table: Mapping[str, Any]) -> dict[str, Any]:
    """Entries of a rail's table that follow from its circuit.

    Parameters
    ----------
    circuit : RailCircuit
        As the build file has it, without problems.
    table : mapping
        The rail as the file has it.

    Returns
    -------
    dict
        ``capacitors``: whether both ends have what the part asks for.
    """
    try:
        dropout = parse_quantity(str(table.get("dropout", _DROPOUT)), "voltage").likely
    except QuantityError:
        return {}
    wanted, (before, after) = capacitors_wanted(dropout), fitted_capacitance(circuit)
    room = 1.0 - _ROUND
    return {"capacitors": before >= room * wanted.input and after >= room * wanted.output}


def burst_dip(circuit: RailCircuit, burst: float) -> tuple[float, float]:
    """How far the output dips when a receiver's current jumps, likely and worst [V].

    The regulator answers as a coil would; coil and capacitor swing against each other, undamped.

    Parameters
    ----------
    circuit : RailCircuit
        As the build file has it.
    burst : float
        The jump [A].

    Returns
    -------
    tuple of float

    Notes
    -----
    V = I sqrt(L/C). A capacitor's own resistance adds I R, some hundredths of a volt.

    Examples
    --------
    0.1 A into 10 µF:

    >>> circuit = RailCircuit(output_capacitor="10 µF")
    >>> [round(1e3 * dip, 1) for dip in burst_dip(circuit, 0.1)]
    [17.2, 31.5]
    """
    farads = fitted_capacitance(circuit)[1] + _LOAD_BYPASS
    return (
        burst * math.sqrt(_RESPONSE.likely / farads),
        burst * math.sqrt(_RESPONSE.high / farads),
    )


def volts_at_beat(
    circuit: RailCircuit, drawer: Drawer, *, top: float, bottom: float, current: float
) -> float:
    """Least volts at the regulator's input while bass beats pull the battery down [V].

    With a diode ahead of it, the input capacitor alone carries the load from one crest of the
    battery's volts to the next; without one it is pulled down with the battery.

    Parameters
    ----------
    circuit : RailCircuit
        As the build file has it.
    drawer : Drawer
        Where the diode is looked up.
    top, bottom : float
        Volts ahead of it between beats and at their bottom [V].
    current : float
        What the regulator takes [A].

    Returns
    -------
    float

    Notes
    -----
    V = V_top - V_d - I / (f C), and never below V_bottom - V_d.

    Examples
    --------
    >>> from boomwright.build.drawer import load_drawer
    >>> circuit = RailCircuit(input_capacitor="1000 µF", input_diode="1N5819")
    >>> volts = volts_at_beat(circuit, load_drawer(), top=9.0, bottom=6.0, current=0.06)
    >>> round(volts, 2)
    7.56
    """
    if not circuit.input_diode:
        return bottom
    diode = found_part("diode", circuit.input_diode, Diode, drawer)
    drop = 0.0 if diode is None else _DROP_SHARE * diode.drop.likely
    farads = _sum(circuit.input_capacitor, circuit.input_bypass)
    carried = top - current / (BEAT * farads) if farads > 0.0 else bottom
    return max(carried, bottom) - drop
