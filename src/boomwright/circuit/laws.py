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
    "junction_limited",
    "junction_saturation_current",
    "mosfet_currents",
    "reference_currents",
    "regulator_currents",
    "zener_currents",
]

LEAST_CONDUCTANCE = 1e-12
"""Conductance across every junction, which keeps the equations regular [S]."""

_ELECTRON_SCALE = 200.0
# Beyond this many scales the exponential goes on as a straight line: no step may overflow.
_MOST_EXPONENT = 80.0
REFERENCE_RAMP = 5e-4
REFERENCE_KNEE = 0.1
REFERENCE_WAKES = 0.9
REFERENCE_WAKING = 0.04
REGULATOR_KNEE = 0.01
REGULATOR_RAMP = 1e-4


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


def _junction(volts: Floats, saturation: Floats, scale: Floats) -> tuple[Floats, Floats]:
    """Current and conductance of a junction without its series resistance."""
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
    forward, forward_slope = _junction(volts, saturation, scale)
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
    forward, forward_slope = _junction(v_be, saturation, scale)
    reverse, reverse_slope = _junction(v_bc, saturation, scale)
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


def _ramp(value: Floats, width: float) -> tuple[Floats, Floats]:
    """Value where positive, about 0 where not, round within ``width``; with its slope."""
    root = np.sqrt(value * value + width * width)
    return 0.5 * (value + root), 0.5 * (1.0 + value / root)


def reference_currents(
    volts: Floats,
    *,
    voltage: Floats,
    transconductance: Floats,
    cathode_least: Floats,
    reference_current: Floats,
    idle_current: Floats,
    leakage: Floats,
) -> tuple[Floats, Floats]:
    """Currents into cathode and reference pin of a shunt reference.

    Parameters
    ----------
    volts : array, shape (2, samples)
        Cathode and reference pin against the anode [V].
    voltage : array
        Reference voltage [V].
    transconductance : array
        Cathode current per volt above it [S].
    cathode_least : array
        Cathode voltage below which it cannot go [V].
    reference_current : array
        Current into the reference pin [A].
    idle_current : array
        What the cathode takes for the chip itself, once the pin is near its voltage [A].
    leakage : array
        Into the cathode at 12 V when off [A].

    Returns
    -------
    tuple of array, shapes (2, samples) and (2, 2, samples)
        Currents [A] and their derivatives [S].

    Notes
    -----
    I = (g ramp(V_ref - V_0) + I_idle (1 + tanh((V_ref / V_0 - 0.9) / 0.04)) / 2)
    (1 + tanh((V_ka - V_least) / 0.1 V)) / 2, with a ramp that is round within 0.5 mV; the law is
    ours, a smooth stand-in for what data sheets of the class plot.

    Examples
    --------
    >>> currents, _ = reference_currents(
    ...     np.array([[5.0], [2.4975]]),
    ...     voltage=np.array(2.495),
    ...     transconductance=np.array(2.0),
    ...     cathode_least=np.array(1.9),
    ...     reference_current=np.array(2e-6),
    ...     idle_current=np.array(0.25e-3),
    ...     leakage=np.array(1e-7),
    ... )
    >>> round(float(currents[0, 0]) * 1e3, 2)
    5.3
    """
    over, over_slope = _ramp(volts[1] - voltage, REFERENCE_RAMP)
    tanh = np.tanh((volts[0] - cathode_least) / REFERENCE_KNEE)
    alive, alive_slope = 0.5 * (1.0 + tanh), 0.5 * (1.0 - tanh * tanh) / REFERENCE_KNEE
    leak = leakage / 12.0
    wakes = np.tanh((volts[1] / voltage - REFERENCE_WAKES) / REFERENCE_WAKING)
    wish = transconductance * over + 0.5 * idle_current * (1.0 + wakes)
    wish_slope = transconductance * over_slope + 0.5 * idle_current * (1.0 - wakes * wakes) / (
        REFERENCE_WAKING * voltage
    )
    cathode = wish * alive + leak * volts[0]
    pin = np.tanh(2.0 * volts[1])
    rows = np.broadcast_arrays(
        wish * alive_slope + leak,
        wish_slope * alive,
        np.zeros_like(over),
        2.0 * reference_current * (1.0 - pin * pin) + LEAST_CONDUCTANCE,
    )
    currents = np.broadcast_arrays(cathode, reference_current * pin + LEAST_CONDUCTANCE * volts[1])
    return np.stack(currents), np.stack(rows).reshape(2, 2, *rows[0].shape)


def regulator_currents(
    volts: Floats, *, voltage: Floats, dropout: Floats, quiescent: Floats, resistance: Floats
) -> tuple[Floats, Floats]:
    """Currents into input and output of a linear regulator.

    Parameters
    ----------
    volts : array, shape (2, samples)
        Input and output against the ground leg [V].
    voltage, dropout : array
        Set output and least difference between input and output [V].
    quiescent : array
        What it takes itself [A].
    resistance : array
        Output resistance [Ω].

    Returns
    -------
    tuple of array, shapes (2, samples) and (2, 2, samples)
        Currents [A] and their derivatives [S].

    Notes
    -----
    The output tends to the lesser of the set voltage and input less dropout, rounded within 10 mV,
    through ``resistance``; no current flows back. The law is ours.

    Examples
    --------
    >>> currents, _ = regulator_currents(
    ...     np.array([[12.0], [4.99]]),
    ...     voltage=np.array(5.0),
    ...     dropout=np.array(2.0),
    ...     quiescent=np.array(5e-3),
    ...     resistance=np.array(0.02),
    ... )
    >>> [round(float(value), 3) for value in currents[:, 0]]
    [0.505, -0.5]
    """
    short, short_slope = _ramp(voltage - (volts[0] - dropout), REGULATOR_KNEE)
    target = voltage - short
    given, given_slope = _ramp(target - volts[1], REGULATOR_RAMP)
    current, by_target = given / resistance, given_slope / resistance
    tanh = np.tanh(volts[0])
    own, own_slope = quiescent * tanh, quiescent * (1.0 - tanh * tanh)
    into = by_target * short_slope
    rows = np.broadcast_arrays(
        into + own_slope + LEAST_CONDUCTANCE, -by_target, -into, by_target + LEAST_CONDUCTANCE
    )
    currents = np.broadcast_arrays(
        current + own + LEAST_CONDUCTANCE * volts[0], -current + LEAST_CONDUCTANCE * volts[1]
    )
    return np.stack(currents), np.stack(rows).reshape(2, 2, *rows[0].shape)
