"""Drawer parts that are no table of a build file: relays, semiconductors, wire, connectors."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from boomwright.build.fields import Q
from boomwright.build.power import Named
from boomwright.build.quantities import Quantity

__all__ = [
    "COMPONENT_KINDS",
    "Comparator",
    "Connector",
    "Diode",
    "Reference",
    "Relay",
    "Transistor",
    "Wire",
    "Zener",
]


class Relay(Named):
    """An electromechanical relay."""

    coil_voltage: Annotated[Quantity, Q("voltage", "1 V", "60 V")] = Field(
        description="Rated coil voltage."
    )
    coil_resistance: Annotated[Quantity, Q("resistance", "5 Ω", "20 kΩ")] = Field(
        description="Coil resistance at 20 °C."
    )
    coil_inductance: Annotated[Quantity, Q("inductance", "1 µH", "20 H")] = Field(
        description="Coil inductance."
    )
    operate: Annotated[Quantity, Q("share", "20 %", "100 %")] = Field(
        description="Share of the rated voltage at which it pulls in."
    )
    release: Annotated[Quantity, Q("share", "2 %", "80 %")] = Field(
        description="Share of the rated voltage at which it lets go."
    )
    contact_current: Annotated[Quantity, Q("current", "0.1 A", "100 A")] = Field(
        description="Direct current its contact switches at 12 to 24 V."
    )
    contact_resistance: Annotated[Quantity, Q("resistance", "0 Ω", "1 Ω")] = Field(
        description="Contact resistance."
    )
    contacts: Literal["make", "changeover", "two-changeover", "latching"] = Field(
        "changeover", description="What its contacts do."
    )


class Zener(Named):
    """A zener diode of the 1N47xx series or like it."""

    voltage: Annotated[Quantity, Q("voltage", "1 V", "200 V")] = Field(
        description="Nominal voltage at the test current."
    )
    test_current: Annotated[Quantity, Q("current", "0.1 mA", "1 A")] = Field(
        description="Test current."
    )
    slope: Annotated[Quantity, Q("resistance", "0 Ω", "5 kΩ")] = Field(
        description="Greatest dynamic resistance at the test current."
    )
    knee_current: Annotated[Quantity, Q("current", "10 µA", "10 mA")] = Field(
        description="Knee current."
    )
    knee_slope: Annotated[Quantity, Q("resistance", "1 Ω", "10 kΩ")] = Field(
        description="Greatest dynamic resistance at the knee."
    )
    power: Annotated[Quantity, Q("power", "50 mW", "50 W")] = Field(
        description="Greatest dissipation."
    )


class Transistor(Named):
    """A bipolar or MOS transistor."""

    type: Literal["npn", "pnp", "n-mosfet", "p-mosfet"] = Field(description="Polarity and kind.")
    pins: str = Field(
        "", description="Legs of its usual package, and how to hold it; the data sheet decides."
    )
    voltage_max: Annotated[Quantity, Q("voltage", "5 V", "1000 V")] = Field(
        description="Greatest collector-emitter or drain-source voltage."
    )
    current_max: Annotated[Quantity, Q("current", "10 mA", "200 A")] = Field(
        description="Greatest current."
    )
    power: Annotated[Quantity, Q("power", "50 mW", "500 W")] = Field(
        description="Greatest dissipation."
    )
    gain: Annotated[Quantity, Q("ratio", "5", "100000")] | None = Field(
        None, description="Current gain."
    )
    threshold: Annotated[Quantity, Q("voltage", "0.3 V", "10 V")] | None = Field(
        None, description="Gate threshold voltage, size only."
    )
    on_resistance: Annotated[Quantity, Q("resistance", "0.1 mΩ", "50 Ω")] | None = Field(
        None, description="Drain-source resistance fully on."
    )


class Diode(Named):
    """A rectifier, signal or Schottky diode, or an LED."""

    type: Literal["silicon", "schottky", "signal", "led"] = Field(description="What it is.")
    current: Annotated[Quantity, Q("current", "1 mA", "100 A")] = Field(
        description="Continuous current."
    )
    voltage_reverse: Annotated[Quantity, Q("voltage", "3 V", "2000 V")] = Field(
        description="Greatest reverse voltage."
    )
    drop: Annotated[Quantity, Q("voltage", "0.1 V", "5 V")] = Field(
        description="Forward drop at its rated current."
    )
    surge: Annotated[Quantity, Q("current", "0.1 A", "2000 A")] | None = Field(
        None, description="One half-wave of surge it survives."
    )


class Reference(Named):
    """A three-terminal shunt reference."""

    voltage: Annotated[Quantity, Q("voltage", "1 V", "10 V")] = Field(
        description="Reference voltage, pin against anode."
    )
    pins: str = Field(
        "", description="Legs of its usual package, and how to hold it; the data sheet decides."
    )
    cathode_least: Annotated[Quantity, Q("voltage", "0.5 V", "5 V")] = Field(
        description="Cathode voltage below which it cannot pull."
    )
    current_least: Annotated[Quantity, Q("current", "10 µA", "10 mA")] = Field(
        description="Cathode current it needs to regulate."
    )
    current_max: Annotated[Quantity, Q("current", "1 mA", "1 A")] = Field(
        description="Greatest cathode current."
    )
    voltage_max: Annotated[Quantity, Q("voltage", "5 V", "60 V")] = Field(
        description="Greatest cathode voltage."
    )
    power: Annotated[Quantity, Q("power", "50 mW", "5 W")] = Field(
        description="Greatest dissipation."
    )
    idle_current: Annotated[Quantity, Q("current", "0.1 µA", "10 mA")] = Field(
        description="Cathode current just below the reference voltage, before it pulls."
    )
    pin_current: Annotated[Quantity, Q("current", "1 nA", "1 mA")] = Field(
        description="Current into the reference pin."
    )


class Comparator(Named):
    """A comparator with an open-collector output."""

    offset: Annotated[Quantity, Q("voltage", "-0.1 V", "0.1 V")] = Field(
        description="Input offset voltage."
    )
    supply_current: Annotated[Quantity, Q("current", "0.1 µA", "50 mA")] = Field(
        description="What it takes itself."
    )
    output_current: Annotated[Quantity, Q("current", "1 mA", "1 A")] = Field(
        description="Greatest current its output sinks."
    )
    voltage_max: Annotated[Quantity, Q("voltage", "3 V", "60 V")] = Field(
        description="Greatest supply voltage."
    )


class Wire(Named):
    """Hook-up or speaker wire."""

    area: Annotated[Quantity, Q("area", "0.03 mm²", "50 mm²")] = Field(description="Copper area.")
    temperature_max: Annotated[Quantity, Q("temperature", "50 °C", "260 °C")] = Field(
        description="What its insulation stands."
    )


class Connector(Named):
    """A plug and socket."""

    current: Annotated[Quantity, Q("current", "50 mA", "200 A")] = Field(
        description="Current it carries for ever."
    )
    resistance: Annotated[Quantity, Q("resistance", "0 Ω", "1 Ω")] = Field(
        description="Contact resistance of a pair."
    )
    keyed: bool = Field(False, description="Cannot be mated the wrong way round.")


COMPONENT_KINDS: dict[str, type[Named]] = {
    "relay": Relay,
    "zener": Zener,
    "transistor": Transistor,
    "diode": Diode,
    "reference": Reference,
    "comparator": Comparator,
    "wire": Wire,
    "connector": Connector,
}
"""Kinds of the drawer that a build file names from inside other tables."""
