"""A recording of both sides of a known resistor, unfolded to an impedance.

The amplifier's output goes through a known resistor to the driver. One channel records what the
amplifier gives, the other what is left at the driver; both against the driver's negative
terminal. Caution: a sound card's input stands a volt or two. Only a small signal may reach it,
through a divider if need be, and never the output of a bridge amplifier, neither terminal of
which is ground: that would short the amplifier through the sound card.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from boomwright.bench.driver.sweep import ImpedanceSweep
from boomwright.bench.music.reading import read_blocks, read_header
from boomwright.build.quantities import format_quantity
from boomwright.design.sheet import Remark
from boomwright.errors import InputError, Problem
from boomwright.physics.arrays import Complexes, Floats

__all__ = ["Recorded", "Side", "read_recorded", "recorded_impedance", "transfer"]

Side = Literal["", "left", "right"]
"""Channel of the driver; empty for the one with less signal."""

_LOWEST, _HIGHEST = 10.0, 18_000.0
_PER_OCTAVE = 36
_KEPT = 0.6
_AHEAD = 0.005
_REGULAR = 1e-7
_FAINT = 1e-5
_CLIPPED, _CLIPPED_RUN = 0.999, 3
_SILENT = 1e-3
_LONGEST = 300.0
_ALIKE = 1e-3
_FOLLOWS, _SEGMENT = 0.5, 8192
"""Least share of the driver's signal that must go along with the amplifier's, and samples at a
time; of a usable recording nine tenths do."""
_MATCH = 0.012
"""Usual difference of two inputs of one sound card, as a share; common practice, no source."""


@dataclass(frozen=True, eq=False)
class Recorded:
    """Two channels of a recording.

    Parameters
    ----------
    left, right : array (samples,)
        Samples over full scale [1].
    rate : int
        Samples a second [Hz].
    source : str
        The file, for messages.
    """

    left: Floats
    right: Floats
    rate: int
    source: str


def read_recorded(path: Path) -> Recorded:
    """Two channels from a sound file, once it is clear that they hold a measurement.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Recorded

    Raises
    ------
    InputError
        If it is no sound file, mono, silent, clipped, or the same in both channels.
    """
    header = read_header(path)
    problems = []
    if header.channels == 1:
        problems.append(
            Problem(
                "mono: one channel only",
                expected="two channels, the amplifier's side of the resistor and the driver's",
                file=str(path),
                hint="Record in stereo from a line input; many microphone inputs are mono.",
            )
        )
    if header.duration > _LONGEST:
        problems.append(
            Problem(
                "far too long for one sweep",
                got=f"{header.duration:.0f} s",
                expected=f"{_LONGEST:.0f} s or less",
                file=str(path),
            )
        )
    if problems:
        raise InputError(problems)
    both = np.concatenate(list(read_blocks(header)), axis=1).astype(np.float64)
    both -= both.mean(axis=1, keepdims=True)
    found = Recorded(both[0], both[1], header.rate, str(path))
    problems = _faults(found)
    if problems:
        raise InputError(problems)
    return found


def _faults(recorded: Recorded) -> list[Problem]:
    problems = []
    for name, samples in (("left", recorded.left), ("right", recorded.right)):
        peak = float(np.abs(samples).max())
        if peak < _SILENT:
            problems.append(
                Problem(
                    f"the {name} channel is silent",
                    got=f"peak {20.0 * np.log10(max(peak, 1e-9)):.0f} dB below full scale",
                    file=recorded.source,
                    hint="Check its lead, and that the input is not muted.",
                )
            )
        count = _clipped(samples)
        if count:
            problems.append(
                Problem(
                    f"the {name} channel is clipped",
                    got=f"{count} samples at full scale",
                    file=recorded.source,
                    hint="Turn the recording level down and record again.",
                )
            )
    if not problems:
        apart = float(np.std(recorded.left - recorded.right))
        if apart < _ALIKE * float(np.std(recorded.left)):
            problems.append(
                Problem(
                    "both channels hold the same: a mono recording, or no resistor between them",
                    file=recorded.source,
                    hint="Record in stereo, one channel on either side of the known resistor.",
                )
            )
    return problems


def _clipped(samples: Floats) -> int:
    """How many samples stand at the top in a row."""
    top = np.abs(samples) >= _CLIPPED * max(float(np.abs(samples).max()), _CLIPPED)
    if not top.any():
        return 0
    edges = np.flatnonzero(np.diff(np.concatenate(([False], top, [False])).astype(np.int8)))
    runs = edges[1::2] - edges[::2]
    return int(runs[runs >= _CLIPPED_RUN].sum())


def transfer(
    whole: Floats, part: Floats, *, rate: int, frequency: Floats
) -> tuple[Complexes, NDArray[np.bool_]]:
    """Ratio of two recorded voltages over frequency.

    The spectra are divided, a little held up where there is next to nothing to divide by; the
    answer to an impulse that comes of it is cut to where the driver still rings, which takes away
    noise, room and distortion. Long bands are averaged.

    Parameters
    ----------
    whole, part : array (samples,)
        The two voltages [any unit].
    rate : int
        Samples a second [Hz].
    frequency : array (points,)
        Rising, at equal ratios [Hz].

    Returns
    -------
    array of complex (points,), array of bool (points,)
        Part over whole [1], and where the signal reached.

    Notes
    -----
    H = P W*/(|W|² + e max|W|²), windowed in time from 5 ms before to 0.6 s after.

    References
    ----------
    .. [1] A. Farina, Simultaneous Measurement of Impulse Response and Distortion with a
       Swept-Sine Technique, 108th Convention of the Audio Engineering Society, 2000, preprint
       5093 (from memory; there the division is by the sweep itself).

    Examples
    --------
    >>> noise = np.random.default_rng(3).normal(size=48000)
    >>> ratio, _ = transfer(noise, 0.25 * noise, rate=48000, frequency=np.array([50.0, 500.0]))
    >>> np.abs(ratio).round(2).tolist()
    [0.25, 0.25]
    """
    from scipy.fft import irfft, next_fast_len, rfft

    size = next_fast_len(whole.size + round(_KEPT * rate), real=True)
    spectrum, other = rfft(whole, size), rfft(part, size)
    power = np.abs(spectrum) ** 2
    bins = np.arange(power.size) * rate / size
    # A sweep of equal octaves has less in the treble: what counts as little falls with it.
    pink = power * np.maximum(bins, 1.0)
    floor = _REGULAR * pink.max() / np.maximum(bins, 1.0)
    answer = irfft(other * np.conj(spectrum) / (power + floor), size)
    ratio = rfft(_windowed(answer, rate, size), size)
    low, high = frequency[0], frequency[-1]
    step = float(np.log(high / low)) / max(frequency.size - 1, 1)
    found, loud = _banded(bins, ratio, frequency, step), _banded(bins, pink, frequency, step)
    return found, np.abs(loud) > _FAINT * pink.max()


def _windowed(answer: Floats, rate: int, size: int) -> Floats:
    """The answer from just before its start to where it has died away."""
    after, ahead = round(_KEPT * rate), round(_AHEAD * rate)
    window = np.zeros(size)
    fade = after // 2
    window[: after - fade] = 1.0
    window[after - fade : after] = 0.5 + 0.5 * np.cos(np.pi * np.arange(fade) / fade)
    window[size - ahead :] = 0.5 - 0.5 * np.cos(np.pi * np.arange(ahead) / ahead)
    return answer * window


def _banded(
    bins: Floats, values: NDArray[np.complex128] | Floats, frequency: Floats, step: float
) -> Complexes:
    """Means over bands of a step's width; between two bins by a straight line."""
    width = bins[1]
    sums = np.concatenate(([0.0], np.cumsum(values)))
    low = np.floor(frequency * np.exp(-0.5 * step) / width).astype(int) + 1
    high = np.floor(frequency * np.exp(0.5 * step) / width).astype(int) + 1
    count = np.maximum(high - low, 1)
    mean = (sums[np.minimum(high, bins.size)] - sums[np.minimum(low, bins.size)]) / count
    real = np.interp(frequency, bins, values.real)
    single = real + 1j * np.interp(frequency, bins, values.imag)
    # What the window in time has smeared already gains nothing by a mean over less.
    wide = (high - low) * width > 2.0 / _KEPT
    return np.asarray(np.where(wide, mean, single), dtype=np.complex128)


def recorded_impedance(
    recorded: Recorded,
    *,
    resistor: float,
    side: Side = "",
    calibration: tuple[Recorded, float] | None = None,
) -> tuple[ImpedanceSweep, float]:
    """Impedance of a driver by the voltages on both sides of a known resistor.

    Parameters
    ----------
    recorded : Recorded
        The two channels.
    resistor : float
        The known resistor [Ω].
    side : str
        Channel of the driver.
    calibration : tuple of Recorded and float, or None
        The same with a second known resistor in the driver's place, and its ohms: takes out
        what differs between the two inputs.

    Returns
    -------
    (ImpedanceSweep, float)
        The curve, and how much the inputs may differ, as a share.

    Raises
    ------
    InputError
        If the channels cannot be those of a driver behind a resistor.

    Notes
    -----
    With H = V_driver/V_amplifier, Z = R H/(1 - H).
    """
    if calibration is not None and calibration[0].rate != recorded.rate:
        problem = Problem(
            "recorded at another sample rate than the driver",
            got=f"{calibration[0].rate} Hz",
            expected=f"{recorded.rate} Hz",
            file=calibration[0].source,
            hint="Record both with the same settings.",
        )
        raise InputError([problem])
    top = min(_HIGHEST, 0.45 * recorded.rate)
    count = round(_PER_OCTAVE * np.log2(top / _LOWEST))
    frequency = np.geomspace(_LOWEST, top, count)
    remarks = []
    whole, part = recorded.left, recorded.right
    by_energy: Side = "left" if np.std(whole) < np.std(part) else "right"
    told = side or by_energy
    if told == "left":
        whole, part = part, whole
    if not side and by_energy == "left":
        remarks.append(
            Remark(
                "fine",
                "The driver is on the left channel, which has less signal; the right one is the "
                "amplifier's.",
            )
        )
    share = _share_that_follows(whole, part)
    if share < _FOLLOWS:
        problem = Problem(
            "the two channels do not belong together",
            got=f"{100.0 * share:.0f} % of the driver's signal follows the amplifier's",
            expected=f"{100.0 * _FOLLOWS:.0f} % or more",
            file=recorded.source,
            hint="Record both ends of the known resistor at once, with nothing else playing.",
        )
        raise InputError([problem])
    ratio, loud = transfer(whole, part, rate=recorded.rate, frequency=frequency)
    if side and float(np.median(np.abs(ratio[loud]))) > 1.0:
        problem = Problem(
            "the channels are swapped: more volts at the driver than the amplifier gives",
            got=f"--driver-channel {side}",
            file=recorded.source,
            hint=f"The driver is on the {'right' if side == 'left' else 'left'} channel.",
        )
        raise InputError([problem])
    if calibration is not None:
        ratio = ratio / _input_ratio(calibration, resistor, told, frequency)
    else:
        remarks.append(
            Remark(
                "fine",
                "Without a calibration the two inputs count as alike within "
                f"{100.0 * _MATCH:.1f} %.",
                "A second known resistor in the driver's place tells: --calibration FILE.",
            )
        )
    impedance = resistor * ratio / (1.0 - ratio)
    kept = loud & (np.abs(1.0 - ratio) > 1e-4) & np.isfinite(impedance) & (np.abs(impedance) > 0.0)
    if np.count_nonzero(kept) < _PER_OCTAVE:
        problem = Problem(
            "the recording holds no sweep: there is signal in less than an octave",
            file=recorded.source,
            hint="Play the file that 'boomwright identify signal' writes while it records.",
        )
        raise InputError([problem])
    frequency, impedance = frequency[kept], impedance[kept]
    least = float(np.abs(impedance).min())
    if least < 0.02 * resistor:
        remarks.append(
            Remark(
                "mind",
                f"The driver's {least:.2g} Ω are little beside a resistor of "
                f"{format_quantity(resistor, 'resistance')}; noise counts more.",
                "A resistor of 10 to 100 Ω serves better.",
            )
        )
    sweep = ImpedanceSweep(
        frequency,
        np.abs(impedance),
        np.angle(impedance),
        recorded.source,
        None,
        tuple(remarks),
        np.inf if calibration is not None else resistor,
    )
    return sweep, 0.0 if calibration is not None else _MATCH


def _share_that_follows(whole: Floats, part: Floats) -> float:
    """Share of the power of one signal that goes along with another, whatever their ratio [1]."""
    from scipy.signal import coherence, welch

    segment = min(_SEGMENT, part.size // 4)
    _, along = coherence(whole, part, nperseg=segment)
    _, power = welch(part, nperseg=segment)
    return float(np.sum(along * power) / np.sum(power))


def _input_ratio(
    calibration: tuple[Recorded, float], resistor: float, side: Side, frequency: Floats
) -> Complexes:
    """What the two inputs differ by: measured over true ratio of two known resistors."""
    recorded, ohms = calibration
    whole, part = recorded.left, recorded.right
    if side == "left":
        whole, part = part, whole
    ratio, loud = transfer(whole, part, rate=recorded.rate, frequency=frequency)
    differs = ratio * (resistor + ohms) / ohms
    off = float(np.median(np.abs(differs[loud])))
    if not 0.5 < off < 2.0:
        problem = Problem(
            "the calibration does not fit its two resistors",
            got=f"inputs that differ by a factor of {off:.2g}",
            file=recorded.source,
            hint="Check both resistors with an ohmmeter and both channels' levels.",
        )
        raise InputError([problem])
    differs[~loud] = 1.0
    return differs
