"""One step of a circuit in time: implicit, of second order, with an estimate of its own error."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from boomwright.circuit.elimination import solve_each
from boomwright.circuit.equations import Equations
from boomwright.circuit.newton import solve_curved, stamp
from boomwright.circuit.parts import CurrentSource, Inductor, Relay, VoltageSource
from boomwright.circuit.values import Floats, Value
from boomwright.errors import ConvergenceError

__all__ = ["MIDDLE", "Place", "Scheme", "Step"]

# TR-BDF2 as Hosea and Shampine write it: both stages share one matrix with this choice.
MIDDLE = 2.0 - np.sqrt(2.0)
"""Share of a step at which its first stage ends."""
_DIAGONAL = MIDDLE / 2.0
_WEIGHT = np.sqrt(2.0) / 4.0
_ERROR = (
    _WEIGHT - (1.0 - _WEIGHT) / 3.0,
    _WEIGHT - (3.0 * _WEIGHT + 1.0) / 3.0,
    _DIAGONAL - _DIAGONAL / 3.0,
)
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


@dataclass(frozen=True)
class Place:
    """Where a circuit is on its way.

    Parameters
    ----------
    time : float
        Moment [s].
    unknowns, inflow, slope : array, shape (size, samples)
        What the circuit is like, what flows into its charges there, and how fast it changes.
    peak : array, shape (size, samples)
        Greatest size of each unknown of late.
    smooth : bool
        Whether the slope is known: no jump lies behind.
    """

    time: float
    unknowns: Floats
    inflow: Floats
    slope: Floats
    peak: Floats
    smooth: bool


@dataclass(frozen=True)
class Step:
    """A step that was tried: its middle and end, what flows in there, and its error."""

    length: float
    middle: Floats
    unknowns: Floats
    inflow: Floats
    error: float


class Scheme:
    """Steps of a circuit whose contacts stand still.

    Parameters
    ----------
    equations : Equations
        The circuit.
    levels : mapping
        Sources held at a level [V or A].
    accuracy : float
        Error of a step that counts as 1.

    Attributes
    ----------
    linear : array, shape (size, size, 1 or samples)
        Matrix of the parts in proportion, as the contacts stand.
    """

    def __init__(self, equations: Equations, levels: Mapping[str, Value], accuracy: float) -> None:
        self.equations, self.levels, self.accuracy = equations, levels, accuracy
        self.moving = {
            part.name: part.waveform
            for part in equations.netlist.parts
            if isinstance(part, VoltageSource | CurrentSource)
            and part.waveform is not None
            and part.name not in levels
        }
        self.linear = np.zeros((equations.size, equations.size, 1))
        self._still = None if self.moving else equations.excitation(levels)
        self._set_scale()

    def _set_scale(self) -> None:
        """Unknowns whose error counts, and below what size it is no longer relative; the coils.

        Currents of sources follow from the rest, and jump with the slope of a voltage across a
        capacitor: they are left out.
        """
        netlist = self.equations.netlist
        counted = np.zeros(self.equations.size, dtype=bool)
        counted[: len(netlist.nodes)] = True
        small = np.full((self.equations.size, 1), _SMALL_VOLTS)
        for name, row in self.equations.branches.items():
            coil = not name.endswith("#") and isinstance(netlist.part(name), Inductor | Relay)
            counted[row] = coil or name.endswith("#")
            small[row] = _SMALL_AMPS if coil else _SMALL_VOLTS
        self._counted, self._small = counted, small[counted]
        self._inertia = np.abs(np.einsum("iis->is", self.equations.charge))
        self._inertia[: len(netlist.nodes)] = 0.0

    def start(self) -> Place:
        """Time 0 with nothing anywhere."""
        nothing = np.zeros((self.equations.size, self.equations.samples))
        return Place(0.0, nothing, nothing, nothing, nothing, smooth=False)

    def _excitation(self, time: float) -> Floats:
        if self._still is not None:
            return self._still
        return self.equations.excitation(self.levels, time=time)

    def charge_of(self, unknowns: Floats) -> Floats:
        """Charge and flux that some unknowns hold."""
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
        weight = 1.0 / (1.0 + rate * self._inertia)
        return (self.linear + rate * self.equations.charge) * weight[:, None], weight

    def _widened(self, matrix: Floats) -> Floats:
        samples = self.equations.samples
        return matrix if matrix.shape[-1] == samples else np.repeat(matrix, samples, axis=-1)

    def step(self, here: Place, length: float) -> Step:
        """A step from some place."""
        rate = 1.0 / (_DIAGONAL * length)
        matrix, weight = self._matrix(rate)
        held = rate * self.charge_of(here.unknowns)
        middle_time = here.time + MIDDLE * length
        right = self._excitation(middle_time) + held + here.inflow
        guess = here.unknowns + MIDDLE * length * here.slope
        middle, _ = self._nearby(matrix, weight * right, guess)
        middle_inflow = rate * self.charge_of(middle) - held - here.inflow
        carried = (_WEIGHT / _DIAGONAL) * (here.inflow + middle_inflow)
        right = self._excitation(here.time + length) + held + carried
        guess = here.unknowns + (middle - here.unknowns) / MIDDLE
        unknowns, full = self._nearby(matrix, weight * right, guess)
        inflow = rate * self.charge_of(unknowns) - held - carried
        flaw = _ERROR[0] * here.inflow + _ERROR[1] * middle_inflow + _ERROR[2] * inflow
        missed = np.abs(solve_each(full, weight * flaw / _DIAGONAL)) / _SHARE
        if here.smooth:
            # What has no charge of its own has no error there, but it must not bend unseen either.
            whole = unknowns - here.unknowns
            half = middle - here.unknowns
            begin = (half / MIDDLE - MIDDLE * whole) / (1.0 - MIDDLE)
            turn = begin - length * here.slope
            missed = np.maximum(missed, _BULGE * np.abs(turn))
        size = np.maximum(here.peak, np.abs(unknowns))[self._counted]
        error = float(np.max(missed[self._counted] / np.maximum(size, self._small), initial=0.0))
        if not np.isfinite(error):
            raise ConvergenceError(f"{self.equations.netlist.title}: the step has no finite error")
        error /= self.accuracy
        return Step(length, middle, unknowns, inflow, error)

    def after(self, here: Place, step: Step, time: float) -> Place:
        """End of a step, at the moment it is taken to end at."""
        back = (1.0 - MIDDLE) / MIDDLE
        ahead = (2.0 - MIDDLE) / (1.0 - MIDDLE)
        slope = (
            ahead * step.unknowns - (ahead + back) * step.middle + back * here.unknowns
        ) / step.length
        peak = np.maximum(_FADE * here.peak, np.abs(step.unknowns))
        return Place(time, step.unknowns, step.inflow, slope, peak, smooth=True)

    def after_jump(self, here: Place, charge: Floats, length: float) -> Place:
        """End of two very short steps that keep the charge and let all else jump."""
        matrix, weight = self._matrix(1.0 / length)
        found, held = here.unknowns, charge
        inflow = charge
        for turn in (1.0, 2.0):
            right = self._excitation(here.time + turn * length) + held / length
            found = self._searched(matrix, weight * right, found)
            now = self.charge_of(found)
            inflow, held = (now - held) / length, now
        peak = np.maximum(here.peak, np.abs(found))
        return Place(
            here.time + 2.0 * length, found, inflow, np.zeros_like(found), peak, smooth=False
        )
