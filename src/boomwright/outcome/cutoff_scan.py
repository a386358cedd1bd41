"""Filtered volts watched for a threshold that is passed and stays passed."""

from __future__ import annotations

import math

from boomwright.physics.arrays import Floats

__all__ = ["ThresholdScan"]

_VOLTS_FINE = 2e-4
_VOLTS_SAME = 1e-11
_CROSSING_TRIES = 40


class ThresholdScan:
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
        short = value - self.level
        over = self._response(value, feed, slope, span) - self.level
        # False position, halving the weight of an end that stays; beyond a nanovolt is no news.
        for _ in range(_CROSSING_TRIES):
            middle = near + (far - near) * short / (short - over) if short != over else far
            miss = self._response(value, feed, slope, middle) - self.level
            if abs(miss) < _VOLTS_SAME:
                return middle
            if (miss > 0.0) == (short > 0.0):
                near, short, over = middle, miss, 0.5 * over
            else:
                far, over, short = middle, miss, 0.5 * short
        return far
