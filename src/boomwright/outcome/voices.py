"""A kind of driver in numbers: motor and spring, the air of its box, and the filter ahead of it."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any, Final, TypeVar

import numpy as np

from boomwright.build.audio import Driver
from boomwright.build.draws import Draws
from boomwright.build.fields import typical
from boomwright.build.filters import Component, FilterStep
from boomwright.build.model import Build
from boomwright.build.quantities import Quantity
from boomwright.outcome.openings import air_of, cancelled_behind
from boomwright.physics.acoustic_load import AirLoad, load_impedance
from boomwright.physics.air_coil import air_coil
from boomwright.physics.arrays import Complexes, Floats, FloatsLike, floats
from boomwright.physics.box_response import box_response, passband_pressure
from boomwright.physics.driver import DriverModel, driver_model, electrical_impedance
from boomwright.physics.ladder import Ladder, Step, ladder
from boomwright.physics.loudspeaker import sensitivity_from_efficiency
from boomwright.physics.nature import speed_of_sound

__all__ = [
    "BASS_BANDS",
    "RE_SHARE",
    "USUAL_QMS",
    "Voice",
    "band_ends",
    "blocks_bass",
    "model_of",
    "voice_of",
]

BASS_BANDS = frozenset({"full", "low"})
"""Bands whose driver works on the air of the box; others are closed at their back."""

USUAL_QMS = 4.0
"""Mechanical Q of a driver of which only the electrical one is known; usual, from memory."""

RE_SHARE: Final = (0.8, 0.7, 0.85)
"""Voice-coil resistance over rated impedance, likely, least and most; typical, from memory."""
_LE_PER_OHM = {"full": 0.055e-3, "low": 0.1e-3, "mid": 0.03e-3, "high": 0.006e-3}
"""Coil inductance over rated impedance [H/Ω]; typical of class, from memory."""
_USUAL_WIRE = 1.25e-3
"""Wire of a coil of which only the inductance is known [m]; common practice, no source."""
_USUAL_SD = 0.01
_LOWEST_BAND_END: Final = {"full": 100.0, "low": 80.0, "mid": 400.0, "high": 2500.0}
_HIGHEST_BAND_END: Final = {"full": 20e3, "low": 3000.0, "mid": 5000.0, "high": 20e3}


@dataclass(frozen=True)
class Voice:
    """Drivers of one kind on one output; arrays are (versions, 1).

    Parameters
    ----------
    driver : Driver
        As the file has it.
    count : int
        How many hang on the output.
    model : DriverModel or None
        One of them; None where too little is known of it.
    load : AirLoad
        Air behind one of them.
    behind : array or None
        Length of the way from its back to its front where the back is open [m].
    rated : array
        Rated impedance of one [Ω], which stands for the driver where it has no model.
    corners : tuple of float
        Where its own sound ends [Hz]; the lower one is 0 where motor and box say it.
    steps : tuple of Step
        Filter ahead of the group.
    """

    driver: Driver
    count: int
    model: DriverModel | None
    load: AirLoad
    behind: Floats | None
    rated: Floats
    corners: tuple[float, float]
    steps: tuple[Step, ...]

    @cached_property
    def likely(self) -> Voice:
        """The likely version alone."""
        return replace(
            self,
            model=_first(self.model) if self.model else None,
            load=_first(self.load),
            behind=self.behind if self.behind is None else np.atleast_2d(self.behind)[:1],
            rated=self.rated[:1],
            steps=tuple(_first(step) for step in self.steps),
        )

    @property
    def joined(self) -> float:
        """Impedance of the group over that of one."""
        return self.count if self.driver.wiring == "series" else 1.0 / self.count

    def impedance(self, frequency: FloatsLike) -> Complexes:
        """Impedance of the group at its own terminals, (versions, n) [Ω]."""
        if self.model is None:
            one = np.broadcast_to(
                self.rated, np.broadcast_shapes(self.rated.shape, np.shape(frequency))
            )
            return np.asarray(one * self.joined, dtype=np.complex128)
        air = self.model.sd**2 * load_impedance(self.load, frequency)
        return electrical_impedance(self.model, frequency, air_load=air) * self.joined

    def filtered(self, frequency: FloatsLike) -> Ladder:
        """The filter on the group's real impedance, (versions, n)."""
        return ladder(self.steps, self.impedance(frequency), frequency)

    def shape(self, frequency: FloatsLike) -> Complexes:
        """Sound of one driver for a fixed voltage at it, over its flat level, (versions, n) [1].

        The coil's inductance is left out: on the axis a cone that beams makes up for it, up to the
        frequency where the file says that its treble ends.
        """
        hertz = floats(frequency)
        low, high = self.corners
        # Second order at the upper end, as a cone that has stopped moving as one piece.
        x = 1j * hertz / high
        whole = 1.0 / (1.0 + np.sqrt(2.0) * x + x**2)
        if low > 0.0:
            y = low / (1j * hertz)
            whole = whole / (1.0 + np.sqrt(2.0) * y + y**2)
        if self.model is None or low > 0.0:
            return np.atleast_2d(np.asarray(whole, dtype=np.complex128))
        return np.asarray(whole * self.bass(self.model, hertz), dtype=np.complex128)

    def bass(self, model: DriverModel, frequency: Floats) -> Complexes:
        """Sound of motor and box alone over the flat level, coil inductance left out [1]."""
        found = box_response(model.without_inductance, self.load, frequency).pressure
        own = found / passband_pressure(model)
        if self.behind is not None:
            own = own * cancelled_behind(frequency, self.behind)
        return np.asarray(own, dtype=np.complex128)


_Numbers = TypeVar("_Numbers", DriverModel, AirLoad, Step)


def _first(numbers: _Numbers) -> _Numbers:
    """The same with the first version of every array alone."""
    arrays: dict[str, Any] = {
        field.name: np.atleast_2d(value)[:1]
        for field in fields(numbers)
        if not isinstance(value := getattr(numbers, field.name), str)
    }
    return replace(numbers, **arrays)


def blocks_bass(driver: Driver) -> bool:
    """Whether a capacitor keeps the bass from a driver."""
    return driver.capacitor is not None or any(step.blocks_bass for step in driver.filter)


def voice_of(
    driver: Driver, count: int, build: Build, draws: Draws, volume: Floats | None
) -> Voice:
    """A kind of driver on one output, in numbers.

    Parameters
    ----------
    driver : Driver
        The driver.
    count : int
        How many of it hang on the output.
    build : Build
        The build it belongs to.
    draws : Draws
        Where uncertain values come from.
    volume : array or None
        Net air in the cabinet [m³]; None without a cabinet.

    Returns
    -------
    Voice
    """
    rated = draws.take(driver.name, "impedance", driver.impedance)
    model = model_of(driver, draws)
    load, behind = air_of(driver, build, draws, volume)
    known = model is not None and (volume is not None or driver.band not in BASS_BANDS)
    corners = _corners(driver, known=known)
    return Voice(driver, count, model, load, behind, rated, corners, _steps(driver, draws))


def _corners(driver: Driver, *, known: bool) -> tuple[float, float]:
    high = min(driver.high_end.likely, _HIGHEST_BAND_END[driver.band])
    if driver.low_end is not None and driver.band in BASS_BANDS:
        return driver.low_end.likely, high
    if known or (driver.band not in BASS_BANDS and blocks_bass(driver)):
        return 0.0, high
    return driver.low_end.likely if driver.low_end else _LOWEST_BAND_END[driver.band], high


def _scaled(quantity: Quantity, shares: tuple[float, float, float]) -> Quantity:
    likely, low, high = (quantity.likely * share for share in shares)
    return Quantity(likely, low, high, quantity.kind, "typical")


def model_of(driver: Driver, draws: Draws) -> DriverModel | None:
    """Motor and spring of a driver; None where its resonance or its electrical Q is not known.

    Parameters
    ----------
    driver : Driver
        The driver.
    draws : Draws
        Where uncertain values come from.

    Returns
    -------
    DriverModel or None
        Arrays of shape (versions, 1).
    """
    if driver.fs is None or driver.qes is None:
        return None

    def take(field: str, quantity: Quantity | None, usual: str, kind: str) -> Floats:
        value = quantity or typical(usual, kind)
        return draws.take(driver.name, field, value)

    fs = draws.take(driver.name, "fs", driver.fs)
    qes = draws.take(driver.name, "qes", driver.qes)
    qms = take("qms", driver.qms, f"{USUAL_QMS:g} [2 to 7]", "ratio")
    re = draws.take(driver.name, "re", driver.re or _scaled(driver.impedance, RE_SHARE))
    if driver.vas is not None:
        vas = draws.take(driver.name, "vas", driver.vas)
    else:
        # The efficiency that the sensitivity stands for asks for this much: its watt is counted in
        # the rated impedance, or is that of the test voltage, and the efficiency in the coil.
        level = driver.sensitivity.likely if driver.sensitivity else 86.0
        squared = 8.0 if driver.sensitivity_at == "2.83 V" else driver.impedance.likely
        efficiency = 10 ** ((level - float(sensitivity_from_efficiency(1.0))) / 10) * re / squared
        vas = efficiency * qes * speed_of_sound() ** 3 / (4 * np.pi**2 * fs**3)
    le = (
        draws.take(driver.name, "le", driver.le)
        if driver.le
        else floats(_LE_PER_OHM[driver.band] * driver.impedance.likely)
    )
    return driver_model(
        re=re,
        fs=fs,
        qms=qms,
        qes=qes,
        vas=vas,
        sd=driver.sd.likely if driver.sd else _USUAL_SD,
        le=le,
        le2=driver.le2.likely if driver.le2 else 0.0,
        re2=driver.re2.likely if driver.re2 else 0.0,
    )


def _steps(driver: Driver, draws: Draws) -> tuple[Step, ...]:
    steps = []
    if driver.capacitor is not None:
        capacitor = draws.take(driver.name, "capacitor", driver.capacitor)
        steps.append(Step("series", capacitance=capacitor))
    for place, step in enumerate(driver.filter):
        steps.append(_step(driver.name, place, step, draws))
    return tuple(steps)


def _step(name: str, place: int, step: FilterStep, draws: Draws) -> Step:
    resistance: FloatsLike = 0.0
    inductance: FloatsLike = 0.0
    elastance: FloatsLike = 0.0
    for at, component in enumerate(step.components):
        value = draws.take(name, f"filter step {place + 1}.{at + 1}", component.value)
        if component.kind == "resistor":
            resistance = resistance + value
        elif component.kind == "coil":
            inductance = inductance + value
            resistance = resistance + winding_of(component)
        else:
            elastance = elastance + 1.0 / value
    stiff = floats(elastance)
    capacitance = np.divide(1.0, stiff, out=np.full_like(stiff, np.inf), where=stiff > 0.0)
    return Step(step.place, resistance, inductance, capacitance)


def winding_of(coil: Component) -> float:
    """Resistance of a coil's wire, stated or that of an air coil of the usual wire [Ω]."""
    if coil.winding is not None:
        return coil.winding.likely
    return float(air_coil(coil.value.likely, _USUAL_WIRE).resistance)


def band_ends(voice: Voice, frequency: Floats) -> tuple[float, float]:
    """Frequencies between which the likely version of a voice is less than 3 dB down [Hz].

    Parameters
    ----------
    voice : Voice
        The voice; only its likely version counts.
    frequency : array, shape (n,)
        Rising frequencies to look at [Hz].

    Returns
    -------
    tuple of float
        Lowest and highest.
    """
    low, high = voice.corners
    if low > 0.0 and not voice.steps:
        return low, high
    passed = np.abs(voice.likely.filtered(frequency).transfer)
    heard = (passed * np.abs(voice.likely.shape(frequency)))[0]
    loud = np.flatnonzero(heard >= np.max(passed) / np.sqrt(2.0))
    if not len(loud):
        loud = np.array([int(np.argmax(heard))])
    return _crossing(frequency, heard, loud[0], -1, np.max(passed)), _crossing(
        frequency, heard, loud[-1], 1, np.max(passed)
    )


def _crossing(frequency: Floats, heard: Floats, at: int, step: int, top: float) -> float:
    """Frequency of 3 dB down between a loud point and the quiet one beside it."""
    beside = at + step
    if not 0 <= beside < len(frequency) or heard[at] <= heard[beside]:
        return float(frequency[at])
    wanted = np.log(top / np.sqrt(2.0))
    share = (np.log(heard[at]) - wanted) / (np.log(heard[at]) - np.log(heard[beside]))
    share = float(np.clip(share, 0.0, 1.0))
    return float(frequency[at] * (frequency[beside] / frequency[at]) ** share)
