"""One half of a split: its driver, its parts, and the book's values for them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.design.split.drive import Drive
from boomwright.physics.air_coil import air_coil
from boomwright.physics.arrays import Floats
from boomwright.physics.filter_values import (
    ALIGNMENTS,
    Alignment,
    high_pass_steps,
    low_pass_steps,
)
from boomwright.physics.ladder import Place, Step

__all__ = ["Section", "book_values", "section_steps", "wire_for"]

_DAMPING = 0.4
"""Resistor beside a capacitor that the search begins at, over the load."""

_WIRES = (0.7e-3, 0.8e-3, 1.0e-3, 1.25e-3, 1.4e-3)
"""Winding wire as it is sold [m]; common practice, no source."""

_WIRE_SHARE = 0.05
"""Resistance of the woofer's coil over the rated impedance up to which a wire will do."""


@dataclass(frozen=True, eq=False)
class Section:
    """One half of a split: what its driver is to sound like, and on what its values are solved.

    Parameters
    ----------
    drive : Drive
        The driver.
    high_pass : bool
        Whether it plays what is above the frequency.
    frequency : float
        Where the bands meet [Hz].
    alignment : str
        Which polynomial its sound follows.
    order : int
        How steep its sound is to fall.
    wire : float
        Diameter of the wire of its coils [m].
    tail : tuple of Step
        What stands between filter and driver: a pad, a branch across.
    left_out : int
        How many coils and capacitors of that order are left to the driver's own fall.
    damped : bool
        Whether the last capacitor across has a resistor in its chain.
    """

    drive: Drive
    high_pass: bool
    frequency: float
    alignment: Alignment
    order: int
    wire: float
    tail: tuple[Step, ...] = ()
    left_out: int = 0
    damped: bool = False

    @property
    def reactive(self) -> int:
        """How many coils and capacitors it has."""
        return self.order - self.left_out

    @property
    def damped_place(self) -> int | None:
        """Which of them has the resistor in its chain; None without one."""
        if not self.damped:
            return None
        return self.reactive - 1 - self.reactive % 2

    def is_capacitor(self, place: int) -> bool:
        """Whether the part at a place is a capacitor, and not a coil."""
        return self.high_pass == (place % 2 == 0)


def book_values(section: Section, resistance: float) -> Floats:
    """Values for a resistor in the driver's place [H], [F], and the resistor of a chain [Ω]."""
    make = high_pass_steps if section.high_pass else low_pass_steps
    orders = ALIGNMENTS[section.alignment]
    alignment = section.alignment if section.reactive in orders else "butterworth"
    steps = make(alignment, section.reactive, frequency=section.frequency, resistance=resistance)
    values = [
        float(np.asarray(step.capacitance if section.is_capacitor(place) else step.inductance))
        for place, step in enumerate(steps)
    ]
    return np.array([*values, _DAMPING * resistance] if section.damped else values)


def section_steps(section: Section, values: Floats) -> list[Step]:
    """Steps of a filter with its coils' windings.

    Parameters
    ----------
    section : Section
        The section.
    values : array, shape (..., reactive) or (..., reactive + 1)
        Coils [H] and capacitors [F], last the resistor of a damped one [Ω].

    Returns
    -------
    list of Step
        Values of shape (..., 1).
    """
    steps = []
    for place in range(section.reactive):
        value = values[..., place, np.newaxis]
        where: Place = "across" if place % 2 else "series"
        if not section.is_capacitor(place):
            winding = air_coil(value, section.wire).resistance
            steps.append(Step(where, resistance=winding, inductance=value))
        elif place == section.damped_place:
            steps.append(Step(where, resistance=values[..., -1, np.newaxis], capacitance=value))
        else:
            steps.append(Step(where, capacitance=value))
    return steps


def wire_for(inductance: float, rated: float) -> float:
    """Thinnest wire whose coil takes little of a driver's power [m].

    Examples
    --------
    >>> wire_for(0.1e-3, 8.0), wire_for(1.5e-3, 8.0)
    (0.0007, 0.0014)
    """
    for wire in _WIRES:
        if float(air_coil(inductance, wire).resistance) <= _WIRE_SHARE * rated:
            return wire
    return _WIRES[-1]
