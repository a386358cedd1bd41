"""One driver behind its filter: the steps as they are written, soldered and reckoned with."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from boomwright.build.filters import FilterStep, parse_filter_step
from boomwright.build.quantities import format_quantity
from boomwright.design.split.drive import Drive
from boomwright.physics.arrays import Complexes, Floats, FloatsLike
from boomwright.physics.ladder import Ladder, Place, Step, ladder

__all__ = ["Branch", "Loads", "chain", "plain_step"]

_FILM_UP_TO = 33e-6
"""Capacitance up to which a film capacitor is bought; above it a bipolar one; common practice."""


@dataclass(frozen=True, eq=False)
class Loads:
    """What every step of a branch carries for one volt at the amplifier, arrays over frequency.

    Parameters
    ----------
    currents : tuple of array
        Through each step [A/V].
    capacitor_volts : tuple of array
        Across the capacitor of each step, 0 where it has none [V/V].
    """

    currents: tuple[Floats, ...]
    capacitor_volts: tuple[Floats, ...]


@dataclass(frozen=True, eq=False)
class Branch:
    """A driver with its filter.

    Parameters
    ----------
    drive : Drive
        The driver.
    filter : tuple of FilterStep
        From the amplifier to the driver.
    reversed : bool
        Whether its plus and minus are swapped.
    """

    drive: Drive
    filter: tuple[FilterStep, ...]
    reversed: bool = False

    @property
    def high_pass(self) -> bool:
        """Whether a capacitor in its lead keeps the bass out."""
        return any(step.blocks_bass for step in self.filter)

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """The filter for the law of ladders."""
        return tuple(plain_step(step) for step in self.filter)

    def ladder(self, frequency: FloatsLike) -> Ladder:
        """The filter on the driver's real impedance, likely version, (1, n)."""
        return ladder(self.steps, self.drive.impedance(frequency)[:1], frequency)

    def pressure(self, frequency: FloatsLike) -> Complexes:
        """Sound for one volt at the amplifier, polarity left out, (n,) [Pa/V]."""
        through = self.ladder(frequency).transfer * self.drive.pressure(frequency)[:1]
        return np.asarray(through[0], dtype=np.complex128)

    def loads(self, frequency: Floats) -> Loads:
        """What each step carries, over frequency."""
        found = self.ladder(frequency)
        currents = tuple(np.abs(one[0]) for one in found.currents)
        omega = 2.0 * np.pi * frequency
        volts = tuple(
            current / (omega * np.asarray(step.capacitance))
            for step, current in zip(self.steps, currents, strict=True)
        )
        return Loads(currents, volts)


def chain(
    place: Place,
    *,
    resistor: float = 0.0,
    coil: float = 0.0,
    winding: float = 0.0,
    capacitor: float = np.inf,
) -> FilterStep:
    """A step of a filter as a build file writes it.

    Parameters
    ----------
    place : "series" or "across"
        Where it stands.
    resistor, coil, winding, capacitor : float
        Resistor [Ω], coil [H] with the resistance of its wire [Ω], capacitor [F]; 0, and infinity
        for the capacitor, where there is none.

    Returns
    -------
    FilterStep

    Examples
    --------
    >>> str(chain("across", resistor=8.2, capacitor=12e-6))
    'across 8.2 Ω + 12 µF'
    >>> str(chain("series", coil=0.33e-3, winding=0.2734))
    'series 330 µH 0.27 Ω'
    """
    words = []
    if resistor > 0.0:
        words.append(format_quantity(resistor, "resistance"))
    if coil > 0.0:
        wire = f" {format_ohms(winding)}" if winding > 0.0 else ""
        words.append(f"{format_quantity(coil, 'inductance')}{wire}")
    if np.isfinite(capacitor):
        kind = "" if capacitor <= _FILM_UP_TO else " bipolar"
        words.append(f"{format_quantity(capacitor, 'capacitance')}{kind}")
    return parse_filter_step(f"{place} {' + '.join(words)}")


def format_ohms(value: float) -> str:
    """Ohms of a winding in plain ohms, as the millionths of a milliohm say nothing."""
    return f"{value:.2g} Ω"


def plain_step(step: FilterStep) -> Step:
    """A written step as the law of ladders takes it.

    Examples
    --------
    >>> plain_step(chain("series", coil=1e-3, winding=0.5)).resistance
    0.5
    """
    parts = step.components
    windings = (part.winding.likely for part in parts if part.winding is not None)
    resistors = (part.value.likely for part in parts if part.kind == "resistor")
    stiffness = sum(1.0 / part.value.likely for part in parts if part.kind == "capacitor")
    return Step(
        step.place,
        resistance=sum(windings) + sum(resistors),
        inductance=sum(part.value.likely for part in parts if part.kind == "coil"),
        capacitance=1.0 / stiffness if stiffness else np.inf,
    )
