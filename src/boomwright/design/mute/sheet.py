"""The sheet of a mute delay: parts list, bench readings, what to mind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.advice.finding import LEVELS
from boomwright.build.components import Relay
from boomwright.build.quantities import format_quantity
from boomwright.circuit.blocks.mute import MuteKind, MuteValues
from boomwright.design.lines import resistor_line
from boomwright.design.mute.wish import MuteWish
from boomwright.design.sheet import BenchReading, Design, Expected, PartLine, Remark

__all__ = ["CAUTIONS", "MuteChoice", "mute_parts", "mute_readings", "mute_remarks"]

_PIN = (
    "Measure the mute pin before anything is soldered to it: which level mutes, what it is pulled "
    "up to, and that its current is below 10 mA. The board's data sheet rules."
)
_CAN = "An electrolytic capacitor with plus and minus swapped bursts: the stripe marks minus."

CAUTIONS: dict[MuteKind, tuple[str, ...]] = {
    "mute-low": (_PIN, _CAN),
    "mute-high": (_PIN, _CAN),
    "relay": (
        "One contact for each loudspeaker, in one of its two leads. Never join the minus leads of "
        "bridge outputs to one contact, to each other or to ground: it destroys the amplifier.",
        _CAN,
        "The diode across the coil faces its plus; without it the coil kills the transistor.",
    ),
}
"""The usual cautions by kind."""

_SAFE_RAIL = 0.8
_CAN_VOLTS = (10.0, 16.0, 25.0, 35.0, 50.0, 63.0)


@dataclass(frozen=True, kw_only=True)
class MuteChoice:
    """What was chosen for a mute delay.

    Parameters
    ----------
    values : MuteValues
        Values of its parts.
    relay : Relay or None
        The relay of the drawer.
    first, second : str
        Drawer names of its transistors.
    """

    values: MuteValues
    relay: Relay | None
    first: str
    second: str


def _number(value: object) -> float:
    return float(np.asarray(value))


def mute_parts(choice: MuteChoice, wish: MuteWish) -> tuple[PartLine, ...]:
    """Parts list of a mute delay; what the board has already (rail, pull-up) is left out.

    Parameters
    ----------
    choice : MuteChoice
        What was chosen.
    wish : MuteWish
        What is wanted.

    Returns
    -------
    tuple of PartLine
    """
    values, most = choice.values, wish.supply_high
    charge, top = _number(values.charge_resistor), _number(values.divider_top)
    bottom = _number(values.divider_bottom)
    rating = next(size for size in _CAN_VOLTS if size >= 1.25 * most)
    lines = [
        resistor_line("R1", charge, watts=most**2 / charge, tolerance=0.05),
        resistor_line("R2", top, watts=most**2 / top, tolerance=0.05),
        resistor_line("R3", bottom, watts=1.0 / bottom, tolerance=0.05),
        PartLine(
            "C1",
            "electrolytic capacitor",
            value=format_quantity(_number(values.capacitor), "capacitance"),
            carries=format_quantity(most, "voltage"),
            rating=f"{format_quantity(rating, 'voltage')} or more",
            margin=rating / most,
            note="plus to R1, stripe to ground",
        ),
        PartLine(
            "D1",
            "signal diode 1N4148",
            carries=f"{format_quantity(most, 'voltage')} reversed",
            rating="75 V",
            margin=75.0 / most,
            part="1N4148",
            note="anode to C1, band (cathode) to the rail",
        ),
    ]
    first = (
        most / _number(values.drive_resistor)
        if values.drive_resistor is not None
        else (wish.pin_voltage / wish.pull_up)
    )
    lines.append(_transistor("Q1", f"NPN transistor {choice.first}", first, choice.first, 0.2))
    if values.drive_resistor is not None:
        drive = _number(values.drive_resistor)
        lines.append(resistor_line("R4", drive, watts=most**2 / drive, tolerance=0.05))
    if choice.relay is None:
        if choice.second:
            amps = wish.pin_voltage / wish.pull_up
            words = f"NPN transistor {choice.second}"
            lines.append(_transistor("Q2", words, amps, choice.second, 0.2))
        return tuple(lines)
    coil = most / choice.relay.coil_resistance.low
    sound = most / wish.impedance
    lines += [
        resistor_line("R5", _number(values.keeper_resistor), watts=1e-4, tolerance=0.05),
        _transistor("Q2", f"PNP transistor {choice.second}", coil, choice.second, 0.6),
        PartLine(
            "D2",
            "rectifier diode 1N4001",
            carries=format_quantity(coil, "current"),
            rating="1 A",
            margin=1.0 / coil,
            part="1N4001",
            note="across the coil, band (cathode) to Q2's collector, anode to ground",
        ),
        PartLine(
            "K1",
            choice.relay.title,
            value=format_quantity(choice.relay.coil_voltage.likely, "voltage"),
            carries=f"{format_quantity(sound, 'current')} of sound at most",
            rating=format_quantity(choice.relay.contact_current.low, "current"),
            margin=choice.relay.contact_current.low / sound,
            part=choice.relay.part,
            note="make contact in one lead of one loudspeaker; as many contacts as loudspeakers",
        ),
    ]
    return tuple(lines)


def _transistor(name: str, what: str, amps: float, part: str, rating: float) -> PartLine:
    return PartLine(
        name,
        what,
        carries=format_quantity(amps, "current"),
        rating=format_quantity(rating, "current"),
        margin=rating / amps,
        part=part,
        note="pin order differs between makers and cases: read its data sheet",
    )


def mute_readings(sheet: Design, wish: MuteWish, threshold: float) -> tuple[BenchReading, ...]:
    """Bench readings of a mute delay, in a safe order.

    Parameters
    ----------
    sheet : Design
        The design with its figures.
    wish : MuteWish
        What is wanted.
    threshold : float
        Volts on the capacitor at which sound comes [V].

    Returns
    -------
    tuple of BenchReading
    """
    supply = format_quantity(wish.supply, "voltage")
    after = sheet.figure("sound comes after")
    gone = sheet.figure("mutes after switch-off")
    again = sheet.figure("sound comes after, off for 1 s before")
    pin = wish.kind != "relay"
    where = "the mute pin" if pin else "the coil of K1"
    full = wish.pin_voltage if pin else wish.supply
    playing = 0.0 if wish.kind == "mute-high" else full
    muted = full if wish.kind == "mute-high" else 0.0
    room = 0.2 * full
    meter = "multimeter, 20 V direct"
    watch = "multimeter and a stop watch, or a phone that films the meter"
    return (
        BenchReading(
            "Loudspeakers unplugged. Rail from a bench supply at "
            f"{supply}, limit 0.2 A, red probe on {where}: within the first instant.",
            meter,
            Expected("muted", muted, max(muted - room, 0.0), muted + room, "voltage"),
            "If the supply sits in its limit, switch off and look for a part the wrong way round.",
        ),
        BenchReading(
            "The same, until the reading jumps.",
            watch,
            Expected("sound comes after", after.likely, after.low, after.high, "time"),
        ),
        BenchReading(
            "The same, ten times the delay later.",
            meter,
            Expected("playing", playing, max(playing - room, 0.0), playing + room, "voltage"),
        ),
        BenchReading(
            "Red probe on C1's plus while the supply is turned up slowly from 0: volts there when "
            f"{where} changes.",
            meter,
            Expected("threshold", threshold, 0.85 * threshold, 1.15 * threshold, "voltage"),
        ),
        BenchReading(
            f"Supply switched off at its output, red probe on {where}: until it has changed back.",
            watch,
            Expected("mutes after switch-off", gone.likely, gone.low, gone.high, "time"),
        ),
        BenchReading(
            "Off for one second, on again: until the reading jumps.",
            watch,
            Expected("after 1 s off", again.likely, 0.6 * again.likely, after.high, "time"),
        ),
    )


def mute_remarks(sheet: Design, wish: MuteWish) -> tuple[Remark, ...]:
    """What to mind about a mute delay, worst first.

    Parameters
    ----------
    sheet : Design
        The design with its figures.
    wish : MuteWish
        What is wanted.

    Returns
    -------
    tuple of Remark
    """
    after = sheet.figure("sound comes after")
    rail = sheet.figure("rail when it mutes")
    gone = sheet.figure("mutes after switch-off")
    waits = sheet.figure("off time for half the delay")

    def time(seconds: float) -> str:
        return format_quantity(seconds, "time")

    found = [Remark("fine", _serves(wish.kind))]
    if not np.isfinite(after.likely) or not np.isfinite(after.high):
        found.append(
            Remark(
                "stop",
                f"On {format_quantity(wish.supply_low, 'voltage')} the slowest sample never lets "
                "sound through.",
                "State a higher emptiest battery, or a capacitor of closer tolerance.",
            )
        )
    found.append(
        Remark(
            "fine",
            f"At switch-off it mutes after {time(gone.likely)}, with the rail still at "
            f"{format_quantity(rail.likely, 'voltage')}.",
        )
    )
    short = (
        f"Off for less than {time(waits.likely)} and on again, it mutes for less than half the "
        "time, and below "
        f"{time(gone.likely)} not at all: the rail has not fallen then, and neither has the "
        "amplifier."
    )
    level = "mind" if waits.likely > 2.0 else "fine"
    found.append(
        Remark(
            "mind" if level == "mind" else "fine",
            short,
            "Wait that long between off and on." if level == "mind" else "",
        )
    )
    again = sheet.figure("sound comes after, off for 1 s before")
    if again.likely < 0.5 * after.likely:
        found.append(
            Remark(
                "mind",
                f"After one second off it mutes for {time(again.likely)} only.",
                "Wait longer between off and on, or put a resistor across the rail's capacitor.",
            )
        )
    if rail.high > 0.95 * wish.supply_low:
        found.append(
            Remark(
                "mind",
                f"A bass beat that pulls the rail below {format_quantity(rail.high, 'voltage')} "
                "mutes the sound for a moment.",
                "A fatter lead or a larger capacitor at the amplifier.",
            )
        )
    if rail.likely < _SAFE_RAIL * wish.supply_low:
        found.append(
            Remark(
                "mind",
                f"The rail falls to {format_quantity(rail.likely, 'voltage')} before it mutes; an "
                "amplifier that gives up above that thumps first.",
                "Feed R1 and D1 through a second pole of the main switch, with 1 kΩ to ground "
                "behind it: that pole falls at once, whatever the rail's capacitor holds.",
            )
        )
    if wish.kind == "relay":
        found.append(
            Remark(
                "mind",
                "An amplifier with a capacitor in its output thumps when the contact closes, "
                "because that capacitor is still empty.",
                "There, 1 kΩ, 0.5 W from the output capacitor to ground, in front of the contact.",
            )
        )
    return tuple(sorted(found, key=lambda remark: -LEVELS.index(remark.level)))


def _serves(kind: MuteKind) -> str:
    if kind == "mute-low":
        return (
            "For boards whose mute or stand-by pin mutes when pulled low; not for boards without "
            "such a pin, and nowhere near the loudspeaker leads."
        )
    if kind == "mute-high":
        return (
            "For boards whose mute pin mutes when high and is pulled up on the board; the pull-up "
            "must outlast the rail at switch-off."
        )
    return (
        "For boards without a mute pin, bridge or single-ended: the contact sits in one lead of "
        "one loudspeaker, never in a lead that two outputs share."
    )
