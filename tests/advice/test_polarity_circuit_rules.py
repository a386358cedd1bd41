"""Rules on a protection against reversed poles that is known by its parts."""

import pytest
from tests.advice.cases import BASE, findings, mended, only, with_

TWO_CELLS = with_(BASE, {"battery": {"part": "li-ion-2s2p-5ah"}}, remove=["cutoff", "charger"])
STEADY = with_(
    BASE,
    {"want": {"programme": "noise", "outside": "40 °C (measured)"}, "driver": {"impedance": "4 Ω"}},
)


def guarded(device, base=BASE, *, kind=None, **circuit):
    table = {"circuit": {"device": device, **circuit}}
    if kind is not None:
        table = {"type": kind, **table}
    return with_(base, {"polarity": table}, remove=["polarity.part"])


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


def test_a_small_shunt_diode_dies_before_the_fuse():
    text = guarded("1N4001", kind="shunt-diode")
    found = only("polarity-shunt-dies", text)
    assert (found.level, found.where) == ("stop", "polarity")
    assert figures(found)["surge the diode stands"] == 30.0
    assert figures(found)["current with swapped poles"] > 60.0
    assert findings("polarity-shunt-dies", mended(text, found)) == []
    # The rule of thumb by rated amperes is silent where the diode itself is known.
    assert findings("polarity-rating", text) == []


@pytest.mark.parametrize("device", ["1N5401", "rectifier-6a-400v"])
def test_a_stout_shunt_diode_outlives_the_fuse(device):
    assert findings("polarity-shunt-dies", guarded(device, kind="shunt-diode")) == []


def test_a_larger_fuse_may_outlive_the_diode():
    text = with_(guarded("1N5401", kind="shunt-diode"), {"fuse": {"rating": "10 A (standard)"}})
    found = only("polarity-shunt-dies", text)
    assert found.level == "mind"
    assert "49 to 360 A² s" in found.says


def test_a_gate_beyond_its_rating():
    found = only("polarity-gate", guarded("p-mosfet-20v-logic-4a"))
    assert (found.level, found.where) == ("stop", "polarity")
    assert figures(found)["volts at the gate"] == pytest.approx(14.7, abs=0.3)
    assert figures(found)["gate stands"] == 12.0
    assert "8.2 V" in found.do
    with_zener = guarded("p-mosfet-20v-logic-4a", gate_zener="1N4738A")
    assert findings("polarity-gate", with_zener) == []
    assert findings("polarity-gate", guarded("p-mosfet-55v-30a")) == []


def test_a_gate_that_is_driven_too_little():
    found = only("polarity-gate", guarded("p-mosfet-55v-30a", TWO_CELLS))
    assert found.level == "mind"
    assert figures(found)["resistance"] > 2 * figures(found)["resistance when open"]
    assert findings("polarity-gate", guarded("p-mosfet-30v-logic-10a", TWO_CELLS)) == []


def test_a_series_diode_that_cooks():
    text = guarded("1N4001", STEADY, kind="series-silicon")
    found = only("polarity-hot", text)
    assert found.level == "stop"
    assert figures(found)["junction"] > figures(found)["limit"]
    assert findings("polarity-hot", mended(text, found)) == []
    assert findings("polarity-hot", guarded("1N5401", STEADY, kind="series-silicon")) == []


def test_a_module_from_the_drawer_is_judged_as_before():
    for rule in ("polarity-shunt-dies", "polarity-gate", "polarity-hot"):
        assert findings(rule, BASE) == []
