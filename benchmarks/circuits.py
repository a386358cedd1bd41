"""Tolerance yield of a zener cutoff, ours and by ngspice's own loop, and a discharge through it."""

from __future__ import annotations

import re
import shutil
import statistics
import subprocess
import time
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from benchmarks.timing import seconds_in_turn

from boomwright.build.circuits import CutoffCircuit
from boomwright.build.devices import Spread, cutoff_values
from boomwright.build.drawer import load_drawer
from boomwright.build.draws import Draws
from boomwright.build.words import battery_of_words
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES, cutoff_netlist
from boomwright.circuit.netlist import Netlist
from boomwright.circuit.spice import spice_netlist
from boomwright.circuit.thresholds import Thresholds, find_thresholds
from boomwright.design.cutoff.design import design_cutoff
from boomwright.design.cutoff.wish import cutoff_wish
from boomwright.outcome.cutoff_law import CutoffLaw
from boomwright.outcome.cycling import CutoffRun

__all__ = ["AGREED", "SAMPLES", "THEIRS", "Raced", "closed_loop", "our_yield", "raced"]

SAMPLES = 100_000
THEIRS = 400
AGREED = 40
_HIGHEST = 14.7
_LOAD = 14.7
# What a sweep finds is wrong by up to half a step; two millivolts are left for its own tolerance.
_STEP = 0.008
_WITHIN = 5e-3
_SPARE = 0.02
_FAMILY = "zener-relay"
_WATCH = CUTOFF_FAMILIES[_FAMILY].watch
_CIRCUIT = CutoffCircuit.model_validate(
    {
        "family": _FAMILY,
        "relay": "relay-12v-400ohm",
        "zener": "1N4740A",
        "series_resistor": "3.9 kΩ",
        "base_resistor": "10 kΩ",
        "filter_capacitor": "680 µF",
    }
)
_NUMBER = re.compile(r"^volts\s*=\s*([-+.\deE]+)", re.MULTILINE)


@dataclass(frozen=True)
class Raced:
    """Samples per second of both, and how far apart their thresholds are at most [V]."""

    ours: float
    theirs: float
    apart: float

    @property
    def ratio(self) -> float:
        """Ours over theirs."""
        return self.ours / self.theirs


@cache
def _netlist(samples: int) -> Netlist:
    """The circuit with every part drawn from its tolerance."""
    spread = Spread(Draws(samples - 1), "cutoff")
    values = cutoff_values(_CIRCUIT, load_drawer(), spread, load_resistance=_LOAD)
    return cutoff_netlist(_FAMILY, values, voltage=_HIGHEST)


def our_yield(samples: int = SAMPLES) -> Thresholds:
    """Off and on of every sample; the draws are made beforehand, as the text of theirs is."""
    return find_thresholds(_netlist(samples), _WATCH, lowest=1.0, highest=_HIGHEST)


def _windows() -> tuple[tuple[float, float], tuple[float, float]]:
    """Least windows that hold every threshold of the samples: ngspice need look no further."""
    found = our_yield(SAMPLES)
    off, on = found.off[np.isfinite(found.off)], found.on[np.isfinite(found.on)]
    return (
        (float(off.min()) - _SPARE, float(off.max()) + _SPARE),
        (float(on.min()) - _SPARE, float(on.max()) + _SPARE),
    )


def _text(sample: int, *, pulled: bool) -> list[str]:
    """Lines of the netlist of a sample, without its end."""
    states = {_WATCH.relay: True} if pulled else None
    lines = spice_netlist(_netlist(SAMPLES), sample=sample, states=states).splitlines()
    return [line for line in lines if line != ".end"]


def _run(lines: list[str]) -> tuple[str, float]:
    program = shutil.which("ngspice")
    if program is None:
        raise SystemExit("ngspice is not installed: apt-get install ngspice")
    with TemporaryDirectory() as name:
        file = Path(name) / "circuit.cir"
        file.write_text("\n".join([*lines, ".end", ""]), encoding="ascii")
        start = time.perf_counter()
        ran = subprocess.run(
            [program, "-b", file.name], cwd=name, capture_output=True, text=True, check=True
        )
        return ran.stdout, time.perf_counter() - start


def _sweep(window: tuple[float, float], *, down: bool) -> list[str]:
    """One sweep and the volts at which the load is switched, halfway up its edge."""
    first, last = window[::-1] if down else window
    step = -_STEP if down else _STEP
    way = "fall" if down else "rise"
    return [
        f"dc VBT1 {first:.4f} {last:.4f} {step}",
        f"meas dc volts find v(batt) when v(out)=5 {way}=1",
    ]


def _drawn(lines: list[str]) -> list[str]:
    """Commands that give each part a value of its own for the next sample, 5 % up or down."""
    named = {line.split()[0]: line.split() for line in lines if line and line[0] not in "*."}
    models = {line.split()[1]: line for line in lines if line.startswith(".model")}
    commands = [
        f"alter {name} = {float(named[name][3])} * (1 + 0.05 * sunif(0))"
        for name in ("R1", "R2", "RK1")
    ]
    for model, key, share in (
        ("D1_law", "BV", 0.05),
        ("D1_law", "RS", 0.3),
        ("Q1_law", "BF", 0.3),
        ("Q1_law", "IS", 0.5),
        ("K1_law", "VT", 0.05),
        ("K1_law", "VH", 0.05),
    ):
        value = re.search(rf"\b{key}=([-+.\deE]+)", models[model])
        if value is None:
            raise RuntimeError(f"{model} has no {key}")
        draw = f"{float(value[1])} * (1 + {share} * sunif(0))"
        commands += [f"let drawn = {draw}", f"altermod {model} {key.lower()} = $&drawn"]
    return commands


def _their_seconds(samples: int, windows: tuple[tuple[float, float], tuple[float, float]]) -> float:
    """Wall seconds of ngspice for some samples, its start and the first sweep left out."""
    total = 0.0
    for down, window in zip((True, False), windows, strict=True):
        lines = _text(0, pulled=down)
        took = []
        for count in (1, samples + 1):
            loop = [
                ".control",
                "set noaskquit",
                "save v(batt) v(out)",
                "let n = 0",
                f"while const.n < {count}",
                *_drawn(lines),
                *_sweep(window, down=down),
                "destroy $curplot",
                "setplot const",
                "let n = n + 1",
                "end",
                "quit",
                ".endc",
            ]
            said, seconds = _run([*lines, *loop])
            if len(_NUMBER.findall(said)) < 0.5 * count:
                raise RuntimeError(f"ngspice found no thresholds:\n{said[-2000:]}")
            took.append(seconds)
        total += took[1] - took[0]
    return total


def _apart(count: int, windows: tuple[tuple[float, float], tuple[float, float]]) -> float:
    """Greatest difference of thresholds for the same values in both [V]."""
    found = our_yield(SAMPLES)
    worst = 0.0
    for sample in range(count):
        for down, window, ours in zip((True, False), windows, (found.off, found.on), strict=True):
            if not np.isfinite(ours[sample]):
                continue
            sweep = [".control", *_sweep(window, down=down), "quit", ".endc"]
            said, _ = _run([*_text(sample, pulled=down), *sweep])
            theirs = _NUMBER.search(said)
            if theirs is None:
                raise RuntimeError(f"ngspice found no threshold of sample {sample}:\n{said}")
            worst = max(worst, abs(float(theirs[1]) - float(ours[sample])))
    return worst


def raced(repeats: int = 3) -> Raced:
    """Both in turn, medians of a few turns, and the same samples compared.

    ngspice gets what is best for it: the least windows that hold every threshold, the widest step
    that is still good to 5 mV, one session, only two vectors kept, its start not counted.
    """
    windows = _windows()
    ours, theirs = [], []
    for _ in range(repeats):
        start = time.perf_counter()
        our_yield(SAMPLES)
        ours.append(time.perf_counter() - start)
        theirs.append(_their_seconds(THEIRS, windows))
    apart = _apart(AGREED, windows)
    if apart > _WITHIN:
        raise RuntimeError(f"thresholds are {1e3 * apart:.1f} mV apart")
    return Raced(SAMPLES / statistics.median(ours), THEIRS / statistics.median(theirs), apart)


@cache
def _law() -> CutoffLaw:
    wish = cutoff_wish(battery_of_words("12 V 9 Ah AGM"))
    return design_cutoff(_FAMILY, wish, load_drawer(), circuit=_CIRCUIT, versions=50).law


def closed_loop() -> CutoffRun:
    """A 12 V 9 Ah sealed battery through this cutoff: from full, and ten hours after it opens."""
    from boomwright.design.cutoff.life import likely_battery
    from boomwright.outcome.cycling import run_with_cutoff
    from boomwright.physics.battery import battery_full
    from boomwright.physics.chemistry import load_chemistries

    battery = likely_battery(cutoff_wish(battery_of_words("12 V 9 Ah AGM")))
    return run_with_cutoff(
        battery,
        _law(),
        state=battery_full(battery),
        load_volts=np.array([9.0, 14.7]),
        load_amps=np.array([0.75, 0.9]),
        chemistry=load_chemistries()["lead-agm"],
        cells=6,
        time_after=10.0 * 3600.0,
    )


def main() -> None:
    """Print the figures."""
    found = raced()
    print(f"ours: {found.ours:,.0f} samples a second ({SAMPLES:,} at once)")
    print(f"ngspice: {found.theirs:,.1f} samples a second; ratio {found.ratio:,.0f}")
    print(f"thresholds apart by at most {1e3 * found.apart:.2f} mV")
    _law()
    took = seconds_in_turn({"loop": closed_loop}, repeats=5)["loop"]
    print(f"closed loop: {1e3 * statistics.median(took):.0f} ms, opened {closed_loop().opened}")


if __name__ == "__main__":
    main()
