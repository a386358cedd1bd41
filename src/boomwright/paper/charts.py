"""Charts of one hand: the look that all of them share, and how they leave."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from boomwright.paper.look import Look
from boomwright.paper.room import wrapped

if TYPE_CHECKING:
    import altair as alt

__all__ = [
    "AXIS_ROOM",
    "MARGIN",
    "chart_csv",
    "chart_json",
    "chart_png",
    "chart_svg",
    "themed",
]

if TYPE_CHECKING:
    TopChart = alt.LayerChart | alt.VConcatChart

AXIS_ROOM = 52
"""Width kept for the figures left of every plot [px], so that stacked plots line up."""

MARGIN = 14
"""Free edge around a chart [px]."""

_MEASURED = "'DejaVu Sans', sans-serif"
"""Letters that the room for text is measured with: wide ones, so that all others fit too."""


def themed(
    chart: TopChart, look: Look, title: str, subtitle: str = "", *, width: int = 760
) -> TopChart:
    """Chart with the colours, letters and heading of the house.

    Parameters
    ----------
    chart : altair chart
        Any chart that stands on its own; it is not changed.
    look : Look
        Colours and letters.
    title, subtitle : str
        Heading and what it says in words, broken into lines that fit.
    width : int
        Width of the whole picture [px].

    Returns
    -------
    altair chart
        The same chart, ready to be written.
    """
    room = width - 2 * MARGIN
    heading: dict[str, Any] = {"text": wrapped(title, room, look.heading_size, bold=True)}
    if subtitle:
        heading["subtitle"] = wrapped(subtitle, room, look.text_size)
    described = f"{title}. {subtitle}".strip()
    headed = chart.properties(title=heading, description=described)
    shown: TopChart = headed.configure(**_config(look))
    return shown


def _config(look: Look) -> dict[str, Any]:
    axis = {
        "domain": False,
        "gridColor": look.hairline,
        "gridWidth": 1,
        "labelColor": look.quiet,
        "labelFontSize": look.small_size,
        "labelFlush": False,
        "labelOverlap": True,
        "tickColor": look.hairline,
        "titleColor": look.ink,
        "titleFontSize": look.text_size,
        "titleFontWeight": "normal",
    }
    return {
        "background": look.sheet,
        "font": look.letters,
        "padding": MARGIN,
        "axis": axis,
        "axisX": {"grid": False, "domain": True, "domainColor": look.quiet, "titlePadding": 6},
        # Read upright above its figures, a title needs neither a tilted head nor a legend.
        "axisY": {
            "ticks": False,
            "labelPadding": 6,
            "minExtent": AXIS_ROOM - 3,
            "maxExtent": AXIS_ROOM - 3,
            "titleAngle": 0,
            "titleAlign": "left",
            "titleBaseline": "bottom",
            "titleX": -AXIS_ROOM,
            "titleY": -7,
        },
        "text": {"color": look.ink, "fontSize": look.text_size},
        "title": {
            "anchor": "start",
            "frame": "bounds",
            "color": look.ink,
            "fontSize": look.heading_size,
            "fontWeight": "bold",
            "lineHeight": look.heading_size + 5,
            "subtitleColor": look.quiet,
            "subtitleFontSize": look.text_size,
            "subtitleLineHeight": look.text_size + 5,
            "subtitlePadding": 6,
            "offset": 14,
        },
        "view": {"stroke": None},
        "concat": {"spacing": 18},
    }


def chart_svg(chart: TopChart) -> str:
    """Chart as an SVG picture that needs nothing from outside.

    Parameters
    ----------
    chart : altair chart
        A themed chart.

    Returns
    -------
    str
        One ``<svg>`` element; the same text each time.
    """
    import vl_convert

    grammar = chart.to_dict()
    config = grammar.setdefault("config", {})
    letters, config["font"] = config.get("font", _MEASURED), _MEASURED
    svg = vl_convert.vegalite_to_svg(grammar, vl_version=_grammar_version(), allowed_base_urls=[])
    svg = svg.replace(f'font-family="{_MEASURED}"', f'font-family="{letters}"')
    # The chart grammar has no word for figures of one width, the style of the picture has.
    return svg.replace("<svg ", '<svg style="font-variant-numeric:tabular-nums" ', 1)


def chart_png(chart: TopChart, scale: float = 2.0) -> bytes:
    """Chart as a PNG picture.

    Parameters
    ----------
    chart : altair chart
        A themed chart.
    scale : float
        Pixels of the picture for one pixel of the chart [1].

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    ValueError
        If the scale is not above 0 and at most 10.
    """
    if not 0.0 < scale <= 10.0:
        raise ValueError(f"scale: got {scale:g}, must be above 0 and at most 10")
    import vl_convert

    return vl_convert.svg_to_png(chart_svg(chart), scale=scale)


def chart_json(chart: TopChart) -> str:
    """Chart as text that a browser can draw, with its data inside.

    Parameters
    ----------
    chart : altair chart
        A themed chart.

    Returns
    -------
    str
        JSON in the chart grammar.
    """
    return chart.to_json(indent=None)


def chart_csv(rows: Sequence[Mapping[str, object]]) -> str:
    """Rows of a chart as a table for a spreadsheet.

    Parameters
    ----------
    rows : sequence of mapping
        One mapping for each row; all with the same columns.

    Returns
    -------
    str
        A line of names, then one line for each row; empty when there is no row.

    Raises
    ------
    ValueError
        If a row has other columns than the first.

    Examples
    --------
    >>> chart_csv([{"hours": 0.0, "volts": 12.8}, {"hours": 0.5, "volts": 12.7}]).split()
    ['hours,volts', '0.0,12.8', '0.5,12.7']
    """
    if not rows:
        return ""
    names = list(rows[0])
    for number, row in enumerate(rows):
        if set(row) != set(names):
            raise ValueError(f"row {number}: got {', '.join(row)}, must have {', '.join(names)}")
    text = io.StringIO()
    table = csv.DictWriter(text, names, lineterminator="\n")
    table.writeheader()
    table.writerows(rows)
    return text.getvalue()


def _grammar_version() -> str:
    """Version of the chart grammar that the charts are written in, as the renderer names it."""
    import altair

    return ".".join(altair.SCHEMA_VERSION.lstrip("v").split(".")[:2])
