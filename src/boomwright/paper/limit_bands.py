"""Bands and signs that tell which limit rules where: by shape and word as well as by colour."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from boomwright.paper.look import Look
from boomwright.paper.marks import drawn_from, label, layered, rows
from boomwright.paper.room import text_width

if TYPE_CHECKING:
    import altair as alt
    from numpy.typing import NDArray

    Numbers = NDArray[np.float64]
    Ruling = NDArray[np.intp]

__all__ = ["MOST_LIMITS", "ROW", "flow", "limit_bands", "limit_signs"]

ROW: Final = 18
"""Height of a row of a key [px]."""

_GAP = 16
_BAND, _BAND_GAP = 26, 6
_SIGN = 9.0
_MARKED = 14
_SHAPES: Final = ("circle", "diamond", "triangle-down", "cross", "square", "triangle-up")

MOST_LIMITS: Final = len(_SHAPES)
"""How many limits can be told apart."""


def flow(widths: Sequence[float], plot: int) -> tuple[list[tuple[float, int]], int]:
    """Left end and row of entries that follow each other, and how many rows they take."""
    placed: list[tuple[float, int]] = []
    row, left = 0, 0.0
    for wide in widths:
        if left and left + wide > plot:
            row, left = row + 1, 0.0
        placed.append((left, row))
        left += wide + _GAP
    return placed, row + 1


def _colours(look: Look) -> tuple[str, ...]:
    return look.copper, look.stop, look.wave, look.fine, look.mind, look.ink


def limit_signs(
    hertz: Numbers, level: Numbers, ruling: Ruling, x: alt.X, y: alt.Y, look: Look
) -> list[Any]:
    """Signs of the limits along a curve, evenly spread, at least one for each stretch."""
    layers: list[Any] = []
    every = max(1, hertz.size // _MARKED)
    for begin, end in _stretches(ruling):
        middle = np.arange(begin, end)[(end - begin) % every // 2 :: every]
        layers += _sign(
            rows(along=hertz[middle], value=level[middle]), int(ruling[begin]), x, y, look
        )
    return layers


def _sign(points: list[dict[str, Any]], number: int, x: alt.X, y: alt.Y, look: Look) -> list[Any]:
    drawn = (
        drawn_from(points)
        .mark_point(
            shape=_SHAPES[number], size=_SIGN**2, filled=True, opacity=1.0, clip=True,
            fill=_colours(look)[number], stroke=look.sheet, strokeWidth=1.2,
        )
        .encode(x=x, y=y)
    )  # fmt: skip
    return [drawn]


def _stretches(ruling: Ruling) -> list[tuple[int, int]]:
    """Begin and end of each stretch that one limit rules."""
    edges = np.concatenate(([0], np.flatnonzero(np.diff(ruling)) + 1, [ruling.size])).tolist()
    return list(pairwise(edges))


def limit_bands(
    hertz: Numbers,
    ruling: Ruling,
    *,
    states: Sequence[str],
    names: Sequence[str],
    x: alt.X,
    reach: tuple[float, float],
    plot: int,
    look: Look,
) -> alt.LayerChart:
    """A band for each state, cut where another limit takes over, below a key of the signs."""
    import altair as alt

    height = len(states) * (_BAND + _BAND_GAP)
    layers: list[Any] = []
    edges = np.concatenate(([reach[0]], np.sqrt(hertz[1:] * hertz[:-1]), [reach[1]]))
    decades = np.log(reach[1] / reach[0])
    for row, (state, ruled) in enumerate(zip(states, ruling, strict=True)):
        top = row * (_BAND + _BAND_GAP)
        layers.append(_state_label(state, top + _BAND / 2, look))
        for begin, end in _stretches(ruled):
            number = int(ruled[begin])
            low, high = float(edges[begin]), float(edges[end])
            colour = _colours(look)[number]
            layers.append(
                drawn_from([{"along": low, "end": high}])
                .mark_rect(color=colour, fillOpacity=0.2, stroke=colour, strokeWidth=1)
                .encode(x=x, x2="end:Q", y=alt.value(top), y2=alt.value(top + _BAND))
            )
            left = plot * float(np.log(low / reach[0]) / decades)
            wide = plot * float(np.log(high / low) / decades)
            layers += _named(number, names[number], left, wide, top + _BAND / 2, look)
    layers += _sign_key(sorted(set(ruling.ravel().tolist())), names, plot, look)
    return layered(layers, plot, height)


def _state_label(state: str, middle: float, look: Look) -> alt.Chart:
    import altair as alt

    words = state.split()
    written: alt.Chart = (
        drawn_from([{}])
        .mark_text(
            align="right", baseline="middle", text=words, fontSize=look.small_size,
            color=look.quiet, lineHeight=look.small_size + 1,
            dy=-(len(words) - 1) * (look.small_size + 1) / 2,
        )
        .encode(x=alt.value(-7), y=alt.value(middle))
    )  # fmt: skip
    return written


def _named(
    number: int, name: str, left: float, wide: float, middle: float, look: Look
) -> list[Any]:
    """Sign and word of a limit in the middle of its stretch, as far as they have room."""
    words = text_width(name, look.text_size)
    if wide < _SIGN + 3.0:
        return []
    if wide < words + _SIGN + 16.0:
        return [_loose_sign(number, left + wide / 2, middle, look)]
    start = left + (wide - words - _SIGN - 6.0) / 2
    return [
        _loose_sign(number, start + _SIGN / 2, middle, look),
        label(name, start + _SIGN + 6.0, middle, look),
    ]


def _loose_sign(number: int, left: float, middle: float, look: Look) -> alt.Chart:
    import altair as alt

    drawn: alt.Chart = (
        drawn_from([{}])
        .mark_point(
            shape=_SHAPES[number], size=_SIGN**2, filled=True, opacity=1.0,
            fill=_colours(look)[number], stroke=look.sheet, strokeWidth=1.2,
        )
        .encode(x=alt.value(left), y=alt.value(middle))
    )  # fmt: skip
    return drawn


def _sign_key(used: Sequence[int], names: Sequence[str], plot: int, look: Look) -> list[Any]:
    """Signs with their words above the bands."""
    widths = [_SIGN + 6 + text_width(names[number], look.text_size) for number in used]
    placed, count = flow(widths, plot)
    layers: list[Any] = []
    for number, (left, row) in zip(used, placed, strict=True):
        height = -14.0 - (count - 1 - row) * ROW
        layers.append(_loose_sign(number, left + _SIGN / 2, height, look))
        layers.append(label(names[number], left + _SIGN + 6, height, look))
    return layers
