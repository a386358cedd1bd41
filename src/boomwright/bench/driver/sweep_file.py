"""An impedance sweep read from a text file, whatever separates its columns.

Read are comma, semicolon, tab and blanks between columns, a decimal point or a decimal comma, any
words ahead of the numbers, and lines of comment. Columns are frequency, magnitude and perhaps
phase, in the order that the words above them name, else in this one.
"""

from __future__ import annotations

import os
import re
from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path as FilePath

import numpy as np

from boomwright.bench.driver.sweep import ImpedanceSweep, mended_phase, tidied
from boomwright.build.quantities import format_quantity
from boomwright.design.sheet import Remark
from boomwright.errors import InputError, Problem
from boomwright.physics.arrays import Floats

__all__ = ["parse_sweep", "read_sweep"]

_LARGEST = 20_000_000
"""Largest file read [byte]; a long sweep has some hundred thousand."""
_MOST_SHOWN = 8
_LONGEST = 60
_FEWEST = 8
_SHARE_BAD = 0.1
_MINUS = "\N{MINUS SIGN}"
_COMMENT = ("#", "*", "!", "%", "//", "'")
_NUMBER = {
    ".": re.compile(r"^[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,3})?$"),
    ",": re.compile(r"^[+-]?(?:\d+(?:,\d+)?|,\d+)(?:[eE][+-]?\d{1,3})?$"),
}
_NO_NUMBER = re.compile(r"^[+-]?(?:nan|inf|infinity|1\.?#(?:inf|ind|qnan)\w*|-+|—)$", re.IGNORECASE)
_WAYS = ((";", "."), (";", ","), ("\t", "."), ("\t", ","), (None, "."), (None, ","), (",", "."))
"""Column separator and decimal mark, in the order they are tried; None is blanks."""
_WORDS = {
    "frequency": re.compile(r"^(f|fr|freq\w*|[km]?hz|hertz)$"),
    "magnitude": re.compile(r"^(z|mag\w*|impedance|ohms?|ω|abs|modul\w*|mod)$"),
    "phase": re.compile(r"^(ph|phase|angle|arg|deg\w*|rad|radians?|phi|φ|°)$"),
    "real": re.compile(r"^(re|real|r)$"),
    "imaginary": re.compile(r"^(im|imag\w*|x)$"),
}


@dataclass(frozen=True)
class _Row:
    line: int
    cells: tuple[float, ...]


def read_sweep(path: str | os.PathLike[str]) -> ImpedanceSweep:
    """An impedance sweep from a text file.

    Parameters
    ----------
    path : path
        The file.

    Returns
    -------
    ImpedanceSweep
        In rising order, each frequency once, phase in radians; its remarks say what was put right.

    Raises
    ------
    InputError
        With everything that is wrong with the file.
    """
    try:
        with open(path, "rb") as stream:
            raw = stream.read(_LARGEST + 1)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise InputError([Problem(f"cannot be read: {reason}", file=str(path))]) from None
    if len(raw) > _LARGEST:
        raise InputError([Problem("far too large for an impedance sweep", file=str(path))])
    return parse_sweep(_decoded(raw, str(path)), file=str(path))


def _decoded(raw: bytes, file: str) -> str:
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return raw.decode("utf-16", errors="replace")
    if b"\x00" in raw:
        hint = ""
        if raw[:4] in (b"RIFF", b"fLaC"):
            hint = f"A recording is read by: boomwright identify recording {FilePath(file).name}"
        raise InputError([Problem("not a text file", file=file, hint=hint)])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return raw.decode("latin-1")


def parse_sweep(text: str, *, file: str = "sweep") -> ImpedanceSweep:
    r"""An impedance sweep from a text.

    Parameters
    ----------
    text : str
        Lines of numbers.
    file : str
        Name for messages.

    Returns
    -------
    ImpedanceSweep

    Raises
    ------
    InputError
        With everything that is wrong with the text.

    Examples
    --------
    >>> lines = "\n".join(f"{f};{z},5;0" for f, z in zip(range(20, 29), range(7, 16)))
    >>> sweep = parse_sweep("Frequenz [Hz];|Z| [Ohm];Phase\n" + lines)
    >>> sweep.magnitude[:2].round(6).tolist()
    [7.5, 8.5]
    """
    text = text.replace(_MINUS, "-")
    lines = [(number, line.strip()) for number, line in enumerate(text.splitlines(), start=1)]
    lines = [(n, line) for n, line in lines if line and not line.startswith(_COMMENT)]
    separator, mark = _way(lines)
    rows, head, problems = _rows(lines, separator, mark, file)
    if len(rows) < 2:
        expected = "lines such as '20.0 7.31 12.4': hertz, ohms and perhaps degrees"
        raise InputError([Problem("no numbers in columns found", expected=expected, file=file)])
    places = _columns(head, separator)
    problems += _two_commas(rows, separator, file)
    if problems:
        raise InputError(problems)
    return _sweep(rows, places, head, file)


def _way(lines: list[tuple[int, str]]) -> tuple[str | None, str]:
    """Separator and decimal mark by which most lines are numbers."""
    best: tuple[str | None, str] = _WAYS[4]
    most = 0
    for separator, mark in _WAYS:
        hits = 0
        for _, line in lines:
            cells = _cells(line, separator)
            hits += len(cells) > 1 and all(_is_number(cell, mark) for cell in cells[:2])
        if hits > most:
            best, most = (separator, mark), hits
    return best


def _cells(line: str, separator: str | None) -> list[str]:
    cells = [cell.strip().strip('"') for cell in line.split(separator)]
    return cells[:-1] if cells and not cells[-1] else cells


def _is_number(cell: str, mark: str) -> bool:
    return bool(_NUMBER[mark].match(cell) or _NO_NUMBER.match(cell))


def _value(cell: str, mark: str) -> float:
    if not _NUMBER[mark].match(cell):
        return float("nan")
    return float(cell.replace(",", "."))


def _rows(
    lines: list[tuple[int, str]], separator: str | None, mark: str, file: str
) -> tuple[list[_Row], str, list[Problem]]:
    """Rows of numbers, the line of words above the first, and what is no row behind it."""
    rows: list[_Row] = []
    head, odd = "", []
    for number, line in lines:
        cells = _cells(line, separator)
        if len(cells) > 1 and all(_is_number(cell, mark) for cell in cells[:3]):
            rows.append(_Row(number, tuple(_value(cell, mark) for cell in cells)))
        elif not rows:
            head = line
        else:
            odd.append((number, line))
    if rows:
        # A decimal comma in one row of a file of commas shows as a column more.
        usual = Counter(len(row.cells) for row in rows).most_common(1)[0][0]
        texts = dict(lines)
        odd += [(row.line, texts[row.line]) for row in rows if len(row.cells) > usual]
        odd.sort()
    problems = [
        Problem(
            "not a row of numbers like the others",
            got=repr(line[:_LONGEST]),
            expected="hertz, ohms and perhaps degrees",
            file=file,
            line=number,
            hint="Put '#' ahead of a line that is to be passed over.",
        )
        for number, line in odd[:_MOST_SHOWN]
    ]
    if len(odd) > _MOST_SHOWN:
        problems.append(Problem(f"and {len(odd) - _MOST_SHOWN} more such lines", file=file))
    return rows, head, problems


def _columns(head: str, separator: str | None) -> dict[str, int]:
    """Place of each column by the words above them; the usual places where these do not tell."""
    titles = [title for title in _cells(head, separator) if title]
    found: dict[str, int] = {}
    for place, title in enumerate(titles):
        words = [word for word in re.split(r"[^\wω°φ]+", title.lower().replace("Ω", "ω")) if word]
        for kind, pattern in _WORDS.items():
            if kind not in found and any(pattern.match(word) for word in words):
                found[kind] = place
                break
    if "frequency" in found and ("magnitude" in found or {"real", "imaginary"} <= set(found)):
        return found
    return {"frequency": 0, "magnitude": 1, "phase": 2}


def _two_commas(rows: list[_Row], separator: str | None, file: str) -> list[Problem]:
    """A comma between columns and within numbers: four whole numbers where two were meant."""
    if separator != ",":
        return []
    widths = {len(row.cells) for row in rows}
    whole = all(cell == int(cell) for row in rows for cell in row.cells if np.isfinite(cell))
    if not whole or min(widths) < 4:
        return []
    return [
        Problem(
            "a comma stands between the columns and within the numbers too",
            got=", ".join(f"{cell:g}" for cell in rows[0].cells),
            file=file,
            line=rows[0].line,
            hint="Write the decimal point as a dot, or save the file with ';' between columns.",
        )
    ]


def _sweep(rows: list[_Row], places: dict[str, int], head: str, file: str) -> ImpedanceSweep:
    width = max(len(row.cells) for row in rows)
    table = np.full((len(rows), width), np.nan)
    for number, row in enumerate(rows):
        table[number, : len(row.cells)] = row.cells
    problems = []
    for kind, place in places.items():
        if kind != "phase" and place >= width:
            problems.append(Problem(f"no column for the {kind}", got=repr(head), file=file))
    if problems:
        raise InputError(problems)
    frequency, phase = table[:, places["frequency"]], None
    unit = ""
    if "magnitude" in places:
        magnitude = table[:, places["magnitude"]]
        place = places.get("phase", width)
        if place < width and np.isfinite(table[:, place]).mean() > 1.0 - _SHARE_BAD:
            phase = table[:, place]
            unit = "rad" if re.search(r"\brad", head.lower()) else ""
            unit = "deg" if re.search(r"\bdeg|°", head.lower()) else unit
    else:
        both = table[:, places["real"]] + 1j * table[:, places["imaginary"]]
        magnitude, phase, unit = np.abs(both), np.angle(both), "rad"
    if re.search(r"\bkhz\b", head.lower()):
        frequency = 1e3 * frequency
    _refuse_columns(frequency, magnitude, rows, file)
    frequency, magnitude, phase, remarks = _without_bad(frequency, magnitude, phase, rows, file)
    if phase is None:
        remarks.append(Remark("fine", "There is no phase; the magnitude alone tells enough."))
    found = ImpedanceSweep(frequency, magnitude, phase, file, None, tuple(remarks))
    return mended_phase(tidied(_unwrapped(found, unit)), unit=unit)


def _unwrapped(sweep: ImpedanceSweep, unit: str) -> ImpedanceSweep:
    """Phase in degrees brought back from whole turns, as a file with 350° for -10° needs."""
    if sweep.phase is None or unit == "rad" or np.abs(sweep.phase).max() <= 180.0:
        return sweep
    return replace(sweep, phase=(sweep.phase + 180.0) % 360.0 - 180.0)


def _refuse_columns(frequency: Floats, magnitude: Floats, rows: list[_Row], file: str) -> None:
    """Refuse what is read from the wrong column or in the wrong unit."""
    hertz = frequency[np.isfinite(frequency) & (frequency > 0.0)]
    ohms = magnitude[np.isfinite(magnitude) & (magnitude > 0.0)]
    problems = []
    if hertz.size < 2 or ohms.size < 2:
        problem = Problem(
            "no frequencies and ohms above zero",
            got=", ".join(f"{cell:g}" for cell in rows[0].cells[:3]),
            expected="hertz and ohms above zero, and perhaps degrees",
            file=file,
            line=rows[0].line,
            hint="Export magnitude in ohms; decibels and negative ohms are none.",
        )
        raise InputError([problem])
    span = f"{hertz.min():g} to {hertz.max():g}"
    rises = bool((np.diff(hertz) > 0.0).all())
    if not rises and bool((np.diff(ohms) > 0.0).all()) and ohms.max() > 8.0 * ohms.min():
        problems.append(
            Problem(
                "the columns are swapped: the second one rises like a frequency",
                got=f"{span} in the first, {ohms.min():g} to {ohms.max():g} in the second",
                expected="hertz in the first column, ohms in the second",
                file=file,
                line=rows[0].line,
                hint="Swap them, or name them in a first line: impedance; frequency.",
            )
        )
    elif hertz.max() <= 25.0 and hertz.min() < 0.5:
        problems.append(
            Problem(
                "the frequencies are in kilohertz, to judge by their size",
                got=span,
                expected="hertz, such as 20 to 20000",
                file=file,
                line=rows[0].line,
                hint="Write 'kHz' in the line above the numbers, or multiply them by 1000.",
            )
        )
    elif hertz.min() >= 5e3 and hertz.max() > 2e5:
        problems.append(
            Problem(
                "the frequencies are a thousand times too high, to judge by their size",
                got=span,
                expected=f"hertz, such as {format_quantity(20.0, 'frequency')} to "
                f"{format_quantity(2e4, 'frequency')}",
                file=file,
                line=rows[0].line,
                hint="Divide them by 1000.",
            )
        )
    if problems:
        raise InputError(problems)


def _without_bad(
    frequency: Floats, magnitude: Floats, phase: Floats | None, rows: list[_Row], file: str
) -> tuple[Floats, Floats, Floats | None, list[Remark]]:
    """Points that are numbers above zero; a few others are left out, many are refused."""
    fine = np.isfinite(frequency) & np.isfinite(magnitude) & (frequency > 0.0) & (magnitude > 0.0)
    if phase is not None:
        fine &= np.isfinite(phase)
    bad = np.flatnonzero(~fine)
    named = ", ".join(str(rows[place].line) for place in bad[:_MOST_SHOWN])
    named += ", …" if bad.size > _MOST_SHOWN else ""
    if bad.size > _SHARE_BAD * fine.size:
        problem = Problem(
            f"{bad.size} of {fine.size} rows are no measurement: zero, below zero or no number",
            got=f"lines {named}",
            file=file,
            hint="Measure again; a lead may have come off.",
        )
        raise InputError([problem])
    if fine.sum() < _FEWEST:
        problem = Problem(
            f"only {int(fine.sum())} points",
            expected=f"{_FEWEST} or more in a sweep",
            file=file,
            hint="A handful of readings is read by: boomwright identify readings FILE.toml",
        )
        raise InputError([problem])
    remarks = []
    if bad.size:
        remarks.append(
            Remark(
                "mind",
                f"{bad.size} row{'s' * (bad.size > 1)} left out, zero, below zero or no number: "
                f"line{'s' * (bad.size > 1)} {named}.",
            )
        )
    return frequency[fine], magnitude[fine], None if phase is None else phase[fine], remarks
