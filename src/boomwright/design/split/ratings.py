"""What music makes every part of a split carry, at the amplifier's full clean power."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from boomwright.design.split.branch import Branch
from boomwright.design.split.circuit import Soldered, soldered
from boomwright.design.split.heard import GRID
from boomwright.design.split.wish import SplitWish
from boomwright.physics.arrays import Floats

__all__ = ["Carried", "Music", "carried", "music_of"]

_CLIPPED_CREST = 6.0
"""Peak over mean of music that an amplifier clips hard [dB]; common practice."""

_TONE_SHARE = 1.0 / 8.0
"""Share of full power at which a test tone may stand for long, as in safety standards."""


@dataclass(frozen=True)
class Carried:
    """What one part carries at worst.

    Parameters
    ----------
    part : Soldered
        The part.
    volts : float
        Greatest peak across it [V].
    amps : float
        Greatest peak through it [A].
    amps_rms : float
        Root mean square for long [A].
    watts : float
        Mean heat, a coil's winding included [W].
    """

    part: Soldered
    volts: float
    amps: float
    amps_rms: float
    watts: float


@dataclass(frozen=True)
class Music:
    """What the drivers get of loud music.

    Parameters
    ----------
    likely : tuple of float
        Mean watts in each driver where the peaks just reach the clean swing [W].
    clipped : tuple of float
        The same pushed far past it, as a box is at a party [W].
    """

    likely: tuple[float, ...]
    clipped: tuple[float, ...]


def carried(branches: Sequence[Branch], wish: SplitWish) -> tuple[Carried, ...]:
    """What every part carries: peaks by a sine at full swing, heat by music that is clipped hard.

    The peak is taken at the frequency where it is worst, as an organ note or a test tone may be
    there. For the mean the programme's bands count by their share; a tone of an eighth of full
    power at the worst frequency is the least that is counted.

    Parameters
    ----------
    branches : sequence of Branch
        Woofer first.
    wish : SplitWish
        Amplifier and programme.

    Returns
    -------
    tuple of Carried
    """
    bands, shares = wish.programme.frequencies, wish.programme.band_powers
    rms = _volts(wish, clipped=True)
    sine = [branch.loads(GRID) for branch in branches]
    music = [branch.loads(bands) for branch in branches]
    found = []
    for one in soldered(branches):
        current = sine[one.branch].currents[one.step]
        mean_square = max(
            rms**2 * float(shares @ music[one.branch].currents[one.step] ** 2),
            _TONE_SHARE * 0.5 * (wish.peak * float(np.max(current))) ** 2,
        )
        component = one.component
        value = component.value.likely
        if component.kind == "capacitor":
            volts, resistance = float(np.max(current / (2.0 * np.pi * GRID * value))), 0.0
        elif component.kind == "coil":
            volts = float(np.max(current * 2.0 * np.pi * GRID * value))
            resistance = component.winding.likely if component.winding is not None else 0.0
        else:
            volts, resistance = float(np.max(current)) * value, value
        found.append(
            Carried(
                part=one,
                volts=wish.peak * volts,
                amps=wish.peak * float(np.max(current)),
                amps_rms=mean_square**0.5,
                watts=mean_square * resistance,
            )
        )
    return tuple(found)


def music_of(branches: Sequence[Branch], wish: SplitWish) -> Music:
    """Mean watts in each driver on loud music.

    Parameters
    ----------
    branches : sequence of Branch
        Woofer first.
    wish : SplitWish
        Amplifier and programme.

    Returns
    -------
    Music
    """
    bands, shares = wish.programme.frequencies, wish.programme.band_powers
    powers: list[Floats] = []
    for branch in branches:
        conductance = np.real(1.0 / branch.drive.impedance(bands)[0])
        powers.append(np.abs(branch.ladder(bands).transfer[0]) ** 2 * conductance)
    each = [float(shares @ power) for power in powers]
    return Music(
        likely=tuple(_volts(wish, clipped=False) ** 2 * one for one in each),
        clipped=tuple(_volts(wish, clipped=True) ** 2 * one for one in each),
    )


def _volts(wish: SplitWish, *, clipped: bool) -> float:
    """Root mean square of music that uses the whole clean swing [V]."""
    crest = _CLIPPED_CREST if clipped else wish.programme.crest_factor_db
    return float(wish.peak / 10.0 ** (min(crest, wish.programme.crest_factor_db) / 20.0))
