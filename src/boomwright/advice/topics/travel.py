"""Travel: how far cones move as the music plays, and what a passive radiator stands."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from boomwright.advice.bass import (
    Played,
    bass_voices,
    played,
    quieter_wish,
)
from boomwright.advice.finding import Figure, Fix, Level
from boomwright.advice.rules import Case, Says, rule
from boomwright.build.audio import Cabinet, Driver
from boomwright.build.openings import Radiator
from boomwright.build.quantities import Quantity
from boomwright.build.quantities import format_quantity as shown
from boomwright.outcome.bass import bass_of
from boomwright.outcome.plan import programme_of
from boomwright.outcome.sound import OutputSound
from boomwright.physics.arrays import Floats

__all__: list[str] = []

_HEARD = 1.25
"""Travel over the linear one that short peaks may have before it is heard; common practice, no
source."""
_RUINS = 2.0
"""Travel over the most linear one at which coils hit the back plate; common practice, no source."""
_MARGIN = 1.5
"""Air that a passive radiator should move over that of the drivers: 1.5 to 2, common practice."""


def _tuning(case: Case, driver: Driver) -> float:
    """Tuning of the box that a driver works on; 0 for closed and open ones."""
    cabinet = case.build.cabinet
    if cabinet is None or cabinet.type not in {"vented", "radiator"}:
        return 0.0
    if cabinet.type == "vented" and cabinet.vent is None and cabinet.tuning is None:
        return 0.0
    bass = bass_of(driver, case.build)
    return bass.tuning if bass is not None else 0.0


def _too_far(swing: Played, stands: Quantity) -> bool:
    """Whether it likely moves too far at the wanted level, or surely at the clean limit."""
    likely = _HEARD * stands.likely
    return swing.wanted > likely or swing.clean > max(likely, stands.high)


def _said(swing: Played, stands: Quantity) -> tuple[str, float]:
    if swing.wanted > _HEARD * stands.likely:
        return (
            f"{shown(swing.wanted, 'length', digits=2)} one way at the level you want",
            swing.wanted,
        )
    clean = shown(swing.clean, "length", digits=2)
    words = f"{clean} one way with the box turned up to its clean limit"
    return words, swing.clean


def _quieter(case: Case, swing: Played, stands: Quantity) -> Fix | None:
    """The wish lowered to what is stood; None where the clean limit is too much as well."""
    likely = _HEARD * stands.likely
    if swing.wanted <= likely or swing.clean > max(likely, stands.high):
        return None
    return quieter_wish(case, stands.likely / swing.wanted)


def _level(swing: Played, stands: Quantity) -> Level:
    if swing.wanted > _RUINS * stands.high:
        return "stop"
    # A knob that is not meant to stand there is advice, unless it would ruin something.
    asked = swing.wanted > _HEARD * stands.likely
    return "mind" if asked or swing.clean > _RUINS * stands.high else "fine"


def _figures(what: str, swing: Played, stands: Quantity) -> tuple[Figure, ...]:
    return (
        Figure(f"travel of the {what} at the level wanted", swing.wanted, "length"),
        Figure(f"travel of the {what} at the clean limit", swing.clean, "length"),
        Figure("stands", stands.likely, "length"),
    )


def _cut(case: Case, output: OutputSound, curve: Floats, stands: Quantity, *, asked: bool) -> float:
    """Frequency below which the music must be cut for a curve to stay within what is stood."""
    edges = programme_of(case.build).frequencies
    for edge in edges[edges < 1000.0]:
        swing = played(case, output, curve, band=(float(edge), np.inf))
        if (swing.wanted if asked else swing.clean) <= stands.likely:
            return float(edge)
    return float("nan")


@rule(
    "cone-travel",
    "loud",
    title="Travel of the cones",
    source="the driver's linear travel against its response on the programme's spectrum; R. H. "
    "Small, Closed-Box Loudspeaker Systems, J. Audio Eng. Soc. 1972, from memory",
)
def cone_travel(case: Case) -> Iterator[Says]:
    """Peak travel of the cones as this music plays, at the level wanted and at the clean limit.

    In a box with a vent or a passive radiator only what lies above its tuning counts here.
    """
    for driver, output, voice in bass_voices(case):
        if driver.xmax is None or not voice.travel_known:
            continue
        band = (_tuning(case, driver), np.inf)
        swing = played(case, output, voice.travel, band=band)
        if not _too_far(swing, driver.xmax):
            continue
        words, _ = _said(swing, driver.xmax)
        asked = swing.wanted > _HEARD * driver.xmax.likely
        cut = _cut(case, output, voice.travel, driver.xmax, asked=asked)
        high_pass = (
            f"Cut what lies below {shown(cut, 'frequency')} with a steep high-pass at the "
            "amplifier's input, share"
            if np.isfinite(cut)
            else "Share"
        )
        yield Says(
            _level(swing, driver.xmax),
            driver.name,
            f"Bass peaks of this music move the cone {words}, and it stands "
            f"{shown(driver.xmax.likely, 'length', digits=2)}.",
            "Beyond its travel a cone distorts, then its coil hits the magnet and tears.",
            f"{high_pass} the bass over more or larger drivers, or play it quieter.",
            numbers=_figures("cone", swing, driver.xmax),
            fix=_quieter(case, swing, driver.xmax),
        )


@rule(
    "cone-unloads",
    "loud",
    title="Travel of the cones below the tuning",
    source="below its tuning a vent lets the cone go as in free air: R. H. Small, Vented-Box "
    "Loudspeaker Systems, J. Audio Eng. Soc. 1973, from memory",
)
def cone_unloads(case: Case) -> Iterator[Says]:
    """Peak travel that the music below the tuning of a vented box or passive radiator makes."""
    for driver, output, voice in bass_voices(case):
        tuning = _tuning(case, driver)
        if driver.xmax is None or not voice.travel_known or tuning <= 0.0:
            continue
        swing = played(case, output, voice.travel, band=(0.0, tuning))
        if not _too_far(swing, driver.xmax):
            continue
        words, _ = _said(swing, driver.xmax)
        yield Says(
            _level(swing, driver.xmax),
            driver.name,
            f"What this music holds below the tuning of {shown(tuning, 'frequency', digits=2)} "
            f"moves the cone {words}; it stands {shown(driver.xmax.likely, 'length', digits=2)}.",
            "Below the tuning nothing holds the cone but its own spring, and no sound comes of it.",
            f"Put a steep high-pass at {shown(0.9 * tuning, 'frequency', digits=2)} ahead of the "
            "amplifier, or tune the box lower; thumps of plugs and switches do the same.",
            numbers=(
                *_figures("cone", swing, driver.xmax),
                Figure("tuning", tuning, "frequency"),
            ),
        )


def _radiator(case: Case) -> tuple[Cabinet, Radiator] | None:
    cabinet = case.build.cabinet
    if cabinet is None or cabinet.type != "radiator" or cabinet.radiator is None:
        return None
    return cabinet, cabinet.radiator


def _most_travel(case: Case) -> Played | None:
    """Travel of the passive radiator as the music plays, all drivers that move it together."""
    swings = [
        played(case, output, voice.radiator_travel)
        for _, output, voice in bass_voices(case)
        if voice.opening_known
    ]
    return max(swings, key=lambda swing: swing.clean, default=None)


@rule(
    "radiator-travel",
    "loud",
    title="Travel of the passive radiator",
    source="the radiator's travel against its response on the programme's spectrum; R. H. Small, "
    "Passive-Radiator Loudspeaker Systems, J. Audio Eng. Soc. 1974, from memory",
)
def radiator_travel(case: Case) -> Iterator[Says]:
    """Peak travel of the passive radiator as this music plays."""
    found = _radiator(case)
    swing = _most_travel(case) if found else None
    if found is None or swing is None or found[1].xmax is None:
        return
    cone = found[1]
    if cone.xmax is None or not _too_far(swing, cone.xmax):
        return
    words, most = _said(swing, cone.xmax)
    grown = most / cone.xmax.likely
    yield Says(
        _level(swing, cone.xmax),
        "cabinet",
        f"Bass peaks of this music move the passive radiator {words}, and it stands "
        f"{shown(cone.xmax.likely, 'length', digits=2)}.",
        "Around the tuning the radiator makes all of the sound; at the end of its travel it knocks "
        "and tears.",
        f"Use {shown(grown * cone.count * cone.sd.likely, 'cone', digits=2)} of passive cone in "
        f"place of {shown(cone.count * cone.sd.likely, 'cone', digits=2)}, with mass to keep the "
        "tuning, or cut the bass below it.",
        numbers=_figures("passive radiator", swing, cone.xmax),
        fix=_quieter(case, swing, cone.xmax),
    )


@rule(
    "radiator-small",
    "loud",
    title="Size of the passive radiator",
    source="air moved by the passive cone 1.5 to 2 times that of the drivers: common practice, no "
    "source",
)
def radiator_small(case: Case) -> Iterator[Says]:
    """Air that the passive radiator can move against what the drivers can."""
    found = _radiator(case)
    if found is None:
        return
    cone = found[1]
    drivers = [
        (driver.count, driver.sd.likely, driver.xmax)
        for driver, _, _ in bass_voices(case)
        if driver.sd is not None
    ]
    area = cone.count * cone.sd.likely
    driven = sum(count * sd for count, sd, _ in drivers)
    throws = [count * sd * xmax.likely for count, sd, xmax in drivers if xmax is not None]
    if cone.xmax is None or not throws or len(throws) < len(drivers):
        if not drivers or area >= driven:
            return
        says = (
            f"The passive cone has {shown(area, 'cone')} and the drivers {shown(driven, 'cone')}: "
            "it must move farther than they do."
        )
        figures = (
            Figure("passive cone", area, "cone"),
            Figure("cones of the drivers", driven, "cone"),
        )
    else:
        swept, needed = area * cone.xmax.likely, sum(throws)
        if swept >= _MARGIN * needed:
            return
        says = (
            f"The passive radiator moves {swept * 1e6:.0f} cm³ of air at most and the drivers "
            f"{needed * 1e6:.0f} cm³; it should be {_MARGIN:g} to 2 times theirs."
        )
        figures = (
            Figure("air the passive cone moves", swept, "volume"),
            Figure("air the drivers move", needed, "volume"),
        )
    yield Says(
        "mind",
        "cabinet",
        says,
        "Around the tuning the drivers nearly rest and the passive cone does all the work.",
        "Use a second passive radiator, or a larger one, on the opposite wall if the box should "
        "not shake.",
        numbers=figures,
    )
