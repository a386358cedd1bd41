"""Pads and dampers: the impedance they promise, on drivers of all kinds."""

from __future__ import annotations

import numpy as np
import pytest

from boomwright.physics.driver import coil_impedance, driver_model, electrical_impedance
from boomwright.physics.ladder import Step, ladder
from boomwright.physics.pads import impedance_correction, l_pad, pad_shares, resonance_notch

HERTZ = np.geomspace(20.0, 20e3, 121)
SMALL = {"re": 5.7, "fs": 61.0, "qms": 3.3, "qes": 0.48, "vas": 0.011, "sd": 0.0133}


@pytest.mark.parametrize("taken", [0.7, 3.0, 9.0, 20.0])
def test_pad_keeps_the_impedance_and_takes_the_level(taken):
    pad = l_pad(6.4, taken)
    steps = (Step("series", resistance=pad.series), Step("across", resistance=pad.across))
    found = ladder(steps, np.array(6.4), 1000.0)
    assert abs(complex(found.impedance)) == pytest.approx(6.4, rel=1e-12)
    assert -20.0 * np.log10(abs(complex(found.transfer))) == pytest.approx(taken, rel=1e-12)


def test_no_attenuation_is_no_pad():
    pad = l_pad(8.0, 0.0)
    assert (float(pad.series), float(pad.across)) == (0.0, float("inf"))


@pytest.mark.parametrize("taken", [0.0, 2.0, 12.0])
def test_shares_of_a_pad_are_all_there_is(taken):
    shares = pad_shares(taken)
    assert float(shares.series + shares.across + shares.driver) == pytest.approx(1.0, rel=1e-12)


def test_correction_of_a_plain_coil_leaves_a_resistor():
    coil = driver_model(**SMALL, le=0.43e-3)
    branch = impedance_correction(5.7, 0.43e-3)
    step = Step("across", resistance=branch.resistance, capacitance=branch.capacitance)
    seen = ladder((step,), coil_impedance(coil, HERTZ), HERTZ).impedance
    assert np.abs(seen / 5.7 - 1.0).max() < 1e-9


def test_correction_of_a_lossy_coil_comes_near():
    """Two parts cannot undo four, but a rise of 2.3 times stays within a sixth over the band."""
    coil = driver_model(**SMALL, le=0.21e-3, le2=0.52e-3, re2=9.0)
    branch = impedance_correction(5.7, 0.21e-3, le2=0.52e-3, re2=9.0)
    step = Step("across", resistance=branch.resistance, capacitance=branch.capacitance)
    band = np.geomspace(500.0, 10e3, 41)
    bare = np.abs(coil_impedance(coil, band))
    seen = np.abs(ladder((step,), coil_impedance(coil, band), band).impedance)
    assert bare.max() > 2.3 * 5.7
    assert np.abs(seen / 5.7 - 1.0).max() < 1.0 / 6.0


def test_correction_of_a_lossy_coil_beats_the_plain_formula():
    coil = driver_model(**SMALL, le=0.21e-3, le2=0.52e-3, re2=9.0)
    band = np.geomspace(500.0, 10e3, 41)
    strays = []
    for branch in (
        impedance_correction(5.7, 0.21e-3, le2=0.52e-3, re2=9.0),
        impedance_correction(5.7, 0.73e-3),
    ):
        step = Step("across", resistance=branch.resistance, capacitance=branch.capacitance)
        seen = np.abs(ladder((step,), coil_impedance(coil, band), band).impedance)
        strays.append(float(np.abs(seen / 5.7 - 1.0).max()))
    assert strays[0] < 0.7 * strays[1]


def test_correction_takes_batches():
    both = impedance_correction(np.array([5.7, 3.2]), np.array([0.43e-3, 0.28e-3]))
    assert both.capacitance == pytest.approx([0.43e-3 / 5.7**2, 0.28e-3 / 3.2**2], rel=1e-9)


def test_notch_leaves_a_resistor_of_a_driver_without_inductance():
    driver = driver_model(**SMALL)
    notch = resonance_notch(5.7, fs=61.0, qms=3.3, qes=0.48)
    step = Step("across", notch.resistance, notch.inductance, notch.capacitance)
    seen = ladder((step,), electrical_impedance(driver, HERTZ), HERTZ).impedance
    assert np.abs(seen / 5.7 - 1.0).max() < 1e-9


def test_notch_and_correction_together_leave_a_resistor():
    """Each undoes its own part; where both act, between resonance and coil, an eighth is left."""
    driver = driver_model(**SMALL, le=0.43e-3)
    notch = resonance_notch(5.7, fs=61.0, qms=3.3, qes=0.48)
    branch = impedance_correction(5.7, 0.43e-3)
    steps = (
        Step("across", notch.resistance, notch.inductance, notch.capacitance),
        Step("across", resistance=branch.resistance, capacitance=branch.capacitance),
    )
    bare = electrical_impedance(driver, HERTZ)
    seen = ladder(steps, bare, HERTZ).impedance
    assert np.abs(bare).max() > 7.0 * 5.7
    assert np.abs(np.abs(seen) / 5.7 - 1.0).max() < 1.0 / 8.0


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: l_pad(8.0, -2.5), "attenuation: got -2.5 dB"),
        (lambda: l_pad(-8.5, 3.0), "resistance: got -8.5 Ω"),
        (lambda: impedance_correction(6.0, 0.0), "inductance of the coil: got 0 H"),
        (lambda: impedance_correction(6.0, -1e-3), "le: got -0.001 H"),
        (lambda: resonance_notch(6.0, fs=0.0, qms=3.0, qes=1.0), "fs: got 0 Hz"),
    ],
)
def test_what_cannot_be_is_refused(call, says):
    with pytest.raises(ValueError, match=says):
        call()
