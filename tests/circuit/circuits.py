"""Circuits that are compared with ngspice: every kind of part, and what a builder solders."""

from __future__ import annotations

from functools import partial

from tests.circuit.compared import Along, At, Case, Over, Through

from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES, CutoffValues, cutoff_netlist
from boomwright.circuit.parts import (
    Bipolar,
    Capacitor,
    Comparator,
    Coupling,
    CurrentSource,
    Diode,
    Fuse,
    Inductor,
    Mosfet,
    Part,
    Regulator,
    Relay,
    Resistor,
    ShuntReference,
    Switch,
    VoltageSource,
    Zener,
)
from boomwright.circuit.waveforms import PiecewiseLinear, Pulse, Sine


def r(name: str, a: str, b: str, resistance: float, **more: float) -> Resistor:
    return Resistor(name=name, a=a, b=b, resistance=resistance, **more)


def c(name: str, a: str, b: str, capacitance: float) -> Capacitor:
    return Capacitor(name=name, a=a, b=b, capacitance=capacitance)


def coil(name: str, a: str, b: str, inductance: float, resistance: float) -> Inductor:
    return Inductor(name=name, a=a, b=b, inductance=inductance, resistance=resistance)


def v(name: str, a: str, voltage: float, **more: object) -> VoltageSource:
    return VoltageSource(name=name, a=a, b="0", voltage=voltage, **more)


def d(name: str, anode: str, cathode: str, **more: object) -> Diode:
    return Diode(name=name, anode=anode, cathode=cathode, **more)


def q(name: str, collector: str, base: str, emitter: str, **more: object) -> Bipolar:
    return Bipolar(name=name, collector=collector, base=base, emitter=emitter, **more)


def m(name: str, drain: str, gate: str, source: str, **more: object) -> Mosfet:
    return Mosfet(name=name, drain=drain, gate=gate, source=source, **more)


POWER = {"saturation_current": 7e-9, "emission": 1.8, "resistance": 0.04}
SCHOTTKY = {
    "saturation_current": 2e-7,
    "emission": 1.05,
    "resistance": 0.05,
    "energy_gap": 0.69,
    "current_exponent": 2.0,
}
LED = {"saturation_current": 1e-19, "emission": 1.9, "resistance": 4.0, "energy_gap": 1.9}
PNP = {"polarity": "pnp", "gain": 120.0, "saturation_current": 3e-14}
P_CHANNEL = {"polarity": "p", "threshold": 2.4, "transconductance": 12.0}

zener_9v1 = partial(
    Zener, voltage=9.1, test_current=0.028, knee=0.06, slope=5.0, temperature_coefficient=5.5e-3
)
zener_5v1 = partial(
    Zener, voltage=5.1, test_current=0.049, knee=0.11, slope=7.0, temperature_coefficient=-0.4e-3
)
zener_3v3 = partial(
    Zener, voltage=3.3, test_current=0.076, knee=0.21, slope=10.0, temperature_coefficient=-2e-3
)
relay = partial(
    Relay,
    coil_resistance=270.0,
    coil_inductance=0.5,
    operate=0.030,
    release=0.009,
    contact_resistance=0.03,
)
COLD_TO_HOT = (-10.0, 0.0, 25.0, 40.0, 50.0)


def zener_cutoff(*more: Part, **battery: object) -> tuple[Part, ...]:
    """Zener, transistor and relay: on above what the zener and the base ask for."""
    return (
        v("BT1", "batt", 12.0, **battery),
        r("R1", "batt", "z", 1200.0),
        zener_9v1(name="D1", anode="base_in", cathode="z"),
        r("R2", "base_in", "base", 4700.0),
        r("R3", "base", "0", 22e3),
        q("Q1", "c", "base", "0", gain=180.0),
        relay(name="K1", coil_a="batt", coil_b="c", common="batt", made="out", broken="spare"),
        d("D2", "c", "batt", **POWER),
        r("R4", "out", "0", 15.0),
        r("R5", "spare", "0", 2200.0),
        *more,
    )


SCHMITT = (
    v("V1", "in", 0.0),
    v("V2", "vcc", 12.0),
    r("R1", "in", "b1", 1500.0),
    q("Q1", "c1", "b1", "e", gain=200.0),
    r("R2", "vcc", "c1", 4700.0),
    r("R3", "c1", "b2", 10e3),
    r("R4", "b2", "0", 22e3),
    q("Q2", "out", "b2", "e", gain=190.0),
    r("R5", "vcc", "out", 1000.0),
    r("R6", "e", "0", 330.0),
)

CASES = (
    Case(
        "divider",
        (
            v("BT1", "in", 12.6),
            r("R1", "in", "mid", 3300.0, temperature_coefficient=4e-4),
            r("R2", "mid", "0", 1000.0, temperature_coefficient=-2e-4),
        ),
        (At(COLD_TO_HOT),),
    ),
    Case(
        "bridge of resistors",
        (
            v("V1", "in", 9.0),
            r("R1", "in", "left", 1000.0),
            r("R2", "left", "0", 2200.0),
            r("R3", "in", "right", 1500.0),
            r("R4", "right", "0", 1800.0),
            r("R5", "left", "right", 470.0),
            CurrentSource(name="I1", a="left", b="right", current=1.5e-3),
        ),
        (At(),),
    ),
    Case(
        "fuse chain",
        (
            v("BT1", "cell", 12.8),
            r("R1", "cell", "post", 0.035),
            Fuse(name="F1", a="post", b="main", resistance=0.012, rating=7.5),
            Fuse(name="F2", a="main", b="usb", resistance=0.041, rating=2.0),
            Switch(name="S1", a="main", b="amp", closed=True, on_resistance=0.015),
            Switch(name="S2", a="main", b="lamp", closed=False),
            r("R2", "amp", "0", 3.1),
            r("R3", "usb", "0", 21.0),
            r("R4", "lamp", "0", 12.0),
        ),
        (At(),),
    ),
    Case(
        "diode and resistor",
        (v("V1", "in", 5.0), r("R1", "in", "d", 1000.0), d("D1", "d", "0")),
        (At(COLD_TO_HOT, "V1", (0.3, 0.7, 5.0, 60.0)), At((25.0,), "V1", (-30.0,))),
    ),
    Case(
        "power diode and Schottky in series with a load",
        (
            v("V1", "in", 12.0),
            d("D1", "in", "a", **POWER),
            d("D2", "a", "b", **SCHOTTKY),
            r("R1", "b", "0", 6.0),
        ),
        (At(COLD_TO_HOT),),
    ),
    Case(
        "LED with resistor",
        (v("V1", "in", 12.0), r("R1", "in", "led", 820.0), d("D1", "led", "0", kind="led", **LED)),
        (At(COLD_TO_HOT),),
    ),
    Case(
        "zener shunt",
        (
            v("V1", "in", 13.0),
            r("R1", "in", "out", 100.0),
            zener_9v1(name="D1", anode="0", cathode="out"),
            r("R2", "out", "0", 2200.0),
        ),
        (At(COLD_TO_HOT, "V1", (9.0, 10.0, 13.0)), At(COLD_TO_HOT, "V1", (-3.0, 2.0))),
    ),
    Case(
        "zener fed with currents",
        (
            CurrentSource(name="I1", a="0", b="k", current=0.028),
            zener_9v1(name="D1", anode="0", cathode="k"),
        ),
        (At(COLD_TO_HOT, "I1", (1e-4, 1e-3, 1e-2, 2.8e-2, -5e-3)),),
    ),
    Case(
        "zeners of low volts",
        (
            CurrentSource(name="I1", a="0", b="k", current=0.005),
            zener_5v1(name="D1", anode="mid", cathode="k"),
            zener_3v3(name="D2", anode="0", cathode="mid"),
        ),
        (At(COLD_TO_HOT, "I1", (1e-5, 1e-3, 2e-2, -2e-3)),),
    ),
    Case(
        "NPN switch",
        (
            v("V1", "in", 5.0),
            v("V2", "vcc", 12.0),
            r("R1", "in", "b", 10e3),
            q("Q1", "c", "b", "0"),
            r("R2", "vcc", "c", 470.0),
        ),
        (At(COLD_TO_HOT, "V1", (0.0, 0.65, 1.0, 5.0)), Along("V1", 0.0, 5.0, 0.05)),
    ),
    Case(
        "PNP switch",
        (
            v("V1", "in", 9.0),
            v("V2", "vcc", 12.0),
            r("R1", "in", "b", 6800.0),
            q("Q1", "c", "b", "vcc", **PNP),
            r("R2", "c", "0", 560.0),
        ),
        (At(COLD_TO_HOT, "V1", (0.0, 9.0, 11.2, 12.0)),),
    ),
    Case(
        "transistor upside down",
        (
            v("V1", "in", 3.0),
            v("V2", "vcc", 6.0),
            r("R1", "in", "b", 4700.0),
            q("Q1", "0", "b", "e", gain=210.0, gain_reverse=3.0),
            r("R2", "vcc", "e", 1000.0),
        ),
        (At(COLD_TO_HOT),),
    ),
    Case(
        "Darlington",
        (
            v("V1", "in", 2.4),
            v("V2", "vcc", 12.0),
            r("R1", "in", "b", 100e3),
            q("Q1", "c", "b", "x", gain=160.0),
            q("Q2", "c", "x", "0", gain=60.0, saturation_current=4e-13),
            r("R2", "x", "0", 8200.0),
            r("R3", "vcc", "c", 33.0),
        ),
        (At(COLD_TO_HOT),),
    ),
    Case(
        "emitter follower",
        (
            v("V1", "vcc", 12.0),
            r("R1", "vcc", "b", 2200.0),
            zener_5v1(name="D1", anode="0", cathode="b"),
            q("Q1", "vcc", "b", "out", gain=110.0, saturation_current=2e-13),
            r("R2", "out", "0", 47.0),
        ),
        (At(COLD_TO_HOT),),
    ),
    Case(
        "current mirror",
        (
            v("V1", "vcc", 9.0),
            r("R1", "vcc", "ref", 8200.0),
            q("Q1", "ref", "ref", "0"),
            q("Q2", "out", "ref", "0", gain=140.0),
            q("Q3", "low", "ref", "e", gain=130.0),
            r("R2", "e", "0", 680.0),
            r("R3", "vcc", "out", 3300.0),
            r("R4", "vcc", "low", 12e3),
        ),
        (At(COLD_TO_HOT),),
    ),
    Case(
        "long-tailed pair",
        (
            v("V1", "in", 0.01),
            v("V2", "vcc", 12.0),
            v("V3", "vee", -12.0),
            q("Q1", "c1", "in", "e"),
            q("Q2", "c2", "0", "e", gain=170.0),
            q("Q3", "c1", "c1", "vcc", **PNP),
            q("Q4", "c2", "c1", "vcc", **PNP),
            r("R1", "e", "vee", 12e3),
            r("R2", "c2", "0", 27e3),
        ),
        (At(COLD_TO_HOT, "V1", (-0.05, 0.01, 0.2)), Along("V1", -0.1, 0.1, 0.005)),
    ),
    Case(
        "Schmitt trigger of two transistors",
        SCHMITT,
        (
            Along("V1", 0.0, 5.0, 0.02),
            Along("V1", 5.0, 0.0, -0.02),
            At(COLD_TO_HOT, "V1", (0.5, 5.0)),
        ),
    ),
    Case(
        "N-channel low-side switch",
        (
            v("V1", "in", 5.0),
            v("V2", "vcc", 12.0),
            r("R1", "in", "g", 1000.0),
            r("R2", "g", "0", 100e3),
            m("Q1", "d", "g", "0", threshold=2.1, transconductance=8.0),
            r("R3", "vcc", "d", 4.7),
        ),
        (At(COLD_TO_HOT, "V1", (1.0, 2.4, 5.0)), Along("V1", 0.0, 6.0, 0.1)),
    ),
    Case(
        "P-channel high-side switch",
        (
            v("V1", "in", 5.0),
            v("BT1", "batt", 12.0),
            r("R1", "in", "b", 10e3),
            q("Q1", "g", "b", "0"),
            r("R2", "batt", "g", 22e3),
            m("Q2", "out", "g", "batt", **P_CHANNEL),
            r("R3", "out", "0", 6.8),
        ),
        (At(COLD_TO_HOT, "V1", (0.0, 0.58, 5.0)),),
    ),
    Case(
        "P-channel guard against a reversed battery",
        (
            v("BT1", "batt", 12.0),
            m("Q1", "batt", "g", "out", **P_CHANNEL),
            d("D1", "batt", "out", **POWER),
            r("R1", "g", "0", 10e3),
            zener_9v1(name="D2", anode="g", cathode="out"),
            r("R2", "out", "0", 5.6),
        ),
        (At(COLD_TO_HOT, "BT1", (3.0, 12.0, 20.0)), At((25.0,), "BT1", (-12.0,))),
    ),
    Case(
        "shunt reference",
        (
            v("V1", "in", 12.0),
            r("R1", "in", "out", 680.0),
            ShuntReference(name="U1", cathode="out", reference="ref", anode="0"),
            r("R2", "out", "ref", 10e3),
            r("R3", "ref", "0", 10e3),
        ),
        (At((25.0,), "V1", (2.0, 5.0, 12.0)), Along("V1", 0.0, 14.0, 0.25)),
    ),
    Case(
        "shunt reference with relay",
        (
            v("BT1", "batt", 12.0),
            r("R1", "batt", "ref", 33e3),
            r("R2", "ref", "0", 10e3),
            ShuntReference(name="U1", cathode="k", reference="ref", anode="0"),
            relay(name="K1", coil_a="batt", coil_b="k", common="batt", made="out"),
            d("D1", "k", "batt", **POWER),
            r("R3", "out", "ref", 390e3),
            r("R4", "out", "0", 12.0),
        ),
        (
            At(COLD_TO_HOT, "BT1", (8.0, 13.0)),
            Along("BT1", 9.0, 13.0, 0.07),
            Along("BT1", 13.0, 9.0, -0.07, {"K1": True}),
        ),
    ),
    Case(
        "linear regulator in and out of its range",
        (
            v("V1", "in", 12.0),
            Regulator(name="U1", input="in", output="out", ground="0", voltage=5.02),
            r("R1", "out", "0", 33.0),
        ),
        (At((25.0,), "V1", (0.5, 4.0, 7.0, 12.0)), Along("V1", 0.0, 12.0, 0.2)),
    ),
    Case(
        "regulator raised by a diode",
        (
            v("V1", "in", 11.0),
            Regulator(name="U1", input="in", output="out", ground="g", voltage=8.05, dropout=1.7),
            d("D1", "g", "0"),
            r("R1", "out", "0", 82.0),
        ),
        (At(COLD_TO_HOT, "V1", (6.0, 9.5, 14.0)),),
    ),
    Case(
        "bridge rectifier",
        (
            VoltageSource(name="V1", a="p", b="n", voltage=9.0, waveform=Sine(0.0, 13.0, 50.0)),
            d("D1", "p", "out", **POWER),
            d("D2", "n", "out", **POWER),
            d("D3", "0", "p", **POWER),
            d("D4", "0", "n", **POWER),
            c("C1", "out", "0", 1e-3),
            r("R1", "out", "0", 47.0),
            # What leaks in a transformer; without it the source floats while no diode conducts.
            r("R2", "p", "0", 100e3),
            r("R3", "n", "0", 110e3),
        ),
        # Where no diode conducts the ends of the source swing freely: fine steps catch the turns.
        (At(COLD_TO_HOT, "V1", (-9.0, 9.0)), Through(0.06, 2e-5, accuracy=1e-5)),
    ),
    Case(
        "comparator with feedback",
        (
            v("V1", "in", 0.0),
            v("V2", "vcc", 12.0),
            r("R1", "vcc", "plus", 22e3),
            r("R2", "plus", "0", 18e3),
            r("R3", "out", "plus", 100e3),
            r("R4", "vcc", "out", 3300.0),
            Comparator(name="U1", plus="plus", minus="in", output="out", ground="0", offset=2e-3),
        ),
        (
            At((25.0,), "V1", (1.0, 9.0)),
            At((25.0,), "V1", (5.2,), {"U1": True}),
            At((25.0,), "V1", (5.2,)),
            Along("V1", 0.0, 12.0, 0.11),
            Along("V1", 12.0, 0.0, -0.11, {"U1": True}),
        ),
    ),
    Case(
        "relay",
        (
            v("V1", "in", 0.0),
            v("V2", "vcc", 12.0),
            relay(name="K1", coil_a="in", coil_b="0", common="vcc", made="on", broken="off"),
            r("R1", "on", "0", 8.0),
            r("R2", "off", "0", 1200.0),
        ),
        (
            At(COLD_TO_HOT, "V1", (0.0, 5.0, 12.0)),
            At((25.0,), "V1", (5.0,), {"K1": True}),
            Along("V1", 0.0, 14.0, 0.17),
            Along("V1", 14.0, 0.0, -0.17, {"K1": True}),
        ),
    ),
    Case(
        "zener cutoff",
        zener_cutoff(),
        (
            At(COLD_TO_HOT, "BT1", (8.0, 10.0, 12.6)),
            Along("BT1", 9.0, 14.0, 0.05),
            Along("BT1", 14.0, 9.0, -0.05, {"K1": True}),
        ),
    ),
    Case(
        "RC low-pass",
        (
            v("V1", "in", 1.0, ac=1.0, waveform=Pulse(0.0, 5.0, 1e-3, 1e-5, 4e-3, 2e-5)),
            r("R1", "in", "out", 1000.0),
            c("C1", "out", "0", 1e-6),
        ),
        (Over(10.0, 1e5), Through(0.01, 2e-5)),
    ),
    Case(
        "RLC band-pass",
        (
            v("V1", "in", 0.0, ac=2.0, waveform=Pulse(0.0, 1.0, 0.0, 1e-5, 1e-3, 1e-5, 2e-3)),
            r("R1", "in", "a", 12.0),
            coil("L1", "a", "out", 1.2e-3, 0.6),
            c("C1", "out", "0", 10e-6),
            r("R2", "out", "0", 220.0),
        ),
        (Over(20.0, 2e4, 11), Through(0.006, 4e-6)),
    ),
    Case(
        "RL with a saw of points",
        (
            v(
                "V1",
                "in",
                0.0,
                ac=1.0,
                waveform=PiecewiseLinear((1e-3, 2e-3, 6e-3), (0.0, 10.0, -4.0)),
            ),
            r("R1", "in", "a", 47.0),
            coil("L1", "a", "0", 0.12, 9.0),
        ),
        (At(), Over(1.0, 1e4), Through(0.012, 2e-5)),
    ),
    Case(
        "transformer",
        (
            v("V1", "in", 0.0, ac=1.0, waveform=Sine(0.0, 1.5, 400.0)),
            r("R1", "in", "p", 100.0),
            coil("L1", "p", "0", 2.0, 60.0),
            coil("L2", "s", "0", 1.8, 55.0),
            Coupling(name="T1", first="L1", second="L2", coefficient=0.998),
            r("R2", "s", "0", 600.0),
        ),
        (At(), Over(5.0, 5e4), Through(0.01, 5e-6)),
    ),
    Case(
        "transistor amplifier",
        (
            v("V1", "in", 0.0, ac=1.0, waveform=Sine(0.0, 0.05, 1000.0)),
            v("V2", "vcc", 12.0),
            r("R0", "in", "s", 600.0),
            c("C1", "s", "b", 1e-6),
            r("R1", "vcc", "b", 68e3),
            r("R2", "b", "0", 12e3),
            q("Q1", "c", "b", "e", gain=220.0),
            r("R3", "vcc", "c", 4700.0),
            r("R4", "e", "x", 180.0),
            r("R5", "x", "0", 820.0),
            c("C2", "x", "0", 47e-6),
            c("C3", "c", "out", 1e-6),
            r("R6", "out", "0", 22e3),
        ),
        (At(COLD_TO_HOT), Over(5.0, 5e4), Through(0.004, 2e-6)),
    ),
    Case(
        "zener with filter capacitor",
        (
            v("V1", "in", 13.0, ac=1.0, waveform=Sine(13.0, 1.0, 100.0)),
            r("R1", "in", "out", 150.0),
            zener_9v1(name="D1", anode="0", cathode="out"),
            c("C1", "out", "0", 100e-6),
            r("R2", "out", "0", 1500.0),
        ),
        (At(COLD_TO_HOT), Over(1.0, 1e4), Through(0.03, 2e-5)),
    ),
    Case(
        "relay pulled in and let go, with flyback diode",
        (
            v("V1", "in", 0.0, waveform=Pulse(0.0, 12.0, 2e-3, 1e-4, 0.02, 1e-4)),
            v("V2", "vcc", 12.0),
            r("R1", "in", "b", 3300.0),
            q("Q1", "c", "b", "0"),
            relay(name="K1", coil_a="vcc", coil_b="c", common="vcc", made="on", broken="off"),
            d("D1", "c", "vcc", **POWER),
            r("R2", "on", "0", 12.0),
            r("R3", "off", "0", 1500.0),
        ),
        (Through(0.04, 4e-6),),
    ),
    Case(
        "zener cutoff with filter on a bass dip",
        zener_cutoff(
            c("C1", "z", "0", 220e-6),
            waveform=Pulse(12.4, 9.6, 0.02, 1e-3, 0.098, 1e-3),
        ),
        (Through(0.3, 1e-4),),
    ),
    Case(
        "zener cutoff without filter on a bass dip",
        zener_cutoff(waveform=Pulse(12.4, 9.6, 0.02, 1e-3, 0.098, 1e-3)),
        (Through(0.3, 5e-5),),
    ),
    Case(
        "MOSFET switching a coil",
        (
            v("V1", "in", 0.0, waveform=Pulse(0.0, 8.0, 1e-3, 2e-5, 3e-3, 2e-5, 8e-3)),
            v("V2", "vcc", 12.0),
            r("R1", "in", "g", 220.0),
            c("C1", "g", "0", 1.2e-9),
            m("Q1", "d", "g", "0", transconductance=6.0),
            coil("L1", "vcc", "d", 0.02, 14.0),
            d("D1", "d", "vcc", **SCHOTTKY),
            c("C2", "d", "0", 2.2e-10),
        ),
        (Through(0.016, 2e-6),),
    ),
    Case(
        "oscillator with a comparator",
        (
            v("V1", "vcc", 10.0),
            r("R1", "vcc", "plus", 47e3),
            r("R2", "plus", "0", 39e3),
            r("R3", "out", "plus", 56e3),
            r("R4", "vcc", "out", 2200.0),
            r("R5", "out", "minus", 100e3),
            c("C1", "minus", "0", 1e-7),
            Comparator(name="U1", plus="plus", minus="minus", output="out", ground="0"),
            CurrentSource(
                name="I1",
                a="minus",
                b="0",
                current=0.0,
                waveform=PiecewiseLinear((0.0, 1e-3), (4.6e-5, 0.0)),
            ),
        ),
        (Through(0.02, 5e-6, 23),),
    ),
    Case(
        "mute delay",
        (
            Switch(name="S1", a="batt", b="on", schedule=((0.05, True), (1.4, False))),
            v("BT1", "batt", 12.0),
            r("R1", "on", "x", 47e3),
            c("C1", "x", "0", 10e-6),
            d("D1", "x", "on", kind="signal", saturation_current=3e-9, emission=1.9),
            r("R2", "x", "b", 10e3),
            q("Q1", "e", "b", "0", gain=230.0),
            r("R3", "on", "e", 22e3),
            m("Q2", "mute", "e", "0", transconductance=0.4),
            r("R4", "batt", "mute", 10e3),
            r("R5", "on", "0", 1000.0),
        ),
        (Through(2.0, 5e-4),),
    ),
)

BLOCKS = CutoffValues(
    relay=relay(name="", coil_a="", coil_b=""),
    zener=zener_9v1(name="", anode="", cathode=""),
    transistor=q("", "", "", "", gain=180.0),
    mosfet=m("", "", "", "", **P_CHANNEL),
    reference=ShuntReference(name="", cathode="", reference="", anode=""),
    comparator=Comparator(name="", plus="", minus="", output="", ground=""),
    flyback=d("", "", "", **POWER),
    series_resistor=2200.0,
    base_resistor=10e3,
    emitter_resistor=33.0,
    feedback_resistor=220e3,
    divider_top=33e3,
    divider_bottom=10.5e3,
    gate_resistor=47e3,
    drive_resistor=4700.0,
    reference_resistor=2700.0,
    filter_capacitor=100e-6,
)
CASES += tuple(
    Case(
        family,
        cutoff_netlist(family, BLOCKS).parts,
        (
            Along("BT1", 8.0, 14.0, 0.05),
            Along("BT1", 14.0, 8.0, -0.05, {"K1": True}),
            At(COLD_TO_HOT, "BT1", (7.0, 13.3)),
        ),
    )
    for family in CUTOFF_FAMILIES
)
