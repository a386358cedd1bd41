"""Measurements gone wrong: each named, with what to do; a good one stays quiet."""

from dataclasses import replace

import numpy as np
import pytest
from tests.bench.driver.drivers import (
    DRIVER,
    LAUNCH,
    boxed,
    free,
    grid,
    read,
    vented,
    weighed,
)

from boomwright.bench.driver.identified import identify
from boomwright.bench.driver.model import Doubts, Peak, Setup
from boomwright.errors import InputError
from boomwright.physics.driver import coil_impedance, electrical_impedance


def refused(setups, **how):
    with pytest.raises(InputError) as caught:
        identify(setups, **how)
    return str(caught.value)


def warned(found, level="mind"):
    return " ".join(f"{r.says} {r.do}" for r in found.remarks if r.level == level)


def test_good_sweeps_stay_quiet():
    hertz = grid()
    found = identify(
        [free(hertz, noise=0.004), weighed(hertz, noise=0.003), boxed(hertz, noise=0.005)],
        re=(6.3, 0.005),
        sd=LAUNCH["sd"],
        doubts=Doubts(ohms=0.01, area=0.02, volume=0.02),
    )
    assert found.remarks == ()
    assert found.level == "fine"


@pytest.mark.parametrize(
    ("impedance", "says"),
    [
        (lambda f: np.full(f.size, 8.2 + 0.0j), "flat: this is a resistor"),
        (lambda f: np.full(f.size, 4.7e4 + 0.0j), "the coil is open"),
        (lambda f: np.full(f.size, 0.08 + 0.0j), "the leads are shorted"),
        (
            lambda f: electrical_impedance(DRIVER, f) + 1.0 / (2j * np.pi * f * 47e-6),
            "a capacitor in series",
        ),
        (lambda f: coil_impedance(DRIVER, f), "no resonance peak inside"),
    ],
)
def test_what_is_no_driver_is_named(impedance, says):
    hertz = grid()
    assert says in refused([Setup(read(impedance(hertz), hertz, noise=0.003))])


def test_tweeter_behind_its_capacitor_is_named():
    tweeter = replace(DRIVER, mms=DRIVER.mms / 400.0)  # resonance at 1160 Hz
    hertz = grid(200, 30.0, 2e4)
    impedance = electrical_impedance(tweeter, hertz) + 1.0 / (2j * np.pi * hertz * 3.3e-6)
    assert "a capacitor in series" in refused([Setup(read(impedance, hertz))])


@pytest.mark.parametrize(
    ("lowest", "highest", "says"),
    [
        (80.0, 8e3, "start at a lower frequency"),
        (10.0, 50.0, "The curve only rises"),
        (49.0, 8e3, "does not come down from its peak below it"),
        (10.0, 66.0, "does not come down from its peak above it"),
    ],
)
def test_sweep_too_short_is_named(lowest, highest, says):
    assert says in refused([free(grid(120, lowest, highest))])


def test_sweep_too_coarse_is_named():
    told = refused([free(grid(12))])
    assert "too coarse" in told
    found = identify([free(grid(30), noise=0.002)])
    assert "points lie on the peak" in warned(found)


def test_all_problems_of_all_sweeps_come_at_once():
    hertz = grid()
    flat = Setup(read(np.full(hertz.size, 8.2 + 0j), hertz, source="a.txt"))
    short = weighed(grid(100, 70.0), source="b.txt")
    told = refused([flat, short])
    assert "a.txt: flat" in told
    assert "b.txt: no resonance peak" in told


@pytest.mark.parametrize(("mass", "says"), [(0.001, "Take twice"), (0.06, "Take a quarter")])
def test_mass_too_small_or_too_large_is_named(mass, says):
    hertz = grid(400)
    found = identify([free(hertz), weighed(hertz, mass=mass)])
    assert says in warned(found)


def test_swapped_sweeps_are_named():
    hertz = grid()
    heavy, light = weighed(hertz), free(hertz)
    told = refused(
        [replace(heavy, place="free", mass=0.0), replace(light, place="mass", mass=0.01)]
    )
    assert "did not lower the resonance" in told
    assert "58" in told


def test_peak_with_mass_above_the_free_one_is_named():
    assert "61 Hz with the mass" in refused([free(grid())], peaks=[Peak(61.0, 0.01, mass=0.01)])


@pytest.mark.parametrize(("ohms", "share"), [(1.25, "0.80"), (0.8, "1.25")])
def test_wrong_resistor_stops_and_says_its_true_share(ohms, share):
    hertz = grid()
    found = identify([free(hertz, noise=0.003, ohms=ohms)], re=(6.3, 0.005))
    assert found.level == "stop"
    assert f"has {share} of the ohms stated" in warned(found, "stop")
    assert found.parameters["qes"].value == pytest.approx(LAUNCH["qes"], rel=0.01)


def test_resistor_within_its_tolerance_is_no_fault():
    hertz = grid()
    found = identify(
        [free(hertz, noise=0.003, ohms=1.04)], re=(6.3, 0.005), doubts=Doubts(ohms=0.03)
    )
    assert found.level == "fine"


@pytest.mark.parametrize("mains", [50.0, 60.0])
def test_mains_hum_is_named_and_left_out(mains):
    hertz = grid(300, highest=4900.0)
    clean = free(hertz, noise=0.003)
    bent = clean.sweep.magnitude.copy()
    for tone in (1, 3):
        bent[np.argmin(np.abs(hertz - tone * mains))] *= 1.3
    found = identify([replace(clean, sweep=replace(clean.sweep, magnitude=bent))])
    assert f"Mains hum at {mains:.0f}, {3 * mains:.0f} Hz" in warned(found)
    assert found.parameters["fs"].value == pytest.approx(58.0, rel=1e-3)
    assert found.fitted.model.setups[0].sweep.frequency.size == hertz.size - 2


def test_other_single_points_are_left_out_without_blaming_the_mains():
    hertz = grid(300, highest=4900.0)
    clean = free(hertz, noise=0.003)
    bent = clean.sweep.magnitude.copy()
    bent[np.argmin(np.abs(hertz - 222.0))] *= 0.7
    found = identify([replace(clean, sweep=replace(clean.sweep, magnitude=bent))])
    assert "A single point stands far out" in warned(found)
    assert "Mains" not in warned(found)


def test_second_resonance_is_no_spike():
    """A wide dent is the driver's own: no point of it is a spike, and it shows in the scatter."""
    hertz = grid(300, highest=4900.0)
    clean = free(hertz, noise=0.002)
    dent = 1.0 - 0.3 * np.exp(-((np.log(hertz / 700.0) / 0.15) ** 2))
    sweep = replace(clean.sweep, magnitude=clean.sweep.magnitude * dent)
    found = identify([replace(clean, sweep=sweep)])
    assert "single point" not in warned(found)
    assert "Look at the chart" in warned(found)
    assert found.parameters["fs"].value == pytest.approx(58.0, rel=5e-3)


def test_leaky_test_box_is_named_and_allowed_for():
    hertz = grid()
    found = identify([free(hertz, noise=0.003), boxed(hertz, noise=0.003, ql=6.0)])
    assert "The test box leaks" in warned(found)
    assert found.parameters["vas"].value == pytest.approx(LAUNCH["vas"], rel=0.03)


def test_box_of_another_volume_than_stated_disagrees_with_the_mass():
    hertz = grid()
    stated = replace(boxed(hertz, noise=0.003, volume=0.025), volume=0.014)
    found = identify(
        [free(hertz, noise=0.003), weighed(hertz, noise=0.003), stated], sd=LAUNCH["sd"]
    )
    assert found.level == "stop"
    assert "By the mass Vas is 16.5 L, by the box 9.2" in warned(found, "stop")


def test_box_that_does_not_stiffen_is_named():
    hertz = grid()
    with_box = boxed(hertz, volume=0.4)
    assert "hardly raised" in warned(identify([free(hertz), with_box]))
    lower = replace(weighed(hertz), place="box", mass=0.0, volume=0.01)
    assert "did not raise" in refused([free(hertz), lower])


def test_vented_box_with_one_peak_is_named():
    assert "a vented box shows two" in refused([free(grid())], cabinet="vented")


def test_vented_box_measured_as_free_air_is_not_taken_for_good():
    found = identify([replace(vented(grid(), noise=0.003), volume=np.inf)])
    assert "miss the fitted curve" in warned(found)
