"""Battery and cutoff as one loop: the rebound, the chatter, and what is left when it is over."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np

from boomwright.physics.arrays import Floats, floats
from boomwright.physics.battery import (
    Battery,
    BatteryState,
    battery_emf,
    battery_step,
    rested_voltage,
    state_of_charge,
)
from boomwright.physics.chemistry import CHARGE_GRID, Chemistry
from boomwright.physics.nature import ROOM_TEMPERATURE
from boomwright.physics.shelf import shelf_time

__all__ = ["CutoffLaw", "CutoffRun", "CyclingTrace", "Left", "early_trip_volts", "run_with_cutoff"]

_HOUR = 3600.0
_POINTS = 64
_VOLTS_FINE = 2e-4
_AMPS_FINE = 5e-3
_SHORTEST = 1e-3
_DENSE_CYCLES = 12
_LISTED = 200
_FEWEST_SKIPPED = 4
_ALIKE = 0.1
_MISS = 3e-3
_TRIES = 9
_MOST_PHASES = 20_000

_Truths = np.ndarray[tuple[int, ...], np.dtype[np.bool_]]


@dataclass(frozen=True, kw_only=True)
class CutoffLaw:
    """How a low-voltage cutoff behaves at its battery, whatever is inside it.

    Parameters
    ----------
    off : float
        Filtered volts below which it opens [V].
    on : float
        Filtered volts at which it closes again by itself [V]; infinite or not a number: it stays
        open until its button is pressed.
    smoothing : float
        Time constant of the first-order filter in front of both thresholds [s]. Every real
        circuit has some; with none at all, cycles can be irregular and slow to count.
    delay_off, delay_on : float
        How long the filtered volts must stay beyond a threshold before the contact has moved [s];
        the mechanical time is part of it, and closing always takes some.
    drain_on, drain_off : float
        What the cutoff itself takes while closed and while open [A].
    resistance : float
        Of its contact or transistor, behind the point that is sensed [Ω].

    Raises
    ------
    ValueError
        A negative value, `on` below `off`, or a closing that takes no time.
    """

    off: float
    on: float
    smoothing: float = 0.0
    delay_off: float = 0.005
    delay_on: float = 0.010
    drain_on: float = 0.0
    drain_off: float = 0.0
    resistance: float = 0.0

    def __post_init__(self) -> None:
        if not (self.off > 0.0 and math.isfinite(self.off)):
            raise ValueError(f"off: got {self.off:g} V, must be above 0 V")
        if self.on < self.off:
            raise ValueError(f"on: got {self.on:g} V, must be {self.off:g} V (off) or more")
        if not (self.delay_on > 0.0 and math.isfinite(self.delay_on)):
            raise ValueError(f"delay_on: got {self.delay_on:g} s, must be above 0 s")
        for name, unit in (
            ("smoothing", "s"),
            ("delay_off", "s"),
            ("drain_on", "A"),
            ("drain_off", "A"),
            ("resistance", "Ω"),
        ):
            _not_negative(getattr(self, name), name, unit)

    @property
    def stays_off(self) -> bool:
        """Whether only a button closes it again."""
        return not math.isfinite(self.on)


@dataclass(frozen=True)
class Left:
    """What is left in the battery at a moment.

    Parameters
    ----------
    loaded : float
        Volts per cell with the music on, as the contact opened for the last time [V].
    rested : float
        Volts per cell that the same charge shows after hours of rest [V].
    charge : float
        Share of what an infinitely slow discharge gives from full [1].
    """

    loaded: float
    rested: float
    charge: float


@dataclass(frozen=True)
class CyclingTrace:
    """Battery and contact through time, all of one length: dense at first, thinner later.

    Parameters
    ----------
    time : array
        Since the start [s]; a switching stands there twice.
    volts, current : array
        At the battery's terminals [V], [A].
    closed : array of bool
        Whether the contact is closed.
    skipped : array of bool
        True where cycles like the ones beside it were left out before the next point.
    """

    time: Floats
    volts: Floats
    current: Floats
    closed: _Truths
    skipped: _Truths


@dataclass(frozen=True)
class CutoffRun:
    """A battery run down to its cutoff, and what the two do to each other afterwards.

    Parameters
    ----------
    first_opening, first_closing : float
        When the contact opens for the first time, and closes again by itself [s]; infinite if
        that was not seen.
    chatters : bool
        Whether it closes again by itself within an hour of the first opening.
    period : float
        Mean time from opening to opening over the first ten cycles [s]; not a number without any.
    buzzes : bool
        Whether that is less than a second.
    openings : array
        Times of the first openings, as far as they were simulated one by one, at most 200 [s].
    opened : int
        How often it opened in all.
    openings_per_hour : array
        Openings in each hour that began with the first opening, which itself is not counted; not
        a number for hours that were not seen to their end.
    at_first, at_end : Left or None
        What is left at the first opening, None if there was none, and at the end of the watch.
    music_after_first : float
        Time the contact was closed after the first opening [s].
    charge_used : float
        Taken from the battery from start to end [C].
    end_of_music : float
        Last opening; the end of the watch if the contact is closed then [s].
    ruined_after : float
        From the end of the music until the cutoff's own drain and self-discharge have taken the
        rested cells to their floor [s]. Chatter that goes on is faster.
    trace : CyclingTrace
        For drawing.
    settled : bool
        False if the watch was given up early because no two cycles were alike: without a filter
        and next to no delay they can be wild. What was seen until then is right, but
        `at_end` and `ruined_after` then belong to the moment it was given up.
    """

    first_opening: float
    first_closing: float
    chatters: bool
    period: float
    buzzes: bool
    openings: Floats
    opened: int
    openings_per_hour: Floats
    at_first: Left | None
    at_end: Left
    music_after_first: float
    charge_used: float
    end_of_music: float
    ruined_after: float
    trace: CyclingTrace
    settled: bool


def early_trip_volts(
    law: CutoffLaw, *, resistance: float, dip_amps: float, dip_time: float
) -> float:
    """Mean volts of the battery at which a bass beat first opens the cutoff.

    A beat is a rectangle of more current on top of the mean; the filter has come to rest between
    beats. A delay helps little behind a slow filter, which stretches the dip.

    Parameters
    ----------
    law : CutoffLaw
        The cutoff.
    resistance : float
        What the beat pulls down at once: battery and leads up to the cutoff [Ω].
    dip_amps : float
        What a beat draws beyond the mean [A].
    dip_time : float
        How long it does [s].

    Returns
    -------
    float
        Volts [V], `law.off` if beats do no harm.

    Raises
    ------
    ValueError
        A negative value.

    Notes
    -----
    The filtered dip is at its deepest, X = I R (1 - exp(-T / tau)), as the beat ends. It stays
    deeper than s for the delay d if s = X / (exp((d - T) / tau) + 1 - exp(-T / tau)); without a
    delay s = X, without a filter s = I R for d up to T and 0 beyond.

    References
    ----------
    .. [1] Any circuits text, first-order step response.

    Examples
    --------
    3 A for 0.1 s at 50 mΩ behind a filter of 0.2 s.

    >>> law = CutoffLaw(off=10.5, on=10.5, smoothing=0.2, delay_off=0.0)
    >>> round(early_trip_volts(law, resistance=0.05, dip_amps=3.0, dip_time=0.1), 3)
    10.559
    """
    for value, name, unit in (
        (resistance, "resistance", "Ω"),
        (dip_amps, "dip_amps", "A"),
        (dip_time, "dip_time", "s"),
    ):
        _not_negative(value, name, unit)
    drop = dip_amps * resistance
    if law.smoothing == 0.0:
        return law.off + (drop if dip_time > 0.0 and law.delay_off <= dip_time else 0.0)
    reached = -math.expm1(-dip_time / law.smoothing)
    excess = (law.delay_off - dip_time) / law.smoothing
    # Beyond e^700 there are no floats, and no dip either.
    return law.off + (drop * reached / (math.exp(excess) + reached) if excess < 700.0 else 0.0)


def run_with_cutoff(
    battery: Battery,
    law: CutoffLaw,
    *,
    state: BatteryState,
    load_volts: Floats,
    load_amps: Floats,
    chemistry: Chemistry,
    cells: float,
    temperature: float = ROOM_TEMPERATURE,
    dip_amps: float = 0.0,
    dip_time: float = 0.0,
    time_after: float = _HOUR,
    longest: float = 100.0 * 24.0 * _HOUR,
    every_cycle: bool = False,
) -> CutoffRun:
    """The battery run down until its cutoff opens, and the two of them watched from there.

    Each phase of the contact is solved with the exact step of the battery, each switching is
    located by the filter's own response. Once cycles are alike, many are passed over at once: the
    current of the cycle at the far end must agree with the mean current that leads there.

    Parameters
    ----------
    battery : Battery
        One battery (batch of one).
    law : CutoffLaw
        The cutoff.
    state : BatteryState
        The battery at the start, with the contact closed by hand.
    load_volts, load_amps : array (n,)
        Mean current of the load against the volts at it, straight between rising volts; held
        beyond both ends [V], [A]. Where a load of constant power has two solutions the one at
        the higher volts holds until it is lost.
    chemistry : Chemistry
        For the floor and the self-discharge.
    cells : float
        Cells in series.
    temperature : float
        Of the battery on the shelf [K].
    dip_amps, dip_time : float
        A bass beat: what it draws beyond the mean [A], and how long [s]. Beats are taken to come
        often against everything slow, and to act through the battery's ohmic resistance.
    time_after : float
        How long to watch from the first opening, an hour at least [s].
    longest : float
        How long to wait for the first opening [s].
    every_cycle : bool
        Simulate every single cycle: slow, for proof.

    Returns
    -------
    CutoffRun

    Raises
    ------
    ValueError
        A batch of batteries, a table that does not rise, or a value out of range.
    """
    _check(load_volts, load_amps, battery, state)
    for value, name, least, unit in (
        (time_after, "time_after", _HOUR, "s"),
        (longest, "longest", _SHORTEST, "s"),
        (cells, "cells", 1.0, "cells"),
    ):
        if not (value >= least and math.isfinite(value)):
            raise ValueError(f"{name}: got {value:g} {unit}, must be {least:g} {unit} or more")
    battery = _single(battery)
    ohmic = float(battery.resistance_ohmic)
    early = early_trip_volts(law, resistance=ohmic, dip_amps=dip_amps, dip_time=dip_time)
    loop = _Loop(battery, law, floats(load_volts), floats(load_amps), early - law.off, dip_time)
    begun = _Point(_single_state(state), float(battery_emf(battery, _single_state(state))))
    watch = _Watch(loop, begun, longest, time_after, every_cycle)
    watch.run()
    return watch.result(chemistry, cells, temperature)


@dataclass(frozen=True, eq=False)
class _Point:
    """All that is remembered at a switching: the battery and the filter."""

    state: BatteryState
    filtered: float


@dataclass(eq=False)
class _Phase:
    """One stretch with the contact at rest; `moved` tells whether it then moves."""

    closed: bool
    end: _Point
    duration: float = 0.0
    charge: float = 0.0
    moved: bool = False
    rows: list[Floats] = field(default_factory=list)

    @property
    def volts(self) -> float:
        """Terminal volts at the end."""
        return float(self.rows[-1][1, -1])


@dataclass(frozen=True, eq=False)
class _Cycle:
    """From an opening to the next one, or as far as there was time."""

    phases: tuple[_Phase, ...]
    ripple: tuple[float, float]

    @property
    def complete(self) -> bool:
        return len(self.phases) == 2 and self.phases[1].moved

    @property
    def end(self) -> _Point:
        return self.phases[-1].end

    @property
    def duration(self) -> float:
        return sum(phase.duration for phase in self.phases)

    @property
    def music(self) -> float:
        return sum(phase.duration for phase in self.phases if phase.closed)

    @property
    def mean(self) -> float:
        return sum(phase.charge for phase in self.phases) / self.duration


@dataclass(frozen=True, eq=False)
class _Skip:
    """Cycles passed over: how many, how much music in them, how unlike the two ends are."""

    end: _Point
    duration: float
    count: float
    music: float
    unlike: float


class _Loop:
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
        self.battery, self.law, self.early = battery, law, early
        self.ohmic = float(battery.resistance_ohmic)
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

    def phase(self, start: _Point, closed: bool, limit: float) -> _Phase:
        """From a switching to the next, or to the limit."""
        self.solved += 1
        phase = _Phase(closed, start)
        scan = _Scan(*self._watched[closed], -1.0 if closed else 1.0, self.law.smoothing)
        reach = self._hint[closed]
        while not phase.moved and phase.duration < limit:
            reach = self._chunk(phase, scan, min(reach, limit - phase.duration), limit)
        if phase.moved:
            self._hint[closed] = max(1.5 * phase.duration, _SHORTEST)
        return phase

    def _chunk(self, phase: _Phase, scan: _Scan, reach: float, limit: float) -> float:
        """Phase taken on by at most the reach; returns how far to reach next."""
        times = self._grid(reach)
        begin, filtered, since = phase.end.state, phase.end.filtered, scan.since
        at = self.amps(battery_emf(self.battery, begin), phase.closed)
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
            phase.end = _Point(state, scan.filtered)
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

    def cycle(self, start: _Point, limit: float) -> _Cycle:
        """From an opening to the next."""
        # At the moment a beat has tripped it the filter is at `off`, not at its mean.
        low = replace(start, filtered=start.filtered - self.early)
        phases = [self.phase(low, False, limit)]
        if phases[0].moved and phases[0].duration < limit:
            phases.append(self.phase(phases[0].end, True, limit - phases[0].duration))
        whole = _Cycle(tuple(phases), (0.0, 0.0))
        even = battery_step(self.battery, start.state, current=whole.mean, duration=whole.duration)
        end = whole.end.state
        ripple = float(end.available - even.available), float(end.relaxation - even.relaxation)
        return _Cycle(whole.phases, ripple)

    def skip(self, start: _Point, before: _Cycle, span: float) -> _Skip | None:
        """Many cycles passed over, each like the one before and the one after them.

        Implicit, because a battery held at one voltage by its cutoff answers within seconds: the
        mean current on the way is that of the cycle at the far end.
        """
        mean = before.mean * math.exp(min(max(self._trend * span, -_ALIKE), _ALIKE))
        low, high = 0.0, math.inf
        last: tuple[float, float] | None = None
        offset = goal = self._ripple_offset(before)
        for _ in range(_TRIES):
            end = _Point(self._passed(start, mean, span, offset, goal), start.filtered)
            cycle = self.cycle(end, 30.0 * before.duration)
            miss = cycle.mean - mean
            if cycle.complete:
                if abs(miss) <= _MISS * mean:
                    return self._taken(before, cycle, end, span)
                goal = self._ripple_offset(cycle)
            low, high = (mean, high) if miss > 0.0 else (low, mean)
            if last is not None and (mean - last[0]) * (miss - last[1]) < 0.0:
                self._gain = max(-(miss - last[1]) / (mean - last[0]) - 1.0, 0.0) / span
            following = mean + miss / (1.0 + self._gain * span)
            if not low < following < high:
                following = 0.5 * (low + high) if math.isfinite(high) else 2.0 * mean
            last, mean = (mean, miss), following
        return None

    def _taken(self, before: _Cycle, after: _Cycle, end: _Point, span: float) -> _Skip | None:
        grown = math.log(max(after.mean, 1e-12) / max(before.mean, 1e-12))
        unlike = max(abs(math.log(after.duration / before.duration)), abs(grown))
        self._trend = grown / span
        if unlike > _ALIKE:
            return None
        # The charge of the stretch is right, so its mean current is that of the middle, and so are
        # the period and the music that go with this current.
        return _Skip(end, span, span / after.duration, span * after.music / after.duration, unlike)

    def _ripple_offset(self, cycle: _Cycle) -> tuple[float, float]:
        """Available charge and relaxation beyond their cycle's mean, at an opening."""
        battery, period = self.battery, cycle.duration
        evened = -math.expm1(-float(battery.rate) * period)
        relaxed = -math.expm1(-period / float(battery.time_relaxation))
        # Wells without a pipe between them keep no ripple apart from the charge itself.
        return cycle.ripple[0] / evened if evened > 0.0 else 0.0, cycle.ripple[1] / relaxed

    def _passed(
        self,
        start: _Point,
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


class _Scan:
    """Watches the filtered volts for a threshold that is passed and stays passed."""

    def __init__(self, level: float, delay: float, sign: float, smoothing: float) -> None:
        self.level, self.delay, self.sign, self.smoothing = level, delay, sign, smoothing
        self.since: float | None = None
        self.moved: float | None = None
        self.coarse = False
        self.filtered = 0.0

    def look(self, times: Floats, volts: Floats, filtered: float) -> int:
        """Interval where the contact moves or a closer look is needed; the last index if none."""
        self.moved, self.coarse = None, False
        clock, feed = times.tolist(), volts.tolist()
        value = filtered if self.smoothing > 0.0 else feed[0]
        if self.since is None and self._beyond(value):
            self.since = clock[0]
        for index in range(len(clock) - 1):
            span = clock[index + 1] - clock[index]
            slope = (feed[index + 1] - feed[index]) / span
            ahead = self._response(value, feed[index], slope, span)
            if self.since is None and self._beyond(ahead):
                if abs(slope * span) > _VOLTS_FINE and span > 1e-6:
                    self.coarse, self.filtered = True, value
                    return index
                self.since = clock[index] + self._crossing(value, feed[index], slope, span)
            elif self.since is not None and not self._beyond(ahead):
                back = clock[index] + self._crossing(value, feed[index], slope, span)
                if self.since + self.delay > back:
                    self.since = None
            if self.since is not None and self.since + self.delay <= clock[index + 1]:
                self.moved = max(self.since + self.delay, clock[index])
                passed = self.moved - clock[index]
                self.filtered = self._response(value, feed[index], slope, passed)
                return index
            value = ahead
        self.filtered = value
        return len(clock) - 1

    def _beyond(self, value: float) -> bool:
        return self.sign * (value - self.level) >= 0.0

    def _response(self, value: float, feed: float, slope: float, span: float) -> float:
        """First-order filter after a straight piece of its input."""
        if self.smoothing == 0.0:
            return feed + slope * span
        share = -math.expm1(-span / self.smoothing)
        return value + (feed - value) * share + slope * (span - self.smoothing * share)

    def _crossing(self, value: float, feed: float, slope: float, span: float) -> float:
        """Time within a piece at which the filtered volts pass the level."""
        near, far = 0.0, span
        began = self._beyond(value)
        for _ in range(52):
            middle = 0.5 * (near + far)
            if self._beyond(self._response(value, feed, slope, middle)) == began:
                near = middle
            else:
                far = middle
        return far


class _Watch:
    """What is kept from the start to the end."""

    def __init__(
        self, loop: _Loop, start: _Point, longest: float, time_after: float, every_cycle: bool
    ) -> None:
        self.loop, self.start = loop, start
        self.longest, self.time_after, self.every_cycle = longest, time_after, every_cycle
        self.time, self.count, self.music = 0.0, 0, 0.0
        self.owed = 0.0
        self.knots: list[tuple[float, int]] = []
        self.listed: list[float] = []
        self.first_closing = math.inf
        self.settled, self.open_at_end = True, False
        self.rows: list[Floats] = []
        self.point = self.last_opening = start
        self.first: tuple[BatteryState, float] | None = None
        self.loaded = math.nan

    def run(self) -> None:
        """Music, first opening, and cycles until the watch is over."""
        music = self.loop.phase(self.start, True, self.longest)
        self._note(music, dense=True)
        self.point, self.loaded = music.end, music.volts
        if not music.moved:
            return
        self.first = music.end.state, music.volts
        self._opened(0)
        end = self.time + self.time_after
        before: _Cycle | None = None
        alike, span, growth = False, 0.0, 3.0
        wait, patience = _DENSE_CYCLES, _FEWEST_SKIPPED
        while self.time < end:
            if alike and before and wait <= 0 and not self.every_cycle:
                least = _FEWEST_SKIPPED * before.duration
                span = min(max(span, least), end - self.time - 2.0 * before.duration)
                passed = self.loop.skip(self.point, before, span) if span >= least else None
                if passed is not None:
                    self._skipped(passed)
                    patience = _FEWEST_SKIPPED
                    span *= min(max(0.6 * _ALIKE / max(passed.unlike, 1e-9), 0.5), growth)
                    growth = 3.0
                elif span > 1.01 * least:
                    span, growth = span / 3.0, 1.0
                    if self.loop.solved <= _MOST_PHASES:
                        continue
                else:
                    patience = min(2 * patience, 256)
                    wait = patience
            cycle = self.loop.cycle(self.point, end - self.time)
            wait -= 1
            self._cycled(cycle)
            if not cycle.complete:
                break
            alike = before is not None and abs(math.log(cycle.duration / before.duration)) < _ALIKE
            before = cycle
            if self.loop.solved > _MOST_PHASES and not self.every_cycle:
                self.settled = False
                break

    def _cycled(self, cycle: _Cycle) -> None:
        """One simulated cycle."""
        for phase in cycle.phases:
            if phase.closed and math.isinf(self.first_closing):
                self.first_closing = self.time
            self._note(phase, dense=self.count < _DENSE_CYCLES)
        self.point = cycle.end
        self.music += cycle.music
        self.open_at_end = not cycle.phases[-1].closed
        if cycle.phases[-1].closed:
            self.loaded = cycle.phases[-1].volts
        if cycle.complete:
            self._opened(1)

    def _skipped(self, passed: _Skip) -> None:
        """Cycles passed over; the one at their end is simulated next."""
        self.point = passed.end
        self.rows[-1][4, -1] = 1.0
        self.time += passed.duration
        self.music += passed.music
        whole = round(passed.count + self.owed)
        self.owed += passed.count - whole
        self._opened(whole)

    def _opened(self, count: int) -> None:
        self.count += count
        self.knots.append((self.time, self.count))
        self.last_opening = self.point
        self.open_at_end = True
        if len(self.listed) == self.count and self.count < _LISTED:
            self.listed.append(self.time)

    def _note(self, phase: _Phase, *, dense: bool) -> None:
        """Rows of a phase for the trace, and the clock taken on."""
        rows = np.concatenate(phase.rows, axis=1)
        keep = np.arange(rows.shape[1])
        picked = keep[(keep % 4 == 0) | (keep == keep[-1])] if dense else keep[[0, -1]]
        marks = np.array([[float(phase.closed)], [0.0]]) * np.ones(picked.size)
        kept = np.concatenate([rows[:, picked], marks])
        kept[0] += self.time
        self.rows.append(kept)
        self.time += phase.duration

    def result(self, chemistry: Chemistry, cells: float, temperature: float) -> CutoffRun:
        """The watch as its user meets it."""
        battery = self.loop.battery
        rows = np.concatenate(self.rows, axis=1)
        trace = CyclingTrace(rows[0], rows[1], rows[2], rows[3] > 0.5, rows[4] > 0.5)
        first = self.knots[0][0] if self.knots else math.inf
        intervals = np.diff(np.array(self.listed[:11]))
        period = float(np.mean(intervals)) if intervals.size else math.nan
        last = self.last_opening if self.open_at_end else self.point
        head = np.interp(chemistry.voltage_floor * cells, battery.voltage_table, CHARGE_GRID)
        charge = max(float(last.state.available + last.state.bound), 0.0)
        ruined = shelf_time(
            charge=charge,
            current=self.loop.law.drain_off,
            self_discharge=chemistry.self_discharge,
            temperature=temperature,
            doubling=chemistry.self_discharge_doubling,
            charge_end=float(head) * float(battery.capacity),
        )
        begun, ended = self.start.state, self.point.state
        used = begun.available + begun.bound - ended.available - ended.bound
        return CutoffRun(
            first_opening=first,
            first_closing=self.first_closing,
            chatters=self.first_closing <= first + _HOUR and math.isfinite(first),
            period=period,
            buzzes=period < 1.0,
            openings=floats(np.array(self.listed)),
            opened=self.count + 1 if self.knots else 0,
            openings_per_hour=self._per_hour(first),
            at_first=None if self.first is None else _left(battery, *self.first, cells),
            at_end=_left(battery, ended, self.loaded, cells),
            music_after_first=self.music,
            charge_used=float(used),
            end_of_music=self.knots[-1][0] if self.open_at_end else self.time,
            ruined_after=float(ruined),
            trace=trace,
            settled=self.settled,
        )

    def _per_hour(self, first: float) -> Floats:
        if not self.knots:
            return np.zeros(0)
        hours = np.arange(math.ceil(self.time_after / _HOUR - 1e-9) + 1)
        times, counts = np.array([*self.knots, (math.inf, self.count)]).T
        times[-1] = max(times[-2], first + hours[-1] * _HOUR) + 1.0
        # Between two openings the count stands; between skipped ones it climbs evenly.
        seen = np.floor(np.interp(first + hours * _HOUR, times, counts) + 1e-6)
        if not self.settled:
            seen[first + hours * _HOUR > self.time] = math.nan
        return floats(np.diff(seen))


def _left(battery: Battery, state: BatteryState, loaded: float, cells: float) -> Left:
    share = float(state_of_charge(battery, state))
    rested = float(rested_voltage(battery, state_of_charge=min(max(share, 0.0), 1.0)))
    return Left(loaded / cells, rested / cells, share)


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


def _check(volts: Floats, amps: Floats, battery: Battery, state: BatteryState) -> None:
    volts, amps = floats(volts), floats(amps)
    if volts.ndim != 1 or volts.shape != amps.shape or volts.size == 0:
        raise ValueError(
            f"load_amps: got shape {amps.shape} for volts of shape {volts.shape}, "
            "must be two equal rows"
        )
    falls = np.diff(volts) <= 0.0
    if np.any(falls):
        raise ValueError(f"load_volts: got {volts[1:][falls][0]:g} V out of order, must rise")
    for name, unit, row in (("load_volts", "V", volts), ("load_amps", "A", amps)):
        for value in row.tolist():
            _not_negative(value, name, unit)
    for size in (battery.capacity.size, state.available.size):
        if size != 1:
            raise ValueError(f"battery: got a batch of {size}, must be one")


def _not_negative(value: float, name: str, unit: str) -> None:
    if not (value >= 0.0 and math.isfinite(value)):
        raise ValueError(f"{name}: got {value:g} {unit}, must be 0 {unit} or more")


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
