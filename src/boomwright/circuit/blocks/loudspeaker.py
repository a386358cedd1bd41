"""A driver in a box as resistors, coils and capacitors, behind its filter, leads and amplifier."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from boomwright.circuit.netlist import GROUND, Netlist
from boomwright.circuit.parts import Capacitor, Inductor, Part, Resistor, VoltageSource
from boomwright.circuit.values import Value

__all__ = [
    "FilterStep",
    "LoudspeakerPoints",
    "LoudspeakerValues",
    "loudspeaker_netlist",
    "loudspeaker_points",
]

# No spring holds for ever. Without this, two coils side by side have no state at rest.
_SLOW_LOSS = 1e-6
# What any capacitor lets through: between two in series the volts at rest need a way.
_LEAKAGE = 1e9

Ends = tuple[str, str]
"""Two nodes, the first measured against the second."""


@dataclass(frozen=True, kw_only=True)
class FilterStep:
    """A step of a passive filter: resistor, coil and capacitor in one chain.

    Parameters
    ----------
    place : str
        ``"series"`` on the way to the driver, ``"across"`` from there to the common lead.
    resistance : float or array
        Of the chain, the winding of its coil included [Ω]; 0 for none.
    inductance : float or array
        Of the chain [H]; 0 for none.
    capacitance : float or array
        Of the chain [F]; infinite for none.
    """

    place: Literal["series", "across"]
    resistance: Value = 0.0
    inductance: Value = 0.0
    capacitance: Value = np.inf


@dataclass(frozen=True, kw_only=True)
class LoudspeakerValues:
    """A driver and the air behind it, seen from the driver's terminals.

    Mass is a capacitor here, a spring a coil, and a loss a resistor; ways of the air that lie side
    by side are elements in series. What is None is not there.

    Parameters
    ----------
    re : float or array
        Voice coil at d.c. [Ω].
    le : float, array or None
        Inductance of the voice coil [H].
    le2, re2 : float, array or None
        The part that the iron's losses shunt, and the resistance beside it [H], [Ω].
    cmes : float or array
        Moving mass [F].
    lces : float or array
        Spring of the suspension [H].
    res : float or array
        Loss of the suspension [Ω].
    creep : tuple of pairs
        Coil and resistor side by side, one pair for each slow share of the suspension's spring, in
        series with `lces` [H], [Ω].
    lceb : float, array or None
        Spring of the air in the box [H]; None without a box.
    rab : float, array or None
        Absorption in the box, beside `lceb` [Ω].
    rel : float, array or None
        Leak of the box [Ω].
    cmep : float, array or None
        Mass in the opening, a vent's air or a passive radiator [F]; None for a box without one.
    lcep : float, array or None
        Spring of a passive radiator, beside `cmep` [H].
    rep : float, array or None
        Loss of the opening, beside `cmep` [Ω].
    """

    re: Value
    cmes: Value
    lces: Value
    res: Value
    le: Value | None = None
    le2: Value | None = None
    re2: Value | None = None
    creep: tuple[tuple[Value, Value], ...] = ()
    lceb: Value | None = None
    rab: Value | None = None
    rel: Value | None = None
    cmep: Value | None = None
    lcep: Value | None = None
    rep: Value | None = None


@dataclass(frozen=True)
class LoudspeakerPoints:
    """Where a loudspeaker's netlist is read; each a node and the one it is measured against.

    Parameters
    ----------
    terminals : pair of str
        The driver's terminals.
    coil : pair of str
        Over the voice coil's resistance: its volts over `re` are the driver's current.
    motion : pair of str
        Force factor times speed of the cone [V].
    radiated : pair of str
        Over the spring of the air: in proportion to all the air that the room gets.
    opening : pair of str or None
        Over the opening: in proportion to its air; None without one.
    """

    terminals: Ends
    coil: Ends
    motion: Ends
    radiated: Ends
    opening: Ends | None


def loudspeaker_points(values: LoudspeakerValues) -> LoudspeakerPoints:
    """Nodes at which the netlist of a loudspeaker is read.

    Parameters
    ----------
    values : LoudspeakerValues
        Those it is made of.

    Returns
    -------
    LoudspeakerPoints

    Examples
    --------
    >>> closed = LoudspeakerValues(re=6.0, cmes=0.4e-3, lces=50e-3, res=40.0, lceb=30e-3)
    >>> loudspeaker_points(closed).radiated
    ('motion', '0')
    """
    opening = GROUND if values.cmep is None else "opening"
    below = opening if values.rel is None else "leak"
    return LoudspeakerPoints(
        terminals=("driver", GROUND),
        coil=("driver", "motion" if values.le is None and values.le2 is None else "coil"),
        motion=("motion", GROUND),
        radiated=("motion", GROUND if values.lceb is None else below),
        opening=None if values.cmep is None else ("opening", GROUND),
    )


def loudspeaker_netlist(
    values: LoudspeakerValues,
    *,
    steps: Sequence[FilterStep] = (),
    output_resistance: Value | None = None,
    lead_resistance: Value | None = None,
    level: float = 1.0,
) -> Netlist:
    """Netlist of a driver in its box, behind amplifier, leads and passive filter.

    Linear and lumped, so for small signals and the bass; the coil's inductance and the filter hold
    up to where the driver's own parameters do.

    Parameters
    ----------
    values : LoudspeakerValues
        Driver and box.
    steps : sequence of FilterStep
        From the amplifier to the driver.
    output_resistance : float, array or None
        Of the amplifier [Ω]; none if None.
    lead_resistance : float, array or None
        Both ways of the speaker lead, ahead of the filter [Ω]; none if None.
    level : float
        Amplitude of the amplifier in an AC response [V].

    Returns
    -------
    Netlist
        Amplifier at ``amp``, its terminals at ``out``, the lead's end at ``fed``, the driver at
        ``driver``; the rest as `loudspeaker_points` says. Nodes between which nothing lies are one.

    Raises
    ------
    ValueError
        If a step of the filter has no part, or a part of the box has no box.
    NetlistError
        If a value is out of range.

    Notes
    -----
    cmes = mms/bl², lces = cms bl², res = bl²/rms. With k = (bl/sd)²: lceb = k compliance,
    rab = k/absorption, rel = k/leak, cmep = mass/k, lcep = k/stiffness, rep = k/resistance.

    References
    ----------
    .. [1] R. H. Small, Direct-Radiator Loudspeaker System Analysis, J. Audio Eng. Soc. 20 (1972)
       383; Vented-Box Loudspeaker Systems, Part I, 21 (1973) 363 (from memory).

    Examples
    --------
    6 ohm and 40 ohm of suspension loss are 46 ohm at the resonance, where mass and spring cancel:

    >>> from boomwright.circuit.response import ac_response
    >>> driver = LoudspeakerValues(re=6.0, cmes=0.4e-3, lces=50e-3, res=40.0)
    >>> found = ac_response(loudspeaker_netlist(driver), np.array([35.588]))
    >>> across, against = loudspeaker_points(driver).coil
    >>> round(6.0 / float(abs(found.voltage(across, against)[0, 0])), 2)
    46.0
    """
    _refuse_without_box(values)
    plain = [("ROUT", "out", output_resistance), ("RLEAD", "fed", lead_resistance)]
    ahead = [(name, node, value) for name, node, value in plain if value is not None]
    # The last thing on the way to the driver ends at the driver, whatever it is.
    count = len(ahead) + sum(step.place == "series" for step in steps)
    here = "amp" if count else "driver"
    parts: list[Part] = [VoltageSource(name="V1", a=here, b=GROUND, voltage=0.0, ac=level)]
    for number, (name, node, value) in enumerate(ahead, start=1):
        there = node if number < count else "driver"
        parts.append(Resistor(name=name, a=here, b=there, resistance=value))
        here = there
    parts += _filter(steps, here)
    return Netlist("Loudspeaker", (*parts, *_driver(values), *_box(values)))


def _refuse_without_box(values: LoudspeakerValues) -> None:
    for name, needs in (
        ("rab", "lceb"),
        ("rel", "lceb"),
        ("cmep", "lceb"),
        ("lcep", "cmep"),
        ("rep", "cmep"),
        ("le2", "re2"),
        ("re2", "le2"),
    ):
        value = getattr(values, name)
        if value is not None and getattr(values, needs) is None:
            raise ValueError(f"{name}: got {value}, but there is no {needs} for it")


def _filter(steps: Sequence[FilterStep], here: str) -> list[Part]:
    """Parts of the steps from a node to the driver."""
    parts: list[Part] = []
    last = max((i for i, step in enumerate(steps, start=1) if step.place == "series"), default=0)
    adrift = False
    for number, step in enumerate(steps, start=1):
        capacitor = bool(np.isfinite(step.capacitance).any())
        if step.place == "across":
            parts += _chain(step, number, here, GROUND)
            adrift = adrift and capacitor
            continue
        if adrift and capacitor:
            parts.append(Resistor(name=f"RLK{number}", a=here, b=GROUND, resistance=_LEAKAGE))
        there = "driver" if number == last else f"filter_{number}"
        parts += _chain(step, number, here, there)
        here, adrift = there, adrift or capacitor
    return parts


def _chain(step: FilterStep, number: int, a: str, b: str) -> list[Part]:
    """One step: its coil with its winding, or its resistor, and behind it the capacitor."""
    coil, resistor = bool(np.any(step.inductance)), bool(np.any(step.resistance))
    capacitor = bool(np.isfinite(step.capacitance).any())
    if not (coil or resistor or capacitor):
        raise ValueError(
            f"filter step {number}, {step.place}: got no part, "
            "must have a resistance, an inductance or a capacitance"
        )
    middle = f"inside_{number}" if capacitor and (coil or resistor) else b
    parts: list[Part] = []
    if coil:
        winding = np.maximum(step.resistance, _SLOW_LOSS)
        parts.append(
            Inductor(
                name=f"L{number}", a=a, b=middle, inductance=step.inductance, resistance=winding
            )
        )
    elif resistor:
        parts.append(Resistor(name=f"R{number}", a=a, b=middle, resistance=step.resistance))
    if capacitor:
        start = middle if parts else a
        parts.append(Capacitor(name=f"C{number}", a=start, b=b, capacitance=step.capacitance))
    return parts


def _driver(values: LoudspeakerValues) -> list[Part]:
    re_end = loudspeaker_points(values).coil[1]
    parts: list[Part] = [Resistor(name="RE", a="driver", b=re_end, resistance=values.re)]
    iron = re_end
    if values.le is not None:
        iron = "motion" if values.le2 is None else "iron"
        parts.append(Inductor(name="LE", a="coil", b=iron, inductance=values.le))
    if values.le2 is not None and values.re2 is not None:
        parts += [
            Inductor(name="LE2", a=iron, b="motion", inductance=values.le2),
            Resistor(name="RE2", a=iron, b="motion", resistance=values.re2),
        ]
    slow = [f"creep_{number}" for number in range(1, len(values.creep) + 1)]
    spring = [*slow, GROUND]
    parts += [
        Capacitor(name="CMES", a="motion", b=GROUND, capacitance=values.cmes),
        Resistor(name="RES", a="motion", b=GROUND, resistance=values.res),
        Inductor(name="LCES", a="motion", b=spring[0], inductance=values.lces),
    ]
    for number, (inductance, resistance) in enumerate(values.creep, start=1):
        a, b = spring[number - 1 : number + 1]
        parts += [
            Inductor(name=f"LCR{number}", a=a, b=b, inductance=inductance),
            Resistor(name=f"RCR{number}", a=a, b=b, resistance=resistance),
        ]
    return parts


def _box(values: LoudspeakerValues) -> list[Part]:
    if values.lceb is None:
        return []
    above, below = loudspeaker_points(values).radiated
    parts: list[Part] = [
        Inductor(name="LCEB", a=above, b=below, inductance=values.lceb, resistance=_SLOW_LOSS)
    ]
    if values.rab is not None:
        parts.append(Resistor(name="RAB", a=above, b=below, resistance=values.rab))
    if values.rel is not None:
        opening = GROUND if values.cmep is None else "opening"
        parts.append(Resistor(name="REL", a=below, b=opening, resistance=values.rel))
    if values.cmep is not None:
        parts.append(Capacitor(name="CMEP", a="opening", b=GROUND, capacitance=values.cmep))
        if values.lcep is not None:
            parts.append(Inductor(name="LCEP", a="opening", b=GROUND, inductance=values.lcep))
        if values.rep is not None:
            parts.append(Resistor(name="REP", a="opening", b=GROUND, resistance=values.rep))
    return parts
