"""The part of a programme between two corners, plain and as a level meter weighs it."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats
from boomwright.physics.programme import Programme
from boomwright.physics.sound import a_weighting

__all__ = ["a_weighting_db", "band_share_db"]


def band_share_db(programme: Programme, *, low: FloatsLike, high: FloatsLike) -> Floats:
    """Level of the programme between two corners, over the whole programme.

    Second-order roll-offs at both corners, so that adjoining bands add up to the whole. What
    a woofer or a small box leaves out of the music.

    Parameters
    ----------
    programme : Programme
        The programme.
    low : float or array, any shape
        Lower corner [Hz], 0 for none.
    high : float or array, any shape
        Upper corner [Hz], infinite for none.

    Returns
    -------
    array, broadcast shape
        Level [dB], 0 or below.

    Raises
    ------
    ValueError
        If low is below 0 or infinite, or high is not above 0.

    Notes
    -----
    Powers of the bands weighted by 1/(1 + (low/f)⁴) and 1/(1 + (f/high)⁴).

    References
    ----------
    .. [1] Butterworth responses; any text on filters.

    Examples
    --------
    >>> from boomwright.physics.programme import load_programmes
    >>> round(float(band_share_db(load_programmes()["dance"], low=150.0, high=float("inf"))), 1)
    -5.4
    """
    return floats(10.0 * np.log10(_band_weights(programme, low, high) @ programme.band_powers))


def a_weighting_db(programme: Programme, *, low: FloatsLike, high: FloatsLike) -> Floats:
    """A-weighted level of the programme between two corners, over its whole plain level.

    Turns the level of a whole programme into what a meter set to dB(A) shows for a
    loudspeaker with those corners. Bands as in `band_share_db`.

    Parameters
    ----------
    programme : Programme
        The programme.
    low : float or array, any shape
        Lower corner [Hz], 0 for none.
    high : float or array, any shape
        Upper corner [Hz], infinite for none.

    Returns
    -------
    array, broadcast shape
        Difference [dB], to be added to the plain level.

    Raises
    ------
    ValueError
        If low is below 0 or infinite, or high is not above 0.

    Notes
    -----
    Band powers weighted by both corners and by `a_weighting`.

    References
    ----------
    .. [1] IEC 61672-1, Electroacoustics - Sound level meters (seen in secondary copies).

    Examples
    --------
    A sine of 1 kHz reads the same either way.

    >>> from boomwright.physics.programme import load_programmes
    >>> round(float(a_weighting_db(load_programmes()["sine"], low=0.0, high=float("inf"))), 6)
    0.0
    """
    heard = programme.band_powers * 10.0 ** (a_weighting(programme.frequencies) / 10.0)
    return floats(10.0 * np.log10(_band_weights(programme, low, high) @ heard))


def _band_weights(programme: Programme, low: FloatsLike, high: FloatsLike) -> Floats:
    """Power response of both corners, bands on a new last axis."""
    lower, upper = np.broadcast_arrays(floats(low), above_zero(high, "upper corner", "Hz"))
    if not (np.all(lower >= 0.0) and np.all(np.isfinite(lower))):
        raise ValueError(f"lower corner must be 0 Hz or above and finite, got {np.min(lower):g} Hz")
    from_low = (lower[..., np.newaxis] / programme.frequencies) ** 4
    to_high = (programme.frequencies / upper[..., np.newaxis]) ** 4
    return floats(1.0 / ((1.0 + from_low) * (1.0 + to_high)))
