"""A sine that is cut flat at the limit of its amplifier, exactly."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, floats, not_negative

__all__ = [
    "SQUARE_WAVE_THD",
    "clipped_power_factor",
    "clipped_sine_power",
    "clipped_sine_thd",
    "clipping_overdrive",
]

SQUARE_WAVE_THD = float(np.sqrt(np.pi**2 / 8.0 - 1.0))
"""Harmonics of a square wave over its fundamental (0.4834): the end of the clipping scale."""

_SERIES_BELOW = 1e-3
_BISECTIONS = 60


def clipped_sine_power(overdrive: FloatsLike) -> Floats:
    """Power of a hard-clipped sine over the power of the largest clean sine.

    Both peaks are cut at the same level and the amplifier recovers at once; slow recovery,
    sagging supplies and soft limiting are left out. Harmonics count as power, as a
    wattmeter counts them.

    Parameters
    ----------
    overdrive : float or array, any shape
        Peak that the sine would have without the limit, over the limit [1]; 0 or above, may
        be infinite.

    Returns
    -------
    array, same shape
        Power over the clean limit [1]: overdrive² up to 1, then towards 2 (square wave).

    Raises
    ------
    ValueError
        If an overdrive is negative.

    Notes
    -----
    With theta = asin(1/g), the mean square of a sine of peak g cut at 1 is
    (2/pi) [g² (theta - sin theta cos theta)/2 + pi/2 - theta]; the result is twice that.

    References
    ----------
    .. [1] Fourier analysis of a clipped sine, computed; any text on signals.

    Examples
    --------
    A sine pushed without end becomes a square wave of twice the power.

    >>> round(float(clipped_sine_power(float("inf"))), 6)
    2.0
    """
    drive = not_negative(overdrive, "overdrive")
    return np.minimum(drive, 1.0) ** 2 * _power_at_angle(_clipping_angle(drive))


def clipped_sine_thd(overdrive: FloatsLike) -> Floats:
    """Total harmonic distortion of a hard-clipped sine, harmonics over fundamental.

    Both peaks are cut at the same level, so only odd harmonics appear; all of them count,
    also those above hearing, which a meter with a band limit would miss.

    Parameters
    ----------
    overdrive : float or array, any shape
        Peak that the sine would have without the limit, over the limit [1]; 0 or above, may
        be infinite.

    Returns
    -------
    array, same shape
        Distortion [1]: 0 up to an overdrive of 1, 0.4834 for a square wave.

    Raises
    ------
    ValueError
        If an overdrive is negative.

    Notes
    -----
    THD = sqrt(2 <v²>/b1² - 1), with the fundamental
    b1 = (4/pi) [g (theta - sin theta cos theta)/2 + cos theta], theta = asin(1/g).

    References
    ----------
    .. [1] Fourier analysis of a clipped sine, computed; any text on signals.

    Examples
    --------
    A square wave has 48.34 % distortion.

    >>> round(100 * float(clipped_sine_thd(float("inf"))), 2)
    48.34
    """
    return _thd_at_angle(_clipping_angle(not_negative(overdrive, "overdrive")))


def clipping_overdrive(distortion: FloatsLike) -> Floats:
    """Overdrive at which a hard-clipped sine has a given distortion.

    Inverse of `clipped_sine_thd`, found by bisection on the clipping angle; good to 1e-6
    above 0.1 % distortion.

    Parameters
    ----------
    distortion : float or array, any shape
        Harmonics over fundamental [1], from 0 to 0.4834.

    Returns
    -------
    array, same shape
        Peak without the limit, over the limit [1]; 1 at no distortion, infinite for a square
        wave.

    Raises
    ------
    ValueError
        If a distortion is outside 0 to 0.4834.

    Notes
    -----
    Solves THD(theta) = distortion for theta = asin(1/g) between 0 and pi/2.

    References
    ----------
    .. [1] Fourier analysis of a clipped sine, computed; any text on signals.

    Examples
    --------
    10 % distortion is 2.17 dB past the clean limit.

    >>> round(20 * float(np.log10(clipping_overdrive(0.10))), 2)
    2.17
    """
    sine = np.sin(_angle_at_thd(distortion))
    return np.divide(1.0, sine, out=np.full_like(sine, np.inf), where=sine > 0.0)


def clipped_power_factor(distortion: FloatsLike) -> Floats:
    """Power at a given distortion over the power at the clean limit.

    Tells what a seller's "power at 10 %" is worth clean: divide by this. Hard limit, steady
    supply; harmonics count as power (counting the fundamental alone gives 1.275 at 10 %).

    Parameters
    ----------
    distortion : float or array, any shape
        Harmonics over fundamental [1], from 0 to 0.4834.

    Returns
    -------
    array, same shape
        Power over the clean limit [1], from 1 to 2.

    Raises
    ------
    ValueError
        If a distortion is outside 0 to 0.4834.

    Notes
    -----
    `clipped_sine_power` at `clipping_overdrive`, without leaving the clipping angle.

    References
    ----------
    .. [1] Fourier analysis of a clipped sine, computed; any text on signals.

    Examples
    --------
    >>> [round(float(clipped_power_factor(distortion)), 4) for distortion in (0.0, 0.01, 0.10)]
    [1.0, 1.0475, 1.2878]
    """
    return _power_at_angle(_angle_at_thd(distortion))


def _clipping_angle(drive: Floats) -> Floats:
    """Phase at which the rising sine meets the limit [rad]; pi/2 where it never does."""
    return np.arcsin(1.0 / np.maximum(drive, 1.0))


def _rise(angle: Floats) -> Floats:
    """(theta - sin theta cos theta)/(2 sin² theta), by series where the quotient loses digits."""
    small = angle < _SERIES_BELOW
    safe = np.where(small, 1.0, angle)
    quotient = (safe - np.sin(safe) * np.cos(safe)) / (2.0 * np.sin(safe) ** 2)
    return np.where(small, angle / 3.0 * (1.0 + 2.0 / 15.0 * angle**2), quotient)


def _power_at_angle(angle: Floats) -> Floats:
    return 4.0 / np.pi * (_rise(angle) + np.pi / 2.0 - angle)


def _thd_at_angle(angle: Floats) -> Floats:
    fundamental = 4.0 / np.pi * (_rise(angle) * np.sin(angle) + np.cos(angle))
    # Rounding can leave the difference a hair below zero for a clean sine.
    return np.sqrt(np.maximum(_power_at_angle(angle) / fundamental**2 - 1.0, 0.0))


def _angle_at_thd(distortion: FloatsLike) -> Floats:
    wanted = floats(distortion)
    outside = wanted[~((wanted >= 0.0) & (wanted <= SQUARE_WAVE_THD))]
    if outside.size:
        raise ValueError(
            f"distortion must be 0 to {SQUARE_WAVE_THD:.4f} (a square wave), got {outside[0]:g}"
        )
    low, high = np.zeros_like(wanted), np.full_like(wanted, np.pi / 2.0)
    for _ in range(_BISECTIONS):
        middle = 0.5 * (low + high)
        more = _thd_at_angle(middle) > wanted
        low, high = np.where(more, middle, low), np.where(more, high, middle)
    # Just short of pi/2 the distortion is below the rounding error, so the ends are set.
    angle = np.where(wanted == 0.0, np.pi / 2.0, 0.5 * (low + high))
    return np.where(wanted == SQUARE_WAVE_THD, 0.0, angle)
