"""Resistors and dampers around a driver: level pads, and branches that make its impedance flat."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats, laplace, not_negative

__all__ = [
    "Correction",
    "Notch",
    "Pad",
    "PadShares",
    "impedance_correction",
    "l_pad",
    "pad_shares",
    "resonance_notch",
]

_ROUNDS = 4
_POINTS = 25


@dataclass(frozen=True, eq=False)
class Pad:
    """Two resistors that make a driver quieter and keep its impedance.

    Parameters
    ----------
    series : array
        In the lead to the driver [Ω].
    across : array
        Beside the driver [Ω]; infinite where nothing is taken away.
    """

    series: Floats
    across: Floats


@dataclass(frozen=True, eq=False)
class PadShares:
    """Where the power into a pad goes, as shares that add up to 1.

    Parameters
    ----------
    series, across, driver : array
        Shares of the two resistors and of the driver [1].
    """

    series: Floats
    across: Floats
    driver: Floats


@dataclass(frozen=True, eq=False)
class Correction:
    """Resistor and capacitor in a chain beside a driver, against the rise of its coil.

    Parameters
    ----------
    resistance : array
        Resistor [Ω].
    capacitance : array
        Capacitor [F].
    """

    resistance: Floats
    capacitance: Floats


@dataclass(frozen=True, eq=False)
class Notch:
    """Resistor, coil and capacitor in a chain beside a driver, against the peak of its resonance.

    Parameters
    ----------
    resistance : array
        Resistor and winding together [Ω].
    inductance : array
        Coil [H].
    capacitance : array
        Capacitor [F].
    """

    resistance: Floats
    inductance: Floats
    capacitance: Floats


def l_pad(resistance: FloatsLike, attenuation_db: FloatsLike) -> Pad:
    """Pad that takes level away and leaves the impedance as it was.

    For a resistive driver; a real one keeps its impedance only about, and its resonance is
    damped less the more the pad takes.

    Parameters
    ----------
    resistance : float or array, any shape
        Driver [Ω], above 0.
    attenuation_db : float or array, any shape
        Level to be taken away [dB], 0 or above.

    Returns
    -------
    Pad
        Arrays of the broadcast shape.

    Raises
    ------
    ValueError
        If the resistance is not above 0 or the level is below 0.

    Notes
    -----
    k = 10^(-dB/20): series R (1 - k), across R k/(1 - k).

    References
    ----------
    .. [1] Voltage divider of constant input resistance: any text on circuits.

    Examples
    --------
    >>> pad = l_pad(8.0, 6.0)
    >>> round(float(pad.series), 3), round(float(pad.across), 3)
    (3.991, 8.038)
    """
    load = above_zero(resistance, "resistance", "Ω")
    kept = 10.0 ** (-not_negative(attenuation_db, "attenuation", "dB") / 20.0)
    taken = 1.0 - kept
    across = np.divide(kept, taken, out=np.full_like(taken, np.inf), where=taken > 0.0)
    return Pad(series=floats(load * taken), across=floats(load * across))


def pad_shares(attenuation_db: FloatsLike) -> PadShares:
    """Where the power that goes into a level pad is turned to heat.

    For a resistive driver.

    Parameters
    ----------
    attenuation_db : float or array, any shape
        Level that the pad takes away [dB], 0 or above.

    Returns
    -------
    PadShares

    Raises
    ------
    ValueError
        If the level is below 0.

    Notes
    -----
    k = 10^(-dB/20): series 1 - k, across k (1 - k), driver k².

    References
    ----------
    .. [1] Any text on circuits.

    Examples
    --------
    6 dB: half of it in the series resistor, a quarter in the other, a quarter in the driver.

    >>> shares = pad_shares(6.0)
    >>> [round(float(one), 3) for one in (shares.series, shares.across, shares.driver)]
    [0.499, 0.25, 0.251]
    """
    kept = 10.0 ** (-not_negative(attenuation_db, "attenuation", "dB") / 20.0)
    return PadShares(
        series=floats(1.0 - kept), across=floats(kept * (1.0 - kept)), driver=floats(kept**2)
    )


def impedance_correction(
    re: FloatsLike,
    le: FloatsLike,
    *,
    le2: FloatsLike = 0.0,
    re2: FloatsLike = 0.0,
    low: FloatsLike = 500.0,
    high: FloatsLike = 10e3,
) -> Correction:
    """Branch beside a driver that makes its coil look like a resistor.

    Exact for a coil without losses; with them, the resistor and capacitor that come nearest over
    a band. The habit of taking 1.25 times `re` for the resistor leaves a bump and is not used.

    Parameters
    ----------
    re : float or array, any shape
        D.c. resistance of the voice coil [Ω], above 0.
    le, le2 : float or array, any shape
        Inductance, and the part of it that the iron's losses shunt [H], 0 or above, not both 0.
    re2 : float or array, any shape
        Resistance beside `le2` [Ω], 0 or above.
    low, high : float or array, any shape
        Band over which a lossy coil is fitted [Hz], above 0.

    Returns
    -------
    Correction
        Arrays of the broadcast shape.

    Raises
    ------
    ValueError
        If a value is out of range, or the coil has no inductance at all.

    Notes
    -----
    A coil re + Z wants the branch re + re²/Z beside it: R = re, C = le/re² for Z = s le. Otherwise
    the branch's admittance s C/(1 + s R C) is fitted to 1/re - 1/(re + Z) by linear least squares,
    weighed anew a few times with the denominator just found.

    References
    ----------
    .. [1] Dual networks: any text on circuits. Weighing: C. K. Sanathanan, J. Koerner, IEEE Trans.
       Automatic Control 8 (1963) 56 (from memory).

    Examples
    --------
    >>> branch = impedance_correction(6.0, 0.5e-3)
    >>> round(float(branch.resistance), 3), round(1e6 * float(branch.capacitance), 2)
    (6.0, 13.89)
    """
    coil = above_zero(re, "re", "Ω")
    first, second = not_negative(le, "le", "H"), not_negative(le2, "le2", "H")
    loss = not_negative(re2, "re2", "Ω")
    above_zero(first + np.where(loss > 0.0, second, 0.0), "inductance of the coil", "H")
    bottom, top = above_zero(low, "low end", "Hz"), above_zero(high, "high end", "Hz")
    shares = np.linspace(0.0, 1.0, _POINTS)
    s = laplace(bottom[..., np.newaxis] * (top / bottom)[..., np.newaxis] ** shares)
    lossy, ohms = s * second[..., np.newaxis], loss[..., np.newaxis]
    under = lossy + ohms
    pair = np.divide(lossy * ohms, under, out=np.zeros_like(under), where=under != 0.0)
    series = coil[..., np.newaxis]
    wanted = 1.0 / series - 1.0 / (series + s * first[..., np.newaxis] + pair)
    # Two unknowns: C, and R C. Each round divides by the denominator of the one before.
    weight = np.ones(wanted.shape)
    capacitance = product = np.zeros(wanted.shape[:-1])
    for _ in range(_ROUNDS):
        one, other, seen = weight * s, -weight * s * wanted, weight * wanted
        a, b, d = (_sum(x, y) for x, y in ((one, one), (one, other), (other, other)))
        e, f = _sum(one, seen), _sum(other, seen)
        turn = a * d - b * b
        capacitance, product = (d * e - b * f) / turn, (a * f - b * e) / turn
        weight = 1.0 / np.abs(1.0 + s * product[..., np.newaxis])
    return Correction(resistance=floats(product / capacitance), capacitance=floats(capacitance))


def _sum(one: np.ndarray, other: np.ndarray) -> Floats:
    return floats(np.sum((one.conj() * other).real, axis=-1))


def resonance_notch(re: FloatsLike, *, fs: FloatsLike, qms: FloatsLike, qes: FloatsLike) -> Notch:
    """Branch beside a driver that takes away the peak of its impedance at resonance.

    Exact for a driver in free air or in a closed box, with the resonance and Q it has there.

    Parameters
    ----------
    re : float or array, any shape
        D.c. resistance of the voice coil [Ω], above 0.
    fs : float or array, any shape
        Resonance [Hz], above 0.
    qms, qes : float or array, any shape
        Mechanical and electrical Q there [1], above 0.

    Returns
    -------
    Notch
        Arrays of the broadcast shape.

    Raises
    ------
    ValueError
        If a value is not above 0.

    Notes
    -----
    R = re (1 + qes/qms), L = re qes/(2 pi fs), C = 1/(2 pi fs re qes): the dual of the circuit
    that mass, spring and loss make at the terminals.

    References
    ----------
    .. [1] Dual networks: any text on circuits.

    Examples
    --------
    A tweeter of 1.1 kHz: coil and capacitor meet at its resonance.

    >>> notch = resonance_notch(6.0, fs=1100.0, qms=3.0, qes=1.5)
    >>> round(float(notch.resistance), 2), round(1e3 * float(notch.inductance), 3)
    (9.0, 1.302)
    >>> round(1e6 * float(notch.capacitance), 2)
    16.08
    """
    coil, omega = above_zero(re, "re", "Ω"), 2.0 * np.pi * above_zero(fs, "fs", "Hz")
    electrical = above_zero(qes, "qes")
    return Notch(
        resistance=floats(coil * (1.0 + electrical / above_zero(qms, "qms"))),
        inductance=floats(coil * electrical / omega),
        capacitance=floats(1.0 / (omega * coil * electrical)),
    )
