"""What is kept of a run through time: the points of its steps, or the moments asked for."""

from __future__ import annotations

import numpy as np

from boomwright.circuit.values import Floats, Truths

__all__ = ["Record"]


class Record:
    """Points of a run: of all its steps, or what the steps say about the moments asked for.

    Parameters
    ----------
    moments : array or None
        Rising moments to keep [s]; the points of all steps if None.

    Attributes
    ----------
    points : list of (float, array, dict of str to array of bool)
        Moment [s], unknowns, and the states of that time.
    """

    def __init__(self, moments: Floats | None) -> None:
        self.points: list[tuple[float, Floats, dict[str, Truths]]] = []
        self._moments = moments
        self._kept = 0

    @property
    def whole(self) -> bool:
        """Whether the points of all steps are kept."""
        return self._moments is None

    def keep(
        self, times: tuple[float, ...], points: tuple[Floats, ...], states: dict[str, Truths]
    ) -> None:
        """Points of a step kept, or what the step says about the moments asked for.

        The first time and point are those before the step; equal ends are the very start. A third
        point between them bends the line.
        """
        begin, end = times[0], times[-1]
        if self._moments is None:
            fresh = zip(times[1:], points[1:], strict=True)
            self.points += [(time, point, states) for time, point in fresh]
            return
        while self._kept < self._moments.size and self._moments[self._kept] <= end:
            wanted = float(self._moments[self._kept])
            self._kept += 1
            if end == begin:
                self.points.append((wanted, points[-1], states))
                continue
            share = (wanted - begin) / (end - begin)
            found = points[0] + share * (points[-1] - points[0])
            if len(points) == 3:
                middle = (times[1] - begin) / (end - begin)
                bend = points[1] - points[0] - middle * (points[2] - points[0])
                found = found + bend * (share * (1.0 - share)) / (middle * (1.0 - middle))
            self.points.append((wanted, found, states))

    def arrays(self) -> tuple[Floats, Floats, dict[str, Truths]]:
        """Moments (steps,), unknowns (size, steps, samples) and states (steps, samples) by name."""
        moments = [moment for moment, _, _ in self.points]
        names = self.points[0][2] if self.points else {}
        return (
            np.asarray(moments),
            np.stack([unknowns for _, unknowns, _ in self.points], axis=1),
            {name: np.stack([states[name] for _, _, states in self.points]) for name in names},
        )
