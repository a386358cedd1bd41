"""Commands of ``boomwright design`` for the cabinet, as the shell sees them: box and vent."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from boomwright.cli.design.options import (
    BatteryOption,
    FileArgument,
    HighestOption,
    JsonOption,
    LowestOption,
    PartsOption,
)

__all__ = ["box", "vent"]


def box(
    file: FileArgument = None,
    driver: Annotated[
        str, typer.Option(metavar="NAME", help="A driver of FILE, else one of the drawer.")
    ] = "",
    count: Annotated[int | None, typer.Option(help="How many such drivers share the box.")] = None,
    fs: Annotated[str, typer.Option(help='Instead of the driver\'s own: resonance, "62 Hz".')] = "",
    qes: Annotated[str, typer.Option(help='Electrical Q: "0.45 ±5 %".')] = "",
    qms: Annotated[str, typer.Option(help='Mechanical Q: "4".')] = "",
    vas: Annotated[str, typer.Option(help='Air as stiff as its suspension: "9 L".')] = "",
    sd: Annotated[str, typer.Option(help='Cone area: "88 cm²".')] = "",
    xmax: Annotated[str, typer.Option(help='Travel one way: "3 mm".')] = "",
    re: Annotated[str, typer.Option("--re", help='Resistance of the coil: "5.6 Ω".')] = "",
    power: Annotated[str, typer.Option(help='Continuous power it stands: "25 W".')] = "",
    kind: Annotated[
        str, typer.Option(metavar="KIND", help="closed, vented, radiator or all; all without.")
    ] = "",
    net: Annotated[str, typer.Option(help='The air there is: "8 L".')] = "",
    largest: Annotated[str, typer.Option(help='The most air there may be: "14 L".')] = "",
    bass: Annotated[
        str, typer.Option(help='Where the bass may be 3 dB down: "60 Hz"; as low as goes without.')
    ] = "",
    hump: Annotated[str, typer.Option(help='Highest rise of the bass allowed: "2 dB".')] = "",
    board: Annotated[str, typer.Option(help='Thickness of the panels: "15 mm".')] = "",
    stuffing: Annotated[
        str, typer.Option(metavar="WORD", help="Of a closed box: none, lined or filled.")
    ] = "",
    programme: Annotated[
        str, typer.Option(metavar="NAME", help="What is played; pop without.")
    ] = "",
    battery: BatteryOption = "",
    lowest: LowestOption = "",
    highest: HighestOption = "",
    amps: Annotated[
        str, typer.Option(help='Peak amps of the amplifier for one driver: "4 A".')
    ] = "",
    pick: Annotated[
        int | None, typer.Option(help="Number of the box to show in full, to draw and to put.")
    ] = None,
    put: Annotated[
        Path | None,
        typer.Option(metavar="BUILD", help="Write it into that build file; 'undo' takes it back."),
    ] = None,
    folder: Annotated[
        Path | None,
        typer.Option(
            "--to", "-o", metavar="FOLDER", help="Write charts, their data and JSON there."
        ),
    ] = None,
    json: JsonOption = False,
    parts: PartsOption = None,
) -> None:
    """Find the box and the vent that suit a driver and a battery."""
    from boomwright.cli.asked import Asked
    from boomwright.cli.design.box_page import box_and_show
    from boomwright.cli.design.given import read_given

    asked = Asked(
        file,
        {
            "--driver": driver,
            "--fs": fs,
            "--qes": qes,
            "--qms": qms,
            "--vas": vas,
            "--sd": sd,
            "--xmax": xmax,
            "--re": re,
            "--power": power,
            "--kind": kind,
            "--net": net,
            "--largest": largest,
            "--bass": bass,
            "--hump": hump,
            "--board": board,
            "--stuffing": stuffing,
            "--programme": programme,
            "--battery": battery,
            "--lowest": lowest,
            "--highest": highest,
            "--amps": amps,
        },
    )
    given, store = read_given(file, parts)
    box_and_show(asked, given, store, count=count, pick=pick, put=put, folder=folder, json=json)


def vent(
    file: Annotated[
        Path | None,
        typer.Argument(metavar="FILE", help="A build file: its air, its vent, its drivers."),
    ] = None,
    volume: Annotated[str, typer.Option(help='Net air of the box: "14 L ±5 %".')] = "",
    tuning: Annotated[str, typer.Option(help='Tuning wanted: "48 Hz".')] = "",
    diameter: Annotated[
        str, typer.Option(help='Bore of a tube: "46 mm"; all usual ones without.')
    ] = "",
    width: Annotated[str, typer.Option(help='Inside width of a slot: "15 cm".')] = "",
    height: Annotated[str, typer.Option(help='Inside height of a slot: "20 mm".')] = "",
    length: Annotated[
        str, typer.Option(help='Length that a vent has: "12 cm"; gives its tuning.')
    ] = "",
    count: Annotated[int, typer.Option(help="How many of them, all alike.")] = 1,
    ends: Annotated[
        str, typer.Option(metavar="WORDS", help="flush-free, flush-flush or free-free.")
    ] = "",
    along: Annotated[int, typer.Option(help="Panels that the inner end lies along: 0 to 3.")] = 0,
    level: Annotated[
        str, typer.Option(help='Level at 1 m that the vent has to make at the tuning: "90 dB".')
    ] = "",
    sd: Annotated[str, typer.Option(help='Cone area of all drivers: "88 cm²".')] = "",
    xmax: Annotated[str, typer.Option(help='Their travel one way: "3 mm".')] = "",
    board: Annotated[str, typer.Option(help='Thickness of the panels: "15 mm".')] = "",
    json: JsonOption = False,
    parts: PartsOption = None,
) -> None:
    """Find the length of a vent, or the tuning that one gives."""
    from boomwright.cli.asked import Asked
    from boomwright.cli.design.vent import vent_and_show
    from boomwright.cli.opening import opened

    asked = Asked(
        file,
        {
            "--volume": volume,
            "--tuning": tuning,
            "--diameter": diameter,
            "--width": width,
            "--height": height,
            "--length": length,
            "--ends": ends,
            "--level": level,
            "--sd": sd,
            "--xmax": xmax,
            "--board": board,
        },
    )
    build = opened(file, parts)[0] if file is not None else None
    vent_and_show(asked, build, count=count, along=along, json=json)
