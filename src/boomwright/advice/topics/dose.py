"""What the sound does to ears over hours and weeks, and what a room makes of it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from boomwright.advice.finding import Figure
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.terms import percent
from boomwright.build.quantities import format_quantity as shown
from boomwright.outcome.dose import (
    BUILDER_DISTANCE,
    WEEKLY_LIMITS,
    builder_dose,
    listener_dose,
)
from boomwright.physics.hearing import allowed_time_niosh, weekly_time_who
from boomwright.physics.room_level import absorption_area, critical_distance, room_gain_db
from boomwright.physics.sound import distance_loss

__all__: list[str] = []

_SURE = 10**0.1
"""What a decibel makes of a dose [1]: no level is foretold nearer than that."""
_BESIDE_SHARE = 0.5
"""Share of the time that whoever serves a box stands beside it; common practice, no source."""
_DAYS = 7.0

_ROOM_RULES = 2.0
"""Distance over the critical one at which the room is 7 dB above what comes straight."""
_SPEECH_BLURS = 3.16
"""The same at which speech begins to blur: V. M. A. Peutz, J. Audio Eng. Soc. 19 (1971) 915, from
memory."""
_SPEECH = frozenset({"speech", "speech-average"})


def _enough_for_listeners(case: Case) -> bool:
    """Whether one use is too much for the listeners already, which another rule tells."""
    asked, hours = case.outcome.wanted.level_asked, case.build.want.hours.likely
    if case.build.want.audience == "children":
        return hours > float(weekly_time_who(asked, limit=WEEKLY_LIMITS["children"]))
    return hours > float(allowed_time_niosh(asked))


@rule(
    "dose-builder",
    "safe",
    title="The ears of whoever stands beside the box",
    source="NIOSH publication 98-126, 85 dB(A) for 8 h and 3 dB for half the time",
)
def dose_builder(case: Case) -> Iterator[Says]:
    """A day's dose at 1 m from the box, for half of the time that it plays as loud as wanted."""
    want = case.build.want
    if want.level.distance.likely <= BUILDER_DISTANCE or _enough_for_listeners(case):
        return
    dose = builder_dose(case.build, case.outcome)
    if _BESIDE_SHARE * dose.daily <= 1.0:
        return
    yield Says(
        "mind",
        "want",
        f"Beside the box, at {shown(dose.distance, 'length')}, it is {dose.level:.0f} dB(A); "
        f"{shown(dose.duration, 'time', digits=2)} of it are {percent(dose.daily)} of what ears "
        "stand in a day.",
        "Whoever serves the box stands nearer than those it plays for; hearing that is lost does "
        "not come back.",
        f"Stay beside it for {shown(dose.daily_time, 'time', digits=2)} at most, put it farther "
        "away from where you stand, or wear plugs.",
        numbers=(
            Figure("level at 1 m", dose.level, "decibel"),
            Figure("dose of a day", dose.daily, "share"),
            Figure("time allowed in a day", dose.daily_time, "time"),
        ),
    )


@rule(
    "dose-listeners",
    "safe",
    title="Listeners who come back every day",
    source="ITU-T H.870 with WHO: 80 dB(A) for 40 h a week, 75 dB(A) for children",
)
def dose_listeners(case: Case) -> Iterator[Says]:
    """Share of a week's allowance that one use takes, and how many uses a week holds."""
    want = case.build.want
    if _enough_for_listeners(case):
        return
    dose = listener_dose(case.build, case.outcome)
    if dose.weekly * _DAYS <= _SURE:
        return
    uses = int(dose.runs_a_week)
    who = "children" if want.audience == "children" else "listeners"
    times = {0: "not even once", 1: "once"}.get(uses, f"{uses} times")
    yield Says(
        "mind" if uses == 0 else "fine",
        "want",
        f"{dose.level:.0f} dB(A) for {shown(dose.duration, 'time', digits=2)} are "
        f"{percent(dose.weekly)} of what {who} may hear in a week.",
        "Ears add up a week; every 3 dB less doubles the times.",
        f"Use it like that {times} a week with the same {who}; for every day play it "
        f"{np.ceil(10 * np.log10(_DAYS * dose.weekly)):.0f} dB quieter.",
        numbers=(
            Figure("level at the listener", dose.level, "decibel"),
            Figure("share of a week", dose.weekly, "share"),
            Figure("if used every day", _DAYS * dose.weekly, "share"),
        ),
    )


@rule(
    "room-rules",
    "loud",
    title="A room louder than what comes straight",
    source="critical distance, Kinsler and Frey, Fundamentals of Acoustics, from memory",
)
def room_rules(case: Case) -> Iterator[Says]:
    """The listener's distance against that at which the room is as loud as the box itself."""
    want = case.build.want
    if want.room is None:
        return
    # The shortest time that the room may have: the most that can be said for it.
    dry, likely = (
        absorption_area(want.room.likely, reverberation=seconds)
        for seconds in (want.reverberation.low, want.reverberation.likely)
    )
    distance = want.level.distance.likely
    if distance <= _ROOM_RULES * float(critical_distance(dry)):
        return
    critical = float(critical_distance(likely))
    gain = float(room_gain_db(distance, absorption=likely))
    above = 10 * float(np.log10(10 ** (gain / 10) - 1))
    nearer = float(distance_loss(distance) - distance_loss(distance / 2)) + float(
        room_gain_db(distance / 2, absorption=likely) - gain
    )
    speech = want.programme in _SPEECH
    blurs = speech and distance > _SPEECH_BLURS * float(critical_distance(dry))
    yield Says(
        "mind" if blurs else "fine",
        "want",
        f"At {shown(distance, 'length')} the room is {shown(above, 'decibel')} louder than what "
        f"comes straight; the two are alike at {shown(critical, 'length', digits=2)}.",
        "There the room's echoes make the level: words blur, and half the distance brings only "
        f"{shown(nearer, 'decibel')}.",
        "Turning or moving the box a little changes nothing: damp the room with curtains, rugs and "
        f"people, or sit within {shown(2 * critical, 'length', digits=2)}.",
        numbers=(
            Figure("distance", distance, "length"),
            Figure("as loud as the room at", critical, "length"),
            Figure("room over what comes straight", above, "decibel"),
            Figure("gained at half the distance", nearer, "decibel"),
        ),
    )
