"""All that ``boomwright sound`` shows of one build."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from boomwright.build.model import Build
from boomwright.build.nearest import nearest
from boomwright.errors import InputError, Problem
from boomwright.outcome.at_listener import AtListener, at_listener
from boomwright.outcome.boxes import BassBox, OwnChamber, bass_boxes, own_chamber
from boomwright.outcome.data import Outcome
from boomwright.outcome.dose import Dose, builder_dose, listener_dose
from boomwright.outcome.sound import SoundOutcome, decibels, sound_of

__all__ = ["Heard", "heard_of"]


@dataclass(frozen=True, eq=False)
class Heard:
    """All that the page shows of one build.

    Parameters
    ----------
    build, outcome, sound : Build, Outcome, SoundOutcome
        The build, its run and its sound.
    of : str
        Name of the one driver that is shown; empty for all together.
    listener : AtListener
        The curve where it is heard.
    boxes : tuple of BassBox
        Box of every bass driver.
    chambers : tuple of OwnChamber
        What a chamber for the electronics would change.
    listeners, builder : Dose
        What ears take in one run.
    """

    build: Build
    outcome: Outcome
    sound: SoundOutcome
    of: str
    listener: AtListener
    boxes: tuple[BassBox, ...]
    chambers: tuple[OwnChamber, ...]
    listeners: Dose
    builder: Dose

    @property
    def shown(self) -> SoundOutcome:
        """Curves of what is shown: everything together, or one driver on its output."""
        if not self.of:
            return self.sound
        output, voice = next(pair for pair in self.sound.voices() if pair[1].name == self.of)
        return replace(
            self.sound,
            outputs=(replace(output, voices=(voice,)),),
            pressure=voice.pressure,
            clean=decibels(voice.clean_volts * np.abs(voice.pressure)),
            ruling=voice.ruling,
        )


def heard_of(build: Build, outcome: Outcome, *, driver: str = "") -> Heard:
    """Work out what the page shows.

    Parameters
    ----------
    build : Build
        The build.
    outcome : Outcome
        What physics says of it.
    driver : str
        The one driver to show; all if empty.

    Returns
    -------
    Heard

    Raises
    ------
    InputError
        If no driver has that name.
    """
    names = [each.name for each in build.driver]
    if driver and driver not in names:
        says, expected = "no such driver in the build", f"one of {', '.join(names)}"
        hint = nearest(driver, names)
        raise InputError([Problem(says, repr(driver), expected, key="--driver", hint=hint)])
    sound = sound_of(build, outcome)
    return Heard(
        build=build,
        outcome=outcome,
        sound=sound,
        of=driver,
        listener=at_listener(build, outcome, sound),
        boxes=bass_boxes(build),
        chambers=own_chamber(build),
        listeners=listener_dose(build, outcome),
        builder=builder_dose(build, outcome),
    )
