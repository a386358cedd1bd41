"""Time near loud sound: what the published limits allow an ear."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, floats
from boomwright.physics.nature import REFERENCE_PRESSURE

__all__ = [
    "allowed_time_niosh",
    "allowed_time_osha",
    "noise_dose",
    "sound_exposure",
    "weekly_time_who",
]

_SECONDS_PER_HOUR = 3600.0


def allowed_time_niosh(level: FloatsLike) -> Floats:
    """Time in a day after which a steady level fills the NIOSH recommended dose.

    85 dB(A) for 8 hours, half the time for every 3 dB. Made for work over 40 years, not for
    children or already hurt ears; no time is safe at 140 dB.

    Parameters
    ----------
    level : float or array, any shape
        A-weighted level at the ear [dB].

    Returns
    -------
    array, same shape
        Time [s].

    Notes
    -----
    8 h 2^((85 - L)/3).

    References
    ----------
    .. [1] NIOSH, Criteria for a Recommended Standard: Occupational Noise Exposure, Publication
       98-126, 1998 (values seen on the institute's meter page).

    Examples
    --------
    100 dB(A) for 15 minutes.

    >>> float(allowed_time_niosh(100.0)) / 60
    15.0
    """
    return 8.0 * _SECONDS_PER_HOUR * 2.0 ** ((85.0 - floats(level)) / 3.0)


def allowed_time_osha(level: FloatsLike) -> Floats:
    """Time in a day after which a steady level fills the OSHA permissible dose.

    90 dB(A) for 8 hours, half the time for every 5 dB: a legal limit at work in one country,
    laxer than `allowed_time_niosh`. Above 115 dB(A) no steady sound is permitted at all.

    Parameters
    ----------
    level : float or array, any shape
        A-weighted level at the ear [dB].

    Returns
    -------
    array, same shape
        Time [s].

    Notes
    -----
    8 h 2^((90 - L)/5).

    References
    ----------
    .. [1] US 29 CFR 1910.95, table G-16 (times from memory).

    Examples
    --------
    >>> float(allowed_time_osha(95.0)) / 3600
    4.0
    """
    return 8.0 * _SECONDS_PER_HOUR * 2.0 ** ((90.0 - floats(level)) / 5.0)


def weekly_time_who(level: FloatsLike, *, limit: FloatsLike = 80.0) -> Floats:
    """Weekly listening time that fills the WHO-ITU allowance.

    80 dB(A) for 40 hours a week for adults; pass a limit of 75 dB(A) for children and
    sensitive listeners. Equal energy: every 3 dB halves the time.

    Parameters
    ----------
    level : float or array, any shape
        A-weighted level at the ear [dB].
    limit : float or array, any shape
        Level allowed for 40 hours [dB].

    Returns
    -------
    array, broadcast shape
        Time [s]; more than a week means no limit is reached.

    Notes
    -----
    40 h 10^(-(L - limit)/10).

    References
    ----------
    .. [1] ITU-T H.870 with the World Health Organization, Guidelines for safe listening
       devices/systems (80 dB and 40 h seen in secondary texts).

    Examples
    --------
    At 95 dB(A): 76 minutes in a week.

    >>> round(float(weekly_time_who(95.0)) / 60, 1)
    75.9
    """
    excess = floats(level) - floats(limit)
    return 40.0 * _SECONDS_PER_HOUR * 10.0 ** (-excess / 10.0)


def noise_dose(levels: FloatsLike, durations: FloatsLike) -> Floats:
    """Share of the NIOSH daily dose that stretches of sound use up together.

    The order of the stretches does not matter and no rest between them is credited.

    Parameters
    ----------
    levels : array, any shape; the last axis holds the stretches
        A-weighted level of each stretch [dB].
    durations : array, broadcasts with `levels`
        Length of each stretch [s].

    Returns
    -------
    array, shape without the last axis
        Dose [1]; 1 is 100 %.

    Notes
    -----
    sum t/T(L), T from `allowed_time_niosh`.

    References
    ----------
    .. [1] NIOSH, Criteria for a Recommended Standard: Occupational Noise Exposure, Publication
       98-126, 1998, dose equation (named on a page seen).

    Examples
    --------
    An hour at 91 dB(A) and two at 88 dB(A) are exactly a day's dose.

    >>> round(float(noise_dose(np.array([91.0, 88.0]), np.array([3600.0, 7200.0]))), 6)
    1.0
    """
    shares = np.atleast_1d(floats(durations) / allowed_time_niosh(levels))
    return floats(np.sum(shares, axis=-1))


def sound_exposure(level: FloatsLike, duration: FloatsLike) -> Floats:
    """Sound exposure of a steady level: squared pressure times time.

    The quantity in which weekly allowances are written: 1.6 Pa²h for adults.

    Parameters
    ----------
    level : float or array, any shape
        Level re 20 µPa, usually A-weighted [dB].
    duration : float or array, any shape
        Time [s].

    Returns
    -------
    array, broadcast shape
        Exposure [Pa² s].

    Notes
    -----
    p0² 10^(L/10) t.

    References
    ----------
    .. [1] IEC 61672-1, definition of sound exposure (from memory).

    Examples
    --------
    80 dB(A) for 40 hours is 1.6 Pa²h.

    >>> round(float(sound_exposure(80.0, 40 * 3600.0)) / 3600, 2)
    1.6
    """
    return REFERENCE_PRESSURE**2 * 10.0 ** (floats(level) / 10.0) * floats(duration)
