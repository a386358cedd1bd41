"""``boomwright design vent``: the length of a vent, all vents that fit, or the tuning of one."""

from __future__ import annotations

import json as json_text
from typing import Any

import typer
from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from boomwright.build.audio import Cabinet
from boomwright.build.draws import Draws
from boomwright.build.model import Build
from boomwright.build.quantities import Quantity, format_quantity, parse_quantity
from boomwright.cli.asked import Asked
from boomwright.cli.design.show import heading, plain_table
from boomwright.cli.show import console
from boomwright.design.box.remarks import CAUTIONS
from boomwright.design.box.shapes import Vent
from boomwright.design.box.vents import SizedVent, VentWish, sized_vent, vents_for
from boomwright.errors import Problem
from boomwright.outcome.data import Range, range_of
from boomwright.outcome.room import net_volume_of
from boomwright.physics.vent import VENT_ENDS

__all__ = ["vent_and_show"]

_EXAMPLE = 'boomwright design vent --volume "14 L" --tuning "48 Hz"'
_VERSIONS = 60


def vent_and_show(asked: Asked, build: Build | None, *, count: int, along: int, json: bool) -> None:
    """Size vents and print them.

    Parameters
    ----------
    asked : Asked
        The options.
    build : Build or None
        Gives the air, the vent and the drivers where no option does.
    count : int
        How many vents.
    along : int
        Panels that the inner end lies along.
    json : bool
        Print data instead of words.

    Raises
    ------
    InputError
        With everything that cannot be.
    """
    wish, shape, across, length = _wish(asked, build, count=count, along=along)
    every = shape is None
    found = (
        vents_for(wish)
        if shape is None
        else (sized_vent(wish, shape, across=across, length=length),)
    )
    if json:
        data = {"vents": [_data(each) for each in found], "cautions": list(CAUTIONS)}
        typer.echo(json_text.dumps(data, ensure_ascii=False, indent=2, allow_nan=False))
        return
    screen = console()
    if every:
        _print_all(screen, wish, found)
    else:
        _print_one(screen, wish, found[0], given=length is not None)
    heading(screen, "Cautions")
    for caution in CAUTIONS:
        screen.print(Padding(Text(f"▲ {caution}", style="yellow"), (0, 0, 0, 2)))


def _wish(
    asked: Asked, build: Build | None, *, count: int, along: int
) -> tuple[VentWish, Vent | None, Quantity | None, float | None]:
    cabinet = build.cabinet if build is not None else None
    volume = _quantity(asked, "--volume", "volume")
    tuning = _quantity(asked, "--tuning", "frequency")
    diameter = _quantity(asked, "--diameter", "length")
    width, height = _quantity(asked, "--width", "length"), _quantity(asked, "--height", "length")
    length = _quantity(asked, "--length", "length")
    if volume is None and build is not None and cabinet is not None:
        air = range_of(net_volume_of(build, Draws(_VERSIONS))[:, 0])
        volume = Quantity(air.likely, air.low, air.high, "volume", "typical")
    ends = asked.one_of("--ends", tuple(VENT_ENDS), usual=_ends_of(cabinet))
    sized = any(asked.given(option) for option in ("--diameter", "--width", "--height"))
    if cabinet is not None and cabinet.vent is not None and not sized:
        own = cabinet.vent
        count = own.count
        diameter, width, height = own.diameter, own.width, own.height
        if own.shape == "round":
            width = height = None
        else:
            diameter = None
        # Its own length says what it is tuned to, unless another tuning is wanted.
        length = length or (None if asked.given("--tuning") else own.length)
    if volume is None and not asked.given("--volume"):
        asked.wrong("--volume", "the air of the box is not known", hint=f"Such as: {_EXAMPLE}")
    shaped = diameter is not None or (width is not None and height is not None)
    if asked.given("--width") != asked.given("--height"):
        missing = "--height" if asked.given("--width") else "--width"
        asked.wrong(missing, "a slot needs its width and its height")
    if asked.given("--diameter") and asked.given("--width"):
        asked.wrong("--diameter", "both a tube and a slot were given", hint="Give one.")
    if asked.given("--length") and not shaped:
        asked.wrong("--length", "a length needs a size: --diameter, or --width and --height")
    if tuning is None and length is None and not asked.given("--tuning"):
        says = "neither a tuning nor the length of a vent is known"
        asked.wrong("--tuning", says, hint=f"Such as: {_EXAMPLE}")
    for option, number, least, most in (("--count", count, 1, 8), ("--along", along, 0, 3)):
        if not least <= number <= most:
            expected = f"{least} to {most}"
            asked.problems.append(Problem("out of range", str(number), expected, key=option))
    level = asked.number_or("--level", "decibel", 90.0)
    wall = asked.number_or("--board", "length", cabinet.wall.likely if cabinet else 0.015)
    moved = _displacement(asked, build)
    asked.settle()
    if volume is None:
        raise TypeError("a vent without a box is refused above")
    wish = VentWish(
        volume=volume,
        tuning=tuning or parse_quantity("50 Hz (standard)", "frequency"),
        level=level,
        displacement=moved,
        ends=ends,  # type: ignore[arg-type]
        along=along,
        wall=wall,
    )
    given = length.likely if length is not None else None
    if diameter is not None:
        return wish, Vent("round", count, diameter.likely), diameter, given
    if width is not None and height is not None:
        return wish, Vent("slot", count, height.likely, width.likely), height, given
    return wish, None, None, None


def _quantity(asked: Asked, option: str, kind: str) -> Quantity | None:
    found = asked.quantity(option, kind)
    if found is not None and not found.low > 0.0:
        asked.problems.append(Problem("must be above 0", repr(asked.text(option)), key=option))
        return None
    return found


def _ends_of(cabinet: Cabinet | None) -> str:
    return cabinet.vent.ends if cabinet is not None and cabinet.vent is not None else "flush-free"


def _displacement(asked: Asked, build: Build | None) -> float:
    sd, xmax = asked.number("--sd", "cone"), asked.number("--xmax", "length")
    if sd is not None and xmax is not None:
        return sd * xmax
    if sd is not None or xmax is not None:
        missing = "--xmax" if sd is not None else "--sd"
        if not asked.given(missing):
            asked.wrong(missing, "cone area and travel are needed together")
    if build is None:
        return 0.0
    return sum(
        driver.count * driver.sd.likely * driver.xmax.likely
        for driver in build.driver
        if driver.band in {"full", "low"} and driver.sd and driver.xmax
    )


def _print_all(screen: Console, wish: VentWish, found: tuple[SizedVent, ...]) -> None:
    title = f"Vents for {wish.volume} tuned to {wish.tuning}"
    screen.print(Text(title, style="bold"))
    screen.print(
        Text(
            f"Air at {wish.level:.0f} dB at 1 m from the vent alone, half space; heard above about "
            "17 m/s peak."
        )
    )
    heading(screen, "What fits, and what does not")
    known = wish.displacement > 0.0
    columns = ["vent", "length", "fit", "air", "pipe at", *(["area/least"] if known else [])]
    table = plain_table(*columns)
    for each in found:
        row = [
            _shape(each.vent),
            _long(each.length.likely) if each.length.likely > 0.0 else "none does",
            each.fit,
            f"{each.speed:.1f} m/s",
            format_quantity(each.pipe, "frequency", digits=2),
        ]
        if known:
            row.append(f"{each.least:.2f}")
        table.add_row(*row)
    screen.print(table)


def _print_one(screen: Console, wish: VentWish, each: SizedVent, *, given: bool) -> None:
    vent = each.vent
    screen.print(Text(f"Vent of {_shape(vent)} in {wish.volume}", style="bold"))
    table = plain_table("", "likely", "from", "to")

    def row(label: str, value: Range, kind: str) -> None:
        def words(number: float) -> str:
            return _long(number) if kind == "length" else format_quantity(number, kind, digits=3)

        ends = ("", "") if value.certain else (words(value.low), words(value.high))
        table.add_row(label, words(value.likely), *ends)

    if given:
        table.add_row("length", _long(vent.length), "", "")
        row("tunes the box to", each.tuning, "frequency")
    else:
        row("length", each.length, "length")
        row(f"tunes the box, cut to {_long(vent.length)}, to", each.tuning, "frequency")
    screen.print(table)
    heading(screen, "To mind")
    lines = [
        f"Into a box of the usual shape it goes {each.fit}."
        if each.fit in {"straight", "bent"}
        else f"For a box of the usual shape it is {each.fit}: "
        + (
            "take fewer or narrower vents, or a passive radiator."
            if each.fit == "too long"
            else "take more or wider vents, or a higher tuning."
        ),
        f"Its air moves at {each.speed:.1f} m/s peak for {wish.level:.0f} dB at 1 m; at 17 m/s, "
        f"where it is heard, it makes {each.loudest:.0f} dB.",
        f"As a pipe it sings at {format_quantity(each.pipe, 'frequency', digits=2)}; it takes "
        f"{format_quantity(each.taken, 'volume', digits=2)} of the inside.",
    ]
    if not given:
        lines.append("Cut it a tenth longer, measure the tuning, and shorten it.")
    if wish.displacement > 0.0:
        enough = "enough" if each.least >= 1.0 else "less than that"
        lines.insert(
            2,
            f"Its area is {each.least:.2f} of the least for a driver at its full travel: {enough}.",
        )
    for line in lines:
        screen.print(Padding(Text(line), (0, 0, 0, 2)))


def _shape(vent: Vent) -> str:
    many = f"{vent.count} × " * (vent.count > 1)
    if vent.shape == "round":
        return f"{many}⌀{1e3 * vent.across:.0f} mm"
    return f"{many}{1e3 * vent.width:.0f} × {1e3 * vent.across:.0f} mm"


def _long(value: float) -> str:
    return f"{1e3 * value:.0f} mm"


def _data(each: SizedVent) -> dict[str, Any]:
    vent = each.vent

    def spread(value: Range) -> dict[str, float]:
        return {"likely": value.likely, "low": value.low, "high": value.high}

    return {
        "shape": vent.shape,
        "count": vent.count,
        "across": vent.across,
        "width": vent.width or None,
        "length": spread(each.length) | {"cut": vent.length},
        "tuning": spread(each.tuning),
        "fit": each.fit,
        "air_speed": each.speed,
        "loudest": each.loudest,
        "pipe_resonance": each.pipe,
        "area_over_least": each.least if each.least < float("inf") else None,
        "taken": each.taken,
    }
