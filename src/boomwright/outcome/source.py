"""The battery in numbers: what it holds, how warm it is and how full it starts."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from boomwright.build.draws import Draws
from boomwright.build.power import Battery as BatteryTable
from boomwright.build.quantities import Quantity
from boomwright.errors import InputError, Problem
from boomwright.outcome.plan import Plan
from boomwright.outcome.scenario import Scenario
from boomwright.physics.arrays import Floats
from boomwright.physics.battery import Battery
from boomwright.physics.kibam import KibamFit, fit_kibam
from boomwright.physics.pack import battery_pack

__all__ = ["label_charge", "source_battery", "start_charge", "temperatures"]


def source_battery(plan: Plan, temperature: Floats) -> Battery:
    """The battery in numbers at a temperature.

    Parameters
    ----------
    plan : Plan
        A build with a battery.
    temperature : array, broadcastable
        Cell temperature [K].

    Returns
    -------
    Battery
        Arrays over versions × scenarios.

    Raises
    ------
    ValueError
        If the build has no battery.
    InputError
        If label, rated hours, rate table and resistance cannot belong to one battery.
    """
    table, chemistry = plan.build.battery, plan.chemistry
    if table is None or chemistry is None:
        raise ValueError(f"{plan.build.name} runs on a supply, not on a battery")

    rated = table.rated_hours.likely if table.rated_hours else chemistry.duration_rated
    measured = table.resistance
    try:
        battery = battery_pack(
            chemistry,
            capacity_rated=plan.take(table.name, "capacity", table.capacity),
            duration_rated=rated,
            cells=table.cells,
            strings=table.strings,
            temperature=temperature,
            health=plan.take(table.name, "health", table.health),
            resistance=None if measured is None else plan.take(table.name, "resistance", measured),
            kibam=_own_rates(table),
        )
    except ValueError as error:
        # The values are plausible one by one, yet no battery of this kind has them together.
        says = f"no such battery can be: {error}"
        raise InputError([Problem(says, key=table.name)]) from None
    if measured is not None:
        return battery
    usual = chemistry.resistance
    low, high = chemistry.resistance_low / usual, chemistry.resistance_high / usual
    factor = plan.take(table.name, "chemistry.resistance", Quantity(1.0, low, high, "ratio"))
    return replace(
        battery,
        resistance_ohmic=battery.resistance_ohmic * factor,
        resistance_relaxation=battery.resistance_relaxation * factor,
    )


def label_charge(plan: Plan) -> Floats:
    """Charge on the battery's label, all strings, as far as age has left it, (versions, 1) [C]."""
    table = plan.build.battery
    if table is None:
        raise ValueError(f"{plan.build.name} has no battery")
    charge = plan.take(table.name, "capacity", table.capacity) * table.strings
    return charge * plan.take(table.name, "health", table.health)


def _own_rates(table: BatteryTable) -> KibamFit | None:
    if len(table.rate_table) < 2:
        return None
    hours = np.array([point.hours.likely for point in table.rate_table])
    charges = np.array([point.capacity.likely for point in table.rate_table])
    return fit_kibam(hours, charges)


def start_charge(battery: BatteryTable, draws: Draws) -> Floats:
    """State of charge at the start, shape (versions, 1)."""
    return np.clip(draws.take(battery.name, "charged_to", battery.charged_to), 0.0, 1.0)


def temperatures(plan: Plan, scenarios: tuple[Scenario, ...]) -> Floats:
    """Temperature around the box in each scenario, shape (versions, scenarios) [K]."""
    want = plan.build.want
    usual = plan.take("want", "outside", want.outside)
    cold = usual if want.coldest is None else np.full((1, 1), want.coldest.likely)
    columns = [cold if scenario.cold else usual for scenario in scenarios]
    return np.concatenate(
        [np.broadcast_to(column, (plan.draws.versions, 1)) for column in columns], axis=1
    )
