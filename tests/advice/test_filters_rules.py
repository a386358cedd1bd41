"""Rules on passive filters: the impedance they make, and what drivers make of them."""

import pytest
from tests.advice.cases import BASE, example, findings, mended, only, with_

WOOFER = {
    "name": "woofer",
    "band": "low",
    "count": 2,
    "impedance": "8 Ω (standard)",
    "re": "6.3 Ω (measured)",
    "fs": "45 Hz (measured)",
    "qms": "4.1 (measured)",
    "qes": "0.55 (measured)",
    "vas": "17 L (measured)",
    "sd": "133 cm² (measured)",
    "le": "1 mH (measured)",
    "high_end": "3 kHz (measured)",
    "sensitivity": "87 dB (measured)",
    "power": "31 W (standard)",
}
TREBLE = {
    "name": "treble",
    "part": "tweeter-dome-25mm-8ohm",
    "count": 2,
    "capacitor": "6.8 µF",
    "sensitivity": "87 dB (measured)",
}


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


def woofer(*steps, **values):
    return with_(BASE, {"driver": [{**WOOFER, **values, "filter": list(steps)}]})


def treble(**values):
    return with_(BASE, {"driver": [WOOFER, {**TREBLE, **values}]})


def test_chain_across_that_is_nearly_a_short_circuit():
    # At 20 kHz 100 µF are 0.08 ohm, so the chain is its resistor, and the coil is far above it.
    found = only("impedance-dips", woofer("across 1 Ω + 100 µF"))
    assert (found.level, found.where) == ("stop", "amplifier")
    assert figures(found)["least impedance"] == pytest.approx(1.0, rel=0.03)
    assert figures(found)["least allowed"] == pytest.approx(3.2)
    assert "20 kHz" in found.says
    assert "filter of woofer" in found.do


@pytest.mark.parametrize(
    ("ohms", "level"), [("1.8 Ω", "stop"), ("2.4 Ω", "mind"), ("2.7 Ω", "mind")]
)
def test_chain_across_below_the_least_load(ohms, level):
    found = only("impedance-dips", woofer(f"across {ohms} + 100 µF"))
    assert found.level == level
    assert figures(found)["least impedance"] == pytest.approx(float(ohms[:3]), rel=0.03)


def test_chain_across_that_a_board_stands():
    assert findings("impedance-dips", woofer("across 3.6 Ω + 100 µF")) == []
    assert findings("impedance-dips", woofer("across 6.2 Ω + 22 µF")) == []


def test_load_without_a_filter_is_left_to_the_rated_ohms():
    assert findings("impedance-dips", woofer(re="2.5 Ω (measured)")) == []
    low = with_(BASE, {"driver": [{**WOOFER, "count": 6}, {**TREBLE, "count": 2}]})
    assert findings("load-too-low", low) != []
    assert findings("impedance-dips", low) == []


def test_least_load_follows_joined_outputs():
    mono = {"part": "class-d-bridge-2x50", "mono_mode": True, "use": "paralleled"}
    text = with_(woofer("across 2.4 Ω + 100 µF", count=1), {"amplifier": mono})
    assert findings("impedance-dips", text) == []


def test_coil_that_the_voice_coil_undoes():
    # 0.5 mH on 8 ohm: 2546 Hz, two octaves above 10 log(1 + 16) = 12.3 dB. On 6.3 ohm + 1 mH the
    # coils divide: |6.3 + 64.2j| / |6.4 + 96.3j| is 3.5 dB.
    found = only("woofer-low-pass-undone", woofer("series 0.5 mH 0.1 Ω"))
    assert (found.level, found.where) == ("mind", "woofer")
    assert "hardly falls" in found.says
    assert figures(found)["corner on the rated ohms"] == pytest.approx(2546, rel=0.05)
    assert figures(found)["lost two octaves above"] == pytest.approx(3.5, abs=0.25)  # dB, plateau
    assert figures(found)["on the rated ohms"] == pytest.approx(12.3, abs=0.4)  # dB, plateau


@pytest.mark.parametrize(("le", "undone"), [("0.4 mH", False), ("0.6 mH", True)])
def test_voice_coil_on_either_side(le, undone):
    # le/(le + 0.5 mH): 7.0 dB and 5.3 dB of 12.3 dB; half of them are 6.2 dB.
    text = woofer("series 0.5 mH 0.1 Ω", le=f"{le} (measured)")
    assert bool(findings("woofer-low-pass-undone", text)) is undone


def test_values_of_the_chain_that_mends_it():
    # Published: re 6 ohm and le 0.5 mH want 6 ohm and 13.89 µF; the nearest sold are 6.2 and 15.
    text = woofer("series 0.39 mH 0.1 Ω", re="6 Ω (measured)", le="0.5 mH (measured)")
    found = only("woofer-low-pass-undone", text)
    assert "6.2 Ω and 15 µF" in found.do
    (change,) = found.fix.changes
    assert change.value == ("series 0.39 mH 0.1 Ω", "across 6.2 Ω + 15 µF")
    assert findings("woofer-low-pass-undone", mended(text, found)) == []


def test_second_order_that_rises_on_the_voice_coil():
    text = woofer("series 1 mH 0.3 Ω", "across 12 µF")
    found = only("woofer-low-pass-undone", text)
    assert "lifts" in found.says
    assert figures(found)["greatest rise"] > 2.0
    assert findings("woofer-low-pass-undone", mended(text, found)) == []


def test_coil_in_the_bass_meets_the_resonance_and_no_chain_mends_that():
    found = only("woofer-low-pass-undone", woofer("series 10 mH 0.3 Ω", "across 47 µF"))
    assert found.fix is None
    assert "resonance" in found.why


def test_low_pass_of_a_coil_of_unknown_inductance_or_of_none():
    del_le = {key: value for key, value in WOOFER.items() if key != "le"}
    unknown = with_(BASE, {"driver": [{**del_le, "filter": ["series 0.5 mH"]}]})
    assert findings("woofer-low-pass-undone", unknown) == []
    assert findings("woofer-low-pass-undone", woofer()) == []
    assert findings("woofer-low-pass-undone", BASE) == []


def test_resonance_that_a_capacitor_does_not_hold_back():
    # At 1.1 kHz 6.8 µF are 21.3 ohm and the driver 6.3 (1 + 6/2) = 25.2 ohm: 2.3 dB lost; its own
    # sound is 3.5 dB up there (qts 1.5): 1.2 dB up in all.
    loose = {"qes": "2 (measured)", "qms": "6 (measured)", "re": "6.3 Ω (measured)"}
    text = treble(**loose, fs="1.1 kHz (measured)")
    found = only("tweeter-bump", text)
    assert (found.level, found.where) == ("mind", "treble")
    assert figures(found)["heard there"] == pytest.approx(1.2, abs=0.2)  # dB, plateau
    # R = re (1 + qes/qms) = 8.4, L = re qes/w = 1.82 mH, C = 1/(w re qes) = 11.5 µF.
    assert found.fix.changes[0].value == ("across 8.2 Ω + 1.8 mH + 12 µF",)
    assert findings("tweeter-bump", mended(text, found)) == []


def test_resonance_that_a_capacitor_does_hold_back():
    # qes 1.3, qms 2.5: 3.6 dB lost, own sound 1.3 dB down: 4.9 dB, and 3 dB is the limit.
    assert findings("tweeter-bump", treble()) == []
    # qes 1.6, qms 4: 22.05 ohm, 2.9 dB lost, own sound 1.2 dB up.
    loose = {"qes": "1.6 (measured)", "qms": "4 (measured)"}
    assert only("tweeter-bump", treble(**loose)).level == "mind"


def test_capacitor_that_is_too_large_is_left_to_the_rule_about_it():
    loose = {"qes": "2 (measured)", "qms": "6 (measured)", "capacitor": "15 µF"}
    assert findings("tweeter-capacitor", treble(**loose)) != []
    assert findings("tweeter-bump", treble(**loose)) == []


def test_resonance_of_which_too_little_is_known():
    bare = {"name": "treble", "band": "high", "count": 2, "impedance": "8 Ω", "capacitor": "6.8 µF"}
    for known in ({}, {"fs": "1.1 kHz"}, {"fs": "1.1 kHz", "qes": "3"}):
        assert findings("tweeter-bump", with_(BASE, {"driver": [WOOFER, {**bare, **known}]})) == []


@pytest.mark.parametrize("name", ["market-stall", "rowing-launch", "allotment-day"])
@pytest.mark.parametrize("rule", ["impedance-dips", "woofer-low-pass-undone", "tweeter-bump"])
def test_good_examples_are_quiet(rule, name):
    assert findings(rule, example(name)) == []
