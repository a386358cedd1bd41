"""Drivers: the load they make, the power they meet, and the capacitor of a tweeter."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.speakers import (
    Kind,
    capacitor_too_small,
    corner_wanted,
    kinds_of,
    least_load,
    replaced,
)
from boomwright.build.audio import Amplifier, Driver
from boomwright.build.filters import FilterStep
from boomwright.build.quantities import format_quantity as shown
from boomwright.outcome.data import DriverOutcome, OutputOutcome
from boomwright.outcome.speakers import channels_of
from boomwright.outcome.voices import blocks_bass
from boomwright.physics.impedance import (
    first_order_capacitor,
    first_order_corner,
    impedance_minimum,
)
from boomwright.physics.preferred import nearest_preferred

__all__: list[str] = []

_LOAD_TOLERANCE = 0.98
_COIL_SHARE_LEAST = 0.7
"""Voice-coil resistance over rated impedance is 0.70 to 0.85 in ordinary drivers."""

_CORNER_LEAST, _CORNER_RUINOUS = 2.0, 1.3
"""Corner over resonance: below the first a tweeter strains, below the second it dies."""
_LOWEST_CORNER, _RUINOUS_CORNER = 1500.0, 800.0
_HUNDREDFOLD = (40.0, 250.0)
_REVERSE_VOLTS = 1.5


def _on_channel(case: Case, board: Amplifier, channel: int) -> list[tuple[Driver, int]]:
    counts = [(driver, channels_of(driver, board)) for driver in case.drivers_of(board)]
    return [(driver, count[channel]) for driver, count in counts if channel in count]


def _series_mends(case: Case, board: Amplifier, output: OutputOutcome, least: float) -> Fix | None:
    """Drivers of one kind in series instead of side by side, where that is enough."""
    found = _on_channel(case, board, output.channel)
    if len(found) != 1:
        return None
    driver, count = found[0]
    if driver.wiring == "series" or count < 2 or driver.impedance.likely * count < least:
        return None
    together = shown(driver.impedance.likely * count, "resistance")
    return Fix(
        f"wire the {count} drivers in series, {together} in all",
        (Change(driver.name, "wiring", "series"),),
    )


@rule(
    "load-too-low",
    "safe",
    title="Speaker load below what the amplifier is made for",
    source="the board's least load; a driver's least impedance is about 80 % of its rating, "
    "IEC 60268-5, from memory",
)
def load_too_low(case: Case) -> Iterator[Says]:
    """Rated load of each output against the least that the board is made for."""
    boards = {board.name: board for board in case.build.amplifier}
    for outcome in case.outcome.amplifiers:
        board = boards[outcome.name]
        least = least_load(board)
        half = (
            "each half of a bridge output meets only half of it"
            if board.topology == "bridge" or board.use == "bridged"
            else "the current grows as the ohms fall"
        )
        low = [item for item in outcome.outputs if _rated(item) < _LOAD_TOLERANCE * least]
        if not low:
            yield from _coil_too_low(case, board, outcome.outputs, least)
            continue
        output = min(low, key=_rated)
        rated, fix = _rated(output), _series_mends(case, board, output, least)
        do = (
            "Wire them in series"
            if fix
            else "Use drivers of higher impedance, or one on each channel"
        )
        yield Says(
            "stop",
            board.name,
            f"{_channels(low)} loaded with {shown(rated, 'resistance')} "
            f"({' and '.join(output.drivers)}), and the board is made for "
            f"{shown(least, 'resistance')} or more.",
            f"At some notes it is only {shown(output.load_least, 'resistance')}, and "
            f"{half}: the board trips on bass or burns.",
            f"{do}, so that the channel meets at least {shown(least, 'resistance')}.",
            numbers=(
                Figure("rated load", rated, "resistance"),
                Figure("least over the band", output.load_least, "resistance"),
                Figure("made for at least", least, "resistance"),
            ),
            fix=fix,
        )


def _rated(output: OutputOutcome) -> float:
    """Rated load of an output, its speaker lead left out."""
    return output.load_least / float(impedance_minimum(1.0))


def _channels(outputs: list[OutputOutcome]) -> str:
    numbers = " and ".join(str(output.channel + 1) for output in outputs)
    return f"Channel {numbers} is" if len(outputs) == 1 else f"Channels {numbers} are"


def _coil_resistance(case: Case, board: Amplifier, output: OutputOutcome) -> float:
    """Voice coils of an output as wired; infinite where one of them is not known."""
    conductance = 0.0
    for driver, count in _on_channel(case, board, output.channel):
        if blocks_bass(driver):
            continue
        if driver.re is None:
            return float("inf")
        series = driver.wiring == "series"
        conductance += 1 / (driver.re.likely * count) if series else count / driver.re.likely
    return 1 / conductance if conductance else float("inf")


def _coil_too_low(
    case: Case, board: Amplifier, outputs: tuple[OutputOutcome, ...], least: float
) -> Iterator[Says]:
    """Voice coils whose resistance belies the impedance printed on them."""
    coils = [(_coil_resistance(case, board, output), output.channel) for output in outputs]
    if not coils:
        return
    (coil, channel), low = min(coils), _COIL_SHARE_LEAST * least
    if coil >= low:
        return
    yield Says(
        "mind",
        board.name,
        f"The voice coils on channel {channel + 1} have {shown(coil, 'resistance')} in all; a load "
        f"of {shown(least, 'resistance')} would have about {shown(0.8 * least, 'resistance')}.",
        "Drivers are often lower than their label says, and the amplifier feels the coil.",
        f"Measure the coils with the leads off; below {shown(low, 'resistance')} in all, wire them "
        "in series or use one per channel.",
        numbers=(
            Figure("coil resistance on the channel", coil, "resistance"),
            Figure("made for at least", least, "resistance"),
        ),
    )


def _outcomes(case: Case) -> Iterator[tuple[Driver, DriverOutcome]]:
    by_name = {outcome.name: outcome for outcome in case.outcome.drivers}
    for driver in case.build.driver:
        if driver.name in by_name:
            yield driver, by_name[driver.name]


def _peak_volts(case: Case, driver: Driver) -> float:
    """Greatest peak volts of the output that a driver hangs on, full battery."""
    peaks = [
        np.sqrt(2 * output.clean_full.likely * output.load)
        for board in case.outcome.amplifiers
        if board.name == driver.amplifier
        for output in board.outputs
        if driver.name in output.drivers
    ]
    return float(max(peaks, default=0.0))


@rule(
    "driver-overpowered",
    "safe",
    title="Power of the amplifier against that of the driver",
    source="the driver's rating; a clipping amplifier gives up to the power of its full sine",
)
def driver_overpowered(case: Case) -> Iterator[Says]:
    """Power into each driver flat out, and with the amplifier turned up past clean."""
    for driver, outcome in _outcomes(case):
        flat, clipped = outcome.power_flat_out.likely, outcome.power_clipped.likely
        rated = driver.power.likely
        if clipped <= rated:
            continue
        clean = flat > rated
        worst = flat if clean else clipped
        yield Says(
            "stop" if clean else "mind",
            driver.name,
            f"Each driver meets {shown(worst, 'power', digits=2)} "
            f"{'of clean music flat out' if clean else 'when the amplifier is pushed to clipping'} "
            f"and stands {shown(rated, 'power', digits=2)}.",
            "The voice coil overheats, comes unglued and burns; the bass throws it against the "
            "magnet first.",
            f"Use drivers that stand {shown(1.2 * worst, 'power', digits=2)}, share it over more "
            "of them, or put a divider at the input so that full volume stays clean.",
            numbers=(
                Figure("clean music, flat out", flat, "power"),
                Figure("sine at the clip point", clipped, "power"),
                Figure("stands", rated, "power"),
            ),
        )


def _right_capacitor(driver: Driver) -> tuple[float, float]:
    """Corner to aim at [Hz] and the capacitor that gives it [F]."""
    corner = corner_wanted(driver)
    exact = first_order_capacitor(corner, driver.impedance.likely)
    return corner, float(nearest_preferred(exact, "E24"))


@rule(
    "tweeter-capacitor",
    "safe",
    title="Capacitor in front of a tweeter",
    source="first-order high-pass C = 1/(2 pi f R); two to three times the resonance, from memory",
)
def tweeter_capacitor(case: Case) -> Iterator[Says]:
    """Corner of the capacitor, or of the filter, against the tweeter's resonance and band."""
    kinds = {kind.name: kind for kind in kinds_of(case)}
    for driver in case.build.driver:
        if driver.band != "high":
            continue
        target, value = _right_capacitor(driver)
        written = shown(value, "capacitance")
        fix = Fix(f"fit {written}", (Change(driver.name, "capacitor", written),))
        if driver.filter and blocks_bass(driver):
            yield from _filter_lets_bass(kinds[driver.name])
            continue
        if driver.capacitor is None:
            peak = _peak_volts(case, driver)
            yield Says(
                "stop",
                driver.name,
                f"No capacitor in front of the tweeter: all of the bass, up to "
                f"{shown(peak, 'voltage', digits=2)} of it, reaches its coil.",
                "A tweeter driven below its resonance tears its coil loose within minutes.",
                f"Put {written} (film or bipolar, 35 V or more) in series with it.",
                numbers=(
                    Figure("peak volts", peak, "voltage"),
                    Figure("corner wanted", target, "frequency"),
                    Figure("capacitor", value, "capacitance"),
                ),
                fix=fix,
            )
            continue
        fitted = driver.capacitor.likely
        corner = float(first_order_corner(fitted, driver.impedance.likely))
        figures = (
            Figure("fitted", fitted, "capacitance"),
            Figure("its corner", corner, "frequency"),
            Figure("corner wanted", target, "frequency"),
            Figure("capacitor wanted", value, "capacitance"),
        )
        low = driver.fs.likely * _CORNER_LEAST if driver.fs else _LOWEST_CORNER
        ruin = driver.fs.likely * _CORNER_RUINOUS if driver.fs else _RUINOUS_CORNER
        if corner < low:
            yield Says(
                "stop" if corner < ruin else "mind",
                driver.name,
                f"{shown(fitted, 'capacitance')} lets the tweeter play from "
                f"{shown(corner, 'frequency')}, too close to "
                + (
                    f"its resonance of {shown(driver.fs.likely, 'frequency')}."
                    if driver.fs
                    else f"the bass: {shown(low, 'frequency')} is the least for a tweeter."
                ),
                "Near its resonance the dome moves far: it sounds harsh and dies young.",
                f"Use {written}, for {shown(target, 'frequency')}.",
                numbers=figures,
                fix=fix,
            )
        elif capacitor_too_small(driver):
            times = value / fitted
            silent = corner > driver.high_end.likely
            slip = (
                " A decimal point has slipped: it is about a hundred times too small."
                if _HUNDREDFOLD[0] < times < _HUNDREDFOLD[1]
                else ""
            )
            yield Says(
                "stop" if silent else "mind",
                driver.name,
                f"{shown(fitted, 'capacitance')} lets the tweeter play from "
                f"{shown(corner, 'frequency')} only, "
                + (
                    f"and it ends at {shown(driver.high_end.likely, 'frequency')}: almost nothing "
                    "comes out."
                    if silent
                    else "and leaves a hole in the sound below."
                )
                + slip,
                f"C = 1/(2π f R): {shown(target, 'frequency')} and "
                f"{shown(driver.impedance.likely, 'resistance')} want {written}.",
                f"Use {written}, film or bipolar.",
                numbers=figures,
                fix=fix,
            )


def _filter_lets_bass(kind: Kind) -> Iterator[Says]:
    """A filter of several parts by what it takes at the resonance, as a capacitor alone would."""
    driver = kind.driver
    at = driver.fs.likely if driver.fs else _LOWEST_CORNER / _CORNER_LEAST
    taken = -kind.at(kind.over_plateau(kind.plain), at)
    if taken >= _taken_by(_CORNER_LEAST):
        return
    its = "its resonance of " if driver.fs else ""
    yield Says(
        "stop" if taken < _taken_by(_CORNER_RUINOUS) else "mind",
        driver.name,
        f"The filter takes only {shown(max(taken, 0.0), 'decibel')} at {its}"
        f"{shown(at, 'frequency')}; {shown(_taken_by(_CORNER_LEAST), 'decibel')} is the least for "
        "a tweeter.",
        "Near its resonance the dome moves far: it sounds harsh and dies young.",
        "Use a smaller capacitor, or a filter of higher order.",
        numbers=(
            Figure("taken there", taken, "decibel"),
            Figure("at", at, "frequency"),
            Figure("least to take", _taken_by(_CORNER_LEAST), "decibel"),
        ),
    )


def _taken_by(ratio: float) -> float:
    """What a lone capacitor takes where its corner lies so many times higher [dB]."""
    return 10 * float(np.log10(1 + ratio**2))


@rule(
    "tweeter-capacitor-polarised",
    "safe",
    title="Polarised capacitor in front of a driver",
    source="electrolytic capacitors bear a volt or so the wrong way round, from memory",
)
def tweeter_capacitor_polarised(case: Case) -> Iterator[Says]:
    """Polarised capacitors, alone or in a filter, that meet alternating volts."""
    for driver in case.build.driver:
        volts = _peak_volts(case, driver)
        if driver.capacitor is not None and driver.capacitor_kind == "polarised":
            yield _polarised(driver, volts, Change(driver.name, "capacitor_kind", "bipolar"))
        for place, step in enumerate(driver.filter):
            for at, part in enumerate(step.components):
                if part.material == "polarised":
                    steps = replaced(driver, place, at, replace(part, material="bipolar"))
                    yield _polarised(driver, volts, Change(driver.name, "filter", steps), step)


def _polarised(
    driver: Driver, volts: float, change: Change, step: FilterStep | None = None
) -> Says:
    which = f'The capacitor of the step "{step}"' if step else "The capacitor"
    return Says(
        "stop" if volts > _REVERSE_VOLTS else "mind",
        driver.name,
        f"{which} is polarised and meets up to {shown(volts, 'voltage', digits=2)} the "
        "wrong way round at every loud note.",
        "It distorts, dries out, can burst, and then passes the bass to the driver.",
        "Use a film or bipolar capacitor of the same value for 35 V or more; two polarised "
        "ones of twice the value, minus to minus, do at a pinch.",
        numbers=(Figure("volts the wrong way round", volts, "voltage"),),
        fix=Fix("a bipolar capacitor", (change,)),
    )
