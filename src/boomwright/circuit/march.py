"""The way of a circuit through time: how long each step is, where it has to end, what flips there.

A step that would cross a threshold is cut short at the crossing, and what jumps there is let jump
in two very short steps that keep charge and flux.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from boomwright.circuit.equations import Equations
from boomwright.circuit.netlist import Netlist
from boomwright.circuit.operating import settle
from boomwright.circuit.parts import Capacitor
from boomwright.circuit.record import Record
from boomwright.circuit.scheme import MIDDLE, Scheme, Step
from boomwright.circuit.values import Floats, Truths, Value
from boomwright.errors import ConvergenceError

__all__ = ["Event", "March"]

# Shares of the whole time: jump over a discontinuity, first step after it, tolerance of a
# crossing, and the step that is too small to go on with.
_JUMP, _FIRST, _CROSSING, _LEAST = 1e-9, 1e-5, 1e-7, 1e-11
_MOST_STEPS = 200_000
_MOST_NUMBERS = 25_000_000
_FLIPS = 12
_SNAPS = 40

Event = tuple[float, str, Truths]
"""Moment [s], designator, and its state from then on in each sample."""


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
        self.scheme = Scheme(self.equations, self.levels, accuracy)
        self.end = end
        self.closed: dict[str, Truths] = {}
        self.schedule = sorted(
            (max(moment, 0.0), switch.name, closed)
            for switch in self.equations.switches
            for moment, closed in switch.schedule
        )
        corners = {corner for form in self.scheme.moving.values() for corner in form.corners(end)}
        moves = {moment for moment, _, _ in self.schedule}
        self.stops = sorted(stop for stop in corners | moves if 0.0 < stop < end)
        self.here = self.scheme.start()
        self.states: dict[str, Truths] = {}
        self.record = Record(keep)
        self.steps = 0
        self.events: list[Event] = []
        self.flips: Counter[str] = Counter()

    def start_at_rest(self, states: Mapping[str, Truths] | None) -> None:
        """Start from the operating point with the waveforms as at time 0."""
        first = {name: form.at(0.0) for name, form in self.scheme.moving.items()}
        point = settle(
            self.equations,
            self.equations.first_states(states),
            levels={**first, **self.levels},
        )
        self.states = point.states
        self.here = replace(self.here, unknowns=point.unknowns, peak=np.abs(point.unknowns))
        self.record.keep((0.0, 0.0), (self.here.unknowns, self.here.unknowns), self.states)
        self._move_switches()
        self._restart(self.scheme.charge_of(self.here.unknowns))

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
        self.here = replace(self.here, time=0.0, peak=np.abs(self.here.unknowns))
        self.record.keep((0.0, 0.0), (self.here.unknowns, self.here.unknowns), self.states)

    def on(self, most_step: float) -> None:
        """All steps up to the end."""
        first = min(_FIRST * self.end, most_step)
        length, last_snap, snaps = first, -1.0, 0
        while self.here.time < self.end:
            self._guard()
            stop = self.stops[0] if self.stops else self.end
            left = stop - self.here.time
            length = min(length, most_step)
            arrives = length * 1.000_1 >= left
            tried = left if arrives else min(length, 0.5 * left) if 2.0 * length > left else length
            try:
                step = self.scheme.step(self.here, tried)
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
                snaps = snaps + 1 if self.here.time - last_snap < 1e-6 * self.end else 1
                if snaps > _SNAPS:
                    raise self._stuck()
                last_snap = self.here.time
                self._restart(self.scheme.charge_of(self.here.unknowns))
                length = first
                continue
            self._accept(step, stop if arrives else self.here.time + step.length)
            if self.here.time >= self.end:
                break
            if arrives:
                self._move_switches()
            if arrives or self._margin(self.here.unknowns) > 0.0:
                self._restart(self.scheme.charge_of(self.here.unknowns))
                length = first
            else:
                growth = min(4.0, 0.9 * max(step.error, 1e-6) ** (-1.0 / 3.0))
                length = tried * growth

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

    def _located(self, step: Step) -> Step:
        """The step itself, or one that ends just past the first threshold it would cross."""
        past = self._margin(step.unknowns)
        if past <= 0.0:
            if self._margin(step.middle) <= 0.0:
                return step
            step = self.scheme.step(self.here, MIDDLE * step.length)
            past = self._margin(step.unknowns)
            if past <= 0.0:
                return step
        early, short = 0.0, self._margin(self.here.unknowns)
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
            trial = self.scheme.step(self.here, guess)
            here = self._margin(trial.unknowns)
            if here > 0.0:
                step, past, side = trial, here, 1
            else:
                early, short, side = guess, here, -1
        return step

    def _accept(self, step: Step, time: float) -> None:
        """Step made: the circuit is at its end."""
        middle_time = self.here.time + MIDDLE * (time - self.here.time)
        if self.end - time <= _LEAST * self.end:
            time = self.end
        self.record.keep(
            (self.here.time, middle_time, time),
            (self.here.unknowns, step.middle, step.unknowns),
            self.states,
        )
        self.here = self.scheme.after(self.here, step, time)
        self.steps += 1

    def _move_switches(self) -> None:
        """Switches and corners whose time has come."""
        soon = self.here.time + 4.0 * _JUMP * self.end
        while self.stops and self.stops[0] <= soon:
            self.stops.pop(0)
        while self.schedule and self.schedule[0][0] <= soon:
            _, name, closed = self.schedule.pop(0)
            self.closed[name] = np.asarray(closed)

    def _restart(self, charge: Floats, *, first: bool = False) -> None:
        """Two very short steps that keep the charge and let all else jump; contacts settle."""
        before = {name: state.copy() for name, state in self.states.items()}
        moment = self.here.time
        if not first:
            self._flip(self.here.unknowns)
        length = min(_JUMP * self.end, 0.25 * (self.end - moment))
        for _ in range(_FLIPS):
            self.scheme.linear = self.equations.linear(self.states, closed=self.closed)
            try:
                after = self.scheme.after_jump(self.here, charge, length)
            except ConvergenceError as error:
                raise self._told(error) from error
            moved = self._flip(after.unknowns)
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
        if not first:
            points = (self.here.unknowns, after.unknowns)
            self.record.keep((moment, after.time), points, self.states)
        self.here = after
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
        far = f"{self.here.time:.6g} of {self.end:.6g} s were reached"
        far = f"{far}; {busy}" if busy else far
        if self.steps >= _MOST_STEPS:
            raise ConvergenceError(
                f"{title}: more than {_MOST_STEPS} steps; {far}. Follow it for a shorter time"
            )
        points = len(self.record.points)
        if self.record.whole and points * self.here.unknowns.size > _MOST_NUMBERS:
            raise ConvergenceError(
                f"{title}: {points} points of {self.equations.samples} samples are more "
                f"than memory should hold; {far}. Name the moments to keep, or take fewer samples"
            )

    def _stuck(self) -> ConvergenceError:
        return ConvergenceError(
            f"{self.equations.netlist.title}: at {self.here.time:.6g} s no step is short enough "
            "to be exact; something jumps there without end"
        )

    def _told(self, error: ConvergenceError) -> ConvergenceError:
        return ConvergenceError(f"{error} (at {self.here.time:.6g} s of the run)")
