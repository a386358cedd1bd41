"""Which part explains the thresholds that were read on the bench, and what to change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from boomwright.build.circuits import CutoffCircuit
from boomwright.build.drawer import Drawer
from boomwright.build.quantities import Quantity, format_quantity
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES
from boomwright.circuit.values import Floats
from boomwright.design.cutoff.moves import Move, moves_of
from boomwright.design.cutoff.spread import Influence, corner_of, thresholds_of
from boomwright.design.cutoff.wish import CutoffWish
from boomwright.errors import InputError, Problem

__all__ = ["Calibration", "Suspect", "calibration_of"]

# A meter and a hand on a supply read a threshold about this well [V]; common practice, no source.
_READ = 0.02
_STEPS = 4
_FITS = 0.05
_OUT_OF_RANGE = 1.2
_FARTHEST = 2.0
_MOST = 4
_NEAREST = 3


class Suspect(NamedTuple):
    """A part that would explain the readings.

    Parameters
    ----------
    field : str
        The value, as the circuit or :class:`~boomwright.design.cutoff.spread.Influence` names it.
    value : str
        What it would have to be.
    place : float
        Where that lies in its range: 1 at the upper end, -1 at the lower.
    share : float
        Share of the difference that it explains.
    """

    field: str
    value: str
    place: float
    share: float


@dataclass(frozen=True)
class Calibration:
    """Which part explains the measured thresholds.

    Parameters
    ----------
    off, on : float
        Measured [V]; ``on`` is nan where it was not.
    off_fitted, on_fitted : float
        What the circuit gives with the parts as they must be [V].
    suspects : tuple of Suspect
        The parts that explain the reading best, the likeliest first. A part of another value than
        the circuit says, which alone meets both readings, stands before all others.
    fits : bool
        Whether that explains the reading at all.
    moves : tuple of Move
        Changes that bring this very circuit closest to the wanted off voltage.
    """

    off: float
    on: float
    off_fitted: float
    on_fitted: float
    suspects: tuple[Suspect, ...]
    fits: bool
    moves: tuple[Move, ...]


def calibration_of(
    circuit: CutoffCircuit,
    drawer: Drawer,
    wish: CutoffWish,
    influences: tuple[Influence, ...],
    *,
    off: float,
    on: float | None = None,
) -> Calibration:
    """Which part explains thresholds that were measured, and what to change.

    Every value may lie somewhere in its range; the combination is sought that meets the readings
    with the least departure from the likely values, each weighed by its range. With two readings
    and a dozen parts that is no proof, but it tells where to look first. Where another preferred
    value of one part alone meets both readings, that part was probably fitted by mistake.

    Parameters
    ----------
    circuit : CutoffCircuit
        The circuit as built.
    drawer : Drawer
        Where its devices are looked up.
    wish : CutoffWish
        The wanted off voltage.
    influences : tuple of Influence
        Of this circuit.
    off, on : float
        Measured voltages [V]; on may be None.

    Returns
    -------
    Calibration

    Raises
    ------
    InputError
        If a reading cannot be: on below off, or a circuit with a button given an on voltage.
    """
    _check(circuit, wish, off, on)
    wanted = np.array([off] if on is None else [off, on])
    place, fitted = _placed(circuit, drawer, wish, influences, wanted)
    misses = np.abs(fitted[: wanted.size] - wanted)
    met = (
        bool(np.all(misses < _FITS)) and float(np.max(np.abs(place), initial=0.0)) <= _OUT_OF_RANGE
    )
    suspects = _suspects(influences, place)
    wrong = _wrong_values(circuit, drawer, wish, wanted)
    if wrong and (on is not None or not met):
        suspects = (*(suspect for suspect, _ in wrong), *suspects)
        if not met:
            fitted = wrong[0][1]
    here = _corner(influences, np.nan_to_num(place))
    moves = moves_of(circuit, drawer, wish, places=here)
    closest = sorted(moves, key=lambda move: abs(move.off_after - wish.off))[:_NEAREST]
    return Calibration(
        off,
        np.nan if on is None else on,
        float(fitted[0]),
        float(fitted[1]),
        suspects[:_MOST],
        met or bool(wrong),
        tuple(closest),
    )


def _check(circuit: CutoffCircuit, wish: CutoffWish, off: float, on: float | None) -> None:
    problems = []
    if on is not None and CUTOFF_FAMILIES[circuit.family].holding:
        says = "this circuit comes on by its button: it has no on voltage"
        problems.append(Problem(says, got=f"{on:.4g} V", key="--measured-on"))
    if on is not None and on < off:
        says = "measured on below measured off"
        got = f"on {on:.4g} V, off {off:.4g} V"
        problems.append(Problem(says, got=got, hint="Sweep down for off, then up for on."))
    if not 0.0 < off < 1.2 * wish.highest:
        expected = f"between 0 and {1.2 * wish.highest:.4g} V"
        problems.append(
            Problem("measured off", got=f"{off:.4g} V", expected=expected, key="--measured-off")
        )
    if problems:
        raise InputError(problems)


def _corner(influences: tuple[Influence, ...], place: Floats) -> dict[str, Floats]:
    return {item.field: np.array([value]) for item, value in zip(influences, place, strict=True)}


def _placed(
    circuit: CutoffCircuit,
    drawer: Drawer,
    wish: CutoffWish,
    influences: tuple[Influence, ...],
    wanted: Floats,
) -> tuple[Floats, Floats]:
    """Places of all values that meet the readings with the least departure, and what they give."""
    rows = np.array(
        [
            [0.5 * (item.off_high - item.off_low) for item in influences],
            [0.5 * float(np.nan_to_num(item.on_high - item.on_low)) for item in influences],
        ]
    )[: wanted.size]
    place = np.zeros(len(influences))
    fitted = _given(circuit, drawer, wish, influences, place)
    for _ in range(_STEPS):
        left = wanted - fitted[: wanted.size] + rows @ place
        weight = rows @ rows.T + np.eye(wanted.size) * (_READ / 3.0) ** 2
        step = np.clip(rows.T @ np.linalg.solve(weight, left), -_FARTHEST, _FARTHEST)
        given = _given(circuit, drawer, wish, influences, step)
        if not np.all(np.isfinite(given[: wanted.size])):
            # There it never lets go, or never comes back: nothing further that way.
            break
        place, fitted = step, given
    return place, fitted


def _given(
    circuit: CutoffCircuit,
    drawer: Drawer,
    wish: CutoffWish,
    influences: tuple[Influence, ...],
    place: Floats,
) -> Floats:
    found = thresholds_of(circuit, drawer, corner_of(_corner(influences, place), 1), wish)
    return np.array([found.off[0], found.on[0]])


def _suspects(influences: tuple[Influence, ...], place: Floats) -> tuple[Suspect, ...]:
    moved = np.array([0.5 * (item.off_high - item.off_low) for item in influences])
    explained = np.abs(moved * place)
    total = max(float(explained.sum()), 1e-9)
    suspects = []
    for number in np.argsort(-explained)[:_MOST]:
        item, at = influences[number], float(place[number])
        side = item.quantity.high if at > 0 else item.quantity.low
        value = item.quantity.likely + abs(at) * (side - item.quantity.likely)
        text = format_quantity(value, item.quantity.kind)
        suspects.append(Suspect(item.field, text, at, float(explained[number] / total)))
    return tuple(suspects)


def _wrong_values(
    circuit: CutoffCircuit, drawer: Drawer, wish: CutoffWish, wanted: Floats
) -> list[tuple[Suspect, Floats]]:
    """Parts of another preferred value, or the next zener, that alone meet the readings."""
    found = []
    for move in moves_of(circuit, drawer, wish):
        given = np.array([move.off_after, move.on_after])
        misses = np.abs(given[: wanted.size] - wanted)
        if np.all(misses <= _READ):
            place = np.inf
            quantity = getattr(circuit, move.field)
            if isinstance(quantity, Quantity) and move.value is not None:
                half = max(0.5 * (quantity.high - quantity.low), 1e-12)
                place = (move.value - quantity.likely) / half
            suspect = Suspect(move.field, move.after, place, 1.0)
            found.append((float(misses.max()), suspect, given))
    return [(suspect, given) for _, suspect, given in sorted(found, key=lambda item: item[0])]
