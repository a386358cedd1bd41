"""What ``boomwright sound -o`` writes: charts as pictures with their data, or one page of them."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from boomwright.build.files import write_whole
from boomwright.build.nearest import nearest
from boomwright.build.quantities import format_hours, format_quantity
from boomwright.cli.design.files import csv_text, write_files
from boomwright.cli.sound.heard import Heard
from boomwright.cli.sound.show import CAUTION, DOSE_HEADS, dose_rows, level_rows
from boomwright.errors import Problem
from boomwright.outcome.dose import Dose
from boomwright.outcome.in_time import in_time
from boomwright.outcome.sound import STATES, VoiceSound, decibels
from boomwright.paper.look import LIGHT, Look
from boomwright.paper.marks import Rule
from boomwright.paper.sound_charts import HERTZ, Line, Panel, curves_chart, limits_chart
from boomwright.paper.sound_page import Section, Sheet, sound_page
from boomwright.physics.limits import LIMITS, VENT_AIR_SPEED

if TYPE_CHECKING:
    from boomwright.paper.charts import TopChart

__all__ = ["CHARTS", "output_problems", "sound_chart", "write_sound"]

_ENDINGS: Final = (".html", "")
_TEST_VOLTS: Final = 8.0**0.5
_DEPTH_DB: Final = 45.0
_STEP_SHOWN: Final = 0.03
_MOST_LINES: Final = 6
_MOST_OHMS: Final = 40.0

CHARTS: Final = {
    "limits": "Which limit rules where",
    "response": "Response",
    "impedance": "Impedance",
    "travel": "Travel and vent",
    "time": "In time",
    "loudness": "Loudness and dose",
}
"""Charts by the names of their files, in the order of the page."""


def output_problems(name: Path) -> list[Problem]:
    """What is wrong with the name of the output, told before anything long begins.

    Examples
    --------
    >>> [problem.got for problem in output_problems(Path("choir.svg"))]
    ["'.svg'"]
    """
    if name.suffix.lower() in _ENDINGS:
        return []
    expected = "a name that ends in .html for one page, or a folder's name for pictures"
    hint = nearest(name.suffix.lower(), (".html",))
    return [
        Problem("charts cannot be written so", repr(name.suffix), expected, key="-o", hint=hint)
    ]


def write_sound(name: Path, heard: Heard) -> list[str]:
    """Write the charts of a build.

    Parameters
    ----------
    name : Path
        A page that ends in .html, or a folder.
    heard : Heard
        What is drawn.

    Returns
    -------
    list of str
        What was written.

    Raises
    ------
    WriteError
        If something cannot be written.
    """
    if name.suffix.lower() == ".html":
        sections = [
            Section(key, title, partial(_drawn, key, heard)) for key, title in CHARTS.items()
        ]
        write_whole(name, sound_page(heard.build.name, sections, _sheets(heard)))
        return [str(name)]
    from boomwright.paper.charts import chart_svg

    files = {f"{key}.svg": chart_svg(sound_chart(key, heard)) for key in CHARTS}
    files |= {"sound.csv": _curves_csv(heard), "loudness.csv": _loudness_csv(heard)}
    return [str(name / file) for file in write_files(name, files)]


def _drawn(key: str, heard: Heard, width: int) -> TopChart:
    return sound_chart(key, heard, width=width)


def _sheets(heard: Heard) -> list[Sheet]:
    """What the charts show, as tables that can be read out."""
    limits = [
        (
            format_quantity(row["hertz"], "frequency"),
            f"{row['level']:.0f}",
            f"{row['at_listener']:.0f}",
            *(
                cell
                for state in STATES
                for cell in (f"{row['clean'][state]['level']:.0f}", row["clean"][state]["limit"])
            ),
        )
        for row in level_rows(heard)
    ]
    heads = tuple(head for state in STATES for head in (state, "ruled by"))
    away = f"at {format_quantity(heard.listener.distance, 'length')}"
    return [
        Sheet("levels", "Loudest clean sine [dB]", ("", "2.83 V", away, *heads), limits),
        Sheet("dose", "What ears take in one such run", DOSE_HEADS, dose_rows(heard), CAUTION),
    ]


def sound_chart(key: str, heard: Heard, *, look: Look = LIGHT, width: int = 760) -> TopChart:
    """One chart of a build's sound.

    Parameters
    ----------
    key : str
        One of :data:`CHARTS`.
    heard : Heard
        What is drawn.
    look : Look
        Colours and letters.
    width : int
        Width of the whole picture [px].

    Returns
    -------
    altair chart
    """
    draw: dict[str, Callable[[Heard, Look, int], TopChart]] = {
        "limits": _limits,
        "response": _response,
        "impedance": _impedance,
        "travel": _travel,
        "time": _time,
        "loudness": _loudness,
    }
    return draw[key](heard, look, width)


def _limits(heard: Heard, look: Look, width: int) -> TopChart:
    shown = heard.shown
    return limits_chart(
        shown.frequency,
        shown.clean,
        shown.ruling,
        states=STATES,
        limits=LIMITS,
        look=look,
        title=f"Which limit rules where: {heard.of or heard.build.name}",
        subtitle="Loudest clean sine at 1 m in half space, by what the battery holds. Signs on the "
        "line of the full battery.",
        width=width,
    )


def _response(heard: Heard, look: Look, width: int) -> TopChart:
    shown, listener = heard.shown, heard.listener
    lines = [Line("sum" if not heard.of else heard.of, shown.frequency, shown.level, 0)]
    voices = [voice for _, voice in heard.sound.voices()][: _MOST_LINES - 1]
    if not heard.of and len(voices) > 1:
        lines += [
            Line(voice.name, shown.frequency, _volts_level(voice), number + 1)
            for number, voice in enumerate(voices)
        ]
    there = Line("", shown.frequency, shown.level + listener.carried_db, 0)
    bands = Line("music as wanted, by third octaves", listener.bands, listener.band_levels, 1)
    away = format_quantity(listener.distance, "length")
    panels = [
        Panel("level at 1 m, half space [dB]", lines, _span(lines), height=200),
        Panel(
            f"level at {away} [dB]",
            [Line("2.83 V", there.along, there.values, 0), bands],
            _span([there, bands]),
            height=170,
        ),
    ]
    return curves_chart(
        panels,
        look=look,
        title="Response",
        subtitle="2.83 V on every output, on the axis. At the listener the front's width, the "
        "place, all boxes and the room count.",
        width=width,
    )


def _volts_level(voice: VoiceSound) -> Any:
    return decibels(np.abs(voice.pressure) * _TEST_VOLTS)


def _span(lines: list[Line]) -> tuple[float, float]:
    """Ends of an axis of levels: the loudest line, and a readable depth below it."""
    heard = [line.values[(line.along >= HERTZ[0]) & (line.along <= HERTZ[1])] for line in lines]
    top = 5.0 * np.ceil((max(float(values.max()) for values in heard) + 1.0) / 5.0)
    low = 5.0 * np.floor(min(float(values.min()) for values in heard) / 5.0)
    return max(float(low), float(top) - _DEPTH_DB), float(top)


def _impedance(heard: Heard, look: Look, width: int) -> TopChart:
    made_for = {board.name: board.load_min.likely for board in heard.build.amplifier}
    lines: list[Line] = []
    seen: list[Any] = []
    several = len(heard.sound.outputs) > 1
    for output in heard.sound.outputs:
        size = np.abs(output.impedance)
        if any(np.allclose(size, other, rtol=1e-6) for other in seen):
            continue
        seen.append(size)
        says = f"{output.amplifier}, output {output.channel + 1}" if several else ""
        lines.append(Line(says, heard.sound.frequency, size, len(lines)))
    lines = lines[:_MOST_LINES]
    low = min(made_for.values())
    rules = [
        Rule(
            f"{name} is made for {format_quantity(ohms, 'resistance')} or more",
            ohms,
            look.limit_dash,
        )
        for name, ohms in made_for.items()
    ]
    every = np.concatenate(
        [line.values[(line.along >= HERTZ[0]) & (line.along <= HERTZ[1])] for line in lines]
    )
    span = (0.7 * min(low, float(every.min())), 1.4 * min(float(every.max()), _MOST_OHMS * low))
    least = min(heard.sound.outputs, key=lambda output: output.least)
    return curves_chart(
        [Panel("impedance [Ω]", lines, span, log_up=True, rules=rules, height=210)],
        look=look,
        title="Impedance the amplifier meets",
        subtitle=f"Least {format_quantity(least.least, 'resistance', digits=2)} at "
        f"{format_quantity(least.least_at, 'frequency', digits=2)}. Speaker leads left out.",
        width=width,
    )


def _travel(heard: Heard, look: Look, width: int) -> TopChart:
    voices = [
        voice for _, voice in heard.sound.voices()
        if voice.travel_known and heard.of in ("", voice.name)
    ]  # fmt: skip
    frequency = heard.sound.frequency
    panels = []
    for voice in voices:
        driver = next(each for each in heard.build.driver if each.name == voice.name)
        rules = []
        if driver.xmax is not None:
            at = 1e3 * driver.xmax.likely
            rules.append(Rule(f"xmax {at:.2g} mm", at, look.limit_dash))
        panels.append(
            _moved(heard, f"travel of {voice.name} [mm]", 1e3 * voice.travel, voice, rules)
        )
        if voice.opening_known and np.all(np.isfinite(voice.vent_speed)):
            rules = [Rule(f"heard above {VENT_AIR_SPEED:g} m/s", VENT_AIR_SPEED, look.limit_dash)]
            panels.append(_moved(heard, "air in the vent [m/s]", voice.vent_speed, voice, rules))
        if voice.opening_known and np.all(np.isfinite(voice.radiator_travel)):
            panels.append(
                _moved(heard, "travel of the radiator [mm]", 1e3 * voice.radiator_travel, voice, [])
            )
    if not panels:
        silent = Line("", frequency, np.full_like(frequency, np.nan), 0)
        panels = [Panel("travel [mm]", [silent], (0.0, 1.0), height=60)]
        says = "No driver's cone area, resonance and Q are all known, so nothing can be drawn."
    else:
        says = (
            "Peaks of a sine: at the volts of the wanted level, and as loud as it stays clean with "
            "a full battery. Music holds each frequency below its whole level."
        )
    return curves_chart(
        panels,
        look=look,
        title="Travel of the cone and air in the vent",
        subtitle=says,
        width=width,
    )


def _moved(heard: Heard, title: str, per_volt: Any, voice: VoiceSound, rules: list[Rule]) -> Panel:
    frequency = heard.sound.frequency
    lines = [
        Line("clean limit", frequency, per_volt * voice.clean_volts[0], 0),
        Line("as loud as wanted", frequency, per_volt * heard.listener.volts, 1),
    ]
    inside = (frequency >= HERTZ[0]) & (frequency <= HERTZ[1])
    top = max(
        *(float(np.max(line.values[inside])) for line in lines), *(rule.at for rule in rules), 1e-9
    )
    return Panel(title, lines, (1.5e-3 * top, 2.6 * top), log_up=True, rules=rules, height=140)


def _time(heard: Heard, look: Look, width: int) -> TopChart:
    found = in_time(heard.shown)
    early = found.time <= _STEP_SHOWN
    delay = 1e3 * found.delay
    inside = (found.frequency >= HERTZ[0]) & (found.frequency <= HERTZ[1])
    top = float(np.max(delay[inside]))
    low = min(float(np.min(delay[inside])), 0.0)
    edge = 0.06 * (top - low)
    step = found.step[early]
    panels = [
        Panel(
            "group delay [ms]",
            [Line("", found.frequency, delay, 0)],
            (low - edge, top + edge),
            height=150,
        ),
        Panel(
            "answer to a step, over its peak",
            [Line("", 1e3 * found.time[early], step, 0)],
            (min(float(step.min()), 0.0) - 0.08, max(float(step.max()), 0.0) + 0.08),
            across="time [ms]",
            reach=(0.0, 1e3 * _STEP_SHOWN),
            log_across=False,
            height=150,
        ),
    ]
    return curves_chart(
        panels,
        look=look,
        title="In time",
        subtitle="How late each frequency comes, and the sound pressure after a step of voltage. "
        "As the model has it: break-up, edges and the room are not in it.",
        width=width,
    )


def _loudness(heard: Heard, look: Look, width: int) -> TopChart:
    curve = heard.outcome.wanted.curve
    hours = np.array(curve.time) / 3600.0
    level = np.array(curve.level)
    if hours[-1] <= 0.0:
        hours, level = np.array([0.0, heard.listeners.duration / 3600.0]), np.repeat(level[:1], 2)
    asked = heard.outcome.wanted.level_asked
    rules = [Rule(f"asked for {asked:.0f} dB(A)", asked, look.limit_dash)]
    low = 5.0 * np.floor((min(float(level.min()), asked) - 2.0) / 5.0)
    high = 5.0 * np.ceil((max(float(level.max()), asked) + 2.0) / 5.0)
    listeners, builder = heard.listeners, heard.builder
    lines = [
        _dose_line(f"builder at {format_quantity(builder.distance, 'length')}, of a day", builder,
                   builder.daily_so_far, 0),
        _dose_line(f"listeners at {format_quantity(listeners.distance, 'length')}, of a day",
                   listeners, listeners.daily_so_far, 1),
        _dose_line("listeners, of a week", listeners, listeners.weekly_so_far, 2),
    ]  # fmt: skip
    top = max(float(np.max(line.values)) for line in lines)
    full = [Rule("all of it", 100.0, look.limit_dash)] if top > 50.0 else []
    wanted = heard.listeners.duration / 3600.0
    panels = [
        Panel(
            "level at the listener [dB(A)]",
            [Line("", hours, level, 0)],
            (float(low), float(high)),
            across="time from a full battery [h]",
            reach=(0.0, float(hours[-1])),
            log_across=False,
            rules=rules,
            height=140,
        ),
        Panel(
            "dose so far [%]",
            lines,
            (0.0, max(1.1 * top, 110.0 if full else 1.1 * top, 1e-3)),
            across=f"time, for the {format_hours(heard.listeners.duration)} wanted [h]",
            reach=(0.0, wanted),
            log_across=False,
            rules=full,
            height=150,
        ),
    ]
    return curves_chart(
        panels,
        look=look,
        title="Loudness and dose over the discharge",
        subtitle="Shares of what ears may take: NIOSH in a day, WHO-ITU in a week. Hearing that is "
        "lost does not come back; a sound level meter and local rules decide.",
        width=width,
    )


def _dose_line(says: str, dose: Dose, share: tuple[float, ...], look: int) -> Line:
    return Line(says, np.array(dose.time) / 3600.0, 100.0 * np.array(share), look)


def _curves_csv(heard: Heard) -> str:
    shown = heard.shown
    voices = [voice for _, voice in heard.sound.voices() if heard.of in ("", voice.name)]
    header = ("hertz", "level", "level at listener", *(f"{voice.name} level" for voice in voices))
    header += tuple(f"clean, {state}" for state in STATES)
    header += tuple(f"limit, {state}" for state in STATES)
    columns = [shown.frequency, shown.level, shown.level + heard.listener.carried_db]
    columns += [_volts_level(voice) for voice in voices]
    columns += list(shown.clean)
    table = []
    for place in range(len(shown.frequency)):
        numbers = tuple(round(float(column[place]), 3) for column in columns)
        table.append(numbers + tuple(LIMITS[int(row[place])] for row in shown.ruling))
    return csv_text(header, table)


def _loudness_csv(heard: Heard) -> str:
    curve = heard.outcome.wanted.curve
    table = [
        tuple(round(float(value), 4) for value in row)
        for row in zip(curve.time, curve.volts, curve.amps, curve.charge, curve.level, strict=True)
    ]
    return csv_text(("seconds", "volts", "amps", "charge", "level"), table)
