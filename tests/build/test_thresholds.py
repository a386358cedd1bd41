"""Usual thresholds of a cutoff by chemistry."""

from __future__ import annotations

import pytest

from boomwright.build.thresholds import usual_thresholds
from boomwright.physics.chemistry import load_chemistries


@pytest.mark.parametrize("chemistry", load_chemistries())
def test_every_chemistry_has_a_gap_between_its_thresholds(chemistry):
    off, on = usual_thresholds(chemistry, 1)
    facts = load_chemistries()[chemistry]
    assert 0.5 * facts.voltage_nominal < off < on
    assert on < (facts.voltage_full_charge or 1.2 * facts.voltage_nominal)


@pytest.mark.parametrize("chemistry", load_chemistries())
def test_cells_count(chemistry):
    one, seven = usual_thresholds(chemistry, 1), usual_thresholds(chemistry, 7)
    assert seven == pytest.approx((7.0 * one[0], 7.0 * one[1]))


def test_lead_of_six_cells_lies_in_what_builders_use():
    # Cutoffs seen for 12 V lead: off 10.8 to 11.4 V, on 12.3 to 12.9 V (builders' write-ups).
    off, on = usual_thresholds("lead-agm", 6)
    assert 10.8 <= off <= 11.4 + 1e-9
    assert 12.3 <= on <= 12.9
