"""Curves of a designed block for a spreadsheet: over frequency, at switch-on, in a burst."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.parts import (
    Capacitor,
    CurrentSource,
    Inductor,
    Part,
    Regulator,
    Resistor,
    Switch,
)
from boomwright.circuit.response import ac_response
from boomwright.circuit.transient import transient
from boomwright.circuit.waveforms import Pulse
from boomwright.cli.design.files import csv_text

__all__ = ["burst_csv", "response_csv", "switching_csv"]

_LOWEST, _HIGHEST, _POINTS = 10.0, 100e3, 121
_MOMENTS = 401
_SWITCH_ON = 1e-3

# Typical of class, from memory: what the output impedance of a 78xx rises like, the series
# resistance of a small electrolytic, and the ceramic on the load's own board.
_COIL, _SERIES, _BYPASS = 0.3e-6, 0.5, 100e-9
_BURST = 2e-5


def response_csv(netlist: Netlist, *, node: str = "in") -> str:
    """Gain over frequency of a circuit whose sources stand for 1 V, as a table.

    Parameters
    ----------
    netlist : Netlist
        The circuit.
    node : str
        Where it is listened at.

    Returns
    -------
    str
        Columns hertz and decibels.
    """
    frequencies = np.geomspace(_LOWEST, _HIGHEST, _POINTS)
    size = np.abs(ac_response(netlist, frequencies).voltage(node))[:, 0]
    levels = 20.0 * np.log10(np.maximum(size, 1e-12))
    rows = [
        (round(float(hertz), 2), round(float(level), 3))
        for hertz, level in zip(frequencies, levels, strict=True)
    ]
    return csv_text(("hertz", "decibels"), rows)


def switching_csv(netlist: Netlist, delay: float) -> str:
    """A mute delay from switch-on to after switch-off, as a table.

    Parameters
    ----------
    netlist : Netlist
        The circuit with its switch ``S1``.
    delay : float
        Its delay [s].

    Returns
    -------
    str
        Seconds, volts of rail and capacitor, and the volts at the mute pin or the relay's state.
    """
    off = _SWITCH_ON + 2.0 * delay
    switched = Netlist(
        netlist.title,
        tuple(
            replace(part, closed=False, schedule=((_SWITCH_ON, True), (off, False)))
            if isinstance(part, Switch)
            else part
            for part in netlist.parts
        ),
    )
    end = off + max(delay, 1.0)
    run = transient(switched, end, accuracy=2e-3).at(np.linspace(0.0, end, _MOMENTS))
    relay = "K1" in run.states
    out = run.states["K1"][:, 0].astype(float) if relay else run.voltage("pin")[:, 0]
    rows = [
        tuple(round(float(value), 4) for value in row)
        for row in zip(
            run.times, run.voltage("rail")[:, 0], run.voltage("delay")[:, 0], out, strict=True
        )
    ]
    last = "relay pulled in" if relay else "pin volts"
    return csv_text(("seconds", "rail volts", "capacitor volts", last), rows)


def burst_csv(netlist: Netlist, burst: float) -> str:
    """Output of a regulator while its load draws a burst, as a table.

    Parameters
    ----------
    netlist : Netlist
        The regulator ``U1`` with its output capacitor ``C2``.
    burst : float
        What the load draws on top in the burst [A].

    Returns
    -------
    str
        Columns microseconds and volts.
    """
    parts: list[Part] = []
    for part in netlist.parts:
        if isinstance(part, Regulator):
            parts.append(replace(part, output="leg"))
            parts.append(Inductor(name="LU1", a="leg", b="out", inductance=_COIL))
        elif isinstance(part, Capacitor) and part.name == "C2":
            parts.append(Resistor(name="RC2", a="out", b="plate", resistance=_SERIES))
            parts.append(replace(part, a="plate"))
        else:
            parts.append(part)
    pulse = Pulse(0.0, burst, 2e-6, 1e-7, 2e-5, 1e-7)
    parts.append(Capacitor(name="CL", a="out", b=GROUND, capacitance=_BYPASS))
    parts.append(CurrentSource(name="IL", a="out", b=GROUND, current=0.0, waveform=pulse))
    run = transient(Netlist(netlist.title, tuple(parts)), _BURST)
    run = run.at(np.linspace(0.0, _BURST, _MOMENTS))
    rows = [
        (round(1e6 * float(time), 3), round(float(volts), 5))
        for time, volts in zip(run.times, run.voltage("out")[:, 0], strict=True)
    ]
    return csv_text(("microseconds", "volts"), rows)
