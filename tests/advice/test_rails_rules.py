"""Rules on regulators and converters."""

import pytest
from tests.advice.cases import BASE, example, findings, only, with_

from boomwright.advice.topics.rails import _STEADY_BUCKS
from boomwright.build.drawer import load_drawer

FIRST = example("first-attempt")
LINEAR = with_(BASE, {"rail": {"part": "regulator-7805", "capacitors": True}})
PORT = with_(BASE, {"usb": {"part": "usb-a-shorted", "lead": "0.75 mm², 0.2 m"}})


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


def receiving(amps):
    return with_(LINEAR, {"receiver": {"current": amps}})


def charging(amps, **rail):
    return with_(PORT, {"usb": {"current": amps}, "rail": rail})


def fed_with(volts):
    # Named outright: left open, the receiver would be fed by whatever comes nearest to 5 V.
    rail = {"voltage": f"{volts} (standard)"}
    return with_(BASE, {"rail": rail, "receiver": {"fed_by": "rail"}})


def test_linear_regulator_cooks_under_a_phone():
    found = only("linear-cooks", FIRST)
    assert (found.level, found.where) == ("stop", "rail")
    assert "7.6 W" in found.says
    assert "125 °C" in found.says
    assert figures(found)["current it stands like this"] < 0.2
    mended = with_(FIRST, {"rail": {"part": found.fix.changes[0].value}})
    assert findings("linear-cooks", mended) == []
    assert findings("rail-overloaded", mended) == []


def test_linear_regulator_close_to_its_limit():
    found = only("linear-cooks", receiving("185 mA (standard)"))
    assert found.level == "mind"
    assert 383.0 < figures(found)["junction, likely"] < 398.15


def test_linear_regulator_for_a_receiver_stays_cool():
    assert findings("linear-cooks", LINEAR) == []
    assert findings("linear-cooks", with_(BASE, {"receiver": {"current": "1 A"}})) == []


def test_boards_that_take_a_regulators_place_stand_their_current():
    drawer = load_drawer()
    for amps, part in _STEADY_BUCKS:
        assert drawer.part("rail", part).bare_limit.likely >= amps


def test_regulator_without_headroom_from_the_start():
    found = only("rail-drops-out", with_(LINEAR, {"rail": {"part": "regulator-7812"}}))
    assert (found.level, found.where) == ("stop", "rail")
    assert "needs 14 V" in found.says


def test_regulator_without_headroom_by_the_end():
    nine = with_(LINEAR, {"rail": {"part": "regulator-7809"}})
    found = only("rail-drops-out", with_(nine, {"cutoff": {"off": "10.7 V (measured)"}}))
    assert found.level == "mind"
    assert "by the end" in found.says
    assert figures(found)["needed"] == pytest.approx(11.0)
    assert findings("rail-drops-out", nine) == []


def test_headroom_of_a_step_up_board_is_no_matter():
    text = with_(BASE, {"rail": {"part": "boost-5a-sink"}})
    assert findings("rail-drops-out", text) == []


@pytest.mark.parametrize(
    ("part", "level"), [("regulator-7805", "mind"), ("regulator-1117-5v", "stop")]
)
def test_regulator_without_capacitors(part, level):
    text = with_(BASE, {"rail": {"part": part, "capacitors": False}})
    found = only("linear-capacitors", text)
    assert (found.level, found.where) == (level, "rail")
    assert "0.1 µF" in found.says or "10 µF" in found.says
    assert found.fix.changes[0].value is True


def test_regulator_of_which_nothing_is_said():
    found = only("linear-capacitors", with_(BASE, {"rail": {"part": "regulator-7805"}}))
    assert found.level == "mind"
    assert "does not say" in found.says


def test_regulator_with_capacitors_and_converter():
    assert findings("linear-capacitors", LINEAR) == []
    assert findings("linear-capacitors", BASE) == []


def test_more_current_than_the_label_even_at_its_best():
    found = only("rail-overloaded", charging("2.1 A (standard)"))
    assert (found.level, found.where) == ("stop", "rail")
    assert "label says 1.5 A" in found.says
    assert figures(found)["average drawn, loudest use"] == pytest.approx(2.14)


def test_more_current_than_the_label_by_a_little():
    assert only("rail-overloaded", charging("1.5 A (standard)")).level == "mind"


def test_more_current_than_a_bare_board_stands():
    found = only("rail-overloaded", charging("0.9 A (standard)"))
    assert found.level == "mind"
    assert "940 mA" in found.says
    assert "800 mA" in found.says


def test_the_same_current_on_a_heat_sink_or_less_of_it():
    assert findings("rail-overloaded", charging("0.9 A (standard)", sink="20 K/W")) == []
    assert findings("rail-overloaded", charging("0.5 A (standard)")) == []
    assert findings("rail-overloaded", BASE) == []


def test_music_peaks_over_the_label_of_a_step_up_board():
    text = with_(example("allotment-day"), {"driver": {"part": "driver-5in-4ohm"}, "amplifier": {}})
    found = only("rail-overloaded", text)
    assert (found.level, found.where) == ("mind", "15 V")
    assert "A loud peak" in found.says
    assert "5 A" in found.says
    assert findings("rail-overloaded", example("allotment-day")) == []


def test_converter_behind_too_high_a_rail():
    text = with_(
        BASE,
        {
            "rail": [
                {"name": "high", "part": "boost-5a-sink", "voltage": "24 V (standard)"},
                {"name": "low", "part": "buck-1a-small", "fed_by": "high"},
            ],
            "receiver": {"fed_by": "low"},
        },
    )
    found = only("rail-input-range", text)
    assert (found.level, found.where) == ("stop", "low")
    assert "24 V" in found.says
    assert "23 V" in found.says
    assert findings("rail-input-range", text.replace("24 V (standard)", "18 V (standard)")) == []


@pytest.mark.parametrize(
    ("least", "level", "words"),
    [("13 V (standard)", "stop", "from the start"), ("12 V (standard)", "mind", "by the end")],
)
def test_converter_that_needs_more_than_it_gets(least, level, words):
    found = only("rail-input-range", with_(BASE, {"rail": {"input_min": least}}))
    assert (found.level, found.where) == (level, "rail")
    assert words in found.says


def test_converter_that_does_not_start_is_named_once():
    text = with_(BASE, {"rail": {"part": "buck-12v-5a"}})
    assert only("rail-input-range", text).level == "stop"
    assert findings("rail-drops-out", text) == []


def test_converter_that_works_to_the_end():
    assert findings("rail-input-range", BASE) == []


def test_regulator_that_loses_more_than_it_delivers():
    found = only("rail-wasteful", receiving("100 mA (standard)"))
    assert (found.level, found.where) == ("mind", "rail")
    # 5 V at 100 mA against 7.8 V at 100 mA and its own 5 mA
    assert figures(found)["delivered"] == pytest.approx(0.5)
    assert figures(found)["lost"] == pytest.approx(0.845, rel=0.02)


def test_small_waste_and_converters_are_left_alone():
    assert findings("rail-wasteful", LINEAR) == []
    assert findings("rail-wasteful", BASE) == []
    assert findings("rail-wasteful", FIRST) == []


def test_receiver_fed_too_high():
    found = only("receiver-voltage", fed_with("9 V"))
    assert (found.level, found.where) == ("stop", "receiver")
    assert "made for 5 V and can meet 9 V" in found.says


def test_receiver_straight_from_the_battery():
    found = only("receiver-voltage", with_(BASE, {"receiver": {"fed_by": "cutoff"}}))
    assert found.level == "stop"
    assert "12.9 V" in found.says
    charging = {"receiver": {"fed_by": "cutoff"}, "charger": {"while_playing": True}}
    assert "14.6 V" in only("receiver-voltage", with_(BASE, charging)).says


def test_receiver_fed_too_low():
    found = only("receiver-voltage", fed_with("4 V"))
    assert found.level == "mind"
    assert "gets 4 V" in found.says


def test_receiver_fed_well_or_not_at_all():
    assert findings("receiver-voltage", BASE) == []
    text = with_(BASE, {"receiver": {"part": "wired-input", "fed_by": "cutoff"}})
    assert findings("receiver-voltage", text) == []
