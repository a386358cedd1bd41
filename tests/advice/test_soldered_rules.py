"""Rules on a cutoff soldered from parts, and how the other cutoff rules speak of one."""

import pytest
from tests.advice.cases import BASE, findings, only, with_

HOLDING = {
    "family": "zener-relay-holding",
    "relay": "relay-12v-270ohm",
    "zener": "1N4740A",
    "series_resistor": "3.9 kΩ",
    "zener_resistor": "3.9 kΩ",
    "base_resistor": "10 kΩ",
    "filter_capacitor": "680 µF",
}
REFERENCE = {
    "family": "reference-mosfet",
    "mosfet": "p-mosfet-30v-logic-10a",
    "divider_top": "47 kΩ ±1 %",
    "divider_bottom": "12 kΩ ±1 %",
    "feedback_resistor": "430 kΩ ±1 %",
    "gate_resistor": "1.5 kΩ",
    "drive_resistor": "100 Ω",
    "filter_capacitor": "150 µF",
}


def soldered(circuit, **entries):
    table = {"circuit": circuit, **entries}
    return with_(BASE, {"cutoff": table}, remove=["cutoff.part", "cutoff.off"])


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


def test_zener_circuit_from_parts_as_they_come_may_let_go_anywhere():
    found = only("cutoff-spread", soldered(HOLDING))
    assert (found.level, found.where, found.fix) == ("mind", "cutoff", None)
    told = figures(found)
    # A zener of 5 % alone moves a threshold of 11.4 V by ±0.5 V.
    assert told["highest"] - told["lets go at, lowest"] > 0.8
    assert "(measured)" in found.do


def test_reference_circuit_is_sure_enough():
    assert findings("cutoff-spread", soldered(REFERENCE)) == []


def test_what_was_read_on_the_bench_ends_the_spread():
    assert findings("cutoff-spread", soldered(HOLDING, off="11.3 V (measured)")) == []


def test_bought_board_is_no_soldered_one():
    assert findings("cutoff-spread", BASE) == []
    assert findings("cutoff-part-overloaded", BASE) == []


def test_transistor_half_on_is_beyond_its_rating():
    heavy = {
        **HOLDING,
        "relay": "relay-12v-75ohm-automotive",
        "series_resistor": "1 kΩ",
        "zener_resistor": "1 kΩ",
    }
    found = only("cutoff-part-overloaded", soldered(heavy))
    assert (found.level, found.where) == ("stop", "cutoff")
    told = figures(found)
    assert told["stands"] == pytest.approx(0.5, rel=1e-9)
    # Half of the battery's volts and half of the coil's current, by hand: V²/4R at the threshold,
    # a little more where the relay and its battery are at their worst.
    assert told["carries"] * 1.05 > 11.5**2 / (4 * 75)
    assert told["carries"] < 14.7**2 / (4 * 67.5)


def test_light_relay_and_stout_transistor_are_fine():
    assert findings("cutoff-part-overloaded", soldered(HOLDING)) == []
    assert findings("cutoff-part-overloaded", soldered(REFERENCE)) == []


@pytest.mark.parametrize("rule", ["cutoff-too-low", "cutoff-chatters", "cutoff-drains"])
def test_other_rules_point_to_the_parts_and_edit_no_figure(rule):
    low = {**HOLDING, "family": "zener-relay", "zener": "1N4739A", "series_resistor": "1 kΩ"}
    low["zener_resistor"] = "1 kΩ"
    for found in findings(rule, soldered(low)):
        changed = [change.key for change in found.fix.changes] if found.fix else []
        assert not {"off", "on", "latching", "delay"} & set(changed)
        if rule != "cutoff-drains":
            assert "boomwright design cutoff" in found.do


def test_single_threshold_chatters_and_the_holding_one_does_not():
    plain = {**HOLDING, "family": "zener-relay", "series_resistor": "1 kΩ"}
    plain["zener_resistor"] = "1 kΩ"
    assert only("cutoff-chatters", soldered(plain)).where == "cutoff"
    assert findings("cutoff-chatters", soldered(HOLDING)) == []
