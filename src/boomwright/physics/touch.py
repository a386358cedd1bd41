"""Hot surfaces: what burns a hand, and what people may touch."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any, Literal

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats
from boomwright.physics.nature import kelvin

__all__ = ["TouchMaterial", "burn_limit", "touch_limit"]

TouchMaterial = Literal["metal", "glass", "plastic", "wood"]
"""What a hand touches. Wood takes the limits of plastic, which are on the safe side for it."""


@cache
def _tables() -> dict[str, dict[str, Any]]:
    return tomllib.loads(files("boomwright.physics.data").joinpath("touch.toml").read_text("utf-8"))


def _steps(table: str, material: str) -> tuple[Floats, Floats]:
    """Logarithm of the times of touch, and the temperatures [K] of a material."""
    facts = _tables()[table]
    rows = facts["temperatures_degc"]
    key = "plastic" if material == "wood" else material
    if key not in rows:
        raise ValueError(
            f"touched material: got {material!r}, must be metal, glass, plastic or wood"
        )
    return np.log(floats(facts["durations_s"])), kelvin(floats(rows[key]))


def burn_limit(material: TouchMaterial, *, duration: FloatsLike) -> Floats:
    """Surface temperature that burns skin in a given time of touch.

    Published burn rows, read between on a logarithmic time scale: a hard warning and no design
    target, for which `touch_limit` is meant. Children and old people burn sooner.

    Parameters
    ----------
    material : "metal", "glass", "plastic" or "wood"
        What is touched; wood takes the figures of plastic.
    duration : float or array, any shape
        Time of touch, above 0 [s]; held at the end values under 1 s and over 8 h.

    Returns
    -------
    array, same shape
        Temperature [K], ±2 K.

    Raises
    ------
    ValueError
        If the material is unknown or a duration is not positive.

    Notes
    -----
    Under 1 s the law stays at the 1 s row, on the safe side.

    References
    ----------
    .. [1] Burn-time table, Shriners Burn Institute, as posted on a product-safety mailing list.
    .. [2] ISO 13732-1 (from memory), for one minute and longer.

    Examples
    --------
    >>> [round(float(burn_limit("metal", duration=t)) - 273.15) for t in (1.0, 5.0, 60.0)]
    [68, 60, 51]
    """
    times, limits = _steps("burn", material)
    return np.interp(np.log(above_zero(duration, "time of touch", "s")), times, limits)


def touch_limit(material: TouchMaterial, *, duration: FloatsLike) -> Floats:
    """Highest temperature of a part that people touch, for a given time of touch.

    Steps of the safety standard for audio and computer equipment, class TS1, with the room at
    25 °C.

    Parameters
    ----------
    material : "metal", "glass", "plastic" or "wood"
        What is touched; wood takes the figures of plastic.
    duration : float or array, any shape
        Time of touch, above 0 [s].

    Returns
    -------
    array, same shape
        Temperature [K].

    Raises
    ------
    ValueError
        If the material is unknown or a duration is not positive.

    Notes
    -----
    A step belongs to times below its end: under 1 s, 1 to 10 s, 10 s to 1 min, longer. It is set
    for a touch at its short end, so that near its long end glass exceeds `burn_limit` by 3 K.

    References
    ----------
    .. [1] IEC 62368-1, Table 38 (77 °C for plastic seen quoted; the rest from memory).

    Examples
    --------
    >>> round(float(touch_limit("plastic", duration=5.0)) - 273.15)
    77
    """
    times, limits = _steps("touch", material)
    time = np.log(above_zero(duration, "time of touch", "s"))
    return limits[np.searchsorted(times, time, side="right")]
