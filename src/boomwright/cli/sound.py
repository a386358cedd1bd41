"""``boomwright sound``: how a build sounds over frequency, what limits it, and what ears take."""

from __future__ import annotations

import json as json_text
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import typer

from boomwright.build.model import Build
from boomwright.build.nearest import nearest
from boomwright.cli.opening import opened
from boomwright.errors import InputError, Problem
from boomwright.outcome.at_listener import AtListener, at_listener
from boomwright.outcome.boxes import BassBox, OwnChamber, bass_boxes, own_chamber
from boomwright.outcome.data import Outcome
from boomwright.outcome.dose import Dose, builder_dose, listener_dose
from boomwright.outcome.run import run_build
from boomwright.outcome.sound import SoundOutcome, decibels, sound_of

__all__ = ["Heard", "heard_of", "show_sound"]


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


def show_sound(
    file: Path, *, driver: str, json: bool, output: Path | None, parts: Path | None
) -> None:
    """Print the sound of a build, and write its charts if a name for them is given.

    Parameters
    ----------
    file : Path
        The build file.
    driver : str
        The one driver to show; all together if empty.
    json : bool
        Print data instead of words.
    output : Path or None
        An HTML page, or a folder, for the charts.
    parts : Path or None
        Own parts, laid over the drawer.

    Raises
    ------
    InputError
        If the build, the driver or the name cannot be used.
    WriteError
        If something cannot be written.
    """
    from boomwright.cli.sound_show import print_sound, sound_values

    if output is not None:
        from boomwright.cli.sound_files import output_problems

        if problems := output_problems(output):
            raise InputError(problems)
    build, drawer = opened(file, parts)
    heard = heard_of(build, run_build(build, drawer=drawer), driver=driver)
    written = []
    if output is not None:
        from boomwright.cli.sound_files import write_sound

        written = write_sound(output, heard)
    if json:
        values = {"file": str(file), **sound_values(heard), "written": written}
        typer.echo(json_text.dumps(values, ensure_ascii=False, indent=2, allow_nan=False))
        return
    print_sound(heard, file=str(file), written=written)
