"""What a set of sweeps should read for a set of parameters, all sweeps and many sets at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from boomwright.bench.driver.sweep import ImpedanceSweep
from boomwright.physics.acoustic_load import closed_load, load_impedance, vented_load
from boomwright.physics.arrays import Complexes, Floats
from boomwright.physics.driver import DriverModel, driver_model, electrical_impedance
from boomwright.physics.nature import ROOM_TEMPERATURE

__all__ = [
    "LIMITS",
    "NO_DOUBTS",
    "SCALES",
    "Doubts",
    "Model",
    "Peak",
    "Place",
    "Setup",
]

Place = Literal["free", "mass", "box", "vented"]
"""How the driver stood: in free air, with mass on its cone, on a closed or a vented box."""

LIMITS: dict[str, tuple[float, float]] = {
    "re": (0.2, 500.0),
    "fs": (4.0, 2e4),
    "qms": (0.1, 200.0),
    "qes": (0.02, 200.0),
    "vas": (1e-7, 20.0),
    "le": (1e-8, 0.05),
    "le2": (1e-8, 0.5),
    "re2": (0.01, 1e5),
    "creep": (1e-4, 0.34),
    "ql": (0.5, 1e4),
    "fb": (4.0, 2e3),
    "sd": (1e-5, 1.0),
}
"""Bounds within which a parameter is sought, SI units; far beyond what is built."""

_LINEAR = frozenset({"creep"})
"""Parameters that may be 0 and are sought as they are; all others by their logarithm."""
SCALES = ("ohms", "mass", "volume", "area")
"""Unknowns that stand for the error of what was taken as known."""


@dataclass(frozen=True)
class Doubts:
    """Standard uncertainties of what was not measured but taken as known, as shares [1].

    Parameters
    ----------
    ohms : float
        Of every impedance alike: the known resistor.
    match : float
        Of the ratio of two inputs. It bends the curve the more, the more ohms the driver has
        beside the resistor; what it does to all ohms alike belongs to `ohms`.
    mass : float
        Of the added mass.
    volume : float
        Of the box.
    area : float
        Of the cone area.
    """

    ohms: float = 0.0
    match: float = 0.0
    mass: float = 0.0
    volume: float = 0.0
    area: float = 0.0


NO_DOUBTS = Doubts()
"""Everything taken as known is exact."""


@dataclass(frozen=True)
class Peak:
    """A resonance found by ear or by meter, without its ohms.

    Parameters
    ----------
    frequency : float
        Where the impedance was greatest [Hz].
    error : float
        Standard error as a share of it [1].
    mass : float
        Mass on the cone [kg].
    volume : float
        Closed box behind it [m³]; infinite for none.
    """

    frequency: float
    error: float
    mass: float = 0.0
    volume: float = np.inf


@dataclass(frozen=True, eq=False)
class Setup:
    """One sweep, and how the driver stood meanwhile.

    Parameters
    ----------
    sweep : ImpedanceSweep
        What was read.
    place : str
        One of `Place`.
    mass : float
        Mass on the cone [kg].
    volume : float
        Net volume of the box [m³].
    """

    sweep: ImpedanceSweep
    place: Place = "free"
    mass: float = 0.0
    volume: float = np.inf


@dataclass(frozen=True, eq=False)
class Model:
    """Which parameters are sought, which are known, and what the sweeps should read for them.

    Parameters
    ----------
    names : tuple of str
        Sought parameters in the order of a row of unknowns; scales last.
    known : dict
        The others by name, SI units.
    setups : tuple of Setup
        The sweeps.
    peaks : tuple of Peak
        Resonances read alone.
    re : tuple of float and float, or None
        D.c. resistance by ohmmeter and its standard error as a share, None without.
    doubts : Doubts
        Widths of the scales.
    area_known, volume_known : bool
        Whether the cone and the cabinet were measured.
    temperature : float
        Of the air [K].
    """

    names: tuple[str, ...]
    known: dict[str, float]
    setups: tuple[Setup, ...]
    peaks: tuple[Peak, ...] = ()
    re: tuple[float, float] | None = None
    doubts: Doubts = NO_DOUBTS
    area_known: bool = False
    volume_known: bool = True
    temperature: float = ROOM_TEMPERATURE

    def row(self, values: dict[str, float]) -> Floats:
        """Unknowns of some values; scales start at none."""
        found = []
        for name in self.names:
            value = values.get(name, 0.0)
            plain = name in _LINEAR or name in SCALES
            found.append(value if plain else np.log(value))
        return np.array(found)

    def bounds(self) -> tuple[Floats, Floats]:
        """Least and greatest row of unknowns."""
        low, high = [], []
        for name in self.names:
            if name in SCALES:
                one, other = -1.0, 1.0
            else:
                one, other = LIMITS[name]
                if name not in _LINEAR:
                    one, other = float(np.log(one)), float(np.log(other))
            low.append(one)
            high.append(other)
        return np.array(low), np.array(high)

    def values(self, row: Floats) -> dict[str, Floats]:
        """Every parameter of rows of unknowns, shape (..., unknowns) to (...)."""
        found = {name: np.full(row.shape[:-1], value) for name, value in self.known.items()}
        for place, name in enumerate(self.names):
            entry = row[..., place]
            found[name] = entry if name in _LINEAR else np.exp(entry)
        for name in SCALES:
            found.setdefault(name, np.ones(row.shape[:-1]))
        found["sd"] = found["sd"] * found["area"]
        return found

    def driver(self, values: dict[str, Floats]) -> DriverModel:
        """The driver of some values."""
        names = ("re", "fs", "qms", "qes", "vas", "sd", "le", "le2", "re2", "creep")
        given = {name: values[name] for name in names if name in values}
        return driver_model(**given, temperature=self.temperature)

    def impedance(self, row: Floats, setup: Setup, frequency: Floats | None = None) -> Complexes:
        """Impedance that a setup should read, shape (..., points), the resistor's error with it."""
        hertz = setup.sweep.frequency if frequency is None else frequency
        values = {name: value[..., None] for name, value in self.values(row).items()}
        driver = self.driver(values)
        load: Floats | Complexes | float = 0.0
        if setup.place == "mass":
            driver = replace(driver, mms=driver.mms + setup.mass * values["mass"])
        elif setup.place != "free":
            volume = setup.volume * values["volume"]
            if setup.place == "vented":
                box = vented_load(
                    volume=volume,
                    fb=values["fb"],
                    ql=values["ql"],
                    temperature=self.temperature,
                )
            else:
                at = values["fs"] * np.sqrt(1.0 + values["vas"] / volume)
                box = closed_load(
                    volume=volume,
                    at=at,
                    ql=values.get("ql", np.array(np.inf)),
                    temperature=self.temperature,
                )
            load = driver.sd**2 * load_impedance(box, hertz)
        return values["ohms"] * electrical_impedance(driver, hertz, air_load=load)

    def peak_frequency(self, row: Floats, peak: Peak) -> Floats:
        """Resonance that a setup without ohms should show [Hz]."""
        values = self.values(row)
        driver = self.driver(values)
        softer = values["vas"] / (peak.volume * values["volume"])
        heavier = peak.mass * values["mass"] / driver.mms
        return values["fs"] * np.sqrt((1.0 + softer) / (1.0 + heavier))

    def misses(self, row: Floats) -> list[Floats]:
        """Read less expected, one array for each setup: its log magnitudes, then its phases.

        Parameters
        ----------
        row : array (..., unknowns)
            Unknowns.

        Returns
        -------
        list of array (..., points) or (..., 2 points)
            Shares of the magnitude [1] and angles [rad].
        """
        found = []
        for setup in self.setups:
            expected = self.impedance(row, setup)
            miss = np.log(setup.sweep.magnitude) - np.log(np.abs(expected))
            if setup.sweep.phase is not None:
                turned = np.exp(1j * setup.sweep.phase) / expected
                miss = np.concatenate((miss, np.angle(turned)), axis=-1)
            found.append(miss)
        return found

    def anchors(self, row: Floats) -> Floats:
        """What holds the unknowns beside the sweeps, each over its standard error.

        Parameters
        ----------
        row : array (..., unknowns)
            Unknowns.

        Returns
        -------
        array (..., anchors)
            The ohmmeter, resonances read alone, and every scale against none.
        """
        held = []
        if self.re is not None:
            ohms, error = self.re
            held.append(np.log(ohms / self.values(row)["re"]) / error)
        held += [
            np.log(peak.frequency / self.peak_frequency(row, peak)) / peak.error
            for peak in self.peaks
        ]
        held += [
            row[..., place] / getattr(self.doubts, name)
            for place, name in enumerate(self.names)
            if name in SCALES
        ]
        return np.stack(held, axis=-1) if held else np.zeros((*row.shape[:-1], 0))
