"""How to move a cutoff's threshold: one part to change, and what a trimmer must cover."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from boomwright.build.circuits import CutoffCircuit
from boomwright.build.components import Zener
from boomwright.build.devices import Spread, cutoff_values
from boomwright.build.drawer import Drawer
from boomwright.build.draws import Draws
from boomwright.build.quantities import format_quantity
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES, cutoff_netlist
from boomwright.circuit.thresholds import find_thresholds
from boomwright.circuit.values import Floats
from boomwright.design.cutoff.spread import corner_of, thresholds_of
from boomwright.design.cutoff.values import preferred_neighbours
from boomwright.design.cutoff.wish import CutoffWish
from boomwright.physics.preferred import preferred_at_least, preferred_at_most

__all__ = [
    "DESIGNATORS",
    "Move",
    "Trimmer",
    "best_move",
    "designator_of",
    "moves_of",
    "trimmer_of",
]

DESIGNATORS = {
    "zener": {
        "series_resistor": "R1",
        "base_resistor": "R2",
        "emitter_resistor": "R3",
        "feedback_resistor": "R4",
        "zener_resistor": "R5",
        "zener": "D1",
        "transistor": "Q1",
        "relay": "K1",
        "flyback": "D2",
        "filter_capacitor": "C1",
    },
    "other": {
        "divider_top": "R1",
        "divider_bottom": "R2",
        "feedback_resistor": "R3",
        "gate_resistor": "R4",
        "drive_resistor": "R5",
        "reference_resistor": "R6",
        "mosfet": "Q1",
        "transistor": "Q1",
        "relay": "K1",
        "flyback": "D2",
        "filter_capacitor": "C1",
    },
}
"""Field → reference designator, for the zener families and for the others."""

_MOVED = (
    *("series_resistor", "zener_resistor", "base_resistor", "emitter_resistor"),
    *("feedback_resistor", "divider_top", "divider_bottom"),
)
_TRIM_VERSIONS = 240
_TRIMMED = {"series_resistor": (0.02, 12.0), "divider_top": (0.6, 1.6)}
_TRIM_STEPS = 5
_TRIM_SHARE = (0.02, 0.98)
_LOWEST = 1.0


@dataclass(frozen=True)
class Move:
    """One part changed.

    Parameters
    ----------
    designator, field : str
        Which part.
    before, after : str
        Its value now, and instead.
    off_before, off_after, on_after : float
        Thresholds [V]; ``on_after`` is nan where a button starts it.
    value : float or None
        The resistance instead [Ω], None for another zener.
    """

    designator: str
    field: str
    before: str
    after: str
    off_before: float
    off_after: float
    on_after: float
    value: float | None = None

    def __str__(self) -> str:
        """As an instruction: "fit 820 Ω in place of 1 kΩ: 10.6 → 10.3 V"."""
        return (
            f"{self.designator}: fit {self.after} in place of {self.before}: lets go at "
            f"{self.off_after:.2f} V instead of {self.off_before:.2f} V"
        )


@dataclass(frozen=True)
class Trimmer:
    """What a trimmer in place of a resistor must cover.

    Parameters
    ----------
    designator, field : str
        The resistor it replaces.
    low, high : float
        Range that brings the off voltage of 96 in 100 builds to the wanted one [Ω].
    fixed, trimmer : float
        Preferred values of the resistor and the trimmer in series that cover it [Ω].
    covers : float
        Share of the builds that they bring there.
    """

    designator: str
    field: str
    low: float
    high: float
    fixed: float
    trimmer: float
    covers: float


def designator_of(circuit: CutoffCircuit, field: str) -> str:
    """Reference designator of a field, ``field`` itself where it has none."""
    kind = "zener" if circuit.family.startswith("zener") else "other"
    return DESIGNATORS[kind].get(field.split(".", maxsplit=1)[0], field)


def moves_of(
    circuit: CutoffCircuit,
    drawer: Drawer,
    wish: CutoffWish,
    *,
    places: dict[str, Floats] | None = None,
) -> tuple[Move, ...]:
    """Thresholds with each resistor two preferred values up and down, and with other zeners.

    Parameters
    ----------
    circuit : CutoffCircuit
        The circuit.
    drawer : Drawer
        Where its devices are looked up.
    wish : CutoffWish
        Load and highest voltage.
    places : dict or None
        Where this very circuit's values lie in their ranges; all likely if None.

    Returns
    -------
    tuple of Move
        Sorted by the off voltage they lead to; those that lead nowhere are left out.
    """
    load = wish.highest / wish.load_current
    spread = corner_of(places or {}, 1)
    values = cutoff_values(circuit, drawer, spread, load_resistance=load)
    fields = [field for field in _MOVED if getattr(circuit, field) is not None]
    found: list[tuple[str, float]] = []
    arrays: dict[str, list[float]] = {field: [] for field in fields}
    for field in fields:
        now = float(np.ravel(getattr(values, field))[0])
        nominal = getattr(circuit, field).likely
        series = "E24" if field.startswith("divider") else "E12"
        for other in preferred_neighbours(nominal, (-2, -1, 1, 2), series):
            found.append((field, other))
            for name in fields:
                here = float(np.ravel(getattr(values, name))[0])
                arrays[name].append(now * other / nominal if name == field else here)
    batch = replace(values, **{name: np.array(list_) for name, list_ in arrays.items()})  # type: ignore[arg-type]
    netlist = cutoff_netlist(circuit.family, batch, voltage=wish.highest)
    watch = CUTOFF_FAMILIES[circuit.family].watch
    solved = find_thresholds(netlist, watch, lowest=_LOWEST, highest=wish.highest)
    base = thresholds_of(circuit, drawer, corner_of(places or {}, 1), wish)
    off_before = float(base.off[0])
    moves = [
        Move(
            designator_of(circuit, field),
            field,
            format_quantity(getattr(circuit, field).likely, "resistance"),
            format_quantity(other, "resistance"),
            off_before,
            float(off),
            float(on),
            other,
        )
        for (field, other), off, on in zip(found, solved.off, solved.on, strict=True)
    ]
    moves += _other_zeners(circuit, drawer, wish, places or {}, off_before)
    usable = [move for move in moves if np.isfinite(move.off_after)]
    return tuple(sorted(usable, key=lambda move: move.off_after))


def _other_zeners(
    circuit: CutoffCircuit,
    drawer: Drawer,
    wish: CutoffWish,
    places: dict[str, Floats],
    off_before: float,
) -> list[Move]:
    if "zener" not in CUTOFF_FAMILIES[circuit.family].needs:
        return []
    volts = {
        name: part.voltage.likely
        for name in drawer.names("zener")
        if isinstance(part := drawer.part("zener", name), Zener)
    }
    order = sorted(volts, key=lambda name: volts[name])
    place = order.index(circuit.zener)
    moves = []
    for name in order[max(place - 1, 0) : place + 2]:
        if name != circuit.zener:
            other = circuit.model_copy(update={"zener": name})
            found = thresholds_of(other, drawer, corner_of(places, 1), wish)
            off, on = float(found.off[0]), float(found.on[0])
            moves.append(Move("D1", "zener", circuit.zener, name, off_before, off, on))
    return moves


def best_move(moves: tuple[Move, ...], wanted: float) -> Move | None:
    """The one change that brings the off voltage closest to the wanted one; None if none helps.

    Examples
    --------
    >>> up = Move("R1", "series_resistor", "1 kΩ", "1.2 kΩ", 10.6, 10.9, 11.5)
    >>> down = Move("R1", "series_resistor", "1 kΩ", "820 Ω", 10.6, 10.3, 11.0)
    >>> print(best_move((up, down), 10.2))
    R1: fit 820 Ω in place of 1 kΩ: lets go at 10.30 V instead of 10.60 V
    """
    best = min(moves, key=lambda move: abs(move.off_after - wanted), default=None)
    if best is None or abs(best.off_after - wanted) >= abs(best.off_before - wanted):
        return None
    return best


def trimmer_of(circuit: CutoffCircuit, drawer: Drawer, wish: CutoffWish) -> Trimmer:
    """What a trimmer must cover so that any build of the circuit can be set to the wanted voltage.

    Parameters
    ----------
    circuit : CutoffCircuit
        The circuit.
    drawer : Drawer
        Where its devices are looked up.
    wish : CutoffWish
        The wanted off voltage.

    Returns
    -------
    Trimmer
    """
    field = "series_resistor" if circuit.family.startswith("zener") else "divider_top"
    spread = Spread(Draws(_TRIM_VERSIONS), "cutoff")
    load = wish.highest / wish.load_current
    values = cutoff_values(circuit, drawer, spread, load_resistance=load)
    nominal = getattr(circuit, field).likely
    watch = CUTOFF_FAMILIES[circuit.family].watch

    def off_with(resistance: Floats) -> Floats:
        batch = replace(values, **{field: resistance})  # type: ignore[arg-type]
        netlist = cutoff_netlist(circuit.family, batch, voltage=wish.highest)
        return find_thresholds(netlist, watch, lowest=_LOWEST, highest=wish.highest).off

    # A divider's resistor hardly moves; a zener's has to make up for the zener.
    least, most = (share * nominal for share in _TRIMMED[field])
    low = np.full(_TRIM_VERSIONS + 1, least)
    high = np.full(_TRIM_VERSIONS + 1, most)
    now = np.full(_TRIM_VERSIONS + 1, nominal)
    # False position on a curve that rises: more resistance, higher threshold.
    off_low, off_high = off_with(low), off_with(high)
    for _ in range(_TRIM_STEPS):
        off = off_with(now)
        above = ~(off < wish.off)
        low, off_low = np.where(above, low, now), np.where(above, off_low, off)
        high, off_high = np.where(above, now, high), np.where(above, off, off_high)
        slope = np.where(np.isfinite(off_high - off_low), off_high - off_low, 1.0)
        share = (wish.off - off_low) / np.where(np.abs(slope) < 1e-9, 1.0, slope)
        share = np.where(np.isfinite(share), np.clip(share, 0.05, 0.95), 0.5)
        now = low + share * (high - low)
    reachable = (now > 1.2 * least) & (now < 0.9 * most)
    wanted = np.where(reachable, now, np.where(now <= 1.2 * least, 0.0, most))
    first, last = np.quantile(wanted, _TRIM_SHARE)
    fixed = float(preferred_at_most(max(first, 10.0), "E12"))
    span = float(preferred_at_least(max(last - fixed, 10.0), "E6"))
    covers = float(np.mean((wanted >= fixed * 0.98) & (wanted <= (fixed + span) * 1.02)))
    return Trimmer(
        designator_of(circuit, field), field, float(first), float(last), fixed, span, covers
    )
