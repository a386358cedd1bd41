"""Every figure of speed that Boomwright claims, measured on this machine, written as one page.

Run by ``make bench``. Commands and functions are timed in turn, again and again, and what counts is
the median of the ratios within each turn: a machine that is busy, slow or throttled weighs on both
sides alike.
"""

from __future__ import annotations

import datetime
import os
import platform
import shutil
import statistics
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from benchmarks.timing import Process, median_ratio, processes_in_turn, seconds_in_turn  # noqa: E402

PAGE = ROOT / "docs" / "benchmarks.md"
REPEATS = 9
EXAMPLE = "examples/market-stall.toml"
WORST = "examples/first-attempt.toml"
CASES = 1000
MUSIC_REPEATS = 3

Row = tuple[str, str, str, str]


@dataclass(frozen=True)
class Aim:
    """A limit, and whether a reading must stay below it or reach it."""

    limit: float
    unit: str
    below: bool = True

    def row(self, what: str, value: float) -> Row:
        """Line of the first table."""
        met = value <= self.limit if self.below else value >= self.limit
        asked = f"{'at most' if self.below else 'at least'} {self.limit:g}{self.unit}"
        return what, f"{shown(value)}{self.unit}", asked, "met" if met else "**missed**"


def shown(value: float) -> str:
    """Value to two significant digits, whole where it is large."""
    return f"{value:.0f}" if value >= 100 else f"{float(f'{value:.2g}'):g}"


def milliseconds(seconds: Sequence[float]) -> str:
    """Median and range of some readings."""
    low, middle, high = (
        shown(1e3 * value) for value in (min(seconds), statistics.median(seconds), max(seconds))
    )
    return f"{middle} ms ({low} to {high})"


def command_rows() -> tuple[list[Row], list[tuple[str, str]]]:
    """Whole commands against the time to import NumPy."""
    boomwright = shutil.which("boomwright", path=Path(sys.executable).parent)
    if boomwright is None:
        raise SystemExit("the command boomwright is not installed beside this Python")
    bare = "python -c 'import numpy'"
    commands = {
        bare: [sys.executable, "-c", "import numpy"],
        "boomwright --help": [boomwright, "--help"],
        f"boomwright check {EXAMPLE}": [boomwright, "check", EXAMPLE],
        f"boomwright check {WORST} --no-effects": [boomwright, "check", WORST, "--no-effects"],
        f"boomwright check {WORST}": [boomwright, "check", WORST],
    }
    found = processes_in_turn(commands, repeats=REPEATS)
    times = {
        name: median_ratio(process.seconds, found[bare].seconds) for name, process in found.items()
    }
    aims = dict(zip(list(commands)[1:], (1.5, 8.0, 8.0, None), strict=True))
    rows = [
        Aim(limit, " ×").row(f"`{name}`, over `{bare}`", times[name])
        for name, limit in aims.items()
        if limit is not None
    ]
    rows.append(Aim(150.0, " MB").row("most memory held by a check", _most(found, list(aims)[1:])))
    details = [
        (
            f"`{name}`",
            f"{milliseconds(process.seconds)}, {shown(times[name])} ×, {process.megabytes:.0f} MB",
        )
        for name, process in found.items()
    ]
    return rows, details


def _most(found: dict[str, Process], names: list[str]) -> float:
    return max(found[name].megabytes for name in names)


def battery_rows() -> tuple[list[Row], list[tuple[str, str]]]:
    """An hour of music on one cell, ours and PyBaMM's."""
    import numpy as np
    from benchmarks.battery_hour import STEPS, music_current, our_hour, their_hour

    current = music_current()
    theirs = their_hour(current)
    apart = float(np.max(np.abs(theirs() - our_hour(current, cases=1)[:, 0])))
    found = seconds_in_turn(
        {
            "theirs": theirs,
            "one": lambda: our_hour(current, cases=1),
            "many": lambda: our_hour(current, cases=CASES),
        },
        repeats=REPEATS,
    )
    one = median_ratio(found["theirs"], found["one"])
    each = CASES * median_ratio(found["theirs"], found["many"])
    rows = [
        Aim(1.0, " ×", below=False).row("battery hour, one cell: times as fast as PyBaMM", one),
        Aim(50.0, " ×", below=False).row(
            f"battery hour, {CASES:,} cells at once: each times as fast as PyBaMM's one", each
        ),
    ]
    details = [
        (f"PyBaMM, Thevenin circuit, {STEPS:,} s", milliseconds(found["theirs"])),
        (f"ours, {STEPS:,} steps of one second", milliseconds(found["one"])),
        (f"ours, {CASES:,} cells at once", milliseconds(found["many"])),
        ("greatest difference of the terminal volts", f"{1e6 * apart:.1f} µV"),
    ]
    return rows, details


def run_rows() -> tuple[list[Row], list[tuple[str, str]]]:
    """Full coupled runs: battery, leads, rails, amplifier, drivers and heat from full to empty."""
    from boomwright.build.read import read_build
    from boomwright.outcome.run import run_build

    build = read_build(ROOT / EXAMPLE)
    runs: dict[str, Callable[[], object]] = {
        "one": lambda: run_build(build, versions=0),
        "check": lambda: run_build(build),
        "many": lambda: run_build(build, versions=CASES - 1),
    }
    found = seconds_in_turn(runs, repeats=REPEATS)
    versions = {"one": 1, "check": run_build(build).versions, "many": CASES}
    details = []
    for name, seconds in found.items():
        rate = versions[name] / statistics.median(seconds)
        details.append(
            (
                f"{versions[name]:,} version{'s' * (versions[name] > 1)} of the build at once",
                f"{milliseconds(seconds)}: {shown(rate)} versions a second",
            )
        )
    gain = CASES * median_ratio(found["one"], found["many"])
    details.append((f"one of {CASES:,} over one alone", f"{shown(gain)} × as fast"))
    return [], details


def circuit_rows() -> tuple[list[Row], list[tuple[str, str]]]:
    """Tolerance yield of a soldered cutoff against a simulator, and a discharge through cutoffs."""
    from benchmarks.circuits import SAMPLES, closed_loop, raced
    from benchmarks.cycling import GAPS, ten_hours

    race = raced()
    # Once before: the circuit is worked out then, and only the loop is timed.
    closed_loop()
    found = seconds_in_turn(
        {"loop": closed_loop, **{f"{gap:g}": partial(ten_hours, gap) for gap in GAPS}},
        repeats=REPEATS,
    )
    rows = [
        Aim(1000.0, " ×", below=False).row(
            "tolerance yield of the zener cutoff: times as many builds a second as ngspice",
            race.ratio,
        ),
        Aim(5.0, " mV").row("thresholds of equal builds apart", 1e3 * race.apart),
        Aim(1.0, " s").row(
            "discharge through the cutoff, ten hours beyond", statistics.median(found["loop"])
        ),
    ]
    details = [
        (f"ours, {SAMPLES:,} builds, off and on", f"{shown(race.ours)} builds a second"),
        ("ngspice's own loop, the least sweep that gives 5 mV", f"{shown(race.theirs)} a second"),
    ]
    details += [
        (f"ten hours of battery and cutoff, gap {gap:g} V", milliseconds(found[f"{gap:g}"]))
        for gap in GAPS
    ]
    return rows, details


def box_rows() -> tuple[list[Row], list[tuple[str, str]]]:
    """Every curve of a box against the bare AC run of the same circuit in a simulator."""
    from benchmarks.loudspeaker import BOXES, POINTS, box_race

    race = box_race(REPEATS)
    what = "every curve of a box: times as fast as ngspice's bare AC run"
    rows = [
        Aim(20.0, " ×", below=False).row(f"{what}, neither start counted", race.run / race.alone),
        Aim(20.0, " ×", below=False).row(
            f"the same, one of {BOXES} boxes at once", race.run / race.each
        ),
        Aim(20.0, " ×", below=False).row(
            "the same, one box, ngspice's start counted and Python's not", race.session / race.alone
        ),
        Aim(0.05, " dB").row("response of the same box apart", race.apart),
    ]
    details = [
        (f"ours, one box, {POINTS} frequencies, three batteries", f"{shown(1e3 * race.alone)} ms"),
        (f"ours, one of {BOXES} boxes at once", f"{shown(1e3 * race.each)} ms"),
        ("ngspice, AC run in an open session", f"{shown(1e3 * race.run)} ms"),
        ("ngspice, a session for one AC run", f"{shown(1e3 * race.session)} ms"),
    ]
    return rows, details


def search_rows() -> tuple[list[Row], list[tuple[str, str]]]:
    """Boxes searched, and drivers fitted to what was measured of them."""
    from benchmarks.boxes import box_search
    from benchmarks.identify import LIMIT, fit_cabinet, fit_sweeps, unfold_recording

    search = box_search()
    works = {
        "vented": search.vented,
        "radiator": search.radiator,
        "sweeps": fit_sweeps,
        "cabinet": fit_cabinet,
        "recording": unfold_recording,
    }
    found = seconds_in_turn(works, repeats=REPEATS)
    middle = {name: statistics.median(seconds) for name, seconds in found.items()}
    tried = {"vented": search.vented(), "radiator": search.radiator()}
    counts = {name: result.tried if result else 0 for name, result in tried.items()}
    each = max(middle[name] / max(counts[name], 1) for name in counts)
    slowest = max(middle[name] for name in ("sweeps", "cabinet", "recording"))
    rows = [
        Aim(2.0, " s").row(f"{CASES * 10:,} boxes searched, the slower kind", CASES * 10 * each),
        Aim(LIMIT, " s").row("a driver fitted to its measurements, the slowest way", slowest),
    ]
    details = [
        (f"{counts['vented']:,} vented boxes", milliseconds(found["vented"])),
        (f"{counts['radiator']:,} boxes with radiators", milliseconds(found["radiator"])),
        ("two sweeps of 500 points, free air and added mass", milliseconds(found["sweeps"])),
        ("a vented cabinet, its driver and its losses", milliseconds(found["cabinet"])),
        ("a recording of fourteen seconds unfolded", milliseconds(found["recording"])),
    ]
    return rows, details


def programme_rows() -> tuple[list[Row], list[tuple[str, str]]]:
    """Music measured: hours of it in an hour, and memory that does not grow with its length."""
    from benchmarks.programme import MINUTES, album, album_measured, memory_held

    kinds = ("flac", "mp3", "ogg")
    for kind in kinds:
        album(kind)
    found = seconds_in_turn(
        {kind: partial(album_measured, kind) for kind in kinds}, repeats=MUSIC_REPEATS
    )
    speeds = {kind: 60.0 * MINUTES / statistics.median(found[kind]) for kind in kinds}
    short, long = memory_held()
    rows = [
        Aim(100.0, " ×", below=False).row(
            "music measured: times as fast as it plays", min(speeds.values())
        ),
        Aim(1.0, " MB").row("more memory for five times the music", long - short),
    ]
    details = [
        (
            f"{MINUTES} minutes of {kind.upper()}, stereo",
            f"{milliseconds(found[kind])}: {shown(speeds[kind])} × as fast as it plays",
        )
        for kind in kinds
    ]
    details.append((f"most memory for {MINUTES} minutes", f"{shown(long)} MB"))
    return rows, details


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Rows as Markdown."""
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def page() -> str:
    """The whole page; commands first, before anything heavy is loaded here."""
    parts = [
        *(command_rows(), battery_rows(), run_rows(), circuit_rows(), box_rows()),
        *(search_rows(), programme_rows()),
    ]
    import numpy
    import pybamm

    rows = [row for part, _ in parts for row in part]
    commands, battery, runs, circuits, boxes, searches, music = (details for _, details in parts)
    today = datetime.datetime.now(tz=datetime.UTC).date().isoformat()
    machine = f"{os.cpu_count()} processors ({platform.machine()})"
    versions = (
        f"Python {platform.python_version()}, NumPy {numpy.__version__}, "
        f"PyBaMM {pybamm.__version__}"
    )
    detail = ("what", "median (least to greatest)")
    return f"""<!-- Written by benchmarks/run.py; run `make bench`, do not edit this page. -->

# How fast it is

Measured on {today}: {machine}, {versions}.
Each figure is a median of {REPEATS} turns after one that does not count. In a turn everything is
run once, one after the other, and ratios are taken within a turn, so that a busy machine weighs on
both sides alike. `make bench` measures anew.

{table(("what", "measured", "aim", ""), rows)}

## Whole commands

From the start of the process to its end, the output thrown away; its most memory beside it.
`--no-effects` leaves out what mending each finding would change, which takes a run of its own for
each.

{table(("command", "median (least to greatest), over NumPy, memory"), commands)}

## A battery under music

One cell for an hour, its current changing every second, through `battery_step` and `battery_emf`;
beside it the same open-circuit volts, resistances and current in PyBaMM, model and solver made
beforehand. PyBaMM takes the current as straight between the seconds; ours holds its mean.

{table(detail, battery)}

## The coupled run

`{EXAMPLE}` from full to empty in all its ways of use, with every lead,
rail, amplifier and driver, its heat, its shelf time and its ranges.

{table(detail, runs)}

## Small circuits

Thresholds of 100,000 versions of the zener cutoff with every part drawn within its tolerance,
against ngspice's own loop on the same netlist: each build swept down and up in the widest step that
still gives 5 mV. Then a battery run down through the cutoff at the pace of real switching.

{table(detail, circuits)}

## A loudspeaker in its box

Vented box behind a coil and a lead: response, both impedances, travel, speed of the air in the
vent, group delay, and the loudest clean level on three states of the battery. Beside it the AC run
of the same circuit in ngspice at as many frequencies, nothing printed and nothing made of its
volts.

{table(("what", "median"), boxes)}

## Boxes searched, drivers identified

As `boomwright design box` and `boomwright identify` do it.

{table(detail, searches)}

## Music

Noise that falls towards the treble as music does, read from a file, decoded and measured: loudness,
amplitudes and spectrum, as `boomwright programme` does.

{table(detail, music)}
"""


def main() -> None:
    """Measure and write the page."""
    PAGE.write_text(page(), encoding="utf-8")
    print(f"written: {PAGE.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
