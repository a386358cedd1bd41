"""``boomwright design``: from what is wanted back to part values."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

__all__ = ["design_app"]

design_app = typer.Typer(
    help="Design a small circuit: values, drawing, parts list, bench readings, netlist.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
)

JsonOption = Annotated[bool, typer.Option("--json", help="Print data instead of words.")]
PartsOption = Annotated[
    Path | None, typer.Option("--parts", help="A file of your own parts, laid over the drawer.")
]
FolderOption = Annotated[
    Path | None,
    typer.Option(
        "--to", "-o", metavar="FOLDER", help="Write drawing, parts list, netlist and charts there."
    ),
]


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
    """Design a low-voltage cutoff, or prove the one that a build file has."""
    from boomwright.cli.design_cutoff import CutoffRequest, design_and_show

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
