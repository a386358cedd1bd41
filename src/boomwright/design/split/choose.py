"""Filters of both halves: values, the pad that levels them, the branch against the coil."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from boomwright.build.filters import FilterStep
from boomwright.design.split.branch import Branch, chain, plain_step
from boomwright.design.split.drive import Drive
from boomwright.design.split.solve import (
    Section,
    Solution,
    book_values,
    solve_section,
    strays,
    wire_for,
)
from boomwright.design.split.wish import SplitWish
from boomwright.physics.air_coil import air_coil
from boomwright.physics.arrays import Floats
from boomwright.physics.curves import decibels
from boomwright.physics.ladder import Place, ladder
from boomwright.physics.pads import impedance_correction, l_pad
from boomwright.physics.preferred import Series, nearest_preferred, preferred_values

__all__ = ["Half", "high_half", "low_half", "padded", "with_values"]

_LEAST_PAD = 0.4
"""Level below which a pad is not worth its resistors [dB]."""

_ROUNDS = 3
_CORRECTION_GAIN = 0.3
"""Nearer by this much the branch against the coil must bring the sound to be put in [dB]."""

_THIN = 0.7e-3


@dataclass(frozen=True, eq=False)
class Half:
    """One driver with the filter that was found for it.

    Parameters
    ----------
    branch : Branch
        Driver and filter.
    section : Section
        What it was solved for.
    solution : Solution
        Values and how near they come.
    book : Solution
        How the book's values for the rated impedance would do.
    correction : bool
        Whether the branch against the coil is in.
    spared : float
        How much nearer the branch would bring it, or has brought it [dB]; not a number where the
        coil has no inductance that is known.
    pad : float
        Level that the pad takes [dB]; 0 without one.
    level : float
        Level of its flat band for one volt at the amplifier, 1 m [dB re 1 Pa].
    """

    branch: Branch
    section: Section
    solution: Solution
    book: Solution
    correction: bool
    spared: float
    pad: float
    level: float


def low_half(drive: Drive, frequency: float, wish: SplitWish) -> Half:
    """Low-pass for a woofer.

    Parameters
    ----------
    drive : Drive
        The woofer.
    frequency : float
        Where the bands meet [Hz].
    wish : SplitWish
        What is wanted.

    Returns
    -------
    Half
    """
    section = _section(drive, frequency, wish, high_pass=False)
    plain = solve_section(section, wish.parts, _starts(section))
    branch = _against_coil(drive, wish.parts)
    spared = float("nan")
    chosen, chosen_section, corrected = plain, section, False
    if branch is not None and wish.correction is not False:
        other = replace(section, tail=(plain_step(branch),))
        found = solve_section(other, wish.parts, _starts(other))
        spared = plain.error - found.error
        if wish.correction or spared >= _CORRECTION_GAIN:
            chosen, chosen_section, corrected = found, other, True
    tail = (branch,) if corrected and branch is not None else ()
    return Half(
        branch=Branch(drive, (*_written(chosen_section, chosen), *tail)),
        section=chosen_section,
        solution=chosen,
        book=strays(section, book_values(section, drive.rated)),
        correction=corrected,
        spared=spared,
        pad=0.0,
        level=_level(drive, chosen),
    )


def high_half(drive: Drive, frequency: float, wish: SplitWish, *, level: float | None) -> Half:
    """High-pass for a tweeter, turned down to the woofer's level.

    Parameters
    ----------
    drive : Drive
        The tweeter.
    frequency : float
        Where the bands meet [Hz].
    wish : SplitWish
        What is wanted.
    level : float or None
        The woofer's [dB re 1 Pa]; None leaves the tweeter as loud as it is.

    Returns
    -------
    Half
    """
    section = _section(drive, frequency, wish, high_pass=True)
    found = solve_section(section, wish.parts, _starts(section))
    tail: tuple[FilterStep, ...] = ()
    asked = pad = 0.0
    for _ in range(_ROUNDS):
        over = _level(drive, found) - level if level is not None else 0.0
        if level is None or (asked == 0.0 and over < _LEAST_PAD):
            break
        asked = max(asked + over, 0.0)
        if asked < _LEAST_PAD:
            break
        tail, pad = _pad(drive, frequency, asked, wish.parts)
        section = replace(section, tail=tuple(plain_step(step) for step in tail))
        found = solve_section(section, wish.parts, _starts(section))
    plain = replace(section, tail=())
    return Half(
        branch=Branch(drive, (*_written(section, found), *tail)),
        section=section,
        solution=found,
        book=strays(plain, book_values(plain, drive.rated)),
        correction=False,
        spared=float("nan"),
        pad=pad,
        level=_level(drive, found),
    )


def padded(half: Half, level: float, wish: SplitWish) -> Half:
    """A tweeter's half with the pad that brings it to a level, its values kept.

    Parameters
    ----------
    half : Half
        The tweeter's.
    level : float
        Level wanted [dB re 1 Pa].
    wish : SplitWish
        What is wanted.

    Returns
    -------
    Half
    """
    asked = half.pad + half.level - level
    section, drive = half.section, half.branch.drive
    tail: tuple[FilterStep, ...] = ()
    pad = 0.0
    if asked >= _LEAST_PAD:
        tail, pad = _pad(drive, section.frequency, asked, wish.parts)
    section = replace(section, tail=tuple(plain_step(step) for step in tail))
    solution = strays(section, half.solution.values)
    return replace(
        half,
        branch=replace(half.branch, filter=(*_written(section, solution), *tail)),
        section=section,
        solution=solution,
        pad=pad,
        level=_level(drive, solution),
    )


def with_values(half: Half, values: Floats) -> Half:
    """The same half with other values in its filter."""
    solution = strays(half.section, values)
    kept = half.branch.filter[half.section.order :]
    return replace(
        half,
        branch=replace(half.branch, filter=(*_written(half.section, solution), *kept)),
        solution=solution,
        level=_level(half.branch.drive, solution),
    )


def _section(drive: Drive, frequency: float, wish: SplitWish, *, high_pass: bool) -> Section:
    section = Section(drive, high_pass, frequency, wish.alignment, wish.order, wish.wire or _THIN)
    if wish.wire is not None or high_pass:
        return section
    # The coil in the woofer's lead sets the wire: it carries all the power.
    coil = float(book_values(section, drive.rated)[0])
    return replace(section, wire=wire_for(coil, drive.rated))


def _starts(section: Section) -> list[Floats]:
    """Book values for what the driver really is around the split, and for its label."""
    at = section.frequency
    load = section.drive.impedance(np.array([at]))[:1]
    if section.tail:
        load = ladder(section.tail, load, np.array([at])).impedance
    there = float(np.abs(load)[0, 0])
    return [book_values(section, there), book_values(section, section.drive.rated)]


def _written(section: Section, solution: Solution) -> tuple[FilterStep, ...]:
    steps = []
    for place, value in enumerate(float(one) for one in solution.values):
        where: Place = "across" if place % 2 else "series"
        if section.high_pass == (place % 2 == 0):
            steps.append(chain(where, capacitor=value))
        else:
            winding = float(air_coil(value, section.wire).resistance)
            steps.append(chain(where, coil=value, winding=winding))
    return tuple(steps)


def _level(drive: Drive, solution: Solution) -> float:
    return float(decibels(drive.flat)[0, 0]) + solution.taken


def _against_coil(drive: Drive, series: Series) -> FilterStep | None:
    """Branch across a driver against the rise of its coil, None where that is not known."""
    model = drive.voice.model
    if model is None or not float(np.max(model.le + model.le2)) > 0.0:
        return None
    joined = drive.voice.joined
    found = impedance_correction(model.re, model.le, le2=model.le2, re2=model.re2)
    resistor, capacitor = (
        float(nearest_preferred(value.ravel()[0], series))
        for value in (found.resistance * joined, found.capacitance / joined)
    )
    return chain("across", resistor=resistor, capacitor=capacitor)


def _pad(
    drive: Drive, frequency: float, asked: float, series: Series
) -> tuple[tuple[FilterStep, ...], float]:
    """Pad of preferred resistors on the real driver, and what it takes [dB]."""
    hertz = np.geomspace(frequency, min(4.0 * frequency, 20e3), 12)
    load = drive.impedance(hertz)[:1]
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
