"""Stereo made mono by two resistors at line level."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from boomwright.build.quantities import format_quantity
from boomwright.circuit.blocks.summing import SumValues, sum_netlist
from boomwright.circuit.response import ac_response
from boomwright.circuit.values import Floats
from boomwright.design.line.level import (
    IMPEDANCE_SPREAD,
    TONE,
    check_sizes,
    corner,
    e24_between,
    limits_around,
    ohms,
    resistor_noise,
)
from boomwright.design.lines import resistor_line
from boomwright.design.sheet import BenchReading, Design, Expected, PartLine, Remark
from boomwright.design.spread import corners, expected
from boomwright.errors import InputError, Problem
from boomwright.physics.curves import decibels
from boomwright.physics.preferred import preferred_at_least

__all__ = ["design_sum"]

_USUAL = 1e3
_COMMON = (470.0, 3.3e3)
"""Range of summing resistors in common use [Ω]."""

_MOST_LOADING_DB = 1.0


def design_sum(
    *,
    source_impedance: float = 100.0,
    load_impedance: float = 20e3,
    channels: int = 2,
    level: float = 0.5,
    gain_db: float = 26.0,
    least_load: float = 600.0,
    lowest_frequency: float = 20.0,
    coupling: bool = True,
    cable_capacitance: float = 200e-12,
    tolerance: float = 0.01,
) -> Design:
    """Two resistors that make one channel of two, at line level.

    Gains come from the solved circuit; a source and a load impedance count as known to a fifth.

    Parameters
    ----------
    source_impedance : float
        Of each of the receiver's outputs [Ω].
    load_impedance : float
        Input of each amplifier channel [Ω].
    channels : int
        Amplifier channels that the sum feeds: two for a woofer and the rest.
    level : float
        Full output of each of the receiver's channels, root mean square [V].
    gain_db : float
        Gain of the amplifier [dB].
    least_load : float
        Least resistance that the receiver's outputs may see [Ω].
    lowest_frequency : float
        Lowest note [Hz].
    coupling : bool
        With a capacitor behind the sum; not needed where the board has its own.
    cable_capacitance : float
        Of the lead behind the sum [F].
    tolerance : float
        Of the two resistors, as a share [1].

    Returns
    -------
    Design
        Block ``summing``, family ``sum``.

    Raises
    ------
    InputError
        If no resistor serves both the receiver and the amplifier, with the nearest that would.

    Examples
    --------
    >>> design = design_sum(load_impedance=20e3, channels=1)
    >>> design.parts[0].value, design.figure("gain, both channels alike").shown
    ('1 kΩ', '-0.2 dB (-0.3 dB to -0.2 dB)')
    """
    check_sizes(
        {
            "source_impedance": (source_impedance, "resistance"),
            "load_impedance": (load_impedance, "resistance"),
            "channels": (channels, "ratio"),
            "level": (level, "voltage"),
            "least_load": (least_load, "resistance"),
            "lowest_frequency": (lowest_frequency, "frequency"),
            "cable_capacitance": (cable_capacitance, "capacitance"),
        },
        tolerance,
        gain_db,
    )
    load = load_impedance / channels
    resistance = _sum_resistor(source_impedance, load, least_load)
    thevenin = 0.5 * (resistance + source_impedance)
    capacitor = None
    if coupling:
        # A quarter of the lowest note keeps what is lost there under 0.3 dB.
        wanted = 1.0 / (2.0 * math.pi * 0.25 * lowest_frequency * (thevenin + load))
        capacitor = float(preferred_at_least(wanted, "E6"))
    values = SumValues(
        left_resistor=resistance,
        right_resistor=resistance,
        source_impedance=source_impedance,
        load_impedance=load_impedance,
        channels=channels,
        coupling_capacitor=capacitor,
        cable_capacitance=cable_capacitance,
    )
    spread = corners(
        {
            "left_resistor": limits_around(resistance, tolerance),
            "right_resistor": limits_around(resistance, tolerance),
            "source_impedance": limits_around(source_impedance, IMPEDANCE_SPREAD),
            "load_impedance": limits_around(load_impedance, IMPEDANCE_SPREAD),
        }
    )
    loose = replace(
        values,
        left_resistor=spread["left_resistor"],
        right_resistor=spread["right_resistor"],
        source_impedance=spread["source_impedance"],
        load_impedance=spread["load_impedance"],
    )
    alike = _tone(loose, left=1.0, right=1.0)["in"]
    left, right = _tone(loose, left=1.0, right=0.0), _tone(loose, left=0.0, right=1.0)
    apart = np.sqrt(left["in"] ** 2 + right["in"] ** 2)
    figures = (
        expected("gain, both channels alike", decibels(alike), "decibel"),
        expected("gain, one channel alone", decibels(left["in"]), "decibel"),
        expected("gain, channels unlike each other", decibels(apart), "decibel"),
        expected("lost to the amplifier's input", -decibels(alike), "decibel"),
        expected("back into the other channel", decibels(left["right"] / left["left"]), "decibel"),
        expected("level at the amplifier, both alike", level * alike, "voltage"),
        expected("level at the amplifier, one alone", level * left["in"], "voltage"),
        *_loads(resistance, source_impedance, load),
        *_band(thevenin, load, capacitor, cable_capacitance),
        *resistor_noise(thevenin * load / (thevenin + load), gain_db),
    )
    return Design(
        block="summing",
        family="sum",
        title="Stereo to mono by two resistors",
        netlist=sum_netlist(values, left=1.0, right=1.0),
        figures=figures,
        parts=tuple(_sum_parts(values, resistance, level, tolerance)),
        readings=tuple(_sum_readings(resistance, tolerance, figures)),
        remarks=tuple(_sum_remarks(resistance, channels, figures[4].likely)),
        cautions=(
            "At line level only, before the amplifier. Never join amplifier outputs, with or "
            "without resistors: the channels drive current into each other and burn.",
        ),
    )


def _tone(values: SumValues, *, left: float, right: float) -> dict[str, Floats]:
    """Size of the sine at each node of the sum, in the middle of the band."""
    found = ac_response(sum_netlist(values, left=left, right=right), np.array([TONE]))
    return {node: np.abs(found.voltage(node))[0] for node in ("left", "right", "in")}


def _sum_resistor(source: float, load: float, least_load: float) -> float:
    """E24 value nearest to the usual one that both sides can live with."""
    share = 10.0 ** (_MOST_LOADING_DB / 20.0) - 1.0
    most = 2.0 * load * share - source
    fits = e24_between(max(least_load, _COMMON[0]), max(most, 0.0))
    if fits.size:
        return float(fits[np.argmin(np.abs(np.log(fits / _USUAL)))])
    least = float(preferred_at_least(max(least_load, _COMMON[0]), "E24"))
    loading = 20.0 * math.log10(1.0 + (least + source) / (2.0 * load))
    needed = (least + source) / (2.0 * share)
    raise InputError(
        [
            Problem(
                "no pair of resistors suits both the receiver and the amplifier",
                got=f"{format_quantity(load, 'resistance')} of inputs on the sum, "
                f"{format_quantity(least_load, 'resistance')} least load of the receiver",
                expected=f"less than {_MOST_LOADING_DB:g} dB lost",
                key="load_impedance",
                hint=f"The nearest: 2 × {format_quantity(least, 'resistance')} with "
                f"{loading:.1f} dB lost, which the volume control makes good, or inputs of "
                f"{format_quantity(needed, 'resistance')} together.",
            )
        ]
    )


def _loads(resistance: float, source: float, load: float) -> Iterator[Expected]:
    branch = resistance + source
    for label, value in (
        ("load on each output, other silent", resistance + branch * load / (branch + load)),
        ("load on each output, signals opposite", resistance),
        ("load on each output, both alike", resistance + 2.0 * load),
    ):
        yield Expected(label, value, value, value, "resistance")


def _band(
    thevenin: float, load: float, capacitor: float | None, cable: float
) -> Iterator[Expected]:
    if capacitor is not None:
        yield corner("lower corner by the coupling capacitor", thevenin + load, capacitor)
    parallel = thevenin * load / (thevenin + load)
    yield corner("upper corner by the lead's capacitance", parallel, cable)


def _sum_parts(
    values: SumValues, resistance: float, level: float, tolerance: float
) -> Iterator[PartLine]:
    # Opposite signals are the worst: the sum stands still and each resistor takes a whole channel.
    for name, note in (("R1", "left"), ("R2", "right; as equal to R1 as can be had")):
        yield resistor_line(
            name, resistance, watts=level**2 / resistance, tolerance=tolerance, note=note
        )
    if values.coupling_capacitor is not None:
        yield PartLine(
            "C1",
            "film capacitor, or a bipolar electrolytic",
            value=format_quantity(float(np.max(values.coupling_capacitor)), "capacitance"),
            carries=format_quantity(level * math.sqrt(2.0), "voltage"),
            rating="16 V or more",
            margin=16.0 / (level * math.sqrt(2.0)),
            note="leave it out where the board has its own",
        )


def _sum_readings(
    resistance: float, tolerance: float, figures: tuple[Expected, ...]
) -> Iterator[BenchReading]:
    yield BenchReading(
        "Nothing connected: probes on the left and the right input",
        "ohms, 20 kΩ range",
        ohms("left to right", 2.0 * resistance, tolerance),
    )
    yield BenchReading(
        f"Play a {TONE:g} Hz tone at full volume on both channels, amplifier off; probes on the "
        "sum and its ground",
        "AC millivolts",
        figures[5],
        caution="Amplifier off: a full tone is loud enough to hurt ears and tweeters.",
    )
    yield BenchReading("The same tone on the left channel alone", "AC millivolts", figures[6])


def _sum_remarks(resistance: float, channels: int, back_db: float) -> Iterator[Remark]:
    low, high = _COMMON
    if not low <= resistance <= high:
        yield Remark(
            "mind",
            f"{format_quantity(resistance, 'resistance')} is outside the usual "
            f"{format_quantity(low, 'resistance')} to {format_quantity(high, 'resistance')}.",
            "Keep the leads behind it short and screened: they pick up more.",
        )
    yield Remark(
        "fine",
        f"The left channel reaches the right output at {back_db:.0f} dB.",
        "Anything else that hangs on the receiver's outputs hears that much of the other channel.",
    )
    yield Remark(
        "fine",
        "Music that sounds alike on both sides keeps its level; what is on one side alone comes "
        "6 dB lower.",
    )
    if channels > 1:
        yield Remark(
            "fine",
            f"The one sum feeds {channels} amplifier channels, so that each driver plays all of "
            "the music in its band.",
            "Join the inputs, never the outputs.",
        )
