"""The drawer as a container: filling, status of values, a person's own parts."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from boomwright.build.audio import Driver
from boomwright.build.drawer import DRAWER_KINDS, Drawer, load_drawer
from boomwright.build.power import Battery, Fuse

PLAIN = Drawer(
    {
        "fuse": {
            "one": {"rating": "5.5 A", "status": "standard", "source": "7 pages of invention"},
            "two": {
                "rating": "6.5 A (measured)",
                "distance": "7 cm [5 to 9]",
                "lead": "1 mm², 1 m",
            },
            "bad": {"rating": "6.6 V"},
        },
        "driver": {
            "cone": {"impedance": "8 Ω", "sensitivity_at": "2.83 V", "title": "5 inch cone"},
        },
        "battery": {
            "cell": {
                "chemistry": "li-ion-nmc",
                "cells": 3,
                "capacity": "2.9 Ah",
                "rate_table": [{"hours": "3 h", "capacity": "2.7 Ah"}],
                "status": "invented",
            }
        },
    }
)


def _fuse(drawer: Drawer, name: str) -> Fuse:
    part = drawer.part("fuse", name)
    assert isinstance(part, Fuse)
    return part


def test_value_takes_the_status_of_its_part():
    fuse = _fuse(PLAIN, "one")
    assert (fuse.name, fuse.rating.likely, fuse.rating.basis) == ("one", 5.5, "standard")
    assert fuse.source == "7 pages of invention"


def test_value_keeps_a_basis_of_its_own_and_a_part_without_status_is_typical():
    fuse = _fuse(PLAIN, "two")
    assert fuse.rating.basis == "measured"
    assert fuse.distance is not None
    assert (fuse.distance.basis, fuse.distance.low) == ("typical", 0.05)
    assert fuse.lead.length.likely == 1.0


def test_words_that_begin_with_a_digit_stay_words():
    driver = PLAIN.part("driver", "cone")
    assert isinstance(driver, Driver)
    assert driver.sensitivity_at == "2.83 V"
    assert driver.title == "5 inch cone"
    assert driver.impedance.basis == "typical"


def test_rows_of_a_table_take_the_status_too():
    battery = PLAIN.part("battery", "cell")
    assert isinstance(battery, Battery)
    assert battery.rate_table[0].capacity.basis == "invented"


def test_unknown_part_and_part_that_does_not_fit():
    assert PLAIN.filling("fuse", "none") is None
    assert PLAIN.filling("switch", "none") is None
    with pytest.raises(KeyError, match="none"):
        PLAIN.part("fuse", "none")
    with pytest.raises(ValidationError, match="'V' is a unit of voltage"):
        PLAIN.part("fuse", "bad")


def test_names_are_in_order_and_empty_for_a_kind_without_parts():
    assert PLAIN.names("fuse") == ("one", "two", "bad")
    assert PLAIN.names("switch") == ()
    assert Drawer().names("fuse") == ()


def test_own_value_over_a_part_is_the_persons_and_the_rest_keeps_its_status():
    over = PLAIN.with_overlay({"fuse": {"one": {"distance": "12 cm"}}})
    fuse = _fuse(over, "one")
    assert fuse.rating.basis == "standard"
    assert fuse.distance is not None
    assert (fuse.distance.likely, fuse.distance.basis) == (0.12, "label")
    assert _fuse(PLAIN, "one").distance is None


def test_own_value_replaces_and_may_name_its_basis():
    over = PLAIN.with_overlay(
        {"fuse": {"one": {"rating": "7.7 A"}, "two": {"rating": "8.8 A (guess)"}}}
    )
    assert (_fuse(over, "one").rating.likely, _fuse(over, "one").rating.basis) == (7.7, "label")
    assert _fuse(over, "two").rating.basis == "guess"


def test_status_of_own_values_leaves_the_old_ones_alone():
    over = PLAIN.with_overlay({"fuse": {"two": {"distance": "9 cm", "status": "measured"}}})
    fuse = _fuse(over, "two")
    assert fuse.distance is not None
    assert (fuse.distance.basis, fuse.status) == ("measured", "measured")
    again = _fuse(PLAIN.with_overlay({"fuse": {"one": {"status": "measured"}}}), "one")
    assert again.rating.basis == "standard"


def test_own_part_of_a_new_name_or_kind_is_a_label():
    over = PLAIN.with_overlay(
        {"fuse": {"new": {"rating": "9.9 A"}}, "wire": {"w": {"area": "2 mm²"}}}
    )
    assert over.names("fuse") == ("one", "two", "bad", "new")
    assert _fuse(over, "new").rating.basis == "label"
    assert over.filling("wire", "w") == {"status": "label", "area": "2 mm² (label)"}
    assert PLAIN.names("fuse") == ("one", "two", "bad")


def test_overlay_on_an_overlay():
    first = PLAIN.with_overlay({"fuse": {"one": {"distance": "12 cm (measured)"}}})
    second = first.with_overlay({"fuse": {"one": {"rating": "4.4 A"}}})
    fuse = _fuse(second, "one")
    assert fuse.distance is not None
    assert (fuse.distance.basis, fuse.rating.basis, fuse.rating.likely) == (
        "measured",
        "label",
        4.4,
    )


def test_drawer_that_comes_along_has_every_kind():
    drawer = load_drawer()
    assert load_drawer() is drawer
    assert set(drawer.tables) == set(DRAWER_KINDS)
    assert all(drawer.names(kind) for kind in DRAWER_KINDS)
