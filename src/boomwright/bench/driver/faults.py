"""What is wrong with a sweep before anything is fitted to it, named with what to do."""

from __future__ import annotations

import numpy as np

from boomwright.bench.driver.start import Hump, humps, quieted
from boomwright.bench.driver.sweep import ImpedanceSweep
from boomwright.build.quantities import format_quantity
from boomwright.design.sheet import Remark
from boomwright.errors import Problem

__all__ = ["looked_at", "mass_remarks"]

_FLAT = 1.15
_OPEN = 1000.0
_SHORT = 0.3
_COARSE, _TOO_COARSE = 6, 3
_REACH = 2.5
_HALF_OCTAVE = np.sqrt(2.0)
_LEAST_SHIFT, _MOST_SHIFT = 0.15, 0.5


def looked_at(
    sweep: ImpedanceSweep, *, re: float | None, peaks: int = 1
) -> tuple[list[Hump], list[Remark], list[Problem]]:
    """Peaks of a sweep, what to mind about it, and why it cannot be used.

    Parameters
    ----------
    sweep : ImpedanceSweep
        In rising order.
    re : float or None
        D.c. resistance where it is known [Ω].
    peaks : int
        How many it must have: 2 for a vented box.

    Returns
    -------
    list of Hump, list of Remark, list of Problem
        No problem where it can be used.
    """
    calm = quieted(sweep)
    problem = _no_driver(sweep, calm)
    if problem is not None:
        return [], [], [problem]
    found = humps(sweep, re=re)
    span = f"{_hz(sweep.frequency[0])} to {_hz(sweep.frequency[-1])}"
    if _blocked(sweep, calm, found):
        return [], [], [
            Problem(
                "the impedance rises without end towards low frequencies: a capacitor in series",
                got=f"{calm[0]:.3g} Ω at {_hz(sweep.frequency[0])}",
                file=sweep.source,
                hint="Take the capacitor or filter out and measure at the driver's own terminals.",
            )
        ]  # fmt: skip
    if len(found) < peaks:
        return found, [], [_no_peak(sweep, span, len(found), peaks)]
    used = found[:peaks]
    problems, remarks = [], []
    # Single readings say where they stand themselves; a fit to them needs no skirts.
    for hump in used if peaks == 1 and sweep.error is None else []:
        # A strong inductance may lift the upper skirt: then its whole length has to do.
        lacks = [
            side
            for side, at, reach in (
                ("below", hump.below, hump.frequency / sweep.frequency[0]),
                ("above", hump.above, sweep.frequency[-1] / hump.frequency),
            )
            if not np.isfinite(at) and reach < _REACH
        ]
        if lacks:
            problems.append(
                Problem(
                    f"the sweep does not come down from its peak {' and '.join(lacks)} it",
                    got=f"{span}, peak at {_hz(hump.frequency)}",
                    expected="from a third of the peak's frequency to three times it, or wider",
                    file=sweep.source,
                    hint="Measure over a wider span.",
                )
            )
        elif np.isfinite(hump.above - hump.below) and hump.points < _TOO_COARSE:
            problems.append(
                Problem(
                    "too coarse: the peak falls between the points",
                    got=f"{hump.points} points between {_hz(hump.below)} and {_hz(hump.above)}",
                    expected=f"{_COARSE} or more there",
                    file=sweep.source,
                    hint="Measure with smaller steps around the peak.",
                )
            )
        elif np.isfinite(hump.above - hump.below) and hump.points < _COARSE:
            remarks.append(
                Remark(
                    "mind",
                    f"Only {hump.points} points lie on the peak; its Q values are loose.",
                    "Measure with smaller steps around it.",
                )
            )
    return used, remarks, problems


def _no_driver(
    sweep: ImpedanceSweep, calm: np.ndarray[tuple[int], np.dtype[np.float64]]
) -> Problem | None:
    least, most = float(calm.min()), float(calm.max())
    middle = format_quantity(float(np.median(calm)), "resistance")
    if least > _OPEN:
        return Problem(
            "nothing is connected, or the coil is open",
            got=f"{middle} or more all along",
            file=sweep.source,
            hint="Check the leads and the coil with an ohmmeter.",
        )
    if most < _SHORT:
        return Problem(
            "the leads are shorted, or the channels are swapped",
            got=f"{middle} all along",
            file=sweep.source,
            hint="Check the leads.",
        )
    if most < _FLAT * least:
        return Problem(
            "flat: this is a resistor, not a driver",
            got=f"{middle} all along",
            file=sweep.source,
            hint="A driver shows a peak at its resonance; check which part was measured.",
        )
    return None


def _blocked(
    sweep: ImpedanceSweep, calm: np.ndarray[tuple[int], np.dtype[np.float64]], found: list[Hump]
) -> bool:
    """Whether the curve falls like that of a capacitor from its lowest frequency on."""
    low = sweep.frequency <= sweep.frequency[0] * _HALF_OCTAVE
    if np.count_nonzero(low) < 3:
        return False
    logs = np.log(sweep.frequency[low])
    slope = float(np.polyfit(logs, np.log(calm[low]), 1)[0])
    if slope > -0.6:
        return False
    # The upper skirt of a resonance falls as steeply, but its own peak is not inside then.
    quarter_turn = sweep.phase is not None and float(np.median(sweep.phase[low])) < -1.2
    return bool(found) or quarter_turn


def _no_peak(sweep: ImpedanceSweep, span: str, found: int, wanted: int) -> Problem:
    if wanted == 2:
        return Problem(
            f"{found} peak{'s' * (found != 1)} found, a vented box shows two",
            got=span,
            file=sweep.source,
            hint="Measure from 10 Hz on with small steps; if the vent is shut it is --cabinet "
            "closed.",
        )
    place = int(np.argmax(sweep.magnitude))
    hint = "Measure over a wider span."
    if place == 0:
        hint = "The resonance lies below: start at a lower frequency."
    elif place == sweep.frequency.size - 1:
        hint = (
            "The curve only rises: start lower, or the driver is clamped, or its cone is held "
            "by something."
        )
    return Problem("no resonance peak inside the sweep", got=span, file=sweep.source, hint=hint)


def mass_remarks(free: float, loaded: float, *, source: str = "") -> list[Remark | Problem]:
    """Whether an added mass shifted the resonance by an amount that tells something.

    Parameters
    ----------
    free, loaded : float
        Resonance without and with the mass [Hz].
    source : str
        The sweep, for messages.

    Returns
    -------
    list of Remark or Problem

    Examples
    --------
    >>> mass_remarks(40.0, 32.0)
    []
    >>> mass_remarks(40.0, 41.0)[0].got
    '41 Hz with the mass, 40 Hz without'
    """
    shift = 1.0 - loaded / free
    if shift <= 0.01:
        return [
            Problem(
                "the added mass did not lower the resonance",
                got=f"{_hz(loaded)} with the mass, {_hz(free)} without",
                file=source,
                hint="Check that the two sweeps are not swapped and that the mass sat on the cone.",
            )
        ]
    share = f"The mass lowered the resonance by {100.0 * shift:.0f} %"
    if shift < _LEAST_SHIFT:
        return [
            Remark("mind", f"{share}, too little to weigh the cone well.", "Take twice the mass.")
        ]
    if shift > _MOST_SHIFT:
        return [
            Remark(
                "mind",
                f"{share}, so much that the cone may sag or rock.",
                "Take a quarter of the mass.",
            )
        ]
    return []


def _hz(value: float) -> str:
    return format_quantity(float(value), "frequency")
