"""A band split: the frequency, both filters on the real drivers, what they do together."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product
from typing import Literal

import numpy as np

from boomwright.circuit.netlist import Netlist
from boomwright.design.sheet import Design, Expected
from boomwright.design.split.branch import Branch
from boomwright.design.split.choose import Half, high_halves, low_halves, padded
from boomwright.design.split.circuit import NAMES, real_netlist, wiring_netlists
from boomwright.design.split.drive import Drive
from boomwright.design.split.heard import (
    GRID,
    Heard,
    amplifier_load,
    greatest_gain,
    heard,
    spread_of,
)
from boomwright.design.split.polish import polished
from boomwright.design.split.ratings import carried, music_of
from boomwright.design.split.remarks import split_remarks
from boomwright.design.split.sheet import CAUTIONS, Found, split_parts, split_readings
from boomwright.design.split.wish import (
    SplitWish,
    band_of,
    checked_split,
    suggested_frequency,
    usual_spacing,
)
from boomwright.physics.arrays import Complexes, Floats
from boomwright.physics.curves import decibels, least_impedance, response_corner
from boomwright.physics.loudspeaker import qts

__all__ = ["SplitDesign", "design_split"]

_TITLES = {
    (True, True): "Two-way split, woofer and tweeter",
    (True, False): "Low-pass for a woofer",
    (False, True): "High-pass for a tweeter",
}
_ALIGNMENTS = {
    "butterworth": "Butterworth",
    "linkwitz-riley": "Linkwitz-Riley",
    "bessel": "Bessel",
}
_ORDERS = {1: "first", 2: "second", 3: "third", 4: "fourth"}
_QUANTILES = (0.05, 0.95)

_PAIRS = 4
"""Choices of parts for both that are brought together before one is taken."""

_ROUNDS, _LEVEL_MISS = 3, 0.4
"""How often pad and values are brought together, and the miss of levels that ends it [dB]."""


@dataclass(frozen=True)
class SplitDesign:
    """A designed split.

    Parameters
    ----------
    design : Design
        Its sheet; the netlist has the drivers as resistors, as the drawing shows them, and the
        woofer alone where the drivers hang on two outputs of the amplifier.
    frequency : float
        Where the bands meet [Hz].
    wish : SplitWish
        What was wanted.
    branches : tuple of Branch
        Woofer first.
    drivers : tuple of str
        Which of woofer and tweeter they are.
    heard : Heard
        Levels over frequency.
    load : array of complex
        What the amplifier sees, over the same frequencies [Ω].
    more : tuple of Netlist
        The circuit of the second output of the amplifier, where the drivers hang on two.
    real : Netlist
        The circuit with the drivers as resistors, coils and capacitors.
    """

    design: Design
    frequency: float
    wish: SplitWish
    branches: tuple[Branch, ...]
    drivers: tuple[str, ...]
    heard: Heard
    load: Complexes
    more: tuple[Netlist, ...]
    real: Netlist

    @property
    def filters(self) -> dict[str, tuple[str, ...]]:
        """Steps of each driver's filter as a build file writes them."""
        return {
            driver: tuple(str(step) for step in branch.filter)
            for driver, branch in zip(self.drivers, self.branches, strict=True)
        }


def design_split(low: Drive | None, high: Drive | None, wish: SplitWish) -> SplitDesign:
    """Design a passive split between a woofer and a tweeter, or the filter of one alone.

    Values are searched on the drivers' own impedance and sound, then taken from the preferred
    series; nothing is left at book values for a resistor.

    Parameters
    ----------
    low, high : Drive or None
        Woofer and tweeter; one may be missing.
    wish : SplitWish
        What is wanted.

    Returns
    -------
    SplitDesign

    Raises
    ------
    InputError
        With all that cannot be.
    """
    checked_split(low, high, wish)
    if wish.spacing is None:
        wish = replace(wish, spacing=usual_spacing(low, high))
    frequency = wish.frequency or suggested_frequency(low, high, wish)
    halves = _halves(low, high, frequency, wish)
    branches = tuple(half.branch for half in halves)
    drivers = tuple(
        name for name, drive in zip(NAMES, (low, high), strict=True) if drive is not None
    )
    kind = f"{_ORDERS[wish.order]} order {_ALIGNMENTS[wish.alignment]}"
    title = f"{_TITLES[low is not None, high is not None]}, {kind}"
    sound = heard(branches, wish)
    load = amplifier_load(branches, wish, GRID)
    taken = [half.solution.taken for half in halves]
    spread = spread_of(branches, frequency, halves[0].level, wish, taken=taken)
    music = music_of(branches, wish)
    found = Found(
        halves=halves,
        drivers=drivers,
        frequency=frequency,
        band=band_of(low, high, wish),
        heard=sound,
        load=load,
        spread=spread,
        music=music,
        carried=carried(branches, wish),
        wish=wish,
    )
    circuits = wiring_netlists(branches, drivers, title, together=wish.together)
    figures = tuple(_figures(found))
    sheet = Design(
        block="split",
        family=kind,
        title=title,
        netlist=circuits[0],
        figures=figures,
        parts=split_parts(found),
        readings=split_readings(found),
        remarks=split_remarks(found),
        cautions=CAUTIONS,
    )
    return SplitDesign(
        design=sheet,
        frequency=frequency,
        wish=wish,
        branches=branches,
        drivers=drivers,
        heard=sound,
        load=load,
        more=circuits[1:],
        real=real_netlist(branches, drivers, title),
    )


def _halves(
    low: Drive | None, high: Drive | None, frequency: float, wish: SplitWish
) -> tuple[Half, ...]:
    woofers = () if low is None else low_halves(low, frequency, wish)
    if high is None:
        return woofers[:1]
    level = woofers[0].level if woofers else None
    tweeters = high_halves(high, frequency, wish, level=level)
    if not woofers:
        return tweeters[:1]
    likely = sorted(product(woofers, tweeters), key=lambda pair: pair[0].score + pair[1].score)
    pairs = [_together(*pair, frequency, wish) for pair in likely[:_PAIRS]]
    _, (below, above) = min(pairs, key=lambda pair: pair[0] + sum(half.worth for half in pair[1]))
    return polished(below, above, frequency, wish, moves=2)[1:]


def _together(
    below: Half, above: Half, frequency: float, wish: SplitWish
) -> tuple[float, tuple[Half, Half]]:
    """Both halves brought together, and the strays that are left [dB]."""
    left, below, above = polished(below, above, frequency, wish)
    for _ in range(_ROUNDS - 1):
        levelled = padded(above, below.level, wish)
        if abs(above.level - below.level) <= _LEVEL_MISS or levelled.pad == above.pad:
            break
        left, below, above = polished(below, levelled, frequency, wish)
    return left, (below, above)


def _figures(found: Found) -> list[Expected]:
    at, wish, spread = found.frequency, found.wish, found.spread
    figures = [Expected("bands meet at", at, at, at, "frequency")]
    both = len(found.halves) > 1
    if both:
        there = int(np.argmin(np.abs(GRID - at)))
        turned = float(found.heard.turned[there] - found.heard.both[there])
        figures += [
            _ranged("both are equally loud at", spread.crosses, "frequency"),
            _ranged("sum where they meet", spread.sum_there, "decibel"),
            _ranged("sum uneven by, an octave either side", spread.uneven, "decibel"),
            _ranged("sum uneven by, all that both cover", spread.uneven_all, "decibel"),
            Expected("dip with the tweeter turned round", turned, turned, turned, "decibel"),
        ]
    for place in range(len(found.halves)):
        figures += _corners(found, place)
        gain = greatest_gain(found.halves[place].branch)
        figures.append(
            Expected(
                f"{found.drivers[place]}'s volts over the amplifier's, most",
                gain.level, gain.level, gain.level, "decibel",
            )
        )  # fmt: skip
    figures += _impedances(found)
    for place, driver in enumerate(found.drivers):
        figures.append(
            Expected(
                f"{driver}'s share of loud music",
                found.music.likely[place],
                found.music.likely[place],
                found.music.clipped[place],
                "power",
            )
        )
    if "woofer" in found.drivers:
        figures += _losses(found.halves[0])
    if found.halves[-1].pad > 0.0:
        pad = found.halves[-1].pad
        figures.append(Expected("pad turns the tweeter down by", pad, pad, pad, "decibel"))
    figures.append(
        Expected("clean swing that is counted with", wish.peak, wish.peak, wish.peak, "voltage")
    )
    return figures


def _ranged(label: str, values: Floats, kind: str) -> Expected:
    usable = values[np.isfinite(values)]
    likely = float(values[0])
    if not usable.size or not np.isfinite(likely):
        return Expected(label, float("nan"), float("nan"), float("nan"), kind)
    low, high = (float(end) for end in np.quantile(usable, _QUANTILES))
    return Expected(label, likely, min(low, likely), max(high, likely), kind)


def _corners(found: Found, place: int) -> list[Expected]:
    """Where the sound and where the volts of a branch are down as the target is at its corner."""
    half, driver, drop = found.halves[place], found.drivers[place], found.wish.drop
    section, hertz = half.section, GRID
    side: Literal["low", "high"] = "low" if section.high_pass else "high"
    # Beyond two octaves on the band's side there are other ends than the split's.
    far = 4.0 * found.frequency, found.frequency / 4.0
    near = hertz <= far[0] if section.high_pass else hertz >= far[1]
    passed = decibels(half.branch.ladder(hertz).transfer[0]) - half.solution.taken
    inside = np.minimum(passed[near], 0.0)
    volts = float(response_corner(hertz[near], inside, drop_db=drop, side=side))
    return [
        _ranged(
            f"{driver}'s sound {drop:.0f} dB down at", found.spread.corners[place], "frequency"
        ),
        Expected(f"{driver}'s volts {drop:.0f} dB down at", volts, volts, volts, "frequency"),
    ]


def _impedances(found: Found) -> list[Expected]:
    least = least_impedance(GRID, found.load)
    value, at = float(least.impedance), float(least.frequency)
    likely = found.spread.least / found.spread.least[0] * value
    low, high = (float(end) for end in np.quantile(likely, _QUANTILES))
    return [
        Expected("least impedance at the amplifier", value, min(low, value), max(high, value),
                 "resistance"),
        Expected("which is at", at, at, at, "frequency"),
    ]  # fmt: skip


def _losses(half: Half) -> list[Expected]:
    """Level that the coils in the woofer's lead cost, and the Q that they leave it with."""
    branch = half.branch
    series = sum(
        float(np.asarray(step.resistance)) for step in branch.steps if step.place == "series"
    )
    re = float(branch.drive.re[0, 0])
    lost = float(decibels(np.array(re / (re + series))))
    found = [Expected("lost in the woofer's coils", -lost, -lost, -lost, "decibel")]
    model = branch.drive.voice.model
    driver = branch.drive.driver
    if model is not None and driver.qes is not None:
        qms = driver.qms.likely if driver.qms else float("inf")
        before = driver.qes.likely * qms / (driver.qes.likely + qms) if driver.qms else (
            driver.qes.likely
        )  # fmt: skip
        electrical = driver.qes.likely * (re + series) / re
        after = float(qts(qms, electrical)) if driver.qms else electrical
        found += [
            Expected("woofer's Q total by itself", before, before, before, "ratio"),
            Expected("woofer's Q total behind the coils", after, after, after, "ratio"),
        ]
    return found
