"""The open-source battery library PyBaMM as an independent second road to terminal volts."""

import numpy as np
import pybamm
import pytest

from boomwright.physics.battery import Battery, battery_emf, battery_full, battery_step
from boomwright.physics.chemistry import CHARGE_GRID, load_chemistries
from boomwright.physics.pack import battery_pack

pybamm.telemetry.disable()

# One cell, every number distinct.
CAPACITY_AH = 2.6
RESISTANCE_OHMIC = 0.043
RESISTANCE_RELAXATION = 0.029
TIME_RELAXATION = 35.0
CHARGE_START = 0.93
PULSES = [(1.3, 900.0), (0.0, 300.0), (4.1, 600.0), (0.0, 420.0), (-0.8, 240.0), (2.2, 1500.0)]
PERIOD = 30.0


def thevenin_run(name):
    table = load_chemistries()[name].ocv_table

    def open_circuit(charge):
        return pybamm.Interpolant(CHARGE_GRID, table, charge, interpolator="linear")

    model = pybamm.equivalent_circuit.Thevenin()
    values = model.default_parameter_values
    values.update(
        {
            "Open-circuit voltage [V]": open_circuit,
            "R0 [Ohm]": RESISTANCE_OHMIC,
            "R1 [Ohm]": RESISTANCE_RELAXATION,
            "C1 [F]": TIME_RELAXATION / RESISTANCE_RELAXATION,
            "Cell capacity [A.h]": CAPACITY_AH,
            "Nominal cell capacity [A.h]": CAPACITY_AH,
            "Initial SoC": CHARGE_START,
            "Entropic change [V/K]": 0.0,
            "Upper voltage cut-off [V]": 9.0,
            "Lower voltage cut-off [V]": 0.1,
        }
    )
    steps = [pybamm.step.current(amperes, duration=seconds) for amperes, seconds in PULSES]
    simulation = pybamm.Simulation(
        model,
        parameter_values=values,
        experiment=pybamm.Experiment(steps, period=f"{PERIOD:g} seconds"),
        solver=pybamm.IDAKLUSolver(rtol=1e-8, atol=1e-8),
    )
    return [cycle["Voltage [V]"].entries for cycle in simulation.solve().cycles]


def our_run(name):
    battery = Battery(
        capacity=np.array(CAPACITY_AH * 3600.0),
        fraction=np.array(1.0),
        rate=np.array(0.0),
        resistance_ohmic=np.array(RESISTANCE_OHMIC),
        resistance_relaxation=np.array(RESISTANCE_RELAXATION),
        time_relaxation=np.array(TIME_RELAXATION),
        voltage_table=load_chemistries()[name].ocv_table,
    )
    start = battery_full(battery, state_of_charge=CHARGE_START)
    volts = []
    for amperes, seconds in PULSES:
        times = np.arange(0.0, seconds + 0.5 * PERIOD, PERIOD)
        states = battery_step(battery, start, current=amperes, duration=times)
        volts.append(battery_emf(battery, states) - amperes * battery.resistance_ohmic)
        start = battery_step(battery, start, current=amperes, duration=seconds)
    return volts


@pytest.mark.parametrize("name", ["li-ion-nmc", "lead-agm"])
def test_terminal_volts_of_a_pulsed_run_with_rests(name):
    reference, ours = thevenin_run(name), our_run(name)
    assert len(reference) == len(PULSES)
    for theirs, mine in zip(reference, ours, strict=True):
        assert theirs.shape == mine.shape
        assert mine == pytest.approx(theirs, abs=1e-5)  # V, above the tolerance of their solver


def test_lead_acid_loses_capacity_with_rate_in_both():
    # Full porous-electrode model with its own example battery: only the order and the growing
    # loss are compared, not the size; both run to 1.75 V per cell.
    model = pybamm.lead_acid.Full()
    values = model.default_parameter_values
    ends = 1.75
    rates = np.array([0.05, 0.2, 1.0])
    theirs = []
    for rate in rates:
        values["Current function [A]"] = rate * values["Nominal cell capacity [A.h]"]
        solution = pybamm.Simulation(model, parameter_values=values).solve([0.0, 7200.0 / rate])
        assert float(solution["Voltage [V]"].entries[-1]) == pytest.approx(ends, rel=1e-3)
        theirs.append(float(solution["Discharge capacity [A.h]"].entries[-1]))

    battery = battery_pack(
        load_chemistries()["lead-agm"],
        capacity_rated=17 * 3600.0,
        duration_rated=20 * 3600.0,
        cells=1,
    )
    times = np.linspace(1.0, 0.9999 * battery.capacity / (17.0 * rates), 20001)
    current = 17.0 * rates
    states = battery_step(battery, battery_full(battery), current=current, duration=times)
    alive = battery_emf(battery, states) - current * battery.resistance_ohmic > ends
    ours = current * np.max(np.where(alive, times, 0.0), axis=0) / 3600.0

    for capacities in (np.array(theirs), ours):
        assert np.all(np.diff(capacities) < 0.0)
        assert 0.3 < capacities[2] / capacities[0] < 0.9
