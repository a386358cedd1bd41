"""Tables of a build file that carry sound: receiver, amplifier, drivers, cabinet, and the wish."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from boomwright.build.circuits import InputCircuit, MuteCircuit
from boomwright.build.fields import (
    LevelField,
    ListeningLevel,
    Q,
    Table,
    typical,
    value_error,
)
from boomwright.build.filters import FilterField
from boomwright.build.openings import Radiator, Vent
from boomwright.build.power import Fed, Named
from boomwright.build.quantities import Quantity, parse_quantity
from boomwright.errors import Problem

__all__ = ["Amplifier", "Cabinet", "Driver", "Receiver", "Want"]


class Receiver(Fed):
    """Where the music comes from: a Bluetooth receiver or a wired input board."""

    voltage: Annotated[Quantity, Q("voltage", "1 V", "30 V")] = Field(
        typical("5 V", "voltage"), description="Supply voltage it wants."
    )
    current: Annotated[Quantity, Q("current", "0 A", "2 A")] = Field(
        typical("40 mA [15 to 65]", "current"), description="Average current while it streams."
    )
    burst: Annotated[Quantity, Q("current", "0 A", "5 A")] = Field(
        typical("85 mA [70 to 100]", "current"), description="Peak of its current bursts."
    )
    output: Annotated[Quantity, Q("voltage", "10 mV", "10 V")] = Field(
        typical("0.7 V [0.5 to 1]", "voltage"), description="Full-scale output, rms."
    )
    sound: Literal["stereo", "mono"] = Field("stereo", description="What it plays.")
    negative: Literal["own", "shared"] = Field(
        "own",
        description="Its negative lead: its own to the star point, or shared with an amplifier.",
    )
    isolated: bool = Field(False, description="Audio transformer or isolated supply in its path.")


class Amplifier(Fed):
    """An amplifier board."""

    input_circuit: InputCircuit | None = Field(
        None,
        description="The resistors you soldered ahead of its input; the level they take and what "
        "it is fed with are worked out from them.",
    )
    mute_circuit: MuteCircuit | None = Field(
        None,
        description="The mute you soldered; how long it lasts is worked out from it.",
    )
    amplifier_class: Literal["AB", "D"] = Field(description="How its output stage works.")
    topology: Literal["bridge", "single-ended", "split"] = Field(
        description="Both speaker leads driven, one through a capacitor, or a split supply."
    )
    channels: int = Field(2, ge=1, le=8, description="Output channels.")
    gain: Annotated[Quantity, Q("decibel", "0 dB", "60 dB")] = Field(
        typical("26 dB [20 to 36]", "decibel"), description="Voltage gain."
    )
    input_pad: Annotated[Quantity, Q("decibel", "0 dB", "60 dB")] = Field(
        typical("0 dB [0 to 0]", "decibel"), description="Attenuator ahead of the input."
    )
    voltage_loss: Annotated[Quantity, Q("voltage", "0 V", "10 V")] = Field(
        typical("1.5 V [0.5 to 3]", "voltage"), description="Supply volts its output cannot reach."
    )
    output_resistance: Annotated[Quantity, Q("resistance", "0 Ω", "5 Ω")] = Field(
        typical("0.3 Ω [0.15 to 0.5]", "resistance"), description="Resistance of its output stage."
    )
    current_max: Annotated[Quantity, Q("current", "0.1 A", "50 A")] | None = Field(
        None, description="Peak output current per channel at which it limits."
    )
    idle_power: Annotated[Quantity, Q("power", "0 W", "50 W")] = Field(
        typical("0.6 W [0.2 to 1.4]", "power"), description="What the whole board takes in silence."
    )
    off_current: Annotated[Quantity, Q("current", "0 A", "2 A")] = Field(
        typical("0 A [0 to 0]", "current"), description="What it takes when its soft switch is off."
    )
    supply_min: Annotated[Quantity, Q("voltage", "1 V", "60 V")] = Field(
        description="Lowest supply it works from."
    )
    supply_max: Annotated[Quantity, Q("voltage", "1 V", "100 V")] = Field(
        description="Highest supply it survives."
    )
    load_min: Annotated[Quantity, Q("resistance", "0.5 Ω", "64 Ω")] = Field(
        description="Lowest speaker impedance it is made for."
    )
    claim: Annotated[Quantity, Q("power", "0.1 W", "5 kW")] | None = Field(
        None, description="Watts the seller names for the whole board."
    )
    claim_voltage: Annotated[Quantity, Q("voltage", "1 V", "100 V")] | None = Field(
        None, description="Supply voltage that the claim belongs to."
    )
    junction_case: Annotated[Quantity, Q("thermal", "0.1 K/W", "60 K/W")] = Field(
        typical("2.5 K/W [1.5 to 4]", "thermal"),
        description="Chip junction to its sink, pad included.",
    )
    sink: Annotated[Quantity, Q("thermal", "0.1 K/W", "200 K/W")] = Field(
        typical("15 K/W [8 to 25]", "thermal"), description="Heat sink to the air."
    )
    sink_outside: bool = Field(False, description="The sink stands in the outside air.")
    junction_max: Annotated[Quantity, Q("temperature", "60 °C", "200 °C")] = Field(
        typical("150 °C", "temperature"), description="Hottest the chip may become."
    )
    supply_capacitor: Annotated[Quantity, Q("capacitance", "0 F", "1 F")] = Field(
        typical("1000 µF [470 to 2200]", "capacitance"), description="Capacitor at its supply pins."
    )
    output_capacitor: Annotated[Quantity, Q("capacitance", "1 µF", "1 F")] | None = Field(
        None, description="Series capacitor of a single-ended output."
    )
    input: Literal["stereo", "left", "right", "sum"] = Field(
        "stereo", description="What its inputs are fed with."
    )
    speaker_negatives: Literal["separate", "common", "chassis"] = Field(
        "separate", description="Whether the speakers' negative leads are joined."
    )
    use: Literal["as-built", "paralleled", "bridged"] = Field(
        "as-built", description="Whether its outputs are joined to make one channel."
    )
    mono_mode: bool = Field(False, description="Its data sheet documents joined outputs.")
    mute_delay: Annotated[Quantity, Q("time", "0 s", "30 s")] | None = Field(
        None, description="How long it stays muted after switching on."
    )


class Driver(Named):
    """A loudspeaker driver, or several of the same."""

    amplifier: str = Field("", description="Name of the amplifier that drives it.")
    channel: Literal["left", "right", "each", "sub"] = Field(
        "each",
        description="Channel it hangs on; each: the drivers are shared out over all channels.",
    )
    count: int = Field(1, ge=1, le=64, description="How many of them in all.")
    wiring: Literal["parallel", "series"] = Field(
        "parallel", description="How those on one channel are joined."
    )
    band: Literal["full", "low", "mid", "high"] = Field(
        "full", description="Part of the sound it plays."
    )
    impedance: Annotated[Quantity, Q("resistance", "1 Ω", "64 Ω")] = Field(
        description="Rated impedance of one driver."
    )
    re: Annotated[Quantity, Q("resistance", "0.5 Ω", "64 Ω")] | None = Field(
        None, description="Resistance of the voice coil, by multimeter."
    )
    sensitivity: Annotated[Quantity, Q("decibel", "60 dB", "115 dB")] | None = Field(
        None, description="Level at 1 m with 1 W; worked out from fs, vas and qes if not given."
    )
    sensitivity_at: Literal["1 W", "2.83 V"] = Field(
        "1 W", description="Drive that the sensitivity belongs to."
    )
    power: Annotated[Quantity, Q("power", "0.1 W", "2 kW")] = Field(
        typical("20 W [10 to 40]", "power"), description="Continuous power it stands."
    )
    fs: Annotated[Quantity, Q("frequency", "10 Hz", "5 kHz")] | None = Field(
        None, description="Resonance in free air."
    )
    qes: Annotated[Quantity, Q("ratio", "0.05", "10")] | None = Field(
        None, description="Electrical Q."
    )
    qms: Annotated[Quantity, Q("ratio", "0.2", "50")] | None = Field(
        None, description="Mechanical Q."
    )
    vas: Annotated[Quantity, Q("volume", "0.01 L", "1000 L")] | None = Field(
        None, description="Air volume as stiff as its suspension."
    )
    sd: Annotated[Quantity, Q("cone", "1 cm²", "2000 cm²")] | None = Field(
        None, description="Cone area."
    )
    xmax: Annotated[Quantity, Q("length", "0.05 mm", "50 mm")] | None = Field(
        None, description="Cone travel one way that stays linear."
    )
    mms: Annotated[Quantity, Q("mass", "0.01 g", "1 kg")] | None = Field(
        None, description="Moving mass of cone and coil; only checked against the others."
    )
    bl: Annotated[Quantity, Q("motor", "0.2 Tm", "60 Tm")] | None = Field(
        None, description="Force factor of the motor; only checked against the others."
    )
    le: Annotated[Quantity, Q("inductance", "0 mH", "20 mH")] | None = Field(
        None, description="Inductance of the voice coil; usual for its class if not given."
    )
    le2: Annotated[Quantity, Q("inductance", "0 mH", "20 mH")] | None = Field(
        None, description="Part of the inductance that the losses in the iron shunt."
    )
    re2: Annotated[Quantity, Q("resistance", "0 Ω", "1 kΩ")] | None = Field(
        None, description="Resistance of those losses."
    )
    low_end: Annotated[Quantity, Q("frequency", "15 Hz", "10 kHz")] | None = Field(
        None, description="Frequency where its bass ends, if known; from the box if not."
    )
    high_end: Annotated[Quantity, Q("frequency", "100 Hz", "40 kHz")] = Field(
        typical("15 kHz [10 to 18]", "frequency"), description="Frequency where its treble ends."
    )
    capacitor: Annotated[Quantity, Q("capacitance", "0.1 µF", "2 mF")] | None = Field(
        None, description="Capacitor in series with it."
    )
    capacitor_kind: Literal["film", "bipolar", "polarised"] = Field(
        "film", description="Kind of capacitor."
    )
    filter: tuple[FilterField, ...] = Field(
        (),
        description="Steps of its filter from the amplifier to the driver: "
        '"series 6.8 µF", "across 0.33 mH 0.4 Ω", "series 2.2 Ω 5 W".',
        max_length=20,
    )
    reversed: bool = Field(False, description="Its plus and minus are swapped.")
    offset: Annotated[Quantity, Q("length", "0 mm", "1 m")] = Field(
        typical("0 mm [0 to 0]", "length"),
        description="How much farther from the listener its sound starts than the nearest "
        "driver's.",
    )
    volume_taken: Annotated[Quantity, Q("volume", "0 L", "30 L")] | None = Field(
        None, description="Air the magnet and basket of one take up."
    )
    lead_area: Annotated[Quantity, Q("area", "0.03 mm²", "50 mm²")] = Field(
        typical("0.5 mm² [0.35 to 0.75]", "area"), description="Copper of the speaker lead."
    )
    lead_length: Annotated[Quantity, Q("length", "0 m", "30 m")] = Field(
        typical("0.5 m [0.3 to 1]", "length"), description="One-way length of the speaker lead."
    )


class Cabinet(Named):
    """The box."""

    width: Annotated[Quantity, Q("length", "3 cm", "3 m")] | None = Field(
        None, description="Inside width."
    )
    height: Annotated[Quantity, Q("length", "3 cm", "3 m")] | None = Field(
        None, description="Inside height."
    )
    depth: Annotated[Quantity, Q("length", "3 cm", "3 m")] | None = Field(
        None, description="Inside depth."
    )
    volume: Annotated[Quantity, Q("volume", "0.1 L", "1000 L")] | None = Field(
        None, description="Inside volume, if the three sizes are not given."
    )
    wall: Annotated[Quantity, Q("length", "0.5 mm", "60 mm")] = Field(
        typical("15 mm [12 to 18]", "length"), description="Thickness of the panels."
    )
    material: Literal["wood", "plastic", "metal"] = Field(
        "wood", description="What the panels are."
    )
    type: Literal["closed", "vented", "radiator", "open"] = Field(
        "closed", description="How the air is kept: radiator for a passive one in place of a vent."
    )
    vent: Vent | None = Field(
        None, description="The vent of a vented box; in a box of another type it counts as plugged."
    )
    radiator: Radiator | None = Field(None, description="The passive radiator.")
    tuning: Annotated[Quantity, Q("frequency", "10 Hz", "500 Hz")] | None = Field(
        None, description="Tuning of the box, if measured; from the vent or radiator if not."
    )
    stuffing: Literal["none", "lined", "filled"] = Field(
        "none", description="Wadding: none, on the walls, or all of the air loosely filled."
    )
    ql: Annotated[Quantity, Q("ratio", "1", "1000")] | None = Field(
        None, description="Q of its leaks, if measured; from `leaks` if not."
    )
    qa: Annotated[Quantity, Q("ratio", "1", "1000")] | None = Field(
        None, description="Q of the absorption, if measured; from `stuffing` if not."
    )
    qp: Annotated[Quantity, Q("ratio", "1", "1000")] | None = Field(
        None, description="Q of the losses in the vent, if measured."
    )
    bracing: Annotated[Quantity, Q("volume", "0 L", "100 L")] = Field(
        typical("0 L [0 to 0]", "volume"),
        description="Volume of braces and battens, on top of what `taken` says.",
    )
    baffle_width: Annotated[Quantity, Q("length", "3 cm", "3 m")] | None = Field(
        None, description="Width of the front; inside width and walls if not given."
    )
    leaks: Literal["tight", "unknown", "leaky"] = Field(
        "unknown", description="Whether it was tested for leaks."
    )
    taken: Annotated[Quantity, Q("volume", "0 L", "500 L")] | None = Field(
        None, description="Volume of battery, boards and bracing inside; estimated if not given."
    )
    electronics_apart: bool = Field(
        False, description="Battery and boards have a compartment of their own."
    )
    air_holes: bool = Field(
        False, description="The electronics' compartment has ventilation holes."
    )

    @model_validator(mode="after")
    def _has_its_radiator(self) -> Self:
        if self.type == "radiator" and self.radiator is None:
            raise value_error(
                Problem(
                    "a passive-radiator box without its radiator",
                    got="type = 'radiator'",
                    expected="a [cabinet.radiator] table with sd, mass and fs",
                    hint="Or write type = 'closed' or 'vented'.",
                )
            )
        return self


def _choice(text: str, kind: str) -> Quantity:
    return parse_quantity(f"{text} (standard)", kind)


class Want(Table):
    """What the builder wants of it, and where it will be used."""

    level: LevelField = Field(
        ListeningLevel(level=_choice("80 dB", "decibel"), distance=_choice("2 m", "length")),
        description="How loud, and how far away.",
    )
    hours: Annotated[Quantity, Q("time", "1 min", "1000 h")] = Field(
        _choice("5 h", "time"), description="How long it must play."
    )
    programme: Literal[
        "speech",
        "speech-average",
        "acoustic",
        "pop",
        "dance",
        "background",
        "noise",
        "pink",
        "sine",
    ] = Field(
        "pop",
        description="Kind of music, which sets how the average lies below the peaks; with a "
        "`[music]` table that is measured, and this only names the class.",
    )
    place: Literal["open", "floor", "floor-wall", "corner"] = Field(
        "floor", description="Where the box stands."
    )
    boxes: int = Field(1, ge=1, le=20, description="How many such boxes play together.")
    room: Annotated[Quantity, Q("volume", "5 m³", "5000 m³")] | None = Field(
        None, description="Volume of the room it plays in; outdoors if not given."
    )
    reverberation: Annotated[Quantity, Q("time", "100 ms", "6 s")] = Field(
        typical("0.5 s [0.3 to 0.8]", "time"),
        description="Time in which the room's sound dies away by 60 dB.",
    )
    outside: Annotated[Quantity, Q("temperature", "-30 °C", "60 °C")] = Field(
        typical("25 °C [15 to 30]", "temperature"), description="Temperature around the box."
    )
    coldest: Annotated[Quantity, Q("temperature", "-30 °C", "60 °C")] | None = Field(
        None, description="Coldest day it must work on."
    )
    shelf: Annotated[Quantity, Q("time", "0 d", "1000 d")] = Field(
        _choice("60 d", "time"), description="How long it lies unused between charges."
    )
    phone: bool = Field(False, description="A phone will be charged while it plays.")
    audience: Literal["adults", "children"] = Field("adults", description="Who listens.")
