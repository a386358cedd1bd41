"""The box switched off: what still flows, and how long the battery lasts on a shelf."""

from __future__ import annotations

import numpy as np

from boomwright.build.audio import Amplifier
from boomwright.build.power import Cutoff
from boomwright.outcome.data import ParkedOutcome, Range, range_of
from boomwright.outcome.discharge import Run
from boomwright.outcome.plan import NodeNumbers, Plan
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
            drain = _own_drain(plan, node, volts)
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


def _own_drain(plan: Plan, node: NodeNumbers, volts: Floats) -> Floats:
    """Amps from the battery that a part takes while nothing plays and no switch is in its way."""
    part = node.node.part
    if isinstance(part, Amplifier):
        if part.off_current.likely > 0:
            return plan.take(part.name, "off_current", part.off_current) + np.zeros_like(volts)
        return plan.take(part.name, "idle_power", part.idle_power) / volts
    if node.rail is not None:
        if node.rail.linear:
            return node.rail.ground_current + np.zeros_like(volts)
        return node.rail.idle_power / volts
    if node.kind == "usb":
        return np.zeros_like(volts)
    # A receiver or lamp behind a rail costs the battery its own current, scaled by the rail.
    parent = node.node.parent
    rail = plan.nodes[parent].rail if parent >= 0 else None
    if rail is None or rail.linear:
        return node.current + np.zeros_like(volts)
    return node.current * rail.voltage / (rail.efficiency * volts)


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
        node
        for place, node in enumerate(plan.nodes)
        if first not in plan.upstream(place)
        and "switch" not in [plan.nodes[step].kind for step in plan.upstream(place)]
    ]
    open_drain = plan.take(part.name, "drain_off", part.drain_off)
    if any(plan.nodes[step].kind == "switch" for step in plan.upstream(first)):
        open_drain = np.zeros((1, 1))
    return sum((_own_drain(plan, node, volts) for node in above), open_drain + np.zeros_like(total))
