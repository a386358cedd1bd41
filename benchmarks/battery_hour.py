"""One hour of a cell under the current of music, ours beside the battery library PyBaMM."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from boomwright.physics.battery import Battery, battery_emf, battery_full, battery_step
from boomwright.physics.chemistry import CHARGE_GRID, load_chemistries

__all__ = ["STEPS", "music_current", "our_hour", "their_hour"]

STEPS = 3600
_CELL = "li-ion-nmc"
_CAPACITY = 2.6 * 3600.0
_RESISTANCE = 0.043
_RELAXATION = 0.029
_RELAXATION_TIME = 35.0
_START = 0.93
_WIDTH = 0.15


def music_current() -> np.ndarray:
    """Current at each full second of an hour of made-up music: songs, bars and pauses [A]."""
    generator = np.random.default_rng(3600)
    seconds = np.arange(STEPS + 1)
    bars = np.exp(0.4 * generator.standard_normal(STEPS + 1))
    songs = 0.6 + 0.4 * np.sin(2 * np.pi * seconds / 210) ** 2
    playing = (seconds % 210) < 206
    return np.where(playing, 1.1 * songs * bars, 0.06)


def our_hour(current: np.ndarray, *, cases: int) -> np.ndarray:
    """Terminal volts at the end of each second, shape (steps, cases)."""
    sizes = np.linspace(1.0 - _WIDTH, 1.0 + _WIDTH, cases) if cases > 1 else np.ones(1)
    battery = Battery(
        capacity=_CAPACITY * sizes,
        fraction=np.ones(1),
        rate=np.zeros(1),
        resistance_ohmic=_RESISTANCE / sizes,
        resistance_relaxation=_RELAXATION / sizes,
        time_relaxation=np.full(1, _RELAXATION_TIME),
        voltage_table=load_chemistries()[_CELL].ocv_table,
    )
    state = battery_full(battery, state_of_charge=_START)
    volts = np.empty((STEPS, cases))
    means = 0.5 * (current[:-1] + current[1:])
    for step, (mean, end) in enumerate(zip(means, current[1:], strict=True)):
        state = battery_step(battery, state, current=mean, duration=1.0)
        volts[step] = battery_emf(battery, state) - end * battery.resistance_ohmic
    return volts


def their_hour(current: np.ndarray) -> Callable[[], np.ndarray]:
    """A function that solves the same hour; model, mesh and solver are made beforehand."""
    import pybamm

    pybamm.telemetry.disable()
    seconds = np.arange(STEPS + 1.0)
    table = load_chemistries()[_CELL].ocv_table
    model = pybamm.equivalent_circuit.Thevenin()
    values = model.default_parameter_values
    values.update(
        {
            "Open-circuit voltage [V]": lambda charge: pybamm.Interpolant(
                CHARGE_GRID, table, charge, interpolator="linear"
            ),
            "R0 [Ohm]": _RESISTANCE,
            "R1 [Ohm]": _RELAXATION,
            "C1 [F]": _RELAXATION_TIME / _RELAXATION,
            "Cell capacity [A.h]": _CAPACITY / 3600.0,
            "Nominal cell capacity [A.h]": _CAPACITY / 3600.0,
            "Initial SoC": _START,
            "Entropic change [V/K]": 0.0,
            "Upper voltage cut-off [V]": 9.0,
            "Lower voltage cut-off [V]": 0.1,
            "Current function [A]": pybamm.Interpolant(
                seconds, current, pybamm.t, interpolator="linear"
            ),
        }
    )
    simulation = pybamm.Simulation(
        model, parameter_values=values, solver=pybamm.IDAKLUSolver(rtol=1e-6, atol=1e-6)
    )

    def solve() -> np.ndarray:
        return simulation.solve(seconds)["Voltage [V]"](seconds[1:])

    return solve
