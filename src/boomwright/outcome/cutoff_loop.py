"""Battery, load and cutoff solved from switching to switching, and over many alike at once."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np

from boomwright.outcome.cutoff_law import CutoffLaw
from boomwright.outcome.cutoff_scan import ThresholdScan
from boomwright.physics.arrays import Floats, floats
from boomwright.physics.battery import Battery, BatteryState, battery_emf, battery_step
from boomwright.physics.chemistry import CHARGE_GRID

__all__ = ["ALIKE", "CutoffLoop", "Cycle", "Phase", "Point", "SkippedCycles"]

_HOUR = 3600.0
_POINTS = 32
_AMPS_FINE = 5e-3
_SHORTEST = 1e-3
ALIKE = 0.1
_MISS = 3e-3
_TRIES = 9
_LEAST_SHARE = 1e-6
_ODDS_MOST = 4.0


@dataclass(frozen=True, eq=False)
class Point:
    """All that is remembered at a switching: the battery with its volts, and the filter."""

    state: BatteryState
    emf: Floats
    filtered: float


@dataclass(eq=False)
class Phase:
    """One stretch with the contact at rest; `moved` tells whether it then moves."""

    closed: bool
    end: Point
    duration: float = 0.0
    charge: float = 0.0
    moved: bool = False
    rows: list[Floats] = field(default_factory=list)

    @property
    def volts(self) -> float:
        """Terminal volts at the end."""
        return float(self.rows[-1][1, -1])


@dataclass(frozen=True, eq=False)
class Cycle:
    """From an opening to the next one, or as far as there was time."""

    phases: tuple[Phase, ...]
    ripple: tuple[float, float]

    @property
    def complete(self) -> bool:
        """Whether it opened, closed and opened again."""
        return len(self.phases) == 2 and self.phases[1].moved

    @property
    def end(self) -> Point:
        """Where the next one begins."""
        return self.phases[-1].end

    @property
    def duration(self) -> float:
        """Of both phases [s]."""
        return sum(phase.duration for phase in self.phases)

    @property
    def music(self) -> float:
        """Time with the contact closed [s]."""
        return sum(phase.duration for phase in self.phases if phase.closed)

    @property
    def amps_closed(self) -> float:
        """Mean current while the contact is closed."""
        return sum(phase.charge for phase in self.phases if phase.closed) / self.music

    @property
    def odds(self) -> float:
        """Logarithm of the time with music over the time without."""
        if self.complete:
            return math.log(self.music / (self.duration - self.music))
        return _ODDS_MOST if self.phases[-1].closed else -_ODDS_MOST

    @property
    def mean(self) -> float:
        """Mean current out of the battery [A]."""
        return sum(phase.charge for phase in self.phases) / self.duration


@dataclass(frozen=True, eq=False)
class SkippedCycles:
    """Cycles passed over: how many, how much music in them, how unlike the two ends are."""

    end: Point
    duration: float
    count: float
    music: float
    unlike: float


class CutoffLoop:
    """Battery, load and cutoff, solved from switching to switching."""

    def __init__(
        self,
        battery: Battery,
        law: CutoffLaw,
        load_volts: Floats,
        load_amps: Floats,
        early: float,
        dip_time: float,
    ) -> None:
        self.battery, self.law, self.early = _single(battery), law, early
        self.ohmic = float(self.battery.resistance_ohmic)
        emf = load_volts + self.ohmic * law.drain_on + (self.ohmic + law.resistance) * load_amps
        self._emf, self._amps = _upper_branch(emf, load_amps + law.drain_on)
        self._flat = bool(np.ptp(self._amps) == 0.0)
        # A beat that trips the cutoff has to come and last before it does.
        held = max(law.delay_off, dip_time) if early > 0.0 else law.delay_off
        on = math.inf if law.stays_off else law.on
        self._watched = {True: (law.off + early, held), False: (on, law.delay_on)}
        self._hint = {True: _HOUR, False: 60.0}
        self._trend, self._gain = 0.0, 0.1
        self.solved = 0

    def point(self, state: BatteryState, filtered: float | None = None) -> Point:
        """A moment to begin from; the filter has come to rest unless said otherwise."""
        state = _single_state(state)
        emf = battery_emf(self.battery, state)
        return Point(state, emf, float(emf) if filtered is None else filtered)

    def phase(self, start: Point, closed: bool, limit: float) -> Phase:
        """From a switching to the next, or to the limit."""
        self.solved += 1
        phase = Phase(closed, start)
        scan = ThresholdScan(*self._watched[closed], -1.0 if closed else 1.0, self.law.smoothing)
        reach = self._hint[closed]
        while not phase.moved and phase.duration < limit:
            reach = self._chunk(phase, scan, min(reach, limit - phase.duration), limit)
        if phase.moved:
            self._hint[closed] = max(1.5 * phase.duration, _SHORTEST)
        return phase

    def _chunk(self, phase: Phase, scan: ThresholdScan, reach: float, limit: float) -> float:
        """Phase taken on by at most the reach; returns how far to reach next."""
        times = self._grid(reach)
        begin, filtered, since = phase.end.state, phase.end.filtered, scan.since
        at = self.amps(phase.end.emf, phase.closed)
        mean, cut = float(at), times.size - 1
        for last in (self._flat or not phase.closed, True):
            states = battery_step(self.battery, begin, current=mean, duration=times)
            emf = battery_emf(self.battery, states)
            amps = self.amps(emf, phase.closed)
            volts = emf - amps * self.ohmic
            if not last or cut == times.size - 1:
                apart = np.abs(amps - amps[0]) > _AMPS_FINE * abs(amps[0])
                cut = int(np.argmax(apart)) - 1 if np.any(apart) else times.size - 1
                if cut < 1 and times[1] > _SHORTEST:
                    return reach / 8.0
                cut = max(cut, 1)
            scan.since = since
            found = scan.look(phase.duration + times[: cut + 1], volts[: cut + 1], filtered)
            stop = min(found + 1, cut)
            if last:
                break
            part = slice(0, stop + 1)
            mean = float(np.trapezoid(amps[part], times[part]) / times[stop])
        if scan.coarse:
            following = 1.25 * float(times[found + 1] - times[found])
            passed, index = float(times[found]), found
        elif scan.moved is not None:
            following, index = 0.0, found
            passed = scan.moved - phase.duration
        else:
            passed, index = float(times[cut]), cut
            following = 2.0 * reach if cut == times.size - 1 else float(times[cut])
        if passed > 0.0 or scan.moved is not None:
            state = battery_step(self.battery, begin, current=mean, duration=passed)
            emf_end = battery_emf(self.battery, state)
            amps_end = self.amps(emf_end, phase.closed)
            row = np.stack([phase.duration + times, volts, amps])[:, : index + 1]
            volts_end = float(emf_end - amps_end * self.ohmic)
            end = np.array([phase.duration + passed, volts_end, float(amps_end)])
            phase.rows.append(np.column_stack([row, end]))
            phase.end = Point(state, emf_end, scan.filtered)
            whole = not scan.coarse and scan.moved is None and passed == reach
            # The last stretch must land on the limit itself, or rounding leaves a sliver.
            nearly = whole and phase.duration + passed >= limit * (1.0 - 1e-12)
            phase.duration = limit if nearly else phase.duration + passed
            phase.charge += mean * passed
            phase.moved = scan.moved is not None
        return following

    def amps(self, emf: Floats, closed: bool) -> Floats:
        """Current out of the battery."""
        if closed:
            return floats(np.interp(emf, self._emf, self._amps))
        return np.full_like(emf, self.law.drain_off)

    def _grid(self, reach: float) -> Floats:
        """Times from 0 to the reach, close enough at first for the battery's quickest change."""
        fine = 16.0 * reach / float(self.battery.time_relaxation)
        power = min(max(math.log(max(fine, 1.0)) / math.log(_POINTS), 1.0), 3.0)
        return reach * np.linspace(0.0, 1.0, _POINTS + 1) ** power

    def cycle(self, start: Point, limit: float) -> Cycle:
        """From an opening to the next."""
        # At the moment a beat has tripped it the filter is at `off`, not at its mean.
        low = replace(start, filtered=start.filtered - self.early)
        phases = [self.phase(low, False, limit)]
        if phases[0].moved and phases[0].duration < limit:
            phases.append(self.phase(phases[0].end, True, limit - phases[0].duration))
        whole = Cycle(tuple(phases), (0.0, 0.0))
        even = battery_step(self.battery, start.state, current=whole.mean, duration=whole.duration)
        end = whole.end.state
        ripple = float(end.available - even.available), float(end.relaxation - even.relaxation)
        return Cycle(whole.phases, ripple)

    def skip(self, start: Point, before: Cycle, span: float) -> SkippedCycles | None:
        """Many cycles passed over, each like the one before and the one after them.

        Implicit, because a battery held at one voltage by its cutoff answers within seconds: the
        mean current on the way is that of the cycle at the far end.
        """
        mean = before.mean * math.exp(min(max(self._trend * span, -ALIKE), ALIKE))
        low, high = 0.0, math.inf
        last: tuple[float, float] | None = None
        offset = goal = self._ripple_offset(before)
        rest, most = self.law.drain_off, before.amps_closed
        for _ in range(_TRIES):
            end = self.point(self._passed(start, mean, span, offset, goal), start.filtered)
            cycle = self.cycle(end, 30.0 * before.duration)
            if cycle.complete:
                if abs(cycle.mean - mean) <= _MISS * mean:
                    return self._taken(before, cycle, end, span)
                goal, most = self._ripple_offset(cycle), cycle.amps_closed
            share = min(max((mean - rest) / (most - rest), _LEAST_SHARE), 1.0 - _LEAST_SHARE)
            # Music against silence, as a logarithm, follows the volts evenly where the mean
            # current itself leaps from all to nothing.
            miss = cycle.odds - math.log(share / (1.0 - share))
            slope = share * (1.0 - share) * (most - rest)
            low, high = (mean, high) if miss > 0.0 else (low, mean)
            if cycle.complete and last is not None and (mean - last[0]) * (miss - last[1]) < 0.0:
                self._gain = max(-slope * (miss - last[1]) / (mean - last[0]) - 1.0, 0.0) / span
            following = mean + slope * miss / (1.0 + self._gain * span)
            if not low < following < high:
                following = 0.5 * (low + high) if math.isfinite(high) else 2.0 * mean
            last, mean = (mean, miss) if cycle.complete else None, following
        return None

    def _taken(self, before: Cycle, after: Cycle, end: Point, span: float) -> SkippedCycles | None:
        grown = math.log(max(after.mean, 1e-12) / max(before.mean, 1e-12))
        unlike = max(abs(math.log(after.duration / before.duration)), abs(grown))
        self._trend = grown / span
        if unlike > ALIKE:
            return None
        # The charge of the stretch is right, so its mean current is that of the middle, and so are
        # the period and the music that go with this current.
        return SkippedCycles(
            end, span, span / after.duration, span * after.music / after.duration, unlike
        )

    def _ripple_offset(self, cycle: Cycle) -> tuple[float, float]:
        """Available charge and relaxation beyond their cycle's mean, at an opening."""
        battery, period = self.battery, cycle.duration
        evened = -math.expm1(-float(battery.rate) * period)
        relaxed = -math.expm1(-period / float(battery.time_relaxation))
        # Wells without a pipe between them keep no ripple apart from the charge itself.
        return cycle.ripple[0] / evened if evened > 0.0 else 0.0, cycle.ripple[1] / relaxed

    def _passed(
        self,
        start: Point,
        mean: float,
        span: float,
        before: tuple[float, float],
        after: tuple[float, float],
    ) -> BatteryState:
        """State after a mean current, the old ripple taken off before and the new put on after."""

        def shifted(state: BatteryState, by: tuple[float, float], sign: float) -> BatteryState:
            return BatteryState(
                state.available + sign * by[0],
                state.bound - sign * by[0],
                state.relaxation + sign * by[1],
            )

        even = shifted(start.state, before, -1.0)
        return shifted(battery_step(self.battery, even, current=mean, duration=span), after, 1.0)


def _upper_branch(emf: Floats, amps: Floats) -> tuple[Floats, Floats]:
    """Current against rising emf, where a hungry load has two: the one at the higher volts."""
    kept = [(float(emf[-1]), float(amps[-1]))]
    for index in range(emf.size - 2, -1, -1):
        lowest = kept[-1][0]
        if emf[index] < lowest:
            if emf[index + 1] > lowest:
                share = (lowest - emf[index]) / (emf[index + 1] - emf[index])
                kept.append((lowest, float(amps[index] + share * (amps[index + 1] - amps[index]))))
            kept.append((float(emf[index]), float(amps[index])))
    found = np.array(kept[::-1])
    return found[:, 0], found[:, 1]


def _single(battery: Battery) -> Battery:
    return Battery(
        capacity=battery.capacity.reshape(()),
        fraction=battery.fraction.reshape(()),
        rate=battery.rate.reshape(()),
        resistance_ohmic=battery.resistance_ohmic.reshape(()),
        resistance_relaxation=battery.resistance_relaxation.reshape(()),
        time_relaxation=battery.time_relaxation.reshape(()),
        voltage_table=battery.voltage_table.reshape(CHARGE_GRID.size),
    )


def _single_state(state: BatteryState) -> BatteryState:
    parts = (state.available, state.bound, state.relaxation)
    return BatteryState(*(floats(part).reshape(()) for part in parts))
