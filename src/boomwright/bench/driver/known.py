"""A driver made known: each parameter with its standard uncertainty and its range."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.bench.driver.asked import COILS
from boomwright.bench.driver.fit import Fitted
from boomwright.bench.driver.model import Model
from boomwright.physics.arrays import Floats
from boomwright.physics.driver import small_signal

__all__ = ["KINDS", "Estimate", "estimates", "parameters"]

KINDS: dict[str, str] = {
    "re": "resistance",
    "fs": "frequency",
    "fc": "frequency",
    "fb": "frequency",
    "qms": "ratio",
    "qes": "ratio",
    "qts": "ratio",
    "qmc": "ratio",
    "qec": "ratio",
    "qtc": "ratio",
    "ql": "ratio",
    "vas_over_box": "ratio",
    "vas": "volume",
    "sd": "cone",
    "mms": "mass",
    "cms": "compliance",
    "rms": "damping",
    "bl": "motor",
    "le": "inductance",
    "le2": "inductance",
    "re2": "resistance",
    "creep": "ratio",
    "sensitivity": "decibel",
}
"""What each parameter is counted in, by the kinds of :mod:`boomwright.build.units`."""

_TWO_SIDES = 1.959964
_STEP = 1e-5
_PLAIN = frozenset({"sensitivity", "creep"})
_IN_BOX = {"fs": "fc", "qms": "qmc", "qes": "qec", "qts": "qtc"}


@dataclass(frozen=True)
class Estimate:
    """One parameter.

    Parameters
    ----------
    name : str
        Key of `KINDS`.
    value : float
        Most likely value, SI units.
    error : float
        Standard uncertainty, same unit.
    """

    name: str
    value: float
    error: float

    @property
    def kind(self) -> str:
        """What it is counted in."""
        return KINDS[self.name]

    @property
    def low(self) -> float:
        """Lower end of the range that holds the truth 95 times in 100."""
        return self._end(-1.0)

    @property
    def high(self) -> float:
        """Upper end of that range."""
        return self._end(1.0)

    def _end(self, side: float) -> float:
        if self.name in _PLAIN:
            return self.value + side * _TWO_SIDES * self.error
        return float(self.value * np.exp(side * _TWO_SIDES * self.error / self.value))


def parameters(model: Model, row: Floats, *, in_box: bool = False) -> dict[str, Floats]:
    """All that rows of unknowns tell of a driver, and no more than that.

    Without an added mass or a box the curve has no scale: then mass, force factor, compliance and
    level stay unknown.

    Parameters
    ----------
    model : Model
        What was fitted.
    row : array (..., unknowns)
        Unknowns.
    in_box : bool
        Whether a closed cabinet is part of what was measured.

    Returns
    -------
    dict of str to array (...)
        Keys of `KINDS`, SI units.
    """
    values = model.values(row)
    driver = model.driver(values)
    small = small_signal(driver, temperature=model.temperature)
    found = {"re": values["re"], "fs": values["fs"], "qms": values["qms"], "qes": values["qes"]}
    found["qts"] = small.qts
    if in_box and "ql" in values:
        # The fit kept driver and air apart, as a leak lets them be told; they act as one.
        stiffer = np.sqrt(1.0 + values["vas"] / model.setups[0].volume)
        found |= {name: found[name] * stiffer for name in _IN_BOX}
    if in_box:
        found = {_IN_BOX.get(name, name): value for name, value in found.items()}
    coil = [name for name in COILS["lossy"] if name in model.names]
    found |= {name: values[name] for name in (*coil, "creep", "fb", "ql") if name in model.names}
    if in_box:
        return found
    weighed = any(setup.mass for setup in model.setups) or any(peak.mass for peak in model.peaks)
    boxed = any(np.isfinite(setup.volume) for setup in model.setups) or any(
        np.isfinite(peak.volume) for peak in model.peaks
    )
    ruled = model.area_known
    if (weighed and ruled) or (boxed and model.volume_known):
        found["vas"] = values["vas"]
        found["sensitivity"] = small.sensitivity
    if "fb" in model.names:
        found["vas_over_box"] = values["vas"] / (model.setups[0].volume * values["volume"])
    if weighed or ("vas" in found and ruled):
        found |= {"mms": driver.mms, "bl": driver.bl, "cms": driver.cms, "rms": driver.rms}
    if ruled or (weighed and boxed):
        found["sd"] = values["sd"]
    return found


def estimates(fitted: Fitted, *, in_box: bool = False) -> dict[str, Estimate]:
    """Parameters of a fitted driver with their standard uncertainties.

    Parameters
    ----------
    fitted : Fitted
        The fit.
    in_box : bool
        Whether a closed cabinet is part of what was measured.

    Returns
    -------
    dict of str to Estimate

    Notes
    -----
    First order: the covariance of the unknowns through the slopes of each parameter.

    References
    ----------
    .. [1] JCGM 100, Evaluation of measurement data - Guide to the expression of uncertainty in
       measurement, 2008, clause 5 (from memory).
    """
    row, size = fitted.row, fitted.row.size
    moves = _STEP * np.eye(size)
    all_rows = np.concatenate((row[None, :], row + moves, row - moves))
    table = parameters(fitted.model, all_rows, in_box=in_box)
    found = {}
    for name, values in table.items():
        slope = (values[1 : size + 1] - values[size + 1 :]) / (2.0 * _STEP)
        variance = float(slope @ fitted.covariance @ slope)
        found[name] = Estimate(name, float(values[0]), float(np.sqrt(max(variance, 0.0))))
    ordered = [name for name in KINDS if name in found]
    return {name: found[name] for name in ordered}
