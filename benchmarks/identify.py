"""Fits of a driver's parameters to sweeps and to a recording, as the command makes them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from boomwright.bench.driver.identified import Identified, identify
from boomwright.bench.driver.model import Doubts, Setup
from boomwright.bench.driver.recording import Recorded, recorded_impedance
from boomwright.bench.driver.signal import TestSignal, signal_samples
from boomwright.bench.driver.sweep import ImpedanceSweep
from boomwright.physics.acoustic_load import load_impedance, vented_load
from boomwright.physics.driver import driver_model, electrical_impedance

__all__ = ["LIMIT", "POINTS", "fit_cabinet", "fit_sweeps", "unfold_recording"]

POINTS = 500
"""Points of each sweep, with phase."""

LIMIT = 2.0
"""Aim for each fit [s]."""

_DRIVER = driver_model(
    re=6.3, fs=58.0, qms=4.1, qes=0.52, vas=0.0165, sd=0.0135, le=0.25e-3, le2=0.5e-3, re2=4.0
)
_HERTZ = np.geomspace(10.0, 2e4, POINTS)
_NOISE = 0.005
_MASS = 0.012
_SIGNAL = TestSignal()


def _read(impedance: np.ndarray, seed: int) -> ImpedanceSweep:
    off = _NOISE * np.random.default_rng(seed).normal(size=(2, POINTS))
    return ImpedanceSweep(_HERTZ, np.abs(impedance) * np.exp(off[0]), np.angle(impedance) + off[1])


_FREE = Setup(_read(electrical_impedance(_DRIVER, _HERTZ), 1))
_HEAVY = Setup(
    _read(electrical_impedance(replace(_DRIVER, mms=_DRIVER.mms + _MASS), _HERTZ), 2),
    "mass",
    mass=_MASS,
)
_BOX = vented_load(volume=0.020, fb=48.0, ql=9.0)
_VENTED = Setup(
    _read(
        electrical_impedance(
            _DRIVER, _HERTZ, air_load=_DRIVER.sd**2 * load_impedance(_BOX, _HERTZ)
        ),
        3,
    ),
    volume=0.020,
)
_PLAYED = signal_samples(_SIGNAL)
_TAKE = Recorded(_PLAYED, 0.06 * _PLAYED, _SIGNAL.rate, "take")


def fit_sweeps() -> Identified:
    """Free air and added mass at once, with every doubt: the usual case."""
    return identify(
        [_FREE, _HEAVY],
        re=(6.3, 0.005),
        sd=0.0135,
        doubts=Doubts(ohms=0.01, mass=0.01, area=0.02),
    )


def fit_cabinet() -> Identified:
    """Driver, box and losses from one sweep of a vented cabinet."""
    return identify([_VENTED], cabinet="vented", sd=0.0135)


def unfold_recording() -> ImpedanceSweep:
    """Fourteen seconds of two channels to an impedance."""
    return recorded_impedance(_TAKE, resistor=100.0)[0]


def main() -> None:
    """Print what each takes."""
    import time

    for work in (fit_sweeps, fit_cabinet, unfold_recording):
        work()
        start = time.perf_counter()
        work()
        print(f"{work.__name__}: {time.perf_counter() - start:.3f} s (aim {LIMIT:g} s)")


if __name__ == "__main__":
    main()
