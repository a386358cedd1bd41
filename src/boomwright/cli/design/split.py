"""``boomwright design split``: the drivers, the wish, the page, the files and the build file."""

from __future__ import annotations

from pathlib import Path
from typing import Any, get_args

from rich.text import Text

from boomwright.build.audio import Amplifier, Cabinet, Driver
from boomwright.build.drawer import Drawer
from boomwright.build.draws import Draws
from boomwright.build.model import Build
from boomwright.build.nearest import nearest
from boomwright.build.power import Supply
from boomwright.build.quantities import format_quantity, parse_quantity
from boomwright.cli.asked import Asked
from boomwright.cli.design import words
from boomwright.cli.design.given import Given
from boomwright.cli.design.page import Page, show_page
from boomwright.cli.design.split_files import put_split, split_files
from boomwright.cli.show import console
from boomwright.design.split.design import SplitDesign, design_split
from boomwright.design.split.drive import Drive, drive_of, with_usual_q
from boomwright.design.split.wish import SplitWish
from boomwright.outcome.plan import programme_of
from boomwright.outcome.speakers import channels_of
from boomwright.physics.amplifier import RAIL_SHARE, swing_peak
from boomwright.physics.filter_values import ALIGNMENTS, Alignment
from boomwright.physics.preferred import Series

__all__ = ["show_split", "split_page"]

_WOOFER_BANDS = ("low", "full", "mid")
_USUAL_AMPLIFIER = "class-d-bridge-2x30"
_USUAL_SUPPLY = 12.0
_EXAMPLE = "boomwright design split --woofer woofer-6in5-8ohm --tweeter tweeter-dome-25mm-8ohm"

_OPTIONS = {
    "drivers": "--woofer",
    "order": "--order",
    "frequency": "--at",
    "wire": "--wire",
    "distance": "--distance",
    "spacing": "--spacing",
    "peak": "--supply",
}


def show_split(
    asked: Asked,
    given: Given | None,
    store: Drawer,
    *,
    order: int | None,
    correction: bool | None,
    put: bool,
    folder: Path | None,
    json: bool,
) -> None:
    """Design a split, write what is wanted of it, print it.

    Parameters
    ----------
    asked : Asked
        The options.
    given : Given or None
        The build.
    store : Drawer
        The drawer.
    order, correction
        As in `split_page`.
    put : bool
        Write the filters into the build file.
    folder : Path or None
        Where to write files.
    json : bool
        Print data instead of words.

    Raises
    ------
    InputError
        With everything that cannot be.
    WriteError
        If a file cannot be written.
    """
    if put and asked.file is None:
        asked.wrong("--put", "no build file to write the filters into", hint="Name one as FILE.")
    page, found = split_page(asked, given, store, order=order, correction=correction)
    show_page(page, folder=folder, json=json)
    if put and asked.file is not None:
        put_split(asked.file, found)
        if not json:
            says = f"Written into {asked.file}; 'boomwright undo {asked.file}' takes it back."
            console().print(Text(f"\n{says}"))


def split_page(
    asked: Asked,
    given: Given | None,
    store: Drawer,
    *,
    order: int | None,
    correction: bool | None,
) -> tuple[Page, SplitDesign]:
    """A split as it was asked for.

    Parameters
    ----------
    asked : Asked
        The options.
    given : Given or None
        The build.
    store : Drawer
        The drawer.
    order : int or None
        How steep; second if None.
    correction : bool or None
        With or without the branch against the woofer's coil; whatever does better if None.

    Returns
    -------
    Page, SplitDesign

    Raises
    ------
    InputError
        With everything that cannot be.
    """
    low, high = _drivers(asked, given, store)
    amplifier, supply = _fed(asked, given, store, low or high)
    offset = asked.quantity("--offset", "length")
    if low is not None and offset is not None:
        low = low.model_copy(update={"offset": offset})
    kind = asked.one_of("--kind", list(ALIGNMENTS))
    steep = order if order is not None else 2
    alignment: Alignment = next(
        (one for one in ALIGNMENTS if one == kind),
        "butterworth" if steep % 2 else "linkwitz-riley",
    )
    values = asked.one_of("--values", list(get_args(Series)), usual="E12")
    known: tuple[Series, ...] = get_args(Series)
    series: Series = next((one for one in known if one == values), "E12")
    at, wire = asked.number("--at", "frequency"), asked.number("--wire", "length")
    usual_distance = given.build.want.level.distance.likely if given is not None else 2.0
    distance = asked.number_or("--distance", "length", usual_distance)
    spacing = asked.number("--spacing", "length")
    box = asked.quantity("--box", "volume")
    if box is not None and given is not None:
        asked.wrong("--box", "both a build file and a box were given", hint="Give one.")
    asked.settle()
    if given is not None:
        build = given.build
    else:
        cabinet = Cabinet(name="box", volume=box, electronics_apart=True) if box else None
        source = Supply(
            name="supply",
            voltage=parse_quantity(format_quantity(supply, "voltage"), "voltage"),
            current_limit=parse_quantity("5 A (typical)", "current"),
        )
        there = tuple(driver for driver in (low, high) if driver is not None)
        build = Build(
            name="split", supply=source, amplifier=(amplifier,), driver=there, cabinet=cabinet
        )
    channels = [_channels(driver, amplifier) for driver in (low, high) if driver is not None]
    together = len(channels) < 2 or bool(channels[0].keys() & channels[1].keys())
    drives = [_drive(driver, amplifier, build) for driver in (low, high)]
    rated = min(drive.rated for drive in drives if drive is not None)
    wish = SplitWish(
        frequency=at,
        alignment=alignment,
        order=steep,
        parts=series,
        wire=wire,
        distance=distance,
        spacing=spacing,
        peak=_peak(amplifier, supply, rated),
        load_min=amplifier.load_min.likely,
        programme=programme_of(build),
        correction=correction,
        together=together,
        one_channel=_one_channel(given, store),
    )
    with asked.naming(_OPTIONS):
        found = design_split(drives[0], drives[1], wish)
    names = " and ".join(driver.name for driver in (low, high) if driver is not None)
    shown = format_quantity(wish.peak, "voltage", digits=3)
    page = Page(
        design=found.design,
        drawing="split",
        wanted=f"{words.of(given)}{names} on {amplifier.name}, {shown} of clean swing.",
        wish=_plain(found),
        values={
            "filter": {name: list(steps) for name, steps in found.filters.items()},
            "reversed": {
                name: branch.reversed
                for name, branch in zip(found.drivers, found.branches, strict=True)
            },
        },
        more=lambda: split_files(found),
    )
    return page, found


def _plain(found: SplitDesign) -> dict[str, Any]:
    wish = found.wish
    return {
        "frequency": found.frequency,
        "asked": wish.frequency is not None,
        "kind": wish.alignment,
        "order": wish.order,
        "values": wish.parts,
        "distance": wish.distance,
        "spacing": wish.spacing,
        "peak": wish.peak,
        "least_load": wish.load_min,
        "programme": wish.programme.name,
        "one_channel": wish.one_channel,
    }


def _drivers(
    asked: Asked, given: Given | None, store: Drawer
) -> tuple[Driver | None, Driver | None]:
    """Woofer and tweeter by name, or by the bands of the build's drivers."""
    found: list[Driver | None] = []
    named = asked.given("--woofer") or asked.given("--tweeter")
    for option, bands in (("--woofer", _WOOFER_BANDS), ("--tweeter", ("high",))):
        word = asked.text(option)
        if given is not None and (word or not named):
            found.append(_of_build(asked, option, word, bands, given))
        elif word:
            found.append(_of_drawer(asked, option, word, store))
        else:
            found.append(None)
    if given is not None and not named and found[1] is None and found[0] is not None:
        # Without a tweeter only a true woofer wants its treble taken away.
        found[0] = found[0] if found[0].band == "low" else None
    if found == [None, None] and not asked.problems:
        if given is None:
            says = "neither a build file nor a driver was given"
            asked.wrong("", says, hint=f"Such as: {_EXAMPLE}")
        else:
            hint = "Name the driver with --woofer or --tweeter to filter it all the same."
            asked.lacks("no woofer and no tweeter to split the band between", hint=hint)
    low, high = (None if one is None else _bare(one) for one in found)
    return low, high


def _of_build(
    asked: Asked, option: str, word: str, bands: tuple[str, ...], given: Given
) -> Driver | None:
    drivers = given.build.driver
    if word:
        for driver in drivers:
            if driver.name == word:
                return driver
        hint = nearest(word, [driver.name for driver in drivers])
        asked.wrong(option, f"no driver of that name: {word!r}", hint=hint)
        return None
    for band in bands:
        for driver in drivers:
            if driver.band == band:
                return driver
    return None


def _of_drawer(asked: Asked, option: str, word: str, store: Drawer) -> Driver | None:
    if word not in store.names("driver"):
        hint = f"{nearest(word, store.names('driver'))} 'boomwright drawer driver' lists them."
        asked.wrong(option, f"no such driver in the drawer: {word!r}", hint=hint.strip())
        return None
    part = store.part("driver", word)
    return part if isinstance(part, Driver) else None


def _bare(driver: Driver) -> Driver:
    """A driver without the filter that it has, and with the usual Q where its own is unknown."""
    plain = {"filter": (), "capacitor": None, "reversed": False}
    return with_usual_q(driver.model_copy(update=plain))


def _fed(
    asked: Asked, given: Given | None, store: Drawer, driver: Driver | None
) -> tuple[Amplifier, float]:
    """Amplifier, and the volts at its supply pins when it swings to its limit."""
    word = asked.text("--amplifier")
    volts = asked.number("--supply", "voltage")
    if given is not None:
        boards = given.build.amplifier
        wanted = word or (driver.amplifier if driver is not None else "")
        board = next((item for item in boards if item.name == wanted), boards[0])
        if word and board.name != word:
            hint = nearest(word, [item.name for item in boards])
            asked.wrong("--amplifier", f"no part of that name: {word!r}", hint=hint)
        outcome = next(item for item in given.outcome.amplifiers if item.name == board.name)
        return board, volts if volts is not None else outcome.volts_peak_full.likely
    name = word or _USUAL_AMPLIFIER
    if name not in store.names("amplifier"):
        hint = (
            f"{nearest(name, store.names('amplifier'))} 'boomwright drawer amplifier' lists them."
        )
        asked.wrong("--amplifier", f"no such amplifier in the drawer: {name!r}", hint=hint.strip())
        name = _USUAL_AMPLIFIER
    part = store.part("amplifier", name)
    if not isinstance(part, Amplifier):
        raise TypeError(f"{name} of the drawer is no amplifier")
    return part, volts if volts is not None else _USUAL_SUPPLY


def _channels(driver: Driver, amplifier: Amplifier) -> dict[int, int]:
    return channels_of(driver, amplifier)


def _drive(driver: Driver | None, amplifier: Amplifier, build: Build) -> Drive | None:
    if driver is None:
        return None
    count = max(_channels(driver, amplifier).values())
    return drive_of(driver, count, build, Draws(0))


def _peak(amplifier: Amplifier, supply: float, load: float) -> float:
    limit = amplifier.current_max.likely if amplifier.current_max else float("inf")
    peak = swing_peak(
        supply,
        rail_share=RAIL_SHARE[amplifier.topology],
        voltage_loss=amplifier.voltage_loss.likely,
        resistance_output=amplifier.output_resistance.likely,
        load=load,
        current_limit=limit,
    )
    return float(peak)


def _one_channel(given: Given | None, store: Drawer) -> str:
    """What the rules say of bands that hear one side of a stereo pair only."""
    if given is None:
        return ""
    from boomwright.advice.judge import judge

    verdict = judge(given.build, given.outcome, drawer=store)
    says = [item.says for item in verdict.findings if item.id == "one-channel-band"]
    return says[0].rstrip(".") if says else ""
