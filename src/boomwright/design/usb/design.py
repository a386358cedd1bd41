"""What a charging socket must tell a phone, and what its rail and leads must stand for it."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from boomwright.build.quantities import format_quantity
from boomwright.circuit.blocks.usb import USB_KINDS, UsbKind, UsbValues, usb_netlist
from boomwright.circuit.operating import OperatingPoint, operating_point
from boomwright.circuit.parts import Resistor
from boomwright.circuit.readings import part_readings
from boomwright.circuit.values import Floats
from boomwright.design.line.level import e24_between, limits_around
from boomwright.design.lines import resistor_line
from boomwright.design.sheet import Design, Expected
from boomwright.design.spread import Limits, corners, expected
from boomwright.design.usb.sheet import TELLS, Rail, other_parts, usb_readings, usb_remarks
from boomwright.errors import InputError, Problem
from boomwright.physics.wire import wire_resistance

__all__ = ["design_usb"]


_SOLDERED: dict[UsbKind, tuple[str, ...]] = {
    "joined": (),
    "divider": ("R1", "R2", "R3", "R4"),
    "type-c": ("R1", "R2"),
}

_PINS = {"vbus": "5 V", "dp": "D+", "dm": "D-", "cc1": "CC1", "cc2": "CC2", "0": "minus"}

_PULL_UPS = {0.5: 56e3, 1.5: 22e3, 3.0: 10e3}

_HIGH_DATA, _LOW_DATA = 2.7, 2.0
_MOST_LINK = 200.0
_DETECT_VOLTS: Limits = (0.6, 0.5, 0.7)
_DETECT_AMPS: Limits = (100e-6, 25e-6, 175e-6)
"""What the phone puts on D+ and takes from D- while it looks, from memory of the charging
specification [V], [A]."""

_NOMINAL = 5.0
_LOADS = (0.5, 1.0, 1.5)
_BRIDGE = 0.1
_FUSE_SHARE = 1.25


def design_usb(
    *,
    kind: UsbKind = "joined",
    current: float = 1.5,
    rail_voltage: float = 5.1,
    rail_tolerance: float = 0.02,
    rail_current: float = 2.0,
    rail_resistance: float = 0.03,
    lead_area: float = 0.75e-6,
    lead_length: float = 0.3,
    contact_resistance: float = 0.04,
    link_resistance: float = _BRIDGE,
    tolerance: float = 0.01,
) -> Design:
    """Terminations of a charging socket, with the volts at its plug under load.

    All volts are solved at every corner of the tolerances.

    Parameters
    ----------
    kind : str
        ``joined`` data lines, ``divider`` for older phones, or ``type-c``.
    current : float
        What the socket shall tell the phone that it may draw [A].
    rail_voltage, rail_tolerance : float
        The 5 V rail without load [V], and how exact it is as a share [1].
    rail_current : float
        What the rail can give for ever [A].
    rail_resistance : float
        How far it sags under load, as a resistance [Ω].
    lead_area, lead_length : float
        Copper of the lead from rail to socket [m²], its length one way [m].
    contact_resistance : float
        Fuse and contacts, both ways together [Ω].
    link_resistance : float
        Between joined data lines [Ω].
    tolerance : float
        Of the resistors, as a share [1].

    Returns
    -------
    Design
        Block ``usb``, family as the kind.

    Raises
    ------
    InputError
        With every value that cannot be used, and the nearest that can.

    Examples
    --------
    >>> design = design_usb(kind="type-c", current=3.0, rail_current=3.0)
    >>> design.parts[0].value, design.figure("CC1 with the phone on it, no load").shown
    ('10 kΩ', '1.72 V (1.56 V to 1.88 V)')
    """
    sizes = {
        "rail_voltage": (rail_voltage, "voltage"),
        "rail_current": (rail_current, "current"),
        "rail_resistance": (rail_resistance, "resistance"),
        "lead_area": (lead_area, "area"),
        "lead_length": (lead_length, "length"),
        "contact_resistance": (contact_resistance, "resistance"),
        "link_resistance": (link_resistance, "resistance"),
    }
    problems = [*_bad_kind(kind, current), *_bad_sizes(sizes, (rail_tolerance, tolerance))]
    if link_resistance > _MOST_LINK:
        problems.append(
            Problem(
                "resistance between joined data lines",
                got=format_quantity(link_resistance, "resistance"),
                expected=f"at most {format_quantity(_MOST_LINK, 'resistance')}",
                key="link_resistance",
                hint="The nearest is 200 Ω; a bridge of wire is simpler and surer.",
            )
        )
    if problems:
        raise InputError(problems)
    lead = 2.0 * float(wire_resistance(lead_area, lead_length)) + contact_resistance
    rail = Rail(
        limits_around(rail_voltage, rail_tolerance),
        limits_around(rail_resistance, 0.5),
        limits_around(lead, 0.2),
        rail_current,
        lead_area,
        lead_length,
        contact_resistance,
    )
    values = _values(kind, current, rail, link_resistance)
    # A load that the rail cannot carry would only show where it folds.
    loads = (0.0, *sorted({current, *(amps for amps in _LOADS if amps <= rail_current)}))
    plug = {amps: _solved(kind, values, rail, tolerance, amps).voltage("vbus") for amps in loads}
    figures = (
        *_pins(kind, values, rail, tolerance, current),
        *(
            expected(f"plug at {format_quantity(amps, 'current')}", volts, "voltage")
            for amps, volts in plug.items()
        ),
        *_demands(current, rail, plug[current]),
    )
    full = part_readings(operating_point(usb_netlist(kind, replace(values, load_current=current))))
    return Design(
        block="usb",
        family=kind,
        title=USB_KINDS[kind][0],
        netlist=usb_netlist(kind, values),
        figures=figures,
        parts=(
            *(
                resistor_line(
                    part.name,
                    float(np.max(part.resistance)),
                    # A plug goes in either way round, so that each pull-up takes its turn.
                    watts=float(full["R1" if kind == "type-c" else part.name].watts[0]),
                    tolerance=tolerance,
                    note=f"{_PINS[part.a]} to {_PINS[part.b]}",
                )
                for part in usb_netlist(kind, values).parts
                if isinstance(part, Resistor) and part.name in _SOLDERED[kind]
            ),
            *other_parts(kind, link_resistance, current, rail),
        ),
        readings=tuple(usb_readings(kind, figures, plug, link_resistance, tolerance)),
        remarks=tuple(
            sorted(
                usb_remarks(kind, current, rail, plug, figures),
                key=lambda remark: ("stop", "mind", "fine").index(remark.level),
            )
        ),
        cautions=(
            "Set and check the rail before a phone is connected: above 5.25 V it can be ruined.",
            "Fuse the feed of the rail; keep the socket behind the battery's cutoff.",
        ),
    )


def _bad_kind(kind: str, current: float) -> Iterator[Problem]:
    if kind not in TELLS:
        near = difflib.get_close_matches(str(kind), TELLS, n=1, cutoff=0.4)
        yield Problem(
            "unknown kind of socket",
            got=repr(kind),
            expected=f"one of {', '.join(TELLS)}",
            key="kind",
            hint=f"Did you mean {near[0]!r}?" if near else "",
        )
        return
    told = TELLS[kind]
    if current not in told:
        usable = current if math.isfinite(current) else 0.0
        nearest = min(told, key=lambda amps: abs(amps - usable))
        others = [other for other, levels in TELLS.items() if current in levels]
        also = f" {' or '.join(others)} can tell it." if others else ""
        yield Problem(
            f"a current that a socket of kind {kind} cannot tell of",
            got=format_quantity(current, "current"),
            expected=" or ".join(format_quantity(amps, "current") for amps in told),
            key="current",
            hint=f"The nearest is {format_quantity(nearest, 'current')}.{also}",
        )


def _bad_sizes(
    sizes: dict[str, tuple[float, str]], tolerances: tuple[float, ...]
) -> Iterator[Problem]:
    for key, (value, unit) in sizes.items():
        if not (math.isfinite(value) and value > 0.0):
            got = format_quantity(value, unit)
            yield Problem("a value that must be above zero", got=got, expected="above 0", key=key)
    low, high = 4.5, 5.5
    volts = sizes["rail_voltage"][0]
    if volts > 0.0 and not low <= volts <= high:
        yield Problem(
            "a rail that is none for a charging socket",
            got=format_quantity(volts, "voltage"),
            expected=f"{low} V to {high} V",
            key="rail_voltage",
            hint=f"Set it to {min(max(volts, 5.0), 5.15):g} V.",
        )
    for share in tolerances:
        if not 0.0 <= share <= 0.2:
            got = format_quantity(share, "share")
            yield Problem("a tolerance", got=got, expected="0 % to 20 %", key="tolerance")


def _divider_pair(volts: float) -> tuple[float, float]:
    """E24 pair near 50 kΩ that makes these volts of 5 V."""
    bottoms, tops = e24_between(43e3, 62e3)[:, None], e24_between(33e3, 120e3)[None, :]
    miss = np.abs(_NOMINAL * bottoms / (bottoms + tops) - volts)
    i, j = np.unravel_index(int(np.argmin(miss)), miss.shape)
    return float(tops[0, j]), float(bottoms[i, 0])


def _values(kind: UsbKind, current: float, rail: Rail, link: float) -> UsbValues:
    values = UsbValues(
        rail_voltage=rail.voltage[0],
        rail_resistance=rail.resistance[0],
        lead_resistance=rail.lead[0],
    )
    if kind == "joined":
        return replace(values, link_resistance=link)
    if kind == "type-c":
        return replace(values, pull_up=_PULL_UPS[current])
    high, low = _divider_pair(_HIGH_DATA), _divider_pair(_LOW_DATA)
    plus, minus = (low, high) if current == TELLS["divider"][0] else (high, low)
    return replace(
        values, plus_top=plus[0], plus_bottom=plus[1], minus_top=minus[0], minus_bottom=minus[1]
    )


def _solved(
    kind: UsbKind, values: UsbValues, rail: Rail, tolerance: float, load: float
) -> OperatingPoint:
    """The socket at a load, at every corner of its tolerances, the likely one first."""
    limits: dict[str, Limits] = {
        "rail_voltage": rail.voltage,
        "rail_resistance": rail.resistance,
        "lead_resistance": rail.lead,
    }
    if kind == "joined":
        limits |= {"detect_voltage": _DETECT_VOLTS, "detect_current": _DETECT_AMPS}
    if kind == "type-c":
        limits["pull_down"] = limits_around(float(np.max(values.pull_down)), 0.1)
    names = ("plus_top", "plus_bottom", "minus_top", "minus_bottom", "pull_up", "link_resistance")
    for name in names:
        value = getattr(values, name)
        if value is not None:
            limits[name] = limits_around(float(value), tolerance)
    loose: dict[str, Floats] = corners(limits)
    return operating_point(usb_netlist(kind, replace(values, load_current=load, **loose)))


def _pins(
    kind: UsbKind, values: UsbValues, rail: Rail, tolerance: float, current: float
) -> Iterator[Expected]:
    for load, when in ((0.0, "no load"), (current, f"{format_quantity(current, 'current')}")):
        point = _solved(kind, values, rail, tolerance, load)
        if kind == "type-c":
            yield expected(f"CC1 with the phone on it, {when}", point.voltage("cc1"), "voltage")
            yield expected(f"CC2 left open, {when}", point.voltage("cc2"), "voltage")
        elif kind == "divider":
            yield expected(f"D+, {when}", point.voltage("dp"), "voltage")
            yield expected(f"D-, {when}", point.voltage("dm"), "voltage")
        elif load == 0.0:
            yield expected("D- while the phone looks", point.voltage("dm"), "voltage")


def _demands(current: float, rail: Rail, plug: Floats) -> Iterator[Expected]:
    fuse = _FUSE_SHARE * current
    power = current * float(plug[0])
    lost = current**2 * rail.lead[0]
    for label, value, kind in (
        ("tells the phone it may draw", current, "current"),
        ("rail must give for ever", current, "current"),
        ("fuse at least", fuse, "current"),
        ("power at the plug", power, "power"),
        ("lost in lead and contacts", lost, "power"),
    ):
        yield Expected(label, value, value, value, kind)
