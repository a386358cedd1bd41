"""A programme against a level of clipping: what is left of it, and how far it must go up."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from boomwright.physics.arrays import Floats, FloatsLike, floats, not_negative
from boomwright.physics.programme import Programme

__all__ = [
    "OVERDRIVE_MAX",
    "clipped_mean_abs",
    "clipped_mean_square",
    "clipped_means",
    "rms_for_clipped_mean_square",
    "share_clipped",
]

OVERDRIVE_MAX = float(10.0 ** (6.0 / 20.0))
"""Peak over clipping limit past which nobody is taken to listen: 6 dB [1]; from memory."""

_NEWTON_STEPS = 6


def clipped_mean_abs(programme: Programme, clip: FloatsLike) -> Floats:
    """Mean of the rectified programme, hard-clipped.

    The programme has a root mean square of 1 before it is clipped. A linear output stage
    draws supply current in proportion to this mean.

    Parameters
    ----------
    programme : Programme
        The programme.
    clip : float or array, any shape
        Level of clipping over the root mean square [1], 0 or above, may be infinite.

    Returns
    -------
    array, same shape
        Mean over the unclipped root mean square [1].

    Raises
    ------
    ValueError
        If a clip is below 0.

    Notes
    -----
    E min(|x|, c) = integral from 0 to c of P(|x| > t) dt: c for small c, 0.90 for an unclipped
    sine, 0.80 for unclipped Gaussian noise.

    References
    ----------
    .. [1] W. Feller, An Introduction to Probability Theory and Its Applications, vol. 2, Wiley,
       1971, moments from tails (from memory).

    Examples
    --------
    >>> from boomwright.physics.programme import load_programmes
    >>> round(float(clipped_mean_abs(load_programmes()["sine"], float("inf"))), 2)
    0.9
    """
    return clipped_means(programme, clip)[0]


def clipped_mean_square(programme: Programme, clip: FloatsLike) -> Floats:
    """Mean square of the programme, hard-clipped.

    The programme has a root mean square of 1 before it is clipped, so this is the share of its
    power that comes through.

    Parameters
    ----------
    programme : Programme
        The programme.
    clip : float or array, any shape
        Level of clipping over the root mean square [1], 0 or above, may be infinite.

    Returns
    -------
    array, same shape
        Mean square over the unclipped one [1].

    Raises
    ------
    ValueError
        If a clip is below 0.

    Notes
    -----
    E min(x², c²) = integral from 0 to c of 2 t P(|x| > t) dt: c² for small c, 1 from the peak
    on.

    References
    ----------
    .. [1] W. Feller, An Introduction to Probability Theory and Its Applications, vol. 2, Wiley,
       1971, moments from tails (from memory).

    Examples
    --------
    >>> from boomwright.physics.programme import load_programmes
    >>> round(float(clipped_mean_square(load_programmes()["pop"], float("inf"))), 9)
    1.0
    """
    return clipped_means(programme, clip)[1]


def clipped_means(programme: Programme, clip: FloatsLike) -> tuple[Floats, Floats]:
    """Mean of the rectified programme and its mean square, both hard-clipped.

    The two of `clipped_mean_abs` and `clipped_mean_square` for one look into the table.

    Parameters
    ----------
    programme : Programme
        The programme.
    clip : float or array, any shape
        Level of clipping over the root mean square [1], 0 or above, may be infinite.

    Returns
    -------
    mean_abs, mean_square : tuple of array, same shape
        Over the unclipped root mean square and its square [1].

    Raises
    ------
    ValueError
        If a clip is below 0.

    Notes
    -----
    Integrals of P(|x| > t) and of 2 t P(|x| > t) from 0 to c, exact for a P that is straight
    between its levels.

    References
    ----------
    .. [1] W. Feller, An Introduction to Probability Theory and Its Applications, vol. 2, Wiley,
       1971, moments from tails (from memory).

    Examples
    --------
    >>> from boomwright.physics.programme import load_programmes
    >>> [round(float(mean), 2) for mean in clipped_means(load_programmes()["sine"], float("inf"))]
    [0.9, 1.0]
    """
    index, start, past, share, slope = _piece(programme, clip)
    bent = slope * past
    mean_abs = programme.mean_abs_below.take(index) + past * (share + 0.5 * bent)
    cubic = start * share + past * (0.5 * (start * slope + share) + bent / 3.0)
    return mean_abs, programme.mean_square_below.take(index) + 2.0 * past * cubic


def share_clipped(programme: Programme, clip: FloatsLike) -> Floats:
    """Share of the time for which the programme is beyond a clipping level.

    The programme has a root mean square of 1. Some clipping of short peaks goes unheard; a
    few per cent of the time does not.

    Parameters
    ----------
    programme : Programme
        The programme.
    clip : float or array, any shape
        Level of clipping over the root mean square [1], 0 or above, may be infinite.

    Returns
    -------
    array, same shape
        Share of time [1]; 0 from the programme's own peak on.

    Raises
    ------
    ValueError
        If a clip is below 0.

    Notes
    -----
    P(|x| > c).

    References
    ----------
    .. [1] Definition.

    Examples
    --------
    A sine spends half of its time above its root mean square.

    >>> from boomwright.physics.programme import load_programmes
    >>> round(float(share_clipped(load_programmes()["sine"], 1.0)), 2)
    0.5
    """
    _, _, past, share, slope = _piece(programme, clip)
    return np.where(floats(clip) >= programme.levels[-1], 0.0, share + slope * past)


def rms_for_clipped_mean_square(
    programme: Programme,
    *,
    mean_square: FloatsLike,
    peak: FloatsLike,
    overdrive_max: float = OVERDRIVE_MAX,
) -> tuple[Floats, NDArray[np.bool_]]:
    """Root mean square a programme needs before clipping for a wanted mean square after it.

    Answers how far the volume must go up when the supply sinks and clips more. Beyond
    `overdrive_max` the wanted power counts as out of reach.

    Parameters
    ----------
    programme : Programme
        The programme.
    mean_square : float or array, any shape
        Wanted mean square after clipping [V²], 0 or above.
    peak : float or array, any shape
        Level of clipping [V], 0 or above.
    overdrive_max : float
        Greatest peak of the unclipped programme over the level of clipping [1].

    Returns
    -------
    rms : array, broadcast shape
        Root mean square before clipping [V]; at the greatest overdrive where out of reach.
    reached : array of bool, broadcast shape
        False where the wanted mean square is out of reach.

    Raises
    ------
    ValueError
        If a mean square or a peak is below 0, or the greatest overdrive is below 1.

    Notes
    -----
    Solves E min(x², c²)/c² = V²_wanted/V²_peak for c = V_peak/V_rms, by table and a few
    Newton steps; without clipping it is the square root.

    References
    ----------
    .. [1] W. Feller, An Introduction to Probability Theory and Its Applications, vol. 2, Wiley,
       1971, moments from tails (from memory).

    Examples
    --------
    A sine of 1 V² needs no clipping at 2 V; 3 V² does, and 3.99 V² is out of reach.

    >>> from boomwright.physics.programme import load_programmes
    >>> rms, reached = rms_for_clipped_mean_square(
    ...     load_programmes()["sine"], mean_square=np.array([1.0, 3.0, 3.99]), peak=2.0
    ... )
    >>> [round(float(volts), 2) for volts in rms], [bool(yes) for yes in reached]
    ([1.0, 2.49, 2.82], [True, True, False])
    """
    wanted, limit = np.broadcast_arrays(
        not_negative(mean_square, "mean square", "V²"), not_negative(peak, "peak", "V")
    )
    if overdrive_max < 1.0:
        raise ValueError(f"greatest overdrive must be 1 or above, got {overdrive_max:g}")
    crest = float(programme.levels[-1])
    lowest = crest / overdrive_max
    ceiling = float(clipped_mean_square(programme, lowest)) / lowest**2
    share = np.full(wanted.shape, np.inf)
    np.divide(wanted, limit**2, out=share, where=limit > 0.0)
    reached = (share <= ceiling) | (wanted == 0.0)
    clean = share <= 1.0 / crest**2
    clip = _clip_for_share(programme, np.clip(share, 1.0 / crest**2, ceiling))
    rms = np.where(clean, np.sqrt(wanted), limit / np.where(reached, clip, lowest))
    return rms, reached


def _piece(
    programme: Programme, clip: FloatsLike
) -> tuple[NDArray[np.intp], Floats, Floats, Floats, Floats]:
    """Piece that a clip falls in: index, level at its start, way into it, share there, slope."""
    level = not_negative(clip, "clip")
    levels, exceedance = programme.levels, programme.exceedance
    level = np.minimum(level, levels[-1])
    index = np.minimum(np.searchsorted(levels, level, side="right") - 1, levels.size - 2)
    start = levels.take(index)
    return index, start, level - start, exceedance.take(index), programme.slopes.take(index)


def _clip_for_share(programme: Programme, share: Floats) -> Floats:
    """Clip c with E min(x², c²) = share c², for a share between its ends at peak and at 0."""
    levels = programme.levels[1:]
    shares = programme.mean_square_below[1:] / levels**2
    clip = np.exp(np.interp(-np.log(share), -np.log(shares), np.log(levels)))
    for _ in range(_NEWTON_STEPS):
        off = clipped_mean_square(programme, clip) - share * clip**2
        # Beyond is below the share unless the table is flat, where any clip serves.
        fall = np.maximum(share - share_clipped(programme, clip), 1e-12)
        clip = np.clip(
            clip + off / (2.0 * clip * fall), 0.5 * clip, np.minimum(2.0 * clip, levels[-1])
        )
    return floats(clip)
