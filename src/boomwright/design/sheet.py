"""What every design gives: figures with limits, parts, bench readings, cautions and a netlist."""

from __future__ import annotations

from dataclasses import dataclass
from math import isinf, isnan

from boomwright.advice.finding import Level
from boomwright.build.quantities import format_quantity
from boomwright.circuit.netlist import Netlist

__all__ = ["BenchReading", "Design", "Expected", "PartLine", "Remark"]

_TENS, _HUNDREDS = 10.0, 100.0


@dataclass(frozen=True)
class Expected:
    """A figure with its limits.

    Parameters
    ----------
    label : str
        What it is, in words.
    likely, low, high : float
        Likely value, and the least and greatest over tolerance, in the SI unit of its kind; not a
        number where it never comes to that.
    kind : str
        Key of :data:`boomwright.build.units.KINDS`.

    Examples
    --------
    >>> print(Expected("lets go at", 10.4, 10.1, 10.7, "voltage"))
    lets go at 10.4 V (10.1 V to 10.7 V)
    """

    label: str
    likely: float
    low: float
    high: float
    kind: str

    @property
    def shown(self) -> str:
        """The value with its limits, or alone where there are none."""
        likely, low, high = (
            "never"
            if isnan(value)
            else format_quantity(value, self.kind, digits=self._digits(value))
            for value in (self.likely, self.low, self.high)
        )
        if self.low == self.high or isnan(self.likely):
            return likely
        if isinf(self.high):
            return f"{likely} or more"
        return f"{likely} ({low} to {high})"

    def _digits(self, value: float) -> int:
        """Digits that matter: the second decimal of a battery's volts, three of anything else."""
        return 4 if self.kind == "voltage" and _TENS <= abs(value) < _HUNDREDS else 3

    def __str__(self) -> str:
        """Label and figure."""
        return f"{self.label} {self.shown}"


@dataclass(frozen=True)
class PartLine:
    """One line of a parts list.

    Parameters
    ----------
    name : str
        Reference designator, as on the drawing and in the netlist.
    what : str
        The part in words: "resistor, metal film", "NPN transistor 2N2222A".
    value : str
        Its value as people write it; empty where the type says it all.
    carries : str
        What it carries at worst: "0.12 W", "44 mA".
    rating : str
        What it must stand or is rated for: "0.25 W or more".
    margin : float
        Rating over load, 1 where it is just enough; inf where nothing is asked of it.
    part : str
        Key in the drawer, if it is one of its parts.
    note : str
        Polarity, pin order, heat sink: what the drawing marks too.
    """

    name: str
    what: str
    value: str = ""
    carries: str = ""
    rating: str = ""
    margin: float = float("inf")
    part: str = ""
    note: str = ""


@dataclass(frozen=True)
class BenchReading:
    """One reading at the bench.

    Parameters
    ----------
    do : str
        What to do, and where to put the probes.
    meter : str
        Instrument and range.
    expect : Expected
        What to expect, with limits.
    caution : str
        What can hurt, at this step; empty if nothing.
    """

    do: str
    meter: str
    expect: Expected
    caution: str = ""


@dataclass(frozen=True)
class Remark:
    """Something the design wants to be known.

    Parameters
    ----------
    level : str
        ``fine``, ``mind`` or ``stop``.
    says : str
        What is so, in one plain sentence.
    do : str
        What to do about it; empty if nothing.
    """

    level: Level
    says: str
    do: str = ""


@dataclass(frozen=True)
class Design:
    """A designed circuit.

    Parameters
    ----------
    block : str
        Which block it is: ``cutoff``, ``regulator``, ``mute`` and so on.
    family : str
        Which kind of it.
    title : str
        In words.
    netlist : Netlist
        The circuit with its nominal values: what is drawn, listed, solved and exported.
    figures : tuple of Expected
        What it does.
    parts : tuple of PartLine
        What to buy or take from the drawer.
    readings : tuple of BenchReading
        What to measure before it is trusted, in a safe order.
    remarks : tuple of Remark
        What to mind, worst first.
    cautions : tuple of str
        The usual cautions, at the top of the sheet.
    """

    block: str
    family: str
    title: str
    netlist: Netlist
    figures: tuple[Expected, ...]
    parts: tuple[PartLine, ...]
    readings: tuple[BenchReading, ...]
    remarks: tuple[Remark, ...] = ()
    cautions: tuple[str, ...] = ()

    def figure(self, label: str) -> Expected:
        """Figure of a label; ValueError if there is none."""
        for figure in self.figures:
            if figure.label == label:
                return figure
        raise ValueError(f"no figure {label!r} in {self.title}")
