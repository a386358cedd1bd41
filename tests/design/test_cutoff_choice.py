"""All kinds of cutoff side by side, and the one that is taken."""

from dataclasses import replace
from functools import cache

import pytest
from tests.design.cutoffs import DRAWER, FAMILIES, design_of, wish_of

from boomwright.design.cutoff.choice import (
    CutoffChoice,
    best_choice,
    compare_cutoffs,
    compare_modules,
)
from boomwright.errors import InputError


@cache
def compared():
    steps = []
    with pytest.MonkeyPatch.context() as patch:
        # What is tested here does not rest on how many versions there are.
        patch.setattr("boomwright.design.cutoff.choice._VERSIONS", 4)
        return compare_cutoffs(wish_of("3S 5 Ah Li-ion"), DRAWER, step=steps.append), steps


def test_every_kind_is_there_in_order():
    choices, steps = compared()
    assert tuple(choice.family for choice in choices) == FAMILIES
    assert steps == list(FAMILIES)


def test_kind_that_cannot_serve_says_why():
    (refused,) = [choice for choice in compared()[0] if choice.design is None]
    assert refused.family == "reference-relay"
    assert refused.level == "stop"
    assert "sure to pull in" in refused.problems[0].says


def test_level_is_the_worst_remark():
    for choice in compared()[0]:
        if choice.design is not None:
            levels = {remark.level for remark in choice.design.design.remarks}
            worst = next(level for level in ("stop", "mind", "fine") if level in levels)
            assert choice.level == worst


def test_best_has_no_more_faults_than_any_other():
    found = [choice.design for choice in compared()[0] if choice.design is not None]

    def faults(design):
        squares = {"fine": 0, "mind": 1, "stop": 4}
        return sum(squares[remark.level] for remark in design.design.remarks)

    best = best_choice(compared()[0])
    # Nearness and drain weigh less than one thing to mind each, unless they are out of all bounds.
    assert faults(best) <= min(faults(design) for design in found) + 1


def test_best_of_equals_takes_least():
    choices = tuple(
        CutoffChoice(family, design_of(family))
        for family in ("comparator-relay", "comparator-mosfet")
    )
    assert best_choice(choices).circuit.family == "comparator-mosfet"


def test_none_that_serves_gives_every_reason():
    refused = next(choice for choice in compared()[0] if choice.design is None)
    both = (refused, replace(refused, family="comparator-relay"))
    with pytest.raises(InputError) as caught:
        best_choice(both)
    assert [problem.key for problem in caught.value.problems] == [
        "reference-relay",
        "comparator-relay",
    ]


def test_modules_are_near_strong_enough_and_nearest_first():
    wish = wish_of("12 V 9 Ah AGM", off=11.5)
    modules = compare_modules(wish, DRAWER)
    assert modules
    away = [abs(module.off.likely - 11.5) for module in modules]
    assert away == sorted(away)
    for module in modules:
        part = DRAWER.part("cutoff", module.part)
        assert abs(part.off.likely - 11.5) <= 0.05 * 11.5
        assert part.rating.low >= wish.peak_current
        assert module.latching == part.latching
        assert not (module.latching and module.run.chatters)


def test_no_module_is_near_an_unusual_wish():
    assert compare_modules(wish_of("24 V 12 Ah AGM", off=20.4), DRAWER) == ()
