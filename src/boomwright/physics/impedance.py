"""Loads of several drivers, and first-order filters into a resistive load."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats, not_negative

__all__ = [
    "first_order_capacitor",
    "first_order_corner",
    "impedance_minimum",
    "impedance_parallel",
    "impedance_series",
]


def impedance_minimum(nominal: FloatsLike) -> Floats:
    """Least impedance that the rated impedance of a driver allows, and the one to plan for.

    The standard's rule is a limit for honest ratings; unknown drivers go lower, so measure
    the d.c. resistance.

    Parameters
    ----------
    nominal : float or array, any shape
        Rated impedance [Ω].

    Returns
    -------
    array, same shape
        Least modulus in the rated range, d.c. included [Ω].

    Notes
    -----
    0.8 Z.

    References
    ----------
    .. [1] IEC 60268-5, clause 16.1 (seen second-hand).

    Examples
    --------
    >>> float(impedance_minimum(8.0))
    6.4
    """
    return 0.8 * floats(nominal)


def impedance_parallel(impedances: FloatsLike, axis: int = -1) -> Floats:
    """Impedance of drivers side by side.

    Moduli are combined as resistances, right for alike drivers and otherwise low by a little,
    the safe side.

    Parameters
    ----------
    impedances : array, any shape
        Impedance of each [Ω], 0 or above; infinite for an open one.
    axis : int
        Axis along which the drivers lie.

    Returns
    -------
    array, shape without `axis`
        Impedance [Ω]; 0 if one is a short.

    Raises
    ------
    ValueError
        If an impedance is below 0.

    Notes
    -----
    1/sum(1/Z). For three, "product over sum" is not a law: it is not even in ohms.

    References
    ----------
    .. [1] Any text on circuits.

    Examples
    --------
    Three of 8 ohm make 2.67 ohm.

    >>> round(float(impedance_parallel(np.array([8.0, 8.0, 8.0]))), 2)
    2.67
    """
    each = np.atleast_1d(not_negative(impedances, "impedance", "Ω"))
    conductances = np.full_like(each, np.inf)
    np.divide(1.0, each, out=conductances, where=each > 0.0)
    total = floats(np.sum(conductances, axis=axis))
    return np.divide(1.0, total, out=np.full_like(total, np.inf), where=total > 0.0)


def impedance_series(impedances: FloatsLike, axis: int = -1) -> Floats:
    """Impedance of drivers one after the other.

    Moduli are combined as resistances, right for alike drivers; unlike ones in series upset
    each other's bass.

    Parameters
    ----------
    impedances : array, any shape
        Impedance of each [Ω].
    axis : int
        Axis along which the drivers lie.

    Returns
    -------
    array, shape without `axis`
        Impedance [Ω].

    Notes
    -----
    sum(Z).

    References
    ----------
    .. [1] Any text on circuits.

    Examples
    --------
    >>> float(impedance_series(np.array([8.0, 4.0])))
    12.0
    """
    return floats(np.sum(np.atleast_1d(floats(impedances)), axis=axis))


def first_order_capacitor(frequency: FloatsLike, resistance: FloatsLike) -> Floats:
    """Capacitor in series with a driver for a 6 dB per octave high-pass.

    Resistive driver. A tweeter's resonance undoes the filter: keep the corner two to three
    times above it, and prefer a steeper filter for power.

    Parameters
    ----------
    frequency : float or array, any shape
        Corner [Hz], above 0.
    resistance : float or array, any shape
        Impedance of the driver there [Ω], above 0.

    Returns
    -------
    array, broadcast shape
        Capacitance [F].

    Raises
    ------
    ValueError
        If a frequency or a resistance is not above 0.

    Notes
    -----
    1/(2 pi f R).

    References
    ----------
    .. [1] First-order high-pass; any text on circuits.

    Examples
    --------
    3 kHz in 8 ohm takes 6.6 µF; 500 Hz in 4 ohm takes 79.6 µF, not 0.8.

    >>> round(float(first_order_capacitor(3000.0, 8.0)) * 1e6, 1)
    6.6
    >>> round(float(first_order_capacitor(500.0, 4.0)) * 1e6, 1)
    79.6
    """
    hertz = above_zero(frequency, "frequency", "Hz")
    return 1.0 / (2.0 * np.pi * hertz * above_zero(resistance, "resistance", "Ω"))


def first_order_corner(capacitance: FloatsLike, resistance: FloatsLike) -> Floats:
    """Corner of a driver behind a single capacitor.

    Resistive driver; see `first_order_capacitor`.

    Parameters
    ----------
    capacitance : float or array, any shape
        Capacitance in series [F], above 0.
    resistance : float or array, any shape
        Impedance of the driver at the corner [Ω], above 0.

    Returns
    -------
    array, broadcast shape
        Frequency at which 3 dB are lost [Hz].

    Raises
    ------
    ValueError
        If a capacitance or a resistance is not above 0.

    Notes
    -----
    1/(2 pi R C).

    References
    ----------
    .. [1] First-order high-pass; any text on circuits.

    Examples
    --------
    >>> round(float(first_order_corner(4.7e-6, 8.0)))
    4233
    """
    farads = above_zero(capacitance, "capacitance", "F")
    return 1.0 / (2.0 * np.pi * farads * above_zero(resistance, "resistance", "Ω"))
