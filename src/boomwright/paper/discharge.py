"""Chart of one discharge through the cutoff: volts, current and contact on one time axis."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from boomwright.paper.charts import themed
from boomwright.paper.given import plot_width, rule, series, states, time_words
from boomwright.paper.look import LIGHT, Look
from boomwright.paper.marks import (
    VOLTS_TITLE,
    Rule,
    Span,
    across,
    drawn_from,
    label,
    layered,
    levels,
    line,
    up,
    wash,
)
from boomwright.paper.room import text_width

if TYPE_CHECKING:
    import altair as alt
    from numpy.typing import ArrayLike, NDArray

    from boomwright.paper.charts import TopChart

    Numbers = NDArray[np.float64]
    States = NDArray[np.bool_]

__all__ = ["discharge_chart"]

_CLOCKS = ((10800.0, 3600.0, "hours"), (180.0, 60.0, "minutes"), (1.0, 1.0, "seconds"))
_FAST_PIXELS = 6.0
"""A cycle of the contact narrower than this cannot be read as single openings."""
_FEWEST_CYCLES = 3
_SHOWN_CYCLES = 4
_BAND = 32


@dataclass(frozen=True)
class _Contact:
    """When the contact moves, and the runs of moves too fast to draw one by one."""

    time: Numbers
    closed: States
    moves: NDArray[np.intp]
    runs: tuple[tuple[int, int], ...]

    @property
    def openings(self) -> int:
        return int(np.count_nonzero(~self.closed[self.moves]))

    @property
    def stretches(self) -> list[Span]:
        """Begin and end of each run [s]."""
        at = self.time[self.moves]
        return [(float(at[first]), float(at[last])) for first, last in self.runs]


def discharge_chart(
    time: ArrayLike,
    battery_volts: ArrayLike,
    load_current: ArrayLike,
    contact_closed: ArrayLike,
    *,
    off_volts: float,
    on_volts: float | None,
    look: Look = LIGHT,
    title: str = "Discharge through the cutoff",
    width: int = 760,
) -> TopChart:
    """Battery volts, load current and contact over one discharge, on one time axis.

    Where the contact chatters, the stretch is shaded and its first cycles are drawn large below.

    Parameters
    ----------
    time : array (points,)
        Time, never falling [s].
    battery_volts : array (points,)
        Volts of the battery [V].
    load_current : array (points,)
        Current into the load [A].
    contact_closed : array (points,)
        Whether the contact is closed.
    off_volts : float
        Where the cutoff lets go on the way down [V].
    on_volts : float or None
        Where it comes back on the way up [V]; None for one that stays open.
    look : Look
        Colours and letters.
    title : str
        Heading.
    width : int
        Width of the whole picture [px].

    Returns
    -------
    altair chart
        Three panels, and with chatter a fourth.

    Raises
    ------
    ValueError
        If an array cannot be drawn, a threshold is no number or the width does not serve.
    """
    import altair as alt

    clock = series("time", time, "s")
    volts = series("battery volts", battery_volts, "V", clock.size)
    amps = series("load current", load_current, "A", clock.size)
    closed = states("contact", contact_closed, clock.size)
    if (np.diff(clock) < 0.0).any() or clock[-1] <= clock[0]:
        raise ValueError(f"time: got {clock[0]:g} to {clock[-1]:g} s, must rise and never fall")
    rules = [rule("off", "off volts", off_volts, look.off_dash)]
    if on_volts is not None:
        rules.append(rule("on", "on volts", on_volts, look.on_dash))
    moves = np.flatnonzero(np.diff(closed.astype(np.int8))) + 1
    openings = int(np.count_nonzero(~closed[moves]))
    opens = {0: "never opens", 1: "opens once"}.get(openings, f"opens {openings} times")
    labels = (*(rule.says for rule in rules), opens)
    beside = max(text_width(text, look.text_size) for text in labels)
    plot = plot_width(width, 1.12 * beside + 10)
    fast = _FAST_PIXELS * float(clock[-1] - clock[0]) / plot
    contact = _Contact(clock, closed, moves, _fast_runs(clock[moves], fast))
    unit, unit_name = _clock(float(clock[-1] - clock[0]))
    span = (float(clock[0]) / unit, float(clock[-1]) / unit)
    blank, bottom = across("time", span, None), across("time", span, unit_name)
    shade = wash([(begin / unit, end / unit) for begin, end in contact.stretches], blank, look)

    volts_panel = _volts_panel(clock / unit, volts, rules, blank, plot, 190, look, shade)
    milli = float(np.abs(amps).max()) < 0.5
    current = amps * (1000.0 if milli else 1.0)
    top = float(current.max())
    reach = (min(float(current.min()), 0.0), top * 1.08 if top > 0.0 else 1.0)
    y = up("current", reach, f"load current [{'mA' if milli else 'A'}]", (90, 0))
    current_line = line(clock / unit, current, blank, y, plot, look)
    panels: list[Any] = [
        volts_panel,
        layered([shade, current_line], plot, 90),
        _contact_panel(contact, unit, bottom, plot, look, says=opens),
    ]
    if contact.runs:
        panels.append(_first_cycles(contact, volts, rules, plot, look))
    return themed(alt.vconcat(*panels), look, title, _contact_words(contact), width=width)


def _volts_panel(
    along: Numbers,
    volts: Numbers,
    rules: Sequence[Rule],
    x: alt.X,
    plot: int,
    height: int,
    look: Look,
    *under: alt.Chart,
) -> alt.LayerChart:

    every = np.concatenate((volts, [rule.at for rule in rules]))
    low, high = float(every.min()), float(every.max())
    edge = 0.08 * (high - low) or 0.5
    span = (low - edge, high + edge)
    y = up("volts", span, VOLTS_TITLE, (height, 0))
    drawn = line(along, volts, x, y, plot, look)
    return layered([*under, drawn, *levels(rules, y, span, plot, height, look)], plot, height)


def _first_cycles(
    contact: _Contact, volts: Numbers, rules: Sequence[Rule], plot: int, look: Look
) -> alt.VConcatChart:
    """The start of the first chatter, drawn large."""
    import altair as alt

    first, end = contact.runs[0]
    last = min(end, first + 2 * _SHOWN_CYCLES)
    begin, end_time = (float(contact.time[contact.moves[n]]) for n in (first, last))
    lead = (end_time - begin) / (last - first)
    inside = np.flatnonzero((contact.time >= begin - lead) & (contact.time <= end_time + lead))
    unit, unit_name = _clock(end_time - begin + 2.0 * lead)
    near = contact.closed[inside]
    cycles = _Contact(
        contact.time[inside] - begin, near, np.flatnonzero(np.diff(near.astype(np.int8))) + 1, ()
    )
    span = (float(cycles.time[0]) / unit, float(cycles.time[-1]) / unit)
    blank = across("time", span, None)
    bottom = across("time", span, f"{unit_name} after {time_words(begin)}")
    heading = {
        "text": "The first cycles of the chatter",
        "fontSize": look.text_size + 1,
        "offset": 8,
    }
    return alt.vconcat(
        _volts_panel(cycles.time / unit, volts[inside], rules, blank, plot, 120, look),
        _contact_panel(cycles, unit, bottom, plot, look, says=""),
        title=heading,
    )


def _contact_panel(
    contact: _Contact, unit: float, x: alt.X, plot: int, look: Look, *, says: str
) -> alt.LayerChart:
    """A band that is full while the contact is closed, empty while open, half-tone in chatter."""
    import altair as alt

    edges = np.concatenate(([0], contact.moves, [contact.time.size - 1]))
    inner = np.zeros(edges.size - 1, dtype=bool)
    for first, last in contact.runs:
        inner[first + 1 : last + 1] = True
    begins, ends = edges[:-1][~inner], edges[1:][~inner]
    bands: dict[str, list[dict[str, Any]]] = {"closed": [], "open": [], "chatters": []}
    for begin, end in zip(begins, ends, strict=True):
        state = "closed" if contact.closed[begin] else "open"
        bands[state].append(_band(contact.time[begin], contact.time[end], unit, state))
    for begin, end in contact.stretches:
        bands["chatters"].append(_band(begin, end, unit, "chatters"))

    y = alt.Y(
        "level:Q",
        axis=alt.Axis(
            title=None,
            values=[0.0, 1.0],
            grid=False,
            labelExpr="datum.value > 0.5 ? 'closed' : 'open'",
        ),
        scale=alt.Scale(domain=[0.0, 1.0], nice=False),
    )
    layers: list[Any] = []
    for state, opacity in (("closed", 0.85), ("chatters", 0.4)):
        layers.append(
            drawn_from(bands[state])
            .mark_rect(color=look.copper, opacity=opacity)
            .encode(x=x, x2="end:Q", y=y, y2=alt.value(_BAND))
        )
    layers.append(
        drawn_from(bands["open"])
        .mark_rule(color=look.copper, strokeWidth=1.6)
        .encode(x=x, x2="end:Q", y=y)
    )
    if says:
        layers.append(label(says, plot + 12, _BAND / 2.0, look))
    return layered(layers, plot, _BAND)


def _band(begin: float, end: float, unit: float, state: str) -> dict[str, Any]:
    return {
        "time": float(begin) / unit,
        "end": float(end) / unit,
        "contact": state,
        "level": 0.0 if state == "open" else 1.0,
    }


def _fast_runs(moves: Numbers, fast: float) -> tuple[tuple[int, int], ...]:
    """First and last number of the moves in each run of cycles that are faster than ``fast``."""
    if moves.size < 2 * _FEWEST_CYCLES:
        return ()
    quick = np.concatenate(([False], moves[2:] - moves[:-2] < fast, [False])).astype(np.int8)
    begins, ends = np.flatnonzero(np.diff(quick) == 1), np.flatnonzero(np.diff(quick) == -1) + 1
    return tuple(
        (int(first), int(last))
        for first, last in zip(begins, ends, strict=True)
        if last - first + 1 >= 2 * _FEWEST_CYCLES and moves[last] > moves[first]
    )


def _contact_words(contact: _Contact) -> str:
    if contact.runs:
        first, last = contact.runs[0]
        begin, end = contact.stretches[0]
        opens = int(np.count_nonzero(~contact.closed[contact.moves[first : last + 1]]))
        cycle = 2.0 * (end - begin) / (last - first)
        rest = contact.openings - opens
        return (
            f"From {time_words(begin)} on the contact chatters: it opens {opens} times in "
            f"{time_words(end - begin)}, about every {time_words(cycle)}"
            f"{f', and {rest} times more outside that stretch' if rest else ''}."
        )
    if not contact.openings:
        if contact.moves.size:
            return f"The contact closes at {time_words(float(contact.time[contact.moves[0]]))}."
        return f"The contact stays {'closed' if contact.closed[0] else 'open'} throughout."
    opened = contact.moves[~contact.closed[contact.moves]]
    first_time = time_words(float(contact.time[opened[0]]))
    if contact.openings == 1:
        stays = " and stays open" if not contact.closed[opened[0] :].any() else ""
        return f"The contact opens at {first_time}{stays}."
    return f"The contact opens {contact.openings} times, first at {first_time}."


def _clock(span: float) -> tuple[float, str]:
    """Seconds in the unit that shows a span of time best, and its name."""
    return next(
        ((unit, name) for least, unit, name in _CLOCKS if span >= least), (1e-3, "milliseconds")
    )
