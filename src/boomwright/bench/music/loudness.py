"""Loudness as broadcasters measure it: K-weighted, gated, from blocks as they come."""

from __future__ import annotations

import numpy as np

from boomwright.physics.arrays import Floats

__all__ = ["LoudnessMeter", "gated_loudness", "k_weighting", "loudness_range"]

_OFFSET = -0.691
_ABSOLUTE_GATE = -70.0
_RELATIVE_GATE, _RANGE_GATE = 10.0, 20.0
_HOPS_A_SECOND = 10
_HOPS, _LONG_HOPS = 4, 30
_LOW, _HIGH = 10.0, 95.0


def k_weighting(rate: float) -> Floats:
    """Sections of the K-weighting filter at a sample rate, for `scipy.signal.sosfilt`.

    A shelf that lifts the treble by 4 dB, as a head does, and a high-pass at 38 Hz. At 48 kHz the
    coefficients are those that the standard prints.

    Parameters
    ----------
    rate : float
        Samples a second [Hz].

    Returns
    -------
    array, (2, 6)
        Second-order sections.

    References
    ----------
    .. [1] ITU-R BS.1770-4, 2015, annex 1, tables 1 and 2 (from memory).
    .. [2] B. De Man, Evaluation of implementations of the EBU R128 loudness measurement, AES
       convention 145, 2018: the same filters at any rate (from memory).
    """
    from pyloudnorm import IIRfilter

    shelf = IIRfilter(
        3.99984385397, 0.7071752369554193, 1681.9744509555319, rate, "high_shelf_DeMan"
    )
    high_pass = IIRfilter(0.0, 0.5003270373253953, 38.13547087613982, rate, "high_pass_DeMan")
    return np.array([[*stage.b, *stage.a] for stage in (shelf, high_pass)], dtype=np.float64)


class LoudnessMeter:
    """K-weighted mean squares of every tenth of a second, from blocks as they come.

    Parameters
    ----------
    rate : int
        Samples a second [Hz].
    channels : int
        1 or 2, each with weight 1 as left, right and mono have.
    """

    def __init__(self, rate: int, channels: int) -> None:
        self._rate = rate
        self._filter = k_weighting(rate)
        self._state = np.zeros((len(self._filter), channels, 2))
        self._at, self._open = 0, 0.0
        self._found: list[Floats] = []

    def take(self, block: Floats) -> None:
        """Measure the next block.

        Parameters
        ----------
        block : array, (channels, frames)
            Samples over full scale [1].
        """
        from scipy.signal import sosfilt

        heard, self._state = sosfilt(self._filter, block, axis=-1, zi=self._state)
        power = np.einsum("cn,cn->n", heard, heard)
        begin, end = self._at, self._at + power.size
        self._at = end
        # Tenths end where their number times the rate does, even where that is no whole sample.
        first = begin * _HOPS_A_SECOND // self._rate + 1
        last = end * _HOPS_A_SECOND // self._rate
        cuts = np.arange(first, last + 1) * self._rate // _HOPS_A_SECOND - begin
        sums = np.add.reduceat(np.append(power, 0.0), np.concatenate(([0], cuts)))
        sums[0] += self._open
        self._open = float(sums[-1])
        self._found.append(sums[:-1] * _HOPS_A_SECOND / self._rate)

    def tenths(self) -> Floats:
        """Mean square of each whole tenth of a second so far, summed over the channels."""
        return np.concatenate(self._found) if self._found else np.zeros(0)


def _sliding(tenths: Floats, hops: int) -> Floats:
    """Mean over so many tenths, from each tenth on."""
    if tenths.size < hops:
        return np.zeros(0)
    return np.convolve(tenths, np.full(hops, 1.0 / hops), mode="valid")


def _level(power: Floats | float) -> Floats:
    return np.asarray(_OFFSET + 10.0 * np.log10(np.maximum(power, 1e-30)))


def _above(powers: Floats, below: float) -> Floats:
    """Powers past the absolute gate and the one that lies so far below their mean [dB]."""
    loud = powers[_level(powers) >= _ABSOLUTE_GATE]
    if not loud.size:
        return loud
    return loud[_level(loud) > float(_level(float(np.mean(loud)))) - below]


def gated_loudness(*tenths: Floats) -> float:
    """Integrated loudness of one or more stretches of sound, quiet passages left out.

    Blocks of 0.4 s every 0.1 s; those below -70 LUFS do not count, then those more than 10 LU
    below the mean of the rest. No block reaches from one stretch into the next.

    Parameters
    ----------
    tenths : array, (tenths,)
        Mean squares from `LoudnessMeter.tenths`, one array for each stretch.

    Returns
    -------
    float
        Loudness [LUFS]; minus infinity where nothing is above the gate.

    References
    ----------
    .. [1] ITU-R BS.1770-4, 2015, annex 1, equations 2 to 7 (from memory).

    Examples
    --------
    >>> round(gated_loudness(np.full(50, 0.01)), 2)
    -20.69
    """
    counted = _above(np.concatenate([_sliding(each, _HOPS) for each in tenths]), _RELATIVE_GATE)
    return float(_level(float(np.mean(counted)))) if counted.size else -np.inf


def loudness_range(*tenths: Floats) -> float:
    """Loudness range: how far quiet passages lie below loud ones.

    Blocks of 3 s every 0.1 s; those below -70 LUFS do not count, then those more than 20 LU below
    the mean of the rest; from the tenth of a hundred to the ninety-fifth.

    Parameters
    ----------
    tenths : array, (tenths,)
        Mean squares from `LoudnessMeter.tenths`, one array for each stretch.

    Returns
    -------
    float
        Range [LU]; not a number where no stretch lasts 3 s above the gate.

    References
    ----------
    .. [1] EBU Tech 3342, Loudness range, 2016 (from memory).

    Examples
    --------
    >>> round(loudness_range(np.repeat([1e-2, 1e-3], 2000)), 1)
    10.0
    """
    counted = _above(np.concatenate([_sliding(each, _LONG_HOPS) for each in tenths]), _RANGE_GATE)
    if not counted.size:
        return np.nan
    low, high = np.percentile(_level(counted), [_LOW, _HIGH])
    return float(high - low)
