"""``boomwright design`` for what hangs on the line and on a rail: sum, pad, USB."""

from __future__ import annotations

from typing import get_args

import numpy as np

from boomwright.build.quantities import format_quantity
from boomwright.circuit.blocks.usb import UsbKind
from boomwright.cli.asked import Asked
from boomwright.cli.design import words
from boomwright.cli.design.curves import response_csv
from boomwright.cli.design.given import Given, amplifier_of, chosen_part
from boomwright.cli.design.page import Page
from boomwright.design.line.pad import design_pad
from boomwright.design.line.summing import design_sum
from boomwright.design.usb.design import design_usb
from boomwright.design.usb.sheet import TELLS

__all__ = ["pad_page", "sum_page", "usb_page"]


def _shown(value: float, kind: str, digits: int = 3) -> str:
    return format_quantity(value, kind, digits=digits)


_SUM = {
    "source_impedance": "--source-impedance",
    "load_impedance": "--input",
    "channels": "--channels",
    "level": "--level",
    "gain_db": "--gain",
    "least_load": "--least-load",
    "lowest_frequency": "--lowest-note",
    "cable_capacitance": "--lead-capacitance",
    "tolerance": "--tolerance",
}


def sum_page(asked: Asked, given: Given | None, *, channels: int | None, coupling: bool) -> Page:
    """Stereo made mono as it was asked for.

    Parameters
    ----------
    asked : Asked
        The options.
    given : Given or None
        The build.
    channels : int or None
        Amplifier channels; the build's, or two, if None.
    coupling : bool
        With a capacitor behind the sum.

    Returns
    -------
    Page

    Raises
    ------
    InputError
        With everything that cannot be.
    """
    amplifier = amplifier_of(asked, given)
    receiver = chosen_part(asked, "--receiver", given.build.receiver if given else ())
    level = asked.number_or("--level", "voltage", receiver.output.likely if receiver else 0.5)
    gain = asked.number_or("--gain", "decibel", amplifier.gain.likely if amplifier else 26.0)
    count = channels if channels is not None else amplifier.channels if amplifier else 2
    source = asked.number_or("--source-impedance", "resistance", 100.0)
    load = asked.number_or("--input", "resistance", 20e3)
    least = asked.number_or("--least-load", "resistance", 600.0)
    lowest = asked.number_or("--lowest-note", "frequency", 20.0)
    lead = asked.number_or("--lead-capacitance", "capacitance", 200e-12)
    tolerance = asked.number_or("--tolerance", "share", 0.01)
    if not 1 <= count <= 8:
        asked.wrong("--channels", f"amplifier channels on the sum: {count}", hint="1 to 8 can be.")
    asked.settle()
    with asked.naming(_SUM):
        design = design_sum(
            source_impedance=source,
            load_impedance=load,
            channels=count,
            level=level,
            gain_db=gain,
            least_load=least,
            lowest_frequency=lowest,
            coupling=coupling,
            cable_capacitance=lead,
            tolerance=tolerance,
        )
    return Page(
        design=design,
        drawing="sum",
        wanted=(
            f"{words.of(given)}receiver of {_shown(level, 'voltage')} behind "
            f"{_shown(source, 'resistance')}; {count} amplifier input"
            f"{'s' if count > 1 else ''} of {_shown(load, 'resistance')}, gain "
            f"{_shown(gain, 'decibel')}."
        ),
        wish={
            "level": level,
            "gain_db": gain,
            "channels": count,
            "source_impedance": source,
            "input": load,
            "least_load": least,
            "lowest_note": lowest,
            "coupling": coupling,
        },
        more=lambda: {"response.csv": response_csv(design.netlist)},
    )


_PAD = {
    "source_volts": "--level",
    "gain_db": "--gain",
    "supply_volts": "--supply",
    "clip_volts": "--clip",
    "source_impedance": "--source-impedance",
    "load_impedance": "--input",
    "least_load": "--least-load",
    "cable_capacitance": "--lead-capacitance",
    "tolerance": "--tolerance",
}


def pad_page(asked: Asked, given: Given | None) -> Page:
    """Input pad that was asked for.

    Parameters
    ----------
    asked : Asked
        The options.
    given : Given or None
        The build.

    Returns
    -------
    Page

    Raises
    ------
    InputError
        With everything that cannot be.
    """
    amplifier = amplifier_of(asked, given)
    receiver = chosen_part(asked, "--receiver", given.build.receiver if given else ())
    level, gain = asked.number("--level", "voltage"), asked.number("--gain", "decibel")
    supply, clip = asked.number("--supply", "voltage"), asked.number("--clip", "voltage")
    has_clip = asked.given("--supply") or asked.given("--clip")
    before = 0.0
    if level is None and receiver is not None:
        level = receiver.output.likely
    if amplifier is not None and given is not None:
        before = amplifier.input_pad.likely
        gain = amplifier.gain.likely if gain is None else gain
        if not has_clip:
            # The outcome's is ahead of the pad that the file has; a new one takes its place.
            limit = next(
                item.clip_input.likely
                for item in given.outcome.amplifiers
                if item.name == amplifier.name
            )
            clip = limit * 10.0 ** ((amplifier.gain.likely - before - gain) / 20.0)
            has_clip = bool(np.isfinite(clip) and clip > 0.0)
    missing = [
        option
        for option, there in (
            ("--level", level is not None or asked.given("--level")),
            ("--gain", gain is not None or asked.given("--gain")),
            ("--supply or --clip", has_clip),
        )
        if not there
    ]
    if missing:
        asked.wrong(
            "",
            f"missing: {', '.join(missing)}",
            hint='Such as: boomwright design pad --level "1 V" --gain "26 dB" --supply "12 V", or '
            "a build file.",
        )
    if asked.given("--supply") and asked.given("--clip"):
        asked.wrong("--clip", "both --supply and --clip say where it clips", hint="Give one.")
    source = asked.number_or("--source-impedance", "resistance", 100.0)
    load = asked.number_or("--input", "resistance", 20e3)
    least = asked.number_or("--least-load", "resistance", 2e3)
    lead = asked.number_or("--lead-capacitance", "capacitance", 200e-12)
    tolerance = asked.number_or("--tolerance", "share", 0.01)
    asked.settle()
    if level is None or gain is None:
        raise TypeError("level and gain are settled")
    with asked.naming(_PAD):
        design = design_pad(
            source_volts=level,
            amplifier_gain_db=gain,
            supply_volts=supply,
            clip_volts=clip,
            source_impedance=source,
            load_impedance=load,
            least_load=least,
            cable_capacitance=lead,
            tolerance=tolerance,
        )
    at = (
        f"{_shown(supply, 'voltage')} at the speaker's peak"
        if supply is not None
        else f"{_shown(clip or 0.0, 'voltage')} at its input"
    )
    instead = f" In place of the {_shown(before, 'decibel')} pad that the file has." * bool(before)
    return Page(
        design=design,
        drawing="pad",
        wanted=(
            f"{words.of(given)}receiver of {_shown(level, 'voltage')} at full volume; amplifier of "
            f"{_shown(gain, 'decibel')} that clips at {at}.{instead}"
        ),
        wish={
            "level": level,
            "gain_db": gain,
            "supply": supply,
            "clip": clip,
            "source_impedance": source,
            "input": load,
            "least_load": least,
        },
        more=lambda: {"response.csv": response_csv(design.netlist)},
    )


_USB = {
    "kind": "--kind",
    "current": "--current",
    "rail_voltage": "--rail",
    "rail_current": "--rail-current",
    "rail_resistance": "--rail-resistance",
    "lead_area": "--wire",
    "lead_length": "--length",
    "contact_resistance": "--contacts",
    "tolerance": "--tolerance",
}
_PINS = {"shorted": "joined", "divider": "divider"}


def usb_page(asked: Asked, given: Given | None) -> Page:
    """Charging socket that was asked for.

    Parameters
    ----------
    asked : Asked
        The options.
    given : Given or None
        The build.

    Returns
    -------
    Page

    Raises
    ------
    InputError
        With everything that cannot be.
    """
    port = chosen_part(asked, "--port", given.build.usb if given else ())
    if given is not None and port is None and not asked.given("--port"):
        hint = "Leave the file out, or add a [usb]."
        asked.lacks("the build has no USB port to start from", hint=hint)
    rail = given.rail_of(port) if given is not None and port is not None else None
    kinds = get_args(UsbKind)
    kind = asked.one_of("--kind", kinds, usual=_PINS.get(port.data_pins if port else "", "joined"))
    volts, most, spread = 5.1, 2.0, 0.02
    if rail is not None:
        volts, most = rail.voltage.likely, (rail.bare_limit or rail.current_limit).likely
        if rail.sink is not None:
            most = rail.current_limit.likely
        spread = (rail.voltage.high - rail.voltage.low) / (2.0 * volts)
    told = TELLS[kind]  # type: ignore[index]
    fits = [amps for amps in told if amps <= most]
    usual = max(fits) if fits else min(told)
    if rail is None:
        usual = 1.5 if 1.5 in told else min(told)
    current = asked.number_or("--current", "current", usual)
    volts = asked.number_or("--rail", "voltage", volts)
    most = asked.number_or("--rail-current", "current", most)
    sag = asked.number_or("--rail-resistance", "resistance", 0.03)
    area = asked.number_or("--wire", "area", port.lead.area.likely if port else 0.75e-6)
    length = asked.number_or("--length", "length", port.lead.length.likely if port else 0.3)
    contacts = asked.number_or("--contacts", "resistance", 0.04)
    tolerance = asked.number_or("--tolerance", "share", 0.01)
    asked.settle()
    with asked.naming(_USB):
        design = design_usb(
            kind=kind,  # type: ignore[arg-type]
            current=current,
            rail_voltage=volts,
            rail_tolerance=spread,
            rail_current=most,
            rail_resistance=sag,
            lead_area=area,
            lead_length=length,
            contact_resistance=contacts,
            tolerance=tolerance,
        )
    source = f"rail {rail.name!r} of" if rail is not None else "rail of"
    return Page(
        design=design,
        drawing=f"usb-{kind}",
        wanted=(
            f"{words.of(given)}{source} {_shown(volts, 'voltage')} that gives "
            f"{_shown(most, 'current', 2)} for ever; lead {_shown(area, 'area', 2)}, "
            f"{_shown(length, 'length', 2)}."
        ),
        wish={
            "kind": kind,
            "current": current,
            "rail": volts,
            "rail_current": most,
            "rail_resistance": sag,
            "wire": area,
            "length": length,
            "contacts": contacts,
        },
    )
