"""Many small linear systems against the library's own solver, one by one."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boomwright.circuit.elimination import _MANY, solve_each
from boomwright.circuit.values import Floats

FEW, MANY = _MANY // 4, 2 * _MANY


def _each(matrix: Floats, right: Floats) -> Floats:
    return np.stack(
        [np.linalg.solve(matrix[..., s], right[:, s]) for s in range(right.shape[1])], axis=1
    )


def _drawn(seed: int, size: int, samples: int) -> tuple[Floats, Floats]:
    rng = np.random.default_rng(seed)
    return rng.normal(size=(size, size, samples)), rng.normal(size=(size, samples))


def _residual(matrix: Floats, right: Floats, found: Floats) -> Floats:
    left = np.abs(np.einsum("ijs,js->is", matrix, found) - right)
    size = np.einsum("ijs,js->is", np.abs(matrix), np.abs(found)) + np.abs(right)
    return np.max(left / size, axis=0)


@pytest.mark.parametrize("samples", [1, FEW, _MANY - 1, _MANY, MANY])
@pytest.mark.parametrize("size", [1, 2, 5, 11])
def test_random_systems(size, samples):
    matrix, right = _drawn(100 * size + samples, size, samples)
    found = solve_each(matrix, right)
    assert found.shape == (size, samples)
    assert np.max(_residual(matrix, right, found)) < 1e-9
    # Where the system is well posed the unknowns agree too.
    posed = np.linalg.cond(np.moveaxis(matrix, -1, 0)) < 1e4
    assert np.any(posed)
    np.testing.assert_allclose(
        found[:, posed], _each(matrix, right)[:, posed], rtol=1e-6, atol=1e-9
    )


@settings(max_examples=40, deadline=None)
@given(
    seed=st.integers(0, 2**32 - 1),
    size=st.integers(2, 8),
    samples=st.sampled_from((3, MANY)),
    decades=st.floats(0.0, 9.0),
)
def test_badly_scaled_systems(seed, size, samples, decades):
    # A contact of milliohms beside one that is open: conductances 12 decades apart, so are rows.
    matrix, right = _drawn(seed, size, samples)
    rng = np.random.default_rng(seed + 1)
    rows = 10.0 ** rng.uniform(-decades, decades, (size, 1, samples))
    matrix, right = matrix * rows, right * rows[:, 0]
    found = solve_each(matrix, right)
    assert np.max(_residual(matrix, right, found)) < 1e-8


@pytest.mark.parametrize("samples", [FEW, MANY])
def test_pivots_that_suit_only_some_samples(samples):
    # Each sample has a zero pivot somewhere else, so that no one order serves all.
    rng = np.random.default_rng(samples)
    size = 4
    matrix = np.zeros((size, size, samples))
    for sample in range(samples):
        order = rng.permutation(size)
        matrix[np.arange(size), order, sample] = rng.uniform(1.0, 2.0, size)
    right = rng.normal(size=(size, samples))
    found = solve_each(matrix, right)
    np.testing.assert_allclose(found, _each(matrix, right), rtol=1e-12)


@pytest.mark.parametrize("samples", [FEW, MANY])
def test_tiny_pivot_beside_great_ones(samples):
    # The textbook trap: without an exchange of rows the answer is lost to rounding.
    matrix = np.zeros((2, 2, samples))
    matrix[0, 0], matrix[0, 1], matrix[1, 0], matrix[1, 1] = 1e-20, 1.0, 1.0, 1.0
    right = np.tile([[1.0], [2.0]], samples)
    np.testing.assert_allclose(solve_each(matrix, right), np.ones((2, samples)), rtol=1e-12)


@pytest.mark.parametrize("samples", [FEW, MANY])
def test_singular_systems_are_nan_and_the_others_are_solved(samples):
    matrix, right = _drawn(77, 4, samples)
    matrix[:, :, 5] = 0.0
    matrix[2, :, 17] = 0.0
    matrix[:, 1, 23] = 0.0
    found = solve_each(matrix, right)
    bad = [5, 17, 23]
    assert np.all(np.any(np.isnan(found[:, bad]), axis=0))
    good = np.delete(np.arange(samples), bad)
    assert np.max(_residual(matrix[..., good], right[:, good], found[:, good])) < 1e-9


@pytest.mark.parametrize("samples", [FEW, MANY])
def test_all_singular(samples):
    _, right = _drawn(78, 3, samples)
    assert np.all(np.isnan(solve_each(np.zeros((3, 3, samples)), right)))


@pytest.mark.parametrize("samples", [FEW, MANY])
def test_nothing_given_is_changed(samples):
    matrix, right = _drawn(79, 5, samples)
    before, side = matrix.copy(), right.copy()
    solve_each(matrix, right)
    np.testing.assert_array_equal(matrix, before)
    np.testing.assert_array_equal(right, side)


def test_both_ways_agree():
    matrix, right = _drawn(80, 6, MANY)
    together = solve_each(matrix, right)
    parts = [solve_each(matrix[..., s : s + 40], right[:, s : s + 40]) for s in range(0, MANY, 40)]
    posed = np.linalg.cond(np.moveaxis(matrix, -1, 0)) < 1e4
    np.testing.assert_allclose(
        together[:, posed], np.concatenate(parts, axis=1)[:, posed], rtol=1e-8, atol=1e-11
    )


def test_sparse_pattern_with_fill_in():
    # An arrow: eliminating its head first fills every place.
    size = 7
    rng = np.random.default_rng(81)
    matrix = np.zeros((size, size, MANY))
    matrix[0], matrix[:, 0] = rng.uniform(0.5, 1.0, (2, size, MANY))
    for place in range(1, size):
        matrix[place, place] = rng.uniform(3.0, 4.0, MANY)
    right = rng.normal(size=(size, MANY))
    np.testing.assert_allclose(solve_each(matrix, right), _each(matrix, right), rtol=1e-9)
