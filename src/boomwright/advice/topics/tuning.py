"""Tuning: whether vent or passive radiator suit the driver and the air it has."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from boomwright.advice.bass import bass_voices, well_known_bass
from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.build.audio import Driver
from boomwright.build.quantities import format_quantity as shown
from boomwright.outcome.bass import Bass, Tuned, bass_of, best_tuning
from boomwright.outcome.openings import air_share
from boomwright.physics.alignment import AlignmentName, alignment
from boomwright.physics.vent import end_correction

__all__: list[str] = []

_BOOM = 3.0
"""Hump that makes one note of the bass [dB]; common practice, no source."""
_TAMED, _SEEN = 1.5, 0.5
_MADE_FOR_VENTS = 0.56
"""Highest Q of a driver that a vent is made for: where Thiele's table ends, from memory."""
_TOO_FAR = 1.25
"""Bass end over the best one that this box could have; a third of an octave."""
_HUMP_MOST = 2.4
"""Hump of a closed box at a Q of 1.2 [dB], the most that is let pass; computed, Small 1972."""
_FAMILIES: Final[tuple[AlignmentName, ...]] = ("QB3", "C4")


def _tuned(case: Case) -> Iterator[tuple[Driver, Bass, Tuned]]:
    """Drivers of a vented box that are known well enough, as tuned and as they would be best."""
    cabinet = case.build.cabinet
    if cabinet is None or cabinet.type != "vented":
        return
    if cabinet.vent is None and cabinet.tuning is None:
        return
    for driver, _, _ in bass_voices(case):
        if driver.low_end is None and well_known_bass(driver):
            bass = bass_of(driver, case.build)
            if bass is not None:
                yield driver, bass, best_tuning(bass)


def _own_box(bass: Bass, count: int) -> tuple[float, float]:
    """Air for all drivers of a kind, and tuning, of a named alignment; nan where there is none."""
    fs, qts, vas = (
        float(np.ravel(value)[0]) for value in (bass.small.fs, bass.small.qts, bass.small.vas)
    )
    for family in _FAMILIES:
        found = alignment(qts, family=family)
        if np.isfinite(found.alpha):
            return count * vas / float(found.alpha), fs * float(found.h)
    return float("nan"), float("nan")


@rule(
    "vented-mistake",
    "loud",
    title="A driver that no vent suits in this box",
    source="A. N. Thiele, Loudspeakers in Vented Boxes, J. Audio Eng. Soc. 1971, whose table ends "
    "at a Q of 0.56; a hump of 3 dB is heard as boom, common practice, no source",
)
def vented_mistake(case: Case) -> Iterator[Says]:
    """Hump of the bass in a vented box that no other tuning of it takes away."""
    for driver, now, best in _tuned(case):
        if now.hump <= _BOOM or best.hump <= _TAMED:
            continue
        closed = _closed(case, driver)
        own = float(np.ravel(now.small.qts)[0])
        volume, fb = _own_box(now, driver.count)
        air = now.volume * driver.count
        if own <= _MADE_FOR_VENTS and volume > air:
            do = (
                f"Give it {shown(volume, 'volume', digits=2)} tuned to "
                f"{shown(fb, 'frequency', digits=2)}, use fewer or smaller drivers, or close the "
                "vent."
            )
        else:
            do = "Close the vent, or use a driver of lower Q."
        fix = None
        if closed is not None and closed.hump < now.hump and closed.hump <= _HUMP_MOST:
            do += (
                f" Closed, its hump is {shown(closed.hump, 'decibel')} and its bass ends at "
                f"{shown(closed.low_end, 'frequency', digits=2)}."
            )
            cabinet = case.build.cabinet
            if cabinet is not None:
                fix = Fix("close the vent", (Change(cabinet.name, "type", "closed"),))
        yield Says(
            "mind",
            driver.name,
            f"In this vented box the bass humps by {shown(now.hump, 'decibel')} at "
            f"{shown(now.hump_at, 'frequency', digits=2)}, and no other tuning tames it: the "
            f"driver's Q is {own:.2f} and it has {shown(air, 'volume', digits=2)} of air.",
            "A vent adds to what the driver does by itself: with a high Q or too little air, one "
            "note booms and rings on.",
            do,
            numbers=(
                Figure("hump", now.hump, "decibel"),
                Figure("least hump of any tuning", best.hump, "decibel"),
                Figure("Q of the driver", own, "ratio"),
                Figure("air", air, "volume"),
            ),
            fix=fix,
        )


def _closed(case: Case, driver: Driver) -> Bass | None:
    cabinet = case.build.cabinet
    if cabinet is None:
        return None
    shut = cabinet.model_copy(update={"type": "closed"})
    return bass_of(driver, case.build.model_copy(update={"cabinet": shut}))


@rule(
    "tuning-off",
    "loud",
    title="Tuning of a vented box",
    source="R. H. Small, Vented-Box Loudspeaker Systems, J. Audio Eng. Soc. 1973, from memory; a "
    "third of an octave of bass or a hump of 3 dB, common practice, no source",
)
def tuning_off(case: Case) -> Iterator[Says]:
    """Bass of a vented box against the deepest flat one that the same air could give."""
    for driver, now, best in _tuned(case):
        booms = now.hump > _BOOM and best.hump <= _TAMED
        shallow = now.low_end > _TOO_FAR * best.low_end and best.hump <= _TAMED
        if not booms and not shallow:
            continue
        high = now.tuning > best.fb
        fault = (
            f"humps by {shown(now.hump, 'decibel')} at {shown(now.hump_at, 'frequency', digits=2)}"
            if booms
            else f"ends at {shown(now.low_end, 'frequency', digits=2)}"
        )
        yield Says(
            "mind",
            driver.name,
            f"The box is tuned to {shown(now.tuning, 'frequency', digits=2)}, too "
            f"{'high' if high else 'low'} for this driver in this air: its bass {fault}. Tuned to "
            f"{shown(best.fb, 'frequency', digits=2)} it would end at "
            f"{shown(best.low_end, 'frequency', digits=2)}"
            + (" without one." if booms and best.hump < _SEEN else "."),
            "The vent helps around its tuning only: too high it booms, too low it comes when the "
            "driver has already faded.",
            _other_vent(case, now, best),
            numbers=(
                Figure("tuning", now.tuning, "frequency"),
                Figure("tuning that suits", best.fb, "frequency"),
                Figure("bass end", now.low_end, "frequency"),
                Figure("bass end it could have", best.low_end, "frequency"),
                Figure("hump", now.hump, "decibel"),
            ),
        )


def _other_vent(case: Case, now: Bass, best: Tuned) -> str:
    wanted = shown(best.fb, "frequency", digits=2)
    vent = case.build.cabinet.vent if case.build.cabinet else None
    if vent is None:
        return f"Change the vent until the box measures {wanted}."
    added = float(end_correction(vent.area / vent.count, ends=vent.ends, along=vent.along))
    # The air that moves weighs as much more as the tuning squared is to fall.
    length = (vent.length.likely + added) * (now.tuning / best.fb) ** 2 - added
    if length <= 0.0:
        return (
            f"Even a hole in the panel tunes lower than {wanted} with this bore: use a wider vent, "
            "and measure the tuning."
        )
    longer = "longer" if length > vent.length.likely else "shorter"
    return (
        f"Make the vent {longer}: {shown(length, 'length', digits=2)} in place of "
        f"{shown(vent.length.likely, 'length', digits=2)} tunes to {wanted}. Cut it long and trim "
        "it to the measured tuning."
    )


@rule(
    "radiator-needs-mass",
    "loud",
    title="Mass on the passive radiator",
    source="R. H. Small, Passive-Radiator Loudspeaker Systems, J. Audio Eng. Soc. 1974, from "
    "memory; a third of an octave of bass or a hump of 3 dB, common practice, no source",
)
def radiator_needs_mass(case: Case) -> Iterator[Says]:
    """Tuning by a passive radiator against the one that suits driver and air."""
    cabinet = case.build.cabinet
    if cabinet is None or cabinet.type != "radiator" or cabinet.radiator is None:
        return
    cone = cabinet.radiator
    for driver, _, _ in bass_voices(case):
        bass = bass_of(driver, case.build)
        if bass is None or driver.low_end is not None or not well_known_bass(driver):
            continue
        best = best_tuning(bass)
        booms = bass.hump > _BOOM
        if best.hump > _TAMED or not (booms or bass.low_end > _TOO_FAR * best.low_end):
            continue
        light = bass.tuning > best.fb
        share = air_share(driver, case.build)
        stiffness = float(np.ravel(bass.load.stiffness + 1.0 / bass.load.compliance)[0])
        # Mass that swings with the springs of air and surround at the tuning wanted.
        acoustic = stiffness / (2.0 * np.pi * best.fb) ** 2
        mass = acoustic * (cone.count * cone.sd.likely * share) ** 2 / (cone.count * share)
        own = cone.fs.likely * float(np.sqrt(cone.mass.likely / mass))
        change = abs(mass - cone.mass.likely)
        yield Says(
            "mind",
            "cabinet",
            f"With {shown(cone.mass.likely, 'mass', digits=2)} of moving mass the passive "
            f"radiator tunes the box to {shown(bass.tuning, 'frequency', digits=2)}; "
            f"{shown(best.fb, 'frequency', digits=2)} suits {driver.name} in this air"
            + (
                f", and it now humps by {shown(bass.hump, 'decibel')}."
                if booms
                else f", for bass down to {shown(best.low_end, 'frequency', digits=2)} in place of "
                f"{shown(bass.low_end, 'frequency', digits=2)}."
            ),
            "The mass of the passive cone is to it what the length of a vent is: too light it "
            "booms, too heavy it comes too late.",
            (
                f"Screw {shown(change, 'mass', digits=2)} to the middle of each passive cone, "
                f"{shown(mass, 'mass', digits=2)} in all, and measure the tuning; its own "
                f"resonance falls to {shown(own, 'frequency', digits=2)}."
                if light
                else f"Take {shown(change, 'mass', digits=2)} off each passive cone, down to "
                f"{shown(mass, 'mass', digits=2)}, as far as its own weight lets you, "
                "or use more passive cone."
            ),
            numbers=(
                Figure("tuning", bass.tuning, "frequency"),
                Figure("tuning that suits", best.fb, "frequency"),
                Figure("moving mass wanted", mass, "mass"),
                Figure("hump", bass.hump, "decibel"),
            ),
        )
        return
