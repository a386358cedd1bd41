"""Circuits that a builder solders, as tables of a build file."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from boomwright.build.fields import Q, Table
from boomwright.build.quantities import Quantity
from boomwright.circuit.blocks.cutoff import CutoffFamily

__all__ = ["CutoffCircuit", "Resistance"]

Resistance = Annotated[Quantity, Q("resistance", "1 Ω", "22 MΩ")]
"""A resistor's value; 5 % wide where no tolerance is written."""


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
    filter_capacitor: Annotated[Quantity, Q("capacitance", "1 nF", "0.1 F")] | None = Field(
        None, description="C1, keeps a bass beat from tripping it."
    )
