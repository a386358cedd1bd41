"""Where a circuit changes, found for all samples from where the first one does."""

from __future__ import annotations

import numpy as np

from boomwright.circuit.equations import Equations
from boomwright.circuit.newton import FreeSource, solve_free_source
from boomwright.circuit.operating import OperatingPoint
from boomwright.circuit.values import Floats, Truths
from boomwright.circuit.watch import Watch, at_volts, changes_at

__all__ = ["led_edge", "solved_edge"]

_LEADING = 15


def led_edge(equations: Equations, watch: Watch, *, first: float, last: float) -> Floats:
    """Voltage at which each sample changes on the way from first to last; nan where not sure.

    The first sample shows which part starts the change. An answer counts where the control of that
    part passes its threshold the right way there, and, in a circuit of several such parts, where
    the whole of it has changed a millivolt later.
    """
    nothing = np.full(equations.samples, np.nan)
    down = last < first
    leader = equations.picked(slice(0, 1))
    by_hand = {watch.relay: np.array([down and watch.held])}
    begin = at_volts(leader, watch, np.array([first]), leader.first_states(by_hand), None)
    if bool(watch.on(begin)[0]) is not down:
        return nothing
    found = _deciding(leader, watch, begin, level=first, first=first, last=last)
    if found is None:
        # Too far for one solution: walk as near as it stays what it is, and try again.
        near = first
        for level in np.linspace(first, last, _LEADING)[1:]:
            point = at_volts(leader, watch, np.array([level]), begin.states, begin.unknowns)
            if bool(watch.on(point)[0]) is not down:
                break
            begin, near = point, float(level)
        found = _deciding(leader, watch, begin, level=near, first=first, last=last)
    if found is None:
        return nothing
    place, alone = found
    states = {
        name: np.full(equations.samples, bool(value[0])) for name, value in begin.states.items()
    }
    start = np.broadcast_to(alone.unknowns, (equations.size, equations.samples))
    solved = solved_edge(equations, watch, place, states, start, float(alone.level[0]))
    volts = solved.level
    # Falling volts take what is true away if its control falls with them; and so on.
    state = bool(begin.states[leader.stateful[place].name][0])
    rises = solved.rises() if state is down else np.isfinite(volts) & ~solved.rises()
    sure = rises & (volts > min(first, last)) & (volts < max(first, last))
    if len(equations.stateful) > 1 and np.any(sure):
        before = {name: value[sure] for name, value in states.items()}
        sure[sure] = changes_at(
            equations.picked(sure),
            watch,
            volts[sure],
            before,
            solved.unknowns[:, sure],
            down=down,
        )
    return np.where(sure, volts, np.nan)


def _deciding(
    leader: Equations,
    watch: Watch,
    begin: OperatingPoint,
    *,
    level: float,
    first: float,
    last: float,
) -> tuple[int, FreeSource] | None:
    """Place of the part that starts the change, with the circuit where it does; None if none."""
    low, high = min(first, last), max(first, last)
    for place in range(len(leader.stateful)):
        alone = solved_edge(leader, watch, place, begin.states, begin.unknowns, level)
        volts = alone.level
        if low < volts[0] < high and changes_at(
            leader, watch, volts, begin.states, begin.unknowns, down=last < first
        ):
            return place, alone
    return None


def solved_edge(
    equations: Equations,
    watch: Watch,
    place: int,
    states: dict[str, Truths],
    start: Floats,
    level: float,
) -> FreeSource:
    """Supply at which the part at a place in the list of those with a state is at its threshold."""
    part = equations.stateful[place]
    target = np.where(states[part.name], part.falls_at, part.rises_at)
    return solve_free_source(
        equations,
        equations.linear(states),
        equations.excitation(),
        row=equations.branches[watch.source],
        control=part.control,
        target=np.broadcast_to(target, (equations.samples,)),
        start=start,
        level=level,
    )
