"""The sheet of a charging socket: parts, readings and remarks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from boomwright.build.quantities import format_quantity
from boomwright.circuit.blocks.usb import UsbKind
from boomwright.circuit.values import Floats
from boomwright.design.line.level import ohms
from boomwright.design.sheet import BenchReading, Expected, PartLine, Remark
from boomwright.design.spread import Limits, expected
from boomwright.physics.wire import ampacity, wire_resistance

__all__ = ["TELLS", "Rail", "other_parts", "usb_readings", "usb_remarks"]

TELLS: dict[UsbKind, tuple[float, ...]] = {
    "joined": (1.5,),
    "divider": (1.0, 2.1),
    "type-c": (0.5, 1.5, 3.0),
}
"""Currents that each kind can tell of [A]: charging specification of 2010 and its Type-C successor;
the dividers are custom of older phones, from memory."""

_WINDOWS = {0.5: (0.25, 0.61), 1.5: (0.70, 1.16), 3.0: (1.31, 2.04)}
"""Volts on the CC pin that a phone takes for each current, from memory of the specification."""

_PLUG = (4.75, 5.25)
_DETECT_LEVEL = 0.4
"""The phone's look at the data lines, from memory: it counts them as joined above this [V]."""

_NOMINAL = 5.0


@dataclass(frozen=True)
class Rail:
    """The rail and the way to the plug."""

    voltage: Limits
    resistance: Limits
    lead: Limits
    most: float
    area: float
    length: float
    contacts: float


def other_parts(kind: UsbKind, link: float, current: float, rail: Rail) -> Iterator[PartLine]:
    """Parts besides the resistors: the bridge, the leads, the socket."""
    if kind == "joined":
        bridge = link <= 1.0
        yield PartLine(
            "R1",
            "bridge of wire" if bridge else "resistor, metal film",
            value="" if bridge else format_quantity(link, "resistance"),
            carries="0.2 mA",
            note="D+ to D-; nothing else on these two pins",
        )
    limit = float(ampacity(rail.area, bundled=True))
    yield PartLine(
        "W1",
        "pair of copper leads, rail to socket",
        value=f"{format_quantity(rail.area, 'area')}, {format_quantity(rail.length, 'length')}",
        carries=format_quantity(current, "current"),
        rating=format_quantity(limit, "current"),
        margin=limit / current,
    )
    yield PartLine(
        "J1",
        "USB-C socket, power only" if kind == "type-c" else "USB-A socket",
        carries=format_quantity(current, "current"),
        rating=f"{format_quantity(max(current, 1.5), 'current')} or more",
        margin=max(current, 1.5) / current,
        note="R1 to CC1 and R2 to CC2, one each, never shared"
        if kind == "type-c"
        else "pin 1 is 5 V, 2 is D-, 3 is D+, 4 is minus",
    )


def usb_readings(
    kind: UsbKind,
    figures: tuple[Expected, ...],
    plug: dict[float, Floats],
    link: float,
    tolerance: float,
) -> Iterator[BenchReading]:
    """What to measure, in a safe order."""
    if kind == "joined":
        yield BenchReading(
            "Rail off, nothing plugged in: probes on D+ and D-",
            "ohms, 200 Ω range; take off what the probes show by themselves",
            ohms("D+ to D-", link, tolerance)
            if link > 1.0
            else Expected("D+ to D-", link, 0.0, 1.0, "resistance"),
        )
    yield BenchReading(
        "Rail on, nothing plugged in: probes on 5 V and minus of the socket",
        "DC volts, 20 V range",
        expected("plug without load", plug[0.0], "voltage"),
        caution="Above 5.25 V stop, and set the rail first.",
    )
    if kind == "divider":
        for figure in figures[:2]:
            yield BenchReading(
                f"Probes on {figure.label.split(',')[0]} and minus",
                "DC volts, 20 V range, 10 MΩ input",
                figure,
            )
    if kind == "type-c":
        yield BenchReading(
            "5.1 kΩ from CC1 to minus in place of the phone: probes across it",
            "DC volts, 2 V or 20 V range",
            figures[0],
        )
    for amps, volts in plug.items():
        if amps > 0.0:
            ohms_needed = format_quantity(_NOMINAL / amps, "resistance", digits=2)
            watts = format_quantity(_NOMINAL * amps, "power", digits=2)
            yield BenchReading(
                f"Load of {ohms_needed} ({watts}) in the socket, through a cut-off plug with short "
                "leads; probes at the plug",
                "DC volts, 20 V range",
                expected(f"plug at {format_quantity(amps, 'current')}", volts, "voltage"),
                caution=f"The resistor turns {watts} to heat: rate it for twice that, keep fingers "
                "and plastic off.",
            )


def usb_remarks(
    kind: UsbKind,
    current: float,
    rail: Rail,
    plug: dict[float, Floats],
    figures: tuple[Expected, ...],
) -> Iterator[Remark]:
    """What to mind, and what to do about it."""
    least, most = _PLUG
    told, given = format_quantity(current, "current"), format_quantity(rail.most, "current")
    if rail.most < current:
        fits = [(a, k) for k, levels in TELLS.items() for a in levels if a <= rail.most]
        near = max(fits, default=None)
        yield Remark(
            "stop",
            f"It tells the phone {told}, and the rail gives {given}.",
            f"Tell {format_quantity(near[0], 'current')} (kind {near[1]}), or take a stronger "
            "converter."
            if near
            else "Leave the data pins open, or take a stronger converter.",
        )
    if float(np.max(plug[0.0])) > most:
        high = format_quantity(float(np.max(plug[0.0])), "voltage")
        yield Remark(
            "stop" if float(plug[0.0][0]) > most else "mind",
            f"Without load the plug may stand at {high}, above {most} V.",
            f"Set the rail to {most / (rail.voltage[2] / rail.voltage[0]):.2f} V or less.",
        )
    worst = float(np.min(plug[current]))
    if worst < least:
        yield Remark(
            "stop" if float(plug[current][0]) < least else "mind",
            f"At {told} the plug may fall to {format_quantity(worst, 'voltage')}, below {least} V: "
            "the phone then draws less or stops.",
            _thicker(current, rail),
        )
    if float(ampacity(rail.area, bundled=True)) < current:
        yield Remark(
            "mind",
            f"{format_quantity(rail.area, 'area')} is thin for {told} in a closed box.",
            "Take the next thicker wire.",
        )
    yield from _kind_remarks(kind, current, figures)


def _thicker(current: float, rail: Rail) -> str:
    """What brings the plug back up: thicker wire if that can do it, else a higher rail."""
    left = (rail.voltage[1] - _PLUG[0]) / current - rail.resistance[2]
    copper = left / (rail.lead[2] / rail.lead[0]) - rail.contacts
    for area in (0.5e-6, 0.75e-6, 1.0e-6, 1.5e-6, 2.5e-6):
        if area > rail.area and 2.0 * float(wire_resistance(area, rail.length)) <= copper:
            return f"Take {format_quantity(area, 'area')} for the lead, or a shorter one."
    spread = rail.voltage[2] / rail.voltage[0]
    return (
        f"Set the rail up to {_PLUG[1] / spread:.2f} V, shorten the lead and use better contacts; "
        "no usual wire is enough by itself."
    )


def _kind_remarks(kind: UsbKind, current: float, figures: tuple[Expected, ...]) -> Iterator[Remark]:
    if kind == "joined":
        yield Remark(
            "fine",
            f"The phone sees at least {format_quantity(figures[0].low, 'voltage')} on D- of the "
            f"{_DETECT_LEVEL:g} V that it asks for, and may draw up to 1.5 A.",
        )
    elif kind == "divider":
        yield Remark(
            "mind",
            "The dividers are custom of some older phones and no standard; others draw 0.5 A or "
            "nothing.",
            "Join the data lines if the phone is of later make.",
        )
    else:
        low, high = _WINDOWS[current]
        lowest = min(figures[0].low, figures[2].low)
        highest = max(figures[0].high, figures[2].high)
        fits = low <= lowest and highest <= high
        yield Remark(
            "fine" if fits else "stop",
            f"CC1 stays at {format_quantity(lowest, 'voltage')} to "
            f"{format_quantity(highest, 'voltage')}; the phone reads "
            f"{format_quantity(current, 'current')} from {low} V to {high} V.",
            "" if fits else "Use 1 % resistors and a rail within 4.75 V to 5.25 V.",
        )
        yield Remark(
            "mind",
            "Pull-ups alone leave 5 V on the socket all the time; the specification wants it off "
            "until something is plugged in.",
            "Never join it to another source by a C-to-C lead; a port chip does it properly.",
        )
