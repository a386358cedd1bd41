"""Two resistors that make one channel of two, and two that take level away."""

from __future__ import annotations

from dataclasses import dataclass

from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.parts import Capacitor, Part, Resistor, VoltageSource
from boomwright.circuit.values import Value

__all__ = ["PadValues", "SumValues", "pad_netlist", "sum_netlist"]


@dataclass(frozen=True, kw_only=True)
class SumValues:
    """Values of a two-resistor sum.

    Parameters
    ----------
    left_resistor, right_resistor : float or array
        From each channel to the sum [Ω].
    source_impedance : float or array
        Of each channel of the receiver [Ω].
    load_impedance : float or array
        Input of each amplifier channel that is fed [Ω].
    channels : int
        How many amplifier channels the sum feeds.
    coupling_capacitor : float, array or None
        Between the sum and the amplifier; left out if None [F].
    cable_capacitance : float or array
        Of the screened lead behind the sum [F].
    """

    left_resistor: Value
    right_resistor: Value
    source_impedance: Value = 100.0
    load_impedance: Value = 20e3
    channels: int = 2
    coupling_capacitor: Value | None = None
    cable_capacitance: Value = 200e-12


@dataclass(frozen=True, kw_only=True)
class PadValues:
    """Values of an input pad.

    Parameters
    ----------
    series_resistor, shunt_resistor : float or array
        From the source to the amplifier's input, and from there to ground [Ω].
    source_impedance : float or array
        Of the source [Ω].
    load_impedance : float or array
        Of the amplifier's input [Ω].
    cable_capacitance : float or array
        Of the screened lead behind the pad [F].
    """

    series_resistor: Value
    shunt_resistor: Value
    source_impedance: Value = 100.0
    load_impedance: Value = 20e3
    cable_capacitance: Value = 200e-12


def sum_netlist(values: SumValues, *, left: float = 1.0, right: float = 0.0) -> Netlist:
    """Netlist of a two-resistor sum with the receiver and the amplifier's inputs.

    Parameters
    ----------
    values : SumValues
        Values of its parts.
    left, right : float
        Amplitude of each channel in an AC response, and its volts at rest [V].

    Returns
    -------
    Netlist
        Receiver's outputs at ``left`` and ``right``, the sum at ``sum``, the amplifier's inputs at
        ``in``, which is the sum itself where there is no coupling capacitor.

    Raises
    ------
    ValueError
        If no channel is fed.
    NetlistError
        If a value is out of range.

    Examples
    --------
    Two times 1 kΩ into 20 kΩ, both channels alike: 20/20.5 of the level arrives.

    >>> from boomwright.circuit.operating import operating_point
    >>> values = SumValues(
    ...     left_resistor=1e3, right_resistor=1e3, source_impedance=1e-3, channels=1
    ... )
    >>> net = sum_netlist(values, left=1.0, right=1.0)
    >>> round(float(operating_point(net).voltage("in")[0]), 4)
    0.9756
    """
    if values.channels < 1:
        raise ValueError(f"channels fed: got {values.channels}, must be at least 1")
    middle = "in" if values.coupling_capacitor is None else "sum"
    source, load = values.source_impedance, values.load_impedance
    parts: list[Part] = [
        VoltageSource(name="V1", a="emf_left", b=GROUND, voltage=left, ac=left),
        Resistor(name="RV1", a="emf_left", b="left", resistance=source),
        VoltageSource(name="V2", a="emf_right", b=GROUND, voltage=right, ac=right),
        Resistor(name="RV2", a="emf_right", b="right", resistance=source),
        Resistor(name="R1", a="left", b=middle, resistance=values.left_resistor),
        Resistor(name="R2", a="right", b=middle, resistance=values.right_resistor),
    ]
    if values.coupling_capacitor is not None:
        parts.append(Capacitor(name="C1", a="sum", b="in", capacitance=values.coupling_capacitor))
    parts.append(Capacitor(name="CW1", a="in", b=GROUND, capacitance=values.cable_capacitance))
    parts += [
        Resistor(name=f"RL{channel + 1}", a="in", b=GROUND, resistance=load)
        for channel in range(values.channels)
    ]
    return Netlist("Stereo to mono sum", tuple(parts))


def pad_netlist(values: PadValues, *, level: float = 1.0) -> Netlist:
    """Netlist of an input pad, one channel, with its source and the amplifier's input.

    Parameters
    ----------
    values : PadValues
        Values of its parts.
    level : float
        Amplitude of the source in an AC response, and its volts at rest [V].

    Returns
    -------
    Netlist
        Source's output at ``source``, the amplifier's input at ``in``.

    Raises
    ------
    NetlistError
        If a value is out of range.

    Examples
    --------
    >>> from boomwright.circuit.operating import operating_point
    >>> values = PadValues(
    ...     series_resistor=9e3, shunt_resistor=1e3, source_impedance=1e-3, load_impedance=1e9
    ... )
    >>> round(float(operating_point(pad_netlist(values)).voltage("in")[0]), 4)
    0.1
    """
    return Netlist(
        "Input pad",
        (
            VoltageSource(name="V1", a="emf", b=GROUND, voltage=level, ac=level),
            Resistor(name="RV1", a="emf", b="source", resistance=values.source_impedance),
            Resistor(name="R1", a="source", b="in", resistance=values.series_resistor),
            Resistor(name="R2", a="in", b=GROUND, resistance=values.shunt_resistor),
            Capacitor(name="CW1", a="in", b=GROUND, capacitance=values.cable_capacitance),
            Resistor(name="RL1", a="in", b=GROUND, resistance=values.load_impedance),
        ),
    )
