"""Sum, pad, ladder and charging socket as circuits: by hand, by limits, and against ngspice."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.circuit.ngspice import Job, run_ngspice

from boomwright.circuit.blocks.ladder import (
    LadderValues,
    comparator_name,
    ladder_netlist,
    lit_steps,
)
from boomwright.circuit.blocks.summing import PadValues, SumValues, pad_netlist, sum_netlist
from boomwright.circuit.blocks.usb import UsbValues, usb_netlist
from boomwright.circuit.operating import operating_point
from boomwright.circuit.parts import Comparator, Diode, ShuntReference
from boomwright.circuit.response import ac_response
from boomwright.circuit.spice import spice_netlist, spice_nodes
from boomwright.circuit.thresholds import find_thresholds
from boomwright.circuit.watch import Watch
from boomwright.errors import NetlistError

SUM = SumValues(
    left_resistor=1.1e3,
    right_resistor=0.9e3,
    source_impedance=120.0,
    load_impedance=33e3,
    channels=2,
    coupling_capacitor=2.2e-6,
    cable_capacitance=330e-12,
)
PAD = PadValues(
    series_resistor=8.2e3,
    shunt_resistor=1.8e3,
    source_impedance=150.0,
    load_impedance=22e3,
    cable_capacitance=270e-12,
)
LADDER = LadderValues(
    reference=ShuntReference(name="U1", cathode="", reference="", anode=""),
    comparator=Comparator(name="U2", plus="", minus="", output="", ground=""),
    leds=(
        Diode(
            name="D1",
            anode="",
            cathode="",
            saturation_current=3e-18,
            emission=2.0,
            resistance=8.0,
            kind="led",
        ),
    )
    * 3,
    led_resistors=(3.3e3, 3.6e3, 3.9e3),
    chain=(4.3e3, 910.0, 1.2e3, 36e3),
    divider_top=220e3,
    divider_bottom=51e3,
    trimmer=12e3,
    filter_capacitor=150e-6,
    reference_resistor=4.7e3,
)


class TestSum:
    def test_gain_of_one_channel_by_hand(self):
        # Superposition: the other channel's branch stands beside the two inputs.
        other = 1.0 / (1.0 / (900.0 + 120.0) + 2.0 / 33e3)
        want = other / (other + 1100.0 + 120.0)
        found = ac_response(sum_netlist(SUM), np.array([2e3])).voltage("in")
        assert abs(found[0, 0]) == pytest.approx(want, rel=1e-3)

    def test_corner_by_the_coupling_capacitor(self):
        thevenin = 1.0 / (1.0 / 1220.0 + 1.0 / 1020.0)
        corner = 1.0 / (2.0 * np.pi * 2.2e-6 * (thevenin + 16.5e3))
        found = ac_response(sum_netlist(SUM, left=1.0, right=1.0), np.array([corner, 1e3])).voltage(
            "in"
        )
        assert abs(found[0, 0] / found[1, 0]) == pytest.approx(np.sqrt(0.5), rel=1e-3)

    def test_corner_by_the_lead(self):
        behind = 1.0 / (1.0 / 1220.0 + 1.0 / 1020.0 + 2.0 / 33e3)
        corner = 1.0 / (2.0 * np.pi * 330e-12 * behind)
        found = ac_response(sum_netlist(SUM, left=1.0, right=1.0), np.array([1e3, corner])).voltage(
            "in"
        )
        assert abs(found[1, 0] / found[0, 0]) == pytest.approx(np.sqrt(0.5), rel=1e-3)

    def test_opposite_signals_cancel_in_equal_resistors(self):
        even = replace(SUM, left_resistor=1e3, right_resistor=1e3)
        found = ac_response(sum_netlist(even, left=1.0, right=-1.0), np.array([500.0]))
        assert abs(found.voltage("in")[0, 0]) < 1e-9

    def test_nothing_comes_back_from_a_source_without_impedance(self):
        stiff = replace(SUM, source_impedance=1e-6)
        found = ac_response(sum_netlist(stiff), np.array([500.0]))
        assert abs(found.voltage("right")[0, 0]) < 1e-8

    def test_without_capacitor_the_sum_is_the_input(self):
        plain = sum_netlist(replace(SUM, coupling_capacitor=None))
        assert "sum" not in plain.nodes
        assert "C1" not in [part.name for part in plain.parts]

    def test_no_channel_is_refused(self):
        with pytest.raises(ValueError, match="got 0"):
            sum_netlist(replace(SUM, channels=0))


class TestPad:
    def test_loss_by_hand(self):
        lower = 1.8e3 * 22e3 / (1.8e3 + 22e3)
        want = lower / (lower + 8.2e3 + 150.0)
        found = operating_point(pad_netlist(PAD, level=2.0)).voltage("in")
        assert found[0] == pytest.approx(2.0 * want, rel=1e-6)


class TestLadder:
    def test_each_led_changes_where_the_dividers_say(self):
        net = ladder_netlist(LADDER)
        at = operating_point(net, levels={"BT1": 12.0})
        ratio = (220e3 + 12e3 + 51e3) / 51e3
        total = sum(LADDER.chain)
        for step, above in enumerate((4.3e3, 5.21e3, 6.41e3)):
            want = float(at.voltage("ref")[0]) * (total - above) / total * ratio
            edges = find_thresholds(
                net, Watch(relay=comparator_name(step)), lowest=8.0, highest=16.0
            )
            # The gap of 1 mV either side stands at the divider.
            assert edges.off[0] == pytest.approx(want - 1e-3 * ratio, abs=2e-3)  # V, search
            assert edges.on[0] == pytest.approx(want + 1e-3 * ratio, abs=2e-3)  # V, search

    def test_lit_leds_follow_the_battery_down_and_up(self):
        levels = np.array([14.0, 12.3, 11.9, 9.0, 11.9, 14.0])
        lit = lit_steps(ladder_netlist(LADDER), levels)
        assert lit.sum(axis=1).tolist() == [3, 2, 1, 0, 1, 3]
        # It is a bar: what is lit above is lit below.
        assert np.all(lit[:, 1:] >= lit[:, :-1])

    def test_led_current(self):
        at = operating_point(ladder_netlist(LADDER), levels={"BT1": 13.0})
        across = at.voltage("batt") - at.voltage("led1")
        drop = at.voltage("led1") - at.voltage("low1")
        assert 1.6 < drop[0] < 2.1
        assert across[0] / 3.3e3 == pytest.approx((13.0 - drop[0]) / (3.3e3 + 60.0), rel=1e-6)

    def test_counts_must_fit(self):
        with pytest.raises(ValueError, match="got 2 LED resistors"):
            ladder_netlist(replace(LADDER, led_resistors=(1e3, 2e3)))
        with pytest.raises(ValueError, match="got 9 LEDs"):
            ladder_netlist(replace(LADDER, leds=LADDER.leds * 3))


class TestSocket:
    @pytest.mark.parametrize(
        ("pull_up", "volts"),
        # Type-C specification, Rp to 5 V over the sink's 5.1 kΩ: resistors from memory, volts
        # computed from them.
        [(56e3, 0.417), (22e3, 0.941), (10e3, 1.689)],
    )
    def test_type_c_pull_up(self, pull_up, volts):
        values = UsbValues(rail_voltage=5.0, pull_up=pull_up)
        found = operating_point(usb_netlist("type-c", values))
        assert found.voltage("cc1")[0] == pytest.approx(volts, abs=5e-4)  # V, digits printed
        assert found.voltage("cc2")[0] == pytest.approx(5.0, rel=1e-3)

    def test_divider_follows_the_plug_down(self):
        values = UsbValues(
            rail_voltage=5.2,
            rail_resistance=0.06,
            lead_resistance=0.11,
            load_current=1.3,
            plus_top=75e3,
            plus_bottom=51e3,
            minus_top=43e3,
            minus_bottom=47e3,
        )
        found = operating_point(usb_netlist("divider", values))
        plug = 5.2 - 1.3 * 0.17
        assert found.voltage("vbus")[0] == pytest.approx(plug, rel=1e-4)
        assert found.voltage("dp")[0] == pytest.approx(plug * 51 / 126, rel=1e-4)
        assert found.voltage("dm")[0] == pytest.approx(plug * 47 / 90, rel=1e-4)

    def test_joined_lines_pass_the_phones_look(self):
        values = UsbValues(link_resistance=180.0, detect_voltage=0.55, detect_current=150e-6)
        found = operating_point(usb_netlist("joined", values))
        assert found.voltage("dm")[0] == pytest.approx(0.55 - 0.027, rel=1e-6)

    def test_missing_value_is_named(self):
        with pytest.raises(NetlistError, match="plus_top"):
            usb_netlist("divider", UsbValues())
        with pytest.raises(ValueError, match="'dongle'"):
            usb_netlist("dongle", UsbValues())  # type: ignore[arg-type]


AT_REST = {
    "sum": sum_netlist(replace(SUM, coupling_capacitor=None), left=0.7, right=0.3),
    "pad": pad_netlist(PAD, level=1.3),
    "ladder, two lit": ladder_netlist(LADDER, voltage=12.3),
    "ladder, none lit": ladder_netlist(LADDER, voltage=9.0),
    "joined": usb_netlist("joined", UsbValues(link_resistance=150.0, load_current=1.2)),
    "divider": usb_netlist(
        "divider",
        UsbValues(
            plus_top=75e3, plus_bottom=51e3, minus_top=43e3, minus_bottom=47e3, load_current=0.8
        ),
    ),
    "type-c": usb_netlist("type-c", UsbValues(pull_up=22e3, load_current=1.4)),
}


def test_ngspice_finds_the_same_volts():
    jobs, points = [], []
    for net in AT_REST.values():
        point = operating_point(net)
        states = {name: bool(state[0]) for name, state in point.states.items()}
        jobs.append(Job(spice_netlist(net, states=states), ("op",)))
        points.append(point)
    for name, point, (vectors,) in zip(AT_REST, points, run_ngspice(jobs), strict=True):
        assert vectors is not None, name
        netlist = point.equations.netlist
        for node, spelled in spice_nodes(netlist).items():
            if node == "0":
                continue
            theirs = float(np.real(vectors[f"v({spelled.lower()})"].flat[0]))
            # 1 mV: the laws agree far closer, the simulator's own patience does not.
            assert float(point.voltage(node)[0]) == pytest.approx(theirs, rel=1e-3, abs=1e-3), (
                name,
                node,
            )


def test_ngspice_finds_the_same_response():
    net = sum_netlist(SUM, left=1.0, right=0.5)
    (((vectors),),) = run_ngspice([Job(spice_netlist(net), ("ac lin 3 20 20000",))])
    assert vectors is not None
    frequencies = np.real(vectors["frequency"])
    ours = ac_response(net, frequencies).voltage("in")[:, 0]
    np.testing.assert_allclose(np.abs(ours), np.abs(vectors["v(in)"]), rtol=1e-4)
