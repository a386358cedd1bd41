"""What ``boomwright design box`` writes: charts with their data, and the keys of a build file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from boomwright.build.drawer import Drawer
from boomwright.build.draws import Draws
from boomwright.build.edit import Value, with_values
from boomwright.build.files import read_toml
from boomwright.build.history import file_text, write_kept
from boomwright.build.locate import Path as TomlPath
from boomwright.build.quantities import format_quantity
from boomwright.build.read import parse_build
from boomwright.cli.design.files import csv_text
from boomwright.design.box.choices import BoxChoice, BoxDesign
from boomwright.design.box.curves import box_curves
from boomwright.design.box.wish import BoxWish, Subject
from boomwright.errors import InputError, Problem
from boomwright.outcome.room import gross_volume_of, net_volume_of
from boomwright.physics.limits import LIMITS

__all__ = ["box_files", "put_box"]

_BESIDE = 5
_SIZES = ("width", "height", "depth", "volume", "tuning", "vent", "radiator")
_LOSSES = ("stuffing", "ql", "qa", "qp")
"""What was put into the old box or measured of it, and holds for the new one no more."""


def box_files(
    designs: Sequence[BoxDesign], at: int, wish: BoxWish, subject: Subject
) -> dict[str, str]:
    """Charts of a box and their data, with the bass of the others beside its own.

    Parameters
    ----------
    designs : sequence of BoxDesign
        All boxes.
    at : int
        Which of them is drawn in full.
    wish : BoxWish
        What was wanted.
    subject : Subject
        The driver in its likely version.

    Returns
    -------
    dict of str to str
        Name → text.
    """
    from boomwright.paper.box_charts import box_charts
    from boomwright.paper.charts import chart_svg

    design = designs[at]
    curves = box_curves(design, wish, subject)
    others = [
        (f"{other.kind}, {other.title}", box_curves(other, wish, subject))
        for number, other in enumerate(designs)
        if number != at
    ]
    charts = box_charts(
        curves,
        others=others[:_BESIDE],
        xmax=float(subject.xmax[0, 0]),
        radiator_xmax=design.radiator.cone.xmax if design.radiator else None,
        title=f"{design.kind}, {design.title}",
    )
    header = ["hertz", "bass dB", "ohms", "travel m", "delay s"]
    columns = [curves.frequency, curves.response, curves.impedance, curves.travel, curves.delay]
    if curves.vent_speed is not None:
        header.append("vent m/s")
        columns.append(curves.vent_speed)
    if curves.radiator_travel is not None:
        header.append("radiator travel m")
        columns.append(curves.radiator_travel)
    rows: list[tuple[float | str, ...]] = []
    for number, values in enumerate(zip(*columns, strict=True)):
        levels = [float(level) for level in curves.clean[:, number]]
        limits = [LIMITS[int(limit)] for limit in curves.ruling[:, number]]
        rows.append((*(float(value) for value in values), *levels, *limits))
    for what in ("clean dB", "limit"):
        header += [f"{what}, {state}" for state in ("full", "half", "nearly empty")]
    files = {f"{name}.svg": chart_svg(chart) for name, chart in charts.items()}
    return {**files, "curves.csv": csv_text(tuple(header), rows)}


def put_box(file: Path, choice: BoxChoice, wish: BoxWish, drawer: Drawer) -> None:
    """Write a box into a build file's cabinet, in place of the sizes and losses that it had.

    What stands in the speaker's air is added: drivers, vent, and battery and boards where the file
    gives them no chamber of their own.

    Parameters
    ----------
    file : Path
        The build file.
    choice : BoxChoice
        The box.
    wish : BoxWish
        What was wanted.
    drawer : Drawer
        Where the file's parts are looked up.

    Raises
    ------
    InputError
        If the file cannot be read, or a vented box has no vent that fits.
    WriteError
        If it cannot be written.
    """
    design = choice.design
    if design.kind == "vented" and design.vent is None:
        says = "the box has no vent that fits"
        raise InputError([Problem(says, key="--put", hint="Pick another with --pick.")])
    text, table = file_text(file), read_toml(file).values.get("cabinet")
    old = table if isinstance(table, dict) else {}
    part = old.get("part")
    values: dict[TomlPath, Value | None] = {
        ("cabinet", key): None for key in (*_SIZES, *_LOSSES) if key in old
    }
    if part:
        # A part of the drawer brings sizes of its own, which win over a volume.
        values[("cabinet", "part")] = None
    values[("cabinet", "type")] = design.kind
    values[("cabinet", "volume")] = _words(2.0 * design.volume, "volume")
    values[("cabinet", "wall")] = f"{1e3 * wish.wall:.4g} mm"
    if design.kind == "closed" and wish.stuffing != "none":
        values[("cabinet", "stuffing")] = wish.stuffing
    text = with_values(text, values)
    for key, content in _openings(design).items():
        text = with_values(text, {("cabinet", *key): content})
    gross = design.volume + _inside(text, file, drawer)
    text = with_values(text, {("cabinet", "volume"): _words(gross, "volume")})
    write_kept(file, f"{text.rstrip()}\n")


def _inside(text: str, file: Path, drawer: Drawer) -> float:
    """Volume of all that stands in the speaker's air of a build file's text [m³]."""
    build = parse_build(text, file=str(file), drawer=drawer)
    if build.cabinet is None:
        raise TypeError("a cabinet was just written")
    return gross_volume_of(build.cabinet) - float(net_volume_of(build, Draws(0))[0, 0])


def _openings(design: BoxDesign) -> dict[tuple[str, str], Value]:
    found: dict[tuple[str, str], Value] = {}
    if design.vent is not None:
        vent = design.vent
        found[("vent", "shape")] = vent.shape
        found[("vent", "count")] = vent.count
        if vent.shape == "round":
            found[("vent", "diameter")] = _millimetres(vent.across)
        else:
            found[("vent", "width")] = _millimetres(vent.width)
            found[("vent", "height")] = _millimetres(vent.across)
        found[("vent", "length")] = _millimetres(vent.length)
    if design.radiator is not None:
        radiator = design.radiator
        found[("radiator", "count")] = radiator.count
        found[("radiator", "sd")] = _words(radiator.cone.sd, "cone")
        found[("radiator", "mass")] = f"{1e3 * radiator.mass:.3g} g"
        found[("radiator", "fs")] = _words(radiator.fp, "frequency")
        found[("radiator", "xmax")] = _millimetres(radiator.cone.xmax)
    return found


def _millimetres(value: float) -> str:
    return f"{1e3 * value:.3g} mm"


def _words(value: float, kind: str) -> str:
    return format_quantity(value, kind, digits=3)
