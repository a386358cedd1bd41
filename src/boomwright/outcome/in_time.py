"""The sound of a build in time: how late each frequency comes, and its answer to a step."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from boomwright.outcome.sound import SoundOutcome
from boomwright.physics.arrays import Complexes, Floats
from boomwright.physics.time_response import group_delay, step_response

__all__ = ["InTime", "in_time"]

_SPACING: Final = 2.0
_HIGHEST: Final = 20e3


@dataclass(frozen=True, eq=False)
class InTime:
    """Sound of a whole build in time, on the axis at 1 m, the way of the sound left out.

    Parameters
    ----------
    frequency : array, shape (n,)
        Frequencies [Hz].
    delay : array, shape (n,)
        Group delay [s].
    time : array, shape (m,)
        Time since the step [s].
    step : array, shape (m,)
        Answer to a step of voltage over its greatest value [1].
    """

    frequency: Floats
    delay: Floats
    time: Floats
    step: Floats


def in_time(sound: SoundOutcome) -> InTime:
    """Group delay and step response of a build.

    As the model has it: drivers that beam or break up, edges and walls do more in the treble than
    stands here. Good in the bass and at the crossover.

    Parameters
    ----------
    sound : SoundOutcome
        Its sound over frequency.

    Returns
    -------
    InTime
    """
    even = np.arange(_SPACING, _HIGHEST + _SPACING, _SPACING)
    found = step_response(_resampled(sound.pressure, sound.frequency, even), _SPACING)
    return InTime(
        frequency=sound.frequency,
        delay=group_delay(sound.pressure, sound.frequency),
        time=found.time,
        step=found.step / np.max(np.abs(found.step)),
    )


def _resampled(response: Complexes, frequency: Floats, even: Floats) -> Complexes:
    """Response on another grid; below the lowest frequency its size falls on as it did."""
    at, wanted = np.log(frequency), np.log(even)
    size, phase = np.log(np.abs(response)), np.unwrap(np.angle(response))
    slope = (size[1] - size[0]) / (at[1] - at[0])
    below = np.minimum(wanted - at[0], 0.0) * slope
    found = np.exp(np.interp(wanted, at, size) + below + 1j * np.interp(wanted, at, phase))
    return np.asarray(found, dtype=np.complex128)
