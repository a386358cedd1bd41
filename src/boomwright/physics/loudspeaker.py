"""Drivers: sensitivity and efficiency, impedance, hot coils, first-order filters."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, floats
from boomwright.physics.nature import (
    REFERENCE_PRESSURE,
    ROOM_TEMPERATURE,
    air_density,
    speed_of_sound,
)

__all__ = [
    "first_order_capacitor",
    "first_order_corner",
    "impedance_minimum",
    "impedance_parallel",
    "impedance_series",
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
    damping = 1.0 / _above_zero(qms, "qms", "") + 1.0 / _above_zero(qes, "qes", "")
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
    resonance = floats(fs) ** 3 * floats(vas) / _above_zero(qes, "qes", "")
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
    share = _above_zero(efficiency, "efficiency", "")
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
    hertz = _above_zero(fs, "fs", "Hz")
    volume = _above_zero(vas, "vas", "m³")
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
        Resistance in which the watt is counted, d.c. or nominal [ohm], above 0.

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
    ohms = _above_zero(resistance, "resistance", "ohm")
    return floats(level_2v83) - 10.0 * np.log10(_SQUARED_TEST_VOLTAGE / ohms)


def voltage_sensitivity(level_1w: FloatsLike, *, resistance: FloatsLike) -> Floats:
    """Level at 2.83 V and 1 m of a driver whose level at 1 W is known.

    The figure to compare drivers by when the amplifier's voltage is what is given.

    Parameters
    ----------
    level_1w : float or array, any shape
        Level at 1 W and 1 m [dB].
    resistance : float or array, any shape
        Resistance in which the watt is counted, d.c. or nominal [ohm], above 0.

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
    ohms = _above_zero(resistance, "resistance", "ohm")
    return floats(level_1w) + 10.0 * np.log10(_SQUARED_TEST_VOLTAGE / ohms)


def voltage_for_power(power: FloatsLike, impedance: FloatsLike) -> Floats:
    """Test voltage that puts a power into a rated impedance.

    As sheets count power: in the rated impedance, taken as a resistance, not in the coil.

    Parameters
    ----------
    power : float or array, any shape
        Power [W], 0 or above.
    impedance : float or array, any shape
        Rated impedance [ohm], 0 or above.

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
    squared = floats(power) * floats(impedance)
    if not np.all(squared >= 0.0):
        raise ValueError(f"power times impedance must be 0 or above, got {np.min(squared):g} W ohm")
    return np.sqrt(squared)


def impedance_minimum(nominal: FloatsLike) -> Floats:
    """Least impedance that the rated impedance of a driver allows, and the one to plan for.

    The standard's rule is a limit for honest ratings; unknown drivers go lower, so measure
    the d.c. resistance.

    Parameters
    ----------
    nominal : float or array, any shape
        Rated impedance [ohm].

    Returns
    -------
    array, same shape
        Least modulus in the rated range, d.c. included [ohm].

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
        Impedance of each [ohm], 0 or above; infinite for an open one.
    axis : int
        Axis along which the drivers lie.

    Returns
    -------
    array, shape without `axis`
        Impedance [ohm]; 0 if one is a short.

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
    each = np.atleast_1d(floats(impedances))
    if not np.all(each >= 0.0):
        raise ValueError(f"impedance must be 0 ohm or above, got {np.min(each):g} ohm")
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
        Impedance of each [ohm].
    axis : int
        Axis along which the drivers lie.

    Returns
    -------
    array, shape without `axis`
        Impedance [ohm].

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


def power_compression_db(
    power: FloatsLike, *, rated: FloatsLike, compression_at_rated: FloatsLike = 3.0
) -> Floats:
    """Level that a driver loses because its coil is hot.

    One thermal resistance, steady state, amplifier of constant voltage. The whole loss is
    fixed by one figure at rated power: 3 dB is typical of class for small drivers, from
    memory, and 2 to 5 dB the spread.

    Parameters
    ----------
    power : float or array, any shape
        Long-term power that the voltage would put into the cold coil [W], 0 or above.
    rated : float or array, any shape
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
    >>> [round(float(power_compression_db(watts, rated=20.0)), 2) for watts in (0.0, 2.5, 20.0)]
    [0.0, 0.57, 3.0]
    """
    watts, loss = floats(power), floats(compression_at_rated)
    if not np.all(watts >= 0.0):
        raise ValueError(f"power must be 0 W or above, got {np.min(watts):g} W")
    if not np.all(loss >= 0.0):
        raise ValueError(f"compression must be 0 dB or above, got {np.min(loss):g} dB")
    hot_at_rated = 10.0 ** (loss / 20.0)
    product = (hot_at_rated - 1.0) * hot_at_rated * watts / _above_zero(rated, "rated power", "W")
    return 20.0 * np.log10(0.5 + np.sqrt(0.25 + product))


def first_order_capacitor(frequency: FloatsLike, resistance: FloatsLike) -> Floats:
    """Capacitor in series with a driver for a 6 dB per octave high-pass.

    Resistive driver. A tweeter's resonance undoes the filter: keep the corner two to three
    times above it, and prefer a steeper filter for power.

    Parameters
    ----------
    frequency : float or array, any shape
        Corner [Hz], above 0.
    resistance : float or array, any shape
        Impedance of the driver there [ohm], above 0.

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
    hertz = _above_zero(frequency, "frequency", "Hz")
    return 1.0 / (2.0 * np.pi * hertz * _above_zero(resistance, "resistance", "ohm"))


def first_order_corner(capacitance: FloatsLike, resistance: FloatsLike) -> Floats:
    """Corner of a driver behind a single capacitor.

    Resistive driver; see `first_order_capacitor`.

    Parameters
    ----------
    capacitance : float or array, any shape
        Capacitance in series [F], above 0.
    resistance : float or array, any shape
        Impedance of the driver at the corner [ohm], above 0.

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
    farads = _above_zero(capacitance, "capacitance", "F")
    return 1.0 / (2.0 * np.pi * farads * _above_zero(resistance, "resistance", "ohm"))


def _above_zero(value: FloatsLike, what: str, unit: str) -> Floats:
    numbers = floats(value)
    if not np.all(numbers > 0.0):
        worst = f"{np.min(numbers):g} {unit}".rstrip()
        raise ValueError(f"{what} must be above 0, got {worst}")
    return numbers
