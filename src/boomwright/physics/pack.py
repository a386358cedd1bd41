"""A battery from its label: chemistry, capacity, cells, strings, temperature and age."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, floats
from boomwright.physics.battery import Battery
from boomwright.physics.chemistry import CHARGE_GRID, Chemistry, end_voltage
from boomwright.physics.kibam import KibamFit, evened_out, kibam_capacity
from boomwright.physics.nature import kelvin

__all__ = ["battery_pack"]

_REFERENCE_TEMPERATURE = float(kelvin(25.0))
_SECONDS_PER_HOUR = 3600.0
# Half the charge still in the available well is no end of a discharge any label could mean.
_HEAD_END_ALLOWED = 0.5


def battery_pack(
    chemistry: Chemistry,
    *,
    capacity_rated: FloatsLike,
    duration_rated: FloatsLike,
    cells: FloatsLike,
    strings: FloatsLike = 1,
    temperature: FloatsLike = _REFERENCE_TEMPERATURE,
    health: FloatsLike = 1.0,
    resistance: FloatsLike | None = None,
    kibam: KibamFit | None = None,
) -> Battery:
    """Battery made of cells of one chemistry, sized by its label.

    The charge behind the label is found so that a new battery at 25 °C, discharged from full at
    the rated current, reaches the customary end volts exactly at the end of the rated time. All
    cells are taken as alike; a weak one ends the real run earlier.

    Parameters
    ----------
    chemistry : Chemistry
        The cell.
    capacity_rated : float or array, broadcastable
        Capacity on the label of one string, above 0 [C].
    duration_rated : float or array, broadcastable
        Length of the discharge that this capacity belongs to, above 0 [s].
    cells : float or array, broadcastable
        Cells in series, at least 1 [1].
    strings : float or array, broadcastable
        Equal strings in parallel, at least 1 [1].
    temperature : float or array, broadcastable
        Temperature of the cells, 223.15 to 343.15 [K].
    health : float or array, broadcastable
        Share of the new capacity that is left, above 0, up to 1.5 [1].
    resistance : float or array, broadcastable, optional
        Measured settled resistance of the whole pack as it is, at room temperature, above 0
        [Ω]. It replaces the typical value and is not raised again by `health`.
    kibam : KibamFit, optional
        The user's own rate table of one string at 25 °C. It sets both the wells and the capacity
        of the rated run; `capacity_rated` then only scales the typical resistance.

    Returns
    -------
    Battery
        Fields of the broadcast shape.

    Raises
    ------
    ValueError
        A value outside the range above, or a rated time so short that the resistance alone takes
        the cell to its end volts.

    Notes
    -----
    At the end of the rated run the head h of the available well has u(h) = U_end + I R, so
    C = Q (c + (1 - c) g) / (c (1 - h)), g = (1 - exp(-k T)) / (k T), which is
    `kibam_capacity` turned round. Charge scales with health and with the chemistry's
    temperature table; resistance with health^-2 (typical of class, from memory: 80 % left goes
    with half as much resistance again) and with exp(B (1/T - 1/298.15 K)). Self-heating and the
    slower evening-out of a cold battery are left out.

    References
    ----------
    .. [1] J. F. Manwell and J. G. McGowan, Solar Energy 50 (1993) 399-405 (from memory).
    .. [2] D. Linden and T. B. Reddy, Handbook of Batteries, 3rd ed., McGraw-Hill, 2002 (from
       memory).

    Examples
    --------
    A sealed 12 V 7 Ah battery, full and rested.

    >>> from boomwright.physics.battery import rested_voltage
    >>> from boomwright.physics.chemistry import load_chemistries
    >>> pack = battery_pack(load_chemistries()["lead-agm"], capacity_rated=7 * 3600.0,
    ...                     duration_rated=20 * 3600.0, cells=6)
    >>> round(float(rested_voltage(pack, state_of_charge=1.0)), 2)
    12.87
    """
    capacity_rated = _within("capacity_rated", capacity_rated, 0.0, np.inf, "C")
    duration_rated = _within("duration_rated", duration_rated, 0.0, np.inf, "s")
    cells = _within("cells", cells, 1.0, np.inf, "cells", closed=True)
    strings = _within("strings", strings, 1.0, np.inf, "strings", closed=True)
    temperature = _within("temperature", temperature, 223.15, 343.15, "K", closed=True)
    health = _within("health", health, 0.0, 1.5, "of new")

    fraction = floats(chemistry.kibam_fraction if kibam is None else kibam.fraction)
    rate = floats(chemistry.kibam_rate if kibam is None else kibam.rate)
    charge_rated = (
        capacity_rated
        if kibam is None
        else kibam_capacity(
            capacity=kibam.capacity, fraction=fraction, rate=rate, duration=duration_rated
        )
    )
    _, mean = evened_out(rate, duration_rated)
    capacity = (
        strings
        * health
        * np.interp(temperature, chemistry.capacity_temperatures, chemistry.capacity_shares)
        * charge_rated
        * (fraction + (1.0 - fraction) * mean)
        / (fraction * (1.0 - _head_at_rated_end(chemistry, duration_rated)))
    )

    # B in the exponent: cold slows the ions, as a reaction of one activation energy would be.
    warmth = np.exp(
        chemistry.resistance_temperature * (1.0 / temperature - 1.0 / _REFERENCE_TEMPERATURE)
    )
    if resistance is None:
        ampere_hours = capacity_rated / _SECONDS_PER_HOUR
        settled = chemistry.resistance / ampere_hours * cells / strings / health**2
    else:
        settled = _within("resistance", resistance, 0.0, np.inf, "Ω")
    settled = settled * warmth

    volts = (
        chemistry.ocv_table
        + chemistry.ocv_temperature * (temperature - _REFERENCE_TEMPERATURE)[..., None]
    ) * cells[..., None]

    shape = np.broadcast_shapes(capacity.shape, settled.shape, volts.shape[:-1])

    def batch(value: FloatsLike) -> Floats:
        return np.broadcast_to(floats(value), shape)

    return Battery(
        capacity=batch(capacity),
        fraction=batch(fraction),
        rate=batch(rate),
        resistance_ohmic=batch(settled * chemistry.ohmic_share),
        resistance_relaxation=batch(settled * (1.0 - chemistry.ohmic_share)),
        time_relaxation=batch(chemistry.relaxation_time),
        voltage_table=np.broadcast_to(volts, (*shape, CHARGE_GRID.size)),
    )


def _head_at_rated_end(chemistry: Chemistry, duration_rated: Floats) -> Floats:
    """Head of the available well at which a new cell at 25 °C meets its end volts."""
    built_up = -np.expm1(-duration_rated / chemistry.relaxation_time)
    share = chemistry.ohmic_share + (1.0 - chemistry.ohmic_share) * built_up
    # Ohm ampere-hours over hours: the current of the label times the resistance of its battery.
    drop = chemistry.resistance * share / (duration_rated / _SECONDS_PER_HOUR)
    volts = end_voltage(chemistry, duration=duration_rated) + drop
    head = np.interp(volts, chemistry.ocv_table, CHARGE_GRID)
    if np.any(head > _HEAD_END_ALLOWED):
        msg = (
            f"duration_rated: got {float(np.min(duration_rated)):g} s, but in so short a run the "
            f"resistance alone takes {chemistry.name} to its end volts; allowed longer runs"
        )
        raise ValueError(msg)
    return head


def _within(
    name: str, value: FloatsLike, low: float, high: float, unit: str, *, closed: bool = False
) -> Floats:
    values = floats(value)
    fine = (values >= low if closed else values > low) & (values <= high) & np.isfinite(values)
    if not np.all(fine):
        worst = float(values[~fine].flat[0])
        ceiling = "" if high == np.inf else f" and at most {high:g} {unit}"
        msg = (
            f"{name}: got {worst:g} {unit}, "
            f"allowed {'at least' if closed else 'above'} {low:g} {unit}{ceiling}"
        )
        raise ValueError(msg)
    return values
