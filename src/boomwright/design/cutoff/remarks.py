"""What a cutoff's user has to know of it, worst first."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from boomwright.advice.finding import LEVELS
from boomwright.build.quantities import format_quantity
from boomwright.build.soldered import SolvedCutoff
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES
from boomwright.design.cutoff.life import early_trip
from boomwright.design.cutoff.wish import CutoffWish
from boomwright.design.sheet import PartLine, Remark
from boomwright.outcome.cutoff_law import CutoffLaw
from boomwright.outcome.cycling import CutoffRun

__all__ = ["cutoff_remarks"]

_DAY = 86400.0
_GOOD_SHARE = 0.9
_COMFORTABLE = 1.25
_FORGOTTEN, _LONG = 7.0 * _DAY, 30.0 * _DAY
_EARLY = 0.1
_OWN_SHARE = 0.1


def cutoff_remarks(
    wish: CutoffWish,
    solved: SolvedCutoff,
    law: CutoffLaw,
    run: CutoffRun,
    parts: tuple[PartLine, ...],
    *,
    narrow: CutoffRun | None,
    worst_off: tuple[float, float],
    worst_on: tuple[float, float],
    share_within: float,
    window: float,
) -> tuple[Remark, ...]:
    """Remarks on a cutoff.

    Parameters
    ----------
    wish : CutoffWish
        What was wanted.
    solved : SolvedCutoff
        The circuit over its tolerances.
    law, run
        How it behaves at its battery, and did.
    parts : tuple of PartLine
        With their margins.
    narrow : CutoffRun or None
        The same run with a gap as narrow as 5 in 100 builds have.
    worst_off, worst_on : tuple of float
        With everything at its worst end [V].
    share_within, window : float
        Share of builds within this share of the wanted voltage.

    Returns
    -------
    tuple of Remark
    """
    found = [
        *_behaviour(wish, law, run, narrow),
        *_spread(wish, solved, worst_off, worst_on, share_within, window),
        *_ratings(parts),
        *_drains(wish, law, run),
    ]
    return tuple(sorted(found, key=lambda remark: -LEVELS.index(remark.level)))


def _behaviour(
    wish: CutoffWish, law: CutoffLaw, run: CutoffRun, narrow: CutoffRun | None
) -> Iterator[Remark]:
    if run.chatters:
        count = int(run.openings_per_hour[0]) if run.openings_per_hour.size else 0
        pace = "buzzes" if run.buzzes else "chatters"
        yield Remark(
            "stop" if count >= 3 else "mind",
            f"It {pace}: after the first opening the battery recovers, the contact closes again by "
            f"itself, and it opens {count} more times in the hour that follows.",
            "Take the self-holding kind, or a gap wider than the battery's recovery.",
        )
    elif law.stays_off:
        yield Remark("fine", "It opens once and stays open until its button is pressed.")
    else:
        yield Remark(
            "fine", "It opens once; the battery's recovery in the hour after does not close it."
        )
    if narrow is not None and narrow.chatters and not run.chatters:
        count = int(narrow.openings_per_hour[0]) if narrow.openings_per_hour.size else 0
        yield Remark(
            "mind",
            f"5 of 100 builds have so narrow a gap that they do chatter, {count} more times in the "
            "hour after, or oftener.",
            "Sweep yours down and up on the bench, or take a kind whose gap hangs on resistors.",
        )
    early = early_trip(wish, law)
    if early - law.off > _EARLY:
        yield Remark(
            "mind",
            f"Bass beats of {_amps(wish.peak_current)} trip it from {_volts(early)} on, before the "
            f"battery is down to {_volts(law.off)}.",
            "Fit a larger filter capacitor, or shorter and fatter leads from the battery.",
        )


def _spread(
    wish: CutoffWish,
    solved: SolvedCutoff,
    worst_off: tuple[float, float],
    worst_on: tuple[float, float],
    share_within: float,
    window: float,
) -> Iterator[Remark]:
    if share_within < _GOOD_SHARE:
        yield Remark(
            "mind",
            f"Of 100 builds from parts as they come, {100 * share_within:.0f} let go within "
            f"{_volts(window * wish.off)} of {_volts(wish.off)}.",
            "Fit the trimmer, or measure and change the one part named below.",
        )
    if worst_off[0] < wish.floor:
        yield Remark(
            "mind",
            f"With every part at its worst end it lets go at {_volts(worst_off[0])}, below the "
            f"{_volts(wish.floor)} at which the battery is ruined.",
            "Sweep it on the bench before it guards a battery.",
        )
    never = float(np.mean(np.isnan(solved.off)))
    if never > 0.0:
        yield Remark(
            "stop",
            f"In {100 * never:.0f} of 100 builds it never switches on, or never lets go.",
            "Choose a relay with a lower operating voltage, or another kind.",
        )
    holding = CUTOFF_FAMILIES[solved.circuit.family].holding
    if not holding and np.isfinite(worst_on[1]) and worst_on[1] > wish.rested_full:
        share = float(np.mean(~(solved.on <= wish.rested_full)))
        if share >= 0.005:
            yield Remark(
                "mind" if share > 0.02 else "fine",
                f"{100 * share:.0f} of 100 builds come back only above a full battery at rest "
                f"({_volts(wish.rested_full)}).",
                "Such a one stays open until the charger is connected: trim it.",
            )


def _ratings(parts: tuple[PartLine, ...]) -> Iterator[Remark]:
    for part in parts:
        if part.margin < _COMFORTABLE:
            over = part.margin < 1.0
            yield Remark(
                "stop" if over else "mind",
                f"{part.name} ({part.value or part.what}) carries {part.carries} of {part.rating}"
                + (": more than it stands." if over else ": little to spare."),
                "Take a stronger part.",
            )


def _drains(wish: CutoffWish, law: CutoffLaw, run: CutoffRun) -> Iterator[Remark]:
    if run.ruined_after < _LONG:
        yield Remark(
            "stop" if run.ruined_after < _FORGOTTEN else "mind",
            f"Once open it still takes {_amps(law.drain_off)}: the resting battery is ruined after "
            f"{run.ruined_after / _DAY:.0f} days.",
            "Turn the main switch off as well, or take the self-holding kind.",
        )
    own = law.drain_on / (law.drain_on + wish.load_current)
    if own > _OWN_SHARE:
        yield Remark(
            "mind",
            f"It takes {_amps(law.drain_on)} itself, {100 * own:.0f} % of all that is drawn.",
            "A transistor in place of the relay takes a tenth.",
        )


def _volts(value: float) -> str:
    return format_quantity(value, "voltage")


def _amps(value: float) -> str:
    return format_quantity(value, "current")
