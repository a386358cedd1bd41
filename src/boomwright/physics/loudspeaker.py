"""Drivers: sensitivity, efficiency and hot coils."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats, not_negative
from boomwright.physics.nature import (
    REFERENCE_PRESSURE,
    ROOM_TEMPERATURE,
    air_density,
    speed_of_sound,
)

__all__ = [
    "power_compression_db",
    "qts",
    "reference_efficiency",
    "sensitivity_from_efficiency",
    "sensitivity_from_parameters",
    "sensitivity_from_voltage",
    "voltage_for_power",
    "voltage_sensitivity",
]

_SQUARED_TEST_VOLTAGE = 8.0
"""The test voltage printed as 2.83 V, squared [V²]: 1 W in 8 ohm."""


def qts(qms: FloatsLike, qes: FloatsLike) -> Floats:
    """Total Q of a driver at its resonance.

    Mechanical and electrical damping side by side, driven from a source of no resistance;
    leads and filter coils raise it.

    Parameters
    ----------
    qms : float or array, any shape
        Mechanical Q [1], above 0; may be infinite.
    qes : float or array, any shape
        Electrical Q [1], above 0; may be infinite.

    Returns
    -------
    array, broadcast shape
        Total Q [1].

    Raises
    ------
    ValueError
        If a Q is not above 0.

    Notes
    -----
    1/(1/Qms + 1/Qes).

    References
    ----------
    .. [1] R. H. Small, Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 20
       (1972) 383 (from memory).

    Examples
    --------
    >>> round(float(qts(4.0, 0.5714)), 2)
    0.5
    """
    damping = 1.0 / above_zero(qms, "qms") + 1.0 / above_zero(qes, "qes")
    return np.divide(1.0, damping, out=np.full_like(damping, np.inf), where=damping > 0.0)


def reference_efficiency(
    fs: FloatsLike, vas: FloatsLike, *, qes: FloatsLike, temperature: FloatsLike = ROOM_TEMPERATURE
) -> Floats:
    """Share of the electrical power that a driver in a large wall turns into sound.

    The flat region above resonance and below the frequency where the cone grows directive,
    for radiation into half space. Within 1.5 % between the air constants in print.

    Parameters
    ----------
    fs : float or array, any shape
        Resonance in free air [Hz].
    vas : float or array, any shape
        Volume of air as compliant as the suspension [m³].
    qes : float or array, any shape
        Electrical Q [1], above 0.
    temperature : float or array, any shape
        Air temperature [K], which sets the speed of sound.

    Returns
    -------
    array, broadcast shape
        Efficiency [1].

    Raises
    ------
    ValueError
        If a qes is not above 0.

    Notes
    -----
    (4 pi²/c³) fs³ Vas/Qes. The constant is 9.77e-7 s³/m³ at 343.2 m/s, and 9.64e-7 in
    Small's papers.

    References
    ----------
    .. [1] R. H. Small, Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 20
       (1972) 383 (from memory).

    Examples
    --------
    30 Hz, 100 litres, Qes 0.4: 0.66 %.

    >>> round(100 * float(reference_efficiency(30.0, 0.100, qes=0.4)), 2)
    0.66
    """
    resonance = floats(fs) ** 3 * floats(vas) / above_zero(qes, "qes")
    return 4.0 * np.pi**2 / speed_of_sound(temperature) ** 3 * resonance


def sensitivity_from_efficiency(
    efficiency: FloatsLike, *, temperature: FloatsLike = ROOM_TEMPERATURE
) -> Floats:
    """Level at 1 W and 1 m in half space of a driver of a given efficiency.

    Radiation spread evenly over half space; a cone that beams is louder on its axis.

    Parameters
    ----------
    efficiency : float or array, any shape
        Acoustic over electrical power [1], above 0.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array, broadcast shape
        Sensitivity re 20 µPa [dB].

    Raises
    ------
    ValueError
        If an efficiency is not above 0.

    Notes
    -----
    10 log10(efficiency rho c/(2 pi p0²)); one acoustic watt is 112.2 dB at 20 °C.

    References
    ----------
    .. [1] R. H. Small, Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 20
       (1972) 383 (from memory).

    Examples
    --------
    >>> round(float(sensitivity_from_efficiency(1.0)), 1)
    112.2
    """
    share = above_zero(efficiency, "efficiency")
    resistance = air_density(temperature) * speed_of_sound(temperature)
    return 10.0 * np.log10(share * resistance / (2.0 * np.pi * REFERENCE_PRESSURE**2))


def sensitivity_from_parameters(
    fs: FloatsLike, vas: FloatsLike, *, qes: FloatsLike, temperature: FloatsLike = ROOM_TEMPERATURE
) -> Floats:
    """Level at 1 W and 1 m in half space from a driver's small-signal parameters.

    1 W is counted in the coil's d.c. resistance. Tells whether a label's figure can be true;
    a midrange peak in the response may honestly read 1 to 3 dB more.

    Parameters
    ----------
    fs : float or array, any shape
        Resonance in free air [Hz], above 0.
    vas : float or array, any shape
        Volume of air as compliant as the suspension [m³], above 0.
    qes : float or array, any shape
        Electrical Q [1], above 0.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array, broadcast shape
        Sensitivity re 20 µPa [dB].

    Raises
    ------
    ValueError
        If fs, vas or qes is not above 0.

    Notes
    -----
    `sensitivity_from_efficiency` of `reference_efficiency`.

    References
    ----------
    .. [1] R. H. Small, Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 20
       (1972) 383 (from memory).

    Examples
    --------
    >>> round(float(sensitivity_from_parameters(30.0, 0.100, qes=0.4)), 2)
    90.35
    """
    hertz = above_zero(fs, "fs", "Hz")
    volume = above_zero(vas, "vas", "m³")
    efficiency = reference_efficiency(hertz, volume, qes=qes, temperature=temperature)
    return sensitivity_from_efficiency(efficiency, temperature=temperature)


def sensitivity_from_voltage(level_2v83: FloatsLike, *, resistance: FloatsLike) -> Floats:
    """Level at 1 W and 1 m of a driver whose sheet gives its level at 2.83 V.

    2.83 V is 1 W only in 8 ohm: a 4 ohm driver gets 2 W and its figure flatters by 3 dB.

    Parameters
    ----------
    level_2v83 : float or array, any shape
        Level at 2.83 V and 1 m [dB].
    resistance : float or array, any shape
        Resistance in which the watt is counted, d.c. or nominal [Ω], above 0.

    Returns
    -------
    array, broadcast shape
        Level at 1 W and 1 m [dB].

    Raises
    ------
    ValueError
        If a resistance is not above 0.

    Notes
    -----
    L - 10 log10(8 V²/(R 1 W)).

    References
    ----------
    .. [1] IEC 60268-5, Sound system equipment - Loudspeakers (not opened); definition.

    Examples
    --------
    >>> round(float(sensitivity_from_voltage(90.0, resistance=4.0)), 2)
    86.99
    """
    ohms = above_zero(resistance, "resistance", "Ω")
    return floats(level_2v83) - 10.0 * np.log10(_SQUARED_TEST_VOLTAGE / ohms)


def voltage_sensitivity(level_1w: FloatsLike, *, resistance: FloatsLike) -> Floats:
    """Level at 2.83 V and 1 m of a driver whose level at 1 W is known.

    The figure to compare drivers by when the amplifier's voltage is what is given.

    Parameters
    ----------
    level_1w : float or array, any shape
        Level at 1 W and 1 m [dB].
    resistance : float or array, any shape
        Resistance in which the watt is counted, d.c. or nominal [Ω], above 0.

    Returns
    -------
    array, broadcast shape
        Level at 2.83 V and 1 m [dB].

    Raises
    ------
    ValueError
        If a resistance is not above 0.

    Notes
    -----
    L + 10 log10(8 V²/(R 1 W)).

    References
    ----------
    .. [1] IEC 60268-5, Sound system equipment - Loudspeakers (not opened); definition.

    Examples
    --------
    A coil of 6.5 ohm gains 0.9 dB.

    >>> round(float(voltage_sensitivity(87.0, resistance=6.5)), 2)
    87.9
    """
    ohms = above_zero(resistance, "resistance", "Ω")
    return floats(level_1w) + 10.0 * np.log10(_SQUARED_TEST_VOLTAGE / ohms)


def voltage_for_power(power: FloatsLike, impedance: FloatsLike) -> Floats:
    """Test voltage that puts a power into a rated impedance.

    As sheets count power: in the rated impedance, taken as a resistance, not in the coil.

    Parameters
    ----------
    power : float or array, any shape
        Power [W], 0 or above.
    impedance : float or array, any shape
        Rated impedance [Ω], 0 or above.

    Returns
    -------
    array, broadcast shape
        Voltage, root mean square [V].

    Raises
    ------
    ValueError
        If power or impedance is below 0.

    Notes
    -----
    sqrt(P Z).

    References
    ----------
    .. [1] IEC 60268-5, Sound system equipment - Loudspeakers (not opened); definition.

    Examples
    --------
    >>> round(float(voltage_for_power(1.0, 8.0)), 2)
    2.83
    """
    return np.sqrt(not_negative(power, "power", "W") * not_negative(impedance, "impedance", "Ω"))


def power_compression_db(
    power: FloatsLike, *, power_rated: FloatsLike, compression_at_rated: FloatsLike = 3.0
) -> Floats:
    """Level that a driver loses because its coil is hot.

    One thermal resistance, steady state, amplifier of constant voltage. The whole loss is
    fixed by one figure at rated power: 3 dB is typical of class for small drivers, from
    memory, and 2 to 5 dB the spread.

    Parameters
    ----------
    power : float or array, any shape
        Long-term power that the voltage would put into the cold coil [W], 0 or above.
    power_rated : float or array, any shape
        Rated long-term power, counted in the same way [W], above 0.
    compression_at_rated : float or array, any shape
        Loss at rated power [dB], 0 or above.

    Returns
    -------
    array, broadcast shape
        Loss [dB], to be subtracted from the cold level.

    Raises
    ------
    ValueError
        If power or compression is below 0 or rated power is not above 0.

    Notes
    -----
    With x = alpha (T - T_cold) the hot coil has R (1 + x) and takes P/(1 + x), so
    x (1 + x) = k P, and the level falls by 20 log10(1 + x). From the rated point,
    k = x_r (1 + x_r)/P_r with 1 + x_r = 10^(C_r/20). Small power: loss goes to 0 in
    proportion; large power: level stops growing. 3 dB is a coil 105 K above its start. Heat
    that goes into the magnet over an hour, and the change of damping, are left out.

    References
    ----------
    .. [1] Copper coefficient of IEC 60028 in Ohm's law; derived here.

    Examples
    --------
    >>> powers = np.array([0.0, 2.5, 20.0])
    >>> [round(float(loss), 2) for loss in power_compression_db(powers, power_rated=20.0)]
    [0.0, 0.57, 3.0]
    """
    watts = not_negative(power, "power", "W")
    loss = not_negative(compression_at_rated, "compression at rated power", "dB")
    hot_at_rated = 10.0 ** (loss / 20.0)
    product = (
        (hot_at_rated - 1.0) * hot_at_rated * watts / above_zero(power_rated, "rated power", "W")
    )
    return 20.0 * np.log10(0.5 + np.sqrt(0.25 + product))
