"""Zener diodes: how their volts move with heat, and how soft their knee is."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats

__all__ = ["zener_knee_and_slope", "zener_temperature_coefficient"]

# Volts and their coefficient in V/K: tunnelling below, avalanche above, nothing between.
_LOW, _TURN, _HIGH = (2.4, -1.8e-3), (5.3, 0.0), (7.5, 4.0e-3)


def zener_temperature_coefficient(voltage: FloatsLike) -> Floats:
    """Change of a zener's volts with temperature.

    Falling volts below about 5 V, rising ones above; a rule of thumb good to 30 %, and to its sign
    only between 5 and 6 V.

    Parameters
    ----------
    voltage : float or array, any shape
        Nominal zener voltage [V].

    Returns
    -------
    array, same shape
        Coefficient [V/K].

    Notes
    -----
    (V - 3.5 V) in millivolts per kelvin above 7.5 V; straight lines below, through 0 at 5.3 V.

    References
    ----------
    .. [1] Rule of thumb of application notes (V_z - 3.5 mV/K above 7 V; weak source); turning
       point at 5 to 6 V, both stated in print (from memory).

    Examples
    --------
    >>> round(float(zener_temperature_coefficient(9.1)) * 1e3, 2)
    5.6
    """
    volts = floats(voltage)
    ends = np.array([_LOW, _TURN, _HIGH])
    below = np.interp(volts, ends[:, 0], ends[:, 1])
    return np.where(volts > _HIGH[0], (volts - 3.5) * 1e-3, below)


def zener_knee_and_slope(
    *,
    test_current: FloatsLike,
    slope_most: FloatsLike,
    knee_current: FloatsLike,
    knee_slope_most: FloatsLike,
    share: FloatsLike = 0.4,
) -> tuple[Floats, Floats]:
    """Knee and slope of a zener between the limits of its sheet.

    The sheet gives the greatest dynamic resistance at two currents; a device of the class has a
    share of it. Half of what is left at the test current is laid to the logarithmic knee, the rest
    to a plain resistance.

    Parameters
    ----------
    test_current, knee_current : float or array
        Currents of the two limits [A].
    slope_most, knee_slope_most : float or array
        Greatest dynamic resistance there [Ω].
    share : float or array
        Share of the limit that the device has [1].

    Returns
    -------
    tuple of array
        Knee voltage a of ``V = V_z + a ln(I/I_z) + r (I - I_z)`` [V], and r [Ω].

    Raises
    ------
    ValueError
        If a current is not positive.

    Notes
    -----
    a = s min(Z_k I_k, Z_z I_z / 2), r = s Z_z - a / I_z, so that the dynamic resistance a/I + r
    meets s Z_z at the test current and stays within the limit at the knee.

    References
    ----------
    .. [1] Limits as in the JEDEC 1N4728A list (from memory); the split is ours, and the share is
       typical of class, from memory.

    Examples
    --------
    1N4739A: 5 Ω at 28 mA, 700 Ω at 0.5 mA.

    >>> knee, slope = zener_knee_and_slope(
    ...     test_current=0.028, slope_most=5.0, knee_current=0.5e-3, knee_slope_most=700.0
    ... )
    >>> round(float(knee), 3), round(float(slope), 2)
    (0.028, 1.0)
    """
    test = above_zero(test_current, "test current", "A")
    at_knee = floats(knee_slope_most) * above_zero(knee_current, "knee current", "A")
    at_test = floats(slope_most) * test
    knee = floats(share) * np.minimum(at_knee, 0.5 * at_test)
    return knee, floats(share) * floats(slope_most) - knee / test
