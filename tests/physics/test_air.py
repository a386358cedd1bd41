"""Air as a carrier of heat: its laws agree with each other."""

import numpy as np

from boomwright.physics.air import air_conductivity, air_kinematic_viscosity, air_prandtl
from boomwright.physics.nature import air_density


def test_prandtl_number_ties_the_air_laws_together():
    t = np.array([262.0, 291.0, 334.0])
    expected = air_kinematic_viscosity(t) * air_density(t) * 1006.0 / air_conductivity(t)
    np.testing.assert_allclose(air_prandtl(t), expected, rtol=1e-12)


def test_warmer_air_conducts_better_and_is_more_viscous():
    t = np.linspace(253.0, 393.0, 41)
    assert np.all(np.diff(air_conductivity(t)) > 0.0)
    assert np.all(np.diff(air_kinematic_viscosity(t)) > 0.0)
