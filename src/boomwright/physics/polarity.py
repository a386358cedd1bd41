"""Reversed poles: the current that flows, and what the part against them costs."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats

__all__ = ["loss_db", "reverse_current", "schottky_loss"]


def reverse_current(
    voltage: FloatsLike, *, voltage_forward: FloatsLike, resistance_loop: FloatsLike
) -> Floats:
    """Current through a shunt diode when the battery is plugged in the wrong way round.

    Battery, leads, fuse and diode in one loop; the diode must carry this until the fuse opens,
    which is why a shunt diode without a fuse is a heater.

    Parameters
    ----------
    voltage : float or array
        Open-circuit battery voltage [V].
    voltage_forward : float or array
        Forward voltage of the diode at this current [V]: about 1 V for silicon.
    resistance_loop : float or array
        Battery, leads, contacts and fuse together [Ω].

    Returns
    -------
    array, broadcast shape
        Current [A], 0 below the forward voltage.

    Raises
    ------
    ValueError
        If the loop resistance is not positive.

    Notes
    -----
    I = max(0, V - V_f) / R.

    References
    ----------
    .. [1] Ohm's law.

    Examples
    --------
    >>> round(float(reverse_current(12.6, voltage_forward=1.1, resistance_loop=0.115)))
    100
    """
    loop = above_zero(resistance_loop, "loop resistance", "Ω")
    return np.maximum(0.0, floats(voltage) - floats(voltage_forward)) / loop


def schottky_loss(current: FloatsLike, *, voltage_forward: FloatsLike) -> Floats:
    """Heat in a series diode.

    Constant forward voltage; Schottky types of the right size drop 0.3 to 0.5 V.

    Parameters
    ----------
    current : float or array
        Mean current [A].
    voltage_forward : float or array
        Forward voltage [V].

    Returns
    -------
    array, broadcast shape
        Heat [W].

    Notes
    -----
    P = V_f I.

    References
    ----------
    .. [1] Definition of power.

    Examples
    --------
    >>> round(float(schottky_loss(3.0, voltage_forward=0.45)), 2)
    1.35
    """
    return floats(voltage_forward) * floats(current)


def loss_db(voltage: FloatsLike, *, drop: FloatsLike) -> Floats:
    """Loudness an amplifier at its limit loses when its supply drops.

    Clean output swing in proportion to the supply voltage.

    Parameters
    ----------
    voltage : float or array
        Supply voltage without the drop [V].
    drop : float or array
        Voltage lost on the way [V].

    Returns
    -------
    array, broadcast shape
        Level lost [dB], inf where nothing is left.

    Raises
    ------
    ValueError
        If the supply voltage is not positive.

    Notes
    -----
    L = 20 log10(V / (V - drop)).

    References
    ----------
    .. [1] Definition of the decibel; 0.3 to 0.5 V of 12 V costs 0.2 to 0.4 dB (computed).

    Examples
    --------
    >>> [round(float(loss_db(12.0, drop=v)), 2) for v in (0.3, 0.5)]
    [0.22, 0.37]
    """
    share = 1.0 - floats(drop) / above_zero(voltage, "supply voltage", "V")
    left = share > 0.0
    return np.where(left, -20.0 * np.log10(np.where(left, share, 1.0)), np.inf)
