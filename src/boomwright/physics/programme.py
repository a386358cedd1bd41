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

from boomwright.physics.arrays import Floats, floats

__all__ = ["Programme", "load_programmes", "programme_from_table"]


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

    @cached_property
    def crest_factor_db(self) -> float:
        """Peak over root mean square [dB]."""
        return float(20.0 * np.log10(self.levels[-1]))

    @cached_property
    def slopes(self) -> Floats:
        """Fall of the share of time from each level to the next, over their distance [1]."""
        return floats(np.diff(self.exceedance) / np.diff(self.levels))

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
    amplitudes: Sequence[float] | Floats,
    exceedance: Sequence[float] | Floats,
    frequencies: Sequence[float] | Floats,
    spectrum_db: Sequence[float] | Floats,
    status: str,
    source: str,
) -> Programme:
    """Programme of given tables, scaled to a root mean square of exactly 1.

    The amplitudes may be in any unit; the share of time is taken as straight between them, so a
    few dozen levels, closer where the signal spends its time, are enough.

    Parameters
    ----------
    name, title, status, source : str
        As in `Programme`.
    crest_factor_range_db : tuple of float
        Least and greatest peak over root mean square seen for the class [dB].
    amplitudes : array, (n,)
        Rising amplitudes from 0 to the peak [any unit].
    exceedance : array, (n,)
        Share of time beyond each amplitude [1], from at most 1, never rising.
    frequencies : array, (m,)
        Third-octave bands [Hz].
    spectrum_db : array, (m,)
        Level of each band over any reference [dB].

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
    ...     "square", title="Square wave", crest_factor_range_db=(0.0, 0.0), amplitudes=[0.0, 7.0],
    ...     exceedance=[1.0, 1.0], frequencies=[1000.0], spectrum_db=[0.0], status="standard",
    ...     source="definition",
    ... )
    >>> square.crest_factor_db
    0.0
    """
    at, share = np.array(amplitudes, dtype=np.float64), np.array(exceedance, dtype=np.float64)
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
        speech, acoustic, pop, dance, background, sine, noise, pink, speech-average.

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
            amplitudes=entry["levels"],
            exceedance=entry["exceedance"],
            frequencies=entry["frequencies"],
            spectrum_db=entry["spectrum_db"],
            status=entry["status"],
            source=entry["source"],
        )
        for name, entry in tomllib.loads(text).items()
    }


def _running(steps: Floats) -> Floats:
    return np.concatenate(([0.0], np.cumsum(steps)))


def _square_steps(levels: Floats, exceedance: Floats) -> Floats:
    """Integral of 2 t P(t) over each piece, P straight within it."""
    start, end = levels[:-1], levels[1:]
    first, last = exceedance[:-1], exceedance[1:]
    cross = start * (2.0 * first + last) + end * (first + 2.0 * last)
    return floats((end - start) * cross / 3.0)
