"""The level that a box reaches cleanly at each frequency, and which of its limits rules there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats
from boomwright.physics.box_response import BoxResponse
from boomwright.physics.nature import REFERENCE_PRESSURE

__all__ = [
    "LIMITS",
    "VENT_AIR_SPEED",
    "CleanLevel",
    "DriveLimits",
    "clean_level",
    "voltage_limits",
]

LIMITS: Final = ("volts", "amps", "travel", "vent air", "radiator travel", "heat")
"""Names of the limits, in the order of their numbers."""

VENT_AIR_SPEED: Final = 17.0
"""Peak speed of the air in a vent above which it is heard [m/s], about 5 % of the speed of sound.

Guidance of Small's vented-box papers, from memory; half of it or less is wanted where a vent faces
the listener in a quiet room."""

_SQRT_2 = float(np.sqrt(2.0))


@dataclass(frozen=True, eq=False)
class DriveLimits:
    """What one driver, its box and its share of the amplifier stand; infinite where nothing limits.

    Fields broadcast against the response, whose last axis is frequency: give one for each of
    several battery states the shape (states, 1).

    Parameters
    ----------
    volts : array
        Greatest peak voltage at the driver, its filter and leads included [V].
    amps : array
        Greatest peak current that the amplifier has for this driver [A]; half of the amplifier's
        for each of two in parallel.
    xmax : array
        Cone travel, one way [m].
    vent_area : array
        Cross-section of all vents, or the share of this driver [m²].
    vent_speed : array
        Greatest peak speed of the air there [m/s].
    radiator_area : array
        Cone area of the passive radiators, or the share of this driver [m²].
    radiator_xmax : array
        Their travel, one way [m].
    power : array
        Power that the driver stands for as long as the sound lasts [W].
    """

    volts: FloatsLike = np.inf
    amps: FloatsLike = np.inf
    xmax: FloatsLike = np.inf
    vent_area: FloatsLike = np.inf
    vent_speed: FloatsLike = VENT_AIR_SPEED
    radiator_area: FloatsLike = np.inf
    radiator_xmax: FloatsLike = np.inf
    power: FloatsLike = np.inf


@dataclass(frozen=True, eq=False)
class CleanLevel:
    """Loudest clean sine at each frequency.

    Parameters
    ----------
    level : array
        Level at 1 m in half space, root mean square, re 20 µPa [dB].
    voltage : array
        Voltage that makes it, root mean square [V].
    ruling : array of int
        Place in `LIMITS` of the limit that is met first.
    """

    level: Floats
    voltage: Floats
    ruling: np.ndarray[tuple[int, ...], np.dtype[np.intp]]


def voltage_limits(response: BoxResponse, limits: DriveLimits, *, frequency: FloatsLike) -> Floats:
    """Voltage at which each limit is met at each frequency.

    Sine, small-signal response: near the limit of travel a real cone moves less and distorts. The
    amplifier's volts and amps count as peaks, heat as a mean over the sine.

    Parameters
    ----------
    response : BoxResponse
        What the driver does in its box with one volt.
    limits : DriveLimits
        What it stands.
    frequency : float or array, any shape
        Frequency of the response [Hz], above 0.

    Returns
    -------
    array, shape (6, ...)
        Root mean square voltage [V] for each of `LIMITS`, along a new first axis; infinite where
        that limit is never met.

    Raises
    ------
    ValueError
        If a limit or a frequency is not above 0.

    Notes
    -----
    volts/sqrt 2; amps |Z|/sqrt 2; xmax/(sqrt 2 |x|); speed area/(sqrt 2 |U|);
    2 pi f area travel/(sqrt 2 |U|) of the radiator; sqrt(P/Re(1/Z)).

    References
    ----------
    .. [1] R. H. Small, Vented-Box Loudspeaker Systems, Part II, J. Audio Eng. Soc. 21 (1973) 438
       (displacement limits and vent velocity, from memory).

    Examples
    --------
    A coil of 6 ohm without a box or cone: 12 V and 1.5 A peak allow 8.49 V and 6.36 V rms.

    >>> bare = BoxResponse(*(np.array([number + 0j]) for number in (6.0, 1.0, 0.0, 0.0)))
    >>> found = voltage_limits(bare, DriveLimits(volts=12.0, amps=1.5), frequency=90.0)
    >>> np.round(found[:2, 0], 2).tolist()
    [8.49, 6.36]
    """
    impedance = np.abs(response.impedance)
    travel, flow = _SQRT_2 * np.abs(response.travel), _SQRT_2 * np.abs(response.opening)
    vent = above_zero(limits.vent_area, "vent area", "m²") * above_zero(
        limits.vent_speed, "vent air speed", "m/s"
    )
    radiator = above_zero(limits.radiator_area, "radiator area", "m²") * above_zero(
        limits.radiator_xmax, "radiator travel", "m"
    )
    radiator = 2.0 * np.pi * above_zero(frequency, "frequency", "Hz") * radiator
    conductance = np.real(1.0 / response.impedance)
    each = (
        above_zero(limits.volts, "peak voltage", "V") / _SQRT_2,
        above_zero(limits.amps, "peak current", "A") * impedance / _SQRT_2,
        _over(above_zero(limits.xmax, "xmax", "m"), travel),
        _over(vent, flow),
        _over(radiator, flow),
        np.sqrt(_over(above_zero(limits.power, "power", "W"), conductance)),
    )
    return floats(np.stack(np.broadcast_arrays(*each)))


def clean_level(response: BoxResponse, limits: DriveLimits, *, frequency: FloatsLike) -> CleanLevel:
    """Loudest clean sine of a driver in its box, and which limit rules where.

    Each frequency alone, as a slow sweep would find it. Music shares its volts among many
    frequencies and so is limited earlier by volts and later by heat.

    Parameters
    ----------
    response : BoxResponse
        What the driver does in its box with one volt.
    limits : DriveLimits
        What it stands.
    frequency : float or array, any shape
        Frequency of the response [Hz], above 0.

    Returns
    -------
    CleanLevel
        Arrays of the broadcast shape; infinite level where nothing limits.

    Raises
    ------
    ValueError
        If a limit or a frequency is not above 0.

    Notes
    -----
    Least of `voltage_limits`, times the pressure of one volt. Several alike drivers fed alike add
    20 log10 of their number.

    References
    ----------
    .. [1] R. H. Small, Vented-Box Loudspeaker Systems, Part II, J. Audio Eng. Soc. 21 (1973) 438
       (from memory).

    Examples
    --------
    200 cm² that move 5 mm at 40 Hz in a closed box: 92.6 dB, whatever the amplifier could do.

    >>> from boomwright.physics.acoustic_load import closed_load
    >>> from boomwright.physics.box_response import box_response
    >>> from boomwright.physics.driver import driver_model
    >>> driver = driver_model(re=6.0, fs=35.0, qms=4.0, qes=0.4444, vas=0.060, sd=0.0200)
    >>> hertz = np.array([40.0, 400.0])
    >>> response = box_response(driver, closed_load(volume=0.020), hertz)
    >>> found = clean_level(response, DriveLimits(volts=30.0, xmax=0.005), frequency=hertz)
    >>> round(float(found.level[0]), 1), [LIMITS[number] for number in found.ruling]
    (92.6, ['travel', 'volts'])
    """
    each = voltage_limits(response, limits, frequency=frequency)
    ruling = np.argmin(each, axis=0)
    voltage = np.min(each, axis=0)
    pressure = voltage * np.abs(response.pressure) / REFERENCE_PRESSURE
    level = 20.0 * np.log10(pressure, out=np.full_like(pressure, -np.inf), where=pressure > 0.0)
    return CleanLevel(level=floats(level), voltage=floats(voltage), ruling=ruling)


def _over(most: Floats, of_one_volt: Floats) -> Floats:
    """Voltage at which something meets its limit; infinite where there is nothing of it."""
    top, bottom = np.broadcast_arrays(most, of_one_volt)
    found = np.full(top.shape, np.inf)
    np.divide(top, bottom, out=found, where=bottom > 0.0)
    return found
