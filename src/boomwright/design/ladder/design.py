"""An LED ladder for the battery, with the marks of a voltmeter for the same chemistry."""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Iterator

import numpy as np

from boomwright.build.drawer import Drawer, load_drawer
from boomwright.build.quantities import format_quantity
from boomwright.circuit.blocks.ladder import MOST_STEPS
from boomwright.circuit.parts import ShuntReference
from boomwright.design.ladder.scale import voltmeter_scale
from boomwright.design.ladder.sheet import Ladder, ladder_sheet
from boomwright.design.ladder.values import (
    ladder_leds,
    ladder_values,
    threshold_spread,
    trimmed_values,
)
from boomwright.design.sheet import Design
from boomwright.errors import InputError, Problem
from boomwright.physics.chemistry import Chemistry, load_chemistries
from boomwright.physics.pack import battery_pack
from boomwright.physics.preferred import Series

__all__ = ["design_ladder"]

_REFERENCES = ((2.495, 1.9, 6.0), (1.24, 1.0, 3.3))
"""Volts of the reference, least volts at its cathode, least battery volts it serves; the 431 class
and its low-voltage kin (typical of class, from memory)."""

_MOST_VOLTS = 32.0
_MOST = {"led_current": 5e-3, "filter_time": 60.0}
"""What a comparator of the 339 class sinks for sure [A], and what a person waits for [s]; typical
of class, from memory."""


def design_ladder(
    *,
    chemistry: str,
    cells: int,
    capacity: float,
    load_current: float,
    marks: tuple[float, ...] = (0.75, 0.5, 0.25, 0.1),
    strings: int = 1,
    resistance: float | None = None,
    cutoff_voltage: float | None = None,
    time_left: Callable[[float], float] | None = None,
    resting: bool = False,
    trimmer: bool = True,
    series: Series = "E96",
    resistor_tolerance: float = 0.01,
    reference_tolerance: float = 0.01,
    meter_tolerance: float = 0.005,
    filter_time: float = 7.0,
    led_current: float = 3e-3,
    drawer: Drawer | None = None,
) -> Design:
    """LED ladder and voltmeter marks for a battery.

    Thresholds and currents come from the solved circuit, volts and hours from the battery's model.

    Parameters
    ----------
    chemistry : str
        Name of a chemistry.
    cells, strings : int
        Cells in series, rows in parallel.
    capacity : float
        Rated charge of one row [C].
    load_current : float
        The usual load [A].
    marks : tuple of float
        Shares of what the battery gives at that load, one LED each.
    resistance : float or None
        Measured resistance of the battery [Ω].
    cutoff_voltage : float or None
        Volts at which the box switches itself off [V]; the chemistry's custom if None.
    time_left : callable or None
        Time left [s] by share, from a fuller run of the build.
    resting : bool
        LEDs are set by resting volts, to be read with the music paused, and not by those under
        load.
    trimmer : bool
        A trimmer sets the whole scale at one mark against a meter.
    series : str
        Series of the resistors.
    resistor_tolerance, reference_tolerance, meter_tolerance : float
        Of the resistors, of the reference, and of the meter that sets the trimmer, as shares [1].
    filter_time : float
        Time constant that keeps the bass from making it flicker [s].
    led_current : float
        Through each LED in the middle of the scale [A].
    drawer : Drawer or None
        Where the LEDs come from.

    Returns
    -------
    Design
        Block ``ladder``.

    Raises
    ------
    InputError
        With every value that cannot be used, and the nearest that can.

    Examples
    --------
    >>> design = design_ladder(
    ...     chemistry="lead-agm", cells=6, capacity=7 * 3600.0, load_current=0.5, marks=(0.5, 0.1)
    ... )
    >>> print(design.figure("50 %: playing").shown)
    12.15 V (12.03 V to 12.27 V)
    """
    kind = _checked(
        chemistry,
        cells,
        {
            "capacity": (capacity, "charge"),
            "load_current": (load_current, "current"),
            "filter_time": (filter_time, "time"),
            "led_current": (led_current, "current"),
            "strings": (strings, "ratio"),
            "resistance": (1.0 if resistance is None else resistance, "resistance"),
            "cutoff_voltage": (1.0 if cutoff_voltage is None else cutoff_voltage, "voltage"),
        },
        marks,
        (resistor_tolerance, reference_tolerance, meter_tolerance),
    )
    marks = tuple(sorted(set(marks), reverse=True))
    battery = battery_pack(
        kind,
        capacity_rated=capacity,
        duration_rated=kind.duration_rated,
        cells=cells,
        strings=strings,
        resistance=resistance,
    )
    scale = voltmeter_scale(
        kind,
        battery,
        cells=cells,
        load_current=load_current,
        marks=marks,
        cutoff_voltage=cutoff_voltage,
        time_left=time_left,
    )
    wanted = np.array([mark.resting if resting else mark.playing for mark in scale])
    highest = cells * (kind.voltage_full_charge or float(kind.ocv_table[-1]))
    reference = _reference(float(wanted[-1]), highest, kind, cells)
    leds = ladder_leds(drawer or load_drawer(), len(marks))
    values, trimmer_full = ladder_values(
        wanted, reference, leds, trimmer=trimmer, series=series, filter_time=filter_time,
        led_current=led_current,
    )  # fmt: skip
    trim_step = len(marks) // 2 if trimmer else None
    if trim_step is not None:
        values = trimmed_values(values, wanted, trim_step, trimmer_full)
    thresholds, width = threshold_spread(
        values,
        trim_step,
        tolerances=(resistor_tolerance, reference_tolerance, meter_tolerance),
        marks=wanted,
    )
    return ladder_sheet(
        Ladder(
            chemistry=kind,
            cells=cells,
            capacity=strings * capacity,
            load_current=load_current,
            sag=load_current * float(battery.resistance_ohmic + battery.resistance_relaxation),
            highest=highest,
            scale=scale,
            wanted=wanted,
            resting=resting,
            values=values,
            thresholds=thresholds,
            width=width,
            trim_step=trim_step,
            trimmer_full=trimmer_full,
            resistor_tolerance=resistor_tolerance,
            modelled_time=time_left is None,
        )
    )


def _checked(
    chemistry: str,
    cells: int,
    sizes: dict[str, tuple[float, str]],
    marks: tuple[float, ...],
    tolerances: tuple[float, ...],
) -> Chemistry:
    """The chemistry, if everything can be used."""
    known = load_chemistries()
    problems = []
    if chemistry not in known:
        near = difflib.get_close_matches(str(chemistry), known, n=1, cutoff=0.3)
        problems.append(
            Problem(
                "unknown chemistry",
                got=repr(chemistry),
                expected=f"one of {', '.join(sorted(known))}",
                key="chemistry",
                hint=f"Did you mean {near[0]!r}?" if near else "",
            )
        )
    if cells < 1:
        problems.append(
            Problem("cells in series", got=str(cells), expected="at least 1", key="cells")
        )
    problems += _bad_sizes(sizes)
    problems += _bad_marks(marks)
    problems += [
        Problem(
            "a tolerance",
            got=format_quantity(share, "share"),
            expected="0 % to 10 %",
            key="tolerance",
            hint="Resistors and references of 1 % are easy to get.",
        )
        for share in tolerances
        if not 0.0 <= share <= 0.1
    ]
    if problems:
        raise InputError(problems)
    return known[chemistry]


def _bad_sizes(sizes: dict[str, tuple[float, str]]) -> Iterator[Problem]:
    for key, (value, kind) in sizes.items():
        if not (math.isfinite(value) and value > 0.0):
            got = format_quantity(value, kind)
            yield Problem("a value that must be above zero", got=got, expected="above 0", key=key)
        elif value > _MOST.get(key, math.inf):
            most = format_quantity(_MOST[key], kind)
            yield Problem(
                f"{key.replace('_', ' ')} of the ladder",
                got=format_quantity(value, kind),
                expected=f"at most {most}",
                key=key,
                hint=f"The nearest is {most}.",
            )


def _bad_marks(marks: tuple[float, ...]) -> Iterator[Problem]:
    different = len(set(marks))
    if not 1 <= different <= MOST_STEPS:
        yield Problem(
            "marks of the ladder",
            got=str(different),
            expected=f"1 to {MOST_STEPS} different shares",
            key="marks",
            hint="Four LEDs tell as much as a battery's volts can." if different else "",
        )
    for mark in marks:
        if not 0.0 < mark <= 1.0:
            near = f"{mark / 100:g}" if 1.0 < mark <= 100.0 else "0.1" if mark <= 0.0 else "1"
            yield Problem(
                "a mark is a share of the charge",
                got=f"{mark:g}",
                expected="above 0, at most 1",
                key="marks",
                hint=f"The nearest that can be shown: {near}.",
            )


def _reference(lowest: float, highest: float, kind: Chemistry, cells: int) -> ShuntReference:
    """The reference that still lives at the lowest mark."""
    least = _REFERENCES[-1][2]
    if lowest < least or highest > _MOST_VOLTS:
        ratio = least / lowest if lowest < least else _MOST_VOLTS / highest
        near = math.ceil(cells * ratio) if ratio > 1.0 else math.floor(cells * ratio)
        raise InputError(
            [
                Problem(
                    "battery voltage that the comparators and LEDs cannot work at",
                    got=f"{format_quantity(lowest, 'voltage')} at the lowest mark, "
                    f"{format_quantity(highest, 'voltage')} while charging",
                    expected=f"{least:g} V to {_MOST_VOLTS:g} V",
                    key="cells",
                    hint=f"The nearest that works: {near} cells of {kind.title}; or feed the "
                    "ladder from another rail and sense the battery alone.",
                )
            ]
        )
    volts, cathode, _ = next(item for item in _REFERENCES if lowest >= item[2])
    return ShuntReference(
        name="U1", cathode="", reference="", anode="", voltage=volts, cathode_least=cathode
    )
