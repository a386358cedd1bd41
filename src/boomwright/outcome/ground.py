"""The minus wiring as a graph: where pulsed currents share a lead with the amplifier's input.

Every part's minus wire runs beside its plus wire to what feeds it; a receiver that shares its minus
lead is joined to an amplifier's minus instead. The screen of the audio lead is a second way round.
A noisy current is sent through that network, and what stands between the receiver's ground and the
amplifier's input reference is amplified like music.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from boomwright.build.audio import Amplifier, Receiver
from boomwright.build.drawer import Drawer
from boomwright.build.draws import Draws
from boomwright.build.model import Build
from boomwright.build.nearest import nearest
from boomwright.build.power import Rail, Usb
from boomwright.build.quantities import parse_quantity
from boomwright.circuit.netlist import Netlist
from boomwright.circuit.operating import OperatingPoint, operating_point
from boomwright.circuit.parts import CurrentSource, Part, Resistor
from boomwright.errors import InputError, Problem
from boomwright.outcome.data import range_of
from boomwright.outcome.ground_data import Edge, GroundPlan, Rewired, Whine
from boomwright.outcome.ground_wires import Sound, Wiring, isolates
from boomwright.outcome.plan import Plan, make_plan
from boomwright.physics.arrays import Floats
from boomwright.physics.loudspeaker import voltage_sensitivity
from boomwright.physics.noise import shared_lead_noise, speaker_level

__all__ = ["ground_plan"]

_VERSIONS = 160

# Shares that a build file does not hold; typical of class, from memory.
_BURST_SHARE = parse_quantity("1 [0.3 to 1] (typical)", "ratio")
_REFERENCE = parse_quantity("1 [0 to 1] (typical)", "ratio")
_RIPPLE_SHARE = parse_quantity("3 % [0.5 to 10] (guess)", "share")
_STEP_SHARE = parse_quantity("10 % [3 to 30] (guess)", "share")
_DIFFERENTIAL = parse_quantity("40 dB [26 to 60] (typical)", "decibel")

# A side that floats still needs a potential.
_LEAK = 1e5
_CARRIED = 0.01
_SILENCE = -60.0


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
    return _Hearing(plan, Wiring(plan, rewired or Rewired())).result()


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
class _Noise:
    place: int
    kind: str
    amps: Floats
    basis: str


@dataclass(frozen=True)
class _Hearing:
    """Noisy currents sent through the minus wiring, and what each amplifier makes of them."""

    plan: Plan
    wiring: Wiring

    def result(self) -> GroundPlan:
        names = self.wiring.names
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
            for wire in self.wiring.wires
        )
        return GroundPlan(tuple(names.values()), edges, tuple(self.wiring.loops()), tuple(found))

    def netlist(self, versions: slice) -> Netlist:
        """Conductors as resistors, and a source of current beside every part."""
        parts: list[Part] = [
            Resistor(name=f"R{at}", a=wire.start, b=wire.end, resistance=wire.ohms[versions])
            for at, wire in enumerate(self.wiring.wires)
        ]
        for place, node in enumerate(self.plan.nodes):
            feed, own = self.wiring.output(self.feeder(place)), self.wiring.minus(place)
            parts.append(CurrentSource(name=f"I{place}", a=feed, b=own, current=0.0))
            if isolates(node):
                parts.append(
                    Resistor(
                        name=f"RL{place}", a=self.wiring.output(place), b=own, resistance=_LEAK
                    )
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
        return self.wiring.flat(rail.voltage) if rail else self.source_volts

    def flows(self, place: int, amps: Floats) -> dict[str, Floats]:
        """Current of a part and what each rail above it takes in for its sake."""
        flows = {f"I{place}": amps}
        while (up := self.feeder(place)) >= 0:
            rail = self.plan.nodes[up].rail
            if rail is not None and not rail.linear:
                power = amps * self.wiring.flat(rail.voltage) / self.wiring.flat(rail.efficiency)
                amps = power / self.volts(up)
            flows[f"I{up}"] = amps
            place = up
        return flows

    def mean_input(self, place: int) -> Floats:
        """Current that a part takes on average with no music playing, what it feeds included."""
        node = self.plan.nodes[place]
        own = self.wiring.flat(node.current)
        if node.amplifier:
            own = own + self.wiring.flat(node.amplifier.idle_power) / self.volts(place)
        total = own
        for child in self.plan.children[place]:
            total = total + self.mean_input(child)
        if node.rail is None:
            return total
        if node.rail.linear:
            return total + self.wiring.flat(node.rail.ground_current)
        power = total * self.wiring.flat(node.rail.voltage) / self.wiring.flat(node.rail.efficiency)
        return (power + self.wiring.flat(node.rail.idle_power)) / self.volts(place)

    def noises(self) -> Iterator[_Noise]:
        for place, node in enumerate(self.plan.nodes):
            part = node.node.part
            if isinstance(part, Receiver) and part.burst.high > 0.0:
                amps = self.wiring.take(part.name, "burst", part.burst)
                share = self.wiring.take(part.name, "burst_share", _BURST_SHARE)
                yield _Noise(place, "bursts", amps * share, part.burst.basis)
            elif isinstance(part, Rail) and part.type != "linear":
                share = self.wiring.take(part.name, "ripple_share", _RIPPLE_SHARE)
                yield _Noise(place, "ripple", self.mean_input(place) * share, _RIPPLE_SHARE.basis)
            elif isinstance(part, Usb):
                amps = self.wiring.take(part.name, "current", part.current)
                share = self.wiring.take(part.name, "step_share", _STEP_SHARE)
                yield _Noise(place, "steps", amps * share, _STEP_SHARE.basis)

    def whines_of(self, noise: _Noise) -> Iterator[Whine]:
        """Loudest whine of a noisy current at each amplifier."""
        if not (self.wiring.sounds and self.wiring.boards):
            return
        point = operating_point(self.whole, levels=self.flows(noise.place, noise.amps))
        for board in self.wiring.boards:
            heard = [self.whine(noise, point, board, sound) for sound in self.wiring.sounds]
            yield max(heard, key=lambda whine: whine.level.likely)

    def whine(self, noise: _Noise, point: OperatingPoint, board: int, sound: Sound) -> Whine:
        node = self.plan.nodes[board]
        part, numbers = node.node.part, node.amplifier
        if not isinstance(part, Amplifier) or numbers is None:
            raise ValueError(f"{node.name} is no amplifier")
        wire = next(wire for wire in self.wiring.wires if wire.name == node.name)
        share = self.wiring.take(part.name, "input_reference", _REFERENCE)
        lifted = point.voltage(sound.node, wire.start) + share * point.voltage(wire.start, wire.end)
        rejection = self.wiring.flat(np.asarray(sound.rejection, dtype=np.float64))
        if part.name in self.wiring.rewired.differential:
            rejection = rejection + self.wiring.take(part.name, "differential", _DIFFERENTIAL)
        # A range may reach down to no current at all, and then no volts stand either.
        flows = noise.amps > 0.0
        ohms = np.where(flows, np.abs(lifted), 0.0) / np.where(flows, noise.amps, 1.0)
        gain = self.wiring.take(part.name, "gain", part.gain) - self.wiring.take(
            part.name, "input_pad", part.input_pad
        )
        volts = shared_lead_noise(
            burst_current=noise.amps, resistance=ohms, gain_db=gain - rejection
        )
        levels = [
            speaker_level(
                volts,
                sensitivity=voltage_sensitivity(
                    self.wiring.flat(group.sensitivity),
                    resistance=self.wiring.flat(group.impedance),
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
        for wire, ahead in self.wiring.path(start, end):
            across = point.voltage(wire.start, wire.end)[0]
            yield wire.name, float(across if ahead else -across)

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
            for wire in self.wiring.wires
        }
