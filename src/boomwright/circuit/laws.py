"""Laws of the parts whose current does not follow their voltage in proportion.

Each law takes the volts of its terminals against the last one, shape (terminals - 1, samples), and
gives the currents into those terminals with their derivatives. The current out of the last terminal
is what went into the others.
"""

from __future__ import annotations

import numpy as np

from boomwright.circuit.values import NOMINAL_TEMPERATURE, Floats, Value, thermal_voltage

__all__ = [
    "LEAST_CONDUCTANCE",
    "bipolar_currents",
    "junction_critical_voltage",
    "junction_currents",
    "junction_limited",
    "junction_saturation_current",
    "mosfet_currents",
    "zener_currents",
]

LEAST_CONDUCTANCE = 1e-12
"""Conductance across every junction, which keeps the equations regular [S]."""

_ELECTRON_SCALE = 200.0
# Beyond this many scales the exponential goes on as a straight line: no step may overflow.
_MOST_EXPONENT = 80.0


def junction_saturation_current(
    current: Value,
    *,
    temperature: Value,
    energy_gap: float,
    exponent: float,
    emission: Value = 1.0,
) -> Floats:
    """Saturation current of a junction at a temperature.

    The law of SPICE, from 25 °C; it doubles about every 5 K in silicon.

    Parameters
    ----------
    current : float or array
        Saturation current at 25 °C [A].
    temperature : float or array
        Temperature [K].
    energy_gap : float
        Energy gap [eV].
    exponent : float
        Temperature exponent.
    emission : float or array, default 1
        Emission coefficient.

    Returns
    -------
    array, broadcast shape
        Saturation current [A].

    Notes
    -----
    I(T) = I (T/T0)^(x/n) exp((T/T0 - 1) Eg / (n kT/q)).

    References
    ----------
    .. [1] P. Antognetti and G. Massobrio, Semiconductor Device Modeling with SPICE, McGraw-Hill,
       1988, chapter 1 (from memory).

    Examples
    --------
    >>> warm = junction_saturation_current(
    ...     1e-14, temperature=308.15, energy_gap=1.11, exponent=3.0
    ... )
    >>> round(float(warm) / 1e-14, 1)
    4.5
    """
    ratio = np.asarray(temperature, dtype=np.float64) / NOMINAL_TEMPERATURE
    heat = (ratio - 1.0) * energy_gap / (emission * thermal_voltage(temperature))
    return np.asarray(current * np.exp(heat + exponent / emission * np.log(ratio)))


def _exponential(argument: Floats) -> tuple[Floats, Floats]:
    """Exponential and its slope, a straight line beyond the range of sense."""
    inside = np.exp(np.clip(argument, -_ELECTRON_SCALE, _MOST_EXPONENT))
    return inside * (1.0 + np.maximum(argument - _MOST_EXPONENT, 0.0)), inside


def junction_currents(volts: Floats, saturation: Floats, scale: Floats) -> tuple[Floats, Floats]:
    """Current and conductance of a junction without its series resistance.

    Parameters
    ----------
    volts : array
        Anode against cathode [V].
    saturation, scale : array
        Saturation current [A], emission coefficient times thermal voltage [V].

    Returns
    -------
    tuple of array
        Current into the anode [A], conductance [S].

    Notes
    -----
    I = I_s (exp(V / scale) - 1), a straight line beyond 80 scales.

    References
    ----------
    .. [1] W. Shockley, The theory of p-n junctions in semiconductors and p-n junction transistors,
       Bell Syst. Tech. J. 28, 1949 (from memory).

    Examples
    --------
    >>> current, _ = junction_currents(np.array([0.6]), np.array(1e-14), np.array(0.02569))
    >>> round(float(current[0]) * 1e3, 3)
    0.139
    """
    rise, slope = _exponential(volts / scale)
    return (
        saturation * (rise - 1.0) + LEAST_CONDUCTANCE * volts,
        saturation * slope / scale + LEAST_CONDUCTANCE,
    )


def junction_critical_voltage(saturation: Floats, scale: Floats) -> Floats:
    """Volts at which a junction bends most, beyond which a step is held back.

    Parameters
    ----------
    saturation : array
        Saturation current [A].
    scale : array
        Emission coefficient times thermal voltage [V].

    Returns
    -------
    array, broadcast shape
        Voltage [V].

    Examples
    --------
    >>> round(float(junction_critical_voltage(np.array(1e-14), np.array(0.0257))), 2)
    0.73
    """
    return np.asarray(scale * np.log(scale / (np.sqrt(2.0) * saturation)))


def junction_limited(new: Floats, old: Floats, *, scale: Floats, critical: Floats) -> Floats:
    """Volts across a junction for the next evaluation, held back where the step is too bold.

    Parameters
    ----------
    new, old : array
        Volts the step asks for, and volts of the last evaluation [V].
    scale, critical : array
        Emission coefficient times thermal voltage, and critical voltage [V].

    Returns
    -------
    array, broadcast shape
        Volts [V].

    Notes
    -----
    Above the critical voltage a rise goes by the logarithm, so that the current and not the
    voltage takes the step.

    References
    ----------
    .. [1] L. W. Nagel, SPICE2: A computer program to simulate semiconductor circuits, University
       of California, Berkeley, 1975 (from memory).

    Examples
    --------
    >>> volts = junction_limited(
    ...     np.array([5.0, 0.61]),
    ...     np.array([0.6, 0.6]),
    ...     scale=np.array(0.0257),
    ...     critical=np.array(0.73),
    ... )
    >>> [round(float(value), 3) for value in volts]
    [0.732, 0.61]
    """
    step = (new - old) / scale
    bold = (new > critical) & (np.abs(step) > 2.0)
    up = old + scale * np.log1p(np.maximum(step, 0.0))
    # From below zero there is no logarithm to follow: start at the bend.
    by_current = np.where(old > 0.0, np.where(step > 0.0, up, critical), critical)
    return np.where(bold, by_current, new)


def zener_currents(
    volts: Floats,
    *,
    saturation: Floats,
    scale: Floats,
    breakdown: Floats,
    test: Floats,
    knee: Floats,
) -> tuple[Floats, Floats]:
    """Current and conductance of a zener without its slope resistance.

    Parameters
    ----------
    volts : array
        Anode against cathode [V].
    saturation, scale : array
        Saturation current [A] and scale [V] of the forward branch.
    breakdown, test, knee : array
        Volts at the test current without the slope [V], test current [A], knee [V].

    Returns
    -------
    tuple of array
        Current into the anode [A], conductance [S].

    Notes
    -----
    Reverse: I = I_test (exp((V_r - V_b) / knee) - exp(-V_b / knee)).

    Examples
    --------
    >>> current, _ = zener_currents(
    ...     np.array([-9.1]),
    ...     saturation=np.array(1e-14),
    ...     scale=np.array(0.0257),
    ...     breakdown=np.array(9.1),
    ...     test=np.array(0.028),
    ...     knee=np.array(0.05),
    ... )
    >>> round(float(current[0]), 4)
    -0.028
    """
    forward, forward_slope = junction_currents(volts, saturation, scale)
    rise, slope = _exponential(-(volts + breakdown) / knee)
    # What the curve would give without any volts is taken off: a zener is no battery.
    rest, _ = _exponential(-breakdown / knee)
    return forward - test * (rise - rest), forward_slope + test * slope / knee


def bipolar_currents(
    volts: Floats,
    *,
    sign: float,
    saturation: Floats,
    scale: Floats,
    gain: Floats,
    gain_reverse: Value,
) -> tuple[Floats, Floats]:
    """Currents into collector and base of a bipolar transistor.

    Transport form of Ebers and Moll; high-level injection, base width and bulk resistances are
    left out, which in switching circuits costs some tens of millivolts at amperes.

    Parameters
    ----------
    volts : array, shape (2, samples)
        Collector and base against the emitter [V].
    sign : float
        1 for NPN, -1 for PNP.
    saturation, scale : array
        Saturation current [A], thermal voltage [V].
    gain, gain_reverse : array
        Current gains.

    Returns
    -------
    tuple of array, shapes (2, samples) and (2, 2, samples)
        Currents [A] and their derivatives [S].

    References
    ----------
    .. [1] J. J. Ebers and J. L. Moll, Large-signal behavior of junction transistors, Proc. IRE 42,
       1954 (from memory).

    Examples
    --------
    >>> currents, _ = bipolar_currents(
    ...     np.array([[5.0], [0.65]]),
    ...     sign=1.0,
    ...     saturation=np.array(1e-14),
    ...     scale=np.array(0.02569),
    ...     gain=np.array(150.0),
    ...     gain_reverse=4.0,
    ... )
    >>> round(float(currents[0, 0] / currents[1, 0]))
    150
    """
    v_be, v_bc = sign * volts[1], sign * (volts[1] - volts[0])
    forward, forward_slope = junction_currents(v_be, saturation, scale)
    reverse, reverse_slope = junction_currents(v_bc, saturation, scale)
    collector = forward - reverse * (1.0 + 1.0 / gain_reverse)
    base = forward / gain + reverse / gain_reverse
    currents = sign * np.stack(np.broadcast_arrays(collector, base))
    # v_bc falls as the collector rises; the signs of current and volts cancel in a derivative.
    down = (1.0 + 1.0 / gain_reverse) * reverse_slope
    back = reverse_slope / gain_reverse
    rows = np.broadcast_arrays(down, forward_slope - down, -back, forward_slope / gain + back)
    return currents, np.stack(rows).reshape(2, 2, *rows[0].shape)


def mosfet_currents(
    volts: Floats, *, sign: float, threshold: Floats, transconductance: Floats
) -> tuple[Floats, Floats]:
    """Currents into drain and gate of a MOS transistor.

    The square law, either way round between drain and source; the gate takes no direct current.

    Parameters
    ----------
    volts : array, shape (2, samples)
        Drain and gate against the source [V].
    sign : float
        1 for an N channel, -1 for a P channel.
    threshold : array
        Threshold size [V].
    transconductance : array
        K of I = K (V_gs - V_t)² / 2 [A/V²].

    Returns
    -------
    tuple of array, shapes (2, samples) and (2, 2, samples)
        Currents [A] and their derivatives [S].

    References
    ----------
    .. [1] H. Shichman and D. A. Hodges, Modeling and simulation of insulated-gate field-effect
       transistor switching circuits, IEEE J. Solid-State Circuits 3, 1968 (from memory).

    Examples
    --------
    >>> currents, _ = mosfet_currents(
    ...     np.array([[10.0], [4.0]]),
    ...     sign=1.0,
    ...     threshold=np.array(2.0),
    ...     transconductance=np.array(0.5),
    ... )
    >>> round(float(currents[0, 0]), 6)
    1.0
    """
    v_ds, v_gs = sign * volts[0], sign * volts[1]
    swapped = v_ds < 0.0
    span = np.abs(v_ds)
    drive = np.maximum(np.where(swapped, v_gs - v_ds, v_gs) - threshold, 0.0)
    reach = np.minimum(span, drive)
    current = transconductance * (drive - 0.5 * reach) * reach
    by_span = transconductance * np.maximum(drive - span, 0.0)
    by_drive = transconductance * reach
    # With drain and source swapped the drive hangs on the drain too.
    down = np.where(swapped, by_span + by_drive, by_span) + LEAST_CONDUCTANCE
    side = np.where(swapped, -by_drive, by_drive)
    drain = np.where(swapped, -current, current) + LEAST_CONDUCTANCE * v_ds
    rows = np.broadcast_arrays(down, side)
    none = np.zeros_like(rows[0])
    drain = np.broadcast_to(drain, none.shape)
    return sign * np.stack([drain, none]), np.stack([*rows, none, none]).reshape(2, 2, *none.shape)
