"""Charts: what they show is what they were given, their words are right, no text overlaps."""

from __future__ import annotations

import csv
import io
import itertools
import json
import re
import subprocess
import sys
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from boomwright.paper.charts import chart_csv, chart_json, chart_png, chart_svg
from boomwright.paper.cutoff_charts import discharge_chart, sweep_chart, threshold_chart
from boomwright.paper.look import DARK, LIGHT, PRINT
from boomwright.paper.room import extremes_kept, flag_rows, spread_apart, text_width, wrapped

HOUR = 3600.0
RNG = np.random.default_rng(5)


def emptying(hours=9.0, opens=7.5):
    """A 12 V battery that runs down, lets go once and recovers without load."""
    time = np.arange(0.0, hours * HOUR, 4.0)
    amps = 0.72 + 0.25 * np.random.default_rng(8).random(time.size)
    volts = 12.8 - 2.4 * (time / (opens * HOUR)) ** 3 - 0.06 * amps
    open_ = time >= opens * HOUR
    volts[open_] = 11.5 - 0.9 * np.exp(-(time[open_] - opens * HOUR) / 400.0)
    amps[open_] = 0.0
    return time, volts, amps, ~open_


def chattering(cycles=90, cycle=40.0, begins=6.9):
    """The same with a relay that comes back again and again."""
    time = np.arange(0.0, 8.0 * HOUR, cycle / 10.0)
    first = begins * HOUR
    phase = ((time - first) % cycle) / cycle
    run = (time >= first - 1e-6) & (time < first + cycles * cycle - 1e-6)
    closed = np.where(run, phase >= 0.375, time < first)
    volts = 12.8 - 2.4 * np.minimum(time / first, 1.0) ** 3
    volts = np.where(run, 10.4 + 0.8 * np.minimum(phase / 0.375, (1.0 - phase) / 0.625), volts)
    return time, volts, np.where(closed, 0.83, 0.0), closed


DOWN = np.linspace(13.0, 9.5, 701)
UP = DOWN[::-1]


def contact_sweep(off=10.4, on=11.2, **more):
    up = on < UP if on is not None else np.zeros(UP.size)
    return sweep_chart(DOWN, off < DOWN, UP, up, off_volts=off, on_volts=on, **more)


def thresholds(off_samples, on_samples, **more):
    asked = {
        "wanted_off": 10.4, "wanted_on": 11.2, "floor": 10.5, "full": 12.8,
        "off_limits": (10.2, 10.7), "on_limits": (10.9, 11.9),
    }  # fmt: skip
    return threshold_chart(off_samples, on_samples, **{**asked, **more})


OFF = RNG.normal(10.4, 0.16, 4000)
ON = RNG.normal(11.2, 0.22, 4000)
TIGHT = {"wanted_off": 10.51, "wanted_on": 10.55, "floor": 10.5, "full": 10.6}
MAKERS = {
    "one opening": lambda **m: discharge_chart(*emptying(), off_volts=10.4, on_volts=11.2, **m),
    "chatter": lambda **m: discharge_chart(*chattering(), off_volts=10.4, on_volts=11.2, **m),
    "thresholds a hair apart": lambda **m: discharge_chart(
        *chattering(), off_volts=10.4, on_volts=10.405, **m
    ),
    "thresholds at the edges": lambda **m: discharge_chart(
        *emptying(), off_volts=3.0, on_volts=13.9, **m
    ),
    "fast chatter": lambda **m: discharge_chart(
        *chattering(1800, 2.0), off_volts=10.4, on_volts=None, **m
    ),
    "sweep": contact_sweep,
    "sweep with a hair's gap": lambda **m: contact_sweep(10.4, 10.42, **m),
    "sweep near the ends": lambda **m: contact_sweep(9.52, 12.97, **m),
    "sweep that latches": lambda **m: contact_sweep(10.4, None, **m),
    "sweep of volts": lambda **m: sweep_chart(
        DOWN, np.where(DOWN > 10.4, DOWN - 0.2, 0.02), UP, np.where(UP > 11.2, UP - 0.2, 0.03),
        off_volts=10.4, on_volts=11.2, output_volts=True, **m,
    ),
    "tolerance": lambda **m: thresholds(OFF, ON, **m),
    "tolerance, all close": lambda **m: thresholds(OFF, ON, **TIGHT, **m),
    "tolerance, one sample": lambda **m: thresholds([10.43], [11.19], **m),
    "tolerance, latching": lambda **m: thresholds(OFF, None, **m),
}  # fmt: skip
SHAPES = [(LIGHT, 600), (PRINT, 420)]


def texts(svg):
    """Each text of a picture with its left end, right end, top and bottom."""
    found = []

    def walk(node, x, y):
        moved = re.match(r"translate\(([-\d.e]+),([-\d.e]+)\)", node.get("transform", ""))
        if moved:
            x, y = x + float(moved[1]), y + float(moved[2])
        if node.tag.endswith("}text"):
            lines = ["".join(part.itertext()) for part in node if part.tag.endswith("}tspan")]
            size = float(node.get("font-size").removesuffix("px"))
            bold = node.get("font-weight") == "bold"
            for number, line in enumerate(lines or ["".join(node.itertext())]):
                width = text_width(line, size, bold=bold)
                left = x - {"end": width, "middle": width / 2.0}.get(node.get("text-anchor"), 0.0)
                base = y + number * (size + 5.0)
                if float(node.get("opacity", "1")) > 0.0 and line:
                    found.append((line, left, left + width, base - 0.72 * size, base + 0.2 * size))
            return
        for child in node:
            walk(child, x, y)

    walk(ET.fromstring(svg), 0.0, 0.0)
    return found


def words(svg):
    return [text[0] for text in texts(svg)]


def rows_with(chart, *fields):
    """The rows inside a chart that have all these columns."""
    sets = json.loads(chart_json(chart))["datasets"].values()
    return [row for rows in sets for row in json.loads(rows) if set(fields) <= set(row)]


@pytest.mark.parametrize(("look", "width"), SHAPES, ids=lambda item: getattr(item, "name", item))
@pytest.mark.parametrize("name", MAKERS)
def test_no_text_overlaps_or_leaves_the_picture(name, look, width):
    svg = chart_svg(MAKERS[name](look=look, width=width))
    found = texts(svg)
    assert len(found) > 8
    root = ET.fromstring(svg)
    wide, tall = float(root.get("width")), float(root.get("height"))
    assert width - 30 <= wide <= width + 4
    for line, left, right, top, bottom in found:
        assert left >= 0.0, line
        assert right <= wide + 2.0, line
        assert 0.0 <= top < bottom <= tall, line
    for one, other in itertools.combinations(found, 2):
        apart = one[2] <= other[1] or other[2] <= one[1] or one[4] <= other[3] or other[4] <= one[3]
        assert apart, (one, other)


@pytest.mark.parametrize("name", MAKERS)
def test_picture_stands_alone_and_is_the_same_twice(name):
    svg = chart_svg(MAKERS[name]())
    assert chart_svg(MAKERS[name]()) == svg
    assert not re.search(r"(href|src)=|url\(|@import|<script|<image", svg)
    assert set(re.findall(r"https?://[^\"' ]+", svg)) <= {
        "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink",
    }  # fmt: skip
    assert "tabular-nums" in svg
    assert LIGHT.sheet in svg


def test_png_is_a_picture_with_its_scale():
    chart = contact_sweep()
    wide = float(ET.fromstring(chart_svg(chart)).get("width"))
    for scale in (1.0, 2.0):
        png = chart_png(chart, scale)
        assert png.startswith(b"\x89PNG")
        assert int.from_bytes(png[16:20], "big") == pytest.approx(wide * scale, abs=1.0)  # px
    with pytest.raises(ValueError, match="got 0, must be above 0"):
        chart_png(chart, 0.0)


def test_browser_text_holds_grammar_letters_and_data():
    told = json.loads(chart_json(contact_sweep(look=DARK)))
    assert "vega-lite" in told["$schema"]
    assert told["config"]["background"] == DARK.sheet
    assert told["config"]["font"] == DARK.letters
    assert "url" not in json.dumps(told["datasets"])
    assert "gap of 0.8 V" in told["description"]


def test_table():
    rows = [{"hours": 0.25, "state": "closed, warm"}, {"hours": 0.5, "state": "open"}]
    assert list(csv.DictReader(io.StringIO(chart_csv(rows)))) == [
        {"hours": "0.25", "state": "closed, warm"}, {"hours": "0.5", "state": "open"},
    ]  # fmt: skip
    assert chart_csv([]) == ""
    with pytest.raises(ValueError, match="row 1: got volts, must have hours, state"):
        chart_csv([rows[0], {"volts": 3.0}])


def test_importing_charts_loads_nothing_heavy():
    code = (
        "import sys, boomwright.paper.cutoff_charts; "
        "print(*(m for m in ('altair', 'vl_convert', 'scipy') if m in sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []


# What is drawn is what was given.


def test_discharge_keeps_every_extreme():
    time, volts, amps, closed = emptying()
    volts[3217], amps[2111] = 9.87, 3.21
    chart = discharge_chart(time, volts, amps, closed, off_volts=10.4, on_volts=11.2)
    drawn = rows_with(chart, "time", "volts")
    assert len(drawn) < time.size
    assert min(row["volts"] for row in drawn) == 9.87
    assert max(row["volts"] for row in drawn) == volts.max()
    dip = next(row for row in drawn if row["volts"] == 9.87)
    assert dip["time"] == pytest.approx(time[3217] / HOUR, rel=1e-12)
    assert max(row["current"] for row in rows_with(chart, "time", "current")) == 3.21
    given = set(volts.tolist())
    assert all(row["volts"] in given for row in drawn)


def test_one_opening_in_words_and_bands():
    chart = discharge_chart(*emptying(), off_volts=10.4, on_volts=11.2)
    shown = words(chart_svg(chart))
    assert "The contact opens at 7.5 h and stays open." in shown
    assert {"off 10.4 V", "on 11.2 V", "battery volts [V]", "load current [A]", "hours"} <= {*shown}
    assert {"closed", "open", "opens once"} <= {*shown}
    bands = sorted(rows_with(chart, "contact"), key=lambda row: row["time"])
    assert [(row["contact"], row["level"]) for row in bands] == [("closed", 1.0), ("open", 0.0)]
    assert bands[0]["end"] == bands[1]["time"] == 7.5


def test_chatter_is_shaded_and_drawn_large():
    time, volts, amps, closed = chattering()
    chart = discharge_chart(time, volts, amps, closed, off_volts=10.4, on_volts=11.2)
    shown = words(chart_svg(chart))
    assert "opens 91 times" in shown
    assert any("From 6.9 h on the contact chatters: it opens 91 times in 1 h" in w for w in shown)
    assert "The first cycles of the chatter" in shown
    assert "minutes after 6.9 h" in shown
    (fast,) = [row for row in rows_with(chart, "contact") if row["contact"] == "chatters"]
    assert fast["time"] == pytest.approx(6.9, rel=1e-9)
    assert fast["end"] == pytest.approx(7.9, rel=1e-9)
    large = [r for r in rows_with(chart, "contact") if r["end"] < 3.4 and r["contact"] == "open"]
    # Each opening of 15 s within cycles of 40 s, seen every 4 s.
    lengths = [row["end"] - row["time"] for row in large if row["time"] >= 0.0]
    assert len(lengths) >= 4
    assert lengths[:4] == pytest.approx([16.0 / 60.0] * 4, rel=1e-6)


def test_few_openings_are_drawn_one_by_one():
    time, volts, amps, _ = emptying()
    closed = (time // HOUR) % 2 == 0
    chart = discharge_chart(time, volts, amps, closed, off_volts=10.4, on_volts=11.2)
    shown = words(chart_svg(chart))
    assert "The contact opens 4 times, first at 1 h." in shown
    assert len(rows_with(chart, "contact")) == 9
    assert "The first cycles of the chatter" not in shown


@pytest.mark.parametrize(
    ("state", "says"),
    [(True, "The contact stays closed throughout."), (False, "The contact stays open throughout.")],
)
def test_contact_that_never_moves(state, says):
    time = [0.0, 60.0, 120.0]
    chart = discharge_chart(
        time, [12.0, 12.0, 12.0], [0.2, 0.2, 0.2], [state] * 3, off_volts=10.4, on_volts=None
    )
    shown = words(chart_svg(chart))
    assert says in shown
    assert {"never opens", "seconds", "load current [mA]"} <= {*shown}


def test_moves_at_one_instant_are_no_chatter():
    time = np.concatenate((np.linspace(0.0, 9.0, 40), np.full(12, 9.0), np.linspace(9.0, 20.0, 40)))
    closed = np.ones(92, dtype=bool)
    closed[40:52:2] = False
    chart = discharge_chart(
        time, np.full(92, 12.1), np.full(92, 1.5), closed, off_volts=10.4, on_volts=11.2
    )
    assert "opens 6 times" in words(chart_svg(chart))


def test_sweep_in_words_and_data():
    chart = contact_sweep()
    shown = words(chart_svg(chart))
    assert {"lets go at 10.4 V", "comes back at 11.2 V", "gap 0.8 V", "falling", "rising"} <= {
        *shown
    }
    drawn = rows_with(chart, "volts", "output", "step")
    assert {row["output"] for row in drawn} == {0.0, 1.0}
    assert {row["volts"] for row in drawn} == {*DOWN.tolist()}


@pytest.mark.parametrize(
    ("off", "on", "says"),
    [
        (10.4, None, "Rising, it does not come back within the sweep."),
        (10.4, 10.4, "no gap."),
        (10.4, 10.45, "a gap of 50 mV."),
        (None, 11.2, "It does not let go within the sweep."),
    ],
)
def test_sweep_words(off, on, says):
    closed = DOWN > 10.4
    chart = sweep_chart(DOWN, closed, UP, closed[::-1], off_volts=off, on_volts=on)
    assert any(word.endswith(says) for word in words(chart_svg(chart)))


def test_tolerance_counts_every_sample():
    off = np.concatenate((OFF, np.full(80, np.nan)))
    chart = thresholds(off, ON)
    bars = rows_with(chart, "share")
    # The never-switching ones are 80 of 4080 and have no bar.
    shares = [sum(r["share"] for r in bars if r in part) for part in _by_panel(chart)]
    assert shares == pytest.approx([100.0 * 4000 / 4080, 100.0], rel=1e-9)
    inside = 100.0 * np.count_nonzero((OFF >= 10.2) & (OFF <= 10.7)) / 4080
    joined = " ".join(words(chart_svg(chart)))
    assert f"{inside:.1f} % within 10.2 V to 10.7 V; 2.0 % never" in joined
    assert {"wanted 10.4 V", "wanted 11.2 V", "full battery 12.8 V"} <= {*words(chart_svg(chart))}


def _by_panel(chart):
    told = json.loads(chart_json(chart))
    for panel in told["vconcat"]:
        names = [layer["data"]["name"] for layer in panel["layer"] if "name" in layer["data"]]
        yield [
            row for name in names for row in json.loads(told["datasets"][name]) if "share" in row
        ]


def test_tolerance_of_a_latching_one_has_one_panel():
    chart = thresholds(OFF, None, wanted_on=None, on_limits=None)
    shown = words(chart_svg(chart))
    assert "Lets go" in shown
    assert "Comes back" not in shown
    assert any("stays open until someone resets it" in word for word in shown)


def test_tolerance_never_rounds_to_all_or_none():
    off = np.concatenate((np.full(99_999, 10.41), [9.03]))
    joined = " ".join(words(chart_svg(thresholds(off, np.full(7, np.nan)))))
    assert "99.9 % within" in joined
    assert "Never comes back." in joined
    assert "all within" in " ".join(words(chart_svg(thresholds(off[:9], ON))))
    assert "none within" in " ".join(words(chart_svg(thresholds(off[-1:], ON))))


# What cannot be drawn is refused with what was got.

TIME = np.arange(5.0)
FINE = (TIME, TIME + 10.0, TIME / 8.0, TIME > 2.0)


@pytest.mark.parametrize(
    ("place", "value", "says"),
    [
        (0, [0.0, 1.0, 0.5, 2.0, 3.0], "time: got 0 to 3 s, must rise"),
        (0, [2.0] * 5, "time: got 2 to 2 s, must rise"),
        (0, [[0.0, 1.0]], r"time: got shape \(1, 2\)"),
        (0, [], r"time: got shape \(0,\)"),
        (1, [12.0, 11.0], "battery volts: got 2 points, must be 5"),
        (1, [12.0, np.nan, 11.0, 10.0, 9.0], "battery volts: got nan V at point 1"),
        (2, [1.0, 2.0, 3.0, 4.0, np.inf], "load current: got inf A at point 4"),
        (2, ["much"] * 5, "load current: got something else than numbers"),
        (3, [1.0, 0.0, 0.5, 1.0, 1.0], "contact: got 0.5, must be 0"),
    ],
)
def test_discharge_refuses(place, value, says):
    given = list(FINE)
    given[place] = value
    with pytest.raises(ValueError, match=says):
        discharge_chart(*given, off_volts=10.4, on_volts=11.2)


def test_thresholds_and_widths_are_checked():
    with pytest.raises(ValueError, match="off volts: got nan V, must be finite"):
        discharge_chart(*FINE, off_volts=np.nan, on_volts=None)
    with pytest.raises(ValueError, match="width: got 200 px, must be 420 to 4000 px"):
        discharge_chart(*FINE, off_volts=10.4, on_volts=None, width=200)
    with pytest.raises(ValueError, match=r"volts down: got 9\.5 to 13 V, must fall"):
        sweep_chart(UP, UP > 10.4, UP, UP > 11.2, off_volts=10.4, on_volts=11.2)
    with pytest.raises(ValueError, match="state up: got 3 points, must be 701"):
        sweep_chart(DOWN, DOWN > 10.4, UP, [1, 0, 1], off_volts=10.4, on_volts=11.2)
    with pytest.raises(ValueError, match=r"off samples: got shape \(0,\)"):
        thresholds([], None)
    with pytest.raises(ValueError, match="on samples: got an infinite value"):
        thresholds(OFF, [np.inf])
    with pytest.raises(ValueError, match=r"off limits: got 10\.7 to 10\.2 V, must rise"):
        thresholds(OFF, ON, off_limits=(10.7, 10.2))
    with pytest.raises(ValueError, match="floor: got inf V"):
        thresholds(OFF, ON, floor=np.inf)


# Room for labels.


def test_thinning_keeps_ends_peaks_and_order():
    place = np.sort(RNG.random(20_000))
    value = RNG.normal(size=place.size)
    kept = extremes_kept(place, value, 150)
    assert kept.size <= 600
    assert (np.diff(kept) > 0).all()
    assert {0, place.size - 1, int(value.argmin()), int(value.argmax())} <= {*kept.tolist()}
    slot = np.minimum((150 * (place - place[0]) / np.ptp(place)).astype(int), 149)
    for number in range(150):
        inside, drawn = value[slot == number], value[kept[slot[kept] == number]]
        assert (drawn.min(), drawn.max()) == (inside.min(), inside.max())


def test_few_points_all_stay():
    assert extremes_kept(np.arange(9.0), np.zeros(9), 3).tolist() == list(range(9))


@pytest.mark.parametrize("count", [1, 2, 5, 11])
def test_spread_labels_keep_gap_order_and_room(count):
    wanted = RNG.uniform(-20.0, 220.0, count).tolist()
    places = spread_apart(wanted, 17.0, 0.0, 200.0)
    assert min(places) >= 0.0
    assert max(places) <= 200.0
    assert np.argsort(places).tolist() == np.argsort(wanted).tolist()
    assert all(gap >= 17.0 - 1e-9 for gap in np.diff(np.sort(places)))


def test_labels_with_room_stay_where_they_are():
    assert spread_apart([90.0, 30.0], 17.0, 0.0, 200.0) == [90.0, 30.0]


def test_flags_cross_no_rule():
    for _ in range(40):
        poles, widths = RNG.uniform(0.0, 400.0, 6), RNG.uniform(30.0, 150.0, 6)
        rows = flag_rows(poles.tolist(), widths.tolist())
        for one, other in itertools.permutations(range(6), 2):
            under = poles[one] < poles[other] < poles[one] + widths[one] + 10.0
            # The rule under a flag ends at a lower row.
            assert not under or rows[other] < rows[one]


def test_wrapped_lines_fit_and_lose_no_word():
    text = "From 6.9 h on the contact chatters: it opens 91 times in 1 h, about every 40 s."
    lines = wrapped(text, 180.0, 12)
    assert " ".join(lines) == text
    assert all(text_width(line, 12) <= 180.0 for line in lines)
    assert len(lines) > 2
    assert wrapped("immovable", 5.0, 12) == ["immovable"]
    assert wrapped("", 100.0, 12) == [""]
