"""Charts of the low-voltage cutoff: one discharge, one sweep, the thresholds over tolerance."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from boomwright.paper.charts import themed
from boomwright.paper.discharge import discharge_chart
from boomwright.paper.given import (
    gap_words,
    plot_width,
    rule,
    series,
    states,
    volts_words,
)
from boomwright.paper.look import LIGHT, Look
from boomwright.paper.marks import (
    ROW,
    VOLTS_TITLE,
    Span,
    across,
    drawn_from,
    flags,
    flags_fit,
    label,
    layered,
    rows,
    up,
)
from boomwright.paper.room import extremes_kept, text_width
from boomwright.paper.thresholds import threshold_chart

if TYPE_CHECKING:
    import altair as alt
    from numpy.typing import ArrayLike, NDArray

    from boomwright.paper.charts import TopChart

    Numbers = NDArray[np.float64]

__all__ = ["discharge_chart", "sweep_chart", "threshold_chart"]


def sweep_chart(
    volts_down: ArrayLike,
    state_down: ArrayLike,
    volts_up: ArrayLike,
    state_up: ArrayLike,
    *,
    off_volts: float | None,
    on_volts: float | None,
    output_volts: bool = False,
    look: Look = LIGHT,
    title: str = "Sweep of the battery volts, down and up",
    width: int = 760,
) -> TopChart:
    """Contact or output against battery volts, once falling and once rising, with the gap.

    Parameters
    ----------
    volts_down, volts_up : array (points,)
        Battery volts in the order they were set, falling and rising [V].
    state_down, state_up : array (points,)
        Contact closed or open, or with ``output_volts`` the volts after the cutoff [V].
    off_volts : float or None
        Where the cutoff lets go [V]; None if it never did.
    on_volts : float or None
        Where it comes back [V]; None if it never did.
    output_volts : bool
        Whether the states are volts instead of closed or open.
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
        If an array cannot be drawn or runs the wrong way, or the width does not serve.
    """
    down, up_ = _swept("volts down", volts_down, -1.0), _swept("volts up", volts_up, 1.0)
    if output_volts:
        fell = series("output down", state_down, "V", down.size)
        rose = series("output up", state_up, "V", up_.size)
    else:
        fell = states("state down", state_down, down.size).astype(np.float64)
        rose = states("state up", state_up, up_.size).astype(np.float64)
    rules = []
    if off_volts is not None:
        rules.append(rule("lets go at", "off volts", off_volts, look.off_dash))
    if on_volts is not None:
        rules.append(rule("comes back at", "on volts", on_volts, look.on_dash))
    every = np.concatenate((down, up_, [rule.at for rule in rules]))
    plot, height = plot_width(width, 14), 250
    span = flags_fit(rules, (float(every.min()), float(every.max())), plot, look)
    marks, strip = flags(rules, span, plot, height, look)
    gap = on_volts - off_volts if off_volts is not None and on_volts is not None else 0.0
    layers: list[Any] = []
    if gap > 0.0 and off_volts is not None:
        strip += ROW
        layers += _gap(off_volts, gap, span, plot, strip, height, look)
    x = across("volts", span, VOLTS_TITLE)
    if output_volts:
        both = np.concatenate((fell, rose, [0.0]))
        reach = (float(both.min()), float(both.max()) or 1.0)
        ends = (float(height), strip + 12.0)
        y = up("output", reach, "volts after the cutoff [V]", ends)
    else:
        reach, ends = (0.0, 1.0), (height - 14.0, strip + 20.0)
        y = _contact_axis(ends)
    layers += marks
    # Three pixels apart, the two ways do not hide each other where the states are only two.
    shift = 0.0 if output_volts else 3.0
    ways = (
        (down, fell, look.copper, look.copper_dash, "triangle-left", shift, (0.22, 0.9)),
        (up_, rose, look.wave, look.wave_dash, "triangle-right", -shift, (0.22, 0.9)),
    )
    for volts, state, colour, dash, shape, off, spots in ways:
        kept = extremes_kept(np.abs(volts - volts[0]), state, plot)
        columns = rows(volts=volts[kept], output=state[kept], step=kept)
        path = drawn_from(columns).encode(x=x, y=y, order="step:Q")
        layers.append(
            path.mark_line(color=colour, strokeDash=list(dash), strokeWidth=2, yOffset=off)
        )
        at = [int(spot * (volts.size - 1)) for spot in spots]
        arrows = rows(volts=volts[at], output=state[at])
        layers.append(
            drawn_from(arrows)
            .mark_point(shape=shape, fill=colour, stroke=colour, size=90, opacity=1, yOffset=off)
            .encode(x=x, y=y)
        )

    def high(value: float) -> float:
        return ends[0] + (ends[1] - ends[0]) * (value - reach[0]) / (reach[1] - reach[0])

    right = plot * (float(down[0]) - span[0]) / (span[1] - span[0])
    left = plot * (float(up_[0]) - span[0]) / (span[1] - span[0])
    # On the shade of the gap only ink stands out enough.
    room = text_width("falling", look.text_size) + 8.0
    inks = [look.copper, look.wave]
    if gap > 0.0 and off_volts is not None and on_volts is not None:
        begin, end = (plot * (at - span[0]) / (span[1] - span[0]) for at in (off_volts, on_volts))
        inks = [
            look.ink if begin < last and end > first else color
            for first, last, color in (
                (right - room, right, look.copper),
                (left, left + room, look.wave),
            )
        ]
    layers.append(
        label("falling", right - 4, high(fell[0]) + 22, look, align="right", color=inks[0])
    )
    layers.append(label("rising", left + 6, high(rose[0]) - 20, look, color=inks[1]))
    drawn = layered(layers, plot, height)
    return themed(drawn, look, title, _sweep_words(off_volts, on_volts), width=width)


def _contact_axis(ends: Span) -> alt.Y:
    import altair as alt

    says = "datum.value > 0.5 ? 'closed' : 'open'"
    return alt.Y(
        "output:Q",
        axis=alt.Axis(title="contact", values=[0.0, 1.0], labelExpr=says),
        scale=alt.Scale(domain=[0.0, 1.0], range=list(ends), nice=False),
    )


def _swept(what: str, value: ArrayLike, way: float) -> Numbers:
    volts = series(what, value, "V")
    if (way * np.diff(volts) < 0.0).any() or volts[0] == volts[-1]:
        wanted = "rise" if way > 0.0 else "fall"
        raise ValueError(
            f"{what}: got {volts[0]:g} to {volts[-1]:g} V, must {wanted} and never turn back"
        )
    return volts


def _gap(
    off: float, gap: float, span: Span, plot: int, strip: int, height: int, look: Look
) -> list[alt.Chart]:
    """Shade between the thresholds, with an arrow across it and its size beside or inside."""
    import altair as alt

    scale = plot / (span[1] - span[0])
    left, right = (off - span[0]) * scale, (off + gap - span[0]) * scale
    says, y = f"gap {gap_words(gap)}", strip - ROW / 2.0
    here: list[dict[str, Any]] = [{}]
    layers = [
        drawn_from(here)
        .mark_rect(color=look.wash)
        .encode(x=alt.value(left), x2=alt.value(right), y=alt.value(strip - ROW),
                y2=alt.value(height)),
    ]  # fmt: skip
    room = text_width(says, look.text_size)
    if right - left > room + 44.0:
        middle = (left + right) / 2.0
        spans = [(left, middle - room / 2.0 - 5.0), (middle + room / 2.0 + 5.0, right)]
        layers.append(label(says, middle, y, look, align="center"))
    else:
        spans = [(left, right)]
        beside = left - room - 8.0 >= 0.0
        place = left - 6.0 if beside else right + 6.0
        layers.append(label(says, place, y, look, align="right" if beside else "left"))
    layers += [
        drawn_from(here)
        .mark_rule(color=look.quiet)
        .encode(x=alt.value(begin), x2=alt.value(end), y=alt.value(y))
        for begin, end in spans
    ]
    if right - left > 16.0:
        layers += [
            drawn_from(here)
            .mark_point(shape=shape, fill=look.quiet, stroke=look.quiet, size=36, opacity=1)
            .encode(x=alt.value(place), y=alt.value(y))
            for shape, place in (("triangle-left", left + 4.0), ("triangle-right", right - 4.0))
        ]
    return layers


def _sweep_words(off_volts: float | None, on_volts: float | None) -> str:
    if off_volts is None:
        return "It does not let go within the sweep."
    lets_go = f"Falling, it lets go at {volts_words(off_volts)}."
    if on_volts is None:
        return f"{lets_go} Rising, it does not come back within the sweep."
    gap = on_volts - off_volts
    shown = f"a gap of {gap_words(gap)}" if gap > 0.0 else "no gap"
    return f"{lets_go} Rising, it comes back at {volts_words(on_volts)}: {shown}."
