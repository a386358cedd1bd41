"""Rules on the travel of cones and passive radiators."""

import numpy as np
import pytest
from tests.advice.cases import BASE, findings, mended, only, with_
from tests.advice.tuned import QUIET, clean_level_at, figures, one_note, passive, tuned

SHUT = {"type": "closed", "ql": None, "leaks": "tight"}
CLEAN = "travel of the cone at the clean limit"
WANTED = "travel of the cone at the level wanted"


def closed(xmax, *, level="45 dB(A) at 2 m", note=50.0):
    driver = {"xmax": f"{xmax} mm (standard)", "sd": "200 cm² (standard)"}
    return tuned(driver, SHUT, {"level": level}) + one_note(note)


def test_cone_of_a_closed_box_moves_too_far():
    text = closed(2.1, note=40.0)
    found = only("cone-travel", text)
    assert (found.level, found.where) == ("mind", "driver")
    # 200 cm² that move 5 mm make 92.63 dB at 40 Hz (O3.49 of the published values).
    moves = 5e-3 * 10 ** ((clean_level_at(text, 40.0) - 92.63) / 20)
    assert figures(found)[CLEAN] == pytest.approx(moves, rel=0.03)
    assert "2.1 mm" in found.says


def test_crest_factor_cancels_at_the_clean_limit():
    # The same peaks of the same note, as noise of 12 dB crest or as a square: same travel.
    text = closed(1.0)
    noise = text.replace("[0, 1.41421356]", "[0, 0.5, 4]").replace("[1, 0.00001]", "[1, 0.4, 0]")
    told = [figures(only("cone-travel", each))[CLEAN] for each in (text, noise)]
    assert told[0] == pytest.approx(told[1], rel=5e-3)


def test_quieter_wish_mends_it():
    soft = {"xmax": "1 mm [0.9 to 6]", "sd": "200 cm² (standard)"}
    text = tuned(soft, SHUT, {"level": "50 dB(A) at 2 m"}) + one_note(50)
    found = only("cone-travel", text)
    assert "at the level you want" in found.says
    assert findings("cone-travel", mended(text, found)) == []


def test_wish_is_no_fix_where_turning_up_ruins_it_all_the_same():
    assert only("cone-travel", closed(1.0, level="50 dB(A) at 2 m")).fix is None


def test_travel_that_ruins_stops():
    found = only("cone-travel", closed(0.6, level="60 dB(A) at 2 m"))
    assert found.level == "stop"


@pytest.mark.parametrize(("xmax", "level"), [(2.3, "fine"), (1.5, "mind")])
def test_travel_of_a_box_turned_up_is_advice_until_it_ruins(xmax, level):
    # 3.4 mm at the clean limit: 1.5 and 2.3 times what the cone stands.
    found = only("cone-travel", closed(xmax, level="38 dB(A) at 2 m"))
    assert found.level == level
    assert "turned up to its clean limit" in found.says


def test_high_pass_is_named_where_music_has_more_than_one_band():
    text = with_(
        BASE,
        {
            "driver": [
                {"name": "left", "part": "driver-3in-8ohm", "channel": "left"},
                {"name": "right", "part": "driver-3in-8ohm", "channel": "right"},
            ]
        },
    )
    found = findings("cone-travel", text)
    assert [item.where for item in found] == ["left", "right"]
    assert "Cut what lies below 100 Hz with a steep high-pass" in found[0].do
    assert found[0].fix is None


@pytest.mark.parametrize(
    "text",
    [
        closed(5.4),
        BASE,
        tuned({"xmax": None}, SHUT) + one_note(50),
        tuned({"fs": None}, SHUT) + one_note(50),
        tuned({"xmax": "1 mm (standard)"}, want=QUIET) + one_note(25),
    ],
    ids=["stands it", "plain", "no xmax", "unknown", "below the tuning"],
)
def test_travel_that_is_let_pass(text):
    assert findings("cone-travel", text) == []


def test_cone_unloads_below_the_tuning():
    text = tuned({"sd": "200 cm² (standard)"}, {"vent": None, "tuning": "40 Hz"}, QUIET)
    found = only("cone-unloads", text + one_note(25))
    assert found.where == "driver"
    # As in free air: bl V/re over k |1 - (f/fs)² + j f/(fs qts)|. 200 cm² and 40 L are 1418 N/m,
    # at 40 Hz 22.45 g, bl = sqrt(2 pi 40 0.02245 6/0.4504) = 8.67 T m; 10.45 V peak.
    ratio = 25.0 / 40.0
    free = 8.67 * 10.45 / 6.0 / 1418.0 / abs(1.0 - ratio**2 + 1j * ratio / 0.4048)
    assert figures(found)[CLEAN] == pytest.approx(free, rel=0.05)
    assert "36 Hz" in found.do


def test_cone_unloads_with_a_passive_radiator():
    assert only("cone-unloads", passive() + one_note(25)).where == "driver"


@pytest.mark.parametrize(
    "text",
    [
        tuned({"xmax": "14 mm (standard)"}, want=QUIET) + one_note(25),
        tuned({"xmax": "2 mm (standard)"}, want=QUIET) + one_note(80),
        tuned(),
        closed(1.0, note=25.0),
        tuned(cabinet={"vent": None}) + one_note(25),
    ],
    ids=["stands it", "above the tuning", "pop", "closed", "tuning unknown"],
)
def test_cone_that_is_held(text):
    assert findings("cone-unloads", text) == []


HEAVY = {"mass": "78 g (standard)", "fs": "16.09 Hz (standard)"}
"""797 + 4097 N/m on 78 g: 39.9 Hz."""
CONE = "travel of the passive radiator at the clean limit"


def swings(xmax, *, level="45 dB(A) at 2 m"):
    radiator = {**HEAVY, "xmax": f"{xmax} mm (standard)"}
    return with_(passive(radiator), {"want": {"level": level}}) + one_note(40)


def test_passive_radiator_knocks():
    text = swings(2.3)
    found = only("radiator-travel", text)
    assert (found.level, found.where) == ("fine", "cabinet")
    assert "turned up to its clean limit" in found.says
    # At the tuning it makes all of the sound: 13.13 L/s for 90 dB at 40 Hz (O3.48).
    flow = 13.13e-3 * 10 ** ((clean_level_at(text, 39.9) - 90.0) / 20)
    moves = np.sqrt(2.0) * flow / 0.033 / (2 * np.pi * 39.9)
    assert figures(found)[CONE] == pytest.approx(moves, rel=0.03)
    # As much more cone as it moves too far.
    assert float(found.do.split()[1]) == pytest.approx(
        330 * figures(found)[CONE] / 2.3e-3, rel=0.01
    )


def test_quieter_wish_spares_the_passive_radiator():
    text = passive({**HEAVY, "xmax": "2.3 mm [2 to 7]"}) + one_note(40)
    text = with_(text, {"want": {"level": "52 dB(A) at 2 m"}})
    found = only("radiator-travel", text)
    assert found.level == "mind"
    assert "at the level you want" in found.says
    assert findings("radiator-travel", mended(text, found)) == []


@pytest.mark.parametrize("text", [swings(6.1), passive() + one_note(40), tuned() + one_note(40)])
def test_passive_radiator_that_stands_it(text):
    assert findings("radiator-travel", text) == []


def test_passive_radiator_as_large_as_the_driver():
    found = only("radiator-small", passive({"xmax": "2 mm (standard)"}))
    assert (found.level, found.where) == ("mind", "cabinet")
    # 330 cm² by 2 mm and 132 cm² by 5 mm: 66 cm³ each.
    told = figures(found)
    assert told["air the passive cone moves"] == pytest.approx(66e-6, rel=1e-6)
    assert told["air the drivers move"] == pytest.approx(66e-6, rel=1e-6)
    assert "66 cm³" in found.says


def test_passive_radiator_smaller_than_the_driver():
    found = only("radiator-small", passive({"sd": "120 cm² (standard)"}))
    assert "120 cm²" in found.says
    assert "132 cm²" in found.says


@pytest.mark.parametrize(
    "text",
    [
        passive({"xmax": "3.1 mm (standard)"}),
        passive(),
        passive({"sd": "90 cm²", "count": 2}),
        BASE,
    ],
    ids=["half more air", "area alone", "two of them", "closed"],
)
def test_passive_radiator_of_good_size(text):
    assert findings("radiator-small", text) == []
