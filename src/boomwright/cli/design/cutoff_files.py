"""What ``boomwright design cutoff`` writes: drawing, charts with their data, and the build file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from boomwright.build.circuits import CutoffCircuit
from boomwright.build.devices import DEVICE_KINDS
from boomwright.build.edit import with_values
from boomwright.build.files import read_toml
from boomwright.build.history import file_text, write_kept
from boomwright.build.locate import Path as TomlPath
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES
from boomwright.circuit.sweep import Sweep, sweep
from boomwright.circuit.watch import Watch
from boomwright.cli.design.files import csv_text
from boomwright.design.cutoff.design import CutoffDesign

__all__ = ["circuit_lines", "cutoff_files", "put_circuit"]

_LEVELS = 220
_FOLLOWS = ("part", "off", "on", "latching", "delay", "rating", "resistance")
_DRAINS = ("drain_on", "drain_off")


def cutoff_files(found: CutoffDesign) -> tuple[str, dict[str, str]]:
    """Drawing and further files of a design.

    Parameters
    ----------
    found : CutoffDesign
        The design.

    Returns
    -------
    tuple of str and dict
        Schematic as SVG; name → text of charts, their data, and the lines for a build file.
    """
    from boomwright.paper.charts import chart_svg
    from boomwright.paper.cutoff_charts import discharge_chart, sweep_chart, threshold_chart
    from boomwright.paper.schematic import Label, schematic_svg

    labels = {
        line.name: Label(
            text=line.part,
            pins=_pins(found, line.name),
            heat="heat sink" in line.note,
        )
        for line in found.design.parts
        if line.part
    }
    drawing = schematic_svg(found.design.netlist, found.circuit.family, labels=labels)
    trace, solved, wish = found.run.trace, found.solved, found.wish
    off, on = found.law.off, None if found.law.stays_off else found.law.on
    down, up = _swept(found)
    watch = CUTOFF_FAMILIES[found.circuit.family].watch
    states = [_on(walked, watch) for walked in (down, up)]
    discharge = discharge_chart(
        trace.time, trace.volts, trace.current, trace.closed, off_volts=off, on_volts=on
    )
    both = sweep_chart(down.levels, states[0], up.levels, states[1], off_volts=off, on_volts=on)
    histogram = threshold_chart(
        solved.off,
        None if on is None else solved.on,
        wanted_off=wish.off,
        wanted_on=None if on is None else wish.on,
        floor=wish.floor,
        full=wish.rested_full,
        off_limits=(0.975 * wish.off, 1.025 * wish.off),
        on_limits=None if on is None else (0.975 * wish.on, 1.025 * wish.on),
    )
    rows = zip(trace.time, trace.volts, trace.current, trace.closed, strict=True)
    swept = [
        (way, float(level), int(state))
        for way, walked, on_ in zip(("down", "up"), (down, up), states, strict=True)
        for level, state in zip(walked.levels, on_, strict=True)
    ]
    samples = [
        (number, float(a), float(b))
        for number, (a, b) in enumerate(zip(solved.off, solved.on, strict=True))
    ]
    return drawing, {
        "discharge.svg": chart_svg(discharge),
        "sweep.svg": chart_svg(both),
        "thresholds.svg": chart_svg(histogram),
        "discharge.csv": csv_text(
            ("seconds", "volts", "amps", "closed"),
            [(float(t), float(v), float(a), int(c)) for t, v, a, c in rows],
        ),
        "sweep.csv": csv_text(("way", "volts", "on"), swept),
        "thresholds.csv": csv_text(("build", "off volts", "on volts"), samples),
        "cutoff.toml": "\n".join(["[cutoff.circuit]", *circuit_lines(found.circuit), ""]),
    }


def _pins(found: CutoffDesign, name: str) -> str:
    """Order of a device's legs in its usual package, empty where the drawer does not know it."""
    key = next(line.part for line in found.design.parts if line.name == name)
    for kind in ("transistor", "reference"):
        if key in found.drawer.names(kind):
            return str(getattr(found.drawer.part(kind, key), "pins", ""))
    return ""


def _swept(found: CutoffDesign) -> tuple[Sweep, Sweep]:
    """The likely circuit swept down from full and up again."""
    watch = CUTOFF_FAMILIES[found.circuit.family].watch
    down = np.linspace(found.wish.highest, 0.8 * found.wish.off, _LEVELS)
    held = {watch.relay: np.array([True])} if watch.held else None
    walked = sweep(
        found.design.netlist, watch.source, np.concatenate([down, down[::-1]]), states=held
    )
    parts = walked.points[:_LEVELS], walked.points[_LEVELS:]
    return (
        Sweep(walked.source, down, parts[0]),
        Sweep(walked.source, down[::-1], parts[1]),
    )


def _on(walked: Sweep, watch: Watch) -> np.ndarray[Any, np.dtype[np.bool_]]:
    return np.array([bool(watch.on(point)[0]) for point in walked.points])


def circuit_lines(circuit: CutoffCircuit) -> list[str]:
    """Lines of a circuit's table in a build file, without what its kind does not use.

    Examples
    --------
    >>> lines = circuit_lines(
    ...     CutoffCircuit(family="reference-mosfet", mosfet="p-mosfet-55v-30a", gate_resistor="4k7")
    ... )
    >>> lines[0], lines[-1]
    ('family = "reference-mosfet"', 'gate_resistor = "4k7"')
    """
    return [f'{key} = "{value}"' for key, value in _entries(circuit).items()]


def _entries(circuit: CutoffCircuit) -> dict[str, str]:
    needs = CUTOFF_FAMILIES[circuit.family].needs
    return {
        key: str(value)
        for key in CutoffCircuit.model_fields
        if (value := getattr(circuit, key)) not in (None, "")
        and (key not in DEVICE_KINDS or key in needs)
    }


def put_circuit(file: Path, circuit: CutoffCircuit) -> None:
    """Write a circuit into a build file's cutoff, in place of what it said of itself.

    Parameters
    ----------
    file : Path
        The build file.
    circuit : CutoffCircuit
        The circuit.

    Raises
    ------
    InputError
        If the file cannot be read.
    WriteError
        If it cannot be written.
    """
    text = file_text(file)
    values = read_toml(file).values.get("cutoff")
    head: TomlPath = ("cutoff", 0) if isinstance(values, list) else ("cutoff",)
    table = (values[0] if values else {}) if isinstance(values, list) else (values or {})
    before = table.get("circuit", {}) if isinstance(table, dict) else {}
    gone = {(*head, key): None for key in (*_FOLLOWS, *_DRAINS) if key in table}
    stale = {(*head, "circuit", key): None for key in before if key not in _entries(circuit)}
    fresh = {(*head, "circuit", key): value for key, value in _entries(circuit).items()}
    write_kept(file, _set_apart(with_values(text, {**gone, **stale, **fresh})))


def _set_apart(text: str) -> str:
    """Text with an empty line behind a circuit's table, where the next table follows at once."""
    lines = text.split("\n")
    for place in range(len(lines) - 1, 0, -1):
        if lines[place].startswith("[") and lines[place - 1].strip():
            above = [line for line in lines[:place] if line.startswith("[")]
            if above and above[-1].strip() == "[cutoff.circuit]":
                lines.insert(place, "")
    return "\n".join(lines)
