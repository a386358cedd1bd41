"""Numbers of the circuit layer: floats or one value per sample, and the heat in a junction."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "BOLTZMANN_OVER_CHARGE",
    "NOMINAL_TEMPERATURE",
    "Chosen",
    "Floats",
    "Truths",
    "Value",
    "thermal_voltage",
]

Floats: TypeAlias = NDArray[np.float64]
"""Array of numbers in SI units."""

Truths: TypeAlias = NDArray[np.bool_]
"""Array of states: contact made, output conducting."""

Chosen: TypeAlias = "Truths | slice"
"""Which samples of a batch."""

Value: TypeAlias = "float | Floats"
"""One number, or one per sample of the batch, shape (samples,)."""

BOLTZMANN_OVER_CHARGE = 1.380_649e-23 / 1.602_176_634e-19
"""Boltzmann constant over the charge of an electron [V/K], exact since the SI of 2019."""

NOMINAL_TEMPERATURE = 298.15
"""25 °C: the temperature at which the values of parts are stated [K]."""


def thermal_voltage(temperature: Value = NOMINAL_TEMPERATURE) -> Floats:
    """Thermal voltage kT/q of a junction.

    Parameters
    ----------
    temperature : float or array
        Temperature [K].

    Returns
    -------
    array, same shape
        Voltage [V].

    References
    ----------
    .. [1] P. Horowitz and W. Hill, The Art of Electronics, 3rd ed., Cambridge, 2015 (25.3 mV near
       room temperature, from memory).

    Examples
    --------
    >>> round(float(thermal_voltage(298.15)) * 1e3, 2)
    25.69
    """
    return BOLTZMANN_OVER_CHARGE * np.asarray(temperature, dtype=np.float64)
