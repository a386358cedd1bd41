"""Programme tables: exact shapes, refusals, and the data with its generator."""

import math
import runpy
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest

from boomwright.physics.programme import load_programmes, programme_from_table
from boomwright.physics.spectrum import a_weighting_db

NAMES = (
    *("speech", "acoustic", "pop", "dance", "background", "sine", "noise", "pink"),
    "speech-average",
)

GENERATOR = Path(__file__).parents[2] / "scripts" / "make_programmes.py"

PAGE = Path(__file__).parents[2] / "docs" / "method" / "programme.md"


def table(levels, exceedance, bands=(1000.0,), bands_db=(0.0,)):
    return programme_from_table(
        "made-up",
        title="Made up",
        crest_factor_range_db=(1.0, 2.0),
        amplitudes=levels,
        exceedance=exceedance,
        frequencies=bands,
        spectrum_db=bands_db,
        status="invented",
        source="this test",
    )


class TestData:
    def test_names(self):
        assert tuple(load_programmes()) == NAMES

    def test_agrees_with_its_generator(self):
        shipped = tomllib.loads(
            files("boomwright.physics").joinpath("data/programmes.toml").read_text("utf-8")
        )
        fresh = tomllib.loads(runpy.run_path(str(GENERATOR))["document"]())
        assert fresh.keys() == shipped.keys()
        for name, entry in fresh.items():
            assert entry.keys() == shipped[name].keys()
            for key, value in entry.items():
                if isinstance(value, str):
                    assert value == shipped[name][key], (name, key)
                else:
                    # Six digits are printed; the last may turn with the machine's arithmetic.
                    assert value == pytest.approx(shipped[name][key], rel=2e-5), (name, key)

    def test_tables_hold_what_the_file_says(self, programme):
        entry = tomllib.loads(
            files("boomwright.physics").joinpath("data/programmes.toml").read_text("utf-8")
        )[programme.name]
        # Straight pieces between levels shift the root mean square of the table a little.
        assert programme.crest_factor_db == pytest.approx(entry["crest_factor_db"], abs=0.03)  # dB
        low, high = programme.crest_factor_range_db
        assert low - 0.03 <= programme.crest_factor_db <= high + 0.03
        assert programme.status in {"standard", "typical"}
        assert programme.source

    def test_bass_and_treble_fall(self):
        for name in ("speech", "acoustic", "pop", "dance", "background", "noise"):
            shape = load_programmes()[name]
            at = dict(zip(shape.frequencies, shape.spectrum_db, strict=True))
            assert at[25.0] < at[63.0] <= 0.0
            assert at[16000.0] < at[8000.0] < at[4000.0] < 0.0
            assert max(shape.spectrum_db) == 0.0

    def test_page_agrees_with_the_data(self, programme):
        rows = [line.strip("| ").split(" | ") for line in PAGE.read_text("utf-8").splitlines()]
        row = next(cells for cells in rows if cells[0] == programme.name)
        assert float(row[1]) == pytest.approx(programme.crest_factor_db, abs=0.03)  # dB
        weight = float(a_weighting_db(programme, low=0.0, high=math.inf))
        assert float(row[4]) == pytest.approx(weight, abs=0.051)  # dB, one printed digit

    def test_cannot_be_changed_by_accident(self):
        with pytest.raises(ValueError, match="read-only"):
            load_programmes()["pop"].levels[3] = 9.0
        load_programmes().clear()
        assert "pop" in load_programmes()


class TestTable:
    def test_scales_any_unit(self):
        one = table([0.0, 1.0, 2.0], [1.0, 0.4, 0.0])
        other = table([0.0, 250.0, 500.0], [1.0, 0.4, 0.0])
        assert other.levels == pytest.approx(one.levels, rel=1e-12)
        # Straight pieces by hand: (0 + 1(1 + 0.8))/3 + (1(0.8) + 2(0.4))/3.
        assert one.levels[1] == pytest.approx(1.0 / math.sqrt(1.8 / 3.0 + 1.6 / 3.0), rel=1e-12)

    @pytest.mark.parametrize(
        ("levels", "exceedance", "says"),
        [
            ([0.0, 1.0], [1.0, 0.5, 0.0], "2 levels with 3 shares"),
            ([0.2, 1.0], [1.0, 0.0], r"got 0\.2 first"),
            ([0.0, 1.0, 1.0], [1.0, 0.5, 0.0], "must rise"),
            ([0.0, 1.0, 2.0], [0.5, 0.9, 0.0], r"must fall .* got 0\.5 to 0"),
            ([0.0, 1.0], [1.3, 0.0], r"got 1\.3 to 0"),
        ],
    )
    def test_refuses_bad_tables(self, levels, exceedance, says):
        with pytest.raises(ValueError, match=says):
            table(levels, exceedance)

    def test_refuses_a_band_at_zero(self):
        with pytest.raises(ValueError, match="got 0 Hz"):
            table([0.0, 1.0], [1.0, 0.0], bands=(0.0, 50.0), bands_db=(0.0, -3.0))
