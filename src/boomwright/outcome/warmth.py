"""How hot it gets: losses into the box, the box's air, and the hottest spot of each part."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.build.audio import Amplifier
from boomwright.build.power import Load, Rail
from boomwright.build.quantities import parse_quantity
from boomwright.outcome.network import Moment
from boomwright.outcome.plan import Plan
from boomwright.outcome.room import inside_size
from boomwright.physics.arrays import Floats
from boomwright.physics.box import box_air_temperature

__all__ = ["Warmth", "delivered_powers", "warmth_of"]

_CONDUCTIVITY = {"wood": 0.15, "plastic": 0.2, "metal": 50.0}
"""Panel materials [W/(m K)]; usual values, from memory."""

_RADIATION_INSIDE = "0.6 [0.1 to 0.9]"
"""How well warm parts see the walls; parts that stand behind others radiate on each other."""


@dataclass(frozen=True)
class Warmth:
    """Heat and temperature once everything has settled; arrays are (versions, scenarios).

    Parameters
    ----------
    air : array
        Mean air temperature in the box [K].
    heat_inside : array
        Heat made inside the box [W].
    losses : tuple of array
        Heat of each node of the plan [W].
    hottest : tuple of array or None
        Junction temperature of each node that has one [K].
    """

    air: Floats
    heat_inside: Floats
    losses: tuple[Floats, ...]
    hottest: tuple[Floats | None, ...]


def delivered_powers(plan: Plan, moment: Moment) -> dict[str, Floats]:
    """Power that each amplifier gives to its drivers and their leads, by amplifier [W]."""
    found: dict[str, Floats] = {}
    for output, mean_square in zip(plan.outputs, moment.mean_squares, strict=True):
        power = mean_square * output.share / output.load
        found[output.amplifier] = found.get(output.amplifier, 0.0) + power
    return found


def warmth_of(plan: Plan, moment: Moment, powers: Floats, ambient: Floats) -> Warmth:
    """Temperatures that hours of this moment would lead to.

    Everything the battery gives ends as heat in the box, less what leaves it: light from lamps and
    the power that goes to a phone. The sound itself is under one per cent and counts as heat.

    Parameters
    ----------
    plan : Plan
        The build in numbers.
    moment : Moment
        Volts and amps.
    powers : array (nodes + 2, versions, scenarios)
        Power each part keeps, from :func:`boomwright.outcome.discharge.own_powers` [W].
    ambient : array (versions, scenarios)
        Temperature around the box [K].

    Returns
    -------
    Warmth
    """
    delivered = delivered_powers(plan, moment)
    losses: list[Floats] = []
    # A supply stands outside and keeps its own heat there.
    inside = powers[-2] + (powers[-1] if plan.build.battery else 0.0)
    for node, power in zip(plan.nodes, powers[:-2], strict=True):
        part = node.node.part
        if isinstance(part, Amplifier):
            to_drivers = delivered.get(part.name, np.zeros_like(power))
            loss = np.maximum(power - to_drivers, 0.0)
            inside = inside + to_drivers + (0.0 if part.sink_outside else loss)
        elif node.kind == "usb" or (isinstance(part, Load) and part.use == "light"):
            loss = np.zeros_like(power)
        else:
            loss = power
            inside = inside + loss
        losses.append(loss)
    air = _air(plan, np.maximum(inside, 0.0), ambient)
    hottest = tuple(_junction(plan, place, loss, air, ambient) for place, loss in enumerate(losses))
    return Warmth(air, inside, tuple(losses), hottest)


def _air(plan: Plan, power: Floats, ambient: Floats) -> Floats:
    cabinet = plan.build.cabinet
    if cabinet is None:
        return ambient
    width, height, depth = inside_size(cabinet)
    wall = plan.take("cabinet", "wall", cabinet.wall)
    radiation = parse_quantity(_RADIATION_INSIDE, "ratio")
    return box_air_temperature(
        power,
        ambient=ambient,
        width=width + 2 * wall,
        height=height + 2 * wall,
        depth=depth + 2 * wall,
        thickness=wall,
        conductivity=_CONDUCTIVITY[cabinet.material],
        emissivity_inside=plan.take("cabinet", "radiation", radiation),
    )


def _junction(plan: Plan, place: int, loss: Floats, air: Floats, ambient: Floats) -> Floats | None:
    part = plan.nodes[place].node.part
    if isinstance(part, Amplifier):
        chain = plan.take(part.name, "junction_case", part.junction_case)
        chain = chain + plan.take(part.name, "sink", part.sink)
        return (ambient if part.sink_outside else air) + loss * chain
    if isinstance(part, Rail):
        chain = plan.take(part.name, "junction_ambient", part.junction_ambient)
        if part.sink is not None:
            chain = plan.take(part.name, "junction_case", part.junction_case) + plan.take(
                part.name, "sink", part.sink
            )
        return air + loss * chain
    return None
