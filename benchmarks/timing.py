"""Whole processes and functions timed in turn, so that a busy machine weighs on all alike."""

from __future__ import annotations

import gc
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

__all__ = ["Process", "median_ratio", "processes_in_turn", "seconds_in_turn"]

_ROOT = Path(__file__).resolve().parent.parent
_ENV = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
"""Modules may keep their compiled form, as they do wherever nobody forbids it."""
_KILO = 1024


@dataclass(frozen=True)
class Process:
    """Readings of one command: wall seconds of each run, and the most memory it held [MB]."""

    seconds: tuple[float, ...]
    megabytes: float


def processes_in_turn(commands: Mapping[str, Sequence[str]], *, repeats: int) -> dict[str, Process]:
    """Readings of several commands run one after the other, again and again.

    A child's peak memory can be no less than that of the process that starts it, so nothing heavy
    may have been loaded here before.
    """
    seconds: dict[str, list[float]] = {name: [] for name in commands}
    peaks = dict.fromkeys(commands, 0.0)
    for turn in range(repeats + 1):
        for name, words in commands.items():
            start = time.perf_counter()
            child = subprocess.Popen(
                words, cwd=_ROOT, env=_ENV, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
            )
            said = child.stderr.read() if child.stderr else b""
            _, status, usage = os.wait4(child.pid, 0)
            took = time.perf_counter() - start
            child.returncode = os.waitstatus_to_exitcode(status)
            # 1 is a build that must stop: an answer, not a failure.
            if child.returncode not in {0, 1} or said:
                raise RuntimeError(f"{' '.join(words)}: {said.decode()}")
            if turn:
                seconds[name].append(took)
                size = usage.ru_maxrss / (_KILO if sys.platform == "darwin" else 1)
                peaks[name] = max(peaks[name], size / _KILO)
    return {name: Process(tuple(took), peaks[name]) for name, took in seconds.items()}


def seconds_in_turn(
    functions: Mapping[str, Callable[[], object]], *, repeats: int
) -> dict[str, tuple[float, ...]]:
    """Wall seconds of several functions called one after the other, again and again."""
    seconds: dict[str, list[float]] = {name: [] for name in functions}
    for turn in range(repeats + 1):
        for name, function in functions.items():
            gc.collect()
            start = time.perf_counter()
            function()
            took = time.perf_counter() - start
            if turn:
                seconds[name].append(took)
    return {name: tuple(took) for name, took in seconds.items()}


def median_ratio(some: Sequence[float], others: Sequence[float]) -> float:
    """Median of the ratios of readings taken in the same turn."""
    return statistics.median(one / other for one, other in zip(some, others, strict=True))
