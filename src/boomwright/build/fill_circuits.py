"""What follows from a soldered circuit, filled in where the file does not say it."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from typing import Any

import numpy as np
from pydantic import ValidationError

from boomwright.build.circuits import CutoffCircuit
from boomwright.build.components import Relay, Transistor
from boomwright.build.drawer import Drawer
from boomwright.build.locate import Path
from boomwright.build.quantities import format_quantity, parse_quantity
from boomwright.build.soldered import circuit_problems, circuit_quantities, solved_cutoff
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES
from boomwright.errors import ConvergenceError, Problem, QuantityError
from boomwright.physics.chemistry import load_chemistries

__all__ = ["give_circuits", "highest_voltage"]

_OVER_NOMINAL = 1.15
_UNKNOWN = 15.0


def give_circuits(
    values: Mapping[str, Any], drawer: Drawer, problems: list[tuple[Path, Problem]]
) -> None:
    """Fill in what each cutoff's circuit makes of it.

    A value that the file gives stays: what was measured counts more than what was worked out.

    Parameters
    ----------
    values : mapping
        The build in full form; its cutoff tables are filled in place.
    drawer : Drawer
        Where devices are looked up.
    problems : list
        What cannot be worked out is added here.
    """
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
        # What is missing because of a problem already told is no problem of its own.
        for key, value in {"off": "1 V", **wanted}.items():
            table.setdefault(key, value)


def highest_voltage(values: Mapping[str, Any]) -> float:
    """Voltage of the source at its fullest [V], as far as the file tells.

    Examples
    --------
    >>> round(highest_voltage({"battery": {"chemistry": "lead-agm", "cells": 6}}), 1)
    14.7
    """
    battery, supply = values.get("battery"), values.get("supply")
    if isinstance(battery, dict):
        facts = load_chemistries().get(str(battery.get("chemistry")))
        cells = battery.get("cells")
        if facts is not None and isinstance(cells, int):
            top = facts.voltage_full_charge or facts.voltage_nominal * _OVER_NOMINAL
            return top * cells
    if isinstance(supply, dict) and isinstance(supply.get("voltage"), str):
        with contextlib.suppress(QuantityError):
            return parse_quantity(supply["voltage"], "voltage").high
    return _UNKNOWN


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
    except ConvergenceError as error:
        problems.append((path, Problem(f"this circuit cannot be worked out: {error}")))
        return {}
    full = format_quantity(highest, "voltage")
    if np.isnan(solved.off[0]):
        says = f"this circuit never switches the load on, not even at {full}"
        family = CUTOFF_FAMILIES[circuit.family]
        if np.all(solved.drain_on > 1e-3) and not family.holding:
            says = f"this circuit, once on, never lets go between {full} and 1 V"
        hint = "Run 'boomwright design cutoff' for values that do."
        problems.append((path, Problem(says, got=f"family {circuit.family!r}", hint=hint)))
        return {}
    found: dict[str, Any] = circuit_quantities(solved)
    if CUTOFF_FAMILIES[circuit.family].holding:
        found["latching"] = True
    found["rating"] = _rating(circuit, drawer)
    return found


def _rating(circuit: CutoffCircuit, drawer: Drawer) -> str:
    relay = "relay" in CUTOFF_FAMILIES[circuit.family].needs
    if relay:
        part = drawer.part("relay", circuit.relay)
        return str(part.contact_current) if isinstance(part, Relay) else "1 A"
    part = drawer.part("transistor", circuit.mosfet)
    return str(part.current_max) if isinstance(part, Transistor) else "1 A"
