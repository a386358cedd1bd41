"""Circuits that are followed in time, and the moments at which their contacts move."""

from __future__ import annotations

import numpy as np

from boomwright.circuit.netlist import Netlist
from boomwright.circuit.parts import (
    Capacitor,
    Comparator,
    Inductor,
    Relay,
    Resistor,
    VoltageSource,
)


def charging(resistance=1e3, capacitance=2.2e-6, volts=9.0, **source):
    return Netlist(
        "charging",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=volts, **source),
            Resistor(name="R1", a="in", b="out", resistance=resistance),
            Capacitor(name="C1", a="out", b="0", capacitance=capacitance),
        ),
    )


def relay(**values):
    leads = {"coil_a": "x", "coil_b": "0", "coil_resistance": 160.0, "coil_inductance": 0.3}
    return Relay(name="K1", **{**leads, "operate": 0.04, "release": 0.01, **values})


def buzzer():
    """A relay that feeds its coil through its own broken contact, with a resistor beside it."""
    return Netlist(
        "buzzer",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=12.0),
            relay(common="in", broken="x"),
            Resistor(name="R1", a="x", b="0", resistance=1e3),
        ),
    )


def ringing(resistance=12.0, inductance=1e-3, capacitance=0.47e-6):
    return Netlist(
        "ringing",
        (
            VoltageSource(name="V1", a="in", b="0", voltage=5.0),
            Resistor(name="R1", a="in", b="x", resistance=resistance),
            Inductor(name="L1", a="x", b="out", inductance=inductance),
            Capacitor(name="C1", a="out", b="0", capacitance=capacitance),
        ),
    )


def oscillator(resistance=10e3):
    """A comparator that empties a capacitor at 7 V and lets it fill again at 5 V."""
    return Netlist(
        "oscillator",
        (
            VoltageSource(name="V1", a="rail", b="0", voltage=12.0),
            VoltageSource(name="V2", a="mark", b="0", voltage=6.0),
            Resistor(name="R1", a="rail", b="m", resistance=resistance),
            Resistor(name="R2", a="m", b="out", resistance=2e3),
            Capacitor(name="C1", a="m", b="0", capacitance=100e-9),
            Comparator(name="U1", plus="mark", minus="m", output="out", ground="0", gap=1.0),
        ),
    )


def flips(run, name, state, sample=0):
    """Moments at which a part of one sample goes into a state."""
    found, last = [], False
    for moment, part, now in run.events:
        if part == name:
            if bool(now[sample]) is state and last is not state:
                found.append(moment)
            last = bool(now[sample])
    return np.array(found)
