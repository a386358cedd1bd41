"""From a wanted level at a distance to volts at the amplifiers, and back."""

from __future__ import annotations

import numpy as np

from boomwright.outcome.plan import Plan
from boomwright.outcome.scenario import BACKGROUND_BELOW, Scenario
from boomwright.outcome.speakers import level_at_1m
from boomwright.physics.arrays import Floats
from boomwright.physics.sound import PLACES, distance_loss

__all__ = ["asked_volts", "level_where_wanted", "wanted_level_at_1m"]

# Hot coils give less and less for more volts, so the last tenths of a decibel take many rounds.
_ROUNDS = 24
_LOUDEST_VOLTS = 1e3


def _carried(plan: Plan) -> float:
    """Level at the listener less that of one box at 1 m: place, boxes, distance [dB]."""
    want = plan.build.want
    distance = float(distance_loss(want.level.distance.likely))
    return PLACES[want.place] + 10 * float(np.log10(want.boxes)) - distance


def level_where_wanted(plan: Plan, level_1m: Floats) -> Floats:
    """Level at the listener's distance of a level at 1 m [dB(A)]."""
    return level_1m + _carried(plan)


def wanted_level_at_1m(plan: Plan, scenarios: tuple[Scenario, ...]) -> Floats:
    """Level at 1 m that each scenario asks for, shape (1, scenarios) [dB(A)]."""
    asked = plan.build.want.level.level.likely - _carried(plan)
    return np.array(
        [[asked - BACKGROUND_BELOW * (scenario.level == "background") for scenario in scenarios]]
    )


def asked_volts(plan: Plan, scenarios: tuple[Scenario, ...]) -> Floats:
    """Volts rms at every output that give the level each scenario asks for.

    Nothing limits them here; what the amplifiers can give is for the moment to say.

    Parameters
    ----------
    plan : Plan
        The build in numbers.
    scenarios : tuple of Scenario
        One per column.

    Returns
    -------
    array (versions, scenarios)
        Volts rms [V].
    """
    target = wanted_level_at_1m(plan, scenarios)
    volts = np.ones((plan.draws.versions, len(scenarios)))
    for _ in range(_ROUNDS):
        level = level_at_1m(plan.outputs, tuple(volts**2 for _ in plan.outputs))
        volts = np.minimum(volts * 10 ** ((target - level) / 20), _LOUDEST_VOLTS)
    return volts
