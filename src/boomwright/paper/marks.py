"""Marks that more than one chart draws: axes, lines, rules with their labels, shading, text."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from boomwright.paper.look import Dash, Look
from boomwright.paper.room import extremes_kept, flag_rows, spread_apart, text_width

if TYPE_CHECKING:
    import altair as alt
    from numpy.typing import NDArray

    Numbers = NDArray[np.float64]

__all__ = [
    "ROW",
    "VOLTS_TITLE",
    "Align",
    "Rule",
    "Span",
    "across",
    "drawn_from",
    "flags",
    "flags_fit",
    "label",
    "layered",
    "levels",
    "line",
    "rows",
    "up",
    "wash",
]

Align = Literal["left", "center", "right"]
"""Which end of a text stands at its place."""

VOLTS_TITLE = "battery volts [V]"
"""Title of every axis of battery volts."""

ROW = 17
"""Height of a row of labels [px]."""

Span = tuple[float, float]
"""Ends of an axis, in the unit that it shows."""


@dataclass(frozen=True)
class Rule:
    """A value that a chart marks with a line and a label.

    Parameters
    ----------
    says : str
        The label.
    at : float
        The value, in the unit of the axis.
    dash : tuple of int
        Stroke of the line.
    """

    says: str
    at: float
    dash: Dash


def rows(**columns: NDArray[Any]) -> list[dict[str, Any]]:
    """Rows of a chart from columns of equal length."""
    lists = [np.asarray(column).tolist() for column in columns.values()]
    return [dict(zip(columns, row, strict=True)) for row in zip(*lists, strict=True)]


def drawn_from(values: Sequence[Mapping[str, Any]]) -> alt.Chart:
    """Chart of the rows given, which it carries inside."""
    import altair as alt

    # As one text the rows are neither checked nor copied one by one with every layer, which would
    # take longer than the drawing.
    text = json.dumps(list(values))
    return alt.Chart(alt.InlineData(values=text, format=alt.JsonDataFormat(type="json")))


def layered(
    layers: Sequence[alt.Chart], plot: int, height: int, title: dict[str, Any] | None = None
) -> alt.LayerChart:
    """Layers over one another in one plot, the first at the bottom."""
    import altair as alt

    heading = alt.Undefined if title is None else alt.TitleParams(**title)
    return alt.LayerChart(layer=list(layers), width=plot, height=height, title=heading)


def across(field: str, span: Span, title: str | None) -> alt.X:
    """Axis along the bottom; without a title it has no figures either."""
    import altair as alt

    axis = alt.Axis(title=title, grid=False, tickCount=8)
    if title is None:
        axis = alt.Axis(title=None, labels=False, ticks=False, grid=False, domain=False)
    return alt.X(f"{field}:Q", axis=axis, scale=alt.Scale(domain=list(span), nice=False))


def up(field: str, span: Span, title: str, ends: tuple[float, float]) -> alt.Y:
    """Axis up the left side, between two heights [px], the lower end of the axis first."""
    import altair as alt

    count = max(3, round((ends[0] - ends[1]) / 38))
    return alt.Y(
        f"{field}:Q",
        axis=alt.Axis(title=title, tickCount=count),
        scale=alt.Scale(domain=list(span), range=list(ends), nice=False),
    )


def line(along: Numbers, value: Numbers, x: alt.X, y: alt.Y, plot: int, look: Look) -> alt.Chart:
    """One copper line with every peak and dip, thinned to what the plot can show."""
    kept = extremes_kept(along, value, plot)
    columns = {_field(x): along[kept], _field(y): value[kept], "step": kept}
    drawn: alt.Chart = (
        drawn_from(rows(**columns))
        .mark_line(
            color=look.copper,
            strokeDash=list(look.copper_dash),
            strokeWidth=1.6,
            strokeJoin="round",
        )
        .encode(x=x, y=y, order="step:Q")
    )
    return drawn


def levels(
    rules: Sequence[Rule], y: alt.Y, span: Span, plot: int, height: int, look: Look
) -> list[alt.Chart]:
    """Rules across the plot, each with its label beside the right end, labels kept apart."""
    import altair as alt

    places = [height * (span[1] - rule.at) / (span[1] - span[0]) for rule in rules]
    apart = spread_apart(places, ROW, 6.0, height - 6.0)
    layers = []
    for rule, place, shown in zip(rules, places, apart, strict=True):
        layers.append(
            drawn_from([{_field(y): rule.at}])
            .mark_rule(color=look.ink, strokeDash=list(rule.dash), strokeWidth=1.2)
            .encode(y=y)
        )
        layers.append(
            drawn_from([{}])
            .mark_rule(color=look.quiet, strokeWidth=0.8)
            .encode(
                x=alt.value(plot + 1), x2=alt.value(plot + 9), y=alt.value(place),
                y2=alt.value(shown),
            )
        )  # fmt: skip
        layers.append(label(rule.says, plot + 12, shown, look))
    return layers


def label(
    says: str,
    x: float,
    y: float,
    look: Look,
    *,
    align: Align = "left",
    color: str = "",
) -> alt.Chart:
    """A line of text at a place in the plot [px], its middle at that height."""
    import altair as alt

    written: alt.Chart = (
        drawn_from([{}])
        .mark_text(align=align, baseline="middle", text=says, color=color or look.ink)
        .encode(x=alt.value(x), y=alt.value(y))
    )
    return written


def wash(stretches: Sequence[Span], x: alt.X, look: Look, *, top: int = 0) -> alt.Chart:
    """Shade over the plot, from a height [px] down to its bottom."""
    import altair as alt

    values = [{_field(x): begin, "end": end} for begin, end in stretches]
    shaded: alt.Chart = (
        drawn_from(values)
        .mark_rect(color=look.wash, stroke=look.hairline, strokeWidth=1)
        .encode(x=x, x2="end:Q", y=alt.value(top), y2=alt.value("height"))
    )
    return shaded


def flags_fit(rules: Sequence[Rule], span: Span, plot: int, look: Look) -> Span:
    """Axis made longer to the right until every flag of an upright rule fits the plot."""
    low, high = span
    for rule in rules:
        room = plot - text_width(rule.says, look.text_size) - 8.0
        high = max(high, low + (rule.at - low) * plot / room) if room > 0.0 else high
    return low, high


def flags(
    rules: Sequence[Rule], span: Span, plot: int, height: int, look: Look
) -> tuple[list[alt.Chart], int]:
    """Upright rules with their labels as flags above the drawing, and the height these take."""
    import altair as alt

    poles = [plot * (rule.at - span[0]) / (span[1] - span[0]) for rule in rules]
    placed = flag_rows(poles, [text_width(rule.says, look.text_size) for rule in rules])
    count = max(placed, default=-1) + 1
    layers = []
    for rule, pole, row in zip(rules, poles, placed, strict=True):
        top = (count - 1 - row) * ROW
        # A light edge keeps the rule in sight where it runs over dark bars.
        layers += [
            drawn_from([{}])
            .mark_rule(color=color, strokeDash=list(dash), strokeWidth=thick)
            .encode(
                x=alt.value(pole), x2=alt.value(pole), y=alt.value(top + 1), y2=alt.value(height)
            )
            for color, dash, thick in ((look.sheet, (), 2.6), (look.ink, rule.dash, 1.2))
        ]
        if rule.says:
            layers.append(label(rule.says, pole + 5, top + 7, look))
    return layers, count * ROW


def _field(channel: alt.X | alt.Y) -> str:
    return str(channel.shorthand).partition(":")[0]
