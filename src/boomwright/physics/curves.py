"""What is read off a response: its corner, where two meet, and the least of an impedance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from boomwright.physics.arrays import Complexes, Floats, above_zero, floats

__all__ = ["Least", "crossing", "decibels", "least_impedance", "response_corner"]

_SILENCE = 1e-15


@dataclass(frozen=True, eq=False)
class Least:
    """The least impedance over a band.

    Parameters
    ----------
    impedance : array
        Size of the impedance [Ω].
    frequency : array
        Where [Hz].
    """

    impedance: Floats
    frequency: Floats


def decibels(ratio: Complexes | Floats) -> Floats:
    """Level of a ratio.

    Parameters
    ----------
    ratio : array, any shape
        Ratio of two like quantities [1]; silence reads -300 dB.

    Returns
    -------
    array, same shape
        20 log10 of its size [dB].

    References
    ----------
    .. [1] Definition of the decibel.

    Examples
    --------
    >>> round(float(decibels(np.array(0.5))), 2)
    -6.02
    """
    return floats(20.0 * np.log10(np.maximum(np.abs(ratio), _SILENCE)))


def least_impedance(
    frequency: Floats, impedance: Complexes, *, low: float = 20.0, high: float = 20e3
) -> Least:
    """Least impedance that an amplifier sees, and at which frequency.

    Read at the given frequencies: give them closer than the dips are wide.

    Parameters
    ----------
    frequency : array, shape (n,)
        Frequencies [Hz], rising.
    impedance : array of complex, shape (..., n)
        Impedance [Ω].
    low, high : float
        Band that counts [Hz].

    Returns
    -------
    Least
        Arrays of shape (...).

    Raises
    ------
    ValueError
        If no frequency lies in the band.

    References
    ----------
    .. [1] IEC 60268-5, clause 16.1: least modulus in the rated range (seen second-hand).

    Examples
    --------
    >>> at = np.array([100.0, 1000.0, 5000.0])
    >>> found = least_impedance(at, np.array([8.0, 6.4 + 0.5j, 20.0]))
    >>> round(float(found.impedance), 3), float(found.frequency)
    (6.42, 1000.0)
    """
    hertz = above_zero(frequency, "frequency", "Hz")
    inside = (hertz >= low) & (hertz <= high)
    if not inside.any():
        raise ValueError(f"frequencies: got none from {low:g} to {high:g} Hz")
    size = np.where(inside, np.abs(impedance), np.inf)
    return Least(impedance=floats(size.min(axis=-1)), frequency=hertz[size.argmin(axis=-1)])


def response_corner(
    frequency: Floats,
    level: Floats,
    *,
    drop_db: float = 3.0103,
    side: Literal["low", "high"] = "high",
) -> Floats:
    """Frequency at which a level has fallen by so much below what counts as 0.

    Looked for from inside the band outwards, so that a peak beyond does not count as more band.

    Parameters
    ----------
    frequency : array, shape (n,)
        Frequencies [Hz], rising.
    level : array, shape (..., n)
        Level over the one in the band [dB].
    drop_db : float
        How much is lost at the corner [dB].
    side : "low" or "high"
        Whether the lower or the upper end of the band is wanted.

    Returns
    -------
    array, shape (...)
        Frequency [Hz], between points by the logarithm; not a number where it never falls.

    References
    ----------
    .. [1] Definition of a corner; any text on filters.

    Examples
    --------
    First order at 1 kHz:

    >>> at = np.geomspace(100.0, 10e3, 81)
    >>> round(float(response_corner(at, decibels(1.0 / (1.0 + 1j * at / 1000.0)))))
    1000
    """
    hertz, levels = above_zero(frequency, "frequency", "Hz"), floats(level) + drop_db
    if side == "low":
        hertz, levels = hertz[::-1], levels[..., ::-1]
    # The band is where the level is at its best; from there outwards the first fall counts.
    start = np.argmax(levels, axis=-1)[..., np.newaxis]
    places = np.arange(hertz.size)
    return _first(hertz, levels, (levels[..., :-1] >= 0.0) & (levels[..., 1:] < 0.0)
                  & (places[:-1] >= start))  # fmt: skip


def crossing(frequency: Floats, falling: Floats, rising: Floats) -> Floats:
    """Frequency at which one level falls below another for the first time.

    Parameters
    ----------
    frequency : array, shape (n,)
        Frequencies [Hz], rising.
    falling, rising : array, shape (..., n)
        Level that is the louder one at first, and the one that takes over [dB].

    Returns
    -------
    array, shape (...)
        Frequency [Hz]; not a number where they never cross.

    References
    ----------
    .. [1] Definition; common practice, no source.

    Examples
    --------
    >>> at = np.array([1000.0, 2000.0, 4000.0])
    >>> round(float(crossing(at, np.array([0.0, -3.0, -9.0]), np.array([-9.0, -3.0, 0.0]))))
    2000
    """
    gap = floats(falling) - floats(rising)
    falls = (gap[..., :-1] >= 0.0) & (gap[..., 1:] < 0.0)
    return _first(above_zero(frequency, "frequency", "Hz"), gap, falls)


def _first(hertz: Floats, levels: Floats, falls: np.ndarray) -> Floats:
    at = np.argmax(falls, axis=-1)[..., np.newaxis]
    before, after = (np.take_along_axis(levels, at + step, axis=-1)[..., 0] for step in (0, 1))
    first = at[..., 0]
    step = before - after
    # Where nothing falls the first two points say nothing, and their share may be anything.
    share = np.divide(before, step, out=np.zeros_like(before), where=step != 0.0).clip(0.0, 1.0)
    found = hertz[first] * (hertz[first + 1] / hertz[first]) ** share
    return floats(np.where(falls.any(axis=-1), found, np.nan))
