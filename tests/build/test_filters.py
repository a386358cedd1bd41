"""Steps of a passive filter: what is read, and what is refused with its reason."""

from __future__ import annotations

import pytest
from tests.build.readings import SHORT, only

from boomwright.build.filters import parse_filter_step
from boomwright.build.read import parse_build
from boomwright.errors import QuantityError


def test_capacitor_with_kind_and_volts():
    (part,) = parse_filter_step("series 6.8 µF bipolar 63 V").components
    assert (part.kind, part.material) == ("capacitor", "bipolar")
    assert part.value.likely == pytest.approx(6.8e-6)
    assert part.rating is not None
    assert part.rating.likely == 63.0
    # Nothing better is written, so it is as wide as what is sold.
    assert (part.value.low, part.value.high) == pytest.approx((6.12e-6, 7.48e-6))


def test_coil_with_its_wire():
    step = parse_filter_step("across 0.33 mH 0.4 Ω")
    (part,) = step.components
    assert (step.place, part.kind) == ("across", "coil")
    assert part.value.likely == pytest.approx(0.33e-3)
    assert part.winding is not None
    assert part.winding.likely == pytest.approx(0.4)


def test_stated_tolerance_is_kept():
    (part,) = parse_filter_step("series 2.2 Ω ±1 % 5 W").components
    assert (part.value.low, part.value.high) == pytest.approx((2.178, 2.222))
    assert part.rating is not None
    assert part.rating.likely == 5.0


def test_chain_in_series():
    step = parse_filter_step("across 6.8 Ω 7 W + 12 µF + 0.2 mH")
    assert [part.kind for part in step.components] == ["resistor", "capacitor", "coil"]
    assert not step.blocks_bass
    assert str(step) == "across 6.8 Ω 7 W + 12 µF + 0.2 mH"


def test_only_a_capacitor_in_the_way_blocks_bass():
    assert parse_filter_step("series 4.7 µF").blocks_bass
    assert not parse_filter_step("across 4.7 µF").blocks_bass
    assert not parse_filter_step("series 0.5 mH").blocks_bass


@pytest.mark.parametrize(
    ("text", "says", "more"),
    [
        ("6.8 µF", "without its place", "series"),
        ("serie 6.8 µF", "without its place", "series"),
        ("series", "without a component", "series 6.8 µF"),
        ("across 6.8 Ω +", "without a component", "value with its unit"),
        ("series 6,8 µF", "comma", "dot"),
        ("series 6.8", "'6.8' is no component", "µF"),
        ("series 6.8 V", "'6.8 V' is no component", "mH"),
        ("series 0.5 mH 0.4 Ω 2 Ω", "'2 Ω' is one too many", "wire"),
        ("series 6.8 µF flim", "'flim' is one too many", "film"),
        ("series 6.8 µF 0 V", "'0 V' must be above zero", "volts"),
        ("series 5 H", "cannot be right in a filter", "100 mH"),
        ("series 4.7 F", "cannot be right in a filter", "10 mF"),
        ("series 2.2 Ω 5 V", "'5 V'", "watts"),
    ],
)
def test_refused_with_the_reason(text, says, more):
    with pytest.raises(QuantityError) as caught:
        parse_filter_step(text)
    (problem,) = caught.value.problems
    assert says in problem.says
    assert repr(text) in problem.got
    assert more in f"{problem.expected} {problem.hint}"


def test_in_a_file_the_line_and_key_are_named():
    problem = only(SHORT + 'filter = [\n  "series 6.8 µF",\n  "accross 0.3 mH",\n]\n')
    assert "without its place" in problem.says
    assert problem.key == "driver.filter[1]" or "filter" in problem.key
    assert "accross" in problem.got


@pytest.mark.parametrize("value", ["3", "true", '"series 4.7 µF"', "[3]"])
def test_not_a_list_of_steps(value):
    problem = only(SHORT + f"filter = {value}\n")
    assert "filter" in problem.key


def test_steps_in_order():
    build = parse_build(SHORT + 'filter = ["series 4.7 µF", "across 0.3 mH", "series 1.5 Ω"]\n')
    kinds = [step.components[0].kind for step in build.driver[0].filter]
    assert kinds == ["capacitor", "coil", "resistor"]
