"""Mute delays against the thump at switch-on, as netlists.

A resistor charges a capacitor; when a divider on it opens a transistor, the sound is let through. A
diode from the capacitor to the rail empties it as soon as the rail falls.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.parts import (
    Bipolar,
    Capacitor,
    Diode,
    Part,
    Relay,
    Resistor,
    Switch,
    VoltageSource,
)
from boomwright.circuit.values import Value

__all__ = ["MUTE_KINDS", "MuteKind", "MuteValues", "mute_netlist"]

MuteKind: TypeAlias = Literal["mute-low", "mute-high", "relay"]
"""What is held: a pin that mutes when low, a pin that mutes when high, or the speaker lead."""

MUTE_KINDS: dict[MuteKind, str] = {
    "mute-low": "Mute delay that holds a pin low",
    "mute-high": "Mute delay for a pin that mutes when high",
    "relay": "Mute delay with a relay in the speaker lead",
}
"""Every kind with its title."""


@dataclass(frozen=True, kw_only=True)
class MuteValues:
    """Values of a mute delay; what its kind does not use stays None.

    Devices are given as parts whose nodes are empty: the circuit wires them.

    Parameters
    ----------
    charge_resistor, capacitor : float or array
        They make the delay [Ω, F].
    divider_top, divider_bottom : float or array
        From the capacitor to the first transistor's base, and from there to ground [Ω].
    transistor : Bipolar
        The first transistor, NPN.
    second : Bipolar or None
        The one that holds the pin (NPN), or drives the coil (PNP).
    discharge : Diode
        Empties the capacitor into the falling rail.
    drive_resistor : float, array or None
        From the rail to the second transistor's base, or to the first's collector [Ω].
    keeper_resistor : float, array or None
        From the rail to the base of the one that drives the coil, against leakage [Ω].
    relay, flyback : part or None
        In the speaker lead, and across its coil.
    pin_voltage : float or array
        What the mute pin's pull-up goes to [V].
    pull_up : float or array
        The pull-up [Ω].
    speaker_resistance : float or array
        The loudspeaker [Ω].
    rail_capacitor : float or array
        What stands on the amplifier's rail [F].
    rail_load : float or array
        What empties it when the switch opens [Ω].
    """

    charge_resistor: Value
    capacitor: Value
    divider_top: Value
    divider_bottom: Value
    transistor: Bipolar
    discharge: Diode
    second: Bipolar | None = None
    drive_resistor: Value | None = None
    keeper_resistor: Value | None = None
    relay: Relay | None = None
    flyback: Diode | None = None
    pin_voltage: Value = 5.0
    pull_up: Value = 10e3
    speaker_resistance: Value = 4.0
    rail_capacitor: Value = 1e-3
    rail_load: Value = 120.0


def mute_netlist(
    kind: MuteKind,
    values: MuteValues,
    *,
    voltage: Value = 12.0,
    schedule: tuple[tuple[float, bool], ...] = (),
) -> Netlist:
    """Netlist of a mute delay with its battery, switch and what it mutes.

    Parameters
    ----------
    kind : str
        A key of :data:`MUTE_KINDS`.
    values : MuteValues
        Values of its parts.
    voltage : float or array
        Battery voltage [V].
    schedule : tuple
        (time [s], closed) of the main switch; it stands closed if there is none, and open at the
        start if there is one.

    Returns
    -------
    Netlist
        Battery ``BT1``, switch ``S1``, rail ``rail``; the capacitor stands at ``delay`` and the
        mute pin at ``pin``, or the relay ``K1`` joins ``amp`` and ``speaker``.

    Raises
    ------
    ValueError
        If the kind is unknown or lacks a part it needs.
    NetlistError
        If a value is out of range.

    Examples
    --------
    >>> from boomwright.circuit.operating import operating_point
    >>> values = MuteValues(
    ...     charge_resistor=10e3, capacitor=100e-6, divider_top=82e3, divider_bottom=10e3,
    ...     transistor=Bipolar(name="Q1", collector="", base="", emitter=""),
    ...     discharge=Diode(name="D1", anode="", cathode=""),
    ... )
    >>> play = operating_point(mute_netlist("mute-high", values))
    >>> round(float(play.voltage("pin")[0]), 1)
    0.0
    """
    if kind not in MUTE_KINDS:
        raise ValueError(f"kind of mute: got {kind!r}, must be one of {', '.join(MUTE_KINDS)}")
    parts: list[Part] = [
        VoltageSource(name="BT1", a="batt", b=GROUND, voltage=voltage),
        Switch(
            name="S1", a="batt", b="rail", closed=not schedule, on_resistance=0.1, schedule=schedule
        ),
        Capacitor(name="C2", a="rail", b=GROUND, capacitance=values.rail_capacitor, polarised=True),
        Resistor(name="RL", a="rail", b=GROUND, resistance=values.rail_load),
        Resistor(name="R1", a="rail", b="delay", resistance=values.charge_resistor),
        Capacitor(name="C1", a="delay", b=GROUND, capacitance=values.capacitor, polarised=True),
        replace(values.discharge, name="D1", anode="delay", cathode="rail"),
        Resistor(name="R2", a="delay", b="base", resistance=values.divider_top),
        Resistor(name="R3", a="base", b=GROUND, resistance=values.divider_bottom),
    ]
    if kind == "relay":
        return Netlist(MUTE_KINDS[kind], (*parts, *_relay(values, voltage)))
    return Netlist(MUTE_KINDS[kind], (*parts, *(_low if kind == "mute-low" else _high)(values)))


def _first(values: MuteValues, collector: str) -> Bipolar:
    return replace(values.transistor, name="Q1", collector=collector, base="base", emitter=GROUND)


def _pin(values: MuteValues) -> list[Part]:
    return [
        VoltageSource(name="V2", a="logic", b=GROUND, voltage=values.pin_voltage),
        Resistor(name="R5", a="logic", b="pin", resistance=values.pull_up),
    ]


def _high(values: MuteValues) -> list[Part]:
    return [_first(values, "pin"), *_pin(values)]


def _low(values: MuteValues) -> list[Part]:
    if values.second is None or values.drive_resistor is None:
        raise ValueError("a mute of the kind mute-low lacks second or drive_resistor")
    return [
        _first(values, "hold"),
        Resistor(name="R4", a="rail", b="hold", resistance=values.drive_resistor),
        replace(values.second, name="Q2", collector="pin", base="hold", emitter=GROUND),
        *_pin(values),
    ]


def _relay(values: MuteValues, voltage: Value) -> list[Part]:
    missing = [
        name
        for name in ("second", "drive_resistor", "keeper_resistor", "relay", "flyback")
        if getattr(values, name) is None
    ]
    if values.second is None or values.drive_resistor is None or values.keeper_resistor is None:
        raise ValueError(f"a mute of the kind relay lacks {', '.join(missing)}")
    if values.relay is None or values.flyback is None:
        raise ValueError(f"a mute of the kind relay lacks {', '.join(missing)}")
    return [
        _first(values, "pull"),
        Resistor(name="R4", a="pull", b="drive", resistance=values.drive_resistor),
        Resistor(name="R5", a="rail", b="drive", resistance=values.keeper_resistor),
        replace(values.second, name="Q2", collector="coil", base="drive", emitter="rail"),
        replace(values.flyback, name="D2", anode=GROUND, cathode="coil"),
        replace(
            values.relay,
            name="K1",
            coil_a="coil",
            coil_b=GROUND,
            common="amp",
            made="speaker",
            broken="",
        ),
        VoltageSource(name="V3", a="amp", b="amp-", voltage=0.0),
        # The board's other speaker terminal: never joined to ground or to another channel's.
        VoltageSource(name="V4", a="amp-", b=GROUND, voltage=0.5 * voltage),
        Resistor(name="LS1", a="speaker", b="amp-", resistance=values.speaker_resistance),
    ]
