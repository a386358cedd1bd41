"""Vents: air that rushes, tubes that do not fit or sing, leaks and stuffing that spoil them."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from boomwright.advice.bass import bass_voices, played
from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.build.audio import Cabinet
from boomwright.build.openings import Vent
from boomwright.build.quantities import format_quantity as shown
from boomwright.outcome.bass import Bass, bass_of
from boomwright.outcome.sound import VoiceSound
from boomwright.physics.limits import VENT_AIR_SPEED
from boomwright.physics.vent import end_correction, pipe_resonance

__all__: list[str] = []

_LOUD = 2.0
"""Speed over the one that is heard, at which it drowns music that is turned up; no source."""
_SINGS_BELOW = 1500.0
"""Where the ear is keen and music has its voices [Hz]; common practice, no source."""
_STILL_PLAYED = 0.3
"""Share of the volts that a filter still passes where a vent may sing [1], 10 dB down."""
_LEAKY = 4.0
"""Q of the leaks below which a box is leaky; 5 to 10 in sound ones, Small, from memory."""
_LOST = 1.0
"""What a fault must cost of the bass to be told [dB]; common practice, no source."""


def _vent(case: Case) -> tuple[Cabinet, Vent] | None:
    cabinet = case.build.cabinet
    if cabinet is None or cabinet.type != "vented" or cabinet.vent is None:
        return None
    return cabinet, cabinet.vent


def _each(vent: Vent) -> float:
    return vent.area / vent.count


def _named(vent: Vent) -> str:
    if vent.shape == "round" and vent.diameter is not None:
        size = shown(vent.diameter.likely, "length", digits=2)
        one, many = f"the vent of {size}", f"the {vent.count} vents of {size}"
    else:
        size = f"{_each(vent) * 1e4:.0f} cm²"
        one, many = f"the slot of {size}", f"the {vent.count} slots of {size}"
    return one if vent.count == 1 else many


@rule(
    "vent-chuffs",
    "loud",
    title="Air that rushes in the vent",
    source="peak speed of 5 % of that of sound, 17 m/s: guidance of R. H. Small, Vented-Box "
    "Loudspeaker Systems, J. Audio Eng. Soc. 1973, from memory",
)
def vent_chuffs(case: Case) -> Iterator[Says]:
    """Peak air speed in the vent as this music plays, at the level wanted and at the clean limit.

    The music's bands count with their share of its power, not each as a full sine.
    """
    found = _vent(case)
    if found is None:
        return
    vent = found[1]
    fastest: tuple[float, float] | None = None
    for _, output, voice in bass_voices(case):
        if voice.opening_known:
            air = played(case, output, voice.vent_speed)
            if fastest is None or air.clean > fastest[1]:
                fastest = air.wanted, air.clean
    if fastest is None or fastest[1] <= VENT_AIR_SPEED:
        return
    wanted, clean = fastest
    asked = wanted > VENT_AIR_SPEED
    speed = wanted if asked else clean
    grown = speed / VENT_AIR_SPEED
    area = _each(vent) * grown
    before = float(end_correction(_each(vent), ends=vent.ends, along=vent.along))
    after = float(end_correction(area, ends=vent.ends, along=vent.along))
    # Area over acoustic length tunes the box: both grow together.
    length = (vent.length.likely + before) * grown - after
    size = (
        shown(float(np.sqrt(4.0 * area / np.pi)), "length", digits=2)
        if vent.shape == "round"
        else f"{area * 1e4:.0f} cm²"
    )
    each = " each" if vent.count > 1 else ""
    yield Says(
        "mind" if asked or grown > _LOUD else "fine",
        "cabinet",
        f"Bass peaks drive the air in {_named(vent)} at {speed:.0f} m/s "
        + ("at the level you want" if asked else "with the box turned up to its clean limit")
        + f"; above {VENT_AIR_SPEED:.0f} m/s it is heard.",
        "Air that rushes out of a narrow vent chuffs and whistles, and bass is lost in it.",
        f"Make it {size}{each} and {shown(length, 'length', digits=2)} long, which keeps the "
        "tuning; flare its ends, or put a passive radiator in its place.",
        numbers=(
            Figure("peak air speed at the level wanted", wanted, "speed"),
            Figure("peak air speed at the clean limit", clean, "speed"),
            Figure("heard above", VENT_AIR_SPEED, "speed"),
            Figure("area wanted", area * vent.count, "cone"),
            Figure("length for it", length, "length"),
        ),
    )


@rule(
    "vent-does-not-fit",
    "loud",
    title="Room for the vent inside the box",
    source="one diameter of air before the inner end of a vent: common practice, no source",
)
def vent_does_not_fit(case: Case) -> Iterator[Says]:
    """Length of a tube against the depth of the box, with a diameter of air before its end."""
    found = _vent(case)
    if found is None:
        return
    cabinet, vent = found
    if vent.shape != "round" or vent.diameter is None or cabinet.depth is None:
        return
    bore, depth = vent.diameter.likely, cabinet.depth.likely
    inside = vent.length.likely - cabinet.wall.likely
    left = depth - inside
    if left >= bore:
        return
    others = [side.likely for side in (cabinet.width, cabinet.height) if side is not None]
    longest = max(others, default=0.0)
    if longest - inside >= bore:
        do = (
            f"Let it run along the {shown(longest, 'length', digits=2)} of the box, or bend it, "
            "its length counted along the middle."
        )
    else:
        do = (
            "Bend it, its length counted along the middle, fold it as a slot along the walls, or "
            "use a smaller bore where the air in it stays slow enough."
        )
    touches = left <= 0.0
    yield Says(
        "mind",
        "cabinet",
        f"A tube of {shown(vent.length.likely, 'length', digits=2)} "
        + (
            f"is longer than the box is deep, {shown(depth, 'length', digits=2)}."
            if touches
            else f"ends {shown(left, 'length', digits=2)} before the back of the box; its bore is "
            f"{shown(bore, 'length', digits=2)}."
        ),
        "An end close to a wall chokes the air and tunes the box lower than worked out.",
        do,
        numbers=(
            Figure("length", vent.length.likely, "length"),
            Figure("inside depth", depth, "length"),
            Figure("room before its inner end", max(left, 0.0), "length"),
            Figure("room wanted", bore, "length"),
        ),
    )


@rule(
    "vent-pipe-sings",
    "loud",
    title="A vent that sings like a pipe",
    source="first resonance of a pipe open at both ends, Kinsler and Frey, from memory",
)
def vent_pipe_sings(case: Case) -> Iterator[Says]:
    """First resonance of the vent as a pipe, where a driver on this air still plays."""
    found = _vent(case)
    if found is None:
        return
    vent = found[1]
    sings = float(
        pipe_resonance(vent.length.likely, area=_each(vent), ends=vent.ends, along=vent.along)
    )
    if sings >= _SINGS_BELOW or not any(
        _plays_at(case, voice, sings) for _, _, voice in bass_voices(case)
    ):
        return
    yield Says(
        "fine",
        "cabinet",
        f"{_named(vent)} sings like a pipe at about {shown(sings, 'frequency', digits=2)}, and the "
        "drivers still play there.",
        "The box's inside is full of midrange, and a pipe lets its own note out.",
        "Put its mouth away from the back of the drivers, at the back of the box at best, and "
        "line the walls around its inner end.",
        numbers=(
            Figure("pipe resonance", sings, "frequency"),
            Figure("length", vent.length.likely, "length"),
        ),
    )


def _plays_at(case: Case, voice: VoiceSound, frequency: float) -> bool:
    passed = np.interp(frequency, case.sound.frequency, np.abs(voice.transfer))
    return voice.high_end > frequency and bool(passed > _STILL_PLAYED)


def _boxed(case: Case, **keys: object) -> Iterator[tuple[Bass, Bass]]:
    """Bass of each driver of a vented or passive-radiator box: now, and with other keys of it."""
    cabinet = case.build.cabinet
    if cabinet is None or cabinet.type not in {"vented", "radiator"}:
        return
    other = case.build.model_copy(update={"cabinet": cabinet.model_copy(update=keys)})
    for driver, _, _ in bass_voices(case):
        now, then = bass_of(driver, case.build), bass_of(driver, other)
        if now is not None and then is not None and now.tuning > 0.0:
            yield now, then


@rule(
    "leaks-spoil-vent",
    "loud",
    title="Leaks of a tuned box",
    source="Q of leaks 5 to 10 in sound boxes, R. H. Small, Vented-Box Loudspeaker Systems, "
    "J. Audio Eng. Soc. 1973, from memory",
)
def leaks_spoil_vent(case: Case) -> Iterator[Says]:
    """What the leaks of a vented box, or one with a passive radiator, take at its tuning."""
    cabinet = case.build.cabinet
    if cabinet is None:
        return
    stated = cabinet.ql is not None and cabinet.ql.likely < _LEAKY
    if not stated and not (cabinet.ql is None and cabinet.leaks == "leaky"):
        return
    for now, tight in _boxed(case, leaks="tight", ql=None):
        lost = tight.level_at(now.tuning) - now.level_at(now.tuning)
        if lost <= _LOST:
            continue
        yield Says(
            "mind",
            "cabinet",
            f"Leaks take {shown(lost, 'decibel')} of the bass at the tuning of "
            f"{shown(now.tuning, 'frequency', digits=2)}, where the "
            f"{'vent' if cabinet.type == 'vented' else 'passive radiator'} should play the lowest "
            "notes.",
            "There the air in the box is pressed hardest, and a gap lets the push out.",
            "Seal every joint, cable hole and driver rim with foam strip or putty; a strip of "
            "paper at the gap must not move while a bass tone plays.",
            numbers=(
                Figure("lost at the tuning", lost, "decibel"),
                Figure("tuning", now.tuning, "frequency"),
                Figure("bass end, leaky", now.low_end, "frequency"),
                Figure("bass end, tight", tight.low_end, "frequency"),
            ),
            fix=None if stated else Fix("seal it", (Change(cabinet.name, "leaks", "tight"),)),
        )
        return


@rule(
    "stuffed-vent",
    "loud",
    title="Wadding in a tuned box",
    source="absorption Q of 5 to 15 filled, 30 to 80 lined, from memory of Small and Beranek",
)
def stuffed_vent(case: Case) -> Iterator[Says]:
    """What filling takes from a vent or a passive radiator."""
    cabinet = case.build.cabinet
    if cabinet is None or cabinet.stuffing != "filled" or cabinet.qa is not None:
        return
    for now, lined in _boxed(case, stuffing="lined"):
        less = np.where(now.frequency >= lined.tuning, lined.level - now.level, 0.0)
        worst = int(np.argmax(less))
        lost = float(less[worst])
        if lost <= _LOST:
            continue
        yield Says(
            "mind",
            "cabinet",
            f"The box is filled with wadding, which takes {shown(lost, 'decibel')} of the bass at "
            f"{shown(float(now.frequency[worst]), 'frequency', digits=2)}, just above its tuning.",
            "Wadding brakes the air that should swing between box and vent; in a closed box that "
            "is wanted, here it takes the bass.",
            "Take it out and line two or three walls only, none of it near the inner end of the "
            "vent or the cone of a passive radiator.",
            numbers=(
                Figure("lost at most", lost, "decibel"),
                Figure("tuning", lined.tuning, "frequency"),
                Figure("bass end, filled", now.low_end, "frequency"),
                Figure("bass end, lined", lined.low_end, "frequency"),
            ),
            fix=Fix("line the walls only", (Change(cabinet.name, "stuffing", "lined"),)),
        )
        return
