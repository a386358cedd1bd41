"""A circuit followed in time: charge, decay, ringing, and every moment at which a contact moves.

Each step has two stages, and both become points of the answer. Steps end at corners of waveforms,
at scheduled switches, and at the moments at which a control quantity passes its threshold; after
each of them two very short steps carry charge and flux over and let all else jump.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from boomwright.circuit.elimination import solve_each
from boomwright.circuit.equations import Equations
from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.newton import _stamp, solve_curved
from boomwright.circuit.operating import OperatingPoint, settle
from boomwright.circuit.parts import (
    Capacitor,
    CurrentSource,
    Inductor,
    Relay,
    VoltageSource,
)
from boomwright.circuit.values import NOMINAL_TEMPERATURE, Floats, Truths, Value
from boomwright.errors import ConvergenceError, NetlistError, Problem

__all__ = ["Event", "Transient", "transient"]

# TR-BDF2 as Hosea and Shampine write it: both stages share one matrix with this choice.
_MIDDLE = 2.0 - np.sqrt(2.0)
_DIAGONAL = _MIDDLE / 2.0
_WEIGHT = np.sqrt(2.0) / 4.0
_ERROR = (
    _WEIGHT - (1.0 - _WEIGHT) / 3.0,
    _WEIGHT - (3.0 * _WEIGHT + 1.0) / 3.0,
    _DIAGONAL - _DIAGONAL / 3.0,
)
# Shares of the whole time: jump over a discontinuity, first step after it, tolerance of a
# crossing, and the step that is too small to go on with.
_JUMP, _FIRST, _CROSSING, _LEAST = 1e-9, 1e-5, 1e-7, 1e-11
_MOST_STEPS = 200_000
_MOST_NUMBERS = 25_000_000
_FLIPS = 12
_SNAPS = 40
_QUICK = 8
# Change of an unknown that counts as none in a bare Newton step [V or A, or relative], and one from
# which a junction's exponential is as good as straight [V or A].
_NEAR, _CLOSE = 1e-7, 1e-4
# Errors of steps add up: each is kept to this share of what was asked for.
_SHARE = 0.2
# Greatest bulge of a cubic between its points, over the jump of its slope at the first of them.
_BULGE = 0.108
# Below these the error of a step is measured against them, not against the value itself.
_SMALL_VOLTS, _SMALL_AMPS = 1e-2, 1e-5
# How the greatest value seen fades from step to step: a zero crossing needs no finer steps.
_FADE = 0.95

Event = tuple[float, str, Truths]
"""Moment [s], designator, and its state from then on in each sample."""


@dataclass(frozen=True)
class Transient:
    """A circuit over time.

    Parameters
    ----------
    equations : Equations
        The circuit.
    times : array, shape (steps,)
        Rising moments from 0 [s]: two for each step taken, or those that were asked for.
    unknowns : array, shape (size, steps, samples)
        Node voltages, then the currents through sources and coils.
    states : dict of str to array of bool, shape (steps, samples)
        Relays pulled in and comparators conducting; at the moment of an event still the old state.
    events : tuple of (float, str, array of bool)
        Every flip: moment [s], designator, state of all samples after it.
    """

    equations: Equations
    times: Floats
    unknowns: Floats
    states: dict[str, Truths]
    events: tuple[Event, ...]

    def _view(self) -> OperatingPoint:
        """All moments as one long batch."""
        return OperatingPoint(self.equations, self.unknowns.reshape(len(self.unknowns), -1), {})

    def voltage(self, node: str, against: str = GROUND) -> Floats:
        """Voltage of a node against another [V], shape (steps, samples).

        Parameters
        ----------
        node, against : str
            Names of nodes.

        Returns
        -------
        array

        Raises
        ------
        NetlistError
            If there is no such node.
        """
        return self._view().voltage(node, against).reshape(self.unknowns.shape[1:])

    def branch_current(self, name: str) -> Floats:
        """Current from ``a`` to ``b`` through a source or coil [A], shape (steps, samples).

        Parameters
        ----------
        name : str
            Designator of a voltage source, an inductor or a relay.

        Returns
        -------
        array

        Raises
        ------
        NetlistError
            If there is no current by this name.
        """
        return self._view().branch_current(name).reshape(self.unknowns.shape[1:])

    def at(self, times: Value) -> Transient:
        """The same at other moments, on curves that swing over no jump.

        Parameters
        ----------
        times : float or array
            Rising moments within the time that was followed [s].

        Returns
        -------
        Transient
            With the same events.

        Raises
        ------
        NetlistError
            If a moment lies outside.

        References
        ----------
        .. [1] F. N. Fritsch and J. Butland, A method for constructing local monotone piecewise
           cubic interpolants, SIAM J. Sci. Stat. Comput. 5, 1984 (from memory).
        """
        title = self.equations.netlist.title
        wanted = _checked_times(times, float(self.times[0]), float(self.times[-1]), title)
        if len(self.times) < 2:
            place = np.zeros(wanted.size, dtype=np.intp)
            unknowns = self.unknowns[:, place]
        else:
            place = np.clip(
                np.searchsorted(self.times, wanted, side="left"), 1, len(self.times) - 1
            )
            unknowns = self._curve(wanted, place)
        states = {name: state[place] for name, state in self.states.items()}
        first = wanted <= self.times[0]
        for name, state in states.items():
            state[first] = self.states[name][0]
        return Transient(self.equations, wanted, unknowns, states, self.events)

    def _curve(self, wanted: Floats, place: np.ndarray[tuple[int], np.dtype[np.intp]]) -> Floats:
        """Cubics between the points, monotone where the points are."""
        spans = np.diff(self.times)[:, None]
        rises = np.diff(self.unknowns, axis=1) / spans
        early, late = rises[:, :-1], rises[:, 1:]
        first, second = spans[1:] * 2.0 + spans[:-1], spans[1:] + 2.0 * spans[:-1]
        same = early * late > 0.0
        down = np.where(same, first / np.where(same, early, 1.0), 1.0)
        down = down + np.where(same, second / np.where(same, late, 1.0), 0.0)
        slopes = np.empty_like(self.unknowns)
        slopes[:, 1:-1] = np.where(same, (first + second) / np.where(same, down, 1.0), 0.0)
        slopes[:, 0], slopes[:, -1] = rises[:, 0], rises[:, -1]
        span = spans[place - 1]
        share = (wanted[:, None] - self.times[place - 1][:, None]) / span
        left, right = self.unknowns[:, place - 1], self.unknowns[:, place]
        rise = right - left
        begin, end = slopes[:, place - 1] * span - rise, rise - slopes[:, place] * span
        return np.asarray(
            left + share * (rise + (1.0 - share) * ((1.0 - share) * begin + share * end))
        )


def transient(
    netlist: Netlist,
    end: float,
    *,
    temperature: Value = NOMINAL_TEMPERATURE,
    levels: Mapping[str, Value] | None = None,
    states: Mapping[str, Truths] | None = None,
    at_rest: bool = True,
    initial_volts: Mapping[str, Value] | None = None,
    most_step: float | None = None,
    accuracy: float = 1e-4,
    times: Floats | None = None,
) -> Transient:
    """A circuit from time 0 to an end, with every flip of a contact found in time.

    Steps are implicit, of second order, damp what is faster than they are, and follow the error
    of their own estimate. The whole batch takes the same steps: samples that flip at unlike moments
    each cost steps to all.

    Parameters
    ----------
    netlist : Netlist
        The circuit.
    end : float
        Time to follow it for [s].
    temperature : float or array
        Temperature of all parts [K].
    levels : mapping or None
        Sources held at a level, whatever their part or waveform says [V or A].
    states : mapping or None
        States to start from, by name.
    at_rest : bool, default True
        Start from the operating point with the waveforms as at time 0; otherwise without current
        in any coil and with the capacitors as ``initial_volts`` says. A switch scheduled for time 0
        moves just after that.
    initial_volts : mapping or None
        Volts of capacitors by name, from ``a`` to ``b``; 0 for those not named. Not with
        ``at_rest``.
    most_step : float or None
        Greatest step [s]; a fiftieth of the time if None.
    accuracy : float, default 1e-4
        Error relative to the size of each voltage and coil current; each step may add a fifth of
        it, and where they add up (ringing with little loss) a run of many steps strays further.
    times : array or None
        Moments to keep, rising [s]; the points of all steps if None.

    Returns
    -------
    Transient

    Raises
    ------
    NetlistError
        If a time, level, accuracy or capacitor is none that can be used.
    ConvergenceError
        If a step finds no solution however short, contacts find no rest at one moment, or the
        steps become too many; names node or part and the time reached.

    Notes
    -----
    Charge C(x_m - x_n) = d h (z_n + z_m) to the middle stage at 2 d h, then
    C(x_e - x_n) = h (w z_n + w z_m + d z_e), with z what flows in, d = 1 - 1/√2, w = √2/4. The
    error is that against the embedded third order, carried through the same matrix; what has no
    charge of its own is held to how far its curve may bulge between the points.

    References
    ----------
    .. [1] R. E. Bank et al., Transient simulation of silicon devices and circuits, IEEE Trans.
       Electron Devices 32, 1985 (from memory).
    .. [2] M. E. Hosea and L. F. Shampine, Analysis and implementation of TR-BDF2, Appl. Numer.
       Math. 20, 1996 (coefficients and error, from memory).

    Examples
    --------
    A capacitor reaches 1 - 1/e of the source after R C = 1 ms:

    >>> from boomwright.circuit.parts import Resistor
    >>> charging = Netlist(
    ...     "charging",
    ...     (
    ...         VoltageSource(name="V1", a="in", b="0", voltage=10.0),
    ...         Resistor(name="R1", a="in", b="out", resistance=1e3),
    ...         Capacitor(name="C1", a="out", b="0", capacitance=1e-6),
    ...     ),
    ... )
    >>> run = transient(charging, 5e-3, at_rest=False, times=np.array([1e-3]))
    >>> round(float(run.voltage("out")[0, 0]), 2)
    6.32
    """
    _check(netlist, end, levels, at_rest, initial_volts, most_step, accuracy)
    keep = None if times is None else _checked_times(times, 0.0, end, netlist.title)
    run = _Run(netlist, end, temperature, levels, accuracy, keep)
    if at_rest:
        run.start_at_rest(states)
    else:
        run.start_from_charge(states, initial_volts or {})
    run.march(end / 50.0 if most_step is None else most_step)
    return run.result()


def _check(
    netlist: Netlist,
    end: float,
    levels: Mapping[str, Value] | None,
    at_rest: bool,
    initial_volts: Mapping[str, Value] | None,
    most_step: float | None,
    accuracy: float,
) -> None:
    problems = []
    for says, value, most in (
        ("time to follow a circuit for", end, np.inf),
        ("greatest step [s]", 1.0 if most_step is None else most_step, np.inf),
        ("accuracy of a step", accuracy, 0.1),
    ):
        if not (0.0 < value <= most and np.isfinite(value)):
            problems.append(
                Problem(
                    says,
                    got=f"{value:g}",
                    expected="above 0" + (f", at most {most:g}" if np.isfinite(most) else ""),
                    key=netlist.title,
                )
            )
    known = [part.name for part in netlist.parts if isinstance(part, Capacitor)]
    problems += [
        Problem(
            "initial volts are for capacitors",
            got=repr(name),
            expected=f"one of {', '.join(known) or 'none: this circuit has no capacitor'}",
            key=netlist.title,
        )
        for name in initial_volts or {}
        if name not in known
    ]
    sources = [
        part.name for part in netlist.parts if isinstance(part, VoltageSource | CurrentSource)
    ]
    problems += [
        Problem("no such source", got=repr(name), expected=f"one of {', '.join(sources)}")
        for name in levels or {}
        if name not in sources
    ]
    if at_rest and initial_volts:
        problems.append(
            Problem(
                "initial volts with a start at rest",
                got=", ".join(initial_volts),
                expected="one of the two",
                key=netlist.title,
                hint="Give at_rest=False to start from them",
            )
        )
    if problems:
        raise NetlistError(problems)


def _checked_times(times: Value, first: float, last: float, title: str) -> Floats:
    """Moments in a row, if they rise and lie within the time."""
    wanted = np.atleast_1d(np.asarray(times, dtype=np.float64))
    if wanted.ndim == 1 and wanted.size and np.all(np.isfinite(wanted)):
        outside = (wanted < first) | (wanted > last)
        if not np.any(outside) and np.all(np.diff(wanted) > 0.0):
            return wanted
        got = f"{wanted[outside][0]:g} s" if np.any(outside) else "times that do not rise"
    else:
        got = "none" if wanted.size == 0 else f"{wanted.flat[0]:g}, shape {wanted.shape}"
    raise NetlistError(
        [
            Problem(
                "moments to see a circuit at",
                got=got,
                expected=f"rising, from {first:g} to {last:g} s",
                key=title,
            )
        ]
    )


@dataclass(frozen=True)
class _Step:
    """A step that was tried: its middle and end, what flows in there, and its error."""

    length: float
    middle: Floats
    unknowns: Floats
    inflow: Floats
    error: float


class _Run:
    """The circuit on its way: where it is, and what was kept of where it has been."""

    def __init__(
        self,
        netlist: Netlist,
        end: float,
        temperature: Value,
        levels: Mapping[str, Value] | None,
        accuracy: float,
        keep: Floats | None,
    ) -> None:
        self.levels: dict[str, Value] = dict(levels or {})
        widest = max((np.size(level) for level in self.levels.values()), default=1)
        self.equations = Equations(netlist, temperature=temperature, samples=widest)
        self.end, self.accuracy, self.keep = end, accuracy, keep
        self.moving = {
            part.name: part.waveform
            for part in netlist.parts
            if isinstance(part, VoltageSource | CurrentSource)
            and part.waveform is not None
            and part.name not in self.levels
        }
        self.still = None if self.moving else self.equations.excitation(self.levels)
        self.closed: dict[str, Truths] = {}
        self.schedule = sorted(
            (max(moment, 0.0), switch.name, closed)
            for switch in self.equations.switches
            for moment, closed in switch.schedule
        )
        corners = {corner for form in self.moving.values() for corner in form.corners(end)}
        moves = {moment for moment, _, _ in self.schedule}
        self.stops = sorted(stop for stop in corners | moves if 0.0 < stop < end)
        self._set_scale(netlist)
        self.time = 0.0
        shape = self.equations.size, self.equations.samples
        self.unknowns, self.inflow = np.zeros(shape), np.zeros(shape)
        self.slope, self.peak = np.zeros(shape), np.zeros(shape)
        self.smooth = False
        self.states: dict[str, Truths] = {}
        self.linear = np.zeros((*shape[:1], *shape[:1], 1))
        self.points: list[tuple[float, Floats, dict[str, Truths]]] = []
        self.kept = 0
        self.steps = 0
        self.events: list[Event] = []
        self.flips: Counter[str] = Counter()

    def _set_scale(self, netlist: Netlist) -> None:
        """Unknowns whose error counts, and below what size it is no longer relative; the coils.

        Currents of sources follow from the rest, and jump with the slope of a voltage across a
        capacitor: they are left out.
        """
        counted = np.zeros(self.equations.size, dtype=bool)
        counted[: len(netlist.nodes)] = True
        small = np.full((self.equations.size, 1), _SMALL_VOLTS)
        for name, row in self.equations.branches.items():
            coil = not name.endswith("#") and isinstance(netlist.part(name), Inductor | Relay)
            counted[row] = coil or name.endswith("#")
            small[row] = _SMALL_AMPS if coil else _SMALL_VOLTS
        self.counted, self.small = counted, small[counted]
        self.inertia = np.abs(np.einsum("iis->is", self.equations.charge))
        self.inertia[: len(netlist.nodes)] = 0.0

    def start_at_rest(self, states: Mapping[str, Truths] | None) -> None:
        """Start from the operating point with the waveforms as at time 0."""
        first = {name: form.at(0.0) for name, form in self.moving.items()}
        point = settle(
            self.equations,
            self.equations.first_states(states),
            levels={**first, **self.levels},
        )
        self.unknowns, self.states = point.unknowns, point.states
        self.peak = np.abs(self.unknowns)
        self._keep((0.0, 0.0), (self.unknowns, self.unknowns))
        self._move_switches()
        self._restart(self._charge_of(self.unknowns))

    def start_from_charge(
        self, states: Mapping[str, Truths] | None, volts: Mapping[str, Value]
    ) -> None:
        """Start with what the capacitors hold, and nothing in the coils."""
        equations = self.equations
        charge = np.zeros((equations.size, equations.samples))
        for name, value in volts.items():
            part = equations.netlist.part(name)
            if isinstance(part, Capacitor):
                held = np.asarray(part.capacitance) * np.asarray(value, dtype=np.float64)
                for node, sign in ((part.a, 1.0), (part.b, -1.0)):
                    if equations.rows[node] >= 0:
                        charge[equations.rows[node]] += sign * held
        self.states = equations.first_states(states)
        self._move_switches()
        self._restart(charge, first=True)
        self.time = 0.0
        self.peak = np.abs(self.unknowns)
        self._keep((0.0, 0.0), (self.unknowns, self.unknowns))

    def march(self, most_step: float) -> None:
        """All steps up to the end."""
        first = min(_FIRST * self.end, most_step)
        length, last_snap, snaps = first, -1.0, 0
        while self.time < self.end:
            self._guard()
            stop = self.stops[0] if self.stops else self.end
            left = stop - self.time
            length = min(length, most_step)
            arrives = length * 1.000_1 >= left
            tried = left if arrives else min(length, 0.5 * left) if 2.0 * length > left else length
            try:
                step = self._step(tried)
                if step.error <= 1.0:
                    located = self._located(step)
                    arrives, step = arrives and located is step, located
            except ConvergenceError:
                step = None
            if step is None or step.error > 1.0:
                shrink = 0.25 if step is None else max(0.2, 0.9 * step.error ** (-1.0 / 3.0))
                length = tried * shrink
                if length >= _LEAST * self.end:
                    continue
                # No step is short enough: a trigger without any inertia snaps over here.
                snaps = snaps + 1 if self.time - last_snap < 1e-6 * self.end else 1
                if snaps > _SNAPS:
                    raise self._stuck()
                last_snap = self.time
                self._restart(self._charge_of(self.unknowns))
                length = first
                continue
            self._accept(step, stop if arrives else self.time + step.length)
            if self.time >= self.end:
                break
            if arrives:
                self._move_switches()
            if arrives or self._margin(self.unknowns) > 0.0:
                self._restart(self._charge_of(self.unknowns))
                length = first
            else:
                growth = min(4.0, 0.9 * max(step.error, 1e-6) ** (-1.0 / 3.0))
                length = tried * growth

    def result(self) -> Transient:
        """What was kept."""
        moments = [moment for moment, _, _ in self.points]
        names = self.points[0][2] if self.points else {}
        return Transient(
            self.equations,
            np.asarray(moments),
            np.stack([unknowns for _, unknowns, _ in self.points], axis=1),
            {name: np.stack([states[name] for _, _, states in self.points]) for name in names},
            tuple(self.events),
        )

    def _excitation(self, time: float) -> Floats:
        if self.still is not None:
            return self.still
        return self.equations.excitation(self.levels, time=time)

    def _charge_of(self, unknowns: Floats) -> Floats:
        charge = self.equations.charge
        if charge.shape[-1] == 1:
            return np.asarray(charge[:, :, 0] @ unknowns)
        return np.asarray(np.einsum("ijs,js->is", charge, unknowns))

    def _nearby(self, matrix: Floats, right: Floats, start: Floats) -> tuple[Floats, Floats]:
        """Unknowns close to a start, and the matrix that holds close to them.

        Bare Newton steps, without the detours that :func:`solve_curved` knows: where these do not
        lead there at once, a shorter step costs less than a better search.
        """
        whole = self._widened(matrix)
        curved = self.equations.curved
        now, before = start, np.inf
        for _ in range(_QUICK):
            full, side = whole, right
            if curved:
                full, side = whole.copy(), right.copy()
                for part in curved:
                    _stamp(part, part.volts(now), full, side)
            new = solve_each(full, side)
            moved = np.abs(new - now)
            change = float(np.max(moved))
            if not np.isfinite(change):
                break
            now = new
            # Close by, each change tells the next by its ratio to the one before.
            quick = change < min(_CLOSE, 0.1 * before) and change * change <= _NEAR * before
            if not curved or quick or np.all(moved <= _NEAR * (1.0 + np.abs(new))):
                return now, full
            before = change
        raise ConvergenceError(f"{self.equations.netlist.title}: a step found no solution near by")

    def _searched(self, matrix: Floats, right: Floats, start: Floats) -> Floats:
        """Unknowns after a jump, near by or found on a detour."""
        try:
            return self._nearby(matrix, right, start)[0]
        except ConvergenceError:
            return solve_curved(self.equations, self._widened(matrix), right, start)

    def _matrix(self, rate: float) -> tuple[Floats, Floats]:
        """Matrix of a step, and the weight its rows are to be given.

        In a short step a coil is many gigaohms: its row is turned into amps, so that sums keep the
        digits of the volts beside it.
        """
        weight = 1.0 / (1.0 + rate * self.inertia)
        return (self.linear + rate * self.equations.charge) * weight[:, None], weight

    def _widened(self, matrix: Floats) -> Floats:
        samples = self.equations.samples
        return matrix if matrix.shape[-1] == samples else np.repeat(matrix, samples, axis=-1)

    def _step(self, length: float) -> _Step:
        """A step from here."""
        rate = 1.0 / (_DIAGONAL * length)
        matrix, weight = self._matrix(rate)
        held = rate * self._charge_of(self.unknowns)
        middle_time = self.time + _MIDDLE * length
        right = self._excitation(middle_time) + held + self.inflow
        guess = self.unknowns + _MIDDLE * length * self.slope
        middle, _ = self._nearby(matrix, weight * right, guess)
        middle_inflow = rate * self._charge_of(middle) - held - self.inflow
        carried = (_WEIGHT / _DIAGONAL) * (self.inflow + middle_inflow)
        right = self._excitation(self.time + length) + held + carried
        guess = self.unknowns + (middle - self.unknowns) / _MIDDLE
        unknowns, full = self._nearby(matrix, weight * right, guess)
        inflow = rate * self._charge_of(unknowns) - held - carried
        flaw = _ERROR[0] * self.inflow + _ERROR[1] * middle_inflow + _ERROR[2] * inflow
        missed = np.abs(solve_each(full, weight * flaw / _DIAGONAL)) / _SHARE
        if self.smooth:
            # What has no charge of its own has no error there, but it must not bend unseen either.
            whole = unknowns - self.unknowns
            half = middle - self.unknowns
            begin = (half / _MIDDLE - _MIDDLE * whole) / (1.0 - _MIDDLE)
            turn = begin - length * self.slope
            missed = np.maximum(missed, _BULGE * np.abs(turn))
        size = np.maximum(self.peak, np.abs(unknowns))[self.counted]
        error = float(np.max(missed[self.counted] / np.maximum(size, self.small), initial=0.0))
        if not np.isfinite(error):
            raise ConvergenceError(f"{self.equations.netlist.title}: the step has no finite error")
        error /= self.accuracy
        return _Step(length, middle, unknowns, inflow, error)

    def _margin(self, unknowns: Floats) -> float:
        """How far the control farthest past its threshold is past it; below 0 if none is."""
        worst = -np.inf
        for part in self.equations.stateful:
            control = part.control @ unknowns
            past = np.where(
                self.states[part.name], part.falls_at - control, control - part.rises_at
            )
            worst = max(worst, float(np.max(past)))
        return worst

    def _located(self, step: _Step) -> _Step:
        """The step itself, or one that ends just past the first threshold it would cross."""
        past = self._margin(step.unknowns)
        if past <= 0.0:
            if self._margin(step.middle) <= 0.0:
                return step
            step = self._step(_MIDDLE * step.length)
            past = self._margin(step.unknowns)
            if past <= 0.0:
                return step
        early, short = 0.0, self._margin(self.unknowns)
        near = _CROSSING * self.end
        turn, side = 0, 0
        while step.length - early > near:
            turn += 1
            share = short / (short - past) if past > short else 0.5
            guess = early + share * (step.length - early)
            # A little to the far side of the guess, so that the bracket closes from both ends.
            guess += 0.4 * near * (1.0 if side <= 0 else -1.0)
            width = step.length - early
            guess = min(max(guess, early + 0.2 * near), step.length - 0.2 * near)
            if turn % 4 == 0:
                guess = early + 0.5 * width
            trial = self._step(guess)
            here = self._margin(trial.unknowns)
            if here > 0.0:
                step, past, side = trial, here, 1
            else:
                early, short, side = guess, here, -1
        return step

    def _accept(self, step: _Step, time: float) -> None:
        """Step made: the circuit is at its end."""
        middle_time = self.time + _MIDDLE * (time - self.time)
        if self.end - time <= _LEAST * self.end:
            time = self.end
        self._keep((self.time, middle_time, time), (self.unknowns, step.middle, step.unknowns))
        back = (1.0 - _MIDDLE) / _MIDDLE
        ahead = (2.0 - _MIDDLE) / (1.0 - _MIDDLE)
        self.slope = (
            ahead * step.unknowns - (ahead + back) * step.middle + back * self.unknowns
        ) / step.length
        self.smooth = True
        self.peak = np.maximum(_FADE * self.peak, np.abs(step.unknowns))
        self.unknowns, self.inflow, self.time = step.unknowns, step.inflow, time
        self.steps += 1

    def _move_switches(self) -> None:
        """Switches and corners whose time has come."""
        soon = self.time + 4.0 * _JUMP * self.end
        while self.stops and self.stops[0] <= soon:
            self.stops.pop(0)
        while self.schedule and self.schedule[0][0] <= soon:
            _, name, closed = self.schedule.pop(0)
            self.closed[name] = np.asarray(closed)

    def _restart(self, charge: Floats, *, first: bool = False) -> None:
        """Two very short steps that keep the charge and let all else jump; contacts settle."""
        before = {name: state.copy() for name, state in self.states.items()}
        moment = self.time
        if not first:
            self._flip(self.unknowns)
        length = min(_JUMP * self.end, 0.25 * (self.end - moment))
        for _ in range(_FLIPS):
            self.linear = self.equations.linear(self.states, closed=self.closed)
            matrix, weight = self._matrix(1.0 / length)
            found, inflow = self.unknowns, charge
            held = charge
            for turn in (1.0, 2.0):
                right = self._excitation(moment + turn * length) + held / length
                try:
                    found = self._searched(matrix, weight * right, found)
                except ConvergenceError as error:
                    raise self._told(error) from error
                now = self._charge_of(found)
                inflow, held = (now - held) / length, now
            moved = self._flip(found)
            if not moved:
                break
        else:
            raise ConvergenceError(
                f"{self.equations.netlist.title}: {' and '.join(moved)} finds no rest at "
                f"{moment:.6g} s; each state calls for the other at once. A capacitor across what "
                "it listens to, or a gap between its two thresholds, gives it time"
            )
        for name, state in self.states.items():
            if np.any(state != before[name]) and not first:
                self.events.append((moment, name, state.copy()))
                self.flips[name] += 1
        after = moment + 2.0 * length
        if not first:
            self._keep((moment, after), (self.unknowns, found))
        self.unknowns, self.inflow, self.time = found, inflow, after
        self.slope, self.smooth = np.zeros_like(found), False
        self.peak = np.maximum(self.peak, np.abs(found))
        self.steps += 1

    def _flip(self, unknowns: Floats) -> list[str]:
        """Names of the parts whose state was changed to what the unknowns call for."""
        moved = []
        for part in self.equations.stateful:
            wanted = part.wanted(unknowns, self.states[part.name])
            if np.any(wanted != self.states[part.name]):
                moved.append(part.name)
                self.states = {**self.states, part.name: wanted}
        return moved

    def _keep(self, times: tuple[float, ...], points: tuple[Floats, ...]) -> None:
        """Points of a step kept, or what the step says about the moments asked for.

        The first time and point are those before the step; equal ends are the very start.
        """
        begin, end = times[0], times[-1]
        if self.keep is None:
            fresh = zip(times[1:], points[1:], strict=True)
            self.points += [(time, point, self.states) for time, point in fresh]
            return
        while self.kept < self.keep.size and self.keep[self.kept] <= end:
            wanted = float(self.keep[self.kept])
            self.kept += 1
            if end == begin:
                self.points.append((wanted, points[-1], self.states))
                continue
            share = (wanted - begin) / (end - begin)
            found = points[0] + share * (points[-1] - points[0])
            if len(points) == 3:
                middle = (times[1] - begin) / (end - begin)
                bend = points[1] - points[0] - middle * (points[2] - points[0])
                found = found + bend * (share * (1.0 - share)) / (middle * (1.0 - middle))
            self.points.append((wanted, found, self.states))

    def _guard(self) -> None:
        """End of patience: too many steps, or more of them than memory should hold."""
        title = self.equations.netlist.title
        busy = ", ".join(
            f"{name} switched {count} times" for name, count in self.flips.most_common(2)
        )
        far = f"{self.time:.6g} of {self.end:.6g} s were reached"
        far = f"{far}; {busy}" if busy else far
        if self.steps >= _MOST_STEPS:
            raise ConvergenceError(
                f"{title}: more than {_MOST_STEPS} steps; {far}. Follow it for a shorter time"
            )
        if self.keep is None and len(self.points) * self.unknowns.size > _MOST_NUMBERS:
            raise ConvergenceError(
                f"{title}: {len(self.points)} points of {self.unknowns.shape[1]} samples are more "
                f"than memory should hold; {far}. Name the moments to keep, or take fewer samples"
            )

    def _stuck(self) -> ConvergenceError:
        return ConvergenceError(
            f"{self.equations.netlist.title}: at {self.time:.6g} s no step is short enough to be "
            "exact; something jumps there without end"
        )

    def _told(self, error: ConvergenceError) -> ConvergenceError:
        return ConvergenceError(f"{error} (at {self.time:.6g} s of the run)")
