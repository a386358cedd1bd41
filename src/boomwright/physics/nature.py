"""Constants of nature and the air around the box, with their temperature laws."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, floats

__all__ = [
    "ATMOSPHERE",
    "BOLTZMANN",
    "ELEMENTARY_CHARGE",
    "GRAVITY",
    "REFERENCE_PRESSURE",
    "ROOM_TEMPERATURE",
    "STEFAN_BOLTZMANN",
    "ZERO_CELSIUS",
    "air_density",
    "kelvin",
    "speed_of_sound",
]

ZERO_CELSIUS = 273.15
"""Temperature of 0 °C [K], exact by definition."""

ROOM_TEMPERATURE = ZERO_CELSIUS + 20.0
"""20 °C, the reference temperature of wire and sound tables [K]."""

ATMOSPHERE = 101_325.0
"""Standard atmosphere [Pa], exact by definition."""

GRAVITY = 9.80665
"""Standard acceleration of free fall [m/s²], exact by definition."""

STEFAN_BOLTZMANN = 5.670_374_419e-8
"""Stefan-Boltzmann constant [W/(m² K⁴)], CODATA 2018."""

BOLTZMANN = 1.380_649e-23
"""Boltzmann constant [J/K], exact since the SI of 2019."""

ELEMENTARY_CHARGE = 1.602_176_634e-19
"""Elementary charge [C], exact since the SI of 2019."""

REFERENCE_PRESSURE = 20e-6
"""Sound pressure of 0 dB in air [Pa], ISO 1683."""

_GAS_CONSTANT_DRY_AIR = 287.05
_HEAT_CAPACITY_RATIO = 1.4


def kelvin(temperature_degc: FloatsLike) -> Floats:
    """Absolute temperature of a temperature in degrees Celsius.

    Parameters
    ----------
    temperature_degc : float or array, any shape
        Temperature [°C].

    Returns
    -------
    array, same shape
        Temperature [K].

    Examples
    --------
    >>> float(kelvin(20.0))
    293.15
    """
    return floats(temperature_degc) + ZERO_CELSIUS


def air_density(temperature: FloatsLike = ROOM_TEMPERATURE) -> Floats:
    """Density of dry air at one standard atmosphere.

    Ideal gas; within 0.1 % of the tables from -20 °C to 60 °C. Damp air at 30 °C is up to
    1.6 % lighter, which is left out.

    Parameters
    ----------
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array, same shape
        Density [kg/m³].

    Notes
    -----
    rho = p / (R T) with R = 287.05 J/(kg K).

    References
    ----------
    .. [1] L. E. Kinsler, A. R. Frey et al., Fundamentals of Acoustics, 4th ed., Wiley, 2000
       (ideal-gas relations, from memory).

    Examples
    --------
    Standard air at 20 °C is 1.2041 kg/m³.

    >>> round(float(air_density(293.15)), 4)
    1.2041
    """
    return ATMOSPHERE / (_GAS_CONSTANT_DRY_AIR * floats(temperature))


def speed_of_sound(temperature: FloatsLike = ROOM_TEMPERATURE) -> Floats:
    """Speed of sound in dry air.

    Ideal gas with a heat-capacity ratio of 1.4; within 0.2 % from -20 °C to 60 °C.

    Parameters
    ----------
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array, same shape
        Speed [m/s].

    Notes
    -----
    c = sqrt(gamma R T).

    References
    ----------
    .. [1] L. E. Kinsler, A. R. Frey et al., Fundamentals of Acoustics, 4th ed., Wiley, 2000
       (ideal-gas relations, from memory).

    Examples
    --------
    >>> round(float(speed_of_sound(293.15)), 1)
    343.2
    """
    return np.sqrt(_HEAT_CAPACITY_RATIO * _GAS_CONSTANT_DRY_AIR * floats(temperature))
