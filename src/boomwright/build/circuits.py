"""Circuits that a builder solders, as tables of a build file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from boomwright.build.fields import Q, Table, typical
from boomwright.build.quantities import Quantity
from boomwright.circuit.blocks.cutoff import CutoffFamily

__all__ = [
    "CutoffCircuit",
    "InputCircuit",
    "MeterCircuit",
    "MuteCircuit",
    "PolarityCircuit",
    "RailCircuit",
    "Resistance",
    "UsbCircuit",
]

Resistance = Annotated[Quantity, Q("resistance", "1 Ω", "22 MΩ")]
"""A resistor's value; 5 % wide where no tolerance is written."""

Capacitance = Annotated[Quantity, Q("capacitance", "1 nF", "0.1 F")]
"""A capacitor's value."""


class CutoffCircuit(Table):
    """A cutoff soldered from parts: its thresholds and currents are worked out from them."""

    family: CutoffFamily = Field(description="Kind of circuit; `boomwright design` lists them.")
    relay: str = Field("", description="The relay, a part of the drawer.")
    zener: str = Field("", description="The zener diode, a part of the drawer.")
    transistor: str = Field("2N2222A", description="The NPN transistor, a part of the drawer.")
    mosfet: str = Field("", description="The P-channel transistor, a part of the drawer.")
    reference: str = Field(
        "reference-431", description="The shunt reference, a part of the drawer."
    )
    comparator: str = Field("comparator-393", description="The comparator, a part of the drawer.")
    flyback: str = Field(
        "1N4007", description="The diode across the relay's coil, a part of the drawer."
    )
    series_resistor: Resistance | None = Field(None, description="R1, battery to zener.")
    base_resistor: Resistance | None = Field(None, description="R2, base to minus.")
    emitter_resistor: Resistance | None = Field(None, description="R3, below the emitter.")
    zener_resistor: Resistance | None = Field(
        None, description="R5, between the filter capacitor and the zener."
    )
    feedback_resistor: Resistance | None = Field(
        None, description="From the switched side back to the sensing point: makes the gap."
    )
    divider_top: Resistance | None = Field(None, description="R1, battery to the divider's middle.")
    divider_bottom: Resistance | None = Field(
        None, description="R2, the divider's middle to minus."
    )
    gate_resistor: Resistance | None = Field(None, description="R4, from source to gate.")
    drive_resistor: Resistance | None = Field(
        None, description="R5, from the driver to the gate, or the pull-up at the base."
    )
    reference_resistor: Resistance | None = Field(
        None, description="R6, feeds a comparator's reference."
    )
    filter_capacitor: Capacitance | None = Field(
        None, description="C1, keeps a bass beat from tripping it."
    )


class RailCircuit(Table):
    """Capacitors around a linear regulator, and a diode that keeps bass beats from them."""

    input_capacitor: Capacitance | None = Field(
        None, description="C1, the electrolytic at the input."
    )
    output_capacitor: Capacitance | None = Field(
        None, description="C2, the electrolytic at the output."
    )
    input_bypass: Capacitance | None = Field(None, description="C3, the ceramic at the input.")
    output_bypass: Capacitance | None = Field(None, description="C4, the ceramic at the output.")
    distance: Annotated[Quantity, Q("length", "0 m", "1 m")] = Field(
        typical("2 cm [1 to 3]", "length"),
        description="From the regulator's legs to the nearest of its capacitors.",
    )
    input_diode: str = Field(
        "", description="D1, ahead of the input capacitor, a diode of the drawer; none if empty."
    )


class PolarityCircuit(Table):
    """Protection against reversed poles by its parts."""

    device: str = Field(description="The diode, or the P-channel transistor: a part of the drawer.")
    gate_resistor: Resistance = Field(
        typical("10 kΩ", "resistance"), description="R1, from the transistor's gate to minus."
    )
    gate_zener: str = Field(
        "", description="D1, from gate to source, a zener of the drawer; none if empty."
    )


class MuteCircuit(Table):
    """A resistor and a capacitor that keep an amplifier muted after switching on."""

    kind: Literal["pin", "mute-low", "mute-high", "relay"] = Field(
        "pin",
        description="What the capacitor works on: the mute pin itself, a transistor for a pin that "
        "mutes when low or when high, or one for a relay.",
    )
    resistor: Resistance = Field(description="R1, charges the capacitor.")
    capacitor: Capacitance = Field(description="C1, from the delay point to minus.")
    divider_top: Resistance | None = Field(
        None, description="R2, from the capacitor to the transistor's base."
    )
    divider_bottom: Resistance | None = Field(None, description="R3, from the base to minus.")
    threshold: Annotated[Quantity, Q("voltage", "0.3 V", "30 V")] = Field(
        typical("2 V [1 to 3]", "voltage"), description="Volts at which a mute pin lets sound pass."
    )
    discharge: str = Field(
        "1N4148",
        description="D1, from the capacitor to the supply, a diode of the drawer; none if empty.",
    )


class InputCircuit(Table):
    """Resistors ahead of an amplifier's input: two that make mono of stereo, or a pad, or both."""

    left_resistor: Resistance | None = Field(None, description="R1, from the left to the sum.")
    right_resistor: Resistance | None = Field(None, description="R2, from the right to the sum.")
    series_resistor: Resistance | None = Field(None, description="Pad, from the source onward.")
    shunt_resistor: Resistance | None = Field(
        None, description="Pad, from the input to the signal's minus."
    )
    coupling_capacitor: Annotated[Quantity, Q("capacitance", "1 nF", "1 mF")] | None = Field(
        None, description="Capacitor in the signal's way; none where the board has its own."
    )
    source_impedance: Annotated[Quantity, Q("resistance", "0 Ω", "100 kΩ")] = Field(
        typical("100 Ω [30 to 300]", "resistance"),
        description="Of each of the receiver's outputs.",
    )
    input_impedance: Resistance = Field(
        typical("20 kΩ [10 to 50]", "resistance"), description="Of each of the board's inputs."
    )
    least_load: Resistance = Field(
        typical("600 Ω [300 to 1000]", "resistance"),
        description="Least that one of the receiver's outputs may be loaded with.",
    )


class UsbCircuit(Table):
    """What a charging socket's contacts are joined to, which tells a phone what it may draw."""

    kind: Literal["joined", "divider", "type-c"] = Field(
        description="Data pins joined, data pins on dividers, or pull-ups on a USB-C socket."
    )
    link_resistance: Annotated[Quantity, Q("resistance", "0 Ω", "1 MΩ")] = Field(
        typical("0.1 Ω", "resistance"), description="Between joined data pins."
    )
    plus_top: Resistance | None = Field(None, description="R1, from 5 V to D+.")
    plus_bottom: Resistance | None = Field(None, description="R2, from D+ to minus.")
    minus_top: Resistance | None = Field(None, description="R3, from 5 V to D-.")
    minus_bottom: Resistance | None = Field(None, description="R4, from D- to minus.")
    pull_up: Resistance | None = Field(None, description="From 5 V to each CC pin.")


class MeterCircuit(Table):
    """A battery gauge by its marks: a ladder of LEDs, or a voltmeter with marks beside it."""

    kind: Literal["ladder", "voltmeter"] = Field(
        "ladder", description="LEDs that go out one by one, or a voltmeter."
    )
    marks: tuple[Annotated[Quantity, Q("voltage", "0.5 V", "100 V")], ...] = Field(
        (), description="Battery volts of its marks, in any order; from the resistors if empty."
    )
    divider_top: Resistance | None = Field(None, description="R1, battery to the sensing point.")
    divider_bottom: Resistance | None = Field(None, description="R2, the sensing point to minus.")
    chain: tuple[Resistance, ...] = Field(
        (), description="R4 and on, from the reference down to minus, one more than LEDs."
    )
    reference: Annotated[Quantity, Q("voltage", "0.5 V", "30 V")] = Field(
        typical("2.5 V [2.45 to 2.55]", "voltage"), description="Volts on top of the chain."
    )
    accuracy: Annotated[Quantity, Q("share", "0.1 %", "20 %")] = Field(
        typical("1 % [0.5 to 2]", "share"), description="How near its marks are, of their volts."
    )
    led_current: Annotated[Quantity, Q("current", "0.1 mA", "50 mA")] = Field(
        typical("2 mA [1 to 5]", "current"), description="Through each LED of a ladder."
    )
    set_for: Literal["rest", "load"] = Field(
        "rest", description="Whether its marks hold at rest or while the usual music plays."
    )
