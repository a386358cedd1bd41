"""What each part of a soldered cutoff carries at worst, against what it stands."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np

from boomwright.build import components
from boomwright.build.circuits import CutoffCircuit
from boomwright.build.devices import Spread, cutoff_values
from boomwright.build.drawer import Drawer
from boomwright.build.draws import Draws
from boomwright.build.power import Named
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES, cutoff_netlist
from boomwright.circuit.readings import Reading, part_readings
from boomwright.circuit.sweep import sweep
from boomwright.circuit.values import Floats

__all__ = ["Load", "Stress", "circuit_stress", "part_loads"]

Stress: TypeAlias = dict[str, Reading]
"""Greatest volts, amps and watts of each part by designator, as arrays of one."""

Load: TypeAlias = tuple[float, float, str]
"""What a part carries, what it is rated for, and the kind of quantity."""

_VERSIONS = 30
_LEVELS = 25
_HALF = 0.5


def circuit_stress(
    circuit: CutoffCircuit,
    drawer: Drawer,
    *,
    highest: float,
    off: float,
    load_current: float,
    versions: int = _VERSIONS,
    levels: int = _LEVELS,
) -> Stress:
    """What each part carries at worst, from the full battery down to half of ``off`` and up again.

    Over tolerances as well; the load is taken at its average, its peaks are the contact's affair.

    Parameters
    ----------
    circuit : CutoffCircuit
        The circuit, without problems.
    drawer : Drawer
        Where its devices are looked up.
    highest, off : float
        Battery on the charger, and where the circuit lets go [V].
    load_current : float
        What the load takes at ``highest`` [A].
    versions, levels : int
        How many versions and how many voltages are tried.

    Returns
    -------
    dict of str to Reading
        By designator.
    """
    spread = Spread(Draws(versions), "cutoff")
    values = cutoff_values(circuit, drawer, spread, load_resistance=highest / load_current)
    netlist = cutoff_netlist(circuit.family, values, voltage=highest)
    watch = CUTOFF_FAMILIES[circuit.family].watch
    down = np.linspace(highest, _HALF * off, levels)
    held = {watch.relay: np.array([True])} if watch.held else None
    walked = sweep(netlist, watch.source, np.concatenate([down, down[::-1]]), states=held)
    worst: dict[str, list[Floats]] = {}
    for point in walked.points:
        for name, reading in part_readings(point).items():
            row = np.array(
                [
                    np.max(np.abs(reading.volts)),
                    np.max(np.abs(reading.amps)),
                    np.max(reading.watts),
                    np.max(np.abs(reading.contact_amps)),
                ]
            )
            worst.setdefault(name, []).append(row)
    most = {name: np.max(rows, axis=0) for name, rows in worst.items()}
    return {name: Reading(*(np.array([value]) for value in row)) for name, row in most.items()}


def part_loads(
    part: Named, reading: Reading, *, highest: float, load_current: float, peak_current: float
) -> tuple[Load, ...]:
    """What a device carries against each of its ratings.

    Parameters
    ----------
    part : Named
        The device, a part of the drawer.
    reading : Reading
        What it carries at worst.
    highest : float
        Battery on the charger [V].
    load_current, peak_current : float
        What the load takes on average and on a beat, which a contact or a pass transistor carries
        [A].

    Returns
    -------
    tuple of (load, limit, kind)

    Raises
    ------
    TypeError
        For a part without ratings here.
    """
    watts = max(float(reading.watts[0]), 0.0)
    amps, volts = float(reading.amps[0]), float(reading.volts[0])
    if isinstance(part, components.Relay):
        return ((peak_current, part.contact_current.low, "current"),)
    if isinstance(part, components.Zener):
        return ((watts, part.power.likely, "power"),)
    if isinstance(part, components.Transistor):
        switches = part.type.endswith("mosfet")
        load = peak_current if switches else amps
        heat = watts
        if switches and part.on_resistance is not None:
            heat = part.on_resistance.high * load_current**2
        return (
            (volts, part.voltage_max.likely, "voltage"),
            (load, part.current_max.low, "current"),
            (heat, part.power.low, "power"),
        )
    if isinstance(part, components.Diode):
        return ((highest, part.voltage_reverse.likely, "voltage"),)
    if isinstance(part, components.Reference):
        return (
            (volts, part.voltage_max.likely, "voltage"),
            (amps, part.current_max.likely, "current"),
            (watts, part.power.low, "power"),
        )
    if isinstance(part, components.Comparator):
        return (
            (highest, part.voltage_max.likely, "voltage"),
            (amps, part.output_current.low, "current"),
        )
    raise TypeError(f"{part.title} has no ratings here")
