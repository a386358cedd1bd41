"""Copper wire: size, resistance, voltage lost, and the current it may carry."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats
from boomwright.physics.nature import ROOM_TEMPERATURE

__all__ = [
    "COPPER_RESISTIVITY",
    "COPPER_TEMPERATURE_COEFFICIENT",
    "ampacity",
    "awg_area",
    "awg_diameter",
    "flexible_resistance_max",
    "nearest_awg",
    "preece_fusing_current",
    "voltage_drop",
    "wire_resistance",
]

COPPER_RESISTIVITY = 1e-6 / 58.0
"""Resistivity of annealed copper at 20 °C [Ω m], IEC 60028 (from memory)."""

COPPER_TEMPERATURE_COEFFICIENT = 0.00393
"""Rise of copper's resistance per kelvin, of the value at 20 °C [1/K], IEC 60028 (from memory)."""

_INCH = 0.0254
_CIRCULAR_MIL = np.pi / 4.0 * (1e-3 * _INCH) ** 2


@cache
def _tables() -> dict[str, dict[str, Any]]:
    return tomllib.loads(files("boomwright.physics.data").joinpath("wire.toml").read_text("utf-8"))


def awg_diameter(gauge: FloatsLike) -> Floats:
    """Diameter of solid wire of an American gauge.

    The geometric law of ASTM B258 between gauges 0000 and 36; gauges 00, 000 and 0000 are
    written -1, -2 and -3.

    Parameters
    ----------
    gauge : float or array, any shape
        Gauge number [1].

    Returns
    -------
    array, same shape
        Diameter of the copper [m].

    Notes
    -----
    d = 0.127 mm · 92^((36 - n)/39): three gauges halve the area, near enough. Stranded wire of
    the same gauge has the same copper area, to about 5 %, and a larger outside.

    References
    ----------
    .. [1] ASTM B258, Standard Nominal Diameters and Cross-Sectional Areas of AWG Sizes (from
       memory; end points checked against printed tables).

    Examples
    --------
    >>> round(float(awg_diameter(18)) * 1e3, 4)
    1.0237
    """
    return 0.127e-3 * 92.0 ** ((36.0 - floats(gauge)) / 39.0)


def awg_area(gauge: FloatsLike) -> Floats:
    """Copper area of an American gauge.

    Circle of the diameter of `awg_diameter`.

    Parameters
    ----------
    gauge : float or array, any shape
        Gauge number [1]; 00, 000, 0000 are -1, -2, -3.

    Returns
    -------
    array, same shape
        Area [m²].

    Notes
    -----
    A = pi d² / 4.

    References
    ----------
    .. [1] ASTM B258 (from memory).

    Examples
    --------
    >>> round(float(awg_area(18)) * 1e6, 3)
    0.823
    """
    return 0.25 * np.pi * awg_diameter(gauge) ** 2


def nearest_awg(area: FloatsLike) -> Floats:
    """American gauge nearest to a copper area, by ratio.

    The law of `awg_diameter` turned round and rounded to a whole gauge.

    Parameters
    ----------
    area : float or array, any shape
        Copper area [m²].

    Returns
    -------
    array, same shape
        Whole gauge number [1].

    Raises
    ------
    ValueError
        If an area is not positive.

    References
    ----------
    .. [1] ASTM B258 (from memory).

    Examples
    --------
    >>> nearest_awg(np.array([0.5e-6, 0.75e-6, 1.5e-6, 2.5e-6])).tolist()
    [20.0, 18.0, 15.0, 13.0]
    """
    diameter = np.sqrt(4.0 * above_zero(area, "copper area", "m²") / np.pi)
    gauge: Floats = np.rint(36.0 - 39.0 * np.log(diameter / 0.127e-3) / np.log(92.0))
    return gauge


def wire_resistance(
    area: FloatsLike, length: FloatsLike, *, temperature: FloatsLike = ROOM_TEMPERATURE
) -> Floats:
    """Resistance of one copper conductor, one way.

    Direct current in annealed copper; cheap speaker wire of copper-clad aluminium has about 1.5
    times as much.

    Parameters
    ----------
    area : float or array
        Copper area [m²].
    length : float or array
        Length of the conductor, one way [m].
    temperature : float or array, default 293.15
        Copper temperature [K].

    Returns
    -------
    array, broadcast shape
        Resistance [Ω].

    Raises
    ------
    ValueError
        If an area is not positive.

    Notes
    -----
    R = length / (58 S·m/mm² · area) · (1 + 0.00393 (T - 293.15 K)).

    References
    ----------
    .. [1] IEC 60028, International standard of resistance for copper, 1925 (from memory).

    Examples
    --------
    AWG 14 has 2.525 Ω per 1000 ft in printed tables.

    >>> round(float(wire_resistance(awg_area(14), 304.8)), 3)
    2.525
    """
    warmth = 1.0 + COPPER_TEMPERATURE_COEFFICIENT * (floats(temperature) - ROOM_TEMPERATURE)
    return COPPER_RESISTIVITY * floats(length) / above_zero(area, "copper area", "m²") * warmth


def voltage_drop(
    current: FloatsLike,
    *,
    area: FloatsLike,
    length: FloatsLike,
    temperature: FloatsLike = ROOM_TEMPERATURE,
) -> Floats:
    """Voltage lost in a pair of copper leads, there and back.

    Both conductors alike; contacts, switch and fuse are not counted.

    Parameters
    ----------
    current : float or array
        Current [A].
    area : float or array
        Copper area of each conductor [m²].
    length : float or array
        Length of the run, one way [m].
    temperature : float or array, default 293.15
        Copper temperature [K].

    Returns
    -------
    array, broadcast shape
        Voltage [V].

    Raises
    ------
    ValueError
        If an area is not positive.

    Notes
    -----
    V = 2 I R.

    References
    ----------
    .. [1] Ohm's law with IEC 60028 copper: 5 A through 2 m of AWG 18 loses 0.4190 V (computed).

    Examples
    --------
    >>> round(float(voltage_drop(5.0, area=awg_area(18), length=2.0)), 4)
    0.419
    """
    return 2.0 * floats(current) * wire_resistance(area, length, temperature=temperature)


def preece_fusing_current(diameter: FloatsLike) -> Floats:
    """Melting current of a bare copper wire in still air.

    Preece's rough law of 1884 for steady current; good to some 10 % for bare wire and useless as
    a working limit, since insulation burns at a quarter of it.

    Parameters
    ----------
    diameter : float or array, any shape
        Diameter of the wire [m].

    Returns
    -------
    array, same shape
        Current [A].

    Notes
    -----
    I = 10244 d^1.5 with d in inches.

    References
    ----------
    .. [1] F. E. Terman, Radio Engineers' Handbook, McGraw-Hill, 1943 (from memory).

    Examples
    --------
    >>> round(float(preece_fusing_current(awg_diameter(18))), 1)
    82.9
    """
    return 10244.0 * (floats(diameter) / _INCH) ** 1.5


def ampacity(area: FloatsLike, *, bundled: bool) -> Floats:
    """Ampere limit of a copper wire, by one of two equipment-wiring habits.

    In open air: the handbook's chassis-wiring limits, read between gauges on logarithmic scales;
    bundled or boxed: 700 circular mils per ampere. Neither is a code: local wiring codes and the
    wire's data sheet rule, and the two habits lie a factor of six apart.

    Parameters
    ----------
    area : float or array, any shape
        Copper area [m²].
    bundled : bool
        True for wires tied together or in a closed box, False for one wire in open air.

    Returns
    -------
    array, same shape
        Current [A].

    Raises
    ------
    ValueError
        If an area is not positive, or lies outside AWG 30 to AWG 6 in open air.

    Notes
    -----
    Bundled: I = A / (700 · 5.067e-10 m²). Tables and their status are in ``data/wire.toml``.

    References
    ----------
    .. [1] Handbook table of AWG sizes, resistances and current limits (AWG 14, 18, 22 seen in a
       secondary print; other rows and the rule of 700 from memory).

    Examples
    --------
    >>> round(float(ampacity(awg_area(18), bundled=False)), 1)
    16.0
    >>> round(float(ampacity(awg_area(18), bundled=True)), 2)
    2.32
    """
    size = above_zero(area, "copper area", "m²")
    if bundled:
        return size / (_CIRCULAR_MIL * float(_tables()["bundled"]["circular_mils_per_ampere"]))
    table = _tables()["chassis"]
    listed = awg_area(np.array(table["gauge"], dtype=np.float64))[::-1]
    least, most = listed[0], listed[-1]
    outside = (size < least * (1.0 - 1e-9)) | (size > most * (1.0 + 1e-9))
    if np.any(outside):
        raise ValueError(
            f"copper area in the open-air table: got {size[outside].flat[0] * 1e6:g} mm², must be "
            f"{least * 1e6:.3g} mm² to {most * 1e6:.3g} mm² (AWG 30 to AWG 6)"
        )
    current = np.array(table["current"], dtype=np.float64)[::-1]
    return np.exp(np.interp(np.log(size), np.log(listed), np.log(current)))


def flexible_resistance_max(area: FloatsLike) -> Floats:
    """Largest resistance per metre that a flexible copper conductor may have at 20 °C.

    The table of IEC 60228 for class 5 plain copper, listed sizes only; wire in hand is usually a
    few per cent better.

    Parameters
    ----------
    area : float or array, any shape
        Nominal area, one of the listed sizes from 0.5 to 10 mm² [m²].

    Returns
    -------
    array, same shape
        Resistance per length [Ω/m].

    Raises
    ------
    ValueError
        If a size is not in the table.

    References
    ----------
    .. [1] IEC 60228, Conductors of insulated cables, class 5 (from memory).

    Examples
    --------
    >>> round(float(flexible_resistance_max(0.75e-6)) * 1e3, 1)
    26.0
    """
    table = _tables()["flexible"]
    size = floats(area)
    listed = np.array(table["area_mm2"], dtype=np.float64) * 1e-6
    match = np.isclose(size[..., np.newaxis], listed, rtol=1e-6, atol=0.0)
    known = match.any(axis=-1)
    if not np.all(known):
        raise ValueError(
            f"nominal copper area: got {size[~known].flat[0] * 1e6:g} mm², must be one of "
            + ", ".join(f"{nominal:g}" for nominal in table["area_mm2"])
            + " mm²"
        )
    per_km = np.array(table["resistance_per_km"], dtype=np.float64)
    per_metre: Floats = per_km[match.argmax(axis=-1)] * 1e-3
    return per_metre
