"""Drivers of our own making, read with noise of a known size."""

from dataclasses import replace

import numpy as np

from boomwright.bench.driver.model import Setup
from boomwright.bench.driver.sweep import ImpedanceSweep
from boomwright.physics.acoustic_load import closed_load, load_impedance, vented_load
from boomwright.physics.driver import driver_model, electrical_impedance, small_signal

LAUNCH = {
    "re": 6.3,
    "fs": 58.0,
    "qms": 4.1,
    "qes": 0.52,
    "vas": 0.0165,
    "sd": 0.0135,
    "le": 0.25e-3,
    "le2": 0.5e-3,
    "re2": 4.0,
}
"""The mid-bass driver of a rowing launch; invented."""
MASS, BOX = 0.012, 0.014
DRIVER = driver_model(**LAUNCH)


def truth():
    """Every parameter of the launch's driver, by the laws of physics/driver.py."""
    small = small_signal(DRIVER)
    return {
        **LAUNCH,
        "qts": float(small.qts),
        "sensitivity": float(small.sensitivity),
        **{name: float(getattr(DRIVER, name)) for name in ("mms", "cms", "rms", "bl")},
    }


def grid(points=160, lowest=10.0, highest=8000.0):
    return np.geomspace(lowest, highest, points)


def read(impedance, frequency, *, noise=0.0, rng=None, phase=True, ohms=1.0, source="sweep.txt"):
    """A sweep of an impedance with random errors of a share ``noise``."""
    rng = rng or np.random.default_rng(11)
    off = noise * rng.normal(size=(2, frequency.size))
    return ImpedanceSweep(
        frequency,
        ohms * np.abs(impedance) * np.exp(off[0]),
        np.angle(impedance) + off[1] if phase else None,
        source,
    )


def free(frequency, driver=DRIVER, **how):
    return Setup(read(electrical_impedance(driver, frequency), frequency, **how))


def weighed(frequency, driver=DRIVER, *, mass=MASS, said=None, **how):
    heavier = replace(driver, mms=driver.mms + mass)
    sweep = read(electrical_impedance(heavier, frequency), frequency, **how)
    return Setup(sweep, "mass", mass=mass if said is None else said)


def boxed(frequency, driver=DRIVER, *, volume=BOX, ql=np.inf, **how):
    load = driver.sd**2 * load_impedance(closed_load(volume=volume, at=80.0, ql=ql), frequency)
    sweep = read(electrical_impedance(driver, frequency, air_load=load), frequency, **how)
    return Setup(sweep, "box", volume=volume)


def vented(frequency, driver=DRIVER, *, volume=0.02, fb=48.0, ql=9.0, **how):
    load = driver.sd**2 * load_impedance(vented_load(volume=volume, fb=fb, ql=ql), frequency)
    sweep = read(electrical_impedance(driver, frequency, air_load=load), frequency, **how)
    return Setup(sweep, volume=volume)
