"""Programme tables: exact shapes, limits, the inverse, bands, and the data with its generator."""

from __future__ import annotations

import math
import runpy
import tomllib
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from boomwright.physics.programme import (
    OVERDRIVE_MAX,
    a_weighting_db,
    band_share_db,
    clipped_mean_abs,
    clipped_mean_square,
    load_programmes,
    programme_from_table,
    rms_for_clipped_mean_square,
    share_clipped,
)
from boomwright.physics.sound import a_weighting

NAMES = ("speech", "acoustic", "pop", "dance", "background", "sine", "noise")
GENERATOR = Path(__file__).parents[2] / "scripts" / "make_programmes.py"
PAGE = Path(__file__).parents[2] / "docs" / "method" / "programme.md"


@pytest.fixture(params=NAMES)
def programme(request):
    return load_programmes()[request.param]


def table(levels, exceedance, bands=(1000.0,), bands_db=(0.0,)):
    return programme_from_table(
        "made-up",
        title="Made up",
        crest_factor_range_db=(1.0, 2.0),
        levels=levels,
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


class TestClippedMeans:
    def test_limits(self, programme):
        assert float(clipped_mean_square(programme, math.inf)) == pytest.approx(1.0, rel=1e-12)
        assert float(clipped_mean_square(programme, 0.0)) == 0.0
        assert float(clipped_mean_abs(programme, 0.0)) == 0.0
        assert float(share_clipped(programme, 0.0)) == pytest.approx(1.0, rel=1e-12)
        assert float(share_clipped(programme, math.inf)) == 0.0
        tiny = 1e-4
        assert float(clipped_mean_square(programme, tiny)) == pytest.approx(tiny**2, rel=1e-3)

    def test_monotone_and_bounded(self, programme):
        clip = np.linspace(0.0, 9.0, 2001)
        mean_abs = clipped_mean_abs(programme, clip)
        mean_square = clipped_mean_square(programme, clip)
        assert np.all(np.diff(mean_abs) >= 0.0)
        assert np.all(np.diff(mean_square) >= 0.0)
        assert np.all(np.diff(share_clipped(programme, clip)) <= 0.0)
        # No wave has a mean above its root mean square, nor a power above c times its mean.
        assert np.all(mean_abs**2 <= mean_square + 1e-12)
        assert np.all(mean_square <= clip * mean_abs + 1e-12)

    def test_derivatives_are_the_exceedance(self, programme):
        clip, step = np.linspace(0.05, 1.3, 40), 1e-5
        up, down = clip + step, clip - step
        share = share_clipped(programme, clip)
        rise = (clipped_mean_abs(programme, up) - clipped_mean_abs(programme, down)) / (2 * step)
        assert rise == pytest.approx(share, rel=1e-3)
        rise = clipped_mean_square(programme, up) - clipped_mean_square(programme, down)
        assert rise / (2 * step) == pytest.approx(2.0 * clip * share, rel=1e-3)

    def test_sine_is_a_sine(self):
        sine = load_programmes()["sine"]
        wave = math.sqrt(2.0) * np.sin(2.0 * np.pi * (np.arange(20000) + 0.5) / 20000)
        for clip in (0.2, 0.7, 1.1, 1.35, 3.0):
            cut = np.clip(wave, -clip, clip)
            assert float(clipped_mean_abs(sine, clip)) == pytest.approx(
                float(np.mean(np.abs(cut))), rel=1e-3
            )
            assert float(clipped_mean_square(sine, clip)) == pytest.approx(
                float(np.mean(cut**2)), rel=1e-3
            )

    def test_noise_sits_at_its_ceiling(self):
        noise = load_programmes()["noise"]
        ceiling = float(noise.levels[-1])
        assert float(share_clipped(noise, 0.999 * ceiling)) > 0.01
        assert float(share_clipped(noise, ceiling)) == 0.0

    def test_broadcasts(self):
        clip = np.linspace(0.1, 3.0, 12).reshape(3, 4)
        pop = load_programmes()["pop"]
        for law in (clipped_mean_abs, clipped_mean_square, share_clipped):
            assert law(pop, clip).shape == (3, 4)
            assert law(pop, clip)[1, 2] == law(pop, clip[1, 2])

    def test_refuses_a_negative_clip(self):
        with pytest.raises(ValueError, match=r"got -0\.4"):
            clipped_mean_abs(load_programmes()["pop"], np.array([1.0, -0.4]))


class TestInverse:
    def test_round_trip(self, programme):
        peak = 7.3
        rms = np.geomspace(0.01, 1.0, 400) * peak / float(programme.levels[-1]) * OVERDRIVE_MAX
        after = rms**2 * clipped_mean_square(programme, peak / rms)
        back, reached = rms_for_clipped_mean_square(
            programme, mean_square=after * (1.0 - 1e-12), peak=peak
        )
        assert np.all(reached)
        assert back == pytest.approx(rms, rel=1e-8)

    def test_out_of_reach(self, programme):
        rms, reached = rms_for_clipped_mean_square(programme, mean_square=26.0, peak=5.0)
        assert not bool(reached)
        assert float(rms) * float(programme.levels[-1]) == pytest.approx(5.0 * OVERDRIVE_MAX)

    def test_more_overdrive_reaches_further(self):
        dance = load_programmes()["dance"]
        wanted = 0.35 * 6.0**2
        _, mild = rms_for_clipped_mean_square(dance, mean_square=wanted, peak=6.0)
        rms, hard = rms_for_clipped_mean_square(
            dance, mean_square=wanted, peak=6.0, overdrive_max=8.0
        )
        assert (bool(mild), bool(hard)) == (False, True)
        after = rms**2 * clipped_mean_square(dance, 6.0 / rms)
        assert float(after) == pytest.approx(wanted, rel=1e-9)

    def test_silence_and_no_supply(self):
        pop = load_programmes()["pop"]
        rms, reached = rms_for_clipped_mean_square(
            pop, mean_square=np.array([0.0, 0.0, 3.0]), peak=np.array([4.0, 0.0, 0.0])
        )
        assert rms == pytest.approx([0.0, 0.0, 0.0])
        assert list(reached) == [True, True, False]

    def test_square_wave(self):
        square = table([0.0, 3.0], [1.0, 1.0])
        rms, reached = rms_for_clipped_mean_square(
            square, mean_square=np.array([4.0, 8.9, 9.1]), peak=3.0
        )
        assert rms[:2] == pytest.approx([2.0, math.sqrt(8.9)], rel=1e-9)
        assert list(reached) == [True, True, False]

    def test_broadcasts(self):
        rms, reached = rms_for_clipped_mean_square(
            load_programmes()["acoustic"],
            mean_square=np.array([[0.5], [1.5], [4.0]]),
            peak=np.array([5.0, 6.0, 8.0, 11.0]),
        )
        assert rms.shape == reached.shape == (3, 4)

    def test_says_what_is_wrong(self):
        pop = load_programmes()["pop"]
        with pytest.raises(ValueError, match="got -2 V²"):
            rms_for_clipped_mean_square(pop, mean_square=-2.0, peak=3.0)
        with pytest.raises(ValueError, match=r"got 0\.5"):
            rms_for_clipped_mean_square(pop, mean_square=2.0, peak=3.0, overdrive_max=0.5)


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


class TestBands:
    def test_whole_programme(self, programme):
        assert float(band_share_db(programme, low=0.0, high=math.inf)) == pytest.approx(
            0.0, abs=1e-12  # dB, rounding
        )  # fmt: skip

    def test_adjoining_bands_add_up(self, programme):
        below = band_share_db(programme, low=0.0, high=315.0)
        above = band_share_db(programme, low=315.0, high=math.inf)
        assert float(10.0 ** (below / 10.0) + 10.0 ** (above / 10.0)) == pytest.approx(1.0)

    def test_corner_costs_three_decibels_of_a_tone(self):
        sine = load_programmes()["sine"]
        both = band_share_db(sine, low=np.array([1000.0, 0.0]), high=np.array([math.inf, 1000.0]))
        assert both == pytest.approx([-3.0103, -3.0103], abs=1e-4)  # dB
        assert float(a_weighting_db(sine, low=1000.0, high=math.inf)) == pytest.approx(
            -3.0103, abs=1e-4  # dB
        )  # fmt: skip

    def test_weight_of_one_band(self):
        hum = table([0.0, 1.0], [1.0, 0.0], bands=(100.0,), bands_db=(-17.0,))
        assert float(a_weighting_db(hum, low=0.0, high=math.inf)) == pytest.approx(
            float(a_weighting(100.0)), rel=1e-12
        )

    def test_bass_counts_little_in_db_a(self):
        dance = load_programmes()["dance"]
        plain = band_share_db(dance, low=np.array([0.0, 120.0]), high=math.inf)
        heard = a_weighting_db(dance, low=np.array([0.0, 120.0]), high=math.inf)
        assert plain[0] - plain[1] > 3.0
        assert heard[0] - heard[1] < 0.5

    def test_monotone_and_broadcast(self, programme):
        low = np.array([[30.0], [90.0], [200.0]])
        high = np.array([1500.0, 3000.0, 6000.0, 12000.0])
        for law in (band_share_db, a_weighting_db):
            got = law(programme, low=low, high=high)
            assert got.shape == (3, 4)
            assert np.all(np.diff(got, axis=0) < 0.0)
            assert np.all(np.diff(got, axis=1) > 0.0)

    def test_says_what_is_wrong(self):
        with pytest.raises(ValueError, match=r"lower corner .* got -20 Hz"):
            band_share_db(load_programmes()["pop"], low=-20.0, high=500.0)
        with pytest.raises(ValueError, match=r"upper corner .* got 0 Hz"):
            a_weighting_db(load_programmes()["pop"], low=20.0, high=0.0)
