"""Switching converters: what they take, what they waste, where they are best."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats, not_negative

__all__ = [
    "ConverterLoss",
    "boost_input_current",
    "converter_efficiency",
    "converter_heat",
    "converter_input_power",
    "converter_loss",
    "converter_peak_power",
]


@dataclass(frozen=True)
class ConverterLoss:
    """Terms of a converter's loss p0 + p1 P + p2 P² that no load changes.

    Parameters
    ----------
    constant : array
        p0 [W].
    linear : array
        p1 [1].
    square : array
        p2 [1/W].
    """

    constant: Floats
    linear: Floats
    square: Floats

    def input_power(self, power_out: FloatsLike) -> Floats:
        """Input power for a power delivered, both [W]; ValueError if that is below 0."""
        load = not_negative(power_out, "power delivered", "W")
        return self.constant + load * (1.0 + self.linear + self.square * load)


def converter_loss(
    *,
    power_idle: FloatsLike,
    resistive_share: FloatsLike,
    efficiency_peak: FloatsLike,
    power_rated: FloatsLike,
) -> ConverterLoss:
    """Terms of a switching converter's loss, whatever it delivers.

    For a module that meets many loads; `converter_input_power` tells the law.

    Parameters
    ----------
    power_idle, resistive_share, efficiency_peak, power_rated : float or array
        As in `converter_input_power` [W], [1], [1], [W].

    Returns
    -------
    ConverterLoss
        Of the broadcast shape.

    Raises
    ------
    ValueError
        If a value lies outside its range.

    Notes
    -----
    p2 is the root of P_rated (1 - s) p2 + 2 s sqrt(p0 p2) = s (1/eta - 1), and
    p1 = 1/eta - 1 - 2 sqrt(p0 p2).

    References
    ----------
    .. [1] Derived from the law in `converter_input_power`.

    Examples
    --------
    >>> loss = converter_loss(
    ...     power_idle=0.1, resistive_share=0.5, efficiency_peak=0.9, power_rated=15.0
    ... )
    >>> round(float(loss.input_power(5.0)), 2)
    5.56
    """
    idle, share = not_negative(power_idle, "idle power", "W"), floats(resistive_share)
    best, rated = floats(efficiency_peak), above_zero(power_rated, "rated power", "W")
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
    return ConverterLoss(idle, linear, root * root)


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
        to below 1 [1]; half is a fair guess.
    efficiency_peak : float or array
        Highest efficiency, above 0 to 1 [1].
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
    return converter_loss(
        power_idle=power_idle,
        resistive_share=resistive_share,
        efficiency_peak=efficiency_peak,
        power_rated=power_rated,
    ).input_power(power_out)


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
        As in `converter_input_power` [W], [1], [1], [W].

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
    loss = converter_loss(
        power_idle=power_idle,
        resistive_share=resistive_share,
        efficiency_peak=efficiency_peak,
        power_rated=power_rated,
    )
    constant, square = np.broadcast_arrays(loss.constant, loss.square)
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
        As in `converter_input_power` [W], [W], [1], [1], [W].

    Returns
    -------
    array, broadcast shape
        Efficiency [1]; 0 at no load.

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
        As in `converter_input_power` [W], [W], [1], [1], [W].

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
        Efficiency at this load, above 0 [1].

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
    supply = above_zero(voltage_in, "input voltage", "V")
    return floats(power_out) / (above_zero(efficiency, "efficiency") * supply)
