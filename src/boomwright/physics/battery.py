"""A whole battery at its terminals: charge in two wells, volts behind two resistances."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, floats
from boomwright.physics.chemistry import CHARGE_GRID
from boomwright.physics.kibam import kibam_step

__all__ = [
    "Battery",
    "BatteryState",
    "battery_emf",
    "battery_full",
    "battery_step",
    "rested_voltage",
    "short_circuit_current",
    "state_of_charge",
]


@dataclass(frozen=True, eq=False)
class Battery:
    """A battery as its terminals show it; all fields have one batch shape.

    Cases of one batch may be of different chemistry: the volts table carries the batch axes.

    Parameters
    ----------
    capacity : array, batch shape
        Charge of an infinitely slow discharge [C].
    fraction : array, batch shape
        Share of it that the available well holds at rest [1].
    rate : array, batch shape
        Rate constant at which the two wells even out [1/s].
    resistance_ohmic : array, batch shape
        Resistance that acts at once [Ω].
    resistance_relaxation : array, batch shape
        Resistance that builds up over the relaxation time [Ω].
    time_relaxation : array, batch shape
        Time constant of the slower resistance [s].
    voltage_table : array, batch shape + (101,)
        Volts against the head of the available well on `chemistry.CHARGE_GRID` [V].
    """

    capacity: Floats
    fraction: Floats
    rate: Floats
    resistance_ohmic: Floats
    resistance_relaxation: Floats
    time_relaxation: Floats
    voltage_table: Floats


@dataclass(frozen=True, eq=False)
class BatteryState:
    """What a battery remembers between two moments; all fields have one shape.

    Parameters
    ----------
    available, bound : array
        Charge in the two wells [C].
    relaxation : array
        Voltage across the slower resistance [V].
    """

    available: Floats
    bound: Floats
    relaxation: Floats


def battery_full(battery: Battery, *, state_of_charge: FloatsLike = 1.0) -> BatteryState:
    """State of a rested battery, full unless said otherwise.

    Both wells stand at the same head and nothing is left of earlier loads.

    Parameters
    ----------
    battery : Battery
        The battery.
    state_of_charge : float or array, broadcastable
        Charge as a share of `Battery.capacity`, 0 to 1 [1].

    Returns
    -------
    BatteryState
        Fields of the broadcast shape.

    Raises
    ------
    ValueError
        State of charge outside 0 to 1.

    Notes
    -----
    q1 = c s C, q2 = (1 - c) s C.

    References
    ----------
    .. [1] J. F. Manwell and J. G. McGowan, Solar Energy 50 (1993) 399-405 (from memory).

    Examples
    --------
    A sealed 12 V 7 Ah battery, half full.

    >>> from boomwright.physics.chemistry import load_chemistries
    >>> from boomwright.physics.pack import battery_pack
    >>> battery = battery_pack(load_chemistries()["lead-agm"], capacity_rated=7 * 3600.0,
    ...                        duration_rated=20 * 3600.0, cells=6)
    >>> state = battery_full(battery, state_of_charge=0.5)
    >>> round(float((state.available + state.bound) / battery.capacity), 3)
    0.5
    """
    charge = _charge_share(state_of_charge) * battery.capacity
    available = battery.fraction * charge
    return BatteryState(available, charge - available, np.zeros_like(available))


def battery_emf(battery: Battery, state: BatteryState) -> Floats:
    """Volts behind the ohmic resistance.

    Terminal volts are emf - I R with the resistance that acts at once. Above a full available well
    the table's last value holds; below an empty one volts fall steeply on, to 0 at the least.

    Parameters
    ----------
    battery : Battery
        The battery.
    state : BatteryState
        Its state; broadcasts with the battery.

    Returns
    -------
    array, broadcast shape
        Volts [V].

    Notes
    -----
    emf = u(h) - v with h = q1 / (c C) and v the relaxation voltage. As long as the load changes
    slowly against the relaxation time, terminal volts are
    u(h) - I (R0 + R1 (1 - exp(-t / tau))).

    References
    ----------
    .. [1] D. Linden and T. B. Reddy, Handbook of Batteries, 3rd ed., McGraw-Hill, 2002 (from
       memory).

    Examples
    --------
    A sealed 12 V 7 Ah battery, full and rested.

    >>> from boomwright.physics.chemistry import load_chemistries
    >>> from boomwright.physics.pack import battery_pack
    >>> battery = battery_pack(load_chemistries()["lead-agm"], capacity_rated=7 * 3600.0,
    ...                        duration_rated=20 * 3600.0, cells=6)
    >>> round(float(battery_emf(battery, battery_full(battery))), 2)
    12.87
    """
    head = state.available / (battery.fraction * battery.capacity)
    return _table_volts(battery, head) - state.relaxation


def battery_step(
    battery: Battery, state: BatteryState, *, current: FloatsLike, duration: FloatsLike
) -> BatteryState:
    """State after a constant current has flowed for a time.

    Exact for any step length as long as the current is constant. It does not stop at empty or
    full; charge current is stored without loss, and gassing is left out.

    Parameters
    ----------
    battery : Battery
        The battery.
    state : BatteryState
        State at the start.
    current : float or array, broadcastable
        Current out of the battery [A]; negative charges it.
    duration : float or array, broadcastable
        Length of the step, not negative [s].

    Returns
    -------
    BatteryState
        State at the end, of the broadcast shape.

    Notes
    -----
    Wells: `kibam_step`. Relaxation: v' = v exp(-t / tau) + I R1 (1 - exp(-t / tau)).

    References
    ----------
    .. [1] J. F. Manwell and J. G. McGowan, Solar Energy 50 (1993) 399-405 (from memory).

    Examples
    --------
    A sealed 12 V 7 Ah battery that gives 0.35 A for an hour.

    >>> from boomwright.physics.chemistry import load_chemistries
    >>> from boomwright.physics.pack import battery_pack
    >>> battery = battery_pack(load_chemistries()["lead-agm"], capacity_rated=7 * 3600.0,
    ...                        duration_rated=20 * 3600.0, cells=6)
    >>> state = battery_step(battery, battery_full(battery), current=0.35, duration=3600.0)
    >>> round(float(state.available + state.bound - battery.capacity))
    -1260
    """
    current, duration = floats(current), floats(duration)
    available, bound = kibam_step(
        state.available,
        state.bound,
        current=current,
        duration=duration,
        fraction=battery.fraction,
        rate=battery.rate,
    )
    left = np.exp(-duration / battery.time_relaxation)
    settled = current * battery.resistance_relaxation
    relaxation = state.relaxation * left + settled * (1.0 - left)
    return BatteryState(*np.broadcast_arrays(available, bound, relaxation))


def state_of_charge(battery: Battery, state: BatteryState) -> Floats:
    """Charge left as a share of what an infinitely slow discharge gives.

    After a full discharge at the rated current some charge is left in the bound well (about 11 %
    for sealed lead): a label's 0 % is not 0 here.

    Parameters
    ----------
    battery : Battery
        The battery.
    state : BatteryState
        Its state; broadcasts with the battery.

    Returns
    -------
    array, broadcast shape
        Share [1].

    Notes
    -----
    (q1 + q2) / C.

    References
    ----------
    .. [1] J. F. Manwell and J. G. McGowan, Solar Energy 50 (1993) 399-405 (from memory).

    Examples
    --------
    A sealed 12 V 7 Ah battery after its rated discharge.

    >>> from boomwright.physics.chemistry import load_chemistries
    >>> from boomwright.physics.pack import battery_pack
    >>> battery = battery_pack(load_chemistries()["lead-agm"], capacity_rated=7 * 3600.0,
    ...                        duration_rated=20 * 3600.0, cells=6)
    >>> state = battery_step(battery, battery_full(battery), current=0.35, duration=20 * 3600.0)
    >>> round(float(state_of_charge(battery, state)), 2)
    0.11
    """
    return (state.available + state.bound) / battery.capacity


def rested_voltage(battery: Battery, *, state_of_charge: FloatsLike) -> Floats:
    """Volts of the battery after hours without load.

    Published tables of lead-acid disagree by 0.1 V, which is about 10 % of charge.

    Parameters
    ----------
    battery : Battery
        The battery.
    state_of_charge : float or array, broadcastable
        Charge as a share of `Battery.capacity`, 0 to 1 [1].

    Returns
    -------
    array, broadcast shape
        Volts [V].

    Raises
    ------
    ValueError
        State of charge outside 0 to 1.

    Notes
    -----
    The volts table at h = s, straight between its points.

    References
    ----------
    .. [1] D. Linden and T. B. Reddy, Handbook of Batteries, 3rd ed., McGraw-Hill, 2002 (from
       memory).

    Examples
    --------
    A sealed 12 V 7 Ah battery, half full.

    >>> from boomwright.physics.chemistry import load_chemistries
    >>> from boomwright.physics.pack import battery_pack
    >>> battery = battery_pack(load_chemistries()["lead-agm"], capacity_rated=7 * 3600.0,
    ...                        duration_rated=20 * 3600.0, cells=6)
    >>> round(float(rested_voltage(battery, state_of_charge=0.5)), 2)
    12.21
    """
    return _table_volts(battery, _charge_share(state_of_charge))


def short_circuit_current(battery: Battery, *, state_of_charge: FloatsLike = 1.0) -> Floats:
    """Amperes of the rested battery in the first moment of a short.

    Ohmic resistance alone, nothing added for the lead and the connector; a protection board, if
    there is one, cuts it off. An order of magnitude for choosing a fuse, never a test to make.

    Parameters
    ----------
    battery : Battery
        The battery.
    state_of_charge : float or array, broadcastable
        Charge as a share of `Battery.capacity`, 0 to 1 [1].

    Returns
    -------
    array, broadcast shape
        Current [A].

    Raises
    ------
    ValueError
        State of charge outside 0 to 1.

    Notes
    -----
    I = u(s) / R0.

    References
    ----------
    .. [1] Ohm's law; the resistance is the chemistry's or the measured one.

    Examples
    --------
    A sealed 12 V 7 Ah battery, full.

    >>> from boomwright.physics.chemistry import load_chemistries
    >>> from boomwright.physics.pack import battery_pack
    >>> battery = battery_pack(load_chemistries()["lead-agm"], capacity_rated=7 * 3600.0,
    ...                        duration_rated=20 * 3600.0, cells=6)
    >>> round(float(short_circuit_current(battery)), -1)
    330.0
    """
    return rested_voltage(battery, state_of_charge=state_of_charge) / battery.resistance_ohmic


def _table_volts(battery: Battery, head: Floats) -> Floats:
    shape = np.broadcast_shapes(head.shape, battery.capacity.shape)
    last = CHARGE_GRID.size - 1
    place = np.broadcast_to(np.minimum(head, 1.0) * last, shape)
    below = np.clip(place, 0, last - 1).astype(np.intp)
    table = np.broadcast_to(battery.voltage_table, (*shape, CHARGE_GRID.size))
    lower = np.take_along_axis(table, below[..., None], axis=-1)[..., 0]
    upper = np.take_along_axis(table, below[..., None] + 1, axis=-1)[..., 0]
    # An overdrawn well continues the first slope, so that volts collapse instead of standing still.
    volts: Floats = np.maximum(lower + (upper - lower) * (place - below), 0.0)
    return volts


def _charge_share(state_of_charge: FloatsLike) -> Floats:
    share = floats(state_of_charge)
    fine = (share >= 0.0) & (share <= 1.0)
    if not np.all(fine):
        msg = f"state_of_charge: got {share[~fine].flat[0]:g} of full, allowed 0 to 1"
        raise ValueError(msg)
    return share
