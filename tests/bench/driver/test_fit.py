"""Fits against drivers whose parameters are known, and ranges that hold the truth as often as said.

The sweeps are made by the same laws that are fitted: what is tested here is that the fit finds its
way back and that its uncertainties are honest, not that the laws are right. For the published
numbers see tests/reference/test_identify_published.py.
"""

from dataclasses import replace

import numpy as np
import pytest
from tests.bench.driver.drivers import (
    BOX,
    LAUNCH,
    MASS,
    boxed,
    free,
    grid,
    read,
    truth,
    vented,
    weighed,
)

from boomwright.bench.driver.asked import Asked
from boomwright.bench.driver.fit import fit_driver
from boomwright.bench.driver.identified import identify
from boomwright.bench.driver.known import Estimate, estimates
from boomwright.bench.driver.model import Doubts, Peak, Setup
from boomwright.bench.driver.start import humps
from boomwright.errors import InputError
from boomwright.physics.driver import driver_model, electrical_impedance

DOUBTS = Doubts(ohms=0.011, mass=0.015, volume=0.02, area=0.03)


def off(estimate, value):
    """Distance from the truth in standard uncertainties, on the scale the range is drawn on."""
    if estimate.name == "sensitivity":
        return (estimate.value - value) / estimate.error
    return np.log(estimate.value / value) * estimate.value / estimate.error


@pytest.mark.parametrize("phase", [True, False])
@pytest.mark.parametrize("second", [weighed, boxed])
def test_sweeps_without_noise_give_the_driver_back(second, phase):
    hertz = grid()
    found = identify(
        [free(hertz, phase=phase), second(hertz, phase=phase)], sd=LAUNCH["sd"], doubts=DOUBTS
    )
    assert {name: item.value for name, item in found.parameters.items()} == pytest.approx(
        truth(), rel=1e-4
    )
    assert found.fitted.coil == "lossy"


def test_free_air_alone_tells_no_scale():
    found = identify([free(grid(), noise=0.004)])
    assert set(found.parameters) == {"re", "fs", "qms", "qes", "qts", "le", "le2", "re2"}


def test_mass_without_ruler_weighs_but_tells_no_volume():
    hertz = grid()
    found = identify([free(hertz), weighed(hertz)]).parameters
    assert found["mms"].value == pytest.approx(truth()["mms"], rel=1e-4)
    assert found["bl"].value == pytest.approx(truth()["bl"], rel=1e-4)
    assert not {"vas", "sd", "sensitivity"} & set(found)


def test_box_without_ruler_tells_volume_but_no_mass():
    hertz = grid()
    found = identify([free(hertz), boxed(hertz)]).parameters
    assert found["vas"].value == pytest.approx(LAUNCH["vas"], rel=1e-4)
    assert not {"mms", "bl", "sd"} & set(found)


def test_mass_and_box_together_measure_the_cone():
    hertz = grid()
    found = identify([free(hertz), weighed(hertz), boxed(hertz)], doubts=DOUBTS).parameters
    assert found["sd"].value == pytest.approx(LAUNCH["sd"], rel=1e-3)
    # Sd² goes with Vas over Cms: half of the box's and of the mass's doubt.
    assert found["sd"].error / found["sd"].value == pytest.approx(
        0.5 * np.hypot(0.02, 0.015), rel=0.1
    )


def test_uncertainty_of_what_is_taken_as_known_comes_through():
    hertz = grid()
    found = identify([free(hertz), weighed(hertz)], sd=LAUNCH["sd"], doubts=DOUBTS).parameters
    share = {name: item.error / item.value for name, item in found.items()}
    assert share["re"] == pytest.approx(0.011, rel=0.02)
    assert share["mms"] == pytest.approx(0.015, rel=0.02)
    assert share["bl"] == pytest.approx(0.5 * np.hypot(0.011, 0.015), rel=0.02)
    # By the mass, Vas goes with Sd² and the inverse of the mass.
    assert share["vas"] == pytest.approx(np.hypot(0.06, 0.015), rel=0.02)
    assert share["qes"] < 1e-4


def test_ohmmeter_sharpens_the_ohms_that_the_resistor_leaves_open():
    hertz = grid()
    setups = [free(hertz), weighed(hertz)]
    with_meter = identify(setups, re=(6.3, 0.004), doubts=DOUBTS).parameters["re"]
    assert with_meter.error / with_meter.value == pytest.approx(
        1.0 / np.hypot(1.0 / 0.011, 1.0 / 0.004), rel=0.02
    )


def test_ranges_hold_the_truth_as_often_as_they_say():
    """68 and 95 in 100, over 500 draws of noise, resistor, mass, ruler and ohmmeter."""
    hertz, rng, draws = grid(120), np.random.default_rng(2024), 500
    known, found = truth(), {}
    doubts = Doubts(ohms=0.01, mass=0.015, area=0.03)
    for _ in range(draws):
        ohms, mass, area, meter = (
            float(np.exp(width * rng.normal())) for width in (0.01, 0.015, 0.03, 0.005)
        )
        setups = (
            free(hertz, noise=0.01, rng=rng, ohms=ohms),
            weighed(hertz, mass=MASS * mass, said=MASS, noise=0.01, rng=rng, ohms=ohms),
        )
        asked = Asked(
            setups=setups,
            humps=tuple(humps(setups[0].sweep)),
            re=(6.3 * meter, 0.005),
            sd=LAUNCH["sd"] * area,
            doubts=doubts,
            coil="lossy",
        )
        for name, item in estimates(fit_driver(asked)).items():
            found.setdefault(name, []).append(abs(off(item, known[name])))
    assert set(found) == set(known)
    for name, misses in found.items():
        # Binomial: three standard deviations of 500 draws either way.
        for edge, share in ((1.0, 0.6827), (1.959964, 0.95)):
            within = float(np.mean(np.array(misses) < edge))
            spread = 3.0 * np.sqrt(share * (1.0 - share) / draws)
            assert abs(within - share) < spread, (name, edge, within)


@pytest.mark.parametrize(
    ("driver", "name"),
    [
        ({"re": 3.3, "fs": 118.0, "qms": 2.4, "qes": 1.3, "vas": 0.0009, "sd": 0.0031}, "3-inch"),
        ({"re": 5.4, "fs": 31.0, "qms": 7.9, "qes": 0.31, "vas": 0.11, "sd": 0.0345}, "10-inch"),
        ({"re": 6.1, "fs": 1450.0, "qms": 1.7, "qes": 1.9, "vas": 1e-5, "sd": 0.0007}, "tweeter"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_small_large_and_treble_drivers_are_found(driver, name):
    made = driver_model(**driver, le=0.03e-3, le2=0.06e-3, re2=2.2)
    hertz = np.geomspace(driver["fs"] / 12.0, min(driver["fs"] * 60.0, 2e4), 150)
    mass = 0.6 * float(made.mms)
    found = identify(
        [free(hertz, made, noise=0.004), weighed(hertz, made, mass=mass, noise=0.003)],
        sd=driver["sd"],
    ).parameters
    for key in ("re", "fs", "qms", "qes", "vas"):
        assert abs(off(found[key], driver[key])) < 4.0, key
        assert found[key].value == pytest.approx(driver[key], rel=0.03)


def test_creep_is_found_where_it_is_asked_for():
    driver = driver_model(**LAUNCH, creep=0.18)
    hertz = grid(200, lowest=5.0)
    found = identify([free(hertz, driver, noise=0.002)], creep=True).parameters["creep"]
    assert found.value == pytest.approx(0.18, abs=4.0 * found.error)
    assert found.error < 0.02


def test_vented_cabinet_gives_driver_and_box():
    found = identify([vented(grid(250), noise=0.004)], cabinet="vented", sd=LAUNCH["sd"]).parameters
    expected = {**{key: truth()[key] for key in ("fs", "qms", "qes", "vas", "mms", "bl")}}
    expected |= {"fb": 48.0, "ql": 9.0, "vas_over_box": LAUNCH["vas"] / 0.02}
    assert {key: found[key].value for key in expected} == pytest.approx(expected, rel=0.02)


def test_vented_cabinet_of_unknown_volume_tells_the_ratio_only():
    setup = replace(vented(grid(250), noise=0.003), volume=np.inf)
    found = identify([setup], cabinet="vented").parameters
    assert found["vas_over_box"].value == pytest.approx(0.825, rel=0.01)
    assert not {"vas", "sensitivity", "mms"} & set(found)


def test_closed_cabinet_gives_resonance_and_q_of_both():
    setup = replace(boxed(grid(), noise=0.003), place="free", volume=np.inf)
    found = identify([setup], cabinet="closed").parameters
    stiffer = np.sqrt(1.0 + LAUNCH["vas"] / BOX)
    assert found["fc"].value == pytest.approx(58.0 * stiffer, rel=1e-3)
    assert found["qec"].value == pytest.approx(0.52 * stiffer, rel=5e-3)
    assert found["qmc"].value == pytest.approx(4.1 * stiffer, rel=5e-3)
    assert not {"fs", "qts", "vas"} & set(found)


def test_closed_cabinet_that_leaks_is_told_from_a_tight_one():
    setup = replace(boxed(grid(), noise=0.004, ql=7.0), place="free", volume=np.inf)
    found = identify([setup], cabinet="closed")
    stiffer = np.sqrt(1.0 + LAUNCH["vas"] / BOX)
    assert found.parameters["fc"].value == pytest.approx(58.0 * stiffer, rel=0.01)
    # The leak was made with its Q at 80 Hz; it is told at the resonance in the box.
    assert found.parameters["ql"].value == pytest.approx(7.0 * 58.0 * stiffer / 80.0, rel=0.1)
    assert any("leaks" in remark.says for remark in found.remarks)


def test_cabinet_takes_one_sweep():
    with pytest.raises(InputError, match="takes one sweep alone"):
        identify([free(grid()), weighed(grid())], cabinet="closed")


def test_peak_with_mass_read_alone_weighs_the_cone():
    mass = 0.009
    heavier = 58.0 / np.sqrt(1.0 + mass / truth()["mms"])
    found = identify(
        [free(grid(), noise=0.002)],
        peaks=[Peak(float(heavier), 0.002, mass=mass)],
        sd=LAUNCH["sd"],
    ).parameters
    assert found["mms"].value == pytest.approx(truth()["mms"], rel=0.01)
    assert 0.004 < found["mms"].error / found["mms"].value < 0.012


def test_alike_neighbours_widen_the_ranges():
    """A curve that is a little wrong all along must not look as sure as one of pure noise."""
    hertz = grid(300)
    setup = free(hertz, noise=0.003, phase=False)
    sure = identify([setup]).parameters["qms"].error
    wavy = setup.sweep.magnitude * (1.0 + 0.008 * np.sin(25.0 * np.log(hertz)))
    doubtful = identify([replace(setup, sweep=replace(setup.sweep, magnitude=wavy))])
    assert doubtful.parameters["qms"].error > 2.0 * sure


def test_range_of_a_parameter_is_even_in_ratio_and_holds_95_in_100():
    item = Estimate("fs", 50.0, 5.0)
    assert item.high / item.value == pytest.approx(item.value / item.low, rel=1e-12)
    assert item.high == pytest.approx(50.0 * np.exp(0.196), rel=1e-3)
    level = Estimate("sensitivity", 88.0, 0.5)
    assert level.high - 88.0 == pytest.approx(88.0 - level.low, rel=1e-12)


def test_impossible_driver_is_refused():
    setup = free(grid())
    with pytest.raises(InputError, match="did not lower the resonance"):
        identify([setup, replace(setup, place="mass", mass=0.010)])


@pytest.mark.parametrize(("size", "power"), [(0.03, 0.6), (0.01, 0.75), (0.06, 0.5)])
@pytest.mark.parametrize("highest", [2e3, 2e4])
def test_coil_that_no_lumped_parts_follow_bends_little_and_is_said(size, power, highest):
    """A coil that rises with a power of frequency, as eddy currents in solid iron make it."""
    hertz = grid(300, highest=highest)
    plain = {name: value for name, value in LAUNCH.items() if name not in ("le", "le2", "re2")}
    driver = driver_model(**plain)
    eddies = size * (2j * np.pi * hertz) ** power
    setups = [
        Setup(read(electrical_impedance(driver, hertz) + eddies, hertz, noise=0.004)),
        Setup(
            read(
                electrical_impedance(replace(driver, mms=driver.mms + MASS), hertz) + eddies,
                hertz,
                noise=0.005,
            ),
            "mass",
            mass=MASS,
        ),
    ]
    found = identify(setups, re=(6.3, 0.005), sd=LAUNCH["sd"], doubts=Doubts(ohms=0.01))
    assert any("follows no simple law" in remark.says for remark in found.remarks)
    assert found.level == "fine"
    for name, share in (("re", 0.02), ("fs", 1e-3), ("qms", 0.03), ("qes", 0.05), ("vas", 0.01)):
        item = found.parameters[name]
        assert item.value == pytest.approx(LAUNCH[name], rel=share), name
        assert abs(off(item, LAUNCH[name])) < 3.0, name
