"""Air films: limits, symmetry and shapes."""

import numpy as np
import pytest

from boomwright.physics.convection import (
    convection_coefficient,
    nusselt_horizontal_down,
    nusselt_horizontal_up,
    nusselt_vertical,
    radiation_coefficient,
    rayleigh,
    surface_coefficient,
)
from boomwright.physics.nature import STEFAN_BOLTZMANN


def test_rayleigh_number_grows_with_the_cube_of_length_and_ignores_the_sign_of_the_rise():
    air = {"film_temperature": 305.0, "viscosity": 1.62e-5, "prandtl": 0.707}
    one = rayleigh(11.0, 0.2, **air)
    assert float(rayleigh(11.0, 0.4, **air) / one) == pytest.approx(8.0)
    assert float(rayleigh(-11.0, 0.2, **air)) == pytest.approx(float(one))
    assert float(rayleigh(0.0, 0.2, **air)) == 0.0


def test_a_vertical_plate_keeps_a_little_conduction_at_no_rise():
    assert float(nusselt_vertical(0.0, prandtl=0.71)) == pytest.approx(0.825**2)


def test_the_two_laws_of_the_upward_plate_meet_without_a_jump():
    crossing = (0.54 / 0.15) ** 12
    below, above = nusselt_horizontal_up(crossing * np.array([1.0 - 1e-9, 1.0 + 1e-9]))
    assert below == pytest.approx(above, rel=1e-8)
    ra = np.geomspace(1e3, 1e11, 400)
    assert np.all(np.diff(nusselt_horizontal_up(ra)) > 0.0)


def test_a_plate_facing_down_gives_half_of_one_facing_up_in_laminar_flow():
    ra = np.array([2e4, 3e5, 4e6])
    np.testing.assert_allclose(
        2.0 * nusselt_horizontal_down(ra), nusselt_horizontal_up(ra), rtol=1e-12
    )


def test_radiation_without_a_rise_is_four_sigma_t_cubed():
    expected = 4.0 * 0.8 * STEFAN_BOLTZMANN * 296.0**3
    assert float(radiation_coefficient(0.0, ambient=296.0, emissivity=0.8)) == pytest.approx(
        expected, rel=1e-12
    )


@pytest.mark.parametrize("rise", [-17.0, 3.0, 61.0])
def test_radiated_heat_is_the_difference_of_fourth_powers(rise):
    heat = radiation_coefficient(rise, ambient=301.0, emissivity=0.85) * rise
    expected = 0.85 * STEFAN_BOLTZMANN * ((301.0 + rise) ** 4 - 301.0**4)
    assert float(heat) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("facing", ["vertical", "up", "down"])
def test_hotter_surfaces_give_off_more_heat(facing):
    rise = np.linspace(0.0, 80.0, 60)
    film = surface_coefficient(rise, 0.13, ambient=297.0, emissivity=0.7, facing=facing)
    assert np.all(np.diff(film * rise) > 0.0)


def test_surface_coefficient_is_convection_and_radiation_together():
    both = surface_coefficient(23.0, 0.17, ambient=299.0, emissivity=0.6, facing="up")
    alone = convection_coefficient(23.0, 0.17, ambient=299.0, facing="up")
    glow = radiation_coefficient(23.0, ambient=299.0, emissivity=0.6)
    assert float(both) == pytest.approx(float(alone) + float(glow), rel=1e-12)


def test_facing_orders_the_films():
    down, vertical, up = (
        float(convection_coefficient(20.0, 0.1, ambient=295.0, facing=facing))
        for facing in ("down", "vertical", "up")
    )
    assert down < vertical < up


def test_films_broadcast():
    rise = np.array([[5.0], [15.0], [40.0]])
    length = np.array([0.05, 0.1, 0.2, 0.4])
    film = surface_coefficient(rise, length, ambient=298.0, emissivity=0.9, facing="vertical")
    assert film.shape == (3, 4)
    alone = surface_coefficient(15.0, 0.2, ambient=298.0, emissivity=0.9, facing="vertical")
    assert film[1, 2] == pytest.approx(float(alone))


def test_wrong_values_are_named():
    with pytest.raises(ValueError, match=r"emissivity: got 1\.3"):
        radiation_coefficient(10.0, ambient=298.0, emissivity=np.array([0.2, 1.3]))
    with pytest.raises(ValueError, match=r"got -0\.2 m"):
        convection_coefficient(10.0, -0.2, ambient=298.0, facing="down")
