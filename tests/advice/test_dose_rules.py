"""Rules on what hours and weeks do to ears, and on the room."""

import numpy as np
import pytest
from tests.advice.cases import BASE, example, findings, only, with_

LOUD = with_(BASE, {"driver": {"sensitivity": "99 dB (standard)"}})
"""A box that can be as loud as these wishes are."""


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


def want(**values):
    return with_(LOUD, {"want": values})


def test_ears_beside_the_box():
    # 82 dB(A) at 4 m are 94 at 1 m, and NIOSH allows 60 min of those: 3 h are three doses.
    found = only("dose-builder", want(level="81.96 dB(A) at 4 m", hours="3 h"))
    assert (found.level, found.where) == ("mind", "want")
    numbers = figures(found)
    assert numbers["level at 1 m"] == pytest.approx(94.0, rel=1e-3)
    assert numbers["time allowed in a day"] == pytest.approx(3600, rel=0.01)
    assert numbers["dose of a day"] == pytest.approx(3.0, rel=0.01)
    assert "300 %" in found.says


@pytest.mark.parametrize(("hours", "count"), [("1.95 h", 0), ("2.05 h", 1)])
def test_half_of_the_time_beside_the_box_fills_a_day(hours, count):
    found = findings("dose-builder", want(level="81.96 dB(A) at 4 m", hours=hours))
    assert len(found) == count


def test_ears_beside_the_box_are_not_told_twice():
    loud = want(level="94 dB(A) at 4 m", hours="3 h")
    assert "94 dB(A)" in findings("hearing", loud)[0].says
    assert findings("dose-builder", loud) == []
    assert findings("dose-listeners", loud) == []
    assert findings("dose-builder", want(level="84 dB(A) at 1 m", hours="9 h")) == []


def test_listeners_who_come_back():
    # WHO-ITU: 80 dB(A) for 40 h a week; 10 h are a quarter of it.
    found = only("dose-listeners", want(level="80 dB(A) at 1 m", hours="10 h"))
    assert (found.level, found.where) == ("fine", "want")
    assert figures(found)["share of a week"] == pytest.approx(0.25, rel=0.01)
    assert "4 times a week" in found.do
    # Seven times 10 h are 1.75 weeks: 2.4 dB, told in whole ones.
    assert "3 dB quieter" in found.do


@pytest.mark.parametrize(("hours", "count"), [("7.1 h", 0), ("7.3 h", 1)])
def test_listeners_of_every_day(hours, count):
    # A decibel beyond a week: 40 h 1.26 / 7 = 7.2 h.
    found = findings("dose-listeners", want(level="80 dB(A) at 1 m", hours=hours))
    assert len(found) == count


def test_children_who_come_back():
    # 75 dB(A) for 40 h: 12.6 h at 80.
    loud = {"level": "80 dB(A) at 1 m", "hours": "6 h"}
    assert findings("dose-listeners", want(**loud)) == []
    found = only("dose-listeners", want(**loud, audience="children"))
    assert figures(found)["share of a week"] == pytest.approx(6 / 12.65, rel=0.01)
    assert "2 times a week" in found.do


def test_adults_whom_one_day_is_not_too_much_are_never_over_a_week_at_once():
    # 85 dB(A) for 8 h are a day's dose, and 63 % of the week's.
    found = only("dose-listeners", want(level="85 dB(A) at 1 m", hours="8 h"))
    assert found.level == "fine"
    assert "once a week" in found.do
    assert figures(found)["share of a week"] == pytest.approx(0.632, rel=0.01)


def room(**values):
    return with_(BASE, {"want": {"room": "60 m³ (measured)", **values}})


def test_room_that_makes_the_level():
    # A = 0.161 60/0.5 = 19.3 m², critical distance sqrt(2 19.3/16 pi) = 0.88 m; 20 log(4/0.88).
    text = room(level="66 dB(A) at 4 m", reverberation="0.5 s (measured)")
    found = only("room-rules", text)
    assert (found.level, found.where) == ("fine", "want")
    numbers = figures(found)
    assert numbers["as loud as the room at"] == pytest.approx(0.877, rel=5e-3)
    assert numbers["room over what comes straight"] == pytest.approx(13.2, rel=5e-3)
    # 10 log of (1/16 + 1/0.77) over (1/4 + 1/0.77)
    ratio = (1 / 4 + 1 / 0.769) / (1 / 16 + 1 / 0.769)
    assert numbers["gained at half the distance"] == pytest.approx(10 * np.log10(ratio), rel=0.02)


@pytest.mark.parametrize(("distance", "count"), [("1.7 m", 0), ("1.8 m", 1)])
def test_room_at_twice_the_critical_distance(distance, count):
    text = room(level=f"66 dB(A) at {distance}", reverberation="0.5 s ±0 %")
    assert len(findings("room-rules", text)) == count


def test_room_of_unknown_echo_is_taken_at_its_driest():
    # 0.3 s to 0.8 s: the critical distance may be 1.13 m.
    assert findings("room-rules", room(level="66 dB(A) at 2.2 m")) == []
    assert only("room-rules", room(level="66 dB(A) at 2.3 m"))


def test_speech_blurs_in_a_room():
    far = room(level="66 dB(A) at 4 m", programme="speech", reverberation="0.5 s (measured)")
    assert only("room-rules", far).level == "mind"
    near = room(level="66 dB(A) at 2.6 m", programme="speech", reverberation="0.5 s (measured)")
    assert only("room-rules", near).level == "fine"


@pytest.mark.parametrize("name", ["market-stall", "rowing-launch", "allotment-day"])
def test_good_examples_are_quiet(name):
    for rule in ("dose-builder", "dose-listeners", "room-rules"):
        assert findings(rule, example(name)) == []
