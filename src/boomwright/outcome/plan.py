"""A build turned into numbers: every uncertain input an array over the versions of the build.

Arrays have shape (versions, 1), ready to meet a row of scenarios. What follows from the file alone
stands here; what depends on the moment of the discharge is :mod:`boomwright.outcome.network`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from boomwright.build.audio import Amplifier
from boomwright.build.drawer import Drawer, load_drawer
from boomwright.build.draws import Draws
from boomwright.build.fields import Lead, typical
from boomwright.build.model import Build
from boomwright.build.power import Cutoff, Fuse, Polarity, Rail, Switch
from boomwright.build.quantities import Quantity
from boomwright.build.tree import Node, power_tree
from boomwright.outcome.speakers import Output, outputs_of
from boomwright.physics.amplifier import RAIL_SHARE
from boomwright.physics.arrays import Floats
from boomwright.physics.chemistry import Chemistry, load_chemistries
from boomwright.physics.converter import ConverterLoss, converter_loss
from boomwright.physics.fuse import fuse_resistance
from boomwright.physics.programme import Programme, load_programmes
from boomwright.physics.wire import wire_resistance

__all__ = ["AmplifierNumbers", "NodeNumbers", "Plan", "RailNumbers", "make_plan", "programme_of"]

FUSE_KINDS = {"blade": "blade", "glass-quick": "tube_quick", "glass-slow": "tube_time_lag"}
"""Fuse types of the build file by the name of their time-current table."""

_POLARITY_DROPS = {
    "shunt-diode": "0 V",
    "series-schottky": "0.4 V [0.3 to 0.5]",
    "series-silicon": "0.9 V [0.7 to 1.1]",
    "p-mosfet": "0 V",
}
_SWITCHING_LOSS = "0.03 [0.02 to 0.05]"
_RESISTIVE_SHARE = 0.5
_CONNECTOR_PAIR = "5 mΩ [2 to 15]"


@dataclass(frozen=True)
class RailNumbers:
    """A regulator or converter in numbers, each (versions, 1)."""

    linear: bool
    boost: bool
    voltage: Floats
    dropout: Floats
    ground_current: Floats
    idle_power: Floats
    efficiency: Floats
    power_rated: Floats
    input_min: Floats

    @cached_property
    def loss(self) -> ConverterLoss:
        """Terms of a converter's loss."""
        return converter_loss(
            power_idle=self.idle_power,
            resistive_share=_RESISTIVE_SHARE,
            efficiency_peak=self.efficiency,
            power_rated=self.power_rated,
        )


@dataclass(frozen=True)
class AmplifierNumbers:
    """An amplifier board in numbers, each (versions, 1), and the outputs that have drivers."""

    rail_share: float
    switching: float
    voltage_loss: Floats
    output_resistance: Floats
    current_max: Floats
    idle_power: Floats
    loss_switching: Floats
    supply_min: Floats
    outputs: tuple[Output, ...]

    @cached_property
    def twins(self) -> tuple[int, ...]:
        """For each output the first one with the same load, itself if there is none before it."""
        return tuple(
            next(
                place
                for place, other in enumerate(self.outputs)
                if np.array_equal(other.load, output.load)
                and np.array_equal(other.share, output.share)
            )
            for output in self.outputs
        )


@dataclass(frozen=True)
class NodeNumbers:
    """A part of the power tree in numbers.

    Parameters
    ----------
    node : Node
        The part and its place.
    lead : array (versions, 1)
        Resistance of the lead that feeds it, there and back, with its connector [Ω].
    series : array (versions, 1)
        Resistance of the part itself in the path [Ω].
    drop : array (versions, 1)
        Voltage it loses besides [V].
    current : array (versions, 1)
        Fixed current it takes for itself [A].
    rail : RailNumbers or None
        For a rail.
    amplifier : AmplifierNumbers or None
        For an amplifier.
    """

    node: Node
    lead: Floats
    series: Floats
    drop: Floats
    current: Floats
    rail: RailNumbers | None = None
    amplifier: AmplifierNumbers | None = None

    @cached_property
    def lossless(self) -> bool:
        """Whether what comes out of it is what goes in."""
        return self.rail is None and not (np.any(self.series) or np.any(self.drop))

    @property
    def name(self) -> str:
        """Name of the part."""
        return self.node.part.name

    @property
    def kind(self) -> str:
        """Kind of the part."""
        return self.node.kind


@dataclass(frozen=True)
class Plan:
    """A build in numbers."""

    build: Build
    draws: Draws
    drawer: Drawer
    nodes: tuple[NodeNumbers, ...]
    programme: Programme

    @cached_property
    def chemistry(self) -> Chemistry | None:
        """Facts of the battery's chemistry, None for a supply."""
        battery = self.build.battery
        return load_chemistries()[battery.chemistry] if battery else None

    @cached_property
    def outputs(self) -> tuple[Output, ...]:
        """Every amplifier output that has drivers on it."""
        return tuple(
            output for node in self.nodes if node.amplifier for output in node.amplifier.outputs
        )

    @cached_property
    def children(self) -> tuple[tuple[int, ...], ...]:
        """Places of the parts that each node feeds; the last entry is the source's."""
        found: list[list[int]] = [[] for _ in range(len(self.nodes) + 1)]
        for place, node in enumerate(self.nodes):
            found[node.node.parent].append(place)
        return tuple(tuple(places) for places in found)

    def widened(self, columns: int) -> Plan:
        """The same with what the sweeps multiply by spread out over the scenarios.

        Whole arrays meet three times as fast as a column and a table do.
        """
        return replace(self, nodes=tuple(_widened(node, columns) for node in self.nodes))

    def take(self, part: str, field: str, quantity: Quantity) -> Floats:
        """Values of a quantity over the versions, shape (versions, 1)."""
        return self.draws.take(part, field, quantity)

    def upstream(self, place: int) -> tuple[int, ...]:
        """Places on the way from a node up to the source, the node itself first."""
        found = []
        while place >= 0:
            found.append(place)
            place = self.nodes[place].node.parent
        return tuple(found)


def make_plan(build: Build, draws: Draws, *, drawer: Drawer | None = None) -> Plan:
    """A build in numbers.

    Parameters
    ----------
    build : Build
        The build.
    draws : Draws
        Where uncertain values come from.
    drawer : Drawer or None
        Where connectors are looked up; the typical parts if None.

    Returns
    -------
    Plan
    """
    drawer = drawer or load_drawer()
    programme = programme_of(build)
    nodes = tuple(_node(node, build, draws, drawer, programme) for node in power_tree(build))
    return Plan(build, draws, drawer, nodes, programme)


def programme_of(build: Build) -> Programme:
    """What a build plays: its own music where that was measured, else the typical programme."""
    if build.music is not None:
        return build.music.programme
    return load_programmes()[build.want.programme]


def _widened(node: NodeNumbers, columns: int) -> NodeNumbers:
    def wide(values: Floats) -> Floats:
        # One value for all versions is quick as it is.
        return values if values.size == 1 else np.repeat(values, columns, axis=1)

    rail, amplifier = node.rail, node.amplifier
    if rail is not None:
        rail = replace(
            rail,
            dropout=wide(rail.dropout),
            ground_current=wide(rail.ground_current),
            idle_power=wide(rail.idle_power),
            efficiency=wide(rail.efficiency),
        )
    if amplifier is not None:
        amplifier = replace(
            amplifier,
            voltage_loss=wide(amplifier.voltage_loss),
            output_resistance=wide(amplifier.output_resistance),
            current_max=wide(amplifier.current_max),
            idle_power=wide(amplifier.idle_power),
            loss_switching=wide(amplifier.loss_switching),
            outputs=tuple(
                replace(output, load=wide(output.load), share=wide(output.share))
                for output in amplifier.outputs
            ),
        )
    return replace(
        node,
        lead=wide(node.lead),
        series=wide(node.series),
        drop=wide(node.drop),
        current=wide(node.current),
        rail=rail,
        amplifier=amplifier,
    )


def _lead_resistance(name: str, lead: Lead, draws: Draws, drawer: Drawer) -> Floats:
    area = draws.take(name, "lead.area", lead.area)
    length = draws.take(name, "lead.length", lead.length)
    resistance = 2.0 * wire_resistance(area, length)
    if lead.connector:
        pair = typical(_CONNECTOR_PAIR, "resistance")
        if lead.connector in drawer.names("connector"):
            pair = getattr(drawer.part("connector", lead.connector), "resistance", pair)
        resistance = resistance + draws.take(name, "lead.connector", pair)
    return resistance


def _node(
    node: Node, build: Build, draws: Draws, drawer: Drawer, programme: Programme
) -> NodeNumbers:
    part, name = node.part, node.part.name
    none = np.zeros((1, 1))
    series, drop, current = none, none, none
    rail = amplifier = None
    if isinstance(part, Fuse):
        series = fuse_resistance(part.rating.likely, kind=FUSE_KINDS[part.type]).reshape(1, 1)
    elif isinstance(part, Switch):
        series = draws.take(name, "resistance", part.resistance)
    elif isinstance(part, Cutoff):
        series = draws.take(name, "resistance", part.resistance)
        current = draws.take(name, "drain_on", part.drain_on)
    elif isinstance(part, Polarity):
        series = draws.take(name, "resistance", part.resistance)
        lost = part.drop or typical(_POLARITY_DROPS[part.type], "voltage")
        drop = draws.take(name, "drop", lost)
    elif isinstance(part, Rail):
        rail = _rail(part, draws)
    elif isinstance(part, Amplifier):
        amplifier = _amplifier(part, build, draws, programme)
    else:
        drawn = getattr(part, "current", None)
        if isinstance(drawn, Quantity):
            current = draws.take(name, "current", drawn)
        share = getattr(part, "on_share", None)
        if isinstance(share, Quantity):
            current = current * draws.take(name, "on_share", share)
    lead = _lead_resistance(name, part.lead, draws, drawer)
    return NodeNumbers(node, lead, series, drop, current, rail, amplifier)


def _rail(part: Rail, draws: Draws) -> RailNumbers:
    def take(field: str, quantity: Quantity) -> Floats:
        return draws.take(part.name, field, quantity)

    voltage = np.full((1, 1), part.voltage.likely)
    least = part.input_min.likely if part.input_min else 0.0
    return RailNumbers(
        linear=part.type == "linear",
        boost=part.type in {"boost", "isolated"},
        voltage=voltage,
        dropout=take("dropout", part.dropout),
        ground_current=take("ground_current", part.ground_current),
        idle_power=take("idle_power", part.idle_power),
        efficiency=take("efficiency", part.efficiency),
        power_rated=voltage * part.current_limit.likely,
        input_min=np.full((1, 1), least),
    )


def _amplifier(
    part: Amplifier, build: Build, draws: Draws, programme: Programme
) -> AmplifierNumbers:
    def take(field: str, quantity: Quantity) -> Floats:
        return draws.take(part.name, field, quantity)

    limit = take("current_max", part.current_max) if part.current_max else np.full((1, 1), np.inf)
    resistance = take("output_resistance", part.output_resistance)
    rail_share = RAIL_SHARE[part.topology]
    if part.use == "paralleled":
        limit, resistance = limit * part.channels, resistance / part.channels
    elif part.use == "bridged" and part.topology != "bridge":
        # Two outputs in opposition swing the whole supply, through both their resistances.
        rail_share, resistance = RAIL_SHARE["bridge"], 2.0 * resistance
    return AmplifierNumbers(
        rail_share=rail_share,
        switching=float(part.amplifier_class == "D"),
        voltage_loss=take("voltage_loss", part.voltage_loss),
        output_resistance=resistance,
        current_max=limit,
        idle_power=take("idle_power", part.idle_power),
        loss_switching=take("loss_switching", typical(_SWITCHING_LOSS, "ratio")),
        supply_min=np.full((1, 1), part.supply_min.likely),
        outputs=outputs_of(part, build, draws, programme),
    )
