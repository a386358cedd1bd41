"""Values of a cutoff circuit from preferred numbers and the drawer, by search over all of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import numpy as np

from boomwright.build.circuits import CutoffCircuit
from boomwright.build.components import Relay, Transistor, Zener
from boomwright.build.devices import Spread, cutoff_values
from boomwright.build.drawer import Drawer
from boomwright.build.draws import Draws
from boomwright.build.quantities import format_quantity
from boomwright.circuit.blocks.cutoff import (
    CUTOFF_FAMILIES,
    CutoffFamily,
    CutoffValues,
    cutoff_netlist,
)
from boomwright.circuit.thresholds import Thresholds, find_thresholds
from boomwright.circuit.values import Floats
from boomwright.design.cutoff.devices import driver_for, relay_for, stands_supply, transistor_for
from boomwright.design.cutoff.wish import CutoffWish
from boomwright.errors import InputError, Problem
from boomwright.physics.preferred import (
    nearest_preferred,
    preferred_at_least,
    preferred_at_most,
    preferred_values,
)

__all__ = [
    "chosen_circuit",
    "likely_values",
    "preferred_neighbours",
]

_LOWEST = 1.0
_BASE_RESISTOR = 10e3
# A beat lasts some tenths of a second; the filter waits longer. Common practice, no source.
_SMOOTHING = 1.0
_LARGEST_CAPACITOR = 1e-3
# The reference's idle current must leave the gate below its threshold.
_REFERENCE_GATE, _REFERENCE_DRIVE = 1500.0, 100.0
_COMPARATOR_GATE, _COMPARATOR_DRIVE = 100e3, 1000.0
_REFERENCE_FEED = 1.5e-3
_REFERENCE_KEEPS, _REFERENCE_SINKS = 2.2, 0.08
# Gates stand 20 V; above this the drive resistor and the gate resistor share the volts.
_MOST_GATE = 15.0
_OVERDRIVE = 3.0
_SHORTLIST = 24
_TRIMS, _UNTRIMMED = 4.7e3, 2.0
_STAYS_BELOW_FULL = 0.985


def likely_values(
    circuit: CutoffCircuit, drawer: Drawer, *, load_resistance: float
) -> CutoffValues:
    """Values of a circuit with every part as its label says, arrays of one."""
    spread = Spread(Draws(0), "cutoff")
    return cutoff_values(circuit, drawer, spread, load_resistance=load_resistance)


def chosen_circuit(family: CutoffFamily, wish: CutoffWish, drawer: Drawer) -> CutoffCircuit:
    """Circuit of a family that comes closest to a wish.

    Every combination of the drawer's zeners with the preferred numbers of the family's resistors is
    solved in one batch (a shunt reference's divider is first narrowed down by its own formula); the
    one that comes closest, with the least change over the transistor's gain, wins.

    Parameters
    ----------
    family : str
        Kind of circuit.
    wish : CutoffWish
        What is wanted.
    drawer : Drawer
        Parts to choose from.

    Returns
    -------
    CutoffCircuit

    Raises
    ------
    InputError
        If no part of the drawer serves, with the nearest that would.
    """
    start = _start(family, wish, drawer)
    if family.startswith("zener"):
        return _zener_circuit(start, wish, drawer)
    return _divider_circuit(start, wish, drawer)


def _start(family: CutoffFamily, wish: CutoffWish, drawer: Drawer) -> dict[str, Any]:
    needs = CUTOFF_FAMILIES[family].needs
    start: dict[str, Any] = {"family": family}
    for field in ("reference", "comparator"):
        if field in needs and not (field == "reference" and "comparator" in needs):
            stands_supply(field, wish, drawer)
    if "relay" in needs:
        direct = family == "reference-relay"
        start["relay"] = relay_for(
            wish,
            drawer,
            loses=_REFERENCE_KEEPS if direct else 0.3,
            most_current=_REFERENCE_SINKS if direct else np.inf,
        )
    if "mosfet" in needs:
        loses = _REFERENCE_KEEPS if family == "reference-mosfet" else 0.2
        start["mosfet"] = transistor_for(wish, drawer, loses=loses)
    if "transistor" in needs:
        start["transistor"] = driver_for(start["relay"], wish, drawer)
    return start


def _decades(low: float, high: float, series: str) -> Floats:
    first, last = int(np.floor(np.log10(low))), int(np.floor(np.log10(high)))
    decades = [preferred_values(series) * 10.0**exponent for exponent in range(first, last + 1)]  # type: ignore[arg-type]
    values = np.concatenate(decades)
    kept: Floats = values[(values >= low * (1 - 1e-9)) & (values <= high * (1 + 1e-9))]
    return kept


def _grid(**axes: Floats) -> dict[str, Floats]:
    """Every combination, flat."""
    mesh = np.meshgrid(*axes.values(), indexing="ij")
    return {name: values.ravel() for name, values in zip(axes, mesh, strict=True)}


def _solved(family: CutoffFamily, values: CutoffValues, wish: CutoffWish) -> Thresholds:
    netlist = cutoff_netlist(family, values, voltage=wish.highest)
    watch = CUTOFF_FAMILIES[family].watch
    return find_thresholds(netlist, watch, lowest=_LOWEST, highest=wish.highest)


def _cost(family: CutoffFamily, found: Thresholds, wish: CutoffWish) -> Floats:
    """How far from the wish, in units of what one would notice."""
    off = np.where(np.isnan(found.off), 1e6, np.abs(found.off - wish.off) / 0.1)
    if CUTOFF_FAMILIES[family].holding or family == "zener-relay":
        return off
    on = np.where(np.isnan(found.on), 1e6, np.abs(found.on - wish.on) / 0.3)
    never = np.where(found.on > _STAYS_BELOW_FULL * wish.rested_full, 100.0, 0.0)
    return off + on + never


def _zener_circuit(start: dict[str, Any], wish: CutoffWish, drawer: Drawer) -> CutoffCircuit:
    family: CutoffFamily = start["family"]
    names = [
        name
        for name in drawer.names("zener")
        if isinstance(part := drawer.part("zener", name), Zener)
        and wish.off - 5.0 < part.voltage.likely < wish.off - 0.7
    ]
    if not names:
        says = "no zener of the drawer lies below the wanted off voltage"
        least = min(drawer.names("zener"), default="none")
        hint = f"The lowest is {least}; a shunt reference reaches lower."
        got = format_quantity(wish.off, "voltage")
        raise InputError([Problem(says, got=got, key="off", hint=hint)])
    # Two like resistors with the filter capacitor between them: one value to buy.
    axes: dict[str, Floats] = {
        "zener": np.arange(len(names), dtype=np.float64),
        "series": _decades(470.0, 10e3, "E12"),
    }
    if family == "zener-relay-emitter":
        axes["emitter_resistor"] = _decades(10.0, 120.0, "E12")
    if family == "zener-relay-feedback":
        axes["feedback_resistor"] = _decades(4.7e3, 470e3, "E12")
    grid = _grid(**axes)
    circuits = [
        CutoffCircuit.model_validate(
            {
                **start,
                "zener": name,
                "series_resistor": "1 kΩ",
                "base_resistor": _ohms(_BASE_RESISTOR),
            }
            | {"emitter_resistor": "10 Ω", "feedback_resistor": "100 kΩ"}
        )
        for name in names
    ]
    each = [
        likely_values(circuit, drawer, load_resistance=wish.highest / wish.load_current)
        for circuit in circuits
    ]
    values = _with_grid(family, each, grid)
    cost = _cost(family, _solved(family, values, wish), wish)
    # A resistor that drops little cannot make up for a zener that is 5 % high.
    cost = cost + _UNTRIMMED * np.maximum(1.0 - grid["series"] / _TRIMS, 0.0)
    # Only the nearest are asked how they fare with a weak and with a strong transistor.
    list_ = np.argsort(cost, kind="stable")[:_SHORTLIST]
    short = _with_grid(family, each, {key: column[list_] for key, column in grid.items()})
    if short.transistor is None:
        raise TypeError(f"{family} has no transistor")
    near = cost[list_]
    for share in (0.6, 1.6):
        transistor = replace(short.transistor, gain=np.asarray(short.transistor.gain) * share)
        found = _solved(family, replace(short, transistor=transistor), wish)
        near = near + 0.25 * _cost(family, found, wish)
    grid = {key: column[list_] for key, column in grid.items()}
    cost = near
    best = int(np.argmin(cost))
    series = float(grid["series"][best])
    chosen = {
        **start,
        "zener": names[int(grid["zener"][best])],
        "series_resistor": _ohms(series),
        "zener_resistor": _ohms(series),
        "base_resistor": _ohms(_BASE_RESISTOR),
    }
    for field in ("emitter_resistor", "feedback_resistor"):
        if field in grid:
            chosen[field] = _ohms(float(grid[field][best]))
    seen = 0.5 * series
    chosen["filter_capacitor"] = _farads(seen)
    return CutoffCircuit.model_validate(chosen)


def _with_grid(
    family: CutoffFamily, each: list[CutoffValues], grid: dict[str, Floats]
) -> CutoffValues:
    """Values of the first zener's circuit with the grid's zeners and resistors."""
    first = each[0]
    which = grid["zener"].astype(int)
    zeners = [item.zener for item in each if item.zener is not None]
    if first.zener is None:
        raise TypeError(f"{family} has no zener")

    def of(field: str) -> Floats:
        likely = [float(np.ravel(getattr(zener, field))[0]) for zener in zeners]
        picked: Floats = np.array(likely, dtype=np.float64)[which]
        return picked

    zener = replace(
        first.zener,
        voltage=of("voltage"),
        test_current=of("test_current"),
        knee=of("knee"),
        slope=of("slope"),
        temperature_coefficient=of("temperature_coefficient"),
    )
    return replace(
        first,
        zener=zener,
        series_resistor=grid["series"],
        zener_resistor=grid["series"],
        emitter_resistor=grid.get("emitter_resistor"),
        feedback_resistor=grid.get("feedback_resistor"),
    )


def _divider_circuit(start: dict[str, Any], wish: CutoffWish, drawer: Drawer) -> CutoffCircuit:
    family: CutoffFamily = start["family"]
    chosen = {**start, **_drivers(family, start, wish, drawer)}
    base = CutoffCircuit.model_validate(
        {**chosen, "divider_top": "33 kΩ", "divider_bottom": "10 kΩ", "feedback_resistor": "220 kΩ"}
    )
    values = likely_values(base, drawer, load_resistance=wish.highest / wish.load_current)
    grid = _grid(
        divider_top=_decades(10e3, 470e3, "E24"),
        divider_bottom=np.array([10e3, 12e3, 15e3, 18e3, 22e3]),
        feedback_resistor=_decades(33e3, 10e6, "E24"),
    )
    if values.reference is None:
        raise TypeError(f"{family} has no reference")
    volts = float(np.ravel(values.reference.voltage)[0])
    top, bottom, back = (
        grid[key] for key in ("divider_top", "divider_bottom", "feedback_resistor")
    )
    # Open, the feedback lies beside the lower resistor; closed, beside the upper one.
    on = volts * (1.0 + top / bottom + top / back)
    off = volts * (1.0 + top * back / (top + back) / bottom)
    cost = np.abs(off - wish.off) / 0.1 + np.abs(on - wish.on) / 0.3
    list_ = np.argsort(cost, kind="stable")[:_SHORTLIST]
    short = {key: grid_values[list_] for key, grid_values in grid.items()}
    found = _solved(family, replace(values, **short), wish)  # type: ignore[arg-type]
    best = int(np.argmin(_cost(family, found, wish)))
    seen = 1.0 / sum(1.0 / short[key][best] for key in short)
    picked = {key: _ohms(float(short[key][best])) for key in short}
    tight = {key: f"{value} ±1 %" for key, value in picked.items()}
    return CutoffCircuit.model_validate(
        {**chosen, **tight, "filter_capacitor": _farads(float(seen))}
    )


def _drivers(
    family: CutoffFamily, start: dict[str, Any], wish: CutoffWish, drawer: Drawer
) -> dict[str, str]:
    found: dict[str, str] = {}
    if "mosfet" in start:
        direct = family == "reference-mosfet"
        gate = _REFERENCE_GATE if direct else _COMPARATOR_GATE
        least = _REFERENCE_DRIVE if direct else _COMPARATOR_DRIVE
        across = wish.highest - (_REFERENCE_KEEPS if direct else 0.0)
        drive = max(least, gate * (across / _MOST_GATE - 1.0))
        found = {
            "gate_resistor": _ohms(gate),
            "drive_resistor": _ohms(float(preferred_at_least(drive, "E12"))),
        }
    if family == "comparator-relay":
        relay = drawer.part("relay", start["relay"])
        transistor = drawer.part("transistor", start["transistor"])
        if not isinstance(relay, Relay) or not isinstance(transistor, Transistor):
            raise TypeError("a comparator's relay and transistor")
        coil = wish.highest / relay.coil_resistance.low
        gain = transistor.gain.low if transistor.gain is not None else 50.0
        most = (wish.off - 0.8) / (_OVERDRIVE * coil / gain)
        found = {"drive_resistor": _ohms(float(preferred_at_most(most, "E12")))}
    if family.startswith("comparator"):
        feed = (wish.off - 2.5) / _REFERENCE_FEED
        found["reference_resistor"] = _ohms(float(preferred_at_most(max(feed, 100.0), "E12")))
    return found


def _ohms(value: float) -> str:
    return format_quantity(float(nearest_preferred(value, "E24")), "resistance")


def _farads(resistance: float) -> str:
    wanted = min(_SMOOTHING / resistance, _LARGEST_CAPACITOR)
    return format_quantity(float(preferred_at_least(wanted, "E6")), "capacitance")


def preferred_neighbours(value: float, steps: Iterable[int], series: str = "E24") -> list[float]:
    """Preferred values so many places above or below a value."""
    around = _decades(value / 30.0, value * 30.0, series)
    place = int(np.argmin(np.abs(np.log(around / value))))
    return [float(around[place + step]) for step in steps if 0 <= place + step < len(around)]
