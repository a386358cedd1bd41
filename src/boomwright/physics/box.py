"""Heat in the box: what its walls let through, and the air that it warms."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from boomwright.physics.arrays import Floats, FloatsLike, above_zero, floats, not_negative
from boomwright.physics.convection import Facing, surface_coefficient

__all__ = ["box_air_temperature", "box_conductance", "panel_conductance"]

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
    conductive = above_zero(conductivity, "panel conductivity", "W/(m K)")
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
    inside = [
        above_zero(size - 2.0 * wall, f"room between the walls, box {name}", "m")
        for size, name in zip(outside, ("width", "height", "depth"), strict=True)
    ]
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
        Emissivity of the outer and inner surface [1]. Inside, radiation stands for that of the
        warm parts; 0 leaves it out and gives the worst case.
    bottom_share : float or array, default 1
        Share of the bottom that sees free air [1]: 1 on feet, 0 flat on a carpet.
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
    return _solved(
        faces=_faces(width, height, depth, thickness),
        rise=not_negative(rise, "rise of the air in the box", "K"),
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
        As in `box_conductance` [1].

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
    heat = not_negative(power, "heat made in the box", "W")
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
