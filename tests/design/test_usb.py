"""Charging sockets: what they tell, and the volts at the plug."""

from __future__ import annotations

import pytest

from boomwright.circuit.parts import Resistor
from boomwright.design.usb.design import design_usb
from boomwright.errors import InputError


def levels(design):
    return [remark.level for remark in design.remarks]


class TestJoined:
    def test_may_draw_one_and_a_half(self):
        # Charging port of the battery-charging specification: 4.75 to 5.25 V, 1.5 A at most.
        design = design_usb()
        assert design.figure("tells the phone it may draw").likely == 1.5
        plug = design.figure("plug at 1.5 A")
        assert 4.75 < plug.low < plug.high < 5.25
        assert "stop" not in levels(design)

    def test_plug_by_hand(self):
        design = design_usb(
            rail_voltage=5.15,
            rail_tolerance=0.01,
            rail_resistance=0.04,
            lead_area=0.5e-6,
            lead_length=0.7,
            contact_resistance=0.05,
        )
        # IEC 60028 copper of 1/58 Ω mm²/m, there and back.
        lead = 2.0 * 0.7 / 58.0 / 0.5 + 0.05
        for amps in (0.5, 1.0, 1.5):
            label = f"plug at {amps * 1e3:g} mA" if amps < 1 else f"plug at {amps:g} A"
            figure = design.figure(label)
            assert figure.likely == pytest.approx(5.15 - amps * (0.04 + lead), rel=1e-4)
            least = 5.15 * 0.99 - amps * (0.04 * 1.5 + lead * 1.2)
            assert figure.low == pytest.approx(least, rel=1e-4)

    def test_200_ohms_still_pass_and_201_do_not(self):
        # At most 200 Ω between the lines (battery-charging specification); 0.5 V less 175 µA
        # through 202 Ω is above the 0.4 V that the phone asks for (from memory).
        figure = design_usb(link_resistance=200.0).figure("D- while the phone looks")
        assert figure.low == pytest.approx(0.5 - 175e-6 * 202.0, rel=1e-4)
        assert figure.low > 0.4
        with pytest.raises(InputError, match=r"201 Ω.*200 Ω"):
            design_usb(link_resistance=201.0)

    def test_bench_starts_unpowered_and_shows_every_load(self):
        design = design_usb()
        first = design.readings[0]
        assert first.do.startswith("Rail off")
        assert first.expect.high < 200.0
        labels = [reading.expect.label for reading in design.readings]
        assert labels[1:] == ["plug without load", "plug at 500 mA", "plug at 1 A", "plug at 1.5 A"]
        assert all("heat" in reading.caution for reading in design.readings[2:])


class TestDivider:
    @pytest.mark.parametrize(
        ("current", "plus", "minus"),
        # Custom of older phones, from memory: 2.0 and 2.7 V for 1 A, the other way for 2.1 A.
        [(1.0, 2.0, 2.7), (2.1, 2.7, 2.0)],
    )
    def test_volts_on_the_lines(self, current, plus, minus):
        design = design_usb(
            kind="divider", current=current, rail_voltage=5.0, rail_tolerance=0.01, rail_current=2.5
        )
        for line, want in (("D+", plus), ("D-", minus)):
            figure = design.figure(f"{line}, no load")
            assert figure.likely == pytest.approx(want, rel=0.02)
            assert figure.low < figure.likely < figure.high
        assert [line.name for line in design.parts[:4]] == ["R1", "R2", "R3", "R4"]

    def test_is_called_no_standard(self):
        design = design_usb(kind="divider", current=1.0)
        assert any("no standard" in remark.says for remark in design.remarks)


class TestTypeC:
    @pytest.mark.parametrize(
        ("current", "pull_up", "volts"),
        # Type-C specification, source Rp to 5 V: 56, 22, 10 kΩ for 0.5, 1.5, 3 A (from memory);
        # volts over 5.1 kΩ computed.
        [(0.5, 56e3, 0.417), (1.5, 22e3, 0.941), (3.0, 10e3, 1.689)],
    )
    def test_pull_up_and_volts(self, current, pull_up, volts):
        design = design_usb(
            kind="type-c", current=current, rail_voltage=5.0, rail_current=3.0, lead_area=1.5e-6
        )
        part = design.netlist.part("R1")
        assert isinstance(part, Resistor)
        assert part.resistance == pull_up
        figure = design.figure("CC1 with the phone on it, no load")
        assert figure.likely == pytest.approx(volts, abs=5e-4)  # V, digits printed
        # Published tolerance of the computed volts is 6 %; the phone's 10 % pull-down is in ours.
        assert figure.high / figure.likely - 1.0 < 0.13
        assert "stop" not in levels(design)

    def test_loose_resistors_leave_the_window(self):
        design = design_usb(kind="type-c", current=3.0, rail_current=3.5, tolerance=0.2)
        assert any("reads 3 A from" in r.says for r in design.remarks if r.level == "stop")

    def test_always_live_socket_is_said(self):
        design = design_usb(kind="type-c", current=1.5)
        assert any("all the time" in remark.says for remark in design.remarks)


class TestRail:
    def test_weak_rail_stops_with_the_nearest(self):
        design = design_usb(rail_current=1.2)
        worst = design.remarks[0]
        assert worst.level == "stop"
        assert "1.2 A" in worst.says
        assert "Tell 1 A (kind divider)" in worst.do

    def test_thin_lead_gets_a_thicker_one(self):
        design = design_usb(lead_area=0.22e-6, lead_length=1.0, rail_tolerance=0.01)
        fall = next(remark for remark in design.remarks if "may fall" in remark.says)
        assert fall.do.startswith("Take ")
        area = float(fall.do.split()[1])
        better = design_usb(lead_area=area * 1e-6, lead_length=1.0, rail_tolerance=0.01)
        assert better.figure("plug at 1.5 A").low >= 4.75

    def test_high_rail_stops(self):
        design = design_usb(rail_voltage=5.35)
        assert design.remarks[0].level == "stop"
        assert "5.25" in design.remarks[0].says

    def test_no_bench_load_beyond_the_rail(self):
        labels = [f.label for f in design_usb(kind="type-c", current=0.5, rail_current=0.7).figures]
        assert "plug at 500 mA" in labels
        assert "plug at 1 A" not in labels


class TestBadInput:
    def test_current_a_kind_cannot_tell(self):
        with pytest.raises(InputError) as caught:
            design_usb(kind="joined", current=3.0)
        (problem,) = caught.value.problems
        assert problem.got == "3 A"
        assert "nearest is 1.5 A" in problem.hint
        assert "type-c can tell it" in problem.hint

    def test_unknown_kind_names_the_near_one(self):
        with pytest.raises(InputError, match="Did you mean 'type-c'"):
            design_usb(kind="typec")  # type: ignore[arg-type]

    def test_all_at_once(self):
        with pytest.raises(InputError) as caught:
            design_usb(rail_voltage=12.0, lead_area=0.0, rail_tolerance=0.5, current=float("nan"))
        keys = [problem.key for problem in caught.value.problems]
        assert keys == ["current", "lead_area", "rail_voltage", "tolerance"]
