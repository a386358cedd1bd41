"""A driver that nobody measured: what its class lets expect, and what to measure first.

The ranges are those of the parts drawer. Which measurement tells most is worked out: many drivers
are drawn from the class, and the spread of what the builder wants to know is set against the
spread that is left once a quantity is known.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from boomwright.build.audio import Driver
from boomwright.build.drawer import Drawer
from boomwright.build.quantities import Quantity, format_quantity
from boomwright.errors import InputError, Problem
from boomwright.physics.arrays import Floats
from boomwright.physics.loudspeaker import qts, sensitivity_from_parameters, voltage_sensitivity

__all__ = [
    "MEASURES",
    "Answer",
    "Measure",
    "Next",
    "TypicalDriver",
    "drawer_class",
    "typical_driver",
]

_INCH = 0.0254
_SIZE = re.compile(r"^(?P<kind>[a-z-]+?)-(?P<whole>\d+)in(?P<part>\d?)-(?P<ohms>\d+)ohm$")
_NEEDED = ("re", "fs", "qms", "qes", "vas", "sd", "sensitivity")
_TWO_SIDES = 1.959964
_DRAWN = 2000
_LEAST = 0.02
_FLAT = 0.7071
_SEED = 20


@dataclass(frozen=True)
class Measure:
    """Something that can be measured at a home bench.

    Parameters
    ----------
    name : str
        What it is called.
    tells : tuple of str
        Which quantities it tells.
    error : float
        Usual standard error at a home bench, as a share, of a level in decibels; common
        practice, no source.
    how : str
        What to do.
    """

    name: str
    tells: tuple[str, ...]
    error: float
    how: str


MEASURES: tuple[Measure, ...] = (
    Measure(
        "resonance",
        ("fs",),
        0.01,
        "Tone and resistor: the frequency where the volts at the driver are highest.",
    ),
    Measure(
        "side frequencies",
        ("qms", "qes"),
        0.04,
        "The volts at the peak and the two frequencies beside it: boomwright identify sheet.",
    ),
    Measure(
        "added mass or test box",
        ("vas",),
        0.08,
        "Coins on the cone, or a tight box of known volume: how far the resonance moves.",
    ),
    Measure(
        "cone diameter", ("sd",), 0.03, "Ruler: the cone and half the surround on either side."
    ),
    Measure(
        "d.c. ohms", ("re",), 0.01, "Ohmmeter at the terminals, the leads' own ohms taken off."
    ),
    Measure(
        "level at 1 m",
        ("sensitivity",),
        1.5,
        "Sound level meter outdoors at 1 m, 2.83 V of noise in the driver's band; mind your ears.",
    ),
)
"""What can be measured, in the order of effort."""


@dataclass(frozen=True)
class Answer:
    """Something that the builder wants to know, with the range that holds 9 in 10.

    Parameters
    ----------
    name : str
        What it is.
    low, likely, high : float
        SI units.
    kind : str
        Kind of quantity.
    """

    name: str
    low: float
    likely: float
    high: float
    kind: str


@dataclass(frozen=True)
class Next:
    """A measurement to make next.

    Parameters
    ----------
    measure : Measure
        Which.
    narrows : tuple of float
        Share of the spread, as it is left by those before, that it takes away from each answer.
    """

    measure: Measure
    narrows: tuple[float, ...]


@dataclass(frozen=True)
class TypicalDriver:
    """What a class lets expect.

    Parameters
    ----------
    part : str
        Name in the drawer.
    title : str
        What it is.
    others : tuple of str
        Other classes of that size.
    quantities : dict of str to Quantity
        Parameters with their ranges.
    answers : tuple of Answer
        What follows for the stated cabinet.
    measure_next : tuple of Next
        Three measurements, the one that tells most first.
    """

    part: str
    title: str
    others: tuple[str, ...]
    quantities: dict[str, Quantity]
    answers: tuple[Answer, ...]
    measure_next: tuple[Next, ...]


def drawer_class(
    drawer: Drawer, *, size: float, ohms: float | None, kind: str
) -> tuple[str, tuple[str, ...]]:
    """Part of the drawer that stands for a driver's class, and its neighbours of that size.

    Parameters
    ----------
    drawer : Drawer
        The drawer.
    size : float
        Nominal diameter [m].
    ohms : float or None
        Rated impedance [Ω]; any if None.
    kind : str
        Start of the part's name, such as ``driver``, ``woofer`` or ``pa``; the first if empty.

    Returns
    -------
    str, tuple of str
        Name of the part, names of the others.

    Raises
    ------
    InputError
        If the drawer has no such class; the nearest sizes are named.
    """
    sized = []
    for name in drawer.names("driver"):
        found = _SIZE.match(name)
        if found is None or not _complete(drawer, name):
            continue
        inches = float(f"{found['whole']}.{found['part'] or 0}")
        sized.append((name, found["kind"], inches, float(found["ohms"])))
    wanted = size / _INCH
    near = [item for item in sized if abs(item[2] / wanted - 1.0) < 0.06]
    same = [item for item in near if ohms is None or abs(item[3] / ohms - 1.0) < 0.3]
    kept = [item for item in same if not kind or item[1] == kind]
    if kept:
        return kept[0][0], tuple(item[0] for item in near if item[0] != kept[0][0])
    if not near:
        sizes = sorted({item[2] for item in sized}, key=lambda inches: abs(inches - wanted))[:3]
        problem = Problem(
            "no class of that size in the drawer",
            got=f"{wanted:.3g} in",
            hint=f"The nearest: {', '.join(f'{inches:g} in' for inches in sorted(sizes))}.",
        )
    else:
        problem = Problem(
            "no such class of that size",
            got=" ".join(part for part in (kind, "" if ohms is None else f"{ohms:g} Ω") if part),
            hint=f"There are: {', '.join(item[0] for item in near)}.",
        )
    raise InputError([problem])


def _complete(drawer: Drawer, name: str) -> bool:
    filling = drawer.filling("driver", name) or {}
    return all(key in filling for key in _NEEDED)


def typical_driver(
    drawer: Drawer,
    *,
    size: float,
    ohms: float | None = None,
    kind: str = "",
    volume: float | None = None,
) -> TypicalDriver:
    """What the class of a driver lets expect, and which three measurements tell most.

    Parameters
    ----------
    drawer : Drawer
        The drawer.
    size : float
        Nominal diameter [m].
    ohms : float or None
        Rated impedance [Ω].
    kind : str
        Start of the part's name; the first of that size if empty.
    volume : float or None
        Closed box that it is meant for [m³]; as large as its likely Vas if None.

    Returns
    -------
    TypicalDriver

    Raises
    ------
    InputError
        If the drawer has no such class.
    """
    part, others = drawer_class(drawer, size=size, ohms=ohms, kind=kind)
    item = drawer.part("driver", part)
    if not isinstance(item, Driver):
        raise TypeError(part)
    quantities = {name: getattr(item, name) for name in _NEEDED}
    box = quantities["vas"].likely if volume is None else volume
    drawn = _drawn(quantities)
    names, kinds, table = _answered(drawn, box)
    answers = []
    for name, counted_in, column in zip(names, kinds, table, strict=True):
        low, likely, high = (float(value) for value in np.quantile(column, (0.05, 0.5, 0.95)))
        answers.append(Answer(name, low, likely, high, counted_in))
    return TypicalDriver(
        part, item.title or part, others, quantities, tuple(answers), _ranked(drawn, kinds, table)
    )


def _drawn(quantities: dict[str, Quantity]) -> dict[str, Floats]:
    """Drivers drawn from a class.

    Each range holds 95 in 100. The compliance is drawn, not Vas, so that a larger cone has a
    larger Vas; drivers whose parameters make a level that the class does not have are thinned out.
    """
    generator = np.random.default_rng(_SEED)

    def width(quantity: Quantity) -> float:
        return max(math.log(quantity.high / quantity.low) / (2.0 * _TWO_SIDES), 1e-3)

    count = 12 * _DRAWN
    drawn = {
        name: math.sqrt(quantities[name].low * quantities[name].high)
        * np.exp(width(quantities[name]) * generator.normal(size=count))
        for name in ("re", "fs", "qms", "qes", "sd")
    }
    vas, area = quantities["vas"], quantities["sd"]
    stiff = math.sqrt(max(width(vas) ** 2 - 4.0 * width(area) ** 2, (0.3 * width(vas)) ** 2))
    middle = math.sqrt(vas.low * vas.high)
    relative = drawn["sd"] / math.sqrt(area.low * area.high)
    drawn["vas"] = middle * relative**2 * np.exp(stiff * generator.normal(size=count))
    level = sensitivity_from_parameters(drawn["fs"], drawn["vas"], qes=drawn["qes"])
    said = quantities["sensitivity"]
    off = (level - 0.5 * (said.low + said.high)) / ((said.high - said.low) / (2.0 * _TWO_SIDES))
    kept = generator.random(count) < np.exp(-0.5 * off**2)
    drawn["sensitivity"] = level
    return {name: values[kept][:_DRAWN] for name, values in drawn.items()}


def _answered(
    drawn: dict[str, Floats], volume: float
) -> tuple[tuple[str, ...], tuple[str, ...], list[Floats]]:
    """Resonance in the box, level at 2.83 V, and the closed box of flattest response."""
    total = qts(drawn["qms"], drawn["qes"])
    resonance = drawn["fs"] * np.sqrt(1.0 + drawn["vas"] / volume)
    level = voltage_sensitivity(drawn["sensitivity"], resistance=drawn["re"])
    # Above a Qts of 0.7 no box is large enough; there it counts as a very large one.
    flat = drawn["vas"] / np.maximum((_FLAT / total) ** 2 - 1.0, 0.05)
    box = format_quantity(volume, "volume")
    names = (f"resonance in {box} closed", "level at 1 m, 2.83 V", "closed box for Qtc 0.71")
    return names, ("frequency", "decibel", "volume"), [resonance, level, flat]


def _ranked(
    drawn: dict[str, Floats], kinds: Sequence[str], table: Sequence[Floats]
) -> tuple[Next, ...]:
    """Three measurements, each the best after those before it.

    What a measurement takes away is the share of an answer's variance that a smooth function of
    the measured quantities explains.
    """
    wanted = [
        column if kind == "decibel" else np.log(column)
        for kind, column in zip(kinds, table, strict=True)
    ]
    read = _read(drawn)
    left, done = list(MEASURES), []
    known: tuple[str, ...] = ()
    before = [1.0] * len(wanted)
    for _ in range(3):
        tries = []
        for measure in left:
            after = [_unexplained(column, read, (*known, *measure.tells)) for column in wanted]
            shares = tuple(
                1.0 - one / other if other > _LEAST else 0.0
                for one, other in zip(after, before, strict=True)
            )
            gain = sum(other - one for one, other in zip(after, before, strict=True))
            tries.append((gain, measure, shares, after))
        gain, measure, shares, after = max(tries, key=lambda item: item[0])
        done.append(Next(measure, tuple(max(share, 0.0) for share in shares)))
        left.remove(measure)
        known, before = (*known, *measure.tells), after
    return tuple(done)


def _read(drawn: dict[str, Floats]) -> dict[str, Floats]:
    """What the bench would read of the drivers drawn: logarithms and levels with their errors."""
    generator = np.random.default_rng(_SEED + 1)
    found = {}
    for measure in MEASURES:
        for name in measure.tells:
            values = drawn[name] if name == "sensitivity" else np.log(drawn[name])
            noisy = values + measure.error * generator.normal(size=values.size)
            found[name] = (noisy - noisy.mean()) / noisy.std()
    return found


def _unexplained(column: Floats, read: dict[str, Floats], names: tuple[str, ...]) -> float:
    """Share of a column's variance that a quadratic in what was read of some names leaves."""
    logs = [read[name] for name in names]
    terms = [np.ones_like(column), *logs]
    terms += [one * other for place, one in enumerate(logs) for other in logs[place:]]
    matrix = np.stack(terms, axis=-1)
    solved = np.linalg.solve(matrix.T @ matrix, matrix.T @ column)
    return float(np.var(column - matrix @ solved) / np.var(column))
