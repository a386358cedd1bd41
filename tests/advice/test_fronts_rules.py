"""Rules on open backs and narrow fronts."""

import pytest
from tests.advice.cases import BASE, case_of, findings, mended, only, with_
from tests.advice.tuned import figures

RADIO = with_(BASE, {"cabinet": {"part": "old-radio-10l"}})


def test_open_back_thins_the_bass():
    found = only("open-back-thin", RADIO)
    assert (found.level, found.where) == ("mind", "driver")
    # 14 cm of depth and half of 20 cm of height: 343.2/(2 pi 0.24).
    assert figures(found)["cancelled below"] == pytest.approx(227.6, rel=2e-3)
    assert "230 Hz" in found.says
    text = mended(RADIO, found)
    assert findings("open-back-thin", text) == []
    assert findings("box-leaks", text) == []
    closed = figures(found)["bass end, closed"]
    assert case_of(text).outcome.drivers[0].low_end == pytest.approx(closed, rel=5e-3)


def test_open_back_of_a_driver_that_no_closed_box_tames():
    found = only("open-back-thin", with_(RADIO, {"driver": {"part": "woofer-8in-8ohm"}}))
    assert found.fix is None
    assert "larger board" in found.do


@pytest.mark.parametrize(
    "text",
    [
        with_(RADIO, {"cabinet": {"width": "2.4 m", "height": "2.2 m", "depth": "30 cm"}}),
        with_(RADIO, {"driver": {"low_end": "140 Hz (measured)"}}),
        BASE,
    ],
    ids=["a wall of boards", "end measured", "closed"],
)
def test_open_back_that_is_let_pass(text):
    assert findings("open-back-thin", text) == []


OPEN = with_(BASE, {"want": {"place": "open"}})


def test_narrow_front_in_the_open():
    found = only("baffle-thin", OPEN)
    assert (found.level, found.where) == ("fine", "driver")
    # 20 cm inside and two walls of 15 mm: 115 Hz m over 23 cm; half a decade below a first-order
    # shelf of 6 dB has done 10 log10((0.1 + 2)/(0.1 + 0.5)) = 5.44 dB of it.
    assert figures(found)["3 dB thinner at"] == pytest.approx(500.0, rel=1e-3)
    assert figures(found)["lost half a decade below"] == pytest.approx(5.44, rel=2e-3)


@pytest.mark.parametrize(
    "text",
    [
        BASE,
        with_(OPEN, {"want": {"programme": "speech"}}),
        with_(OPEN, {"cabinet": {"baffle_width": "81 cm", "height": "79 cm"}}),
        with_(OPEN, {"want": {"room": "60 m³"}}),
        with_(OPEN, {"cabinet": {"volume": "14 L"}}, ["cabinet.part"]),
    ],
    ids=["on the ground", "speech", "wide", "indoors", "size unknown"],
)
def test_front_that_is_let_pass(text):
    assert findings("baffle-thin", text) == []
