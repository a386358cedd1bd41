"""What a source does in time."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from boomwright.circuit.values import Floats

__all__ = ["PiecewiseLinear", "Pulse", "Sine", "Waveform"]


class Waveform(Protocol):
    """A value over time, with the moments at which it bends."""

    def at(self, time: float) -> Floats:
        """Value at a time [V or A]."""
        ...

    def corners(self, end: float) -> tuple[float, ...]:
        """Moments up to ``end`` at which the slope jumps [s]; a step must not stride over them."""
        ...


@dataclass(frozen=True)
class Sine:
    """A sine from time 0.

    Parameters
    ----------
    offset, amplitude : float
        Mean and peak [V or A].
    frequency : float
        Frequency [Hz].
    """

    offset: float
    amplitude: float
    frequency: float

    def at(self, time: float) -> Floats:
        """Value at a time."""
        return np.asarray(
            self.offset + self.amplitude * np.sin(2.0 * np.pi * self.frequency * time)
        )

    def corners(self, end: float) -> tuple[float, ...]:  # noqa: ARG002 (a sine never bends)
        """None: a sine has no corner."""
        return ()


@dataclass(frozen=True)
class Pulse:
    """A pulse, repeated if a period is given.

    Parameters
    ----------
    low, high : float
        Value at rest and in the pulse [V or A].
    delay, rise, width, fall : float
        Start of the rise, its length, length of the top, length of the fall [s]; rise and fall
        above 0.
    period : float or None
        Repetition [s]; one pulse only if None.
    """

    low: float
    high: float
    delay: float
    rise: float
    width: float
    fall: float
    period: float | None = None

    def _knots(self) -> tuple[Floats, Floats]:
        times = np.cumsum([0.0, self.rise, self.width, self.fall])
        return times, np.array([self.low, self.high, self.high, self.low])

    def at(self, time: float) -> Floats:
        """Value at a time."""
        since = time - self.delay
        if self.period is not None and since >= 0.0:
            since = since % self.period
        return np.asarray(np.interp(since, *self._knots()))

    def corners(self, end: float) -> tuple[float, ...]:
        """Start and end of every flank."""
        times = self.delay + self._knots()[0]
        if self.period is not None and end > self.delay:
            turns = np.arange(int((end - self.delay) / self.period) + 1)
            times = (times + self.period * turns[:, None]).ravel()
        return tuple(float(time) for time in times if 0.0 < time <= end)


@dataclass(frozen=True)
class PiecewiseLinear:
    """Straight lines between points, level before the first and after the last.

    Parameters
    ----------
    times : tuple of float
        Rising times [s].
    levels : tuple of float
        Value at each [V or A].
    """

    times: tuple[float, ...]
    levels: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.times) != len(self.levels) or len(self.times) < 1:
            raise ValueError(
                f"points of a waveform: got {len(self.times)} times and {len(self.levels)} levels, "
                "must be as many of each, at least one"
            )
        if any(late <= early for early, late in zip(self.times, self.times[1:], strict=False)):
            raise ValueError(f"times of a waveform: got {self.times}, must rise")

    def at(self, time: float) -> Floats:
        """Value at a time."""
        return np.asarray(np.interp(time, self.times, self.levels))

    def corners(self, end: float) -> tuple[float, ...]:
        """The points themselves."""
        return tuple(time for time in self.times if 0.0 < time <= end)
