"""Air films and air itself against the general-purpose libraries `ht` and `fluids`."""

import numpy as np
import pytest
from fluids.atmosphere import ATMOSPHERE_1976
from ht.conv_free_immersed import Nu_horizontal_plate_McAdams, Nu_vertical_plate_Churchill

from boomwright.physics.air import air_conductivity, air_kinematic_viscosity
from boomwright.physics.convection import (
    convection_coefficient,
    nusselt_horizontal_down,
    nusselt_horizontal_up,
    nusselt_vertical,
)
from boomwright.physics.nature import air_density

TEMPERATURES = [253.15, 283.15, 303.15, 333.15, 373.15]


@pytest.mark.parametrize("prandtl", [0.69, 0.71, 0.73])
def test_vertical_plate(prandtl):
    grashof = np.geomspace(1e3, 1e11, 33)
    expected = [Nu_vertical_plate_Churchill(prandtl, g) for g in grashof]
    np.testing.assert_allclose(
        nusselt_vertical(grashof * prandtl, prandtl=prandtl), expected, rtol=1e-9
    )


def test_horizontal_plate_facing_up_where_both_take_the_same_law():
    ra = np.concatenate([np.geomspace(1e4, 4.7e6, 25), np.geomspace(1.001e7, 1e11, 25)])
    expected = [Nu_horizontal_plate_McAdams(0.71, r / 0.71, buoyancy=True) for r in ra]
    np.testing.assert_allclose(nusselt_horizontal_up(ra), expected, rtol=1e-9)


def test_horizontal_plate_facing_up_between_the_crossing_and_the_printed_change():
    # We take the greater law and have no jump at 1e7; the library jumps there by 6.4 %.
    ra = np.geomspace(4.8e6, 9.99e6, 25)
    expected = np.array([Nu_horizontal_plate_McAdams(0.71, r / 0.71, buoyancy=True) for r in ra])
    ratio = nusselt_horizontal_up(ra) / expected
    assert np.all((ratio >= 1.0) & (ratio < 1.065))


def test_horizontal_plate_facing_down():
    ra = np.geomspace(1e4, 1e10, 49)[:-1]
    expected = [Nu_horizontal_plate_McAdams(0.71, r / 0.71, buoyancy=False) for r in ra]
    np.testing.assert_allclose(nusselt_horizontal_down(ra), expected, rtol=1e-9)


@pytest.mark.parametrize("temperature", TEMPERATURES)
def test_air_is_that_of_the_standard_atmosphere(temperature):
    assert float(air_conductivity(temperature)) == pytest.approx(
        ATMOSPHERE_1976.thermal_conductivity(temperature), rel=1e-3
    )
    viscosity = air_kinematic_viscosity(temperature) * air_density(temperature)
    assert float(viscosity) == pytest.approx(ATMOSPHERE_1976.viscosity(temperature), rel=1e-3)


@pytest.mark.parametrize("rise", [2.0, 9.0, 25.0, 60.0])
@pytest.mark.parametrize("height", [0.05, 0.14, 0.33, 0.5])
def test_whole_film_of_a_vertical_plate(rise, height):
    # Built again from library parts: its air, its correlation, expansion 1/T.
    film = 298.15 + rise / 2.0
    density = ATMOSPHERE_1976.density(film, 101325.0)
    viscosity = ATMOSPHERE_1976.viscosity(film) / density
    conductivity = ATMOSPHERE_1976.thermal_conductivity(film)
    prandtl = viscosity * density * 1006.0 / conductivity
    grashof = 9.80665 * rise * height**3 / (film * viscosity**2)
    expected = Nu_vertical_plate_Churchill(prandtl, grashof) * conductivity / height
    found = convection_coefficient(rise, height, ambient=298.15, facing="vertical")
    assert float(found) == pytest.approx(expected, rel=0.01)
