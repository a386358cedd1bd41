"""The curve at the listener: the sound of a build carried to where it is heard."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from boomwright.build.draws import Draws
from boomwright.build.model import Build
from boomwright.outcome.data import Outcome
from boomwright.outcome.loudness import carried_db, room_gain
from boomwright.outcome.plan import Plan, make_plan
from boomwright.outcome.room import inside_size
from boomwright.outcome.sound import SoundOutcome, decibels
from boomwright.outcome.speakers import level_at_1m
from boomwright.physics.arrays import Floats, floats
from boomwright.physics.placement import place_gain_db
from boomwright.physics.sound import PLACES, a_weighting, distance_loss

__all__ = ["AGREES_WITHIN", "AtListener", "at_listener", "front_width", "with_place_db"]

AGREES_WITHIN: Final = 4.0
"""How far the curve's own A-weighted level may lie from that of the run [dB].

The run knows the place as one number at equal power and every driver by its rated watts; the curve
hears the axis: a hard floor's 3 dB in the treble, the step of the front, and real impedances."""

_WHISPER = 1e-3
_ROUNDS = 24


@dataclass(frozen=True, eq=False)
class AtListener:
    """Sound where the build wants its level; likely version, battery full.

    Parameters
    ----------
    distance : float
        From the box to the listener [m].
    frequency : array, shape (n,)
        Frequencies of the curves [Hz].
    carried_db : array, shape (n,)
        Level there over that of one box at 1 m in half space: place, boxes, room, distance [dB].
    level : array, shape (n,)
        Level there for 2.83 V on every output [dB].
    volts : float
        Volts rms on every output that the wanted level takes, or all that it can give [V].
    bands : array, shape (b,)
        Middles of the programme's third-octave bands [Hz].
    band_levels : array, shape (b,)
        Level of the programme there in each of them, as wanted [dB].
    weighted : float
        All of them together [dB(A)].
    stated : float
        What the run says [dB(A)].
    """

    distance: float
    frequency: Floats
    carried_db: Floats
    level: Floats
    volts: float
    bands: Floats
    band_levels: Floats
    weighted: float
    stated: float

    @property
    def difference(self) -> float:
        """The curve's level over that of the run [dB]."""
        return self.weighted - self.stated


def front_width(build: Build) -> float | None:
    """Lesser side of the cabinet's front [m]; None without a cabinet."""
    cabinet = build.cabinet
    if cabinet is None:
        return None
    walls = 2.0 * cabinet.wall.likely
    width, height, _ = inside_size(cabinet)
    outside = cabinet.baffle_width.likely if cabinet.baffle_width else width + walls
    return min(outside, height + walls)


def with_place_db(build: Build, frequency: Floats, distance: float) -> Floats:
    """Level of all boxes at a distance over that of one at 1 m in half space.

    Parameters
    ----------
    build : Build
        The build: front, place, boxes and room.
    frequency : array, shape (n,)
        Frequencies [Hz].
    distance : float
        From the boxes to the ear [m].

    Returns
    -------
    array, shape (n,)
        Gain, mostly below 0 [dB]. Without a cabinet the place counts alike at all frequencies.
    """
    want, width = build.want, front_width(build)
    place = (
        np.full_like(frequency, PLACES[want.place])
        if width is None
        else place_gain_db(frequency, place=want.place, width=width)
    )
    boxes = 10.0 * float(np.log10(want.boxes))
    return floats(place + boxes + room_gain(want, distance) - distance_loss(distance))


def at_listener(build: Build, outcome: Outcome, sound: SoundOutcome) -> AtListener:
    """Sound of a build where it wants its level.

    The sum on the axis, carried over: step of the front and mirrors of the place at each frequency,
    boxes as unlike sources, distance, and the room as one number. The programme's bands add as
    powers.

    Parameters
    ----------
    build : Build
        The build.
    outcome : Outcome
        What physics says of it.
    sound : SoundOutcome
        Its sound over frequency.

    Returns
    -------
    AtListener
    """
    plan = make_plan(build, Draws(0))
    distance = build.want.level.distance.likely
    carried = with_place_db(build, sound.frequency, distance)
    volts, hot = _wanted_volts(plan, outcome)
    programme = plan.programme
    one_volt = decibels(np.abs(sound.pressure)) + carried
    heard = np.interp(np.log(programme.frequencies), np.log(sound.frequency), one_volt)
    levels = heard + 20.0 * np.log10(volts) - hot + 10.0 * np.log10(programme.band_powers)
    weighted = levels + a_weighting(programme.frequencies)
    return AtListener(
        distance=distance,
        frequency=sound.frequency,
        carried_db=carried,
        level=sound.level + carried,
        volts=volts,
        bands=programme.frequencies,
        band_levels=levels,
        weighted=10.0 * float(np.log10(np.sum(10.0 ** (weighted / 10.0)))),
        stated=outcome.wanted.level_start.likely,
    )


def _wanted_volts(plan: Plan, outcome: Outcome) -> tuple[float, float]:
    """Volts rms on every output at the run's start [V], and what hot coils cost there [dB]."""
    target = outcome.wanted.level_start.likely - carried_db(plan.build.want)

    def level(of: float) -> float:
        squares = tuple(np.full((1, 1), of**2) for _ in plan.outputs)
        return float(level_at_1m(plan.outputs, squares)[0, 0])

    volts = 1.0
    for _ in range(_ROUNDS):
        volts *= 10.0 ** ((target - level(volts)) / 20.0)
    cold = level(_WHISPER) + 20.0 * float(np.log10(volts / _WHISPER))
    return volts, cold - level(volts)
