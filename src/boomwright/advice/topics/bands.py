"""How the bands of a build meet: gaps, cancellation, levels, and bass in the wrong place."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.speakers import (
    Kind,
    appended,
    capacitor_too_small,
    corner_wanted,
    kinds_of,
    low_pass_fault,
)
from boomwright.build.quantities import Quantity
from boomwright.build.quantities import format_quantity as shown
from boomwright.outcome.speakers import sensitivity_of
from boomwright.physics.arrays import Floats
from boomwright.physics.curves import crossing, decibels, response_corner
from boomwright.physics.impedance import first_order_capacitor
from boomwright.physics.ladder import Step, ladder
from boomwright.physics.pads import l_pad
from boomwright.physics.preferred import nearest_preferred
from boomwright.physics.summed import summed_pressure

__all__: list[str] = []

_ORDER = {"full": 0, "low": 0, "mid": 1, "high": 2}
_LISTENER = 1.0

_HOLE = 6.0
"""Depth of a hole that is heard as one [dB]: half the pressure; common practice, no source."""

_MEETING = (-7.5, -1.5)
"""Level where two filters meet [dB]: -3 (Butterworth) to -6 (Linkwitz-Riley), 1.5 dB to spare."""

_AGAINST = -3.0
_BETTER = 3.0
"""Mean sum over the crossing, over that of unlike sounds, that says they cancel, and how much
better the other polarity must be [dB]; common practice, no source."""
_BOTH_PLAY = 6.0
_QUIET = 12.0
_DEEPER = (0.01, 0.02, 0.03)
"""How much deeper than a tweeter's the sound of a cone starts where the file does not say [m];
typical of drivers on a flat front, from memory."""

_UNMATCHED = 3.0
_LEAST_OHMS = 0.1
"""Least resistor that is sold for filters [Ω]; common practice, no source."""
_MOST_FARADS = 1e-3
"""Greatest bipolar capacitor that is sold for speakers [F]; common practice, no source."""
_NO_VOICES_ABOVE = 300.0
_OCTAVE_LOWER = 2.0
_BASS_SHARE = 0.25
"""Share of the music's power that is worth keeping from small drivers; common practice."""


def _pairs(case: Case) -> list[tuple[Kind, Kind]]:
    """Kinds that play next to each other on one amplifier, the lower one first.

    Those on several amplifiers can be set by their gains, which the file does not tie together.
    """
    kinds = sorted(kinds_of(case), key=lambda kind: _ORDER[kind.driver.band])
    places = sorted({_ORDER[kind.driver.band] for kind in kinds})
    return [
        (lower, upper)
        for low, high in pairwise(places)
        for lower in kinds
        for upper in kinds
        if (_ORDER[lower.driver.band], _ORDER[upper.driver.band]) == (low, high)
        and lower.output.amplifier == upper.output.amplifier
    ]


def _hole(lower: Kind, upper: Kind, upper_level: Floats, start: float) -> tuple[float, float]:
    """Depth of the hole between two bands below the quieter of them [dB], and where [Hz]."""
    between = (lower.frequency >= lower.sound.high_end) & (lower.frequency <= start)
    if not between.any():
        return 0.0, start
    together = 10 ** (lower.level / 20) + 10 ** (upper_level / 20)
    depth = min(lower.band_level, upper.band_level) - decibels(together)
    depth = np.where(between, depth, -np.inf)
    at = int(np.argmax(depth))
    return float(depth[at]), float(lower.frequency[at])


@rule(
    "band-gap",
    "loud",
    title="A hole between two bands",
    source="6 dB less than the bands beside it, drivers in step; common practice, no source",
)
def band_gap(case: Case) -> Iterator[Says]:
    """Level between the end of one band and the beginning of the next, both at their best."""
    for lower, upper in _pairs(case):
        driver, start = upper.driver, upper.sound.low_end
        # A tweeter with the wrong capacitor, or without one, has a rule of its own.
        if not upper.high_pass or capacitor_too_small(driver):
            continue
        # Without a filter the cone itself ends the band, and that is only roughly known.
        if not lower.low_pass and lower.driver.high_end.high >= start:
            continue
        depth, at = _hole(lower, upper, upper.level, start)
        if depth <= _HOLE:
            continue
        end = lower.sound.high_end
        yield Says(
            "mind",
            upper.name,
            f"Between {lower.name}, which ends at {shown(end, 'frequency')}, and {upper.name}, "
            f"which begins at {shown(start, 'frequency')}, {shown(depth, 'decibel')} are missing "
            f"at {shown(at, 'frequency')}.",
            "Voices and most instruments live there; with a hole they sound far away.",
            f"Let {lower.name} play higher with a smaller coil, or {upper.name} lower with a "
            "larger capacitor if its resonance allows.",
            numbers=(
                Figure("lower band ends", end, "frequency"),
                Figure("upper band begins", start, "frequency"),
                Figure("missing", depth, "decibel"),
                Figure("at", at, "frequency"),
            ),
            fix=_larger_capacitor(lower, upper),
        )


def _larger_capacitor(lower: Kind, upper: Kind) -> Fix | None:
    """A capacitor that lets a tweeter begin as low as it stands, where that closes the hole."""
    driver = upper.driver
    if driver.capacitor is None or driver.filter or driver.fs is None:
        return None
    exact = first_order_capacitor(corner_wanted(driver), driver.impedance.likely)
    farads = float(nearest_preferred(exact, "E24"))
    if farads <= driver.capacitor.likely:
        return None
    found = ladder((Step("series", capacitance=farads),), upper.load, upper.frequency)
    level = upper.level + decibels(found.transfer) - upper.passed
    below = np.minimum(level - upper.band_level, 0.0)
    start = float(response_corner(upper.frequency, below, side="low"))
    if not start < upper.sound.low_end or _hole(lower, upper, level, start)[0] > _HOLE:
        return None
    written = shown(farads, "capacitance")
    return Fix(f"fit {written}", (Change(driver.name, "capacitor", written),))


@rule(
    "filter-misses",
    "loud",
    title="Filters that meet on the rated ohms only",
    source="3 dB to 6 dB down where two filters meet: Butterworth, Linkwitz-Riley; the ladder on "
    "the drivers' own impedance",
)
def filter_misses(case: Case) -> Iterator[Says]:
    """Two filters that would meet as they should on the rated ohms, on what the drivers have.

    Filters that do not meet on the rated ohms were not worked out on them, and say nothing.
    """
    for lower, upper in _pairs(case):
        known = lower.group.voice.model is not None and upper.group.voice.model is not None
        if not (lower.low_pass and upper.high_pass and known):
            continue
        fault = low_pass_fault(lower)
        if fault is not None and fault.undone:
            continue
        meant, at = _meeting(lower, lower.plain, upper, upper.plain)
        really, where = _meeting(lower, lower.passed, upper, upper.passed)
        if not _MEETING[0] <= meant <= _MEETING[1] or np.isnan(really):
            continue
        if _MEETING[0] <= really <= _MEETING[1]:
            continue
        apart = really < meant
        yield Says(
            "mind",
            upper.name,
            f"On their rated ohms the filters of {lower.name} and {upper.name} would meet at "
            f"{shown(at, 'frequency')}, {shown(-meant, 'decibel')} down; on what they really have "
            f"they meet at {shown(where, 'frequency')}, {shown(-really, 'decibel')} down.",
            "A driver has its rated ohms at hardly any note: less in the middle, far more at its "
            "resonance and high up.",
            "Work both filters out on the impedance that the drivers really have, so that they "
            + ("leave no hole" if apart else "overlap less")
            + "; 'boomwright design split' does it.",
            numbers=(
                Figure("meant to meet at", at, "frequency"),
                Figure("level there", meant, "decibel"),
                Figure("really meet at", where, "frequency"),
                Figure("level there, really", really, "decibel"),
            ),
        )


def _meeting(lower: Kind, low: Floats, upper: Kind, high: Floats) -> tuple[float, float]:
    """Level at which two filtered bands meet [dB], and where [Hz]; no numbers where they do not."""
    one, other = lower.over_plateau(low), upper.over_plateau(high)
    at = float(crossing(lower.frequency, one, other))
    return (lower.at(one, at), at) if np.isfinite(at) else (float("nan"), at)


@rule(
    "bands-cancel",
    "loud",
    title="Two bands that work against each other",
    source="sum on the axis with phase and ways counted; 3 dB below unlike sounds, common "
    "practice, no source",
)
def bands_cancel(case: Case) -> Iterator[Says]:
    """Sum of two drivers where both play, against the same with one of them turned round."""
    for lower, upper in _pairs(case):
        if not (lower.sound.known and upper.sound.known):
            continue
        top = min(np.max(lower.level), np.max(upper.level))
        both = np.abs(lower.level - upper.level) < _BOTH_PLAY
        both &= np.maximum(lower.level, upper.level) > top - _QUIET
        if np.count_nonzero(both) < 3:
            continue
        told = any(_told(kind.driver.offset) for kind in (lower, upper))
        sums = [_sums(lower, upper, deeper) for deeper in ((0.0,) if told else _DEEPER)]
        now, turned = ([float(np.mean(pair[place][both])) for pair in sums] for place in (0, 1))
        if max(now) >= _AGAINST or any(
            other < this + _BETTER for this, other in zip(now, turned, strict=True)
        ):
            continue
        low, high = (float(lower.frequency[both][end]) for end in (0, -1))
        gained = min(other - this for this, other in zip(now, turned, strict=True))
        yield Says(
            "mind",
            upper.name,
            f"From {shown(low, 'frequency')} to {shown(high, 'frequency')} {lower.name} and "
            f"{upper.name} work against each other: with one of them turned round it would be "
            f"{shown(gained, 'decibel')} louder there.",
            "Filters turn the phase; where both drivers play, one pushes while the other pulls.",
            f"Swap plus and minus of {upper.name} and listen to a voice: the fuller sound is "
            "right.",
            numbers=(
                Figure("both play from", low, "frequency"),
                Figure("to", high, "frequency"),
                Figure("sum over that of unlike sounds", max(now), "decibel"),
                Figure("gained by turning one round", gained, "decibel"),
            ),
            fix=Fix(
                f"turn {upper.name} round",
                (Change(upper.name, "reversed", not upper.driver.reversed),),
            ),
        )


def _told(offset: Quantity) -> bool:
    return offset.basis != "typical" or offset.likely > 0.0


def _sums(lower: Kind, upper: Kind, deeper: float) -> tuple[Floats, Floats]:
    """Sum on the axis over that of unlike sounds, as wired and with the upper turned round [dB]."""
    ways = [_LISTENER + lower.driver.offset.likely + deeper, _LISTENER + upper.driver.offset.likely]
    pressures = [lower.sound.pressure, upper.sound.pressure]
    alone = np.sqrt(
        sum(np.abs(one) ** 2 / way**2 for one, way in zip(pressures, ways, strict=True))
    )
    found = [
        summed_pressure(
            pressures,
            lower.frequency,
            paths=ways,
            reversed_=[lower.driver.reversed, upper.driver.reversed != turned],
        )
        for turned in (False, True)
    ]
    now, other = (decibels(np.abs(one) / alone) for one in found)
    return now, other


@rule(
    "levels-unmatched",
    "loud",
    title="One band louder than the other",
    source="3 dB beyond what the sensitivities leave open; common practice, no source",
)
def levels_unmatched(case: Case) -> Iterator[Says]:
    """Level of one band against the other's, where it surely differs."""
    for lower, upper in _pairs(case):
        gap = upper.band_level - lower.band_level
        fault = low_pass_fault(lower)
        # What a filter spoils is told where the filter is, and mended first.
        if (fault is not None and fault.undone) or capacitor_too_small(upper.driver):
            continue
        louder, quieter = (upper, lower) if gap > 0 else (lower, upper)
        if abs(gap) <= _UNMATCHED or abs(gap) <= _unsure(louder, quieter):
            continue
        # Tenths of a decibel are beyond both the drivers and the resistors.
        taken = round(2 * abs(gap)) / 2
        figures = (
            Figure(f"{upper.name} over {lower.name}", gap, "decibel"),
            Figure("to take away", taken, "decibel"),
        )
        why = "The ear takes a band that is half as loud again for the whole sound: thin or dull."
        if louder is lower:
            yield Says(
                "mind",
                upper.name,
                f"{lower.name} is {shown(-gap, 'decibel')} louder than {upper.name}.",
                why,
                f"Use {taken:g} dB more sensitive drivers above, or two of them side by side where "
                "the board stands it; resistors before a bass driver waste its power.",
                numbers=figures,
            )
            continue
        pad = l_pad(upper.rated, taken)
        series, across = (
            float(nearest_preferred(value, "E24")) for value in (pad.series, pad.across)
        )
        steps = (f"series {shown(series, 'resistance')}", f"across {shown(across, 'resistance')}")
        padded = upper.with_steps(
            Step("series", resistance=series), Step("across", resistance=across)
        )
        left = gap + _plateau(padded) - _plateau(upper)
        matched = across >= _LEAST_OHMS and abs(left) <= 0.5 * _UNMATCHED
        yield Says(
            "mind",
            upper.name,
            f"{upper.name} is {shown(gap, 'decibel')} louder than {lower.name}.",
            why,
            f"Put {shown(series, 'resistance')} in series with it and "
            f"{shown(across, 'resistance')} across it, behind its filter: that takes {taken:g} dB "
            "and leaves the filter its ohms. 5 W or more."
            if matched
            else f"Take {taken:g} dB off it with a pad that its filter is worked out on, as "
            "'boomwright design split' does, or use a less sensitive driver.",
            numbers=(
                *figures,
                Figure("in series", series, "resistance"),
                Figure("across", across, "resistance"),
            )
            if matched
            else figures,
            fix=Fix(
                f"a pad of {taken:g} dB",
                (Change(upper.name, "filter", appended(upper.driver, *steps)),),
            )
            if upper.steps and matched
            else None,
        )


def _plateau(kind: Kind) -> float:
    """Level that a filter lets through well inside its band [dB]."""
    return float((kind.passed - kind.over_plateau(kind.passed))[0])


def _unsure(louder: Kind, quieter: Kind) -> float:
    """How much of a difference the sensitivities leave open [dB]."""
    loud, quiet = sensitivity_of(louder.driver), sensitivity_of(quieter.driver)
    return (loud.likely - loud.low) + (quiet.high - quiet.likely)


@rule(
    "sub-without-low-pass",
    "loud",
    title="A bass driver that plays the voices as well",
    source="common practice, no source",
)
def sub_without_low_pass(case: Case) -> Iterator[Says]:
    """A driver on the bass channel with nothing that keeps the treble from it."""
    kinds = kinds_of(case)
    boards = {board.name: board for board in case.build.amplifier}
    for kind in kinds:
        driver = kind.driver
        if driver.channel != "sub" or kind.low_pass or len(kinds) < 2:
            continue
        # A board with an output made for bass has its low-pass on it.
        board = boards[driver.amplifier]
        if board.channels > 2 or driver.high_end.likely <= _NO_VOICES_ABOVE:
            continue
        high = kind.sound.high_end
        yield Says(
            "mind",
            kind.name,
            f"Nothing keeps the voices from {kind.name}: it plays up to "
            f"{shown(high, 'frequency')} beside the other drivers.",
            "Two sources of the same voice blur it, and the ear finds the bass box at once.",
            "Put a low-pass of 80 Hz to 200 Hz ahead of its amplifier; a coil large enough would "
            "be heavy and lose power. If there is one already, write where it ends as high_end.",
            numbers=(Figure("plays up to", high, "frequency"),),
        )


@rule(
    "satellites-full-range",
    "loud",
    title="Bass sent to small drivers beside a bass driver",
    source="a quarter of the music's power; common practice, no source",
)
def satellites_full_range(case: Case) -> Iterator[Says]:
    """Share of the music below the end of small drivers that another driver plays anyway."""
    kinds = kinds_of(case)
    programme = case.plan.programme
    for kind in kinds:
        driver, end = kind.driver, kind.box_end
        deeper = [other for other in kinds if _OCTAVE_LOWER * other.box_end < end
                  and other.driver.band in {"full", "low"}]  # fmt: skip
        if driver.band != "full" or kind.high_pass or not deeper:
            continue
        share = float(programme.band_powers[programme.frequencies < end].sum())
        if share <= _BASS_SHARE:
            continue
        exact = first_order_capacitor(end, kind.rated)
        farads = float(nearest_preferred(exact, "E12"))
        written, sold = shown(farads, "capacitance"), farads <= _MOST_FARADS
        each = "" if kind.group.count == 1 else ", one for all on a channel"
        yield Says(
            "mind",
            kind.name,
            f"{shown(share, 'share', digits=2)} of the music's power lies below "
            f"{shown(end, 'frequency')}, where {kind.name} ends and {deeper[0].name} plays; "
            "all of it goes to its coil.",
            "Bass that a small driver cannot play still moves its cone and heats its coil, and "
            "muddies what it can play.",
            f"Put {written}, bipolar, in series with it{each}: it takes the bass from "
            f"{shown(end, 'frequency')} down."
            if sold
            else f"Cut the bass below {shown(end, 'frequency')} ahead of its amplifier, with a "
            "small capacitor at the input.",
            numbers=(
                Figure("its bass ends", end, "frequency"),
                Figure("share of the music below", share, "share"),
            ),
            fix=Fix(
                f"fit {written}",
                (
                    Change(kind.name, "capacitor", written),
                    Change(kind.name, "capacitor_kind", "bipolar"),
                ),
            )
            if sold
            else None,
        )
