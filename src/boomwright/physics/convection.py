"""Heat from a surface to still air: natural convection and radiation."""

from __future__ import annotations

from typing import Literal

import numpy as np

from boomwright.physics.air import air_conductivity, air_kinematic_viscosity, air_prandtl
from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats
from boomwright.physics.nature import GRAVITY, STEFAN_BOLTZMANN

__all__ = [
    "Facing",
    "convection_coefficient",
    "nusselt_horizontal_down",
    "nusselt_horizontal_up",
    "nusselt_vertical",
    "radiation_coefficient",
    "rayleigh",
    "surface_coefficient",
]

Facing = Literal["vertical", "up", "down"]
"""Which way the hot face looks; a cold face looking down behaves as a hot one looking up."""


def rayleigh(
    rise: FloatsLike,
    length: FloatsLike,
    *,
    film_temperature: FloatsLike,
    viscosity: FloatsLike,
    prandtl: FloatsLike,
) -> Floats:
    """Rayleigh number of a surface in a gas.

    Ideal gas, whose expansion coefficient is 1/T at the film temperature.

    Parameters
    ----------
    rise : float or array
        Temperature of the surface against the gas, either sign [K].
    length : float or array
        Height of a vertical plate, or area over perimeter of a horizontal one [m].
    film_temperature : float or array
        Mean of surface and gas temperature [K].
    viscosity : float or array
        Kinematic viscosity at the film temperature [m²/s].
    prandtl : float or array
        Prandtl number at the film temperature [1].

    Returns
    -------
    array, broadcast shape
        Rayleigh number [1], never negative.

    Notes
    -----
    Ra = g |dT| L³ Pr / (T nu²).

    References
    ----------
    .. [1] Y. A. Cengel, Heat Transfer, McGraw-Hill, problem with a box side 0.15 m high, 32 °C in
       air of 25 °C.

    Examples
    --------
    The side of the box in [1] has Ra = 2.204e6.

    >>> ra = rayleigh(7.0, 0.15, film_temperature=301.5, viscosity=1.594e-5, prandtl=0.7286)
    >>> round(float(ra) / 1e6, 2)
    2.2
    """
    buoyancy = GRAVITY * np.abs(floats(rise)) * floats(length) ** 3 / floats(film_temperature)
    return buoyancy * floats(prandtl) / floats(viscosity) ** 2


def nusselt_vertical(rayleigh_number: FloatsLike, *, prandtl: FloatsLike) -> Floats:
    """Mean Nusselt number of an isothermal vertical plate.

    Churchill and Chu's form for laminar and turbulent flow together, Ra up to 1e12; measured
    data scatter about it by some 10 to 20 %.

    Parameters
    ----------
    rayleigh_number : float or array
        Rayleigh number on the height [1].
    prandtl : float or array
        Prandtl number [1].

    Returns
    -------
    array, broadcast shape
        Nusselt number on the height [1]; 0.68 as Ra goes to zero.

    Notes
    -----
    Nu = (0.825 + 0.387 Ra^(1/6) / [1 + (0.492/Pr)^(9/16)]^(8/27))².

    References
    ----------
    .. [1] S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1323,
       DOI 10.1016/0017-9310(75)90243-4 (as printed in [2]).
    .. [2] Y. A. Cengel, Heat Transfer, McGraw-Hill, problem with a box side 0.15 m high.

    Examples
    --------
    The box of [2] has Nu = 20.55.

    >>> round(float(nusselt_vertical(2.204e6, prandtl=0.7286)), 2)
    20.55
    """
    spread = (1.0 + (0.492 / floats(prandtl)) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    return (0.825 + 0.387 * floats(rayleigh_number) ** (1.0 / 6.0) / spread) ** 2


def nusselt_horizontal_up(rayleigh_number: FloatsLike) -> Floats:
    """Mean Nusselt number of a hot plate facing up, or a cold one facing down.

    The laminar and the turbulent law of McAdams, for Ra from 1e4 to 1e11; the greater of the two
    is taken, so that a solver meets no jump.

    Parameters
    ----------
    rayleigh_number : float or array, any shape
        Rayleigh number on area over perimeter [1].

    Returns
    -------
    array, same shape
        Nusselt number on area over perimeter [1].

    Notes
    -----
    Nu = max(0.54 Ra^(1/4), 0.15 Ra^(1/3)). The laws cross at Ra = 4.7e6; the printed change at
    1e7 would give up to 6.4 % less in between.

    References
    ----------
    .. [1] W. H. McAdams, Heat Transmission, 3rd ed., McGraw-Hill, 1954 (as printed in [2]).
    .. [2] Y. A. Cengel, Heat Transfer, McGraw-Hill, top of the same box, 0.5 m square.

    Examples
    --------
    The top of the box in [2], Ra = 1.275e6, has Nu = 18.15.

    >>> round(float(nusselt_horizontal_up(1.275e6)), 2)
    18.15
    """
    ra = floats(rayleigh_number)
    return np.maximum(0.54 * ra**0.25, 0.15 * np.cbrt(ra))


def nusselt_horizontal_down(rayleigh_number: FloatsLike) -> Floats:
    """Mean Nusselt number of a hot plate facing down, or a cold one facing up.

    The laminar law of McAdams, for Ra from 1e5 to 1e10; the plate's edge must be free.

    Parameters
    ----------
    rayleigh_number : float or array, any shape
        Rayleigh number on area over perimeter [1].

    Returns
    -------
    array, same shape
        Nusselt number on area over perimeter [1].

    Notes
    -----
    Nu = 0.27 Ra^(1/4): half of the plate facing up.

    References
    ----------
    .. [1] W. H. McAdams, Heat Transmission, 3rd ed., McGraw-Hill, 1954 (from memory).

    Examples
    --------
    >>> round(float(nusselt_horizontal_down(1e8)), 6)
    27.0
    """
    return 0.27 * floats(rayleigh_number) ** 0.25


def convection_coefficient(
    rise: FloatsLike, length: FloatsLike, *, ambient: FloatsLike, facing: Facing
) -> Floats:
    """Heat carried off by still air, per area and kelvin.

    Isothermal plate in free air at one atmosphere, air taken at the film temperature; a corner or
    a neighbour nearer than a few centimetres lowers the figure.

    Parameters
    ----------
    rise : float or array
        Temperature of the surface above the air [K]; below it gives the mirror case.
    length : float or array
        Height of a vertical plate, or area over perimeter of a horizontal one [m].
    ambient : float or array
        Air temperature [K].
    facing : "vertical", "up" or "down"
        Which way the face looks when it is the hotter of the two; see `Facing`.

    Returns
    -------
    array, broadcast shape
        Coefficient [W/(m² K)].

    Raises
    ------
    ValueError
        If a length is not positive.

    Notes
    -----
    h = Nu k / L.

    References
    ----------
    .. [1] J. P. Holman, Heat Transfer, McGraw-Hill, table of simplified laws for air (from
       memory): 1.42 (40 K / 0.10 m)^(1/4) = 6.35, from which this law lies less than 10 %.

    Examples
    --------
    >>> round(float(convection_coefficient(40.0, 0.1, ambient=298.15, facing="vertical")), 1)
    6.1
    """
    span = above_zero(length, "length of a cooled face", "m")
    film = floats(ambient) + 0.5 * floats(rise)
    prandtl = air_prandtl(film)
    number = rayleigh(
        rise,
        span,
        film_temperature=film,
        viscosity=air_kinematic_viscosity(film),
        prandtl=prandtl,
    )
    if facing == "vertical":
        nusselt = nusselt_vertical(number, prandtl=prandtl)
    elif facing == "up":
        nusselt = nusselt_horizontal_up(number)
    else:
        nusselt = nusselt_horizontal_down(number)
    return nusselt * air_conductivity(film) / span


def radiation_coefficient(
    rise: FloatsLike, *, ambient: FloatsLike, emissivity: FloatsLike
) -> Floats:
    """Heat radiated to surroundings at air temperature, per area and kelvin.

    Grey surface that sees only its surroundings; sunshine is left out and can add several hundred
    watts per square metre to a dark box.

    Parameters
    ----------
    rise : float or array
        Temperature of the surface above its surroundings [K].
    ambient : float or array
        Temperature of the surroundings [K].
    emissivity : float or array
        Emissivity, 0 to 1 [1]: paint and wood about 0.9, bare aluminium about 0.1.

    Returns
    -------
    array, broadcast shape
        Coefficient [W/(m² K)].

    Raises
    ------
    ValueError
        If an emissivity lies outside 0 to 1.

    Notes
    -----
    h = e s (T1 + T0)(T1² + T0²), which is e s (T1⁴ - T0⁴) / (T1 - T0) without the division;
    4 e s T0³ as the rise goes to zero.

    References
    ----------
    .. [1] Y. A. Cengel, Heat Transfer, McGraw-Hill, Example 9-2: a black plate of 0.36 m² at 363 K
       radiates 182 W to 303 K (from memory).

    Examples
    --------
    >>> h = radiation_coefficient(60.0, ambient=303.0, emissivity=1.0)
    >>> round(float(h) * 0.36 * 60.0)
    182
    """
    share = floats(emissivity)
    if np.any((share < 0.0) | (share > 1.0)):
        wrong = share[(share < 0.0) | (share > 1.0)].flat[0]
        raise ValueError(f"emissivity: got {wrong:g}, must be between 0 and 1")
    cold = floats(ambient)
    hot = cold + floats(rise)
    return share * STEFAN_BOLTZMANN * (hot + cold) * (hot**2 + cold**2)


def surface_coefficient(
    rise: FloatsLike,
    length: FloatsLike,
    *,
    ambient: FloatsLike,
    emissivity: FloatsLike,
    facing: Facing,
) -> Floats:
    """Heat given off by a surface, convection and radiation together, per area and kelvin.

    The sum of `convection_coefficient` and `radiation_coefficient`, with their limits.

    Parameters
    ----------
    rise : float or array
        Temperature of the surface above air and surroundings [K].
    length : float or array
        Height of a vertical plate, or area over perimeter of a horizontal one [m].
    ambient : float or array
        Temperature of air and surroundings [K].
    emissivity : float or array
        Emissivity, 0 to 1 [1].
    facing : "vertical", "up" or "down"
        Which way the face looks when hotter than the air.

    Returns
    -------
    array, broadcast shape
        Coefficient [W/(m² K)].

    Notes
    -----
    h = h_convection + h_radiation.

    References
    ----------
    .. [1] Y. A. Cengel, Heat Transfer, McGraw-Hill, chapter on natural convection.

    Examples
    --------
    >>> h = surface_coefficient(40.0, 0.1, ambient=298.15, emissivity=0.9, facing="vertical")
    >>> round(float(h), 1)
    12.7
    """
    return convection_coefficient(
        rise, length, ambient=ambient, facing=facing
    ) + radiation_coefficient(rise, ambient=ambient, emissivity=emissivity)
