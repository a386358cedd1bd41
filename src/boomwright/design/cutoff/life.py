"""A cutoff at its battery: the run down through it, and what the battery's recovery then does."""

from __future__ import annotations

import numpy as np

from boomwright.build.soldered import SolvedCutoff
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES
from boomwright.design.cutoff.wish import CutoffWish
from boomwright.outcome.beats import BEAT
from boomwright.outcome.cutoff_law import CutoffLaw, early_trip_volts
from boomwright.outcome.cycling import CutoffRun, run_with_cutoff
from boomwright.physics.battery import Battery, battery_full
from boomwright.physics.chemistry import load_chemistries
from boomwright.physics.pack import battery_pack

__all__ = ["cutoff_law", "early_trip", "life_with_battery", "likely_battery", "narrowest_version"]

_NARROW = 0.05
_RELAY_OFF, _RELAY_ON = 5e-3, 10e-3
_TRANSISTOR = 1e-3
# Coil and armature follow no faster than this; typical of class, from memory.
_INERTIA = 0.02


def cutoff_law(solved: SolvedCutoff, *, version: int = 0) -> CutoffLaw:
    """How a circuit behaves at its battery.

    Parameters
    ----------
    solved : SolvedCutoff
        The circuit worked out.
    version : int
        Which version of it, the likely one first; it lets go.

    Returns
    -------
    CutoffLaw
    """
    family = CUTOFF_FAMILIES[solved.circuit.family]
    off, on = float(solved.off[version]), float(solved.on[version])
    relay = bool(family.watch.relay)
    return CutoffLaw(
        off=off,
        on=np.inf if family.holding or not np.isfinite(on) else max(on, off),
        smoothing=max(float(solved.smoothing[version]), _INERTIA if relay else 0.0),
        delay_off=_RELAY_OFF if relay else _TRANSISTOR,
        delay_on=_RELAY_ON if relay else _TRANSISTOR,
        drain_on=float(solved.drain_on[version]),
        drain_off=max(float(solved.drain_off[version]), 0.0),
        resistance=float(solved.resistance[version]),
    )


def narrowest_version(solved: SolvedCutoff) -> int | None:
    """Version whose gap is narrower than that of 95 in 100 others; None without a gap.

    Parameters
    ----------
    solved : SolvedCutoff
        The circuit worked out.

    Returns
    -------
    int or None
    """
    gap = solved.on - solved.off
    usable = np.flatnonzero(np.isfinite(gap) & (gap >= 0.0))
    if not usable.size or CUTOFF_FAMILIES[solved.circuit.family].holding:
        return None
    order = usable[np.argsort(gap[usable])]
    return int(order[int(_NARROW * (order.size - 1))])


def likely_battery(wish: CutoffWish) -> Battery:
    """The wished battery in numbers, as its label and its chemistry say."""
    table = wish.battery
    facts = load_chemistries()[table.chemistry]
    rated = table.rated_hours.likely if table.rated_hours else facts.duration_rated
    return battery_pack(
        facts,
        capacity_rated=table.capacity.likely,
        duration_rated=rated,
        cells=table.cells,
        strings=table.strings,
        health=table.health.likely,
        resistance=None if table.resistance is None else table.resistance.likely,
    )


def life_with_battery(wish: CutoffWish, law: CutoffLaw) -> CutoffRun:
    """The full battery run down at the wished load through the cutoff, and an hour after.

    Parameters
    ----------
    wish : CutoffWish
        Battery and load; the load takes the same current at any voltage.
    law : CutoffLaw
        The cutoff.

    Returns
    -------
    CutoffRun
    """
    battery = likely_battery(wish)
    volts = np.array([0.2, 1.0]) * wish.highest
    return run_with_cutoff(
        battery,
        law,
        state=battery_full(battery),
        load_volts=volts,
        load_amps=np.full(2, wish.load_current),
        chemistry=load_chemistries()[wish.battery.chemistry],
        cells=wish.battery.cells,
        dip_amps=max(wish.peak_current - wish.load_current, 0.0),
        dip_time=BEAT,
    )


def early_trip(wish: CutoffWish, law: CutoffLaw) -> float:
    """Battery voltage at which a bass beat first opens the cutoff [V]."""
    return early_trip_volts(
        law,
        resistance=float(likely_battery(wish).resistance_ohmic),
        dip_amps=max(wish.peak_current - wish.load_current, 0.0),
        dip_time=BEAT,
    )
