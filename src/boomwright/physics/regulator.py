"""Rails: linear regulators, switching converters, and the capacitors that bridge a gap."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, floats

__all__ = [
    "boost_input_current",
    "buck_inductance",
    "buck_output",
    "buck_output_capacitance",
    "buck_output_ripple",
    "buck_ripple_current",
    "converter_efficiency",
    "converter_heat",
    "converter_input_power",
    "converter_peak_power",
    "holdup_time",
    "junction_temperature",
    "linear_current_limit",
    "linear_heat",
    "linear_input_current",
    "linear_output",
    "linear_power_limit",
    "ripple_peak_to_peak",
    "ripple_rms",
    "smoothing_capacitance",
]


def _above_zero(value: FloatsLike, what: str, unit: str) -> Floats:
    number = floats(value)
    if np.any(number <= 0.0):
        raise ValueError(f"{what}: got {np.min(number):g} {unit}, must be above 0 {unit}")
    return number


def linear_output(
    voltage_in: FloatsLike, *, voltage_set: FloatsLike, dropout: FloatsLike
) -> Floats:
    """Output voltage of a linear regulator.

    Holds its set voltage while the input is above it by the dropout, then follows the input down.

    Parameters
    ----------
    voltage_in, voltage_set, dropout : float or array
        Input, nominal output, and least difference at this current [V].

    Returns
    -------
    array, broadcast shape
        Output voltage [V], never below 0.

    Notes
    -----
    V_out = max(0, min(V_set, V_in - V_dropout)). Load and line regulation, some per cent, are
    left out.

    References
    ----------
    .. [1] A. S. Sedra and K. C. Smith, Microelectronic Circuits, Oxford (definition).

    Examples
    --------
    >>> linear_output(np.array([12.0, 6.0, 1.0]), voltage_set=5.0, dropout=2.0).tolist()
    [5.0, 4.0, 0.0]
    """
    return np.maximum(0.0, np.minimum(floats(voltage_set), floats(voltage_in) - floats(dropout)))


def linear_input_current(current_out: FloatsLike, *, current_ground: FloatsLike) -> Floats:
    """Input current of a linear regulator.

    All the output current comes from the input, at any input voltage; so no battery life is won
    by the voltage it burns.

    Parameters
    ----------
    current_out, current_ground : float or array
        Load current, and the regulator's own current to ground [A].

    Returns
    -------
    array, broadcast shape
        Input current [A].

    Notes
    -----
    I_in = I_out + I_ground.

    References
    ----------
    .. [1] Kirchhoff's current law.

    Examples
    --------
    >>> round(float(linear_input_current(0.5, current_ground=0.006)), 3)
    0.506
    """
    return floats(current_out) + floats(current_ground)


def linear_heat(
    voltage_in: FloatsLike,
    *,
    voltage_out: FloatsLike,
    current_out: FloatsLike,
    current_ground: FloatsLike,
) -> Floats:
    """Heat made in a linear regulator.

    Everything that goes in and does not come out.

    Parameters
    ----------
    voltage_in, voltage_out : float or array
        Input and output voltage [V].
    current_out, current_ground : float or array
        Load current, and the regulator's own current to ground [A].

    Returns
    -------
    array, broadcast shape
        Heat [W].

    Notes
    -----
    P = (V_in - V_out) I_out + V_in I_ground.

    References
    ----------
    .. [1] Definition; 12 V to 5 V at 0.5 A makes 3.5 W (computed).

    Examples
    --------
    >>> float(linear_heat(12.0, voltage_out=5.0, current_out=0.5, current_ground=0.0))
    3.5
    """
    through = (floats(voltage_in) - floats(voltage_out)) * floats(current_out)
    return through + floats(voltage_in) * floats(current_ground)


def junction_temperature(
    power: FloatsLike, *, ambient: FloatsLike, resistances: Sequence[FloatsLike]
) -> Floats:
    """Junction temperature at the end of any chain of thermal resistances.

    Steady state, all heat through one chain; `boomwright.physics.heat.junction_temperature` names
    the three links of a part on a heat sink.

    Parameters
    ----------
    power : float or array
        Heat [W].
    ambient : float or array
        Temperature at the cold end [K].
    resistances : sequence of float or array
        Thermal resistances in series [K/W].

    Returns
    -------
    array, broadcast shape
        Junction temperature [K].

    Notes
    -----
    T = T_ambient + P · sum(R).

    References
    ----------
    .. [1] R. L. Boylestad and L. Nashelsky, Electronic Devices and Circuit Theory, Pearson, power
       amplifier chapter (from memory).

    Examples
    --------
    >>> float(junction_temperature(1.5, ambient=313.15, resistances=[62.0])) - 273.15
    133.0
    """
    chain = floats(0.0)
    for resistance in resistances:
        chain = chain + floats(resistance)
    return floats(ambient) + floats(power) * chain


def linear_power_limit(
    *, junction_max: FloatsLike, ambient: FloatsLike, resistance: FloatsLike
) -> Floats:
    """Heat that brings a junction to its limit.

    Steady state; `ambient` is the air in the box, not in the room.

    Parameters
    ----------
    junction_max, ambient : float or array
        Highest junction temperature, and air temperature [K].
    resistance : float or array
        Thermal resistance from junction to that air [K/W].

    Returns
    -------
    array, broadcast shape
        Heat [W], 0 where the air is already hotter than the limit.

    Raises
    ------
    ValueError
        If a thermal resistance is not positive.

    Notes
    -----
    P = (T_max - T_ambient) / R.

    References
    ----------
    .. [1] Definition; 150 °C, 25 °C and 62 K/W allow 2.02 W (computed).

    Examples
    --------
    >>> limit = linear_power_limit(junction_max=423.15, ambient=298.15, resistance=62.0)
    >>> round(float(limit), 2)
    2.02
    """
    path = _above_zero(resistance, "thermal resistance", "K/W")
    return np.maximum(0.0, floats(junction_max) - floats(ambient)) / path


def linear_current_limit(
    voltage_in: FloatsLike,
    *,
    voltage_out: FloatsLike,
    current_ground: FloatsLike,
    junction_max: FloatsLike,
    ambient: FloatsLike,
    resistance: FloatsLike,
) -> Floats:
    """Load current at which a linear regulator reaches its junction limit.

    Steady state at this input voltage; the regulator's own current limit may come first.

    Parameters
    ----------
    voltage_in, voltage_out : float or array
        Input and output voltage [V].
    current_ground : float or array
        The regulator's own current [A].
    junction_max, ambient : float or array
        Highest junction temperature, and air temperature [K].
    resistance : float or array
        Thermal resistance from junction to that air [K/W].

    Returns
    -------
    array, broadcast shape
        Current [A]; 0 where its own current is too much already, inf where nothing is dropped.

    Raises
    ------
    ValueError
        If a thermal resistance is not positive.

    Notes
    -----
    I = (P_limit - V_in I_ground) / (V_in - V_out).

    References
    ----------
    .. [1] `linear_heat` turned round.

    Examples
    --------
    A bare part of 62 K/W in a box at 40 °C, from 12.6 V to 5 V, limit 125 °C:

    >>> amps = linear_current_limit(12.6, voltage_out=5.0, current_ground=0.0,
    ...     junction_max=398.15, ambient=313.15, resistance=62.0)
    >>> round(float(amps), 2)
    0.18
    """
    limit = linear_power_limit(junction_max=junction_max, ambient=ambient, resistance=resistance)
    left = np.maximum(0.0, limit - floats(voltage_in) * floats(current_ground))
    left, dropped = np.broadcast_arrays(left, floats(voltage_in) - floats(voltage_out))
    drops = dropped > 0.0
    current = left / np.where(drops, dropped, 1.0)
    return np.where(drops, current, np.where(left > 0.0, np.inf, 0.0))


def _loss_terms(
    power_idle: FloatsLike,
    resistive_share: FloatsLike,
    efficiency_peak: FloatsLike,
    power_rated: FloatsLike,
) -> tuple[Floats, Floats, Floats]:
    """Constant, linear and square-law term of the loss: p0 [W], p1 [-], p2 [1/W]."""
    idle, share = floats(power_idle), floats(resistive_share)
    best, rated = floats(efficiency_peak), _above_zero(power_rated, "rated power", "W")
    if np.any(idle < 0.0):
        raise ValueError(f"idle power: got {np.min(idle):g} W, must be 0 W or more")
    for value, what, wrong in (
        (share, "resistive share of the loss, from 0 to below 1", (share < 0.0) | (share >= 1.0)),
        (best, "peak efficiency, above 0 and at most 1", (best <= 0.0) | (best > 1.0)),
    ):
        if np.any(wrong):
            raise ValueError(f"{what}: got {value[wrong].flat[0]:g}")
    least = 1.0 / best - 1.0
    # The root of a q² + 2 b q = c that stays exact when a or b vanishes, with q = sqrt(p2).
    a = rated * (1.0 - share)
    b = share * np.sqrt(idle)
    c = share * least
    under = b + np.sqrt(b * b + a * c)
    root = np.where(under > 0.0, c / np.where(under > 0.0, under, 1.0), 0.0)
    # Rounding alone could leave a linear term of -1e-18.
    linear = np.maximum(0.0, least - 2.0 * np.sqrt(idle) * root)
    return idle, linear, root * root


def converter_input_power(
    power_out: FloatsLike,
    *,
    power_idle: FloatsLike,
    resistive_share: FloatsLike,
    efficiency_peak: FloatsLike,
    power_rated: FloatsLike,
) -> Floats:
    """Input power of a switching converter: buck, boost or isolated.

    Three losses, constant, in proportion to the load and with its square, at one pair of
    voltages; p1 and p2 follow from the peak efficiency and are never negative.

    Parameters
    ----------
    power_out : float or array
        Power delivered [W], 0 or more.
    power_idle : float or array
        Power taken with no load [W].
    resistive_share : float or array
        Share of the load-dependent loss at rated power that grows with the square of the load, 0
        to below 1 [-]; half is a fair guess.
    efficiency_peak : float or array
        Highest efficiency, above 0 to 1 [-].
    power_rated : float or array
        Rated output power [W].

    Returns
    -------
    array, broadcast shape
        Input power [W]; the idle power at no load.

    Raises
    ------
    ValueError
        If a value lies outside its range.

    Notes
    -----
    P_in = P + p0 + p1 P + p2 P². The loss per watt is least at P* = sqrt(p0/p2), where it is
    p1 + 2 sqrt(p0 p2) = 1/efficiency_peak - 1. With p2 P_rated = share (p1 + p2 P_rated) this
    gives a quadratic with one positive root. `converter_peak_power` tells where P* lies; above
    the rating, the peak efficiency is never met.

    References
    ----------
    .. [1] R. W. Erickson and D. Maksimovic, Fundamentals of Power Electronics, Springer: fixed,
       conduction and switching losses (from memory; the fit is derived here).

    Examples
    --------
    >>> module = dict(power_idle=0.1, resistive_share=0.5, efficiency_peak=0.9, power_rated=15.0)
    >>> float(converter_input_power(0.0, **module))
    0.1
    >>> round(float(converter_input_power(5.0, **module)), 2)
    5.56
    """
    load = floats(power_out)
    if np.any(load < 0.0):
        raise ValueError(f"power delivered: got {np.min(load):g} W, must be 0 W or more")
    constant, linear, square = _loss_terms(
        power_idle, resistive_share, efficiency_peak, power_rated
    )
    return constant + load * (1.0 + linear + square * load)


def converter_peak_power(
    *,
    power_idle: FloatsLike,
    resistive_share: FloatsLike,
    efficiency_peak: FloatsLike,
    power_rated: FloatsLike,
) -> Floats:
    """Output power at which a switching converter is most efficient.

    Where the idle loss equals the square-law loss of `converter_input_power`.

    Parameters
    ----------
    power_idle, resistive_share, efficiency_peak, power_rated : float or array
        As in `converter_input_power` [W], [-], [-], [W].

    Returns
    -------
    array, broadcast shape
        Power [W]; inf without a square-law loss, 0 without an idle loss.

    Raises
    ------
    ValueError
        If a value lies outside its range.

    Notes
    -----
    P* = sqrt(p0 / p2).

    References
    ----------
    .. [1] Derived from the loss law in `converter_input_power`.

    Examples
    --------
    >>> round(float(converter_peak_power(
    ...     power_idle=0.1, resistive_share=0.5, efficiency_peak=0.9, power_rated=15.0)), 2)
    4.68
    """
    constant, _, square = _loss_terms(power_idle, resistive_share, efficiency_peak, power_rated)
    constant, square = np.broadcast_arrays(constant, square)
    curved = square > 0.0
    peak = np.sqrt(constant / np.where(curved, square, 1.0))
    return np.where(curved, peak, np.where(constant > 0.0, np.inf, 0.0))


def converter_efficiency(
    power_out: FloatsLike,
    *,
    power_idle: FloatsLike,
    resistive_share: FloatsLike,
    efficiency_peak: FloatsLike,
    power_rated: FloatsLike,
) -> Floats:
    """Efficiency of a switching converter.

    Output over input power by the law of `converter_input_power`.

    Parameters
    ----------
    power_out, power_idle, resistive_share, efficiency_peak, power_rated : float or array
        As in `converter_input_power` [W], [W], [-], [-], [W].

    Returns
    -------
    array, broadcast shape
        Efficiency [-]; 0 at no load.

    Raises
    ------
    ValueError
        If a value lies outside its range.

    Notes
    -----
    eta = P / P_in.

    References
    ----------
    .. [1] Definition.

    Examples
    --------
    >>> module = dict(power_idle=0.1, resistive_share=0.5, efficiency_peak=0.9, power_rated=15.0)
    >>> [round(float(converter_efficiency(p, **module)), 3) for p in (0.0, 0.5, 4.68, 15.0)]
    [0.0, 0.787, 0.9, 0.875]
    """
    load = floats(power_out)
    taken = converter_input_power(
        load,
        power_idle=power_idle,
        resistive_share=resistive_share,
        efficiency_peak=efficiency_peak,
        power_rated=power_rated,
    )
    return load / np.where(taken > 0.0, taken, 1.0)


def converter_heat(
    power_out: FloatsLike,
    *,
    power_idle: FloatsLike,
    resistive_share: FloatsLike,
    efficiency_peak: FloatsLike,
    power_rated: FloatsLike,
) -> Floats:
    """Heat made in a switching converter.

    Input less output power by the law of `converter_input_power`.

    Parameters
    ----------
    power_out, power_idle, resistive_share, efficiency_peak, power_rated : float or array
        As in `converter_input_power` [W], [W], [-], [-], [W].

    Returns
    -------
    array, broadcast shape
        Heat [W]; the idle power at no load.

    Raises
    ------
    ValueError
        If a value lies outside its range.

    Notes
    -----
    P_heat = P_in - P_out.

    References
    ----------
    .. [1] Conservation of energy.

    Examples
    --------
    >>> round(float(converter_heat(5.0, power_idle=0.1, resistive_share=0.5,
    ...     efficiency_peak=0.9, power_rated=15.0)), 2)
    0.56
    """
    taken = converter_input_power(
        power_out,
        power_idle=power_idle,
        resistive_share=resistive_share,
        efficiency_peak=efficiency_peak,
        power_rated=power_rated,
    )
    return taken - floats(power_out)


def buck_output(voltage_in: FloatsLike, *, voltage_set: FloatsLike, dropout: FloatsLike) -> Floats:
    """Output voltage of a step-down converter.

    Holds its set voltage while the input is above it by the headroom that its longest duty and
    its switch ask for, then follows the input down, as a linear regulator does.

    Parameters
    ----------
    voltage_in, voltage_set, dropout : float or array
        Input, nominal output, and headroom at this current [V].

    Returns
    -------
    array, broadcast shape
        Output voltage [V], never below 0.

    Notes
    -----
    V_out = max(0, min(V_set, V_in - headroom)). Under-voltage lock-out, where a module has one,
    is a fact of the module and not in this law.

    References
    ----------
    .. [1] D. W. Hart, Introduction to Power Electronics, McGraw-Hill (from memory).

    Examples
    --------
    >>> buck_output(np.array([12.0, 5.5]), voltage_set=5.1, dropout=1.0).tolist()
    [5.1, 4.5]
    """
    return linear_output(voltage_in, voltage_set=voltage_set, dropout=dropout)


def boost_input_current(
    power_out: FloatsLike, *, voltage_in: FloatsLike, efficiency: FloatsLike
) -> Floats:
    """Input current of a converter that delivers a given power.

    Constant power: the current rises as the battery sinks, which is how a step-up module trips a
    battery's protection at the end of a charge.

    Parameters
    ----------
    power_out : float or array
        Power delivered [W].
    voltage_in : float or array
        Input voltage [V].
    efficiency : float or array
        Efficiency at this load, above 0 [-].

    Returns
    -------
    array, broadcast shape
        Mean input current [A]; the ripple on it is left out.

    Raises
    ------
    ValueError
        If a voltage or an efficiency is not positive.

    Notes
    -----
    I_in = P_out / (eta V_in).

    References
    ----------
    .. [1] Conservation of energy.

    Examples
    --------
    >>> round(float(boost_input_current(48.0, voltage_in=12.0, efficiency=0.9)), 2)
    4.44
    """
    supply = _above_zero(voltage_in, "input voltage", "V")
    return floats(power_out) / (_above_zero(efficiency, "efficiency", "") * supply)


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
    voltage_in, voltage_out : float or array
        Input and output voltage [V].
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
    supply = _above_zero(voltage_in, "input voltage", "V")
    coil = _above_zero(inductance, "inductance", "H")
    rate = _above_zero(frequency, "switching frequency", "Hz")
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
    voltage_in, voltage_out : float or array
        Input and output voltage [V].
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
    supply = _above_zero(voltage_in, "input voltage", "V")
    swing = _above_zero(ripple_current, "ripple current", "A")
    rate = _above_zero(frequency, "switching frequency", "Hz")
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
    store = _above_zero(capacitance, "capacitance", "F")
    return floats(ripple_current) / (8.0 * _above_zero(frequency, "frequency", "Hz") * store)


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
    swing = _above_zero(ripple, "ripple voltage", "V")
    return floats(ripple_current) / (8.0 * _above_zero(frequency, "frequency", "Hz") * swing)


def ripple_peak_to_peak(
    current: FloatsLike, *, capacitance: FloatsLike, frequency: FloatsLike
) -> Floats:
    """Voltage ripple on a capacitor that is filled once in every period.

    The load empties it at constant current for the whole period, so that the figure is some tens
    of per cent on the safe side.

    Parameters
    ----------
    current : float or array
        Load current [A].
    capacitance : float or array
        Capacitance [F].
    frequency : float or array
        Fillings per second [Hz]: twice the mains for a full-wave rectifier.

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
    V = I / (f C).

    References
    ----------
    .. [1] R. L. Boylestad and L. Nashelsky, Electronic Devices and Circuit Theory, Pearson,
       capacitor filter (from memory).

    Examples
    --------
    >>> round(float(ripple_peak_to_peak(1.0, capacitance=4700e-6, frequency=100.0)), 3)
    2.128
    """
    store = _above_zero(capacitance, "capacitance", "F")
    return floats(current) / (_above_zero(frequency, "frequency", "Hz") * store)


def ripple_rms(peak_to_peak: FloatsLike) -> Floats:
    """Root-mean-square value of a triangular ripple.

    Straight rise and fall, of any slant.

    Parameters
    ----------
    peak_to_peak : float or array, any shape
        Ripple, peak to peak [any unit].

    Returns
    -------
    array, same shape
        Root-mean-square value [same unit].

    Notes
    -----
    x_rms = x_pp / (2 sqrt(3)).

    References
    ----------
    .. [1] R. L. Boylestad and L. Nashelsky, Electronic Devices and Circuit Theory, Pearson (from
       memory).

    Examples
    --------
    >>> round(float(ripple_rms(2.1277)), 4)
    0.6142
    """
    return floats(peak_to_peak) / math.sqrt(12.0)


def smoothing_capacitance(
    current: FloatsLike, *, ripple: FloatsLike, frequency: FloatsLike
) -> Floats:
    """Capacitance that keeps the ripple of a rectified supply to a chosen voltage.

    `ripple_peak_to_peak` turned round, with its limits.

    Parameters
    ----------
    current : float or array
        Load current [A].
    ripple : float or array
        Ripple voltage, peak to peak [V].
    frequency : float or array
        Fillings per second [Hz].

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
    C = I / (f V).

    References
    ----------
    .. [1] Worked homework answer: 0.154 A, 1/120 s and 1 V need 1283 µF.

    Examples
    --------
    >>> round(float(smoothing_capacitance(0.154, ripple=1.0, frequency=120.0)) * 1e6)
    1283
    """
    swing = _above_zero(ripple, "ripple voltage", "V")
    return floats(current) / (_above_zero(frequency, "frequency", "Hz") * swing)


def holdup_time(
    current: FloatsLike,
    *,
    capacitance: FloatsLike,
    voltage_start: FloatsLike,
    voltage_end: FloatsLike,
) -> Floats:
    """Time a charged capacitor carries a load alone.

    Constant current, ideal capacitor.

    Parameters
    ----------
    current : float or array
        Load current [A].
    capacitance : float or array
        Capacitance [F].
    voltage_start, voltage_end : float or array
        Voltage at the start, and the lowest the load works at [V].

    Returns
    -------
    array, broadcast shape
        Time [s]; 0 if it starts too low, inf without a load.

    Notes
    -----
    t = C (V_start - V_end) / I.

    References
    ----------
    .. [1] Definition; 4700 µF from 12 V to 9 V at 1 A lasts 14.1 ms (computed).

    Examples
    --------
    >>> time = holdup_time(1.0, capacitance=4700e-6, voltage_start=12.0, voltage_end=9.0)
    >>> round(float(time) * 1e3, 1)
    14.1
    """
    spare = floats(capacitance) * np.maximum(0.0, floats(voltage_start) - floats(voltage_end))
    charge, load = np.broadcast_arrays(spare, floats(current))
    flows = load > 0.0
    time = charge / np.where(flows, load, 1.0)
    return np.where(flows, time, np.where(charge > 0.0, np.inf, 0.0))
