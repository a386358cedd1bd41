"""A design as files: drawing, netlist, parts list, bench sheet, charts and their data."""

from __future__ import annotations

import csv
import io
import json as json_text
from pathlib import Path
from typing import Any

from boomwright.build.files import write_whole
from boomwright.circuit.spice import spice_netlist
from boomwright.design.sheet import Design
from boomwright.errors import WriteError

__all__ = ["csv_text", "write_design", "write_files"]


def write_files(folder: Path, files: dict[str, str]) -> list[str]:
    """Write texts into a folder, which is made if it is not there.

    Parameters
    ----------
    folder : Path
        Where to.
    files : dict of str to str
        Name → text.

    Returns
    -------
    list of str
        The names, in order.

    Raises
    ------
    WriteError
        If the folder or a file cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WriteError(f"{folder}: the folder cannot be made: {error.strerror}") from None
    for name, text in files.items():
        write_whole(folder / name, text)
    return list(files)


def csv_text(header: tuple[str, ...], rows: list[tuple[Any, ...]]) -> str:
    """Rows as comma-separated values.

    Examples
    --------
    >>> print(csv_text(("hours", "volts"), [(0.5, 12.4)]), end="")
    hours,volts
    0.5,12.4
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(rows)
    return text.getvalue()


def write_design(
    folder: Path, design: Design, *, drawing: str, values: dict[str, Any], more: dict[str, str]
) -> list[str]:
    """Write a design's files.

    Parameters
    ----------
    folder : Path
        Where to.
    design : Design
        The design.
    drawing : str
        Its schematic as SVG; empty if there is none.
    values : dict
        The same as plain values, for ``design.json``.
    more : dict of str to str
        Further files.

    Returns
    -------
    list of str
        What was written.

    Raises
    ------
    WriteError
        If something cannot be written.
    """
    parts = [
        (line.name, line.value, line.what, line.carries, line.rating, line.part, line.note)
        for line in design.parts
    ]
    readings = [
        (number, item.do, item.meter, *_limits(item.expect), item.expect.kind, item.caution, "")
        for number, item in enumerate(design.readings, start=1)
    ]
    files = {"schematic.svg": drawing} if drawing else {}
    files |= {
        "circuit.cir": spice_netlist(design.netlist, analyses=(".op",)),
        "parts.csv": csv_text(
            ("designator", "value", "part", "carries", "stands", "drawer", "note"), parts
        ),
        "bench.csv": csv_text(
            ("step", "do", "meter", "likely", "low", "high", "kind", "caution", "read"), readings
        ),
        "design.json": json_text.dumps(values, ensure_ascii=False, indent=2, allow_nan=False),
        **more,
    }
    return write_files(folder, files)


def _limits(expect: Any) -> tuple[float, float, float]:
    return expect.likely, expect.low, expect.high
