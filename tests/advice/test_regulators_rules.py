"""Rules on the capacitors around a linear regulator."""

import pytest
from tests.advice.cases import BASE, findings, only, with_

PART = {"part": "regulator-7805"}
SMALL = {"input_bypass": "330 nF", "output_bypass": "100 nF"}
LARGE = {"input_capacitor": "100 µF", "output_capacitor": "10 µF"}


def soldered(circuit, part="regulator-7805", **more):
    return with_(BASE, {"rail": {"part": part, "circuit": circuit}, **more})


def beating(**circuit):
    """A 9 V receiver on a battery that sags: dropout is near when the bass beats."""
    return soldered(
        {**LARGE, **circuit},
        "regulator-7809",
        receiver={"voltage": "9 V"},
        battery={"resistance": "0.7 Ω (measured)"},
    )


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


def test_capacitors_that_are_enough_are_no_finding():
    assert findings("linear-capacitors", soldered(SMALL)) == []
    assert findings("rail-output-dips", soldered(SMALL)) == []


def test_too_small_capacitors_are_named():
    found = only("linear-capacitors", soldered({"input_bypass": "100 nF"}))
    assert (found.level, found.where, found.fix) == ("mind", "rail", None)
    assert "100 nF at the input and nothing at the output" in found.says
    assert figures(found)["close to the input"] == pytest.approx(1e-7, rel=1e-9)


def test_a_low_dropout_type_must_have_them():
    found = only("linear-capacitors", soldered(SMALL, "regulator-ldo-5v-1a"))
    assert found.level == "stop"
    assert "10 µF at both ends" in found.says


def test_capacitors_far_away():
    found = only("linear-capacitors", soldered({**SMALL, "distance": "12 cm"}))
    assert "12 cm away" in found.says


def test_what_the_file_says_of_them_counts():
    text = with_(soldered({}), {"rail": {"capacitors": True}})
    assert findings("linear-capacitors", text) == []


def test_a_burst_with_small_capacitors():
    jump = {"receiver": {"current": "40 mA", "burst": "300 mA"}}
    found = only("rail-output-dips", soldered(SMALL, **jump))
    assert (found.level, found.where) == ("mind", "rail")
    assert figures(found)["jump of the current"] == pytest.approx(0.26, rel=1e-9)
    assert figures(found)["output in a burst"] < 4.75
    assert findings("rail-output-dips", soldered(LARGE, **jump)) == []


def test_a_bass_beat_near_the_end():
    found = only("rail-output-dips", beating())
    values = figures(found)
    assert "bass beat" in found.says
    assert values["volts into it on a beat"] < values["volts into it between beats"]
    assert values["output on a beat, worst"] < 0.95 * 9.0
    assert "perhaps" in found.says
    guarded = beating(input_capacitor="4700 µF", input_diode="1N5819")
    assert findings("rail-output-dips", guarded) == []
    assert findings("rail-drops-out", beating()) == []


def test_without_a_circuit_nothing_is_known_of_dips():
    assert findings("rail-output-dips", with_(BASE, {"rail": PART})) == []
