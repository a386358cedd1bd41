"""Commands of ``boomwright design`` for the signal, the gauge, the socket and the minus wiring."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from boomwright.cli.design.options import (
    AmplifierOption,
    BatteryOption,
    FileArgument,
    FolderOption,
    GainOption,
    InputOption,
    JsonOption,
    LeadCapacitanceOption,
    LeastLoadOption,
    LoadOption,
    PartsOption,
    ReceiverOption,
    SourceImpedanceOption,
    ToleranceOption,
)

__all__ = ["ground", "ladder", "pad", "stereo_sum", "usb"]


def stereo_sum(
    file: FileArgument = None,
    level: Annotated[str, typer.Option(help='Full output of the receiver: "0.7 V".')] = "",
    gain: GainOption = "",
    channels: Annotated[
        int | None, typer.Option(help="Amplifier channels that the sum feeds.")
    ] = None,
    source_impedance: SourceImpedanceOption = "",
    input_impedance: InputOption = "",
    least_load: LeastLoadOption = "",
    lowest_note: Annotated[str, typer.Option(help='Lowest note: "40 Hz".')] = "",
    lead_capacitance: LeadCapacitanceOption = "",
    tolerance: ToleranceOption = "",
    coupling: Annotated[
        bool,
        typer.Option(
            "--capacitor/--no-capacitor",
            help="A capacitor behind the sum; needless where the board has its own.",
        ),
    ] = True,
    receiver: ReceiverOption = "",
    amplifier: AmplifierOption = "",
    folder: FolderOption = None,
    json: JsonOption = False,
    parts: PartsOption = None,
) -> None:
    """Design the two resistors that make mono of stereo."""
    from boomwright.cli.asked import Asked
    from boomwright.cli.design.given import read_given
    from boomwright.cli.design.line import sum_page
    from boomwright.cli.design.page import show_page

    asked = Asked(
        file,
        {
            "--level": level,
            "--gain": gain,
            "--source-impedance": source_impedance,
            "--input": input_impedance,
            "--least-load": least_load,
            "--lowest-note": lowest_note,
            "--lead-capacitance": lead_capacitance,
            "--tolerance": tolerance,
            "--receiver": receiver,
            "--amplifier": amplifier,
        },
    )
    given, _ = read_given(file, parts)
    page = sum_page(asked, given, channels=channels, coupling=coupling)
    show_page(page, folder=folder, json=json)


def pad(
    file: FileArgument = None,
    level: Annotated[str, typer.Option(help='Full output of the receiver: "1 V".')] = "",
    gain: GainOption = "",
    supply: Annotated[
        str, typer.Option(help='Greatest peak at the speaker; a bridge board\'s supply: "12 V".')
    ] = "",
    clip: Annotated[
        str, typer.Option(help='Instead: the input that you measured to just clip: "400 mV".')
    ] = "",
    source_impedance: SourceImpedanceOption = "",
    input_impedance: InputOption = "",
    least_load: LeastLoadOption = "",
    lead_capacitance: LeadCapacitanceOption = "",
    tolerance: ToleranceOption = "",
    receiver: ReceiverOption = "",
    amplifier: AmplifierOption = "",
    folder: FolderOption = None,
    json: JsonOption = False,
    parts: PartsOption = None,
) -> None:
    """Design the pad with which full volume just reaches clipping."""
    from boomwright.cli.asked import Asked
    from boomwright.cli.design.given import read_given
    from boomwright.cli.design.line import pad_page
    from boomwright.cli.design.page import show_page

    asked = Asked(
        file,
        {
            "--level": level,
            "--gain": gain,
            "--supply": supply,
            "--clip": clip,
            "--source-impedance": source_impedance,
            "--input": input_impedance,
            "--least-load": least_load,
            "--lead-capacitance": lead_capacitance,
            "--tolerance": tolerance,
            "--receiver": receiver,
            "--amplifier": amplifier,
        },
    )
    given, _ = read_given(file, parts)
    page = pad_page(asked, given)
    show_page(page, folder=folder, json=json)


def ladder(
    file: FileArgument = None,
    battery: BatteryOption = "",
    load: LoadOption = "",
    marks: Annotated[
        str, typer.Option(help='Shares left, one LED each: "75 % 50 % 25 % 10 %".')
    ] = "",
    cutoff: Annotated[str, typer.Option(help='Volts at which the box goes off: "11.4 V".')] = "",
    resistance: Annotated[str, typer.Option(help='The battery\'s, if measured: "40 mΩ".')] = "",
    filter_time: Annotated[
        str, typer.Option("--filter", help='How long it averages over the bass: "7 s".')
    ] = "",
    led: Annotated[str, typer.Option(help='Current of each LED: "3 mA".')] = "",
    tolerance: ToleranceOption = "",
    resting: Annotated[
        bool, typer.Option("--resting", help="Set the LEDs by resting volts, not by playing.")
    ] = False,
    trimmer: Annotated[
        bool, typer.Option("--trimmer/--no-trimmer", help="A trimmer sets the scale at one mark.")
    ] = True,
    folder: FolderOption = None,
    json: JsonOption = False,
    parts: PartsOption = None,
) -> None:
    """Design an LED battery gauge, and the marks of a voltmeter."""
    from boomwright.cli.asked import Asked
    from boomwright.cli.design.given import read_given
    from boomwright.cli.design.ladder import ladder_page
    from boomwright.cli.design.page import show_page

    asked = Asked(
        file,
        {
            "--battery": battery,
            "--load": load,
            "--marks": marks,
            "--cutoff": cutoff,
            "--resistance": resistance,
            "--filter": filter_time,
            "--led": led,
            "--tolerance": tolerance,
        },
    )
    given, store = read_given(file, parts)
    page = ladder_page(asked, given, store, resting=resting, trimmer=trimmer)
    show_page(page, folder=folder, json=json)


def usb(
    file: FileArgument = None,
    kind: Annotated[
        str, typer.Option(metavar="KIND", help="joined, divider or type-c; joined without.")
    ] = "",
    current: Annotated[str, typer.Option(help='What the phone may draw: "1.5 A".')] = "",
    rail: Annotated[str, typer.Option(help='Volts of its rail, unloaded: "5.1 V".')] = "",
    rail_current: Annotated[str, typer.Option(help='What the rail gives for ever: "2 A".')] = "",
    rail_resistance: Annotated[str, typer.Option(help='How far it sags: "30 mΩ".')] = "",
    wire: Annotated[str, typer.Option(help='Copper from rail to socket: "0.75 mm²".')] = "",
    length: Annotated[str, typer.Option(help='Its length one way: "30 cm".')] = "",
    contacts: Annotated[str, typer.Option(help='Fuse and contacts, both ways: "40 mΩ".')] = "",
    tolerance: ToleranceOption = "",
    port: Annotated[
        str, typer.Option(metavar="NAME", help="A USB port of FILE; its first without.")
    ] = "",
    folder: FolderOption = None,
    json: JsonOption = False,
    parts: PartsOption = None,
) -> None:
    """Design what a charging socket tells a phone, and its feed."""
    from boomwright.cli.asked import Asked
    from boomwright.cli.design.given import read_given
    from boomwright.cli.design.line import usb_page
    from boomwright.cli.design.page import show_page

    asked = Asked(
        file,
        {
            "--kind": kind,
            "--current": current,
            "--rail": rail,
            "--rail-current": rail_current,
            "--rail-resistance": rail_resistance,
            "--wire": wire,
            "--length": length,
            "--contacts": contacts,
            "--tolerance": tolerance,
            "--port": port,
        },
    )
    given, _ = read_given(file, parts)
    page = usb_page(asked, given)
    show_page(page, folder=folder, json=json)


def ground(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The build file.")],
    folder: Annotated[
        Path | None,
        typer.Option(
            "--to", "-o", metavar="FOLDER", help="Write the leads as a table and a drawing there."
        ),
    ] = None,
    json: JsonOption = False,
    parts: PartsOption = None,
) -> None:
    """Show the minus wiring, how loud it whines, and what to move."""
    from boomwright.cli.design.ground import show_ground

    show_ground(file, folder=folder, json=json, parts=parts)
