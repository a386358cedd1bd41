import numpy as np
import pytest
from tests.outcome.builds import REAL, build_of

from boomwright.build.draws import Draws
from boomwright.build.quantities import parse_quantity

CAPACITY = parse_quantity("7 Ah [4 to 8]", "charge")


def chance(values):
    """Share of versions below each value, if both halves thin out as a triangle does."""
    low, likely, high = 4 * 3600, 7 * 3600, 8 * 3600
    below = 0.5 * ((values - low) / (likely - low)) ** 2
    above = 1 - 0.5 * ((high - values) / (high - likely)) ** 2
    return np.where(values < likely, below, above)


def test_first_version_is_the_likely_one():
    assert Draws(9).take("battery", "capacity", CAPACITY)[0, 0] == 7 * 3600


def test_each_slice_of_chance_is_met_once():
    drawn = Draws(250).take("battery", "capacity", CAPACITY)[1:, 0]
    assert sorted(np.floor(chance(drawn) * 250).astype(int)) == list(range(250))


def test_median_is_the_likely_value_and_the_ends_hold():
    drawn = Draws(1001).take("battery", "capacity", CAPACITY)[1:, 0]
    assert np.median(drawn) == pytest.approx(7 * 3600, rel=0.001)
    assert drawn.min() > 4 * 3600
    assert drawn.max() < 8 * 3600
    # Near the ends there is little: a triangle has a hundredth of its half in its last tenth.
    assert np.sum(drawn < 4.3 * 3600) == pytest.approx(1001 * 0.5 * 0.01, abs=1.01)


def test_a_part_has_the_same_draws_in_every_build():
    one = Draws(40).take("battery", "capacity", CAPACITY)
    wider = Draws(40).take("battery", "capacity", parse_quantity("70 Ah [40 to 80]", "charge"))
    np.testing.assert_allclose(wider, 10 * one, rtol=1e-12)


@pytest.mark.parametrize(("part", "field"), [("battery", "health"), ("cell", "capacity")])
def test_other_names_have_other_draws(part, field):
    draws = Draws(200)
    one = draws.uniform("battery", "capacity")
    assert abs(np.corrcoef(one, draws.uniform(part, field))[0, 1]) < 0.25


def test_another_seed_gives_another_set():
    one = Draws(30, seed=1).take("battery", "capacity", CAPACITY)
    other = Draws(30, seed=2).take("battery", "capacity", CAPACITY)
    assert one[0, 0] == other[0, 0]
    assert np.all(one[1:] != other[1:])


def test_no_versions_means_the_likely_build_alone():
    draws = Draws(0)
    assert draws.versions == 1
    assert draws.take("battery", "capacity", CAPACITY).tolist() == [[25200.0]]
    assert draws.uniform("battery", "capacity").shape == (0,)


def test_certain_values_do_not_grow_with_the_versions():
    certain = build_of(REAL).battery.capacity
    assert Draws(50).take("battery", "capacity", certain).shape == (1, 1)


def test_refuses_fewer_than_no_versions():
    with pytest.raises(ValueError, match="got -3"):
        Draws(-3)
