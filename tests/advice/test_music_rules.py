"""Rules on the music itself: clipping, class, and bass for nothing."""

import numpy as np
import pytest
from tests.advice.cases import BASE, case_of, example, findings, mended, only, with_

from boomwright.outcome.loudness import asked_volts
from boomwright.outcome.scenario import Scenario
from boomwright.physics.programme import load_programmes


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


def peaks(share, peak=5.0):
    """Music that stands still but for a share of the time at its peak, as the file keeps it."""
    return {
        "title": "Own pieces",
        "levels": [0.0, 1.0, 1.01, peak],
        "time_above": [1.0, 1.0, share, share],
        "bands": [125.0, 500.0, 2000.0],
        "spectrum_db": [0.0, -1.0, -2.0],
    }


def class_music(name, **values):
    programme = load_programmes()[name]
    return {
        "title": "Own pieces",
        "levels": programme.levels.tolist(),
        "time_above": programme.exceedance.tolist(),
        "bands": programme.frequencies.tolist(),
        "spectrum_db": programme.spectrum_db.tolist(),
        **values,
    }


def playing(music, **want):
    return with_(BASE, {"music": music, "want": want})


def over_the_swing(music, decibels):
    """The build, asked for so much that the peaks stand so far over the swing at the end."""
    case = case_of(playing(music))
    volts = float(asked_volts(case.plan, (Scenario("wanted"),))[0, 0])
    crest = case.plan.programme.levels[-1]
    over = 20 * np.log10(volts * crest / case.sound.outputs[0].peak_volts[-1])
    level = case.outcome.wanted.level_asked + decibels - over
    return playing(music, level=f"{level:.3f} dB(A) at 2 m")


def test_music_that_clips_as_often_as_its_peaks_come():
    found = only("music-clips", over_the_swing(peaks(0.03), 2.0))
    assert (found.level, found.where) == ("mind", "amplifier")
    numbers = figures(found)
    assert numbers["clipped, nearly empty"] == pytest.approx(0.03, rel=0.01)
    assert numbers["peaks over the swing"] == pytest.approx(2.0, rel=0.15)


def test_music_that_clips_with_an_empty_battery_only():
    numbers = figures(only("music-clips", over_the_swing(peaks(0.03), 0.4)))
    assert numbers["clipped, full battery"] == 0.0
    assert numbers["clipped, nearly empty"] == pytest.approx(0.03, rel=0.01)


def test_music_that_hardly_clips_or_not_at_all():
    assert findings("music-clips", over_the_swing(peaks(0.009), 2.0)) == []
    assert only("music-clips", over_the_swing(peaks(0.011), 2.0))
    assert findings("music-clips", over_the_swing(peaks(0.03), -0.3)) == []


def test_typical_music_is_left_to_the_level():
    assert findings("music-clips", with_(BASE, {"want": {"level": "80 dB(A) at 2 m"}})) == []


def test_music_with_peaks_unlike_its_class():
    # Crest factor 14 dB against 7 to 10 dB of the background class: 4 dB beyond, 2 dB allowed.
    text = playing(class_music("pop"), programme="background")
    found = only("music-unlike-class", text)
    assert (found.level, found.where) == ("fine", "want")
    assert figures(found)["beyond its class"] == pytest.approx(4.0, rel=0.01)
    assert "14 dB above the average" in found.says
    assert found.fix.changes[0].value == "pop"
    assert findings("music-unlike-class", mended(text, found)) == []


def test_music_with_bass_unlike_its_class():
    found = only("music-unlike-class", playing(class_music("speech"), programme="pop"))
    assert "less bass" in found.says
    assert "peaks" not in found.says


def test_music_like_its_class():
    for name in ("speech", "acoustic", "pop", "dance", "background"):
        assert findings("music-unlike-class", playing(class_music(name), programme=name)) == []
    assert findings("music-unlike-class", BASE) == []


def test_music_of_no_class():
    flat = class_music("pop", bands=[40.0, 4000.0], spectrum_db=[0.0, -30.0])
    found = only("music-unlike-class", playing(flat, programme="pop"))
    assert found.fix is None
    assert "more bass" in found.says


def small(**want):
    return with_(BASE, {"want": want, "driver": {"part": "driver-2in-8ohm"}})


def test_bass_that_small_drivers_cannot_play():
    found = only("bass-wasted", small(programme="dance"))
    assert (found.level, found.where) == ("fine", "driver")
    numbers = figures(found)
    # Bands of dance music below 111 Hz hold 10 log(1/(1 - 0.666)) = 4.8 dB more than the rest.
    assert numbers["share of the power below"] == pytest.approx(0.666, rel=0.01)
    assert numbers["loudness to gain"] == pytest.approx(4.77, rel=0.01)


def test_bass_counts_where_the_box_is_not_loud_enough():
    assert only("bass-wasted", small(programme="dance", level="90 dB(A) at 2 m")).level == "mind"


def test_bass_that_somebody_plays_or_that_is_not_there():
    assert findings("bass-wasted", small(programme="acoustic")) == []
    assert findings("bass-wasted", with_(BASE, {"want": {"programme": "dance"}})) == []
    behind = with_(small(programme="dance"), {"driver": {"capacitor": "100 µF"}})
    assert findings("bass-wasted", behind) == []


def test_bass_end_that_is_not_known():
    bare = {"name": "wide", "band": "full", "count": 2, "impedance": "8 Ω", "sensitivity": "86 dB"}
    text = with_(BASE, {"want": {"programme": "dance"}, "driver": [bare]})
    assert findings("bass-wasted", text) == []
    told = with_(BASE, {"want": {"programme": "dance"}, "driver": [{**bare, "low_end": "170 Hz"}]})
    assert only("bass-wasted", told)


@pytest.mark.parametrize("name", ["market-stall", "rowing-launch", "allotment-day"])
def test_good_examples_are_quiet(name):
    for rule in ("music-clips", "music-unlike-class", "bass-wasted"):
        assert findings(rule, example(name)) == []
