"""Tables of a build file that carry or use power: from the battery to the smallest lamp."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from boomwright.build.circuits import (
    CutoffCircuit,
    MeterCircuit,
    PolarityCircuit,
    RailCircuit,
    UsbCircuit,
)
from boomwright.build.fields import Lead, LeadField, Q, Table, typical
from boomwright.build.quantities import Quantity

__all__ = [
    "Battery",
    "Charger",
    "ChemistryName",
    "Cutoff",
    "Fed",
    "Fuse",
    "Load",
    "Named",
    "Polarity",
    "Rail",
    "RatePoint",
    "Supply",
    "Switch",
    "Usb",
]

ChemistryName = Literal["lead-flooded", "lead-agm", "lifepo4", "li-ion-nmc", "nimh", "alkaline"]


class Named(Table):
    """What every part has: a name, the drawer part it is, a title, a weight and a price."""

    name: str = Field("", description="Your name for it; the kind of part if you give none.")
    part: str = Field("", description="A part of the drawer that fills in what you leave out.")
    title: str = Field("", description="What it is, in words.")
    status: str = Field("", description="What the drawer's values rest on.")
    source: str = Field("", description="Where the drawer's values come from.")
    mass: Annotated[Quantity, Q("mass", "0 g", "60 kg")] | None = Field(None, description="Weight.")
    price: Annotated[Quantity, Q("price", "0", "100000")] | None = Field(
        None, description="Price in your own currency."
    )


class Fed(Named):
    """A part of the power tree: what feeds it and through which lead."""

    fed_by: str = Field("", description="Name of the part it takes its power from.")
    lead: LeadField = Field(
        Lead(), description="The pair of wires that feeds it: copper size, one-way length."
    )


class RatePoint(Table):
    """One row of a battery's rate table: so many hours, so much charge."""

    hours: Annotated[Quantity, Q("time", "1 min", "200 h")] = Field(
        description="Length of the discharge."
    )
    capacity: Annotated[Quantity, Q("charge", "10 mAh", "1000 Ah")] = Field(
        description="Charge given in that time."
    )


class Battery(Named):
    """The battery or pack."""

    chemistry: ChemistryName = Field(description="What it is made of.")
    cells: int = Field(ge=1, le=30, description="Cells in series; six in a 12 V lead battery.")
    strings: int = Field(1, ge=1, le=40, description="Rows of such cells in parallel.")
    capacity: Annotated[Quantity, Q("charge", "50 mAh", "500 Ah")] = Field(
        description="Rated charge of one string."
    )
    rated_hours: Annotated[Quantity, Q("time", "30 min", "100 h")] | None = Field(
        None, description="Hours over which the rating holds; the chemistry's custom if not given."
    )
    rate_table: tuple[RatePoint, ...] = Field(
        (), description="Charge at other rates, from a data sheet."
    )
    health: Annotated[Quantity, Q("share", "5 %", "120 %")] = Field(
        typical("95 % [85 to 100]", "share"), description="Share of the rating that is left."
    )
    second_hand: bool = Field(False, description="Salvaged or of unknown age.")
    charged_to: Annotated[Quantity, Q("share", "10 %", "100 %")] = Field(
        typical("100 % [95 to 100]", "share"), description="State of charge at the start."
    )
    resistance: Annotated[Quantity, Q("resistance", "0.1 mΩ", "50 Ω")] | None = Field(
        None, description="Resistance of the pack if measured; from the chemistry if not."
    )
    protection_trip: Annotated[Quantity, Q("current", "0.1 A", "500 A")] | None = Field(
        None, description="Peak current at which the pack's protection board opens."
    )
    protection_continuous: Annotated[Quantity, Q("current", "0.1 A", "500 A")] | None = Field(
        None, description="Current the protection board carries for ever."
    )
    protection_voltage: Annotated[Quantity, Q("voltage", "0.5 V", "100 V")] | None = Field(
        None, description="Pack voltage at which the protection board opens."
    )
    vented_bay: bool = Field(False, description="Has its own compartment, open to the outside air.")


class Supply(Named):
    """A mains adapter or USB-PD source instead of a battery."""

    voltage: Annotated[Quantity, Q("voltage", "3 V", "60 V")] = Field(description="Output voltage.")
    current_limit: Annotated[Quantity, Q("current", "50 mA", "50 A")] = Field(
        description="Current at which it folds back or shuts down."
    )
    resistance: Annotated[Quantity, Q("resistance", "0 Ω", "10 Ω")] = Field(
        typical("50 mΩ [20 to 150]", "resistance"), description="Droop with load."
    )


class Charger(Named):
    """What charges the battery."""

    voltage: Annotated[Quantity, Q("voltage", "1 V", "100 V")] = Field(
        description="Highest voltage it reaches with nothing connected."
    )
    current: Annotated[Quantity, Q("current", "10 mA", "50 A")] = Field(
        description="Highest current it gives."
    )
    made_for: Literal["lead", "lifepo4", "li-ion", "nimh", "unknown"] = Field(
        "unknown", description="Chemistry it was made for."
    )
    limits_voltage: bool = Field(True, description="Stops at its end voltage by itself.")
    while_playing: bool = Field(False, description="Left connected while music plays.")
    through: str = Field(
        "", description="Name of the part its lead joins, such as the fuse; the battery if empty."
    )
    keyed: bool = Field(False, description="Plug that cannot go in the wrong way round.")


class Fuse(Fed):
    """A fuse."""

    rating: Annotated[Quantity, Q("current", "50 mA", "200 A")] = Field(
        description="Rated current."
    )
    type: Literal["blade", "glass-quick", "glass-slow"] = Field(
        "blade", description="Standard it follows."
    )
    distance: Annotated[Quantity, Q("length", "0 m", "10 m")] | None = Field(
        None, description="Length of lead between battery plus and this fuse."
    )


class Switch(Fed):
    """A switch or a key."""

    rating: Annotated[Quantity, Q("current", "10 mA", "200 A")] = Field(
        typical("3 A [2 to 6]", "current"), description="Direct current it may switch."
    )
    resistance: Annotated[Quantity, Q("resistance", "0 Ω", "5 Ω")] = Field(
        typical("20 mΩ [5 to 60]", "resistance"), description="Resistance of its contacts."
    )


class Cutoff(Fed):
    """The low-voltage cutoff: opens before the battery is ruined."""

    circuit: CutoffCircuit | None = Field(
        None,
        description="The circuit you soldered; what you leave out below is worked out from it.",
    )
    off: Annotated[Quantity, Q("voltage", "0.5 V", "100 V")] = Field(
        description="Battery voltage at which it opens."
    )
    on: Annotated[Quantity, Q("voltage", "0.5 V", "100 V")] | None = Field(
        None, description="Voltage at which it closes again; the same as off if not given."
    )
    latching: bool = Field(False, description="Stays open until a button is pressed.")
    delay: Annotated[Quantity, Q("time", "0 s", "10 min")] = Field(
        typical("0 s", "time"), description="How long the voltage must stay low before it opens."
    )
    rating: Annotated[Quantity, Q("current", "10 mA", "200 A")] = Field(
        typical("10 A [5 to 10]", "current"),
        description="Current its contact or transistor carries.",
    )
    resistance: Annotated[Quantity, Q("resistance", "0 Ω", "5 Ω")] = Field(
        typical("30 mΩ [10 to 100]", "resistance"), description="Resistance when closed."
    )
    drain_on: Annotated[Quantity, Q("current", "0 A", "5 A")] = Field(
        typical("10 mA [1 to 50]", "current"), description="What it takes while closed."
    )
    drain_off: Annotated[Quantity, Q("current", "0 A", "5 A")] = Field(
        typical("1 mA [0 to 5]", "current"), description="What it still takes once open."
    )


class Polarity(Fed):
    """Protection against a battery or plug the wrong way round."""

    circuit: PolarityCircuit | None = Field(
        None,
        description="The circuit you soldered; what you leave out below is worked out from it.",
    )
    type: Literal["shunt-diode", "series-schottky", "series-silicon", "p-mosfet"] = Field(
        description="How it protects."
    )
    rating: Annotated[Quantity, Q("current", "10 mA", "200 A")] = Field(
        typical("3 A [1 to 5]", "current"), description="Current of the diode or transistor."
    )
    drop: Annotated[Quantity, Q("voltage", "0 V", "2 V")] | None = Field(
        None, description="Voltage lost in it; the type's usual one if not given."
    )
    resistance: Annotated[Quantity, Q("resistance", "0 Ω", "5 Ω")] = Field(
        typical("0 Ω", "resistance"), description="Resistance when it conducts."
    )


class Rail(Fed):
    """A voltage made from the battery: a linear regulator or a converter."""

    circuit: RailCircuit | None = Field(
        None,
        description="The capacitors you soldered around a linear regulator; whether they are "
        "enough is worked out from them.",
    )
    type: Literal["linear", "buck", "boost", "isolated"] = Field(
        description="How it makes its voltage."
    )
    voltage: Annotated[Quantity, Q("voltage", "1 V", "60 V")] = Field(description="Output voltage.")
    current_limit: Annotated[Quantity, Q("current", "10 mA", "50 A")] = Field(
        description="Greatest output current by its label."
    )
    bare_limit: Annotated[Quantity, Q("current", "10 mA", "50 A")] | None = Field(
        None, description="Output current a bare board stands for ever without a heat sink."
    )
    dropout: Annotated[Quantity, Q("voltage", "0 V", "10 V")] = Field(
        typical("2 V [1.5 to 2.5]", "voltage"),
        description="Least difference between input and output (linear and buck).",
    )
    input_min: Annotated[Quantity, Q("voltage", "0 V", "60 V")] | None = Field(
        None, description="Lowest input it works from."
    )
    input_max: Annotated[Quantity, Q("voltage", "1 V", "100 V")] | None = Field(
        None, description="Highest input it survives."
    )
    ground_current: Annotated[Quantity, Q("current", "0 A", "1 A")] = Field(
        typical("6 mA [3 to 10]", "current"), description="What a linear regulator takes itself."
    )
    idle_power: Annotated[Quantity, Q("power", "0 W", "20 W")] = Field(
        typical("80 mW [20 to 200]", "power"), description="What a converter takes unloaded."
    )
    efficiency: Annotated[Quantity, Q("share", "20 %", "99 %")] = Field(
        typical("88 % [80 to 93]", "share"), description="Best efficiency of a converter."
    )
    junction_ambient: Annotated[Quantity, Q("thermal", "5 K/W", "400 K/W")] = Field(
        typical("60 K/W [45 to 65]", "thermal"), description="Bare part to the air around it."
    )
    junction_case: Annotated[Quantity, Q("thermal", "0.1 K/W", "100 K/W")] = Field(
        typical("5 K/W [3 to 6]", "thermal"), description="Junction to mounting face, pad included."
    )
    sink: Annotated[Quantity, Q("thermal", "0.1 K/W", "200 K/W")] | None = Field(
        None, description="Heat sink, sink to air; none if not given."
    )
    junction_max: Annotated[Quantity, Q("temperature", "60 °C", "200 °C")] = Field(
        typical("125 °C", "temperature"), description="Hottest the junction may become."
    )
    capacitors: bool | None = Field(
        None, description="Input and output capacitors fitted close to a linear regulator."
    )


class Usb(Fed):
    """A USB charging port."""

    circuit: UsbCircuit | None = Field(
        None,
        description="The circuit you soldered; what you leave out below is worked out from it.",
    )
    current: Annotated[Quantity, Q("current", "10 mA", "10 A")] = Field(
        typical("1 A [0.4 to 1.5]", "current"), description="What the phone draws at 5 V."
    )
    data_pins: Literal["open", "shorted", "divider", "negotiated"] = Field(
        "shorted", description="How the port tells the phone what it may draw."
    )
    phone_energy: Annotated[Quantity, Q("energy", "1 Wh", "100 Wh")] = Field(
        typical("17 Wh [15 to 19]", "energy"), description="What one full phone charge stores."
    )


class Load(Fed):
    """Anything else that takes power: lamp, meter, fan."""

    circuit: MeterCircuit | None = Field(
        None,
        description="The battery gauge you soldered, for use = 'meter'; what it draws and which "
        "chemistry its marks fit is worked out from it.",
    )
    use: Literal["light", "meter", "fan", "other"] = Field("other", description="What it is.")
    current: Annotated[Quantity, Q("current", "0 A", "20 A")] = Field(description="What it draws.")
    on_share: Annotated[Quantity, Q("share", "0 %", "100 %")] = Field(
        typical("100 % [100 to 100]", "share"), description="Share of the time it is on."
    )
    shows: ChemistryName | Literal[""] = Field(
        "", description="Chemistry a battery meter's marks are made for."
    )
