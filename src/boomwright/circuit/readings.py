"""What every part of a solved circuit carries: volts, amps and watts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.circuit.equations import coil_resistance_at
from boomwright.circuit.operating import OperatingPoint
from boomwright.circuit.parts import (
    Capacitor,
    Comparator,
    Coupling,
    CurrentSource,
    Diode,
    Fuse,
    Inductor,
    Part,
    Relay,
    Resistor,
    Switch,
    VoltageSource,
    Zener,
)
from boomwright.circuit.values import NOMINAL_TEMPERATURE, Floats

__all__ = ["Reading", "part_readings"]


@dataclass(frozen=True)
class Reading:
    """One part at an operating point; arrays of shape (samples,).

    Parameters
    ----------
    volts : array
        Across it: from its first terminal to its last, or from collector to emitter and drain to
        source [V].
    amps : array
        Into its first terminal: anode, collector, drain, cathode of a reference; the coil's current
        of a relay [A].
    watts : array
        What it turns to heat, contacts included; negative for a source that gives [W].
    contact_amps : array
        Through a relay's made contact, 0 for other parts [A].
    """

    volts: Floats
    amps: Floats
    watts: Floats
    contact_amps: Floats


def part_readings(point: OperatingPoint) -> dict[str, Reading]:
    """Volts, amps and watts of every part.

    Parameters
    ----------
    point : OperatingPoint
        The solved circuit.

    Returns
    -------
    dict of str to Reading
        By designator.

    Examples
    --------
    >>> from boomwright.circuit.netlist import Netlist
    >>> from boomwright.circuit.operating import operating_point
    >>> loop = Netlist(
    ...     "loop",
    ...     (
    ...         VoltageSource(name="V1", a="in", b="0", voltage=12.0),
    ...         Resistor(name="R1", a="in", b="0", resistance=48.0),
    ...     ),
    ... )
    >>> readings = part_readings(operating_point(loop))
    >>> [round(float(readings[name].watts[0]), 6) for name in ("V1", "R1")]
    [-3.0, 3.0]
    """
    return {part.name: _reading(point, part) for part in point.equations.netlist.parts}


def _reading(point: OperatingPoint, part: Part) -> Reading:
    none = np.zeros(point.unknowns.shape[1])
    if isinstance(part, Coupling):
        return Reading(none, none, none, none)
    volts = point.voltage(part.nodes[0], part.nodes[-1])
    if isinstance(part, Relay):
        return _relay(point, part)
    if isinstance(part, Resistor | Fuse | Switch | Comparator):
        return _conductance(point, part, none)
    if isinstance(part, Capacitor):
        return Reading(volts, none, none, none)
    if isinstance(part, VoltageSource | Inductor):
        amps = point.branch_current(part.name)
        return Reading(volts, amps, volts * amps, none)
    if isinstance(part, CurrentSource):
        amps = none + point.levels.get(part.name, part.current)
        return Reading(volts, amps, volts * amps, none)
    curved = next(item for item in point.equations.curved if item.name == part.name)
    across = curved.volts(point.unknowns)
    currents, _ = curved.currents(across)
    watts = np.sum(currents * across, axis=0)
    if isinstance(part, Diode | Zener):
        watts = volts * currents[0]
    return Reading(volts, currents[0] + none, watts, none)


def _conductance(
    point: OperatingPoint, part: Resistor | Fuse | Switch | Comparator, none: Floats
) -> Reading:
    equations = point.equations
    if isinstance(part, Comparator):
        volts = point.voltage(part.output, part.ground)
        state = point.states[part.name]
        resistance = np.where(state, part.on_resistance, part.open_resistance)
    elif isinstance(part, Switch):
        volts = point.voltage(part.a, part.b)
        resistance = np.where(part.closed, part.on_resistance, part.open_resistance)
    else:
        volts = point.voltage(part.a, part.b)
        resistance = np.asarray(part.resistance)
        if isinstance(part, Resistor):
            rise = equations.temperature - NOMINAL_TEMPERATURE
            resistance = resistance * (1.0 + part.temperature_coefficient * rise)
    amps = volts / resistance
    return Reading(volts, amps, volts * amps, none)


def _relay(point: OperatingPoint, part: Relay) -> Reading:
    volts = point.voltage(part.coil_a, part.coil_b)
    amps = point.branch_current(part.name)
    watts = coil_resistance_at(part.coil_resistance, point.equations.temperature) * amps**2
    contact = np.zeros_like(volts)
    if part.common and part.made:
        across = point.voltage(part.common, part.made)
        resistance = np.where(
            point.states[part.name], part.contact_resistance, part.open_resistance
        )
        contact = across / resistance
        watts = watts + across * contact
    if part.common and part.broken:
        across = point.voltage(part.common, part.broken)
        resistance = np.where(
            point.states[part.name], part.open_resistance, part.contact_resistance
        )
        watts = watts + across**2 / resistance
    return Reading(volts, amps, watts, contact)
