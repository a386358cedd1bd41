"""Relays: a warm coil's pick-up, and how a coil lets go."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats
from boomwright.physics.nature import ROOM_TEMPERATURE
from boomwright.physics.wire import COPPER_TEMPERATURE_COEFFICIENT

__all__ = ["relay_coil_energy", "relay_decay_time", "relay_pickup_hot"]


def relay_pickup_hot(
    voltage_pickup: FloatsLike,
    *,
    temperature_coil: FloatsLike,
    temperature_rated: FloatsLike = ROOM_TEMPERATURE,
) -> Floats:
    """Pick-up voltage of a relay whose coil is warm.

    The current that pulls stays the same, the copper's resistance rises; the same law holds for
    the release voltage.

    Parameters
    ----------
    voltage_pickup : float or array
        Pick-up voltage at the rated temperature [V].
    temperature_coil : float or array
        Temperature of the coil now [K].
    temperature_rated : float or array, default 293.15
        Temperature the figure was stated at [K].

    Returns
    -------
    array, broadcast shape
        Pick-up voltage [V].

    Notes
    -----
    V = V0 (1 + a (T - 293.15 K)) / (1 + a (T0 - 293.15 K)) with a = 0.00393 / K.

    References
    ----------
    .. [1] IEC 60028 coefficient of copper (from memory): 9.0 V at 20 °C is 10.41 V at 60 °C.

    Examples
    --------
    >>> round(float(relay_pickup_hot(9.0, temperature_coil=333.15)), 2)
    10.41
    """
    hot = 1.0 + COPPER_TEMPERATURE_COEFFICIENT * (floats(temperature_coil) - ROOM_TEMPERATURE)
    rated = 1.0 + COPPER_TEMPERATURE_COEFFICIENT * (floats(temperature_rated) - ROOM_TEMPERATURE)
    return floats(voltage_pickup) * hot / rated


def relay_coil_energy(
    voltage: FloatsLike, *, resistance: FloatsLike, inductance: FloatsLike
) -> Floats:
    """Energy in a relay coil, which its clamp must swallow at switch-off.

    Steady current before, constant inductance.

    Parameters
    ----------
    voltage : float or array
        Coil voltage [V].
    resistance : float or array
        Coil resistance [Ω].
    inductance : float or array
        Coil inductance [H].

    Returns
    -------
    array, broadcast shape
        Energy [J].

    Raises
    ------
    ValueError
        If the resistance is not positive.

    Notes
    -----
    W = L (V/R)² / 2.

    References
    ----------
    .. [1] Any circuits text; 12 V, 160 Ω, 0.3 H hold 0.844 mJ (computed).

    Examples
    --------
    >>> round(float(relay_coil_energy(12.0, resistance=160.0, inductance=0.3)) * 1e3, 3)
    0.844
    """
    current = floats(voltage) / above_zero(resistance, "coil resistance", "Ω")
    return 0.5 * floats(inductance) * current**2


def relay_decay_time(
    voltage: FloatsLike,
    *,
    resistance: FloatsLike,
    inductance: FloatsLike,
    clamp: FloatsLike,
    share: FloatsLike = 0.0,
) -> Floats:
    """Time a relay coil's current takes to fall to a share of its start.

    First-order decay into a constant clamp voltage; a plain diode makes a relay open several
    times slower than a zener does, and its contacts wear.

    Parameters
    ----------
    voltage : float or array
        Coil voltage before switch-off [V], above 0.
    resistance : float or array
        Coil resistance [Ω].
    inductance : float or array
        Coil inductance [H].
    clamp : float or array
        Voltage of the clamp across the coil [V], above 0: 0.7 for a diode, more with a zener.
    share : float or array, default 0
        Current at the end over current at the start, 0 to 1 [1].

    Returns
    -------
    array, broadcast shape
        Time [s].

    Raises
    ------
    ValueError
        If voltage, resistance or clamp is not positive, or a share lies outside 0 to 1.

    Notes
    -----
    t = L/R · ln((V + V_c) / (share · V + V_c)). Iron losses, which slow the last part, are left
    out.

    References
    ----------
    .. [1] Any circuits text, RL decay; 12 V, 160 Ω, 0.3 H and 0.7 V reach zero at 5.434 ms.

    Examples
    --------
    >>> coil = dict(resistance=160.0, inductance=0.3)
    >>> [round(float(relay_decay_time(12.0, clamp=v, **coil)) * 1e3, 3) for v in (0.7, 24.7)]
    [5.434, 0.742]
    """
    supply = above_zero(voltage, "coil voltage", "V")
    held = above_zero(clamp, "clamp voltage", "V")
    left = floats(share)
    wrong = (left < 0.0) | (left > 1.0)
    if np.any(wrong):
        raise ValueError(f"share of the coil current: got {left[wrong].flat[0]:g}, must be 0 to 1")
    constant = floats(inductance) / above_zero(resistance, "coil resistance", "Ω")
    return constant * np.log((supply + held) / (left * supply + held))
