"""``boomwright design``: from what is wanted back to part values."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from boomwright.cli.design.box import box, vent
from boomwright.cli.design.options import (
    AmplifierOption,
    BatteryOption,
    FileArgument,
    FolderOption,
    HighestOption,
    JsonOption,
    LoadOption,
    LowestOption,
    PartsOption,
)
from boomwright.cli.design.signal import ground, ladder, pad, stereo_sum, usb
from boomwright.cli.design.splits import split

__all__ = ["design_app"]

design_app = typer.Typer(
    help="Design one block: part values, drawing, parts list, bench readings, netlist. "
    "From a build file, or from what you write yourself.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
)


@design_app.command()
def cutoff(
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="A build file: its battery and its load.")
    ] = None,
    battery: Annotated[
        str, typer.Option(help='The battery in words instead: "12 V 9 Ah AGM".')
    ] = "",
    off: Annotated[str, typer.Option(help='Wanted voltage to let go at: "11.4 V".')] = "",
    on: Annotated[str, typer.Option(help="Wanted voltage to come back at.")] = "",
    load: Annotated[str, typer.Option(help='What the load takes on average: "1 A".')] = "",
    peak: Annotated[str, typer.Option(help="What it takes on a bass beat.")] = "",
    kind: Annotated[
        str, typer.Option(metavar="KIND", help="One kind of circuit; all are compared without.")
    ] = "",
    measured_off: Annotated[
        str, typer.Option(help="Read on the bench: let go at. Says which part explains it.")
    ] = "",
    measured_on: Annotated[str, typer.Option(help="Read on the bench: came back at.")] = "",
    put: Annotated[
        bool, typer.Option("--put", help="Write the circuit into FILE; 'undo' takes it back.")
    ] = False,
    folder: FolderOption = None,
    json: JsonOption = False,
    parts: PartsOption = None,
) -> None:
    """Design a low-voltage cutoff, or prove the one in a build."""
    from boomwright.cli.design.cutoff import CutoffRequest, design_and_show

    request = CutoffRequest(
        file=file,
        battery=battery,
        off=off,
        on=on,
        load=load,
        peak=peak,
        kind=kind,
        measured_off=measured_off,
        measured_on=measured_on,
        put=put,
        folder=folder,
        json=json,
        parts=parts,
    )
    design_and_show(request)


@design_app.command()
def regulator(
    file: FileArgument = None,
    battery: BatteryOption = "",
    lowest: LowestOption = "",
    highest: HighestOption = "",
    output: Annotated[str, typer.Option(help='Volts wanted: "5 V".')] = "",
    load: LoadOption = "",
    burst: Annotated[str, typer.Option(help='What it takes on top in bursts: "60 mA".')] = "",
    dip: Annotated[str, typer.Option(help='Most the output may dip in a burst: "50 mV".')] = "",
    beat: Annotated[str, typer.Option(help='What the bass pulls the battery down by: "1 V".')] = "",
    beat_frequency: Annotated[str, typer.Option(help='How fast it does: "60 Hz".')] = "",
    air: Annotated[str, typer.Option(help='Air around the regulator: "40 °C".')] = "",
    sink: Annotated[str, typer.Option(help='Heat sink, sink to air: "20 K/W".')] = "",
    rail: Annotated[str, typer.Option(metavar="NAME", help="A rail of FILE.")] = "",
    part: Annotated[str, typer.Option(metavar="PART", help="A regulator of the drawer.")] = "",
    folder: FolderOption = None,
    json: JsonOption = False,
    parts: PartsOption = None,
) -> None:
    """Design a linear regulator with fuse, capacitors, heat sink."""
    from boomwright.cli.asked import Asked
    from boomwright.cli.design.blocks import regulator_page
    from boomwright.cli.design.given import read_given
    from boomwright.cli.design.page import show_page

    asked = Asked(
        file,
        {
            "--battery": battery,
            "--lowest": lowest,
            "--highest": highest,
            "--output": output,
            "--load": load,
            "--burst": burst,
            "--dip": dip,
            "--beat": beat,
            "--beat-frequency": beat_frequency,
            "--air": air,
            "--sink": sink,
            "--rail": rail,
            "--part": part,
        },
    )
    given, store = read_given(file, parts)
    page = regulator_page(asked, given, store)
    show_page(page, folder=folder, json=json)


@design_app.command()
def polarity(
    file: FileArgument = None,
    kind: Annotated[
        str, typer.Option(metavar="KIND", help="One kind of protection; all are compared without.")
    ] = "",
    battery: BatteryOption = "",
    lowest: LowestOption = "",
    highest: HighestOption = "",
    fuse: Annotated[str, typer.Option(help='The fuse at the battery: "5 A".')] = "",
    fuse_type: Annotated[
        str, typer.Option(metavar="TYPE", help="blade, glass-quick or glass-slow.")
    ] = "",
    load: LoadOption = "",
    peak: Annotated[str, typer.Option(help="What it takes on a bass beat.")] = "",
    resistance: Annotated[str, typer.Option(help='Battery, leads, contacts: "60 mΩ".')] = "",
    part: Annotated[
        str, typer.Option(metavar="PART", help="A diode or transistor of the drawer.")
    ] = "",
    folder: FolderOption = None,
    json: JsonOption = False,
    parts: PartsOption = None,
) -> None:
    """Design the protection against a battery the wrong way round."""
    from boomwright.cli.asked import Asked
    from boomwright.cli.design.given import read_given
    from boomwright.cli.design.page import show_page
    from boomwright.cli.design.polarity import polarity_page

    asked = Asked(
        file,
        {
            "--kind": kind,
            "--battery": battery,
            "--lowest": lowest,
            "--highest": highest,
            "--fuse": fuse,
            "--fuse-type": fuse_type,
            "--load": load,
            "--peak": peak,
            "--resistance": resistance,
            "--part": part,
        },
    )
    given, store = read_given(file, parts)
    page = polarity_page(asked, given, store)
    show_page(page, folder=folder, json=json)


@design_app.command()
def mute(
    file: FileArgument = None,
    kind: Annotated[
        str, typer.Option(metavar="KIND", help="mute-low, mute-high or relay; mute-low without.")
    ] = "",
    delay: Annotated[str, typer.Option(help='From switch-on to sound: "1 s".')] = "",
    battery: BatteryOption = "",
    supply: Annotated[str, typer.Option(help='Usual volts at the amplifier: "12 V".')] = "",
    lowest: LowestOption = "",
    highest: HighestOption = "",
    rail_capacitor: Annotated[
        str, typer.Option(help='What stands on the amplifier\'s rail: "1000 µF".')
    ] = "",
    idle: Annotated[str, typer.Option(help='What the amplifier takes at rest: "50 mA".')] = "",
    pin: Annotated[str, typer.Option(help='What its mute pin is pulled up to: "5 V".')] = "",
    pull_up: Annotated[str, typer.Option(help='Through what: "10 kΩ".')] = "",
    speaker: Annotated[str, typer.Option(help='Loudspeaker behind a relay: "4 Ω".')] = "",
    capacitor_tolerance: Annotated[
        str, typer.Option(help='Of the delay capacitor: "-20 to 50 %" for an old one.')
    ] = "",
    amplifier: AmplifierOption = "",
    folder: FolderOption = None,
    json: JsonOption = False,
    parts: PartsOption = None,
) -> None:
    """Design a mute against the thump at switch-on and switch-off."""
    from boomwright.cli.asked import Asked
    from boomwright.cli.design.blocks import mute_page
    from boomwright.cli.design.given import read_given
    from boomwright.cli.design.page import show_page

    asked = Asked(
        file,
        {
            "--kind": kind,
            "--delay": delay,
            "--battery": battery,
            "--supply": supply,
            "--lowest": lowest,
            "--highest": highest,
            "--rail-capacitor": rail_capacitor,
            "--idle": idle,
            "--pin": pin,
            "--pull-up": pull_up,
            "--speaker": speaker,
            "--capacitor-tolerance": capacitor_tolerance,
            "--amplifier": amplifier,
        },
    )
    given, store = read_given(file, parts)
    page = mute_page(asked, given, store)
    show_page(page, folder=folder, json=json)


design_app.command("sum")(stereo_sum)
design_app.command()(pad)
design_app.command()(ladder)
design_app.command()(usb)
design_app.command()(ground)
design_app.command()(split)
design_app.command()(box)
design_app.command()(vent)
