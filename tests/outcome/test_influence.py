import numpy as np
import pytest
from scipy.stats import spearmanr
from tests.outcome.builds import GUESSED, Row, build_of

from boomwright.build.draws import Draws
from boomwright.build.quantities import parse_quantity
from boomwright.outcome.data import Outcome
from boomwright.outcome.influence import influences, noise_share, rank_correlation
from boomwright.outcome.run import run_build


def drawn(count, **texts):
    """Draws, and three voltages of them by name; all ranges even on both sides."""
    draws = Draws(count)
    return draws, {
        name: draws.take("part", name, parse_quantity(text, "voltage"))[:, 0]
        for name, text in texts.items()
    }


def test_shares_of_a_linear_result_are_the_shares_of_its_variance():
    # Weights 1, 2 and 3 over equal ranges: variances as 1, 4 and 9.
    draws, v = drawn(2500, one="11 V ±1 V", two="13 V ±1 V", three="17 V ±1 V")
    found = influences(draws, {"long": v["one"] + 2 * v["two"] - 3 * v["three"]})
    shares = {item.field: item.shares["long"] for item in found}
    assert list(shares) == ["three", "two", "one"]
    # Spearman's square lies within a few hundredths of the share of variance for such sums.
    expected = {"one": 1 / 14, "two": 4 / 14, "three": 9 / 14}
    assert shares == pytest.approx(expected, abs=0.04)


def test_any_rising_or_falling_result_follows_its_only_input_wholly():
    draws, v = drawn(60, one="11 V ±1 V")
    found = influences(draws, {"long": np.exp(-3 * v["one"]), "hot": v["one"] ** 5})
    assert found[0].shares == pytest.approx({"long": 1.0, "hot": 1.0}, rel=1e-12)


@pytest.mark.parametrize("levels", [7, 3, 1000])
def test_rank_correlation_is_that_of_scipy_with_ties_too(levels):
    generator = np.random.default_rng(levels)
    one, other = generator.integers(0, levels, (2, 160)).astype(float)
    other += one
    assert rank_correlation(one, other) == pytest.approx(spearmanr(one, other)[0], rel=1e-12)


def test_rank_correlation_broadcasts_and_survives_what_does_not_vary():
    values = np.random.default_rng(4).normal(size=(5, 31))
    shares = rank_correlation(values[:, np.newaxis], values[:3])
    assert shares.shape == (5, 3)
    assert np.diag(shares) == pytest.approx(np.ones(3), rel=1e-12)
    assert rank_correlation(values[0], np.full(31, np.inf)) == 0.0


def test_what_has_no_part_in_a_result_is_left_out():
    draws, v = drawn(160, one="11 V ±1 V", two="13 V ±1 V")
    found = influences(draws, {"long": v["one"], "loud": np.full(161, np.inf)})
    assert [(item.field, list(item.shares)) for item in found] == [("one", ["long"])]
    assert found[0].shares["long"] > noise_share(160) == pytest.approx(9 / 159, rel=1e-12)


def test_range_is_printed_and_its_width_kept():
    draws, v = drawn(20, one="12 V [11 to 15] (guess)")
    (found,) = influences(draws, {"long": v["one"]})
    assert (found.part, found.kind, found.basis) == ("part", "voltage", "guess")
    assert (found.low, found.likely, found.high) == ("11 V", "12 V", "15 V")
    assert found.spread == pytest.approx(4 / 12, rel=1e-12)
    assert found.greatest == pytest.approx(1.0, rel=1e-12)


def test_nothing_follows_from_too_few_versions():
    draws, v = drawn(2, one="11 V ±1 V")
    assert influences(draws, {"long": v["one"]}) == ()
    assert run_build(build_of(GUESSED), versions=0).influences == ()


def test_a_run_names_what_widens_it_and_survives_json():
    outcome = run_build(build_of(GUESSED), versions=80)
    fields = {item.field: item.shares for item in outcome.influences}
    assert {"health", "sensitivity"} <= set(fields)
    assert fields["sensitivity"]["loud"] > 0.5
    assert "loud" not in fields["health"]
    greatest = [item.greatest for item in outcome.influences]
    assert greatest == sorted(greatest, reverse=True)
    assert Outcome.from_json(outcome.to_json()).influences == outcome.influences


def test_draws_remember_each_uncertain_quantity_once():
    draws = Draws(9)
    one = parse_quantity("7 Ah", "charge")
    values = draws.take("battery", "capacity", one)
    assert draws.take("battery", "capacity", one) is values
    draws.take("battery", "cells", parse_quantity("7 Ah (standard)", "charge"))
    assert [(item.part, item.field, item.quantity) for item in draws.taken] == [
        ("battery", "capacity", one)
    ]
    with pytest.raises(ValueError, match="read-only"):
        values[0, 0] = 3.0
    assert Row(draws, 4).take("battery", "capacity", one) == values[4, 0]
