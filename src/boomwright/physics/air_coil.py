"""Air-core coils: how many ohms a coil of given inductance and wire costs, and how it is wound."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats

__all__ = ["FILLING", "AirCoil", "air_coil"]

FILLING = 0.6
"""Share of a winding's cross-section that is copper: round enamelled wire, wound by hand; typical,
0.5 to 0.7, from memory."""

# Inductance over mean radius and square of turns of the shape below [H/m], and copper.
_SHAPE, _MEAN_RADIUS = 1.6994e-6, 1.5
_RESISTIVITY, _DENSITY = 1.724e-8, 8960.0


@dataclass(frozen=True, eq=False)
class AirCoil:
    """A coil without a core.

    Parameters
    ----------
    resistance : array
        D.c. resistance of the winding at 20 °C [Ω].
    turns : array
        Turns [1].
    side : array
        Height and depth of the winding; its hole is two, its outside four of these wide [m].
    length : array
        Length of the wire [m].
    mass : array
        Mass of the copper [kg].
    """

    resistance: Floats
    turns: Floats
    side: Floats
    length: Floats
    mass: Floats


def air_coil(
    inductance: FloatsLike, diameter: FloatsLike, *, filling: FloatsLike = FILLING
) -> AirCoil:
    """Air-core coil of the best shape: the most inductance for a length of wire.

    A winding of square cross-section whose hole is twice its side, as shop coils are about. The
    resistance follows the filling only a little: 0.5 to 0.7 moves it by 4 % each way; a flat or
    hollow shape costs up to a fifth more.

    Parameters
    ----------
    inductance : float or array, any shape
        Inductance [H], above 0.
    diameter : float or array, any shape
        Diameter of the bare wire [m], above 0.
    filling : float or array, any shape
        Share of the cross-section that is copper [1], above 0.

    Returns
    -------
    AirCoil
        Arrays of the broadcast shape.

    Raises
    ------
    ValueError
        If a value is not above 0.

    Notes
    -----
    L = 1.6994 µH/m a n² with the mean radius a = 1.5 side and n = filling side²/wire: so
    R grows as L^0.6 and falls as the wire's section^0.8.

    References
    ----------
    .. [1] H. B. Brooks, Design of Standards of Inductance, Bureau of Standards J. Research 7
       (1931) 289 (shape and constant from memory; compared with H. A. Wheeler's formula of 1928).

    Examples
    --------
    1 mH of 1 mm wire:

    >>> coil = air_coil(1e-3, 1e-3)
    >>> round(float(coil.resistance), 2), round(float(coil.turns)), round(float(coil.length), 1)
    (0.5, 164, 22.6)
    """
    henries = above_zero(inductance, "inductance", "H")
    wire = 0.25 * np.pi * above_zero(diameter, "diameter of the wire", "m") ** 2
    copper = above_zero(filling, "filling")
    side = (henries * wire**2 / (_SHAPE * _MEAN_RADIUS * copper**2)) ** 0.2
    turns = copper * side**2 / wire
    length = 2.0 * np.pi * _MEAN_RADIUS * side * turns
    return AirCoil(
        resistance=floats(_RESISTIVITY * length / wire),
        turns=floats(turns),
        side=floats(side),
        length=floats(length),
        mass=floats(_DENSITY * length * wire),
    )
