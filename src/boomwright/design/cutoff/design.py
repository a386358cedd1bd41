"""A low-voltage cutoff designed: its values, its thresholds, and its life with a battery."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from boomwright.build.circuits import CutoffCircuit
from boomwright.build.drawer import Drawer
from boomwright.build.quantities import format_quantity
from boomwright.build.soldered import SolvedCutoff, circuit_problems, solved_cutoff
from boomwright.build.stress import circuit_stress
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES, CutoffFamily, cutoff_netlist
from boomwright.circuit.netlist import Netlist
from boomwright.circuit.values import Floats
from boomwright.design.cutoff.life import cutoff_law, life_with_battery, narrowest_version
from boomwright.design.cutoff.moves import Move, Trimmer, best_move, moves_of, trimmer_of
from boomwright.design.cutoff.parts import part_lines
from boomwright.design.cutoff.readings import bench_readings
from boomwright.design.cutoff.remarks import cutoff_remarks
from boomwright.design.cutoff.spread import (
    Influence,
    corner_of,
    influences_of,
    thresholds_of,
    worst_cases,
)
from boomwright.design.cutoff.values import chosen_circuit, likely_values
from boomwright.design.cutoff.wish import CutoffWish
from boomwright.design.sheet import Design, Expected
from boomwright.errors import InputError
from boomwright.outcome.cutoff_law import CutoffLaw
from boomwright.outcome.cycling import CutoffRun

__all__ = ["TEMPERATURES", "CutoffDesign", "design_cutoff"]

TEMPERATURES = (263.15, 298.15, 323.15)
"""Temperatures at which thresholds are told: -10, 25 and 50 °C [K]."""

_VERSIONS = 1000
_WINDOW = 0.025
"""A build counts towards the yield if it lets go this close to the wanted voltage [1]."""

_CAUTIONS = (
    "Solder and measure with the battery disconnected; a battery in short circuit welds tools and "
    "burns. Fit the fuse at the battery first.",
    "Try the circuit on a bench supply with its current limit at 0.3 A before it meets a battery.",
    "What the cells stand is in their maker's data sheet; it overrides the usual voltages here.",
)


@dataclass(frozen=True)
class CutoffDesign:
    """A designed cutoff with all that it rests on.

    Parameters
    ----------
    design : Design
        The sheet: figures, parts, readings, remarks, netlist.
    wish : CutoffWish
        What was wanted.
    circuit : CutoffCircuit
        The circuit as a build file would have it.
    solved : SolvedCutoff
        Its thresholds and currents over tolerance and from 0 to 40 °C.
    by_temperature : tuple of (kelvin, off, on)
        Likely thresholds cold, at 25 °C and hot.
    worst_off, worst_on : tuple of float
        Lowest and highest with everything at its worst end at once.
    share_within : float
        Share of builds that let go within 2.5 % of the wanted voltage.
    influences : tuple of Influence
        What moves the thresholds, the strongest first.
    law : CutoffLaw
        How it behaves at its battery.
    run : CutoffRun
        The battery run down through it, and an hour after.
    drawer : Drawer
        Where its devices were looked up.
    """

    design: Design
    wish: CutoffWish
    circuit: CutoffCircuit
    solved: SolvedCutoff
    by_temperature: tuple[tuple[float, float, float], ...]
    worst_off: tuple[float, float]
    worst_on: tuple[float, float]
    share_within: float
    influences: tuple[Influence, ...]
    law: CutoffLaw
    run: CutoffRun
    drawer: Drawer

    @cached_property
    def moves(self) -> tuple[Move, ...]:
        """What another value of one part would do, sorted by the voltage it leads to."""
        return moves_of(self.circuit, self.drawer, self.wish)

    @cached_property
    def trimmer(self) -> Trimmer:
        """What a trimmer must cover."""
        return trimmer_of(self.circuit, self.drawer, self.wish)

    @property
    def helpful_move(self) -> Move | None:
        """The one part to change to come closer to the wanted voltage, None if none helps."""
        return best_move(self.moves, self.wish.off)


def design_cutoff(
    family: CutoffFamily,
    wish: CutoffWish,
    drawer: Drawer,
    *,
    circuit: CutoffCircuit | None = None,
    versions: int = _VERSIONS,
) -> CutoffDesign:
    """A cutoff of a family for a wish.

    Parameters
    ----------
    family : str
        Kind of circuit.
    wish : CutoffWish
        What is wanted.
    drawer : Drawer
        Parts to choose from.
    circuit : CutoffCircuit or None
        A circuit that is there already, to be proved instead of designed.
    versions : int
        Versions that tolerances rest on.

    Returns
    -------
    CutoffDesign

    Raises
    ------
    InputError
        If no part of the drawer serves, or the given circuit lacks something.
    """
    if circuit is None:
        circuit = chosen_circuit(family, wish, drawer)
    problems = [replace(problem, key=key) for key, problem in circuit_problems(circuit, drawer)]
    if problems:
        raise InputError(problems)
    family = circuit.family
    solved = solved_cutoff(
        circuit,
        drawer,
        highest=wish.highest,
        load_current=wish.load_current,
        versions=versions,
    )
    heat = np.array(TEMPERATURES)
    hot = thresholds_of(circuit, drawer, corner_of({}, heat.size), wish, temperature=heat)
    influences = influences_of(circuit, drawer, wish)
    worst_off, worst_on = worst_cases(
        circuit, drawer, wish, influences, (TEMPERATURES[0], TEMPERATURES[-1])
    )
    law = cutoff_law(solved)
    run = life_with_battery(wish, law)
    narrowest = narrowest_version(solved)
    narrow = (
        None
        if narrowest is None
        else life_with_battery(wish, cutoff_law(solved, version=narrowest))
    )
    near = np.abs(solved.off - wish.off) <= _WINDOW * wish.off
    share = float(np.mean(near))
    stress = circuit_stress(
        circuit,
        drawer,
        highest=wish.highest,
        off=wish.off,
        load_current=wish.load_current,
    )
    parts = part_lines(circuit, drawer, wish, stress)
    by_temperature = tuple(
        (float(kelvin), float(off), float(on))
        for kelvin, off, on in zip(heat, hot.off, hot.on, strict=True)
    )
    remarks = cutoff_remarks(
        wish,
        solved,
        law,
        run,
        parts,
        narrow=narrow,
        worst_off=worst_off,
        worst_on=worst_on,
        share_within=share,
        window=_WINDOW,
    )
    design = Design(
        block="cutoff",
        family=family,
        title=CUTOFF_FAMILIES[family].title,
        netlist=_likely_netlist(circuit, drawer, wish),
        figures=_figures(solved, hot.off, hot.on, worst_off, worst_on),
        parts=parts,
        readings=bench_readings(wish, circuit, solved),
        remarks=remarks,
        cautions=_CAUTIONS,
    )
    return CutoffDesign(
        design=design,
        wish=wish,
        circuit=circuit,
        solved=solved,
        by_temperature=by_temperature,
        worst_off=worst_off,
        worst_on=worst_on,
        share_within=share,
        influences=influences,
        law=law,
        run=run,
        drawer=drawer,
    )


def _likely_netlist(circuit: CutoffCircuit, drawer: Drawer, wish: CutoffWish) -> Netlist:
    values = likely_values(circuit, drawer, load_resistance=wish.highest / wish.load_current)
    return cutoff_netlist(circuit.family, values, voltage=wish.highest)


def _figures(
    solved: SolvedCutoff,
    off_by_heat: Floats,
    on_by_heat: Floats,
    worst_off: tuple[float, float],
    worst_on: tuple[float, float],
) -> tuple[Expected, ...]:
    figures = [
        _over_versions("lets go at", solved.off, "voltage"),
        Expected("lets go, -10 to 50 °C", *_ends(off_by_heat), "voltage"),
        Expected("lets go, all at its worst", float(solved.off[0]), *worst_off, "voltage"),
    ]
    if np.isfinite(solved.on[0]):
        figures += [
            _over_versions("comes back at", solved.on, "voltage"),
            Expected("comes back, -10 to 50 °C", *_ends(on_by_heat), "voltage"),
            Expected("comes back, all at its worst", float(solved.on[0]), *worst_on, "voltage"),
            _over_versions("gap", solved.on - solved.off, "voltage"),
        ]
    full = format_quantity(solved.volts_on, "voltage")
    figures += [
        _over_versions(f"takes itself, closed, at {full}", solved.drain_on, "current"),
        _over_versions("takes itself, open", solved.drain_off, "current"),
        _over_versions("resistance to the load", solved.resistance, "resistance"),
        _over_versions("filter's time constant", solved.smoothing, "time"),
    ]
    return tuple(figures)


def _ends(values: Floats) -> tuple[float, float, float]:
    return float(values[1]), float(np.min(values)), float(np.max(values))


def _over_versions(label: str, values: Floats, kind: str) -> Expected:
    usable = values[np.isfinite(values)]
    if not usable.size:
        return Expected(label, np.nan, np.nan, np.nan, kind)
    low, high = (float(value) for value in np.quantile(usable, (0.02, 0.98)))
    likely = float(values[0]) if np.isfinite(values[0]) else float(np.median(usable))
    return Expected(label, likely, min(low, likely), max(high, likely), kind)
