"""Capacitors that smooth a ripple or bridge a gap."""

from __future__ import annotations

import math

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats

__all__ = [
    "charging_time",
    "holdup_time",
    "ripple_peak_to_peak",
    "ripple_rms",
    "smoothing_capacitance",
]


def ripple_peak_to_peak(
    current: FloatsLike, *, capacitance: FloatsLike, frequency: FloatsLike
) -> Floats:
    """Voltage ripple on a capacitor that is filled once in every period.

    The load empties it at constant current for the whole period, so that the figure is some tens
    of per cent on the safe side.

    Parameters
    ----------
    current : float or array
        Load current [A].
    capacitance : float or array
        Capacitance [F].
    frequency : float or array
        Fillings per second [Hz]: twice the mains for a full-wave rectifier.

    Returns
    -------
    array, broadcast shape
        Ripple voltage, peak to peak [V].

    Raises
    ------
    ValueError
        If the capacitance or frequency is not positive.

    Notes
    -----
    V = I / (f C).

    References
    ----------
    .. [1] R. L. Boylestad and L. Nashelsky, Electronic Devices and Circuit Theory, Pearson,
       capacitor filter (from memory).

    Examples
    --------
    >>> round(float(ripple_peak_to_peak(1.0, capacitance=4700e-6, frequency=100.0)), 3)
    2.128
    """
    store = above_zero(capacitance, "capacitance", "F")
    return floats(current) / (above_zero(frequency, "frequency", "Hz") * store)


def ripple_rms(peak_to_peak: FloatsLike) -> Floats:
    """Root-mean-square value of a triangular ripple.

    Straight rise and fall, of any slant.

    Parameters
    ----------
    peak_to_peak : float or array, any shape
        Ripple, peak to peak [any unit].

    Returns
    -------
    array, same shape
        Root-mean-square value [same unit].

    Notes
    -----
    x_rms = x_pp / (2 sqrt(3)).

    References
    ----------
    .. [1] R. L. Boylestad and L. Nashelsky, Electronic Devices and Circuit Theory, Pearson (from
       memory).

    Examples
    --------
    >>> round(float(ripple_rms(2.1277)), 4)
    0.6142
    """
    return floats(peak_to_peak) / math.sqrt(12.0)


def smoothing_capacitance(
    current: FloatsLike, *, ripple: FloatsLike, frequency: FloatsLike
) -> Floats:
    """Capacitance that keeps the ripple of a rectified supply to a chosen voltage.

    `ripple_peak_to_peak` turned round, with its limits.

    Parameters
    ----------
    current : float or array
        Load current [A].
    ripple : float or array
        Ripple voltage, peak to peak [V].
    frequency : float or array
        Fillings per second [Hz].

    Returns
    -------
    array, broadcast shape
        Capacitance [F].

    Raises
    ------
    ValueError
        If the ripple voltage or frequency is not positive.

    Notes
    -----
    C = I / (f V).

    References
    ----------
    .. [1] Worked homework answer: 0.154 A, 1/120 s and 1 V need 1283 µF.

    Examples
    --------
    >>> round(float(smoothing_capacitance(0.154, ripple=1.0, frequency=120.0)) * 1e6)
    1283
    """
    swing = above_zero(ripple, "ripple voltage", "V")
    return floats(current) / (above_zero(frequency, "frequency", "Hz") * swing)


def holdup_time(
    current: FloatsLike,
    *,
    capacitance: FloatsLike,
    voltage_start: FloatsLike,
    voltage_end: FloatsLike,
) -> Floats:
    """Time a charged capacitor carries a load alone.

    Constant current, ideal capacitor.

    Parameters
    ----------
    current : float or array
        Load current [A].
    capacitance : float or array
        Capacitance [F].
    voltage_start : float or array
        Voltage at the start [V].
    voltage_end : float or array
        Lowest voltage the load works at [V].

    Returns
    -------
    array, broadcast shape
        Time [s]; 0 if it starts too low, inf without a load.

    Notes
    -----
    t = C (V_start - V_end) / I.

    References
    ----------
    .. [1] Definition; 4700 µF from 12 V to 9 V at 1 A lasts 14.1 ms (computed).

    Examples
    --------
    >>> time = holdup_time(1.0, capacitance=4700e-6, voltage_start=12.0, voltage_end=9.0)
    >>> round(float(time) * 1e3, 1)
    14.1
    """
    spare = floats(capacitance) * np.maximum(0.0, floats(voltage_start) - floats(voltage_end))
    charge, load = np.broadcast_arrays(spare, floats(current))
    flows = load > 0.0
    time = charge / np.where(flows, load, 1.0)
    return np.where(flows, time, np.where(charge > 0.0, np.inf, 0.0))


def charging_time(
    resistor: FloatsLike,
    capacitor: FloatsLike,
    *,
    divider: FloatsLike = np.inf,
    voltage: FloatsLike,
    threshold: FloatsLike,
    start: FloatsLike = 0.0,
) -> Floats:
    """Time until a capacitor charged through a resistor reaches a threshold.

    First order; leakage and whatever current the threshold takes are left out, some per cent.

    Parameters
    ----------
    resistor, divider : float or array
        From the supply, and across the capacitor [Ω]; infinite for none.
    capacitor : float or array
        Capacitance [F].
    voltage, threshold, start : float or array
        Supply, threshold and first volts of the capacitor [V].

    Returns
    -------
    array, broadcast shape
        Time [s]; infinite where the threshold is never reached, 0 where it is passed at the start.

    Notes
    -----
    t = τ ln((V_f - V_0) / (V_f - V_t)), τ = C R / (1 + R/R_d), V_f = V / (1 + R/R_d). A threshold
    at 63.2 % of the supply gives t = R C.

    References
    ----------
    .. [1] Any circuits text, RC charging.

    Examples
    --------
    10 kΩ and 100 µF, the usual second:

    >>> share = 1.0 - np.exp(-1.0)
    >>> time = charging_time(10e3, 100e-6, voltage=12.0, threshold=12.0 * share)
    >>> round(float(time), 6)
    1.0
    """
    ratio = floats(resistor) / floats(divider)
    constant = floats(capacitor) * floats(resistor) / (1.0 + ratio)
    final = floats(voltage) / (1.0 + ratio)
    left, whole = np.broadcast_arrays(final - floats(threshold), final - floats(start))
    passed = np.broadcast_to(floats(threshold) <= floats(start), left.shape)
    reached = (left > 0.0) & ~passed
    share = np.divide(whole, left, out=np.ones(left.shape), where=reached)
    never = np.where(passed, 0.0, np.inf)
    return np.asarray(np.where(reached, constant * np.log(share), never), dtype=np.float64)
