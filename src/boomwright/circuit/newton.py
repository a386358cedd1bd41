"""The curved equations solved: damped Newton steps, and detours where they do not lead there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.circuit.bound import Curved
from boomwright.circuit.elimination import solve_each
from boomwright.circuit.equations import Equations
from boomwright.circuit.values import Floats, Truths, Value
from boomwright.errors import ConvergenceError

__all__ = ["FreeSource", "solve_curved", "solve_free_source", "stamp"]

_STEPS = 60
_TOLERANCE = 1e-7
_RELATIVE = 1e-8
_RESIDUAL = 1e-7
_FEW = 4
# Samples are cut out once no more than this share is still on its way.
_CROWD = 0.7
# Steps of a detour: this many failures in a row and the detour is given up.
_GIVE_UP = 14
_MOST_DETOUR = 400
# Conductances of the drag [S]: where it counts as gone, and where the way is given up.
_LEAST_DRAG = 1e-10
_HOPELESS = 1e6


@dataclass
class _Task:
    """Some samples of the equations, with room for a conductance to ground and a damped source."""

    curved: list[Curved]
    linear: Floats
    right: Floats
    nodes: int

    def picked(self, index: Truths) -> _Task:
        linear = self.linear if self.linear.shape[-1] == 1 else self.linear[:, :, index]
        curved = [part.picked(index) for part in self.curved]
        return _Task(curved, linear, self.right[:, index], self.nodes)


@dataclass(frozen=True, eq=False)
class FreeSource:
    """A circuit with a control at its target and the source that takes.

    Parameters
    ----------
    task : object
        The equations that were solved.
    level : array, shape (samples,)
        Level of the source [V], nan if none was found.
    found : array, shape (size + 1, samples)
        Unknowns, then the level.
    """

    task: _Task
    level: Floats
    found: Floats

    @property
    def unknowns(self) -> Floats:
        """Unknowns of the circuit, shape (size, samples)."""
        return self.found[:-1]

    def rises(self) -> Truths:
        """Where a little more of the source gives a little more of the control."""
        work = self.task
        samples = self.found.shape[1]
        known = np.isfinite(self.level)
        here = np.where(known, self.found, 0.0)
        matrix = _wide(work.linear, samples)
        right = np.zeros_like(work.right)
        for part in work.curved:
            stamp(part, part.volts(here), matrix, right)
        right[:] = 0.0
        right[-1] = 1.0
        return np.asarray(known & (solve_each(matrix, right)[-1] > 0.0))


def _wide(linear: Floats, samples: int) -> Floats:
    """A matrix of its own for each sample."""
    return np.repeat(linear, samples, axis=-1) if linear.shape[-1] == 1 else linear.copy()


def solve_curved(
    equations: Equations, linear: Floats, right: Floats, start: Floats | None = None
) -> Floats:
    """Unknowns that fulfil the equations.

    Newton's steps with the junctions held back; where they fail, nodes with an inertia that is
    taken away little by little, then sources that are turned up little by little.

    Parameters
    ----------
    equations : Equations
        The circuit.
    linear : array, shape (size, size, 1 or samples)
        Matrix of the parts in proportion.
    right : array, shape (size, samples)
        Right-hand side.
    start : array or None
        Unknowns to start from; zeros if None.

    Returns
    -------
    array, shape (size, samples)

    Raises
    ------
    ConvergenceError
        If a sample has no solution that could be found; names the node and the part where the
        currents fit least.

    References
    ----------
    .. [1] L. W. Nagel, SPICE2: A computer program to simulate semiconductor circuits, University
       of California, Berkeley, 1975 (limiting and source stepping, from memory).
    .. [2] C. T. Kelley and D. E. Keyes, Convergence analysis of pseudo-transient continuation, SIAM
       J. Numer. Anal. 35, 1998 (the inertia, from memory).
    """
    task = _Task(equations.curved, linear, right, len(equations.netlist.nodes))
    if start is None and right.shape[1] > _FEW:
        # One sample finds the way; the others start where it ended.
        start = _led_by_one(task)
    begin = np.zeros_like(right) if start is None else np.broadcast_to(start, right.shape).copy()
    found, good = _newton(task, begin)
    if np.all(good):
        return found
    for detour in (_dragged, _rising_sources):
        left = ~good
        found[:, left], good[left] = detour(task.picked(left))
        if np.all(good):
            return found
    raise ConvergenceError(_complaint(equations, task.picked(~good), found[:, ~good], ~good))


def _led_by_one(task: _Task) -> Floats | None:
    """Unknowns of the first sample alone, None if it has no solution either."""
    first = np.zeros(task.right.shape[1], dtype=bool)
    first[0] = True
    alone = task.picked(first)
    found, good = _newton(alone, np.zeros_like(alone.right))
    if not good[0]:
        found, good = _dragged(alone)
    return found if good[0] else None


def solve_free_source(
    equations: Equations,
    linear: Floats,
    right: Floats,
    *,
    row: int,
    control: Floats,
    target: Floats,
    start: Floats,
    level: Value,
) -> FreeSource:
    """Level of a voltage source at which a control quantity meets its target.

    Parameters
    ----------
    equations : Equations
        The circuit.
    linear, right : array
        As for :func:`solve_curved`.
    row : int
        Row of the source's own equation.
    control : array, shape (size,)
        The control quantity is this times the unknowns.
    target : array, shape (samples,)
        Its wanted value.
    start : array, shape (size, samples)
        Unknowns to start from.
    level : float or array
        Level of the source there [V].

    Returns
    -------
    FreeSource
    """
    size, samples = right.shape
    wide = np.zeros((size + 1, size + 1, linear.shape[-1]))
    wide[:size, :size] = linear
    wide[row, size] = -1.0
    wide[size, :size] = control[:, None]
    side = np.vstack([right, np.broadcast_to(target, (1, samples))])
    side[row] = 0.0
    task = _Task(equations.curved, wide, side, len(equations.netlist.nodes))
    first = np.broadcast_to(np.asarray(level, dtype=np.float64), (1, samples))
    found, good = _newton(task, np.vstack([start, first]))
    return FreeSource(task, np.where(good, found[size], np.nan), found)


def _newton(
    task: _Task, start: Floats, extra: Value = 0.0, *, careful: bool = False
) -> tuple[Floats, Truths]:
    """Unknowns and whether they fulfil the equations, sample by sample.

    Careful steps check each linear solution; the others leave that to the next step.
    """
    found = start.copy()
    good = np.zeros(start.shape[1], dtype=bool)
    here = np.arange(start.shape[1])
    now, work = start, task
    old = [part.volts(now) for part in work.curved]
    diagonal = np.arange(task.nodes)
    tied = np.broadcast_to(np.asarray(extra, dtype=np.float64), good.shape)
    for _ in range(_STEPS):
        matrix = _wide(work.linear, now.shape[1])
        matrix[diagonal, diagonal] += tied
        right = work.right.copy()
        for part, volts in zip(work.curved, old, strict=True):
            stamp(part, volts, matrix, right)
        new = solve_each(matrix, right, checked=careful)
        bad = ~np.all(np.isfinite(new), axis=0)
        wanted = [part.volts(new) for part in work.curved]
        held = [part.limited(w, v) for part, w, v in zip(work.curved, wanted, old, strict=True)]
        rest = np.all(np.abs(new - now) <= _TOLERANCE + _RELATIVE * np.abs(new), axis=0) & ~bad
        for got, asked in zip(held, wanted, strict=True):
            rest &= np.all(np.abs(got - asked) <= _TOLERANCE, axis=0)
        now, old = new, held
        if not work.curved:
            rest = ~bad
        open_ = ~(rest | bad)
        # What has come to rest goes on for a while with the others: cutting it out costs too.
        if np.count_nonzero(open_) <= _CROWD * open_.size:
            done = rest & _fulfilled(work, now, tied)
            found[:, here[done]] = now[:, done]
            good[here[done]] = True
            go_on = ~(done | bad)
            if not np.any(go_on):
                break
            here, now, work = here[go_on], now[:, go_on], work.picked(go_on)
            tied = tied[go_on]
            old = [volts[:, go_on] for volts in old]
    else:
        found[:, here] = now
    return found, good


def stamp(part: Curved, volts: Floats, matrix: Floats, right: Floats) -> None:
    """A curved part put into equations as what it is close to some volts: slopes and currents.

    Parameters
    ----------
    part : Curved
        Parts of one kind.
    volts : array, shape (ends, samples, parts)
        Volts of their ends against the last of them [V].
    matrix : array, shape (size, size, samples)
        Changed in place: the slopes are added [S].
    right : array, shape (size, samples)
        Changed in place: what is left of the currents where the slopes meet no volts is taken off
        [A].

    Notes
    -----
    i(v) ≈ i(v₀) + g (v - v₀) with g the slopes at v₀: g goes into the matrix, i(v₀) - g v₀ to the
    right-hand side with its sign turned. The last end carries the sum of the other currents back.
    """
    currents, slopes = part.currents(volts)
    last = part.rows[-1]
    for i, row in enumerate(part.rows[:-1]):
        rest = currents[i].copy()
        total = 0.0
        for j, column in enumerate(part.rows[:-1]):
            slope = slopes[i, j]
            rest -= slope * volts[j]
            total = total + slope
            if row >= 0 and column >= 0:
                matrix[row, column] += slope
            if last >= 0 and column >= 0:
                matrix[last, column] -= slope
        if last >= 0:
            matrix[last, last] += total
            right[last] += rest
            if row >= 0:
                matrix[row, last] -= total
        if row >= 0:
            right[row] -= rest


def _misfit(task: _Task, unknowns: Floats, extra: Value = 0.0) -> tuple[Floats, Floats]:
    """What is left of each equation, and the size of its terms."""
    linear = task.linear
    terms = linear * unknowns[None, :, :]
    left = np.sum(terms, axis=1) - task.right
    size = np.sum(np.abs(terms), axis=1) + np.abs(task.right)
    left[: task.nodes] += extra * unknowns[: task.nodes]
    for part in task.curved:
        currents, _ = part.currents(part.volts(unknowns))
        for row, current in zip(part.rows[:-1], currents, strict=True):
            for place, sign in ((row, 1.0), (part.rows[-1], -1.0)):
                if place >= 0:
                    left[place] += sign * current
                    size[place] += np.abs(current)
    return left, size


def _fulfilled(task: _Task, unknowns: Floats, extra: Value) -> Truths:
    left, size = _misfit(task, unknowns, extra)
    return np.asarray(np.all(np.abs(left) <= 1e-11 + _RESIDUAL * size, axis=0))


def _dragged(task: _Task) -> tuple[Floats, Truths]:
    """Every node given inertia, as by a capacitor to ground, and less and less of it.

    The steps then follow the way the circuit would take when it is switched on, which also leads
    through a latch or a trigger, where bare Newton steps run in circles.
    """
    samples = task.right.shape[1]
    now = np.zeros_like(task.right)
    drag = np.ones(samples)
    done = np.zeros(samples, dtype=bool)
    for _ in range(_MOST_DETOUR):
        go_on = ~done & (drag < _HOPELESS)
        if not np.any(go_on):
            break
        part = task.picked(go_on)
        part.right[: part.nodes] += drag[go_on] * now[: part.nodes, go_on]
        new, good = _newton(part, now[:, go_on], drag[go_on], careful=True)
        places = np.flatnonzero(go_on)
        fine = places[good]
        now[:, fine] = new[:, good]
        drag[fine] = np.where(drag[fine] > _LEAST_DRAG, 0.3 * drag[fine], drag[fine])
        drag[places[~good]] *= 8.0
        last = fine[drag[fine] <= _LEAST_DRAG]
        if len(last):
            chosen = np.zeros(samples, dtype=bool)
            chosen[last] = True
            end, ended = _newton(task.picked(chosen), now[:, chosen], careful=True)
            now[:, last[ended]] = end[:, ended]
            done[last[ended]] = True
            # A little more patience for what has not come to rest yet.
            drag[last[~ended]] = 30.0 * _LEAST_DRAG
    return now, done


def _rising_sources(task: _Task) -> tuple[Floats, Truths]:
    """Start with no source, and turn them up."""
    now = np.zeros_like(task.right)
    share, step, failures = 0.0, 0.05, 0
    right = task.right
    good = np.zeros(right.shape[1], dtype=bool)
    for _ in range(_MOST_DETOUR):
        part = min(share + step, 1.0)
        scaled = _Task(task.curved, task.linear, right * part, task.nodes)
        new, good = _newton(scaled, now, careful=True)
        if np.all(good):
            if part == 1.0:
                return new, good
            now, share, step, failures = new, part, min(2.0 * step, 0.25), 0
            continue
        step, failures = 0.3 * step, failures + 1
        if failures > _GIVE_UP:
            break
    return now, np.zeros_like(good)


def _complaint(equations: Equations, task: _Task, unknowns: Floats, failed: Truths) -> str:
    """Where it fails, in words."""
    count, title = int(np.sum(failed)), equations.netlist.title
    many = f" in {count} of {failed.size} samples" if failed.size > 1 else ""
    usable = np.where(np.isfinite(unknowns), unknowns, 0.0)
    left, size = _misfit(task, usable)
    worst = np.abs(left) / (size + 1e-12)
    row = int(np.argmax(np.max(worst, axis=1)))
    sample = int(np.argmax(worst[row]))
    near = [part.name for part in task.curved if row in part.rows]
    part = near[0] if near else "the parts"
    where = equations.names[row]
    kind = "node" if row < task.nodes else "the"
    return (
        f"{title}: no voltages and currents were found{many}; the currents fit least at {kind} "
        f"{where}, at {part} ({abs(float(left[row, sample])):.3g} too much or too little). "
        f"Look at what feeds {where}: a missing resistor, a value off by a factor of a thousand or "
        "a part the wrong way round are the usual reasons"
    )
