"""A driver in a box: impedance, sound, travel of the cone, and air in the vent, for each volt."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.physics.acoustic_load import AirLoad, flows, load_impedance
from boomwright.physics.arrays import Complexes, Floats, FloatsLike, floats, laplace, not_negative
from boomwright.physics.driver import DriverModel, coil_impedance, mechanical_impedance
from boomwright.physics.nature import ROOM_TEMPERATURE, air_density

__all__ = ["BoxResponse", "box_response", "passband_pressure"]


@dataclass(frozen=True, eq=False)
class BoxResponse:
    """What one driver does in its box with one volt; root mean square throughout.

    Parameters
    ----------
    impedance : array of complex
        At the driver's terminals [Ω].
    pressure : array of complex
        Sound pressure at 1 m in half space, all openings counted [Pa/V].
    travel : array of complex
        Cone, from its place of rest [m/V].
    opening : array of complex
        Volume velocity through the vent or of the passive radiator [m³/(s V)].
    """

    impedance: Complexes
    pressure: Complexes
    travel: Complexes
    opening: Complexes


def box_response(
    driver: DriverModel,
    air: AirLoad,
    frequency: FloatsLike,
    *,
    source_resistance: FloatsLike = 0.0,
    temperature: FloatsLike = ROOM_TEMPERATURE,
) -> BoxResponse:
    """Small-signal response of a driver on the air of a box.

    Linear and lumped: cone and box are small against the wavelength, which holds for the bass; the
    mass of air moved at the cone is that in `mms`. Higher up a real cone beams and breaks up.

    Parameters
    ----------
    driver : DriverModel
        The driver, or what each of several alike ones is.
    air : AirLoad
        Air behind it, or the share of each.
    frequency : float or array, any shape
        Frequency [Hz], above 0.
    source_resistance : float or array, any shape
        In series with each driver, its own share of leads and filter coils [Ω], 0 or above.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    BoxResponse
        Arrays of the broadcast shape, for one volt ahead of the source resistance.

    Raises
    ------
    ValueError
        If a frequency is not above 0 or a resistance is below 0.

    Notes
    -----
    Current V/(Z + R), speed bl i/(Z_m + sd² Z_a), pressure s rho sd v/(2 pi) times the share that
    is radiated.

    References
    ----------
    .. [1] R. H. Small, Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 20
       (1972) 383; Vented-Box Loudspeaker Systems, Part I, 21 (1973) 363 (from memory).

    Examples
    --------
    35 Hz, Qts 0.4 and 60 litres in 20 litres: Qtc 0.8 and 70 Hz, so -1.94 dB at 70 Hz.

    >>> from boomwright.physics.acoustic_load import closed_load
    >>> from boomwright.physics.driver import driver_model
    >>> driver = driver_model(re=6.0, fs=35.0, qms=4.0, qes=0.4444, vas=0.060, sd=0.0220)
    >>> found = box_response(driver, closed_load(volume=0.020), 70.0)
    >>> ratio = abs(found.pressure) / passband_pressure(driver)
    >>> round(20 * float(np.log10(ratio)), 2)
    -1.94
    """
    s = laplace(frequency)
    moving = mechanical_impedance(driver, frequency)
    moving = moving + driver.sd**2 * load_impedance(air, frequency)
    impedance = coil_impedance(driver, frequency) + driver.bl**2 / moving
    series = not_negative(source_resistance, "source resistance", "Ω")
    speed = driver.bl / (impedance + series) / moving
    shares = flows(air, frequency)
    pushed = driver.sd * speed
    pressure = s * air_density(temperature) * pushed * shares.radiated / (2.0 * np.pi)
    return BoxResponse(
        impedance=impedance,
        pressure=np.asarray(pressure, dtype=np.complex128),
        travel=np.asarray(speed / s, dtype=np.complex128),
        opening=np.asarray(pushed * shares.opening, dtype=np.complex128),
    )


def passband_pressure(driver: DriverModel, *, temperature: FloatsLike = ROOM_TEMPERATURE) -> Floats:
    """Sound pressure for one volt where only the cone's mass rules.

    Above resonance, below beaming, coil inductance left out: the flat level that responses are
    drawn against.

    Parameters
    ----------
    driver : DriverModel
        The driver.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array, broadcast shape
        Pressure at 1 m in half space, root mean square [Pa/V].

    Notes
    -----
    rho bl sd/(2 pi re mms).

    References
    ----------
    .. [1] R. H. Small, Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 20
       (1972) 383 (from memory).

    Examples
    --------
    The driver of 90.35 dB at 1 W; 6 ohm take 1 W from 2.449 V:

    >>> from boomwright.physics.driver import driver_model
    >>> driver = driver_model(re=6.0, fs=30.0, qms=5.0, qes=0.4, vas=0.100, sd=0.0350)
    >>> round(20 * float(np.log10(passband_pressure(driver) * 6.0**0.5 / 20e-6)), 2)
    90.35
    """
    motor = driver.bl * driver.sd / (driver.re * driver.mms)
    return floats(air_density(temperature) * motor / (2.0 * np.pi))
