"""Preferred numbers: the values that resistors and capacitors are sold in."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from boomwright.physics.arrays import Floats, FloatsLike, floats

__all__ = [
    "Series",
    "nearest_preferred",
    "preferred_at_least",
    "preferred_at_most",
    "preferred_values",
    "series_tolerance",
]

Series = Literal["E6", "E12", "E24", "E96"]
"""Name of a series: the count of values in a decade."""

# Hundredths of one decade. E6, E12 and E24 are the standard's own list and not a rounded power
# law, which would give 260 for 270 and seven others wrong; E96 is the rounded law.
_E24 = np.array(
    [
        *(100, 110, 120, 130, 150, 160, 180, 200, 220, 240, 270, 300),
        *(330, 360, 390, 430, 470, 510, 560, 620, 680, 750, 820, 910),
    ]
)
_HUNDREDTHS: dict[str, NDArray[np.int_]] = {
    "E6": _E24[::4],
    "E12": _E24[::2],
    "E24": _E24,
    "E96": np.rint(100.0 * 10.0 ** (np.arange(96) / 96.0)).astype(np.int_),
}
_TOLERANCE = {"E6": 0.20, "E12": 0.10, "E24": 0.05, "E96": 0.01}

# A value computed a few roundings away from a preferred one still counts as that one.
_SAME = 1e-9


def _hundredths(series: Series) -> NDArray[np.int_]:
    if series not in _HUNDREDTHS:
        raise ValueError(f"series of preferred numbers: got {series!r}, must be E6, E12, E24, E96")
    return _HUNDREDTHS[series]


def preferred_values(series: Series) -> Floats:
    """Values of one decade of a series, from 1 to below 10.

    The list of the standard; every other decade is this one times a power of ten.

    Parameters
    ----------
    series : "E6", "E12", "E24" or "E96"
        Name of the series.

    Returns
    -------
    array, shape (6,), (12,), (24,) or (96,)
        Values [1].

    Raises
    ------
    ValueError
        If the series is not one of the four.

    References
    ----------
    .. [1] IEC 60063, Preferred number series for resistors and capacitors (lists from secondary
       print, standard not opened).

    Examples
    --------
    >>> preferred_values("E6").tolist()
    [1.0, 1.5, 2.2, 3.3, 4.7, 6.8]
    """
    return _hundredths(series) / 100.0


def series_tolerance(series: Series) -> float:
    """Part tolerance that belongs to a series.

    The tolerance at which neighbours in the list just about meet; a part may be sold tighter.

    Parameters
    ----------
    series : "E6", "E12", "E24" or "E96"
        Name of the series.

    Returns
    -------
    float
        Tolerance as a share, one side [1].

    Raises
    ------
    ValueError
        If the series is not one of the four.

    References
    ----------
    .. [1] IEC 60063 (not opened).

    Examples
    --------
    >>> series_tolerance("E12")
    0.1
    """
    _hundredths(series)
    return _TOLERANCE[series]


def _steps(value: FloatsLike, series: Series) -> tuple[Floats, Floats, Floats]:
    """Target, greatest listed value at or below it, least listed value at or above it."""
    target = floats(value)
    if not np.all((target > 0.0) & np.isfinite(target)):
        wrong = target[~((target > 0.0) & np.isfinite(target))].flat[0]
        raise ValueError(f"value to round: got {wrong:g}, must be finite and above 0")
    list_ = np.concatenate([_hundredths(series), [1000]])
    decade = np.floor(np.log10(target))
    mantissa = 100.0 * target / 10.0**decade
    low = np.searchsorted(list_, mantissa * (1.0 + _SAME), side="right") - 1
    high = np.searchsorted(list_, mantissa * (1.0 - _SAME), side="left")
    return target, _scaled(list_[low], decade), _scaled(list_[high], decade)


def _scaled(hundredths: NDArray[np.int_], decade: Floats) -> Floats:
    # One multiplication or one division by an exact power of ten returns the same double as the
    # literal "4.7e-6", so that a listed value compares equal to itself.
    power = 10.0 ** np.abs(decade - 2.0)
    return np.where(decade >= 2.0, hundredths * power, hundredths / power)


def nearest_preferred(value: FloatsLike, series: Series) -> Floats:
    """Preferred value nearest to a wanted one, by ratio.

    Ratio and not difference decides, as parts are used by ratio: 9.06 goes to 10 in E12, though
    8.2 is nearer by difference.

    Parameters
    ----------
    value : float or array, any shape
        Wanted value, above 0 [any unit].
    series : "E6", "E12", "E24" or "E96"
        Name of the series.

    Returns
    -------
    array, same shape
        Nearest value of the series [same unit].

    Raises
    ------
    ValueError
        If a value is not finite and positive, or the series is unknown.

    Notes
    -----
    The pick changes at the geometric mean of two neighbours.

    References
    ----------
    .. [1] IEC 60063 (lists; the rounding rule is ours).

    Examples
    --------
    >>> nearest_preferred(np.array([319.0, 5.0e3, 4.6e-6]), "E24").tolist()
    [330.0, 5100.0, 4.7e-06]
    """
    target, low, high = _steps(value, series)
    return np.where(target / low <= high / target, low, high)


def preferred_at_least(value: FloatsLike, series: Series) -> Floats:
    """Smallest preferred value that is not below a wanted one.

    A wanted value within 1e-9 of a listed one counts as that one.

    Parameters
    ----------
    value : float or array, any shape
        Wanted value, above 0 [any unit].
    series : "E6", "E12", "E24" or "E96"
        Name of the series.

    Returns
    -------
    array, same shape
        Value of the series [same unit].

    Raises
    ------
    ValueError
        If a value is not finite and positive, or the series is unknown.

    References
    ----------
    .. [1] IEC 60063 (lists).

    Examples
    --------
    >>> float(preferred_at_least(184.0, "E96"))
    187.0
    """
    return _steps(value, series)[2]


def preferred_at_most(value: FloatsLike, series: Series) -> Floats:
    """Greatest preferred value that is not above a wanted one.

    A wanted value within 1e-9 of a listed one counts as that one.

    Parameters
    ----------
    value : float or array, any shape
        Wanted value, above 0 [any unit].
    series : "E6", "E12", "E24" or "E96"
        Name of the series.

    Returns
    -------
    array, same shape
        Value of the series [same unit].

    Raises
    ------
    ValueError
        If a value is not finite and positive, or the series is unknown.

    References
    ----------
    .. [1] IEC 60063 (lists).

    Examples
    --------
    >>> float(preferred_at_most(5000.0, "E24"))
    4700.0
    """
    return _steps(value, series)[1]
