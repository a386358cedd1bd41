"""Command of ``boomwright design`` that splits the band between drivers."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from boomwright.cli.design.options import AmplifierOption, FolderOption, JsonOption, PartsOption

__all__ = ["split"]


def split(
    file: Annotated[
        Path | None,
        typer.Argument(metavar="FILE", help="A build file: its drivers, box and amplifier."),
    ] = None,
    woofer: Annotated[
        str,
        typer.Option(metavar="NAME", help="A driver of FILE, or of the drawer without one."),
    ] = "",
    tweeter: Annotated[
        str,
        typer.Option(metavar="NAME", help="The same for the treble; one of both will do."),
    ] = "",
    at: Annotated[str, typer.Option(help='Where the bands meet: "3 kHz".')] = "",
    order: Annotated[
        int | None, typer.Option(help="How steep: 1 to 4; 2 without, 12 dB an octave.")
    ] = None,
    kind: Annotated[
        str, typer.Option(metavar="KIND", help="butterworth, linkwitz-riley or bessel.")
    ] = "",
    amplifier: AmplifierOption = "",
    supply: Annotated[str, typer.Option(help='Its supply: "12 V"; from FILE with one.')] = "",
    box: Annotated[
        str, typer.Option(help='Air behind the woofer, closed: "14 L"; from FILE with one.')
    ] = "",
    distance: Annotated[str, typer.Option(help='Listener to the front: "2 m".')] = "",
    spacing: Annotated[
        str, typer.Option(help='Middle of the woofer to middle of the tweeter: "16 cm".')
    ] = "",
    offset: Annotated[
        str, typer.Option(help='How much farther back the woofer\'s sound starts: "25 mm".')
    ] = "",
    wire: Annotated[str, typer.Option(help='Wire of the coils: "1 mm".')] = "",
    values: Annotated[
        str, typer.Option(metavar="SERIES", help="Series the parts come in: E6, E12, E24 or E96.")
    ] = "",
    correction: Annotated[
        bool | None,
        typer.Option(
            "--correction/--no-correction",
            help="Resistor and capacitor against the woofer's coil; what does better without.",
        ),
    ] = None,
    put: Annotated[
        bool, typer.Option("--put", help="Write the filters into FILE; 'undo' takes it back.")
    ] = False,
    folder: FolderOption = None,
    json: JsonOption = False,
    parts: PartsOption = None,
) -> None:
    """Design the crossover between woofer and tweeter."""
    from boomwright.cli.asked import Asked
    from boomwright.cli.design.given import read_given
    from boomwright.cli.design.split import show_split

    asked = Asked(
        file,
        {
            "--woofer": woofer,
            "--tweeter": tweeter,
            "--at": at,
            "--kind": kind,
            "--amplifier": amplifier,
            "--supply": supply,
            "--box": box,
            "--distance": distance,
            "--spacing": spacing,
            "--offset": offset,
            "--wire": wire,
            "--values": values,
        },
    )
    given, store = read_given(file, parts)
    show_split(
        asked, given, store, order=order, correction=correction, put=put, folder=folder, json=json
    )
