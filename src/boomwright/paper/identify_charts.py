"""Chart of an identified driver: points measured, curve fitted, what is left between them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from boomwright.paper.charts import themed
from boomwright.paper.given import plot_width
from boomwright.paper.look import LIGHT, Look
from boomwright.paper.marks import drawn_from, label, layered, rows
from boomwright.paper.room import text_width

if TYPE_CHECKING:
    from collections.abc import Sequence

    import altair as alt
    from numpy.typing import NDArray

    from boomwright.paper.charts import TopChart

    Numbers = NDArray[np.float64]

__all__ = ["Curve", "impedance_chart"]

_HIGH, _MIDDLE, _LOW = 240, 120, 110
_SHAPES = ("circle", "triangle-up", "square")
_MOST_POINTS = 400
_ROUND, _CLOSE = (1.0, 2.0, 5.0), (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.0)
"""Figures of a wide and of a narrow frequency axis, decade by decade."""
_WIDE = 8.0


@dataclass(frozen=True, eq=False)
class Curve:
    """One sweep and its fit.

    Parameters
    ----------
    says : str
        What it is, for the label.
    frequency, magnitude : array (points,)
        Points measured [Hz], [Ω].
    phase : array (points,) or None
        Their angles [rad].
    fitted : array of complex (points,)
        The fitted impedance at the same frequencies [Ω].
    along : array (steps,)
        Frequencies from end to end, for the curve [Hz].
    line : array of complex (steps,)
        The fitted impedance there [Ω].
    """

    says: str
    frequency: Numbers
    magnitude: Numbers
    phase: Numbers | None
    fitted: NDArray[np.complex128]
    along: Numbers
    line: NDArray[np.complex128]


def impedance_chart(
    curves: Sequence[Curve],
    *,
    look: Look = LIGHT,
    title: str = "Impedance of the driver",
    subtitle: str = "",
    width: int = 760,
) -> TopChart:
    """Magnitude with the fitted curve through it, phase where there is one, and the misses.

    Parameters
    ----------
    curves : sequence of Curve
        One to three of them.
    look : Look
        Colours and letters.
    title, subtitle : str
        Heading.
    width : int
        Width of the whole picture [px].

    Returns
    -------
    altair chart
        Two or three panels on one frequency axis.

    Raises
    ------
    ValueError
        If there is no curve, or the width does not serve.
    """
    import altair as alt

    if not 1 <= len(curves) <= len(_SHAPES):
        raise ValueError(f"curves: got {len(curves)}, must be 1 to {len(_SHAPES)}")
    beside = max(text_width(curve.says, look.text_size) for curve in curves) + 26.0
    plot = plot_width(width, beside)
    every = np.concatenate([curve.along for curve in curves])
    # A little room, so that the points at either end are drawn whole.
    span = (float(every.min()) * 0.97, float(every.max()) * 1.03)
    panels: list[Any] = [_magnitudes(curves, span, plot, look)]
    if any(curve.phase is not None for curve in curves):
        panels.append(_phases(curves, span, plot, look))
    panels.append(_misses(curves, span, plot, look))
    return themed(alt.vconcat(*panels), look, title, subtitle, width=width)


def _colours(look: Look) -> tuple[str, str, str]:
    return look.copper, look.wave, look.ink


def _dashes(look: Look) -> tuple[tuple[int, ...], ...]:
    return look.copper_dash, look.wave_dash, look.limit_dash


def _hertz(span: tuple[float, float], *, named: bool) -> alt.X:
    import altair as alt

    figures = _ROUND if span[1] > _WIDE * span[0] else _CLOSE
    every = [figure * 10.0**power for power in range(6) for figure in figures]
    ticks = [tick for tick in every if span[0] <= tick <= span[1]]
    axis = alt.Axis(
        title="frequency [Hz]" if named else None,
        labels=named,
        ticks=named,
        domain=named,
        grid=True,
        values=ticks,
        format="~s",
    )
    scale = alt.Scale(type="log", domain=list(span), nice=False)
    return alt.X("frequency:Q", axis=axis, scale=scale)


def _up(
    title: str, span: tuple[float, float], height: int, *, ticks: list[float], log: bool = False
) -> alt.Y:
    import altair as alt

    scale = alt.Scale(
        type="log" if log else "linear", domain=list(span), range=[height, 0], nice=False
    )
    return alt.Y("value:Q", axis=alt.Axis(title=title, values=ticks), scale=scale)


def _thinned(size: int) -> NDArray[np.int_]:
    return np.unique(np.linspace(0, size - 1, min(size, _MOST_POINTS)).astype(int))


def _points(
    curve: Curve, values: Numbers, number: int, x: alt.X, y: alt.Y, look: Look
) -> alt.Chart:
    kept = _thinned(curve.frequency.size)
    many = curve.frequency.size > 40
    drawn: alt.Chart = (
        drawn_from(rows(frequency=curve.frequency[kept], value=values[kept]))
        .mark_point(
            shape=_SHAPES[number],
            size=14 if many else 42,
            color=_colours(look)[number],
            filled=not many,
            opacity=0.55 if many else 0.95,
            strokeWidth=1,
            clip=True,
        )
        .encode(x=x, y=y)
    )
    return drawn


def _line(curve: Curve, values: Numbers, number: int, x: alt.X, y: alt.Y, look: Look) -> alt.Chart:
    drawn: alt.Chart = (
        drawn_from(rows(frequency=curve.along, value=values))
        .mark_line(
            color=_colours(look)[number],
            strokeDash=list(_dashes(look)[number]),
            strokeWidth=1.6,
            clip=True,
        )
        .encode(x=x, y=y)
    )
    return drawn


def _magnitudes(
    curves: Sequence[Curve], span: tuple[float, float], plot: int, look: Look
) -> alt.LayerChart:
    every = np.concatenate([np.concatenate((c.magnitude, np.abs(c.line))) for c in curves])
    low, high = float(every.min()) / 1.1, float(every.max()) * 1.1
    ticks = [tick for tick in (1, 2, 4, 8, 16, 32, 64, 128, 256, 512) if low <= tick <= high]
    x = _hertz(span, named=False)
    y = _up("ohms [Ω]", (low, high), _HIGH, ticks=[float(tick) for tick in ticks], log=True)
    layers = [_points(curve, curve.magnitude, n, x, y, look) for n, curve in enumerate(curves)]
    layers += [_line(curve, np.abs(curve.line), n, x, y, look) for n, curve in enumerate(curves)]
    for number, curve in enumerate(curves):
        at = 12.0 + 18.0 * number
        colour = _colours(look)[number]
        layers.append(_key(number, plot + 12, at, look))
        layers.append(label(curve.says, plot + 24, at, look, color=colour))
    return layered(layers, plot, _HIGH)


def _key(number: int, x: float, y: float, look: Look) -> alt.Chart:
    """A point of a curve's own shape, beside its name."""
    import altair as alt

    drawn: alt.Chart = (
        drawn_from([{}])
        .mark_point(shape=_SHAPES[number], size=42, color=_colours(look)[number], filled=True)
        .encode(x=alt.value(x), y=alt.value(y))
    )
    return drawn


def _phases(
    curves: Sequence[Curve], span: tuple[float, float], plot: int, look: Look
) -> alt.LayerChart:
    x = _hertz(span, named=False)
    y = _up("phase [°]", (-90.0, 90.0), _MIDDLE, ticks=[-90.0, -45.0, 0.0, 45.0, 90.0])
    layers = []
    for number, curve in enumerate(curves):
        if curve.phase is not None:
            layers.append(_points(curve, np.rad2deg(curve.phase), number, x, y, look))
            layers.append(_line(curve, np.angle(curve.line, deg=True), number, x, y, look))
    return layered(layers, plot, _MIDDLE)


def _misses(
    curves: Sequence[Curve], span: tuple[float, float], plot: int, look: Look
) -> alt.LayerChart:
    misses = [100.0 * np.log(curve.magnitude / np.abs(curve.fitted)) for curve in curves]
    # The few points that were left out of the fit may lie far off: they need not set the scale.
    reach = max(float(np.quantile(np.abs(np.concatenate(misses)), 0.98)) * 1.3, 0.5)
    step = next((s for s in (0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0) if s >= reach / 3.0), 50.0)
    ticks = [step * k for k in range(-3, 4) if abs(step * k) <= reach]
    x = _hertz(span, named=True)
    y = _up("measured over fitted [%]", (-reach, reach), _LOW, ticks=ticks)
    layers = [
        _points(curve, np.clip(miss, -reach, reach), number, x, y, look)
        for number, (curve, miss) in enumerate(zip(curves, misses, strict=True))
    ]
    import altair as alt

    zero = (
        drawn_from([{"value": 0.0}])
        .mark_rule(color=look.ink, strokeWidth=1.0)
        .encode(y=alt.Y("value:Q", scale=alt.Scale(domain=[-reach, reach], range=[_LOW, 0])))
    )
    return layered([*layers, zero], plot, _LOW)
