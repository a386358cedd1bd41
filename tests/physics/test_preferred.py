"""Preferred numbers: lists, rounding, decades."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boomwright.physics.preferred import (
    nearest_preferred,
    preferred_at_least,
    preferred_at_most,
    preferred_values,
    series_tolerance,
)

ALL = ["E6", "E12", "E24", "E96"]


@pytest.mark.parametrize("series", ALL)
def test_a_series_has_as_many_values_as_its_name_says(series):
    values = preferred_values(series)
    assert values.shape == (int(series[1:]),)
    assert np.all(np.diff(values) > 0.0)
    assert values[0] == 1.0
    assert values[-1] < 10.0


@pytest.mark.parametrize(("small", "large"), [("E6", "E12"), ("E12", "E24")])
def test_a_coarse_series_is_every_second_value_of_the_finer(small, large):
    assert preferred_values(small).tolist() == preferred_values(large)[::2].tolist()


@pytest.mark.parametrize("series", ALL)
@pytest.mark.parametrize("exponent", [-12, -6, -1, 0, 3, 7])
def test_a_listed_value_is_its_own_neighbour_to_the_last_bit(series, exponent):
    values = np.array([float(f"{v}e{exponent}") for v in preferred_values(series)])
    for law in (nearest_preferred, preferred_at_least, preferred_at_most):
        assert law(values, series).tolist() == values.tolist()


@given(value=st.floats(1e-12, 1e9), series=st.sampled_from(ALL))
def test_neighbours_enclose_and_the_nearest_is_one_of_them(value, series):
    low = float(preferred_at_most(value, series))
    high = float(preferred_at_least(value, series))
    nearest = float(nearest_preferred(value, series))
    assert low <= value * (1.0 + 2e-9)
    assert high >= value * (1.0 - 2e-9)
    assert nearest in (low, high)
    assert max(nearest / value, value / nearest) <= min(value / low, high / value) * (1.0 + 1e-8)


@given(value=st.floats(1e-9, 1e8), series=st.sampled_from(ALL))
def test_ten_times_the_value_is_ten_times_the_answer(value, series):
    once = float(preferred_at_least(value, series))
    assert float(preferred_at_least(10.0 * value, series)) == pytest.approx(10.0 * once, rel=1e-8)


@pytest.mark.parametrize("exponent", [-3, 0, 4])
def test_just_under_and_over_a_decade(exponent):
    decade = float(f"1e{exponent}")
    for step in (1e-13, 1e-10, 1e-5):
        assert float(preferred_at_least(decade * (1.0 - step), "E24")) == pytest.approx(
            decade, rel=1e-12
        )
        assert float(preferred_at_most(decade * (1.0 + step), "E24")) == pytest.approx(
            decade, rel=1e-12
        )
    assert float(preferred_at_most(decade * (1.0 - 1e-5), "E24")) == pytest.approx(
        0.91 * decade, rel=1e-12
    )


def test_a_rounding_error_above_a_listed_value_does_not_skip_it():
    assert float(preferred_at_least(4700.0 * (1.0 + 1e-12), "E12")) == 4700.0
    assert float(preferred_at_most(4700.0 * (1.0 - 1e-12), "E12")) == 4700.0


def test_shape_is_kept():
    values = np.array([[1.1, 22.0, 470.0], [0.33, 6.0, 9.6e5]])
    assert nearest_preferred(values, "E12").shape == (2, 3)
    assert nearest_preferred(3.0, "E12").shape == ()


@pytest.mark.parametrize("wrong", [0.0, -3.0, np.inf, np.nan])
def test_values_must_be_positive_and_finite(wrong):
    with pytest.raises(ValueError, match=f"got {wrong:g}"):
        nearest_preferred(np.array([2.0, wrong]), "E24")


def test_an_unknown_series_is_named():
    with pytest.raises(ValueError, match="got 'E13'"):
        preferred_values("E13")
    with pytest.raises(ValueError, match="got 'E13'"):
        series_tolerance("E13")
