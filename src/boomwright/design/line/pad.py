"""An input pad that makes a receiver's full volume just reach the amplifier's clipping."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from boomwright.build.quantities import format_quantity
from boomwright.circuit.blocks.summing import PadValues, pad_netlist
from boomwright.circuit.response import ac_response
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
from boomwright.design.sheet import BenchReading, Design, Expected, Remark
from boomwright.design.spread import corners, expected
from boomwright.errors import InputError, Problem
from boomwright.physics.amplifier import gain_excess_db, input_sensitivity
from boomwright.physics.curves import decibels

__all__ = ["design_pad"]

_PAD_TOTAL = 10e3
_PAD_MISS_DB = 0.25


def design_pad(
    *,
    source_volts: float,
    amplifier_gain_db: float,
    supply_volts: float | None = None,
    clip_volts: float | None = None,
    source_impedance: float = 100.0,
    load_impedance: float = 20e3,
    least_load: float = 2e3,
    cable_capacitance: float = 200e-12,
    tolerance: float = 0.01,
) -> Design:
    """Input pad that makes the full phone volume just reach clipping.

    Source and load impedance are part of the divider; they count as known to a fifth.

    Parameters
    ----------
    source_volts : float
        The receiver's full output without load, root mean square [V].
    amplifier_gain_db : float
        Gain of the amplifier [dB].
    supply_volts : float or None
        Greatest peak at the speaker: the supply, for a bridge board that swings all of it [V].
    clip_volts : float or None
        In its place, the input that was measured to just clip, root mean square [V].
    source_impedance, load_impedance : float
        Of the receiver's output and of the amplifier's input [Ω].
    least_load : float
        Least resistance that the receiver may see [Ω].
    cable_capacitance : float
        Of the lead behind the pad [F].
    tolerance : float
        Of the two resistors, as a share [1].

    Returns
    -------
    Design
        Block ``summing``, family ``pad``; one channel, of which a stereo box needs two.

    Raises
    ------
    InputError
        If there is nothing to take away, or neither of the two ways to say where it clips is
        given, or both.

    Examples
    --------
    >>> design = design_pad(source_volts=1.0, amplifier_gain_db=26.0, supply_volts=12.0)
    >>> [line.value for line in design.parts], design.figure("loss").shown
    (['6.2 kΩ', '6.2 kΩ'], '7.4 dB (7.1 dB to 7.7 dB)')
    """
    sizes = {
        "source_volts": (source_volts, "voltage"),
        "source_impedance": (source_impedance, "resistance"),
        "load_impedance": (load_impedance, "resistance"),
        "least_load": (least_load, "resistance"),
        "cable_capacitance": (cable_capacitance, "capacitance"),
        "supply_volts": (1.0 if supply_volts is None else supply_volts, "voltage"),
        "clip_volts": (1.0 if clip_volts is None else clip_volts, "voltage"),
    }
    check_sizes(sizes, tolerance, amplifier_gain_db)
    clip = _clip_level(supply_volts, clip_volts, amplifier_gain_db)
    excess = float(gain_excess_db(source_volts, clip))
    if excess <= 0.0:
        raise InputError([_no_pad(source_volts, clip, excess, amplifier_gain_db)])
    series, shunt = _pad_pair(excess, source_impedance, load_impedance, least_load)
    values = PadValues(
        series_resistor=series,
        shunt_resistor=shunt,
        source_impedance=source_impedance,
        load_impedance=load_impedance,
        cable_capacitance=cable_capacitance,
    )
    spread = corners(
        {
            "series_resistor": limits_around(series, tolerance),
            "shunt_resistor": limits_around(shunt, tolerance),
            "source_impedance": limits_around(source_impedance, IMPEDANCE_SPREAD),
            "load_impedance": limits_around(load_impedance, IMPEDANCE_SPREAD),
        }
    )
    loose = PadValues(
        series_resistor=spread["series_resistor"],
        shunt_resistor=spread["shunt_resistor"],
        source_impedance=spread["source_impedance"],
        load_impedance=spread["load_impedance"],
        cable_capacitance=cable_capacitance,
    )
    found = ac_response(pad_netlist(loose), np.array([TONE]))
    through = np.abs(found.voltage("in"))[0]
    load = series + 1.0 / (1.0 / spread["shunt_resistor"] + 1.0 / spread["load_impedance"])
    upper = series + source_impedance
    behind = 1.0 / (1.0 / upper + 1.0 / shunt + 1.0 / load_impedance)
    loss = expected("loss", -decibels(through), "decibel")
    drawn, arrives = source_volts / float(load[0]), source_volts * float(through[0])
    figures = (
        Expected("wanted loss", excess, excess, excess, "decibel"),
        loss,
        replace(loss, label="hiss and prompts of the source drop by"),
        Expected("input that just clips", clip, clip, clip, "voltage"),
        expected("input at full volume", source_volts * through, "voltage"),
        expected("load on the receiver", load, "resistance"),
        Expected("impedance behind the pad", behind, behind, behind, "resistance"),
        corner("upper corner by the lead's capacitance", behind, cable_capacitance),
        *resistor_noise(behind, amplifier_gain_db),
    )
    return Design(
        block="summing",
        family="pad",
        title="Input pad, one channel",
        netlist=pad_netlist(values),
        figures=figures,
        parts=tuple(
            resistor_line(name, value, watts=watts, tolerance=tolerance, note=note)
            for name, value, watts, note in (
                ("R1", series, drawn**2 * series, "one in each channel"),
                (
                    "R2",
                    shunt,
                    arrives**2 / shunt,
                    "one in each channel, to the amplifier's signal ground",
                ),
            )
        ),
        readings=tuple(_pad_readings(series, shunt, tolerance, figures)),
        remarks=(
            Remark(
                "fine",
                "What hisses inside the amplifier stays; only what comes in through the pad drops.",
                "A gain setting on the amplifier board, if it has one, quiets both.",
            ),
        ),
        cautions=("At line level only. Turn the volume down before the first try.",),
    )


def _clip_level(supply: float | None, clip: float | None, gain_db: float) -> float:
    if clip is not None and supply is None:
        return clip
    if supply is not None and clip is None:
        return float(input_sensitivity(supply, gain_db=gain_db))
    raise InputError(
        [
            Problem(
                "where the amplifier clips must be said once",
                got="both" if supply is not None else "neither",
                expected="supply_volts or clip_volts",
                key="supply_volts",
                hint="Give the supply, or the input at which you measured clipping.",
            )
        ]
    )


def _no_pad(source: float, clip: float, excess: float, gain_db: float) -> Problem:
    return Problem(
        "there is nothing to take away: the full volume does not reach clipping",
        got=f"{format_quantity(source, 'voltage')} of {format_quantity(clip, 'voltage')}",
        expected=f"more than {format_quantity(clip, 'voltage')}",
        key="source_volts",
        hint=f"Wire it straight. For full power it lacks {-excess:.1f} dB: a gain of "
        f"{gain_db - excess:.1f} dB would just do.",
    )


def _pad_pair(
    wanted_db: float, source: float, load: float, least_load: float
) -> tuple[float, float]:
    """E24 pair whose loss comes near enough, total nearest to the usual."""
    every = e24_between(10.0, 1e6)
    series, shunt = every[:, None], every[None, :]
    lower = shunt * load / (shunt + load)
    miss = np.abs(20.0 * np.log10((source + series + lower) / lower) - wanted_db)
    seen = series + lower
    miss = np.where(seen >= least_load, miss, np.inf)
    if not np.any(np.isfinite(miss)):
        raise InputError(
            [
                Problem(
                    "least load of the receiver",
                    got=format_quantity(least_load, "resistance"),
                    expected=f"at most {format_quantity(float(np.max(seen)), 'resistance')}",
                    key="least_load",
                )
            ]
        )
    near = miss <= max(_PAD_MISS_DB, float(np.min(miss)))
    # Within the near ones the ear hears no difference; a middling total picks up little and
    # loads little.
    total = max(_PAD_TOTAL, 2.0 * least_load)
    cost = np.where(near, np.abs(np.log(seen / total)) + miss, np.inf)
    i, j = np.unravel_index(int(np.argmin(cost)), cost.shape)
    return float(every[i]), float(every[j])


def _pad_readings(
    series: float, shunt: float, tolerance: float, figures: tuple[Expected, ...]
) -> Iterator[BenchReading]:
    yield BenchReading(
        "Nothing connected: probes on the pad's input and its ground",
        "ohms, 20 kΩ range",
        ohms("input to ground", series + shunt, tolerance),
    )
    yield BenchReading(
        f"Play a {TONE:g} Hz tone at full volume, amplifier off but connected; probes on its "
        "input and ground",
        "AC millivolts",
        figures[4],
        caution="Amplifier off: a full tone is loud enough to hurt ears and tweeters.",
    )
