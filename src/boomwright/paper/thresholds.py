"""Chart of the thresholds of a cutoff over tolerance: how often each comes out where."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from boomwright.paper.charts import themed
from boomwright.paper.given import number, plot_width, rule, samples, volts_words
from boomwright.paper.look import LIGHT, Look
from boomwright.paper.marks import (
    VOLTS_TITLE,
    Rule,
    Span,
    across,
    drawn_from,
    flags,
    flags_fit,
    layered,
    rows,
    up,
    wash,
)
from boomwright.paper.room import wrapped

if TYPE_CHECKING:
    import altair as alt
    from numpy.typing import ArrayLike, NDArray

    from boomwright.paper.charts import TopChart

    Numbers = NDArray[np.float64]

__all__ = ["threshold_chart"]

_BINS = 110


def threshold_chart(
    off_samples: ArrayLike,
    on_samples: ArrayLike | None,
    *,
    wanted_off: float,
    wanted_on: float | None,
    floor: float,
    full: float,
    off_limits: Span | None,
    on_limits: Span | None,
    look: Look = LIGHT,
    title: str = "Thresholds over tolerance",
    width: int = 760,
) -> TopChart:
    """How often each off and on threshold comes out when every part lies within its tolerance.

    Parameters
    ----------
    off_samples : array (samples,)
        Where each sample lets go [V]; not-a-number for one that never does.
    on_samples : array (samples,) or None
        Where each comes back [V]; None for a circuit that stays open.
    wanted_off : float
        Wanted off threshold [V].
    wanted_on : float or None
        Wanted on threshold [V]; None if there is none.
    floor : float
        Volts below which the chemistry suffers [V].
    full : float
        Volts of a full battery at rest [V].
    off_limits, on_limits : (float, float) or None
        Lowest and highest threshold that would do [V]; None where nothing is asked.
    look : Look
        Colours and letters.
    title : str
        Heading.
    width : int
        Width of the whole picture [px].

    Returns
    -------
    altair chart
        Two panels on one axis of volts, or one for a circuit that stays open.

    Raises
    ------
    ValueError
        If samples or limits cannot be drawn, a value is no number or the width does not serve.
    """
    import altair as alt

    kinds = [
        _Kind("lets go", samples("off samples", off_samples),
              rule("wanted", "wanted off", wanted_off, look.off_dash),
              _limits("off limits", off_limits), look.copper)
    ]  # fmt: skip
    if on_samples is not None:
        wanted = None
        if wanted_on is not None:
            wanted = rule("wanted", "wanted on", wanted_on, look.on_dash)
        given = samples("on samples", on_samples)
        limits = _limits("on limits", on_limits)
        kinds.append(_Kind("comes back", given, wanted, limits, look.wave))
    marked = [
        rule("floor of the chemistry", "floor", floor, look.limit_dash),
        rule("full battery", "full", full, look.limit_dash),
    ]
    plot = plot_width(width, 6)
    span = _threshold_span(kinds, marked, plot, look)
    step = _bin_width(kinds, span)
    panels: list[Any] = [
        _histogram(kind, marked, span, step, plot, look, last=kind is kinds[-1]) for kind in kinds
    ]
    count = kinds[0].volts.size
    says = f"{count} sample{'' if count == 1 else 's'}, every part drawn within its tolerance."
    if on_samples is None:
        says += " It stays open until someone resets it."
    return themed(alt.vconcat(*panels), look, title, says, width=width)


@dataclass(frozen=True)
class _Kind:
    """One of the two thresholds: its samples and what is wanted of it."""

    does: str
    volts: Numbers
    wanted: Rule | None
    limits: Span | None
    color: str

    @property
    def found(self) -> Numbers:
        return self.volts[~np.isnan(self.volts)]

    def words(self) -> str:
        found, every = self.found, self.volts.size
        if not found.size:
            return f"Never {self.does}."
        low, middle, high = (float(np.quantile(found, share)) for share in (0.05, 0.5, 0.95))
        says = f"middle {volts_words(middle)}"
        if low < high:
            says += f", 9 of 10 from {volts_words(low)} to {volts_words(high)}"
        if self.limits is not None:
            inside = (found >= self.limits[0]) & (found <= self.limits[1])
            window = f"{volts_words(self.limits[0])} to {volts_words(self.limits[1])}"
            says += f"; {_share(int(inside.sum()), every)} within {window}"
        if found.size < every:
            says += f"; {_share(every - found.size, every)} never"
        return says


def _share(part: int, whole: int) -> str:
    """A share in words: nearly all is never rounded up to all, hardly any never down to none."""
    if part in (0, whole):
        return "all" if part else "none"
    return f"{min(max(100.0 * part / whole, 0.1), 99.9):.1f} %"


def _limits(what: str, limits: Span | None) -> Span | None:
    if limits is None:
        return None
    low, high = (number(what, limit, "V") for limit in limits)
    if low >= high:
        raise ValueError(f"{what}: got {low:g} to {high:g} V, must rise")
    return low, high


def _threshold_span(kinds: Sequence[_Kind], marked: Sequence[Rule], plot: int, look: Look) -> Span:
    rules = [*marked, *(kind.wanted for kind in kinds if kind.wanted is not None)]
    every = np.concatenate(
        [kind.found for kind in kinds]
        + [np.asarray(kind.limits) for kind in kinds if kind.limits is not None]
        + [np.asarray([rule.at for rule in rules])]
    )
    low, high = float(every.min()), float(every.max())
    edge = 0.03 * (high - low) or 0.5
    return flags_fit(rules, (low - edge, high + edge), plot, look)


def _bin_width(kinds: Sequence[_Kind], span: Span) -> float:
    """Width of the bars: 1, 2 or 5 times a power of ten, so that their edges are round."""
    # Twice the middle half of the samples over the cube root of their number (Freedman and
    # Diaconis, 1981): fewer samples, wider bars.
    fair = [
        2.0 * float(np.diff(np.quantile(kind.found, (0.25, 0.75)))[0]) / kind.found.size ** (1 / 3)
        for kind in kinds
        if kind.found.size
    ]
    raw = max(min(fair, default=0.0), (span[1] - span[0]) / _BINS)
    power = 10.0 ** np.floor(np.log10(raw))
    return float(power * next(step for step in (1.0, 2.0, 5.0, 10.0) if step * power >= raw))


def _histogram(
    kind: _Kind,
    marked: Sequence[Rule],
    span: Span,
    step: float,
    plot: int,
    look: Look,
    *,
    last: bool,
) -> alt.LayerChart:
    import altair as alt

    slots = np.floor(kind.found / step + 1e-9).astype(np.int64)
    slot, count = np.unique(slots, return_counts=True)
    share = 100.0 * count / kind.volts.size
    bars = rows(volts=slot * step, end=(slot + 1) * step, share=share)
    rules = [*marked, *([kind.wanted] if kind.wanted is not None else [])]
    height = 150
    marks, strip = flags(rules, span, plot, height, look)
    x = across("volts", span, VOLTS_TITLE if last else None)
    top = float(share.max(initial=0.0)) * 1.05 or 1.0
    y = up("share", (0.0, top), "share of samples [%]", (height, strip + 8.0))
    drawn = (
        drawn_from(bars).mark_rect(color=kind.color).encode(x=x, x2="end:Q", y=y, y2=alt.datum(0))
    )
    shade = wash([kind.limits] if kind.limits is not None else [], x, look, top=strip)
    heading = f"{kind.does[0].upper()}{kind.does[1:]}"
    title = {
        "text": heading,
        "subtitle": wrapped(kind.words(), plot + 40, look.text_size),
        "fontSize": look.text_size + 1,
        "offset": 10,
        "subtitlePadding": 4,
    }
    return layered([shade, drawn, *marks], plot, height, title)
