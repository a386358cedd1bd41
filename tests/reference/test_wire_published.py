"""Copper wire against published tables."""

import pytest

from boomwright.physics.wire import (
    COPPER_RESISTIVITY,
    COPPER_TEMPERATURE_COEFFICIENT,
    ampacity,
    awg_area,
    awg_diameter,
    flexible_resistance_max,
    preece_fusing_current,
    voltage_drop,
    wire_resistance,
)

THOUSAND_FEET = 304.8
INCH = 0.0254


@pytest.mark.parametrize(
    ("gauge", "inches"),
    [
        # Handbook table of AWG sizes and resistances, secondary print (seen); the ends are those
        # of ASTM B258.
        (-3, 0.4600),
        (10, 0.10190),
        (12, 0.08081),
        (14, 0.06408),
        (18, 0.04030),
        (20, 0.03196),
        (24, 0.02010),
        (28, 0.01264),
        (36, 0.0050),
    ],
)
def test_diameter(gauge, inches):
    assert float(awg_diameter(gauge)) == pytest.approx(inches * INCH, rel=1e-3)


@pytest.mark.parametrize(
    ("gauge", "ohms"),
    [
        # Same table (seen): ohms per 1000 ft at 20 °C, solid annealed copper.
        (10, 0.9989),
        (12, 1.588),
        (14, 2.525),
        (18, 6.385),
        (20, 10.15),
        (24, 25.67),
        (26, 40.81),
        (28, 64.9),
    ],
)
def test_resistance_per_thousand_feet(gauge, ohms):
    found = wire_resistance(awg_area(gauge), THOUSAND_FEET)
    assert float(found) == pytest.approx(ohms, rel=5e-3)


@pytest.mark.parametrize(
    ("gauge", "ohms"),
    [
        # ASTM B258 sizes with IEC 60028 copper (computed).
        (12, 5.21),
        (14, 8.29),
        (18, 20.95),
        (24, 84.22),
    ],
)
def test_resistance_per_kilometre(gauge, ohms):
    assert float(wire_resistance(awg_area(gauge), 1000.0)) == pytest.approx(ohms, rel=5e-3)


def test_copper_itself():
    # IEC 60028, 100 % IACS (from memory).
    assert pytest.approx(0.017241e-6, rel=1e-3) == COPPER_RESISTIVITY
    assert pytest.approx(0.00393, rel=5e-3) == COPPER_TEMPERATURE_COEFFICIENT


def test_warm_wire():
    # NEC (NFPA 70) Chapter 9 Table 8 as quoted in a wire chart (seen): AWG 14 at 75 °C, 3.07.
    found = wire_resistance(awg_area(14), THOUSAND_FEET, temperature=348.15)
    assert float(found) == pytest.approx(3.07, rel=5e-3)


def test_wire_of_a_rounded_diameter():
    # NBS Handbook 100 (from memory): AWG 20 as 32.0 mil, 10.13 Ω per 1000 ft.
    area = 3.141592653589793 / 4.0 * (0.0320 * INCH) ** 2
    assert float(wire_resistance(area, THOUSAND_FEET)) == pytest.approx(10.13, rel=2e-3)


@pytest.mark.parametrize(
    ("area_mm2", "ohms"), [(0.5, 39.0), (0.75, 26.0), (1.5, 13.3), (2.5, 7.98)]
)
def test_flexible_conductors(area_mm2, ohms):
    # IEC 60228, class 5, plain copper (from memory): largest Ω/km at 20 °C.
    found = flexible_resistance_max(area_mm2 * 1e-6) * 1000.0
    assert float(found) == pytest.approx(ohms, rel=1e-12)


def test_three_gauges_halve_the_area():
    # ASTM B258 (computed): 2.0050.
    assert float(awg_area(15) / awg_area(18)) == pytest.approx(2.0050, rel=1e-4)


@pytest.mark.parametrize(("gauge", "amps"), [(14, 166.2), (18, 82.9), (24, 29.2)])
def test_fusing_current(gauge, amps):
    # Preece's law, 10244 d^1.5 in inches (from memory; computed). The law is good to 10 %.
    assert float(preece_fusing_current(awg_diameter(gauge))) == pytest.approx(amps, rel=2e-3)


@pytest.mark.parametrize(("gauge", "amps"), [(14, 32.0), (18, 16.0), (22, 7.0)])
def test_chassis_wiring(gauge, amps):
    # Handbook table, chassis-wiring column, secondary print (seen).
    assert float(ampacity(awg_area(gauge), bundled=False)) == pytest.approx(amps, rel=1e-9)


@pytest.mark.parametrize(("gauge", "amps"), [(14, 5.87), (18, 2.32), (22, 0.92)])
def test_seven_hundred_circular_mils(gauge, amps):
    # Rule of 700 circular mils per ampere (from memory; computed on the table's areas).
    assert float(ampacity(awg_area(gauge), bundled=True)) == pytest.approx(amps, rel=0.01)


@pytest.mark.parametrize(
    ("gauge", "length", "amps", "volts", "percent", "watts"),
    [
        # Ohm's law on ASTM B258 wire with IEC 60028 copper, 12 V, both ways (computed).
        (18, 2.0, 5.0, 0.4190, 3.491, 2.095),
        (14, 3.0, 10.0, 0.4971, 4.143, 4.971),
        (22, 0.5, 2.0, 0.1059, 0.883, 0.212),
    ],
)
def test_two_way_drop(gauge, length, amps, volts, percent, watts):
    drop = float(voltage_drop(amps, area=awg_area(gauge), length=length))
    assert drop == pytest.approx(volts, rel=5e-3)
    assert drop / 12.0 * 100.0 == pytest.approx(percent, rel=5e-3)
    assert drop * amps == pytest.approx(watts, rel=5e-3)


@pytest.mark.parametrize(("area_mm2", "volts"), [(0.5, 0.28), (1.5, 0.09)])
def test_drop_of_battery_leads(area_mm2, volts):
    # Computed elsewhere: 4 A through 1 m, rounded to a hundredth of a volt.
    drop = voltage_drop(4.0, area=area_mm2 * 1e-6, length=1.0)
    assert float(drop) == pytest.approx(volts, abs=0.005)  # V, half of the last printed digit
