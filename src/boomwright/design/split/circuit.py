"""A split as netlists: as it is soldered, and with the drivers as the circuits they are."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from boomwright.build.filters import Component
from boomwright.circuit.blocks.loudspeaker import LoudspeakerValues, loudspeaker_netlist
from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.parts import Capacitor, Inductor, Part, Resistor, VoltageSource
from boomwright.design.split.branch import Branch
from boomwright.outcome.loudspeaker_circuit import filter_steps, loudspeaker_values

__all__ = ["NAMES", "Soldered", "real_netlist", "soldered", "wiring_netlist", "wiring_netlists"]

NAMES = ("woofer", "tweeter")
"""Nodes of the drivers, woofer first."""

_LETTERS = {"resistor": "R", "coil": "L", "capacitor": "C"}


@dataclass(frozen=True)
class Soldered:
    """One component of a filter with its place in it.

    Parameters
    ----------
    name : str
        Designator.
    component : Component
        What it is.
    branch, step : int
        Which branch and which of its steps.
    """

    name: str
    component: Component
    branch: int
    step: int


def soldered(branches: Sequence[Branch]) -> tuple[Soldered, ...]:
    """Every component with a designator, woofer's branch first, from the amplifier on."""
    counts = dict.fromkeys(_LETTERS.values(), 0)
    found = []
    for branch, item in enumerate(branches):
        for step, written in enumerate(item.filter):
            for component in written.components:
                letter = _LETTERS[component.kind]
                counts[letter] += 1
                found.append(Soldered(f"{letter}{counts[letter]}", component, branch, step))
    return tuple(found)


def wiring_netlists(
    branches: Sequence[Branch], drivers: Sequence[str], title: str, *, together: bool
) -> tuple[Netlist, ...]:
    """The split as it is soldered: one circuit for each output of the amplifier.

    Two outputs of a bridge amplifier have no lead in common, so their filters share no drawing.

    Parameters
    ----------
    branches, drivers, title
        As in `wiring_netlist`.
    together : bool
        Whether all hang on one output.

    Returns
    -------
    tuple of Netlist
    """
    if together or len(branches) == 1:
        return (wiring_netlist(branches, drivers, title),)
    return tuple(
        wiring_netlist(branches, drivers, f"{title}: {driver}, on an output of its own", only=place)
        for place, driver in enumerate(drivers)
    )


def wiring_netlist(
    branches: Sequence[Branch], drivers: Sequence[str], title: str, *, only: int | None = None
) -> Netlist:
    """The split as it is soldered, each driver a resistor of its rated impedance.

    Parameters
    ----------
    branches : sequence of Branch
        Woofer first.
    drivers : sequence of str
        Node of each driver, of :data:`NAMES`.
    title : str
        What the circuit is.
    only : int or None
        The one branch that is wanted; all if None.

    Returns
    -------
    Netlist
        Amplifier ``V1`` at ``amp``, drivers ``LS1`` and ``LS2``; a driver that is the other way
        round has its ``a``, which is its plus, at the common lead.
    """
    parts: list[Part] = [VoltageSource(name="V1", a="amp", b=GROUND, voltage=1.0, ac=1.0)]
    every = soldered(branches)
    for place, (branch, driver) in enumerate(zip(branches, drivers, strict=True)):
        if only not in (None, place):
            continue
        mine = [one for one in every if one.branch == place]
        parts += _filter_parts(branch, mine, driver)
        node = driver if _in_line(branch) else "amp"
        ends = (GROUND, node) if branch.reversed else (node, GROUND)
        parts.append(
            Resistor(name=f"LS{place + 1}", a=ends[0], b=ends[1], resistance=branch.drive.rated)
        )
    return Netlist(title, tuple(parts))


def _in_line(branch: Branch) -> list[int]:
    """Places of the steps between amplifier and driver; without any both are one node."""
    return [at for at, step in enumerate(branch.filter) if step.place == "series"]


def _filter_parts(branch: Branch, mine: Sequence[Soldered], driver: str) -> Iterator[Part]:
    series = _in_line(branch)
    here = "amp"
    for at, step in enumerate(branch.filter):
        if step.place == "series":
            there = driver if at == series[-1] else f"{driver}_{at + 1}"
            yield from _chained([one for one in mine if one.step == at], here, there)
            here = there
        else:
            yield from _chained([one for one in mine if one.step == at], here, GROUND)


def _chained(chain: Sequence[Soldered], a: str, b: str) -> Iterator[Part]:
    for place, one in enumerate(chain):
        end = b if place == len(chain) - 1 else f"{one.name}_{chain[place + 1].name}"
        value = one.component.value.likely
        if one.component.kind == "coil":
            winding = one.component.winding
            resistance = winding.likely if winding is not None else 0.0
            yield Inductor(name=one.name, a=a, b=end, inductance=value, resistance=resistance)
        elif one.component.kind == "capacitor":
            yield Capacitor(name=one.name, a=a, b=end, capacitance=value)
        else:
            yield Resistor(name=one.name, a=a, b=end, resistance=value)
        a = end


def real_netlist(branches: Sequence[Branch], drivers: Sequence[str], title: str) -> Netlist:
    """The split with each driver in its box as the resistors, coils and capacitors it acts like.

    A driver of which too little is known stays a resistor.

    Parameters
    ----------
    branches : sequence of Branch
        Woofer first.
    drivers : sequence of str
        Node of each driver, of :data:`NAMES`.
    title : str
        What the circuit is.

    Returns
    -------
    Netlist
        Amplifier ``V1`` at ``amp``.
    """
    parts: list[Part] = [VoltageSource(name="V1", a="amp", b=GROUND, voltage=1.0, ac=1.0)]
    for place, (branch, driver) in enumerate(zip(branches, drivers, strict=True), start=1):
        model = branch.drive.voice.model
        node = driver if _in_line(branch) else "amp"
        if model is None:
            steps = [one for one in soldered(branches) if one.branch == place - 1]
            parts += _filter_parts(branch, steps, driver)
            parts.append(
                Resistor(name=f"LS{place}", a=node, b=GROUND, resistance=branch.drive.rated)
            )
            continue
        values = _joined(loudspeaker_values(model, branch.drive.voice.load), branch)
        single = loudspeaker_netlist(values, steps=filter_steps(branch.steps))
        named = {"amp": "amp", GROUND: GROUND, "driver": node}
        for part in single.parts:
            if isinstance(part, VoltageSource):
                continue
            nodes: dict[str, Any] = {
                field: named.get(getattr(part, field), f"{driver}_{getattr(part, field)}")
                for field in part.NODES
            }
            parts.append(replace(part, name=f"{part.name}{driver[0].upper()}", **nodes))
    return Netlist(title, tuple(parts))


def _joined(values: LoudspeakerValues, branch: Branch) -> LoudspeakerValues:
    """Values of a group from those of one."""
    factor = branch.drive.voice.joined
    changed: dict[str, Any] = {}
    for field in fields(values):
        value = getattr(values, field.name)
        if field.name == "creep":
            changed[field.name] = tuple((a * factor, b * factor) for a, b in value)
        elif value is not None:
            size = 1.0 / factor if field.name.startswith("c") else factor
            changed[field.name] = np.asarray(value) * size
    return replace(values, **changed)
