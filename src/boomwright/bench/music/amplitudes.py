"""How sound spreads over its amplitudes: peak, average, share of time beyond each level."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from boomwright.bench.music.reading import Block
from boomwright.physics.arrays import Floats

__all__ = ["LEVELS", "STEP", "AmplitudeMeter", "Amplitudes", "amplitude_table"]

STEP = 2.0**-17
"""Width of a step of the histogram, over full scale [1]: a quarter of a 16-bit step."""

LEVELS = 65
"""Levels of the table that a build file holds."""

_REACH = 4.0
_HALF = round(_REACH / STEP)
_CEILING_WIDTH = 2.0**-14
_FULL_SCALE = 1.0 + 2.0**-15


@dataclass(frozen=True)
class Amplitudes:
    """Amplitudes of a stretch of sound, over full scale, constant offset taken off.

    Parameters
    ----------
    frames : int
        Samples of each channel.
    mean_square : float
        Mean over time and channels [1].
    sum_square : float
        Mean square of the channels' average, as a box with one voice hears them [1].
    peak : float
        Greatest sample as it stands in the file [1].
    swing : float
        Greatest sample without the offset [1].
    offset : float
        Constant part of the channel that has most of it [1].
    clipped : float
        Share of the samples that lie flat at their ceiling, or beyond full scale [1].
    counts : array
        Share of the samples at each step of the histogram, from 0 up [1].
    """

    frames: int
    mean_square: float
    sum_square: float
    peak: float
    swing: float
    offset: float
    clipped: float
    counts: Floats


class AmplitudeMeter:
    """Histogram and sums of a file, from blocks as they come.

    Parameters
    ----------
    channels : int
        1 or 2.
    """

    def __init__(self, channels: int) -> None:
        self._frames = 0
        self._counts = np.zeros((channels, 2 * _HALF + 1), dtype=np.int64)
        self._sum = np.zeros(channels)
        self._products = np.zeros((channels, channels))
        self._low, self._high = np.full(channels, np.inf), np.full(channels, -np.inf)
        self._beyond = 0

    def take(self, block: Block, wide: Floats) -> None:
        """Measure the next block.

        Parameters
        ----------
        block : array of float32, (channels, frames)
            Samples over full scale [1].
        wide : array, (channels, frames)
            The same as float64.
        """
        self._frames += block.shape[1]
        places = np.rint(block * np.float32(1.0 / STEP)).astype(np.int32) + _HALF
        for counts, place in zip(self._counts, places, strict=True):
            counts += np.bincount(place, minlength=counts.size)
        self._sum += wide.sum(axis=1)
        self._products += wide @ wide.T
        self._low = np.minimum(self._low, block.min(axis=1))
        self._high = np.maximum(self._high, block.max(axis=1))
        self._beyond += int(np.count_nonzero((block > _FULL_SCALE) | (block < -_FULL_SCALE)))

    def found(self) -> Amplitudes:
        """Amplitudes of everything taken so far."""
        frames, channels = self._frames, self._sum.size
        mean = self._sum / frames
        covariance = self._products / frames - np.outer(mean, mean)
        swing = np.maximum(self._high - mean, mean - self._low)
        peak = float(max(self._high.max(), -self._low.min()))
        flat = sum(_flat(counts) + _flat(counts[::-1]) for counts in self._counts)
        counts = sum(
            _folded(each, int(np.rint(middle / STEP)))
            for each, middle in zip(self._counts, mean, strict=True)
        )
        return Amplitudes(
            frames=frames,
            mean_square=float(np.trace(covariance)) / channels,
            sum_square=float(covariance.mean()),
            peak=peak,
            swing=float(swing.max()),
            offset=float(mean[np.argmax(np.abs(mean))]),
            clipped=max(flat, self._beyond) / (frames * channels),
            counts=np.asarray(counts, dtype=np.float64) / (frames * channels),
        )


def _flat(counts: NDArray[np.int64]) -> float:
    """Samples that lie flat at the upper end of a histogram.

    A wave that only turns there, as a sine does, spends root 2 times longer in the last two slices
    than in the last: that much counts as turning, the rest as flat.
    """
    end = int(np.flatnonzero(counts)[-1]) + 1
    width = round(_CEILING_WIDTH / STEP)
    last, before = (int(counts[at - width : at].sum()) for at in (end, end - width))
    # The greatest sample of all is no ceiling by itself.
    return float(max(last - 1.0 - (1.0 + 2.0**0.5) * before, 0.0))


def _folded(counts: NDArray[np.int64], middle: int) -> NDArray[np.int64]:
    """Histogram of the size of what is left once the middle is taken off."""
    centre = _HALF + middle
    above, below = counts[centre:], counts[: centre + 1][::-1]
    found = np.zeros(2 * _HALF + 1, dtype=np.int64)
    found[: above.size] += above
    # The middle itself stands in both halves.
    found[1 : below.size] += below[1:]
    return found


def amplitude_table(counts: Floats, swing: float) -> tuple[Floats, Floats]:
    """Share of time beyond each of a few dozen levels, close together where most of the time is.

    Parameters
    ----------
    counts : array
        Share of the samples at each step of the histogram [1].
    swing : float
        Greatest sample [1].

    Returns
    -------
    levels : array, (LEVELS,)
        Levels from 0 to the greatest sample, over full scale [1].
    time_above : array, (LEVELS,)
        Share of time beyond each [1]; at the last, the share that sits at the ceiling.
    """
    levels = swing * np.linspace(0.0, 1.0, LEVELS) ** 1.5
    reached = np.append(np.cumsum(counts[::-1])[::-1], 0.0)
    at = levels.copy()
    at[-1] -= min(_CEILING_WIDTH, 0.5 * (levels[-1] - levels[-2]))
    # Step n holds what rounds to it, so the share from it on lies beyond n - 1/2 steps.
    edges = np.maximum((np.arange(reached.size) - 0.5) * STEP, 0.0)
    share = np.interp(at, edges[1:], reached[1:])
    return levels, np.minimum.accumulate(np.clip(share, 0.0, 1.0))
