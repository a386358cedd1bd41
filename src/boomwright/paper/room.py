"""Room for what a chart says: points that are drawn, widths of text, labels kept apart."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["extremes_kept", "flag_rows", "spread_apart", "text_width", "wrapped"]

_NARROW, _WIDE = frozenset("iljftrI.,:;'|!()[] "), frozenset("mwMW@%")


def extremes_kept(
    place: NDArray[np.float64], value: NDArray[np.float64], slots: int
) -> NDArray[np.intp]:
    """Which points to draw so that no peak or dip is lost.

    Of each slot along the way, the first, last, lowest and highest point stay.

    Parameters
    ----------
    place : array (points,)
        Where each point stands, never falling.
    value : array (points,)
        Its value.
    slots : int
        Number of equal stretches, such as the pixels of the plot.

    Returns
    -------
    array of int
        Numbers of the points, in order; at most four for each slot.

    Examples
    --------
    >>> way = np.arange(1000.0)
    >>> kept = extremes_kept(way, np.where(way == 437.0, 9.0, 0.0), 10)
    >>> len(kept) <= 40, 437 in kept
    (True, True)
    """
    if place.size <= 4 * slots:
        return np.arange(place.size)
    share = (place - place[0]) / (place[-1] - place[0])
    slot = np.minimum((share * slots).astype(np.intp), slots - 1)
    order = np.lexsort((value, slot))
    ends = np.flatnonzero(np.diff(slot, prepend=-1))
    lasts = np.append(ends[1:], place.size) - 1
    return np.unique(np.concatenate((ends, lasts, order[ends], order[lasts])))


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width that a line of text needs, seldom too little.

    Parameters
    ----------
    text : str
        One line.
    size : float
        Height of the letters [px].
    bold : bool
        Whether the letters are bold.

    Returns
    -------
    float
        Width [px].

    Notes
    -----
    Counts with the advances of a wide open face, so that narrower ones fit too.

    Examples
    --------
    >>> text_width("12.8 V", 12) < text_width("12.8 volts", 12)
    True
    """
    ems = sum(0.36 if sign in _NARROW else 0.9 if sign in _WIDE else 0.63 for sign in text)
    return ems * size * (1.12 if bold else 1.0)


def wrapped(text: str, room: float, size: float, *, bold: bool = False) -> list[str]:
    """Text broken between words into lines that fit.

    Parameters
    ----------
    text : str
        Words; a line end starts a new line.
    room : float
        Width of the lines [px].
    size : float
        Height of the letters [px].
    bold : bool
        Whether the letters are bold.

    Returns
    -------
    list of str
        The lines; a word wider than the room stands alone.

    Examples
    --------
    >>> wrapped("lets go at 10.4 V", 70, 12)
    ['lets go at', '10.4 V']
    """
    lines = []
    for part in text.split("\n"):
        line = ""
        for word in part.split():
            longer = f"{line} {word}".strip()
            if line and text_width(longer, size, bold=bold) > room:
                lines.append(line)
                longer = word
            line = longer
        lines.append(line)
    return lines


def spread_apart(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Places near the wanted ones, with at least a gap between neighbours.

    Parameters
    ----------
    wanted : sequence of float
        Where the labels would best stand, in any order.
    gap : float
        Least distance of two.
    low, high : float
        Ends of the room; crossed only when it cannot hold them all.

    Returns
    -------
    list of float
        Places in the order of ``wanted``.

    Examples
    --------
    >>> spread_apart([50.0, 52.0], 16.0, 0.0, 100.0)
    [43.0, 59.0]
    """
    groups: list[list[int]] = []
    starts: list[float] = []
    for label in sorted(range(len(wanted)), key=lambda number: wanted[number]):
        group = [label]
        start = _group_start(group, wanted, gap, low, high)
        while groups and starts[-1] + len(groups[-1]) * gap > start:
            group = groups.pop() + group
            starts.pop()
            start = _group_start(group, wanted, gap, low, high)
        groups.append(group)
        starts.append(start)
    places = [0.0] * len(wanted)
    for group, start in zip(groups, starts, strict=True):
        for number, label in enumerate(group):
            places[label] = start + number * gap
    return places


def _group_start(
    group: list[int], wanted: Sequence[float], gap: float, low: float, high: float
) -> float:
    half = (len(group) - 1) * gap / 2.0
    middle = sum(wanted[label] for label in group) / len(group)
    return max(min(middle - half, high - 2.0 * half), low)


def flag_rows(poles: Sequence[float], widths: Sequence[float], gap: float = 10.0) -> list[int]:
    """Row for each label that flies to the right of an upright rule, like a flag from its pole.

    Parameters
    ----------
    poles : sequence of float
        Where the rules stand [px], in any order.
    widths : sequence of float
        Widths of the labels [px].
    gap : float
        Least distance of a label from the next rule [px].

    Returns
    -------
    list of int
        Rows counted upwards from 0; with each rule ending at its label, none crosses another's.

    Examples
    --------
    >>> flag_rows([0.0, 60.0, 300.0], [80.0, 80.0, 80.0])
    [1, 0, 0]
    """
    rows = [0] * len(poles)
    done: list[int] = []
    for label in sorted(range(len(poles)), key=lambda number: -poles[number]):
        under = [rows[o] for o in done if poles[o] < poles[label] + widths[label] + gap]
        rows[label] = max(under, default=-1) + 1
        done.append(label)
    return rows
