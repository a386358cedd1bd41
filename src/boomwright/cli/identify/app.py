"""``boomwright identify``: a driver's parameters from what people own."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

__all__ = ["identify_app"]

identify_app = typer.Typer(
    help="Know a driver: its parameters with their ranges, from a multimeter and a tone, an "
    "impedance sweep, or a sound card and a resistor.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
)

JsonOption = Annotated[bool, typer.Option("--json", help="Print data instead of words.")]
ReplaceOption = Annotated[
    bool, typer.Option("--replace", help="Write over a file that is there already.")
]
DiameterOption = Annotated[
    str, typer.Option(help='Cone with half the surround on either side: "13 cm ±1 mm".')
]
OhmsOption = Annotated[
    str, typer.Option("--re", help='D.c. ohms by ohmmeter, leads taken off: "6.1 Ω".')
]
CabinetOption = Annotated[
    str, typer.Option(metavar="KIND", help="It sits in a box: closed or vented.")
]
BoxOption = Annotated[str, typer.Option(help='Net volume of the box: "8 L ±3 %".')]
MassFileOption = Annotated[
    Path | None, typer.Option(metavar="FILE", help="The same with mass on the cone.")
]
MassOption = Annotated[str, typer.Option(help='That mass: "10 g ±0.1 g".')]
BoxFileOption = Annotated[
    Path | None, typer.Option(metavar="FILE", help="The same on a closed test box (--box).")
]
CreepOption = Annotated[
    bool, typer.Option("--creep", help="Let the suspension be softer the slower it moves.")
]
ChartOption = Annotated[
    Path | None,
    typer.Option(metavar="FILE", help="Draw points, fit and misses: .svg, .html, .pdf or .png."),
]
PutOption = Annotated[
    Path | None,
    typer.Option(metavar="BUILD", help="Write the values into this build file; 'undo' undoes it."),
]
DriverOption = Annotated[
    str, typer.Option(metavar="NAME", help="Which driver of BUILD; its only one without.")
]


@identify_app.command()
def sheet(
    output: Annotated[Path, typer.Option("--output", "-o", metavar="FILE", help="The form.")],
    replace: ReplaceOption = False,
    json: JsonOption = False,
) -> None:
    """Write a form for readings with multimeter, resistor and tone."""
    from boomwright.cli.identify.files import write_form

    write_form(output, replace=replace, json=json)


@identify_app.command()
def readings(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The form, filled in.")],
    cabinet: CabinetOption = "",
    box: BoxOption = "",
    chart: ChartOption = None,
    put: PutOption = None,
    driver: DriverOption = "",
    json: JsonOption = False,
) -> None:
    """Parameters from a handful of volt readings."""
    from boomwright.cli.identify.asked import IdentifyRequest, from_readings

    request = IdentifyRequest(
        file=file, cabinet=cabinet, box=box, chart=chart, put=put, driver=driver, json=json
    )
    raise typer.Exit(from_readings(request))


@identify_app.command()
def sweep(
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="Columns of hertz, ohms and perhaps degrees.")
    ],
    with_mass: MassFileOption = None,
    mass: MassOption = "",
    in_box: BoxFileOption = None,
    box: BoxOption = "",
    cabinet: CabinetOption = "",
    diameter: DiameterOption = "",
    re: OhmsOption = "",
    ohms_error: Annotated[str, typer.Option(help="How far all ohms may be off alike.")] = "1 %",
    creep: CreepOption = False,
    chart: ChartOption = None,
    put: PutOption = None,
    driver: DriverOption = "",
    json: JsonOption = False,
) -> None:
    """Parameters from impedance sweeps in text files."""
    from boomwright.cli.identify.asked import IdentifyRequest, from_sweeps

    request = IdentifyRequest(
        file=file,
        with_mass=with_mass,
        mass=mass,
        in_box=in_box,
        box=box,
        cabinet=cabinet,
        diameter=diameter,
        re=re,
        ohms_error=ohms_error,
        creep=creep,
        chart=chart,
        put=put,
        driver=driver,
        json=json,
    )
    raise typer.Exit(from_sweeps(request))


@identify_app.command()
def signal(
    output: Annotated[
        Path, typer.Option("--output", "-o", metavar="FILE", help="The sound file, .wav.")
    ],
    duration: Annotated[str, typer.Option(help="How long the sweep lasts.")] = "12 s",
    level: Annotated[str, typer.Option(help="Its peak below full scale.")] = "-12 dB",
    rate: Annotated[str, typer.Option(help="Samples a second.")] = "48 kHz",
    silence: Annotated[str, typer.Option(help="Before and after it.")] = "1 s",
    replace: ReplaceOption = False,
    json: JsonOption = False,
) -> None:
    """Write the sweep to play while the sound card records.

    Caution: set the amplifier to its lowest volume first.
    """
    from boomwright.cli.identify.files import write_sweep

    write_sweep(
        output,
        {"--duration": duration, "--level": level, "--rate": rate, "--silence": silence},
        replace=replace,
        json=json,
    )


@identify_app.command()
def recording(
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="Both sides of the known resistor, stereo.")
    ],
    resistor: Annotated[str, typer.Option(help='The known resistor: "100 Ω ±1 %".')],
    driver_channel: Annotated[
        str, typer.Option(metavar="SIDE", help="left or right; the fainter one without.")
    ] = "",
    calibration: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Recording with a second resistor as the driver."),
    ] = None,
    calibration_resistor: Annotated[str, typer.Option(help='That one: "10 Ω".')] = "",
    with_mass: MassFileOption = None,
    mass: MassOption = "",
    in_box: BoxFileOption = None,
    box: BoxOption = "",
    cabinet: CabinetOption = "",
    diameter: DiameterOption = "",
    re: OhmsOption = "",
    creep: CreepOption = False,
    chart: ChartOption = None,
    put: PutOption = None,
    driver: DriverOption = "",
    json: JsonOption = False,
) -> None:
    """Parameters from a sound card's recording of the sweep.

    Caution: a sound card's input stands a volt or two. Only small signals may
    reach it, and never a bridge amplifier's output, neither lead of which is
    ground.
    """
    from boomwright.cli.identify.asked import IdentifyRequest, from_recordings

    request = IdentifyRequest(
        file=file,
        resistor=resistor,
        driver_channel=driver_channel,
        calibration=calibration,
        calibration_resistor=calibration_resistor,
        with_mass=with_mass,
        mass=mass,
        in_box=in_box,
        box=box,
        cabinet=cabinet,
        diameter=diameter,
        re=re,
        creep=creep,
        chart=chart,
        put=put,
        driver=driver,
        json=json,
    )
    raise typer.Exit(from_recordings(request))


@identify_app.command()
def typical(
    size: Annotated[str, typer.Argument(metavar="SIZE", help='Nominal diameter: "5 in".')],
    impedance: Annotated[str, typer.Argument(metavar="OHMS", help='Rated: "8 Ω".')] = "",
    kind: Annotated[
        str, typer.Option("--class", metavar="NAME", help="driver, woofer, pa and so on.")
    ] = "",
    box: Annotated[str, typer.Option(help='Closed box it is meant for: "10 L".')] = "",
    json: JsonOption = False,
    parts: Annotated[
        Path | None, typer.Option("--parts", help="A file of your own parts, laid over the drawer.")
    ] = None,
) -> None:
    """What its class lets expect, and which three things to measure first."""
    from boomwright.cli.identify.typical import show_typical

    show_typical(size, impedance, kind=kind, box=box, json=json, parts=parts)
