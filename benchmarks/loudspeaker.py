"""Every curve of a loudspeaker box, ours and the bare AC run of the same circuit in ngspice."""

from __future__ import annotations

import re
import shutil
import statistics
import subprocess
import time
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from boomwright.circuit.blocks.loudspeaker import (
    LoudspeakerPoints,
    loudspeaker_netlist,
    loudspeaker_points,
)
from boomwright.circuit.spice import spice_netlist
from boomwright.outcome.loudspeaker_circuit import filter_steps, loudspeaker_values
from boomwright.physics.acoustic_load import AirLoad, vented_load
from boomwright.physics.arrays import Complexes, Floats
from boomwright.physics.box_response import BoxResponse, box_response
from boomwright.physics.driver import DriverModel, driver_model
from boomwright.physics.ladder import Step, ladder
from boomwright.physics.limits import DriveLimits, clean_level
from boomwright.physics.time_response import group_delay

__all__ = ["BOXES", "POINTS", "BoxCurves", "BoxRace", "box_curves", "box_race"]

BOXES = 200
"""Boxes that are worked out at once where many are wanted."""

THEIRS = 200
"""AC runs of ngspice in one session."""

POINTS = 300
_PER_DECADE = 91
_ALIKE = 0.05
_VENT_AREA = 38e-4
_STEPS = (Step("series", resistance=0.16), Step("series", inductance=0.68e-3, resistance=0.24))
_VOLUMES = np.geomspace(0.009, 0.040, BOXES)
# Peak volts and amps of an amplifier on a full, a half empty and an almost empty battery.
_VOLTS = np.array([[13.4], [12.1], [10.6]])
_AMPS = np.array([[7.2], [6.9], [6.1]])


@dataclass(frozen=True, eq=False)
class BoxCurves:
    """All that is drawn of a box; arrays of shape (..., frequencies), three states first in level.

    Levels [dB], impedances at driver and amplifier [Ω], delay [s], and at the loudest clean level
    of each state travel [m] and speed of the air in the vent [m/s], both peak.
    """

    response: Floats
    impedance: Complexes
    load: Complexes
    delay: Floats
    level: Floats
    travel: Floats
    vent_speed: Floats


@dataclass(frozen=True)
class BoxRace:
    """Seconds for one box, and how far apart the sound pressures are at most [dB].

    Ours alone, ours as one of `BOXES` at once, one AC run in a session of ngspice that is open
    already, and a session for one run from its start.
    """

    alone: float
    each: float
    run: float
    session: float
    apart: float


def _driver() -> DriverModel:
    return driver_model(
        re=5.5, fs=44.0, qms=4.6, qes=0.41, vas=0.029, sd=0.0142, le=0.35e-3, le2=0.5e-3, re2=4.7
    )


def _box(volume: float | Floats) -> AirLoad:
    return vented_load(volume=volume, fb=41.0, ql=8.0, qa=60.0, qp=50.0)


def box_curves(volume: float | Floats, frequency: Floats) -> BoxCurves:
    """Every curve of the box, from its volume on: nothing is kept from one call to the next."""
    driver = _driver()
    alone = box_response(driver, _box(volume), frequency)
    fed = ladder(_STEPS, alone.impedance, frequency)
    found = BoxResponse(
        impedance=fed.impedance,
        pressure=alone.pressure * fed.transfer,
        travel=alone.travel * fed.transfer,
        opening=alone.opening * fed.transfer,
    )
    shape = (3, *(1,) * (found.pressure.ndim))
    limits = DriveLimits(
        volts=_VOLTS.reshape(shape),
        amps=_AMPS.reshape(shape),
        xmax=0.0055,
        vent_area=_VENT_AREA,
        power=60.0,
    )
    loudest = clean_level(found, limits, frequency=frequency)
    peak = np.sqrt(2.0) * loudest.voltage
    return BoxCurves(
        response=20.0 * np.log10(np.abs(found.pressure) / 20e-6),
        impedance=alone.impedance,
        load=fed.impedance,
        delay=group_delay(found.pressure, frequency),
        level=loudest.level,
        travel=peak * np.abs(found.travel),
        vent_speed=peak * np.abs(found.opening) / _VENT_AREA,
    )


def _text(volume: float) -> tuple[list[str], LoudspeakerPoints]:
    """Lines of the circuit without its end, and where it is read."""
    values = loudspeaker_values(_driver(), _box(volume))
    net = loudspeaker_netlist(values, steps=filter_steps(_STEPS))
    lines = [line for line in spice_netlist(net).splitlines() if line != ".end"]
    return lines, loudspeaker_points(values)


def _session(lines: list[str], commands: list[str]) -> tuple[str, float]:
    program = shutil.which("ngspice")
    if program is None:
        raise SystemExit("ngspice is not installed: apt-get install ngspice")
    with TemporaryDirectory() as name:
        file = Path(name) / "circuit.cir"
        control = [".control", "set noaskquit", "set width=200", *commands, "quit", ".endc", ".end"]
        file.write_text("\n".join([*lines, *control, ""]), encoding="ascii")
        start = time.perf_counter()
        ran = subprocess.run(
            [program, "-b", file.name], cwd=name, capture_output=True, text=True, check=True
        )
        return ran.stdout, time.perf_counter() - start


def _their_curve(volume: float) -> tuple[Floats, Floats]:
    """Frequencies, and the response out of their volts over the spring of the air [dB]."""
    lines, points = _text(volume)
    high, low = points.radiated
    said, _ = _session(lines, [_RUN, f"print vm({high},{low})"])
    rows = re.findall(r"^\d+\s+(\S+)\s+(\S+)\s*$", said, re.MULTILINE)
    table = np.array(rows, dtype=np.float64)
    if len(table) < POINTS:
        raise RuntimeError(f"ngspice printed {len(table)} points:\n{said[-2000:]}")
    driver = _driver()
    per_volt = 1.2041 * float(driver.sd) / float(driver.bl)
    return table[:, 0], 20.0 * np.log10(table[:, 0] * per_volt * table[:, 1] / 20e-6)


_RUN = f"ac dec {_PER_DECADE} 10 20000"


def _their_session(count: int) -> float:
    """Wall seconds of a session with so many runs, each of another box, nothing printed."""
    lines, points = _text(0.022)
    loop = [
        f"save {' '.join(f'v({node})' for node in {*points.radiated, points.terminals[0]})}",
        "let n = 0",
        f"while const.n < {count}",
        "alter LCEB = 1e-3 * (20 + const.n/100)",
        _RUN,
        "destroy $curplot",
        "setplot const",
        "let n = n + 1",
        "end",
    ]
    said, seconds = _session(lines, loop)
    runs = len(re.findall("No. of Data Rows", said))
    if runs != count:
        raise RuntimeError(f"ngspice made {runs} runs of {count}:\n{said[-2000:]}")
    return seconds


def box_race(repeats: int = 5) -> BoxRace:
    """Both in turn, medians of a few turns, and one curve compared.

    ngspice gets what is best for it: one session, only the vectors that are needed, no output, and
    the AC run alone, without anything being made of its volts.
    """
    frequency, theirs = _their_curve(0.022)
    ours = box_curves(0.022, frequency).response
    apart = float(np.max(np.abs(ours - theirs)))
    if apart > _ALIKE:
        raise RuntimeError(f"the curves are {apart:.3f} dB apart")
    many = _VOLUMES[:, np.newaxis]
    alone, each, run, session = [], [], [], []
    for _ in range(repeats):
        start = time.perf_counter()
        for volume in _VOLUMES[:50]:
            box_curves(float(volume), frequency)
        alone.append((time.perf_counter() - start) / 50)
        start = time.perf_counter()
        box_curves(many, frequency)
        each.append((time.perf_counter() - start) / BOXES)
        once = _their_session(1)
        session.append(once)
        run.append((_their_session(1 + THEIRS) - once) / THEIRS)
    return BoxRace(*(statistics.median(took) for took in (alone, each, run, session)), apart)
