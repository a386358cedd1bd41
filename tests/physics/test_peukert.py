"""Peukert's rule: limits, shapes and the way back from two discharges."""

import numpy as np
import pytest

from boomwright.physics.peukert import peukert_exponent, peukert_time


def test_exponent_of_one_counts_coulombs():
    time = peukert_time(
        capacity_rated=9000.0, duration_rated=5 * 3600.0, current=np.array([0.1, 3.0]), exponent=1.0
    )
    assert time == pytest.approx([90000.0, 3000.0], rel=1e-12)


def test_rated_current_returns_the_rated_hours_for_any_exponent():
    exponents = np.array([1.0, 1.15, 1.6])
    time = peukert_time(
        capacity_rated=7.0 * 3600, duration_rated=20 * 3600.0, current=0.35, exponent=exponents
    )
    assert time == pytest.approx(np.full(3, 72000.0), rel=1e-12)


def test_exponent_behind_two_run_times_comes_back():
    exponents = np.array([[1.05], [1.3]])
    slow, fast = (
        peukert_time(
            capacity_rated=12.0 * 3600,
            duration_rated=10 * 3600.0,
            current=current,
            exponent=exponents,
        )
        for current in (0.4, np.array([1.5, 2.5, 6.0]))
    )
    found = peukert_exponent(
        current_slow=0.4,
        duration_slow=slow,
        current_fast=np.array([1.5, 2.5, 6.0]),
        duration_fast=fast,
    )
    assert found.shape == (2, 3)
    assert found == pytest.approx(np.broadcast_to(exponents, (2, 3)), rel=1e-12)


def test_equal_currents_are_refused():
    with pytest.raises(ValueError, match=r"current_fast: got 2\.5 A, allowed another"):
        peukert_exponent(
            current_slow=2.5, duration_slow=9000.0, current_fast=2.5, duration_fast=3000.0
        )
