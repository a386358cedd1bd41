"""How far a cutoff's thresholds move with each of its parts, alone and all at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.build.circuits import CutoffCircuit
from boomwright.build.devices import Spread, cutoff_values
from boomwright.build.drawer import Drawer
from boomwright.build.draws import Draws
from boomwright.build.quantities import Quantity
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES, cutoff_netlist
from boomwright.circuit.thresholds import Thresholds, find_thresholds
from boomwright.circuit.values import NOMINAL_TEMPERATURE, Floats, Value
from boomwright.design.cutoff.wish import CutoffWish

__all__ = ["Corner", "Influence", "corner_of", "influences_of", "thresholds_of", "worst_cases"]

_LOWEST = 1.0
_LEAST = 0.2


@dataclass(frozen=True, eq=False)
class Corner(Spread):
    """Values at chosen places of their ranges instead of draws.

    Parameters
    ----------
    draws, owner
        As for :class:`~boomwright.build.devices.Spread`; not drawn from.
    places : dict of str to array
        Field → place between -1 (lowest) and 1 (highest), shape (samples,); 0 (likely) if absent.
    samples : int
        Size of the batch.
    seen : dict of str to Quantity
        Every field that was asked for, filled in on the way.
    """

    places: dict[str, Floats]
    samples: int
    seen: dict[str, Quantity]

    def take(self, field: str, quantity: Quantity) -> Floats:
        """Values of a quantity at its places."""
        self.seen[field] = quantity
        place = np.broadcast_to(self.places.get(field, np.zeros(1)), (self.samples,))
        up, down = quantity.high - quantity.likely, quantity.likely - quantity.low
        values = quantity.likely + np.where(place > 0.0, place * up, place * down)
        # Beyond its range a value may go while a reading is explained, but not through zero.
        return np.maximum(values, _LEAST * quantity.low) if quantity.low > 0.0 else values


@dataclass(frozen=True)
class Influence:
    """What one value of a circuit does to its thresholds.

    Parameters
    ----------
    field : str
        ``zener.voltage``, ``transistor.gain``, ``series_resistor`` and so on.
    quantity : Quantity
        Its likely value and range.
    off_low, off_high, on_low, on_high : float
        Change of the thresholds when it stands at its lowest and at its highest [V]; nan where
        there is no such threshold.
    """

    field: str
    quantity: Quantity
    off_low: float
    off_high: float
    on_low: float
    on_high: float

    @property
    def off_span(self) -> float:
        """How far it moves the off voltage in all [V]."""
        return abs(self.off_high - self.off_low)


def corner_of(places: dict[str, Floats], samples: int) -> Corner:
    """Corner with these places and nothing seen yet."""
    return Corner(Draws(0), "cutoff", places, samples, {})


def thresholds_of(
    circuit: CutoffCircuit,
    drawer: Drawer,
    spread: Spread,
    wish: CutoffWish,
    *,
    temperature: Value = NOMINAL_TEMPERATURE,
) -> Thresholds:
    """Thresholds of a circuit with its values taken from a spread.

    Parameters
    ----------
    circuit : CutoffCircuit
        The circuit.
    drawer : Drawer
        Where its devices are looked up.
    spread : Spread
        Where its values come from.
    wish : CutoffWish
        Load and highest voltage.
    temperature : float or array
        Temperature of all parts [K].

    Returns
    -------
    Thresholds
    """
    load = wish.highest / wish.load_current
    values = cutoff_values(circuit, drawer, spread, load_resistance=load)
    netlist = cutoff_netlist(circuit.family, values, voltage=wish.highest)
    return find_thresholds(
        netlist,
        CUTOFF_FAMILIES[circuit.family].watch,
        lowest=_LOWEST,
        highest=wish.highest,
        temperature=temperature,
    )


def influences_of(
    circuit: CutoffCircuit, drawer: Drawer, wish: CutoffWish
) -> tuple[Influence, ...]:
    """Each value at its lowest and its highest, all others likely; the strongest first.

    Parameters
    ----------
    circuit : CutoffCircuit
        The circuit.
    drawer : Drawer
        Where its devices are looked up.
    wish : CutoffWish
        Load and highest voltage.

    Returns
    -------
    tuple of Influence
        Values that are certain, and those that move nothing, are left out.
    """
    first = corner_of({}, 1)
    load = wish.highest / wish.load_current
    cutoff_values(circuit, drawer, first, load_resistance=load)
    fields = [field for field, quantity in first.seen.items() if not quantity.certain]
    samples = 1 + 2 * len(fields)
    places = {}
    for number, field in enumerate(fields):
        place = np.zeros(samples)
        place[1 + 2 * number], place[2 + 2 * number] = -1.0, 1.0
        places[field] = place
    found = thresholds_of(circuit, drawer, corner_of(places, samples), wish)
    off, on = found.off - found.off[0], found.on - found.on[0]
    all_ = [
        Influence(
            field,
            first.seen[field],
            *(float(values[1 + 2 * number + side]) for values in (off, on) for side in (0, 1)),
        )
        for number, field in enumerate(fields)
    ]
    moved = [
        item for item in all_ if item.off_span > 1e-3 or abs(item.on_high - item.on_low) > 1e-3
    ]
    return tuple(sorted(moved, key=lambda item: -item.off_span))


def worst_cases(
    circuit: CutoffCircuit,
    drawer: Drawer,
    wish: CutoffWish,
    influences: tuple[Influence, ...],
    temperatures: tuple[float, float],
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Lowest and highest off and on voltage with every value at its worst end at once.

    Parameters
    ----------
    circuit : CutoffCircuit
        The circuit.
    drawer : Drawer
        Where its devices are looked up.
    wish : CutoffWish
        Load and highest voltage.
    influences : tuple of Influence
        Which way each value moves the thresholds.
    temperatures : tuple of float
        Coldest and hottest [K]; both are tried.

    Returns
    -------
    tuple of (low, high)
        Of off, then of on [V].
    """
    places = {}
    for item in influences:
        off = np.sign(item.off_high - item.off_low)
        on = np.sign(np.nan_to_num(item.on_high - item.on_low))
        places[item.field] = np.repeat([-off, off, -on, on], 2)
    heat = np.tile(temperatures, 4)
    found = thresholds_of(circuit, drawer, corner_of(places, 8), wish, temperature=heat)
    off, on = found.off, found.on
    return (
        (float(np.min(off[:2])), float(np.max(off[2:4]))),
        (float(np.min(on[4:6])), float(np.max(on[6:]))),
    )
