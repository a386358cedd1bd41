"""A battery in a few words, as people say it: "12 V 9 Ah AGM", "4S 10 Ah LiFePO4"."""

from __future__ import annotations

import re

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from boomwright.build.nearest import nearest
from boomwright.build.power import Battery, ChemistryName
from boomwright.build.quantities import parse_quantity
from boomwright.errors import InputError, Problem, QuantityError
from boomwright.physics.chemistry import load_chemistries

__all__ = ["battery_of_words"]

_CHEMISTRIES: dict[str, ChemistryName] = {
    "agm": "lead-agm",
    "vrla": "lead-agm",
    "gel": "lead-agm",
    "sealed": "lead-agm",
    "sla": "lead-agm",
    "lead": "lead-agm",
    "lead-agm": "lead-agm",
    "lead-acid": "lead-agm",
    "flooded": "lead-flooded",
    "lead-flooded": "lead-flooded",
    "lifepo4": "lifepo4",
    "lfp": "lifepo4",
    "li-ion": "li-ion-nmc",
    "lithium-ion": "li-ion-nmc",
    "nmc": "li-ion-nmc",
    "li-ion-nmc": "li-ion-nmc",
    "nimh": "nimh",
    "alkaline": "alkaline",
}
_GENERAL = frozenset({"lead", "sealed", "lead-acid", "sla", "vrla"})
_CELLS = re.compile(r"^(\d{1,2})[sS](\d{1,2}[pP])?$")
_NUMBER = re.compile(r"(?<![\w.])(\d(?:[\d.]*\d)?(?:[eE][+-]?\d+)?)\s+(?=[a-zA-Z])")
_EXAMPLE = '"12 V 9 Ah AGM" or "4S 10 Ah LiFePO4"'
# Nominal volts on a label lie this close to a whole number of cells, above or below.
_NEAR = 0.12


def battery_of_words(text: str) -> Battery:
    """Battery from volts (or cells), amp-hours and chemistry, in any order.

    Parameters
    ----------
    text : str
        Such as "12 V 9 Ah AGM".

    Returns
    -------
    Battery

    Raises
    ------
    InputError
        With everything that cannot be understood or is missing.

    Examples
    --------
    >>> battery = battery_of_words("12 V 9 Ah AGM")
    >>> battery.chemistry, battery.cells, str(battery.capacity)
    ('lead-agm', 6, '9 Ah')
    """
    chemistry: ChemistryName | None = None
    cells, volts, charge = None, None, None
    problems: list[Problem] = []
    said: dict[str, str] = {}
    for word in _NUMBER.sub(r"\1", text.replace(",", " ")).split():
        lower = word.lower()
        if lower in _CHEMISTRIES:
            # "sealed lead" and "lead AGM" say one thing twice; "flooded lead" says which.
            if chemistry is None or lower not in _GENERAL:
                if chemistry is not None and said.get("chemistry") not in _GENERAL:
                    _once("chemistry", lower, said, problems)
                said["chemistry"] = lower
                chemistry = _CHEMISTRIES[lower]
        elif (match := _CELLS.match(word)) is not None:
            _once("cells", word, said, problems)
            cells = int(match[1])
        elif lower.endswith("ah"):
            _once("amp-hours", word, said, problems)
            charge = _read(word, "charge", problems)
        elif lower.endswith("v"):
            _once("volts", word, said, problems)
            volts = _read(word, "voltage", problems)
        elif lower not in {"battery", "pack", "acid"}:
            hint = nearest(lower, _CHEMISTRIES)
            problems.append(Problem("not understood in a battery", got=repr(word), hint=hint))
    if chemistry is None:
        known = "AGM, flooded, LiFePO4, Li-ion, NiMH or alkaline"
        problems.append(Problem("the battery's chemistry is missing", expected=known))
    elif volts is not None:
        counted = _cells(chemistry, volts, problems)
        if cells is not None and counted is not None and cells != counted:
            got = f"{cells} cells and {volts}"
            hint = f"{volts} of {chemistry} is {counted} cells."
            problems.append(Problem("cells and volts that disagree", got=got, hint=hint))
        cells = counted if cells is None else cells
    if cells is None and volts is None and chemistry is not None:
        problems.append(Problem("the battery's volts or cells are missing", expected="12 V or 4S"))
    if charge is None:
        problems.append(Problem("the battery's amp-hours are missing", expected="such as 9 Ah"))
    if problems or chemistry is None or cells is None or charge is None:
        head = Problem("a battery in words", got=repr(text), expected=f"such as {_EXAMPLE}")
        raise InputError([head, *problems])
    try:
        return Battery.model_validate(
            {"name": "battery", "chemistry": chemistry, "cells": cells, "capacity": charge}
        )
    except ValidationError as error:
        head = Problem("a battery in words", got=repr(text), expected=f"such as {_EXAMPLE}")
        raise InputError([head, *map(_out_of_range, error.errors())]) from None


def _once(what: str, word: str, said: dict[str, str], problems: list[Problem]) -> None:
    if what in said:
        got = f"{said[what]!r} and {word!r}"
        problems.append(Problem(f"{what} of a battery, said twice", got=got))
    said[what] = word


def _out_of_range(detail: ErrorDetails) -> Problem:
    key, context = str(detail["loc"][-1]), detail.get("ctx", {})
    if detail["type"] == "boomwright":
        return Problem(context["says"], context["got"], context["expected"], key=key)
    return Problem("out of range", got=str(detail["input"]), expected=detail["msg"], key=key)


def _read(word: str, kind: str, problems: list[Problem]) -> str | None:
    try:
        quantity = parse_quantity(word, kind)
    except QuantityError as error:
        problems.extend(error.problems)
        return None
    if quantity.likely <= 0.0:
        problems.append(Problem(f"{kind} of a battery", got=repr(word), expected="above 0"))
        return None
    return re.sub(r"^([\d.]+(?:[eE][+-]?\d+)?)", r"\1 ", word)


def _cells(chemistry: ChemistryName, volts: str, problems: list[Problem]) -> int | None:
    nominal = load_chemistries()[chemistry].voltage_nominal
    wanted = parse_quantity(volts, "voltage").likely
    cells = max(round(wanted / nominal), 1)
    if abs(cells * nominal - wanted) > _NEAR * wanted:
        near = f"{cells} cells make {cells * nominal:.3g} V"
        problems.append(
            Problem(f"no whole number of {chemistry} cells makes {volts}", hint=f"{near}.")
        )
        return None
    return cells
