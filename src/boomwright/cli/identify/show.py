"""A known driver in the terminal, as data and as a chart."""

from __future__ import annotations

import json as json_text
import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import typer
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from boomwright.bench.driver.identified import Identified
from boomwright.bench.driver.known import Estimate
from boomwright.build.edit import Edit
from boomwright.build.quantities import format_quantity
from boomwright.cli.design.show import heading, plain_table
from boomwright.cli.show import console, edit_table, mark

__all__ = [
    "PARAMETER_WORDS",
    "draw_identified",
    "parameter_rows",
    "print_identified",
    "print_remarks",
]

PARAMETER_WORDS = {
    "re": "d.c. resistance",
    "fs": "resonance in free air",
    "fc": "resonance in the box",
    "fb": "tuning of the box",
    "qms": "mechanical Q",
    "qes": "electrical Q",
    "qts": "total Q",
    "qmc": "mechanical Q in the box",
    "qec": "electrical Q in the box",
    "qtc": "total Q in the box",
    "ql": "loss Q of the box",
    "vas_over_box": "Vas over box volume",
    "vas": "air as stiff as the cone",
    "sd": "cone area",
    "mms": "moving mass",
    "cms": "compliance",
    "rms": "mechanical resistance",
    "bl": "force factor",
    "le": "inductance",
    "le2": "inductance with losses",
    "re2": "losses beside it",
    "creep": "creep per decade",
    "sensitivity": "level at 1 W, 1 m",
}
"""What each parameter is, in words."""
_STEPS = 400
_PLACES = {"free": "free air", "mass": "with mass", "box": "on the box", "vented": "in its box"}


def parameter_rows(estimates: Sequence[Estimate]) -> list[tuple[str, str, str, str, str]]:
    """Name, likely value, ends of the range and what it is, of each parameter.

    Examples
    --------
    >>> parameter_rows([Estimate("cms", 0.00089, 0.00002)])[0][:2]
    ('cms', '0.89 mm/N')
    """
    found = []
    for item in estimates:
        digits = 3 if item.error > 0.005 * abs(item.value) else 4
        texts = (
            format_quantity(value, item.kind, digits=digits)
            for value in (item.value, item.low, item.high)
        )
        found.append((item.name.replace("_", " "), *texts, PARAMETER_WORDS[item.name]))
    return found  # type: ignore[return-value]


def print_identified(
    found: Identified,
    *,
    name: str,
    edits: Sequence[Edit],
    put: Path | None,
    chart: Path | None,
    json: bool,
) -> None:
    """Print a known driver.

    Parameters
    ----------
    found : Identified
        The driver.
    name : str
        What it is called.
    edits : sequence of Edit
        What was written into a build file.
    put, chart : Path or None
        Files written.
    json : bool
        Print data.
    """
    if json:
        values = _values(found, name)
        values["written"] = [{"key": edit.key, "after": edit.after} for edit in edits]
        typer.echo(json_text.dumps(values, ensure_ascii=False, indent=2, allow_nan=False))
        return
    screen = console()
    screen.print(Text(name or "A driver", style="bold"))
    screen.print(Text(_summary(found), style="dim"))
    screen.print()
    table = plain_table("", "likely", "from", "to", "what it is")
    for row in parameter_rows(list(found.parameters.values())):
        table.add_row(*row)
    screen.print(table)
    screen.print(Text("The range holds the truth 95 times in 100.", style="dim"))
    print_remarks(screen, found)
    _print_unknown(screen, found)
    if chart is not None:
        screen.print()
        screen.print(f"Drawn: {chart}")
    if edits and put is not None:
        heading(screen, f"Written into {put}")
        screen.print(edit_table(edits))
        screen.print(Text(f"'boomwright undo {put}' takes it back.", style="dim"))


def print_remarks(screen: Console, found: Identified) -> None:
    """Print what to mind, the worst first."""
    order = {"stop": 0, "mind": 1, "fine": 2}
    remarks = sorted(found.remarks, key=lambda remark: order[remark.level])
    if not remarks:
        return
    heading(screen, "Of the measurement")
    for remark in remarks:
        grid = Table.grid(padding=(0, 2, 0, 0))
        grid.add_column(width=6, no_wrap=True)
        grid.add_column()
        grid.add_row(mark(remark.level), Text(remark.says))
        if remark.do:
            grid.add_row("", Text(f"→ {remark.do}"))
        screen.print(Padding(grid, (0, 0, 0, 2)))


def _summary(found: Identified) -> str:
    parts = []
    for setup, scatter in zip(found.fitted.model.setups, found.fitted.scatter, strict=True):
        points = setup.sweep.frequency.size
        phase = "" if setup.sweep.phase is None else " with phase"
        place = "in its box" if found.cabinet else _PLACES[setup.place]
        doubt = "scatter" if setup.sweep.error is None else "meter error"
        parts.append(f"{points} points {place}{phase}, {doubt} {100.0 * scatter:.2g} %")
    return "; ".join(parts)


def _print_unknown(screen: Console, found: Identified) -> None:
    """Say what would tell the rest."""
    if found.cabinet == "closed":
        says = "A closed cabinet tells of driver and box together; the driver's own values need "
        says += "it taken out."
    elif found.cabinet and "vas" not in found.parameters:
        says = "Vas and level need the net volume of the cabinet: --box."
    elif "bl" not in found.parameters and "vas" not in found.parameters:
        says = "Mass, force factor, Vas and level are unknown: measure again with a known mass on "
        says += "the cone (--with-mass) or on a box of known volume (--in-box)."
    elif "vas" not in found.parameters:
        says = "Vas and level need the cone's diameter: --diameter."
    elif "bl" not in found.parameters:
        says = "Mass and force factor need the cone's diameter: --diameter."
    else:
        return
    screen.print()
    screen.print(Text(f"→ {says}"))


def _values(found: Identified, name: str) -> dict[str, Any]:
    def number(value: float) -> float | None:
        return float(value) if math.isfinite(value) else None

    return {
        "name": name,
        "cabinet": found.cabinet or None,
        "parameters": {
            item.name: {
                "value": number(item.value),
                "error": number(item.error),
                "low": number(item.low),
                "high": number(item.high),
                "kind": item.kind,
            }
            for item in found.parameters.values()
        },
        "sweeps": [
            {
                "place": setup.place,
                "points": int(setup.sweep.frequency.size),
                "phase": setup.sweep.phase is not None,
                "scatter": number(scatter),
                "source": setup.sweep.source,
            }
            for setup, scatter in zip(found.fitted.model.setups, found.fitted.scatter, strict=True)
        ],
        "coil": found.fitted.coil,
        "level": found.level,
        "remarks": [
            {"level": remark.level, "says": remark.says, "do": remark.do}
            for remark in found.remarks
        ],
    }


def draw_identified(file: Path, found: Identified, *, name: str) -> None:
    """Write the chart of points, fit and misses.

    Parameters
    ----------
    file : Path
        Where to; its ending says as what.
    found : Identified
        The driver.
    name : str
        What it is called.

    Raises
    ------
    WriteError
        If it cannot be written.
    """
    from boomwright.cli.chart_file import write_chart
    from boomwright.paper.identify_charts import Curve, impedance_chart

    fitted = found.fitted
    curves = []
    for setup, used in zip(found.measured, fitted.model.setups, strict=True):
        along = np.geomspace(setup.sweep.frequency[0], setup.sweep.frequency[-1], _STEPS)
        curves.append(
            Curve(
                "in its box" if found.cabinet else _PLACES[setup.place],
                setup.sweep.frequency,
                setup.sweep.magnitude,
                setup.sweep.phase,
                fitted.model.impedance(fitted.row, used, setup.sweep.frequency),
                along,
                fitted.model.impedance(fitted.row, used, along),
            )
        )
    told = [f"{row[0]} {row[1]}" for row in parameter_rows(list(found.parameters.values()))]
    title = f"Impedance of {name or 'the driver'}"
    chart = impedance_chart(curves, title=title, subtitle=" · ".join(told[:12]))
    write_chart(file, chart, title)
