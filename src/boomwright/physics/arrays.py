"""The array types that every law takes and gives back, and the check that most share."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Complexes",
    "Floats",
    "FloatsLike",
    "above_zero",
    "floats",
    "laplace",
    "not_negative",
]

Floats = NDArray[np.float64]
FloatsLike = float | Floats
Complexes = NDArray[np.complex128]


def floats(value: FloatsLike) -> Floats:
    """Value as an array of float64, shape kept.

    Parameters
    ----------
    value : float or array, any shape
        Numbers [any unit].

    Returns
    -------
    array, same shape
        The same numbers; a plain float becomes an array of shape ().

    Examples
    --------
    >>> floats(3).shape
    ()
    """
    return np.asarray(value, dtype=np.float64)


def above_zero(value: FloatsLike, what: str, unit: str = "") -> Floats:
    """Value as an array, once every number in it is above zero.

    Parameters
    ----------
    value : float or array, any shape
        Numbers [any unit].
    what : str
        What they are, for the message.
    unit : str
        Their unit, empty for a plain number.

    Returns
    -------
    array, same shape
        The same numbers.

    Raises
    ------
    ValueError
        If a number is 0, below 0 or not a number.

    Examples
    --------
    >>> float(above_zero(4.0, "load", "Ω"))
    4.0
    >>> above_zero(0.0, "load", "Ω")
    Traceback (most recent call last):
    ValueError: load: got 0 Ω, must be above 0 Ω
    """
    numbers = floats(value)
    if not (numbers > 0.0).all():
        raise ValueError(_refused(numbers, what, unit, "above 0"))
    return numbers


def laplace(frequency: FloatsLike) -> Complexes:
    """Complex frequency of sines, the s of a circuit's equations.

    Parameters
    ----------
    frequency : float or array, any shape
        Frequency [Hz], above 0.

    Returns
    -------
    array of complex, same shape
        2 pi j f [1/s].

    Raises
    ------
    ValueError
        If a frequency is not above 0.

    Examples
    --------
    >>> round(abs(complex(laplace(50.0))), 2)
    314.16
    """
    return np.asarray(2j * np.pi * above_zero(frequency, "frequency", "Hz"), dtype=np.complex128)


def not_negative(value: FloatsLike, what: str, unit: str = "") -> Floats:
    """Value as an array, once no number in it is below zero.

    Parameters
    ----------
    value : float or array, any shape
        Numbers [any unit].
    what : str
        What they are, for the message.
    unit : str
        Their unit, empty for a plain number.

    Returns
    -------
    array, same shape
        The same numbers.

    Raises
    ------
    ValueError
        If a number is below 0 or not a number.

    Examples
    --------
    >>> float(not_negative(0.0, "power", "W"))
    0.0
    >>> not_negative(-2.0, "power", "W")
    Traceback (most recent call last):
    ValueError: power: got -2 W, must be 0 W or more
    """
    numbers = floats(value)
    if not (numbers >= 0.0).all():
        raise ValueError(_refused(numbers, what, f"{unit} or more", "0", shown=unit))
    return numbers


def _refused(
    numbers: Floats, what: str, unit: str, allowed: str, *, shown: str | None = None
) -> str:
    worst = f"{np.min(numbers):g} {unit if shown is None else shown}".rstrip()
    return f"{what}: got {worst}, must be {' '.join(f'{allowed} {unit}'.split())}"
