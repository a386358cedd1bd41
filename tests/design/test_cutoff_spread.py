"""Tolerances of a cutoff against thousands of versions, the two laws by hand, and a fresh count."""

from functools import cache

import numpy as np
import pytest
from tests.design.cutoffs import DRAWER, FAMILIES, design_of

from boomwright.build.soldered import solved_cutoff
from boomwright.design.cutoff.design import TEMPERATURES
from boomwright.design.cutoff.spread import corner_of, thresholds_of

MANY = 3000


@cache
def many_of(family):
    found = design_of(family)
    return solved_cutoff(
        found.circuit,
        DRAWER,
        highest=found.wish.highest,
        load_current=found.wish.load_current,
        versions=MANY,
        seed=17,
    )


def influence(family, field):
    return next(item for item in design_of(family).influences if item.field == field)


@pytest.mark.parametrize("family", FAMILIES)
def test_worst_case_encloses_every_one_of_three_thousand(family):
    found, versions = design_of(family), many_of(family)
    low, high = found.worst_off
    assert versions.off.size == MANY + 1
    assert low < np.min(versions.off)
    assert np.max(versions.off) < high
    if family == "zener-relay-holding":
        assert np.all(np.isnan(versions.on))
        return
    low, high = found.worst_on
    assert low < np.nanmin(versions.on)
    # Not a number: with everything at its worst it never comes back at all.
    assert np.isnan(high) or np.max(versions.on) < high


@pytest.mark.parametrize("family", FAMILIES)
def test_yield_is_the_share_counted_by_hand(family):
    found = design_of(family)
    near = sum(1 for volts in found.solved.off if abs(volts - found.wish.off) <= 0.285)
    assert found.wish.off == pytest.approx(11.4)
    assert found.share_within == pytest.approx(near / len(found.solved.off), rel=1e-12)
    # Other draws of the same tolerances tell the same.
    other = float(np.mean(np.abs(many_of(family).off - 11.4) <= 0.285))
    assert found.share_within == pytest.approx(other, abs=0.06)


@pytest.mark.parametrize("family", [name for name in FAMILIES if name.startswith("zener")])
def test_zener_moves_the_threshold_by_as_much_as_itself(family):
    item = influence(family, "zener.voltage")
    # A 10 V zener, 5 % up and down; all else in the loop stays at its current.
    assert item.quantity.likely == pytest.approx(10.0)
    assert item.off_high == pytest.approx(0.05 * 10.0, rel=0.02)
    assert item.off_low == pytest.approx(-0.05 * 10.0, rel=0.02)


def divided(circuit, **changes):
    """Volts at which the sensing pin stands at its own: off with the load fed, on without."""
    top, bottom, back = (
        changes.get(name, getattr(circuit, name).likely)
        for name in ("divider_top", "divider_bottom", "feedback_resistor")
    )
    volts = changes.get("volts", 2.495)
    fed = 1.0 / (1.0 / top + 1.0 / back)
    return volts + volts / bottom * fed, volts + top * (volts / bottom + volts / back)


@pytest.mark.parametrize(
    "family", ["reference-relay", "reference-mosfet", "comparator-relay", "comparator-mosfet"]
)
@pytest.mark.parametrize("field", ["divider_top", "divider_bottom"])
def test_divider_moves_the_thresholds_by_its_own_law(family, field):
    item = influence(family, field)
    ohms, circuit = item.quantity, design_of(family).circuit
    off, on = divided(circuit)
    off_high, on_high = divided(circuit, **{field: ohms.high})
    off_low, on_low = divided(circuit, **{field: ohms.low})
    # The pin's own current, left out here, is a hundredth of the divider's.
    assert item.off_high == pytest.approx(off_high - off, rel=0.04)
    assert item.off_low == pytest.approx(off_low - off, rel=0.04)
    assert item.on_high == pytest.approx(on_high - on, rel=0.04)
    assert item.on_low == pytest.approx(on_low - on, rel=0.04)


@pytest.mark.parametrize("family", ["reference-relay", "comparator-mosfet"])
def test_reference_moves_the_thresholds_by_the_dividers_ratio(family):
    item, circuit = influence(family, "reference.voltage"), design_of(family).circuit
    spread = item.quantity
    off_high, on_high = divided(circuit, volts=spread.high)
    off_low, on_low = divided(circuit, volts=spread.low)
    assert item.off_high - item.off_low == pytest.approx(off_high - off_low, rel=0.02)
    assert item.on_high - item.on_low == pytest.approx(on_high - on_low, rel=0.02)


@pytest.mark.parametrize("family", ["zener-relay-emitter", "comparator-relay"])
def test_influences_are_finite_differences_of_the_thresholds(family):
    found = design_of(family)
    usual = thresholds_of(found.circuit, DRAWER, corner_of({}, 1), found.wish)
    for item in found.influences:
        for side, off, on in (
            (-1.0, item.off_low, item.on_low),
            (1.0, item.off_high, item.on_high),
        ):
            corner = corner_of({item.field: np.array([side])}, 1)
            moved = thresholds_of(found.circuit, DRAWER, corner, found.wish)
            assert off == pytest.approx(float(moved.off[0] - usual.off[0]), abs=1e-3)  # V
            assert on == pytest.approx(float(moved.on[0] - usual.on[0]), abs=1e-3)  # V


@pytest.mark.parametrize("family", FAMILIES)
def test_strongest_influence_comes_first_and_certain_values_are_left_out(family):
    items = design_of(family).influences
    spans = [item.off_span for item in items]
    assert spans == sorted(spans, reverse=True)
    assert not any(item.quantity.certain for item in items)
    assert len({item.field for item in items}) == len(items) >= 5


def test_corner_stands_where_it_was_put():
    found = design_of("zener-relay")
    places = {"zener.voltage": np.array([-1.0, 0.0, 0.5, 1.0])}
    moved = thresholds_of(found.circuit, DRAWER, corner_of(places, 4), found.wish).off
    steps = moved - moved[1]
    assert steps == pytest.approx([-0.5, 0.0, 0.25, 0.5], rel=0.02, abs=1e-9)


@pytest.mark.parametrize("family", FAMILIES)
def test_cold_and_hot_are_solved_at_their_own_temperatures(family):
    found = design_of(family)
    assert [kelvin for kelvin, *_ in found.by_temperature] == list(TEMPERATURES)
    usual = thresholds_of(found.circuit, DRAWER, corner_of({}, 1), found.wish)
    assert found.by_temperature[1][1] == pytest.approx(float(usual.off[0]), abs=1e-3)  # V
    lowest = min(off for _, off, _ in found.by_temperature)
    highest = max(off for _, off, _ in found.by_temperature)
    figure = found.design.figure("lets go, -10 to 50 °C")
    assert (figure.low, figure.high) == (lowest, highest)
    assert found.worst_off[0] < lowest <= highest < found.worst_off[1]
