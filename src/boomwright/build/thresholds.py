"""Where a cutoff is usually set, by chemistry."""

from __future__ import annotations

from boomwright.build.power import ChemistryName

__all__ = ["usual_thresholds"]

_CUSTOM: dict[ChemistryName, tuple[float, float]] = {
    "lead-flooded": (1.9, 2.1),
    "lead-agm": (1.9, 2.1),
    "lifepo4": (3.0, 3.25),
    "li-ion-nmc": (3.2, 3.7),
    "nimh": (1.05, 1.25),
    "alkaline": (0.9, 1.3),
}
"""Volts per cell at which a cutoff usually opens and closes; typical of class, from memory."""


def usual_thresholds(chemistry: ChemistryName, cells: int) -> tuple[float, float]:
    """Usual off and on voltage of a battery's cutoff [V].

    Examples
    --------
    >>> [round(volts, 1) for volts in usual_thresholds("lead-agm", 6)]
    [11.4, 12.6]
    """
    off, on = _CUSTOM[chemistry]
    return off * cells, on * cells
