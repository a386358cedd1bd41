"""Rules on battery gauges by their own marks."""

import pytest
from tests.advice.cases import BASE, findings, only, with_

LEAD = ["12.7 V", "12.3 V", "11.9 V", "11.5 V"]
IRON = ["13.3 V", "13.2 V", "13.1 V", "12.8 V"]
LOUD = with_(
    BASE,
    {"want": {"level": "84 dB(A) at 2 m"}, "battery": {"resistance": "0.4 Ω (measured)"}},
)
PACK = with_(BASE, {"battery": {"part": "lfp-4s-6ah"}}, remove=["cutoff", "charger"])


def gauge(base=BASE, **circuit):
    return with_(base, {"load": {"circuit": circuit}})


def figures(finding):
    return {figure.label: figure.value for figure in finding.numbers}


@pytest.mark.parametrize("rule", ["gauge-marks-close", "gauge-reads-low", "meter-chemistry"])
def test_marks_of_a_lead_battery_are_no_finding(rule):
    assert findings(rule, gauge(marks=LEAD)) == []
    assert findings(rule, gauge(kind="voltmeter")) == []
    assert findings(rule, BASE) == []


def test_marks_of_a_flat_chemistry_cannot_be_told_apart():
    found = only("gauge-marks-close", gauge(PACK, marks=IRON))
    assert (found.level, found.where) == ("mind", "load")
    assert "2 of 3" in found.says
    assert figures(found)["told apart from"] == pytest.approx(0.266, rel=1e-6)
    assert "lifepo4" in found.why
    exact = gauge(PACK, marks=IRON, accuracy="0.2 % (measured)")
    assert findings("gauge-marks-close", exact) == []


def test_coarse_parts_blur_any_marks():
    found = only("gauge-marks-close", gauge(marks=LEAD, accuracy="3 %"))
    assert "3 of 3" in found.says
    assert "change places" in found.why


def test_marks_for_another_chemistry():
    found = only("meter-chemistry", gauge(marks=IRON))
    assert "lifepo4" in found.says


def test_marks_for_rest_read_low_under_load():
    found = only("gauge-reads-low", gauge(LOUD, marks=LEAD))
    assert (found.level, found.where) == ("mind", "load")
    values = figures(found)
    assert values["charge left when it is passed"] > values["charge it stands for"] + 0.15
    assert findings("gauge-reads-low", gauge(LOUD, marks=LEAD, set_for="load")) == []
