"""Protection against a battery or plug the wrong way round, as netlists."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np

from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.parts import (
    CurrentSource,
    Diode,
    Fuse,
    Mosfet,
    Part,
    Resistor,
    VoltageSource,
    Zener,
)
from boomwright.circuit.values import Value, thermal_voltage

__all__ = [
    "POLARITY_KINDS",
    "PolarityKind",
    "PolarityValues",
    "fitted_diode",
    "fitted_mosfet",
    "polarity_netlist",
]

PolarityKind: TypeAlias = Literal["shunt-diode", "series-schottky", "series-silicon", "p-mosfet"]
"""How it protects."""

POLARITY_KINDS: dict[PolarityKind, str] = {
    "shunt-diode": "Diode across the supply, behind the fuse",
    "series-schottky": "Schottky diode in the positive lead",
    "series-silicon": "Silicon diode in the positive lead",
    "p-mosfet": "P-channel transistor in the positive lead",
}
"""Every kind with its title."""

# Emission coefficient, and the volts its bulk drops at the rated current: typical of class, from
# memory of the curves data sheets print up to ten times the rated current.
_EMISSION = {"silicon": 2.0, "signal": 1.8, "schottky": 1.05}
_BULK = {"silicon": 0.02, "signal": 0.15, "schottky": 0.10}


@dataclass(frozen=True, kw_only=True)
class PolarityValues:
    """Values of a protection; what its kind does not use stays None.

    Parameters
    ----------
    diode : Diode or None
        The shunt or series diode, nodes left empty.
    mosfet : Mosfet or None
        The transistor, nodes left empty.
    body_diode : Diode or None
        The diode inside the transistor.
    gate_resistor : float, array or None
        From gate to ground [Ω].
    gate_zener : Zener or None
        From gate to source, where the battery is above what the gate stands.
    fuse_rating : float
        Fuse at the battery [A].
    fuse_resistance : float or array
        Its cold resistance [Ω].
    battery_resistance : float or array
        Battery, leads and contacts [Ω].
    load_resistance : float or array
        What hangs on it [Ω].
    load_current : float, array or None
        What hangs on it as a current instead, for losses at a stated current [A].
    """

    diode: Diode | None = None
    mosfet: Mosfet | None = None
    body_diode: Diode | None = None
    gate_resistor: Value | None = None
    gate_zener: Zener | None = None
    fuse_rating: float = 5.0
    fuse_resistance: Value = 0.016
    battery_resistance: Value = 0.06
    load_resistance: Value = 12.0
    load_current: Value | None = None


def fitted_diode(
    drop: Value, *, current: Value, kind: Literal["silicon", "schottky", "signal"]
) -> Diode:
    """A diode with a given drop at its rated current, its nodes left empty.

    Parameters
    ----------
    drop : float or array
        Forward drop at the rated current, 25 °C [V].
    current : float or array
        Rated current [A].
    kind : str
        ``silicon``, ``schottky`` or ``signal``.

    Returns
    -------
    Diode
        Named D1.

    Raises
    ------
    ValueError
        If the drop is no more than the bulk of such a diode drops.

    Notes
    -----
    I_s = I exp(-(V - V_bulk) / (n kT/q)), R_s = V_bulk / I, with n and V_bulk typical of class.

    Examples
    --------
    >>> diode = fitted_diode(0.48, current=3.0, kind="schottky")
    >>> volts = 1.05 * 0.025693 * np.log(3.0 / diode.saturation_current) + 3.0 * diode.resistance
    >>> round(float(volts), 2)
    0.48
    """
    bulk = _BULK[kind]
    inner = np.asarray(drop, dtype=np.float64) - bulk
    if np.any(inner <= 0.0):
        raise ValueError(f"drop of a diode: got {np.min(drop):g} V, must be above {bulk:g} V")
    saturation = current * np.exp(-inner / (_EMISSION[kind] * thermal_voltage()))
    return Diode(
        name="D1",
        anode="",
        cathode="",
        saturation_current=_plain(saturation),
        emission=_EMISSION[kind],
        resistance=_plain(bulk / np.asarray(current, dtype=np.float64)),
        energy_gap=0.69 if kind == "schottky" else 1.11,
        current_exponent=2.0 if kind == "schottky" else 3.0,
        kind=kind,
    )


def fitted_mosfet(resistance: Value, *, threshold: Value, drive: float) -> Mosfet:
    """A P-channel transistor with a given resistance at its full drive, its nodes left empty.

    Parameters
    ----------
    resistance : float or array
        Drain-source resistance at the drive [Ω].
    threshold : float or array
        Threshold, size only [V].
    drive : float
        Gate-source volts at which the resistance holds, size only [V].

    Returns
    -------
    Mosfet
        Named Q1.

    Raises
    ------
    ValueError
        If the drive does not pass the threshold.

    Notes
    -----
    K = 1 / (R (V_drive - V_t)).

    Examples
    --------
    >>> round(float(fitted_mosfet(0.05, threshold=3.0, drive=10.0).transconductance), 3)
    2.857
    """
    over = drive - np.asarray(threshold, dtype=np.float64)
    if np.any(over <= 0.0):
        raise ValueError(f"drive of a gate: got {drive:g} V, must be above its threshold")
    constant = 1.0 / (np.asarray(resistance, dtype=np.float64) * over)
    return Mosfet(
        name="Q1",
        drain="",
        gate="",
        source="",
        polarity="p",
        threshold=threshold,
        transconductance=_plain(constant),
    )


def polarity_netlist(
    kind: PolarityKind, values: PolarityValues, *, voltage: Value = 12.0
) -> Netlist:
    """Netlist of a protection with its battery and load; a reversed battery has negative volts.

    Parameters
    ----------
    kind : str
        A key of :data:`POLARITY_KINDS`.
    values : PolarityValues
        Values of its parts.
    voltage : float or array
        Battery voltage at rest [V].

    Returns
    -------
    Netlist
        Battery ``BT1`` behind its resistance ``RBT1``, fuse ``F1``, load ``RL`` (or ``IL``) from
        ``out`` to ground.

    Raises
    ------
    ValueError
        If the kind is unknown or lacks a part it needs.
    NetlistError
        If a value is out of range.

    Examples
    --------
    >>> from boomwright.circuit.operating import operating_point
    >>> values = PolarityValues(diode=fitted_diode(0.48, current=3.0, kind="schottky"))
    >>> net = polarity_netlist("series-schottky", values, voltage=np.array([12.0, -12.0]))
    >>> right, wrong = operating_point(net).voltage("out")
    >>> round(float(right), 1), abs(float(wrong)) < 1e-3
    (11.5, True)
    """
    if kind not in POLARITY_KINDS:
        raise ValueError(
            f"kind of polarity protection: got {kind!r}, must be one of {', '.join(POLARITY_KINDS)}"
        )
    fused = "out" if kind == "shunt-diode" else "fused"
    parts: list[Part] = [
        VoltageSource(name="BT1", a="cell", b=GROUND, voltage=voltage),
        Resistor(name="RBT1", a="cell", b="batt", resistance=values.battery_resistance),
        Fuse(
            name="F1",
            a="batt",
            b=fused,
            resistance=values.fuse_resistance,
            rating=values.fuse_rating,
        ),
    ]
    if kind == "p-mosfet":
        parts += _transistor(values)
    else:
        if values.diode is None:
            raise ValueError(f"a protection of the kind {kind} lacks its diode")
        anode, cathode = (GROUND, "out") if kind == "shunt-diode" else ("fused", "out")
        parts.append(replace(values.diode, name="D1", anode=anode, cathode=cathode))
    if values.load_current is None:
        parts.append(Resistor(name="RL", a="out", b=GROUND, resistance=values.load_resistance))
    else:
        parts.append(CurrentSource(name="IL", a="out", b=GROUND, current=values.load_current))
    return Netlist(POLARITY_KINDS[kind], tuple(parts))


def _transistor(values: PolarityValues) -> list[Part]:
    """Drain to the battery: the body diode starts it, the gate then takes over."""
    if values.mosfet is None or values.body_diode is None or values.gate_resistor is None:
        raise ValueError("a protection of the kind p-mosfet lacks mosfet, body_diode or gate")
    parts: list[Part] = [
        replace(values.mosfet, name="Q1", drain="fused", gate="gate", source="out"),
        replace(values.body_diode, name="DQ1", anode="fused", cathode="out"),
        Resistor(name="R1", a="gate", b=GROUND, resistance=values.gate_resistor),
    ]
    if values.gate_zener is not None:
        parts.append(replace(values.gate_zener, name="D1", anode="gate", cathode="out"))
    return parts


def _plain(value: Value) -> Value:
    array = np.asarray(value, dtype=np.float64)
    return float(array) if array.ndim == 0 else array
