"""Fronts: bass that flows round an open back or a narrow front."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.build.audio import Cabinet
from boomwright.build.draws import Draws
from boomwright.build.quantities import format_quantity as shown
from boomwright.outcome.bass import bass_of
from boomwright.outcome.openings import air_of
from boomwright.outcome.plan import programme_of
from boomwright.outcome.room import net_volume_of
from boomwright.outcome.voices import BASS_BANDS
from boomwright.physics.nature import speed_of_sound
from boomwright.physics.placement import BAFFLE_MIDDLE, baffle_step

__all__: list[str] = []

_THINNED = 1.25
"""Bass end over that of the same box closed; a third of an octave, no source."""
_HUMP_MOST = 2.4
"""Hump of a closed box at a Q of 1.2 [dB], the most that is let pass; computed, Small 1972."""
_NARROW = 200.0
"""Middle of the baffle step above which it lies in the music's body [Hz]; no source."""
_DEEP, _BASSY = 200.0, 0.25
"""Music with more of its power than this below the first [Hz] is missed its bass; no source."""


@rule(
    "open-back-thin",
    "loud",
    title="Bass of a box that is open at the back",
    source="H. F. Olson, Direct Radiator Loudspeaker Enclosures, J. Audio Eng. Soc. 1969, from "
    "memory: the back cancels what is longer than 2 pi times the way round",
)
def open_back_thin(case: Case) -> Iterator[Says]:
    """Frequency below which the back of an open box cancels its front."""
    cabinet = case.build.cabinet
    if cabinet is None or cabinet.type != "open":
        return
    shut = {"type": "closed", "leaks": "tight"}
    other = case.build.model_copy(update={"cabinet": cabinet.model_copy(update=shut)})
    for driver in case.build.driver:
        now, closed = bass_of(driver, case.build), bass_of(driver, other)
        if driver.band not in BASS_BANDS or driver.low_end is not None:
            continue
        if now is None or closed is None or now.low_end <= _THINNED * closed.low_end:
            continue
        draws = Draws(0)
        _, way = air_of(driver, case.build, draws, net_volume_of(case.build, draws))
        if way is None:
            continue
        corner = float(speed_of_sound()) / (2.0 * np.pi * float(way))
        tame = closed.hump <= _HUMP_MOST
        yield Says(
            "mind",
            driver.name,
            f"The open back cancels the bass below about {shown(corner, 'frequency', digits=2)}, "
            f"so it ends at {shown(now.low_end, 'frequency', digits=2)}; with the back closed it "
            f"would end at {shown(closed.low_end, 'frequency', digits=2)}"
            + ("." if tame else f", but with a hump of {shown(closed.hump, 'decibel')}."),
            "What the cone pushes forward it draws in behind, and low notes flow round the edge.",
            "Close the back and make it tight; the battery and boards then need a place of their "
            "own, and a lead battery gives off gas when charged: its bay stays open to the outside."
            if tame
            else "Set the driver into a larger board, as wide as you can carry, or use one of "
            "lower Q in a closed box.",
            numbers=(
                Figure("cancelled below", corner, "frequency"),
                Figure("bass end", now.low_end, "frequency"),
                Figure("bass end, closed", closed.low_end, "frequency"),
                Figure("hump, closed", closed.hump, "decibel"),
            ),
            fix=Fix(
                "close the back, tight",
                tuple(Change(cabinet.name, key, value) for key, value in shut.items()),
            )
            if tame
            else None,
        )


@rule(
    "baffle-thin",
    "loud",
    title="A narrow front in the open",
    source="baffle step of 6 dB whose middle is 115 Hz m over the width: H. F. Olson, Direct "
    "Radiator Loudspeaker Enclosures, J. Audio Eng. Soc. 1969; the middle is common practice",
)
def baffle_thin(case: Case) -> Iterator[Says]:
    """Bass that flows round a narrow front where nothing stands near the box."""
    cabinet, want = case.build.cabinet, case.build.want
    if cabinet is None or cabinet.type == "open" or want.place != "open" or want.room is not None:
        return
    bass = next((driver for driver in case.build.driver if driver.band in BASS_BANDS), None)
    width = _front(cabinet)
    if width is None or bass is None:
        return
    middle = BAFFLE_MIDDLE / width
    programme = programme_of(case.build)
    below = float(np.sum(programme.band_powers[programme.frequencies < middle]))
    deep = float(np.sum(programme.band_powers[programme.frequencies < _DEEP]))
    if middle < _NARROW or deep < _BASSY:
        return
    at = middle / np.sqrt(10.0)
    lost = -20.0 * float(np.log10(np.abs(baffle_step(at, width=width))))
    yield Says(
        "fine",
        bass.name,
        f"In the open, sound below {shown(middle, 'frequency', digits=2)} goes round a front of "
        f"{width * 100:.0f} cm: the bass is 3 dB thinner there and {lost:.1f} dB at "
        f"{shown(at, 'frequency', digits=2)}; {below * 100:.0f} % of this music's power lies "
        "below.",
        "Low notes are longer than the front is wide, so half of them goes to nobody.",
        "Stand it on the ground or before a wall, which gives them back, or count on less bass "
        "and turn it up at the phone, as far as the cones' travel allows.",
        numbers=(
            Figure("width of the front", width, "length"),
            Figure("3 dB thinner at", middle, "frequency"),
            Figure("lost half a decade below", lost, "decibel"),
            Figure("share of the music below", below, "share"),
        ),
    )


def _front(cabinet: Cabinet) -> float | None:
    """Lesser side of the front [m]; None where no size is written."""
    wall = 2.0 * cabinet.wall.likely
    if cabinet.baffle_width is not None:
        width = cabinet.baffle_width.likely
    elif cabinet.width is not None:
        width = cabinet.width.likely + wall
    else:
        return None
    return min(width, cabinet.height.likely + wall) if cabinet.height is not None else width
