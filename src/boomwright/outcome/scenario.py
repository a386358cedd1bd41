"""The ways of using the box that every answer is worked out for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from boomwright.build.model import Build

__all__ = ["BACKGROUND_BELOW", "LevelName", "Scenario", "scenarios_of"]

LevelName = Literal["background", "wanted", "flat-out"]

BACKGROUND_BELOW = 12.0
"""How far background music lies below the wanted level [dB]; common practice, no source."""

_TITLES = {"background": "background", "wanted": "as wanted", "flat-out": "flat out, clean"}


@dataclass(frozen=True)
class Scenario:
    """One way of using the box.

    Parameters
    ----------
    level : str
        How loud: background, wanted or flat-out.
    phone : bool
        Whether a phone is on charge all the time.
    cold : bool
        Whether it is the coldest day.
    """

    level: LevelName
    phone: bool = False
    cold: bool = False

    @property
    def key(self) -> str:
        """Name in data, such as ``wanted+phone``."""
        return self.level + "+phone" * self.phone + "+cold" * self.cold

    @property
    def title(self) -> str:
        """Name in words."""
        more = " with a phone on charge" * self.phone + " on the coldest day" * self.cold
        return _TITLES[self.level] + more


def scenarios_of(build: Build) -> tuple[Scenario, ...]:
    """Scenarios that apply to a build: with a phone only where there is a port for it.

    Parameters
    ----------
    build : Build
        The build.

    Returns
    -------
    tuple of Scenario
        The three levels, then those with a phone, then the coldest day.
    """
    levels: tuple[LevelName, ...] = ("background", "wanted", "flat-out")
    found = [Scenario(level) for level in levels]
    if build.usb:
        found += [Scenario(level, phone=True) for level in levels]
    if build.want.coldest is not None:
        found.append(Scenario("wanted", cold=True))
    return tuple(found)
