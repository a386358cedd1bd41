"""The battery run down through the whole build, moment by moment."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.build.power import Cutoff, Rail
from boomwright.outcome.beats import early_trips
from boomwright.outcome.network import Drive, Moment, collapsed, solve_moment
from boomwright.outcome.plan import Plan
from boomwright.outcome.scenario import Scenario
from boomwright.outcome.source import label_charge, source_battery, start_charge, temperatures
from boomwright.outcome.speakers import level_at_1m
from boomwright.physics.arrays import Floats
from boomwright.physics.battery import (
    Battery,
    BatteryState,
    battery_emf,
    battery_full,
    battery_step,
)

__all__ = ["ENDINGS", "Run", "Trace", "own_powers", "run_down"]

ENDINGS = ("cutoff", "protection", "lock-out", "floor", "empty", "none")
"""What can end a run: the cutoff, the pack's protection board, an amplifier or converter that no
longer works, the chemistry's own floor, an empty battery; or nothing, on a supply."""

_STEPS = 260
_LARGEST_STEP = 1 / 90
_SMALLEST_STEP = 1 / 3000
_REST = (60.0, 600.0, 3600.0)
_EMPTY_HEAD = 1e-4
_REFINEMENTS = 3
_LONGEST = 3.6e7

_Indices = np.ndarray[tuple[int, ...], np.dtype[np.intp]]
_Truths = np.ndarray[tuple[int, ...], np.dtype[np.bool_]]


@dataclass(frozen=True)
class Trace:
    """The likely version's run through time; arrays are (moments, scenarios)."""

    time: Floats
    terminal: Floats
    current: Floats
    charge: Floats
    level: Floats


@dataclass(frozen=True)
class Run:
    """How the battery ran down; arrays are (versions, scenarios).

    Parameters
    ----------
    duration : array
        Time to the end [s]; infinite on a supply.
    ending : array of int
        Index into :data:`ENDINGS`.
    start, end : Moment
        The first moment and the last.
    charge_used : array
        Charge taken [C].
    charge_left : array
        Share of the label's charge, as far as age has left it, that is not used at the end.
    rebound : array (3, versions, scenarios)
        Volts of the battery one minute, ten minutes and an hour after the load has gone [V].
    energy : array (nodes + 2, scenarios)
        Energy that each part of the likely version turned to its use or to heat; then the leads,
        then the battery's own resistance [J].
    trace : Trace
        The likely version through time.
    settled : bool
        Whether every moment had a solution and every version came to its end.
    """

    duration: Floats
    ending: _Indices
    start: Moment
    end: Moment
    charge_used: Floats
    charge_left: Floats
    rebound: Floats
    energy: Floats
    trace: Trace
    settled: bool


def run_down(plan: Plan, scenarios: tuple[Scenario, ...], drive: Drive) -> Run:
    """The source run down in every scenario until something ends the music.

    Current is held over each step, the steps shrink as an ending comes near, and the end is found
    within the last step by false position.

    Parameters
    ----------
    plan : Plan
        The build in numbers.
    scenarios : tuple of Scenario
        One per column.
    drive : Drive
        What is asked of the amplifiers.

    Returns
    -------
    Run
    """
    shape = (plan.draws.versions, len(scenarios))
    if plan.build.battery is None:
        return _steady(plan, shape, drive)
    battery = source_battery(plan, temperatures(plan, scenarios))
    start = np.broadcast_to(start_charge(plan.build.battery, plan.draws), shape)
    capacity = np.broadcast_to(battery.capacity, shape)
    state = battery_full(battery, state_of_charge=start)
    track = _Track(plan, battery, start, np.broadcast_to(label_charge(plan), shape))
    track.early = early_trips(plan, battery.resistance_ohmic, drive, shape)
    first = moment = _moment(plan, battery, state, drive, None)
    margins = track.margins(moment, state)
    track.settled = first.settled
    none = np.zeros(shape)
    track.close(np.any(margins <= 0, axis=0), none, _first_met(margins, margins)[1], first, none)
    fall = np.zeros(shape)
    for _ in range(_STEPS):
        if np.all(track.ended):
            break
        track.note(moment)
        nearest = np.min(margins, axis=0)
        # Half of the way to the nearest ending at the pace of the last step.
        pace = np.where(fall > 0, 0.5 * nearest / np.maximum(fall, 1e-12), 1.0)
        share = np.clip(track.share * np.clip(pace, 0.25, 2.0), _SMALLEST_STEP, _LARGEST_STEP)
        track.share = np.where(fall > 0, share, track.share)
        current = moment.current
        step = np.minimum(track.share * capacity / np.maximum(current, 1e-9), _LONGEST)
        step = np.where(track.ended, 0.0, step)
        before, held = state, moment
        state = battery_step(battery, before, current=current, duration=step)
        moment = _moment(plan, battery, state, drive, held)
        new = track.margins(moment, state)
        met = np.any(new <= 0, axis=0) & ~track.ended
        part: Floats = np.ones(shape)
        ending = track.ending
        near, far, begin, width = margins, new, np.zeros(shape), np.ones(shape)
        for _ in range(_REFINEMENTS if np.any(met) else 0):
            share, ending = _first_met(near, far)
            part = np.where(met, begin + width * share, 1.0)
            state = battery_step(battery, before, current=current, duration=part * step)
            moment = _moment(plan, battery, state, drive, moment)
            found = track.margins(moment, state)
            passed = np.any(found <= 0, axis=0)
            width = np.where(passed, part - begin, begin + width - part)
            begin = np.where(passed, begin, part)
            near, far = np.where(passed, near, found), np.where(passed, found, far / 2)
        track.close(met, part, ending, held, step)
        fall = np.where(track.ended, fall, np.min(margins, axis=0) - np.min(new, axis=0))
        margins = new
    track.note(moment)
    return Run(
        duration=track.time,
        ending=track.ending,
        start=first,
        end=moment,
        charge_used=track.charge,
        charge_left=track.charge_left(),
        rebound=_rebound(plan, battery, state),
        energy=track.energy,
        trace=track.trace(),
        settled=track.settled and bool(np.all(track.ended)),
    )


def _first_met(old: Floats, new: Floats) -> tuple[Floats, _Indices]:
    """Share of the way from old to new margins to the first ending met, 1 if none; and which."""
    met = new <= 0
    high, low = np.where(met, np.maximum(old, 0.0), 0.0), np.where(met, new, -1.0)
    share = np.where(met, high / np.maximum(high - low, 1e-12), np.inf)
    return np.minimum(np.min(share, axis=0), 1.0), np.argmin(share, axis=0)


def _moment(
    plan: Plan, battery: Battery, state: BatteryState, drive: Drive, guess: Moment | None
) -> Moment:
    return solve_moment(
        plan,
        emf=battery_emf(battery, state),
        resistance=battery.resistance_ohmic,
        drive=drive,
        guess=guess,
    )


def _steady(plan: Plan, shape: tuple[int, int], drive: Drive) -> Run:
    """A supply gives the same for ever."""
    supply = plan.build.supply
    if supply is None:
        raise ValueError(f"{plan.build.name} has no supply")
    emf = np.broadcast_to(plan.take(supply.name, "voltage", supply.voltage), shape)
    resistance = plan.take(supply.name, "resistance", supply.resistance)
    moment = solve_moment(plan, emf=emf, resistance=resistance, drive=drive)
    level = level_at_1m(plan.outputs, moment.mean_squares)[:1] + np.zeros((1, shape[1]))
    trace = Trace(
        np.zeros((1, shape[1])),
        moment.terminal[:1],
        moment.current[:1],
        np.ones((1, shape[1])),
        level,
    )
    # A board that does not start on this supply, or a cutoff that does not close, plays no minute.
    ending = np.full(shape, ENDINGS.index("none"))
    for name, place, volts in _limits(plan):
        ending = np.where(moment.inputs[place] <= volts, ENDINGS.index(name), ending)
    return Run(
        duration=np.where(ending == ENDINGS.index("none"), np.inf, 0.0),
        ending=ending,
        start=moment,
        end=moment,
        charge_used=np.zeros(shape),
        charge_left=np.ones(shape),
        rebound=np.broadcast_to(emf, (len(_REST), *shape)),
        energy=np.zeros((len(plan.nodes) + 2, shape[1])),
        trace=trace,
        settled=moment.settled,
    )


def _rebound(plan: Plan, battery: Battery, state: BatteryState) -> Floats:
    """Volts of the battery at rest after the load has gone."""
    drains = [
        node.node.part.drain_off.likely for node in plan.nodes if isinstance(node.node.part, Cutoff)
    ]
    volts, waited = [], 0.0
    for rest in _REST:
        state = battery_step(battery, state, current=sum(drains), duration=rest - waited)
        waited = rest
        volts.append(battery_emf(battery, state))
    return np.stack(np.broadcast_arrays(*volts))


class _Track:
    """What is kept while the battery runs down."""

    def __init__(self, plan: Plan, battery: Battery, start: Floats, label: Floats) -> None:
        self.plan, self.battery, self.shape = plan, battery, start.shape
        shape = start.shape
        self.ended = np.zeros(shape, dtype=bool)
        self.ending: _Indices = np.full(shape, ENDINGS.index("empty"))
        self.time = np.zeros(shape)
        self.charge = np.zeros(shape)
        self.share = np.full(shape, _LARGEST_STEP / 4)
        self.energy = np.zeros((len(plan.nodes) + 2, shape[1]))
        self.settled = True
        self._noted: list[tuple[Floats, Floats, Floats, Floats, Floats]] = []
        self._limits = list(_limits(plan))
        self.early: dict[int, Floats] = {}
        self._start, self._label = start, label

    def margins(self, moment: Moment, state: BatteryState) -> Floats:
        """Volts (or share of the well) above each ending, (endings, versions, scenarios)."""
        # A battery that can no longer hold its load is an ending, not a riddle.
        self.settled = self.settled and (moment.settled or bool(np.any(collapsed(moment))))
        found = np.full((len(ENDINGS), *self.shape), np.inf)
        for name, place, volts in self._limits:
            at = moment.terminal if place < 0 else moment.inputs[place]
            index = ENDINGS.index(name)
            early = self.early.get(place, 0.0) if name == "cutoff" else 0.0
            found[index] = np.minimum(found[index], at - volts - early)
        head = state.available / (self.battery.fraction * self.battery.capacity)
        found[ENDINGS.index("empty")] = head - _EMPTY_HEAD
        return found

    def close(
        self, met: _Truths, part: Floats, ending: _Indices, moment: Moment, step: Floats
    ) -> None:
        """Advance the clocks by part of a step, and stop those that met an ending there."""
        passed = part * step
        own = own_powers(self.plan, moment, self.battery.resistance_ohmic)
        self.energy += own[:, 0, :] * passed[0]
        self.time = self.time + passed
        self.charge = self.charge + passed * moment.current
        self.ending = np.where(met, ending, self.ending)
        self.ended = self.ended | met

    def charge_left(self) -> Floats:
        """Share of the label's charge not used yet, by what age has left of it."""
        return np.clip(self._start - self.charge / self._label, 0.0, 1.0)

    def note(self, moment: Moment) -> None:
        """Keep the likely version's readings."""
        level = level_at_1m(self.plan.outputs, moment.mean_squares)
        row = (self.time, moment.terminal, moment.current, self.charge_left(), level)
        self._noted.append((row[0][:1], row[1][:1], row[2][:1], row[3][:1], row[4][:1]))

    def trace(self) -> Trace:
        """The likely version through time."""
        stacked = [np.concatenate([row[item] for row in self._noted]) for item in range(5)]
        return Trace(*stacked)


def _limits(plan: Plan) -> list[tuple[str, int, Floats]]:
    """Every voltage that ends a run: which ending, at which node (-1: the battery), how low."""
    build, chemistry = plan.build, plan.chemistry
    found: list[tuple[str, int, Floats]] = []
    if build.battery is not None and chemistry is not None:
        if build.battery.protection_voltage is not None:
            least = plan.take(
                build.battery.name, "protection_voltage", build.battery.protection_voltage
            )
            found.append(("protection", -1, least))
        floor = np.full((1, 1), chemistry.voltage_floor * build.battery.cells)
        found.append(("floor", -1, floor))
    for place, node in enumerate(plan.nodes):
        part = node.node.part
        if isinstance(part, Cutoff):
            found.append(("cutoff", place, plan.take(part.name, "off", part.off)))
        elif node.amplifier is not None:
            found.append(("lock-out", place, node.amplifier.supply_min))
        elif isinstance(part, Rail) and part.input_min is not None:
            found.append(("lock-out", place, plan.take(part.name, "input_min", part.input_min)))
    return found


def own_powers(plan: Plan, moment: Moment, resistance: Floats) -> Floats:
    """Power that each part keeps for its use or turns to heat; then the leads; then the battery.

    Their sum is what the battery's chemistry gives, so that nothing is lost sight of.

    Parameters
    ----------
    plan : Plan
        The build in numbers.
    moment : Moment
        Volts and amps.
    resistance : array, broadcastable
        The source's own resistance [Ω].

    Returns
    -------
    array (nodes + 2, versions, scenarios)
        Power [W].
    """
    powers = []
    leads = np.zeros_like(moment.current)
    for place, node in enumerate(plan.nodes):
        power = moment.inputs[place] * moment.currents[place]
        for child in plan.children[place]:
            power = power - moment.outputs[place] * moment.currents[child]
        powers.append(power)
        leads = leads + moment.currents[place] ** 2 * node.lead
    powers += [leads, moment.current**2 * resistance]
    return np.stack([np.broadcast_to(power, moment.current.shape) for power in powers])
