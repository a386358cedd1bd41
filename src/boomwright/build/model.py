"""The build: everything the build file says, checked and frozen."""

from __future__ import annotations

from collections.abc import Container
from typing import Self

from pydantic import Field, model_validator

from boomwright.build.audio import Amplifier, Cabinet, Driver, Receiver, Want
from boomwright.build.fields import Table, value_error
from boomwright.build.music import Music
from boomwright.build.power import (
    Battery,
    Charger,
    Cutoff,
    Fed,
    Fuse,
    Load,
    Named,
    Polarity,
    Rail,
    Supply,
    Switch,
    Usb,
)
from boomwright.errors import Problem

__all__ = ["FED_KINDS", "MANY_KINDS", "ONE_KINDS", "Build", "whole_problems"]

ONE_KINDS: dict[str, type[Named]] = {
    "battery": Battery,
    "supply": Supply,
    "charger": Charger,
    "cabinet": Cabinet,
}
"""Tables of which a build has one at most."""

MANY_KINDS: dict[str, type[Named]] = {
    "fuse": Fuse,
    "switch": Switch,
    "cutoff": Cutoff,
    "polarity": Polarity,
    "rail": Rail,
    "receiver": Receiver,
    "usb": Usb,
    "load": Load,
    "amplifier": Amplifier,
    "driver": Driver,
}
"""Tables that may be written once, ``[fuse]``, or several times, ``[[fuse]]``."""

FED_KINDS = tuple(kind for kind, model in MANY_KINDS.items() if issubclass(model, Fed))
"""Kinds that stand in the power tree below the battery."""


def whole_problems(present: Container[str]) -> list[Problem]:
    """What a build lacks or has too much of as a whole, whatever its parts say.

    Parameters
    ----------
    present : container of str
        Kinds of which the build has a table.

    Returns
    -------
    list of Problem

    Examples
    --------
    >>> [problem.says for problem in whole_problems({"battery", "supply", "driver"})]
    ['both a battery and a supply', 'nothing that makes sound']
    """
    problems = []
    if ("battery" in present) == ("supply" in present):
        says = "both a battery and a supply" if "battery" in present else "no source of power"
        expected = "a [battery] table or a [supply] table, one of them"
        problems.append(Problem(says, expected=expected))
    missing = " and ".join(f"[{kind}]" for kind in ("amplifier", "driver") if kind not in present)
    if missing:
        says = "nothing that makes sound"
        problems.append(Problem(says, expected=f"a {missing} table", hint="Add it."))
    return problems


class Build(Table):
    """A whole build file."""

    name: str = Field(description="What you call the build.", min_length=1, max_length=80)
    story: str = Field("", description="What it is for, in your own words.", max_length=4000)
    parts: str = Field("", description="A file of your own parts, beside this one.", max_length=200)
    want: Want = Field(default_factory=Want, description="What you want of it.")
    music: Music | None = Field(None, description="Your own music, measured.")
    battery: Battery | None = Field(None, description="The battery.")
    supply: Supply | None = Field(
        None, description="A mains or USB-PD supply instead of a battery."
    )
    charger: Charger | None = Field(None, description="What charges the battery.")
    cabinet: Cabinet | None = Field(None, description="The box.")
    fuse: tuple[Fuse, ...] = Field((), description="Fuses.")
    switch: tuple[Switch, ...] = Field((), description="Switches.")
    cutoff: tuple[Cutoff, ...] = Field((), description="Low-voltage cutoffs.")
    polarity: tuple[Polarity, ...] = Field((), description="Reverse-polarity protection.")
    rail: tuple[Rail, ...] = Field((), description="Regulators and converters.")
    receiver: tuple[Receiver, ...] = Field((), description="Sources of the music.")
    usb: tuple[Usb, ...] = Field((), description="USB charging ports.")
    load: tuple[Load, ...] = Field((), description="Lamps, meters, fans.")
    amplifier: tuple[Amplifier, ...] = Field((), description="Amplifier boards.")
    driver: tuple[Driver, ...] = Field((), description="Loudspeaker drivers.")

    @model_validator(mode="after")
    def _is_whole(self) -> Self:
        present = {kind for kind in ("battery", "supply") if getattr(self, kind) is not None}
        present |= {kind for kind in ("amplifier", "driver") if getattr(self, kind)}
        for problem in whole_problems(present):
            raise value_error(problem)
        return self

    @property
    def source(self) -> Battery | Supply:
        """The battery, or the supply that stands in its place."""
        source = self.battery if self.battery is not None else self.supply
        if source is None:
            raise ValueError("a build without battery and supply cannot be made")
        return source

    def fed(self) -> tuple[tuple[str, Fed], ...]:
        """Every part below the source with its kind, in the order of the file's kinds."""
        return tuple((kind, part) for kind in FED_KINDS for part in getattr(self, kind))
