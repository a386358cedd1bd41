"""What one half of a split should sound like, and what its filter must not do anywhere."""

from __future__ import annotations

import numpy as np

from boomwright.design.split.section import Section, section_steps
from boomwright.physics.arrays import Complexes, Floats
from boomwright.physics.curves import decibels
from boomwright.physics.filter_values import filter_response
from boomwright.physics.ladder import ladder

__all__ = ["FARTHEST", "GAIN_MOST", "RISE_MOST", "Target"]

GAIN_MOST = 1.5
"""Volts at a driver over the amplifier's that a filter may make anywhere [dB]."""

RISE_MOST = 3.0
"""How far a driver's sound may come back up over its target outside its band [dB]."""

FARTHEST = 5.0
"""How far from the book's value a part may be searched, as a factor."""

_POINTS, _WIDE = 72, 180
_FLAT = 0.5
"""Part of the band that counts for the level: less than this below the target's best [dB]."""

_LEAST_SHARE, _SHORT = 0.85, 60.0
"""Least impedance that a filter may make of the driver's own, and what less counts [dB]."""

_RESERVE = 0.3
"""How far below the most a search aims, as parts come in steps and the grid has gaps [dB]."""

_GAIN_WEIGHT, _RISE_WEIGHT = 15.0, 1.5
"""What a decibel too many counts over one of stray."""

_LOSS_MOST, _LOSS_WEIGHT = 1.0, 8.0
"""What a woofer's filter may take from its level, as coils do, and what more counts [dB]."""

_DROWNED = -25.0
"""Level over the band's at which a driver changes the sum by half a decibel at most [dB]."""


class Target:
    """Where a section's sound should be, on a grid over the whole band.

    Parameters
    ----------
    section : Section
        The section.
    """

    def __init__(self, section: Section) -> None:
        self.section = section
        at, high = section.frequency, section.high_pass
        ends = (at / 2.5, 6.0 * at) if high else (at / 6.0, 2.5 * at)
        near = np.geomspace(max(ends[0], 15.0), min(ends[1], 22e3), _POINTS)
        # Far from the split coil and capacitor may ring, with each other or with the driver's coil.
        self.frequency = np.sort(np.concatenate([near, np.geomspace(20.0, 20e3, _WIDE)]))
        counts = (self.frequency >= near[0]) & (self.frequency <= near[-1])
        self.load: Complexes = section.drive.impedance(self.frequency)[:1]
        self.own = decibels(section.drive.voice.shape(self.frequency))[0]
        ideal = filter_response(
            section.alignment,
            section.order,
            frequency=self.frequency,
            corner=at,
            high_pass=high,
        )
        inside = self.frequency >= at if high else self.frequency <= at
        # A filter cannot lift what the driver itself has lost at the other end of its band.
        self.wanted = decibels(ideal) + np.where(inside, np.minimum(self.own, 0.0), 0.0)
        self.weight = counts * np.clip(1.0 + (self.wanted + 12.0) / 16.0, 0.15, 1.0)
        flat = counts & (self.wanted > np.max(self.wanted[counts]) - _FLAT)
        self.flat = flat.astype(np.float64)
        self.least = float(np.min(np.abs(self.load)))
        self.ceiling = np.where(
            inside, np.inf, np.maximum(self.wanted + RISE_MOST - _RESERVE, _DROWNED)
        )

    def residuals(self, values: Floats, start: Floats) -> Floats:
        """Weighted strays in dB, then what keeps impedance, volts and values within reason."""
        error, over, lacking, _ = self._terms(*self._solved(values))
        near = 0.25 * np.log2(values / start)
        return np.concatenate([error * self.weight, over, lacking, near], axis=-1)

    def cost(self, values: Floats) -> Floats:
        """Mean square of the weighted strays, and what ringing, low load and lost level add."""
        return self.cost_of(*self._solved(values))

    def cost_of(self, transfer: Complexes, impedance: Complexes) -> Floats:
        """The same for a filter that has been solved on the target's frequencies."""
        error, over, lacking, _ = self._terms(transfer, impedance)
        strays = np.sum((error * self.weight) ** 2, axis=-1) / np.sum(self.weight**2)
        return np.asarray(strays + np.max(over, axis=-1) ** 2 + lacking[..., 0] ** 2)

    def error(self, values: Floats) -> tuple[float, float]:
        """Weighted root mean square of the strays, and the level left in the band [dB]."""
        error, _, _, taken = self._terms(*self._solved(values))
        squares = np.sum((error * self.weight) ** 2, axis=-1) / np.sum(self.weight**2)
        return float(np.sqrt(squares)), float(taken[0])

    def _solved(self, values: Floats) -> tuple[Complexes, Complexes]:
        steps = [*section_steps(self.section, values), *self.section.tail]
        load = self.load if values.ndim > 1 else self.load[0]
        found = ladder(steps, load, self.frequency)
        return found.transfer, found.impedance

    def _terms(
        self, transfer: Complexes, impedance: Complexes
    ) -> tuple[Floats, Floats, Floats, Floats]:
        """Strays, what gain and rise have too much, what load and level lack, the level left."""
        gain = decibels(transfer)
        error = gain + self.own - self.wanted
        # What windings and pad take all over is the level's affair, not the shape's.
        taken = np.sum(error * self.flat, axis=-1, keepdims=True) / np.sum(self.flat)
        rise = np.maximum(0.0, gain + self.own - taken - self.ceiling)
        loud = np.maximum(0.0, gain - GAIN_MOST + _RESERVE)
        low = np.min(np.abs(impedance), axis=-1, keepdims=True) / self.least
        short = _SHORT * np.maximum(0.0, _LEAST_SHARE - low)
        # A pad may turn a tweeter down; a woofer's level is what all the others are led down to.
        lost = 0.0 if self.section.high_pass else np.maximum(0.0, -taken - _LOSS_MOST)
        lacking = short + _LOSS_WEIGHT * lost
        return error - taken, _GAIN_WEIGHT * loud + _RISE_WEIGHT * rise, lacking, taken
