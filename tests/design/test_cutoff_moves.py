"""Moves, trimmer and calibration: what they tell is done, and comes true."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from tests.design.cutoffs import (
    DRAWER,
    FAMILIES,
    design_of,
    likely_of,
    soldered,
    solved,
    wish_of,
)

from boomwright.build.devices import Spread, cutoff_values
from boomwright.build.draws import Draws
from boomwright.build.quantities import parse_quantity
from boomwright.design.cutoff.calibration import calibration_of
from boomwright.design.cutoff.moves import best_move, designator_of
from boomwright.design.cutoff.spread import corner_of, influences_of, thresholds_of
from boomwright.errors import InputError


@pytest.mark.parametrize("family", FAMILIES)
def test_each_move_made_by_itself_gives_the_told_voltage(family):
    found = design_of(family)
    assert len(found.moves) >= 8
    before = float(found.solved.off[0])
    for move in found.moves:
        after = move.after
        value = after if move.field == "zener" else parse_quantity(after, "resistance")
        other = found.circuit.model_copy(update={move.field: value})
        made = thresholds_of(other, DRAWER, corner_of({}, 1), found.wish)
        assert move.off_before == pytest.approx(before, abs=1e-3)  # V
        assert move.off_after == pytest.approx(float(made.off[0]), abs=2e-3)  # V
        assert move.on_after == pytest.approx(float(made.on[0]), abs=2e-3, nan_ok=True)  # V
        assert move.before == str(getattr(found.circuit, move.field)).removesuffix(" ±1 %")


@pytest.mark.parametrize("family", FAMILIES)
def test_moves_are_sorted_and_the_best_is_nearest(family):
    found = design_of(family)
    volts = [move.off_after for move in found.moves]
    assert volts == sorted(volts)
    aim = volts[0] + 0.01
    chosen = best_move(found.moves, aim)
    assert abs(chosen.off_after - aim) == min(abs(value - aim) for value in volts)
    assert best_move(found.moves, found.moves[0].off_before) is None


@pytest.mark.parametrize("family", [name for name in FAMILIES if name != "reference-mosfet"])
def test_ends_of_the_trimmer_bring_the_builds_to_the_wish(family):
    found = design_of(family)
    trim, wish = found.trimmer, found.wish
    spread = Spread(Draws(150, seed=23), "cutoff")
    load = wish.highest / wish.load_current
    values = cutoff_values(found.circuit, DRAWER, spread, load_resistance=load)
    size = spread.draws.versions
    # Turned far up, some builds never come on; what counts is a setting before that.
    settings = trim.fixed + trim.trimmer * np.linspace(0.0, 1.0, 11 if "zener" in family else 2)
    offs = np.stack(
        [
            solved(family, replace(values, **{trim.field: np.full(size, ohms)}), wish).off
            for ohms in settings
        ]
    )
    below = np.any(offs <= wish.off, axis=0)
    above = np.any(offs >= wish.off, axis=0)
    reached = float(np.mean(below & above))
    assert reached == pytest.approx(trim.covers, abs=0.06)
    if trim.low > 0.0:
        assert reached >= 0.96


@pytest.mark.parametrize("family", [name for name in FAMILIES if name != "reference-mosfet"])
def test_trimmer_stands_for_the_resistor_of_the_upper_branch(family):
    trim = design_of(family).trimmer
    assert trim.designator == "R1"
    assert trim.fixed >= 10.0
    assert trim.low <= trim.high <= (trim.fixed + trim.trimmer) * (1.0 + 1e-9)


# Calibration: a circuit with one part off by a known amount, told only by its thresholds.

BOARD = soldered(
    "zener-relay",
    relay="relay-12v-400ohm",
    zener="1N4740A",
    series_resistor="4.7 kΩ",
    base_resistor="10 kΩ",
)


@cache
def board_influences():
    return influences_of(BOARD, DRAWER, wish_of())


def explained(**changes):
    """Thresholds of the board with a part changed, and the calibration that they lead to."""
    wish = wish_of()
    found = solved("zener-relay", replace(likely_of(BOARD, wish), **changes), wish)
    off, on = float(found.off[0]), float(found.on[0])
    calibration = calibration_of(BOARD, DRAWER, wish, board_influences(), off=off, on=on)
    return off, on, calibration, [field for field, *_ in calibration.suspects]


def zener(share):
    part = likely_of(BOARD, wish_of()).zener
    return replace(part, voltage=part.voltage * share)


def gain(value):
    return replace(likely_of(BOARD, wish_of()).transistor, gain=np.array([value]))


@pytest.mark.parametrize(
    ("changes", "field"),
    [({"zener": zener(0.97)}, "zener.voltage"), ({"transistor": gain(300.0)}, "transistor.gain")],
    ids=["zener 3 % low", "gain 300"],
)
def test_calibration_finds_the_part(changes, field):
    off, on, calibration, suspects = explained(**changes)
    assert field in suspects[:2]
    assert calibration.off_fitted == pytest.approx(off, abs=0.02)  # V
    assert calibration.on_fitted == pytest.approx(on, abs=0.02)  # V
    assert calibration.fits


def test_calibration_tells_how_far_the_zener_is_off():
    _, _, calibration, suspects = explained(zener=zener(0.97))
    _, value, place, share = calibration.suspects[suspects.index("zener.voltage")]
    # Less than the whole of it: what is unusual in one part is likelier to be shared by several.
    assert 9.65 < parse_quantity(value, "voltage").likely < 9.9
    assert place == pytest.approx((parse_quantity(value, "voltage").likely - 10.0) / 0.5, abs=0.03)
    assert 0.3 < share <= 1.0


def test_calibration_finds_a_resistor_of_a_wrong_value():
    off, on, calibration, suspects = explained(series_resistor=np.array([5.6e3]))
    assert "series_resistor" in suspects[:2]
    assert calibration.off_fitted == pytest.approx(off, abs=0.02)  # V
    assert calibration.on_fitted == pytest.approx(on, abs=0.02)  # V


@pytest.mark.parametrize(("off", "on"), [(6.1, 6.9), (13.9, 14.6), (11.4, 14.5)])
def test_reading_that_nothing_explains_is_said_to_be_one(off, on):
    calibration = calibration_of(BOARD, DRAWER, wish_of(), board_influences(), off=off, on=on)
    assert not calibration.fits


def test_moves_of_a_calibrated_board_start_from_where_it_stands():
    off, _, calibration, _ = explained(zener=zener(0.97))
    assert len(calibration.moves) == 3
    for move in calibration.moves:
        assert move.off_before == pytest.approx(off, abs=0.02)  # V
    nearest = calibration.moves[0]
    assert abs(nearest.off_after - 11.4) < abs(off - 11.4)


def test_off_alone_can_be_calibrated():
    wish = wish_of()
    usual = thresholds_of(BOARD, DRAWER, corner_of({}, 1), wish)
    off = float(usual.off[0])
    calibration = calibration_of(BOARD, DRAWER, wish, board_influences(), off=off - 0.2)
    assert calibration.fits
    assert np.isnan(calibration.on)
    assert calibration.off_fitted == pytest.approx(off - 0.2, abs=0.02)  # V


@pytest.mark.parametrize(
    ("family", "reading", "got"),
    [
        ("zener-relay", {"off": 11.3, "on": 10.9}, "on 10.9 V, off 11.3 V"),
        ("zener-relay-holding", {"off": 11.3, "on": 12.1}, "12.1 V"),
        ("zener-relay", {"off": 47.5}, "47.5 V"),
        ("zener-relay", {"off": -1.25}, "-1.25 V"),
    ],
)
def test_reading_that_cannot_be_is_refused(family, reading, got):
    found = design_of(family)
    with pytest.raises(InputError) as caught:
        calibration_of(found.circuit, DRAWER, found.wish, found.influences, **reading)
    assert got in [problem.got for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("family", "field", "name"),
    [
        ("zener-relay", "zener.voltage", "D1"),
        ("zener-relay-feedback", "feedback_resistor", "R4"),
        ("reference-relay", "feedback_resistor", "R3"),
        ("comparator-mosfet", "reference_resistor", "R6"),
    ],
)
def test_fields_have_the_designator_of_the_drawing(family, field, name):
    found = design_of(family)
    assert designator_of(found.circuit, field) == name
    assert name in {part.name for part in found.design.netlist.parts}
