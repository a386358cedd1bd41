"""Impedance: drivers together, first-order filters there and back."""

import math

import numpy as np
import pytest

from boomwright.physics.impedance import (
    first_order_capacitor,
    first_order_corner,
    impedance_minimum,
    impedance_parallel,
    impedance_series,
)


class TestImpedance:
    def test_short_and_open(self):
        assert float(impedance_parallel(np.array([6.0, 0.0]))) == 0.0
        assert float(impedance_parallel(np.array([6.0, math.inf]))) == 6.0
        assert float(impedance_parallel(np.array([math.inf, math.inf]))) == math.inf

    def test_parallel_of_three_is_not_product_over_sum(self):
        three = np.array([4.0, 6.0, 12.0])
        assert float(impedance_parallel(three)) == pytest.approx(2.0, rel=1e-12)
        wrong = float(np.prod(three) / np.sum(three))
        assert wrong / 2.0 > 6.0

    def test_parallel_is_below_the_least(self):
        each = np.array([[8.0, 4.0], [16.0, 5.0], [6.0, 6.0]])
        assert np.all(impedance_parallel(each) < np.min(each, axis=-1))
        assert impedance_parallel(each, axis=0).shape == (2,)
        assert impedance_series(each, axis=0) == pytest.approx([30.0, 15.0])

    def test_rule_broadcasts_and_refuses(self):
        assert impedance_minimum(np.full((3, 4), 5.0)) == pytest.approx(np.full((3, 4), 4.0))
        with pytest.raises(ValueError, match="got -8 Ω"):
            impedance_parallel(np.array([8.0, -8.0]))


class TestFirstOrder:
    @pytest.mark.parametrize(
        ("frequency", "ohms", "microfarads"), [(3000.0, 8.0, 6.63), (3000.0, 4.0, 13.26)]
    )
    def test_common_tweeter_capacitors(self, frequency, ohms, microfarads):
        got = 1e6 * float(first_order_capacitor(frequency, ohms))
        assert got == pytest.approx(microfarads, rel=1e-3)

    def test_not_a_hundred_times_too_small(self):
        # A figure met in print: 0.8 µF for 500 Hz in 4 ohm; right is 79.6 µF.
        assert float(first_order_corner(79.6e-6, 4.0)) == pytest.approx(500.0, rel=1e-3)
        assert float(first_order_corner(0.796e-6, 4.0)) == pytest.approx(50_000.0, rel=1e-3)

    def test_inverse(self):
        corner = first_order_corner(np.array([[2.2e-6], [3.3e-6], [6.8e-6]]), np.full(4, 7.0))
        assert corner.shape == (3, 4)
        assert first_order_capacitor(corner, 7.0)[2] == pytest.approx(np.full(4, 6.8e-6))
        with pytest.raises(ValueError, match="frequency: got 0 Hz"):
            first_order_capacitor(0.0, 8.0)

    def test_a_negative_capacitor_is_refused(self):
        with pytest.raises(ValueError, match=r"got -0\.001 F"):
            first_order_corner(-1e-3, 4.0)
