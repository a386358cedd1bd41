"""Drivers on amplifier outputs: the load they make and the level they give."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.build.audio import Amplifier, Driver
from boomwright.build.draws import Draws
from boomwright.build.model import Build
from boomwright.build.quantities import Quantity, parse_quantity
from boomwright.outcome.room import net_volume_of
from boomwright.outcome.voices import Voice, band_ends, blocks_bass, model_of, voice_of
from boomwright.physics.arrays import Floats
from boomwright.physics.impedance import impedance_minimum, impedance_parallel
from boomwright.physics.loudspeaker import (
    power_compression_db,
    sensitivity_from_parameters,
    sensitivity_from_voltage,
)
from boomwright.physics.programme import Programme
from boomwright.physics.sound import a_weighting
from boomwright.physics.wire import wire_resistance

__all__ = [
    "Group",
    "Output",
    "channels_of",
    "level_at_1m",
    "outputs_of",
    "rated_watt_db",
    "sensitivity_of",
]

_SENSITIVITY_GUESS = "86 dB [82 to 89]"
_COUPLING = "0.5 [0 to 1]"
_LOOKED_AT = np.geomspace(15.0, 24e3, 220)


@dataclass(frozen=True)
class Group:
    """Drivers of one kind on one output; arrays are (versions, 1).

    Parameters
    ----------
    driver : Driver
        The driver.
    count : int
        How many hang on this output.
    impedance : array
        Rated impedance of one [Ω].
    sensitivity : array
        Level of one at 1 m with 1 W [dB].
    low_end, high_end : array
        Band it plays [Hz].
    weighting : array
        A-weighted level of the programme in that band, less its whole unweighted level [dB].
    power_share : array
        Share of the programme's power that its coil takes: all of it, or what its capacitor passes.
    coupling : array
        Share of the extra gain that drivers close together give each other, 0 to 1.
    drive : array
        Volts on one driver for one volt at the amplifier, the lead's loss taken off.
    voice : Voice
        Its motor, air and filter.
    """

    driver: Driver
    count: int
    impedance: Floats
    sensitivity: Floats
    low_end: Floats
    high_end: Floats
    weighting: Floats
    power_share: Floats
    coupling: Floats
    drive: Floats
    voice: Voice

    @property
    def load(self) -> Floats:
        """Rated impedance of the group as wired [Ω]."""
        return self.impedance * (self.count if self.driver.wiring == "series" else 1 / self.count)


@dataclass(frozen=True)
class Output:
    """One output of an amplifier and what hangs on it.

    Parameters
    ----------
    amplifier : str
        Name of the amplifier.
    channel : int
        Which of its outputs, from 0.
    groups : tuple of Group
        Drivers on it.
    load : array (versions, 1)
        Rated impedance the music meets, speaker lead included [Ω].
    load_least : float
        Least impedance over the band by the 80 % rule [Ω].
    share : array (versions, 1)
        Share of the programme's power that falls on the load; below 1 where a tweeter alone
        hangs on the output behind its capacitor.
    """

    amplifier: str
    channel: int
    groups: tuple[Group, ...]
    load: Floats
    load_least: float
    share: Floats


def channels_of(driver: Driver, amplifier: Amplifier) -> dict[int, int]:
    """How many drivers hang on each channel of their amplifier.

    Parameters
    ----------
    driver : Driver
        The driver and its count.
    amplifier : Amplifier
        The amplifier.

    Returns
    -------
    dict of int to int
        Channel from 0 → drivers on it.
    """
    channels = 1 if amplifier.use != "as-built" else amplifier.channels
    if driver.channel == "each":
        used = min(channels, driver.count)
        each, rest = divmod(driver.count, used)
        return {channel: each + (channel < rest) for channel in range(used)}
    place = {"left": 0, "right": 1, "sub": channels - 1}[driver.channel]
    return {min(place, channels - 1): driver.count}


def rated_watt_db(driver: Driver) -> float:
    """Level that a watt in the rated impedance gives over one in the coil, likely version [dB].

    A label counts its watt in the rated impedance; the efficiency of a motor holds for the coil,
    which has less and so takes more from the same volts. 0 where motor and spring are not known.
    """
    model = model_of(driver, Draws(0))
    if model is None:
        return 0.0
    return 10.0 * float(np.log10(driver.impedance.likely / model.re[0, 0]))


def sensitivity_of(driver: Driver) -> Quantity:
    """Level of one driver at 1 m with 1 W in its rated impedance, stated or of its motor [dB]."""
    if driver.sensitivity is not None:
        given = driver.sensitivity
        if driver.sensitivity_at == "1 W":
            return given
        resistance = driver.impedance.likely
        at_1w = [
            float(sensitivity_from_voltage(level, resistance=resistance))
            for level in (given.likely, given.low, given.high)
        ]
        return Quantity(at_1w[0], at_1w[1], at_1w[2], given.kind, given.basis)
    if driver.fs and driver.vas and driver.qes:
        level = float(
            sensitivity_from_parameters(driver.fs.likely, driver.vas.likely, qes=driver.qes.likely)
        )
        level += rated_watt_db(driver)
        return parse_quantity(f"{level:.2f} dB ±1.5 dB (typical)", "decibel")
    return parse_quantity(f"{_SENSITIVITY_GUESS} (guess)", "decibel")


def outputs_of(
    amplifier: Amplifier, build: Build, draws: Draws, programme: Programme
) -> tuple[Output, ...]:
    """Outputs of an amplifier that have drivers.

    Parameters
    ----------
    amplifier : Amplifier
        The amplifier.
    build : Build
        The build it belongs to.
    draws : Draws
        Where uncertain values come from.
    programme : Programme
        Music it plays, for the share of it that falls into each driver's band.

    Returns
    -------
    tuple of Output
        In order of channel.
    """
    groups: dict[int, list[Group]] = {}
    volume = net_volume_of(build, draws) if build.cabinet else None
    for driver in build.driver:
        if driver.amplifier == amplifier.name:
            for channel, count in channels_of(driver, amplifier).items():
                group = _group(driver, count, build, volume, draws, programme)
                groups.setdefault(channel, []).append(group)
    return tuple(_output(amplifier, channel, tuple(groups[channel])) for channel in sorted(groups))


def _group(
    driver: Driver,
    count: int,
    build: Build,
    volume: Floats | None,
    draws: Draws,
    programme: Programme,
) -> Group:
    impedance = draws.take(driver.name, "impedance", driver.impedance)
    voice = voice_of(driver, count, build, draws, volume)
    bands, powers = programme.frequencies, programme.band_powers
    passed = np.abs(voice.filtered(bands).transfer) ** 2
    heard = passed * np.abs(voice.shape(bands)) ** 2 * 10 ** (a_weighting(bands) / 10)
    low_end, high_end = band_ends(voice, _LOOKED_AT)
    lead = 2.0 * wire_resistance(
        draws.take(driver.name, "lead_area", driver.lead_area),
        draws.take(driver.name, "lead_length", driver.lead_length),
    )
    series = driver.wiring == "series"
    load = impedance * (count if series else 1 / count)
    return Group(
        driver=driver,
        count=count,
        impedance=impedance,
        sensitivity=draws.take(driver.name, "sensitivity", sensitivity_of(driver)),
        low_end=np.full((1, 1), low_end),
        high_end=np.full((1, 1), high_end),
        weighting=_decibels(heard @ powers),
        # Sound ends where the cone ends, but a coil without a filter is heated by all of the music.
        power_share=(passed @ powers)[:, np.newaxis] if voice.steps else np.ones((1, 1)),
        coupling=draws.take(driver.name, "coupling", parse_quantity(_COUPLING, "ratio")),
        drive=load / (load + lead) / (count if series else 1),
        voice=voice,
    )


def _decibels(share: Floats) -> Floats:
    return 10.0 * np.log10(np.maximum(share, 1e-30))[:, np.newaxis]


def _output(amplifier: Amplifier, channel: int, groups: tuple[Group, ...]) -> Output:
    full = tuple(group for group in groups if not blocks_bass(group.driver)) or groups
    versions = np.broadcast_shapes(*(group.load.shape for group in full))
    loads = np.stack([np.broadcast_to(group.load, versions) for group in full], axis=-1)
    leads = [
        2.0 * wire_resistance(group.driver.lead_area.likely, group.driver.lead_length.likely)
        for group in full
    ]
    rated = impedance_parallel(loads)
    quiet = all(blocks_bass(group.driver) for group in groups)
    share = groups[0].power_share if quiet else np.ones((1, 1))
    return Output(
        amplifier=amplifier.name,
        channel=channel,
        groups=groups,
        load=rated + float(np.min(leads)),
        load_least=float(impedance_minimum(rated[0, 0])),
        share=share,
    )


def level_at_1m(outputs: tuple[Output, ...], mean_squares: tuple[Floats, ...]) -> Floats:
    """A-weighted level at 1 m in half-space of everything the outputs drive.

    Outputs and kinds of driver add as unlike sources; drivers of one kind on one output also gain
    from each other, by a share that is drawn.

    Parameters
    ----------
    outputs : tuple of Output
        What is driven.
    mean_squares : tuple of array (versions, scenarios)
        Mean square volts at each output.

    Returns
    -------
    array (versions, scenarios)
        Level [dB(A)]; -300 for silence.
    """
    total: Floats = np.zeros((1, 1))
    for output, mean_square in zip(outputs, mean_squares, strict=True):
        for group in output.groups:
            power = mean_square * group.drive**2 / group.impedance
            heating = power * group.power_share
            hot = power_compression_db(heating, power_rated=group.driver.power.likely)
            many = 10 * np.log10(group.count) * (1 + group.coupling)
            level = group.sensitivity + group.weighting + many - hot
            total = total + power * 10 ** (level / 10)
    return 10 * np.log10(np.maximum(total, 1e-30))
