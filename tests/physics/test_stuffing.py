"""Stuffing: the order of the treatments and the physical ceiling."""

from __future__ import annotations

import numpy as np
import pytest

from boomwright.physics.stuffing import STUFFINGS, effective_volume


def test_more_fibre_is_a_larger_box_with_more_absorption():
    order = [STUFFINGS[name] for name in ("none", "lined", "filled")]
    for place in range(3):
        assert np.all(np.diff([item.gain[place] for item in order]) >= 0.0)
        assert np.all(np.diff([item.qa[place] for item in order]) < 0.0)


@pytest.mark.parametrize("name", list(STUFFINGS))
def test_ranges_hold_their_likely_value_and_physics(name):
    for likely, low, high in (STUFFINGS[name].gain, STUFFINGS[name].qa):
        assert low <= likely <= high
    assert STUFFINGS[name].gain[2] <= 1.4


def test_effective_volume():
    got = effective_volume(np.array([[0.006], [0.013]]), gain=np.array([1.0, 1.1, 1.4]))
    assert got.shape == (2, 3)
    assert float(got[1, 1]) == pytest.approx(0.0143)
    with pytest.raises(ValueError, match=r"got 1\.6, must be 1 to 1\.4"):
        effective_volume(0.006, gain=1.6)
    with pytest.raises(ValueError, match=r"got 0\.9, must be 1 to 1\.4"):
        effective_volume(0.006, gain=np.array([0.9, 1.2]))
