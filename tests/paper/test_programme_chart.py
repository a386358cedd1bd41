"""Chart of a programme: what is drawn is what was given, beside a typical one or alone."""

import json
import re

import pytest
from tests.build.test_music import LISTS

from boomwright.build.music import Music
from boomwright.paper.charts import chart_svg
from boomwright.paper.look import DARK, PRINT
from boomwright.paper.programme import programme_chart
from boomwright.physics.programme import load_programmes

OWN = Music.model_validate({"title": "Hedges & hares", **LISTS}).programme


def rows(chart):
    """Rows of everything that a chart draws."""
    return [json.loads(values) for values in chart.to_dict()["datasets"].values()]


def test_bars_are_the_bands():
    bars = next(each for each in rows(programme_chart(OWN)) if "decade" in each[0])
    assert [bar["level"] for bar in bars] == [0.0, -6.0]
    middles = [(bar["decade"] + bar["end"]) / 2.0 for bar in bars]
    assert [10.0**middle for middle in middles] == pytest.approx([63.0, 1000.0], rel=1e-9)


def test_curve_is_the_share_of_time():
    curve = next(layer for layer in rows(programme_chart(OWN)) if "share" in layer[0])
    point = min(curve, key=lambda row: abs(row["over"]))
    level = 10.0 ** (point["over"] / 20.0)
    # Between levels of 0.5 and 1 (in units of 1/1.228 of the average) shares fall from 0.6 to 0.3.
    rms = OWN.levels[-1] / 3.0
    assert point["share"] == pytest.approx(100.0 * (0.3 - 0.15 * (level / rms - 1.0)), rel=1e-6)


def test_says_what_it_shows():
    svg = chart_svg(programme_chart(OWN, subtitle="12 min of it."))
    for words in ("Hedges &amp; hares", "12 min of it.", "third-octave band [Hz]", "average",
                  f"peak {OWN.crest_factor_db:.1f} dB", "31.5", "16k"):  # fmt: skip
        assert words in svg


@pytest.mark.parametrize("name", ["pop", "speech", "sine"])
@pytest.mark.parametrize("look", [DARK, PRINT], ids=lambda look: look.name)
def test_another_one_beside_it(name, look):
    beside = load_programmes()[name]
    svg = chart_svg(programme_chart(OWN, beside=beside, look=look))
    # A line over one band is no line.
    assert (f"typical: {name}" in svg) == (name != "sine")
    assert look.wave in svg
    width = float(re.search(r'width="([\d.]+)"', svg)[1])
    assert 720.0 < width <= 760.0  # px, the room for text is measured with wide letters


def test_width_that_does_not_serve():
    with pytest.raises(ValueError, match="100 px"):
        programme_chart(OWN, width=100)
