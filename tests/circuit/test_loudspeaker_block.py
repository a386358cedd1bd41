"""Loudspeakers three ways: by the laws of physics, by our circuit, and by ngspice.

The laws know mass, spring and air; the circuits know resistors, coils and capacitors alone, and
ngspice is an independent program. All three must give one curve from 10 Hz to 20 kHz. Drivers are
invented, each typical of its class.
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.circuit.ngspice import Job, Vectors, run_batch, run_ngspice

from boomwright.circuit.blocks.loudspeaker import (
    FilterStep,
    LoudspeakerValues,
    loudspeaker_netlist,
    loudspeaker_points,
)
from boomwright.circuit.netlist import Netlist
from boomwright.circuit.response import AcResponse, ac_response
from boomwright.circuit.spice import spice_netlist, spice_nodes
from boomwright.errors import NetlistError
from boomwright.outcome.loudspeaker_circuit import (
    circuit_box_response,
    filter_steps,
    loudspeaker_values,
)
from boomwright.physics.acoustic_load import (
    AirLoad,
    closed_load,
    free_air,
    radiator_load,
    vented_load,
)
from boomwright.physics.box_response import box_response
from boomwright.physics.driver import DriverModel, driver_model
from boomwright.physics.ladder import Step, ladder

Curves = dict[str, np.ndarray]

ALIKE = 0.05
"""How far apart two levels may be [dB]."""

OUTPUT, LEAD = 0.045, 0.13
"""Amplifier and speaker lead [Ω]."""

DRIVERS = {
    "dome 25 mm": driver_model(re=3.3, fs=980.0, qms=2.1, qes=1.3, vas=9e-6, sd=6.8e-4, le=31e-6),
    "full range 50 mm": driver_model(
        re=3.6, fs=172.0, qms=4.6, qes=0.83, vas=0.21e-3, sd=1.4e-3, le=74e-6, le2=52e-6, re2=1.9
    ),
    "full range 90 mm": driver_model(
        re=3.4, fs=98.0, qms=3.7, qes=0.62, vas=1.4e-3, sd=3.7e-3, le=0.11e-3, le2=0.16e-3, re2=2.6
    ),
    "woofer 130 mm": driver_model(
        re=5.7, fs=58.0, qms=4.1, qes=0.47, vas=7.9e-3, sd=8.6e-3, le=0.32e-3, le2=0.44e-3, re2=4.3
    ),
    "woofer 200 mm": driver_model(
        re=5.5, fs=37.0, qms=5.2, qes=0.39, vas=46e-3, sd=21.5e-3, le=0.58e-3, le2=0.71e-3, re2=6.7
    ),
    "woofer 380 mm": driver_model(
        re=5.2, fs=41.0, qms=6.3, qes=0.34, vas=215e-3, sd=85.5e-3, le=0.92e-3, le2=1.2e-3, re2=9.1
    ),
}


def boxes_for(driver: DriverModel) -> dict[str, AirLoad]:
    """Boxes in shares of the driver's own vas, fs, sd and mms, so that every size gets its own."""
    fs = 1.0 / (2.0 * np.pi * np.sqrt(float(driver.mms) * float(driver.cms)))
    # Density and speed of sound at 20 °C, from memory: 1.2041 kg/m³ and 343.2 m/s.
    vas = 1.2041 * 343.2**2 * float(driver.sd) ** 2 * float(driver.cms)
    return {
        "free air": free_air(),
        "closed": closed_load(volume=0.6 * vas),
        "closed, leaky and absorbing": closed_load(volume=0.43 * vas, at=1.8 * fs, ql=8.5, qa=4.7),
        "vented": vented_load(volume=0.9 * vas, fb=0.95 * fs, ql=9.0, qa=43.0, qp=28.0),
        "passive radiator": radiator_load(
            volume=0.7 * vas,
            area=1.9 * float(driver.sd),
            mass=4.2 * float(driver.mms),
            fp=0.52 * fs,
            qmp=7.4,
            ql=11.0,
            qa=61.0,
        ),
    }


# Band-pass with a pad and a branch that evens the impedance out: every kind of step.
FILTER = (
    Step("series", capacitance=33e-6),
    Step("across", inductance=1.5e-3, resistance=0.37),
    Step("series", resistance=1.2),
    Step("across", resistance=8.2),
    Step("series", inductance=0.27e-3, resistance=0.21),
    Step("across", resistance=6.8, capacitance=12e-6),
)


def by_the_laws(
    driver: DriverModel, load: AirLoad, steps: tuple[Step, ...], frequency: np.ndarray
) -> Curves:
    alone = box_response(driver, load, frequency)
    whole = (Step("series", resistance=OUTPUT), Step("series", resistance=LEAD), *steps)
    fed = ladder(whole, alone.impedance, frequency)
    return {
        "impedance": alone.impedance,
        "load of the amplifier": fed.impedance,
        "pressure": alone.pressure * fed.transfer,
        "travel": alone.travel * fed.transfer,
        "opening": alone.opening * fed.transfer,
    }


def by_our_circuit(
    net: Netlist, driver: DriverModel, values: LoudspeakerValues, frequency: np.ndarray
) -> Curves:
    solved = ac_response(net, frequency)
    found = circuit_box_response(solved, driver, values)
    return {
        "impedance": found.impedance[:, 0],
        "load of the amplifier": -1.0 / solved.branch_current("V1")[:, 0],
        "pressure": found.pressure[:, 0],
        "travel": found.travel[:, 0],
        "opening": found.opening[:, 0],
    }


def by_ngspice(
    net: Netlist, driver: DriverModel, values: LoudspeakerValues, theirs: Vectors
) -> Curves:
    """Its volts as sound: net volume velocity over a half space, worked out here."""
    names = spice_nodes(net)
    points = loudspeaker_points(values)

    def over(ends: tuple[str, str]) -> np.ndarray:
        high, low = (0.0 if end == "0" else theirs[f"v({names[end]})"] for end in ends)
        return high - low

    s = 2j * np.pi * np.real(theirs["frequency"])
    per_volt = float(driver.sd) / float(driver.bl)
    heard = over(points.radiated)
    return {
        "impedance": over(points.terminals) / over(points.coil) * float(driver.re),
        "load of the amplifier": -1.0 / theirs["i(v1)"],
        "pressure": 1.2041 * s * per_volt * heard / (2.0 * np.pi),
        "travel": over(points.motion) / (s * float(driver.bl)),
        "opening": 0.0 * heard if points.opening is None else per_volt * over(points.opening),
    }


def decibels_apart(some: Curves, others: Curves) -> dict[str, float]:
    """Greatest difference of each curve, phase counted as well as size [dB]."""
    assert set(some) == set(others)
    apart = {}
    for name, curve in some.items():
        other = others[name]
        if not np.any(curve) and not np.any(other):
            continue
        # What is left over when the one is taken from the other, as if it all went into the level.
        apart[name] = float(20.0 * np.log10(1.0 + np.max(np.abs(curve - other) / np.abs(other))))
    return apart


@pytest.mark.parametrize("name", DRIVERS)
def test_laws_circuit_and_ngspice_give_one_curve(name: str) -> None:
    driver = DRIVERS[name]
    cases = []
    for box, load in boxes_for(driver).items():
        values = loudspeaker_values(driver, load)
        for steps in ((), FILTER):
            net = loudspeaker_netlist(
                values,
                steps=filter_steps(steps),
                output_resistance=OUTPUT,
                lead_resistance=LEAD,
            )
            cases.append((f"{box}, {len(steps)} steps", load, values, steps, net))
    answers = run_ngspice([Job(spice_netlist(net), ("ac dec 30 10 20k",)) for *_, net in cases])
    worst = {}
    for (case, load, values, steps, net), (theirs,) in zip(cases, answers, strict=True):
        assert theirs is not None, case
        frequency = np.real(theirs["frequency"])
        assert frequency[0] == pytest.approx(10.0)
        assert frequency[-1] > 19e3
        laws = by_the_laws(driver, load, steps, frequency)
        ours = by_our_circuit(net, driver, values, frequency)
        spice = by_ngspice(net, driver, values, theirs)
        assert ("opening" in decibels_apart(laws, ours)) == (values.cmep is not None)
        for pair, apart in (
            ("laws and ours", decibels_apart(laws, ours)),
            ("laws and ngspice", decibels_apart(laws, spice)),
            ("ours and ngspice", decibels_apart(ours, spice)),
        ):
            worst |= {f"{case}, {pair}, {curve}": value for curve, value in apart.items()}
    assert len(worst) == 2 * 3 * (3 * 4 + 2 * 5)
    assert max(worst.values()) < ALIKE, {k: v for k, v in worst.items() if v >= ALIKE}


@pytest.mark.parametrize("creep", [0.06, 0.17, 0.34])
def test_creep_as_coils_and_resistors(creep: float) -> None:
    driver = driver_model(
        re=5.6, fs=44.0, qms=4.4, qes=0.41, vas=0.031, sd=0.0145, le=0.4e-3, creep=creep
    )
    load = vented_load(volume=0.024, fb=39.0, ql=8.0, qa=55.0, qp=70.0)
    values = loudspeaker_values(driver, load)
    net = loudspeaker_netlist(values, output_resistance=OUTPUT, lead_resistance=LEAD)
    (((theirs),),) = run_ngspice([Job(spice_netlist(net), ("ac dec 30 5 20k",))])
    assert theirs is not None
    frequency = np.real(theirs["frequency"])
    laws = by_the_laws(driver, load, (), frequency)
    none = driver_model(re=5.6, fs=44.0, qms=4.4, qes=0.41, vas=0.031, sd=0.0145, le=0.4e-3)
    assert decibels_apart(by_the_laws(none, load, (), frequency), laws)["travel"] > ALIKE
    assert max(decibels_apart(laws, by_ngspice(net, driver, values, theirs)).values()) < ALIKE
    assert max(decibels_apart(laws, by_our_circuit(net, driver, values, frequency)).values()) < (
        ALIKE
    )


def test_a_batch_is_its_drivers_one_by_one() -> None:
    fs = np.array([47.0, 52.0, 61.0])
    many = driver_model(re=3.7, fs=fs, qms=3.9, qes=0.52, vas=0.0093, sd=0.0092, le=0.21e-3)
    load = closed_load(volume=np.array([0.0071, 0.0084, 0.0102]))
    values = loudspeaker_values(many, load)
    frequency = np.array([23.0, 66.0, 410.0])
    found = circuit_box_response(ac_response(loudspeaker_netlist(values), frequency), many, values)
    for i in range(3):
        one = driver_model(re=3.7, fs=fs[i], qms=3.9, qes=0.52, vas=0.0093, sd=0.0092, le=0.21e-3)
        alone = box_response(one, closed_load(volume=(0.0071, 0.0084, 0.0102)[i]), frequency)
        assert found.pressure[:, i] == pytest.approx(alone.pressure, rel=1e-5)
        assert found.impedance[:, i] == pytest.approx(alone.impedance, rel=1e-5)


VENTED = LoudspeakerValues(
    re=5.1,
    le=0.31e-3,
    le2=0.42e-3,
    re2=3.9,
    cmes=0.33e-3,
    lces=27e-3,
    res=38.0,
    lceb=19e-3,
    rab=290.0,
    rel=1.7,
    cmep=0.81e-3,
    rep=140.0,
)


class TestNetlist:
    def test_nodes_of_everything(self) -> None:
        net = loudspeaker_netlist(
            VENTED,
            steps=filter_steps(FILTER),
            output_resistance=0.05,
            lead_resistance=0.12,
        )
        assert set(net.nodes) == {
            *("amp", "out", "fed", "filter_1", "filter_3", "inside_6", "driver"),
            *("coil", "iron", "motion", "leak", "opening"),
        }
        wired = {part.name: part.nodes for part in net.parts}
        assert wired == {
            "V1": ("amp", "0"),
            "ROUT": ("amp", "out"),
            "RLEAD": ("out", "fed"),
            "C1": ("fed", "filter_1"),
            "L2": ("filter_1", "0"),
            "R3": ("filter_1", "filter_3"),
            "R4": ("filter_3", "0"),
            "L5": ("filter_3", "driver"),
            "R6": ("driver", "inside_6"),
            "C6": ("inside_6", "0"),
            "RE": ("driver", "coil"),
            "LE": ("coil", "iron"),
            "LE2": ("iron", "motion"),
            "RE2": ("iron", "motion"),
            "CMES": ("motion", "0"),
            "LCES": ("motion", "0"),
            "RES": ("motion", "0"),
            "LCEB": ("motion", "leak"),
            "RAB": ("motion", "leak"),
            "REL": ("leak", "opening"),
            "CMEP": ("opening", "0"),
            "REP": ("opening", "0"),
        }

    def test_driver_alone_on_the_amplifier(self) -> None:
        bare = LoudspeakerValues(re=6.3, cmes=0.2e-3, lces=31e-3, res=44.0)
        net = loudspeaker_netlist(bare, level=2.83)
        assert net.nodes == ("driver", "motion")
        assert net.part("V1").ac == 2.83
        assert loudspeaker_points(bare).radiated == loudspeaker_points(bare).motion

    @pytest.mark.parametrize("there", ["le", "le2", "rel", "cmep", "lcep", "rab"])
    def test_points_are_nodes_of_the_netlist(self, there: str) -> None:
        optional = {
            "le": {"le": 0.3e-3},
            "le2": {"le2": 0.4e-3, "re2": 3.1},
            "rel": {"lceb": 21e-3, "rel": 1.3},
            "cmep": {"lceb": 21e-3, "cmep": 0.7e-3},
            "lcep": {"lceb": 21e-3, "cmep": 0.7e-3, "lcep": 0.11},
            "rab": {"lceb": 21e-3, "rab": 330.0},
        }[there]
        values = LoudspeakerValues(re=6.3, cmes=0.2e-3, lces=31e-3, res=44.0, **optional)
        points = loudspeaker_points(values)
        known = {*loudspeaker_netlist(values).nodes, "0"}
        ends = [points.terminals, points.coil, points.motion, points.radiated]
        ends += [points.opening] if points.opening else []
        assert {node for pair in ends for node in pair} <= known
        assert (points.opening is not None) == ("cmep" in optional)

    def test_ngspice_runs_the_text_as_it_is(self) -> None:
        net = loudspeaker_netlist(VENTED, steps=filter_steps(FILTER[:2]), level=1.0)
        text = spice_netlist(net, analyses=[".ac lin 1 1000 1000", ".print ac vm(driver)"])
        assert "RRE" not in text
        assert "L2_inside" in text
        solved = ac_response(net, np.array([1000.0]))
        printed = f"{abs(solved.voltage('driver')[0, 0]):.6e}"
        assert printed in run_batch(text), printed

    def test_two_capacitors_one_after_the_other_act_as_one(self) -> None:
        bare = LoudspeakerValues(re=6.3, cmes=0.2e-3, lces=31e-3, res=44.0)
        frequency = np.geomspace(10.0, 20e3, 31)

        def heard(*capacitors: float) -> np.ndarray:
            steps = [FilterStep(place="series", capacitance=c) for c in capacitors]
            solved: AcResponse = ac_response(loudspeaker_netlist(bare, steps=steps), frequency)
            return solved.voltage("driver")[:, 0]

        assert heard(15e-6, 30e-6) == pytest.approx(heard(10e-6), rel=1e-4)

    def test_capacitors_with_a_trap_of_one_between(self) -> None:
        bare = LoudspeakerValues(re=6.3, cmes=0.2e-3, lces=31e-3, res=44.0)
        across = FilterStep(place="across", capacitance=4.7e-6, resistance=2.7)
        ends = FilterStep(place="series", capacitance=22e-6)
        net = loudspeaker_netlist(bare, steps=[ends, across, ends])
        assert net.part("RLK3").nodes == ("filter_1", "0")


class TestRefused:
    def test_a_step_without_a_part(self) -> None:
        resistor = FilterStep(place="series", resistance=2.2)
        with pytest.raises(ValueError, match="filter step 2, across: got no part"):
            loudspeaker_netlist(VENTED, steps=[resistor, FilterStep(place="across")])

    @pytest.mark.parametrize(
        ("part", "needs"),
        [
            ("rab", "lceb"),
            ("rel", "lceb"),
            ("cmep", "lceb"),
            ("lcep", "cmep"),
            ("rep", "cmep"),
            ("le2", "re2"),
            ("re2", "le2"),
        ],
    )
    def test_a_part_without_what_holds_it(self, part: str, needs: str) -> None:
        bare = {"re": 6.3, "cmes": 0.2e-3, "lces": 31e-3, "res": 44.0}
        with pytest.raises(ValueError, match=f"{part}: got 7.5, but there is no {needs}"):
            loudspeaker_netlist(LoudspeakerValues(**bare, **{part: 7.5}))

    def test_values_out_of_range(self) -> None:
        wrong = LoudspeakerValues(re=-6.4, cmes=0.0, lces=31e-3, res=44.0)
        with pytest.raises(NetlistError, match=r"-6\.4") as caught:
            loudspeaker_netlist(wrong)
        assert "CMES" in str(caught.value)
