"""Several drivers heard at once: paths, polarity, the sum of their sound, and how they agree."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from boomwright.physics.arrays import (
    Complexes,
    Floats,
    FloatsLike,
    above_zero,
    floats,
    laplace,
    not_negative,
)
from boomwright.physics.nature import ROOM_TEMPERATURE, speed_of_sound

__all__ = ["path_length", "phase_between", "summed_pressure"]


def path_length(
    distance: FloatsLike, *, aside: FloatsLike = 0.0, offset: FloatsLike = 0.0
) -> Floats:
    """Way from a driver to a listener who faces the cabinet.

    Small sources: the way is counted from the point where the driver's sound starts.

    Parameters
    ----------
    distance : float or array, any shape
        Listener to the front panel [m], above 0.
    aside : float or array, any shape
        Driver beside, above or below the listener's axis [m].
    offset : float or array, any shape
        How far behind the panel its sound starts [m], 0 or above.

    Returns
    -------
    array, broadcast shape
        Way [m].

    Raises
    ------
    ValueError
        If the distance is not above 0 or the offset is below 0.

    Notes
    -----
    sqrt((distance + offset)² + aside²).

    References
    ----------
    .. [1] Pythagoras.

    Examples
    --------
    >>> round(float(path_length(1.0, aside=0.15, offset=0.02)), 4)
    1.031
    """
    away = above_zero(distance, "distance", "m") + not_negative(offset, "offset", "m")
    return np.hypot(away, floats(aside))


def summed_pressure(
    pressures: Sequence[Complexes],
    frequency: FloatsLike,
    *,
    paths: Sequence[FloatsLike],
    reversed_: Sequence[bool] | None = None,
    temperature: FloatsLike = ROOM_TEMPERATURE,
) -> Complexes:
    """Sound of several drivers at one listener, phase and way counted.

    Each driver is a small source whose sound falls with its own way; no walls, no edges.

    Parameters
    ----------
    pressures : sequence of array of complex, any shape
        Sound pressure of each at 1 m [Pa], phase from its own place.
    frequency : float or array, any shape
        Frequency [Hz], above 0.
    paths : sequence of float or array, any shape
        Way of each to the listener [m], above 0.
    reversed_ : sequence of bool, optional
        Which have plus and minus swapped; none without.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array of complex, broadcast shape
        Pressure at the listener [Pa], phase counted from the nearest driver.

    Raises
    ------
    ValueError
        If a frequency or a way is not above 0, or the sequences differ in length.

    Notes
    -----
    Sum of ± p e^(-s (path - nearest)/c)/path.

    References
    ----------
    .. [1] Point sources: any text on acoustics.

    Examples
    --------
    Two alike in phase gain 6.02 dB; half a wavelength farther away one cancels the other.

    >>> one = np.array([1.0 + 0.0j])
    >>> both = summed_pressure([one, one], 1000.0, paths=[1.0, 1.0])
    >>> round(20 * float(np.log10(abs(both[0]))), 2)
    6.02
    >>> half = float(speed_of_sound(ROOM_TEMPERATURE)) / 2000.0
    >>> round(float(abs(summed_pressure([one, one], 1000.0, paths=[50.0, 50.0 + half]))[0]), 4)
    0.0001
    """
    signs = [False] * len(pressures) if reversed_ is None else list(reversed_)
    if not len(pressures) == len(paths) == len(signs):
        raise ValueError(
            f"drivers: got {len(pressures)} pressures, {len(paths)} ways and {len(signs)} "
            "polarities, must be as many of each"
        )
    s, ways = laplace(frequency), [above_zero(path, "way to the listener", "m") for path in paths]
    nearest = np.min(np.stack(np.broadcast_arrays(*ways)), axis=0)
    speed = speed_of_sound(temperature)
    total: Complexes = np.zeros((), dtype=np.complex128)
    for pressure, way, swapped in zip(pressures, ways, signs, strict=True):
        delay = np.exp(-s * (way - nearest) / speed)
        total = total + (-1.0 if swapped else 1.0) * pressure * delay / way
    return np.asarray(total, dtype=np.complex128)


def phase_between(one: Complexes, other: Complexes) -> Floats:
    """Angle by which one sound leads another.

    Parameters
    ----------
    one, other : array of complex, any shape
        Two sounds [any unit], not silent.

    Returns
    -------
    array, broadcast shape
        Lead of the first, from -pi to pi [rad].

    References
    ----------
    .. [1] Definition.

    Examples
    --------
    >>> round(float(np.degrees(phase_between(np.array(1j), np.array(1.0 + 0j)))))
    90
    """
    return floats(np.angle(one * np.conj(other)))
