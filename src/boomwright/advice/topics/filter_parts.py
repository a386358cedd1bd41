"""Parts of a passive filter: capacitors by their volts, resistors by watts, coils by wire."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from boomwright.advice.finding import Change, Figure, Fix, Level
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.speakers import Kind, kinds_of, rated_for, replaced
from boomwright.build.filters import Component
from boomwright.build.quantities import format_quantity as shown
from boomwright.build.quantities import parse_quantity
from boomwright.outcome.voices import BASS_BANDS, winding_of
from boomwright.physics.arrays import Floats
from boomwright.physics.loudspeaker import qts
from boomwright.physics.preferred import preferred_at_most

__all__: list[str] = []

_LOSS_DB = 1.0
_GOOD_LOSS_DB = 0.5
_QTS_RISE = 1.15

_HALF = 0.5
"""Share of its rating at which a resistor in a closed box stays bearable; common practice."""
_UNSTATED_WATTS = 5.0
_USUAL_WATTS = (5.0, 10.0, 15.0, 20.0, 25.0, 50.0, 100.0)
_USUAL_VOLTS = (35.0, 50.0, 63.0, 100.0, 160.0, 250.0, 400.0, 630.0)


@rule(
    "capacitor-volts",
    "safe",
    title="Volts at the capacitors of a filter",
    source="the capacitor's rating; volts by the ladder at the amplifier's greatest swing",
)
def capacitor_volts(case: Case) -> Iterator[Says]:
    """Peak volts that each capacitor of a filter meets on a full sine, against its rating."""
    for kind, place, at, part, step in _components(case, "capacitor"):
        if part.rating is None:
            continue
        amps = _currents(kind, kind.frequency)[step]
        share = float(np.max(amps / (2 * np.pi * kind.frequency * part.value.likely)))
        swing, rating = float(kind.output.peak_volts[0]), part.rating.likely
        peak = share * swing
        if peak <= rating:
            continue
        usual = next((volts for volts in _USUAL_VOLTS if volts >= peak), None)
        of_swing = swing > rating
        yield Says(
            "stop" if of_swing else "mind",
            kind.name,
            f"The capacitor of {shown(part.value.likely, 'capacitance')} is made for "
            f"{shown(rating, 'voltage')} and meets up to {shown(peak, 'voltage', digits=2)}"
            + (
                "." if of_swing else ": with the coil beside it, it swings higher than the "
                "amplifier does."
            ),
            "A capacitor above its volts breaks down; then bass and steady current pass to the "
            "driver.",
            f"Use one for {shown(usual or peak, 'voltage')} or more.",
            numbers=(
                Figure("meets at its peak", peak, "voltage"),
                Figure("made for", rating, "voltage"),
                Figure("amplifier's greatest swing", swing, "voltage"),
            ),
            fix=_rating_fix(kind, place, at, part, usual, "voltage") if usual else None,
        )  # fmt: skip


@rule(
    "pad-hot",
    "safe",
    title="Watts in the resistors of a filter",
    source="half of a resistor's rating in a closed box; common practice, no source",
)
def pad_hot(case: Case) -> Iterator[Says]:
    """Watts that flat-out music turns to heat in each resistor of a filter, against its rating."""
    bands, powers = case.plan.programme.frequencies, case.plan.programme.band_powers
    crest = 10 ** (case.plan.programme.crest_factor_db / 20)
    for kind, place, at, part, step in _components(case, "resistor"):
        volts = float(kind.output.peak_volts[0]) / crest
        squared = float(_currents(kind, bands)[step] ** 2 @ powers)
        watts = volts**2 * squared * part.value.likely
        rating = part.rating.likely if part.rating else None
        most = _HALF * rating if rating else _UNSTATED_WATTS
        if watts <= most:
            continue
        usual = next((one for one in _USUAL_WATTS if _HALF * one >= watts), None)
        level: Level = "stop" if rating and watts > rating else "mind"
        written = shown(part.value.likely, "resistance")
        yield Says(
            level,
            kind.name,
            f"The resistor of {written} turns {shown(watts, 'power', digits=2)} to heat with clean "
            "music flat out"
            + (
                f" and is made for {shown(rating, 'power')}."
                if rating
                else "; its rating is not known."
            ),
            "Its rating holds in free air at a case that burns fingers; shut in a box it chars the "
            "wood or fails open.",
            f"Use one of {shown(usual or 2 * watts, 'power')} or more, clear of wood and wadding.",
            numbers=(
                Figure("heat, flat out", watts, "power"),
                *((Figure("made for", rating, "power"),) if rating else ()),
                Figure("to ask for", usual or 2 * watts, "power"),
            ),
            fix=_rating_fix(kind, place, at, part, usual, "power") if usual else None,
        )


@rule(
    "coil-resistance",
    "loud",
    title="Wire of a coil in front of a bass driver",
    source="1 dB, or 15 % more qts; common practice, no source",
)
def coil_resistance(case: Case) -> Iterator[Says]:
    """What the wire of a filter's coils costs a bass driver in level and adds to its Q."""
    for kind in kinds_of(case):
        coils = [
            (place, at, part)
            for place, step in enumerate(kind.driver.filter)
            if step.place == "series"
            for at, part in enumerate(step.components)
            if part.kind == "coil"
        ]
        if not coils or kind.driver.band not in BASS_BANDS:
            continue
        wire = sum(winding_of(part) for _, _, part in coils)
        loss = 20 * float(np.log10(1 + wire / kind.coil))
        before = after = None
        if kind.driver.qms and kind.driver.qes:
            qms, qes = kind.driver.qms.likely, kind.driver.qes.likely
            before = float(qts(qms, qes))
            after = float(qts(qms, qes * (1 + wire / kind.coil)))
        looser = before is not None and after is not None and after > _QTS_RISE * before
        if loss <= _LOSS_DB and not looser:
            continue
        most = kind.coil * (10 ** (_GOOD_LOSS_DB / 20) - 1)
        thin = float(preferred_at_most(most / len(coils), "E24"))
        stated = all(part.winding is not None for _, _, part in coils)
        about = "" if stated else " (usual for its size)"
        fix = None
        if len(coils) == 1 and stated:
            place, at, part = coils[0]
            better = replace(part, winding=parse_quantity(shown(thin, "resistance"), "resistance"))
            change = Change(kind.name, "filter", replaced(kind.driver, place, at, better))
            fix = Fix(f"use a coil of {shown(thin, 'resistance')}", (change,))
        q_says = f", and lifts its qts from {before:.2f} to {after:.2f}" if before and after else ""
        yield Says(
            "mind",
            kind.name,
            f"The wire of its coil has {shown(wire, 'resistance')}{about} in series with "
            f"{shown(kind.coil, 'resistance')} of voice coil: it costs {shown(loss, 'decibel')}"
            f"{q_says}.",
            "Wire in front of a bass driver turns power to heat and loosens the amplifier's hold "
            "on the cone, so that the bass booms.",
            f"Use a coil of thicker wire, {shown(most, 'resistance', digits=2)} at most, or one "
            "with an iron core made for the current"
            + ("." if stated else "; measure yours with the leads off."),
            numbers=(
                Figure("wire", wire, "resistance"),
                Figure("voice coil", kind.coil, "resistance"),
                Figure("level lost", loss, "decibel"),
                *((Figure("qts with it", after, "ratio"),) if after else ()),
            ),
            fix=fix,
        )


def _components(case: Case, what: str) -> Iterator[tuple[Kind, int, int, Component, int]]:
    """Components of one sort: their drivers, step and place in the file, step of the ladder."""
    for kind in kinds_of(case):
        first = len(kind.steps) - len(kind.driver.filter)
        for place, step in enumerate(kind.driver.filter):
            for at, part in enumerate(step.components):
                if part.kind == what:
                    yield kind, place, at, part, first + place


def _currents(kind: Kind, frequency: Floats) -> list[Floats]:
    """Amps through each step of the ladder for one volt at the amplifier."""
    found = kind.group.voice.filtered(frequency).currents
    return [np.abs(np.atleast_2d(one)[0]) for one in found]


def _rating_fix(kind: Kind, place: int, at: int, part: Component, rating: float, unit: str) -> Fix:
    change = Change(kind.name, "filter", replaced(kind.driver, place, at, rated_for(part, rating)))
    return Fix(f"one for {shown(rating, unit)}", (change,))
