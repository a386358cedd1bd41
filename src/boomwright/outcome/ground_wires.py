"""The minus conductors of a build: which part's minus is joined to which, and by how many ohms.

Every part's minus wire runs beside its plus wire to what feeds it; a receiver that shares its minus
lead is joined to an amplifier's minus instead. The screen of the audio lead is a second way round.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from boomwright.build.audio import Amplifier, Receiver
from boomwright.build.power import Rail, Usb
from boomwright.build.quantities import Quantity, parse_quantity
from boomwright.circuit.netlist import GROUND
from boomwright.outcome.ground_data import Loop, Rewired
from boomwright.outcome.plan import NodeNumbers, Plan
from boomwright.physics.arrays import Floats
from boomwright.physics.wire import wire_resistance

__all__ = ["Sound", "Wire", "Wiring", "isolates"]

# Resistances that a build file does not hold; typical of class, from memory.
_SCREEN = parse_quantity("50 mΩ [20 to 150] (typical)", "resistance")
_ISOLATION = parse_quantity("60 dB [40 to 80] (typical)", "decibel")

# A lead of no length still needs a resistance.
_LEAST_OHMS = 1e-7


@dataclass(frozen=True)
class Wire:
    """A conductor between two nodes of the circuit."""

    name: str
    kind: str
    start: str
    end: str
    ohms: Floats
    area: float | None = None
    length: float | None = None


@dataclass(frozen=True)
class Sound:
    """Where sound comes from: a name, the node its audio lead's screen is on, what holds back."""

    name: str
    node: str
    rejection: Floats | float


@dataclass(frozen=True)
class Wiring:
    """The minus conductors of a build, one resistance per version of it.

    Parameters
    ----------
    plan : Plan
        The build in numbers.
    rewired : Rewired
        Wires laid otherwise than it says.
    """

    plan: Plan
    rewired: Rewired

    def flat(self, values: Floats) -> Floats:
        """One value per version."""
        return np.broadcast_to(np.ravel(values), (self.plan.draws.versions,))

    def take(self, part: str, field: str, quantity: Quantity) -> Floats:
        """Value of a quantity of a part in each version."""
        return self.flat(self.plan.take(part, field, quantity))

    def minus(self, place: int) -> str:
        """Node of a part's minus, the source's for -1."""
        return f"n{place}" if place >= 0 else GROUND

    def output(self, place: int) -> str:
        """Minus of what a part gives: an isolated converter has one of its own."""
        apart = place >= 0 and isolates(self.plan.nodes[place])
        return f"n{place}o" if apart else self.minus(place)

    @cached_property
    def names(self) -> dict[str, str]:
        """Nodes of the circuit → what a person calls them."""
        names = {GROUND: self.plan.build.source.name}
        for place, node in enumerate(self.plan.nodes):
            names[self.minus(place)] = node.name
            if isolates(node):
                names[self.output(place)] = f"{node.name}, output side"
        return names

    def island(self, place: int) -> int:
        """Isolated converter on whose output side a part's minus lies, -1 for the source's."""
        above = self.plan.upstream(place)[1:]
        return next((up for up in above if isolates(self.plan.nodes[up])), -1)

    def place(self, name: str) -> int:
        """Place of a part in the tree, -1 for the source."""
        return next((p for p, node in enumerate(self.plan.nodes) if node.name == name), -1)

    @cached_property
    def boards(self) -> tuple[int, ...]:
        """Amplifiers that drive something."""
        numbered = enumerate(self.plan.nodes)
        return tuple(p for p, node in numbered if node.amplifier and node.amplifier.outputs)

    @cached_property
    def partner(self) -> int | None:
        """Amplifier whose minus lead a sharing receiver is on: the one where it would be worst."""

        def drop(place: int) -> float:
            board = self.plan.nodes[place].node.part
            gain = board.gain.likely - board.input_pad.likely if isinstance(board, Amplifier) else 0
            return float(self.plan.nodes[place].lead[0, 0] * 10.0 ** (gain / 20.0))

        return max(self.boards, key=drop, default=None)

    @cached_property
    def wires(self) -> tuple[Wire, ...]:
        """Every minus conductor, the screens last."""
        laid = {item.part: item for item in self.rewired.returns}
        wires = []
        for place, node in enumerate(self.plan.nodes):
            name, lead, parent = node.name, node.node.part.lead, node.node.parent
            start, end = self.minus(place), self.output(parent)
            area, length = lead.area.likely, lead.length.likely
            beside = Wire(name, "lead", start, end, self.ohms(node), area, length)
            joined: Wire | None = None
            on = self.partner
            if name in laid:
                item = laid[name]
                on = self.place(item.to)
                end = self.output(on)
                ohms = self.flat(wire_resistance(item.area, item.length)) + _LEAST_OHMS
                joined = Wire(name, "join", start, end, ohms, item.area, item.length)
            elif on is not None and getattr(node.node.part, "negative", "own") == "shared":
                end = self.minus(on)
                joined = Wire(name, "join", start, end, beside.ohms, area, length)
            if joined is None or on is None:
                wires.append(beside)
            elif self.side(on) == self.island(place):
                wires.append(joined)
            else:
                # A wire across an isolation carries no supply current back: the pair must stay.
                across = replace(joined, name=f"{name} joined to {self.names[end]}")
                wires += [beside, across]
        return (*wires, *self.screens())

    def side(self, place: int) -> int:
        """Island of the minus that a part offers to others."""
        if place >= 0 and isolates(self.plan.nodes[place]):
            return place
        return self.island(place) if place >= 0 else -1

    def ohms(self, node: NodeNumbers) -> Floats:
        """Resistance of a part's minus wire: half of the pair."""
        return self.flat(node.lead) / 2.0 + _LEAST_OHMS

    @cached_property
    def sounds(self) -> tuple[Sound, ...]:
        """Where sound comes from: receivers, or the ports of phones where there is none."""
        ports = [p for p, node in enumerate(self.plan.nodes) if isinstance(node.node.part, Usb)]
        found = []
        for place, node in enumerate(self.plan.nodes):
            part = node.node.part
            if isinstance(part, Receiver):
                held = self.take(part.name, "isolation", _ISOLATION) if part.isolated else 0.0
                # What draws no bursts is a wired input: the phone at its end may be on charge here.
                wired = part.burst.likely == 0.0 and ports
                at = [self.minus(port) for port in ports] if wired else [self.minus(place)]
                found += [Sound(part.name, node_name, held) for node_name in at]
        if not found:
            found = [Sound(self.plan.nodes[p].name, self.minus(p), 0.0) for p in ports]
        return tuple(found)

    def screens(self) -> Iterator[Wire]:
        """Screens of the audio leads that are joined at both ends."""
        seen = set()
        for sound in self.sounds:
            for board in self.boards:
                ends = (sound.node, self.minus(board))
                if np.any(sound.rejection) or ends in seen:
                    continue
                seen.add(ends)
                name = f"screen {self.names[ends[0]]} to {self.names[ends[1]]}"
                yield Wire(name, "screen", *ends, self.take(name, "screen", _SCREEN))

    def path(self, start: str, end: str) -> tuple[tuple[Wire, bool], ...]:
        """Leads from one node to another and whether each is met from its start; none if apart."""
        ways: dict[str, tuple[tuple[Wire, bool], ...]] = {start: ()}
        waiting = [start]
        for here in waiting:
            for wire in self.wires:
                for near, far, ahead in (
                    (wire.start, wire.end, True),
                    (wire.end, wire.start, False),
                ):
                    if wire.kind != "screen" and near == here and far not in ways:
                        ways[far] = (*ways[here], (wire, ahead))
                        waiting.append(far)
        return ways.get(end, ())

    def loops(self) -> Iterator[Loop]:
        """One ring for each screen whose two ends are joined by leads as well."""
        for screen in self.wires:
            around = self.path(screen.start, screen.end) if screen.kind == "screen" else ()
            if around:
                ring = (*(wire for wire, _ in around), screen)
                ohms = sum(float(wire.ohms[0]) for wire in ring)
                yield Loop(tuple(wire.name for wire in ring), ohms)


def isolates(node: NodeNumbers) -> bool:
    """Whether a part's output has a minus of its own."""
    return isinstance(node.node.part, Rail) and node.node.part.type == "isolated"
