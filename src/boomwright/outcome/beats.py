"""Bass beats pull the volts down for a moment: how much too early they open a cutoff."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from boomwright.build.power import Cutoff
from boomwright.outcome.network import Drive, collapsed, solve_moment
from boomwright.outcome.plan import Plan
from boomwright.physics.arrays import Floats

__all__ = ["BEAT", "early_trips"]

BEAT = 0.2
"""A bass beat lasts about this long [s]; common practice, no source."""

_AT_ONCE = 1e-3


def early_trips(
    plan: Plan, resistance: Floats, drive: Drive, shape: tuple[int, int]
) -> dict[int, Floats]:
    """How far above its own threshold each cutoff opens because of beats.

    Worked out at volts near the threshold, where it matters: what the music draws there on average
    against a bass note as loud as its peaks. The cutoff's delay is taken as the time constant of a
    first-order filter.

    Parameters
    ----------
    plan : Plan
        The build in numbers, as wide as the scenarios.
    resistance : array, broadcastable
        The battery's ohmic resistance [Ω].
    drive : Drive
        What is asked of the amplifiers.
    shape : tuple of int
        Versions and scenarios.

    Returns
    -------
    dict of int to array (versions, scenarios)
        Place of the cutoff in the plan → volts above its threshold [V].

    Notes
    -----
    dip (1 - exp(-T / tau)) with T = 0.2 s. Nothing is told where the battery cannot hold the beat
    at all: that is an ending of its own.
    """
    found: dict[int, Floats] = {}
    for place, node in enumerate(plan.nodes):
        part = node.node.part
        if not isinstance(part, Cutoff):
            continue
        off = np.broadcast_to(plan.take(part.name, "off", part.off), shape)
        calm = solve_moment(plan, emf=off, resistance=resistance, drive=drive)
        # Raised by what the music takes, so that the cutoff's own volts stand at its threshold.
        emf = off + np.maximum(off - calm.inputs[place], 0.0)
        calm = solve_moment(plan, emf=emf, resistance=resistance, drive=drive, guess=calm)
        loud = solve_moment(
            plan, emf=emf, resistance=resistance, drive=replace(drive, mode="beat"), guess=calm
        )
        dip = np.maximum(calm.inputs[place] - loud.inputs[place], 0.0)
        wait = np.maximum(plan.take(part.name, "delay", part.delay), _AT_ONCE)
        held = ~(collapsed(calm) | collapsed(loud))
        found[place] = np.where(held, dip * -np.expm1(-BEAT / wait), 0.0)
    return found
