"""Rules on the parameters of drivers."""

import pytest
from tests.advice.cases import BASE, findings, mended, only
from tests.advice.tuned import figures, passive, tuned

LOUD = {
    "fs": "30 Hz (standard)",
    "vas": "100 L (standard)",
    "qes": "0.4 (standard)",
}
"""0.66 %, 90.35 dB for 1 W in the coil (Small 1972; O3.29 of the published values); a watt counted
in 8 ohm is 1.333 W in the 6 ohm of the coil, 1.25 dB more."""


def loud(sensitivity, **keys):
    return tuned({**LOUD, "sensitivity": sensitivity, **keys})


def test_sensitivity_that_flatters():
    text = loud("95 dB (standard)")
    found = only("sensitivity-belied", text)
    assert (found.level, found.where) == ("mind", "driver")
    # abs: 0.1 dB, between the air constants in print.
    assert figures(found)["from fs, vas and qes"] == pytest.approx(91.60, abs=0.1)
    assert "95.0 dB" in found.says
    assert findings("sensitivity-belied", mended(text, found)) == []


def test_level_at_2v83_is_counted_back_to_a_watt():
    # 2.83 V are 2 W in 4 ohm: 98 dB is 95 dB for 1 W.
    text = loud("98 dB (standard)", sensitivity_at="2.83 V", impedance="4 Ω (standard)")
    found = only("sensitivity-belied", text)
    assert figures(found)["stated, 1 W at 1 m"] == pytest.approx(94.99, abs=0.01)  # dB, rounding
    after = mended(text, found)
    assert findings("sensitivity-belied", after) == []
    assert 'sensitivity_at = "1 W"' in after


def test_parameters_that_no_driver_has_are_not_reckoned_with():
    # Vas in place of 10 L: 9.77e-7 150³ 0.9/0.4 is 7.4 of the watt as sound, 120.9 dB and 1.25 dB.
    text = loud("90 dB (standard)", fs="150 Hz (standard)", vas="900 L (standard)")
    found = only("sensitivity-belied", text)
    # abs: 0.1 dB, between the air constants in print.
    assert figures(found)["from fs, vas and qes"] == pytest.approx(122.1, abs=0.1)
    assert found.fix is None
    assert "read fs, vas and qes again" in found.do


def test_sensitivity_far_too_low():
    found = only("sensitivity-belied", loud("86 dB (standard)"))
    assert "belongs to another driver" in found.why


@pytest.mark.parametrize(
    "text",
    [
        loud("94.5 dB (standard)"),
        loud("88.7 dB (standard)"),
        loud("95 dB", vas="100 L [60 to 160]", qes="0.4 [0.3 to 0.6]"),
        loud("95 dB (standard)", vas=None),
        BASE,
    ],
    ids=["midrange peak", "a little low", "within the ranges", "no vas", "plain"],
)
def test_sensitivity_that_may_be_true(text):
    assert findings("sensitivity-belied", text) == []


KNOWN = {
    "fs": "40 Hz (standard)",
    "qes": "0.5714 (standard)",
    "vas": "22.34 L (standard)",
    "sd": "133 cm² (standard)",
    "re": "6 Ω (standard)",
}
"""40 Hz falls to 32 Hz with 10 g on the cone: 10 g/((40/32)² - 1) = 17.78 g; k = (2 pi 40)² of it,
1123 N/m; vas = 1.2041 343.2² 0.0133²/1123 = 22.34 L; bl² = 2 pi 40 0.01778 6/0.5714 = 46.9."""


@pytest.mark.parametrize(
    ("key", "value", "made"), [("mms", "11.3 g", 17.78e-3), ("bl", "9.1 Tm", 6.85)]
)
def test_parameter_that_disagrees(key, value, made):
    found = only("parameters-disagree", tuned({**KNOWN, key: f"{value} (standard)"}))
    assert (found.level, found.where) == ("mind", "driver")
    told = [number for label, number in figures(found).items() if f"{key} from" in label]
    assert told == [pytest.approx(made, rel=2e-3)]
    assert key in found.says


def test_force_factor_from_the_mass_that_is_stated():
    # bl = sqrt(2 pi 40 0.0081 6/0.5714) = 4.62 T m.
    text = tuned({**KNOWN, "mms": "8.1 g (standard)", "bl": "6.85 Tm (standard)"})
    found = findings("parameters-disagree", text)
    assert [item.says[:17] for item in found] == ["The file has mms ", "The file has bl a"]
    assert figures(found[1])["bl from fs, mms, re and qes"] == pytest.approx(4.62, rel=2e-3)


def test_coil_above_its_rating():
    found = only("parameters-disagree", tuned({"re": "8.4 Ω (standard)"}))
    assert "8.4 Ω, above the rated impedance of 8 Ω" in found.says


@pytest.mark.parametrize(
    "text",
    [
        tuned({**KNOWN, "mms": "17.78 g (standard)", "bl": "6.85 Tm (standard)"}),
        tuned({**KNOWN, "mms": "15 g (standard)"}),
        tuned({**KNOWN, "mms": "11.3 g [9 to 16]"}),
        tuned({**KNOWN, "sd": None, "mms": "11.3 g (standard)"}),
        tuned({"re": "8.1 Ω (standard)"}),
        BASE,
    ],
    ids=["agree", "a fifth off", "ranges meet", "no sd", "meter leads", "plain"],
)
def test_parameters_that_may_be_true(text):
    assert findings("parameters-disagree", text) == []


CLASS = {"fs": "40 Hz [28 to 55]", "qes": "0.45 [0.3 to 0.8]"}


def test_class_of_driver_in_a_tuned_box():
    found = only("driver-unknown", tuned(CLASS))
    assert (found.level, found.where) == ("mind", "driver")
    told = figures(found)
    assert told["bass end, lowest"] < 40.0 < told["bass end, highest"]
    # The likely driver is the flat one: the ends lie around its 40 Hz (O3.25).
    assert told["least hump"] == 0.0
    assert "coil's resistance" in found.do


@pytest.mark.parametrize(
    ("fs", "qes", "count"),
    [
        # Bass ends 36 to 51 Hz are 1.43 apart; those of the next one less than 1.35.
        ("40 Hz [33 to 47]", "0.4504 (standard)", 1),
        ("40 Hz [33 to 45]", "0.4504 (standard)", 0),
        # 45/33 is a class, 46/34 is a driver, whatever becomes of the bass.
        ("40 Hz [33 to 45]", "0.4504 [0.4 to 0.5]", 1),
        ("40 Hz [34 to 46]", "0.4504 [0.4 to 0.5]", 0),
    ],
)
def test_driver_on_either_side_of_known(fs, qes, count):
    assert len(findings("driver-unknown", tuned({"fs": fs, "qes": qes}))) == count


def test_class_of_driver_with_a_passive_radiator():
    assert only("driver-unknown", passive(driver=CLASS)).where == "driver"


@pytest.mark.parametrize(
    "text",
    [
        tuned({"fs": "40 Hz (label)", "qes": "0.45 (label)", "vas": "40 L (label)"}),
        tuned({**CLASS, "low_end": "44 Hz (measured)"}),
        tuned({**CLASS, "fs": None}),
        tuned(CLASS, {"type": "closed"}),
        tuned(CLASS, {"vent": None}),
    ],
    ids=["label", "end measured", "nothing known", "closed", "tuning unknown"],
)
def test_driver_known_well_enough_or_told_elsewhere(text):
    assert findings("driver-unknown", text) == []
