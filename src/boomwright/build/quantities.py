"""Values with units as people write them, their spread, and back to text.

A value is written as a number and a unit, and may say how wide it could be and on what it rests::

    "7 Ah"                          as printed on the label
    "4k7"  "2R2"  "AWG 18"          the trade's short forms
    "7 Ah ±10 %"                    a spread in per cent or in the same unit
    "6 to 8 Ah"                     a range; the likely value is the middle
    "25 mΩ [15 to 40]"              a likely value and its range
    "5.8 Ah (measured)"             measured, label, claim, guess, typical, standard or invented
"""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass
from functools import lru_cache

from boomwright.build.units import KINDS, Kind, awg_number
from boomwright.errors import Problem, QuantityError
from boomwright.physics.wire import awg_area

__all__ = [
    "BASES",
    "Basis",
    "Quantity",
    "format_hours",
    "format_quantity",
    "parse_quantity",
]


@dataclass(frozen=True)
class Basis:
    """What a value rests on, and how wide that makes it when nothing else is said.

    Parameters
    ----------
    name : str
        The word written in brackets.
    below, above : float
        Share of the value that the truth may lie below or above.
    says : str
        Meaning in plain words.
    """

    name: str
    below: float
    above: float
    says: str


BASES: dict[str, Basis] = {
    basis.name: basis
    for basis in (
        Basis("measured", 0.02, 0.02, "read with an instrument"),
        Basis("label", 0.10, 0.05, "printed on the part or in its data sheet"),
        Basis("claim", 0.40, 0.0, "what the seller says"),
        Basis("guess", 0.30, 0.30, "nobody knows yet"),
        Basis("typical", 0.15, 0.15, "usual for this class of part"),
        Basis("standard", 0.0, 0.0, "fixed by a standard or by a choice"),
        Basis("invented", 0.0, 0.0, "made up for a demonstration"),
    )
}
"""The bases a value may name. Widths are common practice, no source."""

_STEPS = {"guess": 4.0, "claim": 3.0, "typical": 2.0, "label": 1.0, "measured": 0.5}
"""Width of levels [dB] and temperatures [K] by basis; common practice, no source."""

_NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,3})?"
_VALUE = re.compile(rf"^({_NUMBER})\s*((?:[dD][bB] ?\(A\)|[^\d\s±\[\]()+.,-][^±\[\]()]*?)?)\s*$")
_SHORT_FORM = re.compile(r"^(\d+)([RkMunpm\u00b5\u03bc])(\d+)$")
_BASIS = re.compile(r"\(\s*([A-Za-z]+)\s*\)\s*$")
_BRACKET = re.compile(r"\[([^\[\]]*)\]\s*$")
_LONGEST = 120
_HOUR = 3600.0
_MILLIFARAD = 1e-3


@dataclass(frozen=True)
class Quantity:
    """A value in SI units with its range and what it rests on.

    Parameters
    ----------
    likely, low, high : float
        Likely value and range [SI unit of the kind].
    kind : str
        Key of :data:`boomwright.build.units.KINDS`.
    basis : str
        Key of :data:`BASES`.
    text : str
        As it was written.
    """

    likely: float
    low: float
    high: float
    kind: str
    basis: str = "label"
    text: str = ""

    def __str__(self) -> str:
        """As it was written, or printed from the value where nobody wrote it."""
        return self.text or format_quantity(self.likely, self.kind)

    @property
    def certain(self) -> bool:
        """True where the range has no width."""
        return self.low == self.high


def _problem(says: str, text: str, kind: Kind, hint: str = "") -> QuantityError:
    shown = text if len(text) <= _LONGEST else text[:_LONGEST] + "…"
    article = "an" if kind.name[0] in "aeiou" else "a"
    expected = f"{article} {kind.name} such as {kind.example!r}"
    return QuantityError(Problem(says, got=repr(shown), expected=expected, hint=hint))


def _unit_size(unit: str, text: str, kind: Kind) -> float:
    unit = unit.strip().replace("\u00b5", "u").replace("\u03bc", "u").replace("\u2126", "Ω")
    unit = unit.replace("·", " ")
    if unit in kind.units:
        return kind.units[unit]
    if not unit:
        raise _problem(
            "a number without its unit", text, kind, f"Write the unit: {kind.example!r}."
        )
    near = [name for name in kind.units if name.lower() == unit.lower()]
    near += difflib.get_close_matches(unit, [name for name in kind.units if name], n=1, cutoff=0.5)
    others = [other.name for other in KINDS.values() if unit in other.units and other is not kind]
    if others:
        raise _problem(f"{unit!r} is a unit of {others[0]}, not of {kind.name}", text, kind)
    known = ", ".join(name for name in list(kind.units)[:8] if name)
    hint = f"Did you mean {near[0]!r}?" if near else f"Units read here: {known}." if known else ""
    raise _problem(f"unknown unit {unit!r}", text, kind, hint)


def _number(digits: str, text: str, kind: Kind) -> float:
    number = float(digits)
    if not math.isfinite(number):
        raise _problem("a number too large to be real", text, kind)
    return number


def _split(part: str, text: str, kind: Kind) -> tuple[float, str]:
    """Number and unit spelling of one value, short forms such as 4k7 included."""
    part = part.strip()
    if re.search(r"\d,\d", part):
        raise _problem("a comma inside a number", text, kind, "Write the decimal point as a dot.")
    short = _SHORT_FORM.match(part)
    if short and kind.si in ({"Ω"} if short[2] == "R" else {"Ω", "F", "H"}):
        whole, letter, rest = short.groups()
        prefix = "" if letter == "R" else letter
        return float(f"{whole}.{rest}"), prefix + kind.si
    match = _VALUE.match(part)
    if match is None:
        raise _problem("not a number with a unit", text, kind)
    return _number(match[1], text, kind), match[2].strip()


def _single(part: str, text: str, kind: Kind, unit: str = "") -> tuple[float, str]:
    """One value in SI and the unit it was written in; a missing unit takes ``unit``."""
    gauge = re.match(r"^AWG\s*(\S+)$", part.strip(), re.IGNORECASE)
    if gauge and kind is KINDS["area"]:
        number = awg_number(gauge[1])
        if number is None:
            raise _problem(f"no wire gauge {gauge[1]!r}", text, kind, "AWG runs from 4/0 to 40.")
        return float(awg_area(number)), "mm²"
    value, spelling = _split(part, text, kind)
    spelling = spelling or unit
    return value * _unit_size(spelling, text, kind) + kind.offset, spelling


def _spread(part: str, likely: float, unit: str, text: str, kind: Kind) -> float:
    value, spelling = _split(part, text, kind)
    if value < 0:
        raise _problem("a spread below zero", text, kind, "Write it as '±10 %'.")
    if spelling == "%" and kind is not KINDS["share"]:
        return abs(likely - kind.offset) * value / 100
    return value * _unit_size(spelling or unit, text, kind)


def parse_quantity(text: str, kind: str) -> Quantity:
    """Value, range and basis of a quantity as a person writes it.

    Parameters
    ----------
    text : str
        Such as ``"7 Ah ±10 % (measured)"``.
    kind : str
        Key of :data:`boomwright.build.units.KINDS`.

    Returns
    -------
    Quantity
        In SI units.

    Raises
    ------
    QuantityError
        If it cannot be read; the message names what was read and what was expected.

    Examples
    --------
    >>> parse_quantity("4k7", "resistance").likely
    4700.0
    >>> q = parse_quantity("6 to 8 Ah (guess)", "charge")
    >>> q.low / 3600, q.likely / 3600, q.high / 3600, q.basis
    (6.0, 7.0, 8.0, 'guess')
    """
    return _parse(text, kind)


@lru_cache(maxsize=4096)
def _parse(text: str, kind_name: str) -> Quantity:
    kind = KINDS[kind_name]
    if len(text) > _LONGEST:
        raise _problem("far too long for a value", text, kind)
    rest = text.strip()
    basis = "label"
    if match := _BASIS.search(rest):
        word = match[1].lower()
        if word not in BASES and not rest[: match.start()].rstrip().lower().endswith("db"):
            near = difflib.get_close_matches(word, BASES, n=1)
            hint = f"Did you mean '({near[0]})'?" if near else f"One of: {', '.join(BASES)}."
            raise _problem(f"unknown basis '({match[1]})'", text, kind, hint)
        if word in BASES:
            basis, rest = word, rest[: match.start()].rstrip()
    bounds = ""
    if match := _BRACKET.search(rest):
        bounds, rest = match[1] or " ", rest[: match.start()].rstrip()
    rest, plus_minus, spread = rest.partition("±")
    spread = spread or plus_minus
    if bounds and plus_minus:
        raise _problem("both a range in brackets and a ± spread", text, kind, "Keep one of them.")
    low_text, is_range, high_text = rest.partition(" to ")
    if is_range:
        if bounds or plus_minus:
            raise _problem("a range inside a range", text, kind)
        high, unit = _single(high_text, text, kind)
        low, _ = _single(low_text, text, kind, unit)
        likely = (low + high) / 2
    else:
        likely, unit = _single(rest, text, kind)
        low, high = _limits(likely, unit, bounds, spread, basis, text, kind)
    if not all(map(math.isfinite, (low, likely, high))):
        raise _problem("a number too large to be real", text, kind)
    if not low <= likely <= high:
        raise _problem("a range that does not hold its value", text, kind)
    return Quantity(likely, low, high, kind_name, basis, text)


def _limits(
    likely: float, unit: str, bounds: str, spread: str, basis: str, text: str, kind: Kind
) -> tuple[float, float]:
    if bounds:
        low_text, is_range, high_text = bounds.partition(" to ")
        if not is_range:
            raise _problem("a bracket that is no range", text, kind, "Write it as '[15 to 40]'.")
        high, unit = _single(high_text, text, kind, unit)
        low, _ = _single(low_text, text, kind, unit)
        return low, high
    if spread:
        width = _spread(spread, likely, unit, text, kind)
        return likely - width, likely + width
    if kind.offset or kind.si == "dB":
        # A share of a level or of a temperature has no meaning; decibels widen by a fixed step.
        step = _STEPS.get(basis, 0.0)
        return likely - step, likely + (0.0 if basis == "claim" else step)
    size = abs(likely)
    return likely - BASES[basis].below * size, likely + BASES[basis].above * size


def format_quantity(value: float, kind: str, *, digits: int = 3) -> str:
    """Value printed with its unit, rounded to significant digits.

    Parameters
    ----------
    value : float
        In the SI unit of the kind.
    kind : str
        Key of :data:`boomwright.build.units.KINDS`.
    digits : int
        Significant digits.

    Returns
    -------
    str
        Such as ``"4.7 kΩ"`` or ``"7 Ah"``; "no limit" for infinity.

    Examples
    --------
    >>> format_quantity(4700.0, "resistance"), format_quantity(25200.0, "charge")
    ('4.7 kΩ', '7 Ah')
    >>> format_quantity(0.0021, "length"), format_quantity(0.21, "length")
    ('2.1 mm', '21 cm')
    >>> format_quantity(26640.0, "time"), format_quantity(310.15, "temperature")
    ('7.4 h', '37 °C')
    """
    unit = KINDS[kind]
    if math.isnan(value):
        return "unknown"
    if math.isinf(value):
        return "no limit" if value > 0 else "less than any"
    if kind == "time":
        return _format_time(value, digits)
    if kind == "temperature":
        return f"{round(value - unit.offset)} °C"
    if unit.si == "dB":
        return f"{round(value, 1) + 0.0:.1f} dB"
    if kind == "capacitance" and abs(value) >= _MILLIFARAD:
        # The trade prints 4700 µF on the can, never 4.7 mF.
        return f"{_rounded(value * 1e6, digits)} µF"
    if unit.shown:
        small = (name for below, name in unit.small if 0.0 < abs(value) < below)
        shown = next(small, unit.shown)
        return f"{_rounded(value / unit.units[shown], digits)} {shown}"
    if unit.si in {"K/W", "T m", ""}:
        return f"{_rounded(value, digits)} {unit.si}".rstrip()
    from quantiphy import Quantity as Printed

    return Printed(value, unit.si).render(prec=digits - 1, strip_zeros=True).replace("u", "µ", 1)


def format_hours(seconds: float, *, digits: int = 2) -> str:
    """Playing time in hours however long, in minutes below one hour.

    Parameters
    ----------
    seconds : float
        Time [s].
    digits : int
        Significant digits.

    Returns
    -------
    str
        "no limit" for infinity.

    Examples
    --------
    >>> format_hours(15.8 * 3600), format_hours(400 * 3600), format_hours(1500)
    ('16 h', '400 h', '25 min')
    """
    if math.isfinite(seconds) and seconds >= _HOUR:
        return f"{_rounded(seconds / _HOUR, digits)} h"
    return format_quantity(seconds, "time", digits=digits)


def _format_time(seconds: float, digits: int) -> str:
    for size, name, least in ((86400.0, "d", 3.0), (3600.0, "h", 1.0), (60.0, "min", 1.0)):
        if abs(seconds) >= least * size:
            return f"{_rounded(seconds / size, digits)} {name}"
    return f"{_rounded(seconds, digits)} s"


def _rounded(value: float, digits: int) -> str:
    """Value to significant digits, never in powers of ten and without trailing zeros."""
    if value == 0:
        return "0"
    places = digits - 1 - math.floor(math.log10(abs(value)))
    text = f"{round(value, places):.{max(places, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
