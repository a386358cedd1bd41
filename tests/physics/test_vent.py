"""Vents: inverse pairs, images in panels, scaling."""

from __future__ import annotations

import math

import numpy as np
import pytest

from boomwright.physics.vent import (
    VENT_ENDS,
    end_correction,
    pipe_resonance,
    vent_air_speed,
    vent_flow,
    vent_length,
    vent_tuning,
)


@pytest.mark.parametrize("ends", list(VENT_ENDS))
@pytest.mark.parametrize("along", [0, 1, 2])
def test_tuning_undoes_length(ends, along):
    volume = np.array([[0.012], [0.024]])
    fb = np.array([34.0, 42.0, 55.0])
    length = vent_length(volume=volume, fb=fb, area=0.0042, count=2, ends=ends, along=along)
    assert length.shape == (2, 3)
    kept = np.maximum(length, 0.0)
    back = vent_tuning(volume=volume, length=kept, area=0.0042, count=2, ends=ends, along=along)
    assert back[length >= 0.0] == pytest.approx(np.broadcast_to(fb, (2, 3))[length >= 0.0])


def test_two_vents_are_longer_than_one_and_shorter_than_one_of_both():
    one = float(vent_length(volume=0.016, fb=48.0, area=0.0010))
    two = float(vent_length(volume=0.016, fb=48.0, area=0.0010, count=2))
    joint = float(vent_length(volume=0.016, fb=48.0, area=0.0020))
    assert one < joint < two


def test_a_panel_mirrors_the_inner_end():
    """Two half-size ends side by side are one whole end: its correction is that of the whole."""
    half = float(end_correction(0.0015, ends="free-free", along=1)) - 0.613 * math.sqrt(
        0.0015 / math.pi
    )
    whole = 0.5 * float(end_correction(0.0030, ends="free-free"))
    assert half == pytest.approx(whole)


def test_hole_that_is_too_long():
    assert float(vent_length(volume=0.040, fb=90.0, area=0.0008)) < 0.0


def test_pipe():
    # A tube of half a metre and no width sings at c over a metre.
    assert float(pipe_resonance(0.5, area=1e-9)) == pytest.approx(343.2, rel=1e-3)


def test_flow_rises_with_level_and_falls_with_frequency():
    base = float(vent_flow(84.0, frequency=45.0))
    assert float(vent_flow(104.0, frequency=45.0)) == pytest.approx(10.0 * base)
    assert float(vent_flow(84.0, frequency=90.0)) == pytest.approx(0.5 * base)
    assert float(vent_air_speed(base, area=0.003)) == pytest.approx(math.sqrt(2.0) * base / 0.003)


def test_says_what_is_wrong():
    with pytest.raises(ValueError, match="vent area: got 0 m²"):
        vent_length(volume=0.02, fb=40.0, area=0.0)
    with pytest.raises(ValueError, match="inner end: got 4"):
        end_correction(0.002, along=4)
    with pytest.raises(ValueError, match=r"vent length: got -0\.03 m"):
        vent_tuning(volume=0.02, length=-0.03, area=0.002)
