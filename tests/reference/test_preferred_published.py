"""Preferred numbers against the lists of IEC 60063 and published look-ups."""

import numpy as np
import pytest

from boomwright.physics.preferred import (
    nearest_preferred,
    preferred_at_least,
    preferred_at_most,
    preferred_values,
    series_tolerance,
)


def test_e12_list():
    # IEC 60063 (secondary print seen).
    assert preferred_values("E12").tolist() == [
        *(1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)
    ]


def test_e24_list():
    # IEC 60063 (secondary print seen).
    assert preferred_values("E24").tolist() == [
        *(1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0),
        *(3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1),
    ]


def test_e24_is_not_the_rounded_power_law():
    # IEC 60063 list (seen) against 10^(k/24) (computed): eight values differ.
    values = preferred_values("E24")
    rounded = np.round(10.0 ** (np.arange(24) / 24.0), 1)
    differ = values != rounded
    assert values[differ].tolist() == [2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 8.2]
    assert rounded[differ].tolist() == [2.6, 2.9, 3.2, 3.5, 3.8, 4.2, 4.6, 8.3]


def test_e96_list():
    # IEC 60063 (secondary print seen): 1st, 25th, 49th, 73rd and last.
    values = preferred_values("E96")
    assert values[[0, 24, 48, 72, 95]].tolist() == [1.00, 1.78, 3.16, 5.62, 9.76]


def test_published_look_ups():
    # Look-ups printed with a general-purpose package of E series (seen).
    assert float(nearest_preferred(319.0, "E24")) == 330.0
    assert float(preferred_at_least(184.0, "E96")) == 187.0
    around = (
        preferred_at_most(5000.0, "E24"),
        nearest_preferred(5000.0, "E24"),
        preferred_at_least(5101.0, "E24"),
    )
    assert [float(value) for value in around] == [4700.0, 5100.0, 5600.0]


def test_nearest_value_over_the_end_of_a_decade():
    # IEC 60063 list (computed).
    assert float(nearest_preferred(9.6, "E12")) == 10.0


def test_distance_is_by_ratio():
    # Computed: 9.06 is nearer to 8.2 by difference and nearer to 10 by ratio; ratio is used.
    assert float(nearest_preferred(9.06, "E12")) == 10.0


@pytest.mark.parametrize(("series", "share"), [("E12", 0.10), ("E24", 0.05), ("E96", 0.01)])
def test_tolerance_of_a_series(series, share):
    # IEC 60063 (seen).
    assert series_tolerance(series) == share
