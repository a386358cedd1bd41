"""Air-core coils against other formulas for the same shape."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ellipe, ellipk

from boomwright.physics.air_coil import air_coil

MU0 = 4e-7 * np.pi


def _loops(radius_1, radius_2, apart):
    """Mutual inductance of two round loops on one axis, by Maxwell's elliptic integrals [H]."""
    m = 4.0 * radius_1 * radius_2 / ((radius_1 + radius_2) ** 2 + apart**2)
    k = np.sqrt(m)
    return MU0 * np.sqrt(radius_1 * radius_2) * ((2.0 / k - k) * ellipk(m) - 2.0 / k * ellipe(m))


@pytest.mark.parametrize(("henries", "wire"), [(0.33e-3, 0.8e-3), (1e-3, 1e-3), (4.7e-3, 1.4e-3)])
def test_wheelers_formula_gives_the_inductance_back(henries, wire):
    """H. A. Wheeler, 1928: 31.6 µH/m r² n²/(6 r + 9 l + 10 d), good to 1 % (from memory)."""
    coil = air_coil(henries, wire)
    radius = 1.5 * coil.side
    wheeler = 31.6e-6 * radius**2 * coil.turns**2 / (6 * radius + 9 * coil.side + 10 * coil.side)
    assert float(wheeler) == pytest.approx(henries, rel=0.01)


def test_summed_loops_give_the_inductance_back():
    """A winding cut into 30 x 30 loops: their mutual inductances add up to the coil's own."""
    coil = air_coil(1e-3, 1e-3)
    side, cuts = float(coil.side), 30
    steps = (np.arange(cuts) + 0.5) / cuts
    radius, height = (side * (1.0 + steps)).repeat(cuts), np.tile(side * steps, cuts)
    apart = height[:, np.newaxis] - height
    # A loop in its own cell: the mean distance in a square of side a is 0.44705 a.
    apart = apart + np.eye(cuts * cuts) * 0.44705 * side / cuts
    mean = _loops(radius[:, np.newaxis], radius, apart).mean()
    assert mean * float(coil.turns) ** 2 == pytest.approx(1e-3, rel=0.01)


def test_one_millihenry_of_one_millimetre_has_half_an_ohm():
    """Coils sold as 1 mH, 1 mm: 0.42 to 0.55 ohm; typical, from memory."""
    assert 0.42 <= float(air_coil(1e-3, 1e-3).resistance) <= 0.55


def test_resistance_is_that_of_its_wire():
    coil = air_coil(0.68e-3, 0.9e-3)
    assert float(coil.resistance) == pytest.approx(
        1.724e-8 * float(coil.length) / (np.pi * 0.45e-3**2), rel=1e-9
    )
    assert float(coil.mass) == pytest.approx(
        8960 * np.pi * 0.45e-3**2 * float(coil.length), rel=1e-9
    )


def test_powers_of_inductance_and_wire():
    ohms = air_coil(np.array([1e-3, 2e-3]), 1e-3).resistance
    assert float(ohms[1] / ohms[0]) == pytest.approx(2.0**0.6, rel=1e-9)
    thin = air_coil(1e-3, np.array([1e-3, 2e-3])).resistance
    assert float(thin[0] / thin[1]) == pytest.approx(2.0**1.6, rel=1e-9)


@pytest.mark.parametrize("filling", [0.5, 0.7])
def test_filling_matters_little(filling):
    ratio = air_coil(1e-3, 1e-3, filling=filling).resistance / air_coil(1e-3, 1e-3).resistance
    assert float(ratio) == pytest.approx(1.0, rel=0.05)


def test_what_cannot_be_is_refused():
    with pytest.raises(ValueError, match="inductance: got 0 H"):
        air_coil(0.0, 1e-3)
    with pytest.raises(ValueError, match=r"diameter of the wire: got -0\.001 m"):
        air_coil(1e-3, -1e-3)
