"""The charging port: volts at the plug, what it promises, what it costs in hours."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.build.power import Rail
from boomwright.build.quantities import format_quantity as shown
from boomwright.build.soldered_usb import what_it_tells

__all__: list[str] = []

_PLUG_LOW, _PLUG_HIGH = 4.75, 5.25
_PLUG_REFUSES = 4.4
_OPEN_AMPS = 0.5
_SHORTED_AMPS = 1.5
_HOURS_SHARE = 0.35


@rule(
    "usb-voltage",
    "safe",
    title="Volts at the USB plug",
    source="USB 2.0: 4.75 V to 5.25 V at the port, 4.4 V at the far end of a lead",
)
def usb_voltage(case: Case) -> Iterator[Says]:
    """Volts at the plug with a phone on charge."""
    for port in case.build.usb:
        part = case.outcome.scenario("wanted+phone").part(port.name)
        volts, amps = part.volts_in, part.amps.likely
        rail = next((n.part for n in case.upstream(port.name) if isinstance(n.part, Rail)), None)
        idle = rail.voltage.likely if rail else case.outcome.source.volts_full.likely
        figures = (
            Figure("volts at the plug", volts.likely, "voltage"),
            Figure("current", amps, "current"),
        )
        if max(volts.likely, idle) > _PLUG_HIGH:
            high = max(volts.likely, idle)
            yield Says(
                "stop",
                port.name,
                f"The plug carries {shown(high, 'voltage')}; a phone is made for "
                f"{shown(_PLUG_HIGH, 'voltage')} at most.",
                "Too many volts ruin a phone, and a damaged lithium cell can burn.",
                "Feed the port from a 5 V step-down board, set to 5.1 V with a meter before "
                "anything is plugged in.",
                numbers=(Figure("volts at the plug", high, "voltage"), *figures[1:]),
                fix=(
                    Fix("set it to 5.1 V", (Change(rail.name, "voltage", "5.1 V"),))
                    if rail is not None and not rail.part.startswith("regulator")
                    else None
                ),
            )
        elif (volts.likely < _PLUG_LOW or volts.low < _PLUG_REFUSES) and case.outcome.settled:
            source = case.loudest(rail.name).volts_out.likely if rail else volts.likely
            worst = volts.likely if volts.likely < _PLUG_LOW else volts.low
            yield Says(
                "stop" if volts.likely < _PLUG_REFUSES else "mind",
                port.name,
                f"At {shown(amps, 'current', digits=2)} the plug has {shown(worst, 'voltage')} "
                f"left; phones want {shown(_PLUG_LOW, 'voltage')} or more.",
                "Below that a phone draws less and less, or refuses to charge.",
                "Feed the port through 0.75 mm², no longer than 0.2 m, and set its converter to "
                "5.1 V.",
                numbers=figures,
                fix=(
                    Fix(
                        "a short, thick lead to the port",
                        (Change(port.name, "lead", "0.75 mm², 0.2 m"),),
                    )
                    if source > _PLUG_LOW + 0.1
                    else None
                ),
            )


@rule(
    "usb-data-pins",
    "safe",
    title="Data pins of the USB port",
    source="USB battery charging specification 1.2, from memory",
)
def usb_data_pins(case: Case) -> Iterator[Says]:
    """Ports whose data pins are left open."""
    for port in case.build.usb:
        # What a soldered circuit tells is another rule's.
        if port.data_pins != "open" or port.circuit is not None:
            continue
        yield Says(
            "mind",
            port.name,
            "The data pins are open: from such a port a phone takes "
            f"{shown(_OPEN_AMPS, 'current')} at most, often nothing, and "
            f"{shown(port.current.likely, 'current')} is counted on.",
            "With nothing on those pins the phone cannot know what it may draw.",
            "Join D+ and D- at the socket: that tells a phone it may draw up to "
            f"{shown(_SHORTED_AMPS, 'current')}.",
            numbers=(
                Figure("taken with open pins, at most", _OPEN_AMPS, "current"),
                Figure("counted on", port.current.likely, "current"),
            ),
            fix=Fix("join the data pins", (Change(port.name, "data_pins", "shorted"),)),
        )


@rule(
    "usb-current-promise",
    "safe",
    title="Current the USB port promises",
    source="USB battery charging specification 1.2, from memory: joined pins mean up to 1.5 A",
)
def usb_current_promise(case: Case) -> Iterator[Says]:
    """More current counted on than joined data pins offer."""
    for port in case.build.usb:
        if port.data_pins != "shorted" or port.current.likely <= _SHORTED_AMPS:
            continue
        yield Says(
            "mind",
            port.name,
            f"{shown(port.current.likely, 'current')} is counted on, but joined data pins offer "
            f"{shown(_SHORTED_AMPS, 'current')} at most.",
            "A phone that keeps to the rules stops there, and a port that promises more than its "
            "converter gives trips.",
            f"Count on {shown(1.0, 'current')}, or fit a port chip that offers more.",
            numbers=(
                Figure("counted on", port.current.likely, "current"),
                Figure("offered at most", _SHORTED_AMPS, "current"),
            ),
            fix=Fix("count on less", (Change(port.name, "current", "1 A [0.8 to 1.5]"),)),
        )


@rule(
    "usb-not-understood",
    "safe",
    title="Resistors at the USB socket that no phone understands",
    source="USB battery charging 1.2 and Type-C, and what older phones look for, from memory",
)
def usb_not_understood(case: Case) -> Iterator[Says]:
    """A soldered termination that matches nothing a phone looks for."""
    for port in case.build.usb:
        if port.circuit is None:
            continue
        told = what_it_tells(port.circuit)
        if told.current > 0.0:
            continue
        yield Says(
            "mind",
            port.name,
            f"{told.shows[:1].upper()}{told.shows[1:]}: no phone looks for that, and it takes "
            f"{shown(_OPEN_AMPS, 'current')} at most, often nothing.",
            "A phone draws more only where the socket tells it that it may.",
            f"{told.wanted[:1].upper()}{told.wanted[1:]}.",
            numbers=(Figure("taken, at most", _OPEN_AMPS, "current"),),
        )


@rule(
    "usb-promises-too-much",
    "safe",
    title="Current the USB socket tells of, against its rail",
    source="the converter's label, and what a bare board stands for ever",
)
def usb_promises_too_much(case: Case) -> Iterator[Says]:
    """What soldered terminations allow phones to draw against what their rail gives."""
    for rail in case.build.rail:
        place = case.place(rail.name)
        fed = [node.part for node in case.tree if node.parent == place]
        ports = [port for port in case.build.usb if port.circuit is not None and port in fed]
        told = sum(what_it_tells(port.circuit).current for port in ports if port.circuit)
        others = sum(case.loudest(part.name).amps.likely for part in fed if part not in ports)
        bare = rail.bare_limit if rail.sink is None else None
        gives = (bare or rail.current_limit).likely
        if told == 0.0 or told + others <= gives:
            continue
        beside = f", and {shown(others, 'current', digits=2)} goes elsewhere" if others else ""
        yield Says(
            "mind",
            ports[0].name,
            f"The socket tells a phone that it may draw {shown(told, 'current')}{beside}; "
            f"its rail gives {shown(gives, 'current')} for hours.",
            "A phone that takes it at its word overloads the converter, which trips or runs hot, "
            "and the music on the same rail stops too.",
            f"Use a converter for {shown(1.2 * (told + others), 'current', digits=2)} or more, or "
            "solder resistors that tell of less.",
            numbers=(
                Figure("told to the phone", told, "current"),
                Figure("drawn by others on the rail", others, "current"),
                Figure("the rail gives for hours", gives, "current"),
            ),
        )


@rule(
    "usb-eats-hours",
    "long",
    title="Hours that a phone on charge takes",
    source="the coupled run with and without a phone",
)
def usb_eats_hours(case: Case) -> Iterator[Says]:
    """Hours with a phone on charge against the hours wanted."""
    if not case.build.usb:
        return
    want = case.build.want
    plain = case.outcome.wanted.duration
    phone = case.outcome.scenario("wanted+phone").duration
    if not 0 < phone.likely < plain.likely < float("inf"):
        return
    lost = 1 - phone.likely / plain.likely
    asked = want.hours.likely
    counted = phone.low if want.phone else phone.likely
    if counted >= asked or lost <= (0.05 if want.phone else _HOURS_SHARE):
        return
    port = case.build.usb[0]
    full = port.phone_energy.likely
    yield Says(
        "mind",
        port.name,
        f"A phone on charge cuts the run from {shown(plain.likely, 'time', digits=2)} to "
        f"{shown(phone.likely, 'time', digits=2)}; {shown(asked, 'time', digits=2)} are wanted.",
        f"A charging phone draws as much as the music: one full charge is "
        f"{shown(full, 'energy')}, and more than that leaves the battery.",
        "Switch the port by itself and charge one phone for an hour or two, or take a battery "
        f"{np.ceil(10 * asked / counted) / 10:.1f} times as large.",
        numbers=(
            Figure("hours without a phone", plain.likely, "time"),
            Figure("hours with a phone", phone.likely, "time"),
            Figure("share of the run lost", lost, "share"),
        ),
    )


@rule(
    "usb-not-behind-cutoff",
    "long",
    title="USB port that bypasses the low-voltage cutoff",
    source="common practice, no source",
)
def usb_not_behind_cutoff(case: Case) -> Iterator[Says]:
    """Ports that can empty the battery behind the cutoff's back."""
    battery = case.build.battery
    if battery is None:
        return
    for port in case.build.usb:
        if case.has_upstream(port.name, "cutoff"):
            continue
        guarded = battery.protection_voltage is not None
        floor = case.outcome.source.volts_floor
        hours = battery.capacity.likely * battery.strings / port.current.likely
        cutoff = case.build.cutoff[0].name if case.build.cutoff else ""
        feed = case.upstream(port.name)
        # Only a port that hangs on nothing but fuses and switches can be moved by itself.
        movable = cutoff and not any(node.kind == "rail" for node in feed)
        rail = next((n.part.name for n in feed if n.kind == "rail"), "")
        moved = port.name if movable else rail if cutoff else ""
        amps = shown(port.current.likely, "current")
        yield Says(
            "mind" if guarded else "stop",
            port.name,
            f"No cutoff stands ahead of the port: a phone at {amps} can draw the battery below "
            f"{shown(floor, 'voltage')}"
            + (", where its protection board must save it." if guarded else "."),
            "A forgotten phone empties the battery for good, and protection boards are a last "
            "resort, not a switch.",
            f"Feed it from behind the cutoff {cutoff!r}."
            if cutoff
            else "Add a low-voltage cutoff and feed the port from behind it.",
            numbers=(
                Figure("floor of the battery", floor, "voltage"),
                Figure("time in which the port's current empties it", hours, "time"),
            ),
            fix=(
                Fix("feed it from behind the cutoff", (Change(moved, "fed_by", cutoff),))
                if moved
                else None
            ),
        )
