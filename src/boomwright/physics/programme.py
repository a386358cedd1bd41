"""Programmes: how music and speech spread their amplitude and their frequencies.

A programme is a table, so that a typical one and one measured from a music file are the same
thing: the share of time above each level, and the level of each third-octave band.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from boomwright.physics.arrays import Floats, FloatsLike, floats
from boomwright.physics.sound import a_weighting

__all__ = [
    "OVERDRIVE_MAX",
    "Programme",
    "a_weighting_db",
    "band_share_db",
    "clipped_mean_abs",
    "clipped_mean_square",
    "load_programmes",
    "programme_from_table",
    "rms_for_clipped_mean_square",
    "share_clipped",
]

OVERDRIVE_MAX = float(10.0 ** (6.0 / 20.0))
"""Peak over clipping limit past which nobody is taken to listen: 6 dB [1]; from memory."""

_NEWTON_STEPS = 6


@dataclass(frozen=True, eq=False)
class Programme:
    """A kind of sound: its amplitude distribution and its long-term spectrum.

    Build one with `programme_from_table`, which checks the tables and scales them.

    Parameters
    ----------
    name : str
        Short name, as in a build file.
    title : str
        Name for people.
    crest_factor_range_db : tuple of float
        Least and greatest peak over root mean square seen for the class [dB].
    levels : array, (n,)
        Rising amplitudes from 0 to the peak, over the root mean square [1].
    exceedance : array, (n,)
        Share of time beyond each level [1], straight between levels; above 0 at the last
        level if part of the time sits at the ceiling.
    frequencies : array, (m,)
        Third-octave bands [Hz].
    spectrum_db : array, (m,)
        Long-term level of each band [dB], any common zero.
    status : str
        standard, typical, measured or invented.
    source : str
        Where the figures come from.
    """

    name: str
    title: str
    crest_factor_range_db: tuple[float, float]
    levels: Floats
    exceedance: Floats
    frequencies: Floats
    spectrum_db: Floats
    status: str
    source: str

    @property
    def crest_factor_db(self) -> float:
        """Peak over root mean square [dB]."""
        return float(20.0 * np.log10(self.levels[-1]))

    @cached_property
    def mean_abs_below(self) -> Floats:
        """Mean of the rectified signal clipped at each level, over the root mean square [1]."""
        return _running(np.diff(self.levels) * (self.exceedance[1:] + self.exceedance[:-1]) / 2.0)

    @cached_property
    def mean_square_below(self) -> Floats:
        """Mean square of the signal clipped at each level, over the mean square [1]."""
        return _running(_square_steps(self.levels, self.exceedance))

    @cached_property
    def band_powers(self) -> Floats:
        """Share of the mean square in each band [1]."""
        powers = 10.0 ** ((self.spectrum_db - np.max(self.spectrum_db)) / 10.0)
        return floats(powers / np.sum(powers))


def programme_from_table(
    name: str,
    *,
    title: str,
    crest_factor_range_db: tuple[float, float],
    levels: Sequence[float] | Floats,
    exceedance: Sequence[float] | Floats,
    frequencies: Sequence[float] | Floats,
    spectrum_db: Sequence[float] | Floats,
    status: str,
    source: str,
) -> Programme:
    """Programme of given tables, scaled to a root mean square of exactly 1.

    The levels may be in any unit; the share of time is taken as straight between them, so a
    few dozen levels, closer where the signal spends its time, are enough.

    Parameters
    ----------
    name, title, crest_factor_range_db, frequencies, spectrum_db, status, source
        As in `Programme`.
    levels : array, (n,)
        Rising amplitudes from 0 to the peak [any unit].
    exceedance : array, (n,)
        Share of time beyond each level [1], from at most 1, never rising.

    Returns
    -------
    Programme

    Raises
    ------
    ValueError
        If the tables differ in length, do not start at 0, do not rise or fall as they
        should, or hold no signal.

    Notes
    -----
    Mean square = integral of 2 t P(|x| > t) dt, exact for the straight pieces.

    References
    ----------
    .. [1] W. Feller, An Introduction to Probability Theory and Its Applications, vol. 2, Wiley,
       1971, moments from tails (from memory).

    Examples
    --------
    A square wave is beyond every level up to its own, all the time.

    >>> square = programme_from_table(
    ...     "square", title="Square wave", crest_factor_range_db=(0.0, 0.0), levels=[0.0, 7.0],
    ...     exceedance=[1.0, 1.0], frequencies=[1000.0], spectrum_db=[0.0], status="standard",
    ...     source="definition",
    ... )
    >>> square.crest_factor_db
    0.0
    """
    at, share = np.array(levels, dtype=np.float64), np.array(exceedance, dtype=np.float64)
    bands, bands_db = np.array(frequencies, dtype=float), np.array(spectrum_db, dtype=float)
    if at.shape != share.shape or at.size < 2 or bands.shape != bands_db.shape or not bands.size:
        raise ValueError(
            f"programme {name!r}: tables must match, got {at.size} levels with {share.size} "
            f"shares and {bands.size} bands with {bands_db.size} levels"
        )
    if at[0] != 0.0 or not np.all(np.diff(at) > 0.0):
        raise ValueError(f"programme {name!r}: levels must rise from 0, got {at[0]:g} first")
    if not (0.0 < share[0] <= 1.0 and share[-1] >= 0.0 and np.all(np.diff(share) <= 0.0)):
        raise ValueError(
            f"programme {name!r}: shares of time must fall from at most 1 to at least 0, "
            f"got {share[0]:g} to {share[-1]:g}"
        )
    if not np.all(bands > 0.0):
        raise ValueError(f"programme {name!r}: bands must be above 0 Hz, got {np.min(bands):g} Hz")
    at /= np.sqrt(np.sum(_square_steps(at, share)))
    for table in (at, share, bands, bands_db):
        table.setflags(write=False)
    return Programme(
        name=name,
        title=title,
        crest_factor_range_db=crest_factor_range_db,
        levels=at,
        exceedance=share,
        frequencies=bands,
        spectrum_db=bands_db,
        status=status,
        source=source,
    )


def load_programmes() -> dict[str, Programme]:
    """Typical programmes that ship with the package, by name.

    Shapes typical of their class: a measured programme of one's own music is better.

    Returns
    -------
    dict
        speech, acoustic, pop, dance, background, sine, noise.

    Notes
    -----
    The data file is written by scripts/make_programmes.py.

    Examples
    --------
    >>> round(load_programmes()["pop"].crest_factor_db)
    14
    """
    return dict(_shipped())


@cache
def _shipped() -> dict[str, Programme]:
    text = files("boomwright.physics").joinpath("data/programmes.toml").read_text("utf-8")
    return {
        name: programme_from_table(
            name,
            title=entry["title"],
            crest_factor_range_db=tuple(entry["crest_factor_range_db"]),
            levels=entry["levels"],
            exceedance=entry["exceedance"],
            frequencies=entry["frequencies"],
            spectrum_db=entry["spectrum_db"],
            status=entry["status"],
            source=entry["source"],
        )
        for name, entry in tomllib.loads(text).items()
    }


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
    >>> round(float(clipped_mean_abs(load_programmes()["sine"], float("inf"))), 2)
    0.9
    """
    index, past, share, slope = _piece(programme, clip)
    return floats(programme.mean_abs_below[index] + past * (share + 0.5 * slope * past))


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
    >>> round(float(clipped_mean_square(load_programmes()["pop"], float("inf"))), 9)
    1.0
    """
    index, past, share, slope = _piece(programme, clip)
    start = programme.levels[index]
    cubic = start * share + past * (0.5 * (start * slope + share) + past * slope / 3.0)
    return floats(programme.mean_square_below[index] + 2.0 * past * cubic)


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

    >>> round(float(share_clipped(load_programmes()["sine"], 1.0)), 2)
    0.5
    """
    _, past, share, slope = _piece(programme, clip)
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

    >>> rms, reached = rms_for_clipped_mean_square(
    ...     load_programmes()["sine"], mean_square=np.array([1.0, 3.0, 3.99]), peak=2.0
    ... )
    >>> [round(float(volts), 2) for volts in rms], [bool(yes) for yes in reached]
    ([1.0, 2.49, 2.82], [True, True, False])
    """
    wanted, limit = np.broadcast_arrays(floats(mean_square), floats(peak))
    if not (np.all(wanted >= 0.0) and np.all(limit >= 0.0)):
        raise ValueError(
            f"mean square and peak must be 0 or above, got {np.min(wanted):g} V² "
            f"and {np.min(limit):g} V"
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

    >>> round(float(a_weighting_db(load_programmes()["sine"], low=0.0, high=float("inf"))), 6)
    0.0
    """
    heard = programme.band_powers * 10.0 ** (a_weighting(programme.frequencies) / 10.0)
    return floats(10.0 * np.log10(_band_weights(programme, low, high) @ heard))


def _running(steps: Floats) -> Floats:
    return np.concatenate(([0.0], np.cumsum(steps)))


def _square_steps(levels: Floats, exceedance: Floats) -> Floats:
    """Integral of 2 t P(t) over each piece, P straight within it."""
    start, end = levels[:-1], levels[1:]
    first, last = exceedance[:-1], exceedance[1:]
    cross = start * (2.0 * first + last) + end * (first + 2.0 * last)
    return floats((end - start) * cross / 3.0)


def _piece(
    programme: Programme, clip: FloatsLike
) -> tuple[NDArray[np.intp], Floats, Floats, Floats]:
    """Piece of the table that a clip falls in: index, way into it, share at its start, slope."""
    level = floats(clip)
    if not np.all(level >= 0.0):
        raise ValueError(f"clip must be 0 or above, got {np.min(level):g}")
    levels, exceedance = programme.levels, programme.exceedance
    level = np.minimum(level, levels[-1])
    index = np.minimum(np.searchsorted(levels, level, side="right") - 1, levels.size - 2)
    slope = np.diff(exceedance) / np.diff(levels)
    return index, level - levels[index], exceedance[index], slope[index]


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


def _band_weights(programme: Programme, low: FloatsLike, high: FloatsLike) -> Floats:
    """Power response of both corners, bands on a new last axis."""
    lower, upper = np.broadcast_arrays(floats(low), floats(high))
    if not (np.all(lower >= 0.0) and np.all(np.isfinite(lower))):
        raise ValueError(f"lower corner must be 0 Hz or above and finite, got {np.min(lower):g} Hz")
    if not np.all(upper > 0.0):
        raise ValueError(f"upper corner must be above 0 Hz, got {np.min(upper):g} Hz")
    from_low = (lower[..., np.newaxis] / programme.frequencies) ** 4
    to_high = (programme.frequencies / upper[..., np.newaxis]) ** 4
    return floats(1.0 / ((1.0 + from_low) * (1.0 + to_high)))
