"""What a battery's volts mean: resting and playing, with the charge and the hours behind them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from boomwright.build.quantities import format_quantity
from boomwright.errors import InputError, Problem
from boomwright.physics.arrays import Floats
from boomwright.physics.battery import (
    Battery,
    BatteryState,
    battery_emf,
    battery_step,
    rested_voltage,
    state_of_charge,
)
from boomwright.physics.chemistry import Chemistry, end_voltage

__all__ = ["ScaleMark", "voltmeter_scale"]

_MOMENTS = 2001
_SLOPE_SHARE = 0.02


@dataclass(frozen=True)
class ScaleMark:
    """One mark of a scale.

    Parameters
    ----------
    share : float
        Share of what the battery gives at the usual load that is still in it [1].
    charge : float
        Charge as a share of an infinitely slow discharge [1].
    resting : float
        Volts after hours without load [V].
    playing : float
        Volts under the usual load [V].
    time_left : float
        Time left at the usual load [s].
    reading_error : float
        How much too low a scale of resting volts reads while playing, as a share of charge [1].
    """

    share: float
    charge: float
    resting: float
    playing: float
    time_left: float
    reading_error: float


def voltmeter_scale(
    chemistry: Chemistry,
    battery: Battery,
    *,
    cells: int,
    load_current: float,
    marks: tuple[float, ...],
    cutoff_voltage: float | None = None,
    time_left: Callable[[float], float] | None = None,
) -> tuple[ScaleMark, ...]:
    """Volts, charge and hours at each mark of a scale.

    The full battery is run down at the usual load until its end: the cutoff, or the volts at which
    its chemistry customarily ends a run of that length. A mark is a share of that run.

    Parameters
    ----------
    chemistry : Chemistry
        What the cells are.
    battery : Battery
        The battery, one case.
    cells : int
        Cells in series.
    load_current : float
        The usual load, steady [A].
    marks : tuple of float
        Shares, above 0 and up to 1.
    cutoff_voltage : float or None
        Volts at which the load is switched off [V].
    time_left : callable or None
        Time left [s] by share, where a fuller model of the load knows better.

    Returns
    -------
    tuple of ScaleMark
        In the order of the marks.

    Raises
    ------
    InputError
        If the battery starts below its end under this load.

    Notes
    -----
    The reading error is (resting - playing) / (d resting / d share): I R / slope, and besides the
    charge that has not yet come up from within the plates, which a meter misses too. The slower
    part of the resistance counts as built up all along.

    Examples
    --------
    A sealed 12 V 7 Ah battery at half an ampere.

    >>> from boomwright.physics.chemistry import load_chemistries
    >>> from boomwright.physics.pack import battery_pack
    >>> agm = load_chemistries()["lead-agm"]
    >>> battery = battery_pack(agm, capacity_rated=7 * 3600.0, duration_rated=20 * 3600.0, cells=6)
    >>> half, = voltmeter_scale(agm, battery, cells=6, load_current=0.5, marks=(0.5,))
    >>> round(half.resting, 1), round(half.playing, 1), round(half.time_left / 3600.0)
    (12.3, 12.2, 7)
    """
    full = _settled(battery, load_current)
    times = np.linspace(0.0, 1.0, _MOMENTS) * float(battery.capacity) / load_current

    def playing(when: Floats) -> Floats:
        state = battery_step(battery, full, current=load_current, duration=when)
        return battery_emf(battery, state) - load_current * battery.resistance_ohmic

    # The first moment has no length; the shortest of the others stands for it.
    lengths = np.maximum(times, times[1])
    end = (
        cells * end_voltage(chemistry, duration=lengths)
        if cutoff_voltage is None
        else np.full_like(times, cutoff_voltage)
    )
    over = playing(times) - end
    if over[0] <= 0.0:
        raise InputError([_too_heavy(battery, load_current, float(end[0]))])
    last = int(np.argmax(over <= 0.0))
    part = over[last - 1] / (over[last - 1] - over[last])
    whole = float(times[last - 1] + part * (times[last] - times[last - 1]))

    shares = np.array(marks)

    def charge(share: Floats) -> Floats:
        spent = (1.0 - share) * whole
        state = battery_step(battery, full, current=load_current, duration=spent)
        return np.clip(state_of_charge(battery, state), 0.0, 1.0)

    volts = playing((1.0 - shares) * whole)
    resting = rested_voltage(battery, state_of_charge=charge(shares))
    above, below = np.minimum(shares + _SLOPE_SHARE, 1.0), np.maximum(shares - _SLOPE_SHARE, 0.0)
    rise = rested_voltage(battery, state_of_charge=charge(above)) - rested_voltage(
        battery, state_of_charge=charge(below)
    )
    error = (resting - volts) * (above - below) / rise
    return tuple(
        ScaleMark(
            share=float(share),
            charge=float(charge(shares)[i]),
            resting=float(resting[i]),
            playing=float(volts[i]),
            time_left=float(share) * whole if time_left is None else time_left(float(share)),
            reading_error=float(error[i]),
        )
        for i, share in enumerate(shares)
    )


def _settled(battery: Battery, current: float) -> BatteryState:
    """Full battery whose slower resistance has already built up."""
    available = battery.fraction * battery.capacity
    return BatteryState(
        available, battery.capacity - available, current * battery.resistance_relaxation
    )


def _too_heavy(battery: Battery, current: float, end: float) -> Problem:
    full = float(rested_voltage(battery, state_of_charge=1.0))
    resistance = float(battery.resistance_ohmic + battery.resistance_relaxation)
    if full <= end:
        return Problem(
            "the end lies above the full battery's volts",
            got=format_quantity(end, "voltage"),
            expected=f"below {format_quantity(full, 'voltage')}",
            key="cutoff_voltage",
            hint=f"The highest end that leaves any run is just under "
            f"{format_quantity(full - current * resistance, 'voltage')} at this load.",
        )
    most = (full - end) / resistance
    return Problem(
        "under this load even the full battery stands below its end",
        got=format_quantity(current, "current"),
        expected=f"less than {format_quantity(most, 'current')}",
        key="load_current",
        hint="Lower the load, or take a battery of more charge.",
    )
