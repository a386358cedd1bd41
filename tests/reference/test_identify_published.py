"""Published ways of measuring a driver: the fit gives what the textbook readings give.

The numbers are those of the exact circuit of a coil's resistance in series with one resonance,
worked out apart from this project; the methods are Small's, from memory:

.. [1] R. H. Small, Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 20 (1972) 383.
.. [2] R. H. Small, Closed-Box Loudspeaker Systems, Part I, J. Audio Eng. Soc. 20 (1972) 798.
"""

import numpy as np
import pytest

from boomwright.bench.driver.identified import identify
from boomwright.bench.driver.model import Peak, Setup
from boomwright.bench.driver.start import Hump, three_point_q
from boomwright.bench.driver.sweep import ImpedanceSweep

DRIVERS = {
    "A": {
        "re": 6.0,
        "peak": (40.0, 48.000),
        "sides": (28.284, 56.569),
        "level": 16.971,
        "qms": 4.0000,
        "qes": 0.5714,
        "qts": 0.5000,
        "mass": 0.010,
        "loaded": 32.0,
        "sd": 0.0133,
        "mms": 0.017778,
        "cms": 0.8905e-3,
        "vas": 0.022341,
        "bl": 6.849,
        "sensitivity": 86.04,
    },
    "B": {
        "re": 5.6,
        "peak": (50.0, 42.933),
        "sides": (31.993, 78.141),
        "level": 15.506,
        "qms": 3.0000,
        "qes": 0.4500,
        "qts": 0.3913,
        "mass": 0.006,
        "loaded": 41.0,
        "sd": 0.0085,
        "mms": 0.012315,
        "cms": 0.8227e-3,
        "vas": 0.008431,
        "bl": 6.939,
        "sensitivity": 85.75,
    },
}
"""The impedance-curve method and the added-mass method on two drivers [1]."""


def three_readings(driver):
    below, above = driver["sides"]
    fs, height = driver["peak"]
    hertz = np.array([below, fs, above])
    ohms = np.array([driver["level"], height, driver["level"]])
    return Setup(ImpedanceSweep(hertz, ohms, None, "readings", np.full(3, 0.002)))


@pytest.mark.parametrize("name", DRIVERS)
def test_three_point_formula(name):
    driver = DRIVERS[name]
    fs, height = driver["peak"]
    qms, qes = three_point_q(Hump(fs, height, driver["re"], *driver["sides"], 3))
    assert qms == pytest.approx(driver["qms"], rel=5e-4)
    assert qes == pytest.approx(driver["qes"], rel=5e-4)
    assert np.sqrt(np.prod(driver["sides"])) == pytest.approx(fs, rel=1e-4)


@pytest.mark.parametrize("name", DRIVERS)
def test_fit_to_the_three_classical_readings(name):
    driver = DRIVERS[name]
    found = identify([three_readings(driver)], re=(driver["re"], 0.001)).parameters
    for key in ("re", "qms", "qes", "qts"):
        assert found[key].value == pytest.approx(driver[key], rel=5e-4), key
    assert found["fs"].value == pytest.approx(driver["peak"][0], rel=5e-4)


@pytest.mark.parametrize("name", DRIVERS)
def test_added_mass(name):
    driver = DRIVERS[name]
    found = identify(
        [three_readings(driver)],
        peaks=[Peak(driver["loaded"], 0.001, mass=driver["mass"])],
        re=(driver["re"], 0.001),
        sd=driver["sd"],
    ).parameters
    for key in ("mms", "cms", "bl"):
        assert found[key].value == pytest.approx(driver[key], rel=1e-3), key
    # Other air constants in print move Vas by up to 1.5 %.
    assert found["vas"].value == pytest.approx(driver["vas"], rel=2e-3)
    assert found["sensitivity"].value == pytest.approx(driver["sensitivity"], abs=0.02)  # dB


def test_known_volume():
    """15 litres raise driver A from 40 to 63.111 Hz: Vas 22.34 litres [2]."""
    found = identify(
        [three_readings(DRIVERS["A"])],
        peaks=[Peak(63.111, 0.001, volume=0.015)],
        re=(6.0, 0.001),
    ).parameters
    assert found["vas"].value == pytest.approx(0.02234, rel=1e-3)


def test_known_volume_by_the_q_in_the_box():
    """Vas = Vb ((fc Qec)/(fs Qes) - 1) with fc 63.111 Hz and Qec 0.9016 [2]."""
    driver = DRIVERS["A"]
    hertz = np.geomspace(12.0, 400.0, 120)
    # The exact circuit of the closed box: the same resistances, resonance and Q raised alike.
    ratio = hertz / 63.111 - 63.111 / hertz
    qec, qmc = 0.9016, 0.9016 * 7.0
    motional = driver["re"] * (qmc / qec) / (1.0 + 1j * qmc * ratio)
    z = driver["re"] + motional
    box = Setup(ImpedanceSweep(hertz, np.abs(z), np.angle(z), "box"), "box", volume=0.015)
    ratio = hertz / 40.0 - 40.0 / hertz
    z = driver["re"] + driver["re"] * 7.0 / (1.0 + 4.0j * ratio)
    free = Setup(ImpedanceSweep(hertz, np.abs(z), np.angle(z), "free"))
    found = identify([free, box]).parameters
    assert found["vas"].value == pytest.approx(0.02234, rel=2e-3)
