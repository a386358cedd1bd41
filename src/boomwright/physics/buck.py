"""Step-down converters: the coil and the capacitor that their ripple asks for."""

from __future__ import annotations

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats

__all__ = [
    "buck_inductance",
    "buck_output_capacitance",
    "buck_output_ripple",
    "buck_ripple_current",
]


def buck_ripple_current(
    voltage_in: FloatsLike,
    *,
    voltage_out: FloatsLike,
    inductance: FloatsLike,
    frequency: FloatsLike,
) -> Floats:
    """Peak-to-peak current ripple in the inductor of a step-down converter.

    Continuous mode, ideal switch and diode.

    Parameters
    ----------
    voltage_in : float or array
        Input voltage [V].
    voltage_out : float or array
        Output voltage [V].
    inductance : float or array
        Inductance [H].
    frequency : float or array
        Switching frequency [Hz].

    Returns
    -------
    array, broadcast shape
        Ripple current, peak to peak [A].

    Raises
    ------
    ValueError
        If the input voltage, inductance or frequency is not positive.

    Notes
    -----
    dI = V_out (1 - V_out/V_in) / (f L). Peak current is the load current plus half of it.

    References
    ----------
    .. [1] D. W. Hart, Introduction to Power Electronics, McGraw-Hill, Example 6-1: 1.5 A.

    Examples
    --------
    >>> ripple = buck_ripple_current(50.0, voltage_out=20.0, inductance=400e-6, frequency=20e3)
    >>> round(float(ripple), 3)
    1.5
    """
    supply = above_zero(voltage_in, "input voltage", "V")
    coil = above_zero(inductance, "inductance", "H")
    rate = above_zero(frequency, "switching frequency", "Hz")
    return floats(voltage_out) * (1.0 - floats(voltage_out) / supply) / (rate * coil)


def buck_inductance(
    voltage_in: FloatsLike,
    *,
    voltage_out: FloatsLike,
    ripple_current: FloatsLike,
    frequency: FloatsLike,
) -> Floats:
    """Inductance that gives a step-down converter a chosen current ripple.

    `buck_ripple_current` turned round, with its limits.

    Parameters
    ----------
    voltage_in : float or array
        Input voltage [V].
    voltage_out : float or array
        Output voltage [V].
    ripple_current : float or array
        Ripple current, peak to peak [A].
    frequency : float or array
        Switching frequency [Hz].

    Returns
    -------
    array, broadcast shape
        Inductance [H].

    Raises
    ------
    ValueError
        If the input voltage, ripple or frequency is not positive.

    Notes
    -----
    L = V_out (1 - V_out/V_in) / (f dI).

    References
    ----------
    .. [1] D. W. Hart, Introduction to Power Electronics, McGraw-Hill (from memory).

    Examples
    --------
    >>> coil = buck_inductance(12.0, voltage_out=5.0, ripple_current=0.6, frequency=500e3)
    >>> round(float(coil) * 1e6, 2)
    9.72
    """
    supply = above_zero(voltage_in, "input voltage", "V")
    swing = above_zero(ripple_current, "ripple current", "A")
    rate = above_zero(frequency, "switching frequency", "Hz")
    return floats(voltage_out) * (1.0 - floats(voltage_out) / supply) / (rate * swing)


def buck_output_ripple(
    ripple_current: FloatsLike, *, capacitance: FloatsLike, frequency: FloatsLike
) -> Floats:
    """Peak-to-peak voltage ripple at the output of a step-down converter.

    Ideal capacitor; an electrolytic adds its series resistance times the ripple current, which is
    often more.

    Parameters
    ----------
    ripple_current : float or array
        Inductor ripple current, peak to peak [A].
    capacitance : float or array
        Output capacitance [F].
    frequency : float or array
        Switching frequency [Hz].

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
    dV = dI / (8 f C).

    References
    ----------
    .. [1] D. W. Hart, Introduction to Power Electronics, McGraw-Hill, Example 6-1: 0.469 % of
       20 V.

    Examples
    --------
    >>> ripple = buck_output_ripple(1.5, capacitance=100e-6, frequency=20e3)
    >>> round(float(ripple) / 20.0 * 100.0, 3)
    0.469
    """
    store = above_zero(capacitance, "capacitance", "F")
    return floats(ripple_current) / (8.0 * above_zero(frequency, "frequency", "Hz") * store)


def buck_output_capacitance(
    ripple_current: FloatsLike, *, ripple: FloatsLike, frequency: FloatsLike
) -> Floats:
    """Output capacitance that keeps a step-down converter's ripple to a chosen voltage.

    `buck_output_ripple` turned round, with its limits.

    Parameters
    ----------
    ripple_current : float or array
        Inductor ripple current, peak to peak [A].
    ripple : float or array
        Ripple voltage, peak to peak [V].
    frequency : float or array
        Switching frequency [Hz].

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
    C = dI / (8 f dV).

    References
    ----------
    .. [1] D. W. Hart, Introduction to Power Electronics, McGraw-Hill (from memory).

    Examples
    --------
    >>> round(float(buck_output_capacitance(0.6, ripple=0.05, frequency=500e3)) * 1e6, 2)
    3.0
    """
    swing = above_zero(ripple, "ripple voltage", "V")
    return floats(ripple_current) / (8.0 * above_zero(frequency, "frequency", "Hz") * swing)
