"""``boomwright design ladder``: LEDs that show the charge, and the marks of a voltmeter."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from rich.table import Table

from boomwright.build.drawer import Drawer
from boomwright.build.quantities import format_hours, format_quantity
from boomwright.cli.asked import Asked
from boomwright.cli.design import words
from boomwright.cli.design.files import csv_text
from boomwright.cli.design.given import Given
from boomwright.cli.design.page import Page, finite
from boomwright.cli.design.show import plain_table
from boomwright.design.ladder.design import design_ladder
from boomwright.design.sheet import Design
from boomwright.physics.chemistry import load_chemistries

__all__ = ["ladder_page"]

_MARKS = (0.75, 0.5, 0.25, 0.1)

_LADDER = {
    "capacity": "--battery",
    "cells": "--battery",
    "chemistry": "--battery",
    "load_current": "--load",
    "marks": "--marks",
    "resistance": "--resistance",
    "cutoff_voltage": "--cutoff",
    "filter_time": "--filter",
    "led_current": "--led",
    "tolerance": "--tolerance",
}


def ladder_page(
    asked: Asked, given: Given | None, drawer: Drawer, *, resting: bool, trimmer: bool
) -> Page:
    """LED ladder with the scale of a voltmeter for the same battery.

    Parameters
    ----------
    asked : Asked
        The options.
    given : Given or None
        The build.
    drawer : Drawer
        Parts to choose from.
    resting : bool
        Set by resting volts.
    trimmer : bool
        With a trimmer.

    Returns
    -------
    Page

    Raises
    ------
    InputError
        With everything that cannot be.
    """
    battery = asked.battery("--battery")
    if given is not None and asked.given("--battery"):
        asked.wrong("--battery", "both a build file and a battery were given", hint="Give one.")
    elif given is not None:
        battery = given.build.battery
        if battery is None:
            says = "the build runs on a supply, which has no charge to show"
            asked.lacks(says, hint='Leave it out and give a battery: --battery "12 V 7 Ah AGM".')
    elif not asked.given("--battery"):
        hint = 'Such as: boomwright design ladder --battery "12 V 7 Ah AGM" --load "0.5 A".'
        asked.wrong("", "neither a build file nor --battery was given", hint=hint)
    load, cutoff, left = 1.0, None, None
    if given is not None:
        load = given.outcome.wanted.amps.likely
        cutoff = max((item.off.likely for item in given.build.cutoff), default=None)
        left = None if asked.given("--load") or asked.given("--cutoff") else _time_left(given)
    load = asked.number_or("--load", "current", load)
    cutoff = asked.number("--cutoff", "voltage") if asked.given("--cutoff") else cutoff
    resistance = asked.number("--resistance", "resistance")
    if resistance is None and battery is not None and battery.resistance is not None:
        resistance = battery.resistance.likely
    marks = asked.shares("--marks") or _MARKS
    filter_time = asked.number_or("--filter", "time", 7.0)
    led = asked.number_or("--led", "current", 3e-3)
    tolerance = asked.number_or("--tolerance", "share", 0.01)
    asked.settle()
    if battery is None:
        raise TypeError("the battery is settled")
    with asked.naming(_LADDER):
        design = design_ladder(
            chemistry=battery.chemistry,
            cells=battery.cells,
            capacity=battery.capacity.likely,
            load_current=load,
            marks=marks,
            strings=battery.strings,
            resistance=resistance,
            cutoff_voltage=cutoff,
            time_left=left,
            resting=resting,
            trimmer=trimmer,
            resistor_tolerance=tolerance,
            filter_time=filter_time,
            led_current=led,
            drawer=drawer,
        )
    shares = tuple(f"{100.0 * share:g} %" for share in sorted(set(marks), reverse=True))
    until = (
        f"until the cutoff at {words.volts(cutoff)}" if cutoff is not None else "until it is empty"
    )
    title = load_chemistries()[battery.chemistry].title
    total = battery.strings * battery.capacity.likely
    return Page(
        design=design,
        drawing="ladder",
        wanted=(
            f"{words.of(given)}{battery.cells} cells of {title}, "
            f"{format_quantity(total, 'charge')}; "
            f"{words.amps(load)} {until}."
        ),
        wish={
            "chemistry": battery.chemistry,
            "cells": battery.cells,
            "capacity": total,
            "load": load,
            "marks": list(marks),
            "cutoff": cutoff,
            "resting": resting,
        },
        table=_scale(design, shares),
        table_title="Marks for a voltmeter",
        notes=(
            "Left is the time at this load. Resting is with the music paused for some minutes, "
            "better an hour: read while it plays, those marks show that much too little.",
        ),
        apart=tuple(f"{share}:" for share in shares),
        values={"scale": [_mark(design, share) for share in shares]},
        more=lambda: {"scale.csv": _scale_csv(design, shares)},
    )


def _time_left(given: Given) -> Callable[[float], float] | None:
    """Time left [s] by the share left of what the battery gives, from the run as wanted."""
    curve = given.outcome.wanted.curve
    times, amps = np.array(curve.time), np.array(curve.amps)
    if times.size < 2:
        return None
    spent = np.concatenate([[0.0], np.cumsum(0.5 * (amps[1:] + amps[:-1]) * np.diff(times))])
    if not (np.all(np.isfinite(spent)) and spent[-1] > 0.0):
        return None

    def left(share: float) -> float:
        return float(times[-1] - np.interp((1.0 - share) * spent[-1], spent, times))

    return left


_COLUMNS = ("resting", "playing", "time left", "charge", "reading error")


def _scale(design: Design, shares: tuple[str, ...]) -> Table:
    table = plain_table(
        "", "LED", "lights from", "resting", "playing", "left", "resting marks misread by"
    )
    for place, share in enumerate(shares, start=1):
        resting, playing, time, _, error = (
            design.figure(f"{share}: {column}").likely for column in _COLUMNS
        )
        lights = design.figure(f"{share}: D{place} lights from").likely
        misread = f"{100.0 * error:.0f} %" if error >= 0.005 else "nothing"
        left = format_hours(time)
        cells = (f"D{place}", *(words.volts(value) for value in (lights, resting, playing)))
        table.add_row(share, *cells, left, misread)
    return table


def _mark(design: Design, share: str) -> dict[str, float | str | None]:
    values = {
        column.replace(" ", "_"): finite(design.figure(f"{share}: {column}").likely)
        for column in _COLUMNS
    }
    return {"mark": share, **values}


def _scale_csv(design: Design, shares: tuple[str, ...]) -> str:
    rows = []
    for share in shares:
        resting, playing, time, charge, error = (
            design.figure(f"{share}: {column}").likely for column in _COLUMNS
        )
        volts = (round(resting, 3), round(playing, 3))
        rows.append((share, *volts, round(time / 3600.0, 3), round(charge, 3), round(error, 3)))
    header = ("mark", "resting volts", "playing volts", "hours left", "charge", "reading error")
    return csv_text(header, rows)
