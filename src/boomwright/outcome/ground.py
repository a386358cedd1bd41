"""The minus wiring as a graph: where pulsed currents share a lead with the amplifier's input.

Every part's minus wire runs beside its plus wire to what feeds it; a receiver that shares its minus
lead is joined to an amplifier's minus instead. The screen of the audio lead is a second way round.
A noisy current is sent through that network, and what stands between the receiver's ground and the
amplifier's input reference is amplified like music.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from boomwright.build.audio import Amplifier, Receiver
from boomwright.build.drawer import Drawer
from boomwright.build.draws import Draws
from boomwright.build.model import Build
from boomwright.build.nearest import nearest
from boomwright.build.power import Rail, Usb
from boomwright.build.quantities import Quantity, parse_quantity
from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.operating import OperatingPoint, operating_point
from boomwright.circuit.parts import CurrentSource, Part, Resistor
from boomwright.errors import InputError, Problem
from boomwright.outcome.data import Range, range_of
from boomwright.outcome.plan import NodeNumbers, Plan, make_plan
from boomwright.physics.arrays import Floats
from boomwright.physics.loudspeaker import voltage_sensitivity
from boomwright.physics.noise import shared_lead_noise, speaker_level
from boomwright.physics.wire import wire_resistance

__all__ = [
    "HEARD_FROM",
    "Edge",
    "GroundPlan",
    "Loop",
    "Return",
    "Rewired",
    "Whine",
    "ground_plan",
    "heard_as",
]

HEARD_FROM = 20.0
"""Level at 1 m from which a quiet room no longer hides a whine [dB]; common practice, no source."""

_HEARD_AS = (
    (HEARD_FROM, "below what a quiet room hides"),
    (35.0, "heard in a quiet room"),
    (50.0, "as loud as whispering"),
    (65.0, "as loud as talk"),
)
_VERSIONS = 160

# Shares and resistances that a build file does not hold; typical of class, from memory.
_SCREEN = parse_quantity("50 mΩ [20 to 150] (typical)", "resistance")
_BURST_SHARE = parse_quantity("1 [0.3 to 1] (typical)", "ratio")
_REFERENCE = parse_quantity("1 [0 to 1] (typical)", "ratio")
_RIPPLE_SHARE = parse_quantity("3 % [0.5 to 10] (guess)", "share")
_STEP_SHARE = parse_quantity("10 % [3 to 30] (guess)", "share")
_ISOLATION = parse_quantity("60 dB [40 to 80] (typical)", "decibel")
_DIFFERENTIAL = parse_quantity("40 dB [26 to 60] (typical)", "decibel")

# A lead of no length still needs a resistance, and a side that floats still needs a potential.
_LEAST_OHMS, _LEAK = 1e-7, 1e5
_CARRIED = 0.01
_SILENCE = -60.0


def heard_as(level: float) -> str:
    """How loud a whine of a level at 1 m is, in words.

    Examples
    --------
    >>> heard_as(12.0), heard_as(45.0)
    ('below what a quiet room hides', 'as loud as whispering')
    """
    return next((words for top, words in _HEARD_AS if level < top), "louder than talk")


@dataclass(frozen=True)
class Return:
    """A minus wire laid otherwise than the build file has it.

    Parameters
    ----------
    part : str
        Name of the part whose minus wire it is.
    to : str
        Name of the part, or of the source, whose minus it ends on.
    area, length : float
        Copper [m²] and length one way [m].
    """

    part: str
    to: str
    area: float
    length: float


@dataclass(frozen=True)
class Rewired:
    """Changes that a build file cannot say: minus wires laid anew, amplifiers that subtract."""

    returns: tuple[Return, ...] = ()
    differential: tuple[str, ...] = ()


@dataclass(frozen=True)
class Edge:
    """A minus conductor.

    Parameters
    ----------
    name : str
        Name of the part it belongs to, or the two ends of a screen.
    kind : str
        ``lead`` beside the part's plus wire, ``join`` for one laid elsewhere, ``screen``.
    start, end : str
        Parts at its ends, the source's side last.
    area, length : float or None
        Copper [m²] and length one way [m]; None for a screen.
    resistance : Range
        One way, with half of its connector [Ω].
    carries : tuple of str
        Parts of whose supply current more than a hundredth runs in it.
    """

    name: str
    kind: str
    start: str
    end: str
    area: float | None
    length: float | None
    resistance: Range
    carries: tuple[str, ...]


@dataclass(frozen=True)
class Loop:
    """A ring of minus conductors, by the names of its edges, and its resistance all round [Ω]."""

    edges: tuple[str, ...]
    resistance: float


@dataclass(frozen=True)
class Whine:
    """What one noisy current puts on the drivers of one amplifier, with no music playing.

    Parameters
    ----------
    load, kind : str
        Name of the part whose current it is; ``bursts`` of a receiver, ``ripple`` of a converter,
        ``steps`` of a phone on charge.
    source, amplifier : str
        Where the sound comes from (a receiver, or the port of a phone with a lead) and goes to.
    current : Range
        Audible part of the current, at the part itself [A].
    basis : str
        What the current rests on.
    resistance : Range
        Volts at the input over that current [Ω].
    volts : Range
        At the drivers, root mean square [V].
    level : Range
        At 1 m from the loudest of its drivers [dB]; -60 dB stands for all that is fainter.
    drops : tuple of (str, float)
        Edges between the two grounds with their likely drop [V]; they add up to the input's.
    """

    load: str
    kind: str
    source: str
    amplifier: str
    current: Range
    basis: str
    resistance: Range
    volts: Range
    level: Range
    drops: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class GroundPlan:
    """The minus wiring: its joints, conductors and rings, and every whine, the loudest first."""

    nodes: tuple[str, ...]
    edges: tuple[Edge, ...]
    loops: tuple[Loop, ...]
    whines: tuple[Whine, ...]

    @property
    def loudest(self) -> Whine | None:
        """The loudest whine, None where nothing can whine."""
        return self.whines[0] if self.whines else None

    def edge(self, name: str) -> Edge:
        """Conductor of a name; KeyError if there is none."""
        return {edge.name: edge for edge in self.edges}[name]

    def whine(self, load: str, amplifier: str) -> Whine | None:
        """Whine of a part at an amplifier, None where there is none."""
        found = (w for w in self.whines if (w.load, w.amplifier) == (load, amplifier))
        return next(found, None)


def ground_plan(
    build: Build,
    *,
    rewired: Rewired | None = None,
    versions: int = _VERSIONS,
    seed: int = 0,
    drawer: Drawer | None = None,
) -> GroundPlan:
    """Minus wiring of a build, and what whines through it.

    Resistances only, as for the milliseconds of a receiver's bursts; pick-up through the air and
    through the plus side is left out. Where two readings are possible the louder is the likely
    one: a burst's peak stands for its root mean square, and the amplifier's input refers to the
    far end of its minus lead, as in the usual sum of a shared lead. The ranges hold the others.

    Parameters
    ----------
    build : Build
        The build.
    rewired : Rewired or None
        Wires laid otherwise than it says.
    versions : int
        Versions of it besides the likely one that the ranges rest on.
    seed : int
        Another seed gives another set of versions.
    drawer : Drawer or None
        Where connectors are looked up.

    Returns
    -------
    GroundPlan

    Raises
    ------
    InputError
        If a wire laid anew names a part that is not there.
    NetlistError
        If wires laid anew leave a part without any way back to the source.
    """
    _check_names(build, rewired or Rewired())
    plan = make_plan(build, Draws(versions, seed=seed), drawer=drawer)
    return _Wiring(plan, rewired or Rewired()).result()


def _check_names(build: Build, rewired: Rewired) -> None:
    parts = [part.name for _, part in build.fed()]
    asked = [(item.part, parts) for item in rewired.returns]
    asked += [(item.to, [build.source.name, *parts]) for item in rewired.returns]
    asked += [(name, [item.name for item in build.amplifier]) for name in rewired.differential]
    problems = [
        Problem("no such part to rewire", got=repr(name), hint=nearest(name, known))
        for name, known in asked
        if name not in known
    ]
    if problems:
        raise InputError(problems)


@dataclass(frozen=True)
class _Wire:
    """A conductor between two nodes of the circuit."""

    name: str
    kind: str
    start: str
    end: str
    ohms: Floats
    area: float | None = None
    length: float | None = None


@dataclass(frozen=True)
class _Noise:
    place: int
    kind: str
    amps: Floats
    basis: str


@dataclass(frozen=True)
class _Sound:
    """Where sound comes from: a name, the node its audio lead's screen is on, what holds back."""

    name: str
    node: str
    rejection: Floats | float


@dataclass(frozen=True)
class _Wiring:
    plan: Plan
    rewired: Rewired

    def result(self) -> GroundPlan:
        names = self.names
        noises = list(self.noises())
        found = [whine for noise in noises for whine in self.whines_of(noise)]
        found.sort(key=lambda whine: -whine.level.likely)
        carried = self.carried()
        edges = tuple(
            Edge(
                wire.name,
                wire.kind,
                names[wire.start],
                names[wire.end],
                wire.area,
                wire.length,
                range_of(wire.ohms),
                carried[wire.name],
            )
            for wire in self.wires
        )
        return GroundPlan(tuple(names.values()), edges, tuple(self.loops()), tuple(found))

    def flat(self, values: Floats) -> Floats:
        """One value per version."""
        return np.broadcast_to(np.ravel(values), (self.plan.draws.versions,))

    def take(self, part: str, field: str, quantity: Quantity) -> Floats:
        return self.flat(self.plan.take(part, field, quantity))

    def minus(self, place: int) -> str:
        return f"n{place}" if place >= 0 else GROUND

    def output(self, place: int) -> str:
        """Minus of what a part gives: an isolated converter has one of its own."""
        apart = place >= 0 and _isolates(self.plan.nodes[place])
        return f"n{place}o" if apart else self.minus(place)

    @cached_property
    def names(self) -> dict[str, str]:
        """Nodes of the circuit → what a person calls them."""
        names = {GROUND: self.plan.build.source.name}
        for place, node in enumerate(self.plan.nodes):
            names[self.minus(place)] = node.name
            if _isolates(node):
                names[self.output(place)] = f"{node.name}, output side"
        return names

    def island(self, place: int) -> int:
        """Isolated converter on whose output side a part's minus lies, -1 for the source's."""
        above = self.plan.upstream(place)[1:]
        return next((up for up in above if _isolates(self.plan.nodes[up])), -1)

    def place(self, name: str) -> int:
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
    def wires(self) -> tuple[_Wire, ...]:
        laid = {item.part: item for item in self.rewired.returns}
        wires = []
        for place, node in enumerate(self.plan.nodes):
            name, lead, parent = node.name, node.node.part.lead, node.node.parent
            start, end = self.minus(place), self.output(parent)
            area, length = lead.area.likely, lead.length.likely
            beside = _Wire(name, "lead", start, end, self.ohms(node), area, length)
            joined: _Wire | None = None
            on = self.partner
            if name in laid:
                item = laid[name]
                on = self.place(item.to)
                end = self.output(on)
                ohms = self.flat(wire_resistance(item.area, item.length)) + _LEAST_OHMS
                joined = _Wire(name, "join", start, end, ohms, item.area, item.length)
            elif on is not None and getattr(node.node.part, "negative", "own") == "shared":
                end = self.minus(on)
                joined = _Wire(name, "join", start, end, beside.ohms, area, length)
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
        if place >= 0 and _isolates(self.plan.nodes[place]):
            return place
        return self.island(place) if place >= 0 else -1

    def ohms(self, node: NodeNumbers) -> Floats:
        """Resistance of a part's minus wire: half of the pair."""
        return self.flat(node.lead) / 2.0 + _LEAST_OHMS

    @cached_property
    def sounds(self) -> tuple[_Sound, ...]:
        ports = [p for p, node in enumerate(self.plan.nodes) if isinstance(node.node.part, Usb)]
        found = []
        for place, node in enumerate(self.plan.nodes):
            part = node.node.part
            if isinstance(part, Receiver):
                held = self.take(part.name, "isolation", _ISOLATION) if part.isolated else 0.0
                # What draws no bursts is a wired input: the phone at its end may be on charge here.
                wired = part.burst.likely == 0.0 and ports
                at = [self.minus(port) for port in ports] if wired else [self.minus(place)]
                found += [_Sound(part.name, node_name, held) for node_name in at]
        if not found:
            found = [_Sound(self.plan.nodes[p].name, self.minus(p), 0.0) for p in ports]
        return tuple(found)

    def screens(self) -> Iterator[_Wire]:
        """Screens of the audio leads that are joined at both ends."""
        seen = set()
        for sound in self.sounds:
            for board in self.boards:
                ends = (sound.node, self.minus(board))
                if np.any(sound.rejection) or ends in seen:
                    continue
                seen.add(ends)
                name = f"screen {self.names[ends[0]]} to {self.names[ends[1]]}"
                yield _Wire(name, "screen", *ends, self.take(name, "screen", _SCREEN))

    def netlist(self, versions: slice) -> Netlist:
        parts: list[Part] = [
            Resistor(name=f"R{at}", a=wire.start, b=wire.end, resistance=wire.ohms[versions])
            for at, wire in enumerate(self.wires)
        ]
        for place, node in enumerate(self.plan.nodes):
            feed, own = self.output(self.feeder(place)), self.minus(place)
            parts.append(CurrentSource(name=f"I{place}", a=feed, b=own, current=0.0))
            if _isolates(node):
                parts.append(
                    Resistor(name=f"RL{place}", a=self.output(place), b=own, resistance=_LEAK)
                )
        return Netlist("minus wiring", tuple(parts))

    @cached_property
    def whole(self) -> Netlist:
        return self.netlist(slice(None))

    def feeder(self, place: int) -> int:
        """Rail that feeds a part through whatever stands between, -1 for the source."""
        above = self.plan.upstream(place)[1:]
        return next((up for up in above if self.plan.nodes[up].rail), -1)

    @cached_property
    def source_volts(self) -> float:
        battery, supply = self.plan.build.battery, self.plan.build.supply
        if battery is not None and self.plan.chemistry is not None:
            return self.plan.chemistry.voltage_nominal * battery.cells
        return supply.voltage.likely if supply else 1.0

    def volts(self, place: int) -> Floats | float:
        """Volts that a part is fed with, leads left out."""
        rail = self.plan.nodes[up].rail if (up := self.feeder(place)) >= 0 else None
        return self.flat(rail.voltage) if rail else self.source_volts

    def flows(self, place: int, amps: Floats) -> dict[str, Floats]:
        """Current of a part and what each rail above it takes in for its sake."""
        flows = {f"I{place}": amps}
        while (up := self.feeder(place)) >= 0:
            rail = self.plan.nodes[up].rail
            if rail is not None and not rail.linear:
                power = amps * self.flat(rail.voltage) / self.flat(rail.efficiency)
                amps = power / self.volts(up)
            flows[f"I{up}"] = amps
            place = up
        return flows

    def mean_input(self, place: int) -> Floats:
        """Current that a part takes on average with no music playing, what it feeds included."""
        node = self.plan.nodes[place]
        own = self.flat(node.current)
        if node.amplifier:
            own = own + self.flat(node.amplifier.idle_power) / self.volts(place)
        total = own
        for child in self.plan.children[place]:
            total = total + self.mean_input(child)
        if node.rail is None:
            return total
        if node.rail.linear:
            return total + self.flat(node.rail.ground_current)
        power = total * self.flat(node.rail.voltage) / self.flat(node.rail.efficiency)
        return (power + self.flat(node.rail.idle_power)) / self.volts(place)

    def noises(self) -> Iterator[_Noise]:
        for place, node in enumerate(self.plan.nodes):
            part = node.node.part
            if isinstance(part, Receiver) and part.burst.high > 0.0:
                amps = self.take(part.name, "burst", part.burst)
                share = self.take(part.name, "burst_share", _BURST_SHARE)
                yield _Noise(place, "bursts", amps * share, part.burst.basis)
            elif isinstance(part, Rail) and part.type != "linear":
                share = self.take(part.name, "ripple_share", _RIPPLE_SHARE)
                yield _Noise(place, "ripple", self.mean_input(place) * share, _RIPPLE_SHARE.basis)
            elif isinstance(part, Usb):
                amps = self.take(part.name, "current", part.current)
                share = self.take(part.name, "step_share", _STEP_SHARE)
                yield _Noise(place, "steps", amps * share, _STEP_SHARE.basis)

    def whines_of(self, noise: _Noise) -> Iterator[Whine]:
        """Loudest whine of a noisy current at each amplifier."""
        if not (self.sounds and self.boards):
            return
        point = operating_point(self.whole, levels=self.flows(noise.place, noise.amps))
        for board in self.boards:
            heard = [self.whine(noise, point, board, sound) for sound in self.sounds]
            yield max(heard, key=lambda whine: whine.level.likely)

    def whine(self, noise: _Noise, point: OperatingPoint, board: int, sound: _Sound) -> Whine:
        node = self.plan.nodes[board]
        part, numbers = node.node.part, node.amplifier
        if not isinstance(part, Amplifier) or numbers is None:
            raise ValueError(f"{node.name} is no amplifier")
        wire = next(wire for wire in self.wires if wire.name == node.name)
        share = self.take(part.name, "input_reference", _REFERENCE)
        lifted = point.voltage(sound.node, wire.start) + share * point.voltage(wire.start, wire.end)
        rejection = self.flat(np.asarray(sound.rejection, dtype=np.float64))
        if part.name in self.rewired.differential:
            rejection = rejection + self.take(part.name, "differential", _DIFFERENTIAL)
        # A range may reach down to no current at all, and then no volts stand either.
        flows = noise.amps > 0.0
        ohms = np.where(flows, np.abs(lifted), 0.0) / np.where(flows, noise.amps, 1.0)
        gain = self.take(part.name, "gain", part.gain) - self.take(
            part.name, "input_pad", part.input_pad
        )
        volts = shared_lead_noise(
            burst_current=noise.amps, resistance=ohms, gain_db=gain - rejection
        )
        levels = [
            speaker_level(
                volts,
                sensitivity=voltage_sensitivity(
                    self.flat(group.sensitivity), resistance=self.flat(group.impedance)
                ),
            )
            for output in numbers.outputs
            for group in output.groups
        ]
        return Whine(
            load=self.plan.nodes[noise.place].name,
            kind=noise.kind,
            source=sound.name,
            amplifier=part.name,
            current=range_of(noise.amps),
            basis=noise.basis,
            resistance=range_of(ohms),
            volts=range_of(volts),
            level=range_of(np.maximum.reduce([*levels, np.full_like(volts, _SILENCE)])),
            drops=tuple(self.drops(point, sound.node, wire.end)),
        )

    def drops(self, point: OperatingPoint, start: str, end: str) -> Iterator[tuple[str, float]]:
        for wire, ahead in self.path(start, end):
            across = point.voltage(wire.start, wire.end)[0]
            yield wire.name, float(across if ahead else -across)

    def path(self, start: str, end: str) -> tuple[tuple[_Wire, bool], ...]:
        """Leads from one node to another and whether each is met from its start; none if apart."""
        ways: dict[str, tuple[tuple[_Wire, bool], ...]] = {start: ()}
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

    def carried(self) -> dict[str, tuple[str, ...]]:
        """Parts whose supply current each conductor carries, by an ampere sent through each."""
        places = [p for p, node in enumerate(self.plan.nodes) if not self.plan.children[p]]
        levels: dict[str, Floats] = {}
        for column, place in enumerate(places):
            ampere = self.flows(place, np.ones(self.plan.draws.versions))
            for name, amps in ampere.items():
                levels.setdefault(name, np.zeros(len(places)))[column] = amps[0]
        point = operating_point(self.netlist(slice(0, 1)), levels=dict(levels))
        return {
            wire.name: tuple(
                self.plan.nodes[place].name
                for place, volts in zip(places, point.voltage(wire.start, wire.end), strict=True)
                if abs(volts) > _CARRIED * float(wire.ohms[0])
            )
            for wire in self.wires
        }


def _isolates(node: NodeNumbers) -> bool:
    return isinstance(node.node.part, Rail) and node.node.part.type == "isolated"
