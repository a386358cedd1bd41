"""Battery and cutoff as one loop: the rebound, the chatter, and what is left when it is over."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from boomwright.outcome.cutoff_law import CutoffLaw, early_trip_volts, not_negative_number
from boomwright.outcome.cutoff_loop import ALIKE, CutoffLoop, Cycle, Phase, Point, SkippedCycles
from boomwright.physics.arrays import Floats, floats
from boomwright.physics.battery import (
    Battery,
    BatteryState,
    rested_voltage,
    state_of_charge,
)
from boomwright.physics.chemistry import Chemistry
from boomwright.physics.nature import ROOM_TEMPERATURE
from boomwright.physics.shelf import shelf_time

__all__ = ["CutoffRun", "CyclingTrace", "Left", "run_with_cutoff"]

_HOUR = 3600.0
_SHORTEST = 1e-3
_DENSE_CYCLES = 12
_LISTED = 200
_FEWEST_SKIPPED = 4
_MOST_PHASES = 20_000

_Truths = np.ndarray[tuple[int, ...], np.dtype[np.bool_]]


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
        From the end of the music until the cutoff's own drain and self-discharge have taken all
        that is left, the law of :func:`~boomwright.outcome.parked.parked_outcome` for a box whose
        cutoff has opened [s]; infinite without any drain. Chatter that goes on is faster.
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
        For the self-discharge.
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
    ohmic = float(battery.resistance_ohmic.item())
    early = early_trip_volts(law, resistance=ohmic, dip_amps=dip_amps, dip_time=dip_time)
    loop = CutoffLoop(
        battery, law, floats(load_volts), floats(load_amps), early - law.off, dip_time
    )
    watch = _Watch(loop, loop.point(state), longest, time_after, every_cycle)
    watch.run()
    return watch.result(chemistry, cells, temperature)


class _Watch:
    """What is kept from the start to the end."""

    def __init__(
        self, loop: CutoffLoop, start: Point, longest: float, time_after: float, every_cycle: bool
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
        before: Cycle | None = None
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
                    span *= min(max(0.6 * ALIKE / max(passed.unlike, 1e-9), 0.5), growth)
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
            alike = before is not None and abs(math.log(cycle.duration / before.duration)) < ALIKE
            before = cycle
            if self.loop.solved > _MOST_PHASES and not self.every_cycle:
                self.settled = False
                break

    def _cycled(self, cycle: Cycle) -> None:
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

    def _skipped(self, passed: SkippedCycles) -> None:
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

    def _note(self, phase: Phase, *, dense: bool) -> None:
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
        charge = max(float(last.state.available + last.state.bound), 0.0)
        ruined = shelf_time(
            charge=charge,
            current=self.loop.law.drain_off,
            self_discharge=chemistry.self_discharge,
            temperature=temperature,
            doubling=chemistry.self_discharge_doubling,
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
            not_negative_number(value, name, unit)
    for size in (battery.capacity.size, state.available.size):
        if size != 1:
            raise ValueError(f"battery: got a batch of {size}, must be one")
