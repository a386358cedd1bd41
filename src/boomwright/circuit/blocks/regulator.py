"""A linear regulator with its fuse and capacitors, as a netlist."""

from __future__ import annotations

from dataclasses import dataclass, replace

from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.parts import (
    Capacitor,
    CurrentSource,
    Diode,
    Fuse,
    Inductor,
    Part,
    Regulator,
    Resistor,
    VoltageSource,
)
from boomwright.circuit.values import Value
from boomwright.circuit.waveforms import Waveform

__all__ = ["RegulatorValues", "regulator_netlist"]


@dataclass(frozen=True, kw_only=True)
class RegulatorValues:
    """Values of a regulator with its parts.

    Parameters
    ----------
    regulator : Regulator
        The regulator; its nodes are left empty, the circuit wires it.
    fuse_rating : float
        Input fuse [A].
    fuse_resistance : float or array
        Its cold resistance with its holder and the battery's leads [Ω].
    input_capacitor, output_capacitor : float, array or None
        The electrolytics; None leaves one out [F].
    input_bypass, output_bypass : float, array or None
        The ceramics at the regulator's legs; None leaves one out [F].
    input_diode : Diode or None
        From the fuse to the input capacitor, so that a bass beat cannot empty it.
    load_resistance : float or array
        What hangs on it at rest [Ω].
    response_inductance : float, array or None
        The rise of its output impedance with frequency, as a coil in its output lead [H]; None for
        the circuit as it is drawn.
    output_series : float, array or None
        Series resistance of the output capacitor [Ω]; None for the circuit as it is drawn.
    load_bypass : float, array or None
        Ceramic on the load's own board [F].
    """

    regulator: Regulator
    fuse_rating: float = 1.0
    fuse_resistance: Value = 0.08
    input_capacitor: Value | None = 100e-6
    output_capacitor: Value | None = 10e-6
    input_bypass: Value | None = 330e-9
    output_bypass: Value | None = 100e-9
    input_diode: Diode | None = None
    load_resistance: Value = 50.0
    response_inductance: Value | None = None
    output_series: Value | None = None
    load_bypass: Value | None = None


def regulator_netlist(
    values: RegulatorValues,
    *,
    voltage: Value = 12.0,
    sag: Waveform | None = None,
    burst: Waveform | None = None,
) -> Netlist:
    """Netlist of a linear regulator with its battery and load.

    Parameters
    ----------
    values : RegulatorValues
        Values of its parts.
    voltage : float or array
        Battery voltage [V].
    sag : Waveform or None
        What the battery's voltage does in time [V].
    burst : Waveform or None
        What the load draws on top of its resistance in time [A].

    Returns
    -------
    Netlist
        Battery ``BT1`` from ``batt`` to ground, regulator ``U1`` from ``in`` to ``out``, load
        ``RL`` from ``out`` to ground.

    Raises
    ------
    NetlistError
        If a value is out of range.

    Examples
    --------
    >>> from boomwright.circuit.operating import operating_point
    >>> chip = Regulator(name="U1", input="", output="", ground="", voltage=5.0)
    >>> point = operating_point(regulator_netlist(RegulatorValues(regulator=chip)))
    >>> round(float(point.voltage("out")[0]), 2)
    5.0
    """
    battery = VoltageSource(name="BT1", a="batt", b=GROUND, voltage=voltage, waveform=sag)
    inner = "in" if values.input_diode is None else "fused"
    parts: list[Part] = [
        battery,
        Fuse(
            name="F1",
            a="batt",
            b=inner,
            resistance=values.fuse_resistance,
            rating=values.fuse_rating,
        ),
    ]
    if values.input_diode is not None:
        parts.append(replace(values.input_diode, name="D1", anode="fused", cathode="in"))
    parts += _capacitor("C1", "in", values.input_capacitor, polarised=True)
    parts += _capacitor("C3", "in", values.input_bypass)
    leg = "out" if values.response_inductance is None else "leg"
    parts.append(replace(values.regulator, name="U1", input="in", output=leg, ground=GROUND))
    if values.response_inductance is not None:
        parts.append(Inductor(name="LU1", a="leg", b="out", inductance=values.response_inductance))
    parts += _output_capacitor(values)
    parts += _capacitor("C4", "out", values.output_bypass)
    parts += _capacitor("CL", "out", values.load_bypass)
    parts.append(Resistor(name="RL", a="out", b=GROUND, resistance=values.load_resistance))
    if burst is not None:
        parts.append(CurrentSource(name="IL", a="out", b=GROUND, current=0.0, waveform=burst))
    return Netlist("Linear regulator", tuple(parts))


def _capacitor(name: str, node: str, value: Value | None, *, polarised: bool = False) -> list[Part]:
    if value is None:
        return []
    return [Capacitor(name=name, a=node, b=GROUND, capacitance=value, polarised=polarised)]


def _output_capacitor(values: RegulatorValues) -> list[Part]:
    if values.output_series is None or values.output_capacitor is None:
        return _capacitor("C2", "out", values.output_capacitor, polarised=True)
    return [
        Resistor(name="RC2", a="out", b="plate", resistance=values.output_series),
        *_capacitor("C2", "plate", values.output_capacitor, polarised=True),
    ]
