"""A driver as a motor on a spring: its parameters, and the impedance they make."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from boomwright.physics.arrays import (
    Complexes,
    Floats,
    FloatsLike,
    above_zero,
    floats,
    laplace,
    not_negative,
)
from boomwright.physics.loudspeaker import qts, sensitivity_from_parameters
from boomwright.physics.nature import ROOM_TEMPERATURE, air_density, speed_of_sound

__all__ = [
    "GREATEST_CREEP",
    "DriverModel",
    "SmallSignal",
    "coil_impedance",
    "driver_model",
    "electrical_impedance",
    "mechanical_impedance",
    "small_signal",
]


GREATEST_CREEP = 0.35
"""Beyond this the logarithmic law turns the spring round before the top of the audio band [1]."""


@dataclass(frozen=True, eq=False)
class DriverModel:
    """A driver in quantities of motor and spring; arrays that broadcast.

    A frequency axis, where there is one, goes last: fields of shape (..., 1) meet frequencies of
    shape (n,).

    Parameters
    ----------
    re : array
        D.c. resistance of the voice coil [Ω].
    bl : array
        Force factor of the motor [T m].
    mms : array
        Moving mass, the air that moves along included [kg].
    cms : array
        Compliance of the suspension at resonance [m/N].
    rms : array
        Mechanical resistance of the suspension [kg/s].
    sd : array
        Cone area [m²].
    le, le2 : array
        Inductance of the coil, and the part of it that the iron's losses shunt [H].
    re2 : array
        Resistance beside `le2` [Ω]; 0 where there is no such pair.
    creep : array
        Share of its stiffness that the suspension loses for each decade below resonance [1].
    """

    re: Floats
    bl: Floats
    mms: Floats
    cms: Floats
    rms: Floats
    sd: Floats
    le: Floats
    le2: Floats
    re2: Floats
    creep: Floats

    @property
    def without_inductance(self) -> DriverModel:
        """The same with a coil that is a resistance alone."""
        none = floats(0.0)
        return replace(self, le=none, le2=none, re2=none)


@dataclass(frozen=True, eq=False)
class SmallSignal:
    """The same driver in the small-signal parameters of the trade.

    Parameters
    ----------
    fs : array
        Resonance in free air [Hz].
    qms, qes, qts : array
        Mechanical, electrical and total Q there [1].
    vas : array
        Volume of air as compliant as the suspension [m³].
    sensitivity : array
        Level at 1 m in half space with 1 W in `re`, re 20 µPa [dB].
    """

    fs: Floats
    qms: Floats
    qes: Floats
    qts: Floats
    vas: Floats
    sensitivity: Floats


def driver_model(
    *,
    re: FloatsLike,
    fs: FloatsLike,
    qms: FloatsLike,
    qes: FloatsLike,
    vas: FloatsLike,
    sd: FloatsLike,
    le: FloatsLike = 0.0,
    le2: FloatsLike = 0.0,
    re2: FloatsLike = 0.0,
    creep: FloatsLike = 0.0,
    temperature: FloatsLike = ROOM_TEMPERATURE,
) -> DriverModel:
    """Motor and spring of a driver whose small-signal parameters are known.

    Small signals: every part is linear. Inverse of `small_signal`.

    Parameters
    ----------
    re : float or array, any shape
        D.c. resistance of the voice coil [Ω], above 0.
    fs : float or array, any shape
        Resonance in free air [Hz], above 0.
    qms, qes : float or array, any shape
        Mechanical and electrical Q [1], above 0.
    vas : float or array, any shape
        Volume of air as compliant as the suspension [m³], above 0.
    sd : float or array, any shape
        Cone area [m²], above 0.
    le, le2 : float or array, any shape
        Inductance of the coil, and the part that the iron's losses shunt [H], 0 or above.
    re2 : float or array, any shape
        Resistance beside `le2` [Ω], 0 or above.
    creep : float or array, any shape
        Share of its stiffness that the suspension loses for each decade below resonance [1], 0 or
        above.
    temperature : float or array, any shape
        Air temperature at which `vas` holds [K].

    Returns
    -------
    DriverModel

    Raises
    ------
    ValueError
        If a parameter is not above 0, a coil quantity is below 0, or creep is out of range.

    Notes
    -----
    cms = vas/(rho c² sd²), mms = 1/((2 pi fs)² cms), rms = 2 pi fs mms/qms,
    bl = sqrt(2 pi fs mms re/qes).

    References
    ----------
    .. [1] R. H. Small, Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 20
       (1972) 383 (from memory).

    Examples
    --------
    A driver whose resonance falls from 40 to 32 Hz with 10 g on its cone has a mass of 17.78 g
    and a force factor of 6.85 T m:

    >>> driver = driver_model(re=6.0, fs=40.0, qms=4.0, qes=0.5714, vas=0.02234, sd=0.0133)
    >>> round(1000 * float(driver.mms), 2), round(float(driver.bl), 2)
    (17.78, 6.85)
    """
    area, omega = above_zero(sd, "sd", "m²"), 2.0 * np.pi * above_zero(fs, "fs", "Hz")
    coil = above_zero(re, "re", "Ω")
    stiffness_of_air = air_density(temperature) * speed_of_sound(temperature) ** 2
    cms = above_zero(vas, "vas", "m³") / (stiffness_of_air * area**2)
    mms = 1.0 / (omega**2 * cms)
    return DriverModel(
        re=coil,
        bl=np.sqrt(omega * mms * coil / above_zero(qes, "qes")),
        mms=floats(mms),
        cms=floats(cms),
        rms=floats(omega * mms / above_zero(qms, "qms")),
        sd=area,
        le=not_negative(le, "le", "H"),
        le2=not_negative(le2, "le2", "H"),
        re2=not_negative(re2, "re2", "Ω"),
        creep=_bounded(creep),
    )


def _bounded(creep: FloatsLike) -> Floats:
    share = not_negative(creep, "creep")
    if not (share <= GREATEST_CREEP).all():
        raise ValueError(f"creep: got {np.max(share):g}, must be {GREATEST_CREEP:g} or less")
    return share


def small_signal(driver: DriverModel, *, temperature: FloatsLike = ROOM_TEMPERATURE) -> SmallSignal:
    """Small-signal parameters of a driver whose motor and spring are known.

    Inverse of `driver_model`; creep and inductance are left out, as these parameters have no
    place for them.

    Parameters
    ----------
    driver : DriverModel
        The driver.
    temperature : float or array, any shape
        Air temperature at which `vas` is wanted [K].

    Returns
    -------
    SmallSignal
        Arrays of the broadcast shape.

    Raises
    ------
    ValueError
        If a quantity of the driver is not above 0.

    Notes
    -----
    fs = 1/(2 pi sqrt(mms cms)), qms = 2 pi fs mms/rms, qes = 2 pi fs mms re/bl²,
    vas = rho c² sd² cms.

    References
    ----------
    .. [1] R. H. Small, Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 20
       (1972) 383 (from memory).

    Examples
    --------
    >>> known = driver_model(re=5.6, fs=50.0, qms=3.0, qes=0.45, vas=0.00843, sd=0.0085)
    >>> found = small_signal(known)
    >>> round(float(found.fs), 6), round(float(found.qts), 4), round(float(found.sensitivity), 1)
    (50.0, 0.3913, 85.8)
    """
    mass, give = above_zero(driver.mms, "mms", "kg"), above_zero(driver.cms, "cms", "m/N")
    omega = 1.0 / np.sqrt(mass * give)
    fs = omega / (2.0 * np.pi)
    qms = omega * mass / above_zero(driver.rms, "rms", "kg/s")
    qes = omega * mass * driver.re / above_zero(driver.bl, "bl", "T m") ** 2
    stiffness_of_air = air_density(temperature) * speed_of_sound(temperature) ** 2
    vas = stiffness_of_air * driver.sd**2 * give
    return SmallSignal(
        fs=floats(fs),
        qms=floats(qms),
        qes=floats(qes),
        qts=qts(qms, qes),
        vas=floats(vas),
        sensitivity=sensitivity_from_parameters(fs, vas, qes=qes, temperature=temperature),
    )


def coil_impedance(driver: DriverModel, frequency: FloatsLike) -> Complexes:
    """Impedance of the voice coil while the cone is held still.

    Resistance, inductance, and a second inductance with the losses of the iron beside it. Real
    coils rise more slowly than any such pair over several octaves; fitted, the pair is within a
    few per cent up to about 5 kHz.

    Parameters
    ----------
    driver : DriverModel
        The driver.
    frequency : float or array, any shape
        Frequency [Hz].

    Returns
    -------
    array of complex, broadcast shape
        Impedance [Ω].

    Notes
    -----
    re + s le + s le2 re2/(s le2 + re2).

    References
    ----------
    .. [1] W. M. Leach, Loudspeaker Voice-Coil Inductance Losses, J. Audio Eng. Soc. 50 (2002)
       442 (the problem; the lumped pair is common practice, from memory).

    Examples
    --------
    >>> driver = driver_model(re=6.0, fs=50.0, qms=4.0, qes=0.5, vas=0.01, sd=0.01, le=0.5e-3)
    >>> round(float(abs(coil_impedance(driver, 1909.86))), 2)
    8.49
    """
    s = laplace(frequency)
    lossy = s * driver.le2
    under = lossy + driver.re2
    pair = np.divide(lossy * driver.re2, under, out=np.zeros_like(under), where=under != 0.0)
    return np.asarray(driver.re + s * driver.le + pair, dtype=np.complex128)


def mechanical_impedance(driver: DriverModel, frequency: FloatsLike) -> Complexes:
    """Force per speed of the cone without motor and box.

    Mass, resistance and a spring that may creep: slow movements find it softer.

    Parameters
    ----------
    driver : DriverModel
        The driver.
    frequency : float or array, any shape
        Frequency [Hz], above 0.

    Returns
    -------
    array of complex, broadcast shape
        Mechanical impedance [kg/s].

    Raises
    ------
    ValueError
        If a frequency is not above 0.

    Notes
    -----
    s mms + rms + 1/(s cms k), k = 1 - creep log10(s/(2 pi fs)) with the logarithm complex, so that
    creep takes energy as well. With k the compliance keeps its value at fs, and its loss there
    comes on top of `rms`: with a creep of 0.1 a Qms of 4 acts as about 3.2.

    References
    ----------
    .. [1] M. H. Knudsen, J. G. Jensen, Low-Frequency Loudspeaker Models That Include Suspension
       Creep, J. Audio Eng. Soc. 41 (1993) 3 (from memory).

    Examples
    --------
    At resonance mass and spring cancel and the resistance is left:

    >>> driver = driver_model(re=6.0, fs=50.0, qms=4.0, qes=0.5, vas=0.01, sd=0.01)
    >>> round(float(abs(mechanical_impedance(driver, 50.0) / driver.rms)), 6)
    1.0
    """
    s = laplace(frequency)
    give: Floats | Complexes = driver.cms
    if np.any(driver.creep):
        give = give * (1.0 - driver.creep * np.log10(s * np.sqrt(driver.mms * driver.cms)))
    return np.asarray(s * driver.mms + driver.rms + 1.0 / (s * give), dtype=np.complex128)


def electrical_impedance(
    driver: DriverModel, frequency: FloatsLike, *, air_load: FloatsLike | Complexes = 0.0
) -> Complexes:
    """Impedance at the terminals of a driver, in free air or on the air of a box.

    The coil, and in series with it what the moving cone sends back.

    Parameters
    ----------
    driver : DriverModel
        The driver.
    frequency : float or array, any shape
        Frequency [Hz], above 0.
    air_load : float or array of complex, any shape
        Mechanical impedance of the air behind the cone [kg/s]: cone area squared times the
        acoustic impedance of the box.

    Returns
    -------
    array of complex, broadcast shape
        Impedance [Ω].

    Raises
    ------
    ValueError
        If a frequency is not above 0.

    Notes
    -----
    Z_coil + bl²/(Z_mechanical + air_load).

    References
    ----------
    .. [1] R. H. Small, Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 20
       (1972) 383 (from memory).

    Examples
    --------
    At resonance re (1 + qms/qes): 6 ohm become 48 ohm.

    >>> driver = driver_model(re=6.0, fs=40.0, qms=4.0, qes=4 / 7, vas=0.022, sd=0.0133)
    >>> round(float(abs(electrical_impedance(driver, 40.0))), 6)
    48.0
    """
    moving = mechanical_impedance(driver, frequency) + air_load
    return coil_impedance(driver, frequency) + driver.bl**2 / moving
