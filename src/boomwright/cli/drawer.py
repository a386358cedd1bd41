"""``boomwright drawer``: what lies in the parts drawer."""

from __future__ import annotations

import json as json_text
from pathlib import Path
from typing import Any

import typer
from rich.table import Table
from rich.text import Text

from boomwright.build.drawer import DRAWER_KINDS, Drawer, load_drawer
from boomwright.build.nearest import nearest
from boomwright.build.read import read_parts
from boomwright.cli.show import console
from boomwright.errors import InputError, Problem

__all__ = ["show_drawer"]

_FACTS = ("title", "status", "source", "part")


def show_drawer(kind: str, part: str, *, json: bool, parts: Path | None) -> None:
    """Print the kinds, the parts of a kind, or one part.

    Parameters
    ----------
    kind, part : str
        What to look at; empty for all.
    json : bool
        Print data.
    parts : Path or None
        Own parts, laid over the drawer.

    Raises
    ------
    InputError
        If there is no such kind or part.
    """
    drawer = read_parts(parts) if parts is not None else load_drawer()
    if not kind:
        counts = {name: len(drawer.names(name)) for name in DRAWER_KINDS if drawer.names(name)}
        _print(counts, json, columns=("kind", "parts"))
        return
    if kind not in DRAWER_KINDS:
        raise _unknown("no such kind of part", kind, DRAWER_KINDS)
    if not part:
        titles = {
            name: str(drawer.tables[kind][name].get("title", "")) for name in drawer.names(kind)
        }
        _print(titles, json, columns=("name", "what it is"))
        return
    if part not in drawer.names(kind):
        raise _unknown(f"no such {kind}", part, drawer.names(kind))
    _print_part(drawer, kind, part, json=json)


def _unknown(says: str, got: str, known: Any) -> InputError:
    return InputError([Problem(says, got=repr(got), hint=nearest(got, known))])


def _print(rows: dict[str, Any], json: bool, *, columns: tuple[str, str]) -> None:
    if json:
        typer.echo(json_text.dumps(rows, ensure_ascii=False, indent=2))
        return
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column(columns[0], no_wrap=True)
    table.add_column(columns[1])
    for name, value in rows.items():
        table.add_row(name, str(value))
    console().print(table)


def _print_part(drawer: Drawer, kind: str, part: str, *, json: bool) -> None:
    values = drawer.filling(kind, part) or {}
    if json:
        typer.echo(json_text.dumps(values, ensure_ascii=False, indent=2))
        return
    screen = console()
    screen.print(Text(str(values.get("title", part)), style="bold"))
    screen.print(Text(f"{values.get('status', '')}: {values.get('source', '')}", style="dim"))
    table = Table(box=None, padding=(0, 2, 0, 0), show_header=False)
    table.add_column(no_wrap=True)
    table.add_column(no_wrap=True)
    table.add_column(style="dim")
    fields = DRAWER_KINDS[kind].model_fields
    for key, value in values.items():
        if key not in _FACTS:
            field = fields.get(key)
            table.add_row(key, str(value), (field.description if field else None) or "")
    screen.print(table)
