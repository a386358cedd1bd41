"""``boomwright design box``: boxes side by side, one of them in full, as data, charts and keys."""

from __future__ import annotations

import json as json_text
from pathlib import Path

import typer
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from boomwright.build.drawer import Drawer
from boomwright.build.draws import Draws
from boomwright.build.quantities import format_quantity
from boomwright.cli.asked import Asked
from boomwright.cli.design.box_data import box_data
from boomwright.cli.design.box_files import box_files, put_box
from boomwright.cli.design.box_wish import box_wish
from boomwright.cli.design.files import write_files
from boomwright.cli.design.given import Given
from boomwright.cli.design.show import heading, plain_table
from boomwright.cli.show import console, mark
from boomwright.design.box.choices import BoxChoice, choice_of, proposed
from boomwright.design.box.remarks import CAUTIONS, box_remarks, driver_remarks
from boomwright.design.box.shapes import Radiator, Vent
from boomwright.design.box.wish import BoxWish, subject_of
from boomwright.design.sheet import Remark
from boomwright.errors import InputError, Problem
from boomwright.outcome.data import Range
from boomwright.outcome.room import net_volume_of

__all__ = ["box_and_show"]

_WANTED_Q = 0.75
_STATES = ("battery full", "half", "nearly empty")


def box_and_show(
    asked: Asked,
    given: Given | None,
    drawer: Drawer,
    *,
    count: int | None,
    pick: int | None,
    put: Path | None,
    folder: Path | None,
    json: bool,
) -> None:
    """Find boxes, print them, and write what was asked for.

    Parameters
    ----------
    asked : Asked
        The options.
    given : Given or None
        The build.
    drawer : Drawer
        Where a driver is looked up.
    count : int or None
        Drivers that share the box.
    pick : int or None
        Number of the box to show in full.
    put : Path or None
        Build file to write it into.
    folder : Path or None
        Where to write charts and data.
    json : bool
        Print data instead of words.

    Raises
    ------
    InputError
        With everything that cannot be.
    """
    wish, whence = box_wish(asked, given, drawer, count=count)
    likely, spread = subject_of(wish, versions=0), subject_of(wish)
    choices = tuple(choice_of(design, wish, spread) for design in proposed(wish, subject=likely))
    about = driver_remarks(wish, likely)
    if not choices:
        says = "no box of that kind goes as low as that in so little air"
        hint = "Allow more air with --largest, a higher --bass, or another --kind."
        raise InputError([Problem(says, got=_asked_words(wish), hint=hint)])
    at = _picked(pick, choices, about)
    chosen = choices[at]
    written = []
    data = box_data(wish, choices, about, at)
    if folder is not None:
        designs = [choice.design for choice in choices]
        files = box_files(designs, at, wish, likely)
        files["boxes.json"] = json_text.dumps(data, ensure_ascii=False, indent=2, allow_nan=False)
        written.append(f"Written to {folder}: {', '.join(write_files(folder, files))}.")
    if put is not None:
        put_box(put, chosen, wish, drawer)
        written.append(f"Written into {put}; 'boomwright undo {put}' takes it back.")
    if json:
        typer.echo(json_text.dumps(data, ensure_ascii=False, indent=2, allow_nan=False))
        return
    screen = console()
    _print(screen, wish, whence, choices, about, at, beside=_own_air(asked, given))
    for line in written:
        screen.print()
        screen.print(Text(line))


def _own_air(asked: Asked, given: Given | None) -> str:
    """The air that the build's own box has, where the wish leaves the size open."""
    if given is None or given.build.cabinet is None or given.build.cabinet.type == "open":
        return ""
    if asked.given("--net") or asked.given("--largest"):
        return ""
    litres = _litres(float(net_volume_of(given.build, Draws(0))[0, 0]))
    return f" The build's own box has {litres}; --net '{litres}' fits that."


def _asked_words(wish: BoxWish) -> str:
    low = "" if wish.low_end is None else f", bass from {_hertz(wish.low_end)}"
    return f"{' or '.join(wish.kinds)}, at most {_litres(wish.most)}{low}"


def _picked(pick: int | None, choices: tuple[BoxChoice, ...], about: tuple[Remark, ...]) -> int:
    if pick is not None:
        if not 1 <= pick <= len(choices):
            problem = Problem(
                "no such box", got=str(pick), expected=f"1 to {len(choices)}", key="--pick"
            )
            raise InputError([problem])
        return pick - 1
    no_vent = any(remark.level == "stop" for remark in about)
    best = [
        number
        for number, choice in enumerate(choices)
        if choice.gains and (choice.design.vent is not None or choice.design.radiator is not None)
    ]
    closed = [number for number, choice in enumerate(choices) if choice.design.kind == "closed"]
    if closed and (no_vent or not best):
        return min(closed, key=lambda number: abs(_q(choices[number]) - _WANTED_Q))
    vented = [number for number in best if choices[number].design.vent is not None]
    return (vented or best or [0])[-1]


def _q(choice: BoxChoice) -> float:
    return choice.quality.likely if choice.quality is not None else 0.0


def _print(
    screen: Console,
    wish: BoxWish,
    whence: str,
    choices: tuple[BoxChoice, ...],
    about: tuple[Remark, ...],
    at: int,
    *,
    beside: str,
) -> None:
    driver = wish.driver
    many = f"{wish.count} × " * (wish.count > 1)
    screen.print(Text(f"Boxes for {many}{driver.name}", style="bold"))
    volts = " / ".join(format_quantity(value, "voltage", digits=3) for value in wish.volts)
    low = "as low as goes" if wish.low_end is None else f"bass from {_hertz(wish.low_end)}"
    screen.print(
        Text(
            f"{whence[:1].upper()}{whence[1:]}: {volts} peak at the driver, battery full / half / "
            f"nearly empty. "
            f"{wish.programme.title}; at most {_litres(wish.most)}, {low}.{beside}"
        )
    )
    for remark in about:
        _remark(screen, remark)
    heading(screen, "Side by side")
    table = plain_table("", "box", "air", "tuned", "bass from", "full", "empty", "limit, opening")
    for number, choice in enumerate(choices):
        design = choice.design
        style = "bold" if number == at else ""
        table.add_row(
            Text(str(number + 1), style=style),
            Text(f"{design.kind}\n{design.title}", style=style),
            _litres(design.volume),
            _hertz(design.fb) if design.fb else "",
            _hertz(choice.f3.likely),
            f"{choice.levels[0].likely:.0f} dB",
            f"{choice.levels[2].likely:.0f} dB",
            _opening(choice),
        )
    screen.print(table)
    screen.print(
        Padding(
            Text("Levels: music at 1 m in half space [dB(A)], peaks just clean.", style="dim"),
            (0, 0, 0, 2),
        )
    )
    chosen = choices[at]
    heading(screen, f"{at + 1}: {chosen.design.kind}, {chosen.design.title}")
    screen.print(_figures(chosen))
    heading(screen, "To build")
    for line in _to_build(chosen, wish):
        screen.print(Padding(Text(line), (0, 0, 0, 2)))
    remarks = box_remarks(chosen, wish)
    if remarks:
        heading(screen, "To mind")
        for remark in remarks:
            _remark(screen, remark)
    heading(screen, "Cautions")
    for caution in CAUTIONS:
        _hung(screen, Text("▲", style="yellow"), Text(caution), 1)


def _opening(choice: BoxChoice) -> str:
    design = choice.design
    limit = choice.ruling[2]
    if design.vent is not None:
        return f"{limit}\n{_vent_words(design.vent)}{_little(choice)}"
    if design.radiator is not None:
        cones = f"{design.radiator.count} × {design.radiator.cone.title} radiator"
        return f"{limit}\n{cones}{_little(choice)}"
    return f"{limit}\nno vent fits" if design.kind == "vented" else limit


def _little(choice: BoxChoice) -> str:
    return "" if choice.gains else "; gains little"


def _vent_words(vent: Vent) -> str:
    """A vent in a few words."""
    many = f"{vent.count} × " * (vent.count > 1)
    long = f"{1e3 * vent.length:.0f} mm long"
    if vent.shape == "round":
        return f"{many}⌀{1e3 * vent.across:.0f} mm, {long}"
    return f"{many}{1e3 * vent.width:.0f} × {1e3 * vent.across:.0f} mm, {long}"


def _figures(choice: BoxChoice) -> Table:
    table = plain_table("", "likely", "from", "to")

    def row(label: str, value: Range, kind: str, digits: int) -> None:
        words = [_shown(one, kind, digits) for one in (value.likely, value.low, value.high)]
        table.add_row(label, *(words if not value.certain else [words[0], "", ""]))

    row("bass 3 dB down at", choice.f3, "frequency", 2)
    row("rise of the bass", choice.hump, "rise", 1)
    if choice.resonance is not None and choice.quality is not None:
        row("resonance in the box", choice.resonance, "frequency", 2)
        row("qtc", choice.quality, "ratio", 2)
    for state, level in zip(_STATES, choice.levels, strict=True):
        row(f"music, {state}", level, "level", 0)
    row("cone at its travel from", choice.travel_level, "level", 0)
    if choice.opening_level is not None:
        what = "vent hisses from" if choice.design.vent else "radiator at its travel from"
        row(what, choice.opening_level, "level", 0)
    return table


def _to_build(choice: BoxChoice, wish: BoxWish) -> list[str]:
    design = choice.design
    width, height, depth = (f"{100.0 * side:.1f}" for side in choice.outside)
    lines = [
        f"Net air {_litres(design.volume)}; inside {_litres(choice.inside)} with driver"
        f"{', braces and vent' if design.vent else ' and braces'}. Battery and boards need their "
        "own room.",
        f"Outside {width} × {height} × {depth} cm (width, height, depth) in boards of "
        f"{1e3 * wish.wall:.0f} mm, or any other shape of that air.",
    ]
    if design.vent is not None:
        lines.append(
            f"Vent {_vent_words(design.vent)}, {choice.vent_fit}; outer end in the panel. Cut it "
            "10 % longer, measure the tuning, shorten it."
        )
        lines.append(
            f"Air {choice.vent_speed:.0f} m/s at full volume; sings as a pipe at "
            f"{_hertz(choice.pipe)}."
        )
    if design.radiator is not None:
        lines.append(_radiator_words(design.radiator))
    if design.fb:
        lines.append(f"To check: the impedance dips between its two humps at {_hertz(design.fb)}.")
    elif choice.resonance is not None:
        lines.append(f"To check: the impedance peaks at {_hertz(choice.resonance.likely)}.")
        lines.append(
            "Reckoned tight. Until a build file says leaks = \"tight\", 'check' and 'sound' count "
            f"the leaks of a box that nobody tested, and its bass ends at "
            f"{_hertz(choice.f3_leaky)}: seal joints and terminals, and test it."
        )
    return lines


def _radiator_words(radiator: Radiator) -> str:
    each = " each" * (radiator.count > 1)
    mass = format_quantity(radiator.mass, "mass", digits=2)
    return (
        f"{radiator.count} × {radiator.cone.title} passive radiator, "
        f"{1e4 * radiator.cone.sd:.0f} cm², {1e3 * radiator.cone.xmax:.0f} mm one way{each}; "
        f"moving mass {mass}{each}, own resonance {_hertz(radiator.fp)}. Add weight until the "
        "tuning is right."
    )


def _remark(screen: Console, remark: Remark) -> None:
    _hung(screen, mark(remark.level), Text(f"{remark.says} {remark.do}".strip()), 6)


def _hung(screen: Console, sign: Text, body: Text, width: int) -> None:
    grid = Table.grid(padding=(0, 2, 0, 0))
    grid.add_column(width=width, no_wrap=True)
    grid.add_column()
    grid.add_row(sign, body)
    screen.print(Padding(grid, (0, 0, 0, 2)))


def _shown(value: float, kind: str, digits: int) -> str:
    if kind == "level":
        return f"{value:.0f} dB(A)"
    if kind == "rise":
        return f"{value:.1f} dB"
    return format_quantity(value, kind, digits=digits if value < 100.0 else 3)


def _hertz(value: float) -> str:
    return format_quantity(value, "frequency", digits=2 if value < 100.0 else 3)


def _litres(value: float) -> str:
    return format_quantity(value, "volume", digits=2)
