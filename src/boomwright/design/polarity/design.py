"""Protection against swapped poles: what it costs, and what a swapped battery does to each kind."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import get_args

import numpy as np

from boomwright.build.components import Diode as DrawerDiode
from boomwright.build.components import Transistor
from boomwright.build.components import Zener as DrawerZener
from boomwright.build.drawer import Drawer, load_drawer
from boomwright.circuit.blocks.polarity import (
    POLARITY_KINDS,
    PolarityKind,
    PolarityValues,
    fitted_diode,
    fitted_mosfet,
    polarity_netlist,
)
from boomwright.circuit.operating import OperatingPoint, operating_point
from boomwright.circuit.parts import Zener
from boomwright.circuit.values import Floats
from boomwright.design.polarity.sheet import (
    CAUTIONS,
    PolarityChoice,
    polarity_parts,
    polarity_readings,
    polarity_remarks,
)
from boomwright.design.polarity.wish import (
    DIODE_TYPES,
    PolarityWish,
    checked_polarity,
    chosen_device,
    gate_limit,
)
from boomwright.design.sheet import Design, Expected
from boomwright.design.spread import corners, expected
from boomwright.physics.fuse import fuse_resistance, melting_integral, opening_time_bounds
from boomwright.physics.polarity import loss_db
from boomwright.physics.preferred import preferred_at_least

__all__ = ["compare_polarity", "design_polarity"]

_OPEN_LOAD = 1e9
_GATE_RESISTOR = 10e3
_PARKED_GATE_CURRENT = 0.2e-3
_HALF_WAVE = 1.0 / 120.0
_BENCH_LIMIT, _BENCH_LOAD = 0.1, 10e3
_BODY_DROP, _BODY_CURRENT = 0.9, 5.0


def design_polarity(
    kind: PolarityKind,
    *,
    fuse_rating: float,
    load_current: float,
    peak_current: float,
    battery_low: float,
    battery_high: float,
    battery_resistance: float = 0.06,
    fuse_type: str = "blade",
    part: str = "",
    drawer: Drawer | None = None,
) -> Design:
    """Design of a protection against a battery or plug the wrong way round.

    Losses, the reversed case and the parked drain are solved in the circuit at rest; whether the
    fuse or the shunt diode gives way first is a comparison of Joule integrals.

    Parameters
    ----------
    kind : str
        ``shunt-diode``, ``series-schottky``, ``series-silicon`` or ``p-mosfet``.
    fuse_rating : float
        Fuse at the battery [A].
    load_current, peak_current : float
        Mean current, and the peak of a bass beat at full level [A].
    battery_low, battery_high : float
        Emptiest and fullest battery [V].
    battery_resistance : float
        Battery, leads and contacts [Ω].
    fuse_type : str
        Kind of fuse, as :func:`boomwright.physics.fuse.fuse_kinds` names them.
    part : str
        Diode or transistor of the drawer; the first that stands it if empty.
    drawer : Drawer or None
        The parts to choose from; the shipped ones if None.

    Returns
    -------
    Design

    Raises
    ------
    InputError
        With everything that cannot be, and the nearest that can.

    Notes
    -----
    A diode stands I_surge² t / 2 over one half-wave of 1/120 s. A fuse lets through at least the
    least integral of its gates, and at most current squared times its longest opening time there.
    Left out: the load's own capacitors, which hold a transistor's gate up for a moment when a
    battery is swapped live.

    References
    ----------
    .. [1] :mod:`boomwright.physics.polarity`, :mod:`boomwright.physics.fuse`.

    Examples
    --------
    >>> sheet = design_polarity(
    ...     "series-schottky", fuse_rating=5.0, load_current=1.0, peak_current=3.0,
    ...     battery_low=10.5, battery_high=12.8,
    ... )
    >>> round(sheet.figure("volts lost at the peak").likely, 2)
    0.46
    """
    drawer = drawer or load_drawer()
    wish = PolarityWish(
        fuse_rating=fuse_rating,
        load_current=load_current,
        peak_current=peak_current,
        battery_low=battery_low,
        battery_high=battery_high,
        battery_resistance=battery_resistance,
        fuse_type=fuse_type,
    )
    checked_polarity(kind, wish)
    name, device = chosen_device(kind, wish, part, drawer)
    zener = _gate_zener(kind, wish, device, drawer)
    choice = PolarityChoice(
        kind=kind,
        name=name,
        device=device,
        gate_resistor=_gate_resistor(kind, wish, zener),
        gate_zener=zener,
    )
    spread = _spread(device)
    batch = _values(choice, wish, spread)
    single = _values(choice, wish, {key: value[:1] for key, value in spread.items()}, plain=True)
    figures = (
        *_forward(kind, wish, batch, _clean_volts(wish)),
        *_reversed(kind, wish, batch),
        _parked(kind, wish, batch),
        *(_clearing(wish, device, batch) if kind == "shunt-diode" else ()),
    )
    sheet = Design(
        block="polarity",
        family=kind,
        title=POLARITY_KINDS[kind],
        netlist=polarity_netlist(kind, single, voltage=battery_high),
        figures=figures,
        parts=polarity_parts(choice, wish),
        readings=(),
        cautions=CAUTIONS,
    )
    return replace(
        sheet,
        readings=polarity_readings(sheet, choice, _bench(kind, wish, batch)),
        remarks=polarity_remarks(sheet, choice, wish),
    )


def compare_polarity(
    *,
    fuse_rating: float,
    load_current: float,
    peak_current: float,
    battery_low: float,
    battery_high: float,
    battery_resistance: float = 0.06,
    fuse_type: str = "blade",
    drawer: Drawer | None = None,
) -> tuple[Design, ...]:
    """All four protections for one box, in the order of :data:`POLARITY_KINDS`.

    Parameters
    ----------
    fuse_rating, load_current, peak_current, battery_low, battery_high, battery_resistance
        As in :func:`design_polarity`.
    fuse_type : str
        Kind of fuse.
    drawer : Drawer or None
        The parts to choose from.

    Returns
    -------
    tuple of Design
        One for each kind; the first eight figures of each bear the same labels, so that they make
        a table.

    Raises
    ------
    InputError
        As for :func:`design_polarity`.

    Examples
    --------
    >>> sheets = compare_polarity(
    ...     fuse_rating=5.0, load_current=1.0, peak_current=3.0, battery_low=10.5,
    ...     battery_high=12.8,
    ... )
    >>> [round(sheet.figure("volts lost on average").likely, 2) for sheet in sheets]
    [0.0, 0.36, 0.88, 0.01]
    """
    return tuple(
        design_polarity(
            kind,
            fuse_rating=fuse_rating,
            load_current=load_current,
            peak_current=peak_current,
            battery_low=battery_low,
            battery_high=battery_high,
            battery_resistance=battery_resistance,
            fuse_type=fuse_type,
            drawer=drawer,
        )
        for kind in get_args(PolarityKind)
    )


def _clean_volts(wish: PolarityWish) -> Floats:
    middle = 0.5 * (wish.battery_low + wish.battery_high)
    return np.array([middle, wish.battery_high, wish.battery_low])


def _gate_zener(
    kind: PolarityKind, wish: PolarityWish, device: DrawerDiode | Transistor, drawer: Drawer
) -> DrawerZener | None:
    """Zener from gate to source, where the battery comes near what the gate stands."""
    if kind != "p-mosfet" or not isinstance(device, Transistor):
        return None
    limit = gate_limit(device)
    if wish.battery_high <= limit:
        return None
    fits = []
    for name in drawer.names("zener"):
        zener = drawer.part("zener", name)
        if isinstance(zener, DrawerZener) and zener.voltage.high <= limit:
            fits.append(zener)
    return max(fits, key=lambda zener: zener.voltage.likely) if fits else None


def _gate_resistor(kind: PolarityKind, wish: PolarityWish, zener: DrawerZener | None) -> float:
    if kind != "p-mosfet" or zener is None:
        return _GATE_RESISTOR
    over = max(wish.battery_high - zener.voltage.low, 0.0)
    return float(preferred_at_least(max(over / _PARKED_GATE_CURRENT, _GATE_RESISTOR), "E12"))


def _spread(device: DrawerDiode | Transistor) -> dict[str, Floats]:
    if isinstance(device, DrawerDiode):
        return corners({"drop": (device.drop.likely, device.drop.low, device.drop.high)})
    on = device.on_resistance
    if on is None:
        raise ValueError(f"{device.name} has no on-resistance")
    return corners({"resistance": (on.likely, on.low, on.high)})


def _values(
    choice: PolarityChoice,
    wish: PolarityWish,
    spread: dict[str, Floats],
    *,
    plain: bool = False,
) -> PolarityValues:
    device = choice.device
    values = PolarityValues(
        fuse_rating=wish.fuse_rating,
        fuse_resistance=float(fuse_resistance(wish.fuse_rating, kind=wish.fuse_type)),
        battery_resistance=wish.battery_resistance,
        load_resistance=wish.battery_high / wish.load_current,
    )
    if isinstance(device, DrawerDiode):
        drop = float(spread["drop"][0]) if plain else spread["drop"]
        fitted = fitted_diode(drop, current=device.current.likely, kind=DIODE_TYPES[choice.kind])
        return replace(values, diode=fitted)
    resistance = float(spread["resistance"][0]) if plain else spread["resistance"]
    threshold = device.threshold.likely if device.threshold else 2.0
    gate = choice.gate_zener
    return replace(
        values,
        mosfet=fitted_mosfet(
            resistance, threshold=threshold, drive=4.5 if threshold < 2.0 else 10.0
        ),
        body_diode=fitted_diode(_BODY_DROP, current=_BODY_CURRENT, kind="silicon"),
        gate_resistor=choice.gate_resistor,
        gate_zener=None
        if gate is None
        else Zener(
            name="D1",
            anode="",
            cathode="",
            voltage=gate.voltage.likely,
            test_current=gate.test_current.likely,
            slope=gate.slope.likely,
        ),
    )


def _solved(
    kind: PolarityKind, values: PolarityValues, volts: float, *, current: float | None = None
) -> OperatingPoint:
    loaded = replace(values, load_current=current)
    return operating_point(polarity_netlist(kind, loaded, voltage=volts))


def _drop(kind: PolarityKind, point: OperatingPoint) -> Floats:
    before = "out" if kind == "shunt-diode" else "fused"
    return point.voltage(before) - point.voltage("out")


def _forward(
    kind: PolarityKind, wish: PolarityWish, values: PolarityValues, volts: Floats
) -> tuple[Expected, ...]:
    mean = _drop(kind, _solved(kind, values, float(volts[0]), current=wish.load_current))
    peak = _drop(kind, _solved(kind, values, float(volts[0]), current=wish.peak_current))
    return (
        expected("volts lost on average", mean, "voltage"),
        expected("volts lost at the peak", peak, "voltage"),
        expected("heat on average", mean * wish.load_current, "power"),
        expected("clean level lost", loss_db(volts, drop=peak), "decibel"),
    )


def _reversed(
    kind: PolarityKind, wish: PolarityWish, values: PolarityValues
) -> tuple[Expected, ...]:
    point = _solved(kind, values, -wish.battery_high)
    volts = point.voltage("out")
    amps = -volts / (wish.battery_high / wish.load_current)
    return (
        expected("load sees, battery reversed", volts, "voltage"),
        expected("load carries, battery reversed", amps, "current"),
        expected("battery gives, reversed", np.abs(point.branch_current("BT1")), "current"),
    )


def _parked(kind: PolarityKind, wish: PolarityWish, values: PolarityValues) -> Expected:
    parked = replace(values, load_resistance=_OPEN_LOAD)
    point = _solved(kind, parked, wish.battery_high)
    return expected("drain when parked", np.abs(point.branch_current("BT1")), "current")


def _clearing(
    wish: PolarityWish, device: DrawerDiode | Transistor, values: PolarityValues
) -> tuple[Expected, ...]:
    """What the fuse lets through before it opens, and what the diode stands."""
    point = _solved("shunt-diode", values, -wish.battery_high)
    amps = float(np.abs(point.branch_current("BT1"))[0])
    shortest, longest = opening_time_bounds(amps / wish.fuse_rating, kind=wish.fuse_type)
    least = float(melting_integral(wish.fuse_rating, kind=wish.fuse_type))
    most = amps**2 * float(longest)
    least = min(least, most)
    middle = math.sqrt(least * most) if math.isfinite(most) else math.inf
    surge = device.surge if isinstance(device, DrawerDiode) else None
    stands = [
        0.5 * _HALF_WAVE * value**2
        for value in ((surge.likely, surge.low, surge.high) if surge else (0.0, 0.0, 0.0))
    ]
    return (
        Expected("fuse opens within", float(longest), float(shortest), float(longest), "time"),
        Expected("fuse lets through (A² s)", middle, least, most, "ratio"),
        expected("diode stands (A² s)", np.array(stands), "ratio"),
    )


def _bench(kind: PolarityKind, wish: PolarityWish, values: PolarityValues) -> dict[str, Floats]:
    """Readings with a bench supply in its limit of 0.1 A, the right way round and reversed."""
    supply = 0.5 * (wish.battery_low + wish.battery_high)
    limit = replace(values, battery_resistance=supply / _BENCH_LIMIT)
    right = _solved(kind, values, supply, current=_BENCH_LIMIT)
    light = _solved(kind, replace(values, load_resistance=_BENCH_LOAD), supply)
    wrong = _solved(kind, replace(limit, load_resistance=_BENCH_LOAD), -supply)
    return {
        "supply": np.array([supply]),
        "drop": _drop(kind, right),
        "output": light.voltage("out"),
        "reversed": wrong.voltage("out"),
        "current": np.abs(wrong.branch_current("BT1")),
    }
