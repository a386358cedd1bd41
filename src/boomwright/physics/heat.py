"""Heat in the box: air in it, parts on a sink, a plate as a sink, and what a hand may touch."""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, floats
from boomwright.physics.convection import Facing, surface_coefficient
from boomwright.physics.nature import ZERO_CELSIUS

__all__ = [
    "TouchMaterial",
    "box_air_temperature",
    "box_conductance",
    "burn_limit",
    "junction_temperature",
    "panel_conductance",
    "plate_resistance",
    "sink_resistance_needed",
    "touch_limit",
]

TouchMaterial = Literal["metal", "glass", "plastic", "wood"]
"""What a hand touches. Wood takes the limits of plastic, which are on the safe side for it."""

# Surface temperature [°C] against duration of touch [s]. 1 to 30 s: time to a serious burn,
# Shriners Burn Institute table as posted on a product-safety list (seen). 60 s and longer: burn
# thresholds of ISO 13732-1 (from memory, standard not opened). Both ±2 °C; people differ more.
_BURN_SECONDS = (1.0, 3.0, 5.0, 30.0, 60.0, 600.0, 28800.0)
_BURN_DEGC: dict[str, tuple[float, ...]] = {
    "metal": (68.0, 63.0, 60.0, 55.0, 51.0, 48.0, 43.0),
    "glass": (78.0, 73.0, 70.0, 65.0, 56.0, 48.0, 43.0),
    "plastic": (93.0, 88.0, 85.0, 80.0, 60.0, 48.0, 43.0),
}

# Design limits [°C] at 25 °C ambient for touches up to 1 s, 10 s, 60 s and longer: IEC 62368-1
# Table 38, class TS1. Plastic for 10 s seen quoted; the others from memory, not opened.
_TOUCH_SECONDS = (1.0, 10.0, 60.0)
_TOUCH_DEGC: dict[str, tuple[float, ...]] = {
    "metal": (70.0, 60.0, 51.0, 48.0),
    "glass": (85.0, 71.0, 56.0, 48.0),
    "plastic": (94.0, 77.0, 60.0, 48.0),
}

# The air films change with the fourth root of their temperature step at most, so each pass
# shrinks the error at least fourfold: 24 passes leave less than 1e-7 of the rise (a test holds it).
_PASSES = 24
_LEAST_RISE = 1e-6


class _Face(NamedTuple):
    area_inside: Floats
    area_outside: Floats
    length_inside: Floats
    length_outside: Floats
    facing: Facing


def panel_conductance(
    *,
    area: FloatsLike,
    thickness: FloatsLike,
    conductivity: FloatsLike,
    inside: FloatsLike,
    outside: FloatsLike,
) -> Floats:
    """Heat through a flat panel per kelvin, from the air inside to the air outside.

    One-dimensional: film, panel and film in series; edges are left out.

    Parameters
    ----------
    area : float or array
        Area of the panel [m²].
    thickness : float or array
        Thickness [m].
    conductivity : float or array
        Thermal conductivity [W/(m K)]: plywood and particle board about 0.12 to 0.18.
    inside, outside : float or array
        Surface coefficients of the two films [W/(m² K)].

    Returns
    -------
    array, broadcast shape
        Conductance [W/K]; 0 where a film carries nothing.

    Raises
    ------
    ValueError
        If the conductivity is not positive.

    Notes
    -----
    G = A / (1/h_in + t/k + 1/h_out).

    References
    ----------
    .. [1] ISO 6946, Building components, thermal resistance (from memory): films of 1/0.13 and
       1/0.04 W/(m² K) for walls.

    Examples
    --------
    >>> g = panel_conductance(
    ...     area=0.1, thickness=0.015, conductivity=0.13, inside=1 / 0.13, outside=1 / 0.13)
    >>> round(float(g), 3)
    0.266
    """
    conductive = floats(conductivity)
    if np.any(conductive <= 0.0):
        raise ValueError(
            f"panel conductivity: got {np.min(conductive):g} W/(m K), must be above 0 W/(m K)"
        )
    warm, cold = floats(inside), floats(outside)
    # Written without 1/h, so that a dead film gives zero and not a division by zero.
    under = warm + cold + warm * cold * floats(thickness) / conductive
    return floats(area) * warm * cold / np.where(under > 0.0, under, 1.0)


def _faces(
    width: FloatsLike, height: FloatsLike, depth: FloatsLike, thickness: FloatsLike
) -> list[_Face]:
    """Four sides, top and bottom of a closed box, from its outside size."""
    wall = floats(thickness)
    outside = [floats(size) for size in (width, height, depth)]
    inside = [size - 2.0 * wall for size in outside]
    for size, name in zip(inside, ("width", "height", "depth"), strict=True):
        if np.any(size <= 0.0):
            raise ValueError(
                f"box {name}: got {np.min(size):g} m of room between the walls, must be above 0 m"
            )
    (w, h, d), (wi, hi, di) = outside, inside
    plan, plan_inside = w * d, wi * di
    # Area over perimeter is the length that the laws for horizontal plates are written on.
    edge, edge_inside = plan / (2.0 * (w + d)), plan_inside / (2.0 * (wi + di))
    sides = _Face(2.0 * (wi + di) * hi, 2.0 * (w + d) * h, hi, h, "vertical")
    top = _Face(plan_inside, plan, edge_inside, edge, "up")
    return [sides, top, top._replace(facing="down")]


def _solved(
    *,
    faces: list[_Face],
    rise: FloatsLike | None,
    power: FloatsLike | None,
    thickness: FloatsLike,
    conductivity: FloatsLike,
    emissivity: FloatsLike,
    emissivity_inside: FloatsLike,
    bottom_share: FloatsLike,
    ambient: FloatsLike,
) -> tuple[Floats, Floats]:
    """Rise of the air and conductance of the box, from either the rise or the power."""
    outdoor = floats(ambient)
    total = floats(10.0 if rise is None else rise)
    # Share of the rise that lies across the inner and the outer film of each face.
    shares = [(floats(1.0 / 3.0), floats(1.0 / 3.0)) for _ in faces]
    conductance = floats(0.0)
    for _ in range(_PASSES):
        conductance = floats(0.0)
        renewed = []
        for face, (inner, outer) in zip(faces, shares, strict=True):
            # A wall colder than the air inside it is the mirror case of a hot one outside.
            film_in = surface_coefficient(
                -inner * total,
                face.length_inside,
                ambient=outdoor + total,
                emissivity=emissivity_inside,
                facing=face.facing,
            )
            film_out = surface_coefficient(
                outer * total,
                face.length_outside,
                ambient=outdoor,
                emissivity=emissivity,
                facing=face.facing,
            )
            # Films and wall have areas of their own; all are referred to the mean area.
            area = 0.5 * (face.area_inside + face.area_outside)
            flow = panel_conductance(
                area=area,
                thickness=thickness,
                conductivity=conductivity,
                inside=film_in * face.area_inside / area,
                outside=film_out * face.area_outside / area,
            )
            renewed.append(
                (
                    _quotient(flow, film_in * face.area_inside),
                    _quotient(flow, film_out * face.area_outside),
                )
            )
            share = floats(bottom_share) if face.facing == "down" else floats(1.0)
            conductance = conductance + share * flow
        shares = renewed
        if power is not None:
            total = np.maximum(floats(power) / conductance, _LEAST_RISE)
    return total, conductance


def _quotient(over: Floats, under: Floats) -> Floats:
    # A film that carries nothing takes a third of the step, and cannot stick at nothing.
    over, under = np.broadcast_arrays(over, under)
    return np.where(under > 0.0, over / np.where(under > 0.0, under, 1.0), 1.0 / 3.0)


def box_conductance(
    *,
    width: FloatsLike,
    height: FloatsLike,
    depth: FloatsLike,
    thickness: FloatsLike,
    conductivity: FloatsLike,
    rise: FloatsLike,
    emissivity: FloatsLike = 0.9,
    emissivity_inside: FloatsLike = 0.9,
    bottom_share: FloatsLike = 1.0,
    ambient: FloatsLike,
) -> Floats:
    """Heat a closed box gives off per kelvin of mean air rise, in still air.

    Natural convection and radiation on both sides of every wall, conduction through it, all air
    in the box at one temperature; a rough figure, good to some 30 %, and air beside a heat sink
    or under the lid is hotter than the mean.

    Parameters
    ----------
    width, height, depth : float or array
        Outside size [m].
    thickness : float or array
        Wall thickness [m].
    conductivity : float or array
        Thermal conductivity of the wall [W/(m K)].
    rise : float or array
        Mean air in the box above the room [K], 0 or more.
    emissivity, emissivity_inside : float or array, default 0.9
        Emissivity of the outer and inner surface [-]. Inside, radiation stands for that of the
        warm parts; 0 leaves it out and gives the worst case.
    bottom_share : float or array, default 1
        Share of the bottom that sees free air [-]: 1 on feet, 0 flat on a carpet.
    ambient : float or array
        Room temperature [K].

    Returns
    -------
    array, broadcast shape
        Conductance [W/K].

    Raises
    ------
    ValueError
        If the walls leave no room, a conductivity is not positive or an emissivity lies outside
        0 to 1.

    Notes
    -----
    G = sum over faces of 1 / (1/(h_in A_in) + t/(k A_mean) + 1/(h_out A_out)), films at their own
    temperature steps, found by fixed-point iteration. Ports, leaks, fans and sunshine are left
    out.

    References
    ----------
    .. [1] Y. A. Cengel, Heat Transfer, McGraw-Hill, natural convection from a warm box.

    Examples
    --------
    A 10 litre cube in 15 mm wood, 10 K above a room at 25 °C:

    >>> g = box_conductance(width=0.245, height=0.245, depth=0.245, thickness=0.015,
    ...     conductivity=0.13, rise=10.0, ambient=298.15)
    >>> round(1.0 / float(g), 1)
    1.1
    """
    if np.any(floats(rise) < 0.0):
        raise ValueError(f"rise of the air in the box: got {np.min(rise):g} K, must be 0 K or more")
    return _solved(
        faces=_faces(width, height, depth, thickness),
        rise=rise,
        power=None,
        thickness=thickness,
        conductivity=conductivity,
        emissivity=emissivity,
        emissivity_inside=emissivity_inside,
        bottom_share=bottom_share,
        ambient=ambient,
    )[1]


def box_air_temperature(
    power: FloatsLike,
    *,
    ambient: FloatsLike,
    width: FloatsLike,
    height: FloatsLike,
    depth: FloatsLike,
    thickness: FloatsLike,
    conductivity: FloatsLike,
    emissivity: FloatsLike = 0.9,
    emissivity_inside: FloatsLike = 0.9,
    bottom_share: FloatsLike = 1.0,
) -> Floats:
    """Mean air temperature in a closed box that is heated from inside.

    Steady state of `box_conductance`, which a wooden box nears after one to a few hours.

    Parameters
    ----------
    power : float or array
        Heat made in the box [W], 0 or more; heat sinks outside are not counted.
    ambient : float or array
        Room temperature [K].
    width, height, depth, thickness : float or array
        Outside size and wall thickness [m].
    conductivity : float or array
        Thermal conductivity of the wall [W/(m K)].
    emissivity, emissivity_inside, bottom_share : float or array
        As in `box_conductance` [-].

    Returns
    -------
    array, broadcast shape
        Air temperature [K].

    Raises
    ------
    ValueError
        If the power is negative, or as in `box_conductance`.

    Notes
    -----
    T = T_ambient + P / G(T - T_ambient); a fixed number of passes, the same for every sample.

    References
    ----------
    .. [1] Y. A. Cengel, Heat Transfer, McGraw-Hill, natural convection from a warm box.

    Examples
    --------
    >>> air = box_air_temperature(10.0, ambient=298.15, width=0.30, height=0.30, depth=0.30,
    ...     thickness=0.015, conductivity=0.13)
    >>> round(float(air) - 273.15)
    32
    """
    heat = floats(power)
    if np.any(heat < 0.0):
        raise ValueError(f"heat made in the box: got {np.min(heat):g} W, must be 0 W or more")
    rise, _ = _solved(
        faces=_faces(width, height, depth, thickness),
        rise=None,
        power=heat,
        thickness=thickness,
        conductivity=conductivity,
        emissivity=emissivity,
        emissivity_inside=emissivity_inside,
        bottom_share=bottom_share,
        ambient=ambient,
    )
    return floats(ambient) + np.where(heat > 0.0, rise, 0.0)


def junction_temperature(
    power: FloatsLike,
    *,
    reference: FloatsLike,
    junction_case: FloatsLike,
    case_sink: FloatsLike,
    sink: FloatsLike,
) -> Floats:
    """Junction temperature of a part on a heat sink.

    Steady state, all heat through the sink.

    Parameters
    ----------
    power : float or array
        Heat [W].
    reference : float or array
        Temperature of the air at the sink [K]: the room, or the air in the box.
    junction_case, case_sink, sink : float or array
        Thermal resistances: in the part, across grease or pad, from sink to air [K/W].

    Returns
    -------
    array, broadcast shape
        Junction temperature [K].

    Notes
    -----
    T = T_reference + P (R_jc + R_cs + R_sa).

    References
    ----------
    .. [1] Lecture slides on the thermal equivalent circuit of a transistor, TO-220 example: 5 W
       through 3.0, 1.0 and 16 K/W from 50 °C reaches 150 °C.

    Examples
    --------
    >>> hot = junction_temperature(
    ...     5.0, reference=323.15, junction_case=3.0, case_sink=1.0, sink=16.0)
    >>> round(float(hot) - 273.15, 2)
    150.0
    """
    path = floats(junction_case) + floats(case_sink) + floats(sink)
    return floats(reference) + floats(power) * path


def sink_resistance_needed(
    power: FloatsLike,
    *,
    reference: FloatsLike,
    junction_max: FloatsLike,
    junction_case: FloatsLike,
    case_sink: FloatsLike,
) -> Floats:
    """Largest heat-sink resistance that keeps a junction at or under its limit.

    `junction_temperature` turned round; a negative result means that no sink is enough.

    Parameters
    ----------
    power : float or array
        Heat [W].
    reference, junction_max : float or array
        Air temperature at the sink, and highest junction temperature [K].
    junction_case, case_sink : float or array
        Thermal resistances in the part, and across grease or pad [K/W].

    Returns
    -------
    array, broadcast shape
        Resistance from sink to air [K/W]; inf without heat.

    Raises
    ------
    ValueError
        If the power is negative.

    Notes
    -----
    R_sa = (T_max - T_reference) / P - R_jc - R_cs.

    References
    ----------
    .. [1] Lecture slides on the thermal equivalent circuit of a transistor, TO-220 example.

    Examples
    --------
    >>> round(float(sink_resistance_needed(
    ...     5.0, reference=323.15, junction_max=423.15, junction_case=3.0, case_sink=1.0)), 2)
    16.0
    """
    heat = floats(power)
    if np.any(heat < 0.0):
        raise ValueError(f"heat of the part: got {np.min(heat):g} W, must be 0 W or more")
    spare = floats(junction_max) - floats(reference)
    spare, heat = np.broadcast_arrays(spare, heat)
    whole = np.where(heat > 0.0, spare / np.where(heat > 0.0, heat, 1.0), np.inf)
    return whole - floats(junction_case) - floats(case_sink)


def plate_resistance(
    *,
    height: FloatsLike,
    area_wetted: FloatsLike,
    rise: FloatsLike,
    emissivity: FloatsLike,
    ambient: FloatsLike,
) -> Floats:
    """Thermal resistance of an upright flat plate used as a heat sink.

    Isothermal plate in free air; thin plates with one hot spot are some 10 to 30 % worse.

    Parameters
    ----------
    height : float or array
        Height of the plate [m].
    area_wetted : float or array
        Area that air touches: both faces if both are free [m²].
    rise : float or array
        Plate above the air [K], above 0.
    emissivity : float or array
        Emissivity [-]: painted or anodised about 0.9, bare aluminium about 0.1.
    ambient : float or array
        Air temperature [K].

    Returns
    -------
    array, broadcast shape
        Resistance [K/W].

    Raises
    ------
    ValueError
        If height, area or rise is not positive, or an emissivity lies outside 0 to 1.

    Notes
    -----
    R = 1 / (A (h_convection + h_radiation)).

    References
    ----------
    .. [1] S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1323; 200 cm²,
       10 cm high, at 65 °C in 25 °C: about 4.0 K/W (computed).

    Examples
    --------
    >>> r = plate_resistance(
    ...     height=0.10, area_wetted=0.02, rise=40.0, emissivity=0.9, ambient=298.15)
    >>> round(float(r), 1)
    3.9
    """
    for value, what, unit in (
        (floats(area_wetted), "wetted area of the plate", "m²"),
        (floats(rise), "rise of the plate", "K"),
    ):
        if np.any(value <= 0.0):
            raise ValueError(f"{what}: got {np.min(value):g} {unit}, must be above 0 {unit}")
    film = surface_coefficient(
        rise, height, ambient=ambient, emissivity=emissivity, facing="vertical"
    )
    return 1.0 / (floats(area_wetted) * film)


def _row(table: dict[str, tuple[float, ...]], material: str) -> Floats:
    key = "plastic" if material == "wood" else material
    if key not in table:
        raise ValueError(
            f"touched material: got {material!r}, must be metal, glass, plastic or wood"
        )
    return np.array(table[key], dtype=np.float64)


def burn_limit(material: TouchMaterial, *, duration: FloatsLike) -> Floats:
    """Surface temperature that burns skin in a given time of touch.

    Published burn rows, read between on a logarithmic time scale: a hard warning and no design
    target, for which `touch_limit` is meant. Children and old people burn sooner.

    Parameters
    ----------
    material : "metal", "glass", "plastic" or "wood"
        What is touched; wood takes the figures of plastic.
    duration : float or array, any shape
        Time of touch, above 0 [s]; held at the end values under 1 s and over 8 h.

    Returns
    -------
    array, same shape
        Temperature [K], ±2 K.

    Raises
    ------
    ValueError
        If the material is unknown or a duration is not positive.

    Notes
    -----
    Under 1 s the law stays at the 1 s row, on the safe side.

    References
    ----------
    .. [1] Burn-time table, Shriners Burn Institute, as posted on a product-safety mailing list.
    .. [2] ISO 13732-1 (from memory), for one minute and longer.

    Examples
    --------
    >>> [round(float(burn_limit("metal", duration=t)) - 273.15) for t in (1.0, 5.0, 60.0)]
    [68, 60, 51]
    """
    row = _row(_BURN_DEGC, material)
    return np.interp(_log_duration(duration), np.log(_BURN_SECONDS), row) + ZERO_CELSIUS


def _log_duration(duration: FloatsLike) -> Floats:
    time = floats(duration)
    if np.any(time <= 0.0):
        raise ValueError(f"time of touch: got {np.min(time):g} s, must be above 0 s")
    return np.log(time)


def touch_limit(material: TouchMaterial, *, duration: FloatsLike) -> Floats:
    """Highest temperature of a part that people touch, for a given time of touch.

    Steps of the safety standard for audio and computer equipment, class TS1, with the room at
    25 °C.

    Parameters
    ----------
    material : "metal", "glass", "plastic" or "wood"
        What is touched; wood takes the figures of plastic.
    duration : float or array, any shape
        Time of touch, above 0 [s].

    Returns
    -------
    array, same shape
        Temperature [K].

    Raises
    ------
    ValueError
        If the material is unknown or a duration is not positive.

    Notes
    -----
    A step belongs to times below its end: under 1 s, 1 to 10 s, 10 s to 1 min, longer. It is set
    for a touch at its short end, so that near its long end glass exceeds `burn_limit` by 3 K.

    References
    ----------
    .. [1] IEC 62368-1, Table 38 (77 °C for plastic seen quoted; the rest from memory).

    Examples
    --------
    >>> round(float(touch_limit("plastic", duration=5.0)) - 273.15)
    77
    """
    step = np.searchsorted(np.log(_TOUCH_SECONDS), _log_duration(duration), side="right")
    return _row(_TOUCH_DEGC, material)[step] + ZERO_CELSIUS
