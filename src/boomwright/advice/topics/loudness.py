"""How loud: whether the wish is reached, whether it lasts, and what it does to ears."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.build.quantities import format_quantity as shown
from boomwright.outcome.loudness import nearer_db
from boomwright.physics.hearing import allowed_time_niosh, weekly_time_who

__all__: list[str] = []

_FAR_SHORT = 3.0
_HOPELESS = 12.0
_CHILDREN_LIMIT = 75.0
_CEILING = 115.0
_LEAST_WISH = 30.0
"""Least level that a wish may name [dB(A)]; quieter than a bedroom at night."""
_LOUD_AT_BOX = {"adults": 100.0, "children": 95.0}


def _lower_wish(case: Case, level: float) -> Fix | None:
    if level < _LEAST_WISH:
        return None
    distance = case.build.want.level.distance
    written = f"{np.floor(level):.0f} dB(A) at {shown(distance.likely, 'length')}"
    return Fix(f"ask for {written}", (Change("want", "level", written),))


@rule(
    "level-not-reached",
    "loud",
    title="Level wanted against clean level",
    source="sensitivity, power and distance of this build",
)
def level_not_reached(case: Case) -> Iterator[Says]:
    """Clean level with a full battery against the level asked for."""
    wanted = case.outcome.wanted
    asked, clean = wanted.level_asked, wanted.clean_start
    if clean.low >= asked:
        return
    distance = shown(case.build.want.level.distance.likely, "length")
    short = asked - clean.likely
    figures = (
        Figure("asked", asked, "decibel"),
        Figure("clean, full battery", clean.likely, "decibel"),
        Figure("clean, worst case", clean.low, "decibel"),
        Figure("short by", max(short, asked - clean.low), "decibel"),
    )
    fix = _lower_wish(case, min(clean.low, wanted.clean_end.low))
    if short <= 0:
        yield Says(
            "mind",
            "want",
            f"{asked:.0f} dB(A) at {distance} is reached in the likely case, but with less lucky "
            f"parts the box is clean to {clean.low:.0f} dB(A) only.",
            "Sensitivity and losses differ from part to part by a few decibels.",
            "Measure the drivers' sensitivity, or leave yourself 2 dB and ask for "
            f"{np.floor(clean.low):.0f} dB(A).",
            numbers=figures,
            fix=fix,
        )
        return
    power = shown(10 ** (short / 10), "ratio", digits=2)
    if short > _HOPELESS:
        do = (
            f"It would take {power} times the watts: ask for "
            f"{np.floor(wanted.clean_end.low):.0f} dB(A), or stand closer and use several boxes."
        )
    else:
        do = (
            f"Find {np.ceil(short):.0f} dB: twice the drivers on twice the amplifier give 3 to "
            f"6 dB, twice the supply volts 6 dB, drivers of {np.ceil(short):.0f} dB more "
            "sensitivity all of it."
        )
    yield Says(
        "stop" if short > _FAR_SHORT else "mind",
        "want",
        f"{asked:.0f} dB(A) at {distance} is asked for, and the box is clean to "
        f"{clean.likely:.0f} dB(A) there: {short:.0f} dB short.",
        f"{short:.0f} dB is {power} times the power; turned up past clean it distorts, and "
        "clipping kills tweeters.",
        do,
        numbers=figures,
        fix=fix,
    )


@rule(
    "level-fades",
    "loud",
    title="Level at the end of the run",
    source="the coupled run: supply volts fall with the battery",
)
def level_fades(case: Case) -> Iterator[Says]:
    """Clean level at the end of the run, where the start is loud enough."""
    wanted = case.outcome.wanted
    asked, start, end = wanted.level_asked, wanted.clean_start.likely, wanted.clean_end.likely
    if start < asked or end >= asked:
        return
    yield Says(
        "mind",
        "want",
        f"With a full battery the box is clean to {start:.1f} dB(A), by the end only to "
        f"{end:.1f} dB(A); {asked:g} dB(A) are asked for.",
        "As the battery's volts fall, the amplifier clips earlier.",
        "End the run earlier with a higher cutoff, hold the amplifier's volts with a step-up "
        f"board, or ask for {np.floor(end):.0f} dB(A).",
        numbers=(
            Figure("clean, full battery", start, "decibel"),
            Figure("clean at the end", end, "decibel"),
            Figure("asked", asked, "decibel"),
        ),
        fix=_lower_wish(case, wanted.clean_end.low),
    )


@rule(
    "hearing",
    "safe",
    title="Ears at the listener's place and at the box",
    source="NIOSH publication 98-126; ITU-T H.870 with WHO, 75 dB(A) for children; "
    "115 dB(A) of US 29 CFR 1910.95, from memory",
)
def hearing(case: Case) -> Iterator[Says]:
    """Level asked for, and level close to the box, against what ears stand."""
    want, wanted = case.build.want, case.outcome.wanted
    children = want.audience == "children"
    asked, hours = wanted.level_asked, want.hours.likely
    nearer = nearer_db(want, 1.0)
    allowed = float(
        weekly_time_who(asked, limit=_CHILDREN_LIMIT) if children else allowed_time_niosh(asked)
    )
    who, span = ("children's ears", "a week") if children else ("ears", "a day")
    if asked >= _CEILING or allowed < hours:
        quieter = asked - 10 * float(np.log10(hours / allowed)) if allowed < hours else asked
        yield Says(
            "stop" if asked >= _CEILING else "mind",
            "want",
            f"{asked:.0f} dB(A) for {shown(hours, 'time', digits=2)} is asked for; {who} have had "
            f"enough for {span} after {shown(allowed, 'time', digits=2)}.",
            "Hearing lost to loud sound does not come back, and every 3 dB halves the time.",
            f"Keep it to {quieter:.0f} dB(A) over that time, keep people away from the front of "
            "the box, and give pauses.",
            numbers=(
                Figure("level at the listener", asked, "decibel"),
                Figure(f"time allowed in {span}", allowed, "time"),
                Figure("time wanted", hours, "time"),
            ),
            fix=_lower_wish(case, min(quieter, _CEILING - 1)),
        )
    close = case.outcome.scenario("flat-out").clean_start.likely + nearer
    # What is heard past clean counts too: a wish beyond the box is turned up, not given up.
    close = max(close, wanted.level_start.likely + nearer)
    if close > _LOUD_AT_BOX[want.audience]:
        time = float(
            weekly_time_who(close, limit=_CHILDREN_LIMIT) if children else allowed_time_niosh(close)
        )
        yield Says(
            "mind",
            "want",
            f"Flat out the box makes {close:.0f} dB(A) at 1 m, where {who} have had enough for "
            f"{span} after {shown(time, 'time', digits=2)}.",
            "People, children first, stand right in front of a box that plays.",
            "Put it above head height or fence off 2 m in front of it, and mark the loudest "
            "setting you mean to use.",
            numbers=(
                Figure("level at 1 m, flat out", close, "decibel"),
                Figure(f"time allowed in {span}", time, "time"),
            ),
        )
