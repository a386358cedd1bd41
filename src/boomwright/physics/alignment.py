"""Vented boxes as filters: the named alignments, and the bass of any driver in any tuned box."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats

__all__ = [
    "ALIGNMENTS",
    "BOX_LOSS_Q",
    "Alignment",
    "AlignmentName",
    "VentedBox",
    "alignment",
    "efficiency_bandwidth",
    "flat_qts",
    "vented_box",
]

AlignmentName = Literal["QB3", "SC4", "C4"]
"""Families of fourth-order alignments."""

ALIGNMENTS: Final[dict[AlignmentName, str]] = {
    "QB3": "quasi-Butterworth, for a qts below that of B4",
    "SC4": "sub-Chebyshev, the same drivers in a larger box tuned lower",
    "C4": "Chebyshev with a ripple, for a qts above that of B4",
}
"""What each family is for. All meet in B4, the maximally flat one."""

BOX_LOSS_Q: Final = 7.0
"""Q of the leaks to start from; 5 to 10 in boxes of 25 to 100 litres (Small, from memory)."""

_B4 = (float(np.sqrt(4.0 + 2.0 * np.sqrt(2.0))), 2.0 + float(np.sqrt(2.0)))
_HALVINGS = 80
_WIDEST = 60.0
_LEAST = 1e-9
_STRAIGHT = 1e-9
_C = 1.0 / (2.0 * float(np.sqrt(2.0)))


@dataclass(frozen=True, eq=False)
class Alignment:
    """Box of a named alignment; not a number where the driver cannot have it.

    Parameters
    ----------
    alpha : array
        `vas` over the net volume of the box [1].
    h : array
        Tuning of the box over `fs` [1].
    f3_ratio : array
        Frequency where the bass is 3 dB down, over `fs` [1].
    """

    alpha: Floats
    h: Floats
    f3_ratio: Floats


@dataclass(frozen=True, eq=False)
class VentedBox:
    """Bass of a driver in a vented box.

    Parameters
    ----------
    f3 : array
        Highest frequency where the bass is 3 dB down [Hz].
    peak_db : array
        Highest rise above the flat level [dB], 0 without one.
    alpha, h : array
        `vas` over volume, and tuning over `fs` [1].
    """

    f3: Floats
    peak_db: Floats
    alpha: Floats
    h: Floats


def alignment(qts: FloatsLike, *, family: AlignmentName, ql: FloatsLike = BOX_LOSS_Q) -> Alignment:
    """Volume and tuning that give a driver one of the named alignments.

    Thiele's method with Small's leak loss: the coefficients of driver and box are set equal to
    those of the filter. Coil inductance and the room are left out.

    Parameters
    ----------
    qts : float or array, any shape
        Total Q in free air, leads and filter coils included [1], above 0.
    family : str
        One of `ALIGNMENTS`.
    ql : float or array, any shape
        Q of the leaks at the tuning [1], above 1; infinite for none.

    Returns
    -------
    Alignment
        Arrays of the broadcast shape; not a number where this family has no box for this qts.

    Raises
    ------
    ValueError
        If qts is not above 0 or ql not above 1.

    Notes
    -----
    With w0² = (2 pi)² fs fb: a1 = 1/(sqrt h qts) + sqrt h/ql, a3 = sqrt h/qts + 1/(sqrt h ql),
    a2 = 1/(ql qts) + (alpha + 1 + h²)/h. QB3 has a1² = 2 a2 and a2² + 2 = 2 a1 a3; C4 and SC4 have
    the poles of the Chebyshev filter, those of Butterworth moved towards or away from the axis.

    References
    ----------
    .. [1] A. N. Thiele, Loudspeakers in Vented Boxes, J. Audio Eng. Soc. 19 (1971) 382 and 471
       (from memory).
    .. [2] R. H. Small, Vented-Box Loudspeaker Systems, Parts I and IV, J. Audio Eng. Soc. 21
       (1973) 363 and 635 (from memory).

    Examples
    --------
    Table of [1], no loss: a qts of 0.259 takes an alpha of 4.46 and a tuning of 1.413 fs.

    >>> found = alignment(0.259, family="QB3", ql=np.inf)
    >>> round(float(found.alpha), 2), round(float(found.h), 3), round(float(found.f3_ratio), 2)
    (4.46, 1.413, 1.77)
    """
    quality, loss = np.broadcast_arrays(above_zero(qts, "qts"), _loss(ql))
    coefficients = _quasi(quality, loss) if family == "QB3" else _chebyshev(quality, loss, family)
    h, a1, a2, a3 = coefficients
    alpha = h * (a2 - 1.0 / (loss * quality)) - 1.0 - h**2
    valid = (alpha > 0.0) & _in_family(quality, loss, family) & _met(quality, loss, coefficients)
    h = np.where(valid, h, np.nan)
    f3 = np.full(h.shape, np.nan)
    f3[valid] = _highest_f3(a1[valid], a2[valid], a3[valid])
    return Alignment(
        alpha=np.where(valid, alpha, np.nan), h=floats(h), f3_ratio=floats(f3 * np.sqrt(h))
    )


def flat_qts(ql: FloatsLike = BOX_LOSS_Q) -> Floats:
    """Qts of the driver that a vented box makes maximally flat, B4.

    Below it QB3 fits, above it C4.

    Parameters
    ----------
    ql : float or array, any shape
        Q of the leaks at the tuning [1], above 1; infinite for none.

    Returns
    -------
    array, same shape
        Total Q [1].

    Raises
    ------
    ValueError
        If ql is not above 1.

    Notes
    -----
    1/(sqrt(4 + 2 sqrt 2) - 1/ql), as the tuning is fs there.

    References
    ----------
    .. [1] R. H. Small, Vented-Box Loudspeaker Systems, Part IV, J. Audio Eng. Soc. 21 (1973) 635
       (from memory).

    Examples
    --------
    0.383 without loss, 0.405 with a ql of 7:

    >>> np.round(flat_qts(np.array([np.inf, 7.0])), 3).tolist()
    [0.383, 0.405]
    """
    return floats(1.0 / (_B4[0] - 1.0 / _loss(ql)))


def vented_box(
    *,
    fs: FloatsLike,
    qts: FloatsLike,
    vas: FloatsLike,
    volume: FloatsLike,
    fb: FloatsLike,
    ql: FloatsLike = BOX_LOSS_Q,
) -> VentedBox:
    """Bass of a driver in a vented box of any volume and tuning.

    Linear, leaks as the only loss of the box, coil inductance left out.

    Parameters
    ----------
    fs : float or array, any shape
        Resonance in free air [Hz], above 0.
    qts : float or array, any shape
        Total Q in free air [1], above 0.
    vas : float or array, any shape
        Volume of air as compliant as the suspension [m³], above 0.
    volume : float or array, any shape
        Net volume of the box, or the share of each driver [m³], above 0.
    fb : float or array, any shape
        Tuning of the box [Hz], above 0.
    ql : float or array, any shape
        Q of the leaks at the tuning [1], above 1; infinite for none.

    Returns
    -------
    VentedBox
        Arrays of the broadcast shape.

    Raises
    ------
    ValueError
        If a parameter is not above 0, or ql not above 1.

    Notes
    -----
    Coefficients as in `alignment`. With A1 = a1² - 2 a2, A2 = a2² + 2 - 2 a1 a3, A3 = a3² - 2 a2
    the squared response is 1/(1 + A1 z + A2 z² + A3 z³ + z⁴), z the inverse of the squared
    frequency; f3 and hump are roots of it and of its slope.

    References
    ----------
    .. [1] R. H. Small, Vented-Box Loudspeaker Systems, Part I, J. Audio Eng. Soc. 21 (1973) 363
       (from memory).

    Examples
    --------
    B4 without loss, 40 Hz:

    >>> found = vented_box(fs=40.0, qts=0.38268, vas=0.0311, volume=0.0220, fb=40.0, ql=np.inf)
    >>> round(float(found.f3), 1), round(float(found.peak_db), 2)
    (40.0, 0.0)
    """
    resonance, quality = above_zero(fs, "fs", "Hz"), above_zero(qts, "qts")
    loss, tuning = _loss(ql), above_zero(fb, "fb", "Hz")
    alpha = above_zero(vas, "vas", "m³") / above_zero(volume, "box volume", "m³")
    h = tuning / resonance
    wide = np.broadcast_arrays(quality, loss, h, alpha, resonance)
    quality, loss, h, alpha, resonance = wide
    a1, a3 = _outer(quality, loss, h)
    a2 = 1.0 / (loss * quality) + (alpha + 1.0 + h**2) / h
    f3 = _highest_f3(a1, a2, a3) * np.sqrt(h) * resonance
    return VentedBox(f3=floats(f3), peak_db=_peak_db(a1, a2, a3), alpha=alpha, h=h)


def efficiency_bandwidth(fs: FloatsLike, *, qes: FloatsLike) -> Floats:
    """Resonance over electrical Q: which kind of box a driver was made for.

    A rule of thumb. Below about 50 Hz a closed box suits, above about 100 Hz a vented one, either
    between.

    Parameters
    ----------
    fs : float or array, any shape
        Resonance in free air [Hz], above 0.
    qes : float or array, any shape
        Electrical Q [1], above 0.

    Returns
    -------
    array, broadcast shape
        fs/qes [Hz].

    Raises
    ------
    ValueError
        If fs or qes is not above 0.

    References
    ----------
    .. [1] Common practice, no source.

    Examples
    --------
    >>> round(float(efficiency_bandwidth(45.0, qes=0.36)))
    125
    """
    return floats(above_zero(fs, "fs", "Hz") / above_zero(qes, "qes"))


def _loss(ql: FloatsLike) -> Floats:
    number = floats(ql)
    if not (number > 1.0).all():
        raise ValueError(f"ql: got {float(np.min(number)):g}, must be above 1")
    return number


def _outer(quality: Floats, loss: Floats, h: Floats) -> tuple[Floats, Floats]:
    root = np.sqrt(h)
    return floats(1.0 / (root * quality) + root / loss), floats(
        root / quality + 1.0 / (root * loss)
    )


def _in_family(quality: Floats, loss: Floats, family: AlignmentName) -> np.ndarray:
    flat = flat_qts(loss) * (1.0 + 1e-9)
    return np.asarray(quality >= flat / (1.0 + 2e-9) if family == "C4" else quality <= flat)


def _met(quality: Floats, loss: Floats, found: tuple[Floats, Floats, Floats, Floats]) -> np.ndarray:
    """Where the halving ended on a root and not on an end of its stretch."""
    h, a1, _, a3 = found
    outer = _outer(quality, loss, h)
    return np.isclose(outer[0], a1, rtol=1e-6) & np.isclose(outer[1], a3, rtol=1e-6)


def _quasi(quality: Floats, loss: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    def excess(h: Floats) -> Floats:
        a1, a3 = _outer(quality, loss, h)
        return a1**4 / 4.0 + 2.0 - 2.0 * a1 * a3

    h = _root(excess, np.ones(quality.shape), np.full(quality.shape, _WIDEST))
    a1, a3 = _outer(quality, loss, h)
    return h, a1, a1**2 / 2.0, a3


def _chebyshev(
    quality: Floats, loss: Floats, family: AlignmentName
) -> tuple[Floats, Floats, Floats, Floats]:
    def box(share: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        # How far the poles are moved from those of B4, squared: 0 on the axis, 1 in place.
        moved = share / (1.0 - share)
        spread = np.sqrt((moved**2 + 6.0 * moved + 1.0) / 8.0)
        a3 = np.sqrt(moved / spread) * _B4[0]
        a2 = (1.0 + moved * (1.0 + np.sqrt(2.0))) / spread
        a1 = a3 * (1.0 - (1.0 - moved) * _C) / spread
        under = np.sqrt(np.maximum(a1**2 - 4.0 / (quality * loss), 0.0))
        return floats((2.0 / (quality * (a1 + under))) ** 2), a1, a2, a3

    def excess(share: Floats) -> Floats:
        h, _, _, a3 = box(share)
        return floats(_outer(quality, loss, h)[1] - a3)

    low, high = (_LEAST, 0.5) if family == "C4" else (0.5, 1.0 - _LEAST)
    found = _root(excess, np.full(quality.shape, low), np.full(quality.shape, high))
    return box(found)


def _root(excess: Callable[[Floats], Floats], low: Floats, high: Floats) -> Floats:
    """Where something that starts at or above 0 crosses it, by halving; one end if it does not."""
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        above = excess(middle) > 0.0
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return floats(0.5 * (low + high))


def _highest_f3(a1: Floats, a2: Floats, a3: Floats) -> Floats:
    """Highest frequency with half the power, over the geometric mean of fs and fb."""
    # Roots in y, the squared frequency, of y⁴ - A1 y³ - A2 y² - A3 y - 1.
    first, second, third = _squares(a1, a2, a3)
    companion = np.zeros((*np.shape(first), 4, 4))
    companion[..., 0, :] = np.stack([first, second, third, np.ones_like(first)], axis=-1)
    companion[..., [1, 2, 3], [0, 1, 2]] = 1.0
    roots = np.linalg.eigvals(companion)
    straight = np.abs(roots.imag) <= _STRAIGHT * np.abs(roots)
    return floats(np.sqrt(np.max(np.where(straight, roots.real, 0.0), axis=-1)))


def _peak_db(a1: Floats, a2: Floats, a3: Floats) -> Floats:
    """Highest rise above the flat level [dB]."""
    first, second, third = _squares(a1, a2, a3)
    # The slope of 1 + A1 z + A2 z² + A3 z³ + z⁴ is a cubic; Cardano gives its one or three roots.
    a, b, c = 0.75 * third, 0.5 * second, 0.25 * first
    p, q = b - a**2 / 3.0, 2.0 * a**3 / 27.0 - a * b / 3.0 + c
    inside = np.asarray((q / 2.0) ** 2 + (p / 3.0) ** 3, dtype=np.complex128)
    under = np.sqrt(inside)
    big = np.where(np.abs(-q / 2.0 + under) >= np.abs(-q / 2.0 - under), under, -under) - q / 2.0
    cube = np.power(np.asarray(big, dtype=np.complex128), 1.0 / 3.0)
    least = np.ones(np.shape(a1))
    for turn in np.exp(2j * np.pi * np.arange(3) / 3.0):
        side = cube * turn
        other = np.divide(-p / 3.0, side, out=np.zeros_like(side), where=side != 0.0)
        # Complex pairs give points that are no extremes; they lie on the curve all the same.
        z = np.maximum(np.real(side + other) - a / 3.0, 0.0)
        least = np.minimum(least, 1.0 + z * (first + z * (second + z * (third + z))))
    return floats(-10.0 * np.log10(least) + 0.0)


def _squares(a1: Floats, a2: Floats, a3: Floats) -> tuple[Floats, Floats, Floats]:
    """Coefficients of the squared response."""
    return (
        floats(a1**2 - 2.0 * a2),
        floats(a2**2 + 2.0 - 2.0 * a1 * a3),
        floats(a3**2 - 2.0 * a2),
    )
