"""The drawer's zener rows against the JEDEC registered 1N4728A series, from memory.

Columns of the registered list at 25 °C: nominal voltage, test current, greatest dynamic
resistance at the test current, knee current, greatest dynamic resistance at the knee. The list was
not opened; every row was held against the series' rule that voltage times test current is a quarter
of the rated watt.
"""

from __future__ import annotations

import pytest

from boomwright.build.components import Zener
from boomwright.build.drawer import load_drawer

# Volts, milliamperes, ohms, knee milliamperes, knee ohms.
REGISTERED = {
    "1N4728A": (3.3, 76, 10, 1, 400),
    "1N4729A": (3.6, 69, 10, 1, 400),
    "1N4730A": (3.9, 64, 9, 1, 400),
    "1N4731A": (4.3, 58, 9, 1, 400),
    "1N4732A": (4.7, 53, 8, 1, 500),
    "1N4733A": (5.1, 49, 7, 1, 550),
    "1N4734A": (5.6, 45, 5, 1, 600),
    "1N4735A": (6.2, 41, 2, 1, 700),
    "1N4736A": (6.8, 37, 3.5, 1, 700),
    "1N4737A": (7.5, 34, 4, 0.5, 700),
    "1N4738A": (8.2, 31, 4.5, 0.5, 700),
    "1N4739A": (9.1, 28, 5, 0.5, 700),
    "1N4740A": (10, 25, 7, 0.25, 700),
    "1N4741A": (11, 23, 8, 0.25, 700),
    "1N4742A": (12, 21, 9, 0.25, 700),
    "1N4743A": (13, 19, 10, 0.25, 700),
    "1N4744A": (15, 17, 14, 0.25, 700),
    "1N4745A": (16, 15.5, 16, 0.25, 700),
    "1N4746A": (18, 14, 20, 0.25, 750),
    "1N4747A": (20, 12.5, 22, 0.25, 750),
    "1N4748A": (22, 11.5, 23, 0.25, 750),
    "1N4749A": (24, 10.5, 25, 0.25, 750),
    "1N4750A": (27, 9.5, 35, 0.25, 750),
    "1N4751A": (30, 8.5, 40, 0.25, 1000),
    "1N4752A": (33, 7.5, 45, 0.25, 1000),
    "1N4753A": (36, 7, 50, 0.25, 1000),
    "1N4754A": (39, 6.5, 60, 0.25, 1000),
    "1N4755A": (43, 6, 70, 0.25, 1500),
    "1N4756A": (47, 5.5, 80, 0.25, 1500),
    "1N4757A": (51, 5, 95, 0.25, 1500),
    "1N4758A": (56, 4.5, 110, 0.25, 2000),
    "1N4759A": (62, 4, 125, 0.25, 2000),
    "1N4760A": (68, 3.7, 150, 0.25, 2000),
    "1N4761A": (75, 3.3, 175, 0.25, 2000),
    "1N4762A": (82, 3, 200, 0.25, 3000),
    "1N4763A": (91, 2.8, 250, 0.25, 3000),
    "1N4764A": (100, 2.5, 350, 0.25, 3000),
}


def _zener(name: str) -> Zener:
    part = load_drawer().part("zener", name)
    assert isinstance(part, Zener)
    return part


def test_the_whole_series_is_there_in_order() -> None:
    series = [name for name in load_drawer().names("zener") if name.startswith("1N47")]
    assert series == list(REGISTERED)


@pytest.mark.parametrize("name", REGISTERED)
def test_row_agrees_with_the_registered_list(name: str) -> None:
    volts, milliamps, ohms, knee_milliamps, knee_ohms = REGISTERED[name]
    zener = _zener(name)
    assert zener.voltage.likely == pytest.approx(volts, rel=1e-9)
    assert zener.test_current.likely == pytest.approx(milliamps * 1e-3, rel=1e-9)
    assert zener.slope.likely == pytest.approx(ohms, rel=1e-9)
    assert zener.knee_current.likely == pytest.approx(knee_milliamps * 1e-3, rel=1e-9)
    assert zener.knee_slope.likely == pytest.approx(knee_ohms, rel=1e-9)


@pytest.mark.parametrize("name", REGISTERED)
def test_suffix_a_means_five_per_cent_and_one_watt(name: str) -> None:
    # JEDEC registration of the series, from memory: suffix A is ±5 %, dissipation 1 W.
    zener = _zener(name)
    assert zener.voltage.low == pytest.approx(0.95 * zener.voltage.likely, rel=1e-9)
    assert zener.voltage.high == pytest.approx(1.05 * zener.voltage.likely, rel=1e-9)
    assert (zener.power.low, zener.power.high) == (1.0, 1.0)


def test_nine_volt_one_read_at_ten_milliamps() -> None:
    # 1N4739A at 10 mA with its greatest slope: not less than 9.01 V (computed from the list).
    zener = _zener("1N4739A")
    lower = zener.voltage.likely - zener.slope.likely * (zener.test_current.likely - 10e-3)
    assert lower == pytest.approx(9.01, rel=1e-9)
