"""A filled-in form of volt readings, as impedances with the meter's own errors."""

from __future__ import annotations

import math
import os
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from boomwright.bench.driver.model import Peak, Place, Setup
from boomwright.bench.driver.sweep import ImpedanceSweep, tidied
from boomwright.build.files import TomlText, read_toml
from boomwright.build.locate import Path, line_of
from boomwright.build.nearest import nearest
from boomwright.build.quantities import Quantity, parse_quantity
from boomwright.errors import InputError, Problem, QuantityError

__all__ = ["Readings", "likely_error", "read_readings"]

_FROM_LIMITS = 1.0 / math.sqrt(3.0)
"""Standard error of a value that lies anywhere within limits, over their half width."""

_TABLES: dict[str, tuple[str, ...]] = {
    "driver": ("name", "diameter", "dc_ohms", "dc_leads"),
    "meter": ("resistor", "error", "last_digit"),
    "free_air": ("readings",),
    "mass": ("mass", "peak", "readings"),
    "box": ("volume", "peak", "readings"),
}
_PEAK_ERROR = 0.01
"""How closely a highest reading is found by hand, as a share; common practice, no source."""
_OHMS_ERROR = 0.01
_FEWEST = 3


@dataclass(frozen=True, eq=False)
class Readings:
    """What a form says.

    Parameters
    ----------
    name : str
        What the driver is called.
    setups : tuple of Setup
        Readings in free air, then those with mass or on the box where there are several.
    peaks : tuple of Peak
        Resonances with mass or on the box.
    re : tuple of float and float, or None
        D.c. ohms less the leads', and their standard error as a share.
    diameter : Quantity or None
        Cone with half the surround.
    resistor : Quantity
        The known resistor.
    mass, volume : Quantity or None
        Added mass and test box.
    """

    name: str
    setups: tuple[Setup, ...]
    peaks: tuple[Peak, ...]
    re: tuple[float, float] | None
    diameter: Quantity | None
    resistor: Quantity
    mass: Quantity | None
    volume: Quantity | None


def likely_error(quantity: Quantity) -> float:
    """Standard error of a quantity by its range, as a share of it.

    The range is taken as limits within which any value is as likely as another.

    Examples
    --------
    >>> round(100 * likely_error(parse_quantity("10 Ω ±1 %", "resistance")), 2)
    0.58
    """
    return 0.5 * (quantity.high - quantity.low) * _FROM_LIMITS / quantity.likely


class _Form:
    """Entries of a form and what is wrong with them so far."""

    def __init__(self, source: TomlText) -> None:
        self.source = source
        self.problems: list[Problem] = []

    def wrong(self, path: Path, problem: Problem) -> None:
        key = ".".join(str(step + 1) if isinstance(step, int) else step for step in path)
        line = line_of(path, self.source.lines)
        self.problems.append(replace(problem, file=self.source.file, line=line, key=key))

    def table(self, name: str) -> dict[str, Any]:
        found = self.source.values.get(name, {})
        if isinstance(found, dict):
            return found
        self.wrong((name,), Problem("not a table", got=repr(found), expected=f"[{name}]"))
        return {}

    def quantity(self, path: Path, value: object, kind: str) -> Quantity | None:
        """A value with its unit, above zero; None where there is none or it cannot be read."""
        if value is None or value == "":
            return None
        if not isinstance(value, str):
            problem = Problem("not text in quotes", got=repr(value), expected="such as '0.21 V'")
            self.wrong(path, problem)
            return None
        measured = value if "(" in value else f"{value} (measured)"
        try:
            found = parse_quantity(measured, kind)
        except QuantityError as error:
            self.wrong(path, replace(error.problems[0], got=repr(value)))
            return None
        if found.likely <= 0.0:
            self.wrong(path, Problem("not above zero", got=repr(value)))
            return None
        return found

    def entry(self, table: str, key: str, kind: str, *, needed: str = "") -> Quantity | None:
        value = self.table(table).get(key)
        if needed and value in (None, ""):
            self.wrong((table, key), Problem("not filled in", expected=needed))
            return None
        return self.quantity((table, key), value, kind)


def read_readings(path: str | os.PathLike[str]) -> Readings:
    """Readings of a filled-in form.

    Parameters
    ----------
    path : path
        The form.

    Returns
    -------
    Readings

    Raises
    ------
    InputError
        With everything in it that is missing or cannot be.
    """
    if not os.path.lexists(path):
        problem = Problem(
            "there is no such file",
            file=str(path),
            hint=f"Write a form with: boomwright identify sheet -o {path}",
        )
        raise InputError([problem])
    form = _Form(read_toml(path))
    if not _TABLES.keys() & {*form.source.values} - {"driver"}:
        problem = Problem(
            "not a form of readings",
            got=", ".join(f"[{name}]" for name in [*form.source.values][:6]) or "nothing",
            expected="[meter], [free_air] and what else 'boomwright identify sheet' writes",
            file=str(path),
            hint="Write a form with: boomwright identify sheet -o form.toml",
        )
        raise InputError([problem])
    _unknown_keys(form)
    resistor = form.entry("meter", "resistor", "resistance", needed="such as '10 Ω ±1 %'")
    error = form.entry("meter", "error", "share")
    step = form.entry("meter", "last_digit", "voltage")
    meter = (0.01 if error is None else error.likely, 0.0 if step is None else step.likely)
    ohms = 1.0 if resistor is None else resistor.likely
    setups = []
    free = _sweep(form, "free_air", ohms, meter)
    if free is not None:
        setups.append(Setup(free))
    mass, peaks = form.entry("mass", "mass", "mass"), []
    volume = form.entry("box", "volume", "volume")
    for table, known in (("mass", mass), ("box", volume)):
        place: Place = "mass" if table == "mass" else "box"
        stands = {"mass": known.likely} if known and table == "mass" else {}
        stands |= {"volume": known.likely} if known and table == "box" else {}
        peak = form.entry(table, "peak", "frequency")
        sweep = _sweep(form, table, ohms, meter)
        if known is None and (peak is not None or sweep is not None):
            key = "mass" if table == "mass" else "volume"
            if form.table(table).get(key) in (None, ""):
                form.wrong((table, key), Problem("not filled in, yet there are readings with it"))
            continue
        if sweep is not None:
            setups.append(Setup(sweep, place, **stands))
        if peak is not None:
            found = likely_error(peak) if "±" in peak.text or "[" in peak.text else _PEAK_ERROR
            peaks.append(Peak(peak.likely, max(found, 1e-4), **stands))
        if known is not None and peak is None and sweep is None:
            says = f"the {table} is given, but nothing that was read with it"
            form.wrong((table, "peak"), Problem(says, expected="such as '41.5 Hz'"))
    re = _direct_ohms(form)
    if free is not None and free.frequency.size + (re is not None) < _FEWEST + 1:
        form.wrong(
            ("free_air", "readings"),
            Problem(
                f"only {free.frequency.size} readings",
                expected=f"{_FEWEST} and the d.c. ohms, or {_FEWEST + 1}",
                hint="Read at the peak and at one frequency on either side of it.",
            ),
        )
    diameter = form.entry("driver", "diameter", "length")
    if form.problems or resistor is None or free is None:
        once = dict.fromkeys(form.problems)
        raise InputError(sorted(once, key=lambda problem: problem.line or 0))
    name = form.table("driver").get("name", "")
    return Readings(str(name), tuple(setups), tuple(peaks), re, diameter, resistor, mass, volume)


def _unknown_keys(form: _Form) -> None:
    for table, content in form.source.values.items():
        if table not in _TABLES:
            form.wrong((table,), Problem("unknown table", hint=nearest(table, _TABLES)))
            continue
        for key in content if isinstance(content, dict) else ():
            if key not in _TABLES[table]:
                form.wrong((table, key), Problem("unknown key", hint=nearest(key, _TABLES[table])))


def _direct_ohms(form: _Form) -> tuple[float, float] | None:
    """D.c. ohms less those of the leads."""
    whole = form.entry("driver", "dc_ohms", "resistance")
    leads = form.table("driver").get("dc_leads")
    lead = None
    if leads not in (None, "", "0 Ω", "0 ohm"):
        lead = form.entry("driver", "dc_leads", "resistance")
    if whole is None:
        return None
    taken = 0.0 if lead is None else lead.likely
    if taken >= whole.likely:
        form.wrong(
            ("driver", "dc_leads"),
            Problem(
                "the leads have as many ohms as the whole",
                got=f"{taken:g} Ω of {whole.likely:g} Ω",
                hint="Hold the probes together for this reading, without the driver.",
            ),
        )
        return None
    told = "±" in whole.text or "[" in whole.text
    error = likely_error(whole) if told else _OHMS_ERROR
    return whole.likely - taken, error * whole.likely / (whole.likely - taken)


def _sweep(
    form: _Form, table: str, resistor: float, meter: tuple[float, float]
) -> ImpedanceSweep | None:
    """Readings of a table as impedances with their standard errors; None where there are none."""
    rows = form.table(table).get("readings", [])
    if not isinstance(rows, list):
        form.wrong((table, "readings"), Problem("not a list of readings", got=repr(rows)[:60]))
        return None
    found = []
    for number, row in enumerate(rows):
        path: Path = (table, "readings", number)
        if not isinstance(row, list) or len(row) != 3:
            form.wrong(
                path,
                Problem(
                    "not a reading",
                    got=repr(row)[:60],
                    expected='["52 Hz", "0.042 V", "0.215 V"]: tone, resistor, driver',
                ),
            )
            continue
        kinds = ("frequency", "voltage", "voltage")
        values = [form.quantity(path, cell, kind) for cell, kind in zip(row, kinds, strict=True)]
        if all(value is not None for value in values):
            found.append([value.likely for value in values if value is not None])
    if not found:
        if table == "free_air" and not rows:
            says = "no readings filled in"
            expected = 'such as ["52 Hz", "0.042 V", "0.215 V"]: tone, resistor, driver'
            form.wrong((table, "readings"), Problem(says, expected=expected))
        return None
    hertz, over_resistor, over_driver = np.array(found).T
    share, step = meter
    error = np.sqrt(
        2.0 * (share * _FROM_LIMITS) ** 2
        + (0.5 * step * _FROM_LIMITS / over_resistor) ** 2
        + (0.5 * step * _FROM_LIMITS / over_driver) ** 2
    )
    magnitude = resistor * over_driver / over_resistor
    sweep = ImpedanceSweep(hertz, magnitude, None, form.source.file, np.maximum(error, 1e-5))
    return tidied(sweep)
