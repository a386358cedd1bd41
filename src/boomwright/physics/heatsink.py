"""Parts on a heat sink: junctions, the sink they need, a plate as a sink."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats, not_negative
from boomwright.physics.convection import surface_coefficient

__all__ = ["junction_temperature", "plate_resistance", "sink_resistance_needed"]


def junction_temperature(
    power: FloatsLike, *, ambient: FloatsLike, resistances: Sequence[FloatsLike]
) -> Floats:
    """Junction temperature at the end of any chain of thermal resistances.

    Steady state, all heat through one chain: from junction to case, from case to sink across grease
    or pad, from sink to air.

    Parameters
    ----------
    power : float or array
        Heat [W].
    ambient : float or array
        Temperature at the cold end [K].
    resistances : sequence of float or array
        Thermal resistances in series [K/W].

    Returns
    -------
    array, broadcast shape
        Junction temperature [K].

    Notes
    -----
    T = T_ambient + P · sum(R).

    References
    ----------
    .. [1] R. L. Boylestad and L. Nashelsky, Electronic Devices and Circuit Theory, Pearson, power
       amplifier chapter (from memory).
    .. [2] Lecture slides on the thermal equivalent circuit of a transistor, TO-220 example: 5 W
       through 3.0, 1.0 and 16 K/W from 50 °C reaches 150 °C.

    Examples
    --------
    The example of [2], and a bare part of 62 K/W:

    >>> round(float(junction_temperature(5.0, ambient=323.15, resistances=[3.0, 1.0, 16.0])), 2)
    423.15
    >>> float(junction_temperature(1.5, ambient=313.15, resistances=[62.0])) - 273.15
    133.0
    """
    chain = floats(0.0)
    for resistance in resistances:
        chain = chain + floats(resistance)
    return floats(ambient) + floats(power) * chain


def sink_resistance_needed(
    power: FloatsLike,
    *,
    ambient: FloatsLike,
    junction_max: FloatsLike,
    junction_case: FloatsLike,
    case_sink: FloatsLike,
) -> Floats:
    """Largest heat-sink resistance that keeps a junction at or under its limit.

    `junction_temperature` turned round; a negative result means that no sink is enough.

    Parameters
    ----------
    power : float or array
        Heat [W].
    ambient : float or array
        Air temperature at the sink [K].
    junction_max : float or array
        Highest junction temperature [K].
    junction_case : float or array
        Thermal resistance in the part, junction to case [K/W].
    case_sink : float or array
        Thermal resistance from case to sink, across grease or pad [K/W].

    Returns
    -------
    array, broadcast shape
        Resistance from sink to air [K/W]; inf without heat.

    Raises
    ------
    ValueError
        If the power is negative.

    Notes
    -----
    R_sa = (T_max - T_ambient) / P - R_jc - R_cs.

    References
    ----------
    .. [1] Lecture slides on the thermal equivalent circuit of a transistor, TO-220 example.

    Examples
    --------
    >>> round(float(sink_resistance_needed(
    ...     5.0, ambient=323.15, junction_max=423.15, junction_case=3.0, case_sink=1.0)), 2)
    16.0
    """
    heat = not_negative(power, "heat of the part", "W")
    spare = floats(junction_max) - floats(ambient)
    spare, heat = np.broadcast_arrays(spare, heat)
    whole = np.where(heat > 0.0, spare / np.where(heat > 0.0, heat, 1.0), np.inf)
    return whole - floats(junction_case) - floats(case_sink)


def plate_resistance(
    *,
    height: FloatsLike,
    area_wetted: FloatsLike,
    rise: FloatsLike,
    emissivity: FloatsLike,
    ambient: FloatsLike,
) -> Floats:
    """Thermal resistance of an upright flat plate used as a heat sink.

    Isothermal plate in free air; thin plates with one hot spot are some 10 to 30 % worse.

    Parameters
    ----------
    height : float or array
        Height of the plate [m].
    area_wetted : float or array
        Area that air touches: both faces if both are free [m²].
    rise : float or array
        Plate above the air [K], above 0.
    emissivity : float or array
        Emissivity [1]: painted or anodised about 0.9, bare aluminium about 0.1.
    ambient : float or array
        Air temperature [K].

    Returns
    -------
    array, broadcast shape
        Resistance [K/W].

    Raises
    ------
    ValueError
        If height, area or rise is not positive, or an emissivity lies outside 0 to 1.

    Notes
    -----
    R = 1 / (A (h_convection + h_radiation)).

    References
    ----------
    .. [1] S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1323; 200 cm²,
       10 cm high, at 65 °C in 25 °C: about 4.0 K/W (computed).

    Examples
    --------
    >>> r = plate_resistance(
    ...     height=0.10, area_wetted=0.02, rise=40.0, emissivity=0.9, ambient=298.15)
    >>> round(float(r), 1)
    3.9
    """
    area = above_zero(area_wetted, "wetted area of the plate", "m²")
    above_air = above_zero(rise, "rise of the plate", "K")
    film = surface_coefficient(
        above_air, height, ambient=ambient, emissivity=emissivity, facing="vertical"
    )
    return 1.0 / (area * film)
