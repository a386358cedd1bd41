"""Chart of a programme: where its sound lies, and for how long it is beyond each level."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from boomwright.paper.charts import themed
from boomwright.paper.given import plot_width, series
from boomwright.paper.look import LIGHT, Look
from boomwright.paper.marks import (
    Rule,
    across,
    drawn_from,
    flags,
    flags_fit,
    label,
    layered,
    rows,
    up,
)
from boomwright.paper.room import text_width
from boomwright.physics.programme import Programme

if TYPE_CHECKING:
    import altair as alt
    from numpy.typing import NDArray

    from boomwright.paper.charts import TopChart

    Numbers = NDArray[np.float64]

__all__ = ["programme_chart"]

_HIGH, _LOW = 190, 190
_DEEPEST = -60.0
_QUIETEST, _RAREST = -40.0, 1e-4
_BAR = 0.42 / 10.0
_FREQUENCIES = (31.5, 63.0, 125.0, 250.0, 500.0, 1e3, 2e3, 4e3, 8e3, 16e3)


def programme_chart(
    programme: Programme,
    *,
    beside: Programme | None = None,
    look: Look = LIGHT,
    title: str = "",
    subtitle: str = "",
    width: int = 760,
) -> TopChart:
    """Third-octave spectrum of a programme, and the share of time beyond each level.

    Parameters
    ----------
    programme : Programme
        What is drawn.
    beside : Programme or None
        Another one, drawn as a line beside it.
    look : Look
        Colours and letters.
    title, subtitle : str
        Heading, the programme's own if empty, and what it says in words.
    width : int
        Width of the whole picture [px].

    Returns
    -------
    altair chart
        Two panels.

    Raises
    ------
    ValueError
        If the width does not serve.
    """
    import altair as alt

    room = 8.0
    if beside is not None and beside.frequencies.size > 1:
        room = 1.12 * text_width(_name(beside), look.text_size) + 10.0
    plot = plot_width(width, room)
    panels = [
        _spectrum(programme, beside, plot, look),
        _time(programme, beside, plot, look),
    ]
    chart: TopChart = alt.vconcat(*panels)
    return themed(chart, look, title or programme.title, subtitle, width=width)


def _spectrum(
    programme: Programme, beside: Programme | None, plot: int, look: Look
) -> alt.LayerChart:
    import altair as alt

    at = np.log10(programme.frequencies)
    level = np.maximum(programme.spectrum_db - np.max(programme.spectrum_db), _DEEPEST)
    deep = 10.0 * np.floor(min(float(level.min()), -30.0) / 10.0)
    span = (float(np.log10(20.0)) - 0.06, float(np.log10(20e3)) + 0.06)
    marked = [float(np.log10(frequency)) for frequency in _FREQUENCIES]
    x = alt.X(
        "decade:Q",
        axis=alt.Axis(title="third-octave band [Hz]", values=marked, grid=False, labelExpr=_HERTZ),
        scale=alt.Scale(domain=list(span), nice=False),
    )
    y = up("level", (deep, 2.0), "level over the strongest band [dB]", (_HIGH, 0))
    bars = rows(decade=at - _BAR, end=at + _BAR, level=level)
    layers: list[Any] = [
        drawn_from(bars)
        .mark_rect(color=look.copper, opacity=0.85, clip=True)
        .encode(x=x, x2="end:Q", y=y, y2=alt.datum(deep))
    ]
    if beside is not None and beside.frequencies.size > 1:
        # Equal power in all makes the two lie on one another, whatever their strongest bands.
        shift = _power_db(beside) - _power_db(programme)
        other = np.clip(beside.spectrum_db - np.max(programme.spectrum_db) - shift, deep, 2.0)
        layers += _other_line(np.log10(beside.frequencies), other, x, y, look)
        place = _HIGH * (2.0 - float(other[-1])) / (2.0 - deep)
        place = min(max(place, 8.0), _HIGH - 8.0)
        layers.append(label(_name(beside), plot + 8, place, look, color=look.wave))
    return layered(layers, plot, _HIGH)


_HERTZ = (
    "pow(10, datum.value) > 999 ? format(pow(10, datum.value) / 1000, '.0f') + 'k' : "
    "format(pow(10, datum.value), pow(10, datum.value) < 40 ? '.1f' : '.0f')"
)


def _power_db(programme: Programme) -> float:
    return float(10.0 * np.log10(np.sum(10.0 ** (programme.spectrum_db / 10.0))))


def _time(programme: Programme, beside: Programme | None, plot: int, look: Look) -> alt.LayerChart:
    import altair as alt

    greatest = max(each.crest_factor_db for each in (programme, beside) if each is not None)
    span = (_QUIETEST, max(20.0, float(np.ceil(greatest / 5.0)) * 5.0))
    rules = [
        Rule("average", 0.0, look.on_dash),
        Rule(f"peak {programme.crest_factor_db:.1f} dB", programme.crest_factor_db, look.off_dash),
    ]
    span = flags_fit(rules, span, plot, look)
    x = across("over", span, "level over the average [dB]")
    marks, strip = flags(rules, span, plot, _LOW, look)
    y = alt.Y(
        "share:Q",
        axis=alt.Axis(
            title="share of time beyond it [%]", values=[100.0, 10.0, 1.0, 0.1, 0.01],
            labelExpr="datum.value + ''",
        ),
        scale=alt.Scale(
            type="log", domain=[100.0 * _RAREST, 100.0], range=[_LOW, strip + 8], nice=False
        ),
    )  # fmt: skip
    over, share = _curve(programme)
    drawn = (
        drawn_from(rows(over=over, share=100.0 * share, step=np.arange(over.size)))
        .mark_line(color=look.copper, strokeWidth=1.8, strokeJoin="round", clip=True)
        .encode(x=x, y=y, order="step:Q")
    )
    layers: list[Any] = [*marks, drawn]
    if beside is not None:
        over, share = _curve(beside)
        layers += _other_line(over, 100.0 * share, x, y, look)
    return layered(layers, plot, _LOW)


def _curve(programme: Programme) -> tuple[Numbers, Numbers]:
    """Levels over the average [dB] and share of time, where a chart can show them."""
    over = np.linspace(_QUIETEST, programme.crest_factor_db, 200)
    share = np.interp(10.0 ** (over / 20.0), programme.levels, programme.exceedance)
    # One decade below the axis, so that the line runs to its edge.
    kept = share >= 0.1 * _RAREST
    return series("level", over[kept], "dB"), series("share of time", share[kept], "1")


def _other_line(along: Numbers, value: Numbers, x: alt.X, y: alt.Y, look: Look) -> list[alt.Chart]:
    names = [str(channel.shorthand).partition(":")[0] for channel in (x, y)]
    columns = {names[0]: along, names[1]: value, "step": np.arange(along.size)}
    drawn: alt.Chart = (
        drawn_from(rows(**columns))
        .mark_line(color=look.wave, strokeDash=list(look.wave_dash), strokeWidth=1.6, clip=True)
        .encode(x=x, y=y, order="step:Q")
    )
    return [drawn]


def _name(beside: Programme) -> str:
    return f"typical: {beside.name}"
