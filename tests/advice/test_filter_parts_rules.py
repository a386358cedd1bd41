"""Rules on the parts of a filter: volts, watts and wire."""

import pytest
from tests.advice.cases import BASE, case_of, findings, mended, only, with_

BARE = {"name": "wide", "band": "full", "count": 2, "impedance": "8 Ω (standard)", "power": "40 W"}
WOOFER = {"name": "woofer", "part": "woofer-6in5-8ohm", "count": 2, "re": "6.3 Ω (measured)"}


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


def wide(*steps):
    return with_(BASE, {"driver": [{**BARE, "filter": list(steps)}]})


def woofer(*steps, **values):
    return with_(BASE, {"driver": [{**WOOFER, **values, "filter": list(steps)}]})


def swing():
    return case_of(wide()).sound.outputs[0].peak_volts[0]


def test_capacitor_of_fewer_volts_than_the_amplifier_swings():
    # In series it meets at low notes all that the amplifier gives.
    text = wide("series 68 µF bipolar 6 V")
    found = only("capacitor-volts", text)
    assert (found.level, found.where) == ("stop", "wide")
    assert figures(found)["meets at its peak"] == pytest.approx(swing(), rel=0.01)
    assert figures(found)["made for"] == 6.0
    assert found.fix.changes[0].value == ("series 68 µF bipolar 35 V",)
    assert findings("capacitor-volts", mended(text, found)) == []


def test_capacitor_of_volts_enough_or_not_told():
    above, below = round(1.05 * swing(), 2), round(0.95 * swing(), 2)
    assert findings("capacitor-volts", wide(f"series 68 µF {above} V")) == []
    assert only("capacitor-volts", wide(f"series 68 µF {below} V")).level == "stop"
    assert findings("capacitor-volts", wide("series 68 µF")) == []


def test_capacitor_that_a_coil_swings_above_the_amplifier():
    # 1 mH and 10 µF on 40 ohm ring at 1592 Hz: Q = R sqrt(C/L) is 4 there.
    high = {
        **BARE,
        "impedance": "40 Ω (standard)",
        "filter": ["series 1 mH 0.01 Ω", "across 10 µF 16 V"],
    }
    found = only("capacitor-volts", with_(BASE, {"driver": [high]}))
    assert found.level == "mind"
    numbers = figures(found)
    ratio = numbers["meets at its peak"] / numbers["amplifier's greatest swing"]
    assert ratio == pytest.approx(4.0, rel=0.05)


def test_pad_turns_half_of_its_power_to_heat():
    # Published: of 6 dB on 8 ohm, 49.9 % fall on the series resistor. Crest factor of pop 14 dB.
    text = wide("series 3.991 Ω 0.2 W", "across 8.038 Ω 5 W")
    found = only("pad-hot", text)
    assert found.level == "stop"
    volts = case_of(text).sound.outputs[0].peak_volts[0] / 10 ** (14 / 20)
    assert figures(found)["heat, flat out"] == pytest.approx(0.499 * volts**2 / 8, rel=0.01)
    assert found.fix.changes[0].value == ("series 3.991 Ω 5 W", "across 8.038 Ω 5 W")
    assert findings("pad-hot", mended(text, found)) == []


@pytest.mark.parametrize(("watts", "level"), [("0.4 W", "mind"), ("0.7 W", "")])
def test_pad_at_half_of_its_rating(watts, level):
    # 0.27 W of heat.
    found = findings("pad-hot", wide(f"series 3.991 Ω {watts}", "across 8.038 Ω 5 W"))
    assert [item.level for item in found] == ([level] if level else [])


def test_pad_of_unknown_watts():
    assert findings("pad-hot", wide("series 3.991 Ω", "across 8.038 Ω")) == []
    loud = {"part": "class-d-bridge-2x150-36v", "load_min": "4 Ω (standard)"}
    supply = {"part": "brick-12v-5a", "voltage": "34 V (standard)", "current_limit": "20 A"}
    text = with_(
        wide("series 3.991 Ω", "across 8.038 Ω"),
        {"amplifier": loud, "supply": supply, "want": {"programme": "dance"}},
        remove=["battery", "charger", "cutoff", "amplifier.part"],
    )
    found = only("pad-hot", text)
    assert found.level == "mind"
    assert "rating is not known" in found.says
    assert figures(found)["heat, flat out"] > 5.0
    assert findings("pad-hot", mended(text, found)) == []


def test_coil_of_thin_wire():
    # 20 log(1 + 1.2/6.3) = 1.5 dB; qes 0.55 becomes 0.655.
    text = woofer("series 3.3 mH 1.2 Ω", qms="4.1", qes="0.55")
    found = only("coil-resistance", text)
    assert (found.level, found.where) == ("mind", "woofer")
    numbers = figures(found)
    assert numbers["level lost"] == pytest.approx(1.515, rel=1e-3)
    assert numbers["qts with it"] == pytest.approx(4.1 * 0.6548 / 4.7548, rel=1e-3)
    assert found.fix.changes[0].value == ("series 3.3 mH 360 mΩ",)
    assert findings("coil-resistance", mended(text, found)) == []


@pytest.mark.parametrize(("wire", "count"), [("0.76 Ω", 0), ("0.78 Ω", 1)])
def test_wire_of_a_coil_on_either_side_of_a_decibel(wire, count):
    # 1 dB of 6.3 ohm is 0.769 ohm.
    assert len(findings("coil-resistance", woofer(f"series 3.3 mH {wire}"))) == count


def test_wire_of_a_coil_that_is_not_told_is_taken_as_usual_and_said_so():
    # 6.8 mH of 1.25 mm wire in the best shape, by the law of air coils.
    found = only("coil-resistance", woofer("series 6.8 mH"))
    assert "usual for its size" in found.says
    assert "measure" in found.do
    assert figures(found)["wire"] == pytest.approx(1.096, rel=0.01)
    assert found.fix is None


def test_wire_before_a_tweeter_or_across_a_driver_is_no_loss():
    tweeter = {"name": "treble", "part": "tweeter-dome-25mm-8ohm", "count": 2}
    steps = ["series 3.9 µF", "series 0.1 mH 3 Ω", "across 0.47 mH 2 Ω"]
    assert (
        findings("coil-resistance", with_(BASE, {"driver": [{**tweeter, "filter": steps}]})) == []
    )
    assert findings("coil-resistance", woofer("across 3.3 mH 1.2 Ω + 100 µF")) == []
    assert findings("coil-resistance", BASE) == []
