"""One designed block on a page: printed, as data, and as files in a folder."""

from __future__ import annotations

import json as json_text
import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import typer
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from boomwright.cli.design.files import write_design
from boomwright.cli.design.show import design_values, heading, print_design
from boomwright.cli.show import console
from boomwright.design.sheet import Design

__all__ = ["Page", "finite", "show_page"]


@dataclass(frozen=True)
class Page:
    """A design with what stands around it.

    Parameters
    ----------
    design : Design
        The design.
    drawing : str
        Kind of its schematic, one of :data:`boomwright.paper.schematic.SCHEMATIC_KINDS`.
    wanted : str
        What was asked for and where that comes from, in one or two sentences.
    head : str
        Title of the page, where the chosen design's own comes below the table.
    wish : dict
        The same as plain values in SI units.
    table, table_title : Table or None, str
        A table that comes before the figures, with its heading.
    notes : tuple of str
        Lines below that table.
    apart : tuple of str
        Beginnings of the labels that the table shows, so that the figures need not.
    values : dict
        More for the data than the design holds.
    more : callable or None
        Further files, worked out only where they are wanted.
    heat : tuple of str
        Parts that need a heat sink.
    """

    design: Design
    drawing: str
    wanted: str
    wish: dict[str, Any]
    head: str = ""
    table: Table | None = None
    table_title: str = ""
    notes: tuple[str, ...] = ()
    apart: tuple[str, ...] = ()
    values: dict[str, Any] = field(default_factory=dict)
    more: Callable[[], dict[str, str]] | None = None
    heat: tuple[str, ...] = ()


def show_page(page: Page, *, folder: Path | None, json: bool) -> None:
    """Write a design's files if a folder is given, then print it.

    Parameters
    ----------
    page : Page
        The design.
    folder : Path or None
        Where to write.
    json : bool
        Print data instead of words.

    Raises
    ------
    WriteError
        If a file cannot be written.
    """
    values = {"wish": page.wish, "design": design_values(page.design), **page.values}
    names = []
    if folder is not None:
        more = page.more() if page.more is not None else {}
        names = write_design(folder, page.design, drawing=_drawn(page), values=values, more=more)
    if json:
        typer.echo(json_text.dumps(values, ensure_ascii=False, indent=2, allow_nan=False))
        return
    screen = console()
    screen.print(Text(page.head or page.design.title, style="bold"))
    screen.print(Text(f"{page.wanted[:1].upper()}{page.wanted[1:]}"))
    if page.table is not None:
        heading(screen, page.table_title)
        screen.print(page.table)
        for note in page.notes:
            screen.print(Padding(Text(note), (0, 0, 0, 2)))
    if page.head:
        heading(screen, f"{page.design.family}: {page.design.title}")
    kept = tuple(
        figure for figure in page.design.figures if not figure.label.startswith(page.apart or "\n")
    )
    print_design(screen, replace(page.design, figures=kept))
    if folder is not None:
        screen.print()
        screen.print(Text(f"Written to {folder}: {', '.join(names)}."))


def _drawn(page: Page) -> str:
    from boomwright.paper.schematic import Label, schematic_svg

    names = {part.name for part in page.design.netlist.parts}
    labels = {
        line.name: Label(text=line.part, heat=line.name in page.heat)
        for line in page.design.parts
        if line.name in names and (line.part or line.name in page.heat)
    }
    return schematic_svg(page.design.netlist, page.drawing, labels=labels)


def finite(value: float) -> float | None:
    """A number that JSON can hold, None for one without end."""
    return float(value) if math.isfinite(value) else None
