"""Options that the commands of ``boomwright design`` share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

__all__ = [
    "AmplifierOption",
    "BatteryOption",
    "FileArgument",
    "FolderOption",
    "GainOption",
    "HighestOption",
    "InputOption",
    "JsonOption",
    "LeadCapacitanceOption",
    "LeastLoadOption",
    "LoadOption",
    "LowestOption",
    "PartsOption",
    "ReceiverOption",
    "SourceImpedanceOption",
    "ToleranceOption",
]

FileArgument = Annotated[
    Path | None, typer.Argument(metavar="FILE", help="A build file, for what it can give.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print data instead of words.")]
PartsOption = Annotated[
    Path | None, typer.Option("--parts", help="A file of your own parts, laid over the drawer.")
]
FolderOption = Annotated[
    Path | None,
    typer.Option(
        "--to", "-o", metavar="FOLDER", help="Write drawing, parts list, netlist and curves there."
    ),
]
BatteryOption = Annotated[str, typer.Option(help='The battery in words: "12 V 7 Ah AGM".')]
LowestOption = Annotated[str, typer.Option(help='Volts of the emptiest battery: "10.5 V".')]
HighestOption = Annotated[str, typer.Option(help='Volts of the fullest, charging: "14.4 V".')]
LoadOption = Annotated[str, typer.Option(help='What the load takes on average: "1 A".')]
AmplifierOption = Annotated[
    str, typer.Option(metavar="NAME", help="An amplifier of FILE; its first without.")
]
ReceiverOption = Annotated[
    str, typer.Option(metavar="NAME", help="A receiver of FILE; its first without.")
]
GainOption = Annotated[str, typer.Option(help='Gain of the amplifier: "26 dB".')]
SourceImpedanceOption = Annotated[
    str, typer.Option(help='Of each of the receiver\'s outputs: "100 Ω".')
]
InputOption = Annotated[
    str, typer.Option("--input", help='Impedance of the amplifier\'s input: "20 kΩ".')
]
LeastLoadOption = Annotated[
    str, typer.Option(help='Least resistance that the receiver may see: "2 kΩ".')
]
LeadCapacitanceOption = Annotated[str, typer.Option(help='Of the lead behind it: "200 pF".')]
ToleranceOption = Annotated[str, typer.Option(help='Of the resistors: "1 %".')]
