"""The steps of a circuit through time: their stages, their error, and where they have to end.

Two stages of one implicit step share a matrix; a step that would cross a threshold is cut short at
the crossing, and what jumps there is let jump in two very short steps that keep charge and flux.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from boomwright.circuit.elimination import solve_each
from boomwright.circuit.equations import Equations
from boomwright.circuit.netlist import Netlist
from boomwright.circuit.newton import solve_curved, stamp
from boomwright.circuit.operating import settle
from boomwright.circuit.parts import CurrentSource, Inductor, Relay, VoltageSource
from boomwright.circuit.record import Record
from boomwright.circuit.values import Floats, Truths, Value
from boomwright.errors import ConvergenceError

__all__ = ["Event", "March"]

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
class _Step:
    """A step that was tried: its middle and end, what flows in there, and its error."""

    length: float
    middle: Floats
    unknowns: Floats
    inflow: Floats
    error: float


class March:
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
        self.end, self.accuracy = end, accuracy
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
        self.record = Record(keep)
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

    def on(self, most_step: float) -> None:
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
                    stamp(part, part.volts(now), full, side)
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
        self.record.keep(
            (self.time, middle_time, time),
            (self.unknowns, step.middle, step.unknowns),
            self.states,
        )
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
            self.record.keep((moment, after), (self.unknowns, found), self.states)
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
        if self.record.whole and len(self.record.points) * self.unknowns.size > _MOST_NUMBERS:
            raise ConvergenceError(
                f"{title}: {len(self.record.points)} points of {self.unknowns.shape[1]} samples are more "
                f"than memory should hold; {far}. Name the moments to keep, or take fewer samples"
            )

    def _stuck(self) -> ConvergenceError:
        return ConvergenceError(
            f"{self.equations.netlist.title}: at {self.time:.6g} s no step is short enough to be "
            "exact; something jumps there without end"
        )

    def _told(self, error: ConvergenceError) -> ConvergenceError:
        return ConvergenceError(f"{error} (at {self.time:.6g} s of the run)")
