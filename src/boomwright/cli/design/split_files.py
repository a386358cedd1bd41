"""What ``boomwright design split`` writes: charts with their data, netlist, and the build file."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from boomwright.build.edit import Value, with_values
from boomwright.build.files import read_toml
from boomwright.build.history import file_text, write_kept
from boomwright.build.locate import Path as TomlPath
from boomwright.circuit.spice import spice_netlist
from boomwright.cli.design.files import csv_text
from boomwright.design.split.design import SplitDesign

__all__ = ["put_split", "split_files"]


def split_files(found: SplitDesign) -> dict[str, str]:
    """Further files of a design.

    Parameters
    ----------
    found : SplitDesign
        The design.

    Returns
    -------
    dict of str to str
        Name → text of charts, their data, the netlist with real drivers, the build file's lines.
    """
    from boomwright.paper.charts import chart_svg
    from boomwright.paper.schematic import schematic_svg
    from boomwright.paper.split_charts import load_chart, split_chart

    heard = found.heard
    sound = split_chart(heard.frequency, heard.branches, heard.both, heard.turned,
                        names=found.drivers, at=found.frequency)  # fmt: skip
    load = load_chart(heard.frequency, np.abs(found.load), least_load=found.wish.load_min)
    header = (
        "hertz",
        *(f"{name} dB" for name in found.drivers),
        *("sum dB", "other polarity dB", "ohms", "degrees of the ohms", "woofer leads by degrees"),
    )
    columns = (
        heard.frequency,
        *heard.branches,
        heard.both,
        heard.turned,
        np.abs(found.load),
        np.degrees(np.angle(found.load)),
        np.degrees(heard.phase),
    )
    rows = [tuple(round(float(value), 3) for value in row) for row in zip(*columns, strict=True)]
    lines = []
    for name, steps in found.filters.items():
        lines += [f"# {name}", "filter = [", *(f'  "{step}",' for step in steps), "]"]
        branch = found.branches[found.drivers.index(name)]
        lines += ["reversed = true"] if branch.reversed else []
    second = {}
    for number, circuit in enumerate(found.more, start=2):
        second[f"schematic-{number}.svg"] = schematic_svg(circuit, "split")
        second[f"circuit-{number}.cir"] = spice_netlist(circuit, analyses=(".op",))
    return {
        **second,
        "response.svg": chart_svg(sound),
        "impedance.svg": chart_svg(load),
        "response.csv": csv_text(header, rows),
        "drivers.cir": spice_netlist(found.real, analyses=(".ac dec 50 20 20k",)),
        "split.toml": "\n".join([*lines, ""]),
    }


def put_split(file: Path, found: SplitDesign) -> None:
    """Write both filters into the tables of a build file's drivers.

    Parameters
    ----------
    file : Path
        The build file.
    found : SplitDesign
        The design.

    Raises
    ------
    InputError
        If the file cannot be read.
    WriteError
        If it cannot be written.
    """
    text = file_text(file)
    tables = read_toml(file).values.get("driver")
    values: dict[TomlPath, Value | None] = {}
    for name, branch in zip(found.drivers, found.branches, strict=True):
        place = next(
            at
            for at, driver in enumerate(branch.drive.build.driver)
            if driver.name == branch.drive.driver.name
        )
        head: TomlPath = ("driver", place) if isinstance(tables, list) else ("driver",)
        table = tables[place] if isinstance(tables, list) else tables
        had = table if isinstance(table, dict) else {}
        gone = [key for key in ("capacitor", "capacitor_kind") if key in had]
        values |= {(*head, key): None for key in gone}
        values[(*head, "filter")] = list(found.filters[name])
        if branch.reversed or "reversed" in had:
            values[(*head, "reversed")] = branch.reversed
    write_kept(file, with_values(text, values))
