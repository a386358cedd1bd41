"""A build worked out: the run, the heat and all the numbers in between, version by version."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.build.drawer import Drawer
from boomwright.build.draws import Draws
from boomwright.build.model import Build
from boomwright.outcome.discharge import Run, own_powers, run_down
from boomwright.outcome.loudness import asked_volts
from boomwright.outcome.network import Drive
from boomwright.outcome.plan import Plan, make_plan
from boomwright.outcome.scenario import Scenario, scenarios_of
from boomwright.outcome.source import source_battery, temperatures
from boomwright.outcome.warmth import Warmth, warmth_of
from boomwright.physics.arrays import Floats
from boomwright.physics.battery import Battery

__all__ = ["Worked", "work_out"]


@dataclass(frozen=True)
class Worked:
    """What physics gives of every version; arrays are (versions, scenarios).

    Parameters
    ----------
    plan, wide : Plan
        The build in numbers, and the same with every array as wide as the scenarios.
    scenarios : tuple of Scenario
        One per column.
    drive : Drive
        What was asked of the amplifiers.
    run : Run
        How the source ran down.
    battery : Battery or None
        The battery in numbers, None for a supply.
    resistance : array
        The source's resistance [Ω].
    powers : array (nodes + 2, versions, scenarios)
        Power each part keeps at the start [W].
    warmth : Warmth
        Temperatures after hours of it.
    """

    plan: Plan
    wide: Plan
    scenarios: tuple[Scenario, ...]
    drive: Drive
    run: Run
    battery: Battery | None
    resistance: Floats
    powers: Floats
    warmth: Warmth

    def column(self, key: str) -> int:
        """Column of a scenario; ValueError if it does not apply to this build."""
        return [scenario.key for scenario in self.scenarios].index(key)


def work_out(build: Build, *, versions: int, seed: int = 0, drawer: Drawer | None = None) -> Worked:
    """A build through physics, with everything that its Outcome is made from.

    Parameters
    ----------
    build : Build
        The build.
    versions : int
        Versions of it besides the likely one.
    seed : int
        Another seed gives another set of versions.
    drawer : Drawer or None
        Where connectors are looked up; the typical parts if None.

    Returns
    -------
    Worked
    """
    plan = make_plan(build, Draws(versions, seed=seed), drawer=drawer)
    scenarios = scenarios_of(build)
    drive = Drive(
        volts=asked_volts(plan, scenarios),
        flat_out=np.array([scenario.level == "flat-out" for scenario in scenarios]),
        phone=np.array([float(scenario.phone) for scenario in scenarios]),
    )
    wide = plan.widened(len(scenarios))
    run = run_down(wide, scenarios, drive)
    ambient = temperatures(plan, scenarios)
    battery = source_battery(plan, ambient) if build.battery else None
    resistance = _resistance(plan, battery)
    powers = own_powers(plan, run.start, resistance)
    warmth = warmth_of(plan, run.start, powers, ambient)
    return Worked(plan, wide, scenarios, drive, run, battery, resistance, powers, warmth)


def _resistance(plan: Plan, battery: Battery | None) -> Floats:
    if battery is not None:
        return battery.resistance_ohmic
    supply = plan.build.supply
    if supply is None:
        raise ValueError(f"{plan.build.name} has no source")
    return plan.take(supply.name, "resistance", supply.resistance)
