"""Passive filters on the real impedance of their drivers."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.speakers import (
    Kind,
    appended,
    kinds_of,
    least_load,
    low_pass_fault,
)
from boomwright.build.filters import Component
from boomwright.build.quantities import format_quantity as shown
from boomwright.build.quantities import parse_quantity
from boomwright.outcome.voices import BASS_BANDS, winding_of
from boomwright.physics.impedance import impedance_minimum
from boomwright.physics.ladder import Step
from boomwright.physics.pads import impedance_correction, resonance_notch
from boomwright.physics.preferred import nearest_preferred

__all__: list[str] = []

_TOLERANCE = 0.95
"""Parts of a filter are within 5 % of their values."""
_DEEP = 0.7
"""Least load over the least allowed below which a board's current limit cuts in on a single note;
common practice, no source."""

_RISE = 2.0
_STILL_THERE = -3.0
_KEPT_AWAY = 7.0
"""What the right capacitor takes at a tweeter's resonance by its sum: a corner at twice it [dB]."""


@rule(
    "impedance-dips",
    "safe",
    title="Least impedance of an output with its filters",
    source="the board's least load; a load's least impedance is 80 % of its rating or more, "
    "IEC 60268-5, from memory",
)
def impedance_dips(case: Case) -> Iterator[Says]:
    """Least impedance that filters and drivers make together against what the board is made for."""
    rated = {
        (board.name, output.channel): output.load_least
        for board in case.outcome.amplifiers
        for output in board.outputs
    }
    ladders = {kind.name: kind for kind in kinds_of(case)}
    for board in case.build.amplifier:
        allowed = float(impedance_minimum(least_load(board)))
        outputs = [
            output
            for output in case.sound.outputs
            if output.amplifier == board.name
            and any(ladders[voice.name].steps for voice in output.voices)
            # What the rated ohms say already is told by the rule about them.
            and rated[board.name, output.channel] >= _TOLERANCE * allowed
        ]
        worst = min(outputs, key=lambda output: output.least, default=None)
        if worst is None or worst.least >= _TOLERANCE * allowed:
            continue
        at = int(np.argmin(np.abs(case.sound.frequency - worst.least_at)))
        shares = {voice.name: abs(_input(ladders[voice.name], at)) for voice in worst.voices}
        guilty = min(shares, key=lambda name: shares[name])
        yield Says(
            "stop" if worst.least < _DEEP * allowed else "mind",
            board.name,
            f"Filters and drivers on channel {worst.channel + 1} dip to "
            f"{shown(worst.least, 'resistance')} at {shown(worst.least_at, 'frequency')}; the "
            f"board is made for {shown(least_load(board), 'resistance')}, which at its lowest is "
            f"{shown(allowed, 'resistance')}.",
            "Coil and capacitor of a filter can draw more than the driver behind them; the board "
            "trips, distorts or burns on those notes.",
            f"Look at the filter of {guilty}, which draws most there: more resistance in its step "
            "across, other values, or drivers of more ohms.",
            numbers=(
                Figure("least impedance", worst.least, "resistance"),
                Figure("at", worst.least_at, "frequency"),
                Figure("least allowed", allowed, "resistance"),
                Figure(f"{guilty} alone, there", shares[guilty], "resistance"),
            ),
        )


def _input(kind: Kind, at: int) -> complex:
    found = kind.group.voice.filtered(kind.frequency[at : at + 1]).impedance
    return complex(np.ravel(found)[0])


@rule(
    "woofer-low-pass-undone",
    "loud",
    title="Low-pass on a driver whose impedance rises",
    source="the ladder on the driver's own impedance; a rise of 2 dB is heard, common practice, "
    "no source",
)
def woofer_low_pass_undone(case: Case) -> Iterator[Says]:
    """What the low-pass of a driver does on its rising impedance, against its rated ohms."""
    for kind in kinds_of(case):
        fault, model = low_pass_fault(kind), kind.group.voice.model
        if fault is None or model is None or not fault.undone:
            continue
        joined = kind.group.voice.joined
        branch = impedance_correction(
            model.re, model.le, le2=model.le2, re2=model.re2,
            low=0.25 * fault.corner, high=4.0 * fault.corner,
        )  # fmt: skip
        ohms = float(nearest_preferred(np.ravel(branch.resistance)[0] * joined, "E24"))
        farads = float(nearest_preferred(np.ravel(branch.capacitance)[0] / joined, "E12"))
        step = f"across {shown(ohms, 'resistance')} + {shown(farads, 'capacitance')}"
        damped = kind.with_steps(Step("across", resistance=ohms, capacitance=farads))
        after = low_pass_fault(damped)
        mends = after is not None and not after.undone
        then = -damped.at(damped.over_plateau(damped.passed), 4.0 * fault.corner)
        two_octaves = shown(4.0 * fault.corner, "frequency")
        says = (
            f"The low-pass lifts {shown(fault.rise_at, 'frequency')} by "
            f"{shown(fault.rise, 'decibel')} before it falls."
            if fault.rises
            else f"The low-pass takes {shown(fault.fall, 'decibel')} at {two_octaves}, where its "
            f"parts would take {shown(fault.fall_plain, 'decibel')} on "
            f"{shown(kind.rated, 'resistance')}: it hardly falls."
        )
        yield Says(
            "mind",
            kind.name,
            says,
            "The voice coil is a coil as well: the driver's impedance rises with the notes, and a "
            "filter worked out for a resistor no longer fits."
            if mends
            else "The driver's impedance peaks at its resonance and rises with the notes; a filter "
            "worked out for a resistor does not fit it.",
            f"Put {shown(ohms, 'resistance')} and {shown(farads, 'capacitance')} in a chain across "
            f"the driver, behind the low-pass; then it takes {shown(then, 'decibel')} at "
            f"{two_octaves}."
            if mends
            else "Work the low-pass out anew on the driver's own impedance, as 'boomwright design "
            "split' does, or put it ahead of the amplifier.",
            numbers=(
                Figure("corner on the rated ohms", fault.corner, "frequency"),
                Figure("greatest rise", fault.rise, "decibel"),
                Figure("lost two octaves above", fault.fall, "decibel"),
                Figure("on the rated ohms", fault.fall_plain, "decibel"),
            ),
            fix=Fix(
                f"write the step {step}",
                (Change(kind.name, "filter", appended(kind.driver, step)),),
            )
            if mends
            else None,
        )


@rule(
    "tweeter-bump",
    "loud",
    title="A tweeter's own resonance behind its capacitor",
    source="the ladder on the driver's own impedance; a rise of 2 dB is heard, common practice, "
    "no source",
)
def tweeter_bump(case: Case) -> Iterator[Says]:
    """Level of a driver at its resonance, behind a filter that should have taken it away."""
    for kind in kinds_of(case):
        driver, model, corner = kind.driver, kind.group.voice.model, kind.nominal.get("low")
        if corner is None or model is None or driver.fs is None or driver.qms is None:
            continue
        if driver.band in BASS_BANDS or driver.qes is None or corner <= driver.fs.likely:
            continue
        # Where the sum itself says that the capacitor is too large, that is the fault to tell.
        fs, plain = driver.fs.likely, kind.over_plateau(kind.plain)
        if kind.at(plain, fs) > -_KEPT_AWAY:
            continue
        there, rise = _at_resonance(kind, fs)
        if there <= _STILL_THERE and rise <= _RISE:
            continue
        notch = resonance_notch(model.re, fs=fs, qms=driver.qms.likely, qes=driver.qes.likely)
        joined = kind.group.voice.joined
        ohms = float(nearest_preferred(np.ravel(notch.resistance)[0] * joined, "E24"))
        henrys = float(nearest_preferred(np.ravel(notch.inductance)[0] * joined, "E12"))
        farads = float(nearest_preferred(np.ravel(notch.capacitance)[0] / joined, "E12"))
        chain = (
            shown(ohms, "resistance"),
            shown(henrys, "inductance"),
            shown(farads, "capacitance"),
        )
        step = f"across {' + '.join(chain)}"
        # The coil's own wire counts towards the resistor; here it is taken as part of it.
        winding = winding_of(Component("coil", parse_quantity(chain[1], "inductance")))
        damped = Step("across", resistance=ohms + winding, inductance=henrys, capacitance=farads)
        after = _at_resonance(kind.with_steps(damped), fs)
        mends = after[0] <= _STILL_THERE and after[1] <= _RISE
        yield Says(
            "mind",
            kind.name,
            f"By the sum its filter takes {shown(-kind.at(plain, fs), 'decibel')} at the driver's "
            f"resonance of {shown(fs, 'frequency')}; what is heard there is "
            + (
                f"only {shown(-there, 'decibel')} down."
                if there < 0
                else f"{shown(there, 'decibel')} up."
            )
            if rise <= _RISE
            else f"Behind its filter the driver's resonance lifts the sound by "
            f"{shown(rise, 'decibel')} near {shown(fs, 'frequency')}, below where it should begin.",
            "At its resonance a driver has several times its rated ohms, and a capacitor hardly "
            "holds those back: it sounds harsh and moves far.",
            f"Put {chain[0]}, {chain[1]} and {chain[2]} in one chain across the driver, a resistor "
            "pad before it, or a filter of higher order.",
            numbers=(
                Figure("corner on the rated ohms", corner, "frequency"),
                Figure("resonance", fs, "frequency"),
                Figure("heard there", there, "decibel"),
                Figure("greatest rise", rise, "decibel"),
            ),
            fix=Fix(
                f"write the step {step}",
                (Change(kind.name, "filter", appended(driver, step)),),
            )
            if mends
            else None,
        )


def _at_resonance(kind: Kind, fs: float) -> tuple[float, float]:
    """Level heard at the resonance, and the greatest below the corner, over the plateau [dB]."""
    level = kind.over_plateau(kind.passed + kind.own)
    below = kind.frequency <= kind.nominal.get("low", 0.0)
    return kind.at(level, fs), float(np.max(level[below], initial=-np.inf))
