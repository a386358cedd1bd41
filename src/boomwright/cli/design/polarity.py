"""``boomwright design polarity``: the protections against swapped poles, side by side."""

from __future__ import annotations

from typing import get_args

from rich.table import Table
from rich.text import Text

from boomwright.advice.finding import Level
from boomwright.build.drawer import Drawer
from boomwright.build.power import Fuse
from boomwright.build.quantities import format_quantity
from boomwright.circuit.blocks.polarity import PolarityKind
from boomwright.cli.asked import Asked
from boomwright.cli.design import words
from boomwright.cli.design.files import csv_text
from boomwright.cli.design.given import Given, battery_resistance, path_resistance, volts_of
from boomwright.cli.design.page import Page, finite
from boomwright.cli.design.show import plain_table
from boomwright.cli.show import mark
from boomwright.design.polarity.design import design_polarity
from boomwright.design.sheet import Design
from boomwright.errors import InputError, Problem
from boomwright.outcome.plan import FUSE_KINDS

__all__ = ["polarity_page"]

_UNHEARD = 0.05
"""Volts whose loss nobody hears: 0.04 dB of 12 V [V]."""

_ORDER: tuple[Level, ...] = ("fine", "mind", "stop")

_POLARITY = {
    "battery_low": "--lowest",
    "battery_high": "--highest",
    "fuse_rating": "--fuse",
    "fuse_type": "--fuse-type",
    "load_current": "--load",
    "peak_current": "--peak",
    "battery_resistance": "--resistance",
    "kind": "--kind",
    "part": "--part",
}


def polarity_page(asked: Asked, given: Given | None, drawer: Drawer) -> Page:
    """Protection against swapped poles that was asked for, or the best of all kinds.

    Parameters
    ----------
    asked : Asked
        The options.
    given : Given or None
        The build.
    drawer : Drawer
        Parts to choose from.

    Returns
    -------
    Page

    Raises
    ------
    InputError
        With everything that cannot be.
    """
    volts = volts_of(
        asked, given, example=f'boomwright design polarity --battery {words.BATTERY} --fuse "5 A"'
    )
    kinds = get_args(PolarityKind)
    kind = asked.one_of("--kind", kinds)
    fuse = _first_fuse(given)
    fuse_type = asked.one_of("--fuse-type", tuple(FUSE_KINDS), usual=fuse.type if fuse else "blade")
    load, resistance = 1.0, 0.06
    if given is not None:
        load = given.outcome.scenario("wanted").amps.likely
        above = given.chain(given.build.polarity[0]) if given.build.polarity else ()
        resistance = path_resistance(given, above or ((fuse,) if fuse is not None else ()))
    elif volts.battery is not None:
        resistance = battery_resistance(volts.battery)
    load = asked.number_or("--load", "current", load)
    peak = 3.0 * load
    if given is not None:
        peak = max(given.outcome.scenario("flat-out").amps_peak.likely, load)
    peak = asked.number_or("--peak", "current", peak)
    resistance = asked.number_or("--resistance", "resistance", resistance)
    rating = asked.number_or("--fuse", "current", fuse.rating.likely if fuse else 5.0)
    if asked.given("--part") and not kind:
        asked.wrong("--part", "a part belongs to one kind", hint="Give --kind beside it.")
    asked.settle()

    def designed(one: PolarityKind) -> Design:
        return design_polarity(
            one,
            fuse_rating=rating,
            load_current=load,
            peak_current=peak,
            battery_low=volts.low,
            battery_high=volts.high,
            battery_resistance=resistance,
            fuse_type=FUSE_KINDS[fuse_type],
            part=asked.text("--part"),
            drawer=drawer,
        )

    found: dict[str, Design] = {}
    reasons: dict[str, tuple[Problem, ...]] = {}
    for one in (kind,) if kind else kinds:
        try:
            found[one] = designed(one)
        except InputError as error:
            reasons[one] = tuple(asked.named(item, _POLARITY) for item in error.problems)
    if not found:
        raise InputError(list(dict.fromkeys(sum(reasons.values(), ()))))
    best = kind or min(found, key=lambda one: _rank(found[one]))
    lines = {one: [figure.likely for figure in design.figures[:8]] for one, design in found.items()}
    labels = tuple(figure.label for figure in found[best].figures[:8])
    return Page(
        design=found[best],
        drawing=f"polarity-{best}",
        wanted=(
            f"{words.span(volts)}; {fuse_type} fuse of {words.amps(rating)}; load "
            f"{words.amps(load)}, {words.amps(peak)} on a beat."
        ),
        wish={
            "battery_low": volts.low,
            "battery_high": volts.high,
            "fuse": rating,
            "fuse_type": fuse_type,
            "load": load,
            "peak": peak,
            "resistance": resistance,
        },
        head="" if kind else "Protection against swapped poles",
        table=None if kind else _side_by_side(found, best),
        table_title="Kinds side by side",
        notes=tuple(
            f"{one} cannot: {'; '.join(str(problem) for problem in problems)}"
            for one, problems in reasons.items()
        ),
        values={
            "kinds": [
                {
                    "kind": one,
                    "level": _worst(found[one]),
                    "problems": [],
                    **{label: finite(value) for label, value in zip(labels, row, strict=True)},
                }
                for one, row in lines.items()
            ]
            + [
                {"kind": one, "level": "stop", "problems": [str(item) for item in problems]}
                for one, problems in reasons.items()
            ]
        },
        more=lambda: {
            "kinds.csv": csv_text(("kind", *labels), [(one, *row) for one, row in lines.items()])
        },
    )


def _first_fuse(given: Given | None) -> Fuse | None:
    if given is None:
        return None
    source = given.build.source.name
    return next((fuse for fuse in given.build.fuse if fuse.fed_by == source), None)


def _worst(design: Design) -> Level:
    return max((remark.level for remark in design.remarks), key=_ORDER.index, default="fine")


def _rank(design: Design) -> tuple[bool, float, float]:
    """Nothing that must stop, then the least loss, then the least that a load sees reversed."""
    lost = design.figure("volts lost at the peak").likely
    reversed_volts = abs(design.figure("load sees, battery reversed").likely)
    return _worst(design) == "stop", max(lost, _UNHEARD), reversed_volts


def _side_by_side(found: dict[str, Design], best: str) -> Table:
    table = plain_table("kind", "volts lost", "heat", "load, reversed", "parked", "verdict")
    for kind, design in found.items():
        table.add_row(
            Text(kind, style="bold" if kind == best else ""),
            _rough(design, "volts lost at the peak"),
            _rough(design, "heat on average"),
            _rough(design, "load sees, battery reversed"),
            _rough(design, "drain when parked"),
            mark(_worst(design)),
        )
    return table


def _rough(design: Design, label: str) -> str:
    figure = design.figure(label)
    # Below a thousandth of its unit nobody at a bench sees any of it.
    if abs(figure.likely) < 1e-6:
        return "0"
    return format_quantity(figure.likely, figure.kind, digits=2)
