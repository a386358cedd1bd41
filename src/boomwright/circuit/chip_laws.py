"""Laws of the chips a builder uses like parts: the shunt reference and the linear regulator.

As in :mod:`boomwright.circuit.laws`, a law takes the volts of its terminals against the last one
and gives the currents into those terminals with their derivatives.
"""

from __future__ import annotations

import numpy as np

from boomwright.circuit.laws import LEAST_CONDUCTANCE
from boomwright.circuit.values import Floats

__all__ = [
    "REFERENCE_KNEE",
    "REFERENCE_RAMP",
    "REFERENCE_WAKES",
    "REFERENCE_WAKING",
    "REGULATOR_KNEE",
    "REGULATOR_RAMP",
    "reference_currents",
    "regulator_currents",
]

REFERENCE_RAMP = 5e-4
"""Rounding of a reference's ramp [V]."""

REFERENCE_KNEE = 0.1
"""Cathode volts over which a reference comes to life [V]."""

REFERENCE_WAKES = 0.9
REFERENCE_WAKING = 0.04
"""Share of its voltage at which a reference's idle current flows, and width of that [1]."""

REGULATOR_KNEE = 0.01
REGULATOR_RAMP = 1e-4
"""Rounding of a regulator's dropout and of its output [V]."""


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
