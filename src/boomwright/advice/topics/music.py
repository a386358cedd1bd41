"""The music itself: how often it clips, how it compares with its class, and bass for nothing."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.speakers import kinds_of
from boomwright.advice.terms import percent
from boomwright.build.quantities import format_quantity as shown
from boomwright.outcome.loudness import asked_volts
from boomwright.outcome.scenario import Scenario
from boomwright.physics.clipped_programme import share_clipped
from boomwright.physics.programme import Programme, load_programmes

__all__: list[str] = []

_HEARD = 0.01
"""Share of the time that is clipped before most people hear it; common practice, no source."""

_CREST_APART = 2.0
"""Beyond the range seen for the class [dB]."""
_BASS_BELOW = 100.0
_BASS_APART = 6.0
_MUSIC = ("speech", "acoustic", "pop", "dance", "background")

_WASTED = 0.6
_HALF_OCTAVE = 2**-0.5
"""How far below its end a box still gives something worth its volts."""


@rule(
    "music-clips",
    "loud",
    title="How often your own music clips",
    source="share of time beyond the amplifier's swing; 1 % is heard, common practice, no source",
)
def music_clips(case: Case) -> Iterator[Says]:
    """Share of the time that each output clips at the level wanted, battery full and at the end."""
    if case.build.music is None:
        return
    volts = float(asked_volts(case.plan, (Scenario("wanted"),))[0, 0])
    shares = {
        output: [
            float(share_clipped(case.plan.programme, peak / volts))
            for peak in (output.peak_volts[0], output.peak_volts[-1])
        ]
        for output in case.sound.outputs
    }
    worst = max(shares, key=lambda output: shares[output][1])
    full, empty = shares[worst]
    if empty <= _HEARD:
        return
    crest = float(case.plan.programme.levels[-1])
    over = 20 * float(np.log10(volts * crest / worst.peak_volts[-1]))
    asked = case.outcome.wanted.level_asked
    yield Says(
        "mind",
        worst.amplifier,
        f"At {asked:.0f} dB(A) your music clips channel {worst.channel + 1} for {percent(full)} of "
        f"the time with a full battery and for {percent(empty)} with a nearly empty one.",
        "Short clipped peaks pass unheard; from one part in a hundred on it grates, and the treble "
        "that clipping makes heats tweeters.",
        f"Turn it down by {shown(over, 'decibel')} for no clipping at all, or find the volts for "
        "it.",
        numbers=(
            Figure("clipped, full battery", full, "share"),
            Figure("clipped, nearly empty", empty, "share"),
            Figure("peaks over the swing", over, "decibel"),
        ),
    )


def _bass_db(programme: Programme) -> float:
    """Level of the bass over that of the rest [dB]."""
    low = float(programme.band_powers[programme.frequencies <= _BASS_BELOW].sum())
    return 10 * float(np.log10(max(low, 1e-9) / max(1 - low, 1e-9)))


def _apart(own: Programme, other: Programme) -> tuple[float, float]:
    """How far music lies outside a class: in crest factor, and in bass [dB]."""
    low, high = other.crest_factor_range_db
    crest = own.crest_factor_db
    return crest - float(np.clip(crest, low, high)), _bass_db(own) - _bass_db(other)


@rule(
    "music-unlike-class",
    "loud",
    title="Your own music against the class that the wish names",
    source="crest factors seen for the classes, physics/data/programmes.toml; common practice",
)
def music_unlike_class(case: Case) -> Iterator[Says]:
    """Crest factor and bass of the measured music against those of the class in the wish."""
    want, classes = case.build.want, load_programmes()
    if case.build.music is None or want.programme not in classes:
        return
    own = case.plan.programme
    crest, bass = _apart(own, classes[want.programme])
    if abs(crest) <= _CREST_APART and abs(bass) <= _BASS_APART:
        return
    distances = {
        name: float(np.hypot(*_apart(own, classes[name]))) for name in (*_MUSIC, want.programme)
    }
    nearest = min(distances, key=lambda name: distances[name])
    fits = nearest != want.programme and _fits(own, classes[nearest])
    points = []
    if abs(crest) > _CREST_APART:
        points.append(f"its peaks stand {own.crest_factor_db:.0f} dB above the average")
    if abs(bass) > _BASS_APART:
        points.append(f"it has {abs(bass):.0f} dB {'more' if bass > 0 else 'less'} bass")
    yield Says(
        "fine",
        "want",
        f"Your music is not like {want.programme}: {' and '.join(points)}.",
        "The verdict rests on your music; if that is not what will be played, it is wrong.",
        "Measure what you will really play"
        + (f", or call this {nearest}." if fits else ": a dozen pieces of it, not one."),
        numbers=(
            Figure("crest factor of your music", own.crest_factor_db, "decibel"),
            Figure("beyond its class", crest, "decibel"),
            Figure("bass over that of the class", bass, "decibel"),
        ),
        fix=Fix(f"call it {nearest}", (Change("want", "programme", nearest),)) if fits else None,
    )


def _fits(own: Programme, other: Programme) -> bool:
    crest, bass = _apart(own, other)
    return abs(crest) <= _CREST_APART and abs(bass) <= _BASS_APART


@rule(
    "bass-wasted",
    "loud",
    title="Bass that the box cannot play",
    source="share of the programme's power half an octave below the box's end; common practice, "
    "no source",
)
def bass_wasted(case: Case) -> Iterator[Says]:
    """Share of the music's power that lies below what any driver of the build plays.

    It is advice where the box is loud enough, and to mind where it is not.
    """
    kinds = kinds_of(case)
    reaching = [kind for kind in kinds if not kind.high_pass]
    if not reaching or not all(kind.sound.known or kind.driver.low_end for kind in reaching):
        return
    deepest = min(reaching, key=lambda kind: kind.box_end)
    end = deepest.box_end
    if np.isnan(end):
        return
    programme = case.plan.programme
    below = programme.frequencies < _HALF_OCTAVE * end
    share = float(programme.band_powers[below].sum())
    # A single note below the box leaves nothing to gain; the level says so itself.
    if not _WASTED < share < 1.0:
        return
    gained = -10 * float(np.log10(1 - share))
    short = case.outcome.wanted.clean_start.likely < case.outcome.wanted.level_asked
    yield Says(
        "mind" if short else "fine",
        deepest.name,
        f"{percent(share)} of the music's power lies below "
        f"{shown(_HALF_OCTAVE * end, 'frequency', digits=2)}; the box ends at "
        f"{shown(end, 'frequency')} and plays none of it.",
        "It still takes the amplifier's volts, moves the cones and empties the battery: about "
        f"{shown(gained, 'decibel')} of loudness go for nothing.",
        f"Cut the bass below {shown(end, 'frequency', digits=2)} ahead of the amplifier, in the "
        "player or with a smaller coupling capacitor, or use drivers that play it.",
        numbers=(
            Figure("the box ends at", end, "frequency"),
            Figure("share of the power below", share, "share"),
            Figure("loudness to gain", gained, "decibel"),
        ),
    )
