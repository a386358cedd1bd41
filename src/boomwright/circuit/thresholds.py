"""Where a circuit lets go as its supply falls, and where it takes hold as it rises."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from boomwright.circuit.equations import Equations
from boomwright.circuit.leading import led_edge, solved_edge
from boomwright.circuit.netlist import Netlist
from boomwright.circuit.operating import OperatingPoint
from boomwright.circuit.turning import turning_points
from boomwright.circuit.values import NOMINAL_TEMPERATURE, Floats, Truths, Value
from boomwright.circuit.watch import Watch, at_volts, changes_at

__all__ = ["Thresholds", "find_thresholds"]

_COARSE = 41
_HALVINGS = 14
_CHUNK = 16384


@dataclass(frozen=True)
class Thresholds:
    """Voltages at which a circuit changes.

    Parameters
    ----------
    off : array, shape (samples,)
        Voltage at which it lets go as the supply falls [V]; nan if it never does, or never was on.
    on : array, shape (samples,)
        Voltage at which it takes hold as the supply rises [V]; nan if it never does.
    """

    off: Floats
    on: Floats


def find_thresholds(
    netlist: Netlist,
    watch: Watch,
    *,
    lowest: float,
    highest: float,
    temperature: Value = NOMINAL_TEMPERATURE,
) -> Thresholds:
    """Off and on voltage of a circuit, sample by sample.

    Where a contact decides, the supply is made an unknown and the contact's own threshold the
    extra equation: one solution instead of a sweep. Each such answer is tried a millivolt above and
    below. Where a shunt reference turns a transistor, the supply is solved along the reference's
    own voltage, and the two ends of the gap are where that curve turns back. What neither serves
    is followed down and up in steps, and the jump is halved in.

    Parameters
    ----------
    netlist : Netlist
        The circuit.
    watch : Watch
        Its supply, and how to tell that it is on.
    lowest, highest : float
        Ends of the search [V].
    temperature : float or array
        Temperature of all parts [K].

    Returns
    -------
    Thresholds
        Good to a millivolt.

    Raises
    ------
    ConvergenceError
        If a point of the way has no solution.

    Notes
    -----
    G x + i(x) = z with the supply among x, and c x = the control's threshold beside it. By hand,
    for a zener, an NPN transistor and a relay: V_off = V_z + V_be + R (I_release/h_FE + V_be/R_b).

    References
    ----------
    .. [1] L. W. Nagel, SPICE2, University of California, Berkeley, 1975 (the equations, from
       memory); the extra equation is ours.

    Examples
    --------
    >>> from boomwright.circuit.parts import Relay, Resistor, VoltageSource
    >>> relay = Netlist(
    ...     "relay",
    ...     (
    ...         VoltageSource(name="BT1", a="batt", b="0", voltage=12.0),
    ...         Relay(
    ...             name="K1", coil_a="batt", coil_b="0", common="batt", made="out",
    ...             coil_resistance=100.0, operate=0.08, release=0.03,
    ...         ),
    ...         Resistor(name="R1", a="out", b="0", resistance=1e3),
    ...     ),
    ... )
    >>> from boomwright.circuit.watch import Watch
    >>> found = find_thresholds(relay, Watch(relay="K1"), lowest=1.0, highest=14.0)
    >>> [round(float(value[0]), 3) for value in (found.off, found.on)]
    [3.0, 8.0]
    """
    equations = Equations(netlist, temperature=temperature)
    samples = equations.samples
    if samples <= _CHUNK:
        return _thresholds(equations, watch, lowest, highest)
    parts = []
    for begin in range(0, samples, _CHUNK):
        chunk = equations.picked(slice(begin, begin + _CHUNK))
        parts.append(_thresholds(chunk, watch, lowest, highest))
    return Thresholds(
        np.concatenate([part.off for part in parts]), np.concatenate([part.on for part in parts])
    )


def _thresholds(equations: Equations, watch: Watch, lowest: float, highest: float) -> Thresholds:
    if equations.stateful and not watch.pivot:
        return _led_by_one(equations, watch, lowest, highest)
    return _of_any(equations, watch, lowest, highest)


def _led_by_one(equations: Equations, watch: Watch, lowest: float, highest: float) -> Thresholds:
    """Thresholds where a contact or comparator decides, all samples from where the first one ends.

    Samples without a sure answer are sought as in any other circuit.
    """
    off = led_edge(equations, watch, first=highest, last=lowest)
    if watch.held:
        # Only its button starts it.
        on = np.full(equations.samples, np.nan)
        served = np.isfinite(off)
    else:
        on = led_edge(equations, watch, first=lowest, last=highest)
        served = np.isfinite(off) & np.isfinite(on) & (off <= on)
    if not np.all(served):
        rest = ~served
        found = _of_any(equations.picked(rest), watch, lowest, highest)
        off[rest], on[rest] = found.off, found.on
    return Thresholds(off, on)


def _of_any(equations: Equations, watch: Watch, lowest: float, highest: float) -> Thresholds:
    pulled = {watch.relay: np.array([True])} if watch.held else {}
    high = np.full(equations.samples, highest)
    top = at_volts(equations, watch, high, equations.first_states(pulled), None)
    low = np.full(equations.samples, lowest)
    bottom = at_volts(equations, watch, low, equations.first_states(), None)
    off = np.full(equations.samples, np.nan)
    on = np.full(equations.samples, np.nan)
    held = watch.on(top)
    if watch.pivot:
        found = turning_points(
            equations, bottom, source=watch.source, pivot=watch.pivot, span=(lowest, highest)
        )
        off = np.where(held, found[0], np.nan)
        on = np.where(watch.on(bottom), np.nan, found[1])
        held = held & np.isnan(off)
    if np.any(held):
        off[held] = _edge(equations, watch, top, highest, lowest, held)
    off[held & watch.on(bottom)] = np.nan
    asleep = ~watch.on(bottom) & np.isnan(on)
    if np.any(asleep):
        on[asleep] = _edge(equations, watch, bottom, lowest, highest, asleep)
    return Thresholds(off, on)


def _edge(
    equations: Equations,
    watch: Watch,
    begin: OperatingPoint,
    first: float,
    last: float,
    which: Truths,
) -> Floats:
    """Voltage at which the chosen samples change on the way from first to last; nan if none."""
    part = equations.picked(which)
    states = {name: state[which] for name, state in begin.states.items()}
    start = begin.unknowns[:, which]
    found = np.full(part.samples, np.nan)
    todo = np.ones(part.samples, dtype=bool)
    if part.stateful:
        found, todo = _direct(part, watch, states, start, first, last)
    if np.any(todo):
        rest = part.picked(todo)
        left = {name: state[todo] for name, state in states.items()}
        found[todo] = _followed(rest, watch, left, start[:, todo], first, last)
    return found


def _direct(
    equations: Equations,
    watch: Watch,
    states: dict[str, Truths],
    start: Floats,
    first: float,
    last: float,
) -> tuple[Floats, Truths]:
    """Edges by the contacts' own equations, and which samples they do not serve.

    Of several parts with a state any may be the one that starts the change: each is asked.
    """
    down = last < first
    found = np.full(equations.samples, np.nan)
    for place in range(len(equations.stateful)):
        volts = solved_edge(equations, watch, place, states, start, first).level
        low, high = (last, first) if down else (first, last)
        asked = np.isnan(found) & np.isfinite(volts) & (volts > low) & (volts < high)
        if np.any(asked):
            chosen = equations.picked(asked)
            state = {name: values[asked] for name, values in states.items()}
            passed = changes_at(chosen, watch, volts[asked], state, start[:, asked], down=down)
            found[asked] = np.where(passed, volts[asked], np.nan)
    return found, np.isnan(found)


def _followed(
    equations: Equations,
    watch: Watch,
    states: dict[str, Truths],
    start: Floats,
    first: float,
    last: float,
) -> Floats:
    """Edges by steps along the way, then by halving the step in which each sample jumped."""
    grid = np.linspace(first, last, _COARSE)
    samples = equations.samples
    was = watch.on(at_volts(equations, watch, np.full(samples, first), states, start))
    # The last point before the jump, for each sample on its own.
    near, far = np.full(samples, np.nan), np.full(samples, np.nan)
    kept, kept_states = start.copy(), {name: state.copy() for name, state in states.items()}
    now, now_states = start, states
    for before, level in pairwise(grid):
        point = at_volts(equations, watch, np.full(samples, level), now_states, now)
        jumped = (watch.on(point) != was) & np.isnan(far)
        near[jumped], far[jumped] = before, level
        waits = np.isnan(far)
        kept[:, waits] = point.unknowns[:, waits]
        for name, state in point.states.items():
            kept_states[name][waits] = state[waits]
        now, now_states = point.unknowns, point.states
        if not np.any(waits):
            break
    changes = ~np.isnan(far)
    if not np.any(changes):
        return np.full(samples, np.nan)
    part = equations.picked(changes)
    low, high, sign = near[changes], far[changes], was[changes]
    begin = kept[:, changes]
    begin_states = {name: state[changes] for name, state in kept_states.items()}
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        point = at_volts(part, watch, middle, begin_states, begin)
        stays = watch.on(point) == sign
        low, high = np.where(stays, middle, low), np.where(stays, high, middle)
        begin = np.where(stays, point.unknowns, begin)
        begin_states = {
            name: np.where(stays, point.states[name], state) for name, state in begin_states.items()
        }
    found = np.full(samples, np.nan)
    found[changes] = 0.5 * (low + high)
    return found
