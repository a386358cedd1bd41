"""The air behind a cone: a closed box, a vent, a passive radiator, and their losses."""

from __future__ import annotations

from dataclasses import dataclass

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
from boomwright.physics.nature import ROOM_TEMPERATURE, air_density, speed_of_sound

__all__ = [
    "AirLoad",
    "Flows",
    "air_compliance",
    "closed_load",
    "flows",
    "free_air",
    "load_impedance",
    "radiator_load",
    "vented_load",
]


@dataclass(frozen=True, eq=False)
class AirLoad:
    """What a cone finds behind it, as acoustic parts; arrays that broadcast.

    The air's spring with its absorption, a leak beside it, and an opening beside both: a vent has
    mass and resistance, a passive radiator a spring as well.

    Parameters
    ----------
    compliance : array
        Spring of the air [m³/Pa]; infinite where there is no box.
    absorption : array
        Resistance in series with the spring [Pa s/m³].
    leak : array
        Resistance of the leak [Pa s/m³]; infinite for a tight box.
    mass : array
        Mass in the opening [kg/m⁴]; infinite where there is none.
    resistance : array
        Resistance in series with the mass [Pa s/m³].
    stiffness : array
        Spring in series with the mass [Pa/m³]; 0 for a vent.
    """

    compliance: Floats
    absorption: Floats
    leak: Floats
    mass: Floats
    resistance: Floats
    stiffness: Floats


@dataclass(frozen=True, eq=False)
class Flows:
    """How the air that a cone moves is shared out, all over the cone's volume velocity.

    Parameters
    ----------
    radiated : array of complex
        What reaches the room: cone less opening less leak [1].
    opening : array of complex
        What goes through the vent or moves the passive radiator [1].
    """

    radiated: Complexes
    opening: Complexes


def air_compliance(volume: FloatsLike, *, temperature: FloatsLike = ROOM_TEMPERATURE) -> Floats:
    """Spring of a volume of air, quick enough that no heat flows.

    Lumped: right while the box is much smaller than a wavelength.

    Parameters
    ----------
    volume : float or array, any shape
        Net volume [m³], above 0; infinite where there is no box.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    array, broadcast shape
        Acoustic compliance [m³/Pa].

    Raises
    ------
    ValueError
        If a volume is not above 0.

    Notes
    -----
    V/(rho c²). Stuffing lets heat flow and raises it, by a fifth at most in real boxes.

    References
    ----------
    .. [1] L. L. Beranek, Acoustics, McGraw-Hill, 1954 (from memory).

    Examples
    --------
    Ten litres of air at 20 °C:

    >>> round(1e8 * float(air_compliance(0.010)), 2)
    7.05
    """
    stiffness = air_density(temperature) * speed_of_sound(temperature) ** 2
    return floats(above_zero(volume, "box volume", "m³") / stiffness)


def free_air() -> AirLoad:
    """Load of a cone with no box at all: a very large wall, or an open back.

    Returns
    -------
    AirLoad

    References
    ----------
    .. [1] L. L. Beranek, Acoustics, McGraw-Hill, 1954 (infinite baffle, from memory).

    Examples
    --------
    >>> float(abs(load_impedance(free_air(), 100.0)))
    0.0
    """
    none, endless = floats(0.0), floats(np.inf)
    return AirLoad(endless, none, endless, endless, none, none)


def closed_load(
    *,
    volume: FloatsLike,
    at: FloatsLike = 100.0,
    ql: FloatsLike = np.inf,
    qa: FloatsLike = np.inf,
    temperature: FloatsLike = ROOM_TEMPERATURE,
) -> AirLoad:
    """Load of a closed box.

    Losses are given as Q at one frequency, usually the resonance in the box, as in print.

    Parameters
    ----------
    volume : float or array, any shape
        Net volume of the box [m³], above 0; for several drivers the share of each.
    at : float or array, any shape
        Frequency at which the loss Qs hold [Hz], above 0.
    ql, qa : float or array, any shape
        Q of the leaks and of the absorption [1], above 0; infinite for none.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    AirLoad

    Raises
    ------
    ValueError
        If a volume, a frequency or a Q is not above 0.

    Notes
    -----
    leak = ql/(2 pi at C), absorption = 1/(2 pi at C qa).

    References
    ----------
    .. [1] R. H. Small, Closed-Box Loudspeaker Systems, Part I, J. Audio Eng. Soc. 20 (1972)
       798; Vented-Box Loudspeaker Systems, Part I, 21 (1973) 363 (from memory).

    Examples
    --------
    >>> box = closed_load(volume=0.020)
    >>> round(float(abs(load_impedance(box, 50.0))) / 1000)
    23
    """
    compliance = air_compliance(volume, temperature=temperature)
    leak, absorption = _losses(compliance, at, ql, qa)
    return AirLoad(compliance, absorption, leak, floats(np.inf), floats(0.0), floats(0.0))


def vented_load(
    *,
    volume: FloatsLike,
    fb: FloatsLike,
    ql: FloatsLike = np.inf,
    qa: FloatsLike = np.inf,
    qp: FloatsLike = np.inf,
    temperature: FloatsLike = ROOM_TEMPERATURE,
) -> AirLoad:
    """Load of a vented box.

    A lumped vent: right below the first resonance of the vent as a pipe, at small signals.

    Parameters
    ----------
    volume : float or array, any shape
        Net volume of the box [m³], above 0; for several drivers the share of each.
    fb : float or array, any shape
        Tuning of the box [Hz], above 0.
    ql, qa, qp : float or array, any shape
        Q of leaks, absorption and vent at the tuning [1], above 0; infinite for none. About 7
        in all, as leaks, is the usual start for a sound wooden box.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    AirLoad

    Raises
    ------
    ValueError
        If a volume, the tuning or a Q is not above 0.

    Notes
    -----
    mass = 1/((2 pi fb)² C), resistance = 2 pi fb mass/qp; leak and absorption as in
    `closed_load` at fb.

    References
    ----------
    .. [1] R. H. Small, Vented-Box Loudspeaker Systems, Part I, J. Audio Eng. Soc. 21 (1973)
       363 (from memory; the usual loss of 5 to 10 seen in a translation of Part III).

    Examples
    --------
    At the tuning a vent without losses shuts the box: the cone finds it infinitely stiff.

    >>> box = vented_load(volume=0.0283, fb=45.0, ql=7.0)
    >>> round(float(abs(load_impedance(box, 45.0)) / box.leak), 6)
    1.0
    """
    compliance = air_compliance(volume, temperature=temperature)
    omega = 2.0 * np.pi * above_zero(fb, "fb", "Hz")
    leak, absorption = _losses(compliance, fb, ql, qa)
    mass = 1.0 / (omega**2 * compliance)
    resistance = omega * mass / above_zero(qp, "qp")
    return AirLoad(compliance, absorption, leak, floats(mass), floats(resistance), floats(0.0))


def radiator_load(
    *,
    volume: FloatsLike,
    area: FloatsLike,
    mass: FloatsLike,
    fp: FloatsLike,
    qmp: FloatsLike = 10.0,
    at: FloatsLike | None = None,
    ql: FloatsLike = np.inf,
    qa: FloatsLike = np.inf,
    temperature: FloatsLike = ROOM_TEMPERATURE,
) -> AirLoad:
    """Load of a box with passive radiators.

    Several alike radiators act as one of their joint area and mass.

    Parameters
    ----------
    volume : float or array, any shape
        Net volume of the box [m³], above 0; for several drivers the share of each.
    area : float or array, any shape
        Cone area of all radiators together [m²], above 0; for several drivers the share of each.
    mass : float or array, any shape
        Moving mass of all of them, added mass included [kg], above 0; shared likewise.
    fp : float or array, any shape
        Their own resonance in free air with that mass [Hz], 0 or above.
    qmp : float or array, any shape
        Their mechanical Q at their resonance in the box [1], above 0.
    at : float, array or None
        Frequency at which the loss Qs hold [Hz]; the tuning of the box if None.
    ql, qa : float or array, any shape
        Q of leaks and absorption [1], above 0; infinite for none.
    temperature : float or array, any shape
        Air temperature [K].

    Returns
    -------
    AirLoad

    Raises
    ------
    ValueError
        If a volume, area, mass or Q is not above 0, or fp is below 0.

    Notes
    -----
    Acoustic mass m/S², stiffness (2 pi fp)² of it. The response has a notch near fp, where the
    radiator moves against the cone.

    References
    ----------
    .. [1] R. H. Small, Passive-Radiator Loudspeaker Systems, J. Audio Eng. Soc. 22 (1974) 592
       (from memory).

    Examples
    --------
    >>> box = radiator_load(volume=0.010, area=0.012, mass=0.040, fp=15.0)
    >>> tuning = np.sqrt((box.stiffness + 1 / box.compliance) / box.mass) / (2 * np.pi)
    >>> round(float(tuning), 1)
    39.0
    """
    compliance = air_compliance(volume, temperature=temperature)
    acoustic = above_zero(mass, "mass of the passive radiator", "kg")
    acoustic = acoustic / above_zero(area, "area of the passive radiator", "m²") ** 2
    own = 2.0 * np.pi * not_negative(fp, "fp", "Hz")
    stiffness = own**2 * acoustic
    tuned = np.sqrt((stiffness + 1.0 / compliance) / acoustic)
    frequency = tuned / (2.0 * np.pi) if at is None else at
    leak, absorption = _losses(compliance, frequency, ql, qa)
    resistance = tuned * acoustic / above_zero(qmp, "qmp")
    return AirLoad(
        compliance, absorption, leak, floats(acoustic), floats(resistance), floats(stiffness)
    )


def load_impedance(air: AirLoad, frequency: FloatsLike) -> Complexes:
    """Acoustic impedance that a cone finds behind it.

    The three ways of the air side by side: spring, leak and opening.

    Parameters
    ----------
    air : AirLoad
        The box.
    frequency : float or array, any shape
        Frequency [Hz], above 0.

    Returns
    -------
    array of complex, broadcast shape
        Pressure over volume velocity [Pa s/m³]; times the cone area squared it is a mechanical
        impedance.

    Raises
    ------
    ValueError
        If a frequency is not above 0.

    Notes
    -----
    1/(1/(absorption + 1/(s C)) + 1/leak + 1/(s mass + resistance + stiffness/s)).

    References
    ----------
    .. [1] R. H. Small, Vented-Box Loudspeaker Systems, Part I, J. Audio Eng. Soc. 21 (1973)
       363 (from memory).

    Examples
    --------
    >>> round(float(load_impedance(closed_load(volume=0.020, qa=5.0), 100.0).real))
    2258
    """
    s = laplace(frequency)
    spring = _spring_admittance(air, s)
    whole = spring + 1.0 / air.leak + _opening_admittance(air, s)
    whole = np.asarray(whole, dtype=np.complex128)
    return np.divide(1.0, whole, out=np.zeros_like(whole), where=np.isfinite(whole))


def flows(air: AirLoad, frequency: FloatsLike) -> Flows:
    """How the air that the cone pushes into the box divides.

    What the spring takes up is what the room gets: the cone's air less what comes out again, in
    the other direction, through opening and leak.

    Parameters
    ----------
    air : AirLoad
        The box.
    frequency : float or array, any shape
        Frequency [Hz], above 0.

    Returns
    -------
    Flows
        Arrays of the broadcast shape.

    Raises
    ------
    ValueError
        If a frequency is not above 0.

    Notes
    -----
    Each way's share is the whole impedance over its own.

    References
    ----------
    .. [1] R. H. Small, Vented-Box Loudspeaker Systems, Part I, J. Audio Eng. Soc. 21 (1973)
       363 (from memory).

    Examples
    --------
    At the tuning the vent moves as much air as ql times the cone:

    >>> shares = flows(vented_load(volume=0.0283, fb=45.0, ql=7.0), 45.0)
    >>> round(float(abs(shares.opening)), 6)
    7.0
    """
    s = laplace(frequency)
    spring, opening = _spring_admittance(air, s), _opening_admittance(air, s)
    whole = spring + 1.0 / air.leak + opening
    # Without a box the spring takes all of it.
    endless = np.isinf(np.abs(whole))
    over = np.where(endless, 1.0, whole)
    spring, opening = np.where(endless, 1.0, spring), np.where(endless, 0.0, opening)
    return Flows(radiated=spring / over, opening=opening / over)


def _losses(
    compliance: Floats, at: FloatsLike, ql: FloatsLike, qa: FloatsLike
) -> tuple[Floats, Floats]:
    unit = 1.0 / (2.0 * np.pi * above_zero(at, "frequency of the losses", "Hz") * compliance)
    tightness = above_zero(ql, "ql")
    # Without a box there is nothing that could leak; nothing times infinity is not a number.
    tight = np.isinf(compliance) | np.isinf(tightness)
    leak = np.where(tight, np.inf, unit * np.where(tight, 1.0, tightness))
    return floats(leak), floats(unit / above_zero(qa, "qa"))


def _spring_admittance(air: AirLoad, s: Complexes) -> Complexes:
    # An endless spring would be infinity over infinity; it lets everything through.
    endless = np.isinf(air.compliance)
    give = np.where(endless, 1.0, air.compliance)
    return np.where(endless, np.inf, s * give / (1.0 + s * give * air.absorption))


def _opening_admittance(air: AirLoad, s: Complexes) -> Complexes:
    shut = np.isinf(air.mass)
    weight = np.where(shut, 1.0, air.mass)
    return np.where(shut, 0.0, 1.0 / (s * weight + air.resistance + air.stiffness / s))
