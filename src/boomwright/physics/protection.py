"""Protection and wiring faults: reversed plugs, relays, switch-on pulses, shared-lead whine."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, floats
from boomwright.physics.nature import ROOM_TEMPERATURE
from boomwright.physics.wire import COPPER_TEMPERATURE_COEFFICIENT

__all__ = [
    "SENSITIVITY_VOLTAGE",
    "inrush_charge",
    "inrush_integral",
    "inrush_peak",
    "loss_db",
    "relay_coil_energy",
    "relay_decay_time",
    "relay_pickup_hot",
    "reverse_current",
    "schottky_loss",
    "shared_lead_noise",
    "speaker_level",
]

SENSITIVITY_VOLTAGE = 2.83
"""Voltage at which a driver's sensitivity is stated [V]: 1 W in 8 Ω."""


def _above_zero(value: FloatsLike, what: str, unit: str) -> Floats:
    number = floats(value)
    if np.any(number <= 0.0):
        raise ValueError(f"{what}: got {np.min(number):g} {unit}, must be above 0 {unit}")
    return number


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
    loop = _above_zero(resistance_loop, "loop resistance", "Ω")
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
    share = 1.0 - floats(drop) / _above_zero(voltage, "supply voltage", "V")
    left = share > 0.0
    return np.where(left, -20.0 * np.log10(np.where(left, share, 1.0)), np.inf)


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
    current = floats(voltage) / _above_zero(resistance, "coil resistance", "Ω")
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
        Current at the end over current at the start, 0 to 1 [-].

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
    supply = _above_zero(voltage, "coil voltage", "V")
    held = _above_zero(clamp, "clamp voltage", "V")
    left = floats(share)
    wrong = (left < 0.0) | (left > 1.0)
    if np.any(wrong):
        raise ValueError(f"share of the coil current: got {left[wrong].flat[0]:g}, must be 0 to 1")
    constant = floats(inductance) / _above_zero(resistance, "coil resistance", "Ω")
    return constant * np.log((supply + held) / (left * supply + held))


def inrush_peak(voltage: FloatsLike, *, resistance_loop: FloatsLike) -> Floats:
    """Peak current when an empty capacitor is switched onto a battery.

    Loop inductance is left out, which makes the figure an upper bound.

    Parameters
    ----------
    voltage : float or array
        Battery voltage [V].
    resistance_loop : float or array
        Battery, leads, contacts, fuse and the capacitor's series resistance [Ω].

    Returns
    -------
    array, broadcast shape
        Current [A].

    Raises
    ------
    ValueError
        If the loop resistance is not positive.

    Notes
    -----
    I = V / R.

    References
    ----------
    .. [1] Ohm's law.

    Examples
    --------
    >>> round(float(inrush_peak(12.6, resistance_loop=0.15)))
    84
    """
    return floats(voltage) / _above_zero(resistance_loop, "loop resistance", "Ω")


def inrush_charge(voltage: FloatsLike, *, capacitance: FloatsLike) -> Floats:
    """Charge that flows when an empty capacitor is switched onto a battery.

    Whatever the resistance.

    Parameters
    ----------
    voltage : float or array
        Battery voltage [V].
    capacitance : float or array
        Capacitance [F].

    Returns
    -------
    array, broadcast shape
        Charge [C].

    Notes
    -----
    Q = C V.

    References
    ----------
    .. [1] Definition of capacitance.

    Examples
    --------
    >>> round(float(inrush_charge(12.6, capacitance=2200e-6)) * 1e3, 2)
    27.72
    """
    return floats(capacitance) * floats(voltage)


def inrush_integral(
    voltage: FloatsLike, *, capacitance: FloatsLike, resistance_loop: FloatsLike
) -> Floats:
    """Joule integral of the pulse that fills an empty capacitor.

    Exponential decay through the loop resistance; compare with
    `boomwright.physics.fuse.survives_inrush`.

    Parameters
    ----------
    voltage : float or array
        Battery voltage [V].
    capacitance : float or array
        Capacitance [F].
    resistance_loop : float or array
        All resistance in the loop [Ω].

    Returns
    -------
    array, broadcast shape
        Integral of current squared over time [A² s].

    Raises
    ------
    ValueError
        If the loop resistance is not positive.

    Notes
    -----
    W = C V² / (2 R).

    References
    ----------
    .. [1] RC charge, any circuits text.

    Examples
    --------
    >>> round(float(inrush_integral(12.6, capacitance=2200e-6, resistance_loop=0.15)), 2)
    1.16
    """
    loop = _above_zero(resistance_loop, "loop resistance", "Ω")
    return 0.5 * floats(capacitance) * floats(voltage) ** 2 / loop


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
    far = 20.0 * np.log10(_above_zero(distance, "distance", "m"))
    return floats(sensitivity) + np.where(sounds, gain, -np.inf) - far
