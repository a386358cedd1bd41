"""Heat against published worked examples and tables."""

import numpy as np
import pytest

from boomwright.physics.air import air_conductivity, air_kinematic_viscosity, air_prandtl
from boomwright.physics.box import box_air_temperature, box_conductance
from boomwright.physics.convection import (
    convection_coefficient,
    nusselt_horizontal_down,
    nusselt_horizontal_up,
    nusselt_vertical,
    radiation_coefficient,
    rayleigh,
)
from boomwright.physics.heatsink import (
    junction_temperature,
    plate_resistance,
    sink_resistance_needed,
)
from boomwright.physics.nature import kelvin
from boomwright.physics.touch import burn_limit, touch_limit

FOOT, POUND_HOUR = 0.3048, 5.678263  # m; W/(m² K) in one Btu/(h ft² °F)


def test_cengel_plate_two_feet_high():
    # Y. A. Cengel, Heat Transfer, problem 9-19E: Ra 5.503e8, Nu 102.6 (seen); h computed.
    ra = rayleigh(
        55.0 / 1.8,
        2.0 * FOOT,
        film_temperature=(562.5) / 1.8,
        viscosity=0.1823e-3 * FOOT**2,
        prandtl=0.7256,
    )
    assert float(ra) == pytest.approx(5.503e8, rel=5e-3)
    nusselt = float(nusselt_vertical(ra, prandtl=0.7256))
    assert nusselt == pytest.approx(102.6, rel=5e-3)
    assert nusselt * 0.01535 / 2.0 * POUND_HOUR == pytest.approx(4.47, rel=5e-3)


def test_cengel_warm_box_sides_and_top():
    # Y. A. Cengel, Heat Transfer, box problem (about 9-86), solution sheet seen.
    air = {"film_temperature": 301.5, "viscosity": 1.594e-5, "prandtl": 0.7286}
    side = rayleigh(7.0, 0.15, **air)
    assert float(side) == pytest.approx(2.204e6, rel=5e-3)
    film = float(nusselt_vertical(side, prandtl=0.7286)) * 0.02577 / 0.15
    assert film == pytest.approx(3.530, rel=5e-3)
    assert film * 0.30 * 7.0 == pytest.approx(7.41, rel=5e-3)
    top = rayleigh(7.0, 0.125, **air)
    assert float(top) == pytest.approx(1.275e6, rel=5e-3)
    assert float(nusselt_horizontal_up(top)) == pytest.approx(18.15, rel=5e-3)
    film = float(nusselt_horizontal_up(top)) * 0.02577 / 0.125
    assert film == pytest.approx(3.741, rel=5e-3)
    assert film * 0.25 * 7.0 == pytest.approx(6.55, rel=5e-3)


def test_cengel_plate_in_three_ways():
    # Y. A. Cengel, Heat Transfer, Example 9-2: plate 0.6 m square, 90 °C in 30 °C: upright 115 W,
    # radiation of one black face 182 W (from memory, computed again).
    air = {"film_temperature": 333.0, "viscosity": 1.896e-5, "prandtl": 0.7202}
    upright = nusselt_vertical(rayleigh(60.0, 0.6, **air), prandtl=0.7202) * 0.02808 / 0.6
    assert float(upright) * 0.36 * 60.0 == pytest.approx(115.0, rel=0.01)
    # The same example prints 64.2 W facing down, and 128 W facing up (from memory). The latter
    # keeps the laminar law at Ra = 1.2e7, past the end of its range; the turbulent law that is
    # used here gives 8 % more.
    number = rayleigh(60.0, 0.15, **air)
    up = nusselt_horizontal_up(number) * 0.02808 / 0.15
    assert float(up) * 0.36 * 60.0 == pytest.approx(128.0, rel=0.09)
    down = nusselt_horizontal_down(number) * 0.02808 / 0.15
    assert float(down) * 0.36 * 60.0 == pytest.approx(64.2, rel=0.01)
    glow = radiation_coefficient(60.0, ambient=303.0, emissivity=1.0)
    assert float(glow) * 0.36 * 60.0 == pytest.approx(182.0, rel=0.01)


@pytest.mark.parametrize(
    ("degc", "conductivity", "viscosity", "prandtl"),
    [
        # Y. A. Cengel, Heat Transfer, the air values of the three worked examples above.
        (28.5, 0.02577, 1.594e-5, 0.7286),
        (60.0, 0.02808, 1.896e-5, 0.7202),
    ],
)
def test_air_within_the_spread_between_textbooks(degc, conductivity, viscosity, prandtl):
    assert float(air_conductivity(kelvin(degc))) == pytest.approx(conductivity, rel=0.03)
    assert float(air_kinematic_viscosity(kelvin(degc))) == pytest.approx(viscosity, rel=0.01)
    assert float(air_prandtl(kelvin(degc))) == pytest.approx(prandtl, rel=0.035)


@pytest.mark.parametrize(
    ("temperature", "conductivity", "viscosity", "prandtl"),
    [
        # T. L. Bergman et al., Introduction to Heat Transfer, table of air (from memory).
        (300.0, 0.0263, 15.89e-6, 0.707),
        (350.0, 0.0300, 20.92e-6, 0.700),
    ],
)
def test_air_of_a_second_textbook(temperature, conductivity, viscosity, prandtl):
    assert float(air_conductivity(temperature)) == pytest.approx(conductivity, rel=0.01)
    assert float(air_kinematic_viscosity(temperature)) == pytest.approx(viscosity, rel=0.02)
    assert float(air_prandtl(temperature)) == pytest.approx(prandtl, rel=0.01)


@pytest.mark.parametrize(
    ("height", "area", "degc", "film", "glow", "watts", "resistance"),
    [
        # Churchill and Chu (1975) with grey radiation, textbook air (computed).
        (0.10, 0.0200, 65.0, 5.98, 6.60, 10.07, 3.97),
        (0.15, 0.0450, 60.0, 5.42, 6.44, 18.67, 1.87),
    ],
)
def test_flat_plate_as_heat_sink(height, area, degc, film, glow, watts, resistance):
    rise = degc - 25.0
    ambient = kelvin(25.0)
    assert float(
        convection_coefficient(rise, height, ambient=ambient, facing="vertical")
    ) == pytest.approx(film, rel=0.05)
    assert float(radiation_coefficient(rise, ambient=ambient, emissivity=0.9)) == pytest.approx(
        glow, rel=0.05
    )
    found = plate_resistance(
        height=height, area_wetted=area, rise=rise, emissivity=0.9, ambient=ambient
    )
    assert float(found) == pytest.approx(resistance, rel=0.05)
    assert rise / float(found) == pytest.approx(watts, rel=0.05)


def test_simplified_law_for_air():
    # J. P. Holman, Heat Transfer, table of simplified laws: h = 1.42 (dT/L)^(1/4) (from memory).
    found = convection_coefficient(40.0, 0.10, ambient=kelvin(25.0), facing="vertical")
    assert float(found) == pytest.approx(6.35, rel=0.10)


def test_usual_range_of_a_warm_upright_plate():
    # Computed from Churchill and Chu: 3 to 8 W/(m² K) for 10 to 50 K and 5 to 50 cm.
    rise = np.linspace(10.0, 50.0, 9)[:, np.newaxis]
    length = np.array([0.05, 0.1, 0.2, 0.3, 0.5])
    film = convection_coefficient(rise, length, ambient=kelvin(25.0), facing="vertical")
    assert film.min() > 3.0
    assert film.max() < 8.2
    glow = radiation_coefficient(rise, ambient=kelvin(25.0), emissivity=0.9)
    assert np.all((glow / film > 0.6) & (glow / film < 2.0))


def test_to_220_sink_example():
    # Lecture slides, thermal equivalent circuit of a transistor (seen): 16 K/W or less.
    found = sink_resistance_needed(
        5.0, ambient=kelvin(50.0), junction_max=kelvin(150.0), junction_case=3.0, case_sink=1.0
    )
    assert float(found) == pytest.approx(16.0, rel=0.01)


def test_power_transistor_with_sink():
    # R. L. Boylestad and L. Nashelsky, Electronic Devices and Circuit Theory, heat-sink example
    # (from memory): 200 °C, 40 °C and 0.5 + 0.6 + 1.5 K/W allow 61.5 W.
    hot = junction_temperature(61.5, ambient=kelvin(40.0), resistances=[0.5, 0.6, 1.5])
    assert float(hot) - 313.15 == pytest.approx(160.0, rel=5e-3)


def test_laboratory_hand_out_sink():
    # Lab hand-out on transistor heat sinking (seen): 6 W on 13 K/W, 78 K rise, case at 103 °C.
    case = junction_temperature(6.0, ambient=kelvin(25.0), resistances=[13.0])
    assert float(case) == pytest.approx(float(kelvin(103.0)), abs=0.01)  # K, rounding of 273.15


@pytest.mark.parametrize(
    ("litres", "low", "high"),
    [
        # Rough estimate made elsewhere, mean air rise in 15 mm wood, still air: about 1.1 K/W for
        # 10 litres and 0.7 K/W for 20; widened by a quarter, since shape and films were not given.
        (10.0, 0.82, 1.38),
        (20.0, 0.52, 0.88),
    ],
)
def test_wooden_box_is_in_the_range_estimated_elsewhere(litres, low, high):
    side = (litres * 1e-3) ** (1.0 / 3.0) + 0.030
    box = {
        "width": side,
        "height": side,
        "depth": side,
        "thickness": 0.015,
        "conductivity": 0.13,
        "ambient": kelvin(25.0),
    }
    assert low < 1.0 / float(box_conductance(rise=10.0, **box)) < high
    air = float(box_air_temperature(10.0, **box)) - 298.15
    assert 10.0 * low < air < 10.0 * high


@pytest.mark.parametrize(
    ("seconds", "metal", "glass", "plastic"),
    [
        # Burn-time table of the Shriners Burn Institute, posted on a product-safety list (seen).
        (1.0, 68.0, 78.0, 93.0),
        (3.0, 63.0, 73.0, 88.0),
        (5.0, 60.0, 70.0, 85.0),
        (30.0, 55.0, 65.0, 80.0),
    ],
)
def test_time_to_serious_burn(seconds, metal, glass, plastic):
    for material, degc in (("metal", metal), ("glass", glass), ("plastic", plastic)):
        found = burn_limit(material, duration=seconds)
        assert float(found) == pytest.approx(float(kelvin(degc)), abs=2.0)  # K, as the source says


@pytest.mark.parametrize("material", ["metal", "glass", "plastic", "wood"])
def test_burn_thresholds_for_long_touches(material):
    # ISO 13732-1 (from memory): 48 °C for 10 min and 43 °C for 8 h, all materials.
    for seconds, degc in ((600.0, 48.0), (28800.0, 43.0)):
        found = burn_limit(material, duration=seconds)
        assert float(found) == pytest.approx(float(kelvin(degc)), abs=1.0)  # K, as the source says


def test_burn_threshold_of_metal_for_a_minute():
    # ISO 13732-1 (from memory): 51 °C.
    assert float(burn_limit("metal", duration=60.0)) == pytest.approx(
        float(kelvin(51.0)),
        abs=1.0,  # K, as the source says
    )


@pytest.mark.parametrize(("material", "low", "high"), [("metal", 65, 70), ("plastic", 85, 93)])
def test_burn_threshold_for_a_second_lies_in_the_standards_spread(material, low, high):
    # ISO 13732-1 (from memory), tolerance 2 °C.
    assert low - 2.0 <= float(burn_limit(material, duration=1.0)) - 273.15 <= high + 2.0


@pytest.mark.parametrize("material", ["metal", "glass", "plastic", "wood"])
def test_short_touches_do_not_burn_below_the_no_burn_line(material):
    # Note on ISO 13732-1 clause 4.2.1.2 (seen): 65 °C for any solid up to 0.5 s, 2 °C.
    assert float(burn_limit(material, duration=0.5)) - 273.15 >= 65.0 - 2.0


@pytest.mark.parametrize(
    ("material", "seconds", "degc"),
    [
        # IEC 62368-1 Table 38, TS1: plastic for 1 to 10 s seen quoted, the others from memory.
        ("plastic", 5.0, 77.0),
        ("metal", 0.5, 70.0),
        ("plastic", 0.5, 94.0),
        ("metal", 120.0, 48.0),
        ("glass", 120.0, 48.0),
        ("plastic", 120.0, 48.0),
    ],
)
def test_touch_limits(material, seconds, degc):
    found = touch_limit(material, duration=seconds)
    assert float(found) - 273.15 == pytest.approx(degc, rel=1e-9)
