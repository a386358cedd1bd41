"""The sheet of a split: parts list and bench readings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from boomwright.build.quantities import format_quantity
from boomwright.design.lines import resistor_line
from boomwright.design.sheet import BenchReading, Expected, PartLine
from boomwright.design.split.choose import Half
from boomwright.design.split.heard import GRID, Heard, Spread
from boomwright.design.split.ratings import Carried, Music
from boomwright.design.split.wish import SplitWish
from boomwright.physics.air_coil import air_coil
from boomwright.physics.arrays import Complexes
from boomwright.physics.curves import least_impedance

__all__ = ["CAUTIONS", "Found", "split_parts", "split_readings"]

CAUTIONS = (
    "Both leads of a bridge amplifier's output are driven: the filter's common lead goes to that "
    "output's own minus and nowhere else, never to ground and never to another output's.",
    "Never switch the amplifier on with a filter whose driver is unplugged: coil and capacitor "
    "then ring, short the amplifier at one frequency and make more volts than it has.",
    "Test tones wear a tweeter out in seconds: start at the lowest level, keep to the volts "
    "given, and stop at the first rough sound.",
    "Coils lie a hand apart and at right angles to each other, away from iron and magnets: side by "
    "side they are one transformer.",
    "Resistors and coils of a filter get hot enough to burn a finger or char a board: stand them "
    "off it, away from battery, leads and wadding.",
)
"""The usual cautions."""

_CAN_VOLTS = (50.0, 63.0, 100.0, 160.0, 250.0, 400.0)
_CAN_ROOM = 1.5
_AMPS_PER_AREA = 4e6
"""Current that a winding in free air carries for ever [A/m²]; common practice, no source."""

_LEAST_DROP = 6.0
"""Dip with one driver turned round below which a room hides it [dB]."""

_TONE = 1.0
"""Volts at the amplifier's terminals for the readings."""


@dataclass(frozen=True, eq=False)
class Found:
    """All that was found for a split.

    Parameters
    ----------
    halves : tuple of Half
        Woofer first.
    drivers : tuple of str
        Which of woofer and tweeter they are.
    frequency : float
        Where the bands meet [Hz].
    band : tuple of float
        Least frequency for the tweeter, greatest for the woofer [Hz].
    heard : Heard
        Levels over frequency.
    load : array of complex
        What the amplifier sees over frequency [Ω].
    spread : Spread
        Many builds.
    music : Music
        Watts in the drivers.
    carried : tuple of Carried
        What every part carries.
    wish : SplitWish
        What was wanted.
    """

    halves: tuple[Half, ...]
    drivers: tuple[str, ...]
    frequency: float
    band: tuple[float, float]
    heard: Heard
    load: Complexes
    spread: Spread
    music: Music
    carried: tuple[Carried, ...]
    wish: SplitWish


def split_parts(found: Found) -> tuple[PartLine, ...]:
    """Parts list of a split.

    Parameters
    ----------
    found : Found
        The split.

    Returns
    -------
    tuple of PartLine
    """
    lines = []
    for one in found.carried:
        component, name = one.part.component, one.part.name
        if component.kind == "resistor":
            lines.append(
                resistor_line(name, component.value.likely, watts=one.watts, tolerance=0.05)
            )
        elif component.kind == "capacitor":
            lines.append(_capacitor_line(one))
        else:
            lines.append(_coil_line(one, found.halves[one.part.branch].section.wire))
    for place, (half, driver) in enumerate(zip(found.halves, found.drivers, strict=True), start=1):
        lines.append(_driver_line(half, driver, f"LS{place}", found.music.clipped[place - 1]))
    return tuple(lines)


def _capacitor_line(one: Carried) -> PartLine:
    component = one.part.component
    wanted = _CAN_ROOM * one.volts
    rating = next((size for size in _CAN_VOLTS if size >= wanted), wanted)
    kind = "film" if component.material == "film" else "bipolar electrolytic"
    return PartLine(
        one.part.name,
        f"{kind} capacitor",
        value=format_quantity(component.value.likely, "capacitance"),
        carries=f"{format_quantity(one.volts, 'voltage')} peak",
        rating=f"{format_quantity(rating, 'voltage')} or more",
        margin=rating / one.volts if one.volts > 0.0 else float("inf"),
        note="never a polarised one",
    )


def _coil_line(one: Carried, wire: float) -> PartLine:
    henries = one.part.component.value.likely
    wound = air_coil(henries, wire)
    amps = _AMPS_PER_AREA * np.pi * wire**2 / 4.0
    side = 1e3 * float(wound.side)
    return PartLine(
        one.part.name,
        f"air coil of {1e3 * wire:g} mm wire",
        value=format_quantity(henries, "inductance"),
        carries=f"{format_quantity(one.amps_rms, 'current', digits=2)}, "
        f"{format_quantity(one.amps, 'current', digits=2)} peak",
        rating=format_quantity(amps, "current", digits=2),
        margin=amps / one.amps_rms if one.amps_rms > 0.0 else float("inf"),
        note=f"{float(wound.turns):.0f} turns, {side:.0f} mm wide and deep on a core of "
        f"{2.0 * side:.0f} mm, {float(wound.length):.1f} m",
    )


def _driver_line(half: Half, driver: str, name: str, watts: float) -> PartLine:
    item = half.branch.drive.driver
    many = f"{half.branch.drive.count} × " if half.branch.drive.count > 1 else ""
    stands = item.power.likely * half.branch.drive.count
    turned = "plus to the common lead: turned round" if half.branch.reversed else ""
    return PartLine(
        name,
        f"{many}{driver}, {item.name}",
        value=format_quantity(half.branch.drive.rated, "resistance"),
        carries=format_quantity(watts, "power", digits=2),
        rating=format_quantity(stands, "power"),
        margin=stands / watts if watts > 0.0 else float("inf"),
        note=turned,
    )


def split_readings(found: Found) -> tuple[BenchReading, ...]:
    """Bench readings of a split, in a safe order.

    Parameters
    ----------
    found : Found
        The split.

    Returns
    -------
    tuple of BenchReading
    """
    return tuple(_readings(found))


def _readings(found: Found) -> Iterator[BenchReading]:
    first = found.halves[0]
    if found.drivers[0] == "woofer":
        series = sum(
            float(np.asarray(step.resistance))
            for step in first.branch.steps
            if step.place == "series"
        )
        likely = float(first.branch.drive.re[0, 0]) + series
        share = 0.08 if first.branch.drive.driver.re is not None else 0.15
        yield BenchReading(
            "Amplifier unplugged from the filter. Ohms from the filter's input to its common lead, "
            "drivers connected; take off what the two probes read when held together.",
            "multimeter, 200 Ω",
            Expected("d.c. ohms at the filter's input", likely, (1 - share) * likely,
                     (1 + share) * likely, "resistance"),
        )  # fmt: skip
    else:
        yield BenchReading(
            "Amplifier unplugged from the filter. Ohms from the filter's input to its common lead, "
            "once the capacitor has settled.",
            "multimeter, 2 MΩ",
            Expected("d.c. ohms at the filter's input", 1e6, 1e6, float("inf"), "resistance"),
        )
    yield from _tone_readings(found)
    yield _least_reading(found)
    if len(found.halves) > 1:
        there = int(np.argmin(np.abs(GRID - found.frequency)))
        drop = float(found.heard.both[there] - found.heard.turned[there])
        if drop > _LEAST_DROP:
            yield _swapped_reading(found, drop)


def _swapped_reading(found: Found, drop: float) -> BenchReading:
    """The dip that shows whether both drivers work together where they meet."""
    return BenchReading(
        f"{_tone_at(found.frequency)} at {format_quantity(_TONE, 'voltage')}, a phone's level "
        f"meter or a microphone at {format_quantity(found.wish.distance, 'length')}, level with "
        "the tweeter: read, swap the tweeter's two leads, read again. By how much it fell.",
        "level meter, slow; outdoors or with wadding on the walls near by",
        Expected("falls with the tweeter swapped", drop, 0.5 * drop, 2.0 * drop, "decibel"),
        "Switch off before the leads are swapped.",
    )


def _tone_readings(found: Found) -> Iterator[BenchReading]:
    meter = "multimeter that is stated up to 20 kHz, 2 V alternating, or a sound card"
    for place, driver in enumerate(found.drivers):
        volts = found.spread.tweeter_volts if driver == "tweeter" else found.spread.woofer_volts
        which = (0, 1, 2) if driver == "tweeter" else (1,)
        for column in which:
            hertz = found.frequency * (0.5, 1.0, 2.0)[column]
            likely = _TONE * float(volts[0, column])
            low, high = (_TONE * float(end) for end in np.quantile(volts[:, column], (0.02, 0.98)))
            yield BenchReading(
                f"{_tone_at(hertz)}, volume turned up until "
                f"{format_quantity(_TONE, 'voltage')} stand at the filter's input. Volts across "
                f"the {driver}, LS{place + 1}.",
                meter,
                Expected(f"{driver} at {format_quantity(hertz, 'frequency', digits=2)}", likely,
                         min(low, likely), max(high, likely), "voltage"),
                "Ears: hold the level down; tones near 3 kHz hurt first." if column == 1 else "",
            )  # fmt: skip


def _tone_at(hertz: float) -> str:
    return f"A tone of {format_quantity(hertz, 'frequency', digits=2)}"


def _least_reading(found: Found) -> BenchReading:
    least = least_impedance(GRID, found.load)
    value, at = float(least.impedance), float(least.frequency)
    return BenchReading(
        f"{_tone_at(at)} through 10 Ω, 5 W into the filter, drivers connected. Volts over the "
        "filter divided by volts over the 10 Ω, times 10 Ω.",
        "multimeter, 2 V alternating",
        Expected("least impedance", value, 0.85 * value, 1.15 * value, "resistance"),
    )
