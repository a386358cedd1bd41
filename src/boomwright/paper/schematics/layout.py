"""A layout: how one kind of circuit is drawn, and what it does in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from boomwright.circuit.parts import Part
from boomwright.paper.schematics.sheet import Sheet

__all__ = ["Layout"]


@dataclass(frozen=True)
class Layout:
    """How one kind of circuit is drawn.

    Parameters
    ----------
    draw : callable
        Puts the parts of a sheet's netlist and its wires on the sheet.
    parts : mapping of str to type
        Parts it cannot be drawn without, and what each must be.
    says : str
        How the circuit works, in words.
    """

    draw: Callable[[Sheet], None]
    parts: Mapping[str, type[Part]]
    says: str
