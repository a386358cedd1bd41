"""Sound levels: weighting, distance, sums, the place of the box."""

from __future__ import annotations

from typing import Final

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats, not_negative

__all__ = [
    "PLACES",
    "a_weighting",
    "boundary_gain_power",
    "boundary_gain_velocity",
    "c_weighting",
    "coherent_gain",
    "distance_loss",
    "level_sum",
    "sound_level",
]

_DOUBLING = float(10.0 * np.log10(2.0))

PLACES: Final = {
    "open": -_DOUBLING,
    "floor": 0.0,
    "floor-wall": _DOUBLING,
    "corner": 2.0 * _DOUBLING,
}
"""Level at each place of the box over its half-space level at the same radiated power [dB].

Driver sensitivity is measured in a large wall, half-space, so a box on a floor, or against a
wall, is the zero: -3, 0, +3, +6 dB. "open" is a box that hangs or stands on a pole. Walls must
be hard and closer than about an eighth of a wavelength."""

_POLE_1 = 20.598997

_POLE_2 = 107.65265

_POLE_3 = 737.86223

_POLE_4 = 12194.217


def a_weighting(frequency: FloatsLike) -> Floats:
    """A-weighting: what a sound-level meter set to dB(A) adds to a level at a frequency.

    The design goal of the standard, 0 dB at 1 kHz. The standard's table belongs to the exact
    frequencies 10^(n/10) Hz; at nominal ones (31.5 Hz) it differs by up to 0.15 dB, and by up to
    0.3 dB below 20 Hz.

    Parameters
    ----------
    frequency : float or array, any shape
        Frequency [Hz], 0 or above.

    Returns
    -------
    array, same shape
        Weighting [dB]; minus infinity at 0 Hz.

    Raises
    ------
    ValueError
        If a frequency is below 0.

    Notes
    -----
    Two poles each at 20.60 and 12194 Hz, one each at 107.7 and 737.9 Hz, four zeros at 0.

    References
    ----------
    .. [1] IEC 61672-1, Electroacoustics - Sound level meters, annex E and table 3 (table seen
       in secondary copies; pole frequencies from memory).

    Examples
    --------
    Table 3 of [1]: -19.1 dB at 100 Hz.

    >>> round(float(a_weighting(100.0)), 1)
    -19.1
    """
    return _decibels(_a_response(not_negative(frequency, "frequency", "Hz") ** 2)) - float(
        20.0 * np.log10(_a_response(floats(1000.0**2)))
    )


def c_weighting(frequency: FloatsLike) -> Floats:
    """C-weighting: what a sound-level meter set to dB(C) adds to a level at a frequency.

    The design goal of the standard, 0 dB at 1 kHz; see `a_weighting` for exact frequencies.

    Parameters
    ----------
    frequency : float or array, any shape
        Frequency [Hz], 0 or above.

    Returns
    -------
    array, same shape
        Weighting [dB]; minus infinity at 0 Hz.

    Raises
    ------
    ValueError
        If a frequency is below 0.

    Notes
    -----
    Two poles each at 20.60 and 12194 Hz, two zeros at 0.

    References
    ----------
    .. [1] IEC 61672-1, Electroacoustics - Sound level meters, annex E and table 3 (table seen
       in secondary copies; pole frequencies from memory).

    Examples
    --------
    Table 3 of [1]: -3.0 dB at 31.6 Hz.

    >>> round(float(c_weighting(31.62)), 1)
    -3.0
    """
    return _decibels(_c_response(not_negative(frequency, "frequency", "Hz") ** 2)) - float(
        20.0 * np.log10(_c_response(floats(1000.0**2)))
    )


def distance_loss(distance: FloatsLike, reference: FloatsLike = 1.0) -> Floats:
    """Decibels lost on the way from a reference distance to a listener.

    Point source in the open, no echo. Indoors the loss stops growing past the distance at
    which the room's own sound takes over, a metre or two in a small room.

    Parameters
    ----------
    distance : float or array, any shape
        Distance of the listener [m], above 0.
    reference : float or array, any shape
        Distance at which the level is known [m], above 0.

    Returns
    -------
    array, broadcast shape
        Loss [dB], to be subtracted; below 0 nearer than the reference.

    Raises
    ------
    ValueError
        If a distance is not above 0.

    Notes
    -----
    20 log10(r/r0). Nearer than about three times the size of the box it is too pessimistic.

    References
    ----------
    .. [1] L. E. Kinsler, A. R. Frey et al., Fundamentals of Acoustics, 4th ed., Wiley, 2000
       (spherical waves, from memory).

    Examples
    --------
    Twice the distance costs 6.02 dB.

    >>> round(float(distance_loss(2.0)), 2)
    6.02
    """
    far = above_zero(distance, "distance", "m")
    return floats(20.0 * np.log10(far / above_zero(reference, "reference distance", "m")))


def sound_level(sensitivity: FloatsLike, *, power: FloatsLike, distance: FloatsLike) -> Floats:
    """Level of a loudspeaker at a listener.

    Linear driver, point source in the open; coil heating, travel limits and the place of the
    box are added elsewhere.

    Parameters
    ----------
    sensitivity : float or array, any shape
        Level at 1 W and 1 m [dB].
    power : float or array, any shape
        Power into the driver [W], 0 or above.
    distance : float or array, any shape
        Distance of the listener [m], above 0.

    Returns
    -------
    array, broadcast shape
        Level re 20 µPa [dB]; minus infinity without power.

    Raises
    ------
    ValueError
        If a power is below 0 or a distance is not above 0.

    Notes
    -----
    S + 10 log10(P) - 20 log10(r).

    References
    ----------
    .. [1] Definition of sensitivity; inverse square law.

    Examples
    --------
    88 dB at 1 W and 1 m, with 10 W, at 4 m: 85.96 dB.

    >>> round(float(sound_level(88.0, power=10.0, distance=4.0)), 2)
    85.96
    """
    gain = 0.5 * _decibels(not_negative(power, "power", "W"))
    return floats(sensitivity) + gain - distance_loss(distance)


def level_sum(levels: FloatsLike, axis: int = -1) -> Floats:
    """Level of several sources that know nothing of each other.

    Powers add: right for different signals, and for the same signal well above the frequency
    where the sources are half a wavelength apart. For one signal from close sources see
    `coherent_gain`.

    Parameters
    ----------
    levels : array, any shape
        Level of each source [dB]; minus infinity for a silent one.
    axis : int
        Axis along which the sources lie.

    Returns
    -------
    array, shape without `axis`
        Level of all together [dB].

    Notes
    -----
    10 log10(sum 10^(L/10)), worked from the loudest so that it cannot overflow.

    References
    ----------
    .. [1] L. E. Kinsler, A. R. Frey et al., Fundamentals of Acoustics, 4th ed., Wiley, 2000
       (incoherent sources, from memory).

    Examples
    --------
    62 dB and 73 dB make 73.3 dB.

    >>> round(float(level_sum(np.array([62.0, 73.0]))), 1)
    73.3
    """
    each = np.atleast_1d(floats(levels))
    loudest = np.max(each, axis=axis, keepdims=True)
    pivot = np.where(np.isfinite(loudest), loudest, 0.0)
    total = np.sum(10.0 ** ((each - pivot) / 10.0), axis=axis)
    return floats(0.5 * _decibels(total) + np.squeeze(pivot, axis=axis))


def coherent_gain(count: FloatsLike) -> Floats:
    """Rise in level when equal sources with one signal stand close together.

    Pressures add in full: an upper limit, reached where the sources are much less than half a
    wavelength apart and equally far from the listener.

    Parameters
    ----------
    count : float or array, any shape
        Number of equal sources [1], above 0.

    Returns
    -------
    array, same shape
        Gain over one source [dB].

    Raises
    ------
    ValueError
        If a count is not above 0.

    Notes
    -----
    20 log10(n). Half of it comes from the power the added sources take, half from the better
    coupling to the air.

    References
    ----------
    .. [1] L. L. Beranek, Acoustics, McGraw-Hill, 1954 (from memory).

    Examples
    --------
    >>> round(float(coherent_gain(2.0)), 1)
    6.0
    """
    return 20.0 * np.log10(above_zero(count, "number of sources"))


def boundary_gain_power(boundaries: FloatsLike) -> Floats:
    """Rise in level from hard surfaces at the source, at a fixed radiated power.

    The same power in half, a quarter, an eighth of the space: the convention of directivity
    Q = 2, 4, 8, and the one used here for places of a box.

    Parameters
    ----------
    boundaries : float or array, any shape
        Number of surfaces at right angles next to the source [1], 0 to 3.

    Returns
    -------
    array, same shape
        Gain over free space [dB]: 0, 3, 6, 9.

    Notes
    -----
    10 log10(2^n).

    References
    ----------
    .. [1] L. E. Kinsler, A. R. Frey et al., Fundamentals of Acoustics, 4th ed., Wiley, 2000
       (image sources, from memory).

    Examples
    --------
    >>> round(float(boundary_gain_power(1.0)), 2)
    3.01
    """
    return _DOUBLING * floats(boundaries)


def boundary_gain_velocity(boundaries: FloatsLike) -> Floats:
    """Rise in level from hard surfaces at the source, at a fixed volume velocity.

    A cone moves the same whatever the walls do, so far below the frequency where the wall is
    a quarter wavelength away each wall doubles the pressure. The ideal limit at low bass.

    Parameters
    ----------
    boundaries : float or array, any shape
        Number of surfaces at right angles next to the source [1], 0 to 3.

    Returns
    -------
    array, same shape
        Gain over free space [dB]: 0, 6, 12, 18.

    Notes
    -----
    20 log10(2^n). Half of it is radiated power that the source gains.

    References
    ----------
    .. [1] L. E. Kinsler, A. R. Frey et al., Fundamentals of Acoustics, 4th ed., Wiley, 2000
       (image sources, from memory).

    Examples
    --------
    >>> round(float(boundary_gain_velocity(1.0)), 2)
    6.02
    """
    return 2.0 * _DOUBLING * floats(boundaries)


def _c_response(squared: Floats) -> Floats:
    # Written as quotients so that very high frequencies cannot overflow.
    low = squared / (squared + _POLE_1**2)
    return low * (_POLE_4**2 / (squared + _POLE_4**2))


def _a_response(squared: Floats) -> Floats:
    middle = np.sqrt(squared / (squared + _POLE_2**2) * (squared / (squared + _POLE_3**2)))
    return _c_response(squared) * middle


def _decibels(ratio: Floats) -> Floats:
    """20 log10 of a ratio, minus infinity at 0."""
    numbers = floats(ratio)
    return 20.0 * np.log10(numbers, out=np.full_like(numbers, -np.inf), where=numbers > 0.0)
