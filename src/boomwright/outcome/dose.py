"""Sound dose of a run: what the listeners' ears take, and those of the builder beside the box."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from boomwright.build.audio import Want
from boomwright.build.model import Build
from boomwright.outcome.data import Curve, Outcome
from boomwright.outcome.loudness import nearer_db
from boomwright.physics.arrays import Floats
from boomwright.physics.hearing import allowed_time_niosh, noise_dose, weekly_time_who

__all__ = ["BUILDER_DISTANCE", "WEEKLY_LIMITS", "Dose", "builder_dose", "listener_dose"]

BUILDER_DISTANCE: Final = 1.0
"""Where the builder or whoever serves the box stands [m]; common practice, no source."""

WEEKLY_LIMITS: Final = {"adults": 80.0, "children": 75.0}
"""Level allowed for 40 hours a week [dB(A)]; ITU-T H.870 with the World Health Organization."""


@dataclass(frozen=True)
class Dose:
    """What one run as wanted gives an ear at one place; likely version, no ear protection.

    Parameters
    ----------
    distance : float
        Place of the ear before the box [m].
    duration : float
        How long it hears it: the time wanted, or the run if that ends sooner [s].
    level : float
        Steady level of the same energy [dB(A)]; -inf for no time at all.
    weekly_limit : float
        Level allowed for 40 hours a week, lower for children [dB(A)].
    daily : float
        Share of the NIOSH daily dose, 1 for all of it.
    weekly : float
        Share of the WHO-ITU weekly allowance, 1 for all of it.
    time : tuple of float
        Moments since the start [s].
    levels : tuple of float
        Level there at each moment [dB(A)].
    daily_so_far, weekly_so_far : tuple of float
        Shares used up until then.
    """

    distance: float
    duration: float
    level: float
    weekly_limit: float
    daily: float
    weekly: float
    time: tuple[float, ...]
    levels: tuple[float, ...]
    daily_so_far: tuple[float, ...]
    weekly_so_far: tuple[float, ...]

    @property
    def daily_time(self) -> float:
        """Time at its mean level that fills the daily dose [s]."""
        return float(allowed_time_niosh(self.level))

    @property
    def weekly_time(self) -> float:
        """Time at its mean level that fills the weekly allowance [s]."""
        return float(weekly_time_who(self.level, limit=self.weekly_limit))

    @property
    def runs_a_week(self) -> float:
        """Such runs in a week that fill the weekly allowance."""
        return 1.0 / self.weekly if self.weekly > 0.0 else float(np.inf)


def listener_dose(build: Build, outcome: Outcome) -> Dose:
    """Dose of one run as wanted, where the build wants its level.

    Equal energy, the level followed as the battery sinks; sound from elsewhere comes on top.

    Parameters
    ----------
    build : Build
        The build; children who listen have the lower weekly limit.
    outcome : Outcome
        What physics says of it.

    Returns
    -------
    Dose
    """
    want = build.want
    limit = WEEKLY_LIMITS[want.audience]
    return _dose(want, outcome, 0.0, distance=want.level.distance.likely, limit=limit)


def builder_dose(build: Build, outcome: Outcome) -> Dose:
    """Dose of one run as wanted for a grown person 1 m before one box.

    Parameters
    ----------
    build : Build
        The build.
    outcome : Outcome
        What physics says of it.

    Returns
    -------
    Dose
    """
    want = build.want
    louder = nearer_db(want, BUILDER_DISTANCE)
    limit = WEEKLY_LIMITS["adults"]
    return _dose(want, outcome, louder, distance=BUILDER_DISTANCE, limit=limit)


def _dose(want: Want, outcome: Outcome, louder: float, *, distance: float, limit: float) -> Dose:
    run = outcome.wanted
    span = min(want.hours.likely, run.duration.likely)
    time, levels = _heard(run.curve, span)
    levels = levels + louder
    steps = np.diff(time)
    # Readings lie close together, so the middle of two levels is as good as their energy's.
    middle = 0.5 * (levels[1:] + levels[:-1])
    daily = np.append(0.0, np.cumsum(noise_dose(middle[:, np.newaxis], steps[:, np.newaxis])))
    weekly = np.append(0.0, np.cumsum(steps / weekly_time_who(middle, limit=limit)))
    energy = float(np.sum(10.0 ** (middle / 10.0) * steps))
    return Dose(
        distance=distance,
        duration=span,
        level=10.0 * float(np.log10(energy / span)) if energy > 0.0 else -float(np.inf),
        weekly_limit=limit,
        daily=float(daily[-1]),
        weekly=float(weekly[-1]),
        time=tuple(time.tolist()),
        levels=tuple(levels.tolist()),
        daily_so_far=tuple(daily.tolist()),
        weekly_so_far=tuple(weekly.tolist()),
    )


def _heard(curve: Curve, span: float) -> tuple[Floats, Floats]:
    """Moments and levels of a run up to a time; a run without end stays as it began."""
    time, level = np.array(curve.time), np.array(curve.level)
    until = time <= span
    at_end = np.interp(span, time, level)
    return np.append(time[until], span), np.append(level[until], at_end)
