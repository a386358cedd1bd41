"""The text that other simulators read: names, nodes, waveforms, states, samples, temperatures."""

from __future__ import annotations

import re

import numpy as np
import pytest
from tests.circuit.ngspice import Job, run_batch, run_ngspice

from boomwright.circuit.netlist import Netlist
from boomwright.circuit.operating import operating_point
from boomwright.circuit.parts import (
    Bipolar,
    Capacitor,
    Comparator,
    Coupling,
    Diode,
    Fuse,
    Inductor,
    Mosfet,
    Part,
    Relay,
    Resistor,
    Switch,
    VoltageSource,
    Zener,
)
from boomwright.circuit.spice import spice_netlist, spice_nodes
from boomwright.circuit.waveforms import PiecewiseLinear, Pulse, Sine
from boomwright.errors import NetlistError


def battery(volts: float = 12.0, **more: object) -> VoltageSource:
    return VoltageSource(name="BT1", a="batt", b="0", voltage=volts, **more)


def load(a: str = "batt", ohms: float = 47.0, name: str = "R1") -> Resistor:
    return Resistor(name=name, a=a, b="0", resistance=ohms)


def written(*parts: Part, **how: object) -> list[str]:
    return spice_netlist(Netlist("bench circuit", parts), **how).splitlines()


def line(name: str, lines: list[str]) -> str:
    found = [text for text in lines if text.split()[0] == name]
    assert len(found) == 1, lines
    return found[0]


def test_frame_of_the_text() -> None:
    lines = written(battery(), load(), analyses=[".op", ".dc VBT1 0 12 1"])
    assert lines[0] == "bench circuit"
    assert lines[-3:] == [".op", ".dc VBT1 0 12 1", ".end"]
    assert ".options tnom=25" in lines
    assert ".temp 25" in lines


def test_title_stays_one_line_of_plain_letters() -> None:
    text = spice_netlist(Netlist("a\n.end µ", (battery(), load())))
    assert text.splitlines()[0] == "a .end  "


@pytest.mark.parametrize(
    ("part", "designator"),
    [
        (Fuse(name="F1", a="batt", b="0", resistance=0.5, rating=3.0), "RF1"),
        (Resistor(name="LS1", a="batt", b="0", resistance=4.0), "RLS1"),
        (Resistor(name="r7", a="batt", b="0", resistance=4.0), "r7"),
        (Switch(name="S1", a="batt", b="0"), "RS1"),
        (Switch(name="J1", a="batt", b="0", schedule=((1.0, True),)), "SJ1"),
        (Mosfet(name="Q1", drain="batt", gate="batt", source="0"), "MQ1"),
        (Bipolar(name="Q1", collector="batt", base="batt", emitter="0"), "Q1"),
        (Bipolar(name="T1", collector="batt", base="batt", emitter="0"), "QT1"),
        (Diode(name="LED1", anode="batt", cathode="0", resistance=9.0), "DLED1"),
        (Comparator(name="U1", plus="batt", minus="0", output="batt", ground="0"), "SU1"),
        (Capacitor(name="C1", a="batt", b="0", capacitance=1e-6), "C1"),
    ],
)
def test_first_letter_fits_the_kind_of_part(part: Part, designator: str) -> None:
    lines = written(battery(), part)
    assert line("VBT1", lines) == "VBT1 batt 0 DC 12"
    assert line(designator, lines).split()[1] == "batt"
    assert designator == part.name or any(
        text.startswith("*") and part.name in text for text in lines
    )


def test_designators_that_meet_are_kept_apart() -> None:
    fuse = Fuse(name="F1", a="batt", b="out", resistance=0.05, rating=3.0)
    coil = Inductor(name="L1", a="out", b="x", inductance=0.1, resistance=3.0)
    lines = written(battery(), fuse, coil, load("x", 5.0, "RF1"), load("x", 6.0, "RL1"))
    assert line("RF1", lines) == "RF1 x 0 5"
    assert line("RL1", lines) == "RL1 x 0 6"
    assert line("RF1_2", lines) == "RF1_2 batt out 0.05"
    assert line("RL1_2", lines) == "RL1_2 L1_inside x 3"


def test_nodes_are_made_readable() -> None:
    parts = tuple(
        Resistor(name=f"R{i}", a=node, b="0", resistance=1.0 + i)
        for i, node in enumerate(("out+", "out-", "5 V", "GND", "Ü1", "time", "00"))
    )
    assert spice_nodes(Netlist("nodes", parts)) == {
        "0": "0",
        "out+": "out_plus",
        "out-": "out_minus",
        "5 V": "5_V",
        "GND": "node_GND",
        "Ü1": "_1",
        "time": "node_time",
        "00": "node_00",
    }


@pytest.mark.parametrize("other", ["Out", "OUT"])
def test_nodes_that_differ_in_capitals_only_are_refused(other: str) -> None:
    netlist = Netlist("twins", (load("out", 3.0), load(other, 4.0, "R2")))
    with pytest.raises(NetlistError, match=f"'out' and '{other}'"):
        spice_netlist(netlist)


def test_nodes_that_become_the_same_are_refused() -> None:
    netlist = Netlist("twins", (load("a.b", 3.0), load("a/b", 4.0, "R2")))
    with pytest.raises(NetlistError, match=r"'a\.b' and 'a/b'"):
        spice_nodes(netlist)


@pytest.mark.parametrize(
    ("wave", "text"),
    [
        (Sine(1.0, 0.5, 50.0), "SIN(1 0.5 50)"),
        (Pulse(0.0, 5.0, 1e-3, 1e-5, 2e-3, 3e-5, 9e-3), "PULSE(0 5 0.001 1e-05 3e-05 0.002 0.009)"),
        (Pulse(0.0, 5.0, 0.0, 1e-3, 0.0, 2e-3, 9e-3), "PULSE(0 5 0 0.001 0.002 1e-09 0.009)"),
        (Pulse(1.0, 5.0, 1.0, 0.5, 2.0, 0.25), "PWL(0 1 1 1 1.5 5 3.5 5 3.75 1)"),
        (Pulse(1.0, 5.0, 0.0, 0.5, 0.0, 0.25), "PWL(0 1 0.5 5 0.75 1)"),
        (PiecewiseLinear((1.0, 3.0), (2.0, 8.0)), "PWL(0 2 1 2 3 8)"),
        (PiecewiseLinear((-1.0, 3.0), (2.0, 8.0)), "PWL(0 3.5 3 8)"),
    ],
)
def test_waveforms(wave: Sine | Pulse | PiecewiseLinear, text: str) -> None:
    lines = written(battery(11.0, ac=0.3, waveform=wave), load())
    assert line("VBT1", lines) == f"VBT1 batt 0 DC 11 AC 0.3 {text}"


def test_strange_waveform_is_refused() -> None:
    class Noise:
        def at(self, time: float) -> np.ndarray:
            return np.zeros(()) * time

        def corners(self, end: float) -> tuple[float, ...]:
            return (end,)

    with pytest.raises(NetlistError, match=r"BT1.*Noise"):
        written(battery(waveform=Noise()), load())


def test_sample_of_a_batch() -> None:
    many = Resistor(name="R1", a="batt", b="0", resistance=np.array([10.0, 20.0, 30.0]))
    assert line("R1", written(battery(), many, sample=2)) == "R1 batt 0 30"
    assert line("R1", written(battery(), many)) == "R1 batt 0 10"
    closed = Switch(name="S1", a="batt", b="0", closed=np.array([False, True, False]))
    assert line("RS1", written(battery(), many, closed, sample=1)) == "RS1 batt 0 0.02"
    assert line("RS1", written(battery(), many, closed, sample=2)) == "RS1 batt 0 1000000000"


def test_temperature_goes_where_the_simulator_cannot_follow() -> None:
    warm = 298.15 + 20.0
    lines = written(
        battery(),
        Resistor(name="R1", a="batt", b="0", resistance=100.0, temperature_coefficient=1e-3),
        Zener(
            name="D1",
            anode="0",
            cathode="batt",
            voltage=9.1,
            test_current=0.02,
            slope=5.0,
            temperature_coefficient=5e-3,
        ),
        Mosfet(name="M1", drain="batt", gate="batt", source="0", polarity="p", threshold=2.5),
        Diode(name="D2", anode="batt", cathode="0", resistance=10.0),
        temperature=warm,
    )
    assert ".temp 45" in lines
    assert line("R1", lines) == "R1 batt 0 102"
    laws = {text.split()[1]: text for text in lines if text.startswith(".model")}
    assert float(re.findall(r"BV=(\S+)", laws["D1_law"])[0]) == pytest.approx(9.1 + 0.1 - 0.1)
    assert float(re.findall(r"VTO=(\S+)", laws["M1_law"])[0]) == pytest.approx(-2.5 + 0.08)
    assert line("D1", lines).endswith("temp=25")
    assert line("M1", lines).endswith("temp=25")
    assert line("D2", lines) == "D2 batt 0 D2_law"
    assert "IS=1e-14" in laws["D2_law"]


def test_states_to_start_from() -> None:
    parts = (
        battery(),
        Relay(
            name="K1",
            coil_a="batt",
            coil_b="0",
            common="batt",
            made="on",
            broken="off",
            coil_resistance=320.0,
            operate=0.03,
            release=0.01,
        ),
        load("on", 9.0, "R1"),
        load("off", 8.0, "R2"),
        Comparator(name="U1", plus="on", minus="off", output="out", ground="0"),
        Resistor(name="R3", a="batt", b="out", resistance=1e3),
    )
    rest, pulled = written(*parts), written(*parts, states={"K1": True, "U1": True})
    for lines, words in ((rest, ("OFF", "ON", "OFF")), (pulled, ("ON", "OFF", "ON"))):
        switches = ("SK1", "SK1_broken", "SU1")
        assert tuple(line(name, lines).split()[-1] for name in switches) == words


def test_switch_with_a_schedule_follows_it() -> None:
    switch = Switch(name="S1", a="batt", b="out", schedule=((2e-3, True), (5e-3, False)))
    netlist = Netlist("button", (battery(), switch, load("out", 100.0)))
    ((run,),) = run_ngspice([Job(spice_netlist(netlist), ("tran 1e-5 8e-3 0 1e-5",))])
    assert run is not None
    at = np.interp([1e-3, 3e-3, 4.9e-3, 6e-3], run["time"], run["v(out)"])
    assert at[[1, 2]] == pytest.approx(12.0 * 100.0 / 100.02, rel=1e-6)
    assert at[[0, 3]] == pytest.approx(12.0 * 100.0 / 1e9, rel=1e-3)


def test_schedule_before_time_0_is_where_it_starts() -> None:
    switch = Switch(name="S1", a="batt", b="out", schedule=((-1.0, True), (1.0, False)))
    lines = written(battery(), switch, load("out"))
    assert line("VS1", lines) == "VS1 S1_drive 0 DC 1 PWL(0 1 1 1 1.000001 0)"
    assert line("S1", lines) == "S1 batt out S1_drive 0 S1_law ON"


def test_coupled_coils_name_each_other() -> None:
    lines = written(
        battery(),
        Inductor(name="L1", a="batt", b="0", inductance=0.2, resistance=4.0),
        Inductor(name="W2", a="out", b="0", inductance=0.3, resistance=5.0),
        Coupling(name="T1", first="L1", second="W2", coefficient=0.97),
        load("out"),
    )
    assert line("KT1", lines) == "KT1 L1 LW2 0.97"


@pytest.mark.parametrize(("degrees", "voltage"), [(-10.0, 3.3), (25.0, 2.4), (50.0, 3.3)])
def test_zener_with_a_soft_knee(degrees: float, voltage: float) -> None:
    """Its reverse branch reaches down to nothing, where a breakdown with a threshold stops."""
    zener = Zener(
        name="D1",
        anode="0",
        cathode="out",
        voltage=voltage,
        test_current=0.02,
        knee=0.2,
        slope=11.0,
    )
    feed = Resistor(name="R2", a="batt", b="out", resistance=560.0)
    netlist = Netlist("soft", (battery(), feed, zener, load("out", 4700.0)))
    temperature = degrees + 273.15
    text = spice_netlist(netlist, temperature=temperature)
    assert "D1_reverse" in text
    ((found,),) = run_ngspice([Job(text, ("op",))])
    assert found is not None
    ours = operating_point(netlist, temperature=temperature).voltage("out")[0]
    assert found["v(out)"][0] == pytest.approx(ours, abs=1e-3)  # V, a meter's last digit


def test_ngspice_runs_the_text_as_it_is() -> None:
    netlist = Netlist(
        "as it is",
        (battery(9.0, ac=1.0), Resistor(name="R2", a="batt", b="mid", resistance=2e3), load("mid")),
    )
    printed = run_batch(spice_netlist(netlist, analyses=[".op", ".print op v(mid)"]))
    assert re.search(r"mid\s+2\.066\d+e-01", printed), printed


def test_missing_ngspice_fails_and_says_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    with pytest.raises(pytest.fail.Exception, match="apt-get install ngspice"):
        run_ngspice([])
