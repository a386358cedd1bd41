"""Wire of coils of which only the inductance is known."""

from __future__ import annotations

import numpy as np
import pytest

from boomwright.build.filters import parse_filter_step
from boomwright.outcome.voices import winding_of

COPPER = 1.724e-8
"""Resistivity of annealed copper at 20 °C [Ω m]: IEC 60028."""

INCH = 0.0254


def _by_wheeler(henries: float, wire: float) -> float:
    """Ohms of a coil by H. A. Wheeler's formula of 1928 (from memory), 0.8 a² n²/(6a + 9b + 10c)
    in inches and microhenries; square winding on a hole of twice its side, 60 % copper."""
    area = np.pi * wire**2 / 4.0
    low, high = 1e-4, 0.2
    for _ in range(80):
        side = (low * high) ** 0.5
        turns = 0.6 * side**2 / area
        mean, long = 1.5 * side / INCH, side / INCH
        found = 0.8e-6 * mean**2 * turns**2 / (6.0 * mean + 9.0 * long + 10.0 * long)
        low, high = (side, high) if found < henries else (low, side)
    return COPPER * 2.0 * np.pi * 1.5 * side * turns / area


@pytest.mark.parametrize("text", ["0.1 mH", "0.47 mH", "1 mH", "2.2 mH", "5 mH"])
def test_usual_wire_is_that_of_an_air_coil(text):
    """Between 1.0 and 1.4 mm are the coils that shops sell for woofers; common practice."""
    coil = parse_filter_step(f"series {text}").components[0]
    ohms = winding_of(coil)
    assert ohms == pytest.approx(_by_wheeler(coil.value.likely, 1.25e-3), rel=0.02)
    assert _by_wheeler(coil.value.likely, 1.4e-3) < ohms < _by_wheeler(coil.value.likely, 1.0e-3)


def test_stated_wire_counts():
    assert winding_of(parse_filter_step("series 0.82 mH 0.61 Ω").components[0]) == 0.61
