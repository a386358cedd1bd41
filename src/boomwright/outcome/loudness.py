"""From a wanted level at a distance to volts at the amplifiers, and back."""

from __future__ import annotations

import numpy as np

from boomwright.build.audio import Want
from boomwright.outcome.plan import Plan
from boomwright.outcome.scenario import BACKGROUND_BELOW, Scenario
from boomwright.outcome.speakers import level_at_1m
from boomwright.physics.arrays import Floats
from boomwright.physics.room_level import absorption_area, room_gain_db
from boomwright.physics.sound import PLACES, distance_loss

__all__ = [
    "asked_volts",
    "carried_db",
    "level_where_wanted",
    "nearer_db",
    "room_gain",
    "wanted_level_at_1m",
]

# Hot coils give less and less for more volts, so the last tenths of a decibel take many rounds.
_ROUNDS = 24
_LOUDEST_VOLTS = 1e3


def room_gain(want: Want, distance: float) -> float:
    """What the room adds to the box's own sound at a distance from it [dB]; 0 outdoors."""
    if want.room is None:
        return 0.0
    absorption = absorption_area(want.room.likely, reverberation=want.reverberation.likely)
    return float(room_gain_db(distance, absorption=absorption))


def carried_db(want: Want) -> float:
    """Level at the listener less that of one box at 1 m: place, boxes, distance, room [dB]."""
    distance = want.level.distance.likely
    boxes = 10 * float(np.log10(want.boxes))
    return PLACES[want.place] + boxes + room_gain(want, distance) - float(distance_loss(distance))


def nearer_db(want: Want, distance: float) -> float:
    """Level at a distance from one box less that at the listener [dB]."""
    own = PLACES[want.place] + room_gain(want, distance) - float(distance_loss(distance))
    return own - carried_db(want)


def level_where_wanted(plan: Plan, level_1m: Floats) -> Floats:
    """Level at the listener's distance of a level at 1 m [dB(A)]."""
    return level_1m + carried_db(plan.build.want)


def wanted_level_at_1m(plan: Plan, scenarios: tuple[Scenario, ...]) -> Floats:
    """Level at 1 m that each scenario asks for, shape (1, scenarios) [dB(A)]."""
    asked = plan.build.want.level.level.likely - carried_db(plan.build.want)
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
