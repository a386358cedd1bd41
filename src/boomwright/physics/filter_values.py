"""Passive filters for a resistive load: part values of first to fourth order, from polynomials."""

from __future__ import annotations

from math import factorial
from typing import Literal

import numpy as np

from boomwright.physics.arrays import Complexes, Floats, FloatsLike, above_zero, floats, laplace
from boomwright.physics.ladder import Step

__all__ = [
    "ALIGNMENTS",
    "Alignment",
    "band_pass_steps",
    "filter_elements",
    "filter_polynomial",
    "filter_response",
    "high_pass_steps",
    "low_pass_steps",
]

Alignment = Literal["butterworth", "linkwitz-riley", "bessel"]
"""Which polynomial a filter follows."""

ALIGNMENTS: dict[Alignment, tuple[int, ...]] = {
    "butterworth": (1, 2, 3, 4),
    "linkwitz-riley": (2, 4),
    "bessel": (1, 2, 3, 4),
}
"""Orders that each alignment has here."""


_REAL = 1e-9
"""What the search for roots leaves of the imaginary part of a real one."""


def filter_polynomial(alignment: Alignment, order: int) -> Floats:
    """Polynomial below the fraction bar of a low-pass whose corner is at 1.

    Butterworth and Bessel lose 3.01 dB at the corner, Linkwitz-Riley 6.02 dB.

    Parameters
    ----------
    alignment : "butterworth", "linkwitz-riley" or "bessel"
        Which polynomial.
    order : int
        1 to 4; 2 or 4 for Linkwitz-Riley.

    Returns
    -------
    array, shape (order + 1,)
        Coefficients of rising powers of s, the first is 1 [1].

    Raises
    ------
    ValueError
        If the alignment has no such order.

    Notes
    -----
    Butterworth: the poles divide the left half of the circle evenly. Linkwitz-Riley: the
    Butterworth of half the order, squared. Bessel: a_k = (2n-k)!/(2^(n-k) k! (n-k)!), then scaled
    in frequency to lose 3.01 dB at 1, as its phase normal form does not.

    References
    ----------
    .. [1] S. Linkwitz, Active Crossover Networks for Noncoincident Drivers, J. Audio Eng. Soc. 24
       (1976) 2; polynomials: any text on filters (from memory).

    Examples
    --------
    >>> filter_polynomial("butterworth", 3).round(6).tolist()
    [1.0, 2.0, 2.0, 1.0]
    >>> filter_polynomial("linkwitz-riley", 4).round(4).tolist()
    [1.0, 2.8284, 4.0, 2.8284, 1.0]
    """
    if order not in ALIGNMENTS[alignment]:
        known = ", ".join(str(one) for one in ALIGNMENTS[alignment])
        raise ValueError(f"order of a {alignment} filter: got {order}, must be one of {known}")
    if alignment == "butterworth":
        return _butterworth(order)
    if alignment == "linkwitz-riley":
        half = _butterworth(order // 2)
        return floats(np.convolve(half, half))
    return _bessel(order)


def filter_response(
    alignment: Alignment,
    order: int,
    *,
    frequency: FloatsLike,
    corner: FloatsLike,
    high_pass: bool = False,
) -> Complexes:
    """Response that a filter is meant to have.

    The ideal, with parts without loss and a resistive load.

    Parameters
    ----------
    alignment, order
        As in `filter_polynomial`.
    frequency : float or array, any shape
        Frequency [Hz], above 0.
    corner : float or array, any shape
        Corner of the filter [Hz], above 0.
    high_pass : bool
        Whether it passes what is above the corner.

    Returns
    -------
    array of complex, broadcast shape
        Response, 1 deep in the band that it passes [1].

    Raises
    ------
    ValueError
        If a frequency is not above 0 or the alignment has no such order.

    Notes
    -----
    1/D(s) with s = j f/corner, or j replaced by its mirror corner/(j f) for a high-pass.

    References
    ----------
    .. [1] Any text on filters.

    Examples
    --------
    >>> target = filter_response("linkwitz-riley", 4, frequency=3000.0, corner=3000.0)
    >>> round(20 * float(np.log10(abs(target))), 2)
    -6.02
    """
    s = laplace(frequency) / laplace(corner).imag
    polynomial = filter_polynomial(alignment, order)
    below = np.polynomial.polynomial.polyval(1.0 / s if high_pass else s, polynomial)
    return np.asarray(1.0 / below, dtype=np.complex128)


def filter_elements(alignment: Alignment, order: int) -> Floats:
    """Values of a low-pass ladder for 1 ohm and a corner of 1 rad/s, fed by a stiff amplifier.

    Lossless coils and capacitors, coil first at the amplifier, in series and across in turn.

    Parameters
    ----------
    alignment, order
        As in `filter_polynomial`.

    Returns
    -------
    array, shape (order,)
        Coils in series [H] and capacitors across [F] in turn, from the amplifier to the load.

    Raises
    ------
    ValueError
        If the alignment has no such order.

    Notes
    -----
    Seen from the load with the amplifier as a short circuit, the ladder is the even part of the
    polynomial over its odd part, or the other way round, the higher power on top; a continued
    fraction of it gives the values from the load backwards.

    References
    ----------
    .. [1] Synthesis of singly terminated ladders: any text on network synthesis (from memory).

    Examples
    --------
    >>> filter_elements("butterworth", 3).round(4).tolist()
    [1.5, 1.3333, 0.5]
    """
    polynomial = filter_polynomial(alignment, order)
    over = polynomial * (np.arange(order + 1) % 2 == order % 2)
    under = polynomial * (np.arange(order + 1) % 2 != order % 2)
    values: list[float] = []
    for power in range(order, 0, -1):
        values.insert(0, float(over[power] / under[power - 1]))
        rest = over - values[0] * np.concatenate(([0.0], under[:-1]))
        over, under = under, rest
    return np.array(values)


def low_pass_steps(
    alignment: Alignment, order: int, *, frequency: FloatsLike, resistance: FloatsLike
) -> tuple[Step, ...]:
    """Steps of a low-pass for a resistive load.

    A driver is no resistor: these values are where the search for real ones begins.

    Parameters
    ----------
    alignment, order
        As in `filter_polynomial`.
    frequency : float or array, any shape
        Corner [Hz], above 0.
    resistance : float or array, any shape
        Load [Ω], above 0.

    Returns
    -------
    tuple of Step
        Order many, from the amplifier to the load.

    Raises
    ------
    ValueError
        If a value is not above 0 or the alignment has no such order.

    Notes
    -----
    L = g R/(2 pi f) in series, C = g/(2 pi f R) across.

    References
    ----------
    .. [1] Scaling of a ladder to impedance and frequency: any text on filters.

    Examples
    --------
    8 ohm, 2 kHz, third order Butterworth: 0.9549 mH, 13.263 µF, 0.3183 mH.

    >>> steps = low_pass_steps("butterworth", 3, frequency=2000.0, resistance=8.0)
    >>> [round(1e3 * float(steps[at].inductance), 4) for at in (0, 2)]
    [0.9549, 0.3183]
    >>> round(1e6 * float(steps[1].capacitance), 3)
    13.263
    """
    omega = 2.0 * np.pi * above_zero(frequency, "frequency", "Hz")
    load = above_zero(resistance, "resistance", "Ω")
    return tuple(
        Step("across", capacitance=value / (omega * load))
        if place % 2
        else Step("series", inductance=value * load / omega)
        for place, value in enumerate(filter_elements(alignment, order))
    )


def high_pass_steps(
    alignment: Alignment, order: int, *, frequency: FloatsLike, resistance: FloatsLike
) -> tuple[Step, ...]:
    """Steps of a high-pass for a resistive load.

    The mirror of `low_pass_steps`: capacitors where that has coils, and the other way round.

    Parameters
    ----------
    alignment, order
        As in `filter_polynomial`.
    frequency : float or array, any shape
        Corner [Hz], above 0.
    resistance : float or array, any shape
        Load [Ω], above 0.

    Returns
    -------
    tuple of Step
        Order many, from the amplifier to the load.

    Raises
    ------
    ValueError
        If a value is not above 0 or the alignment has no such order.

    Notes
    -----
    C = 1/(2 pi f R g) in series, L = R/(2 pi f g) across.

    References
    ----------
    .. [1] Frequency transformation of filters: any text on filters.

    Examples
    --------
    >>> steps = high_pass_steps("linkwitz-riley", 2, frequency=2500.0, resistance=8.0)
    >>> round(1e6 * float(steps[0].capacitance), 3), round(1e3 * float(steps[1].inductance), 4)
    (3.979, 1.0186)
    """
    omega = 2.0 * np.pi * above_zero(frequency, "frequency", "Hz")
    load = above_zero(resistance, "resistance", "Ω")
    return tuple(
        Step("across", inductance=load / (omega * value))
        if place % 2
        else Step("series", capacitance=1.0 / (omega * load * value))
        for place, value in enumerate(filter_elements(alignment, order))
    )


def band_pass_steps(
    alignment: Alignment, order: int, *, low: FloatsLike, high: FloatsLike, resistance: FloatsLike
) -> tuple[Step, ...]:
    """Steps of a band-pass for a resistive load, as steep on both sides as the order says.

    The low-pass moved to the middle of the band, so both corners lose what its corner loses.

    Parameters
    ----------
    alignment, order
        As in `filter_polynomial`.
    low, high : float or array, any shape
        Corners [Hz], above 0.
    resistance : float or array, any shape
        Load [Ω], above 0.

    Returns
    -------
    tuple of Step
        From the amplifier to the load: coil and capacitor as one chain in series, then a coil and
        a capacitor across as two steps, and so on.

    Raises
    ------
    ValueError
        If a value is not above 0, the corners do not rise, or the alignment has no such order.

    Notes
    -----
    With the width B = 2 pi (high - low) and the middle w² = 4 pi² low high: L = g R/B with
    C = 1/(w² L) in series, C = g/(B R) beside L = 1/(w² C) across.

    References
    ----------
    .. [1] Frequency transformation of filters: any text on filters (from memory).

    Examples
    --------
    First order, 500 Hz to 4 kHz, 8 ohm:

    >>> step = band_pass_steps("butterworth", 1, low=500.0, high=4000.0, resistance=8.0)[0]
    >>> round(1e3 * float(step.inductance), 4), round(1e6 * float(step.capacitance), 2)
    (0.3638, 34.82)
    """
    bottom, top = above_zero(low, "low corner", "Hz"), above_zero(high, "high corner", "Hz")
    load = above_zero(resistance, "resistance", "Ω")
    if not np.all(bottom < top):
        raise ValueError(
            f"corners of a band: got {np.max(bottom):g} Hz and {np.min(top):g} Hz, must rise"
        )
    width, middle = 2.0 * np.pi * (top - bottom), 4.0 * np.pi**2 * bottom * top
    steps: list[Step] = []
    for place, value in enumerate(filter_elements(alignment, order)):
        if place % 2:
            farads = value / (width * load)
            steps += [
                Step("across", inductance=1.0 / (middle * farads)),
                Step("across", capacitance=farads),
            ]
        else:
            henries = value * load / width
            steps.append(Step("series", inductance=henries, capacitance=1.0 / (middle * henries)))
    return tuple(steps)


def _butterworth(order: int) -> Floats:
    angles = np.pi * (2.0 * np.arange(1, order + 1) + order - 1.0) / (2.0 * order)
    # Poles on the circle of radius 1: their product is 1, and so is the last coefficient.
    return np.array(np.poly(np.exp(1j * angles)).real[::-1], dtype=np.float64)


def _bessel(order: int) -> Floats:
    raw = [
        factorial(2 * order - power)
        / (2 ** (order - power) * factorial(power) * factorial(order - power))
        for power in range(order + 1)
    ]
    polynomial = floats(np.array(raw) / raw[0])
    turned = polynomial * np.array([1.0, 1j, -1.0, -1j, 1.0])[: order + 1]
    # |D|² is a polynomial of the squared frequency: where it is 2, 3.01 dB are lost.
    squared = np.convolve(turned, turned.conj()).real[::2]
    squared[0] -= 2.0
    roots = np.roots(squared[::-1])
    real = [root.real for root in roots if abs(root.imag) < _REAL and root.real > 0.0]
    return floats(polynomial * float(min(real)) ** (0.5 * np.arange(order + 1.0)))
