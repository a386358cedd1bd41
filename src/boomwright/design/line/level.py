"""What designs at line level share: how they check, and corners, noise and ohms as figures."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

import numpy as np

from boomwright.build.quantities import format_quantity
from boomwright.circuit.values import NOMINAL_TEMPERATURE, Floats
from boomwright.design.sheet import Expected
from boomwright.design.spread import Limits
from boomwright.errors import InputError, Problem
from boomwright.physics.nature import BOLTZMANN
from boomwright.physics.preferred import preferred_values

__all__ = [
    "IMPEDANCE_SPREAD",
    "TONE",
    "check_sizes",
    "corner",
    "e24_between",
    "limits_around",
    "ohms",
    "resistor_noise",
]

TONE = 400.0
"""Tone to measure with: a plain multimeter still reads it right [Hz]."""

IMPEDANCE_SPREAD = 0.2
"""How well source and load impedances and capacitances are known, as a share [1]."""

_BAND = 20e3
_ROUND = 1e-9


def check_sizes(sizes: Mapping[str, tuple[float, str]], tolerance: float, gain_db: float) -> None:
    """Nothing if all can be used, else InputError with every value that cannot."""
    problems = [
        Problem(
            "a value that must be above zero",
            got=format_quantity(value, kind),
            expected="above 0",
            key=key,
        )
        for key, (value, kind) in sizes.items()
        if not (math.isfinite(value) and value > 0.0)
    ]
    if not 0.0 <= tolerance <= 0.2:
        problems.append(
            Problem(
                "tolerance of the resistors",
                got=format_quantity(tolerance, "share"),
                expected="0 % to 20 %",
                key="tolerance",
                hint="Film resistors come with 1 % or 5 %.",
            )
        )
    if not -20.0 <= gain_db <= 80.0:
        problems.append(
            Problem(
                "gain of the amplifier",
                got=format_quantity(gain_db, "decibel"),
                expected="-20 dB to 80 dB",
                key="gain_db",
                hint="Small boards have 20 dB to 36 dB.",
            )
        )
    if problems:
        raise InputError(problems)


def limits_around(value: float, share: float) -> Limits:
    """Likely value, least and greatest, a share to either side."""
    return value, value * (1.0 - share), value * (1.0 + share)


def e24_between(low: float, high: float) -> Floats:
    """All values of E24 from 10 Ω to 10 MΩ between two limits [Ω]."""
    decades = 10.0 ** np.arange(1.0, 7.0)
    every = np.round(np.outer(decades, preferred_values("E24")).ravel(), 3)
    return every[(every >= low * (1.0 - _ROUND)) & (every <= high * (1.0 + _ROUND))]


def corner(label: str, resistance: float, capacitance: float) -> Expected:
    """Corner of a resistance with a capacitance that is known to a fifth."""
    corner = 1.0 / (2.0 * math.pi * resistance * capacitance)
    # Capacitance is known to a fifth: electrolytics, ceramics and leads alike.
    low, high = corner / (1.0 + IMPEDANCE_SPREAD), corner / (1.0 - IMPEDANCE_SPREAD)
    return Expected(label, corner, low, high, "frequency")


def resistor_noise(resistance: float, gain_db: float) -> Iterator[Expected]:
    """Thermal noise of a resistance up to 20 kHz, at the input and after a gain."""
    volts = math.sqrt(4.0 * BOLTZMANN * NOMINAL_TEMPERATURE * resistance * _BAND)
    heard = volts * 10.0 ** (gain_db / 20.0)
    yield Expected("noise of the resistors", volts, volts, volts, "voltage")
    yield Expected("the same at the speaker", heard, heard, heard, "voltage")


def ohms(label: str, value: float, tolerance: float) -> Expected:
    """What an ohmmeter should show."""
    return Expected(
        label, value, value * (1.0 - tolerance), value * (1.0 + tolerance), "resistance"
    )
