"""The trade's own rule for lead-acid: run time falls faster than current rises."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, floats

__all__ = ["peukert_exponent", "peukert_time"]


def peukert_time(
    *,
    capacity_rated: FloatsLike,
    duration_rated: FloatsLike,
    current: FloatsLike,
    exponent: FloatsLike,
) -> Floats:
    """Run time by Peukert's rule in its rated-hour form.

    A power law through the rated point, for a steady current and one battery of lead-acid between
    roughly the 100 h and the 1 h rate. It knows no rest and no recovery; `battery_step` does.

    Parameters
    ----------
    capacity_rated : float or array, broadcastable
        Capacity on the label [C].
    duration_rated : float or array, broadcastable
        Length of the discharge that this capacity belongs to [s].
    current : float or array, broadcastable
        Load, above 0 [A].
    exponent : float or array, broadcastable
        Peukert exponent, 1 or more [1].

    Returns
    -------
    array, broadcast shape
        Run time [s].

    Notes
    -----
    t = T (C / (I T))^k. The short form t = C / I^k is right only if C is the capacity at 1 A.

    References
    ----------
    .. [1] W. Peukert, 1897; rated-hour form in D. Doerffel and S. A. Sharkh, J. Power Sources 155
       (2006) 395-400 (from memory).

    Examples
    --------
    100 Ah at the 20 h rate, 10 A, exponent 1.2: 8.7055 h (computed).

    >>> time = peukert_time(capacity_rated=360e3, duration_rated=72e3, current=10.0, exponent=1.2)
    >>> round(float(time) / 3600, 4)
    8.7055
    """
    duration = floats(duration_rated)
    ratio = floats(capacity_rated) / (floats(current) * duration)
    return duration * ratio ** floats(exponent)


def peukert_exponent(
    *,
    current_slow: FloatsLike,
    duration_slow: FloatsLike,
    current_fast: FloatsLike,
    duration_fast: FloatsLike,
) -> Floats:
    """Peukert exponent from two timed discharges of one battery.

    Exact for the power law through both points; the two currents must differ.

    Parameters
    ----------
    current_slow : float or array, broadcastable
        The smaller load [A].
    duration_slow : float or array, broadcastable
        Run time at the smaller load [s].
    current_fast : float or array, broadcastable
        The greater load [A].
    duration_fast : float or array, broadcastable
        Run time at the greater load [s].

    Returns
    -------
    array, broadcast shape
        Exponent [1].

    Raises
    ------
    ValueError
        Two equal currents.

    Notes
    -----
    k = ln(t_slow / t_fast) / ln(I_fast / I_slow).

    References
    ----------
    .. [1] D. Doerffel and S. A. Sharkh, J. Power Sources 155 (2006) 395-400 (from memory).

    Examples
    --------
    >>> round(float(peukert_exponent(current_slow=0.35, duration_slow=72e3, current_fast=4.2,
    ...                              duration_fast=3600.0)), 4)
    1.2056
    """
    current_slow, current_fast = floats(current_slow), floats(current_fast)
    if np.any(current_slow == current_fast):
        msg = f"current_fast: got {np.min(current_fast):g} A, allowed another than current_slow"
        raise ValueError(msg)
    return np.log(floats(duration_slow) / floats(duration_fast)) / np.log(
        current_fast / current_slow
    )
