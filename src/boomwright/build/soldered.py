"""A soldered cutoff worked out: what it does over its tolerances, and the values that follow."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from pydantic import ValidationError

from boomwright.build.circuits import CutoffCircuit
from boomwright.build.components import Relay
from boomwright.build.devices import DEVICE_KINDS, Spread, cutoff_values
from boomwright.build.drawer import Drawer
from boomwright.build.draws import Draws
from boomwright.build.nearest import nearest
from boomwright.build.quantities import Quantity
from boomwright.build.soldered_values import written
from boomwright.circuit.blocks.cutoff import (
    CUTOFF_FAMILIES,
    CutoffValues,
    cutoff_netlist,
)
from boomwright.circuit.elimination import solve_each
from boomwright.circuit.equations import Equations
from boomwright.circuit.netlist import Netlist
from boomwright.circuit.newton import stamp
from boomwright.circuit.operating import OperatingPoint, operating_point, settle
from boomwright.circuit.readings import part_readings
from boomwright.circuit.thresholds import Thresholds, find_thresholds
from boomwright.circuit.values import Floats
from boomwright.circuit.watch import Watch
from boomwright.errors import Problem

__all__ = ["VERSIONS", "SolvedCutoff", "circuit_problems", "circuit_quantities", "solved_cutoff"]

VERSIONS = 200
"""Versions of a circuit besides the likely one that its ranges rest on."""

_TYPES = {
    "transistor": ("npn",),
    "mosfet": ("p-mosfet",),
    "flyback": ("silicon", "signal", "schottky"),
}
_NEEDED = {"transistor": ("gain",), "mosfet": ("threshold", "on_resistance")}
_LOWEST = 1.0
_TYPICAL_LOAD = 1.0
# Inside a box on a bench or a lawn; common practice, no source.
_TEMPERATURE = Quantity(298.15, 273.15, 313.15, "temperature", "typical")


@dataclass(frozen=True)
class SolvedCutoff:
    """What a cutoff circuit does; arrays of shape (versions,), the likely one first.

    Parameters
    ----------
    circuit : CutoffCircuit
        As the build file has it.
    values : CutoffValues
        Its values over the versions.
    netlist : Netlist
        The circuit with these values.
    temperature : array
        Temperature of each version [K].
    off, on : array
        Voltage at which it lets go and takes hold [V]; ``on`` is nan where a button starts it.
    drain_on, drain_off : array
        What it takes itself when closed at ``volts_on``, and when open midway between ``off`` and
        ``on``, to which a battery recovers [A].
    volts_on : float
        Battery voltage of ``drain_on`` [V].
    resistance : array
        From battery to load when closed [Ω].
    smoothing : array
        Time constant of its filter, 0 without one [s].
    closed : OperatingPoint
        Closed at ``volts_on``.
    """

    circuit: CutoffCircuit
    values: CutoffValues
    netlist: Netlist
    temperature: Floats
    off: Floats
    on: Floats
    drain_on: Floats
    drain_off: Floats
    volts_on: float
    resistance: Floats
    smoothing: Floats
    closed: OperatingPoint


def circuit_problems(circuit: CutoffCircuit, drawer: Drawer) -> list[tuple[str, Problem]]:
    """What keeps a circuit from being worked out, with the key it stands at.

    Parameters
    ----------
    circuit : CutoffCircuit
        As the build file has it.
    drawer : Drawer
        Where its devices are looked up.

    Returns
    -------
    list of (key, Problem)
        Empty where all is there.
    """
    found = []
    for field in CUTOFF_FAMILIES[circuit.family].needs:
        value = getattr(circuit, field)
        if value is None or value == "":
            means = (CutoffCircuit.model_fields[field].description or "").rstrip(".")
            says = f"a {circuit.family} cutoff needs it: {means}"
            found.append((field, Problem(says, hint="Add it.")))
        elif field in DEVICE_KINDS:
            kind = DEVICE_KINDS[field]
            if drawer.filling(kind, value) is None:
                hint = (
                    f"{nearest(value, drawer.names(kind))} 'boomwright drawer {kind}' lists them."
                )
                says = f"no such {kind} in the drawer"
                found.append((field, Problem(says, got=repr(value), hint=hint.strip())))
            elif (wrong := _wrong_type(field, value, drawer)) is not None:
                found.append((field, wrong))
    return found


def _wrong_type(field: str, name: str, drawer: Drawer) -> Problem | None:
    """What keeps a part of the drawer from doing a device's job; None if nothing does."""
    kind = DEVICE_KINDS[field]
    try:
        part = drawer.part(kind, name)
    except ValidationError:
        says = f"this {kind} of the drawer is not whole"
        return Problem(says, got=repr(name), hint=f"'boomwright drawer {kind}' reads your parts.")
    wanted = _TYPES.get(field)
    type_ = getattr(part, "type", None)
    if wanted is not None and type_ not in wanted:
        fitting = [
            other
            for other in drawer.names(kind)
            if str((drawer.filling(kind, other) or {}).get("type")) in wanted
        ]
        said = " or ".join(wanted)
        expected = f"of type {said}, such as {fitting[0]}" if fitting else f"of type {said}"
        return Problem(f"a {kind} of type {type_}", got=repr(name), expected=expected)
    if isinstance(part, Relay) and part.contacts == "latching":
        says = "a latching relay stays as it is without current: it would never let go"
        return Problem(says, got=repr(name), expected="a relay with a plain coil")
    lacks = [key for key in _NEEDED.get(field, ()) if getattr(part, key) is None]
    if lacks:
        says = f"this {kind} of the drawer lacks {' and '.join(lacks)}"
        return Problem(says.replace("_", " "), got=repr(name))
    return None


def solved_cutoff(
    circuit: CutoffCircuit,
    drawer: Drawer,
    *,
    highest: float,
    name: str = "cutoff",
    load_current: float = _TYPICAL_LOAD,
    versions: int = VERSIONS,
    seed: int = 0,
    temperature: float | None = None,
) -> SolvedCutoff:
    """A cutoff circuit worked out over its tolerances.

    Parameters
    ----------
    circuit : CutoffCircuit
        As the build file has it, without problems.
    drawer : Drawer
        Where its devices are looked up.
    highest : float
        Voltage of the full battery under charge: where the search starts [V].
    name : str
        Name of its part, which its draws hang on.
    load_current : float
        What the load takes at ``highest`` [A].
    versions : int
        Versions besides the likely one.
    seed : int
        Another seed gives another set of versions.
    temperature : float or None
        One temperature for all versions [K]; drawn from 0 to 40 °C if None.

    Returns
    -------
    SolvedCutoff

    Raises
    ------
    ConvergenceError
        If the circuit finds no rest.
    """
    spread = Spread(Draws(versions, seed=seed), name)
    values = cutoff_values(circuit, drawer, spread, load_resistance=highest / load_current)
    family = CUTOFF_FAMILIES[circuit.family]
    netlist = cutoff_netlist(circuit.family, values, voltage=highest)
    heat = (
        spread.take("temperature", _TEMPERATURE)
        if temperature is None
        else np.full(versions + 1, temperature)
    )
    watch = family.watch
    found = find_thresholds(netlist, watch, lowest=_LOWEST, highest=highest, temperature=heat)
    held = {watch.relay: np.array([True])} if watch.relay else None
    closed = operating_point(netlist, temperature=heat, states=held)
    open_ = _open_between(netlist, watch, found, heat)
    return SolvedCutoff(
        circuit=circuit,
        values=values,
        netlist=netlist,
        temperature=heat,
        off=found.off,
        on=found.on,
        drain_on=_own_current(closed),
        drain_off=np.maximum(_own_current(open_), 0.0),
        volts_on=highest,
        resistance=_resistance(closed),
        smoothing=_smoothing(closed, values),
        closed=closed,
    )


def _open_between(
    netlist: Netlist, watch: Watch, found: Thresholds, temperature: Floats
) -> OperatingPoint:
    """Open, at a voltage midway between off and on, to which a battery recovers."""
    equations = Equations(netlist, temperature=temperature, samples=found.off.size)
    off = np.where(np.isnan(found.off), _LOWEST, found.off)
    middle = np.where(np.isnan(found.on), off, 0.5 * (off + np.maximum(found.on, off)))
    # From far below, as the open state is the one that a circuit starts with.
    start = settle(equations, equations.first_states(), levels={watch.source: 0.5 * off})
    return settle(equations, start.states, levels={watch.source: middle}, start=start.unknowns)


def _own_current(point: OperatingPoint) -> Floats:
    readings = part_readings(point)
    own: Floats = -readings["BT1"].amps - readings["RL"].amps
    return own


def _resistance(point: OperatingPoint) -> Floats:
    drop = point.voltage("batt", "out")
    return np.maximum(drop / np.maximum(part_readings(point)["RL"].amps, 1e-9), 0.0)


def _smoothing(point: OperatingPoint, values: CutoffValues) -> Floats:
    """Filter capacitor times the resistance that it sees while the circuit is on."""
    samples = point.unknowns.shape[1]
    if values.filter_capacitor is None:
        return np.zeros(samples)
    equations = point.equations
    matrix = equations.linear(point.states)
    matrix = np.repeat(matrix, samples, axis=-1) if matrix.shape[-1] == 1 else matrix.copy()
    unit = np.zeros((equations.size, samples))
    for part in equations.curved:
        stamp(part, part.volts(point.unknowns), matrix, unit)
    # Only the slopes count here: one ampere into the node, and nothing else.
    unit[:] = 0.0
    unit[equations.rows["sense"]] = 1.0
    seen = solve_each(matrix, unit)[equations.rows["sense"]]
    smoothing: Floats = np.asarray(values.filter_capacitor) * seen
    return smoothing


def circuit_quantities(solved: SolvedCutoff) -> dict[str, str]:
    """Entries of a cutoff table that follow from its circuit, as the file would write them.

    Parameters
    ----------
    solved : SolvedCutoff
        The circuit worked out; it lets go in every version.

    Returns
    -------
    dict of str to str
        ``off``, ``on`` (not where a button starts it), ``drain_on``, ``drain_off``, ``resistance``,
        ``delay``; each with its range.
    """
    found = {"off": written(solved.off, "V"), "drain_on": written(solved.drain_on, "A")}
    if not CUTOFF_FAMILIES[solved.circuit.family].holding:
        found["on"] = written(solved.on, "V")
    found["drain_off"] = written(solved.drain_off, "A")
    found["resistance"] = written(solved.resistance, "Ω")
    found["delay"] = written(solved.smoothing, "s")
    return found
