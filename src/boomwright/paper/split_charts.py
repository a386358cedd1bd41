"""Charts of a band split: each driver and their sum, and the load on the amplifier."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from boomwright.build.quantities import format_quantity
from boomwright.paper.charts import themed
from boomwright.paper.given import number, plot_width, series
from boomwright.paper.look import LIGHT, Dash, Look
from boomwright.paper.marks import drawn_from, label, layered, rows
from boomwright.paper.room import spread_apart, text_width

if TYPE_CHECKING:
    import altair as alt
    from numpy.typing import ArrayLike, NDArray

    from boomwright.paper.charts import TopChart

    Numbers = NDArray[np.float64]

__all__ = ["load_chart", "split_chart"]

_HIGH = 320
_LOAD_HIGH = 240
_ROW = 17.0
_DEPTH, _STRIP = 42.0, 4.0
"""Height of the chart of the sound, and how much of it lies above the loudest [dB]."""

_OHM_TICKS = (1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 24.0, 32.0, 48.0, 64.0, 100.0, 200.0)


def split_chart(
    frequency: ArrayLike,
    branches: Sequence[ArrayLike],
    both: ArrayLike,
    turned: ArrayLike,
    *,
    names: Sequence[str],
    at: float,
    look: Look = LIGHT,
    title: str = "",
    width: int = 760,
) -> TopChart:
    """Level of each driver, of both, and of both with one turned round, over frequency.

    Parameters
    ----------
    frequency : array (points,)
        Frequencies, rising [Hz].
    branches : sequence of array (points,)
        Level of each driver alone, one or two [dB].
    both, turned : array (points,)
        Level of all, and with the last driver the other way round [dB].
    names : sequence of str
        What each driver is.
    at : float
        Where the bands meet [Hz].
    look : Look
        Colours and letters.
    title : str
        Heading; a usual one if empty.
    width : int
        Width of the whole picture [px].

    Returns
    -------
    altair chart
        One panel.

    Raises
    ------
    ValueError
        If an array cannot be drawn, names and drivers differ in number, or the width does not
        serve.
    """
    hertz = series("frequency", frequency, "Hz")
    alone = [
        series(name, level, "dB", hertz.size) for name, level in zip(names, branches, strict=True)
    ]
    if not 1 <= len(alone) <= 2:
        raise ValueError(f"drivers: got {len(alone)}, must be 1 or 2")
    inks = (look.copper, look.wave)
    strokes: list[tuple[str, Numbers, str, Dash, float]] = [
        (name, level, ink, dash, 1.6)
        for name, level, ink, dash in zip(
            names, alone, inks, (look.copper_dash, look.wave_dash), strict=False
        )
    ]
    subtitle = f"Level at 1 m for 2.83 V, split at {format_quantity(at, 'frequency', digits=2)}."
    if len(alone) > 1:
        whole = series("both", both, "dB", hertz.size)
        other = series("turned", turned, "dB", hertz.size)
        strokes = [
            ("tweeter turned", other, look.quiet, look.on_dash, 1.2),
            *strokes,
            ("together", whole, look.ink, (), 2.2),
        ]
        subtitle += " Dotted: the tweeter's leads swapped, whose dip shows that both work together."
    # Above the curves a strip is kept for the flag.
    top = max(float(level.max()) for _, level, *_ in strokes) + _STRIP
    span = (top - _DEPTH, top)
    beside = max(text_width(name, look.text_size) for name, *_ in strokes) + 22.0
    plot = plot_width(width, beside)
    ends = (float(hertz[0]), float(hertz[-1]))
    x, y = _hertz(ends), _up("level [dB]", span, float(_HIGH), log=False)
    layers = [
        _line(hertz, np.clip(level, span[0], None), x, y, ink, dash, thick, keep=level > span[0])
        for _, level, ink, dash, thick in strokes
    ]
    layers += _names(strokes, span, plot, look)
    layers += _flag(number("at", at, "Hz"), ends, plot, look)
    several = len(alone) > 1
    heading = "Sound of the drivers and of both together" if several else f"Sound of the {names[0]}"
    return themed(layered(layers, plot, _HIGH), look, title or heading, subtitle, width=width)


def load_chart(
    frequency: ArrayLike,
    ohms: ArrayLike,
    *,
    least_load: float,
    look: Look = LIGHT,
    title: str = "Load on the amplifier",
    width: int = 760,
) -> TopChart:
    """Size of the impedance that the amplifier sees, with the least it is made for.

    Parameters
    ----------
    frequency : array (points,)
        Frequencies, rising [Hz].
    ohms : array (points,)
        Impedance [Ω].
    least_load : float
        Rated load that the amplifier is made for [Ω].
    look : Look
        Colours and letters.
    title : str
        Heading.
    width : int
        Width of the whole picture [px].

    Returns
    -------
    altair chart
        One panel.

    Raises
    ------
    ValueError
        If an array cannot be drawn, an impedance is not above 0, or the width does not serve.
    """
    hertz = series("frequency", frequency, "Hz")
    seen = series("ohms", ohms, "Ω", hertz.size)
    if not (seen > 0.0).all():
        raise ValueError(f"ohms: got {seen.min():g} Ω, must be above 0 Ω")
    limit = number("least load", least_load, "Ω")
    # A first capacitor blocks the bass: the chart need not climb with it for ever.
    high = min(float(seen.max()), 40.0 * float(seen.min()))
    span = (0.85 * min(float(seen.min()), 0.8 * limit), 1.1 * max(high, 1.5 * limit))
    says = f"rated {format_quantity(limit, 'resistance')}"
    low_says = f"least allowed {format_quantity(0.8 * limit, 'resistance')}"
    beside = max(text_width(text, look.text_size) for text in (says, low_says)) + 22.0
    plot = plot_width(width, beside)
    x = _hertz((float(hertz[0]), float(hertz[-1])))
    y = _up("ohms [Ω]", span, float(_LOAD_HIGH), log=True)
    layers = [
        _line(hertz, np.clip(seen, None, span[1]), x, y, look.copper, look.copper_dash, 1.8,
              keep=seen <= span[1])
    ]  # fmt: skip
    places = [_LOAD_HIGH * np.log(span[1] / value) / np.log(span[1] / span[0])
              for value in (limit, 0.8 * limit)]  # fmt: skip
    for text, value, place, dash in zip(
        (says, low_says), (limit, 0.8 * limit), spread_apart(places, _ROW, 6.0, _LOAD_HIGH - 6.0),
        (look.on_dash, look.limit_dash), strict=True,
    ):  # fmt: skip
        layers.append(
            drawn_from([{"value": value}])
            .mark_rule(color=look.ink, strokeDash=list(dash), strokeWidth=1.2)
            .encode(y=y)
        )
        layers.append(label(text, plot + 10, place, look))
    where = int(np.argmin(seen))
    subtitle = (
        f"Least {format_quantity(float(seen[where]), 'resistance', digits=2)} at "
        f"{format_quantity(float(hertz[where]), 'frequency', digits=2)}."
    )
    return themed(layered(layers, plot, _LOAD_HIGH), look, title, subtitle, width=width)


def _hertz(span: tuple[float, float]) -> alt.X:
    import altair as alt

    every = [figure * 10.0**power for power in range(6) for figure in (1.0, 2.0, 5.0)]
    axis = alt.Axis(
        title="frequency [Hz]",
        grid=True,
        values=[tick for tick in every if span[0] <= tick <= span[1]],
        format="~s",
    )
    return alt.X(
        "frequency:Q", axis=axis, scale=alt.Scale(type="log", domain=list(span), nice=False)
    )


def _up(title: str, span: tuple[float, float], height: float, *, log: bool) -> alt.Y:
    import altair as alt

    if log:
        ticks = [tick for tick in _OHM_TICKS if span[0] <= tick <= span[1]]
    else:
        ticks = [
            float(tick) for tick in np.arange(np.ceil(span[0] / 6.0) * 6.0, span[1] + 0.1, 6.0)
        ]
    scale = alt.Scale(
        type="log" if log else "linear", domain=list(span), range=[height, 0.0], nice=False
    )
    return alt.Y("value:Q", axis=alt.Axis(title=title, values=ticks), scale=scale)


def _line(
    hertz: Numbers,
    value: Numbers,
    x: alt.X,
    y: alt.Y,
    ink: str,
    dash: Dash,
    thick: float,
    *,
    keep: NDArray[np.bool_],
) -> alt.Chart:
    # One point beyond the edge lets the line run out of the picture instead of ending before it.
    wide = keep.copy()
    wide[1:] |= keep[:-1]
    wide[:-1] |= keep[1:]
    drawn: alt.Chart = (
        drawn_from(rows(frequency=hertz[wide], value=value[wide]))
        .mark_line(color=ink, strokeDash=list(dash), strokeWidth=thick)
        .encode(x=x, y=y)
    )
    return drawn


def _names(
    strokes: Sequence[tuple[str, Numbers, str, Dash, float]],
    span: tuple[float, float],
    plot: int,
    look: Look,
) -> list[alt.Chart]:
    """Name of every line beside the plot, at the height where it was last seen."""
    import altair as alt

    heights = []
    for _, level, *_ in strokes:
        last = (
            float(level[np.flatnonzero(level > span[0])[-1]])
            if (level > span[0]).any()
            else span[0]
        )
        heights.append(_HIGH * (span[1] - last) / (span[1] - span[0]))
    layers: list[Any] = []
    for (name, _, ink, dash, thick), place in zip(
        strokes, spread_apart(heights, _ROW, 6.0, _HIGH - 6.0), strict=True
    ):
        layers.append(
            drawn_from([{}])
            .mark_rule(color=ink, strokeDash=list(dash), strokeWidth=thick)
            .encode(x=alt.value(plot + 3), x2=alt.value(plot + 16), y=alt.value(place))
        )
        layers.append(label(name, plot + 20, place, look, color=ink))
    return layers


def _flag(at: float, ends: tuple[float, float], plot: int, look: Look) -> list[alt.Chart]:
    """An upright rule where the bands meet, with its figure at the side that has room."""
    import altair as alt

    pole = plot * float(np.log(at / ends[0]) / np.log(ends[1] / ends[0]))
    says = format_quantity(at, "frequency", digits=2)
    left = pole + text_width(says, look.text_size) + 8.0 > plot
    rule = (
        drawn_from([{}])
        .mark_rule(color=look.ink, strokeDash=list(look.limit_dash), strokeWidth=1.2)
        .encode(x=alt.value(pole), x2=alt.value(pole), y=alt.value(0), y2=alt.value(_HIGH))
    )
    place = pole - 5.0 if left else pole + 5.0
    return [rule, label(says, place, 8.0, look, align="right" if left else "left")]
