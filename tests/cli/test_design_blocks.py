"""The blocks of ``boomwright design`` as a person asks for them: pages, data, files, refusals."""

import csv
import json
import sys
from contextlib import chdir, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from xml.etree import ElementTree

import pytest
from tests.circuit.ngspice import Job, run_ngspice

from boomwright.build.read import read_build
from boomwright.cli import main
from boomwright.outcome.run import run_build

ROOT = Path(__file__).resolve().parent.parent.parent
MARKET, ROWING = "examples/market-stall.toml", "examples/rowing-launch.toml"
ALLOTMENT, FIRST = "examples/allotment-day.toml", "examples/first-attempt.toml"
BATTERY = "12 V 7 Ah AGM"

ASKED = {
    "regulator": ("regulator", "--battery", BATTERY, "--load", "90 mA"),
    "regulator by volts": ("regulator", "--lowest", "9.9 V", "--highest", "13.1 V"),
    "polarity": ("polarity", "--battery", BATTERY, "--fuse", "4 A", "--load", "0.8 A"),
    "polarity of a kind": ("polarity", "--battery", BATTERY, "--kind", "series-silicon"),
    "mute-low": ("mute", "--battery", BATTERY, "--delay", "1.1 s"),
    "mute-high": ("mute", "--supply", "12 V", "--kind", "mute-high"),
    "mute by relay": ("mute", "--battery", BATTERY, "--kind", "relay", "--delay", "0.8 s"),
    "sum": ("sum",),
    "pad": ("pad", "--level", "1 V", "--gain", "26 dB", "--supply", "12 V"),
    "pad by clipping": ("pad", "--level", "1 V", "--gain", "26 dB", "--clip", "410 mV"),
    "ladder": ("ladder", "--battery", BATTERY, "--load", "0.5 A", "--marks", "80 %, 40 % 15 %"),
    "usb joined": ("usb", "--kind", "joined", "--current", "1.5 A"),
    "usb divider": ("usb", "--kind", "divider", "--current", "2.1 A", "--rail-current", "3 A"),
    "usb type-c": ("usb", "--kind", "type-c", "--current", "0.5 A"),
    "regulator of a build": ("regulator", ROWING),
    "regulator instead": ("regulator", MARKET),
    "polarity of a build": ("polarity", ALLOTMENT),
    "polarity without a fuse": ("polarity", FIRST),
    "mute of a build": ("mute", ROWING),
    "mute behind a rail": ("mute", ALLOTMENT),
    "sum of a build": ("sum", ALLOTMENT),
    "pad of a build": ("pad", MARKET),
    "ladder of a build": ("ladder", MARKET),
    "usb of a build": ("usb", ROWING, "--kind", "type-c"),
}


@dataclass(frozen=True)
class Done:
    """What a command left behind."""

    returncode: int
    stdout: str
    stderr: str


def boomwright(*words, cwd=ROOT):
    """The command in this process, as the shell would run it."""
    out, err, code = StringIO(), StringIO(), 0
    before = sys.argv
    sys.argv = ["boomwright", "design", *map(str, words)]
    try:
        with chdir(cwd), redirect_stdout(out), redirect_stderr(err):
            main()
    except SystemExit as left:
        code = int(left.code or 0)
    finally:
        sys.argv = before
    return Done(code, out.getvalue(), err.getvalue())


def data(*words):
    done = boomwright(*words, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    return json.loads(done.stdout)


def figure(values, label):
    return next(item for item in values["design"]["figures"] if item["label"] == label)


def table(file):
    return list(csv.DictReader(file.read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("words", ASKED.values(), ids=ASKED.keys())
def test_page_fits_and_holds_its_sections(words):
    done = boomwright(*words)
    assert (done.returncode, done.stderr) == (0, "")
    lines = done.stdout.splitlines()
    assert max(map(len, lines)) <= 80
    sections = ["What it does", "To mind", "Parts", "Cautions", "On the bench, in this order"]
    places = [lines.index(section) for section in sections if section in lines]
    assert len(places) == len(sections)
    assert places == sorted(places)
    assert "nan" not in done.stdout.lower().split()


def test_files_of_every_block_are_whole(tmp_path):
    curves = {
        "regulator": "burst.csv",
        "polarity": "kinds.csv",
        "mute": "switching.csv",
        "summing": "response.csv",
        "ladder": "scale.csv",
    }
    jobs = []
    for name, words in ASKED.items():
        folder = tmp_path / name
        done = boomwright(*words, "--to", str(folder), "--json")
        assert (done.returncode, done.stderr) == (0, ""), name
        values = json.loads(done.stdout)
        assert values == json.loads((folder / "design.json").read_text())
        assert values["wish"]
        drawing = ElementTree.parse(folder / "schematic.svg").getroot()
        said = " ".join(drawing.itertext())
        rows = table(folder / "parts.csv")
        assert len(rows) == len(values["design"]["parts"]) >= 2
        assert all(row["designator"] in said for row in rows if row["designator"][0] in "RCQ")
        bench = table(folder / "bench.csv")
        assert [float(row["likely"]) for row in bench] == [
            item["expect"]["likely"] for item in values["design"]["readings"]
        ]
        if values["design"]["block"] in curves:
            text = (folder / curves[values["design"]["block"]]).read_text()
            assert len(list(csv.reader(text.splitlines()))) >= 2
        jobs.append(Job((folder / "circuit.cir").read_text(), ("op",)))
    for name, result in zip(ASKED, run_ngspice(jobs), strict=True):
        assert result[0] is not None, f"{name} does not run in ngspice"


def test_burst_curve_dips_as_its_figure_says(tmp_path):
    done = boomwright(*ASKED["regulator"], "-o", str(tmp_path), "--json")
    values = json.loads(done.stdout)
    rows = table(tmp_path / "burst.csv")
    volts = [float(row["volts"]) for row in rows]
    dip = figure(values, "dip in a burst")["likely"]
    assert volts[0] - min(volts) == pytest.approx(dip, rel=0.05)


def test_pad_curve_loses_what_its_figure_says(tmp_path):
    done = boomwright(*ASKED["pad"], "-o", str(tmp_path), "--json")
    loss = figure(json.loads(done.stdout), "loss")["likely"]
    rows = table(tmp_path / "response.csv")
    near = min(rows, key=lambda row: abs(float(row["hertz"]) - 400.0))
    assert float(near["decibels"]) == pytest.approx(-loss, rel=1e-3)


def test_mute_curve_holds_the_pin_low_for_its_delay(tmp_path):
    done = boomwright(*ASKED["mute-low"], "-o", str(tmp_path), "--json")
    delay = figure(json.loads(done.stdout), "sound comes after")["likely"]
    rows = table(tmp_path / "switching.csv")
    on = [float(row["seconds"]) for row in rows if float(row["pin volts"]) > 2.5]
    settled = [moment for moment in on if moment > 0.2]
    assert settled[0] == pytest.approx(delay, rel=0.05)


def test_regulator_takes_what_the_build_gives():
    values = data("regulator", ROWING)
    wish = values["wish"]
    # The launch's receiver takes 40 mA and 85 mA in bursts; its pack is 4 cells to 14.6 V.
    assert wish["load"] == pytest.approx(0.04)
    assert wish["burst"] == pytest.approx(0.045)
    assert wish["battery_high"] == pytest.approx(14.6)
    assert wish["battery_low"] == pytest.approx(12.0)
    assert 273.15 + 25.0 < wish["air"] < 273.15 + 45.0  # K, its hottest day and some
    asked = data("regulator", ROWING, "--load", "70 mA", "--air", "45 °C")["wish"]
    assert asked["load"] == pytest.approx(0.07)
    assert asked["air"] == pytest.approx(318.15)
    assert asked["burst"] == wish["burst"]


def test_regulator_stands_in_for_a_converter():
    done = boomwright("regulator", MARKET)
    assert "In place of '5 V', which is a buck" in done.stdout
    rail = boomwright("regulator", ALLOTMENT, "--rail", "15 V")
    assert rail.returncode == 2
    assert "--output" in rail.stderr
    assert "15 V" in rail.stderr


def test_regulator_of_too_great_a_load_tells_what_would_do():
    done = boomwright("regulator", FIRST)
    assert done.returncode == 2
    assert f"{FIRST}: --load" in done.stderr
    assert "1.08 A" in done.stderr
    assert 'Without a phone on it: --load "40 mA"' in done.stderr
    assert boomwright("regulator", FIRST, "--load", "40 mA").returncode == 0


def test_polarity_chooses_the_least_loss_without_stop():
    values = data(*ASKED["polarity"])
    kinds = {item["kind"]: item for item in values["kinds"]}
    assert set(kinds) == {"shunt-diode", "series-schottky", "series-silicon", "p-mosfet"}
    lost = {kind: item["volts lost at the peak"] for kind, item in kinds.items()}
    assert lost["shunt-diode"] == 0.0 < lost["p-mosfet"] < lost["series-schottky"]
    assert lost["series-schottky"] < lost["series-silicon"]
    # Both lose next to nothing; the transistor keeps a reversed battery off the load as well.
    assert values["design"]["family"] == "p-mosfet"
    done = boomwright(*ASKED["polarity"])
    assert "Kinds side by side" in done.stdout
    assert "p-mosfet: P-channel transistor" in done.stdout
    assert "Kinds side by side" not in boomwright(*ASKED["polarity of a kind"]).stdout


def test_polarity_shows_a_kind_that_cannot_beside_those_that_can():
    words = ("polarity", "--battery", BATTERY, "--fuse", "40 A", "--load", "2 A")
    done = boomwright(*words)
    assert done.returncode == 0
    assert "shunt-diode cannot" in done.stdout
    assert "--fuse" in done.stdout
    alone = boomwright(*words, "--kind", "shunt-diode")
    assert alone.returncode == 2
    assert "--fuse" in alone.stderr


def test_mute_of_an_amplifier_behind_a_rail_is_made_for_the_rail():
    values = data("mute", ALLOTMENT)
    assert values["wish"]["supply"] == pytest.approx(15.0)
    assert values["wish"]["supply_low"] == pytest.approx(14.55)
    assert values["wish"]["rail_capacitor"] == pytest.approx(1e-3)
    assert values["wish"]["idle"] == pytest.approx(0.7 / 15.0)


def test_mute_of_an_old_capacitor_spreads_further():
    usual = data("mute", "--supply", "12 V")
    old = data("mute", "--supply", "12 V", "--capacitor-tolerance", "-20 to 50 %")
    late = "sound comes after"
    assert figure(old, late)["high"] > 1.15 * figure(usual, late)["high"]
    assert figure(old, late)["low"] == pytest.approx(figure(usual, late)["low"], rel=0.02)


def test_sum_without_capacitor_has_none():
    with_one, without = data("sum"), data("sum", "--no-capacitor", "--channels", "1")
    names = [[part["name"] for part in values["design"]["parts"]] for values in (with_one, without)]
    assert names == [["R1", "R2", "C1"], ["R1", "R2"]]


def test_pad_of_a_build_takes_the_place_of_the_one_it_has():
    values = data("pad", MARKET)
    # 26 dB of gain and a receiver of 0.7 V; the file's own 6 dB pad must not count twice.
    assert values["wish"]["level"] == pytest.approx(0.7)
    assert values["wish"]["gain_db"] == pytest.approx(26.0)
    assert 4.5 < figure(values, "wanted loss")["likely"] < 7.0  # dB, its own is 6
    assert "In place of the 6.0 dB pad" in " ".join(boomwright("pad", MARKET).stdout.split())


def test_pad_follows_another_gain_of_the_same_board():
    usual, louder = data("pad", MARKET), data("pad", MARKET, "--gain", "32 dB")
    more = figure(louder, "wanted loss")["likely"] - figure(usual, "wanted loss")["likely"]
    assert more == pytest.approx(6.0, rel=1e-6)


def test_ladder_scale_falls_with_its_marks():
    values = data(*ASKED["ladder"])
    scale = values["scale"]
    assert [mark["mark"] for mark in scale] == ["80 %", "40 %", "15 %"]
    for column in ("resting", "playing", "time_left"):
        found = [mark[column] for mark in scale]
        assert found == sorted(found, reverse=True)
    for mark in scale:
        assert mark["playing"] < mark["resting"]
    page = boomwright(*ASKED["ladder"]).stdout
    assert "Marks for a voltmeter" in page
    assert f"{scale[0]['playing']:.2f}".rstrip("0") in page


def test_ladder_of_a_build_counts_its_own_run_down():
    values = data("ladder", MARKET)
    whole = run_build(read_build(ROOT / MARKET), versions=0).wanted.duration.likely
    assert 0.6 * whole < values["scale"][0]["time_left"] < 0.85 * whole
    assert values["wish"]["cutoff"] == pytest.approx(11.9)


def test_usb_of_a_build_takes_the_greatest_current_its_rail_gives():
    values = data("usb", ROWING, "--kind", "type-c")
    assert values["wish"]["rail_current"] == pytest.approx(2.5)
    assert values["wish"]["current"] == pytest.approx(1.5)
    assert values["wish"]["wire"] == pytest.approx(0.75e-6)


WRONG = {
    "a value that is none": (("regulator", "--battery", BATTERY, "--load", "much"), ("--load",)),
    "several at once": (
        ("regulator", "--battery", BATTERY, "--load", "2 V", "--air", "hot", "--sink", "8"),
        ("--load", "--air", "--sink"),
    ),
    "no battery": (("regulator",), ("--battery", "--lowest")),
    "half of the volts": (("regulator", "--lowest", "10 V"), ("--highest",)),
    "two batteries": (("regulator", MARKET, "--battery", BATTERY), ("--battery",)),
    "a battery that is none": (("mute", "--battery", "12 V AGM"), ("--battery", "amp-hours")),
    "a battery beyond measure": (("ladder", "--battery", "2S 1000 Ah flooded"), ("--battery",)),
    "a rail without a file": (("regulator", "--battery", BATTERY, "--rail", "5 V"), ("--rail",)),
    "a rail that is not there": (("regulator", MARKET, "--rail", "6 V"), ("--rail", "5 V")),
    "a regulator that is not there": (
        ("regulator", "--battery", BATTERY, "--part", "79L24"),
        ("--part", "79L24"),
    ),
    "an output nobody makes": (
        ("regulator", "--battery", BATTERY, "--output", "7.3 V"),
        ("--output", "7.3 V", "nearest"),
    ),
    "a kind that is near": (("mute", "--supply", "12 V", "--kind", "mute-lo"), ("mute-low",)),
    "a delay too long": (
        ("mute", "--supply", "12 V", "--delay", "30 s"),
        ("--delay", "30 s", "10 s"),
    ),
    "a mean above the peak": (
        ("polarity", "--battery", BATTERY, "--load", "3 A", "--peak", "2 A"),
        ("--peak", "2 A"),
    ),
    "a part of no kind": (("polarity", "--battery", BATTERY, "--part", "1N5819"), ("--part",)),
    "a fuse of no type": (
        ("polarity", "--battery", BATTERY, "--fuse-type", "bread"),
        ("--fuse-type", "glass-slow"),
    ),
    "no pair of resistors": (
        ("sum", "--input", "2 kΩ", "--channels", "4"),
        ("--input", "nearest"),
    ),
    "channels beyond count": (("sum", "--channels", "0"), ("--channels",)),
    "nothing to take away": (
        ("pad", "--level", "0.1 V", "--gain", "20 dB", "--supply", "12 V"),
        ("--level", "100 mV"),
    ),
    "half of a pad": (("pad", "--level", "1 V"), ("--gain", "--supply or --clip")),
    "clipping said twice": (
        ("pad", "--level", "1 V", "--gain", "26 dB", "--supply", "12 V", "--clip", "0.4 V"),
        ("--clip", "--supply"),
    ),
    "marks beyond full": (
        ("ladder", "--battery", BATTERY, "--marks", "120 % 50 %"),
        ("--marks", "nearest"),
    ),
    "marks without unit": (("ladder", "--battery", BATTERY, "--marks", "50"), ("--marks", "50")),
    "a load too heavy": (
        ("ladder", "--battery", BATTERY, "--load", "900 A"),
        ("--load", "900 A"),
    ),
    "a current it cannot tell": (
        ("usb", "--kind", "joined", "--current", "3 A"),
        ("--current", "3 A", "type-c"),
    ),
    "no port in the build": (("usb", MARKET), (MARKET, "USB")),
    "no file": (("ground", "examples/nowhere.toml"), ("nowhere.toml",)),
}


@pytest.mark.parametrize(("words", "named"), WRONG.values(), ids=WRONG.keys())
def test_refusal_names_what_is_wrong(words, named):
    done = boomwright(*words)
    assert done.returncode == 2, done.stdout
    assert done.stdout == ""
    for word in named:
        assert word in done.stderr
    assert "Traceback" not in done.stderr


def test_build_on_a_supply_has_no_charge_to_show(tmp_path):
    text = (ROOT / MARKET).read_text()
    battery = text[text.index("[battery]") : text.index("[fuse]")]
    supply = '[supply]\nvoltage = "12 V"\ncurrent_limit = "5 A"\n\n'
    text = text.replace(battery, supply)
    cutoff = text[text.index("[cutoff]") : text.index("[rail]")]
    (tmp_path / "mains.toml").write_text(text.replace(cutoff, ""))
    done = boomwright("ladder", "mains.toml", cwd=tmp_path)
    assert done.returncode == 2
    assert "runs on a supply" in done.stderr
    for words in (("regulator",), ("polarity",), ("mute",), ("pad",)):
        other = boomwright(words[0], "mains.toml", cwd=tmp_path)
        assert (other.returncode, other.stderr) == (0, ""), words


def test_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "there").write_text("")
    done = boomwright("sum", "-o", str(tmp_path / "there"))
    assert done.returncode == 2
    assert "there" in done.stderr


def test_own_parts_are_laid_over_the_drawer(tmp_path):
    done = boomwright("regulator", "--battery", BATTERY, "--parts", "nowhere.toml")
    assert done.returncode == 2
    assert "nowhere.toml" in done.stderr


def test_design_alone_lists_its_blocks_in_one_line_each():
    done = boomwright("--help")
    for block in (
        "cutoff", "regulator", "polarity", "mute", "sum", "pad", "ladder", "usb", "ground"
    ):  # fmt: skip
        line = next(line for line in done.stdout.splitlines() if line.split()[:1] == [block])
        assert len(line.split()) > 4
        assert not line.endswith("...")
