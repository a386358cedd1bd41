"""Fuses: which rating, how soon it opens, and what it costs in volts."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats, not_negative

__all__ = [
    "FuseKind",
    "fuse_kind",
    "fuse_kinds",
    "fuse_minimum",
    "fuse_resistance",
    "melting_integral",
    "next_rating",
    "opening_time_bounds",
    "survives_inrush",
]


@dataclass(frozen=True, slots=True)
class FuseKind:
    """Facts of one kind of fuse, as its standard and practice give them.

    Attributes
    ----------
    name : str
        What it is called at the counter.
    ratings : tuple of float
        Standard ratings, rising [A].
    gates : tuple of (float, float, float)
        Multiple of the rating [1], shortest and longest opening time [s]; a bound the standard
        does not give is 0 or infinite.
    continuous_share : float
        Share of the rating that may flow for hours [1].
    drop_low, drop_typical, drop_high : float
        Rating times cold resistance [V], typical of class.
    pulse_share : float
        Share of the melting integral that a pulse which comes back may use [1].
    source, continuous_source : str
        Where the gates and the continuous share come from.
    """

    name: str
    ratings: tuple[float, ...]
    gates: tuple[tuple[float, float, float], ...]
    continuous_share: float
    drop_low: float
    drop_typical: float
    drop_high: float
    pulse_share: float
    source: str
    continuous_source: str


@cache
def _kinds() -> dict[str, FuseKind]:
    text = files("boomwright.physics.data").joinpath("fuses.toml").read_text("utf-8")
    return {
        key: FuseKind(
            name=row["name"],
            ratings=tuple(row["ratings"]),
            gates=tuple((gate[0], gate[1], gate[2]) for gate in row["gates"]),
            continuous_share=row["continuous_share"],
            drop_low=row["drop_low"],
            drop_typical=row["drop_typical"],
            drop_high=row["drop_high"],
            pulse_share=row["pulse_share"],
            source=row["source"],
            continuous_source=row["continuous_source"],
        )
        for key, row in tomllib.loads(text).items()
    }


def fuse_kinds() -> tuple[str, ...]:
    """Keys of the fuse kinds that are known.

    Read from ``data/fuses.toml``, in its order.

    Returns
    -------
    tuple of str
        Keys for `kind` in the functions here.

    Examples
    --------
    >>> fuse_kinds()
    ('blade', 'tube_quick', 'tube_time_lag')
    """
    return tuple(_kinds())


def fuse_kind(kind: str) -> FuseKind:
    """Facts of one kind of fuse.

    Read from ``data/fuses.toml``; gates are from memory of the standards.

    Parameters
    ----------
    kind : str
        One of `fuse_kinds`.

    Returns
    -------
    FuseKind
        Ratings, gates, shares and sources.

    Raises
    ------
    ValueError
        If the kind is not known.

    Examples
    --------
    >>> fuse_kind("blade").ratings[4:7]
    (5.0, 7.5, 10.0)
    """
    if kind not in _kinds():
        raise ValueError(f"kind of fuse: got {kind!r}, must be one of {', '.join(_kinds())}")
    return _kinds()[kind]


def fuse_minimum(current_continuous: FloatsLike, *, kind: str) -> Floats:
    """Smallest rating that carries a current for hours.

    Blade fuses are loaded to three quarters, IEC 60127 tubes to their full rating at 25 °C; in a
    hot box take a further step up, or read the maker's derating curve.

    Parameters
    ----------
    current_continuous : float or array, any shape
        Current that flows for hours [A].
    kind : str
        One of `fuse_kinds`.

    Returns
    -------
    array, same shape
        Rating, not yet rounded to a standard value [A].

    Raises
    ------
    ValueError
        If the kind is not known.

    Notes
    -----
    I_rating = I / share. `next_rating` rounds it.

    References
    ----------
    .. [1] UL 248-14 practice of 75 % (from memory): 6 A needs 8 A or more.

    Examples
    --------
    >>> float(fuse_minimum(6.0, kind="blade"))
    8.0
    """
    return floats(current_continuous) / fuse_kind(kind).continuous_share


def next_rating(current: FloatsLike, *, kind: str) -> Floats:
    """Smallest standard rating that is not below a current.

    The ratings list of the kind; infinite where the list ends, so that a comparison with what the
    wire carries fails as it should.

    Parameters
    ----------
    current : float or array, any shape
        Rating wanted [A].
    kind : str
        One of `fuse_kinds`.

    Returns
    -------
    array, same shape
        Standard rating, or inf [A].

    Raises
    ------
    ValueError
        If the kind is not known.

    References
    ----------
    .. [1] ISO 8820-3, IEC 60127-2 (from memory).

    Examples
    --------
    >>> next_rating(np.array([8.0, 10.0, 55.0]), kind="blade").tolist()
    [10.0, 10.0, inf]
    """
    wanted = floats(current)
    ratings = np.array([*fuse_kind(kind).ratings, np.inf])
    # A wish computed a rounding above a listed rating still counts as that rating.
    return ratings[np.searchsorted(ratings, wanted * (1.0 - 1e-9), side="left")]


def _log_interpolated(multiple: Floats, gates: NDArray[np.float64], column: int) -> Floats:
    return np.exp(np.interp(np.log(multiple), np.log(gates[:, 0]), np.log(gates[:, column])))


def opening_time_bounds(multiple: FloatsLike, *, kind: str) -> tuple[Floats, Floats]:
    """Shortest and longest time a fuse takes to open at a multiple of its rating.

    The standard's gates for new fuses at 23 to 25 °C, read between on logarithmic scales; only at
    the gates themselves are they the standard's promise.

    Parameters
    ----------
    multiple : float or array, any shape
        Current over rating [1], 0 or more.
    kind : str
        One of `fuse_kinds`.

    Returns
    -------
    shortest : array, same shape
        Time the fuse holds at least [s]; inf up to the continuous share of the rating, 0 above
        the last gate that promises one.
    longest : array, same shape
        Time after which it is open [s]; inf below the first gate that promises one, and the last
        gate's time above all gates.

    Raises
    ------
    ValueError
        If a multiple is negative or the kind is not known.

    Notes
    -----
    Between the continuous share and the first gate, that gate's holding time is returned. A blade
    fuse may carry 1.34 times its rating for ever: it guards the wire, not the amplifier.

    References
    ----------
    .. [1] ISO 8820-3; IEC 60127-2 standard sheets 2 and 3 (from memory).

    Examples
    --------
    >>> [round(float(t), 2) for t in opening_time_bounds(2.0, kind="blade")]
    [0.15, 5.0]
    """
    ratio = not_negative(multiple, "multiple of the fuse rating")
    facts = fuse_kind(kind)
    gates = np.array(facts.gates)
    holding = gates[gates[:, 1] > 0.0]
    opening = gates[np.isfinite(gates[:, 2])]
    safe = np.maximum(ratio, np.finfo(np.float64).tiny)
    shortest = np.where(ratio > holding[-1, 0], 0.0, _log_interpolated(safe, holding, 1))
    shortest = np.where(ratio <= facts.continuous_share, np.inf, shortest)
    longest = np.where(ratio < opening[0, 0], np.inf, _log_interpolated(safe, opening, 2))
    return shortest, longest


def fuse_resistance(rating: FloatsLike, *, kind: str) -> Floats:
    """Cold resistance of a fuse, typical of its kind.

    One voltage per kind over the rating; fuses differ from it by half or double (`fuse_kind` has
    the range), and a warm fuse has up to half as much again.

    Parameters
    ----------
    rating : float or array, any shape
        Rated current [A].
    kind : str
        One of `fuse_kinds`.

    Returns
    -------
    array, same shape
        Resistance, holder not counted [Ω].

    Raises
    ------
    ValueError
        If a rating is not positive or the kind is not known.

    Notes
    -----
    R = V_cold / I_rating.

    References
    ----------
    .. [1] Typical of class, from memory.

    Examples
    --------
    >>> round(float(fuse_resistance(10.0, kind="blade")) * 1e3, 1)
    8.0
    """
    return fuse_kind(kind).drop_typical / above_zero(rating, "fuse rating", "A")


def melting_integral(rating: FloatsLike, *, kind: str) -> Floats:
    """Joule integral that a fuse is sure to stand, from its gates.

    The least of current squared times holding time over the gates; a data sheet's melting
    integral replaces it when there is one.

    Parameters
    ----------
    rating : float or array, any shape
        Rated current [A].
    kind : str
        One of `fuse_kinds`.

    Returns
    -------
    array, same shape
        Integral of current squared over time [A² s].

    Raises
    ------
    ValueError
        If a rating is not positive or the kind is not known.

    Notes
    -----
    W = I_rating² · min(m² t_shortest) over gates with a holding time.

    References
    ----------
    .. [1] ISO 8820-3: 3.5 times the rating for 0.04 s (from memory).

    Examples
    --------
    >>> round(float(melting_integral(10.0, kind="blade")), 1)
    49.0
    """
    gates = np.array(fuse_kind(kind).gates)
    holding = gates[gates[:, 1] > 0.0]
    return above_zero(rating, "fuse rating", "A") ** 2 * float(
        np.min(holding[:, 0] ** 2 * holding[:, 1])
    )


def survives_inrush(
    pulse_integral: FloatsLike, *, rating: FloatsLike, kind: str
) -> NDArray[np.bool_]:
    """Whether a fuse outlives a switch-on pulse that comes back every day.

    A pulse may use three tenths of the melting integral; beyond it the wire inside tires and the
    fuse opens one day for no visible reason.

    Parameters
    ----------
    pulse_integral : float or array
        Integral of current squared over the pulse [A² s].
    rating : float or array
        Rated current [A].
    kind : str
        One of `fuse_kinds`.

    Returns
    -------
    array of bool, broadcast shape
        True where the fuse survives.

    Raises
    ------
    ValueError
        If a rating is not positive or the kind is not known.

    Notes
    -----
    For pulses up to some 10 ms. A capacitor through a resistance has the integral
    V² C / (2 R): `boomwright.physics.inrush.inrush_integral`.

    References
    ----------
    .. [1] Typical of class, from memory.

    Examples
    --------
    >>> survives_inrush(np.array([3.0, 30.0]), rating=7.5, kind="blade").tolist()
    [True, False]
    """
    allowed = fuse_kind(kind).pulse_share * melting_integral(rating, kind=kind)
    return np.asarray(floats(pulse_integral) <= allowed)
