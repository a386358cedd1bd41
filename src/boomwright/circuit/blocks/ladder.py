"""A ladder of LEDs that shows how full a battery is: one comparator per step, one reference."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.parts import (
    Capacitor,
    Comparator,
    Diode,
    Part,
    Resistor,
    ShuntReference,
    VoltageSource,
)
from boomwright.circuit.sweep import sweep
from boomwright.circuit.values import Floats, Truths, Value

__all__ = ["MOST_STEPS", "LadderValues", "comparator_name", "ladder_netlist", "lit_steps"]

MOST_STEPS = 8
"""Steps that two packages of four comparators serve."""

_PER_PACKAGE = 4
_FIRST_CHAIN = 4


@dataclass(frozen=True, kw_only=True)
class LadderValues:
    """Values of a ladder; steps count from the fullest down.

    Devices are given as parts whose nodes are empty: the block wires them.

    Parameters
    ----------
    reference : ShuntReference
        The one reference, its reference pin joined to its cathode.
    comparator : Comparator
        Each of the comparators.
    leds : tuple of Diode
        One LED per step.
    led_resistors : tuple of float or array
        In series with each LED [Ω].
    chain : tuple of float or array
        From the reference down to ground, one more than there are steps [Ω].
    divider_top, divider_bottom : float or array
        The divider that scales the battery [Ω].
    trimmer : float, array or None
        Trimmer in series with the upper resistor, as it is set; left out if None [Ω].
    filter_capacitor : float or array
        Across the lower resistor: with the divider it makes the delay [F].
    reference_resistor : float or array
        Feeds the reference [Ω].
    offsets : tuple of float or array
        Offset of each comparator; none if empty [V].
    supply_current : float or array
        What the comparators take themselves at 12 V [A].
    """

    reference: ShuntReference
    comparator: Comparator
    leds: tuple[Diode, ...]
    led_resistors: tuple[Value, ...]
    chain: tuple[Value, ...]
    divider_top: Value
    divider_bottom: Value
    trimmer: Value | None = None
    filter_capacitor: Value
    reference_resistor: Value
    offsets: tuple[Value, ...] = ()
    supply_current: Value = 0.8e-3


def comparator_name(step: int) -> str:
    """Designator of the comparator of a step, four to a package.

    Examples
    --------
    >>> comparator_name(0), comparator_name(5)
    ('U2A', 'U3B')
    """
    return f"U{2 + step // _PER_PACKAGE}{'ABCD'[step % _PER_PACKAGE]}"


def ladder_netlist(values: LadderValues, *, voltage: Value = 12.0) -> Netlist:
    """Netlist of a ladder with its battery.

    Each comparator pulls its LED on while the scaled battery stands above its tap of the chain.

    Parameters
    ----------
    values : LadderValues
        Values of its parts.
    voltage : float or array
        Battery voltage [V].

    Returns
    -------
    Netlist
        Battery ``BT1`` from ``batt`` to ground; the scaled battery at ``sense``; the taps ``tap1``
        and on, fullest first; LEDs ``D1`` and on.

    Raises
    ------
    ValueError
        If the counts of LEDs, their resistors, the chain and the offsets do not fit.
    NetlistError
        If a value is out of range.

    Examples
    --------
    Two steps: thirds of a 2.5 V reference against a tenth of the battery.

    >>> values = LadderValues(
    ...     reference=ShuntReference(
    ...         name="U1", cathode="", reference="", anode="", voltage=2.5, cathode_least=1.0
    ...     ),
    ...     comparator=Comparator(name="U2", plus="", minus="", output="", ground=""),
    ...     leds=(Diode(name="D", anode="", cathode="", emission=2.0, kind="led"),) * 2,
    ...     led_resistors=(3.3e3, 3.3e3),
    ...     chain=(10e3, 10e3, 10e3),
    ...     divider_top=90e3,
    ...     divider_bottom=10e3,
    ...     filter_capacitor=1e-4,
    ...     reference_resistor=2.2e3,
    ... )
    >>> lit_steps(ladder_netlist(values), np.array([18.0, 12.0, 7.0])).tolist()
    [[True, True], [False, True], [False, False]]
    """
    steps = len(values.leds)
    offsets = values.offsets or (0.0,) * steps
    if not 1 <= steps <= MOST_STEPS:
        raise ValueError(f"steps of a ladder: got {steps} LEDs, must be 1 to {MOST_STEPS}")
    counts = (len(values.led_resistors), len(values.chain) - 1, len(offsets))
    if set(counts) != {steps}:
        raise ValueError(
            f"a ladder of {steps} LEDs: got {counts[0]} LED resistors, {counts[1] + 1} resistors "
            f"in the chain and {counts[2]} offsets, must be {steps}, {steps + 1} and {steps}"
        )
    upper = "sense" if values.trimmer is None else "trim"
    parts: list[Part] = [
        VoltageSource(name="BT1", a="batt", b=GROUND, voltage=voltage),
        Resistor(name="R1", a="batt", b=upper, resistance=values.divider_top),
    ]
    if values.trimmer is not None:
        parts.append(Resistor(name="RV1", a="trim", b="sense", resistance=values.trimmer))
    parts += [
        Resistor(name="R2", a="sense", b=GROUND, resistance=values.divider_bottom),
        Capacitor(
            name="C1", a="sense", b=GROUND, capacitance=values.filter_capacitor, polarised=True
        ),
        Resistor(name="R3", a="batt", b="ref", resistance=values.reference_resistor),
        replace(values.reference, name="U1", cathode="ref", reference="ref", anode=GROUND),
        # The comparators' own supply current, as the resistance that takes it at 12 V.
        Resistor(name="RU2", a="batt", b=GROUND, resistance=12.0 / values.supply_current),
    ]
    taps = ("ref", *(f"tap{step + 1}" for step in range(steps)), GROUND)
    parts += [
        Resistor(name=f"R{_FIRST_CHAIN + i}", a=taps[i], b=taps[i + 1], resistance=resistance)
        for i, resistance in enumerate(values.chain)
    ]
    for step in range(steps):
        lamp, low = f"led{step + 1}", f"low{step + 1}"
        number = _FIRST_CHAIN + len(values.chain) + step
        parts += [
            Resistor(name=f"R{number}", a="batt", b=lamp, resistance=values.led_resistors[step]),
            replace(values.leds[step], name=f"D{step + 1}", anode=lamp, cathode=low),
            replace(
                values.comparator,
                name=comparator_name(step),
                plus=f"tap{step + 1}",
                minus="sense",
                output=low,
                ground=GROUND,
                offset=offsets[step],
            ),
        ]
    return Netlist("LED ladder for the battery", tuple(parts))


def lit_steps(netlist: Netlist, voltages: Floats) -> Truths:
    """Which LEDs are on at each battery voltage.

    Parameters
    ----------
    netlist : Netlist
        A ladder from :func:`ladder_netlist`, one sample.
    voltages : array, shape (levels,)
        Battery voltages in the order in which they come [V].

    Returns
    -------
    array of bool, shape (levels, steps)
        Fullest step first.
    """
    steps = sum(isinstance(part, Comparator) for part in netlist.parts)
    run = sweep(netlist, "BT1", np.asarray(voltages, dtype=np.float64))
    return np.stack([run.state(comparator_name(step))[:, 0] for step in range(steps)], axis=1)
