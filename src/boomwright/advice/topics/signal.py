"""From the receiver to the drivers: hum paths, gain, channels, and the gauge that lies."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.build.audio import Amplifier, Driver, Receiver
from boomwright.build.quantities import format_quantity as shown
from boomwright.outcome.ground import ground_plan
from boomwright.outcome.ground_data import HEARD_FROM, GroundPlan, Whine, heard_as
from boomwright.outcome.speakers import channels_of
from boomwright.physics.preferred import nearest_preferred

__all__: list[str] = []

_SPOILS = 50.0
_GAIN_HIGH, _GAIN_LOW = 6.0, -6.0
_PAD_SHUNT = 1000.0

_FAMILIES = {"lead-agm": "lead", "lead-flooded": "lead"}
_GAUGES = {("lead", 6): "meter-bar-lead", ("lifepo4", 4): "meter-bar-lfp"}
_GAUGES |= {("li-ion-nmc", 3): "meter-bar-li-ion"}
"""Gauges of the drawer by chemistry and cells in series."""
_GAUGE_ERROR = 0.15
_SLOPE_FROM, _SLOPE_TO = 0.3, 0.8


_OWN = "Run the minus lead of {receiver} on its own beside its plus lead"
_PART = "Put an audio isolating transformer between {receiver} and {amplifier}"
_QUIETER: tuple[tuple[dict[str, str | bool], str, str], ...] = (
    ({"negative": "own"}, "its own minus lead", _OWN),
    (
        {"isolated": True},
        "an isolating transformer",
        f"{_PART}, or feed {{receiver}} from an isolated converter",
    ),
    (
        {"negative": "own", "isolated": True},
        "its own minus lead and an isolating transformer",
        f"{_OWN}. {_PART}",
    ),
)
"""Edits of a receiver against its whine, the cheapest first: the keys, what it gets, what to do."""


@rule(
    "shared-negative",
    "loud",
    title="Receiver and amplifier share a minus lead",
    source="Ohm's law on the minus wiring; published as shared-impedance coupling",
)
def shared_negative(case: Case) -> Iterator[Says]:
    """Level of the receiver's current bursts that a shared minus lead puts on the drivers."""
    for receiver in case.build.receiver:
        whine = _bursts(case.ground, receiver)
        if receiver.negative == "shared" and whine and whine.level.likely >= HEARD_FROM:
            yield _says(case, receiver, whine, "the minus lead that it shares with an amplifier")


@rule(
    "receiver-whines",
    "loud",
    title="Receiver heard through its minus wiring",
    source="Ohm's law on the minus wiring; published as shared-impedance coupling",
)
def receiver_whines(case: Case) -> Iterator[Says]:
    """Bursts of a receiver on a minus lead of its own that spoil the music all the same."""
    for receiver in case.build.receiver:
        whine = _bursts(case.ground, receiver)
        if receiver.negative == "own" and whine and whine.level.likely >= _SPOILS:
            yield _says(case, receiver, whine, "the minus leads and the audio lead's screen")


def _bursts(plan: GroundPlan, receiver: Receiver) -> Whine | None:
    """Loudest whine of a receiver's bursts, None where nothing carries them to a driver."""
    heard = [w for w in plan.whines if w.load == receiver.name and w.kind == "bursts"]
    return max(heard, key=lambda whine: whine.level.likely, default=None)


def _says(case: Case, receiver: Receiver, whine: Whine, way: str) -> Says:
    level = whine.level
    fix, do = _quieter(case, receiver, whine)
    return Says(
        "stop" if level.likely >= _SPOILS else "mind",
        receiver.name,
        f"Bursts of {shown(whine.current.likely, 'current', digits=2)} through {way} act as in "
        f"one lead of {shown(whine.resistance.likely, 'resistance', digits=2)} and put "
        f"{shown(whine.volts.likely, 'voltage', digits=2)} on the drivers of {whine.amplifier}: "
        f"about {level.likely:.0f} dB at 1 m ({level.low:.0f} to {level.high:.0f}), "
        f"{heard_as(level.likely)}, with no music playing.",
        "The amplifier takes the drop along that copper for music and amplifies it: whine, clicks "
        "and chirps.",
        do,
        numbers=(
            Figure("as in one lead of", whine.resistance.likely, "resistance"),
            Figure("at the drivers", whine.volts.likely, "voltage"),
            Figure("level at 1 m", level.likely, "decibel"),
        ),
        fix=fix,
    )


def _quieter(case: Case, receiver: Receiver, whine: Whine) -> tuple[Fix | None, str]:
    """Cheapest edit after which a quiet room hides the whine, or the last there is."""
    tried: list[tuple[float, str]] = []
    fix, do = None, "Shorten the leads that it has in common with the amplifier, and thicken them."
    for keys, gets, words in _QUIETER:
        if any(getattr(receiver, key) == value for key, value in keys.items()):
            continue
        quieter = receiver.model_copy(update=keys)
        receivers = tuple(quieter if r is receiver else r for r in case.build.receiver)
        build = case.build.model_copy(update={"receiver": receivers})
        plan = ground_plan(build, versions=case.outcome.versions - 1, drawer=case.drawer)
        after = _bursts(plan, quieter)
        level = after.level.likely if after else -np.inf
        edits = tuple(Change(receiver.name, key, value) for key, value in keys.items())
        fix = Fix(f"give {receiver.name} {gets}", edits)
        do = words.format(receiver=receiver.name, amplifier=whine.amplifier)
        do += f", which leaves {_decibels(level)} at 1 m."
        do += "".join(f" With {what} alone it is {_decibels(left)}." for left, what in tried)
        if level < HEARD_FROM:
            break
        tried.append((level, gets))
    if fix is not None and receiver.negative == "own":
        do += " Shorter and thicker minus leads take some of it away too."
    return fix, do


def _decibels(level: float) -> str:
    return f"{level:.0f} dB" if level > 0.0 else "less than 0 dB"


@rule(
    "gain-mismatch",
    "loud",
    title="Gain between receiver and amplifier",
    source="the receiver's full output against the input that clips the board",
)
def gain_mismatch(case: Case) -> Iterator[Says]:
    """Receiver's full output well above, or well below, what just clips the board."""
    boards = {board.name: board for board in case.build.amplifier}
    for outcome in case.outcome.amplifiers:
        excess, board = outcome.gain_excess.likely, boards[outcome.name]
        if np.isnan(excess) or not case.build.receiver:
            continue
        receiver = case.build.receiver[0]
        figures = (
            Figure("receiver's full output", receiver.output.likely, "voltage"),
            Figure("input that clips the board", outcome.clip_input.likely, "voltage"),
            Figure("excess", excess, "decibel"),
        )
        pad = board.input_pad.likely
        if excess > _GAIN_HIGH:
            step = round(excess)
            series = float(nearest_preferred(_PAD_SHUNT * (10 ** (step / 20) - 1), "E12"))
            yield Says(
                "mind",
                board.name,
                f"The board clips at {shown(outcome.clip_input.likely, 'voltage')} in, and the "
                f"receiver gives {shown(receiver.output.likely, 'voltage')}: {excess:.0f} dB too "
                f"much, so it clips at {10 ** (-excess / 20) * 100:.0f} % of the phone's volume.",
                "Half of the volume slider is of no use, prompts are deafening, and the hiss at "
                "rest is louder by the same decibels.",
                f"Set the board's gain {step} dB lower, or put a divider of {step} dB in each "
                f"channel: {shown(series, 'resistance')} in series, "
                f"{shown(_PAD_SHUNT, 'resistance')} across the input.",
                numbers=figures,
                fix=Fix(
                    f"a divider of {step} dB at the input",
                    (Change(board.name, "input_pad", f"{pad + step:.0f} dB (standard)"),),
                ),
            )
        elif excess < _GAIN_LOW:
            less = min(pad, round(-excess))
            do = (
                f"Take {less:.0f} dB out of the input divider"
                if less >= 1
                else f"Set the board's gain {-excess:.0f} dB higher"
            )
            yield Says(
                "mind",
                board.name,
                f"The receiver's full {shown(receiver.output.likely, 'voltage')} stays "
                f"{-excess:.0f} dB below the {shown(outcome.clip_input.likely, 'voltage')} that "
                "drive the board to its limit.",
                "The board's watts cannot be used, however far the phone is turned up.",
                f"{do}, or use a receiver with a higher output.",
                numbers=figures,
                fix=(
                    Fix(
                        f"{less:.0f} dB less divider",
                        (Change(board.name, "input_pad", f"{pad - less:.0f} dB (standard)"),),
                    )
                    if less >= 1
                    else None
                ),
            )


def _sides(board: Amplifier, driver: Driver) -> set[str]:
    """Sides of the stereo music that a driver hears."""
    if board.input == "sum" or driver.channel == "sub":
        return {"left", "right"}
    if board.input in {"left", "right"}:
        return {board.input}
    return {"left" if channel % 2 == 0 else "right" for channel in channels_of(driver, board)}


@rule(
    "one-channel-band",
    "loud",
    title="Part of the sound that plays only one side of the music",
    source="common practice, no source",
)
def one_channel_band(case: Case) -> Iterator[Says]:
    """Bands that are fed from the left or the right of a stereo source alone."""
    if case.build.receiver and all(item.sound == "mono" for item in case.build.receiver):
        return
    heard: dict[str, set[str]] = {}
    first: dict[str, Driver] = {}
    for board in case.build.amplifier:
        for driver in case.drivers_of(board):
            heard.setdefault(driver.band, set()).update(_sides(board, driver))
            first.setdefault(driver.band, driver)
    whole = heard.get("full", set()) == {"left", "right"}
    lame = {band: sides for band, sides in heard.items() if len(sides) == 1}
    if whole or not lame:
        return
    sides = {next(iter(found)) for found in lame.values()}
    split = len(sides) == 2
    words = {"low": "the bass", "mid": "the middle", "high": "the treble", "full": "all of it"}
    parts = [f"{words[band]} hears only the {next(iter(found))}" for band, found in lame.items()]
    driver = first[next(iter(lame))]
    fix = Fix("feed the inputs with left plus right", (Change(driver.amplifier, "input", "sum"),))
    yield Says(
        "stop" if split else "mind",
        driver.name,
        f"Of a stereo source {' and '.join(parts)}, so {len(lame)} of {len(heard)} "
        f"{'bands misses' if len(lame) == 1 else 'bands miss'} half of the music.",
        "Singers and instruments sit left or right in a recording, and what sits on the other side "
        "is never heard there.",
        "Join left and right through two equal 1 kΩ resistors at line level, never at the "
        "outputs, and feed both inputs with the sum.",
        numbers=(Figure("bands with one side only", float(len(lame)), "ratio"),),
        fix=fix,
    )


@rule(
    "meter-chemistry",
    "long",
    title="Battery gauge made for another chemistry",
    source="rested volts of each chemistry",
)
def meter_chemistry(case: Case) -> Iterator[Says]:
    """Gauges whose marks belong to another chemistry than the battery's."""
    battery = case.build.battery
    if battery is None:
        return
    family = _FAMILIES.get(battery.chemistry, battery.chemistry)
    for load in case.build.load:
        if not load.shows or _FAMILIES.get(load.shows, load.shows) == family:
            continue
        full = case.outcome.source.volts_full.likely
        gauge = _GAUGES.get((family, battery.cells))
        yield Says(
            "mind",
            load.name,
            f"The gauge's marks are made for {load.shows}, and the battery is {battery.chemistry} "
            f"with {shown(full, 'voltage')} when full.",
            "Each chemistry has volts of its own: with the wrong marks it says full until the end, "
            "or empty from the start.",
            f"Use a gauge made for {battery.chemistry} with {battery.cells} cells in series, or a "
            "plain voltmeter and a list of its own volts.",
            numbers=(Figure("volts of the full battery", full, "voltage"),),
            fix=(
                Fix("a gauge for this battery", (Change(load.name, "part", gauge),))
                if gauge and load.part
                else None
            ),
        )


@rule(
    "meter-sags",
    "long",
    title="Battery gauge that reads low while music plays",
    source="current times resistance, over the slope of the rested volts",
)
def meter_sags(case: Case) -> Iterator[Says]:
    """Reading error of a voltage gauge under the average load."""
    battery, chemistry = case.build.battery, case.chemistry
    if battery is None or chemistry is None:
        return
    low, high = np.interp([_SLOPE_FROM, _SLOPE_TO], np.linspace(0, 1, 101), chemistry.ocv_table)
    slope = float(high - low) * battery.cells / (_SLOPE_TO - _SLOPE_FROM)
    sag = case.outcome.wanted.amps.likely * case.outcome.source.resistance.likely
    error = sag / slope
    for load in case.build.load:
        # A gauge with its own marks is judged by them.
        soldered = load.circuit is not None
        if load.use != "meter" or soldered or not load.shows or error <= _GAUGE_ERROR:
            continue
        yield Says(
            "mind",
            load.name,
            f"While music plays the battery sags by {shown(sag, 'voltage', digits=2)}, and the "
            f"gauge reads {error * 100:.0f} % of the charge too low.",
            f"{battery.chemistry} changes by only {shown(slope * 0.1, 'voltage', digits=2)} for "
            "each tenth of its charge, so a small sag looks like an empty battery.",
            "Read it with the music paused for a minute, or count ampere-hours instead.",
            numbers=(
                Figure("sag", sag, "voltage"),
                Figure("reading error", error, "share"),
            ),
        )
