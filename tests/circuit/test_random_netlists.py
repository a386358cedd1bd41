"""Circuits nobody thought of, solved here and by ngspice.

Meshes of resistors with sources and with diodes, zeners and transistors of both polarities put in
anywhere. ngspice may fail to find a solution; this package must find one each time, and where
ngspice has one too, it is the same, or both are solutions of a circuit that has several.
"""

from __future__ import annotations

from collections import Counter

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.circuit.ngspice import Job, Vectors, run_ngspice

from boomwright.circuit.netlist import Netlist
from boomwright.circuit.operating import OperatingPoint, operating_point
from boomwright.circuit.parts import (
    Bipolar,
    CurrentSource,
    Diode,
    Mosfet,
    Part,
    Resistor,
    VoltageSource,
    Zener,
)
from boomwright.circuit.spice import spice_netlist

BATCH = 12
"""Circuits in one session of ngspice."""

Drawn = tuple[Netlist, float]


def decades(low: float, high: float) -> st.SearchStrategy[float]:
    """Numbers spread evenly by the logarithm, rounded to three digits."""
    exponents = st.floats(np.log10(low), np.log10(high))
    return exponents.map(lambda exponent: float(f"{10.0**exponent:.3g}"))


@st.composite
def devices(draw: st.DrawFn, number: int, nodes: list[str]) -> Part:
    ends = draw(st.permutations(nodes))
    kind = draw(st.sampled_from(("diode", "led", "zener", "bipolar", "mosfet")))
    if kind in ("diode", "led"):
        led = kind == "led"
        return Diode(
            name=f"D{number}",
            anode=ends[0],
            cathode=ends[1],
            saturation_current=draw(decades(1e-20, 1e-18) if led else decades(1e-15, 1e-7)),
            emission=draw(st.floats(1.0, 2.0)),
            resistance=draw(st.sampled_from((0.0, 0.05, 2.0))),
            energy_gap=1.9 if led else 1.11,
        )
    if kind == "zener":
        voltage = draw(st.floats(2.7, 15.0))
        return Zener(
            name=f"D{number}",
            anode=ends[0],
            cathode=ends[1],
            voltage=voltage,
            test_current=0.02,
            knee=draw(st.floats(0.03, 0.12) if voltage > 5.5 else st.floats(0.1, 0.22)),
            slope=draw(st.just(0.0) | st.floats(0.5, 20.0)),
            temperature_coefficient=6e-4 * (voltage - 5.1),
        )
    if kind == "bipolar":
        return Bipolar(
            name=f"Q{number}",
            collector=ends[0],
            base=ends[1],
            emitter=ends[2],
            polarity=draw(st.sampled_from(("npn", "pnp"))),
            saturation_current=draw(decades(1e-15, 1e-12)),
            gain=draw(st.floats(20.0, 600.0)),
        )
    return Mosfet(
        name=f"M{number}",
        drain=ends[0],
        gate=ends[1],
        source=ends[2],
        polarity=draw(st.sampled_from(("n", "p"))),
        threshold=draw(st.floats(1.0, 4.0)),
        transconductance=draw(decades(1e-2, 2e1)),
    )


@st.composite
def circuits(draw: st.DrawFn) -> Drawn:
    """A circuit with its temperature; every source has a resistor between itself and the mesh."""
    inner = [f"n{i}" for i in range(draw(st.integers(3, 7)))]
    parts: list[Part] = [
        VoltageSource(name="V1", a="batt", b="0", voltage=draw(st.floats(2.0, 24.0)))
    ]
    pairs = list(zip(["batt", *inner], [*inner, "0"], strict=True))
    pairs += draw(
        st.lists(st.tuples(st.sampled_from(inner), st.sampled_from(["batt", "0", *inner])))
    )
    if draw(st.booleans()):
        volts = draw(st.floats(-12.0, 12.0))
        parts.append(VoltageSource(name="V2", a="in", b="0", voltage=volts))
        pairs.append(("in", draw(st.sampled_from(inner))))
    if draw(st.booleans()):
        a, b = draw(st.permutations([*inner, "0"]))[:2]
        current = draw(st.floats(-0.02, 0.02))
        parts.append(CurrentSource(name="I1", a=a, b=b, current=current))
    for i, (a, b) in enumerate(pair for pair in pairs if pair[0] != pair[1]):
        parts.append(Resistor(name=f"R{i}", a=a, b=b, resistance=draw(decades(20.0, 2e5))))
    count = draw(st.integers(1, 6))
    parts += [draw(devices(i, [*inner, "0"])) for i in range(count)]
    return Netlist("random circuit", tuple(parts)), draw(st.floats(263.15, 323.15))


@settings(
    derandomize=True,
    max_examples=12,
    deadline=None,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(st.lists(circuits(), min_size=BATCH, max_size=BATCH))
def test_same_operating_point_as_ngspice(drawn: list[Drawn]) -> None:
    ours = [operating_point(netlist, temperature=heat) for netlist, heat in drawn]
    theirs = _reference(drawn)
    found = [vectors is not None for vectors in theirs]
    assert sum(found) > BATCH // 2, "ngspice finds too few to compare with"
    apart = [
        i
        for i, (point, vectors) in enumerate(zip(ours, theirs, strict=True))
        if vectors is not None and not _agree(point, vectors)
    ]
    if not apart:
        return
    # A circuit of several solutions shows it when ngspice starts from ours and stays there.
    again = _reference([drawn[i] for i in apart], [ours[i] for i in apart])
    for i, vectors in zip(apart, again, strict=True):
        assert vectors is not None
        assert _agree(ours[i], vectors), spice_netlist(drawn[i][0], temperature=drawn[i][1])


def test_all_kinds_of_devices_are_drawn() -> None:
    seen: Counter[str] = Counter()

    @settings(derandomize=True, max_examples=30, deadline=None, database=None)
    @given(circuits())
    def count(drawn: Drawn) -> None:
        seen.update(type(part).__name__ for part in drawn[0].parts)

    count()
    assert {"Diode", "Zener", "Bipolar", "Mosfet", "CurrentSource"} <= seen.keys()


def _reference(
    drawn: list[Drawn], starts: list[OperatingPoint] | None = None
) -> list[Vectors | None]:
    jobs = []
    for i, (netlist, heat) in enumerate(drawn):
        hints = []
        if starts is not None:
            volts = (f"v({node})={float(starts[i].voltage(node)[0])!r}" for node in netlist.nodes)
            hints = [f".nodeset {' '.join(volts)}"]
        jobs.append(Job(spice_netlist(netlist, temperature=heat, analyses=hints), ("op",)))
    return [vectors for (vectors,) in run_ngspice(jobs)]


def _agree(point: OperatingPoint, vectors: Vectors) -> bool:
    """Within 1 mV or 0.1 % at every node."""
    for node in point.equations.netlist.nodes:
        theirs = vectors[f"v({node})"]
        if np.abs(point.voltage(node) - theirs) > np.maximum(1e-3, 1e-3 * np.abs(theirs)):
            return False
    return True
