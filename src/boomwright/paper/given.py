"""What a chart is given, checked, with the figures of its labels."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from boomwright.build.quantities import format_quantity
from boomwright.paper.charts import AXIS_ROOM, MARGIN
from boomwright.paper.look import Dash
from boomwright.paper.marks import Rule

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Numbers = NDArray[np.float64]

__all__ = [
    "gap_words",
    "number",
    "plot_width",
    "rule",
    "samples",
    "series",
    "states",
    "time_words",
    "volts_words",
]

_NARROWEST, _WIDEST = 420, 4000


def series(what: str, value: ArrayLike, unit: str, points: int | None = None) -> Numbers:
    """One finite number for each point, at least two points."""
    try:
        found = np.asarray(value, dtype=np.float64)
    except (TypeError, ValueError):
        raise ValueError(f"{what}: got something else than numbers [{unit}]") from None
    if found.ndim != 1 or found.size < 2:
        raise ValueError(f"{what}: got shape {found.shape}, must be one row of at least 2 points")
    if points is not None and found.size != points:
        raise ValueError(f"{what}: got {found.size} points, must be {points}")
    if not np.isfinite(found).all():
        wrong = int(np.flatnonzero(~np.isfinite(found))[0])
        raise ValueError(f"{what}: got {found[wrong]} {unit} at point {wrong}, must be finite")
    return found


def states(what: str, value: ArrayLike, points: int) -> NDArray[np.bool_]:
    """Closed or open for each point; numbers may be 0 and 1 only."""
    found = series(what, value, "0 or 1", points)
    wrong = found[(found != 0.0) & (found != 1.0)]
    if wrong.size:
        raise ValueError(f"{what}: got {wrong[0]:g}, must be 0 (open) or 1 (closed)")
    closed: NDArray[np.bool_] = found != 0.0
    return closed


def samples(what: str, value: ArrayLike) -> Numbers:
    """Volts of each sample; not-a-number for one that never switches."""
    found = np.asarray(value, dtype=np.float64)
    if found.ndim != 1 or found.size < 1:
        raise ValueError(f"{what}: got shape {found.shape}, must be one row of at least 1 sample")
    if np.isinf(found).any():
        raise ValueError(f"{what}: got an infinite value, must be volts or not-a-number")
    return found


def number(what: str, value: float, unit: str) -> float:
    """One finite number."""
    if not np.isfinite(value):
        raise ValueError(f"{what}: got {value:g} {unit}, must be finite")
    return float(value)


def rule(says: str, what: str, volts: float, dash: Dash) -> Rule:
    """Rule at a voltage, labelled with its figure."""
    at = number(what, volts, "V")
    return Rule(f"{says} {volts_words(at)}", at, dash)


def plot_width(width: int, beside: float) -> int:
    """Width of the plot when the picture and the room at its right are given [px]."""
    if not _NARROWEST <= width <= _WIDEST:
        raise ValueError(f"width: got {width} px, must be {_NARROWEST} to {_WIDEST} px")
    return int(width - 2 * MARGIN - AXIS_ROOM - beside)


def volts_words(volts: float) -> str:
    """Volts as a label shows them."""
    return format_quantity(volts, "voltage", digits=4)


def gap_words(volts: float) -> str:
    """A difference of volts as a label shows it."""
    # Meter in hand, a builder reads 0.8 V, not 800 mV.
    if 0.1 <= volts < 1.0:
        return f"{volts:.2g} V"
    return format_quantity(volts, "voltage", digits=2)


def time_words(seconds: float) -> str:
    """A time as a heading shows it."""
    return format_quantity(seconds, "time", digits=3 if seconds >= 3600.0 else 2)
