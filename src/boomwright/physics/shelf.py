"""A parked battery: how long self-discharge and a small drain take to empty it."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, floats, not_negative
from boomwright.physics.nature import ROOM_TEMPERATURE

__all__ = ["MONTH", "self_discharge_rate", "shelf_time"]

MONTH = 365.25 / 12.0 * 86_400.0
"""A twelfth of a year [s]."""


def self_discharge_rate(
    *,
    self_discharge: FloatsLike,
    temperature: FloatsLike,
    temperature_reference: FloatsLike = ROOM_TEMPERATURE,
    doubling: FloatsLike = 10.0,
) -> Floats:
    """Share of the stored charge lost per month at a temperature.

    Rule of thumb: the loss doubles with every so many kelvin. Fair from 0 °C to 45 °C.

    Parameters
    ----------
    self_discharge : float or array, broadcastable
        Loss at the reference temperature [1/month].
    temperature : float or array, broadcastable
        Temperature of the battery [K].
    temperature_reference : float or array, broadcastable
        Temperature that `self_discharge` belongs to [K].
    doubling : float or array, broadcastable
        Warming that doubles the loss [K].

    Returns
    -------
    array, broadcast shape
        Loss [1/month].

    Notes
    -----
    s 2^((T - T0) / D).

    References
    ----------
    .. [1] D. Linden and T. B. Reddy, Handbook of Batteries, 3rd ed., McGraw-Hill, 2002,
       valve-regulated lead-acid (from memory).

    Examples
    --------
    3 % a month at 25 °C is 6 % at 35 °C [1]_.

    >>> round(float(self_discharge_rate(self_discharge=0.03, temperature=308.15,
    ...                                 temperature_reference=298.15)), 3)
    0.06
    """
    warmer = (floats(temperature) - floats(temperature_reference)) / floats(doubling)
    return floats(self_discharge) * np.exp2(warmer)


def shelf_time(
    *,
    charge: FloatsLike,
    current: FloatsLike,
    self_discharge: FloatsLike,
    temperature: FloatsLike,
    temperature_reference: FloatsLike = ROOM_TEMPERATURE,
    doubling: FloatsLike = 10.0,
    charge_end: FloatsLike = 0.0,
) -> Floats:
    """Time until a parked battery has fallen to a given charge.

    Self-discharge takes a share of what is still stored, the off-drain a steady current on top.
    Nothing ages, and the drain does not fall with the volts.

    Parameters
    ----------
    charge : float or array, broadcastable
        Charge stored at the start [C].
    current : float or array, broadcastable
        Drain while switched off, not negative [A].
    self_discharge : float or array, broadcastable
        Loss at the reference temperature, not negative [1/month].
    temperature : float or array, broadcastable
        Temperature of the battery [K].
    temperature_reference, doubling : float or array, broadcastable
        As in `self_discharge_rate` [K].
    charge_end : float or array, broadcastable
        Charge at which the wait is over; 0 for empty [C].

    Returns
    -------
    array, broadcast shape
        Time [s]; 0 if it is there already, infinite if it never gets there (no drain and no
        self-discharge, or no drain and an end at 0, which a constant share never reaches).

    Raises
    ------
    ValueError
        A negative drain, self-discharge or charge.

    Notes
    -----
    dq/dt = -I - L q, so t = ln((L q0 + I) / (L q_end + I)) / L. L -> 0: (q0 - q_end) / I.

    References
    ----------
    .. [1] D. Linden and T. B. Reddy, Handbook of Batteries, 3rd ed., McGraw-Hill, 2002 (from
       memory), for the losses.

    Examples
    --------
    30 mA flatten 7 Ah in 9.7 days; self-discharge hardly matters beside it.

    >>> days = shelf_time(charge=7 * 3600.0, current=0.03, self_discharge=0.0,
    ...                   temperature=293.15) / 86400
    >>> round(float(days), 1)
    9.7
    """
    for name, unit, value in (
        ("charge", "C", charge),
        ("current", "A", current),
        ("self_discharge", "1/month", self_discharge),
        ("charge_end", "C", charge_end),
    ):
        not_negative(value, name, unit)
    loss = (
        self_discharge_rate(
            self_discharge=self_discharge,
            temperature=temperature,
            temperature_reference=temperature_reference,
            doubling=doubling,
        )
        / MONTH
    )
    start, end, drain, loss = np.broadcast_arrays(
        floats(charge), floats(charge_end), floats(current), loss
    )
    to_lose = np.maximum(start - end, 0.0)
    outflow = loss * end + drain
    # log1p of this growth stays exact where self-discharge is small against the drain.
    growth = np.divide(loss * to_lose, outflow, out=np.zeros(loss.shape), where=outflow > 0.0)
    steady = np.divide(to_lose, outflow, out=np.full(loss.shape, np.inf), where=outflow > 0.0)
    slowing = np.divide(np.log1p(growth), growth, out=np.ones(loss.shape), where=growth > 0.0)
    return np.where(to_lose > 0.0, steady * slowing, 0.0)
