"""Boxes: net volume, the closed box, and the level its cone's travel allows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats, not_negative
from boomwright.physics.nature import REFERENCE_PRESSURE, ROOM_TEMPERATURE, air_density

__all__ = [
    "ClosedBox",
    "closed_box",
    "closed_box_response_db",
    "closed_box_volume",
    "excursion_level",
    "net_volume",
    "travel_limited_level",
]


@dataclass(frozen=True, eq=False)
class ClosedBox:
    """What a driver becomes in a closed box.

    Parameters
    ----------
    fc : array
        Resonance in the box [Hz].
    qtc : array
        Total Q in the box [1].
    f3 : array
        Frequency at which the response is 3 dB down [Hz].
    peak_db : array
        Height of the hump above the flat level [dB]; 0 up to a qtc of 0.707.
    alpha : array
        Compliance ratio, vas over box volume [1].
    """

    fc: Floats
    qtc: Floats
    f3: Floats
    peak_db: Floats
    alpha: Floats


def net_volume(gross: FloatsLike, *, taken: FloatsLike) -> Floats:
    """Volume of air left in a box.

    Battery, driver, braces and electronics in the same chamber all count; stuffing does not
    (it makes the box act larger, by a tenth or so).

    Parameters
    ----------
    gross : float or array, any shape
        Inner volume of the empty box [m³].
    taken : float or array, any shape
        Volume of all that stands in it [m³].

    Returns
    -------
    array, broadcast shape
        Net volume [m³].

    Raises
    ------
    ValueError
        If nothing is left.

    Notes
    -----
    V_gross - V_taken.

    References
    ----------
    .. [1] Geometry.

    Examples
    --------
    A 2 litre battery and 1.5 litres of driver and braces in 14 litres:

    >>> round(1000 * float(net_volume(0.014, taken=0.0035)), 1)
    10.5
    """
    return above_zero(floats(gross) - floats(taken), "net volume", "m³")


def closed_box(
    *, fs: FloatsLike, qts: FloatsLike, vas: FloatsLike, volume: FloatsLike
) -> ClosedBox:
    """Resonance, Q, cutoff and hump of a driver in a closed box.

    Second-order high-pass: small signals, airtight, no stuffing, and a source of no
    resistance. Above a qtc of 0.707 the box is underdamped: it has a hump and rings.

    Parameters
    ----------
    fs : float or array, any shape
        Resonance in free air [Hz], above 0.
    qts : float or array, any shape
        Total Q in free air [1], above 0.
    vas : float or array, any shape
        Volume of air as compliant as the suspension [m³], 0 or above.
    volume : float or array, any shape
        Net volume of the box [m³], above 0; infinite for a large wall.

    Returns
    -------
    ClosedBox
        Arrays of the broadcast shape.

    Raises
    ------
    ValueError
        If fs, qts or volume is not above 0, or vas is below 0.

    Notes
    -----
    alpha = Vas/Vb; fc/fs = Qtc/Qts = sqrt(1 + alpha). With a = 1/Qtc² - 2,
    (f3/fc)² = (a + sqrt(a² + 4))/2. Hump: 20 log10(Qtc²/sqrt(Qtc² - 1/4)). Mounting in a box
    changes the air mass by a few per cent, left out.

    References
    ----------
    .. [1] R. H. Small, Closed-Box Loudspeaker Systems, Part I, J. Audio Eng. Soc. 20 (1972)
       798 (formulas from memory).

    Examples
    --------
    35 Hz, Qts 0.4 and 60 litres in a box of 20 litres: Qtc 0.8, 70 Hz, f3 62.8 Hz.

    >>> box = closed_box(fs=35.0, qts=0.4, vas=0.060, volume=0.020)
    >>> round(float(box.qtc), 3), round(float(box.fc), 1), round(float(box.f3), 1)
    (0.8, 70.0, 62.8)
    """
    alpha = not_negative(vas, "vas", "m³") / above_zero(volume, "box volume", "m³")
    stiffer = np.sqrt(1.0 + alpha)
    fc = stiffer * above_zero(fs, "fs", "Hz")
    qtc = stiffer * above_zero(qts, "qts")
    shape = 1.0 / qtc**2 - 2.0
    f3 = fc * np.sqrt((shape + np.sqrt(shape**2 + 4.0)) / 2.0)
    every = np.broadcast_arrays(fc, qtc, f3, _hump_db(qtc), alpha)
    return ClosedBox(fc=every[0], qtc=every[1], f3=every[2], peak_db=every[3], alpha=every[4])


def closed_box_volume(
    *, fs: FloatsLike, qts: FloatsLike, vas: FloatsLike, qtc: FloatsLike
) -> Floats:
    """Net volume of the closed box that gives a wanted Q.

    Inverse of `closed_box`, with the same assumptions. No box lowers a driver's Q, so the
    wanted Q cannot be below the driver's own.

    Parameters
    ----------
    fs : float or array, any shape
        Resonance in free air [Hz]; it only shapes the result.
    qts : float or array, any shape
        Total Q in free air [1], above 0.
    vas : float or array, any shape
        Volume of air as compliant as the suspension [m³].
    qtc : float or array, any shape
        Wanted Q in the box [1], not below qts.

    Returns
    -------
    array, broadcast shape
        Net volume [m³]; infinite where qtc equals qts.

    Raises
    ------
    ValueError
        If qts is not above 0 or a qtc is below its qts.

    Notes
    -----
    Vas/((Qtc/Qts)² - 1).

    References
    ----------
    .. [1] R. H. Small, Closed-Box Loudspeaker Systems, Part II, J. Audio Eng. Soc. 21 (1973)
       11 (formulas from memory).

    Examples
    --------
    40 Hz, Qts 0.5 and 38 litres for a Qtc of 0.7071: 38 litres.

    >>> round(1000 * float(closed_box_volume(fs=40.0, qts=0.5, vas=0.038, qtc=0.7071)), 1)
    38.0
    """
    own, wanted = np.broadcast_arrays(above_zero(qts, "qts"), floats(qtc))
    if not np.all(wanted >= own):
        at = np.unravel_index(int(np.argmin(wanted - own)), own.shape)
        raise ValueError(
            f"qtc must not be below the driver's qts of {own[at]:.3g}, got {wanted[at]:.3g}"
        )
    alpha = (wanted / own) ** 2 - 1.0
    compliance, alpha, _ = np.broadcast_arrays(floats(vas), alpha, floats(fs))
    volume = np.full(alpha.shape, np.inf, dtype=np.float64)
    np.divide(compliance, alpha, out=volume, where=alpha > 0.0)
    return volume


def closed_box_response_db(frequency: FloatsLike, *, fc: FloatsLike, qtc: FloatsLike) -> Floats:
    """Response of a closed box over its flat level.

    Second-order high-pass, half space; the driver's own midrange, the baffle and the room are
    left out.

    Parameters
    ----------
    frequency : float or array, any shape
        Frequency [Hz], 0 or above.
    fc : float or array, any shape
        Resonance in the box [Hz], above 0.
    qtc : float or array, any shape
        Total Q in the box [1], above 0.

    Returns
    -------
    array, broadcast shape
        Response [dB]; minus infinity at 0 Hz, 20 log10(qtc) at fc.

    Raises
    ------
    ValueError
        If fc or qtc is not above 0.

    Notes
    -----
    x²/sqrt((1 - x²)² + x²/Qtc²), x = f/fc.

    References
    ----------
    .. [1] R. H. Small, Closed-Box Loudspeaker Systems, Part I, J. Audio Eng. Soc. 20 (1972)
       798 (formulas from memory).

    Examples
    --------
    >>> round(float(closed_box_response_db(60.0, fc=60.0, qtc=0.7071)), 2)
    -3.01
    """
    squared = (floats(frequency) / above_zero(fc, "fc", "Hz")) ** 2
    damping = squared / above_zero(qtc, "qtc") ** 2
    ratio = floats(squared / np.sqrt((1.0 - squared) ** 2 + damping))
    return 20.0 * np.log10(ratio, out=np.full_like(ratio, -np.inf), where=ratio > 0.0)


def excursion_level(
    frequency: FloatsLike,
    *,
    sd: FloatsLike,
    xmax: FloatsLike,
    temperature: FloatsLike = ROOM_TEMPERATURE,
) -> Floats:
    """Level at 1 m in half space when the cone moves to its limit at a frequency.

    A small source near a large hard surface, sine, root-mean-square level. For the level a
    box can play without passing the limit anywhere see `travel_limited_level`.

    Parameters
    ----------
    frequency : float or array, any shape
        Frequency [Hz], above 0.
    sd : float or array, any shape
        Cone area [m²], above 0.
    xmax : float or array, any shape
        Peak travel, one way [m], above 0.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array, broadcast shape
        Level re 20 µPa [dB].

    Raises
    ------
    ValueError
        If frequency, sd or xmax is not above 0.

    Notes
    -----
    p = rho f U/r, U = 2 pi f Sd xmax/sqrt(2): 12 dB for every octave.

    References
    ----------
    .. [1] L. L. Beranek, Acoustics, McGraw-Hill, 1954, simple source (from memory).

    Examples
    --------
    200 cm², 5 mm and 40 Hz: 92.6 dB.

    >>> round(float(excursion_level(40.0, sd=0.0200, xmax=0.005)), 1)
    92.6
    """
    hertz = above_zero(frequency, "frequency", "Hz")
    volume = above_zero(sd, "sd", "m²") * above_zero(xmax, "xmax", "m")
    pressure = air_density(temperature) * np.sqrt(2.0) * np.pi * hertz**2 * volume
    return floats(20.0 * np.log10(pressure / REFERENCE_PRESSURE))


def travel_limited_level(
    *,
    fc: FloatsLike,
    qtc: FloatsLike,
    sd: FloatsLike,
    xmax: FloatsLike,
    temperature: FloatsLike = ROOM_TEMPERATURE,
) -> Floats:
    """Flat level at 1 m at which a closed box reaches its travel somewhere in the bass.

    For signals with full bass down to 0 Hz at constant voltage, the hardest case; a signal
    that falls below fc may be louder.

    Parameters
    ----------
    fc : float or array, any shape
        Resonance in the box [Hz], above 0.
    qtc : float or array, any shape
        Total Q in the box [1], above 0.
    sd : float or array, any shape
        Cone area [m²], above 0.
    xmax : float or array, any shape
        Peak travel, one way [m], above 0.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array, broadcast shape
        Level of the flat region in half space, re 20 µPa [dB].

    Raises
    ------
    ValueError
        If fc, qtc, sd or xmax is not above 0.

    Notes
    -----
    Travel is a second-order low-pass with the corner fc; above a qtc of 0.707 it has the same
    hump as the response. So the level is `excursion_level` at fc less the hump.

    References
    ----------
    .. [1] R. H. Small, Closed-Box Loudspeaker Systems, Part I, J. Audio Eng. Soc. 20 (1972)
       798, displacement-limited acoustic power (from memory).

    Examples
    --------
    >>> round(float(travel_limited_level(fc=70.0, qtc=1.0, sd=0.0133, xmax=0.004)), 1)
    95.6
    """
    quality = above_zero(qtc, "qtc")
    return excursion_level(fc, sd=sd, xmax=xmax, temperature=temperature) - _hump_db(quality)


def _hump_db(qtc: Floats) -> Floats:
    peaked = np.maximum(qtc, np.sqrt(0.5))
    return 20.0 * np.log10(peaked**2 / np.sqrt(peaked**2 - 0.25))
