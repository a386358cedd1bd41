"""The test signal: a sine that climbs through the band, silence before and after it."""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from boomwright.build.files import write_whole
from boomwright.errors import InputError, Problem
from boomwright.physics.arrays import Floats

__all__ = ["TestSignal", "signal_samples", "write_signal"]

_SLOWEST, _FASTEST = 8_000, 192_000
_SHORTEST, _LONGEST = 1.0, 120.0
_LOUDEST, _SOFTEST = 0.0, -60.0
_FADE_IN, _FADE_OUT = 0.15, 0.02
_SHARE_OF_RATE = 0.45


@dataclass(frozen=True)
class TestSignal:
    """What is asked of a test signal.

    Parameters
    ----------
    duration : float
        Length of the sweep without the silences [s].
    level_db : float
        Its peak below full scale, 0 or less [dB].
    rate : int
        Samples a second [Hz].
    lowest, highest : float
        Where it starts and ends [Hz].
    silence : float
        Before and after it [s].
    """

    __test__ = False  # its name is no test's

    duration: float = 12.0
    level_db: float = -12.0
    rate: int = 48_000
    lowest: float = 8.0
    highest: float = 20_000.0
    silence: float = 1.0


def signal_samples(asked: TestSignal) -> Floats:
    """Samples of a sine whose frequency rises by the same ratio in every second.

    Each octave lasts equally long, so that bass gets its share; what the driver distorts then
    arrives ahead of the sweep when the recording is unfolded, and is cut off there.

    Parameters
    ----------
    asked : TestSignal
        What is wanted; a highest frequency near half the rate is lowered to suit.

    Returns
    -------
    array (samples,)
        One channel over full scale [1].

    Raises
    ------
    InputError
        With everything that cannot be.

    Notes
    -----
    sin(2 pi f1 (T/L) (exp(L t/T) - 1)) with L = ln(f2/f1), raised and lowered by half a cosine.

    References
    ----------
    .. [1] A. Farina, Simultaneous Measurement of Impulse Response and Distortion with a
       Swept-Sine Technique, 108th Convention of the Audio Engineering Society, 2000, preprint
       5093 (from memory).

    Examples
    --------
    >>> samples = signal_samples(TestSignal(duration=2.0, level_db=-20.0))
    >>> samples.size, round(float(np.abs(samples).max()), 3)
    (192000, 0.1)
    """
    problems = []
    for says, key, value, low, high, unit in (
        ("length of the sweep", "--duration", asked.duration, _SHORTEST, _LONGEST, "s"),
        ("level", "--level", asked.level_db, _SOFTEST, _LOUDEST, "dB"),
        ("sample rate", "--rate", asked.rate, _SLOWEST, _FASTEST, "Hz"),
        ("silence", "--silence", asked.silence, 0.0, 30.0, "s"),
        ("lowest frequency", "", asked.lowest, 1.0, 1000.0, "Hz"),
        ("highest frequency", "", asked.highest, 4.0 * asked.lowest, 1e5, "Hz"),
    ):
        if not low <= value <= high:
            problems.append(
                Problem(
                    f"{says} out of range",
                    got=f"{value:g} {unit}",
                    expected=f"from {low:g} to {high:g} {unit}",
                    key=key,
                )
            )
    if problems:
        raise InputError(problems)
    rate, highest = asked.rate, min(asked.highest, _SHARE_OF_RATE * asked.rate)
    time = np.arange(round(asked.duration * rate)) / rate
    octaves = np.log(highest / asked.lowest)
    turns = asked.lowest * asked.duration / octaves * np.expm1(octaves * time / asked.duration)
    sweep = 10.0 ** (asked.level_db / 20.0) * np.sin(2.0 * np.pi * turns)
    _fade(sweep, min(_FADE_IN, asked.duration / 8.0), rate)
    _fade(sweep[::-1], _FADE_OUT, rate)
    quiet = np.zeros(round(asked.silence * rate))
    return np.concatenate((quiet, sweep, quiet))


def _fade(samples: Floats, seconds: float, rate: int) -> None:
    count = round(seconds * rate)
    samples[:count] *= 0.5 - 0.5 * np.cos(np.pi * np.arange(count) / count)


def write_signal(path: Path, asked: TestSignal, *, replace: bool = False) -> None:
    """Write a test signal as a sound file, the same in both channels, 24 bit.

    Parameters
    ----------
    path : Path
        Where to; the file holds all of it or is not there.
    asked : TestSignal
        What is wanted.
    replace : bool
        Whether a file of that name may be written over.

    Raises
    ------
    InputError
        If such a signal cannot be.
    WriteError
        If it cannot be written, or is there already.
    """
    import soundfile

    samples = signal_samples(asked)
    held = io.BytesIO()
    both = np.column_stack((samples, samples))
    soundfile.write(held, both, asked.rate, format="WAV", subtype="PCM_24")
    write_whole(path, held.getvalue(), replace=replace)
