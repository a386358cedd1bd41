"""What soldered circuits share: how what they make is written, and how unknown parts are told."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from pydantic import ValidationError

from boomwright.build.drawer import Drawer
from boomwright.build.nearest import nearest
from boomwright.build.power import Named
from boomwright.circuit.values import Floats
from boomwright.errors import Problem

__all__ = ["found_part", "part_problems", "written"]

_SHOWN = (0.02, 0.98)

Part = TypeVar("Part", bound=Named)


def found_part(kind: str, name: str, model: type[Part], drawer: Drawer) -> Part | None:
    """A part of the drawer, None where it has none of that name or it is something else."""
    if not name or drawer.filling(kind, name) is None:
        return None
    try:
        part = drawer.part(kind, name)
    except ValidationError:
        return None
    return part if isinstance(part, model) else None


def written(values: Floats, unit: str) -> str:
    """A value with its range as the file would write it.

    Parameters
    ----------
    values : array (versions,)
        Values, the likely one first.
    unit : str
        Their unit.

    Returns
    -------
    str

    Examples
    --------
    >>> written(np.array([2.0, 1.0, 3.0]), "V")
    '2 V [1.04 to 2.96] (typical)'
    """
    usable = values[np.isfinite(values)]
    # A version that never comes to it has no figure; where the likely one has none, the middle.
    likely = float(values[0] if np.isfinite(values[0]) else np.median(usable))
    low, high = (float(end) for end in np.quantile(usable, _SHOWN))
    low, high = min(low, likely), max(high, likely)
    return f"{likely:.6g} {unit} [{low:.6g} to {high:.6g}] (typical)"


def part_problems(
    field: str, name: str, kinds: tuple[str, ...], drawer: Drawer
) -> list[tuple[str, Problem]]:
    """Problem of a part that the drawer does not have, with the key it stands at.

    Parameters
    ----------
    field : str
        Key that names it.
    name : str
        What is written there.
    kinds : tuple of str
        Kinds of the drawer that it may be.
    drawer : Drawer
        Where it is looked up.

    Returns
    -------
    list of (key, Problem)
        Empty where it is there.
    """
    for kind in kinds:
        if drawer.filling(kind, name) is None:
            continue
        if found_part(kind, name, Named, drawer) is None:
            hint = f"'boomwright drawer {kind}' reads your parts."
            says = f"this {kind} of the drawer is not whole"
            return [(field, Problem(says, got=repr(name), hint=hint))]
        return []
    known = [other for kind in kinds for other in drawer.names(kind)]
    lists = " and ".join(f"'boomwright drawer {kind}'" for kind in kinds)
    hint = f"{nearest(name, known)} {lists} {'list' if len(kinds) > 1 else 'lists'} them.".strip()
    says = f"no such {' or '.join(kinds)} in the drawer"
    return [(field, Problem(says, got=repr(name), hint=hint))]
