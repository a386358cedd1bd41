"""Rules on drivers: load, power, the capacitor of a tweeter."""

import pytest
from tests.advice.cases import BASE, example, findings, mended, only, with_

FIRST = example("first-attempt")


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


def driver(**values):
    return with_(BASE, {"driver": values})


def with_tweeter(**values):
    return with_(
        BASE,
        {
            "driver": [
                {"name": "wide", "part": "driver-5in-8ohm", "count": 2},
                {"name": "treble", "part": "tweeter-dome-25mm-8ohm", "count": 2, **values},
            ]
        },
    )


def test_two_drivers_side_by_side_load_too_low():
    found = only("load-too-low", FIRST)
    assert (found.level, found.where) == ("stop", "amplifier")
    assert "Channel 1 is loaded with 2 Ω (bass)" in found.says
    assert "half of a bridge" in found.why
    assert figures(found)["least over the band"] == pytest.approx(1.6)
    (change,) = found.fix.changes
    assert (change.part, change.key, change.value) == ("bass", "wiring", "series")


def test_series_wiring_mends_the_load():
    text = FIRST.replace('wiring = "parallel"', 'wiring = "series"')
    assert findings("load-too-low", text) == []


def test_load_at_the_least_is_fine():
    assert findings("load-too-low", BASE) == []
    assert findings("load-too-low", driver(part="driver-5in-4ohm")) == []
    assert only("load-too-low", driver(part="driver-5in-4ohm", count=3)).level == "stop"


def test_joined_outputs_shift_the_least_load():
    mono = {"part": "class-d-bridge-2x50", "mono_mode": True, "use": "paralleled"}
    text = with_(BASE, {"amplifier": mono, "driver": {"part": "driver-5in-4ohm"}})
    assert findings("load-too-low", text) == []
    single = {"part": "class-ab-single-ended-2x5", "mono_mode": True, "use": "bridged"}
    text = with_(BASE, {"amplifier": single, "driver": {"part": "driver-5in-4ohm", "count": 1}})
    assert "made for 8 Ω" in only("load-too-low", text).says


def test_coil_far_below_its_label():
    found = only("load-too-low", driver(re="2.5 Ω (measured)"))
    assert found.level == "mind"
    assert "2.5 Ω in all" in found.says
    assert findings("load-too-low", driver(re="2.9 Ω (measured)")) == []


def test_driver_that_a_clipping_amplifier_burns():
    found = only("driver-overpowered", driver(power="3 W (standard)"))
    assert (found.level, found.where) == ("mind", "driver")
    assert "pushed to clipping" in found.says
    assert "3 W" in found.says
    assert 3.0 < figures(found)["sine at the clip point"] < 8.0


def test_driver_that_even_clean_music_burns():
    found = only("driver-overpowered", driver(power="0.3 W (standard)"))
    assert found.level == "stop"
    assert "of clean music" in found.says


def test_driver_that_stands_the_amplifier():
    assert findings("driver-overpowered", BASE) == []
    assert findings("driver-overpowered", driver(power="8 W (standard)")) == []


def test_bass_coil_takes_the_bass_that_a_small_box_does_not_play():
    text = with_(driver(power="6 W (standard)"), {"cabinet": {"taken": "12 L"}})
    assert only("driver-overpowered", text).level == "mind"


def test_capacitor_a_hundred_times_too_small():
    found = only("tweeter-capacitor", FIRST)
    assert (found.level, found.where) == ("stop", "treble")
    assert "306 kHz" in found.says
    assert "hundred times too small" in found.says
    # 1/(2 pi 3 kHz 4 Ohm) is 13.3 uF
    assert found.fix.changes[0].value == "13 µF"
    assert findings("tweeter-capacitor", FIRST.replace("0.13 µF", "13 µF")) == []


def test_tweeter_without_a_capacitor():
    found = only("tweeter-capacitor", with_tweeter())
    assert (found.level, found.where) == ("stop", "treble")
    assert "No capacitor" in found.says
    assert "10 V" in found.says
    assert "6.8 µF" in found.do


@pytest.mark.parametrize(
    ("capacitor", "level", "words"),
    [
        ("22 µF", "stop", "904 Hz"),
        ("10 µF", "mind", "1.99 kHz"),
        ("1 µF", "mind", "19.9 kHz"),
        ("0.68 µF", "stop", "29.3 kHz"),
    ],
)
def test_capacitor_of_the_wrong_size(capacitor, level, words):
    found = only("tweeter-capacitor", with_tweeter(capacitor=capacitor))
    assert (found.level, found.where) == (level, "treble")
    assert words in found.says
    assert "hundred" not in found.says


def test_capacitor_of_the_right_size():
    assert findings("tweeter-capacitor", with_tweeter(capacitor="6.8 µF")) == []
    assert findings("tweeter-capacitor", BASE) == []


def test_polarised_capacitor():
    text = with_tweeter(capacitor="6.8 µF", capacitor_kind="polarised")
    found = only("tweeter-capacitor-polarised", text)
    assert (found.level, found.where) == ("stop", "treble")
    assert "10 V" in found.says
    assert only("tweeter-capacitor-polarised", FIRST).where == "treble"


@pytest.mark.parametrize("kind", ["film", "bipolar"])
def test_capacitor_for_alternating_volts(kind):
    text = with_tweeter(capacitor="6.8 µF", capacitor_kind=kind)
    assert findings("tweeter-capacitor-polarised", text) == []


def filtered(*steps, **values):
    return with_tweeter(**values, filter=list(steps))


@pytest.mark.parametrize(
    ("steps", "level"),
    [
        (("series 6.8 µF",), ""),
        (("series 22 µF",), "stop"),
        (("series 10 µF",), "mind"),
        # Second order, published for 8 ohm at 2 kHz: 10.8 dB at 1.1 kHz.
        (("series 7.034 µF", "across 0.9003 mH"), ""),
        # The same at 1.2 kHz: 4 dB there, and a capacitor alone at 1.3 times would take 4.3 dB.
        (("series 11.72 µF", "across 1.5 mH"), "stop"),
    ],
)
def test_filter_of_a_tweeter_by_what_it_takes_at_the_resonance(steps, level):
    found = findings("tweeter-capacitor", filtered(*steps))
    assert [item.level for item in found] == ([level] if level else [])
    if found:
        assert "1.1 kHz" in found[0].says


def test_filter_that_lets_the_bass_through():
    found = only("tweeter-capacitor", filtered("series 3.9 Ω", "across 8.2 Ω"))
    assert found.level == "stop"
    assert "No capacitor" in found.says


def test_capacitor_and_pad_count_together():
    steps = ("series 3.9 Ω", "across 8.2 Ω")
    assert findings("tweeter-capacitor", filtered(*steps, capacitor="6.8 µF")) == []
    assert only("tweeter-capacitor", filtered(*steps, capacitor="22 µF")).level == "stop"


def test_polarised_capacitor_of_a_filter():
    text = filtered("series 6.8 µF polarised 50 V", "across 0.47 mH")
    found = only("tweeter-capacitor-polarised", text)
    assert (found.level, found.where) == ("stop", "treble")
    assert "6.8 µF polarised" in found.says
    assert found.fix.changes[0].value == ("series 6.8 µF bipolar 50 V", "across 0.47 mH")
    assert findings("tweeter-capacitor-polarised", mended(text, found)) == []


def test_coils_behind_a_filter_that_keeps_the_bass_are_no_load():
    low = {"re": "2.4 Ω (measured)"}
    assert only("load-too-low", driver(**low)).level == "mind"
    assert findings("load-too-low", driver(**low, filter=["series 47 µF"])) == []
