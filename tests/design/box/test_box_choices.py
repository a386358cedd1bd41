"""Boxes proposed: the right kinds, the alignments' own numbers, and what is said about them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.design.box.boxes import wish

from boomwright.build.quantities import parse_quantity
from boomwright.design.box.choices import BoxDesign, choice_of, proposed
from boomwright.design.box.curves import box_curves
from boomwright.design.box.remarks import box_remarks, driver_remarks
from boomwright.design.box.wish import subject_of
from boomwright.errors import InputError
from boomwright.physics.enclosure import closed_box
from boomwright.physics.limits import LIMITS


def proposals(asked):
    likely = subject_of(asked, versions=0)
    return likely, proposed(asked, subject=likely)


def by_title(designs, word):
    return next(design for design in designs if word in design.title)


def test_kinds_that_were_asked_for():
    for kinds in (("closed",), ("vented",), ("radiator",)):
        _, designs = proposals(wish(largest=0.030, kinds=kinds))
        assert {design.kind for design in designs} == set(kinds)
    _, designs = proposals(wish(largest=0.030))
    assert {design.kind for design in designs} == {"closed", "vented", "radiator"}


def test_no_box_is_larger_than_allowed():
    for largest in (0.006, 0.017, 0.060):
        _, designs = proposals(wish(largest=largest))
        assert max(design.volume for design in designs) <= largest * (1.0 + 1e-9)


def test_closed_boxes_reach_their_qtc():
    """Small's closed box, worked out the other way round."""
    _, designs = proposals(wish(largest=0.050, resistance=0.0, kinds=("closed",)))
    qts = 4.4 * 0.39 / (4.4 + 0.39)
    for title, qtc in (("0.58", 0.577), ("0.71", 0.707), ("0.85", 0.85), ("qtc 1", 1.0)):
        design = by_title(designs, title)
        box = closed_box(fs=41.0, qts=qts, vas=0.021, volume=design.volume)
        assert float(box.qtc) == pytest.approx(qtc, rel=1e-6)


def test_named_alignment_has_its_published_numbers():
    """Qts 0.30, QL 7: alpha 2.845, h 1.315, f3 1.573 fs (Small 1973, equations from memory)."""
    asked = wish(
        largest=0.030,
        resistance=0.0,
        changed={"qes": ("0.4", "ratio"), "qms": ("1.2", "ratio")},
    )
    likely, designs = proposals(asked)
    design = by_title(designs, "QB3")
    assert 0.021 / design.volume == pytest.approx(2.845, rel=0.002)
    assert design.fb / 41.0 == pytest.approx(1.315, rel=0.002)
    assert choice_of(design, asked, likely).f3.likely / 41.0 == pytest.approx(1.573, rel=0.005)


class TestChoice:
    asked = wish(largest=0.028)

    def test_battery_states_fall_by_their_volts(self):
        likely, designs = proposals(self.asked)
        for design in designs:
            levels = choice_of(design, self.asked, likely).levels
            full, half, empty = (level.likely for level in levels)
            assert full >= half >= empty
            assert full - empty <= 20.0 * np.log10(12.3 / 9.4) + 1e-9

    def test_opening_gains_bass(self):
        likely, designs = proposals(self.asked)
        best = next(design for design in designs if design.vent and "best" in design.title)
        choice = choice_of(best, self.asked, likely)
        assert choice.gains
        assert choice.f3.likely < choice.f3_closed / 1.1

    def test_inside_holds_everything_and_outside_the_boards(self):
        likely, designs = proposals(self.asked)
        for design in designs:
            choice = choice_of(design, self.asked, likely)
            vent = design.vent.taken(0.015) if design.vent else 0.0
            assert choice.inside == pytest.approx(1.03 * design.volume + 0.0006 + vent)
            inner = np.prod([side - 0.030 for side in choice.outside])
            assert float(inner) == pytest.approx(choice.inside)

    def test_ranges_hold_the_likely_value(self):
        asked = wish(largest=0.028, versions=40)
        uncertain = asked.driver.model_copy(
            update={"qes": parse_quantity("0.39 [0.33 to 0.47]", "ratio")}
        )
        asked = replace(asked, driver=uncertain)
        choice = choice_of(proposals(asked)[1][0], asked, subject_of(asked))
        for figure in (choice.f3, choice.quality, choice.levels[0]):
            assert figure.low <= figure.likely <= figure.high
        assert choice.quality.high > choice.quality.low * 1.1


class TestRemarks:
    def test_high_qts_makes_a_vent_a_mistake(self):
        for qes, level in (("0.39", None), ("0.66", "mind"), ("1.1", "stop")):
            asked = wish(largest=0.028, changed={"qes": (qes, "ratio")})
            remarks = driver_remarks(asked, subject_of(asked, versions=0))
            found = [remark.level for remark in remarks if "qts" in remark.says]
            assert found == ([level] if level else [])

    def test_efficiency_bandwidth(self):
        asked = wish(changed={"qes": ("0.95", "ratio")})
        says = " ".join(item.says for item in driver_remarks(asked, subject_of(asked, versions=0)))
        assert "43 Hz" in says
        asked = wish(changed={"qes": ("0.3", "ratio")})
        says = " ".join(item.says for item in driver_remarks(asked, subject_of(asked, versions=0)))
        assert "137 Hz" in says

    def test_bass_that_is_missed_is_told(self):
        asked = wish(largest=0.012, low_end=30.0, kinds=("closed",))
        likely, designs = proposals(asked)
        choice = choice_of(designs[0], asked, likely)
        assert choice.f3.likely > 30.0
        says = [remark.says for remark in box_remarks(choice, asked)]
        assert any("30 Hz wanted" in text for text in says)

    def test_vented_box_without_a_vent_stops(self):
        asked = wish()
        choice = choice_of(BoxDesign("vented", "QB3", 0.003, 38.0), asked, subject_of(asked))
        stops = [item.says for item in box_remarks(choice, asked) if item.level == "stop"]
        assert any("3 L" in text and "38 Hz" in text for text in stops)


def test_driver_that_says_too_little_is_refused():
    with pytest.raises(InputError, match="lacks vas, xmax"):
        subject_of(wish(changed={"vas": None, "xmax": None}))


class TestCurves:
    def test_impedance_dips_at_the_tuning_and_travel_too(self):
        asked = wish(largest=0.028)
        likely, designs = proposals(asked)
        design = next(item for item in designs if item.vent and "best" in item.title)
        curves = box_curves(design, asked, likely)
        near = (curves.frequency > 0.8 * design.fb) & (curves.frequency < 1.25 * design.fb)
        hertz = curves.frequency[near]
        for values in (curves.impedance, curves.travel):
            at = hertz[int(np.argmin(values[near]))]
            assert at == pytest.approx(design.fb, rel=0.05)

    def test_clean_levels_meet_their_limit(self):
        asked = wish(largest=0.028)
        likely, designs = proposals(asked)
        curves = box_curves(designs[0], asked, likely)
        travel = curves.ruling[0] == LIMITS.index("travel")
        # Where the travel rules the full battery drives the cone beyond it.
        assert np.any(travel)
        assert np.all(curves.travel[travel] > 0.0045)
        assert np.all(np.diff(curves.clean, axis=0) <= 1e-9)
        assert curves.vent_speed is None
