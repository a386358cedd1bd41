"""The build's own music: what serves, and every impossible thing refused with its reason."""

import math

import pytest
from tests.outcome.builds import AGM, AMPLIFIER, DRIVER, WANT

from boomwright.build.edit import with_values
from boomwright.build.locate import line_numbers
from boomwright.build.music import Music
from boomwright.build.read import parse_build
from boomwright.errors import BuildFileError

LISTS = {
    "levels": [0.0, 0.5, 1.0, 3.0],
    "time_above": [1.0, 0.6, 0.3, 0.0],
    "bands": [63.0, 1000.0],
    "spectrum_db": [0.0, -6.0],
}


def text_of(**changes):
    entries = {"title": "Hedges", **LISTS, **changes}
    start = 'name = "x"\n' + AGM + AMPLIFIER + DRIVER + WANT
    values = {("music", key): value for key, value in entries.items() if value is not None}
    return with_values(start, values)


def refused(text):
    with pytest.raises(BuildFileError) as caught:
        parse_build(text)
    (problem,) = caught.value.problems
    assert problem.line == line_numbers(text)[tuple(problem.key.split("."))]
    return problem


def test_reads():
    music = parse_build(text_of(duration="12 min", crest_factor="7.8 dB")).music
    assert music.levels == (0.0, 0.5, 1.0, 3.0)
    assert music.duration.likely == 720.0
    programme = music.programme
    assert (programme.name, programme.title, programme.status) == ("music", "Hedges", "measured")
    # Straight pieces by hand: (0.5 · 1.1 + 0.975 + 3)/3 is the mean square.
    by_hand = 20.0 * math.log10(3.0 / math.sqrt((0.55 + 0.975 + 3.0) / 3.0))
    assert programme.crest_factor_db == pytest.approx(by_hand, rel=1e-9)
    assert programme.crest_factor_range_db == (programme.crest_factor_db,) * 2


def test_levels_of_another_scale_mean_the_same():
    one, two = (
        Music.model_validate(
            {"title": "x", **LISTS, "levels": [scale * x for x in LISTS["levels"]]}
        )
        for scale in (1.0, 250.0)
    )
    assert one.programme.levels == pytest.approx(two.programme.levels, rel=1e-12)


def test_whole_numbers_serve():
    assert parse_build(text_of(levels=[0, 1, 2, 3])).music.levels == (0.0, 1.0, 2.0, 3.0)


def test_none_is_none():
    assert parse_build('name = "x"\n' + AGM + AMPLIFIER + DRIVER + WANT).music is None


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("levels", "0 to 3", "not a list of numbers"),
        ("levels", [], "0 numbers"),
        ("levels", [0.0], "too few levels"),
        ("levels", ["0,5", "1,0"], "decimal point and no quotes: 0.5"),
        ("levels", [0.0, 0.5, "1.0", 3.0], "item 3 is no number"),
        ("levels", [0.0, 0.5, True, 3.0], "item 3 is no number"),
        ("levels", [0.1, 0.5, 1.0, 3.0], "read 0.1; expected 0 first"),
        ("levels", [0.0, 1.0, 0.5, 3.0], "read 1, then 0.5"),
        ("levels", [0.0, 1.0, 1.0, 3.0], "read 1, then 1"),
        ("levels", [0.0, 1e-320, 1.0, 3.0], "do not rise"),
        ("levels", [0.0, 1.0, 2.0, 1e200], "read 1e+200 last"),
        ("levels", [0.0, 1.0, 2.0, float("inf")], "number 4 is no number"),
        ("time_above", [1e-9, 0.0, 0.0, 0.0], "a peak too far above the average"),
        ("time_above", [1.0, 0.6, 0.3], "3 in time_above, 4 in levels"),
        ("time_above", [1, 0, 0, 6, 0, 3, 0, 0], "a share of time that cannot be; read 6"),
        ("time_above", [1.0, 0.3, 0.6, 0.0], "read 0.3, then 0.6"),
        ("time_above", [1.2, 0.6, 0.3, 0.0], "read 1.2; expected 0 to 1"),
        ("time_above", [1.0, 0.6, 0.3, -0.1], "read -0.1"),
        ("time_above", [0.0, 0.0, 0.0, 0.0], "silence"),
        ("time_above", [1.0, float("nan"), 0.3, 0.0], "number 2 is no number; read nan"),
        ("bands", [63.0, 63.0], "read 63 Hz, then 63 Hz"),
        ("bands", [0.0, 63.0], "read 0 Hz"),
        ("bands", [63.0, 50000.0], "read 50000 Hz"),
        ("spectrum_db", [0.0], "1 in spectrum_db, 2 in bands"),
        ("spectrum_db", [0, 5, 6], "0.5, not 0,5"),
        ("spectrum_db", [0.0, 900.0], "read 900 dB"),
        ("title", "", "at least 1 character"),
        ("title", 7, "text in quotes"),
        ("files", "a.ogg", "not a table of values"),
        ("duration", "12 dB", "not of time"),
        ("duration", "0 s", "cannot be right"),
        ("loudness", "40 dB", "cannot be right"),
        ("crest_factor", "14 dB", "crest_factor 14 dB, "),
        ("clipped", "120 %", "cannot be right"),
    ],
)  # fmt: skip
def test_refuses(key, value, words):
    text = text_of(**({key: value} | ({"files": None} if key != "files" else {})))
    if key == "crest_factor":
        problem = refused(text)
        assert problem.key == "music.time_above"
    else:
        problem = refused(text)
        assert problem.key in {f"music.{key}", "music.time_above"}
    assert words in str(problem)


@pytest.mark.parametrize("key", ["title", *LISTS])
def test_what_is_missing_is_told(key):
    problem = refused_missing(text_of(**{key: None}))
    assert problem.says.startswith("missing: ")
    assert problem.key == f"music.{key}"


def refused_missing(text):
    with pytest.raises(BuildFileError) as caught:
        parse_build(text)
    (problem,) = caught.value.problems
    return problem


def test_unknown_key_has_its_nearest():
    text = text_of().replace("[music]", "[music]\ntime_abov = 3")
    assert refused(text).hint == "Did you mean 'time_above'?"


def test_all_wrong_things_at_once():
    text = text_of(levels=[0.0, 2.0, 1.0, 3.0], bands=[5.0], loudness="5 V")
    with pytest.raises(BuildFileError) as caught:
        parse_build(text)
    assert [problem.key for problem in caught.value.problems] == [
        "music.levels",
        "music.bands",
        "music.loudness",
    ]
