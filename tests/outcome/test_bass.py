"""Bass of a driver in its box, and what music makes of a curve."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.advice.cases import BASE, case_of, with_
from tests.advice.tuned import passive, tuned

from boomwright.outcome.bass import bass_of, best_tuning, music_square
from boomwright.physics.programme import load_programmes

SHUT = {"type": "closed", "ql": None, "leaks": "tight"}


def bass(text):
    build = case_of(text).build
    return bass_of(build.driver[0], build)


def test_flat_box_is_flat():
    # Small, B4 with a leak Q of 7: f3 = fs and no hump (O3.25 of the published values).
    found = bass(tuned())
    assert found.tuning == pytest.approx(40.0, rel=1e-3)
    assert found.low_end == pytest.approx(40.0, rel=5e-3)
    assert (found.hump, found.hump_at) == (0.0, 0.0)
    assert found.volume == pytest.approx(0.03769, rel=1e-6)
    assert found.level_at(40.0) == pytest.approx(-3.01, rel=0.01)


@pytest.mark.parametrize(
    ("volume", "qtc"), [(0.04 / 2.0517, np.sqrt(0.5)), (0.04 / 5.1026, 1.0)], ids=["0.707", "1"]
)
def test_closed_box_of_a_named_q(volume, qtc):
    # Qtc = Qts sqrt(1 + alpha); f3/fc is 1 and 0.786, the hump 0 and 1.25 dB (Small 1972).
    found = bass(tuned(cabinet={**SHUT, "volume": f"{volume * 1e3:.4f} L (standard)"}))
    fc = 40.0 * qtc / 0.4048
    assert found.low_end == pytest.approx({1.0: 0.786}.get(qtc, 1.0) * fc, rel=3e-3)
    # abs: 0.01 dB, the digits of the printed hump.
    assert found.hump == pytest.approx({1.0: 1.25}.get(qtc, 0.0), abs=0.01)


def test_closed_box_has_no_tuning():
    assert bass(tuned(cabinet=SHUT)).tuning == 0.0


def test_passive_radiator_tunes_by_its_two_springs():
    # k = (2 pi 18)² 0.0623 = 797 N/m; air rho c² S²/V = 4097 N/m; both on 62.3 g: 44.6 Hz.
    assert bass(passive()).tuning == pytest.approx(44.6, rel=1e-3)


def test_passive_radiator_has_its_q_in_free_air():
    # Small 1974: the resistance is that of its own resonance, 2 pi 18 Hz 62.3 g/9 = 0.7829 kg/s,
    # and the same at the tuning, where it makes a Q of 9 times 44.6/18.
    load = bass(passive()).load
    assert float(load.resistance[0, 0]) == pytest.approx(0.7829 / 0.0330**2, rel=1e-3)
    at_tuning = 2 * np.pi * 44.6 * load.mass / load.resistance
    assert float(at_tuning[0, 0]) == pytest.approx(22.3, rel=1e-3)


def test_open_back_falls_where_the_way_round_says():
    # 36 by 20 by 14 cm: 24 cm to the edge, 343.2/(2 pi 0.24) = 227.6 Hz, 3 dB down there.
    text = with_(BASE, {"cabinet": {"part": "old-radio-10l"}})
    open_, shut = bass(text), bass(with_(text, {"cabinet": {"type": "closed", "leaks": "tight"}}))
    assert open_.low_end > 2.0 * shut.low_end
    free = bass(with_(text, {"cabinet": {"width": "3 m", "height": "3 m", "depth": "3 m"}}))
    assert open_.level_at(227.6) - free.level_at(227.6) == pytest.approx(-3.0, rel=0.02)


@pytest.mark.parametrize(
    "text",
    [tuned({"fs": None}), tuned({"vas": None}), with_(BASE, remove=["cabinet"])],
    ids=["fs", "vas", "box"],
)
def test_nothing_is_said_of_what_is_not_known(text):
    assert bass(text) is None


@pytest.mark.parametrize("tuning", ["25 Hz", "40 Hz", "61 Hz"])
def test_best_tuning_of_the_flat_box_is_the_flat_one(tuning):
    best = best_tuning(bass(tuned(cabinet={"tuning": f"{tuning} (standard)"})))
    assert best.low_end == pytest.approx(40.0, rel=5e-3)
    assert best.fb == pytest.approx(40.0, rel=0.04)
    assert best.hump < 1.0


def test_best_tuning_is_no_shallower_than_a_named_alignment():
    # QB3 with a leak Q of 7 and Qts 0.30: alpha 2.845, f3/fs 1.573 (O3.21 of the published values).
    text = tuned({"qes": "0.32432 (standard)"}, {"volume": "14.06 L (standard)"})
    best = best_tuning(bass(text))
    assert best.low_end <= 1.573 * 40.0
    assert best.hump <= 1.0


BANDS = replace(
    load_programmes()["pop"],
    frequencies=np.array([50.0, 800.0]),
    spectrum_db=np.array([0.0, -6.0206]),
)
"""Four fifths of the power around 50 Hz, one fifth around 800 Hz."""
GRID = np.geomspace(20.0, 2000.0, 400)


def test_music_counts_each_band_with_its_share():
    curve = np.where(GRID < 200.0, 3.0, 7.0)
    assert music_square(curve, GRID, BANDS) == pytest.approx(0.8 * 9.0 + 0.2 * 49.0, rel=1e-5)


def test_music_in_part_of_the_band():
    curve = np.full_like(GRID, 3.0)
    low = music_square(curve, GRID, BANDS, band=(0.0, 200.0))
    high = music_square(curve, GRID, BANDS, band=(200.0, np.inf))
    assert low == pytest.approx(7.2, rel=1e-5)
    assert high == pytest.approx(1.8, rel=1e-5)
