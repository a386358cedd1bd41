"""Group delay and step of a build, against the closed box's own transfer function."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import signal
from tests.outcome.test_sound import MOTOR, sound, text_of

from boomwright.outcome.in_time import in_time
from boomwright.outcome.sound import FREQUENCIES

# A sound of nothing but a closed box: fc 61 Hz, Qtc 0.9 (Small 1972), up to the end of the band.
FC, QTC = 61.0, 0.9
ANY = sound(text_of(MOTOR))


def closed_box(hertz: np.ndarray) -> np.ndarray:
    x = 1j * hertz / FC
    return x**2 / (1.0 + x / QTC + x**2)


def test_step_of_a_closed_box():
    found = in_time(replace(ANY, pressure=closed_box(FREQUENCIES)))
    w = 2.0 * math.pi * FC
    time = np.linspace(0.0, 0.05, 400)
    _, wanted = signal.step(([1.0, 0.0, 0.0], [1.0, w / QTC, w**2]), T=time)
    step = np.interp(time, found.time, found.step)
    # 1 % of the jump, but for the first tenth of a millisecond, which lies beyond 20 kHz.
    late = time > 1e-4
    assert step[late] == pytest.approx(wanted[late], abs=0.01)


def test_group_delay_of_a_closed_box():
    found = in_time(replace(ANY, pressure=closed_box(FREQUENCIES)))
    w, wc = 2.0 * math.pi * found.frequency, 2.0 * math.pi * FC
    # -d phase/dw of the second-order high-pass.
    wanted = (wc / QTC) * (wc**2 + w**2) / ((wc**2 - w**2) ** 2 + (wc * w / QTC) ** 2)
    inner = slice(1, -1)
    assert found.delay[inner] == pytest.approx(wanted[inner], rel=0.02)


def test_step_is_over_its_peak_and_dies_out():
    found = in_time(ANY)
    assert np.max(np.abs(found.step)) == pytest.approx(1.0)
    assert abs(found.step[-1]) < 1e-3
