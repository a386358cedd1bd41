"""Level in a room: the sound that comes straight, and the room's own."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats
from boomwright.physics.nature import ROOM_TEMPERATURE, speed_of_sound

__all__ = ["absorption_area", "critical_distance", "room_gain_db", "room_level"]


def absorption_area(
    volume: FloatsLike, *, reverberation: FloatsLike, temperature: FloatsLike = ROOM_TEMPERATURE
) -> Floats:
    """Absorption of a room, as square metres of open window.

    Sabine's law: sound comes from all sides alike. Good for rooms that are not very dead, above
    about 2000 sqrt(T/V) Hz; below that single modes rule.

    Parameters
    ----------
    volume : float or array, any shape
        Volume of the room [m³], above 0; infinite outdoors.
    reverberation : float or array, any shape
        Time in which sound falls by 60 dB [s], above 0.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array, broadcast shape
        Absorption area [m²].

    Raises
    ------
    ValueError
        If a volume or a time is not above 0.

    Notes
    -----
    24 ln(10) V/(c T), which is 0.161 V/T.

    References
    ----------
    .. [1] L. E. Kinsler, A. R. Frey et al., Fundamentals of Acoustics, 4th ed., Wiley, 2000,
       chapter on architectural acoustics (from memory).

    Examples
    --------
    >>> round(float(absorption_area(60.0, reverberation=0.5)), 1)
    19.3
    """
    seconds = speed_of_sound(temperature) * above_zero(reverberation, "reverberation time", "s")
    return floats(24.0 * np.log(10.0) * above_zero(volume, "room volume", "m³") / seconds)


def critical_distance(absorption: FloatsLike, *, directivity: FloatsLike = 2.0) -> Floats:
    """Distance at which the room's own sound is as loud as what comes straight.

    Parameters
    ----------
    absorption : float or array, any shape
        Absorption area of the room [m²], above 0.
    directivity : float or array, any shape
        Level on axis over the mean over all directions, as powers [1], above 0: 1 for a small box
        in the bass, 2 on a floor, 4 and more for treble.

    Returns
    -------
    array, broadcast shape
        Distance [m].

    Raises
    ------
    ValueError
        If an area or a directivity is not above 0.

    Notes
    -----
    sqrt(Q A/(16 pi)).

    References
    ----------
    .. [1] L. E. Kinsler, A. R. Frey et al., Fundamentals of Acoustics, 4th ed., Wiley, 2000
       (from memory).

    Examples
    --------
    A living room of 60 m³ and 0.5 s:

    >>> round(float(critical_distance(19.3)), 2)
    0.88
    """
    squared = above_zero(directivity, "directivity") * above_zero(absorption, "absorption", "m²")
    return floats(np.sqrt(squared / (16.0 * np.pi)))


def room_gain_db(
    distance: FloatsLike, *, absorption: FloatsLike, directivity: FloatsLike = 2.0
) -> Floats:
    """What a room adds to the sound that comes straight.

    Direct and reverberant power add, as for music; the place of the box is added elsewhere.

    Parameters
    ----------
    distance : float or array, any shape
        Distance of the listener [m], above 0.
    absorption : float or array, any shape
        Absorption area of the room [m²], above 0; infinite outdoors.
    directivity : float or array, any shape
        As in `critical_distance` [1], above 0.

    Returns
    -------
    array, broadcast shape
        Gain over the level in the open at the same distance [dB]; 0 outdoors.

    Raises
    ------
    ValueError
        If a distance, an area or a directivity is not above 0.

    Notes
    -----
    10 log10(1 + 16 pi r²/(Q A)).

    References
    ----------
    .. [1] L. E. Kinsler, A. R. Frey et al., Fundamentals of Acoustics, 4th ed., Wiley, 2000
       (from memory).

    Examples
    --------
    At the critical distance the two are alike:

    >>> near = critical_distance(31.0)
    >>> round(float(room_gain_db(near, absorption=31.0)), 2)
    3.01
    """
    ratio = above_zero(distance, "distance", "m") / critical_distance(
        absorption, directivity=directivity
    )
    return floats(10.0 * np.log10(1.0 + ratio**2))


def room_level(
    power_level: FloatsLike,
    *,
    distance: FloatsLike,
    absorption: FloatsLike,
    directivity: FloatsLike = 2.0,
) -> Floats:
    """Level in a room of a source whose sound power is known.

    Parameters
    ----------
    power_level : float or array, any shape
        Sound power, re 1 pW [dB].
    distance : float or array, any shape
        Distance of the listener [m], above 0.
    absorption : float or array, any shape
        Absorption area of the room [m²], above 0; infinite outdoors.
    directivity : float or array, any shape
        As in `critical_distance` [1], above 0.

    Returns
    -------
    array, broadcast shape
        Level re 20 µPa [dB].

    Raises
    ------
    ValueError
        If a distance, an area or a directivity is not above 0.

    Notes
    -----
    Lw + 10 log10(Q/(4 pi r²) + 4/A); rho c taken as 400 Pa s/m, which is 0.1 dB at 20 °C.

    References
    ----------
    .. [1] L. E. Kinsler, A. R. Frey et al., Fundamentals of Acoustics, 4th ed., Wiley, 2000
       (from memory).

    Examples
    --------
    10 mW of sound, half space, 3 m, outdoors: 100 dB less 17.5 dB.

    >>> round(float(room_level(100.0, distance=3.0, absorption=np.inf)), 1)
    82.5
    """
    far = above_zero(distance, "distance", "m")
    direct = above_zero(directivity, "directivity") / (4.0 * np.pi * far**2)
    room = 4.0 / above_zero(absorption, "absorption", "m²")
    return floats(floats(power_level) + 10.0 * np.log10(direct + room))
