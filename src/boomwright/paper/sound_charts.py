"""Charts of how a build sounds: curves over frequency, what limits them, and the sound in time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from boomwright.paper.charts import themed
from boomwright.paper.given import plot_width, series
from boomwright.paper.limit_bands import MOST_LIMITS, ROW, flow, limit_bands, limit_signs
from boomwright.paper.look import LIGHT, Dash, Look
from boomwright.paper.marks import Rule, drawn_from, label, layered, rows
from boomwright.paper.room import spread_apart, text_width

if TYPE_CHECKING:
    import altair as alt
    from numpy.typing import NDArray

    from boomwright.paper.charts import TopChart

    Numbers = NDArray[np.float64]
    Ruling = NDArray[np.intp]

__all__ = ["HERTZ", "Line", "Panel", "curves_chart", "limits_chart", "line_looks"]

HERTZ: Final = (20.0, 20e3)
"""Ends of a frequency axis that shows all that is heard [Hz]."""

_SAMPLE = 22
_DEPTH = 60.0
_LABELLED: Final = {"vent air": "vent", "radiator travel": "radiator"}


@dataclass(frozen=True, eq=False)
class Line:
    """A curve of a panel.

    Parameters
    ----------
    says : str
        Its name in the key.
    along, values : array (points,)
        Where each point stands, and its value; not-a-number where there is none.
    look : int
        Which of :func:`line_looks` draws it.
    """

    says: str
    along: Numbers
    values: Numbers
    look: int = 0


@dataclass(frozen=True, eq=False)
class Panel:
    """One plot of a chart.

    Parameters
    ----------
    title : str
        Name and unit of the upright axis.
    lines : sequence of Line
        What is drawn; the first on top.
    span : tuple of float
        Ends of the upright axis, in its unit.
    across : str
        Name and unit of the axis along the bottom.
    reach : tuple of float
        Its ends.
    log_across, log_up : bool
        Whether an axis counts in decades.
    rules : sequence of Rule
        Values marked across the plot.
    height : int
        Height of the plot [px].
    """

    title: str
    lines: Sequence[Line]
    span: tuple[float, float]
    across: str = "frequency [Hz]"
    reach: tuple[float, float] = HERTZ
    log_across: bool = True
    log_up: bool = False
    rules: Sequence[Rule] = ()
    height: int = 190


def line_looks(look: Look) -> tuple[tuple[str, Dash, float], ...]:
    """Colour, dash and thickness of the lines of one plot, all told apart without colour."""
    return (
        (look.copper, (), 2.2),
        (look.wave, look.wave_dash, 1.7),
        (look.ink, look.on_dash, 1.5),
        (look.fine, look.limit_dash, 1.5),
        (look.quiet, (12, 3), 1.4),
        (look.stop, (4, 2), 1.4),
    )


def curves_chart(
    panels: Sequence[Panel],
    *,
    look: Look = LIGHT,
    title: str,
    subtitle: str = "",
    width: int = 760,
) -> TopChart:
    """Panels of curves one below the other, each with its key above it.

    Parameters
    ----------
    panels : sequence of Panel
        At least one.
    look : Look
        Colours and letters.
    title, subtitle : str
        Heading.
    width : int
        Width of the whole picture [px].

    Returns
    -------
    altair chart

    Raises
    ------
    ValueError
        If there is no panel, a panel has no or too many lines, or the width does not serve.
    """
    import altair as alt

    if not panels:
        raise ValueError("panels: got none, must be at least one")
    plot = plot_width(width, 12.0)
    chart = alt.vconcat(*(_panel(panel, plot, look) for panel in panels))
    return themed(chart, look, title, subtitle, width=width)


def limits_chart(
    frequency: Numbers,
    clean: Numbers,
    ruling: Ruling,
    *,
    states: Sequence[str],
    limits: Sequence[str],
    look: Look = LIGHT,
    title: str = "Which limit rules where",
    subtitle: str = "",
    width: int = 760,
) -> TopChart:
    """Loudest clean sine at each frequency for some states of the battery, and what rules it.

    Signs on the curves and in the bands below tell the limits apart by shape, by word where there
    is room, and by colour.

    Parameters
    ----------
    frequency : array (points,)
        Rising frequencies [Hz].
    clean : array (states, points)
        Level [dB].
    ruling : array of int (states, points)
        Place in ``limits`` of what rules there.
    states, limits : sequence of str
        Names of the states, the best first, and of the limits; six limits at most.
    look : Look
        Colours and letters.
    title, subtitle : str
        Heading.
    width : int
        Width of the whole picture [px].

    Returns
    -------
    altair chart

    Raises
    ------
    ValueError
        If shapes or numbers of names do not fit, or the width does not serve.
    """
    import altair as alt

    hertz = series("frequency", frequency, "Hz")
    if clean.shape != (len(states), hertz.size) or ruling.shape != clean.shape:
        raise ValueError(
            f"clean level: got shapes {clean.shape} and {ruling.shape}, must be "
            f"({len(states)}, {hertz.size})"
        )
    if len(limits) > MOST_LIMITS:
        raise ValueError(f"limits: got {len(limits)}, must be {MOST_LIMITS} at most")
    reach = (max(HERTZ[0], float(hertz[0])), min(HERTZ[1], float(hertz[-1])))
    heard = (hertz >= HERTZ[0]) & (hertz <= HERTZ[1])
    hertz, clean, ruling = hertz[heard], clean[:, heard], ruling[:, heard]
    plot = plot_width(width, 12.0)
    lines = [
        Line(state, hertz, values, number)
        for number, (state, values) in enumerate(zip(states, clean, strict=True))
    ]
    high = 5.0 * np.ceil((float(clean.max()) + 1.0) / 5.0)
    low = max(5.0 * np.floor(float(clean.min()) / 5.0), high - _DEPTH)
    span = (float(low), float(high))
    panel = Panel("clean level at 1 m [dB]", lines, span, reach=reach, height=210)
    key, keyed = _key(lines, plot, look)
    x, y = _across(panel, named=False), _up(panel, keyed)
    signs = limit_signs(hertz, clean[0], ruling[0], x, y, look)
    top = layered([*_drawn(panel, x, y, look), *signs, *key], plot, panel.height)
    names = [_LABELLED.get(limit, limit) for limit in limits]
    bands = limit_bands(
        hertz, ruling, states=states, names=names, x=_across(panel, named=True), reach=reach,
        plot=plot, look=look,
    )  # fmt: skip
    return themed(alt.vconcat(top, bands), look, title, subtitle, width=width)


def _panel(panel: Panel, plot: int, look: Look) -> alt.LayerChart:
    if not 1 <= len(panel.lines) <= len(line_looks(look)):
        raise ValueError(
            f"lines: got {len(panel.lines)}, must be 1 to {len(line_looks(look))} in one panel"
        )
    key, keyed = _key(panel.lines, plot, look)
    x, y = _across(panel, named=True), _up(panel, keyed)
    drawn = _drawn(panel, x, y, look)
    rules, words = _rules(panel, y, plot, look)
    return layered([*rules, *drawn, *words, *key], plot, panel.height)


def _across(panel: Panel, *, named: bool) -> alt.X:
    import altair as alt

    if not panel.log_across:
        axis = alt.Axis(title=panel.across, grid=False, tickCount=7)
        scale = alt.Scale(domain=list(panel.reach), nice=False)
        return alt.X("along:Q", axis=axis, scale=scale)
    marked = [
        digit * 10.0**decade
        for decade in range(5)
        for digit in (1, 2, 5)
        if panel.reach[0] <= digit * 10.0**decade <= panel.reach[1]
    ]
    axis = alt.Axis(
        title=panel.across if named else None,
        labels=named, ticks=named, values=marked, grid=True,
        labelExpr="datum.value > 999 ? datum.value / 1000 + 'k' : datum.value + ''",
    )  # fmt: skip
    scale = alt.Scale(type="log", domain=list(panel.reach), nice=False)
    return alt.X("along:Q", axis=axis, scale=scale)


def _up(panel: Panel, keyed: int) -> alt.Y:
    """Upright axis whose title stands above the rows of the key."""
    import altair as alt

    axis: dict[str, Any] = {"tickCount": max(3, round(panel.height / 38))}
    if panel.log_up:
        low, high = panel.span
        axis["values"] = [
            digit * 10.0**decade
            for decade in range(-6, 7)
            for digit in ((1, 2, 5) if high / low < 1e3 else (1,))
            if low <= digit * 10.0**decade <= high
        ]
        axis["labelExpr"] = "datum.value + ''"
    return alt.Y(
        "value:Q",
        axis=alt.Axis(title=panel.title, titleY=-7 - keyed * ROW, **axis),
        scale=alt.Scale(
            type="log" if panel.log_up else "linear", domain=list(panel.span),
            range=[panel.height, 0], nice=False,
        ),
    )  # fmt: skip


def _drawn(panel: Panel, x: alt.X, y: alt.Y, look: Look) -> list[Any]:
    looks = line_looks(look)
    layers = []
    for line in reversed(panel.lines):
        colour, dash, thick = looks[line.look]
        along, values = line.along, np.where(np.isfinite(line.values), line.values, np.nan)
        inside = (along >= panel.reach[0]) & (along <= panel.reach[1])
        values = np.clip(values, *_room(panel))
        kept = inside & np.isfinite(values)
        points = rows(along=along[kept], value=values[kept], step=np.flatnonzero(kept))
        layers.append(
            drawn_from(points)
            .mark_line(
                color=colour, strokeDash=list(dash), strokeWidth=thick, strokeJoin="round",
                clip=True,
            )
            .encode(x=x, y=y, order="step:Q")
        )  # fmt: skip
    return layers


def _room(panel: Panel) -> tuple[float, float]:
    """Values beyond which a line is far enough outside that its way there does not matter."""
    low, high = panel.span
    if panel.log_up:
        return low / 30.0, high * 30.0
    return low - (high - low), high + (high - low)


def _rules(panel: Panel, y: alt.Y, plot: int, look: Look) -> tuple[list[Any], list[Any]]:
    """Rules across the plot, to lie under its lines, and their words, to lie over them."""
    low, high = panel.span
    shown = [rule for rule in panel.rules if low <= rule.at <= high]
    at = np.array([rule.at for rule in shown])
    share = np.log(at / low) / np.log(high / low) if panel.log_up else (at - low) / (high - low)
    places = (panel.height * (1.0 - share)).tolist()
    beside = [place + (11.0 if place < ROW else -8.0) for place in places]
    apart = spread_apart(beside, 15.0, 8.0, panel.height - 8.0)
    rules = [
        drawn_from([{"value": rule.at}])
        .mark_rule(color=look.ink, strokeDash=list(rule.dash), strokeWidth=1.1)
        .encode(y=y)
        for rule in shown
    ]
    words = [
        layer
        for rule, place in zip(shown, apart, strict=True)
        for layer in _over_lines(rule.says, plot - 4, place, look)
    ]
    return rules, words


def _over_lines(says: str, right: float, middle: float, look: Look) -> list[Any]:
    """Words that end at a place, with a light edge that lines run under."""
    import altair as alt

    edge = (
        drawn_from([{}])
        .mark_text(
            align="right", baseline="middle", text=says, stroke=look.sheet, strokeWidth=4,
            strokeJoin="round",
        )
        .encode(x=alt.value(right), y=alt.value(middle))
    )  # fmt: skip
    return [edge, label(says, right, middle, look, align="right")]


def _key(lines: Sequence[Line], plot: int, look: Look) -> tuple[list[Any], int]:
    """Names of the lines above the plot, each behind a piece of its line, and their rows."""
    if len(lines) == 1 and not lines[0].says:
        return [], 0
    import altair as alt

    looks = line_looks(look)
    layers: list[Any] = []
    widths = [_SAMPLE + 6 + text_width(line.says, look.text_size) for line in lines]
    placed, count = flow(widths, plot)
    for line, (left, row) in zip(lines, placed, strict=True):
        colour, dash, thick = looks[line.look]
        height = -12.0 - (count - 1 - row) * ROW
        layers.append(
            drawn_from([{}])
            .mark_rule(color=colour, strokeDash=list(dash), strokeWidth=thick)
            .encode(
                x=alt.value(left), x2=alt.value(left + _SAMPLE), y=alt.value(height),
                y2=alt.value(height),
            )
        )  # fmt: skip
        layers.append(label(line.says, left + _SAMPLE + 6, height, look))
    return layers, count
