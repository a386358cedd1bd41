"""``boomwright design`` between battery and amplifier: the regulator and the mute."""

from __future__ import annotations

from typing import get_args

from boomwright.build.drawer import Drawer
from boomwright.build.power import Rail
from boomwright.build.quantities import format_quantity
from boomwright.circuit.blocks.mute import MuteKind
from boomwright.cli.asked import Asked
from boomwright.cli.design import words
from boomwright.cli.design.curves import burst_csv, switching_csv
from boomwright.cli.design.given import (
    Given,
    Volts,
    amplifier_of,
    chosen_part,
    path_resistance,
    volts_of,
)
from boomwright.cli.design.page import Page
from boomwright.design.mute.design import design_mute
from boomwright.design.regulator.design import design_regulator

__all__ = ["mute_page", "regulator_page"]

_ROOM = 273.15 + 40.0


_REGULATOR = {
    "battery_low": "--lowest",
    "battery_high": "--highest",
    "output": "--output",
    "load": "--load",
    "burst": "--burst",
    "droop": "--dip",
    "sag": "--beat",
    "sag_frequency": "--beat-frequency",
    "ambient": "--air",
    "sink": "--sink",
    "part": "--part",
}


def regulator_page(asked: Asked, given: Given | None, drawer: Drawer) -> Page:
    """Linear regulator that was asked for.

    Parameters
    ----------
    asked : Asked
        The options.
    given : Given or None
        The build.
    drawer : Drawer
        Parts to choose from.

    Returns
    -------
    Page

    Raises
    ------
    InputError
        With everything that cannot be.
    """
    volts = volts_of(asked, given, example=f"boomwright design regulator --battery {words.BATTERY}")
    rail = _rail(asked, given)
    output = asked.number_or("--output", "voltage", rail.voltage.likely if rail else 5.0)
    load, burst, sag = 0.05, 0.1, 1.0
    air, sink, part = _ROOM, None, ""
    if given is not None and rail is not None:
        load = max(given.taken_from(rail.name), 1e-3)
        burst = _burst(given, rail)
        loud = given.outcome.scenario("flat-out")
        sag = loud.amps_peak.likely * path_resistance(given, given.chain(rail))
        outside = given.build.want.outside
        air = max(scenario.air.likely for scenario in given.outcome.scenarios)
        air += outside.high - outside.likely
        if rail.type == "linear":
            sink = rail.sink.likely if rail.sink is not None else None
            part = rail.part if rail.part in drawer.names("rail") else ""
    load = asked.number_or("--load", "current", load)
    burst = asked.number_or("--burst", "current", burst)
    sag = asked.number_or("--beat", "voltage", sag)
    air = asked.number_or("--air", "temperature", air)
    sink = asked.number("--sink", "thermal") if asked.given("--sink") else sink
    part = asked.text("--part") or part
    droop = asked.number_or("--dip", "voltage", 0.05)
    beat = asked.number_or("--beat-frequency", "frequency", 60.0)
    asked.settle()
    phones = [] if rail is None or given is None else given.build.usb
    alone = load - sum(port.current.likely for port in phones if rail and port.fed_by == rail.name)
    hint = f'Without a phone on it: --load "{words.amps(alone)}".' if 0.0 < alone < load else ""
    with asked.naming(_REGULATOR, more={} if asked.given("--load") else {"--load": hint}):
        design = design_regulator(
            battery_low=volts.low,
            battery_high=volts.high,
            output=output,
            load=load,
            burst=burst,
            droop=droop,
            sag=sag,
            sag_frequency=beat,
            part=part,
            drawer=drawer,
            ambient=air,
            sink=sink,
        )
    instead = ""
    if rail is not None and rail.type != "linear":
        instead = f" In place of {rail.name!r}, which is {_article(rail.type)} converter."
    return Page(
        design=design,
        drawing="regulator",
        wanted=(
            f"{words.span(volts)}; load {words.amps(load)} and {words.amps(burst)} more in "
            "bursts; the bass pulls the battery down by "
            f"{format_quantity(sag, 'voltage', digits=2)}; air "
            f"{format_quantity(air, 'temperature')}.{instead}"
        ),
        wish={
            "battery_low": volts.low,
            "battery_high": volts.high,
            "output": output,
            "load": load,
            "burst": burst,
            "dip": droop,
            "beat": sag,
            "beat_frequency": beat,
            "air": air,
            "sink": sink,
        },
        more=lambda: {"burst.csv": burst_csv(design.netlist, burst)},
        heat=("U1",) if sink is not None else (),
    )


def _article(word: str) -> str:
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"


def _rail(asked: Asked, given: Given | None) -> Rail | None:
    """The rail asked for, the linear one without a word, else one that the battery stands above."""
    if given is None:
        if asked.given("--rail"):
            asked.wrong("--rail", "names a rail of a build file, and no file was given")
        return None
    rails = given.build.rail
    if asked.given("--rail"):
        return chosen_part(asked, "--rail", rails)
    lower = [rail for rail in rails if rail.type in ("buck", "isolated")]
    linear = [rail for rail in rails if rail.type == "linear"]
    return next(iter([*linear, *lower]), None)


def _burst(given: Given, rail: Rail) -> float:
    """What the receivers of a rail draw on top of their average, all at once [A]."""
    mine = [item for item in given.build.receiver if item.fed_by == rail.name]
    return sum(max(item.burst.likely - item.current.likely, 0.0) for item in mine)


_MUTE = {
    "kind": "--kind",
    "on_delay": "--delay",
    "supply": "--supply",
    "supply_low": "--lowest",
    "supply_high": "--highest",
    "rail_capacitor": "--rail-capacitor",
    "idle_current": "--idle",
    "pin_voltage": "--pin",
    "pull_up": "--pull-up",
    "impedance": "--speaker",
    "capacitor_tolerance": "--capacitor-tolerance",
}


def mute_page(asked: Asked, given: Given | None, drawer: Drawer) -> Page:
    """Mute delay that was asked for.

    Parameters
    ----------
    asked : Asked
        The options.
    given : Given or None
        The build.
    drawer : Drawer
        Parts to choose from.

    Returns
    -------
    Page

    Raises
    ------
    InputError
        With everything that cannot be.
    """
    kinds = get_args(MuteKind)
    kind = asked.one_of("--kind", kinds, usual="mute-low")
    volts = _supply(asked, given)
    amplifier = amplifier_of(asked, given)
    usual = {"--rail-capacitor": 1e-3, "--idle": 0.1, "--speaker": 4.0}
    if given is not None and amplifier is not None:
        rail = given.rail_of(amplifier)
        if rail is not None and not (asked.given("--lowest") or asked.given("--highest")):
            out = rail.voltage
            volts = Volts(out.low, out.likely, out.high, f"{given.build.name}, rail {rail.name!r}")
        outputs = next(
            (item.outputs for item in given.outcome.amplifiers if item.name == amplifier.name), ()
        )
        usual["--rail-capacitor"] = max(amplifier.supply_capacitor.likely, 1e-6)
        usual["--idle"] = max(amplifier.idle_power.likely / volts.usual, 1e-3)
        usual["--speaker"] = min((item.load for item in outputs), default=4.0)
    delay = asked.number_or("--delay", "time", 1.0)
    supply = asked.number_or("--supply", "voltage", volts.usual)
    capacitor = asked.number_or("--rail-capacitor", "capacitance", usual["--rail-capacitor"])
    idle = asked.number_or("--idle", "current", usual["--idle"])
    speaker = asked.number_or("--speaker", "resistance", usual["--speaker"])
    pin = asked.number_or("--pin", "voltage", 5.0)
    pull_up = asked.number_or("--pull-up", "resistance", 10e3)
    spread = asked.quantity("--capacitor-tolerance", "share")
    asked.settle()
    tolerance = (-0.2, 0.2) if spread is None else (spread.low, spread.high)
    with asked.naming(_MUTE):
        design = design_mute(
            kind,  # type: ignore[arg-type]
            on_delay=delay,
            supply=supply,
            supply_low=volts.low,
            supply_high=volts.high,
            rail_capacitor=capacitor,
            idle_current=idle,
            pin_voltage=pin,
            pull_up=pull_up,
            impedance=speaker,
            capacitor_tolerance=tolerance,
            drawer=drawer,
        )
    return Page(
        design=design,
        drawing="mute-relay" if kind == "relay" else kind,
        wanted=(
            f"{words.span(volts)}; sound after {format_quantity(delay, 'time')}; "
            f"{format_quantity(capacitor, 'capacitance')} on the amplifier's rail, "
            f"{words.amps(idle)} at rest."
        ),
        wish={
            "delay": delay,
            "kind": kind,
            "supply": supply,
            "supply_low": volts.low,
            "supply_high": volts.high,
            "rail_capacitor": capacitor,
            "idle": idle,
            "pin": pin,
            "pull_up": pull_up,
            "speaker": speaker,
        },
        more=lambda: {"switching.csv": switching_csv(design.netlist, delay)},
    )


def _supply(asked: Asked, given: Given | None) -> Volts:
    """Battery volts; a usual supply alone brings the usual range of a battery with it."""
    supply = asked.number("--supply", "voltage")
    others = any(asked.given(option) for option in ("--battery", "--lowest", "--highest"))
    if given is None and not others and asked.given("--supply"):
        usual = supply or 12.0
        return Volts(0.8 * usual, usual, 1.15 * usual, "supply")
    example = f'boomwright design mute --battery {words.BATTERY} --delay "1 s"'
    return volts_of(asked, given, example=example)
