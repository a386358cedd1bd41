"""Settings of the volume knob: what they give, and how often each output clips."""

from itertools import pairwise

import numpy as np
import pytest
from tests.outcome.builds import AGM, AMPLIFIER, DRIVER, WANT

from boomwright.build.draws import Draws
from boomwright.build.read import parse_build
from boomwright.outcome.plan import make_plan, programme_of
from boomwright.outcome.run import run_build
from boomwright.outcome.volumes import OVER_CLEAN_DB, clipped_shares, volumes_of
from boomwright.outcome.worked import work_out
from boomwright.physics.clipped_programme import share_clipped

HARSH = """
[music]
title = "Mostly quiet"
levels = [0.0, 0.4, 1.0, 4.1, 8.0]
time_above = [1.0, 0.5, 0.2, 0.01, 0.0]
bands = [63.0, 250.0, 1000.0]
spectrum_db = [0.0, -2.0, -7.0]
"""
HEAD = 'name = "x"\n'


def build_of(want=WANT, music=""):
    return parse_build(HEAD + AGM + AMPLIFIER + DRIVER + want + music)


@pytest.fixture(scope="module")
def volumes():
    return volumes_of(build_of(), versions=0)


def test_names_and_order(volumes):
    assert [volume.title for volume in volumes] == [
        "as wanted", "clean limit", "3 dB over that", "6 dB over that", "10 dB over that",
    ]  # fmt: skip
    assert tuple(volume.over_clean_db for volume in volumes[1:]) == OVER_CLEAN_DB


def test_as_wanted_is_what_a_check_says(volumes):
    wanted = run_build(build_of(), versions=0).wanted
    assert volumes[0].watts.likely == pytest.approx(wanted.watts.likely, rel=1e-6)
    assert volumes[0].duration.likely == pytest.approx(wanted.duration.likely, rel=1e-6)
    assert volumes[0].level.likely == pytest.approx(75.0, abs=0.01)  # dB(A) asked


def test_clean_limit_is_clean_when_full(volumes):
    assert volumes[1].worst.at_start.likely == pytest.approx(0.0, abs=1e-9)  # share of time
    loudest = run_build(build_of(), versions=0).scenario("flat-out")
    assert volumes[1].level.likely == pytest.approx(loudest.level_start.likely, abs=0.01)  # dB(A)


def test_louder_draws_more_plays_shorter_and_clips_more(volumes):
    rising = volumes[1:]
    for less, more in pairwise(rising):
        gain = more.over_clean_db - less.over_clean_db
        assert 0.0 < more.level.likely - less.level.likely < gain
        assert more.watts.likely > less.watts.likely
        assert more.duration.likely < less.duration.likely
        assert more.worst.at_start.likely > less.worst.at_start.likely
        assert more.worst.at_end.likely >= more.worst.at_start.likely


def test_ten_decibels_over_clips_as_the_table_says():
    # A supply that gives no ground: the clipping level then lies 10 dB below the peak exactly.
    stiff = AGM.replace("7 Ah", "500 Ah").replace(
        "[battery]", '[battery]\nresistance = "0.1 mΩ (standard)"'
    )
    build = parse_build(HEAD + stiff + AMPLIFIER + DRIVER + WANT)
    programme = programme_of(build)
    found = volumes_of(build, versions=0)
    for volume in found[1:]:
        clip = programme.levels[-1] * 10.0 ** (-volume.over_clean_db / 20.0)
        expected = float(share_clipped(programme, clip))
        assert volume.worst.at_start.likely == pytest.approx(expected, rel=0.02, abs=1e-9)  # share


def test_own_music_sets_the_clean_limit():
    typical, own = volumes_of(build_of(), versions=0), volumes_of(build_of(music=HARSH), versions=0)
    assert programme_of(build_of(music=HARSH)).name == "music"
    # Peaks 7 dB further above the average leave so much less of it at the clean limit.
    crest = [programme_of(build_of(music=music)).crest_factor_db for music in ("", HARSH)]
    weight = [
        float(make_plan(build_of(music=music), Draws(0)).outputs[0].groups[0].weighting[0, 0])
        for music in ("", HARSH)
    ]
    expected = (crest[1] - crest[0]) - (weight[1] - weight[0])
    apart = typical[1].level.likely - own[1].level.likely
    assert apart == pytest.approx(expected, abs=0.5)  # dB, the battery sags less
    assert own[2].worst.at_start.likely < 0.02


def test_a_wish_beyond_reach_stays_within_what_a_run_bounds():
    loud = volumes_of(build_of(WANT.replace("75 dB(A)", "120 dB(A)")), versions=0)[0]
    assert loud.level.likely < 110.0
    assert loud.over_clean_db < 6.1
    assert loud.worst.at_start.likely > 0.01


def test_shares_are_those_of_each_version_and_scenario():
    worked = work_out(build_of(), versions=5)
    shares = clipped_shares(worked.plan, worked.run.end)
    assert len(shares) == len(worked.plan.outputs)
    for share in shares:
        assert share.shape == (6, len(worked.scenarios))
        assert np.all((share >= 0.0) & (share <= 1.0))


def test_ranges_hold_their_likely_values():
    for volume in volumes_of(build_of(), versions=20):
        for value in (volume.level, volume.watts, volume.duration, volume.worst.at_end):
            assert value.low <= value.likely <= value.high
        assert volume.duration.low < volume.duration.high
