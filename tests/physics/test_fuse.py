"""Fuses: ratings, opening times, pulses."""

import numpy as np
import pytest

from boomwright.physics.fuse import (
    fuse_kind,
    fuse_kinds,
    fuse_minimum,
    fuse_resistance,
    melting_integral,
    next_rating,
    opening_time_bounds,
    survives_inrush,
)

KINDS = ["blade", "tube_quick", "tube_time_lag"]


def test_the_three_kinds_are_known():
    assert list(fuse_kinds()) == KINDS


@pytest.mark.parametrize("kind", KINDS)
def test_data_are_in_order(kind):
    facts = fuse_kind(kind)
    assert np.all(np.diff(facts.ratings) > 0.0)
    multiple, shortest, longest = np.array(facts.gates).T
    assert np.all(np.diff(multiple) > 0.0)
    assert np.all(shortest < longest)
    assert 0.0 < facts.continuous_share <= 1.0
    assert facts.drop_low < facts.drop_typical < facts.drop_high
    assert "from memory" in facts.source


@pytest.mark.parametrize("kind", KINDS)
def test_opening_times_go_through_the_gates(kind):
    for multiple, shortest, longest in fuse_kind(kind).gates:
        low, high = opening_time_bounds(multiple, kind=kind)
        if shortest > 0.0:
            assert float(low) == pytest.approx(shortest)
        if np.isfinite(longest):
            assert float(high) == pytest.approx(longest)


@pytest.mark.parametrize("kind", KINDS)
def test_more_current_opens_sooner_and_the_bounds_keep_their_order(kind):
    multiple = np.geomspace(0.5, 30.0, 300)
    low, high = opening_time_bounds(multiple, kind=kind)
    assert np.all(low[1:] <= low[:-1] * (1.0 + 1e-12))
    # Comparing neighbours keeps clear of inf - inf below the first gate.
    assert np.all(high[1:] <= high[:-1] * (1.0 + 1e-12))
    assert np.all(low <= high)


@pytest.mark.parametrize("kind", KINDS)
def test_no_current_never_opens_and_a_dead_short_does_at_once(kind):
    share = fuse_kind(kind).continuous_share
    low, high = opening_time_bounds(np.array([0.0, share, 1.05, 100.0]), kind=kind)
    assert high[:3].tolist() == [np.inf] * 3
    assert low[:2].tolist() == [np.inf] * 2
    assert low[2] == pytest.approx(fuse_kind(kind).gates[0][1])
    assert low[3] == 0.0
    assert high[3] == pytest.approx(fuse_kind(kind).gates[-1][2])


def test_between_gates_times_are_read_on_logarithmic_scales():
    middle = np.sqrt(2.0 * 3.5)
    low, high = opening_time_bounds(middle, kind="blade")
    assert float(low) == pytest.approx(np.sqrt(0.15 * 0.04))
    assert float(high) == pytest.approx(np.sqrt(5.0 * 0.5))


def test_time_lag_waits_longer_than_quick():
    multiple = np.array([2.75, 4.0])
    quick, _ = opening_time_bounds(multiple, kind="tube_quick")
    slow, _ = opening_time_bounds(multiple, kind="tube_time_lag")
    assert np.all(slow > 5.0 * quick)


@pytest.mark.parametrize("kind", KINDS)
def test_every_rating_is_its_own_next(kind):
    ratings = np.array(fuse_kind(kind).ratings)
    assert next_rating(ratings, kind=kind).tolist() == ratings.tolist()
    assert next_rating(ratings[:-1] * 1.001, kind=kind).tolist() == ratings[1:].tolist()
    assert float(next_rating(ratings[-1] * 1.001, kind=kind)) == np.inf
    assert float(next_rating(0.0, kind=kind)) == ratings[0]


def test_a_blade_fuse_is_loaded_less_than_a_tube():
    assert float(fuse_minimum(3.3, kind="blade")) == pytest.approx(4.4)
    assert float(fuse_minimum(3.3, kind="tube_quick")) == pytest.approx(3.3)


@pytest.mark.parametrize("kind", KINDS)
def test_larger_fuses_resist_less_and_melt_later(kind):
    rating = np.array(fuse_kind(kind).ratings)
    assert np.all(np.diff(fuse_resistance(rating, kind=kind)) < 0.0)
    assert np.all(np.diff(melting_integral(rating, kind=kind)) > 0.0)
    facts = fuse_kind(kind)
    drop = fuse_resistance(rating, kind=kind) * rating
    assert np.all((facts.drop_low < drop) & (drop < facts.drop_high))


@pytest.mark.parametrize("kind", KINDS)
def test_melting_integral_is_stood_at_every_gate(kind):
    integral = float(melting_integral(1.0, kind=kind))
    products = [m**2 * low for m, low, _ in fuse_kind(kind).gates if low > 0.0]
    assert all(integral <= product * (1.0 + 1e-12) for product in products)
    assert any(integral == pytest.approx(product) for product in products)


def test_a_pulse_may_use_three_tenths():
    whole = float(melting_integral(5.0, kind="tube_time_lag"))
    found = survives_inrush(whole * np.array([0.29, 0.31]), rating=5.0, kind="tube_time_lag")
    assert found.tolist() == [True, False]
    assert survives_inrush(
        np.array([[1.0], [9.0], [80.0]]), rating=np.array([1.0, 2.0, 5.0, 20.0]), kind="blade"
    ).shape == (3, 4)


def test_wrong_values_are_named():
    with pytest.raises(ValueError, match="got 'ceramic', must be one of blade"):
        fuse_minimum(1.0, kind="ceramic")
    with pytest.raises(ValueError, match=r"got -0\.5"):
        opening_time_bounds(np.array([1.0, -0.5]), kind="blade")
    with pytest.raises(ValueError, match="got 0 A"):
        fuse_resistance(0.0, kind="blade")
