"""Vents: the length that tunes a box, the tuning of a length, and the air that rushes in them."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats, not_negative
from boomwright.physics.nature import (
    REFERENCE_PRESSURE,
    ROOM_TEMPERATURE,
    air_density,
    speed_of_sound,
)

__all__ = [
    "VENT_ENDS",
    "VentEnds",
    "end_correction",
    "least_vent_area",
    "pipe_resonance",
    "vent_air_speed",
    "vent_flow",
    "vent_length",
    "vent_tuning",
]

VentEnds = Literal["flush-free", "flush-flush", "free-free"]
"""How the two ends of a vent stand: in a panel, or free in the air."""

_FLUSH, _FREE = 0.85, 0.613

VENT_ENDS: Final[dict[VentEnds, tuple[float, float]]] = {
    "flush-free": (_FLUSH, _FREE),
    "flush-flush": (_FLUSH, _FLUSH),
    "free-free": (_FREE, _FREE),
}
"""Air that moves along beyond the outer and the inner end, over the radius [1].

0.85 for an end in a panel and 0.613 for a free one (Beranek; Levine and Schwinger; from memory).
The exact value for an end in an endless panel is 0.822."""


def end_correction(area: FloatsLike, *, ends: VentEnds = "flush-free", along: int = 0) -> Floats:
    """Length that the air beyond both ends adds to a vent.

    Circular vents, or others of the same area unless they are much wider than high. An inner end
    that lies along panels is loaded by its mirror images in them.

    Parameters
    ----------
    area : float or array, any shape
        Cross-section of one vent [m²], above 0.
    ends : str
        One of `VENT_ENDS`.
    along : int
        Panels that the inner end lies against [1]: 1 for a slot along the floor of the box, 2 in
        a corner, 3 for a slot from side to side.

    Returns
    -------
    array, same shape
        Added length [m].

    Raises
    ------
    ValueError
        If the area is not above 0 or `along` is not 0 to 3.

    Notes
    -----
    (outer + inner sqrt(2^along)) r, r = sqrt(area/pi). Each panel doubles the area that the inner
    end and its images make, so its correction grows by sqrt 2. That holds for a panel far wider
    than the vent; a real one gives a little less. A slot of 8 to 1 without panels has about a
    fifth less than the circle of its area.

    References
    ----------
    .. [1] L. L. Beranek, Acoustics, McGraw-Hill, 1954, acoustic mass of a tube (from memory).

    Examples
    --------
    A tube of 75 mm, one end in a panel:

    >>> round(1000 * float(end_correction(np.pi * 0.0375**2)), 1)
    54.9
    """
    outer, inner = VENT_ENDS[ends]
    if not 0 <= along <= 3:
        raise ValueError(f"panels along the inner end: got {along}, must be 0 to 3")
    radius = np.sqrt(above_zero(area, "vent area", "m²") / np.pi)
    return floats(radius * (outer + inner * 2.0 ** (0.5 * along)))


def vent_length(
    *,
    volume: FloatsLike,
    fb: FloatsLike,
    area: FloatsLike,
    count: FloatsLike = 1.0,
    ends: VentEnds = "flush-free",
    along: int = 0,
    temperature: FloatsLike = ROOM_TEMPERATURE,
) -> Floats:
    """Length of a vent that tunes a box.

    Helmholtz resonator: the air in the vent moves as one piece. Good to a few per cent while the
    vent is much shorter than a quarter wavelength and its ends are free by a diameter; cut it
    long and trim to the measured tuning.

    Parameters
    ----------
    volume : float or array, any shape
        Net volume of the box [m³], above 0.
    fb : float or array, any shape
        Tuning wanted [Hz], above 0.
    area : float or array, any shape
        Cross-section of one vent [m²], above 0.
    count : float or array, any shape
        Number of equal vents [1], above 0.
    ends : str
        One of `VENT_ENDS`.
    along : int
        Panels that the inner end lies against [1], as in `end_correction`.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array, broadcast shape
        Length of each vent along its middle [m]; below 0 where a hole in a panel of no thickness
        is already too long, so that more area or fewer litres are needed.

    Raises
    ------
    ValueError
        If a volume, tuning, area or count is not above 0.

    Notes
    -----
    n S c²/((2 pi fb)² V) less the end correction.

    References
    ----------
    .. [1] L. L. Beranek, Acoustics, McGraw-Hill, 1954 (from memory).

    Examples
    --------
    28.3 litres, 45 Hz, one tube of 75 mm with one end in a panel: 175 mm.

    >>> round(1000 * float(vent_length(volume=0.0283, fb=45.0, area=np.pi * 0.0375**2)))
    175
    """
    each = above_zero(area, "vent area", "m²")
    whole = each * above_zero(count, "number of vents")
    omega = 2.0 * np.pi * above_zero(fb, "fb", "Hz")
    air = above_zero(volume, "box volume", "m³")
    acoustic = whole * speed_of_sound(temperature) ** 2 / (omega**2 * air)
    return floats(acoustic - end_correction(each, ends=ends, along=along))


def vent_tuning(
    *,
    volume: FloatsLike,
    length: FloatsLike,
    area: FloatsLike,
    count: FloatsLike = 1.0,
    ends: VentEnds = "flush-free",
    along: int = 0,
    temperature: FloatsLike = ROOM_TEMPERATURE,
) -> Floats:
    """Tuning that a vent gives a box; inverse of `vent_length`.

    Parameters
    ----------
    volume : float or array, any shape
        Net volume of the box [m³], above 0.
    length : float or array, any shape
        Length of each vent along its middle [m], 0 or above.
    area : float or array, any shape
        Cross-section of one vent [m²], above 0.
    count : float or array, any shape
        Number of equal vents [1], above 0.
    ends : str
        One of `VENT_ENDS`.
    along : int
        Panels that the inner end lies against [1], as in `end_correction`.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array, broadcast shape
        Tuning [Hz].

    Raises
    ------
    ValueError
        If a volume, area or count is not above 0, or a length is below 0.

    Notes
    -----
    c/(2 pi) sqrt(n S/(V (L + correction))).

    References
    ----------
    .. [1] L. L. Beranek, Acoustics, McGraw-Hill, 1954 (from memory).

    Examples
    --------
    30 litres, a tube of 120 mm by 70 mm:

    >>> round(float(vent_tuning(volume=0.030, length=0.120, area=np.pi * 0.035**2)), 1)
    47.3
    """
    each = above_zero(area, "vent area", "m²")
    whole = each * above_zero(count, "number of vents")
    long = not_negative(length, "vent length", "m")
    long = long + end_correction(each, ends=ends, along=along)
    ratio = whole / (above_zero(volume, "box volume", "m³") * long)
    return floats(speed_of_sound(temperature) / (2.0 * np.pi) * np.sqrt(ratio))


def vent_flow(
    level: FloatsLike, *, frequency: FloatsLike, temperature: FloatsLike = ROOM_TEMPERATURE
) -> Floats:
    """Volume velocity of a vent that alone makes a level.

    A small source in a large panel, as at the tuning, where the cone nearly stands still.

    Parameters
    ----------
    level : float or array, any shape
        Level at 1 m in half space, re 20 µPa [dB].
    frequency : float or array, any shape
        Frequency [Hz], above 0.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array, broadcast shape
        Volume velocity, root mean square [m³/s].

    Raises
    ------
    ValueError
        If a frequency is not above 0.

    Notes
    -----
    U = p/(rho f) at 1 m.

    References
    ----------
    .. [1] L. L. Beranek, Acoustics, McGraw-Hill, 1954, simple source (from memory).

    Examples
    --------
    90 dB at 40 Hz take 13.1 litres a second, which a bore of 70 mm passes at 4.8 m/s peak.

    >>> flow = vent_flow(90.0, frequency=40.0)
    >>> round(1000 * float(flow), 2)
    13.13
    >>> round(float(vent_air_speed(flow, area=np.pi * 0.035**2)), 2)
    4.83
    """
    pressure = REFERENCE_PRESSURE * 10.0 ** (floats(level) / 20.0)
    return floats(pressure / (air_density(temperature) * above_zero(frequency, "frequency", "Hz")))


def vent_air_speed(flow: FloatsLike, *, area: FloatsLike) -> Floats:
    """Peak speed of the air in vents.

    Even over the cross-section, sine.

    Parameters
    ----------
    flow : float or array, any shape
        Volume velocity, root mean square [m³/s], 0 or above.
    area : float or array, any shape
        Cross-section of all vents that carry it [m²], above 0.

    Returns
    -------
    array, broadcast shape
        Peak speed [m/s]; the root mean square is 0.707 of it.

    Raises
    ------
    ValueError
        If a flow is below 0 or an area is not above 0.

    Notes
    -----
    sqrt 2 U/S.

    References
    ----------
    .. [1] Continuity of the air.

    Examples
    --------
    >>> round(float(vent_air_speed(0.010, area=0.002)), 2)
    7.07
    """
    moved = not_negative(flow, "volume velocity", "m³/s")
    return floats(np.sqrt(2.0) * moved / above_zero(area, "vent area", "m²"))


def least_vent_area(*, fb: FloatsLike, displacement: FloatsLike) -> Floats:
    """Least area of all vents of a box whose driver is used to its full travel.

    Keeps the peak speed of the air near 5 % of the speed of sound for a maximally flat box; less
    will do where the bass is not played to the limit.

    Parameters
    ----------
    fb : float or array, any shape
        Tuning of the box [Hz], above 0.
    displacement : float or array, any shape
        Cone area times peak travel, all drivers together [m³], above 0.

    Returns
    -------
    array, broadcast shape
        Area [m²].

    Raises
    ------
    ValueError
        If a tuning or a displacement is not above 0.

    Notes
    -----
    0.8 fb Vd in SI units; for one round vent d = sqrt(fb Vd).

    References
    ----------
    .. [1] R. H. Small, Vented-Box Loudspeaker Systems, Part II, J. Audio Eng. Soc. 21 (1973) 438
       (from memory).

    Examples
    --------
    40 Hz and 120 cm³: 38.4 cm².

    >>> round(1e4 * float(least_vent_area(fb=40.0, displacement=120e-6)), 1)
    38.4
    """
    tuning = above_zero(fb, "fb", "Hz")
    return floats(0.8 * tuning * above_zero(displacement, "volume displacement", "m³"))


def pipe_resonance(
    length: FloatsLike,
    *,
    area: FloatsLike,
    ends: VentEnds = "flush-free",
    along: int = 0,
    temperature: FloatsLike = ROOM_TEMPERATURE,
) -> Floats:
    """First frequency at which a vent sings as a pipe.

    Both ends open: half a wavelength with the end corrections. It lets midrange out of the box;
    a vent away from the driver's back, or shorter, hides it.

    Parameters
    ----------
    length : float or array, any shape
        Length of the vent [m], 0 or above.
    area : float or array, any shape
        Cross-section of one vent [m²], above 0.
    ends : str
        One of `VENT_ENDS`.
    along : int
        Panels that the inner end lies against [1], as in `end_correction`.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array, broadcast shape
        Frequency [Hz].

    Raises
    ------
    ValueError
        If a length is below 0 or an area is not above 0.

    Notes
    -----
    c/(2 (L + correction)).

    References
    ----------
    .. [1] L. E. Kinsler, A. R. Frey et al., Fundamentals of Acoustics, 4th ed., Wiley, 2000,
       resonance of open pipes (from memory).

    Examples
    --------
    >>> round(float(pipe_resonance(0.175, area=np.pi * 0.0375**2)))
    747
    """
    long = not_negative(length, "vent length", "m")
    long = long + end_correction(area, ends=ends, along=along)
    return floats(speed_of_sound(temperature) / (2.0 * long))
