"""Where sound lies over frequency: power in third-octave bands, from blocks as they come."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.bench.music.reading import Block
from boomwright.physics.arrays import Floats
from boomwright.physics.sound import a_weighting

__all__ = ["BANDS", "Spectrum", "SpectrumMeter", "band_edges"]

_FIRST, _LAST = 13, 43
_NOMINAL = (
    *(20.0, 25.0, 31.5, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 315.0),
    *(400.0, 500.0, 630.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0, 2500.0, 3150.0, 4000.0),
    *(5000.0, 6300.0, 8000.0, 10000.0, 12500.0, 16000.0, 20000.0),
)

BANDS: Floats = np.array(_NOMINAL)
"""Names of the third-octave bands [Hz]."""

_LONGEST_FRAME = 1.4


def band_edges() -> Floats:
    """Edges of the bands, each the upper one of one band and the lower one of the next.

    Returns
    -------
    array, (bands + 1,)
        Frequencies [Hz].

    Notes
    -----
    10^((n - 1/2)/10) for n = 13 to 44: the base-ten bands, whose middles lie within 1 % of their
    names.

    References
    ----------
    .. [1] IEC 61260-1, Octave-band and fractional-octave-band filters, 2014 (from memory).

    Examples
    --------
    >>> edges = band_edges()
    >>> round(float(edges[17]), 1), round(float(edges[18]), 1)
    (891.3, 1122.0)
    """
    return np.asarray(10.0 ** ((np.arange(_FIRST, _LAST + 2) - 0.5) / 10.0), dtype=np.float64)


@dataclass(frozen=True)
class Spectrum:
    """Power of a stretch of sound over frequency.

    Parameters
    ----------
    bands : array, (31,)
        Mean square in each band of `BANDS`, mean over the channels [1].
    total : float
        Mean square of the samples, whatever their frequency [1].
    weighted : float
        A-weighted mean square [1].
    highest : float
        Frequency at which the file can hold no more [Hz].
    """

    bands: Floats
    total: float
    weighted: float
    highest: float


class SpectrumMeter:
    """Power spectrum of a file, from blocks as they come.

    Frames of more than half a second overlap by half; the squares of their windows, the sine of a
    squared sine, add up to 1 everywhere, so that the powers of all frequencies add up to the mean
    square of the samples.

    Parameters
    ----------
    rate : int
        Samples a second [Hz].
    channels : int
        1 or 2.
    """

    def __init__(self, rate: int, channels: int) -> None:
        self._rate = rate
        self._size = 1 << int(np.log2(_LONGEST_FRAME * rate))
        rise = np.sin(np.pi * (np.arange(self._size) + 0.5) / self._size) ** 2
        self._window = np.sin(0.5 * np.pi * rise).astype(np.float32)
        self._power = np.zeros(self._size // 2 + 1)
        self._frames = 0
        # Half a frame of silence ahead, so that the first samples count as much as all others.
        self._left: Block = np.zeros((channels, self._size // 2), dtype=np.float32)

    def take(self, block: Block) -> None:
        """Measure the next block.

        Parameters
        ----------
        block : array of float32, (channels, frames)
            Samples over full scale [1].
        """
        self._frames += block.shape[1]
        self._left = self._transformed(np.concatenate((self._left, block), axis=1))

    def _transformed(self, samples: Block) -> Block:
        """Add every whole frame; what is left starts the next."""
        from scipy.fft import rfft

        hop = self._size // 2
        count = samples.shape[1] // hop - 1
        for number in range(max(count, 0)):
            frame = samples[:, number * hop : number * hop + self._size] * self._window
            lines = rfft(frame, axis=-1)
            self._power += (lines.real**2 + lines.imag**2).sum(axis=0)
        return samples[:, max(count, 0) * hop :]

    def found(self) -> Spectrum:
        """Spectrum of everything taken so far."""
        channels, hop = self._left.shape[0], self._size // 2
        kept, before = self._left, self._power.copy()
        # Silence behind, until the last sample has been in two frames.
        self._transformed(np.pad(self._left, ((0, 0), (0, 2 * hop - self._left.shape[1] % hop))))
        power, self._power, self._left = self._power, before, kept
        # A line stands for its twin at the negative frequency too, but for the first and the last.
        power[1:-1] *= 2.0
        power /= self._size * self._frames * channels
        step = self._rate / self._size
        middles = np.arange(power.size, dtype=np.float64) * step
        reached = np.concatenate(([0.0], np.cumsum(power)))
        ends = np.concatenate(([-0.5 * step], middles + 0.5 * step))
        weights = 10.0 ** (a_weighting(middles[1:]) / 10.0)
        return Spectrum(
            bands=np.diff(np.interp(band_edges(), ends, reached)),
            total=float(power.sum()),
            weighted=float(power[1:] @ weights),
            highest=0.5 * self._rate,
        )
