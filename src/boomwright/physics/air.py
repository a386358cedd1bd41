"""Still air as a carrier of heat: conductivity, viscosity, Prandtl number."""

from __future__ import annotations

from boomwright.physics.arrays import Floats, FloatsLike, floats
from boomwright.physics.nature import air_density

__all__ = ["air_conductivity", "air_kinematic_viscosity", "air_prandtl"]

_HEAT_CAPACITY_AIR = 1006.0  # J/(kg K), dry air 0 °C to 60 °C, within 0.2 %


def air_conductivity(temperature: FloatsLike) -> Floats:
    """Thermal conductivity of dry air.

    Law of the US Standard Atmosphere; textbooks disagree by 2 to 3 % between -20 °C and 120 °C,
    and this law lies at the upper end of them.

    Parameters
    ----------
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array, same shape
        Conductivity [W/(m K)].

    Notes
    -----
    k = 2.64638e-3 T^1.5 / (T + 245.4 · 10^(-12/T)).

    References
    ----------
    .. [1] U.S. Standard Atmosphere, NOAA, NASA and USAF, 1976, eq. 53 (from memory).

    Examples
    --------
    >>> round(float(air_conductivity(300.0)), 4)
    0.0263
    """
    t = floats(temperature)
    return 2.64638e-3 * t**1.5 / (t + 245.4 * 10.0 ** (-12.0 / t))


def air_kinematic_viscosity(temperature: FloatsLike) -> Floats:
    """Kinematic viscosity of dry air at one standard atmosphere.

    Sutherland's law over the ideal-gas density; within 2 % of the tables from -20 °C to 120 °C.

    Parameters
    ----------
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array, same shape
        Kinematic viscosity [m²/s].

    Notes
    -----
    mu = 1.458e-6 T^1.5 / (T + 110.4); nu = mu / rho.

    References
    ----------
    .. [1] U.S. Standard Atmosphere, NOAA, NASA and USAF, 1976, eq. 51 (from memory).

    Examples
    --------
    >>> round(float(air_kinematic_viscosity(300.0)) * 1e6, 1)
    15.7
    """
    t = floats(temperature)
    return 1.458e-6 * t**1.5 / (t + 110.4) / air_density(t)


def air_prandtl(temperature: FloatsLike) -> Floats:
    """Prandtl number of dry air.

    Follows from the viscosity and conductivity laws here with a heat capacity of 1006 J/(kg K);
    books print 0.70 to 0.73 at room temperature.

    Parameters
    ----------
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array, same shape
        Prandtl number [1].

    Notes
    -----
    Pr = nu rho cp / k.

    References
    ----------
    .. [1] T. L. Bergman et al., Introduction to Heat Transfer, 6th ed., Wiley, 2011 (definition).

    Examples
    --------
    >>> round(float(air_prandtl(300.0)), 2)
    0.71
    """
    t = floats(temperature)
    viscosity = air_kinematic_viscosity(t) * air_density(t)
    return viscosity * _HEAT_CAPACITY_AIR / air_conductivity(t)
