"""Circuits solved here and by ngspice, compared at every node and in every source and coil.

ngspice 39 is an independent program with its own models; what is exported to it is what
``spice_netlist`` writes. Levels are to agree within 1 mV or 0.1 %, currents within 1 µA or 0.1 %.
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.circuit.circuits import CASES
from tests.circuit.compared import Along, Analysis, At, Case, Over, Through
from tests.circuit.ngspice import Job, Vectors, run_ngspice

from boomwright.circuit.netlist import Netlist
from boomwright.circuit.operating import OperatingPoint, operating_point
from boomwright.circuit.parts import Inductor, Part, Relay, VoltageSource
from boomwright.circuit.response import AcResponse, ac_response
from boomwright.circuit.spice import spice_netlist, spice_nodes
from boomwright.circuit.sweep import Sweep, sweep
from boomwright.circuit.transient import Transient, transient

VOLTS, AMPERES, SHARE = 1e-3, 1e-6, 1e-3
"""Greatest deviation [V], [A], or as a share, whichever is more."""

KELVIN = 273.15


def test_at_least_25_circuits_are_compared() -> None:
    names = {case.name for case in CASES}
    assert len(names) == len(CASES) >= 25
    kinds = {type(part) for case in CASES for part in case.parts}
    assert kinds == set(Part.__args__)
    asked = [type(analysis) for case in CASES for analysis in case.analyses]
    assert min(asked.count(kind) for kind in (At, Along, Over, Through)) >= 6


def _plans(case: Case) -> list[tuple[Analysis, float, float, Job]]:
    """Each run of ngspice: the analysis, temperature [°C], level, and the job."""
    plans = []
    for analysis in case.analyses:
        if isinstance(analysis, At):
            for degrees in analysis.temperatures:
                for level in analysis.levels or (np.nan,):
                    netlist = _at_level(case.netlist, analysis.source, level)
                    text = spice_netlist(
                        netlist, temperature=degrees + KELVIN, states=analysis.states
                    )
                    plans.append((analysis, degrees, level, Job(text, ("op",))))
            continue
        states = analysis.states if isinstance(analysis, Along) else {}
        job = Job(spice_netlist(case.netlist, states=states), (_command(case, analysis),))
        plans.append((analysis, 25.0, np.nan, job))
    return plans


def _at_level(netlist: Netlist, source: str, level: float) -> Netlist:
    if not source:
        return netlist
    is_voltage = isinstance(netlist.part(source), VoltageSource)
    return netlist.with_values(source, **{"voltage" if is_voltage else "current": level})


def _command(case: Case, analysis: Analysis) -> str:
    if isinstance(analysis, Along):
        letter = "V" if isinstance(case.netlist.part(analysis.source), VoltageSource) else "I"
        name = analysis.source if analysis.source[0] == letter else letter + analysis.source
        return f"dc {name} {analysis.start} {analysis.stop} {analysis.step}"
    if isinstance(analysis, Over):
        return f"ac dec {analysis.per_decade} {analysis.low} {analysis.high}"
    assert isinstance(analysis, Through)
    return f"tran {analysis.step} {analysis.end} 0 {analysis.step}"


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_same_volts_and_currents_as_ngspice(case: Case) -> None:
    worst = deviations(case)
    assert worst
    assert max(worst.values()) <= 1.0, {key: round(w, 2) for key, w in worst.items() if w > 1.0}


def deviations(case: Case) -> dict[str, float]:
    """Deviation of every quantity of every analysis, as a multiple of what is allowed."""
    plans = _plans(case)
    answers = run_ngspice([job for *_, job in plans])
    found: dict[str, float] = {}
    for (analysis, degrees, level, _), (theirs,) in zip(plans, answers, strict=True):
        assert theirs is not None, f"ngspice found nothing for {analysis}"
        head = f"{type(analysis).__name__} {degrees:g} °C {level:g}"
        ours, theirs = _ours(case, analysis, degrees, level, theirs)
        for key, mine in ours.items():
            reference = theirs[key]
            least = AMPERES if key.startswith("i(") else VOLTS
            # A run in time is as exact as its greatest value; near a zero no share is left.
            size = np.max(np.abs(reference)) if isinstance(analysis, Through) else np.abs(reference)
            allowed = np.maximum(least, SHARE * size)
            share = float(np.max(np.abs(mine - reference) / allowed))
            found[f"{head} {key}"] = max(share, found.get(f"{head} {key}", 0.0))
    return found


def _ours(
    case: Case, analysis: Analysis, degrees: float, level: float, theirs: Vectors
) -> tuple[Vectors, Vectors]:
    """Our results under ngspice's names, and ngspice's at the same points."""
    netlist = case.netlist
    if isinstance(analysis, At):
        point = operating_point(
            _at_level(netlist, analysis.source, level),
            temperature=degrees + KELVIN,
            states={name: np.array([on]) for name, on in analysis.states.items()},
        )
        return _quantities(netlist, point), theirs
    if isinstance(analysis, Along):
        levels = analysis.start + analysis.step * np.arange(len(theirs[f"v({netlist.nodes[0]})"]))
        assert levels[-1] == pytest.approx(analysis.stop, abs=abs(analysis.step))  # V or A, a step
        states = {name: np.array([on]) for name, on in analysis.states.items()}
        return _quantities(netlist, sweep(netlist, analysis.source, levels, states=states)), theirs
    if isinstance(analysis, Over):
        return _quantities(netlist, ac_response(netlist, np.real(theirs["frequency"]))), theirs
    assert theirs["time"][-1] == pytest.approx(analysis.end), "ngspice broke off"
    times = np.linspace(0.0, analysis.end, analysis.points)[1:-1]
    ours = _quantities(
        netlist, transient(netlist, analysis.end, times=times, accuracy=analysis.accuracy)
    )
    return ours, {key: np.interp(times, theirs["time"], theirs[key]) for key in ours}


def _quantities(
    netlist: Netlist, found: OperatingPoint | Sweep | AcResponse | Transient
) -> Vectors:
    names = spice_nodes(netlist)
    table = {f"v({names[node]})".lower(): found.voltage(node) for node in netlist.nodes}
    for part in netlist.parts:
        letter = {VoltageSource: "v", Inductor: "l", Relay: "l"}.get(type(part))
        if letter is not None:
            name = part.name.lower()
            key = f"i({name})" if name[0] == letter else f"i({letter}{name})"
            table[key] = found.branch_current(part.name)
    return {key: np.ravel(value) for key, value in table.items()}
