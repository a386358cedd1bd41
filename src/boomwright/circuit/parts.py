"""What a netlist is made of. Values are in SI units at 25 °C, one number or one per sample.

Every part has a reference designator as a drawing shows it ("R1", "Q2"). A field that names a node
holds the node's name; "0" is ground. Parts with a state (contacts, switches, comparators) keep it
until their own control quantity passes the other of their two thresholds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar, Literal, TypeAlias

import numpy as np

from boomwright.circuit.values import Value
from boomwright.circuit.waveforms import Waveform

__all__ = [
    "Bipolar",
    "Capacitor",
    "Comparator",
    "Coupling",
    "CurrentSource",
    "Diode",
    "Fuse",
    "Inductor",
    "Mosfet",
    "Part",
    "Regulator",
    "Relay",
    "Resistor",
    "ShuntReference",
    "Switch",
    "VoltageSource",
    "Zener",
]


@dataclass(frozen=True, kw_only=True)
class _Named:
    name: str
    NODES: ClassVar[tuple[str, ...]] = ("a", "b")

    @property
    def nodes(self) -> tuple[str, ...]:
        """Names of the nodes it touches, in the order of ``NODES``; a lead left off is skipped."""
        return tuple(node for field in self.NODES if (node := getattr(self, field)))


@dataclass(frozen=True, kw_only=True)
class Resistor(_Named):
    """A resistor [Ω]; ``temperature_coefficient`` [1/K] from 25 °C."""

    a: str
    b: str
    resistance: Value
    temperature_coefficient: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Capacitor(_Named):
    """A capacitor [F], plus at ``a`` if polarised."""

    a: str
    b: str
    capacitance: Value
    polarised: bool = False


@dataclass(frozen=True, kw_only=True)
class Inductor(_Named):
    """A coil [H] with the resistance of its winding [Ω]."""

    a: str
    b: str
    inductance: Value
    resistance: Value = 0.0


@dataclass(frozen=True, kw_only=True)
class Coupling(_Named):
    """Two inductors on one core: a transformer in its simple form.

    ``coefficient`` lies between 0 and 1, both excluded; the dots are at the inductors' ``a``.
    """

    NODES: ClassVar[tuple[str, ...]] = ()
    first: str
    second: str
    coefficient: Value


@dataclass(frozen=True, kw_only=True)
class VoltageSource(_Named):
    """A voltage from ``b`` up to ``a`` [V]; ``ac`` is its amplitude in an AC response."""

    a: str
    b: str
    voltage: Value
    ac: float = 0.0
    waveform: Waveform | None = None


@dataclass(frozen=True, kw_only=True)
class CurrentSource(_Named):
    """A current that leaves the circuit at ``a`` and enters it again at ``b`` [A]."""

    a: str
    b: str
    current: Value
    ac: float = 0.0
    waveform: Waveform | None = None


@dataclass(frozen=True, kw_only=True)
class Diode(_Named):
    """A junction diode: saturation current [A], emission coefficient, series resistance [Ω].

    ``capacitance`` at zero bias and ``transit_time`` are left out: bench circuits here are slow.
    """

    NODES: ClassVar[tuple[str, ...]] = ("anode", "cathode")
    anode: str
    cathode: str
    saturation_current: Value = 1e-14
    emission: Value = 1.0
    resistance: Value = 0.0
    energy_gap: float = 1.11
    current_exponent: float = 3.0
    kind: Literal["silicon", "schottky", "signal", "led"] = "silicon"


@dataclass(frozen=True, kw_only=True)
class Zener(_Named):
    """A zener diode: volts at the test current, a knee and a slope.

    Reverse volts at current I are ``voltage + knee ln(I / test_current) + slope (I -
    test_current)``; near the knee the first term rules, above the test current the second.
    ``temperature_coefficient`` [V/K] moves the whole curve.
    """

    NODES: ClassVar[tuple[str, ...]] = ("anode", "cathode")
    anode: str
    cathode: str
    voltage: Value
    test_current: Value
    knee: Value = 0.05
    slope: Value = 1.0
    temperature_coefficient: Value = 0.0
    saturation_current: Value = 1e-14


@dataclass(frozen=True, kw_only=True)
class Bipolar(_Named):
    """A bipolar transistor, by the transport law of Ebers and Moll.

    ``gain`` is the forward current gain, which rises with temperature as
    (T / 298.15 K) ** ``gain_exponent``.
    """

    NODES: ClassVar[tuple[str, ...]] = ("collector", "base", "emitter")
    collector: str
    base: str
    emitter: str
    polarity: Literal["npn", "pnp"] = "npn"
    saturation_current: Value = 1e-14
    gain: Value = 150.0
    gain_reverse: Value = 4.0
    energy_gap: float = 1.11
    current_exponent: float = 3.0
    gain_exponent: float = 1.5


@dataclass(frozen=True, kw_only=True)
class Mosfet(_Named):
    """A power MOS transistor, by the square law; its body diode is a part of its own.

    ``threshold`` is a size, positive for both polarities [V]; ``transconductance`` is the K of
    I = K (|V_gs| - V_t)² / 2 [A/V²]; ``threshold_coefficient`` moves the size [V/K].
    """

    NODES: ClassVar[tuple[str, ...]] = ("drain", "gate", "source")
    drain: str
    gate: str
    source: str
    polarity: Literal["n", "p"] = "n"
    threshold: Value = 2.0
    transconductance: Value = 10.0
    threshold_coefficient: Value = -0.004


@dataclass(frozen=True, kw_only=True)
class ShuntReference(_Named):
    """A three-terminal shunt reference of the 431 class.

    It takes current at the cathode once its reference pin stands ``voltage`` above the anode, as
    long as the cathode is above about ``cathode_least``. The chip itself takes ``idle_current`` at
    the cathode already a little below that voltage.
    """

    NODES: ClassVar[tuple[str, ...]] = ("cathode", "reference", "anode")
    cathode: str
    reference: str
    anode: str
    voltage: Value = 2.495
    transconductance: Value = 2.0
    cathode_least: Value = 1.9
    reference_current: Value = 2e-6
    idle_current: Value = 0.25e-3
    leakage: Value = 1e-7


@dataclass(frozen=True, kw_only=True)
class Regulator(_Named):
    """A linear regulator with three legs: set volts, least drop, what it takes itself [A].

    It gives current and takes none back; short-circuit limiting is left out.
    """

    NODES: ClassVar[tuple[str, ...]] = ("input", "output", "ground")
    input: str
    output: str
    ground: str
    voltage: Value
    dropout: Value = 2.0
    quiescent: Value = 5e-3
    resistance: Value = 0.02


@dataclass(frozen=True, kw_only=True)
class Relay(_Named):
    """A relay: a coil with copper's temperature law, and contacts with hysteresis.

    ``common`` joins ``made`` while the coil's current is above ``operate`` [A], and until it has
    fallen to ``release``; ``broken``, if wired, is joined at all other times. A contact's lead that
    is not used is left empty.
    """

    NODES: ClassVar[tuple[str, ...]] = ("coil_a", "coil_b", "common", "made", "broken")
    coil_a: str
    coil_b: str
    common: str = ""
    made: str = ""
    broken: str = ""
    coil_resistance: Value
    coil_inductance: Value = 0.5
    operate: Value
    release: Value
    contact_resistance: Value = 0.03
    open_resistance: float = 1e9


@dataclass(frozen=True, kw_only=True)
class Comparator(_Named):
    """A comparator with an open-collector output; its supply current is a part of its own.

    The output conducts to ``ground`` once ``minus`` is more than ``offset + gap`` above ``plus``,
    and stops once it is less than ``offset - gap`` above it.
    """

    NODES: ClassVar[tuple[str, ...]] = ("plus", "minus", "output", "ground")
    plus: str
    minus: str
    output: str
    ground: str
    offset: Value = 0.0
    gap: Value = 1e-3
    on_resistance: Value = 60.0
    open_resistance: float = 1e9


@dataclass(frozen=True, kw_only=True)
class Switch(_Named):
    """A switch or push-button; ``schedule`` gives (time [s], closed) for what happens in time."""

    a: str
    b: str
    closed: bool | np.ndarray[tuple[int, ...], np.dtype[np.bool_]] = False
    on_resistance: Value = 0.02
    open_resistance: float = 1e9
    schedule: tuple[tuple[float, bool], ...] = ()
    push_button: bool = False


@dataclass(frozen=True, kw_only=True)
class Fuse(_Named):
    """A fuse as the resistance it has cold [Ω], with its rating [A]."""

    a: str
    b: str
    resistance: Value
    rating: float


Part: TypeAlias = (
    Resistor
    | Capacitor
    | Inductor
    | Coupling
    | VoltageSource
    | CurrentSource
    | Diode
    | Zener
    | Bipolar
    | Mosfet
    | ShuntReference
    | Regulator
    | Relay
    | Comparator
    | Switch
    | Fuse
)
"""Any part of a netlist."""
