"""Filters of both halves: which parts, their values, the pad that levels them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from boomwright.build.filters import FilterStep
from boomwright.design.split.branch import Branch, chain, plain_step
from boomwright.design.split.drive import Drive
from boomwright.design.split.pad import level_pad
from boomwright.design.split.section import Section, book_values, wire_for
from boomwright.design.split.solve import Solution, solve_section, strays
from boomwright.design.split.target import Target
from boomwright.design.split.wish import SplitWish
from boomwright.physics.air_coil import air_coil
from boomwright.physics.arrays import Floats
from boomwright.physics.curves import decibels
from boomwright.physics.ladder import Place, ladder
from boomwright.physics.pads import impedance_correction
from boomwright.physics.preferred import Series, nearest_preferred

__all__ = ["Half", "high_halves", "low_halves", "padded", "with_values"]

_LEAST_PAD = 0.8
"""Level below which a pad is not worth its resistors [dB]."""

_ROUNDS, _PAD_MISS = 3, 0.2
"""How often pad and values are brought together, and the miss that ends it [dB]."""

_PART_WORTH = 0.15
"""Nearer by this much each part must bring the sound to be put in [dB]."""

_FAR_BEHIND = 1.2
"""How much more than the best a half may stray for both together to be tried with it [dB]."""

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
    strays : float
        Root of the mean square by which it misses all that is wanted of it, ringing and low
        impedance counted [dB].
    last : tuple of FilterStep
        What stands at the driver's terminals, behind filter and pad.
    pad : float
        Level that the pad takes [dB]; 0 without one.
    level : float
        Level of its flat band for one volt at the amplifier, 1 m [dB re 1 Pa].
    """

    branch: Branch
    section: Section
    solution: Solution
    book: Solution
    strays: float
    last: tuple[FilterStep, ...]
    pad: float
    level: float

    @property
    def correction(self) -> bool:
        """Whether the branch against the coil is in."""
        return bool(self.last)

    @property
    def worth(self) -> float:
        """What its parts must have brought to be put in [dB]."""
        return _PART_WORTH * sum(len(step.components) for step in self.branch.filter)

    @property
    def score(self) -> float:
        """Its strays and what its parts must be worth, the less the better [dB]."""
        return self.strays + self.worth


def low_halves(drive: Drive, frequency: float, wish: SplitWish) -> tuple[Half, ...]:
    """Low-passes for a woofer, the best of each number of coils and capacitors.

    The driver's own fall may do what the last of them were for. Where a capacitor rings with the
    driver's coil, a resistor beside it or the branch against the coil is tried.

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
    tuple of Half
        Best first, its parts counted.
    """
    branch = None if wish.correction is False else _against_coil(drive, wish.parts)
    tails: list[tuple[FilterStep, ...]] = [] if wish.correction and branch is not None else [()]
    if branch is not None:
        tails.append((branch,))
    plain = _section(drive, frequency, wish, high_pass=False)
    book = strays(plain, book_values(plain, drive.rated))
    found = []
    for left_out in range(wish.order):
        halves = []
        for tail, damped in product(tails, (False, True)):
            # Either alone takes the ringing away.
            if damped and (tail or plain.order - left_out < 2):
                continue
            section = replace(plain, left_out=left_out, damped=damped)
            halves.append(_solved(section, book, wish.parts, last=tail))
        found.append(min(halves, key=lambda half: half.score))
    return _sorted(found)


def _sorted(halves: Iterable[Half]) -> tuple[Half, ...]:
    """Best first, without those that are far behind it."""
    found = sorted(halves, key=lambda half: half.score)
    return tuple(half for half in found if half.score <= found[0].score + _FAR_BEHIND)


def _solved(
    section: Section,
    book: Solution,
    series: Series,
    *,
    last: tuple[FilterStep, ...],
    pad: tuple[tuple[FilterStep, ...], float] = ((), 0.0),
) -> Half:
    """Half with the values that suit its section."""
    section = replace(section, tail=tuple(plain_step(step) for step in (*pad[0], *last)))
    solution = solve_section(section, series, _starts(section))
    return _half(section, book, solution, last=last, pad=pad)


def _half(
    section: Section,
    book: Solution,
    solution: Solution,
    *,
    last: tuple[FilterStep, ...],
    pad: tuple[tuple[FilterStep, ...], float],
) -> Half:
    return Half(
        branch=Branch(section.drive, (*_written(section, solution), *pad[0], *last)),
        section=section,
        solution=solution,
        book=book,
        strays=_strays(section, solution),
        last=last,
        pad=pad[1],
        level=_level(section.drive, solution),
    )


def _strays(section: Section, solution: Solution) -> float:
    return float(np.sqrt(Target(section).cost(solution.values[np.newaxis])[0]))


def high_halves(
    drive: Drive, frequency: float, wish: SplitWish, *, level: float | None
) -> tuple[Half, ...]:
    """High-passes for a tweeter, turned down to the woofer's level.

    One plain, one with the branch against its coil, which rings with a capacitor in its lead.

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
    tuple of Half
        Best first, its parts counted.
    """
    plain = _section(drive, frequency, wish, high_pass=True)
    book = strays(plain, book_values(plain, drive.rated))
    branch = None if wish.correction is False else _against_coil(drive, wish.parts)
    halves = []
    for last in [()] if branch is None else [(), (branch,)]:
        half = _solved(plain, book, wish.parts, last=last)
        for _ in range(_ROUNDS):
            if level is None or (half.pad > 0.0 and abs(half.level - level) < _PAD_MISS):
                break
            pad = _wanted_pad(half, level, wish.parts)
            if not pad[0]:
                break
            half = _solved(plain, book, wish.parts, last=last, pad=pad)
        halves.append(half)
    return _sorted(halves)


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
    pad = _wanted_pad(half, level, wish.parts)
    section = replace(half.section, tail=tuple(plain_step(step) for step in (*pad[0], *half.last)))
    solution = strays(section, half.solution.values)
    return _half(section, half.book, solution, last=half.last, pad=pad)


def _wanted_pad(half: Half, level: float, series: Series) -> tuple[tuple[FilterStep, ...], float]:
    asked = half.pad + half.level - level
    if asked < _LEAST_PAD:
        return (), 0.0
    section = half.section
    return level_pad(section.drive, section.frequency, asked, series, last=half.last)


def with_values(half: Half, values: Floats) -> Half:
    """The same half with other values in its filter."""
    solution = strays(half.section, values)
    kept = half.branch.filter[half.section.reactive :]
    return replace(
        half,
        branch=replace(half.branch, filter=(*_written(half.section, solution), *kept)),
        solution=solution,
        strays=_strays(half.section, solution),
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
    values = [float(one) for one in solution.values]
    for place, value in enumerate(values[: section.reactive]):
        where: Place = "across" if place % 2 else "series"
        if not section.is_capacitor(place):
            winding = float(air_coil(value, section.wire).resistance)
            steps.append(chain(where, coil=value, winding=winding))
        elif place == section.damped_place:
            steps.append(chain(where, resistor=values[-1], capacitor=value))
        else:
            steps.append(chain(where, capacitor=value))
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
