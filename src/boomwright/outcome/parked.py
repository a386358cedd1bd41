"""The box switched off: what still flows, and how long the battery lasts on a shelf."""

from __future__ import annotations

import numpy as np

from boomwright.build.audio import Amplifier
from boomwright.build.power import Cutoff
from boomwright.outcome.data import ParkedOutcome, Range, range_of
from boomwright.outcome.discharge import Run
from boomwright.outcome.plan import Plan
from boomwright.outcome.source import label_charge, start_charge
from boomwright.physics.arrays import Floats
from boomwright.physics.battery import Battery
from boomwright.physics.shelf import shelf_time

__all__ = ["parked_outcome"]

_RUINED = 0.2
"""Share of its charge below which a parked battery takes harm; common practice, no source."""


def parked_outcome(plan: Plan, battery: Battery | None, run: Run, wanted: int) -> ParkedOutcome:
    """Drain and shelf time of the box when its switch is off.

    Whatever hangs below a switch draws nothing. Without a switch everything idles, and a cutoff
    helps only once it has opened.

    Parameters
    ----------
    plan : Plan
        The build in numbers.
    battery : Battery or None
        The battery; None for a supply.
    run : Run
        The run down.
    wanted : int
        Column of the scenario as wanted.

    Returns
    -------
    ParkedOutcome
    """
    never = Range(np.inf, np.inf, np.inf)
    volts = run.start.terminal[:, :1]
    currents: dict[str, Floats] = {}
    for place, node in enumerate(plan.nodes):
        above = [plan.nodes[step].kind for step in plan.upstream(place)]
        if "switch" not in above:
            drain = _own_drain(plan, place, volts)
            if np.any(drain > 0):
                currents[node.name] = drain
    total = sum(currents.values(), np.zeros_like(volts))
    drains = {name: float(drain[0, 0]) for name, drain in currents.items()}
    if battery is None or plan.chemistry is None or plan.build.battery is None:
        return ParkedOutcome(range_of(total[:, 0]), drains, never, never)
    capacity = np.broadcast_to(label_charge(plan), volts.shape)
    after_cutoff = _after_cutoff(plan, total, run.end.terminal[:, wanted : wanted + 1])
    # What a fast run leaves lies beyond the label; slow drains reach all of it.
    start = start_charge(plan.build.battery, plan.draws)
    left = np.maximum(start * battery.capacity - run.charge_used, 0.0)[:, wanted : wanted + 1]
    times = [
        shelf_time(
            charge=charge,
            current=current,
            self_discharge=plan.chemistry.self_discharge,
            temperature=plan.take("want", "outside", plan.build.want.outside),
            doubling=plan.chemistry.self_discharge_doubling,
            charge_end=end,
        )
        for charge, current, end in (
            (capacity, total, _RUINED * capacity),
            (left, after_cutoff, 0.0),
        )
    ]
    full, after = (np.broadcast_to(time, volts.shape)[:, 0] for time in times)
    return ParkedOutcome(range_of(total[:, 0]), drains, range_of(full), range_of(after))


def _own_drain(plan: Plan, place: int, volts: Floats) -> Floats:
    """Amps from the battery that a part takes while nothing plays and no switch is in its way."""
    node, part = plan.nodes[place], plan.nodes[place].node.part
    if node.kind == "usb":
        return np.zeros_like(volts)
    above = [rail for step in plan.upstream(place)[1:] if (rail := plan.nodes[step].rail)]
    feeds = [rail.voltage for rail in above] + [volts]
    if isinstance(part, Amplifier):
        if part.off_current.likely > 0:
            amps = plan.take(part.name, "off_current", part.off_current)
        else:
            amps = plan.take(part.name, "idle_power", part.idle_power) / feeds[0]
    elif node.rail is not None:
        linear = node.rail.linear
        amps = node.rail.ground_current if linear else node.rail.idle_power / feeds[0]
    else:
        amps = node.current
    # A linear regulator passes the current on; a converter turns it into watts and back.
    for rail, feed in zip(above, feeds[1:], strict=True):
        if not rail.linear:
            amps = amps * rail.voltage / (rail.efficiency * feed)
    return amps + np.zeros_like(volts)


def _after_cutoff(plan: Plan, total: Floats, volts: Floats) -> Floats:
    """Drain once a cutoff has opened: its own, and what hangs above it."""
    cutoffs = [
        (place, node.node.part)
        for place, node in enumerate(plan.nodes)
        if isinstance(node.node.part, Cutoff)
    ]
    if not cutoffs:
        return total
    first, part = cutoffs[0]
    above = [
        place
        for place in range(len(plan.nodes))
        if first not in plan.upstream(place)
        and "switch" not in [plan.nodes[step].kind for step in plan.upstream(place)]
    ]
    open_drain = plan.take(part.name, "drain_off", part.drain_off)
    if any(plan.nodes[step].kind == "switch" for step in plan.upstream(first)):
        open_drain = np.zeros((1, 1))
    still = [_own_drain(plan, place, volts) for place in above]
    return sum(still, open_drain + np.zeros_like(total))
