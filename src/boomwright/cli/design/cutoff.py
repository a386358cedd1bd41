"""``boomwright design cutoff``: the low-voltage cutoff, compared, designed, proved and written."""

from __future__ import annotations

import json as json_text
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import typer
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from boomwright.build.circuits import CutoffCircuit
from boomwright.build.model import Build
from boomwright.build.nearest import nearest
from boomwright.build.quantities import format_hours, format_quantity, parse_quantity
from boomwright.build.words import battery_of_words
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES, CutoffFamily
from boomwright.cli.design.cutoff_data import cutoff_data
from boomwright.cli.design.cutoff_files import cutoff_files, put_circuit
from boomwright.cli.design.files import write_design
from boomwright.cli.design.given import Given, read_given
from boomwright.cli.design.show import heading, plain_table, print_design
from boomwright.cli.show import console, mark, steps_shown
from boomwright.design.cutoff.calibration import Calibration, calibration_of
from boomwright.design.cutoff.choice import (
    CutoffChoice,
    ModuleChoice,
    best_choice,
    compare_cutoffs,
    compare_modules,
)
from boomwright.design.cutoff.design import CutoffDesign, design_cutoff
from boomwright.design.cutoff.moves import designator_of
from boomwright.design.cutoff.wish import CutoffWish, cutoff_wish
from boomwright.errors import InputError, Problem, QuantityError

__all__ = ["CutoffRequest", "design_and_show"]

_SUSPECTED = {
    "zener.share": "zener knee, share of its limit",
    "transistor.saturation": "transistor saturation, over usual",
}
_DAY = 86400.0
_YEARS = 730.0


@dataclass(frozen=True)
class CutoffRequest:
    """What was asked for on the command line, as it was written."""

    file: Path | None
    battery: str
    off: str
    on: str
    load: str
    peak: str
    kind: str
    measured_off: str
    measured_on: str
    put: bool
    folder: Path | None
    json: bool
    parts: Path | None


def design_and_show(request: CutoffRequest) -> None:
    """Design, print, and write what was asked for.

    Parameters
    ----------
    request : CutoffRequest
        The command line.

    Raises
    ------
    InputError
        With everything that cannot be used.
    """
    numbers = _numbers(request)
    given, drawer = read_given(request.file, request.parts)
    build = None if given is None else given.build
    wish = _wish(request, numbers, given)
    family = _family(request.kind)
    circuit = _own_circuit(build) if not request.kind else None
    calibration = None
    choices: tuple[CutoffChoice, ...] = ()
    modules: tuple[ModuleChoice, ...] = ()
    with steps_shown(len(CUTOFF_FAMILIES) + 1) as steps:
        if family is None and circuit is None:
            choices = compare_cutoffs(wish, drawer, step=steps.step)
            modules = compare_modules(wish, drawer)
            circuit = best_choice(choices).circuit
        steps.step("the chosen one")
        if circuit is not None:
            family = circuit.family
        if family is None:
            raise TypeError("no kind of circuit was chosen")
        found = design_cutoff(family, wish, drawer, circuit=circuit)
        if "measured_off" in numbers:
            calibration = calibration_of(
                found.circuit,
                drawer,
                wish,
                found.influences,
                off=numbers["measured_off"],
                on=numbers.get("measured_on"),
            )
    written = _write(request, found)
    if request.json:
        values = cutoff_data(found, choices, modules, calibration)
        typer.echo(json_text.dumps(values, ensure_ascii=False, indent=2, allow_nan=False))
        return
    screen = console()
    _print(screen, found, choices, modules, calibration)
    for line in written:
        screen.print(Text(line))


def _numbers(request: CutoffRequest) -> dict[str, float]:
    """Quantities of the command line, all that cannot be read at once."""
    kinds = {
        "off": ("voltage", request.off),
        "on": ("voltage", request.on),
        "load": ("current", request.load),
        "peak": ("current", request.peak),
        "measured_off": ("voltage", request.measured_off),
        "measured_on": ("voltage", request.measured_on),
    }
    found: dict[str, float] = {}
    problems: list[Problem] = []
    for key, (kind, text) in kinds.items():
        if not text:
            continue
        try:
            found[key] = parse_quantity(text, kind).likely
        except QuantityError as error:
            option = "--" + key.replace("_", "-")
            problems += [
                Problem(item.says, item.got, item.expected, key=option, hint=item.hint)
                for item in error.problems
            ]
    if request.file is None and not request.battery:
        hint = 'Such as: boomwright design cutoff --battery "12 V 9 Ah AGM".'
        problems.append(Problem("neither a build file nor --battery was given", hint=hint))
    if request.file is not None and request.battery:
        problems.append(Problem("both a build file and --battery were given", hint="Give one."))
    if request.put and request.file is None:
        problems.append(Problem("--put needs a build file to write the circuit into"))
    if found.get("peak", np.inf) < found.get("load", 0.0):
        got = f"{_amps(found['peak'])} on a beat, {_amps(found['load'])} on average"
        problems.append(Problem("a beat that takes less than the average", got=got, key="--peak"))
    problems += _kind_problems(request.kind)
    if "measured_on" in found and "measured_off" not in found:
        problems.append(Problem("--measured-on needs --measured-off beside it"))
    if problems:
        raise InputError(problems)
    return found


def _wish(request: CutoffRequest, numbers: dict[str, float], given: Given | None) -> CutoffWish:
    if given is None:
        battery = battery_of_words(request.battery)
        load, peak = numbers.get("load", 1.0), numbers.get("peak")
        off, on = numbers.get("off"), numbers.get("on")
    else:
        build, outcome = given.build, given.outcome
        if build.battery is None:
            says = "the build runs on a supply, which needs no low-voltage cutoff"
            raise InputError([Problem(says, file=str(request.file))])
        battery = build.battery
        wanted, loud = outcome.scenario("wanted"), outcome.scenario("flat-out")
        load = numbers.get("load", wanted.amps.likely)
        peak = numbers.get("peak", max(loud.amps_peak.likely, load))
        own = build.cutoff[0] if build.cutoff else None
        off = numbers.get("off", None if own is None else own.off.likely)
        written = own.on.likely if own is not None and own.on is not None else None
        on = numbers.get("on", None if "off" in numbers else written)
        # What the file has need not fit what is asked; what is asked must fit itself.
        if on is not None and off is not None and on <= off and "on" not in numbers:
            on = None
    return cutoff_wish(battery, off=off, on=on, load_current=load, peak_current=peak)


def _family(kind: str) -> CutoffFamily | None:
    return next((family for family in CUTOFF_FAMILIES if family == kind), None)


def _kind_problems(kind: str) -> list[Problem]:
    if not kind or _family(kind) is not None:
        return []
    expected = f"one of {', '.join(CUTOFF_FAMILIES)}"
    hint = nearest(kind, CUTOFF_FAMILIES)
    says = "no such kind of cutoff"
    return [Problem(says, got=repr(kind), expected=expected, key="--kind", hint=hint)]


def _own_circuit(build: Build | None) -> CutoffCircuit | None:
    circuits = [cutoff.circuit for cutoff in build.cutoff] if build is not None else []
    return next((circuit for circuit in circuits if circuit is not None), None)


def _write(request: CutoffRequest, found: CutoffDesign) -> list[str]:
    lines = []
    if request.folder is not None:
        drawing, more = cutoff_files(found)
        values = cutoff_data(found, (), (), None)
        names = write_design(
            request.folder, found.design, drawing=drawing, values=values, more=more
        )
        lines.append(f"Written to {request.folder}: {', '.join(names)}.")
    if request.put and request.file is not None:
        put_circuit(request.file, found.circuit)
        lines.append(
            f"Written into {request.file}; 'boomwright undo {request.file}' takes it back."
        )
    return lines


def _print(
    screen: Console,
    found: CutoffDesign,
    choices: tuple[CutoffChoice, ...],
    modules: tuple[ModuleChoice, ...],
    calibration: Calibration | None,
) -> None:
    wish = found.wish
    battery = wish.battery
    screen.print(
        Text(
            f"Low-voltage cutoff for {battery.cells} cells of {battery.chemistry}, "
            f"{format_quantity(battery.capacity.likely, 'charge')}",
            style="bold",
        )
    )
    screen.print(
        f"wanted: lets go at {_volts(wish.off)}, comes back at {_volts(wish.on)}; load "
        f"{_amps(wish.load_current)}, {_amps(wish.peak_current)} on a beat"
    )
    if choices:
        heading(screen, "Kinds side by side")
        screen.print(_choices(choices, modules, found.circuit.family))
    heading(screen, f"{found.circuit.family}: {found.design.title}")
    screen.print(Padding(Text(_life(found)), (0, 0, 0, 2)))
    print_design(screen, found.design)
    _print_moves(screen, found)
    if calibration is not None:
        _print_calibration(screen, found, calibration)


def _choices(
    choices: tuple[CutoffChoice, ...], modules: tuple[ModuleChoice, ...], chosen: str
) -> Table:
    table = plain_table("kind", "lets go", "comes back", "takes on/off", "hour after", "verdict")
    for choice in choices:
        name = Text(choice.family, style="bold" if choice.family == chosen else "")
        if choice.design is None:
            reason = choice.problems[0].says if choice.problems else "cannot serve"
            table.add_row(name, reason, "", "", "", mark("stop"))
            continue
        solved, run = choice.design.solved, choice.design.run
        back = "button" if choice.design.law.stays_off else _volts(float(solved.on[0]))
        takes = f"{_small(float(solved.drain_on[0]))} / {_small(float(solved.drain_off[0]))}"
        hour = _openings(run.openings_per_hour)
        table.add_row(name, _volts(float(solved.off[0])), back, takes, hour, mark(choice.level))
    for module in modules[:3]:
        back = "button" if module.latching else _volts(module.on.likely)
        takes = f"{_small(module.drain_on)} / {_small(module.drain_off)}"
        hour = _openings(module.run.openings_per_hour)
        name = Text(module.part)
        level = mark("stop" if module.run.chatters else "fine")
        table.add_row(name, _volts(module.off.likely), back, takes, hour, level)
    return table


def _openings(per_hour: Any) -> str:
    count = int(per_hour[0]) if len(per_hour) else 0
    return "stays open" if count == 0 else f"{count} more"


def _small(current: float) -> str:
    return "0" if current < 1e-6 else format_quantity(current, "current", digits=2)


def _life(found: CutoffDesign) -> str:
    run, wish = found.run, found.wish
    if run.at_first is None:
        return "The battery never came down to the cutoff."
    left = run.at_first
    says = (
        f"From full, {format_hours(run.first_opening)} of {_amps(wish.load_current)}; then it "
        f"opens at {left.loaded:.2f} V a cell with {100 * left.charge:.0f} % of the charge left"
    )
    if run.chatters:
        count = int(run.openings_per_hour[0]) if run.openings_per_hour.size else 0
        says += f", and {count} more times in the hour after"
    days = run.ruined_after / _DAY
    lasts = "more than two years" if days > _YEARS else f"{days:.0f} days"
    return f"{says}. Left like that, the battery is ruined after {lasts}."


def _print_moves(screen: Console, found: CutoffDesign) -> None:
    heading(screen, "To move the threshold")
    best = found.helpful_move
    if best is not None:
        screen.print(Padding(Text(f"closest to the wish: {best}"), (0, 0, 0, 2)))
    table = plain_table("", "now", "instead", "lets go", "comes back")
    for move in found.moves:
        back = "button" if found.law.stays_off else _volts(move.on_after)
        table.add_row(move.designator, move.before, move.after, _volts(move.off_after), back)
    screen.print(Padding(table, (0, 0, 0, 2)))
    trim = found.trimmer
    low, high = format_quantity(trim.low, "resistance"), format_quantity(trim.high, "resistance")
    fixed = format_quantity(trim.fixed, "resistance")
    pot = format_quantity(trim.trimmer, "resistance")
    share = f"{100 * trim.covers:.0f} of 100 builds"
    screen.print(
        Padding(
            Text(
                f"A trimmer in place of {trim.designator} must cover {low} to {high}: {fixed} "
                f"fixed in series with a trimmer of {pot} sets {share}."
            ),
            (0, 0, 0, 2),
        )
    )


def _print_calibration(screen: Console, found: CutoffDesign, calibration: Calibration) -> None:
    heading(screen, "What was measured")
    on = "" if math.isnan(calibration.on) else f", on {_volts(calibration.on)}"
    screen.print(
        Padding(
            Text(
                f"Measured off {_volts(calibration.off)}{on}; reckoned off "
                f"{_volts(float(found.solved.off[0]))}. "
                + (
                    "Parts within their ranges explain it, most likely:"
                    if calibration.fits
                    else "No parts within their ranges explain it: look for a wrong value, a wrong "
                    "connection or a part the wrong way round. Nearest:"
                )
            ),
            (0, 0, 0, 2),
        )
    )
    table = plain_table("", "value", "must be about", "explains")
    for field, text, place, share in calibration.suspects:
        side = "in its range" if abs(place) <= 1.0 else "beyond its range"
        name = designator_of(found.circuit, field)
        words = _SUSPECTED.get(field, field.replace(".", " ").replace("_", " "))
        table.add_row(name, words, f"{text} ({side})", f"{100 * share:.0f} %")
    screen.print(Padding(table, (0, 0, 0, 2)))
    for move in calibration.moves:
        screen.print(Padding(Text(f"→ {move}"), (0, 0, 0, 4)))


def _volts(value: float) -> str:
    return "never" if math.isnan(value) else format_quantity(value, "voltage")


def _amps(value: float) -> str:
    return format_quantity(value, "current")
