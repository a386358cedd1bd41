"""The units people write, kind by kind, with their size in SI.

This table is the only place that knows a unit's name. :mod:`boomwright.build.quantities` reads and
prints with it; nothing else does either.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

from boomwright.physics.nature import ZERO_CELSIUS

__all__ = ["KINDS", "Kind", "awg_number"]

_PREFIXES = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "M": 1e6}


@dataclass(frozen=True)
class Kind:
    """One kind of quantity.

    Parameters
    ----------
    name : str
        What it is called in messages.
    si : str
        The SI unit it is held in.
    units : mapping of str to float
        Accepted unit spellings, each with its size in the SI unit.
    example : str
        A value as a person would write it.
    shown : str
        Unit it is printed in; empty where SI prefixes are used instead.
    small : tuple of (float, str)
        Units in place of that for what is smaller: below which SI value, and which; rising.
    offset : float
        Added after scaling, for degrees Celsius.
    """

    name: str
    si: str
    units: MappingProxyType[str, float]
    example: str
    shown: str = ""
    small: tuple[tuple[float, str], ...] = ()
    offset: float = 0.0


def _prefixed(symbol: str, prefixes: str, *spellings: str) -> dict[str, float]:
    """Every spelling of a unit with each of the prefixes; '-' in prefixes means none."""
    sizes = [(prefix.replace("-", ""), _PREFIXES[prefix.replace("-", "")]) for prefix in prefixes]
    return {prefix + spelling: size for prefix, size in sizes for spelling in (symbol, *spellings)}


def _kind(
    name: str,
    si: str,
    units: dict[str, float],
    example: str,
    *,
    shown: str = "",
    small: tuple[tuple[float, str], ...] = (),
    offset: float = 0.0,
) -> Kind:
    return Kind(name, si, MappingProxyType(units), example, shown, small, offset)


_OHM = _prefixed("Ω", "m-kMu", "ohm", "Ohm", "ohms", "R")
_OHM |= {"k": 1e3, "M": 1e6}
_HOUR = 3600.0
_TIME = {"ms": 1e-3, "s": 1.0, "min": 60.0, "h": _HOUR, "hours": _HOUR, "hour": _HOUR}
_TIME |= {"d": 24 * _HOUR, "day": 24 * _HOUR, "days": 24 * _HOUR, "week": 168 * _HOUR}
_TIME |= {"weeks": 168 * _HOUR, "months": 730.5 * _HOUR, "month": 730.5 * _HOUR}
_LENGTH = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "in": 0.0254, "inch": 0.0254, "ft": 0.3048}
_AREA = {"mm²": 1e-6, "mm2": 1e-6, "cm²": 1e-4, "cm2": 1e-4, "m²": 1.0, "m2": 1.0}
_VOLUME = {"cm³": 1e-6, "cm3": 1e-6, "L": 1e-3, "l": 1e-3, "litre": 1e-3, "litres": 1e-3}
_VOLUME |= {"m³": 1.0, "m3": 1.0, "ft³": 0.3048**3, "ft3": 0.3048**3}

KINDS: MappingProxyType[str, Kind] = MappingProxyType(
    {
        "voltage": _kind("voltage", "V", _prefixed("V", "m-ku", "volt", "volts"), "12 V"),
        "current": _kind("current", "A", _prefixed("A", "um-n", "amp", "amps"), "350 mA"),
        "resistance": _kind("resistance", "Ω", _OHM, "4.7 kΩ"),
        "power": _kind("power", "W", _prefixed("W", "m-ku", "watt", "watts"), "20 W"),
        "charge": _kind("charge", "C", {"Ah": _HOUR, "mAh": _HOUR / 1e3}, "7 Ah", shown="Ah"),
        "energy": _kind("energy", "J", {"Wh": _HOUR, "kWh": 1e3 * _HOUR}, "15 Wh", shown="Wh"),
        "capacitance": _kind("capacitance", "F", _prefixed("F", "pnum-"), "4.7 µF"),
        "inductance": _kind("inductance", "H", _prefixed("H", "um-n"), "0.5 mH"),
        "frequency": _kind("frequency", "Hz", _prefixed("Hz", "-kmM"), "65 Hz"),
        "length": _kind(
            "length",
            "m",
            _LENGTH,
            "60 cm",
            shown="m",
            small=((0.02, "mm"), (1.0, "cm")),
        ),
        "area": _kind("wire or cone area", "m²", _AREA, "0.75 mm²", shown="mm²"),
        "cone": _kind("cone area", "m²", _AREA, "133 cm²", shown="cm²"),
        "volume": _kind("volume", "m³", _VOLUME, "14 L", shown="L"),
        "mass": _kind(
            "mass",
            "kg",
            {"g": 1e-3, "kg": 1.0, "lb": 0.45359237},
            "2.6 kg",
            shown="kg",
            small=((1.0, "g"),),
        ),
        "speed": _kind("speed", "m/s", {"m/s": 1.0}, "17 m/s", shown="m/s"),
        "time": _kind("time", "s", _TIME, "6 h"),
        "temperature": _kind(
            "temperature",
            "K",
            {"°C": 1.0, "degC": 1.0, "C": 1.0},
            "25 °C",
            shown="°C",
            offset=ZERO_CELSIUS,
        ),
        "share": _kind("share", "", {"%": 0.01}, "80 %", shown="%"),
        "decibel": _kind("decibel", "dB", {"dB": 1.0, "dB(A)": 1.0, "dBA": 1.0}, "26 dB"),
        "thermal": _kind(
            "thermal resistance", "K/W", {"K/W": 1.0, "°C/W": 1.0, "C/W": 1.0}, "8 K/W"
        ),
        "motor": _kind("force factor", "T m", {"Tm": 1.0, "T m": 1.0, "N/A": 1.0}, "5.2 Tm"),
        "compliance": _kind("compliance", "m/N", {"mm/N": 1e-3}, "0.9 mm/N", shown="mm/N"),
        "damping": _kind("mechanical resistance", "kg/s", {"kg/s": 1.0}, "1.2 kg/s", shown="kg/s"),
        "ratio": _kind("plain number", "", {"": 1.0}, "0.62"),
        "price": _kind("price", "", {"": 1.0}, "12.50"),
    }
)
"""Every kind of quantity a build file may hold."""

AWG_FINEST, AWG_THICKEST = 40, -3
"""Gauges read: 40 down to 0000, which counts as -3."""


def awg_number(text: str) -> int | None:
    """Gauge number of an AWG size as written after 'AWG': '18', '2/0' or '00'.

    Parameters
    ----------
    text : str
        What follows 'AWG'.

    Returns
    -------
    int or None
        The number, 0 for 1/0, -1 for 2/0 and so on; None if it is no gauge.

    Examples
    --------
    >>> awg_number("18"), awg_number("2/0"), awg_number("000")
    (18, -1, -2)
    """
    text = text.strip()
    if text.endswith("/0") and text[:-2].isdecimal():
        number = 1 - int(text[:-2])
    elif text and set(text) == {"0"}:
        number = 1 - len(text)
    elif text.isdecimal() and text.isascii() and len(text) <= 2:
        number = int(text)
    else:
        return None
    return number if AWG_THICKEST <= number <= AWG_FINEST else None
