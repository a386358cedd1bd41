"""What a protection against swapped poles cannot do, with the nearest that it can."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from boomwright.build.components import Diode, Transistor
from boomwright.build.drawer import Drawer
from boomwright.build.quantities import format_quantity
from boomwright.build.soldered_polarity import gate_rating
from boomwright.circuit.blocks.polarity import POLARITY_KINDS, PolarityKind
from boomwright.errors import InputError, Problem
from boomwright.physics.fuse import fuse_kinds

__all__ = [
    "DIODE_TYPES",
    "PolarityWish",
    "checked_polarity",
    "chosen_device",
    "gate_limit",
    "reverse_volts",
]

DIODE_TYPES: dict[PolarityKind, Literal["silicon", "schottky"]] = {
    "shunt-diode": "silicon",
    "series-schottky": "schottky",
    "series-silicon": "silicon",
}
"""Type of the diode of each kind that has one."""

_VOLTS_ROOM = 1.1
_AMPS_ROOM = 1.2


@dataclass(frozen=True, kw_only=True)
class PolarityWish:
    """What is wanted of a protection.

    Parameters
    ----------
    fuse_rating, load_current, peak_current, battery_low, battery_high, battery_resistance
        As :func:`boomwright.design.polarity.design.design_polarity` has them.
    fuse_type : str
        Kind of fuse.
    """

    fuse_rating: float
    load_current: float
    peak_current: float
    battery_low: float
    battery_high: float
    battery_resistance: float
    fuse_type: str


def gate_limit(transistor: Transistor) -> float:
    """Battery volts above which its gate needs a zener [V]: three quarters of what it stands."""
    return 0.75 * gate_rating(transistor)


def reverse_volts(kind: PolarityKind, wish: PolarityWish) -> float:
    """Volts a protection must block [V].

    A series diode stands between a swapped battery and the load's capacitors, which may still be
    full; a shunt diode and a transistor, which those capacitors hold on, meet the battery alone.
    """
    return wish.battery_high * (2.0 if kind.startswith("series") else 1.0)


def checked_polarity(kind: str, wish: PolarityWish) -> None:
    """Nothing if a wish can be; all that cannot be, otherwise.

    Parameters
    ----------
    kind : str
        A key of :data:`POLARITY_KINDS`.
    wish : PolarityWish
        What is wanted.

    Raises
    ------
    InputError
        With every number out of range.
    """
    problems = []
    if kind not in POLARITY_KINDS:
        problems.append(
            Problem(
                "no such kind of polarity protection",
                got=repr(kind),
                expected=f"one of {', '.join(POLARITY_KINDS)}",
                key="kind",
            )
        )
    if wish.fuse_type not in fuse_kinds():
        problems.append(
            Problem(
                "no such kind of fuse",
                got=repr(wish.fuse_type),
                expected=f"one of {', '.join(fuse_kinds())}",
                key="fuse_type",
            )
        )
    for key, unit, least, most in (
        ("fuse_rating", "current", 0.1, 60.0),
        ("load_current", "current", 1e-3, 50.0),
        ("peak_current", "current", 1e-3, 100.0),
        ("battery_low", "voltage", 2.0, 60.0),
        ("battery_high", "voltage", 2.0, 60.0),
        ("battery_resistance", "resistance", 1e-3, 10.0),
    ):
        value = getattr(wish, key)
        if not least <= value <= most:
            problems.append(
                Problem(
                    f"{key.replace('_', ' ')} of a polarity protection",
                    got=format_quantity(value, unit),
                    expected=f"{format_quantity(least, unit)} to {format_quantity(most, unit)}",
                    key=key,
                )
            )
    if not problems:
        problems += _disagreements(wish)
    if problems:
        raise InputError(problems)


def _disagreements(wish: PolarityWish) -> list[Problem]:
    found = []
    if wish.battery_low > wish.battery_high:
        found.append(
            Problem(
                "lowest battery voltage above the highest",
                got=format_quantity(wish.battery_low, "voltage"),
                expected=f"{format_quantity(wish.battery_high, 'voltage')} or less",
                key="battery_low",
            )
        )
    if wish.peak_current < wish.load_current:
        found.append(
            Problem(
                "peak current below the mean",
                got=format_quantity(wish.peak_current, "current"),
                expected=f"{format_quantity(wish.load_current, 'current')} or more",
                key="peak_current",
            )
        )
    if wish.load_current > wish.fuse_rating:
        found.append(
            Problem(
                "a mean current that opens the fuse",
                got=format_quantity(wish.load_current, "current"),
                expected=f"below the fuse of {format_quantity(wish.fuse_rating, 'current')}",
                key="load_current",
                hint=f"a blade fuse of {format_quantity(wish.load_current / 0.75, 'current')} or "
                "more carries it for hours, if the wire does",
            )
        )
    return found


def chosen_device(
    kind: PolarityKind, wish: PolarityWish, part: str, drawer: Drawer
) -> tuple[str, Diode | Transistor]:
    """Diode or transistor of the drawer that stands a wish, with its name.

    Parameters
    ----------
    kind : str
        A key of :data:`POLARITY_KINDS`.
    wish : PolarityWish
        What is wanted.
    part : str
        Its name; the smallest that stands it if empty.
    drawer : Drawer
        The parts to choose from.

    Returns
    -------
    tuple of str and part

    Raises
    ------
    InputError
        If the drawer has none that fits; names the nearest.
    """
    pool = _pool(kind, drawer)
    if part:
        if part not in pool:
            raise InputError(
                [
                    Problem(
                        f"no such part for a {kind} in the drawer",
                        got=repr(part),
                        expected=f"one of {', '.join(pool)}",
                        key="part",
                    )
                ]
            )
        return part, pool[part]
    # A shunt diode carries nothing until the battery is reversed: what counts is its surge.
    amps = wish.fuse_rating if kind == "shunt-diode" else _AMPS_ROOM * wish.load_current
    volts = _VOLTS_ROOM * reverse_volts(kind, wish)
    fits = [name for name, device in pool.items() if _stands(device, amps, volts)]
    if fits:
        name = min(
            fits, key=lambda key: (_strained(pool[key], wish), _amps(pool[key]), _volts(pool[key]))
        )
        return name, pool[name]
    strong = [name for name in pool if _volts(pool[name]) >= volts]
    best = max(strong or pool, key=lambda key: _amps(pool[key])) if pool else "none"
    raise InputError(
        [
            Problem(
                f"no part for a {kind} in the drawer stands this",
                got=f"{format_quantity(amps, 'current')} at {format_quantity(volts, 'voltage')}",
                expected=f"at most {format_quantity(_amps(pool[best]), 'current')} ({best})"
                if pool
                else "a part of that type in the drawer",
                key="fuse_rating" if kind == "shunt-diode" else "load_current",
                hint="a smaller fuse, or a part in series"
                if kind == "shunt-diode"
                else "a P-channel transistor carries most; above that a keyed plug and a fuse are "
                "the better protection",
            )
        ]
    )


def _pool(kind: PolarityKind, drawer: Drawer) -> dict[str, Diode | Transistor]:
    found: dict[str, Diode | Transistor] = {}
    shelf = "transistor" if kind == "p-mosfet" else "diode"
    for name in drawer.names(shelf):
        device = drawer.part(shelf, name)
        if isinstance(device, Transistor):
            if device.type == "p-mosfet" and device.on_resistance is not None:
                found[name] = device
        elif isinstance(device, Diode) and device.type == DIODE_TYPES.get(kind):
            found[name] = device
    return found


def _amps(device: Diode | Transistor) -> float:
    return device.current.low if isinstance(device, Diode) else device.current_max.low


def _volts(device: Diode | Transistor) -> float:
    if isinstance(device, Diode):
        return device.voltage_reverse.low
    return device.voltage_max.low


def _stands(device: Diode | Transistor, amps: float, volts: float) -> bool:
    return _amps(device) >= amps and _volts(device) >= volts


def _strained(device: Diode | Transistor, wish: PolarityWish) -> bool:
    """Whether a transistor's gate needs a zener on the fullest battery."""
    return isinstance(device, Transistor) and wish.battery_high > gate_limit(device)
