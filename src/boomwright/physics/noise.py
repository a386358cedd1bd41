"""The whine of a shared lead, and how loud a small voltage is."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats

__all__ = ["SENSITIVITY_VOLTAGE", "shared_lead_noise", "speaker_level"]

SENSITIVITY_VOLTAGE = 2.83
"""Voltage at which a driver's sensitivity is stated [V]: 1 W in 8 Ω."""


def shared_lead_noise(
    *, burst_current: FloatsLike, resistance: FloatsLike, gain_db: FloatsLike
) -> Floats:
    """Noise voltage at the speaker from a current that shares a lead with the audio return.

    The whole drop across the shared lead stands in series with the input; a differential input,
    an audio transformer or an isolated supply takes most of it away.

    Parameters
    ----------
    burst_current : float or array
        Audible part of the receiver's current, root mean square [A].
    resistance : float or array
        Resistance of the shared lead, one way [Ω].
    gain_db : float or array
        Voltage gain from input to speaker [dB].

    Returns
    -------
    array, broadcast shape
        Voltage at the speaker, root mean square [V].

    Notes
    -----
    V = I R · 10^(G/20).

    References
    ----------
    .. [1] Ohm's law; 0.1 A in 0.3 m of 0.5 mm² (35 mΩ/m) at a gain of 20 makes 21 mV (computed).

    Examples
    --------
    >>> noise = shared_lead_noise(burst_current=0.1, resistance=0.3 * 0.035, gain_db=26.02)
    >>> round(float(noise) * 1e3)
    21
    """
    return floats(burst_current) * floats(resistance) * 10.0 ** (floats(gain_db) / 20.0)


def speaker_level(
    voltage: FloatsLike, *, sensitivity: FloatsLike, distance: FloatsLike = 1.0
) -> Floats:
    """Sound pressure level of a driver for a small voltage at its terminals.

    Half space, free field, within the driver's flat range; a room adds some decibels beyond 1 m.

    Parameters
    ----------
    voltage : float or array
        Voltage, root mean square [V]; its sign does not matter.
    sensitivity : float or array
        Level at 2.83 V and 1 m [dB].
    distance : float or array, default 1
        Distance [m].

    Returns
    -------
    array, broadcast shape
        Level [dB re 20 µPa], -inf at 0 V.

    Raises
    ------
    ValueError
        If the distance is not positive.

    Notes
    -----
    L = sensitivity + 20 log10(V / 2.83 V) - 20 log10(r / 1 m).

    References
    ----------
    .. [1] IEC 60268-5 (definition of sensitivity, from memory).

    Examples
    --------
    >>> round(float(speaker_level(0.021, sensitivity=87.0)))
    44
    """
    size = np.abs(floats(voltage))
    sounds = size > 0.0
    gain = 20.0 * np.log10(np.where(sounds, size, 1.0) / SENSITIVITY_VOLTAGE)
    far = 20.0 * np.log10(above_zero(distance, "distance", "m"))
    return floats(sensitivity) + np.where(sounds, gain, -np.inf) - far
