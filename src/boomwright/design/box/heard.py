"""How loud a driver plays music in a box before each of its limits is met."""

from __future__ import annotations

import numpy as np

from boomwright.physics.acoustic_load import AirLoad
from boomwright.physics.arrays import Floats, FloatsLike, floats
from boomwright.physics.box_response import BoxResponse, box_response
from boomwright.physics.driver import DriverModel
from boomwright.physics.limits import DriveLimits
from boomwright.physics.nature import REFERENCE_PRESSURE
from boomwright.physics.programme import Programme
from boomwright.physics.sound import a_weighting

__all__ = ["music_levels", "music_response", "side_by_side_db"]

_TOGETHER_BELOW = 700.0
"""Where drivers a hand apart stop acting as one: half a wavelength of 25 cm [Hz]."""


def side_by_side_db(count: int, frequency: Floats) -> Floats:
    """Gain of alike drivers side by side and fed alike over one of them.

    Parameters
    ----------
    count : int
        How many.
    frequency : array
        Frequencies [Hz].

    Returns
    -------
    array, same shape
        20 log10 of the number in the bass, 10 log10 of it where each is heard by itself [dB].

    Examples
    --------
    >>> np.round(side_by_side_db(2, np.array([20.0, 7000.0])), 1).tolist()
    [6.0, 3.0]
    """
    share = 1.0 / (1.0 + (frequency / _TOGETHER_BELOW) ** 2)
    return floats(10.0 * (1.0 + share) * np.log10(count))


def music_response(
    flat: DriverModel, load: AirLoad, programme: Programme, *, resistance: float
) -> BoxResponse:
    """Response of a driver in a box at the bands of a programme.

    Parameters
    ----------
    flat : DriverModel
        The driver without inductance.
    load : AirLoad
        Its share of the box.
    programme : Programme
        What is played.
    resistance : float
        In series with the driver [Ω].

    Returns
    -------
    BoxResponse
        Arrays whose last axis is the programme's bands.
    """
    return box_response(flat, load, programme.frequencies, source_resistance=resistance)


def music_levels(
    response: BoxResponse,
    limits: DriveLimits,
    programme: Programme,
    *,
    high_end: FloatsLike,
    resistance: float = 0.0,
    count: int = 1,
) -> Floats:
    """A-weighted level of music at which each limit is just met.

    The crest of the music holds for volts, amps, travel and air alike, which is a little strict on
    travel: bass alone has fewer peaks than the whole.

    Parameters
    ----------
    response : BoxResponse
        From `music_response`.
    limits : DriveLimits
        What driver, box and amplifier stand; fields of shape (..., 1), as against a response.
    programme : Programme
        What is played.
    high_end : float or array, shape (..., 1)
        Where the driver's treble ends [Hz].
    resistance : float
        In series with the driver [Ω].
    count : int
        Drivers alike, side by side and fed alike.

    Returns
    -------
    array, shape (6, ...)
        Level at 1 m in half space [dB(A)] in the order of
        :data:`boomwright.physics.limits.LIMITS`; infinite where that limit is never met.
    """
    powers, hertz = programme.band_powers, programme.frequencies
    peak = float(programme.levels[-1])
    ears = 10.0 ** ((a_weighting(hertz) + side_by_side_db(count, hertz)) / 10.0)
    x = hertz / high_end
    ears = ears / ((1.0 - x**2) ** 2 + 2.0 * x**2)
    current = 1.0 / np.abs(response.impedance + resistance) ** 2

    def mean(squares: Floats) -> Floats:
        return floats(np.sum(squares * powers, axis=-1))

    flow = np.abs(response.opening) ** 2
    squares = (
        current,
        np.abs(response.travel) ** 2,
        flow,
        flow / (2.0 * np.pi * hertz) ** 2,
        current * response.impedance.real,
    )
    drawn, throw, moved, displaced, heat = (mean(each) for each in squares)
    vent = floats(limits.vent_area) * limits.vent_speed
    radiator = floats(limits.radiator_area) * limits.radiator_xmax
    each = (
        _lead(limits.volts) / peak,
        _over(_lead(limits.amps) / peak, np.sqrt(drawn)),
        _over(_lead(limits.xmax) / peak, np.sqrt(throw)),
        _over(_lead(vent) / peak, np.sqrt(moved)),
        _over(_lead(radiator) / peak, np.sqrt(displaced)),
        np.sqrt(_over(_lead(limits.power), heat)),
    )
    volts = np.stack(np.broadcast_arrays(*each))
    loud = mean(np.abs(response.pressure) ** 2 * ears)
    of_one_volt = 10.0 * np.log10(loud) - 20.0 * np.log10(REFERENCE_PRESSURE)
    return floats(20.0 * np.log10(volts) + of_one_volt)


def _lead(field: FloatsLike) -> Floats:
    """A field without its frequency axis."""
    numbers = floats(field)
    return numbers[..., 0] if numbers.ndim else numbers


def _over(most: Floats, of_one_volt: Floats) -> Floats:
    top, bottom = np.broadcast_arrays(most, of_one_volt)
    found = np.full(top.shape, np.inf)
    np.divide(top, bottom, out=found, where=bottom > 0.0)
    return found
