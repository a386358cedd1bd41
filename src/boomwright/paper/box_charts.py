"""Charts of one box: its bass, impedance, travel, air and delay, and which limit rules where."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from boomwright.build.quantities import format_quantity
from boomwright.design.box.curves import BoxCurves
from boomwright.paper.look import LIGHT, Look
from boomwright.paper.marks import Rule
from boomwright.paper.sound_charts import Line, Panel, curves_chart, limits_chart
from boomwright.physics.curves import response_corner
from boomwright.physics.limits import LIMITS, VENT_AIR_SPEED

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from boomwright.paper.charts import TopChart

    Numbers = NDArray[np.float64]

__all__ = ["bass_chart", "box_charts", "impedance_chart", "travel_chart"]

REACH: Final = (15.0, 1500.0)
"""Ends of the frequency axis of a box, whose business is the bass [Hz]."""

_STATES = ("battery full", "half", "nearly empty")
_DEEPEST = -30.0
_HALF_POWER = -3.0


def box_charts(
    curves: BoxCurves,
    *,
    others: Sequence[tuple[str, BoxCurves]] = (),
    xmax: float,
    radiator_xmax: float | None = None,
    title: str = "Box",
    look: Look = LIGHT,
    width: int = 760,
) -> dict[str, TopChart]:
    """Every chart of a box.

    Parameters
    ----------
    curves : BoxCurves
        What is drawn.
    others : sequence of (str, BoxCurves)
        Boxes whose bass stands beside it, five at most.
    xmax : float
        Travel of the cone, one way [m].
    radiator_xmax : float or None
        Travel of the passive radiator, one way [m].
    title : str
        What box it is.
    look : Look
        Colours and letters.
    width : int
        Width of each picture [px].

    Returns
    -------
    dict of str to altair chart
        bass, impedance, travel and limits.
    """
    return {
        "bass": bass_chart([(title, curves), *others], look=look, width=width),
        "impedance": impedance_chart([(title, curves)], look=look, width=width),
        "travel": travel_chart(
            curves, xmax=xmax, radiator_xmax=radiator_xmax, title=title, look=look, width=width
        ),
        "limits": limits_chart(
            curves.frequency,
            curves.clean,
            curves.ruling,
            states=_STATES,
            limits=LIMITS,
            look=look,
            title=f"Loudest clean sine: {title}",
            subtitle="At 1 m in half space; the bands below tell what limits it where.",
            width=width,
        ),
    }


def bass_chart(
    boxes: Sequence[tuple[str, BoxCurves]], *, look: Look = LIGHT, width: int = 760
) -> TopChart:
    """Bass over the flat level, and group delay below it, of one box or several.

    Parameters
    ----------
    boxes : sequence of (str, BoxCurves)
        Name of each box, and its curves; six at most.
    look : Look
        Colours and letters.
    width : int
        Width of the picture [px].

    Returns
    -------
    altair chart
        Two panels.
    """
    lines = [
        Line(name, curves.frequency, curves.response, number)
        for number, (name, curves) in enumerate(boxes)
    ]
    delays = [
        Line(name if len(boxes) > 1 else "", curves.frequency, 1e3 * curves.delay, number)
        for number, (name, curves) in enumerate(boxes)
    ]
    highest = max(float(np.max(_inside(line))) for line in lines)
    slowest = max(float(np.max(_inside(line))) for line in delays)
    panels = [
        Panel(
            "bass over the flat level [dB]",
            lines if len(boxes) > 1 else [Line("", lines[0].along, lines[0].values)],
            (_DEEPEST, max(6.0, 3.0 * np.ceil((highest + 1.0) / 3.0))),
            reach=REACH,
            rules=[Rule("half the power, -3 dB", _HALF_POWER, look.limit_dash)],
        ),
        Panel("group delay [ms]", delays, (0.0, _round(1.1 * slowest)), reach=REACH, height=130),
    ]
    ends = [response_corner(curves.frequency, curves.response, side="low") for _, curves in boxes]
    words = [
        f"{name}: 3 dB down at {format_quantity(float(end), 'frequency', digits=2)}"
        for (name, _), end in zip(boxes, ends, strict=True)
        if np.isfinite(end)
    ]
    return curves_chart(
        panels, look=look, title="Bass of the box", subtitle="\n".join(words), width=width
    )


def impedance_chart(
    boxes: Sequence[tuple[str, BoxCurves]], *, look: Look = LIGHT, width: int = 760
) -> TopChart:
    """Impedance of one driver in one box or several.

    Parameters
    ----------
    boxes : sequence of (str, BoxCurves)
        Name of each box, and its curves; six at most.
    look : Look
        Colours and letters.
    width : int
        Width of the picture [px].

    Returns
    -------
    altair chart
        One panel.
    """
    lines = [
        Line(name if len(boxes) > 1 else "", curves.frequency, curves.impedance, number)
        for number, (name, curves) in enumerate(boxes)
    ]
    highest = max(float(np.max(_inside(line))) for line in lines)
    panel = Panel("impedance of one driver [Ω]", lines, (0.0, _round(1.08 * highest)), reach=REACH)
    return curves_chart(
        [panel],
        look=look,
        title=f"Impedance: {boxes[0][0]}" if len(boxes) == 1 else "Impedance",
        subtitle="What to measure: a closed box has one hump, a tuned one two with its tuning in "
        "the dip between.",
        width=width,
    )


def travel_chart(
    curves: BoxCurves,
    *,
    xmax: float,
    radiator_xmax: float | None = None,
    title: str = "Box",
    look: Look = LIGHT,
    width: int = 760,
) -> TopChart:
    """Travel of the cone at full volts, and of the air in the vent or the passive radiator.

    Parameters
    ----------
    curves : BoxCurves
        What is drawn.
    xmax : float
        Travel of the cone, one way [m].
    radiator_xmax : float or None
        Travel of the passive radiator, one way [m].
    title : str
        What box it is.
    look : Look
        Colours and letters.
    width : int
        Width of the picture [px].

    Returns
    -------
    altair chart
        One panel or two.
    """
    panels = [
        _limited(
            "cone, peak one way [mm]", curves.frequency, 1e3 * curves.travel, 1e3 * xmax, "mm", look
        )
    ]
    if curves.vent_speed is not None:
        what = "air in the vent, peak [m/s]"
        panels.append(
            _limited(what, curves.frequency, curves.vent_speed, VENT_AIR_SPEED, "m/s", look)
        )
    if curves.radiator_travel is not None and radiator_xmax is not None:
        what = "passive radiator, peak one way [mm]"
        moved = 1e3 * curves.radiator_travel
        panels.append(_limited(what, curves.frequency, moved, 1e3 * radiator_xmax, "mm", look))
    return curves_chart(
        panels,
        look=look,
        title=f"Travel at full volts: {title}",
        subtitle="A sine with all the volts that the full battery gives; music puts a part of "
        "them into the bass.",
        width=width,
    )


def _limited(
    what: str, frequency: Numbers, values: Numbers, limit: float, unit: str, look: Look
) -> Panel:
    line = Line("", frequency, values)
    # What lies far above the limit is told by the line that leaves the plot.
    top = min(max(1.1 * float(np.max(_inside(line))), 1.4 * limit), 4.0 * limit)
    return Panel(
        what,
        [line],
        (0.0, _round(top)),
        reach=REACH,
        rules=[Rule(f"limit {limit:.3g} {unit}", limit, look.limit_dash)],
        height=140,
    )


def _inside(line: Line) -> Numbers:
    seen = (line.along >= REACH[0]) & (line.along <= REACH[1]) & np.isfinite(line.values)
    values: Numbers = line.values[seen]
    return values


def _round(value: float) -> float:
    """The next round number above."""
    decade = 10.0 ** np.floor(np.log10(value))
    steps = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
    return float(decade * next(step for step in steps if step * decade >= value * 0.9999))
