"""Every kind of cutoff for one wish side by side, and the one that serves best."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from boomwright.advice.finding import LEVELS, Level, worst
from boomwright.build.drawer import Drawer
from boomwright.build.power import Cutoff
from boomwright.build.quantities import Quantity
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES, CutoffFamily
from boomwright.design.cutoff.design import CutoffDesign, design_cutoff
from boomwright.design.cutoff.life import life_with_battery
from boomwright.design.cutoff.wish import CutoffWish
from boomwright.design.sheet import Expected
from boomwright.errors import ConvergenceError, InputError, Problem
from boomwright.outcome.cutoff_law import CutoffLaw
from boomwright.outcome.cycling import CutoffRun

__all__ = ["CutoffChoice", "ModuleChoice", "best_choice", "compare_cutoffs", "compare_modules"]

_VERSIONS = 100
_NEAR = 0.05
_DRAIN = 0.02


@dataclass(frozen=True)
class CutoffChoice:
    """One kind of circuit, designed as far as its comparison needs.

    Parameters
    ----------
    family : str
        Kind of circuit.
    design : CutoffDesign or None
        What came of it, None where it cannot serve.
    problems : tuple of Problem
        Why it cannot.
    """

    family: CutoffFamily
    design: CutoffDesign | None
    problems: tuple[Problem, ...] = ()

    @property
    def level(self) -> Level:
        """The worst of its remarks, ``stop`` where it cannot serve."""
        if self.design is None:
            return "stop"
        return worst([remark.level for remark in self.design.design.remarks])


@dataclass(frozen=True)
class ModuleChoice:
    """A bought cutoff as its data say.

    Parameters
    ----------
    part : str
        Key in the drawer.
    title : str
        In words.
    off, on : Expected
        Its thresholds; ``on`` equals ``off`` for one that stays off.
    latching : bool
        Stays off until its button is pressed.
    run : CutoffRun
        The battery run down through it.
    drain_on, drain_off : float
        What it takes [A].
    """

    part: str
    title: str
    off: Expected
    on: Expected
    latching: bool
    run: CutoffRun
    drain_on: float
    drain_off: float


def compare_cutoffs(
    wish: CutoffWish,
    drawer: Drawer,
    *,
    step: Callable[[str], None] = lambda _: None,
) -> tuple[CutoffChoice, ...]:
    """Every kind of circuit for one wish.

    Parameters
    ----------
    wish : CutoffWish
        What is wanted.
    drawer : Drawer
        Parts to choose from.
    step : callable
        Told the kind that is worked on.

    Returns
    -------
    tuple of CutoffChoice
        In the order of the families.
    """
    found = []
    for family in CUTOFF_FAMILIES:
        step(family)
        try:
            design = design_cutoff(family, wish, drawer, versions=_VERSIONS)
        except InputError as error:
            found.append(CutoffChoice(family, None, error.problems))
        except ConvergenceError as error:
            found.append(CutoffChoice(family, None, (Problem(str(error)),)))
        else:
            found.append(CutoffChoice(family, design))
    return tuple(found)


def best_choice(choices: tuple[CutoffChoice, ...]) -> CutoffDesign:
    """The kind with the fewest faults; among equals the one that is nearest and takes least.

    Parameters
    ----------
    choices : tuple of CutoffChoice
        From :func:`compare_cutoffs`.

    Returns
    -------
    CutoffDesign

    Raises
    ------
    InputError
        If none can serve, with every reason.
    """
    usable = [choice.design for choice in choices if choice.design is not None]
    if not usable:
        raise InputError(
            [
                replace(problem, key=choice.family)
                for choice in choices
                for problem in choice.problems
            ]
        )
    return min(usable, key=_burden)


def _burden(found: CutoffDesign) -> float:
    faults = sum(LEVELS.index(remark.level) ** 2 for remark in found.design.remarks)
    away = abs(float(found.solved.off[0]) - found.wish.off) / (_NEAR * found.wish.off)
    return faults + away + float(found.solved.drain_on[0]) / _DRAIN


def compare_modules(wish: CutoffWish, drawer: Drawer) -> tuple[ModuleChoice, ...]:
    """Bought cutoffs of the drawer whose thresholds come near the wish.

    Parameters
    ----------
    wish : CutoffWish
        What is wanted.
    drawer : Drawer
        Parts to choose from.

    Returns
    -------
    tuple of ModuleChoice
        The nearest first; empty where none is near.
    """
    found = []
    for name in drawer.names("cutoff"):
        part = drawer.part("cutoff", name)
        if not isinstance(part, Cutoff) or part.circuit is not None:
            continue
        if abs(part.off.likely - wish.off) > _NEAR * wish.off:
            continue
        if part.rating.low < wish.peak_current:
            continue
        on = part.on if part.on is not None else part.off
        law = CutoffLaw(
            off=part.off.likely,
            on=float("inf") if part.latching else max(on.likely, part.off.likely),
            smoothing=part.delay.likely,
            drain_on=part.drain_on.likely,
            drain_off=part.drain_off.likely,
            resistance=part.resistance.likely,
        )
        found.append(
            ModuleChoice(
                name,
                part.title,
                _expected("lets go at", part.off),
                _expected("comes back at", on),
                part.latching,
                life_with_battery(wish, law),
                part.drain_on.likely,
                part.drain_off.likely,
            )
        )
    return tuple(sorted(found, key=lambda item: abs(item.off.likely - wish.off)))


def _expected(label: str, quantity: Quantity) -> Expected:
    return Expected(label, quantity.likely, quantity.low, quantity.high, quantity.kind)
