"""A netlist as equations: unknown node voltages and branch currents, and what each part adds.

The equations are ``charge · dx/dt + linear · x + (currents of the curved parts) = excitation`` with
x the voltages of all nodes but ground, then the currents through sources and coils. Arrays have the
batch as their last axis.
"""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from dataclasses import fields, replace
from typing import TypeVar

import numpy as np

from boomwright.circuit import laws
from boomwright.circuit.bound import Curved, Stateful, picked
from boomwright.circuit.curved import CurvedPart, curved_part
from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.parts import (
    Capacitor,
    Comparator,
    Coupling,
    CurrentSource,
    Diode,
    Fuse,
    Inductor,
    Part,
    Relay,
    Resistor,
    Switch,
    VoltageSource,
    Zener,
)
from boomwright.circuit.values import NOMINAL_TEMPERATURE, Chosen, Floats, Truths, Value

__all__ = ["COPPER_COEFFICIENT", "Equations", "coil_resistance_at"]

COPPER_COEFFICIENT = 0.003_93 / (1.0 + 0.003_93 * 5.0)
"""Temperature coefficient of copper from 25 °C [1/K]: IEC 60028 gives 0.00393 from 20 °C."""


def coil_resistance_at(resistance: Value, temperature: Value) -> Floats:
    """Resistance of a copper coil at a temperature [Ω]; ``resistance`` is at 25 °C, [K] given."""
    rise = np.asarray(temperature, dtype=np.float64) - NOMINAL_TEMPERATURE
    return np.asarray(resistance * (1.0 + COPPER_COEFFICIENT * rise))


class Equations:
    """The equations of a netlist.

    Parameters
    ----------
    netlist : Netlist
        The circuit.
    temperature : float or array
        Temperature of all parts [K].
    samples : int
        Batch size, if greater than what the values say (1 otherwise stays 1).
    """

    def __init__(
        self, netlist: Netlist, *, temperature: Value = NOMINAL_TEMPERATURE, samples: int = 1
    ) -> None:
        self.netlist = netlist
        self.temperature = np.atleast_1d(np.asarray(temperature, dtype=np.float64))
        self.samples = max(samples, netlist.samples, self.temperature.size)
        self.names: list[str] = list(netlist.nodes)
        self.rows: dict[str, int] = {name: row for row, name in enumerate(netlist.nodes)}
        self.rows[GROUND] = -1
        self.branches: dict[str, int] = {}
        self.curved: list[Curved] = []
        self.stateful: list[Stateful] = []
        self.switches: list[Switch] = []
        self._sources: list[tuple[VoltageSource | CurrentSource, tuple[int, ...]]] = []
        for part in netlist.parts:
            if isinstance(part, VoltageSource | Inductor):
                self._add_row(part.name, f"current of {part.name}")
            elif isinstance(part, Relay):
                self._add_row(part.name, f"coil current of {part.name}")
            elif (isinstance(part, Diode) and np.any(np.asarray(part.resistance) > 0)) or (
                isinstance(part, Zener) and np.any(np.asarray(part.slope) > 0)
            ):
                self._add_row(f"{part.name}#", f"inside {part.name}")
        self.size = len(self.names)
        self._linear = np.zeros((self.size, self.size, 1))
        self.charge = np.zeros((self.size, self.size, 1))
        for row in range(len(netlist.nodes)):
            self._linear[row, row] += laws.LEAST_CONDUCTANCE
        for part in netlist.parts:
            self._add(part)

    def _add_row(self, key: str, says: str) -> None:
        self.branches[key] = len(self.names)
        self.names.append(says)

    def _values(self, **values: Value) -> dict[str, Floats]:
        return {key: np.atleast_1d(np.asarray(value, np.float64)) for key, value in values.items()}

    @staticmethod
    def _put(matrix: Floats, row: int, column: int, value: Value) -> Floats:
        """Matrix with a value added, widened if the value has samples and it has not."""
        array = np.atleast_1d(np.asarray(value, dtype=np.float64))
        if array.size > matrix.shape[-1]:
            matrix = np.repeat(matrix, array.size, axis=-1)
        matrix[row, column] += array
        return matrix

    def _join(self, matrix: Floats, a: int, b: int, value: Value) -> Floats:
        """Matrix with a conductance (or capacitance) between two rows."""
        for row, column, sign in ((a, a, 1.0), (b, b, 1.0), (a, b, -1.0), (b, a, -1.0)):
            if row >= 0 and column >= 0:
                matrix = self._put(matrix, row, column, sign * np.asarray(value, dtype=np.float64))
        return matrix

    def _branch(self, name: str, a: int, b: int, resistance: Value) -> int:
        """Rows of a branch whose current is an unknown: v_a - v_b - R i = 0."""
        row = self.branches[name]
        for node, sign in ((a, 1.0), (b, -1.0)):
            if node >= 0:
                self._linear = self._put(self._linear, node, row, sign)
                self._linear = self._put(self._linear, row, node, sign)
        self._linear = self._put(self._linear, row, row, -np.asarray(resistance, dtype=np.float64))
        return row

    def _add(self, part: Part) -> None:
        at = [self.rows[node] for node in part.nodes]
        temperature = self.temperature
        if isinstance(part, Resistor):
            rise = temperature - NOMINAL_TEMPERATURE
            value = part.resistance * (1.0 + part.temperature_coefficient * rise)
            self._linear = self._join(self._linear, at[0], at[1], 1.0 / np.asarray(value))
        elif isinstance(part, Fuse):
            self._linear = self._join(self._linear, at[0], at[1], 1.0 / np.asarray(part.resistance))
        elif isinstance(part, Capacitor):
            self.charge = self._join(self.charge, at[0], at[1], part.capacitance)
        elif isinstance(part, Inductor):
            row = self._branch(part.name, at[0], at[1], part.resistance)
            self.charge = self._put(self.charge, row, row, -np.asarray(part.inductance))
        elif isinstance(part, Coupling):
            self._add_coupling(part)
        elif isinstance(part, VoltageSource):
            row = self._branch(part.name, at[0], at[1], 0.0)
            self._sources.append((part, (row,)))
        elif isinstance(part, CurrentSource):
            self._sources.append((part, (at[0], at[1])))
        elif isinstance(part, Relay):
            self._add_relay(part)
        elif isinstance(part, Comparator):
            control = np.zeros(self.size)
            for node, sign in ((part.minus, 1.0), (part.plus, -1.0)):
                if self.rows[node] >= 0:
                    control[self.rows[node]] += sign
            joins = (self._contact(part.output, part.ground, part.on_resistance, part, False),)
            offset, gap = np.asarray(part.offset), np.asarray(part.gap)
            self._add_stateful(part.name, control, offset + gap, offset - gap, joins, slow=False)
        elif isinstance(part, Switch):
            self.switches.append(part)
        else:
            self._add_curved(part)

    def _add_stateful(
        self,
        name: str,
        control: Floats,
        rises_at: Value,
        falls_at: Value,
        joins: tuple[tuple[int, int, Floats, Floats], ...],
        *,
        slow: bool,
    ) -> None:
        edges = self._values(rises=rises_at, falls=falls_at)
        self.stateful.append(Stateful(name, control, edges["rises"], edges["falls"], joins, slow))

    def _add_coupling(self, part: Coupling) -> None:
        first, second = self.netlist.part(part.first), self.netlist.part(part.second)
        if not (isinstance(first, Inductor) and isinstance(second, Inductor)):
            raise TypeError(f"{part.name} couples what is no inductor")
        product = np.asarray(first.inductance) * np.asarray(second.inductance)
        mutual = np.asarray(part.coefficient) * np.sqrt(product)
        rows = self.branches[part.first], self.branches[part.second]
        for row, column in (rows, rows[::-1]):
            self.charge = self._put(self.charge, row, column, -mutual)

    def _contact(
        self, a: str, b: str, on: Value, part: Relay | Comparator | Switch, inverted: bool
    ) -> tuple[int, int, Floats, Floats]:
        closed = 1.0 / np.atleast_1d(np.asarray(on, dtype=np.float64))
        opened = np.atleast_1d(1.0 / part.open_resistance)
        pair = (opened, closed) if inverted else (closed, opened)
        return self.rows[a], self.rows[b], *pair

    def _add_relay(self, part: Relay) -> None:
        resistance = coil_resistance_at(part.coil_resistance, self.temperature)
        a, b = self.rows[part.coil_a], self.rows[part.coil_b]
        row = self._branch(part.name, a, b, resistance)
        self.charge = self._put(self.charge, row, row, -np.asarray(part.coil_inductance))
        control = np.zeros(self.size)
        control[row] = 1.0
        joins = []
        if part.common and part.made:
            joins.append(
                self._contact(part.common, part.made, part.contact_resistance, part, False)
            )
        if part.common and part.broken:
            joins.append(
                self._contact(part.common, part.broken, part.contact_resistance, part, True)
            )
        self._add_stateful(part.name, control, part.operate, part.release, tuple(joins), slow=True)

    def _add_curved(self, part: CurvedPart) -> None:
        rows = tuple(self.rows[node] for node in part.nodes)
        inside = self.branches.get(f"{part.name}#")
        if inside is not None and isinstance(part, Diode | Zener):
            resistance = part.resistance if isinstance(part, Diode) else part.slope
            # A resistance of nothing in some samples is a micro-ohm, not a division by zero.
            conductance = 1.0 / np.maximum(np.asarray(resistance, dtype=np.float64), 1e-6)
            self._linear = self._join(self._linear, rows[0], inside, conductance)
            rows = (inside, rows[1])
        bound = curved_part(part, rows, temperature=self.temperature, sloped=inside is not None)
        self.curved.append(bound)

    def linear(
        self, states: Mapping[str, Truths], *, closed: Mapping[str, Truths] | None = None
    ) -> Floats:
        """Matrix of the parts in proportion, with contacts and switches in the given states.

        Parameters
        ----------
        states : mapping of str to array of bool
            State of each part that keeps one, shape (1,) or (samples,).
        closed : mapping or None
            Switches that are otherwise than their part says.

        Returns
        -------
        array, shape (size, size, 1) or (size, size, samples)
        """
        matrix = self._linear.copy()
        for part in self.stateful:
            state = np.atleast_1d(states[part.name])
            for a, b, true, false in part.joins:
                matrix = self._join(matrix, a, b, np.where(state, true, false))
        for switch in self.switches:
            given = (closed or {}).get(switch.name, np.asarray(switch.closed))
            on, off = np.asarray(switch.on_resistance), switch.open_resistance
            conductance = np.where(given, 1.0 / on, 1.0 / off)
            matrix = self._join(matrix, self.rows[switch.a], self.rows[switch.b], conductance)
        return matrix

    def excitation(
        self, levels: Mapping[str, Value] | None = None, *, time: float | None = None
    ) -> Floats:
        """Right-hand side: what the sources give, shape (size, samples).

        Parameters
        ----------
        levels : mapping or None
            Sources that give something else than their part says [V or A].
        time : float or None
            Moment for waveforms [s]; their level at rest if None.
        """
        right = np.zeros((self.size, self.samples))
        for part, rows in self._sources:
            value: Value = part.voltage if isinstance(part, VoltageSource) else part.current
            if time is not None and part.waveform is not None:
                value = part.waveform.at(time)
            if levels is not None and part.name in levels:
                value = levels[part.name]
            if isinstance(part, VoltageSource):
                right[rows[0]] += value
            else:
                for row, sign in zip(rows, (-1.0, 1.0), strict=True):
                    if row >= 0:
                        right[row] += sign * np.asarray(value, dtype=np.float64)
        return right

    def picked(self, index: Chosen) -> Equations:
        """The same equations for some of the samples."""
        part = copy(self)
        part.samples = (
            len(range(*index.indices(self.samples)))
            if isinstance(index, slice)
            else int(np.sum(index))
        )
        part.curved = [curved.picked(index) for curved in self.curved]
        part.stateful = [stateful.picked(index) for stateful in self.stateful]
        part.switches = [_picked_part(switch, index) for switch in self.switches]
        part._sources = [(_picked_part(source, index), rows) for source, rows in self._sources]
        part._linear, part.charge = picked(self._linear, index), picked(self.charge, index)
        part.temperature = picked(self.temperature, index)
        return part

    def first_states(self, states: Mapping[str, Truths] | None = None) -> dict[str, Truths]:
        """State of every part that keeps one: as given, otherwise false."""
        given = states or {}
        return {
            part.name: np.broadcast_to(
                np.atleast_1d(np.asarray(given.get(part.name, False), dtype=bool)), (self.samples,)
            ).copy()
            for part in self.stateful
        }


_P = TypeVar("_P", Switch, VoltageSource | CurrentSource)


def _picked_part(part: _P, index: Chosen) -> _P:
    values = {field.name: getattr(part, field.name) for field in fields(part)}
    many = {
        key: value[index]
        for key, value in values.items()
        if isinstance(value, np.ndarray) and value.size > 1
    }
    return replace(part, **many)  # type: ignore[arg-type]
