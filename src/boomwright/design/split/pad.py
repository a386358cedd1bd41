"""The pad that turns a tweeter down to its woofer."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np

from boomwright.build.filters import FilterStep
from boomwright.design.split.branch import chain, plain_step
from boomwright.design.split.drive import Drive
from boomwright.physics.arrays import Floats
from boomwright.physics.curves import decibels
from boomwright.physics.ladder import ladder
from boomwright.physics.pads import l_pad
from boomwright.physics.preferred import Series, preferred_values

__all__ = ["level_pad"]


def level_pad(
    drive: Drive, frequency: float, asked: float, series: Series, *, last: Sequence[FilterStep]
) -> tuple[tuple[FilterStep, ...], float]:
    """Pad of preferred resistors on the real driver.

    Parameters
    ----------
    drive : Drive
        The tweeter.
    frequency : float
        Where its band begins [Hz].
    asked : float
        Level to take [dB].
    series : str
        Series of preferred values.
    last : sequence of FilterStep
        What stands between pad and driver.

    Returns
    -------
    tuple of FilterStep, float
        The pad, and what it takes [dB].
    """
    hertz = np.geomspace(frequency, min(4.0 * frequency, 20e3), 12)
    behind = [plain_step(step) for step in last]
    load = ladder(behind, drive.impedance(hertz)[:1], hertz).impedance
    middle = float(np.median(np.abs(load)))
    wanted = l_pad(middle, asked)
    near = [_near(float(value), series) for value in (wanted.series, wanted.across)]
    best: tuple[float, tuple[FilterStep, ...], float] | None = None
    for above, beside in product(*near):
        steps = (chain("series", resistor=above), chain("across", resistor=beside))
        found = ladder([plain_step(step) for step in steps], load, hertz)
        taken = -float(np.mean(decibels(found.transfer)))
        kept = float(np.median(np.abs(found.impedance))) / middle
        # A tenth of the impedance counts as a fifth of a decibel.
        miss = abs(taken - asked) + 2.0 * abs(kept - 1.0)
        if best is None or miss < best[0]:
            best = miss, steps, taken
    if best is None:
        raise ValueError(f"series {series} has no values for a pad")
    return best[1], best[2]


def _near(value: float, series: Series) -> Floats:
    """Four preferred values around one."""
    decade = 10.0 ** np.floor(np.log10(value))
    every = np.concatenate([preferred_values(series) * decade * step for step in (0.1, 1.0, 10.0)])
    return np.sort(every[np.argsort(np.abs(np.log(every / value)))[:4]])
