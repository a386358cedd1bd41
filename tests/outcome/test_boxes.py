"""Boxes in the figures of the trade, and what a chamber for the electronics gives."""

from __future__ import annotations

import math

import pytest
from tests.outcome.builds import build_of
from tests.outcome.test_sound import CLOSED, MOTOR, VENTED, text_of

from boomwright.outcome.boxes import bass_boxes, own_chamber
from boomwright.outcome.run import run_build

SHARED = CLOSED.replace("electronics_apart = true", 'taken = "6 L (standard)"')
RADIATOR = """
[cabinet]
volume = "30 L"
type = "radiator"
leaks = "tight"
electronics_apart = true
radiator = { sd = "210 cm²", mass = "60 g", fs = "22 Hz" }
"""


def test_closed_box_has_resonance_and_q():
    # Small, Closed-Box Loudspeaker Systems, 1972: fc/fs = Qtc/Qts = sqrt(1 + Vas/Vb).
    (box,) = bass_boxes(build_of(text_of()))
    stiffer = math.sqrt(1.0 + 44.0 / 26.0)
    assert box.fc == pytest.approx(38.0 * stiffer, rel=1e-3)
    assert box.qtc == pytest.approx(stiffer / (1.0 / 0.43 + 1.0 / 4.1), rel=1e-3)
    assert math.isnan(box.fb)
    assert box.hump_db == 0.0
    (driver,) = run_build(build_of(text_of()), versions=0).drivers
    assert (box.fc, box.qtc) == pytest.approx((driver.box_fc, driver.box_qtc), rel=1e-6)
    assert box.low_end == pytest.approx(driver.low_end, rel=1e-6)


def test_high_q_has_a_hump():
    # Qtc 1.2: 20 log10(Q²/sqrt(Q² - 1/4)) = 2.41 dB (Small 1972).
    driver = MOTOR.replace("0.43", "0.7").replace("4.1", "8.0")
    wanted = 1.2 / (1.0 / (1.0 / 0.7 + 1.0 / 8.0))
    litres = 44.0 / (wanted**2 - 1.0)
    (box,) = bass_boxes(build_of(text_of(driver, CLOSED.replace("26 L", f"{litres:.4f} L"))))
    assert box.qtc == pytest.approx(1.2, rel=1e-3)
    assert box.hump_db == pytest.approx(2.41, abs=0.1)  # dB; the air's own losses cost the last


def test_measured_tuning_comes_back():
    cabinet = VENTED + 'tuning = "41 Hz (measured)"\n'
    (box,) = bass_boxes(build_of(text_of(cabinet=cabinet)))
    assert box.fb == pytest.approx(41.0, rel=1e-6)
    assert math.isnan(box.fc)


def test_radiator_is_tuned_by_its_mass():
    (box,) = bass_boxes(build_of(text_of(cabinet=RADIATOR)))
    # fb = sqrt(fp² + rho c² Sd²/(4 pi² M Vb)), mass on two springs; rho c² = 141.8 kPa at 20 °C.
    air = 141.8e3 * 0.021**2 / (4.0 * math.pi**2 * 0.060 * 0.030)
    assert box.fb == pytest.approx(math.sqrt(22.0**2 + air), rel=2e-3)


def test_chamber_gives_the_air_back():
    driver = MOTOR.replace("0.43", "0.9")
    (found,) = own_chamber(build_of(text_of(driver, SHARED)))
    assert found.taken == pytest.approx(6e-3, rel=1e-9)
    assert found.shared.volume == pytest.approx(20e-3, rel=1e-9)
    assert found.apart.volume == pytest.approx(26e-3, rel=1e-9)
    assert found.apart.fc == pytest.approx(bass_boxes(build_of(text_of(driver)))[0].fc, rel=1e-9)
    assert found.shared.fc > found.apart.fc
    assert found.shared.low_end > found.apart.low_end
    assert found.shared.hump_db > found.apart.hump_db > 0.0


@pytest.mark.parametrize(
    "cabinet", ["", CLOSED, SHARED.replace("6 L", "0 L"), SHARED.replace('"closed"', '"open"')]
)
def test_nothing_to_take_out_of_the_air(cabinet):
    assert own_chamber(build_of(text_of(cabinet=cabinet))) == ()


def test_unknown_driver_has_only_its_volume():
    (box,) = bass_boxes(build_of(text_of('[driver]\nimpedance = "4 Ω"\n')))
    assert box.volume == pytest.approx(26e-3, rel=1e-9)
    assert all(math.isnan(value) for value in (box.fc, box.qtc, box.fb, box.hump_db))


def test_tweeters_have_no_box():
    treble = '[driver]\nimpedance = "8 Ω"\nband = "high"\ncapacitor = "4.7 µF"\n'
    assert bass_boxes(build_of(text_of(treble))) == ()


def test_without_a_cabinet_there_is_no_box():
    (box,) = bass_boxes(build_of(text_of(cabinet="")))
    assert box.kind == "none"
    assert math.isnan(box.volume)
