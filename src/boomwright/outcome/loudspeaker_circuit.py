"""A driver, its box and its filter as the values of an electrical circuit, and back as sound."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from boomwright.circuit.blocks.loudspeaker import (
    FilterStep,
    LoudspeakerValues,
    loudspeaker_points,
)
from boomwright.circuit.response import AcResponse, Phasors
from boomwright.circuit.values import Value
from boomwright.physics.acoustic_load import AirLoad
from boomwright.physics.arrays import Floats, FloatsLike
from boomwright.physics.box_response import BoxResponse
from boomwright.physics.driver import DriverModel
from boomwright.physics.ladder import Step
from boomwright.physics.nature import ROOM_TEMPERATURE, air_density

__all__ = ["circuit_box_response", "filter_steps", "loudspeaker_values"]

# A logarithm as a row of relaxations: two and more a decade leave ripples of about 1 in 5,000.
_PAIRS = 18
_DECADES_BELOW = 4.5
_DECADES_ABOVE = 3.0
_MOST_OF_SPRING = 0.9


def loudspeaker_values(driver: DriverModel, load: AirLoad) -> LoudspeakerValues:
    """Electrical equivalents of a driver and the air behind it, at the driver's terminals.

    Exact but for creep, whose logarithm becomes eighteen pairs of coil and resistor, good to a
    thousandth of the impedance between a thousandth of the resonance and any frequency above it.

    Parameters
    ----------
    driver : DriverModel
        The driver; its arrays are a batch, in one row or of shape (samples, 1).
    load : AirLoad
        Air behind it, or the share of each of several drivers.

    Returns
    -------
    LoudspeakerValues

    Raises
    ------
    ValueError
        If a batch holds drivers or boxes with a part and others without it.

    Notes
    -----
    As in `boomwright.circuit.blocks.loudspeaker.loudspeaker_netlist`. Creep b of each e-fold:
    cms (1 - b ln(s/ws)) = c0 + sum of cms b h/(1 + s t), with t in even steps h of ln t; each term
    is a coil bl² cms b h with a resistor of 1/t times that beside it.

    References
    ----------
    .. [1] R. H. Small, Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 20 (1972)
       383 (from memory).

    Examples
    --------
    >>> from boomwright.physics.acoustic_load import closed_load
    >>> from boomwright.physics.driver import driver_model
    >>> driver = driver_model(re=6.0, fs=40.0, qms=4.0, qes=4 / 7, vas=0.022, sd=0.0133)
    >>> values = loudspeaker_values(driver, closed_load(volume=0.015))
    >>> round(values.res, 6)
    42.0
    """
    motor = driver.bl**2
    seen = motor / driver.sd**2
    spring, creep = _suspension(driver)
    has_iron = _there("iron of the coil", (driver.le2 > 0.0) & (driver.re2 > 0.0))
    boxed = _there("box", np.isfinite(load.compliance))
    opened = boxed and _there("opening", np.isfinite(load.mass))
    lossy = _there("absorption", load.absorption > 0.0)
    leaky = _there("leak", np.isfinite(load.leak))
    return LoudspeakerValues(
        re=_row(driver.re),
        le=_row(driver.le) if _there("inductance", driver.le > 0.0) else None,
        le2=_row(driver.le2) if has_iron else None,
        re2=_row(driver.re2) if has_iron else None,
        cmes=_row(driver.mms / motor),
        lces=_row(spring * motor),
        res=_row(motor / driver.rms),
        creep=creep,
        lceb=_row(load.compliance * seen) if boxed else None,
        rab=_row(seen / load.absorption) if boxed and lossy else None,
        rel=_row(seen / load.leak) if boxed and leaky else None,
        cmep=_row(load.mass / seen) if opened else None,
        lcep=_row(seen / load.stiffness)
        if opened and _there("spring of the opening", load.stiffness > 0.0)
        else None,
        rep=_row(seen / load.resistance)
        if opened and _there("loss of the opening", load.resistance > 0.0)
        else None,
    )


def filter_steps(steps: Sequence[Step]) -> tuple[FilterStep, ...]:
    """Steps of a passive filter as the circuit takes them.

    Parameters
    ----------
    steps : sequence of Step
        From the amplifier to the driver.

    Returns
    -------
    tuple of FilterStep

    Examples
    --------
    >>> filter_steps([Step("series", capacitance=6.8e-6)])[0].capacitance
    6.8e-06
    """
    return tuple(
        FilterStep(
            place=step.place,
            resistance=_row(step.resistance),
            inductance=_row(step.inductance),
            capacitance=_row(step.capacitance),
        )
        for step in steps
    )


def circuit_box_response(
    response: AcResponse,
    driver: DriverModel,
    values: LoudspeakerValues,
    *,
    temperature: FloatsLike = ROOM_TEMPERATURE,
) -> BoxResponse:
    """Sound and travel out of the volts of a loudspeaker's circuit.

    The circuit's own readings, in the terms of `boomwright.physics.box_response.box_response`.

    Parameters
    ----------
    response : AcResponse
        Of the netlist that was made of `values`, with the amplifier's level at 1 V.
    driver : DriverModel
        The driver that `values` came from.
    values : LoudspeakerValues
        Driver and box.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    BoxResponse
        Arrays of shape (frequencies, samples), for one volt of the amplifier; the impedance is
        that at the driver.

    Notes
    -----
    pressure = s rho sd/(2 pi bl) times the volts over the spring of the air; travel = volts of the
    motion/(s bl); opening = sd/bl times the volts over it.

    Examples
    --------
    >>> from boomwright.circuit.blocks.loudspeaker import loudspeaker_netlist
    >>> from boomwright.circuit.response import ac_response
    >>> from boomwright.physics.acoustic_load import closed_load
    >>> from boomwright.physics.driver import driver_model
    >>> driver = driver_model(re=6.0, fs=35.0, qms=4.0, qes=0.4444, vas=0.060, sd=0.0220)
    >>> values = loudspeaker_values(driver, closed_load(volume=0.020))
    >>> solved = ac_response(loudspeaker_netlist(values), np.array([70.0]))
    >>> found = circuit_box_response(solved, driver, values)
    >>> round(float(abs(found.impedance[0, 0])), 2)
    60.01
    """
    points = loudspeaker_points(values)
    s = 2j * np.pi * response.frequencies[:, np.newaxis]
    bl = np.ravel(driver.bl)
    area = np.ravel(driver.sd) / bl
    current = response.voltage(*points.coil) / values.re
    heard: Phasors = response.voltage(*points.radiated)
    opening = np.zeros_like(heard) if points.opening is None else response.voltage(*points.opening)
    return BoxResponse(
        impedance=response.voltage(*points.terminals) / current,
        pressure=s * air_density(temperature) * area * heard / (2.0 * np.pi),
        travel=response.voltage(*points.motion) / (s * bl),
        opening=area * opening,
    )


def _row(value: FloatsLike) -> Value:
    """One number as a float, a batch as one row."""
    array = np.asarray(value, dtype=np.float64)
    return float(array.ravel()[0]) if array.size == 1 else array.ravel()


def _there(what: str, present: Floats | np.ndarray[tuple[int, ...], np.dtype[np.bool_]]) -> bool:
    """Whether a part is there, in all of a batch or in none of it."""
    have = np.count_nonzero(present)
    if have not in (0, np.size(present)):
        raise ValueError(
            f"{what}: got it in {have} of {np.size(present)}, must be in all of a batch or in none"
        )
    return bool(have)


def _suspension(driver: DriverModel) -> tuple[Floats, tuple[tuple[Value, Value], ...]]:
    """Quick part of the suspension's compliance, and its slow parts as coils and resistors."""
    if not _there("creep", driver.creep > 0.0):
        return driver.cms, ()
    # Above resonance the mass soon hides the spring, so the row may end where the spring would.
    above = np.minimum(_DECADES_ABOVE, _MOST_OF_SPRING / driver.creep)
    quick = driver.cms * (1.0 - driver.creep * above)
    decades = above + _DECADES_BELOW
    coil = driver.bl**2 * driver.cms * driver.creep * decades / _PAIRS
    omega = 1.0 / np.sqrt(driver.mms * driver.cms)
    pairs = []
    for number in range(_PAIRS):
        corner = omega * 10.0 ** (above - decades * (number + 0.5) / _PAIRS)
        pairs.append((_row(coil), _row(coil * corner)))
    return quick, tuple(pairs)
