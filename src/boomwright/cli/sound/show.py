"""The sound of a build in the terminal and as data: drivers, limits, loudness and dose."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from boomwright.build.audio import Cabinet
from boomwright.build.quantities import format_hours, format_quantity
from boomwright.cli.design.page import finite
from boomwright.cli.design.show import heading, plain_table
from boomwright.cli.show import console
from boomwright.cli.sound.heard import Heard
from boomwright.outcome.at_listener import AGREES_WITHIN
from boomwright.outcome.boxes import BassBox
from boomwright.outcome.dose import Dose
from boomwright.outcome.sound import STATES, VoiceSound
from boomwright.outcome.speakers import sensitivity_of
from boomwright.physics.limits import LIMITS, VENT_AIR_SPEED

__all__ = ["CAUTION", "DOSE_HEADS", "dose_rows", "level_rows", "print_sound", "sound_values"]

STEPS: Final = (
    20.0, 25.0, 31.5, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 315.0,
    500.0, 1e3, 2e3, 4e3, 8e3, 16e3,
)  # fmt: skip
"""Where the table stands [Hz]: third octaves in the bass, where limits rule, then octaves."""

_SHORT: Final = {"radiator travel": "radiator", "vent air": "vent"}
_MOMENTS: Final = 6
_QUIET_DB: Final = 30.0
"""How far below its loudest a driver's own table goes [dB]; below it says nothing useful."""

DOSE_HEADS: Final = ("who", "for", "dB(A)", "day's dose", "week's share", "such runs a week")

CAUTION: Final = (
    "Caution: hearing that is lost does not come back. These shares are for adults with sound ears "
    "who hear nothing else loud; they are a guide, not a promise. Where the public listens, local "
    "rules and a sound level meter decide."
)


def print_sound(heard: Heard, *, file: str, written: Sequence[str]) -> None:
    """Print the page.

    Parameters
    ----------
    heard : Heard
        What is shown.
    file : str
        Name of the build file.
    written : sequence of str
        Files that were written.
    """
    screen = console()
    screen.print(Text(heard.build.name, style="bold"))
    screen.print(Text(file, style="dim"))
    heading(screen, "Drivers")
    screen.print(_drivers(heard))
    for line in (*_outputs(heard), *_chambers(heard)):
        screen.print(Padding(Text(line), (0, 0, 0, 2)))
    what = heard.of or "everything together"
    heading(screen, f"Loudest clean sine at 1 m, half space, and what rules it: {what}")
    screen.print(_limits(heard))
    for note in _notes(heard):
        screen.print(Padding(Text(note, style="dim"), (0, 0, 0, 2)))
    heading(screen, "Loudness over the discharge, as wanted")
    screen.print(_discharge(heard))
    for line in _listener_words(heard):
        screen.print(Padding(Text(line), (0, 0, 0, 2)))
    heading(screen, "What ears take in one such run")
    screen.print(_doses(heard))
    screen.print(Padding(Text(CAUTION, style="yellow"), (0, 0, 0, 2)))
    if written:
        screen.print()
        screen.print(Text(f"Written: {', '.join(written)}."))


def _shown_voices(heard: Heard) -> list[VoiceSound]:
    return [voice for _, voice in heard.sound.voices() if heard.of in ("", voice.name)]


def _drivers(heard: Heard) -> Table:
    table = plain_table("driver", "plays", "dB, 1 W", "box")
    boxes = {box.name: box for box in heard.boxes}
    counts = {driver.name: driver.count for driver in heard.build.driver}
    for voice in _shown_voices(heard):
        count = f"{counts[voice.name]} × " if counts[voice.name] > 1 else ""
        plays = f"{_hertz(voice.low_end)} to {_hertz(voice.high_end)}"
        if voice.low_end >= voice.high_end:
            plays = "next to nothing"
        words = (
            _box_words(boxes[voice.name], heard.build.cabinet)
            if voice.name in boxes
            else "closed at its back"
        )
        if not voice.known:
            words += "; motor and spring unknown, so its rated impedance stands for it"
        elif not voice.travel_known:
            words += "; cone area unknown, so its travel limits nothing here"
        table.add_row(
            f"{count}{voice.name}", plays, f"{_sensitivity(heard, voice.name):.1f}", words
        )
    return table


def _sensitivity(heard: Heard, name: str) -> float:
    driver = next(driver for driver in heard.build.driver if driver.name == name)
    return sensitivity_of(driver).likely


def _box_words(box: BassBox, cabinet: Cabinet | None) -> str:
    if box.kind == "none":
        return "no cabinet: as in a large wall"
    litres = format_quantity(box.volume, "volume")
    words = {
        "closed": f"closed, {litres} net: fc {_hertz(box.fc)}, Qtc {box.qtc:.2f}",
        "vented": f"vented, {litres} net, tuned to {_hertz(box.fb)}",
        "radiator": f"passive radiator, {litres} net, tuned to {_hertz(box.fb)}",
        "open": f"open at the back, {litres}",
    }[box.kind]
    if box.kind == "closed" and math.isnan(box.fc):
        words = f"closed, {litres} net"
    if math.isnan(box.hump_db):
        return f"{words}; bass taken as the file says"
    hump = f", hump {box.hump_db:.1f} dB" if box.hump_db >= 0.1 else ", no hump"
    # Shown beside fc and Qtc, which know of no leaks.
    untested = cabinet is not None and cabinet.leaks == "unknown" and cabinet.ql is None
    leaks = " with usual leaks" if box.kind == "closed" and untested else ""
    return f"{words}; f3 {_hertz(box.low_end)}{leaks}{hump}"


def _outputs(heard: Heard) -> list[str]:
    """Least impedance of every output; outputs that meet the same share a line."""
    made_for = {board.name: board.load_min.likely for board in heard.build.amplifier}
    several = len(heard.sound.outputs) > 1
    alike: dict[tuple[str, float, float], list[int]] = {}
    for output in heard.sound.outputs:
        key = (output.amplifier, output.least, output.least_at)
        alike.setdefault(key, []).append(output.channel + 1)
    lines = []
    for (name, least, least_at), channels in alike.items():
        word = "output" if len(channels) == 1 else "outputs"
        which = f"{name}, {word} {' and '.join(map(str, channels))}" if several else name
        lines.append(
            f"{which}: least impedance {format_quantity(least, 'resistance', digits=2)} at "
            f"{_hertz(least_at)}; made for "
            f"{format_quantity(made_for[name], 'resistance', digits=2)} or more."
        )
    return lines


def _chambers(heard: Heard) -> list[str]:
    return [
        f"{each.shared.name}: battery and boards take {format_quantity(each.taken, 'volume')} of "
        f"its air. In a chamber built on for them: "
        f"{format_quantity(each.apart.volume, 'volume')} net instead of "
        f"{format_quantity(each.shared.volume, 'volume')}, f3 {_hertz(each.apart.low_end)} instead "
        f"of {_hertz(each.shared.low_end)}"
        + (
            ""
            if math.isnan(each.apart.hump_db)
            else f", hump {each.apart.hump_db:.1f} dB instead of {each.shared.hump_db:.1f} dB"
        )
        + "."
        for each in heard.chambers
        if heard.of in ("", each.shared.name)
    ]


def _limits(heard: Heard) -> Table:
    away = f"at {format_quantity(heard.listener.distance, 'length')}"
    table = plain_table("", "2.83 V", away, "full", "", "half", "", "nearly empty", "")
    for place, column in enumerate(table.columns):
        column.justify = "left" if place in (4, 6, 8) else "right"
        column.no_wrap = True
    for row in level_rows(heard):
        cells = [_hertz(row["hertz"]), f"{row['level']:.0f}", f"{row['at_listener']:.0f}"]
        for state in STATES:
            clean = row["clean"][state]
            cells += [f"{clean['level']:.0f}", _SHORT.get(clean["limit"], clean["limit"])]
        table.add_row(*cells)
    return table


def level_rows(heard: Heard) -> list[dict[str, Any]]:
    """Levels at each step of the table, for the frequencies that what is shown can play."""
    shown = heard.shown
    places = [int(np.argmin(np.abs(np.log(shown.frequency / hertz)))) for hertz in STEPS]
    loudest = float(np.max(shown.level))
    found = []
    for hertz, place in zip(STEPS, places, strict=True):
        if heard.of and shown.level[place] < loudest - _QUIET_DB:
            continue
        found.append(
            {
                "hertz": hertz,
                "level": float(shown.level[place]),
                "at_listener": float(shown.level[place] + heard.listener.carried_db[place]),
                "clean": {
                    state: {
                        "level": float(shown.clean[number, place]),
                        "limit": LIMITS[int(shown.ruling[number, place])],
                    }
                    for number, state in enumerate(STATES)
                },
            }
        )
    return found


def _notes(heard: Heard) -> list[str]:
    used = {clean["limit"] for row in level_rows(heard) for clean in row["clean"].values()}
    meaning = {
        "volts": "volts, amps: what the amplifier can swing and drive",
        "amps": "volts, amps: what the amplifier can swing and drive",
        "travel": "travel: the cone's own limit",
        "vent air": f"vent: air of {VENT_AIR_SPEED:g} m/s in it, which is heard",
        "radiator travel": "radiator: travel of the passive radiator",
        "heat": "heat: the driver's continuous power",
    }
    told = list(dict.fromkeys(meaning[limit] for limit in LIMITS if limit in used))
    dull = [voice.name for voice in _shown_voices(heard) if not voice.travel_known]
    untold = f" Travel of {', '.join(dull)} is not known." if dull else ""
    return [
        f"Levels in dB, 2.83 V on every output; {'; '.join(told)}.{untold} Music spreads its "
        "volts over many frequencies and is stopped by volts sooner than this."
    ]


def _discharge(heard: Heard) -> Table:
    table = plain_table("after", "charge left", "battery", "dB(A) at the listener")
    for column in table.columns:
        column.justify = "right"
    for moment in _moments(heard):
        left = moment["charge_left"]
        table.add_row(
            format_hours(moment["seconds"]) if moment["seconds"] else "the start",
            "" if left is None else f"{100 * left:.0f} %",
            format_quantity(moment["volts"], "voltage"),
            f"{moment['level']:.1f}",
        )
    return table


def _moments(heard: Heard) -> list[dict[str, Any]]:
    curve = heard.outcome.wanted.curve
    time = np.array(curve.time)
    spread = np.linspace(0.0, time[-1], _MOMENTS if time[-1] > 0.0 else 1)
    return [
        {
            "seconds": float(at),
            "charge_left": finite(float(np.interp(at, time, curve.charge))),
            "volts": float(np.interp(at, time, curve.volts)),
            "level": float(np.interp(at, time, curve.level)),
        }
        for at in spread
    ]


def _listener_words(heard: Heard) -> list[str]:
    run, listener = heard.outcome.wanted, heard.listener
    lines = [
        f"Music stays clean up to {run.clean_start.likely:.0f} dB(A) there with a full battery, "
        f"{run.clean_end.likely:.0f} dB(A) at the end."
    ]
    short = run.level_asked - run.level_start.likely
    if short > 0.5:
        lines.append(f"{run.level_asked:.0f} dB(A) is asked for: {short:.0f} dB short.")
    lines.append(
        f"Straight before the box at {format_quantity(listener.distance, 'length')} the curve adds "
        f"up to {listener.weighted:.0f} dB(A), {abs(listener.difference):.1f} dB "
        f"{'over' if listener.difference >= 0.0 else 'under'} the run's "
        f"{listener.stated:.0f} dB(A): the run counts the place as one number and all directions "
        "alike, the curve hears the axis."
    )
    if abs(listener.difference) > AGREES_WITHIN:
        lines.append(
            "They lie farther apart than usual: look at the sensitivities and at the filter."
        )
    return lines


def _doses(heard: Heard) -> Table:
    table = plain_table(*DOSE_HEADS)
    for column in table.columns[1:]:
        column.justify = "right"
    for row in dose_rows(heard):
        table.add_row(*row)
    return table


def dose_rows(heard: Heard) -> list[tuple[str, ...]]:
    """Lines of the table of doses, under :data:`DOSE_HEADS`."""
    rows: list[tuple[str, ...]] = []
    for name, dose in (("listeners", heard.listeners), ("builder", heard.builder)):
        many = dose.runs_a_week
        rows.append(
            (
                f"{name}, {format_quantity(dose.distance, 'length')}",
                format_hours(dose.duration),
                f"{dose.level:.0f}",
                _percent(dose.daily),
                _percent(dose.weekly),
                "over 20" if many > 20.0 else f"{many:.1f}",
            )
        )
    return rows


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %" if share >= 0.01 else "under 1 %"


def _hertz(frequency: float) -> str:
    return format_quantity(frequency, "frequency", digits=3 if frequency < 1e3 else 2)


def sound_values(heard: Heard) -> dict[str, Any]:
    """The page as plain values that :mod:`json` can write; SI units, null where unknown.

    Parameters
    ----------
    heard : Heard
        What is shown.

    Returns
    -------
    dict
    """
    listener, shown = heard.listener, heard.shown
    return {
        "name": heard.build.name,
        "driver": heard.of or None,
        "drivers": [_voice_values(heard, voice) for voice in _shown_voices(heard)],
        "outputs": [
            {
                "amplifier": output.amplifier,
                "channel": output.channel + 1,
                "least_impedance": output.least,
                "least_impedance_at": output.least_at,
                "peak_volts": dict(zip(STATES, output.peak_volts.tolist(), strict=True)),
            }
            for output in heard.sound.outputs
        ],
        "own_chamber": [
            {
                "driver": each.shared.name,
                "taken": each.taken,
                "shared": _box_values(each.shared),
                "apart": _box_values(each.apart),
            }
            for each in heard.chambers
            if heard.of in ("", each.shared.name)
        ],
        "table": level_rows(heard),
        "listener": {
            "distance": listener.distance,
            "volts": listener.volts,
            "level": listener.weighted,
            "level_of_the_run": listener.stated,
            "bands": [
                {"hertz": float(hertz), "level": float(level)}
                for hertz, level in zip(listener.bands, listener.band_levels, strict=True)
            ],
        },
        "discharge": _moments(heard),
        "dose": {
            "listeners": _dose_values(heard.listeners),
            "builder": _dose_values(heard.builder),
        },
        "curves": {
            "hertz": shown.frequency.tolist(),
            "level": shown.level.tolist(),
            "level_at_listener": (shown.level + listener.carried_db).tolist(),
            "clean": dict(zip(STATES, shown.clean.tolist(), strict=True)),
            "limit": {
                state: [LIMITS[number] for number in ruling]
                for state, ruling in zip(STATES, shown.ruling.tolist(), strict=True)
            },
        },
    }


def _voice_values(heard: Heard, voice: VoiceSound) -> dict[str, Any]:
    box = next((box for box in heard.boxes if box.name == voice.name), None)
    return {
        "name": voice.name,
        "low_end": voice.low_end,
        "high_end": voice.high_end,
        "sensitivity": _sensitivity(heard, voice.name),
        "known": voice.known,
        "travel_known": voice.travel_known,
        "box": None if box is None else _box_values(box),
    }


def _box_values(box: BassBox) -> dict[str, Any]:
    return {
        "kind": box.kind,
        "volume": finite(box.volume),
        "fc": finite(box.fc),
        "qtc": finite(box.qtc),
        "fb": finite(box.fb),
        "f3": box.low_end,
        "hump_db": finite(box.hump_db),
    }


def _dose_values(dose: Dose) -> dict[str, Any]:
    return {
        "distance": dose.distance,
        "seconds": finite(dose.duration),
        "level": finite(dose.level),
        "daily_share": dose.daily,
        "weekly_share": dose.weekly,
        "weekly_limit": dose.weekly_limit,
        "runs_a_week": finite(dose.runs_a_week),
    }
