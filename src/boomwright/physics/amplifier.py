"""Amplifiers: clean swing, power from the supply, heat and gain.

The kind of output enters as a number, `rail_share`, so that one array may mix bridge,
single-ended and split-supply amplifiers; the class enters as `switching` (0 linear class AB,
1 class D). Voltages are of the whole supply, from its lowest to its highest rail.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats

__all__ = [
    "RAIL_SHARE",
    "clean_power",
    "gain_excess_db",
    "heat_power",
    "input_sensitivity",
    "supply_power",
    "swing_peak",
]

RAIL_SHARE: Final = {"bridge": 1.0, "single-ended": 0.5, "split": 0.5}
"""Share of the supply that the output can swing to, either way, for each kind of output [1].

It is also the share of the rectified output current that the whole supply carries. Single-ended
means one output behind a capacitor; split means a positive and a negative rail whose sum is the
supply voltage."""


def swing_peak(
    supply_voltage: FloatsLike,
    *,
    rail_share: FloatsLike,
    voltage_loss: FloatsLike,
    resistance_output: FloatsLike,
    load: FloatsLike,
    current_limit: FloatsLike,
) -> Floats:
    """Greatest clean peak voltage at the load.

    The output stage saturates at a fixed loss plus a resistance in series with the load, or
    its current limit acts first. Sag of the supply itself is not in here: give the voltage at
    the amplifier.

    Parameters
    ----------
    supply_voltage : float or array, any shape
        Whole supply at the amplifier [V].
    rail_share : float or array, any shape
        From `RAIL_SHARE` [1].
    voltage_loss : float or array, any shape
        Total saturation loss across both output devices that conduct in turn or together [V].
    resistance_output : float or array, any shape
        Resistance in series with the load: devices, coils, leads [Ω].
    load : float or array, any shape
        Load resistance [Ω], above 0; infinite for no load.
    current_limit : float or array, any shape
        Greatest peak output current [A], above 0; may be infinite.

    Returns
    -------
    array, broadcast shape
        Peak [V], never below 0.

    Raises
    ------
    ValueError
        If a load or a current limit is not above 0.

    Notes
    -----
    min(s (V - V_loss) R/(R + R_out), I_limit R).

    References
    ----------
    .. [1] R. L. Boylestad, L. Nashelsky, Electronic Devices and Circuit Theory, Pearson,
       class-B amplifiers, with the peak swing Vcc = V (bridge) or V/2 (single-ended).

    Examples
    --------
    An ideal bridge on 12 V swings 12 V, a single output behind a capacitor 6 V.

    >>> peak = swing_peak(
    ...     12.0,
    ...     rail_share=np.array([1.0, 0.5]),
    ...     voltage_loss=0.0,
    ...     resistance_output=0.0,
    ...     load=4.0,
    ...     current_limit=float("inf"),
    ... )
    >>> [float(volts) for volts in peak]
    [12.0, 6.0]
    """
    resistance = above_zero(load, "load", "Ω")
    limit = above_zero(current_limit, "current limit", "A")
    saturated = floats(rail_share) * (floats(supply_voltage) - floats(voltage_loss))
    at_load = saturated / (1.0 + floats(resistance_output) / resistance)
    return np.maximum(np.minimum(at_load, limit * resistance), 0.0)


def clean_power(peak: FloatsLike, load: FloatsLike) -> Floats:
    """Average power of a sine of a given peak.

    Resistive load. Dividing by the square root of 2 in place of 2 would give 41 % too much.

    Parameters
    ----------
    peak : float or array, any shape
        Peak voltage at the load [V].
    load : float or array, any shape
        Load resistance [Ω], above 0.

    Returns
    -------
    array, broadcast shape
        Power [W].

    Raises
    ------
    ValueError
        If a load is not above 0.

    Notes
    -----
    peak²/(2 R).

    References
    ----------
    .. [1] R. L. Boylestad, L. Nashelsky, Electronic Devices and Circuit Theory, Pearson,
       Example 12.8.

    Examples
    --------
    Example 12.8 of [1]: 30 V peak in 16 ohm is 28.125 W.

    >>> float(clean_power(30.0, 16.0))
    28.125
    """
    return floats(peak) ** 2 / (2.0 * above_zero(load, "load", "Ω"))


def supply_power(
    *,
    supply_voltage: FloatsLike,
    rail_share: FloatsLike,
    switching: FloatsLike,
    load: FloatsLike,
    resistance_output: FloatsLike,
    mean_abs: FloatsLike,
    mean_square: FloatsLike,
    power_idle: FloatsLike,
    loss_switching: FloatsLike,
) -> Floats:
    """Average power that one channel takes from its supply while it plays.

    A linear output draws its load current through the whole rail; a switching output draws
    what it delivers, plus its resistance and a switching loss that grows with current. Idle
    power is taken as constant, which overstates a class-AB stage by up to its bias share at
    full drive.

    Parameters
    ----------
    supply_voltage : float or array, any shape
        Whole supply at the amplifier [V].
    rail_share : float or array, any shape
        From `RAIL_SHARE` [1].
    switching : float or array, any shape
        1 for class D, 0 for class AB or B [1].
    load : float or array, any shape
        Load resistance [Ω], above 0; infinite for no load.
    resistance_output : float or array, any shape
        Resistance in series with the load [Ω].
    mean_abs : float or array, any shape
        Mean of the rectified load voltage [V].
    mean_square : float or array, any shape
        Mean of the squared load voltage [V²].
    power_idle : float or array, any shape
        Power with no signal, this channel's share [W].
    loss_switching : float or array, any shape
        Dead-time and gate losses as a share of supply voltage times mean current [1]; about
        0.02 to 0.05, typical of class, from memory. Only class D uses it.

    Returns
    -------
    array, broadcast shape
        Power from the supply [W].

    Raises
    ------
    ValueError
        If a load is not above 0.

    Notes
    -----
    Class AB: s V E|v|/R + P_idle. Class D: E[v²]/R (1 + R_out/R) + k s V E|v|/R + P_idle.
    A bridge has two switching legs and a single output one, hence the s in the last loss.
    Core loss of the output coils and loss that grows with switching frequency sit in
    P_idle, where a measured idle current puts them.

    References
    ----------
    .. [1] R. L. Boylestad, L. Nashelsky, Electronic Devices and Circuit Theory, Pearson,
       Example 12.8 (class B).
    .. [2] A. S. Sedra, K. C. Smith, Microelectronic Circuits, Oxford, output stages (from
       memory).

    Examples
    --------
    Example 12.8 of [1]: 30 V rails (60 V in all), 16 ohm, full sine; 35.81 W in.

    >>> watts = supply_power(
    ...     supply_voltage=60.0,
    ...     rail_share=0.5,
    ...     switching=0.0,
    ...     load=16.0,
    ...     resistance_output=0.0,
    ...     mean_abs=2 / np.pi * 30.0,
    ...     mean_square=30.0**2 / 2,
    ...     power_idle=0.0,
    ...     loss_switching=0.0,
    ... )
    >>> round(float(watts), 2)
    35.81
    """
    resistance = above_zero(load, "load", "Ω")
    through_rail = floats(supply_voltage) * floats(rail_share) * floats(mean_abs) / resistance
    delivered = floats(mean_square) / resistance
    with_resistance = delivered * (1.0 + floats(resistance_output) / resistance)
    switched = with_resistance + floats(loss_switching) * through_rail
    share = floats(switching)
    return share * switched + (1.0 - share) * through_rail + floats(power_idle)


def heat_power(supply: FloatsLike, *, mean_square: FloatsLike, load: FloatsLike) -> Floats:
    """Power that stays in the amplifier and its leads as heat.

    Energy balance: what the supply gives and the load does not get.

    Parameters
    ----------
    supply : float or array, any shape
        Power from the supply [W].
    mean_square : float or array, any shape
        Mean of the squared load voltage [V²].
    load : float or array, any shape
        Load resistance [Ω], above 0.

    Returns
    -------
    array, broadcast shape
        Heat [W].

    Raises
    ------
    ValueError
        If a load is not above 0.

    Notes
    -----
    P_supply - E[v²]/R. The part lost in `resistance_output` is included.

    References
    ----------
    .. [1] R. L. Boylestad, L. Nashelsky, Electronic Devices and Circuit Theory, Pearson,
       Example 12.8.

    Examples
    --------
    Half of the rest of Example 12.8 in each output device: 3.8 W; the worst is 5.7 W.

    >>> round(float(heat_power(35.81, mean_square=450.0, load=16.0)) / 2, 1)
    3.8
    """
    return floats(supply) - floats(mean_square) / above_zero(load, "load", "Ω")


def input_sensitivity(peak: FloatsLike, *, gain_db: FloatsLike) -> Floats:
    """Sine input that just reaches clipping.

    Gain is flat and is that from the input to the load, bridge included.

    Parameters
    ----------
    peak : float or array, any shape
        Greatest clean peak at the load [V].
    gain_db : float or array, any shape
        Voltage gain [dB].

    Returns
    -------
    array, broadcast shape
        Input voltage, root mean square [V].

    Notes
    -----
    peak/sqrt(2)/10^(G/20).

    References
    ----------
    .. [1] Definition of voltage gain.

    Examples
    --------
    12 V of swing at 26 dB needs 0.43 V, at 36 dB 0.13 V.

    >>> volts = input_sensitivity(12.0, gain_db=np.array([26.0, 36.0]))
    >>> [round(float(rms), 2) for rms in volts]
    [0.43, 0.13]
    """
    return floats(floats(peak) / np.sqrt(2.0) / 10.0 ** (floats(gain_db) / 20.0))


def gain_excess_db(receiver_rms: FloatsLike, clipping_rms: FloatsLike) -> Floats:
    """How far a source at full volume drives the amplifier past clipping.

    Above 0 the last part of the volume control only distorts, and hiss is louder than it need
    be by the same figure; below 0 the amplifier never reaches its full power.

    Parameters
    ----------
    receiver_rms : float or array, any shape
        Greatest sine output of the source, root mean square [V], 0 or above.
    clipping_rms : float or array, any shape
        Input that just reaches clipping, root mean square [V], above 0.

    Returns
    -------
    array, broadcast shape
        Excess [dB]; minus infinity for a silent source.

    Raises
    ------
    ValueError
        If a clipping input is not above 0.

    Notes
    -----
    20 log10(V_source/V_clipping).

    References
    ----------
    .. [1] Definition of the decibel.

    Examples
    --------
    >>> round(float(gain_excess_db(0.8, 0.2)), 1)
    12.0
    """
    ratio = floats(receiver_rms) / above_zero(clipping_rms, "input that reaches clipping", "V")
    return 20.0 * np.log10(ratio, out=np.full_like(ratio, -np.inf), where=ratio > 0.0)
