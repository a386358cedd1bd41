"""Limits, conservation and shapes of the two-well model, and the fit of its parameters."""

import numpy as np
import pytest

from boomwright.physics.kibam import fit_kibam, kibam_capacity, kibam_lifetime, kibam_step

FRACTIONS = np.array([0.15, 0.4, 0.77, 1.0])[:, None, None]
RATES = np.array([0.0, 3e-6, 4e-4, 0.2, np.inf])[:, None]
DURATIONS = np.array([0.0, 0.5, 90.0, 7200.0, 4e6])


@pytest.mark.parametrize("current", [-0.6, 0.0, 1.3])
def test_step_moves_exactly_the_charge_drawn(current):
    available, bound = kibam_step(
        9000.0, 21000.0, current=current, duration=DURATIONS, fraction=FRACTIONS, rate=RATES
    )
    drawn = np.broadcast_to(current * DURATIONS, available.shape)
    assert available.shape == (4, 5, 5)
    # abs: rounding of sums near 5e6 C, a billionth of them
    assert available + bound == pytest.approx(30000.0 - drawn, rel=1e-12, abs=1e-6)


def test_step_of_no_length_changes_nothing():
    available, bound = kibam_step(
        8000.0, 5000.0, current=2.5, duration=0.0, fraction=0.3, rate=RATES
    )
    assert available == pytest.approx(8000.0, rel=1e-14)
    assert bound == pytest.approx(5000.0, rel=1e-14)


def test_step_without_exchange_draws_from_available_well_alone():
    available, bound = kibam_step(
        8000.0, 5000.0, current=2.0, duration=700.0, fraction=0.3, rate=0.0
    )
    assert float(available) == pytest.approx(6600.0, rel=1e-12)
    assert float(bound) == pytest.approx(5000.0, rel=1e-12)


def test_step_with_infinite_exchange_keeps_wells_level():
    available, bound = kibam_step(
        8000.0, 5000.0, current=2.0, duration=700.0, fraction=0.3, rate=np.inf
    )
    assert float(available) == pytest.approx(0.3 * 11600.0, rel=1e-12)
    assert float(bound) == pytest.approx(0.7 * 11600.0, rel=1e-12)


def test_step_with_whole_charge_available_counts_coulombs():
    available, bound = kibam_step(8000.0, 0.0, current=2.0, duration=700.0, fraction=1.0, rate=1e-3)
    assert float(available) == pytest.approx(6600.0, rel=1e-12)
    assert float(bound) == pytest.approx(0.0, abs=1e-9)  # C, rounding of 8000 C


def test_two_short_steps_equal_one_long_step():
    wells = {"current": 1.7, "fraction": 0.35, "rate": 3e-4}
    halfway = kibam_step(7000.0, 11000.0, duration=800.0, **wells)
    twice = kibam_step(*halfway, duration=1500.0, **wells)
    once = kibam_step(7000.0, 11000.0, duration=2300.0, **wells)
    assert np.stack(twice) == pytest.approx(np.stack(once), rel=1e-12)


def test_rest_brings_the_available_well_back_to_its_share():
    available, _ = kibam_step(0.0, 10000.0, current=0.0, duration=1e7, fraction=0.4, rate=3e-4)
    assert float(available) == pytest.approx(4000.0, rel=1e-9)


def test_step_agrees_with_small_explicit_steps():
    fraction, rate, current = 0.3, 2e-4, 1.1
    conductance = rate * fraction * (1.0 - fraction)
    wells = np.array([3000.0, 9000.0])
    length = 0.05
    for _ in range(20000):
        flow = conductance * (wells[1] / (1.0 - fraction) - wells[0] / fraction)
        wells = wells + length * np.array([flow - current, -flow])
    exact = kibam_step(
        3000.0, 9000.0, current=current, duration=1000.0, fraction=fraction, rate=rate
    )
    assert np.stack(exact) == pytest.approx(wells, rel=1e-5)


def test_capacity_runs_from_available_share_to_all_and_never_falls():
    durations = np.concatenate([[0.0], np.geomspace(1.0, 1e12, 60)])
    given = kibam_capacity(capacity=50e3, fraction=0.28, rate=1e-4, duration=durations)
    assert given[0] == pytest.approx(14e3, rel=1e-12)
    assert given[-1] == pytest.approx(50e3, rel=1e-6)
    assert np.all(np.diff(given) >= 0.0)


def test_capacity_and_lifetime_are_one_statement():
    durations = np.array([600.0, 3600.0, 36000.0])
    given = kibam_capacity(capacity=25e3, fraction=0.4, rate=3e-4, duration=durations)
    lifetime = kibam_lifetime(10e3, 15e3, current=given / durations, fraction=0.4, rate=3e-4)
    assert lifetime == pytest.approx(durations, rel=1e-10)


def test_lifetime_limits():
    common = {"fraction": 0.4, "rate": np.array([0.0, np.inf])}
    assert kibam_lifetime(10e3, 15e3, current=2.0, **common) == pytest.approx([5e3, 12.5e3])
    assert np.all(np.isinf(kibam_lifetime(10e3, 15e3, current=0.0, **common)))
    assert np.all(np.isinf(kibam_lifetime(10e3, 15e3, current=-1.0, **common)))
    assert np.all(kibam_lifetime(0.0, 15e3, current=2.0, **common) == 0.0)


def test_lifetime_broadcasts():
    lifetime = kibam_lifetime(
        np.full((3, 1), 10e3), 15e3, current=np.array([0.5, 1.0, 2.0, 4.0]), fraction=0.4, rate=3e-4
    )
    assert lifetime.shape == (3, 4)
    assert np.all(np.diff(lifetime, axis=1) < 0.0)


def test_fit_finds_the_wells_behind_a_table():
    hours = np.array([20.0, 0.5, 5.0, 1.0])
    table = kibam_capacity(capacity=31e3, fraction=0.37, rate=0.9 / 3600, duration=hours * 3600)
    fit = fit_kibam(hours * 3600, table)
    assert fit.capacity == pytest.approx(31e3, rel=1e-5)
    assert fit.fraction == pytest.approx(0.37, rel=1e-4)
    assert fit.rate == pytest.approx(0.9 / 3600, rel=1e-4)
    assert fit.misfit < 1e-6
    assert fit.assumption == ""


def test_fit_reports_the_misfit_of_a_table_no_two_wells_give():
    hours = np.array([0.5, 1.0, 10.0, 20.0])
    table = 7 * 3600 * np.array([0.45, 0.62, 0.93, 1.0])
    fit = fit_kibam(hours * 3600, table)
    model = kibam_capacity(
        capacity=fit.capacity, fraction=fit.fraction, rate=fit.rate, duration=hours * 3600
    )
    assert fit.misfit == pytest.approx(np.max(np.abs(table / model - 1.0)), rel=1e-6)
    assert 0.001 < fit.misfit < 0.05


def test_fit_of_two_rates_meets_both_and_says_what_it_assumed():
    times, charges = np.array([3600.0, 72000.0]), np.array([15e3, 25e3])
    fit = fit_kibam(times, charges)
    given = kibam_capacity(
        capacity=fit.capacity, fraction=fit.fraction, rate=fit.rate, duration=times
    )
    assert given == pytest.approx(charges, rel=1e-4)
    assert fit.fraction == pytest.approx(0.4)
    assert "available share taken as 0.4" in fit.assumption
    # Of the two solutions the one that claims little beyond the slow discharge.
    assert 25e3 < fit.capacity < 28e3


def test_fit_of_two_rates_with_a_given_share_assumes_nothing():
    fit = fit_kibam(np.array([3600.0, 72000.0]), np.array([12e3, 25e3]), fraction=0.3)
    assert fit.fraction == pytest.approx(0.3)
    assert fit.assumption == ""


def test_fit_of_a_rate_independent_battery():
    times = np.array([1800.0, 7200.0, 90000.0])
    fit = fit_kibam(times, np.full(3, 9e3))
    given = kibam_capacity(
        capacity=fit.capacity, fraction=fit.fraction, rate=fit.rate, duration=times
    )
    assert given == pytest.approx(np.full(3, 9e3), rel=1e-3)


@pytest.mark.parametrize(
    ("times", "charges", "fraction", "message"),
    [
        ([3600.0], [9e3], None, r"durations: got \[3600.0\] s"),
        ([3600.0, 3600.0], [9e3, 8e3], None, r"durations: got \[3600.0, 3600.0\] s"),
        ([3600.0, 7200.0], [9e3], None, "capacities: got 1 values for 2 durations"),
        ([3600.0, -7200.0], [9e3, 9.5e3], None, r"durations: got \[3600.0, -7200.0\] s"),
        ([3600.0, 7200.0], [0.0, 9e3], None, r"capacities: got \[0.0, 9000.0\] C"),
        ([3600.0, 7200.0], [9e3, 8e3], None, "got 8000 C in the slowest"),
        ([3600.0, 72000.0], [5e3, 25e3], None, "got a fast discharge of 0.2 of the slow one"),
        ([3600.0, 72000.0], [5e3, 25e3], 1.4, "fraction: got 1.4"),
    ],
)
def test_fit_refuses_by_name_and_value(times, charges, fraction, message):
    with pytest.raises(ValueError, match=message):
        fit_kibam(np.array(times), np.array(charges), fraction=fraction)
