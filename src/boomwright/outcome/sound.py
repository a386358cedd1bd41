"""The sound of a build over frequency: response, impedance, travel, vent air, and what limits it.

All of it is the likely version; the ranges of loudness stand in the Outcome. Levels are at 1 m on
the axis in half space unless said otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from boomwright.build.audio import Cabinet
from boomwright.build.draws import Draws
from boomwright.build.model import Build
from boomwright.outcome.data import Outcome
from boomwright.outcome.openings import air_share
from boomwright.outcome.plan import Plan, make_plan
from boomwright.outcome.speakers import Group, Output
from boomwright.outcome.voices import BASS_BANDS
from boomwright.physics.arrays import Complexes, Floats, floats
from boomwright.physics.box_response import BoxResponse, box_response, passband_pressure
from boomwright.physics.curves import least_impedance
from boomwright.physics.limits import DriveLimits, voltage_limits
from boomwright.physics.nature import REFERENCE_PRESSURE
from boomwright.physics.summed import summed_pressure

__all__ = [
    "STATES",
    "OutputSound",
    "SoundOutcome",
    "VoiceSound",
    "decibels",
    "sound_of",
]

STATES: Final = ("full", "half", "nearly empty")
"""States of the battery for which limits are worked out."""

FREQUENCIES: Final = np.geomspace(10.0, 20e3, 300)

_TEST_VOLTS = 8.0**0.5
_MOTOR_RULES_BELOW = 300.0
"""Where a printed sensitivity, which a midrange peak flatters, gives way to the motor's own [Hz];
common practice, no source."""
_TOGETHER_BELOW = 700.0
"""Where drivers a hand apart stop acting as one: half a wavelength of 25 cm [Hz]."""
_LISTENER = 1.0


@dataclass(frozen=True, eq=False)
class VoiceSound:
    """Drivers of one kind on one output; curves run along the frequencies.

    Parameters
    ----------
    name : str
        Name of the driver's table.
    count : int
        How many hang on the output.
    known : bool
        Whether motor and spring are known; otherwise only the rated impedance speaks.
    travel_known, opening_known : bool
        Whether cone travel, and air in the vent or travel of the radiator, could be worked out.
    transfer : array of complex, shape (n,)
        Volts at the group for one volt at the amplifier [1].
    pressure : array of complex, shape (n,)
        On the axis at 1 m for one volt rms at the amplifier [Pa/V].
    travel : array, shape (n,)
        Peak travel of a cone for one volt rms at the amplifier [m/V].
    vent_speed : array, shape (n,)
        Peak speed of the air in the vent for the same [m/(s V)].
    radiator_travel : array, shape (n,)
        Peak travel of a passive radiator for the same [m/V].
    power : array, shape (n,)
        Power in one driver for the same [W/V²].
    clean_volts : array, shape (states, n)
        Volts rms at the amplifier up to which a sine stays clean [V].
    ruling : array of int, shape (states, n)
        Place in :data:`boomwright.physics.limits.LIMITS` of what rules there.
    low_end, high_end : float
        Band it plays within 3 dB [Hz].
    """

    name: str
    count: int
    known: bool
    travel_known: bool
    opening_known: bool
    transfer: Complexes
    pressure: Complexes
    travel: Floats
    vent_speed: Floats
    radiator_travel: Floats
    power: Floats
    clean_volts: Floats
    ruling: np.ndarray[tuple[int, ...], np.dtype[np.intp]]
    low_end: float
    high_end: float


@dataclass(frozen=True, eq=False)
class OutputSound:
    """One amplifier output with all that hangs on it.

    Parameters
    ----------
    amplifier : str
        Name of the amplifier.
    channel : int
        Which of its outputs, from 0.
    voices : tuple of VoiceSound
        Kinds of driver on it.
    impedance : array of complex, shape (n,)
        What the amplifier meets, speaker leads left out [Ω].
    least, least_at : float
        Least impedance between 20 Hz and 20 kHz [Ω], and where [Hz].
    peak_volts : array, shape (states,)
        Peak volts it swings at each state of the battery [V].
    pressure : array of complex, shape (n,)
        All its voices on the axis at 1 m for one volt rms, polarity and ways counted [Pa/V].
    clean : array, shape (states, n)
        Loudest clean sine at 1 m [dB].
    ruling : array of int, shape (states, n)
        What rules there.
    """

    amplifier: str
    channel: int
    voices: tuple[VoiceSound, ...]
    impedance: Complexes
    least: float
    least_at: float
    peak_volts: Floats
    pressure: Complexes
    clean: Floats
    ruling: np.ndarray[tuple[int, ...], np.dtype[np.intp]]


@dataclass(frozen=True, eq=False)
class SoundOutcome:
    """The sound of a whole build.

    Parameters
    ----------
    frequency : array, shape (n,)
        Frequencies of all curves [Hz].
    outputs : tuple of OutputSound
        Every output that has drivers.
    pressure : array of complex, shape (n,)
        One volt rms on every output that plays, on the axis at 1 m [Pa/V].
    clean : array, shape (states, n)
        Loudest clean sine of all outputs together at 1 m [dB].
    ruling : array of int, shape (states, n)
        What rules the loudest output there.
    """

    frequency: Floats
    outputs: tuple[OutputSound, ...]
    pressure: Complexes
    clean: Floats
    ruling: np.ndarray[tuple[int, ...], np.dtype[np.intp]]

    @property
    def level(self) -> Floats:
        """Level at 1 m for 2.83 V on every output [dB]."""
        return decibels(np.abs(self.pressure) * _TEST_VOLTS)

    def voices(self) -> tuple[tuple[OutputSound, VoiceSound], ...]:
        """Every kind of driver once, on the first output that has it."""
        found: dict[str, tuple[OutputSound, VoiceSound]] = {}
        for output in self.outputs:
            for voice in output.voices:
                found.setdefault(voice.name, (output, voice))
        return tuple(found.values())


def decibels(pressure: Floats) -> Floats:
    """Level of a sound pressure re 20 µPa [dB]; -300 for silence."""
    return floats(20.0 * np.log10(np.maximum(pressure / REFERENCE_PRESSURE, 1e-15)))


def sound_of(build: Build, outcome: Outcome) -> SoundOutcome:
    """Sound of a build over frequency, with what limits it at three states of the battery.

    Parameters
    ----------
    build : Build
        The build.
    outcome : Outcome
        What physics says of it.

    Returns
    -------
    SoundOutcome
    """
    plan = make_plan(build, Draws(0))
    sag = _half_way(outcome)
    outputs = []
    for board in outcome.amplifiers:
        numbers = next(node.amplifier for node in plan.nodes if node.name == board.name)
        if numbers is None:
            continue
        for output, found in zip(numbers.outputs, board.outputs, strict=True):
            ends = [
                np.sqrt(2.0 * max(power.likely, 1e-9) * found.load)
                for power in (found.clean_full, found.clean_empty)
            ]
            half = ends[1] + (ends[0] - ends[1]) * sag
            peaks = np.array([ends[0], half, ends[1]])
            outputs.append(_output(plan, output, peaks, float(numbers.current_max[0, 0])))
    loudest = [
        REFERENCE_PRESSURE * 10 ** (output.clean / 20.0) * _phase(output) for output in outputs
    ]
    leader = np.argmax(np.abs(np.stack(loudest)), axis=0)
    ruling = np.take_along_axis(
        np.stack([output.ruling for output in outputs]), leader[np.newaxis], axis=0
    )[0]
    alike = _alike(build, outputs)
    return SoundOutcome(
        frequency=FREQUENCIES,
        outputs=tuple(outputs),
        pressure=_together(alike, [output.pressure for output in outputs]),
        clean=_no_less_when_fuller(decibels(np.abs(_together(alike, loudest)))),
        ruling=ruling,
    )


def _no_less_when_fuller(clean: Floats) -> Floats:
    """Levels by states, where a fuller battery can all that an emptier one can.

    Outputs that work against each other add to less when each of them has more.
    """
    return floats(np.maximum.accumulate(clean[::-1], axis=0)[::-1])


def _phase(output: OutputSound) -> Complexes:
    return np.asarray(np.exp(1j * np.angle(output.pressure)), dtype=np.complex128)


def _half_way(outcome: Outcome) -> float:
    """Share of the fall of the terminal volts that is still to come at half of the charge used."""
    curve = outcome.wanted.curve
    charge, volts = np.array(curve.charge), np.array(curve.volts)
    if len(volts) < 2 or not volts[0] > volts[-1]:
        return 0.5
    middle = 0.5 * (charge[0] + charge[-1])
    at = float(np.interp(-middle, -charge, volts))
    return float(np.clip((at - volts[-1]) / (volts[0] - volts[-1]), 0.0, 1.0))


def _alike(build: Build, outputs: list[OutputSound]) -> list[list[int]]:
    """Places of the outputs that play the same bands."""
    bands = {driver.name: driver.band for driver in build.driver}
    alike: dict[frozenset[str], list[int]] = {}
    for place, output in enumerate(outputs):
        played = frozenset(bands[voice.name] for voice in output.voices)
        alike.setdefault(played, []).append(place)
    return list(alike.values())


def _together(alike: list[list[int]], pressures: list[Complexes]) -> Complexes:
    """Sound of several voices, or of several outputs, with one signal on the axis.

    Those of the same bands stand side by side: as one source in the bass, as unlike ones above.
    Those of other bands are the parts of one whole, whose phases count.
    """
    share = 1.0 / (1.0 + (FREQUENCIES / _TOGETHER_BELOW) ** 2)
    total: Complexes = np.zeros((), dtype=np.complex128)
    for places in alike:
        each = np.stack([pressures[place] for place in places])
        joined = np.sum(each, axis=0)
        apart = np.sum(np.abs(each) ** 2, axis=0)
        size = np.sqrt(apart + (np.abs(joined) ** 2 - apart) * share)
        total = total + size * np.exp(1j * np.angle(joined))
    return np.asarray(total, dtype=np.complex128)


def _output(plan: Plan, output: Output, peaks: Floats, amps: float) -> OutputSound:
    ladders = [group.voice.filtered(FREQUENCIES) for group in output.groups]
    admittance = sum(1.0 / found.impedance[0] for found in ladders)
    impedance = np.asarray(1.0 / admittance, dtype=np.complex128)
    voices = tuple(
        _voice(plan, group, found.transfer[0], impedance, peaks, amps)
        for group, found in zip(output.groups, ladders, strict=True)
    )
    pressure = _together(_same_band(output), _heard(output, voices))
    # A sine is clean as long as every driver's part of it is.
    volts = np.stack([voice.clean_volts for voice in voices])
    first = np.argmin(volts, axis=0)
    ruling = np.take_along_axis(
        np.stack([voice.ruling for voice in voices]), first[np.newaxis], axis=0
    )[0]
    least = least_impedance(FREQUENCIES, impedance)
    return OutputSound(
        amplifier=output.amplifier,
        channel=output.channel,
        voices=voices,
        impedance=impedance,
        least=float(least.impedance),
        least_at=float(least.frequency),
        peak_volts=peaks,
        pressure=pressure,
        clean=decibels(np.min(volts, axis=0) * np.abs(pressure)),
        ruling=ruling,
    )


def _heard(output: Output, voices: tuple[VoiceSound, ...]) -> list[Complexes]:
    """Each voice on the axis, its polarity and its way counted from the nearest one."""
    ways = [group.driver.offset.likely + _LISTENER for group in output.groups]
    turned = [group.driver.reversed for group in output.groups]
    silence = np.zeros_like(voices[0].pressure)
    return [
        summed_pressure(
            [voice.pressure if place == one else silence for place, voice in enumerate(voices)],
            FREQUENCIES,
            paths=ways,
            reversed_=turned,
        )
        for one in range(len(voices))
    ]


def _same_band(output: Output) -> list[list[int]]:
    """Places of the voices of an output that play the same band."""
    alike: dict[str, list[int]] = {}
    for place, group in enumerate(output.groups):
        alike.setdefault(group.driver.band, []).append(place)
    return list(alike.values())


def _voice(
    plan: Plan,
    group: Group,
    transfer: Complexes,
    impedance: Complexes,
    peaks: Floats,
    amps: float,
) -> VoiceSound:
    driver, voice, cabinet = group.driver, group.voice, plan.build.cabinet
    divided = 1.0 / group.count if driver.wiring == "series" else 1.0
    at_driver = transfer * divided
    share = air_share(driver, plan.build)
    if voice.model is None:
        own = voice.impedance(FREQUENCIES)[0] / voice.joined
        silent = np.zeros_like(own)
        response = BoxResponse(own, silent, silent, silent)
    else:
        found = box_response(voice.model, voice.load, FREQUENCIES)
        response = BoxResponse(
            found.impedance[0], found.pressure[0], found.travel[0], found.opening[0]
        )
    limits = _limits(group, cabinet, share)
    # Limits of the driver hold at its own terminals; those of the amplifier at its output.
    at_terminals = voltage_limits(response, limits, frequency=FREQUENCIES)
    # A filter that lets nothing through protects without end.
    passed = np.maximum(np.abs(at_driver), 1e-12)
    own_limits = at_terminals[2:] / passed
    swing = np.broadcast_to(peaks[:, np.newaxis] / np.sqrt(2.0), (len(peaks), len(FREQUENCIES)))
    current = np.broadcast_to(amps * np.abs(impedance) / np.sqrt(2.0), swing.shape)
    every = np.stack([swing, current, *(np.broadcast_to(one, swing.shape) for one in own_limits)])
    opening = np.abs(response.opening * at_driver) * np.sqrt(2.0)
    works_on_air = driver.band in BASS_BANDS
    vent_area, cone_area = _opening_areas(cabinet, share) if works_on_air else (0.0, 0.0)
    return VoiceSound(
        name=driver.name,
        count=group.count,
        known=voice.model is not None,
        travel_known=voice.model is not None and driver.sd is not None,
        opening_known=voice.model is not None and bool(vent_area or cone_area),
        transfer=transfer,
        pressure=_pressure(group, at_driver),
        travel=np.abs(response.travel * at_driver) * np.sqrt(2.0),
        vent_speed=opening / vent_area if vent_area else np.full_like(opening, np.nan),
        radiator_travel=(
            opening / cone_area / (2.0 * np.pi * FREQUENCIES)
            if cone_area
            else np.full_like(opening, np.nan)
        ),
        power=np.abs(at_driver) ** 2 * np.real(1.0 / response.impedance),
        clean_volts=np.min(every, axis=0),
        ruling=np.argmin(every, axis=0),
        low_end=float(group.low_end[0, 0]),
        high_end=float(group.high_end[0, 0]),
    )


def _pressure(group: Group, at_driver: Complexes) -> Complexes:
    """On the axis at 1 m for one volt at the amplifier, all drivers of the group together."""
    voice = group.voice
    watt = 1.0 / np.sqrt(float(group.impedance[0, 0]))
    stated = REFERENCE_PRESSURE * 10 ** (float(group.sensitivity[0, 0]) / 20.0) * watt
    flat = np.full_like(FREQUENCIES, stated)
    if voice.model is not None and group.driver.vas is not None:
        motor = float(passband_pressure(voice.model)[0, 0])
        bass = 1.0 / (1.0 + (FREQUENCIES / _MOTOR_RULES_BELOW) ** 2)
        flat = stated * (motor / stated) ** bass
    share = 1.0 / (1.0 + (FREQUENCIES / _TOGETHER_BELOW) ** 2)
    many = np.sqrt(group.count + (group.count**2 - group.count) * share)
    shape = np.broadcast_to(voice.shape(FREQUENCIES), (1, len(FREQUENCIES)))[0]
    return np.asarray(flat * many * shape * at_driver, dtype=np.complex128)


def _opening_areas(cabinet: Cabinet | None, share: float) -> tuple[float, float]:
    """Area of vent and of passive radiator that one driver works on [m²]; 0 for none."""
    if cabinet is None:
        return 0.0, 0.0
    vented = cabinet.type == "vented" and cabinet.vent is not None
    vent = cabinet.vent.area * share if vented and cabinet.vent else 0.0
    cone = cabinet.radiator if cabinet.type == "radiator" else None
    return vent, cone.sd.likely * cone.count * share if cone else 0.0


def _limits(group: Group, cabinet: Cabinet | None, share: float) -> DriveLimits:
    driver = group.driver
    vent, cone = _opening_areas(cabinet, share)
    radiator = cabinet.radiator if cone and cabinet else None
    travel = driver.xmax.likely if driver.xmax and driver.sd and group.voice.model else np.inf
    throw = radiator.xmax.likely if radiator and radiator.xmax else np.inf
    return DriveLimits(
        xmax=travel,
        vent_area=vent or np.inf,
        radiator_area=cone or np.inf,
        radiator_xmax=throw,
        power=driver.power.likely,
    )
