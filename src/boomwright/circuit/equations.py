"""A netlist as equations: unknown node voltages and branch currents, and what each part adds.

The equations are ``charge · dx/dt + linear · x + (currents of the curved parts) = excitation`` with
x the voltages of all nodes but ground, then the currents through sources and coils. Arrays have the
batch as their last axis.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from copy import copy
from dataclasses import dataclass, fields, replace
from typing import TypeVar

import numpy as np

from boomwright.circuit import laws
from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.parts import (
    Bipolar,
    Capacitor,
    Comparator,
    Coupling,
    CurrentSource,
    Diode,
    Fuse,
    Inductor,
    Mosfet,
    Part,
    Regulator,
    Relay,
    Resistor,
    ShuntReference,
    Switch,
    VoltageSource,
    Zener,
)
from boomwright.circuit.values import (
    NOMINAL_TEMPERATURE,
    Floats,
    Truths,
    Value,
    thermal_voltage,
)

__all__ = ["COPPER_COEFFICIENT", "Curved", "Equations", "Stateful", "coil_resistance_at"]

COPPER_COEFFICIENT = 0.003_93 / (1.0 + 0.003_93 * 5.0)
"""Temperature coefficient of copper from 25 °C [1/K]: IEC 60028 gives 0.00393 from 20 °C."""

_MOSFET_STEP = 1.0
_REFERENCE_STEP = 0.3


def coil_resistance_at(resistance: Value, temperature: Value) -> Floats:
    """Resistance of a copper coil at a temperature [Ω]; ``resistance`` is at 25 °C, [K] given."""
    rise = np.asarray(temperature, dtype=np.float64) - NOMINAL_TEMPERATURE
    return np.asarray(resistance * (1.0 + COPPER_COEFFICIENT * rise))


_Law = Callable[..., tuple[Floats, Floats]]


@dataclass(frozen=True)
class Curved:
    """A part whose current is a curve of its voltages.

    Parameters
    ----------
    name : str
        Its designator.
    rows : tuple of int
        Unknowns at its terminals, -1 for ground; the last is what its volts are measured against.
    law : callable
        Of volts (terminals - 1, samples) and the values below.
    values : dict
        Arrays of shape (1,) or (samples,).
    fixed : dict
        Plain numbers.
    junctions : tuple
        (terminal from, terminal to, scale, critical volts, turn) for each junction whose steps are
        held back: the junction's volts are ``turn`` times those between the two terminals, less
        ``offset``.
    step : float
        Greatest change of its volts in one step, where no junction rules.
    """

    name: str
    rows: tuple[int, ...]
    law: _Law
    values: dict[str, Floats]
    fixed: dict[str, float]
    junctions: tuple[_Junction, ...] = ()
    step: float = np.inf

    def picked(self, index: Truths) -> Curved:
        """The same part for some of the samples."""
        values = {key: _picked(value, index) for key, value in self.values.items()}
        junctions = tuple(junction.picked(index) for junction in self.junctions)
        return replace(self, values=values, junctions=junctions)

    def volts(self, unknowns: Floats) -> Floats:
        """Volts of its terminals against the last one."""
        last = self.rows[-1]
        base = unknowns[last] if last >= 0 else 0.0
        none = np.zeros(unknowns.shape[1])
        return np.stack([(unknowns[r] if r >= 0 else none) - base for r in self.rows[:-1]])

    def currents(self, volts: Floats) -> tuple[Floats, Floats]:
        """Currents into its terminals but the last, and their derivatives."""
        currents, slopes = self.law(
            volts if len(volts) > 1 else volts[0], **self.values, **self.fixed
        )
        if len(volts) > 1:
            return currents, slopes
        return currents[None], slopes[None, None]

    def limited(self, new: Floats, old: Floats) -> Floats:
        """Volts for the next evaluation."""
        if np.isfinite(self.step):
            return np.asarray(old + np.clip(new - old, -self.step, self.step))
        for junction in self.junctions:
            new = junction.limited(new, old)
        return new


@dataclass(frozen=True)
class _Junction:
    """A junction among a part's volts: terminal ``plus`` over terminal ``minus``, -1 the last."""

    plus: int
    minus: int
    turn: float
    offset: Floats
    scale: Floats
    critical: Floats
    # Which terminal gives way when the step is held back.
    moves: int

    def picked(self, index: Truths) -> _Junction:
        return replace(
            self,
            offset=_picked(self.offset, index),
            scale=_picked(self.scale, index),
            critical=_picked(self.critical, index),
        )

    def _across(self, volts: Floats) -> Floats:
        low = volts[self.minus] if self.minus >= 0 else 0.0
        high = volts[self.plus] if self.plus >= 0 else 0.0
        return np.asarray(self.turn * (high - low) - self.offset)

    def limited(self, new: Floats, old: Floats) -> Floats:
        wanted = self._across(new)
        held = laws.junction_limited(
            wanted, self._across(old), scale=self.scale, critical=self.critical
        )
        back = self.turn * (held - wanted)
        found = new.copy()
        found[self.moves] += back if self.moves == self.plus else -back
        return found


@dataclass(frozen=True)
class Stateful:
    """A part that keeps one of two states until its control quantity passes a threshold.

    Parameters
    ----------
    name : str
        Its designator.
    control : array, shape (unknowns,)
        Its control quantity is this times the unknowns.
    rises_at, falls_at : array, shape (1,) or (samples,)
        Control above which the state becomes true, and below which it becomes false.
    joins : tuple
        (row, row, conductance when true, conductance when false) for each contact.
    slow : bool
        Mechanical: it waits for what is electronic.
    """

    name: str
    control: Floats
    rises_at: Floats
    falls_at: Floats
    joins: tuple[tuple[int, int, Floats, Floats], ...]
    slow: bool

    def picked(self, index: Truths) -> Stateful:
        """The same part for some of the samples."""
        joins = tuple(
            (a, b, _picked(true, index), _picked(false, index)) for a, b, true, false in self.joins
        )
        rises, falls = _picked(self.rises_at, index), _picked(self.falls_at, index)
        return replace(self, rises_at=rises, falls_at=falls, joins=joins)

    def wanted(self, unknowns: Floats, state: Truths) -> Truths:
        """State that the unknowns call for."""
        quantity = self.control @ unknowns
        return np.asarray(np.where(state, quantity >= self.falls_at, quantity > self.rises_at))


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

    def _add_curved(self, part: Part) -> None:
        temperature = self.temperature
        at = tuple(self.rows[node] for node in part.nodes)
        if isinstance(part, Diode | Zener):
            at = self._series(part, at)
        if isinstance(part, Diode):
            saturation = laws.junction_saturation_current(
                part.saturation_current,
                temperature=temperature,
                energy_gap=part.energy_gap,
                exponent=part.current_exponent,
                emission=part.emission,
            )
            values = self._values(
                saturation=saturation, scale=part.emission * thermal_voltage(temperature)
            )
            junction = self._junction(0, -1, 1.0, values["saturation"], values["scale"], moves=0)
            self.curved.append(Curved(part.name, at, laws._junction, values, {}, (junction,)))
        elif isinstance(part, Zener):
            self._add_zener(part, at)
        elif isinstance(part, Bipolar):
            self._add_bipolar(part, at)
        elif isinstance(part, Mosfet):
            rise = temperature - NOMINAL_TEMPERATURE
            values = self._values(
                threshold=part.threshold + np.asarray(part.threshold_coefficient) * rise,
                transconductance=part.transconductance
                * (temperature / NOMINAL_TEMPERATURE) ** -1.5,
            )
            sign = 1.0 if part.polarity == "n" else -1.0
            self.curved.append(
                Curved(
                    part.name, at, laws.mosfet_currents, values, {"sign": sign}, (), _MOSFET_STEP
                )
            )
        elif isinstance(part, ShuntReference):
            values = self._values(
                voltage=part.voltage,
                transconductance=part.transconductance,
                cathode_least=part.cathode_least,
                reference_current=part.reference_current,
                idle_current=part.idle_current,
                leakage=part.leakage,
            )
            self.curved.append(
                Curved(part.name, at, laws.reference_currents, values, {}, (), _REFERENCE_STEP)
            )
        elif isinstance(part, Regulator):
            values = self._values(
                voltage=part.voltage,
                dropout=part.dropout,
                quiescent=part.quiescent,
                resistance=part.resistance,
            )
            self.curved.append(
                Curved(part.name, at, laws.regulator_currents, values, {}, (), _MOSFET_STEP)
            )
        else:
            raise TypeError(f"{part.name} is no part that the equations know")

    def _series(self, part: Diode | Zener, at: tuple[int, ...]) -> tuple[int, ...]:
        """Terminals of the junction itself, behind the part's own resistance."""
        resistance = part.resistance if isinstance(part, Diode) else part.slope
        inside = self.branches.get(f"{part.name}#")
        if inside is None:
            return at
        # A resistance of nothing in some samples is a micro-ohm, not a division by zero.
        conductance = 1.0 / np.maximum(np.asarray(resistance, dtype=np.float64), 1e-6)
        self._linear = self._join(self._linear, at[0], inside, conductance)
        return inside, at[1]

    def _junction(
        self,
        plus: int,
        minus: int,
        turn: float,
        saturation: Floats,
        scale: Floats,
        *,
        moves: int,
        offset: Floats | None = None,
    ) -> _Junction:
        critical = laws.junction_critical_voltage(saturation, scale)
        none = np.zeros(1) if offset is None else offset
        return _Junction(plus, minus, turn, none, scale, critical, moves)

    def _add_zener(self, part: Zener, at: tuple[int, ...]) -> None:
        temperature = self.temperature
        rise = temperature - NOMINAL_TEMPERATURE
        slope = np.asarray(part.slope) if f"{part.name}#" in self.branches else 0.0
        values = self._values(
            saturation=laws.junction_saturation_current(
                part.saturation_current, temperature=temperature, energy_gap=1.11, exponent=3.0
            ),
            scale=thermal_voltage(temperature),
            breakdown=np.asarray(part.voltage)
            + np.asarray(part.temperature_coefficient) * rise
            - slope * np.asarray(part.test_current),
            test=part.test_current,
            knee=part.knee,
        )
        junctions = (
            self._junction(0, -1, 1.0, values["saturation"], values["scale"], moves=0),
            self._junction(
                0, -1, -1.0, values["test"], values["knee"], moves=0, offset=values["breakdown"]
            ),
        )
        self.curved.append(Curved(part.name, at, laws.zener_currents, values, {}, junctions))

    def _add_bipolar(self, part: Bipolar, at: tuple[int, ...]) -> None:
        temperature = self.temperature
        values = self._values(
            saturation=laws.junction_saturation_current(
                part.saturation_current,
                temperature=temperature,
                energy_gap=part.energy_gap,
                exponent=part.current_exponent,
            ),
            scale=thermal_voltage(temperature),
            gain=part.gain * (temperature / NOMINAL_TEMPERATURE) ** part.gain_exponent,
            gain_reverse=part.gain_reverse
            * (temperature / NOMINAL_TEMPERATURE) ** part.gain_exponent,
        )
        sign = 1.0 if part.polarity == "npn" else -1.0
        junctions = (
            self._junction(1, -1, sign, values["saturation"], values["scale"], moves=1),
            self._junction(1, 0, sign, values["saturation"], values["scale"], moves=0),
        )
        self.curved.append(
            Curved(part.name, at, laws.bipolar_currents, values, {"sign": sign}, junctions)
        )

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

    def picked(self, index: Truths) -> Equations:
        """The same equations for some of the samples."""
        part = copy(self)
        part.samples = int(np.sum(index))
        part.curved = [curved.picked(index) for curved in self.curved]
        part.stateful = [stateful.picked(index) for stateful in self.stateful]
        part.switches = [_picked_part(switch, index) for switch in self.switches]
        part._sources = [(_picked_part(source, index), rows) for source, rows in self._sources]
        part._linear, part.charge = _picked(self._linear, index), _picked(self.charge, index)
        part.temperature = _picked(self.temperature, index)
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


def _picked(values: Floats, index: Truths) -> Floats:
    return values if values.shape[-1] == 1 else values[..., index]


_P = TypeVar("_P", Switch, VoltageSource | CurrentSource)


def _picked_part(part: _P, index: Truths) -> _P:
    values = {field.name: getattr(part, field.name) for field in fields(part)}
    many = {
        key: value[index]
        for key, value in values.items()
        if isinstance(value, np.ndarray) and value.size > 1
    }
    return replace(part, **many)  # type: ignore[arg-type]
