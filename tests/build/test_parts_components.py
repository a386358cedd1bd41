"""Semiconductors, wires and connectors of the drawer: what their standards and physics ask."""

from __future__ import annotations

import math
import re

import pytest
from tests.build.drawer_parts import DRAWER, of_kind

from boomwright.build.components import Connector, Diode, Transistor, Wire, Zener
from boomwright.physics.nature import ZERO_CELSIUS


class TestComponents:
    def test_zener_test_current_is_a_quarter_of_a_watt(self) -> None:
        # Rule of the registered one-watt series: Vz · Izt = 0.25 W, currents rounded.
        for zener in of_kind(Zener):
            assert zener.voltage.likely * zener.test_current.likely == pytest.approx(
                0.25 * zener.power.likely, rel=0.04
            ), zener.name

    def test_zener_knee_is_softer_than_its_test_point(self) -> None:
        for zener in of_kind(Zener):
            assert zener.knee_slope.likely > zener.slope.likely
            assert zener.knee_current.likely < zener.test_current.likely

    def test_gauge_wire_has_the_area_of_its_gauge(self) -> None:
        # ASTM B258, from memory: d = 0.127 mm · 92^((36 - n)/39).
        gauges = 0
        for wire in of_kind(Wire):
            if gauge := re.search(r"awg-(\d+)", wire.name):
                diameter = 0.127e-3 * 92 ** ((36 - int(gauge[1])) / 39)
                assert wire.area.likely == pytest.approx(math.pi / 4 * diameter**2, rel=1e-3)
                gauges += 1
        assert gauges >= 8

    def test_metric_wire_has_the_area_of_its_name(self) -> None:
        for wire in of_kind(Wire):
            if size := re.search(r"-(\d+)(?:-(\d+))?mm2", wire.name):
                named = float(f"{size[1]}.{size[2] or 0}")
                assert wire.area.likely == pytest.approx(named * 1e-6, rel=1e-9), wire.name
            assert wire.temperature_max.low > ZERO_CELSIUS + 50

    def test_transistors_give_what_their_kind_needs(self) -> None:
        for transistor in of_kind(Transistor):
            bipolar = transistor.type in {"npn", "pnp"}
            assert (transistor.gain is not None) == bipolar, transistor.name
            assert (transistor.threshold is not None) == (not bipolar), transistor.name
            assert (transistor.on_resistance is not None) == (not bipolar), transistor.name

    def test_complementary_pairs_share_their_limits(self) -> None:
        pairs = [("2N3904", "2N3906"), ("BD139", "BD140"), ("TIP31C", "TIP32C")]
        pairs += [("TIP41C", "TIP42C"), ("TIP120", "TIP125"), ("BC337-25", "BC327-25")]
        for left, right in pairs:
            one, other = DRAWER.part("transistor", left), DRAWER.part("transistor", right)
            assert isinstance(one, Transistor)
            assert isinstance(other, Transistor)
            assert one.voltage_max.likely == other.voltage_max.likely
            assert one.current_max.likely == other.current_max.likely
            assert {one.type, other.type} == {"npn", "pnp"}

    def test_schottky_diodes_drop_less_than_silicon(self) -> None:
        diodes = of_kind(Diode)
        schottky = max(d.drop.likely for d in diodes if d.type == "schottky")
        silicon = min(d.drop.likely for d in diodes if d.type == "silicon")
        assert schottky < silicon < min(d.drop.likely for d in diodes if d.type == "led")

    def test_rectifier_series_climb_in_reverse_volts(self) -> None:
        series = ("1N4001 1N4002 1N4003 1N4004 1N4005 1N4006 1N4007", "1N5817 1N5818 1N5819")
        for names in series:
            volts = [
                part.voltage_reverse.likely for part in of_kind(Diode) if part.name in names.split()
            ]
            assert volts == sorted(set(volts))
            assert len(volts) == len(names.split())

    def test_connector_at_its_current_stays_below_a_few_watts(self) -> None:
        for connector in of_kind(Connector):
            heat = connector.current.likely**2 * connector.resistance.likely
            assert heat < 1.5, connector.name
