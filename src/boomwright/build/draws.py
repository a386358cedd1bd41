"""Uncertain inputs as arrays: the likely value first, then draws from the stated range."""

from __future__ import annotations

import zlib
from dataclasses import dataclass

import numpy as np

from boomwright.build.quantities import Quantity
from boomwright.physics.arrays import Floats

__all__ = ["Draws", "Taken"]


@dataclass(frozen=True, eq=False)
class Taken:
    """A quantity that has been drawn.

    Parameters
    ----------
    part, field : str
        Name of the part and of its field.
    quantity : Quantity
        Likely value and range [SI].
    values : array (versions, 1)
        Values [SI], likely one first.
    """

    part: str
    field: str
    quantity: Quantity
    values: Floats


class Draws:
    """Values for many versions of one build that differ within what is known of it.

    Version 0 has the likely value of everything. The others are a Latin hypercube: each quantity's
    range is cut into as many slices of equal chance as there are versions, and each slice is met
    once. Half of the versions lie below the likely value and half above, thinning out towards the
    ends as a triangle does. Draws hang on the name of the quantity only, so two builds that share a
    part share its draws, and what differs between them is the build and not luck.

    Parameters
    ----------
    count : int
        Versions besides the likely one.
    seed : int
        Another seed gives another set of versions.

    Examples
    --------
    >>> from boomwright.build.quantities import parse_quantity
    >>> draws = Draws(100)
    >>> values = draws.take("battery", "capacity", parse_quantity("6 to 8 Ah", "charge"))
    >>> values.shape, float(values[0, 0] / 3600)
    ((101, 1), 7.0)
    """

    def __init__(self, count: int, *, seed: int = 0) -> None:
        if count < 0:
            raise ValueError(f"count of versions must be 0 or more, got {count}")
        self.count = count
        self.seed = seed
        self._taken: dict[tuple[str, str], Taken] = {}

    @property
    def versions(self) -> int:
        """Versions in all, the likely one included."""
        return self.count + 1

    @property
    def taken(self) -> tuple[Taken, ...]:
        """Every uncertain quantity taken so far, in the order of the first time."""
        return tuple(self._taken.values())

    def uniform(self, part: str, field: str) -> Floats:
        """Stratified draws between 0 and 1 for a quantity, shape (count,)."""
        key = zlib.crc32(f"{part}\0{field}".encode())
        generator = np.random.default_rng([self.seed, key])
        slices = generator.permutation(self.count) + generator.random(self.count)
        return slices / max(self.count, 1)

    def take(self, part: str, field: str, quantity: Quantity) -> Floats:
        """Values of a quantity, likely one first.

        Parameters
        ----------
        part, field : str
            Name of the part and of its field.
        quantity : Quantity
            Likely value and range [SI].

        Returns
        -------
        array, shape (count + 1, 1), or (1, 1) where the value is certain
            Values [SI].
        """
        if quantity.certain or self.count == 0:
            return np.full((1, 1), quantity.likely)
        known = self._taken.get((part, field))
        if known is None or known.quantity != quantity:
            known = Taken(part, field, quantity, self._drawn(part, field, quantity))
            self._taken[part, field] = known
        return known.values

    def _drawn(self, part: str, field: str, quantity: Quantity) -> Floats:
        chance = self.uniform(part, field)
        below = 1.0 - np.sqrt(np.clip(2.0 * chance, 0.0, 1.0))
        above = 1.0 - np.sqrt(np.clip(2.0 * (1.0 - chance), 0.0, 1.0))
        drawn = np.where(
            chance < 0.5,
            quantity.likely - (quantity.likely - quantity.low) * below,
            quantity.likely + (quantity.high - quantity.likely) * above,
        )
        values = np.concatenate([[quantity.likely], drawn])[:, np.newaxis]
        # Every taker sees the same array, so none may write into it.
        values.flags.writeable = False
        return values
