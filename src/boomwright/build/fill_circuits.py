"""What follows from a soldered circuit, filled in where the file does not say it."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from pydantic import ValidationError

from boomwright.build.circuits import (
    CutoffCircuit,
    InputCircuit,
    MeterCircuit,
    MuteCircuit,
    PolarityCircuit,
    RailCircuit,
    UsbCircuit,
)
from boomwright.build.components import Relay, Transistor
from boomwright.build.drawer import Drawer
from boomwright.build.fields import Table
from boomwright.build.locate import Path
from boomwright.build.model import MANY_KINDS
from boomwright.build.power import Cutoff
from boomwright.build.quantities import Quantity, format_quantity, parse_quantity
from boomwright.build.soldered import circuit_problems, circuit_quantities, solved_cutoff
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES
from boomwright.errors import ConvergenceError, NetlistError, Problem, QuantityError
from boomwright.physics.chemistry import Chemistry, end_voltage, load_chemistries

__all__ = ["give_circuits", "highest_voltage", "lowest_voltage"]

_OVER = 1.15
_UNKNOWN, _UNKNOWN_LOW = 15.0, 10.0
_LONG = 72_000.0
_BELIEVABLE = (0.5, 150.0)
"""Volts that a source can have; what lies beyond is told where it stands."""
# What a build file takes as a battery and as a supply; beyond it, the model tells.
_MOST_CELLS, _SUPPLY = 30, (3.0, 60.0)

_STAND_INS = {"polarity": {"type": "p-mosfet"}, "load": {"current": "10 mA"}}
"""What a table must have that its circuit would have filled in."""

_Worked: TypeAlias = tuple[list[tuple[str, Problem]], dict[str, Any]]
"""Problems with the keys they stand at, and the entries that follow."""


@dataclass(frozen=True)
class _Block:
    """Where a kind of circuit stands in a build file, and what works it out."""

    kind: str
    key: str
    model: type[Table]
    work_out: Callable[[_Asked], _Worked]


@dataclass(frozen=True)
class _Asked:
    """One circuit, the table it stands in, and the build around it."""

    circuit: Any
    table: Mapping[str, Any]
    values: Mapping[str, Any]
    drawer: Drawer


def give_circuits(
    values: Mapping[str, Any],
    drawer: Drawer,
    problems: list[tuple[Path, Problem]],
    origins: dict[Path, str],
) -> None:
    """Fill in what each soldered circuit makes of its part.

    A value that the file gives stays: what was measured counts more than what was worked out. The
    usual value of a drawer part gives way, as the circuit tells more.

    Parameters
    ----------
    values : mapping
        The build in full form; its tables are filled in place.
    drawer : Drawer
        Where devices are looked up.
    problems : list
        What cannot be worked out is added here.
    origins : dict
        Path of each value that came from the drawer; those that give way are taken out.
    """
    _give_cutoffs(values, drawer, problems, origins)
    for block in _BLOCKS:
        tables = values.get(block.kind)
        for index, table in enumerate(tables if isinstance(tables, list) else []):
            if isinstance(table, dict) and isinstance(table.get(block.key), dict):
                path: Path = (block.kind, index)
                wanted = _wanted(block, path, table, values, drawer, problems)
                for key, value in wanted.items():
                    if key not in table or origins.pop((*path, key), None) is not None:
                        table[key] = value
                # What is missing because of a problem already told is no problem of its own.
                for key, value in _STAND_INS.get(block.kind, {}).items():
                    table.setdefault(key, value)


def _wanted(
    block: _Block,
    path: Path,
    table: dict[str, Any],
    values: Mapping[str, Any],
    drawer: Drawer,
    problems: list[tuple[Path, Problem]],
) -> dict[str, Any]:
    """Entries that follow from one circuit; what is wrong with it is added to the problems."""
    try:
        circuit = block.model.model_validate(table[block.key])
    except ValidationError:
        # The model itself says what is wrong, with its place.
        return {}
    found, wanted = block.work_out(_Asked(circuit, table, values, drawer))
    place = (*path, block.key)
    problems += [((*place, key) if key else place, problem) for key, problem in found]
    return _believable(block.kind, wanted, place, problems)


def _believable(
    kind: str, wanted: dict[str, Any], place: Path, problems: list[tuple[Path, Problem]]
) -> dict[str, Any]:
    """The entries that lie within what can be real; each other one is a problem of the circuit."""
    kept = {}
    for key, value in wanted.items():
        try:
            MANY_KINDS[kind].model_validate({key: value})
        except ValidationError as error:
            wrong = [detail for detail in error.errors() if detail["loc"][:1] == (key,)]
            if wrong:
                says = f"this circuit makes its {key.replace('_', ' ')} {value}"
                limits = str(wrong[0].get("ctx", {}).get("expected", ""))
                problems.append((place, Problem(says, expected=limits)))
                continue
        kept[key] = value
    return kept


def _rail(asked: _Asked) -> _Worked:
    from boomwright.build.soldered_rail import rail_problems, rail_quantities

    found = rail_problems(asked.circuit, asked.table, asked.drawer)
    return found, {} if found else rail_quantities(asked.circuit, asked.table)


def _polarity(asked: _Asked) -> _Worked:
    from boomwright.build.soldered_polarity import polarity_problems, polarity_quantities

    found = polarity_problems(asked.circuit, asked.table, asked.drawer)
    if found:
        return found, {}
    volts = lowest_voltage(asked.values)
    try:
        return [], polarity_quantities(asked.circuit, asked.table, asked.drawer, voltage=volts)
    except (ConvergenceError, ValueError, NetlistError) as error:
        return [("", Problem(f"this circuit cannot be worked out: {error}"))], {}


def _mute(asked: _Asked) -> _Worked:
    from boomwright.build.soldered_mute import mute_problems, mute_quantities

    found = mute_problems(asked.circuit, asked.drawer)
    if found:
        return found, {}
    least, most = lowest_voltage(asked.values), highest_voltage(asked.values)
    name = str(asked.table.get("name", "amplifier"))
    wanted = mute_quantities(asked.circuit, name=name, lowest=least, highest=most)
    if not wanted:
        full = format_quantity(0.5 * (least + most), "voltage")
        says = f"this mute never lets sound pass from {full}"
        return [("", Problem(says, hint="Run 'boomwright design mute' for values that do."))], {}
    return [], wanted


def _input(asked: _Asked) -> _Worked:
    from boomwright.build.soldered_input import input_problems, input_quantities

    found = input_problems(asked.circuit, asked.table)
    return found, {} if found else input_quantities(asked.circuit, asked.table)


def _usb(asked: _Asked) -> _Worked:
    from boomwright.build.soldered_usb import usb_problems, usb_quantities

    found = usb_problems(asked.circuit)
    return found, {} if found else usb_quantities(asked.circuit)


def _meter(asked: _Asked) -> _Worked:
    from boomwright.build.soldered_meter import meter_problems, meter_quantities

    found = meter_problems(asked.circuit, asked.table)
    return found, {} if found else meter_quantities(asked.circuit, asked.values.get("battery"))


_BLOCKS: tuple[_Block, ...] = (
    _Block("rail", "circuit", RailCircuit, _rail),
    _Block("polarity", "circuit", PolarityCircuit, _polarity),
    _Block("amplifier", "mute_circuit", MuteCircuit, _mute),
    _Block("amplifier", "input_circuit", InputCircuit, _input),
    _Block("usb", "circuit", UsbCircuit, _usb),
    _Block("load", "circuit", MeterCircuit, _meter),
)
"""Every kind of circuit but the cutoff; what works one out is loaded when one is there."""


def _give_cutoffs(
    values: Mapping[str, Any],
    drawer: Drawer,
    problems: list[tuple[Path, Problem]],
    origins: dict[Path, str],
) -> None:
    cutoffs = values.get("cutoff")
    for index, table in enumerate(cutoffs if isinstance(cutoffs, list) else []):
        if not isinstance(table, dict) or not isinstance(table.get("circuit"), dict):
            continue
        path: Path = ("cutoff", index, "circuit")
        try:
            circuit = CutoffCircuit.model_validate(table["circuit"])
        except ValidationError:
            # The model itself says what is wrong, with its place.
            table.setdefault("off", "1 V")
            continue
        found = circuit_problems(circuit, drawer)
        problems += [((*path, key), problem) for key, problem in found]
        wanted = {} if found else _worked_out(values, table, circuit, drawer, path, problems)
        wanted = _believable("cutoff", wanted, path, problems)
        for key, value in wanted.items():
            if key not in table or origins.pop(("cutoff", index, key), None) is not None:
                table[key] = value
        # What is missing because of a problem already told is no problem of its own.
        table.setdefault("off", "1 V")


def highest_voltage(values: Mapping[str, Any]) -> float:
    """Voltage of the source at its fullest [V], as far as the file tells.

    Examples
    --------
    >>> round(highest_voltage({"battery": {"chemistry": "lead-agm", "cells": 6}}), 1)
    14.7
    """
    cells, facts, supply = _source(values)
    if facts is not None:
        return _or(cells * (facts.voltage_full_charge or facts.voltage_nominal * _OVER), _UNKNOWN)
    return _UNKNOWN if supply is None else _or(supply.high, _UNKNOWN)


def lowest_voltage(values: Mapping[str, Any]) -> float:
    """Voltage of the source at its emptiest in use [V], as far as the file tells.

    Examples
    --------
    >>> round(lowest_voltage({"battery": {"chemistry": "lead-agm", "cells": 6}}), 1)
    10.5
    """
    cells, facts, supply = _source(values)
    if facts is not None:
        return _or(cells * float(end_voltage(facts, duration=_LONG)), _UNKNOWN_LOW)
    return _UNKNOWN_LOW if supply is None else _or(supply.low, _UNKNOWN_LOW)


def _or(volts: float, usual: float) -> float:
    least, most = _BELIEVABLE
    return volts if least <= volts <= most else usual


def _source(values: Mapping[str, Any]) -> tuple[int, Chemistry | None, Quantity | None]:
    """Cells and chemistry of the battery, or volts of the supply, as far as they can be read."""
    battery, supply = values.get("battery"), values.get("supply")
    if isinstance(battery, dict):
        facts, cells = load_chemistries().get(str(battery.get("chemistry"))), battery.get("cells")
        if facts is not None and isinstance(cells, int):
            return cells, facts, None
    if isinstance(supply, dict) and isinstance(supply.get("voltage"), str):
        with contextlib.suppress(QuantityError):
            return 0, None, parse_quantity(supply["voltage"], "voltage")
    return 0, None, None


def _worked_out(
    values: Mapping[str, Any],
    table: Mapping[str, Any],
    circuit: CutoffCircuit,
    drawer: Drawer,
    path: Path,
    problems: list[tuple[Path, Problem]],
) -> dict[str, Any]:
    highest = highest_voltage(values)
    try:
        solved = solved_cutoff(circuit, drawer, highest=highest, name=str(table.get("name")))
    except (ConvergenceError, NetlistError) as error:
        problems.append((path, Problem(f"this circuit cannot be worked out: {error}")))
        return {}
    full = format_quantity(highest, "voltage")
    if np.isnan(solved.off[0]):
        says = f"this circuit never switches the load on, not even at {full}"
        if np.isfinite(solved.on[0]):
            says = f"this circuit, once on, never lets go between {full} and 1 V"
        hint = "Run 'boomwright design cutoff' for values that do."
        problems.append((path, Problem(says, got=f"family {circuit.family!r}", hint=hint)))
        return {}
    if np.isnan(solved.on[0]) and not CUTOFF_FAMILIES[circuit.family].holding:
        says = f"once open, this circuit does not come back below {full}"
        hint = "Run 'boomwright design cutoff' for values that do."
        problems.append((path, Problem(says, got=f"family {circuit.family!r}", hint=hint)))
        return {}
    found: dict[str, Any] = circuit_quantities(solved)
    if CUTOFF_FAMILIES[circuit.family].holding:
        found["latching"] = True
    found["rating"] = _rating(circuit, drawer)
    try:
        Cutoff.model_validate({"name": "cutoff", **found})
    except ValidationError as error:
        keys = ", ".join(str(detail["loc"][0]) for detail in error.errors())
        says = f"what follows from this circuit cannot be: {keys.replace('_', ' ')}"
        hint = "Look for a value that is off by a factor of ten or a thousand."
        problems.append((path, Problem(says, got=f"family {circuit.family!r}", hint=hint)))
        return {}
    return found


def _rating(circuit: CutoffCircuit, drawer: Drawer) -> str:
    relay = "relay" in CUTOFF_FAMILIES[circuit.family].needs
    if relay:
        part = drawer.part("relay", circuit.relay)
        return str(part.contact_current) if isinstance(part, Relay) else "1 A"
    part = drawer.part("transistor", circuit.mosfet)
    return str(part.current_max) if isinstance(part, Transistor) else "1 A"
