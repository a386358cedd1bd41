"""A new build by questions: one at a time, with a sensible answer ready for each."""

from __future__ import annotations

from collections.abc import Callable

import typer
from rich.table import Table
from rich.text import Text

from boomwright.build.drawer import Drawer, load_drawer
from boomwright.build.edit import with_values
from boomwright.build.locate import Path
from boomwright.build.read import parse_build
from boomwright.build.starts import start_names, start_text, start_title
from boomwright.cli.show import console
from boomwright.errors import BuildFileError

__all__ = ["asked_text"]

_PARTS = (
    ("battery", "Which battery?"),
    ("amplifier", "Which amplifier board?"),
    ("driver", "Which drivers?"),
)


def asked_text(name: str) -> str:
    """Text of a build file made from the answers.

    Parameters
    ----------
    name : str
        Name of the build, offered as the first answer.

    Returns
    -------
    str
        TOML that reads as a build.
    """
    drawer = load_drawer()
    typer.echo(
        "A few questions; Enter takes the answer in brackets. Nothing is written before the end."
    )
    build_name = typer.prompt("What is it called?", default=name).strip() or name
    starts = start_names()
    start = _choice(
        "What does it run from?", {item: start_title(item) for item in starts}, "lead-acid"
    )
    text = start_text(start, build=build_name)
    for kind, question in _PARTS:
        if f"\n[{kind}]" not in text:
            continue
        now = _part_in(text, kind)
        offered = _alike(drawer, kind, now)
        chosen = _choice(question, offered, now)
        if chosen != now:
            text = with_values(text, {(kind, "part"): chosen})
    text = _asked(text, ("driver", "count"), "How many of them in all?", int)
    text = _asked(text, ("want", "level"), "How loud, how far away?", str)
    return _asked(text, ("want", "hours"), "How long must it play?", str)


def _part_in(text: str, kind: str) -> str:
    content = parse_build(text).model_dump()[kind]
    table = content[0] if isinstance(content, tuple | list) else content
    return str(table["part"])


def _alike(drawer: Drawer, kind: str, now: str) -> dict[str, str]:
    """Parts of a kind with their titles; of batteries, those of the same chemistry and cells."""
    parts = drawer.tables[kind]
    titles = {name: str(part.get("title", "")) for name, part in parts.items()}
    if kind != "battery":
        return titles
    same = ("chemistry", "cells")
    return {
        name: title
        for name, title in titles.items()
        if all(parts[name].get(key) == parts[now].get(key) for key in same)
    }


def _choice(question: str, offered: dict[str, str], default: str) -> str:
    typer.echo(f"\n{question}")
    names = list(offered)
    table = Table(box=None, padding=(0, 2, 0, 0), show_header=False)
    table.add_column(justify="right", no_wrap=True)
    table.add_column(no_wrap=True)
    table.add_column()
    for number, name in enumerate(names, start=1):
        table.add_row(str(number), name, Text(offered[name], style="dim"))
    console().print(table)
    while True:
        answer = str(typer.prompt("Number or name", default=default)).strip()
        if answer in offered:
            return answer
        if answer.isdecimal() and 1 <= int(answer) <= len(names):
            return names[int(answer) - 1]
        typer.echo(f"  {answer!r} is not in the list; type a number from 1 to {len(names)}.")


def _asked(text: str, path: Path, question: str, kind: Callable[[str], str | int]) -> str:
    """Text with one value asked for, and asked again until the file reads."""
    content = parse_build(text).model_dump()[str(path[0])]
    table = content[0] if isinstance(content, tuple | list) else content
    default = str(table[str(path[1])])
    while True:
        answer = str(typer.prompt(f"\n{question}", default=default)).strip()
        try:
            changed = with_values(text, {path: kind(answer)})
            parse_build(changed)
        except BuildFileError as error:
            for problem in error.problems:
                typer.echo(f"  {problem.says}; read {problem.got}; expected {problem.expected}")
        except ValueError:
            typer.echo(f"  {answer!r} is not a whole number.")
        else:
            return changed
