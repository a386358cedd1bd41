"""A build's own numbers on the way to each quantity: what goes into the law, and what comes out."""

from __future__ import annotations

from boomwright.advice.judge import judge
from boomwright.advice.rules import Case
from boomwright.advice.steps.heat import HEAT
from boomwright.advice.steps.power import POWER
from boomwright.advice.steps.sound import SOUND
from boomwright.advice.steps.step import Step, Steps, sure

__all__ = ["STEPS", "Step", "figure_steps"]


def _how_safe(case: Case) -> Steps:
    findings = judge(case.build, case.outcome, drawer=case.drawer).findings
    for level in ("stop", "mind"):
        count = sum(finding.level == level for finding in findings)
        yield Step(f"to {level}", sure(count), "ratio", result=True)


STEPS = {**SOUND, **POWER, **HEAT, "how-safe": _how_safe}
"""How to find the numbers of each quantity of ``data/figures.toml``, by its name."""


def figure_steps(name: str, case: Case) -> tuple[Step, ...]:
    """Numbers of a build on the way to a quantity.

    Parameters
    ----------
    name : str
        Name of the quantity, a key of :data:`STEPS`.
    case : Case
        The build after physics.

    Returns
    -------
    tuple of Step
        In the order in which they go into the law; empty where the build has no such thing.
    """
    return tuple(STEPS[name](case))
