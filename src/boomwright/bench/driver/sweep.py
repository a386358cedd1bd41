"""An impedance curve as it was measured: ohms over frequency, with phase where there is one."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from boomwright.design.sheet import Remark
from boomwright.physics.arrays import Floats

__all__ = ["ImpedanceSweep", "mended_phase", "minimum_phase", "tidied"]

_WEAKEST = 0.5
"""Least correlation of a phase with the slope of its own magnitude."""
_RADIANS = (0.2, 5.0)
_DEGREES = (11.0, 290.0)
_FEWEST = 8


@dataclass(frozen=True, eq=False)
class ImpedanceSweep:
    """Ohms at a row of frequencies.

    Parameters
    ----------
    frequency : array (points,)
        Rising [Hz].
    magnitude : array (points,)
        Modulus of the impedance [Ω], above 0.
    phase : array (points,) or None
        Its angle [rad]; None where only magnitudes were read.
    source : str
        Where it comes from, for messages.
    error : array (points,) or None
        Standard error of each magnitude as a share of it [1]; None where the scatter of the
        points themselves has to tell.
    remarks : tuple of Remark
        What was put right on the way.
    resistor : float
        Known resistor between two inputs that may differ [Ω]; infinite where nothing hangs on
        their being alike.
    """

    frequency: Floats
    magnitude: Floats
    phase: Floats | None = None
    source: str = ""
    error: Floats | None = None
    remarks: tuple[Remark, ...] = ()
    resistor: float = np.inf

    def without(self, out: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> ImpedanceSweep:
        """The same sweep without some of its points."""
        keep = ~out
        return replace(
            self,
            frequency=self.frequency[keep],
            magnitude=self.magnitude[keep],
            phase=None if self.phase is None else self.phase[keep],
            error=None if self.error is None else self.error[keep],
        )

    def rematched(self, ratio: float) -> ImpedanceSweep:
        """The same sweep, had the driver's input read so much more than the amplifier's.

        Parameters
        ----------
        ratio : float
            Of the two inputs [1].

        Returns
        -------
        ImpedanceSweep

        Notes
        -----
        With H = Z/(Z + R) read as m H, the driver has R H/(1 - H) = Z/(m + (m - 1) Z/R).

        Examples
        --------
        >>> peak = ImpedanceSweep(np.array([60.0]), np.array([40.0]), resistor=10.0)
        >>> round(float(peak.rematched(1.01).magnitude[0]), 2)
        38.1
        """
        turn = 1.0 if self.phase is None else np.exp(1j * self.phase)
        whole = self.magnitude * turn
        found = whole / (ratio + (ratio - 1.0) * whole / self.resistor)
        return replace(
            self,
            magnitude=np.abs(found),
            phase=None if self.phase is None else np.angle(found),
        )

    def remarked(self, *more: Remark) -> ImpedanceSweep:
        """The same sweep with further remarks."""
        return replace(self, remarks=(*self.remarks, *more))


def tidied(sweep: ImpedanceSweep) -> ImpedanceSweep:
    """Sweep in rising order, each frequency once; remarks say what was moved.

    Points at one frequency become their geometric mean, and the mean of their phases.

    Examples
    --------
    >>> both = ImpedanceSweep(np.array([50.0, 40.0, 40.0]), np.array([9.0, 6.0, 24.0]))
    >>> tidied(both).magnitude.round(6).tolist()
    [12.0, 9.0]
    """
    remarks = []
    steps = np.diff(sweep.frequency)
    if sweep.frequency.size > 1 and (steps < 0.0).any() and not (steps < 0.0).all():
        remarks.append(Remark("fine", "The frequencies were not in order; they were sorted."))
    found, places, counts = np.unique(sweep.frequency, return_inverse=True, return_counts=True)
    if (counts > 1).any():
        remarks.append(
            Remark(
                "fine",
                f"{int((counts > 1).sum())} frequencies stood more than once; the readings at each "
                "were averaged.",
            )
        )

    def averaged(values: Floats) -> Floats:
        return np.bincount(places, values, minlength=found.size) / counts

    error = sweep.error
    if error is not None:
        error = np.sqrt(averaged(error**2) / counts)
    return ImpedanceSweep(
        found,
        np.exp(averaged(np.log(sweep.magnitude))),
        None if sweep.phase is None else averaged(sweep.phase),
        sweep.source,
        error,
        (*sweep.remarks, *remarks),
    )


def minimum_phase(frequency: Floats, magnitude: Floats) -> Floats:
    """Angle that the slope of a magnitude lets expect.

    A passive impedance is of minimum phase, so its angle follows from its magnitude. Here only
    the local slope is used: right for sign and size, not for the last tenth of a radian.

    Parameters
    ----------
    frequency : array (points,)
        Rising [Hz].
    magnitude : array (points,)
        Modulus [Ω].

    Returns
    -------
    array (points,)
        Angle [rad].

    Notes
    -----
    (pi/2) d ln|Z| / d ln f.

    References
    ----------
    .. [1] H. W. Bode, Network Analysis and Feedback Amplifier Design, Van Nostrand, 1945
       (from memory).

    Examples
    --------
    An inductance rises in proportion and leads by a quarter turn.

    >>> hertz = np.geomspace(100.0, 1000.0, 5)
    >>> round(float(minimum_phase(hertz, 0.01 * hertz)[2]), 3)
    1.571
    """
    slope: Floats = np.gradient(np.log(magnitude), np.log(frequency))
    return 0.5 * np.pi * slope


def mended_phase(sweep: ImpedanceSweep, *, unit: str = "") -> ImpedanceSweep:
    """Sweep whose phase, read as a bare number, has the right unit and sign.

    The angle is held against the one that the magnitude lets expect: a factor near 1 is radians,
    near 57 degrees, below 0 a turned sign. A phase that follows neither is left out.

    Parameters
    ----------
    sweep : ImpedanceSweep
        In rising order, its phase as written.
    unit : str
        ``"deg"`` or ``"rad"`` where the file says so, else empty.

    Returns
    -------
    ImpedanceSweep
        Phase in radians, or None.
    """
    if sweep.phase is None:
        return sweep
    size = sweep.frequency.size
    if size < _FEWEST:
        return _in_radians(sweep, unit or "deg", 1.0)
    # A slope over a few points is less noisy than one over two.
    kept = np.linspace(0, size - 1, min(size, max(_FEWEST, size // 4))).astype(int)
    expected = minimum_phase(sweep.frequency[kept], _smoothed(sweep.magnitude)[kept])
    read = sweep.phase[kept]
    power = float(expected @ expected)
    both = float(np.sqrt(power * float(read @ read)))
    together = float(read @ expected) / both if both > 0.0 else 0.0
    if abs(together) < _WEAKEST:
        return ImpedanceSweep(
            sweep.frequency, sweep.magnitude, None, sweep.source, sweep.error, sweep.remarks
        ).remarked(
            Remark(
                "mind",
                "The phase does not follow from the magnitude, as that of an impedance must; it "
                "was left out.",
                "Check which column is the phase, and that both channels were read at once.",
            )
        )
    factor = abs(float(read @ expected) / power)
    sign = -1.0 if together < 0.0 else 1.0
    told = unit
    if _RADIANS[0] < factor < _RADIANS[1]:
        unit = "rad"
    elif _DEGREES[0] < factor < _DEGREES[1]:
        unit = "deg"
    remarks = []
    if unit == "rad" and told != "rad":
        remarks.append(Remark("fine", "The phase is in radians, to judge by its size."))
    if sign < 0.0:
        remarks.append(
            Remark(
                "fine",
                "The phase has the wrong sign, to judge by the slope of the magnitude; it was "
                "turned.",
            )
        )
    return _in_radians(sweep, unit or "deg", sign).remarked(*remarks)


def _in_radians(sweep: ImpedanceSweep, unit: str, sign: float) -> ImpedanceSweep:
    if sweep.phase is None:
        return sweep
    angle = np.deg2rad(sweep.phase) if unit == "deg" else sweep.phase
    return replace(sweep, phase=sign * angle)


def _smoothed(values: Floats) -> Floats:
    """Values with the scatter from point to point taken out by a running mean of three."""
    padded = np.concatenate(([values[0]], values, [values[-1]]))
    return (padded[:-2] + padded[1:-1] + padded[2:]) / 3.0
