"""The sheet of an LED ladder: its marks in volts and hours, parts, readings and remarks."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from boomwright.build.quantities import format_quantity
from boomwright.circuit.blocks.ladder import (
    LadderValues,
    ladder_netlist,
    lit_steps,
)
from boomwright.circuit.netlist import Netlist
from boomwright.circuit.operating import operating_point
from boomwright.circuit.parts import Comparator, Resistor
from boomwright.circuit.readings import Reading, part_readings
from boomwright.circuit.values import Floats
from boomwright.design.ladder.scale import ScaleMark
from boomwright.design.lines import resistor_line
from boomwright.design.sheet import BenchReading, Design, Expected, PartLine, Remark
from boomwright.physics.chemistry import Chemistry

__all__ = ["Ladder", "ladder_sheet", "too_close"]

_BEAT = 1.0
_LED_RATING = 20e-3
_POOR_READING = 0.1
_DAY = 86400.0
_PACKAGE = 4
_JUST_BELOW = 0.97


@dataclass(frozen=True)
class Ladder:
    """A worked-out ladder; arrays are (steps,), fullest first.

    Parameters
    ----------
    chemistry : Chemistry
        What the cells are.
    cells : int
        Cells in series.
    capacity : float
        Rated charge of the battery [C].
    load_current, sag : float
        The usual load [A] and what it takes off the battery's volts [V].
    highest : float
        Volts at the end of charging [V].
    scale : tuple of ScaleMark
        What the volts mean.
    wanted : array
        Volts that the marks were set to [V].
    resting : bool
        Whether those are resting volts.
    values : LadderValues
        The circuit.
    thresholds, width : array
        Volts at which the nominal circuit changes, and how far off it may be [V].
    trim_step : int or None
        Step at which the trimmer is set.
    trimmer_full : float
        The trimmer from end to end [Ω].
    resistor_tolerance : float
        As a share [1].
    modelled_time : bool
        Hours come from the battery run at its usual load alone.
    """

    chemistry: Chemistry
    cells: int
    capacity: float
    load_current: float
    sag: float
    highest: float
    scale: tuple[ScaleMark, ...]
    wanted: Floats
    resting: bool
    values: LadderValues
    thresholds: Floats
    width: Floats
    trim_step: int | None
    trimmer_full: float
    resistor_tolerance: float
    modelled_time: bool

    @property
    def filter_time(self) -> float:
        """Time constant of the filter [s]."""
        trim = 0.0 if self.values.trimmer is None else self.values.trimmer
        upper, lower = self.values.divider_top + trim, self.values.divider_bottom
        return float(np.max(upper * lower / (upper + lower) * self.values.filter_capacitor))


def mark_name(mark: ScaleMark) -> str:
    """A mark as figures name it.

    Examples
    --------
    >>> mark_name(ScaleMark(0.125, 0.1, 12.0, 11.9, 3600.0, 0.02))
    '12.5 %'
    """
    return f"{100 * mark.share:g} %"


def too_close(volts: Floats, width: Floats) -> tuple[tuple[int, int], ...]:
    """Neighbouring marks whose spacing is below what either may be off by.

    Parameters
    ----------
    volts, width : array, shape (steps,)
        Volts of the marks, falling, and how far off each may be [V].

    Returns
    -------
    tuple of (int, int)

    Examples
    --------
    >>> too_close(np.array([13.2, 13.1, 12.5]), np.array([0.2, 0.2, 0.2]))
    ((0, 1),)
    """
    return tuple(
        (upper, lower)
        for upper, lower in pairwise(range(len(volts)))
        if volts[upper] - volts[lower] < max(width[upper], width[lower])
    )


def ladder_sheet(ladder: Ladder) -> Design:
    """Sheet of a worked-out ladder.

    Parameters
    ----------
    ladder : Ladder
        All that is known of it.

    Returns
    -------
    Design
        Block ``ladder``.
    """
    netlist = ladder_netlist(ladder.values, voltage=ladder.chemistry.voltage_nominal * ladder.cells)
    point = operating_point(netlist, levels={"BT1": ladder.highest})
    readings = part_readings(point)
    drain = -float(readings["BT1"].amps[0])
    below = operating_point(netlist, levels={"BT1": _JUST_BELOW * ladder.thresholds[-1]})
    least = -float(below.branch_current("BT1")[0])
    order = "green, yellow, red" if len(ladder.scale) > 2 else "yellow, red"
    return Design(
        block="ladder",
        family="comparator",
        title=f"LED ladder of {len(ladder.scale)} for {ladder.cells} × {ladder.chemistry.title}",
        netlist=netlist,
        figures=tuple(_figures(ladder, drain, least)),
        parts=tuple(_parts(ladder, netlist, readings)),
        readings=tuple(_readings(ladder, drain)),
        remarks=tuple(
            sorted(_remarks(ladder, drain, order), key=lambda remark: remark.level == "fine")
        ),
        cautions=(
            *ladder.chemistry.cautions,
            "Fuse the lead to the battery close to its plus: 0.5 A is plenty for the ladder.",
        ),
    )


def _figures(ladder: Ladder, drain: float, least: float) -> Iterator[Expected]:
    spread = ladder.chemistry.ocv_spread * ladder.cells
    low, high = ladder.chemistry.capacity_low, ladder.chemistry.capacity_high
    for step, mark in enumerate(ladder.scale):
        name = mark_name(mark)
        volts, width = float(ladder.thresholds[step]), float(ladder.width[step])
        yield _around(f"{name}: resting", mark.resting, spread)
        yield _around(f"{name}: playing", mark.playing, spread)
        yield _around(f"{name}: D{step + 1} lights from", volts, width)
        left = mark.time_left
        ends = (low * left, high * left) if ladder.modelled_time else (left, left)
        yield Expected(f"{name}: time left", left, *ends, "time")
        yield _around(f"{name}: charge", mark.charge, 0.0, "share")
        yield _around(f"{name}: reading error", mark.reading_error, 0.0, "share")
    yield _around("sag under the usual load", ladder.sag, 0.0)
    yield _around("filter time constant", ladder.filter_time, 0.0, "time")
    yield _around("left of a bass beat", _left_of_beat(ladder), 0.0)
    yield _around("drawn with all LEDs lit", drain, 0.0, "current")
    yield _around("drawn with no LED lit", least, 0.0, "current")
    yield _around("share of the usual load", drain / ladder.load_current, 0.0, "share")
    yield _around("empties the battery alone in", ladder.capacity / drain, 0.0, "time")


def _around(label: str, likely: float, width: float, kind: str = "voltage") -> Expected:
    return Expected(label, likely, likely - width, likely + width, kind)


def _left_of_beat(ladder: Ladder) -> float:
    """What a beat of the whole load, one a second, leaves behind the filter, at the battery [V]."""
    return ladder.sag / math.hypot(1.0, 2.0 * math.pi * _BEAT * ladder.filter_time)


def _parts(ladder: Ladder, netlist: Netlist, readings: dict[str, Reading]) -> Iterator[PartLine]:
    values = ladder.values
    for part in netlist.parts:
        if isinstance(part, Resistor) and part.name not in {"RU2", "RV1"}:
            yield resistor_line(
                part.name,
                float(np.max(part.resistance)),
                watts=float(readings[part.name].watts[0]),
                tolerance=ladder.resistor_tolerance,
            )
    if values.trimmer is not None:
        yield PartLine(
            "RV1",
            "trimmer, many turns, wired as a variable resistor",
            value=format_quantity(ladder.trimmer_full, "resistance"),
            note=f"stands near {format_quantity(float(np.max(values.trimmer)), 'resistance')}; "
            "join the wiper to the free end",
        )
    sensed = float(readings["C1"].volts[0])
    yield PartLine(
        "C1",
        "electrolytic capacitor, low leakage",
        value=format_quantity(float(np.max(values.filter_capacitor)), "capacitance"),
        carries=format_quantity(sensed, "voltage"),
        rating="16 V or more",
        margin=16.0 / sensed,
        note="mind the polarity; a leaky one reads low",
    )
    yield PartLine(
        "U1",
        "shunt reference of the 431 class, "
        f"{format_quantity(float(np.max(values.reference.voltage)), 'voltage', digits=4)}",
        carries=format_quantity(float(readings["U1"].amps[0]), "current"),
        rating="100 mA",
        margin=0.1 / float(readings["U1"].amps[0]),
        note="join its reference pin to its cathode",
    )
    comparators = [part.name for part in netlist.parts if isinstance(part, Comparator)]
    packages = math.ceil(len(comparators) / _PACKAGE)
    yield PartLine(
        "U2" if packages == 1 else "U2, U3",
        f"{packages} × quad comparator with open collector, 339 class",
        carries=format_quantity(ladder.highest, "voltage"),
        rating="36 V",
        margin=36.0 / ladder.highest,
        note="ground both inputs of a comparator that is not used",
    )
    count = len(ladder.scale)
    for step in range(count):
        colour = {count - 1: "red", count - 2: "yellow"}.get(step, "green")
        amps = float(readings[f"D{step + 1}"].amps[0])
        yield PartLine(
            f"D{step + 1}",
            f"LED, {colour}, 5 mm",
            carries=format_quantity(amps, "current"),
            rating=format_quantity(_LED_RATING, "current"),
            margin=_LED_RATING / amps,
            part=f"led-{colour}-5mm",
            note="short leg to the comparator",
        )


def _readings(ladder: Ladder, drain: float) -> Iterator[BenchReading]:
    supply = format_quantity(ladder.highest, "voltage")
    wait = format_quantity(5.0 * ladder.filter_time, "time", digits=2)
    volts = float(np.max(ladder.values.reference.voltage))
    yield BenchReading(
        f"Bench supply at {supply} in place of the battery, limited to 100 mA; read its current",
        "DC mA",
        Expected("current", drain, 0.8 * drain, 1.3 * drain, "current"),
        caution="Not from the battery yet: a wiring fault would be fed without a limit.",
    )
    yield BenchReading(
        "Black probe on minus, red probe on the cathode of U1",
        "DC volts, 20 V range",
        _around("reference", volts, 0.015 * volts),
    )
    steps = list(range(len(ladder.scale)))
    if ladder.trim_step is not None:
        step = ladder.trim_step
        set_to = float(ladder.thresholds[step])
        yield BenchReading(
            f"Set the supply to {format_quantity(set_to, 'voltage', digits=4)} by your best meter, "
            f"wait {wait}, and turn RV1 until D{step + 1} just changes; wait between turns",
            "DC volts, 20 V range",
            _around("supply while trimming", set_to, 0.01),
        )
        steps.remove(step)
    for step in reversed(steps):
        yield BenchReading(
            f"From below, raise the supply by 0.05 V every {wait} until D{step + 1} lights",
            "DC volts, 20 V range",
            _around(
                f"D{step + 1} lights at", float(ladder.thresholds[step]), float(ladder.width[step])
            ),
        )


def _remarks(ladder: Ladder, drain: float, order: str) -> Iterator[Remark]:
    close = too_close(ladder.wanted, ladder.width)
    names = [mark_name(mark) for mark in ladder.scale]
    if close:
        pairs = "; ".join(
            f"{names[upper]} from {names[lower]} ("
            f"{format_quantity(float(ladder.wanted[upper] - ladder.wanted[lower]), 'voltage')} "
            f"apart, either may be off by "
            f"{format_quantity(float(max(ladder.width[upper], ladder.width[lower])), 'voltage')})"
            for upper, lower in close
        )
        kept = _kept(ladder)
        fewer = " and ".join(names[step] for step in kept)
        yield Remark(
            "mind",
            f"The volts cannot tell {pairs}.",
            "Count the ampere-hours instead (a meter with its own shunt, set back at full charge), "
            f"or keep only the mark{'s' if len(kept) > 1 else ''} at {fewer}.",
        )
    worst = max(ladder.scale, key=lambda mark: mark.reading_error)
    if worst.reading_error > _POOR_READING:
        yield Remark(
            "mind",
            f"A scale of resting volts reads up to {100 * worst.reading_error:.0f} % of the charge "
            f"too low while playing (at the {mark_name(worst)} mark).",
            "Use the column that fits how you look: music paused for some minutes, or playing.",
        )
    between = 0.5 * (ladder.wanted[:-1] + ladder.wanted[1:])
    lit = lit_steps(ladder_netlist(ladder.values), between) if between.size else ()
    shown = ", ".join(
        f"{format_quantity(float(volts), 'voltage', digits=4)}: "
        f"{' '.join(f'D{i + 1}' for i in np.flatnonzero(row))}"
        for volts, row in zip(between, lit, strict=True)
    )
    if shown:
        yield Remark("fine", f"Lit between the marks ({order} going down): {shown}.")
    how = (
        "resting volts: read it with the music paused"
        if ladder.resting
        else (
            f"volts at {format_quantity(ladder.load_current, 'current')}: louder reads lower, "
            "paused reads higher"
        )
    )
    yield Remark("fine", f"The LEDs are set by {how}.")
    yield Remark(
        "mind" if ladder.capacity / drain < 60.0 * _DAY else "fine",
        f"Left on, the ladder alone empties the battery in "
        f"{format_quantity(ladder.capacity / drain, 'time', digits=2)}.",
        "Connect it behind the main switch and the cutoff.",
    )
    if ladder.trim_step is None:
        yield Remark(
            "mind",
            "Without a trimmer every mark is off by the reference and the divider together.",
            "Put a trimmer into the divider and set it at one mark.",
        )


def _kept(ladder: Ladder) -> tuple[int, ...]:
    """Marks that can be told apart, counted from the lowest, which warns of empty."""
    kept = [len(ladder.wanted) - 1]
    for step in range(len(ladder.wanted) - 2, -1, -1):
        gap = ladder.wanted[step] - ladder.wanted[kept[-1]]
        if gap >= max(ladder.width[step], ladder.width[kept[-1]]):
            kept.append(step)
    return tuple(reversed(kept))
