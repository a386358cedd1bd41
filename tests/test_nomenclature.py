"""One name for one quantity in one unit, and the page that lists them is fresh."""

from __future__ import annotations

import pytest
from tests.loaded import load_script

WRITER = load_script("write_nomenclature")
USES = list(WRITER.uses())
NAMES = sorted({use.name for use in USES})


def test_page_is_fresh():
    written = WRITER.PAGE.read_text(encoding="utf-8")
    assert written == WRITER.page(), "stale: run scripts/write_nomenclature.py"


@pytest.mark.parametrize("name", NAMES)
def test_parameter_has_one_unit_or_a_reason_for_none(name):
    units = {}
    for use in USES:
        if use.name == name:
            units.setdefault(use.unit, []).append(f"{use.module}.{use.function}")
    if name in WRITER.NOT_QUANTITIES:
        assert list(units) == [None], f"{name} is listed as no quantity: {units}"
    else:
        assert None not in units, f"no [unit] for {name} in {units.get(None)}"
        assert len(units) == 1, f"{name} has more than one unit: {units}"


def test_reasons_are_for_parameters_that_exist():
    assert set(WRITER.NOT_QUANTITIES) <= set(NAMES)


def test_decibels_are_named_or_levels():
    units = {use.name: use.unit for use in USES}
    wrong = [name for name in NAMES if name.endswith("_db") and units[name] != "dB"]
    assert wrong == []


def test_the_reading_of_docstrings_sees_a_missing_unit():
    def law(volts, amps, ohms):
        """Nothing.

        Parameters
        ----------
        volts, amps : float
            Both [V], [A].
        ohms : float
            No unit.
        """

    found = WRITER.described(law)
    assert {name: unit for name, (unit, _) in found.items()} == {
        "volts": "V",
        "amps": "A",
        "ohms": None,
    }
