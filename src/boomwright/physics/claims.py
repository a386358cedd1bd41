"""The watts on a label: the supply they need, and the share that is really there."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats, not_negative
from boomwright.physics.clipping import clipped_power_factor

__all__ = ["claim_truth", "claimed_voltage"]


def claimed_voltage(
    power: FloatsLike,
    load: FloatsLike,
    *,
    rail_share: FloatsLike,
    voltage_loss: FloatsLike = 0.0,
    resistance_output: FloatsLike = 0.0,
    distortion: FloatsLike = 0.0,
) -> Floats:
    """Supply voltage that a claimed sine power needs.

    Inverse of `swing_peak` and `clean_power` without a current limit; with a distortion, the
    claim is taken as the power of a hard-clipped sine.

    Parameters
    ----------
    power : float or array, any shape
        Claimed power of one channel [W], 0 or above.
    load : float or array, any shape
        Load of the claim [Ω], above 0.
    rail_share : float or array, any shape
        From `RAIL_SHARE` [1].
    voltage_loss : float or array, any shape
        Total saturation loss [V].
    resistance_output : float or array, any shape
        Resistance in series with the load [Ω].
    distortion : float or array, any shape
        Distortion at which the claim was made [1]; 0.10 for a "10 %" figure.

    Returns
    -------
    array, broadcast shape
        Whole supply voltage [V].

    Raises
    ------
    ValueError
        If a power is below 0, a load or rail share is not above 0, or a distortion is outside
        0 to 0.4834.

    Notes
    -----
    V = V_loss + sqrt(2 R P/F) (1 + R_out/R)/s, F from `clipped_power_factor`.

    References
    ----------
    .. [1] R. L. Boylestad, L. Nashelsky, Electronic Devices and Circuit Theory, Pearson,
       class-B amplifiers.

    Examples
    --------
    100 W in 4 ohm from a bridge needs at least 28.3 V, however the board is labelled.

    >>> round(float(claimed_voltage(100.0, 4.0, rail_share=1.0)), 1)
    28.3
    """
    watts = not_negative(power, "claimed power", "W")
    resistance = above_zero(load, "load", "Ω")
    share = above_zero(rail_share, "rail share")
    peak = np.sqrt(2.0 * resistance * watts / clipped_power_factor(distortion))
    return floats(voltage_loss) + peak * (1.0 + floats(resistance_output) / resistance) / share


def claim_truth(clean: FloatsLike, *, claimed: FloatsLike, distortion: FloatsLike = 0.0) -> Floats:
    """Share of a claimed power that is really there, judged on the claim's own terms.

    The clean power is raised to what a meter would show at the claim's distortion, so an
    honest "10 %" figure comes out as 1.

    Parameters
    ----------
    clean : float or array, any shape
        Clean sine power at this supply and load [W].
    claimed : float or array, any shape
        Claimed power for the same load [W], above 0.
    distortion : float or array, any shape
        Distortion at which the claim was made [1].

    Returns
    -------
    array, broadcast shape
        Real over claimed [1].

    Raises
    ------
    ValueError
        If a claim is not above 0 or a distortion is outside 0 to 0.4834.

    Notes
    -----
    P_clean F/P_claimed, F from `clipped_power_factor`.

    References
    ----------
    .. [1] Fourier analysis of a clipped sine, computed; any text on signals.

    Examples
    --------
    A bridge on 12 V with 4 ohm, sold as 50 W at 10 %:

    >>> round(float(claim_truth(18.0, claimed=50.0, distortion=0.10)), 2)
    0.46
    """
    watts = above_zero(claimed, "claimed power", "W")
    return floats(clean) * clipped_power_factor(distortion) / watts
