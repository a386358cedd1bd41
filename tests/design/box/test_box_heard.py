"""Music and its limits: against sines, whose limits have published values, and by scaling."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from tests.design.box.boxes import wish

from boomwright.design.box.heard import music_levels, music_response, side_by_side_db
from boomwright.design.box.wish import subject_of
from boomwright.physics.acoustic_load import closed_load, vented_load
from boomwright.physics.box_response import box_response
from boomwright.physics.limits import LIMITS, DriveLimits, clean_level
from boomwright.physics.programme import Programme, load_programmes
from boomwright.physics.sound import a_weighting

SUBJECT = subject_of(wish(), versions=0)
POP = load_programmes()["pop"]
FAR = 1e9
"""A treble end that does not matter [Hz]."""


def sine(hertz):
    """A programme of one frequency: crest of root 2."""
    return Programme(
        name="one",
        title="one",
        crest_factor_range_db=(3.0, 3.1),
        levels=np.array([0.0, math.sqrt(2.0)]),
        exceedance=np.array([1.0, 0.0]),
        frequencies=np.array([hertz]),
        spectrum_db=np.array([0.0]),
        status="invented",
        source="this test",
    )


def test_sine_of_published_travel():
    """133 cm² and 4 mm at 50 Hz: 91.02 dB (Small 1972; Beranek), less the A-weighting."""
    one = sine(50.0)
    response = music_response(SUBJECT.flat, closed_load(volume=0.012), one, resistance=0.0)
    levels = music_levels(response, DriveLimits(xmax=0.004), one, high_end=FAR)
    found = float(levels[LIMITS.index("travel"), 0]) - float(a_weighting(50.0))
    assert found == pytest.approx(91.02, abs=0.1)  # dB, air constants


@pytest.mark.parametrize("hertz", [30.0, 47.0, 120.0])
def test_sine_meets_every_limit_where_a_sweep_does(hertz):
    limits = DriveLimits(volts=13.0, amps=2.1, xmax=0.0045, vent_area=0.0021, power=19.0)
    load = vented_load(volume=0.017, fb=43.0, ql=7.0)
    one = sine(hertz)
    music = music_levels(
        music_response(SUBJECT.flat, load, one, resistance=0.0), limits, one, high_end=FAR
    )
    swept = clean_level(box_response(SUBJECT.flat, load, hertz), limits, frequency=hertz)
    assert int(np.argmin(music[:, 0])) == int(swept.ruling[0, 0])
    heard = float(np.min(music)) - float(a_weighting(hertz))
    assert heard == pytest.approx(float(swept.level[0, 0]), rel=1e-9)


def test_each_limit_moves_its_own_level_only():
    load = vented_load(volume=0.017, fb=43.0)
    response = music_response(SUBJECT.flat, load, POP, resistance=0.2)
    base = DriveLimits(volts=13.0, amps=2.1, xmax=0.0045, vent_area=0.0021, power=19.0)

    def levels(limits):
        found = music_levels(response, limits, POP, high_end=9e3, resistance=0.2)[:, 0]
        # There is no radiator: its limit is never met.
        assert np.isinf(found[LIMITS.index("radiator travel")])
        return found[np.isfinite(found)]

    names = [name for name in LIMITS if name != "radiator travel"]
    usual = levels(base)
    # Power is a square: four times of it are 6 dB, as is twice of the others.
    for field, name, factor in (
        ("volts", "volts", 2.0), ("amps", "amps", 2.0), ("xmax", "travel", 2.0),
        ("vent_area", "vent air", 2.0), ("power", "heat", 4.0),
    ):  # fmt: skip
        moved = levels(replace(base, **{field: factor * getattr(base, field)})) - usual
        assert moved[names.index(name)] == pytest.approx(6.0206, rel=1e-4)
        assert np.count_nonzero(moved) == 1


def test_two_drivers_gain_between_3_and_6_db():
    load = closed_load(volume=0.012)
    response = music_response(SUBJECT.flat, load, POP, resistance=0.0)
    one, two = (
        music_levels(response, DriveLimits(volts=11.0), POP, high_end=9e3, count=count)
        for count in (1, 2)
    )
    assert 3.0103 < float(two[0, 0] - one[0, 0]) < 6.0206


def test_side_by_side_ends():
    assert float(side_by_side_db(3, np.array(1.0))) == pytest.approx(20 * math.log10(3), rel=1e-4)
    assert float(side_by_side_db(3, np.array(1e6))) == pytest.approx(10 * math.log10(3), rel=1e-4)
    assert float(side_by_side_db(1, np.array(90.0))) == 0.0
