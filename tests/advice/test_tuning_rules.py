"""Rules on the tuning of vented boxes and passive radiators."""

import numpy as np
import pytest
from tests.advice.cases import findings, mended, only
from tests.advice.tuned import figures, passive, tuned


def at(tuning):
    return tuned(cabinet={"tuning": f"{tuning} Hz (standard)"})


def hump(*, fs, qts, vas, volume, fb, ql):
    """Hump of a vented box from the coefficients of Small's papers [dB]."""
    h, alpha = fb / fs, vas / volume
    a1 = 1 / (np.sqrt(h) * qts) + np.sqrt(h) / ql
    a2 = 1 / (ql * qts) + (alpha + 1 + h**2) / h
    a3 = np.sqrt(h) / qts + 1 / (np.sqrt(h) * ql)
    s = 1j * np.geomspace(0.3, 8.0, 4000)
    return 20 * np.log10(np.max(np.abs(s**4 / np.polyval([1, a1, a2, a3, 1], s))))


def test_tuned_too_high():
    found = only("tuning-off", at(60))
    assert (found.level, found.where) == ("mind", "driver")
    assert found.says.startswith("The box is tuned to 60 Hz, too high")
    # abs: 0.05 dB, for the absorption of bare walls that Small leaves out.
    booms = hump(fs=40.0, qts=0.4048, vas=40.0, volume=37.69, fb=60.0, ql=7.0)
    assert figures(found)["hump"] == pytest.approx(booms, abs=0.05)
    # The flat box of this driver and this air is tuned to 40 Hz (O3.25 of the published values).
    assert figures(found)["tuning that suits"] == pytest.approx(40.0, rel=0.04)
    assert figures(found)["bass end it could have"] == pytest.approx(40.0, rel=5e-3)


def test_vent_proposed_tunes_as_it_says():
    # The vent of 9.61 cm measures 60 Hz: (9.61 + 4.389) cm (60/fb)² - 4.389 cm.
    found = only("tuning-off", at(60))
    fb = figures(found)["tuning that suits"]
    assert f"longer: {13.999 * (60 / fb) ** 2 - 4.389:.0f}" in found.do


def test_tuned_too_low():
    found = only("tuning-off", at(25))
    assert "too low" in found.says
    assert "ends at 59 Hz" in found.says
    assert "shorter" in found.do


def test_hole_that_tunes_too_low_already():
    vent = {"diameter": "1.2 cm (standard)", "length": "1 cm (standard)"}
    found = only("tuning-off", tuned(cabinet={"vent": vent}))
    assert "Even a hole in the panel tunes lower" in found.do


@pytest.mark.parametrize(
    "text",
    [
        at(40),
        at(36),
        at(48),
        tuned({"fs": "40 Hz [30 to 50]"}, {"tuning": "60 Hz (standard)"}),
        tuned({"low_end": "40 Hz (measured)"}, {"tuning": "60 Hz (standard)"}),
        tuned(cabinet={"vent": None}),
        tuned(cabinet={"type": "closed"}),
    ],
    ids=["flat", "lower", "higher", "class only", "end measured", "no tuning", "closed"],
)
def test_tuning_that_is_let_pass(text):
    assert findings("tuning-off", text) == []


LOOSE = {"qes": "0.9 (standard)"}
"""1/(1/0.9 + 1/4) = 0.7347: far beyond the 0.557 at which Thiele's table ends."""


def test_high_q_in_a_vented_box():
    text = tuned(LOOSE)
    found = only("vented-mistake", text)
    assert (found.level, found.where) == ("mind", "driver")
    assert figures(found)["Q of the driver"] == pytest.approx(0.7347, rel=1e-3)
    # abs: 0.05 dB, for the absorption of bare walls that Small leaves out.
    booms = hump(fs=40.0, qts=0.7347, vas=40.0, volume=37.69, fb=40.0, ql=7.0)
    assert figures(found)["hump"] == pytest.approx(booms, abs=0.05)
    # Closed: Qtc 0.7347 sqrt(1 + 40/37.69) = 1.0551, a hump of 1.54 dB by Small's formula for a
    # tight box; its leaks of Q 7 take a little.
    assert "Closed, its hump is 1.3 dB" in found.do
    shut = mended(text, found)
    assert findings("vented-mistake", shut) == []
    assert findings("box-too-small", shut) == []


def test_too_little_air_for_a_driver_that_suits_a_vent():
    # The flat box of this driver has 37.7 L and is tuned to 40 Hz (O3.25 of the published values).
    found = only("vented-mistake", tuned(cabinet={"volume": "7 L (standard)", "tuning": "70 Hz"}))
    assert "it has 7 L of air" in found.says
    assert found.do.startswith("Give it 38 L tuned to 40 Hz, ")
    assert found.fix is not None


def test_box_that_booms_closed_as_well():
    text = tuned({"qes": "0.65 (standard)"}, {"volume": "7 L (standard)", "tuning": "70 Hz"})
    assert only("vented-mistake", text).fix is None


@pytest.mark.parametrize(
    "text",
    [
        tuned(),
        tuned({"qes": "0.9 [0.5 to 1.3]"}),
        tuned(LOOSE, {"type": "closed"}),
        at(60),
    ],
    ids=["flat", "class only", "closed", "tuning is the fault"],
)
def test_no_mistake(text):
    assert findings("vented-mistake", text) == []


LIGHT = {"mass": "20 g (standard)", "fs": "31.77 Hz (standard)"}
"""The cone of 62.3 g and 18 Hz without what was screwed to it."""


def test_light_passive_radiator():
    found = only("radiator-needs-mass", passive(LIGHT))
    assert (found.level, found.where) == ("mind", "cabinet")
    told = figures(found)
    # Springs of surround and air, 797 and 4097 N/m, on the mass wanted, give the tuning named.
    mass = told["moving mass wanted"]
    tuning = np.sqrt((797.0 + 4097.0) / mass) / (2 * np.pi)
    assert tuning == pytest.approx(told["tuning that suits"], rel=2e-3)
    assert f"Screw {1e3 * mass - 20:.0f} g" in found.do


def test_mass_proposed_mends_it():
    mass = figures(only("radiator-needs-mass", passive(LIGHT)))["moving mass wanted"]
    own = 18.0 * np.sqrt(0.0623 / mass)
    heavier = {"mass": f"{mass * 1e3:.2f} g (standard)", "fs": f"{own:.3f} Hz (standard)"}
    assert findings("radiator-needs-mass", passive(heavier)) == []


def test_heavy_passive_radiator():
    found = only(
        "radiator-needs-mass", passive({"mass": "160 g (standard)", "fs": "11.2 Hz (standard)"})
    )
    assert "g off each passive cone" in found.do


@pytest.mark.parametrize(
    "text",
    [passive(), passive(LIGHT, {"fs": "40 Hz [30 to 50]"}), tuned()],
    ids=["near", "class only", "vented"],
)
def test_mass_that_is_let_pass(text):
    assert findings("radiator-needs-mass", text) == []
