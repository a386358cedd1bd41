"""What the front of the box and the surfaces around it do to the sound at each frequency."""

from __future__ import annotations

from itertools import product
from typing import Final, Literal

import numpy as np

from boomwright.physics.arrays import Complexes, Floats, FloatsLike, above_zero, floats
from boomwright.physics.nature import ROOM_TEMPERATURE, speed_of_sound

__all__ = ["BAFFLE_MIDDLE", "Place", "baffle_step", "place_gain_db"]

Place = Literal["open", "floor", "floor-wall", "corner"]
"""Keys of `boomwright.physics.sound.PLACES`."""

BAFFLE_MIDDLE: Final = 115.0
"""Middle of the baffle step times the width of the front [Hz m]; common practice, from memory.

It is a third of the speed of sound: the step is half done where the front is a third of a
wavelength wide."""

_SURFACES: Final[dict[Place, int]] = {"open": 0, "floor": 1, "floor-wall": 2, "corner": 3}


def baffle_step(frequency: FloatsLike, *, width: FloatsLike) -> Complexes:
    """Sound in front of a box in the open, over that of the same driver in an endless wall.

    Bass goes round the box and is 6 dB down, treble does not. A smooth first-order shelf; the edges
    of a real front add ripples of 1 to 3 dB above its middle, least where the driver is off-centre
    and the edges are round.

    Parameters
    ----------
    frequency : float or array, any shape
        Frequency [Hz], 0 or above.
    width : float or array, any shape
        Lesser side of the front [m], above 0.

    Returns
    -------
    array of complex, broadcast shape
        Ratio of pressures [1]: 0.5 in the bass, 1 in the treble.

    Raises
    ------
    ValueError
        If a width is not above 0.

    Notes
    -----
    (s + w0/sqrt 2)/(s + sqrt 2 w0), w0 = 2 pi 115/width.

    References
    ----------
    .. [1] H. F. Olson, Direct Radiator Loudspeaker Enclosures, J. Audio Eng. Soc. 17 (1969) 22
       (the effect; the shelf and its middle are common practice, from memory).

    Examples
    --------
    A front of 23 cm is half through its step, 3 dB down, at 500 Hz:

    >>> round(20 * float(np.log10(abs(baffle_step(500.0, width=0.23)))), 2)
    -3.01
    """
    middle = BAFFLE_MIDDLE / above_zero(width, "width of the front", "m")
    ratio = 1j * floats(frequency) / middle
    return np.asarray((ratio + np.sqrt(0.5)) / (ratio + np.sqrt(2.0)), dtype=np.complex128)


def place_gain_db(
    frequency: FloatsLike,
    *,
    place: Place,
    width: FloatsLike,
    above_floor: FloatsLike = 0.3,
    before_wall: FloatsLike = 0.3,
    beside_wall: FloatsLike = 0.5,
    temperature: FloatsLike = ROOM_TEMPERATURE,
) -> Floats:
    """Level of a box at its place over that of its driver in an endless wall.

    Hard surfaces as mirrors, each image with the strength of the sound that the box sends there;
    mean over the directions of listeners, so single spots have deeper dips. The baffle step is
    part of it. A room of its own is added elsewhere.

    Parameters
    ----------
    frequency : float or array, any shape
        Frequency [Hz], 0 or above.
    place : str
        Key of `boomwright.physics.sound.PLACES`.
    width : float or array, any shape
        Lesser side of the front [m], above 0.
    above_floor, before_wall, beside_wall : float or array, any shape
        Driver to the floor, to the wall behind and to the wall beside it [m], above 0; only those
        that the place has count.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array, broadcast shape
        Gain [dB]: -6 in the bass in the open and 6 more for each surface; 0 in the treble in the
        open, 3 on a hard floor, whatever stands behind.

    Raises
    ------
    ValueError
        If a width or a distance is not above 0.

    Notes
    -----
    10 log10 of the sum over all pairs of images of a_i a_j sin(k d)/(k d), d their distance; a is
    the baffle step H for the box and its image in the floor, 1 - H for those in walls, which hear
    what goes round the front. The numbers of `boomwright.physics.sound.PLACES` (-3, 0, 3, 6 dB),
    at equal power, lie between bass and treble.

    References
    ----------
    .. [1] R. V. Waterhouse, Output of a Sound Source in a Reverberation Chamber and Other
       Reflecting Environments, J. Acoust. Soc. Am. 30 (1958) 4 (from memory).

    Examples
    --------
    Deep bass in a corner, 12 dB over half space:

    >>> round(float(place_gain_db(5.0, place="corner", width=0.25)), 1)
    12.0
    """
    hertz = floats(frequency)
    front = np.abs(baffle_step(hertz, width=width))
    back = np.abs(1.0 - baffle_step(hertz, width=width))
    away = (
        above_zero(above_floor, "distance from the floor", "m"),
        above_zero(before_wall, "distance from the wall behind", "m"),
        above_zero(beside_wall, "distance from the wall beside", "m"),
    )[: _SURFACES[place]]
    images = tuple(product((False, True), repeat=len(away)))
    waves = 2.0 / speed_of_sound(temperature)
    total = floats(0.0)
    for one, other in product(images, repeat=2):
        apart = floats(0.0)
        for distance, here, there in zip(away, one, other, strict=True):
            if here != there:
                apart = apart + (2.0 * distance) ** 2
        pair = np.sinc(waves * hertz * np.sqrt(apart))
        strength = (back if any(one[1:]) else front) * (back if any(other[1:]) else front)
        total = total + strength * pair
    return floats(10.0 * np.log10(total))
