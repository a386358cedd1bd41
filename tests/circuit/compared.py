"""What is asked of a circuit here and of ngspice: analyses, and a circuit with its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from boomwright.circuit.netlist import Netlist
from boomwright.circuit.parts import Part


@dataclass(frozen=True)
class At:
    """Operating points at temperatures [°C] and levels of a source."""

    temperatures: tuple[float, ...] = (25.0,)
    source: str = ""
    levels: tuple[float, ...] = ()
    states: Mapping[str, bool] = field(default_factory=dict)


@dataclass(frozen=True)
class Along:
    """A sweep of a source, from state to state."""

    source: str
    start: float
    stop: float
    step: float
    states: Mapping[str, bool] = field(default_factory=dict)


@dataclass(frozen=True)
class Over:
    """An AC response, points per decade between two frequencies [Hz]."""

    low: float
    high: float
    per_decade: int = 5


@dataclass(frozen=True)
class Through:
    """A run in time [s]; ``step`` is the longest of ngspice's, ``accuracy`` is ours."""

    end: float
    step: float
    points: int = 41
    accuracy: float = 1e-4


Analysis = At | Along | Over | Through


@dataclass(frozen=True)
class Case:
    name: str
    parts: tuple[Part, ...]
    analyses: tuple[Analysis, ...]

    @property
    def netlist(self) -> Netlist:
        return Netlist(self.name, self.parts)
