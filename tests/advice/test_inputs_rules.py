"""Rules on what is soldered at an amplifier's input."""

import pytest
from tests.advice.cases import BASE, findings, only, with_

MUTE = {"resistor": "22 kΩ", "capacitor": "220 µF", "threshold": "3 V [2.5 to 3.5]"}


def muted(**circuit):
    return with_(BASE, {"amplifier": {"mute_circuit": {**MUTE, **circuit}}})


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


def test_a_mute_of_a_second_is_no_finding():
    assert findings("mute-short", muted()) == []
    assert findings("mute-after-break", muted()) == []
    assert findings("mute-short", BASE) == []


def test_a_mute_that_ends_too_soon():
    found = only("mute-short", muted(capacitor="10 µF"))
    assert (found.level, found.where) == ("mind", "amplifier")
    assert figures(found)["mute, shortest"] < figures(found)["mute, likely"] < 0.1
    assert "µF or more" in found.do


def test_a_mute_that_perhaps_ends_too_soon():
    found = only("mute-short", muted(capacitor="100 µF"))
    assert "perhaps only" in found.says
    assert figures(found)["mute, shortest"] < 0.5 < figures(found)["mute, likely"]


def test_a_mute_that_a_quick_restart_outwits():
    found = only("mute-after-break", muted(discharge=""))
    assert (found.level, found.where) == ("mind", "amplifier")
    assert "no time at all" in found.says
    assert figures(found)["mute after a second off"] == 0.0
    assert figures(found)["mute after a long rest"] > 1.0
    assert "diode" in found.do


def test_a_measured_delay_counts():
    text = with_(muted(capacitor="10 µF"), {"amplifier": {"mute_delay": "1.4 s (measured)"}})
    assert findings("mute-short", text) == []


@pytest.mark.parametrize("rule", ["mute-short", "mute-after-break"])
def test_a_delay_without_a_circuit_is_left_alone(rule):
    assert findings(rule, with_(BASE, {"amplifier": {"mute_delay": "0.1 s (measured)"}})) == []


def fed(**circuit):
    return with_(BASE, {"amplifier": {"input_circuit": circuit}}, remove=["amplifier.input_pad"])


SUM = {"left_resistor": "1 kΩ", "right_resistor": "1 kΩ"}


def test_usual_resistors_are_no_finding():
    for text in (fed(**SUM), fed(**SUM, coupling_capacitor="1 µF"), BASE):
        assert findings("input-loads-receiver", text) == []
        assert findings("input-takes-bass", text) == []


def test_summing_resistors_that_load_the_receiver():
    found = only("input-loads-receiver", fed(left_resistor="100 Ω", right_resistor="100 Ω"))
    assert (found.level, found.where) == ("mind", "amplifier")
    assert figures(found)["load on the receiver"] == pytest.approx(296.0, rel=0.01)
    assert "1 kΩ" in found.do


def test_a_pad_that_loads_the_receiver():
    found = only("input-loads-receiver", fed(series_resistor="100 Ω", shunt_resistor="220 Ω"))
    assert figures(found)["load on the receiver"] == pytest.approx(318.0, rel=0.01)
    assert "times as large" in found.do
    stands = fed(series_resistor="100 Ω", shunt_resistor="220 Ω", least_load="32 Ω (measured)")
    assert findings("input-loads-receiver", stands) == []


def test_a_capacitor_that_takes_the_bass():
    found = only("input-takes-bass", fed(**SUM, coupling_capacitor="47 nF"))
    assert (found.level, found.where) == ("mind", "amplifier")
    assert figures(found)["corner of the capacitor"] == pytest.approx(321.0, rel=0.02)
    better = figures(found)["capacitor needed"]
    assert findings("input-takes-bass", fed(**SUM, coupling_capacitor=f"{better:g} F")) == []


def test_a_soldered_pad_counts_in_the_gain():
    strong = fed(**SUM, series_resistor="22 kΩ", shunt_resistor="470 Ω")
    found = only("gain-mismatch", strong)
    assert "stays" in found.says
