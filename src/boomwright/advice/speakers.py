"""What rules ask of the drivers on an output: how they sound, and what their filters do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final, Literal

import numpy as np

from boomwright.advice.rules import Case
from boomwright.build.audio import Amplifier, Driver
from boomwright.build.filters import Component
from boomwright.build.quantities import format_quantity, parse_quantity
from boomwright.outcome.sound import OutputSound, VoiceSound
from boomwright.outcome.speakers import Group
from boomwright.outcome.voices import RE_SHARE, blocks_bass
from boomwright.physics.arrays import Complexes, Floats, floats
from boomwright.physics.curves import decibels, response_corner
from boomwright.physics.impedance import first_order_corner
from boomwright.physics.ladder import Step, ladder
from boomwright.physics.nature import REFERENCE_PRESSURE

__all__ = [
    "Kind",
    "LowPassFault",
    "appended",
    "capacitor_too_small",
    "corner_wanted",
    "kinds_of",
    "least_load",
    "low_pass_fault",
    "rated_for",
    "replaced",
]

Side = Literal["low", "high"]

_LOAD_SHARES: Final = {"as-built": 1.0, "paralleled": 0.5, "bridged": 2.0}
"""Least load of joined outputs over that of one output."""

_USUAL_CORNER = 3000.0
_CORNER_OVER_FS = 2.5
_HIGHEST_CORNER = 8000.0

_ABOVE, _BELOW, _WIDE = 2.0, 4.0, 5.0
"""How far above a high-pass and below a low-pass a band counts as passed, and how wide a stretch of
it is looked at. A voice coil begins to count well below the corner of a low-pass."""

_BASS_BELOW = 200.0
"""Where the box and not the driver sets the level [Hz]."""

_RISE = 2.0
"""Bump of a filtered level that is heard as one [dB]; common practice, no source."""
_FALLS_AT = 4.0
"""Where a low-pass is looked at, over its corner: two octaves above."""
_FALL_LEFT = 0.5
"""Share of the decibels it should lose there that it must lose to be one."""

_QUANTITIES: Final = {"resistor": "resistance", "coil": "inductance", "capacitor": "capacitance"}
_USUAL_SPREADS: Final = {"resistor": " ±5 %", "coil": " ±5 %", "capacitor": " ±10 %"}


@dataclass(frozen=True, eq=False)
class Kind:
    """Drivers of one kind on the first output that has them, as planned and as they sound.

    Parameters
    ----------
    group : Group
        As planned; only its likely version counts.
    sound : VoiceSound
        Over frequency.
    output : OutputSound
        What they hang on.
    outputs : int
        How many outputs have the like.
    frequency : array, shape (n,)
        Frequencies of all curves [Hz].
    more : tuple of Step
        Steps next to the drivers that the file does not have, to see what they would do.
    """

    group: Group
    sound: VoiceSound
    output: OutputSound
    outputs: int
    frequency: Floats
    more: tuple[Step, ...] = ()

    @property
    def driver(self) -> Driver:
        """As the file has it."""
        return self.group.driver

    @property
    def name(self) -> str:
        """Name of the driver's table."""
        return self.group.driver.name

    @property
    def rated(self) -> float:
        """Rated impedance of the drivers as wired [Ω]."""
        return float(self.group.load[0, 0])

    @property
    def coil(self) -> float:
        """Resistance of the voice coils as wired [Ω]; the usual share where it is not known."""
        model = self.group.voice.model
        if model is None:
            return RE_SHARE[0] * self.rated
        return float(np.ravel(model.re)[0]) * self.group.voice.joined

    @property
    def steps(self) -> tuple[Step, ...]:
        """Steps of the filter, the lone capacitor first."""
        return (*self.group.voice.steps, *self.more)

    def with_steps(self, *more: Step) -> Kind:
        """The same with more steps next to the drivers."""
        return replace(self, more=more)

    @cached_property
    def load(self) -> Complexes:
        """Impedance of the drivers at their own terminals, shape (n,) [Ω]."""
        return np.asarray(self.group.voice.impedance(self.frequency)[0], dtype=np.complex128)

    @cached_property
    def plain(self) -> Floats:
        """Level that the same filter would let through on the rated ohms, shape (n,) [dB]."""
        found = ladder(self.steps, np.full_like(self.load, self.rated), self.frequency)
        return decibels(np.atleast_2d(found.transfer)[0])

    @cached_property
    def passed(self) -> Floats:
        """Level at the drivers' terminals, shape (n,) [dB]."""
        found = ladder(self.steps, self.load, self.frequency)
        return decibels(np.atleast_2d(found.transfer)[0])

    @cached_property
    def own(self) -> Floats:
        """Level of the drivers' own sound for a fixed voltage at them, shape (n,) [dB]."""
        shape = self.group.voice.shape(self.frequency)
        return decibels(np.broadcast_to(shape, (1, self.frequency.size))[0])

    @cached_property
    def box_end(self) -> float:
        """Where the bass of the driver in its box ends, whatever its filter does [Hz]."""
        return float(response_corner(self.frequency, np.minimum(self.own, 0.0), side="low"))

    @cached_property
    def level(self) -> Floats:
        """Level at 1 m of all of the build's drivers of this kind, one volt each output [dB]."""
        return decibels(self.sound.pressure * np.sqrt(self.outputs) / REFERENCE_PRESSURE)

    @cached_property
    def band_level(self) -> float:
        """Level of its band, what filter, box and cone take at its ends left out [dB]."""
        flat = self.level - self.passed - self.own
        inside = self.frequency >= min(_BASS_BELOW, 0.5 * self.sound.high_end)
        inside &= self.frequency <= self.sound.high_end
        pad = float((self.passed - self.over_plateau(self.passed))[0])
        return float(np.median(flat[inside])) + pad

    def at(self, values: Floats, hertz: float) -> float:
        """A curve read at a frequency."""
        return float(np.interp(np.log(hertz), np.log(self.frequency), values))

    @property
    def high_pass(self) -> bool:
        """Whether a capacitor keeps the bass away."""
        return blocks_bass(self.driver)

    @property
    def low_pass(self) -> bool:
        """Whether a coil keeps the treble away."""
        return any(
            step.place == "series" and any(part.kind == "coil" for part in step.components)
            for step in self.driver.filter
        )

    @cached_property
    def nominal(self) -> dict[Side, float]:
        """Corners that the filter would have on the rated ohms, for the sides that it cuts [Hz]."""
        level = np.minimum(self.plain - np.max(self.plain), 0.0)
        sides: tuple[tuple[Side, bool], ...] = (("low", self.high_pass), ("high", self.low_pass))
        corners = {
            side: float(response_corner(self.frequency, level, side=side))
            for side, cuts in sides
            if cuts
        }
        return {side: hertz for side, hertz in corners.items() if np.isfinite(hertz)}

    @cached_property
    def span(self) -> tuple[float, float]:
        """Frequencies well inside the band that the filter passes [Hz]."""
        low, high = self.nominal.get("low"), self.nominal.get("high")
        if low is None and high is None:
            return self.sound.low_end, self.sound.high_end
        start = _ABOVE * low if low else high / _BELOW / _WIDE if high else 0.0
        end = high / _BELOW if high else start * _WIDE
        middle = float(np.sqrt(start * end))
        return min(start, middle), min(max(end, middle), float(self.frequency[-1]))

    def over_plateau(self, levels: Floats) -> Floats:
        """Levels over what they are well inside the band [dB]."""
        low, high = self.span
        inside = (self.frequency >= 0.98 * low) & (self.frequency <= 1.02 * high)
        level = float(np.median(levels[inside])) if inside.any() else self.at(levels, low)
        return floats(levels - level)


def kinds_of(case: Case) -> tuple[Kind, ...]:
    """Every kind of driver once, in the order of the outputs."""
    groups = {
        (output.amplifier, output.channel, group.driver.name): group
        for output in case.plan.outputs
        for group in output.groups
    }
    names = [voice.name for output in case.sound.outputs for voice in output.voices]
    return tuple(
        Kind(
            groups[output.amplifier, output.channel, voice.name],
            voice,
            output,
            names.count(voice.name),
            case.sound.frequency,
        )
        for output, voice in case.sound.voices()
    )


def least_load(board: Amplifier) -> float:
    """Least rated load that a board is made for, as its outputs are used [Ω]."""
    return board.load_min.likely * _LOAD_SHARES[board.use]


def corner_wanted(driver: Driver) -> float:
    """Corner to aim at for the capacitor of a tweeter [Hz]."""
    return max(_USUAL_CORNER, _CORNER_OVER_FS * driver.fs.likely if driver.fs else 0.0)


def capacitor_too_small(driver: Driver) -> bool:
    """Whether the lone capacitor of a driver leaves a hole below it, whatever plays there."""
    if driver.capacitor is None or driver.filter:
        return False
    corner = float(first_order_corner(driver.capacitor.likely, driver.impedance.likely))
    return corner > max(_HIGHEST_CORNER, 1.5 * corner_wanted(driver))


@dataclass(frozen=True)
class LowPassFault:
    """What a driver's rising impedance makes of a low-pass.

    Parameters
    ----------
    corner : float
        Corner that the parts would have on the rated ohms [Hz].
    rise, rise_at : float
        Greatest level over the plateau [dB], and where [Hz].
    fall, fall_plain : float
        What is lost two octaves above the corner, really and on the rated ohms [dB].
    """

    corner: float
    rise: float
    rise_at: float
    fall: float
    fall_plain: float

    @property
    def rises(self) -> bool:
        """Whether it makes a bump."""
        return self.rise > _RISE

    @property
    def undone(self) -> bool:
        """Whether it makes a bump, or hardly falls."""
        return self.rises or self.fall < _FALL_LEFT * self.fall_plain


def low_pass_fault(kind: Kind) -> LowPassFault | None:
    """What becomes of a low-pass.

    None where there is no low-pass, or where the driver's inductance is not known.
    """
    corner = kind.nominal.get("high")
    above = _FALLS_AT * (corner or 0.0)
    known = kind.group.voice.model is not None and kind.driver.le is not None
    if corner is None or not known or above > kind.frequency[-1]:
        return None
    level, plain = kind.over_plateau(kind.passed), kind.over_plateau(kind.plain)
    # A filter that bumps on its rated ohms already is made so, and not undone by the driver.
    rise = np.where(kind.frequency >= kind.span[0], level - np.maximum(plain, 0.0), -np.inf)
    at = int(np.argmax(rise))
    return LowPassFault(
        corner=corner,
        rise=float(rise[at]),
        rise_at=float(kind.frequency[at]),
        fall=-kind.at(level, above),
        fall_plain=-kind.at(plain, above),
    )


def appended(driver: Driver, *steps: str) -> tuple[str, ...]:
    """A driver's filter with more steps next to the driver, as the file writes it."""
    return (*(str(step) for step in driver.filter), *steps)


def replaced(driver: Driver, place: int, at: int, component: Component) -> tuple[str, ...]:
    """A driver's filter with another component in a step, as the file writes it."""
    steps = [str(step) for step in driver.filter]
    step = driver.filter[place]
    parts = [component if at == number else part for number, part in enumerate(step.components)]
    steps[place] = _step_text(step.place, parts)
    return tuple(steps)


def rated_for(component: Component, rating: float) -> Component:
    """A component with another rating [V, W]."""
    kind = "voltage" if component.kind == "capacitor" else "power"
    return replace(component, rating=parse_quantity(format_quantity(rating, kind), kind))


def _step_text(place: str, parts: Sequence[Component]) -> str:
    return f"{place} " + " + ".join(_component_text(part) for part in parts)


def _component_text(part: Component) -> str:
    words = [str(part.value).removesuffix(_USUAL_SPREADS[part.kind])]
    words += [part.material] if part.material != "film" else []
    words += [str(extra) for extra in (part.winding, part.rating) if extra is not None]
    return " ".join(words)
