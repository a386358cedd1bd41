"""``boomwright new``: a build file to start from, at once or by questions."""

from __future__ import annotations

import json as json_text
from pathlib import Path

import typer
from rich.table import Table
from rich.text import Text

from boomwright.build.files import write_whole
from boomwright.build.read import parse_build
from boomwright.build.starts import start_names, start_text, start_title
from boomwright.cli.show import console
from boomwright.errors import InputError, Problem

__all__ = ["list_starts", "new_file"]


def list_starts(*, json: bool) -> None:
    """Print the starting points."""
    titles = {name: start_title(name) for name in start_names()}
    if json:
        typer.echo(json_text.dumps(titles, ensure_ascii=False, indent=2))
        return
    table = Table(box=None, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("name", no_wrap=True)
    table.add_column("what it is")
    for name, title in titles.items():
        table.add_row(name, Text(title))
    console().print(table)


def new_file(
    file: Path | None, *, start: str, name: str, ask: bool, replace: bool, json: bool
) -> None:
    """Write a new build file.

    Parameters
    ----------
    file : Path or None
        Where to.
    start : str
        Starting point.
    name : str
        Name of the build; made from the file's name if empty.
    ask : bool
        Ask questions first.
    replace : bool
        Whether a file that is there may be written over.
    json : bool
        Print data.

    Raises
    ------
    InputError
        If no file is named, or there is no such starting point.
    WriteError
        If it cannot be written, or is there already.
    """
    if file is None:
        raise InputError([Problem("no file named", expected="boomwright new my-box.toml")])
    text = start_text(start, build=name or _name_from(file))
    if ask:
        from boomwright.cli.ask import asked_text

        text = asked_text(name or _name_from(file))
    parse_build(text, file=str(file))
    write_whole(file, text, replace=replace)
    if json:
        typer.echo(json_text.dumps({"file": str(file), "from": start}, ensure_ascii=False))
        return
    typer.echo(f"Wrote {file}. Open it in an editor; then: boomwright check {file}")


def _name_from(file: Path) -> str:
    words = file.name.removesuffix(".toml").replace("-", " ").replace("_", " ").strip()
    return (words[:1].upper() + words[1:])[:80] or "My box"
