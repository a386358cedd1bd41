"""The curve at the listener agrees with the run, and carries place, boxes, distance and room."""

from __future__ import annotations

import numpy as np
import pytest
from tests.build.drawer_parts import ROOT
from tests.outcome.test_sound import CLOSED, MOTOR, WANT, sound_of_build, text_of

from boomwright.build.model import Build
from boomwright.build.read import parse_build, read_build
from boomwright.outcome.at_listener import (
    AGREES_WITHIN,
    AtListener,
    at_listener,
    front_width,
    with_place_db,
)
from boomwright.outcome.run import run_build
from boomwright.outcome.sound import sound_of
from boomwright.physics.sound import a_weighting

BASS, TREBLE = np.array([12.0]), np.array([19e3])


def build(want: str = "", *, cabinet: str = CLOSED) -> Build:
    text = text_of(MOTOR.replace('"low"', '"full"'), cabinet)
    return parse_build(text.replace(WANT, f"{WANT}{want}\n"), file="test build")


def heard(of: Build) -> AtListener:
    return at_listener(of, run_build(of, versions=0), sound_of_build(of))


@pytest.mark.parametrize(
    "name", ["market-stall", "rowing-launch", "allotment-day", "choir-rehearsal", "first-attempt"]
)
def test_curve_agrees_with_the_run(name):
    found = read_build(ROOT / "examples" / f"{name}.toml")
    outcome = run_build(found, versions=0)
    there = at_listener(found, outcome, sound_of(found, outcome))
    assert there.stated == outcome.wanted.level_start.likely
    # On the axis there is more treble than in the mean over all directions, never much less.
    assert -1.0 < there.difference < AGREES_WITHIN


@pytest.mark.parametrize("place", ["open", "floor", "floor-wall", "corner"])
@pytest.mark.parametrize("room", ["", 'room = "120 m³"\nreverberation = "0.6 s"'])
def test_curve_agrees_with_the_run_in_every_place(place, room):
    there = heard(build(f'place = "{place}"\n{room}'))
    assert abs(there.difference) < AGREES_WITHIN


def test_bands_add_up_to_the_level():
    there = heard(build())
    weighted = there.band_levels + a_weighting(there.bands)
    assert 10.0 * np.log10(np.sum(10.0 ** (weighted / 10.0))) == pytest.approx(there.weighted)


def test_louder_wish_takes_more_volts():
    quiet, loud = (
        heard(parse_build(text_of().replace("70 dB", f"{level} dB"), file="test build"))
        for level in (62, 66)
    )
    # 4 dB are 1.585 times the volts; hot coils cost next to nothing at these levels.
    assert loud.volts / quiet.volts == pytest.approx(1.585, rel=5e-3)
    assert loud.stated - quiet.stated == pytest.approx(4.0, abs=1e-6)  # dB, settled by rounds


def test_distance_costs_six_decibels_per_doubling():
    near, far = (with_place_db(build(), BASS, away) for away in (1.5, 3.0))
    assert near - far == pytest.approx([6.02], abs=0.01)  # dB; published value O8.21


def test_boxes_add_as_unlike_sources():
    one, three = (with_place_db(build(f"boxes = {count}"), BASS, 2.0) for count in (1, 3))
    assert three - one == pytest.approx([4.77], abs=0.01)  # dB, 10 log10 of 3


def test_room_adds_to_what_comes_straight():
    # A = 0.161 V/T = 32.2 m²; 10 log10(1 + 16 pi r²/(2 A)) at 3 m is 9.06 dB (Kinsler and Frey).
    room = 'room = "100 m³"\nreverberation = "0.5 s"'
    gain = with_place_db(build(room), TREBLE, 3.0) - with_place_db(build(), TREBLE, 3.0)
    assert gain == pytest.approx([9.06], abs=0.05)  # dB


@pytest.mark.parametrize(
    ("place", "bass", "treble"),
    # Fixed volume velocity: 6 dB for each surface in the bass (published value O8.32), counted
    # from half space; a hard floor doubles the power in the treble.
    [("open", -6.02, 0.0), ("floor", 0.0, 3.01), ("corner", 12.04, 3.01)],
)
def test_place_counts_by_frequency(place, bass, treble):
    found = build(f'place = "{place}"')
    assert with_place_db(found, BASS, 1.0) == pytest.approx([bass], abs=0.2)  # dB, limit at 0 Hz
    assert with_place_db(found, TREBLE, 1.0) == pytest.approx([treble], abs=0.2)  # dB, in ripples


def test_without_a_cabinet_the_place_is_one_number():
    bare = build('place = "open"', cabinet="")
    assert front_width(bare) is None
    assert with_place_db(bare, np.array([30.0, 9e3]), 1.0) == pytest.approx(
        [-3.01, -3.01], abs=0.01
    )


@pytest.mark.parametrize(
    ("more", "width"),
    [
        ('width = "24 cm"\nheight = "31 cm"\ndepth = "19 cm"\nwall = "16 mm"', 0.272),
        ('width = "52 cm"\nheight = "31 cm"\ndepth = "19 cm"\nwall = "16 mm"', 0.342),
        ('width = "24 cm"\nheight = "31 cm"\ndepth = "19 cm"\nbaffle_width = "29 cm"', 0.29),
    ],
)
def test_front_is_what_the_file_says(more, width):
    found = build(cabinet=CLOSED.replace('volume = "26 L"', more))
    assert front_width(found) == pytest.approx(width, rel=1e-9)


def test_hot_coils_cost_the_curve_what_they_cost_the_run():
    warm = MOTOR.replace('"low"', '"full"').replace("400 W", "1.3 W")
    quiet, loud = (
        heard(parse_build(text_of(warm).replace("70 dB", f"{level} dB"), file="test build"))
        for level in (60, 86)
    )
    # More volts than 26 dB, since hot copper gives less; 10 log10 apart the two would disagree.
    assert 20.0 * np.log10(loud.volts / quiet.volts) > 26.5
    assert loud.difference == pytest.approx(quiet.difference, abs=0.01)  # dB, settled by rounds
