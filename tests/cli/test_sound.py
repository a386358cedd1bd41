"""``boomwright sound`` as a person meets it: page, data, charts, and what it refuses."""

import csv
import json
import re
from functools import cache
from xml.etree import ElementTree

import numpy as np
import pytest
from tests.build.drawer_parts import ROOT
from tests.cli.test_commands import EXAMPLES, boomwright
from tests.outcome.builds import build_of
from tests.outcome.test_sound import text_of

from boomwright.build.read import read_build
from boomwright.cli.sound.files import CHARTS, output_problems, sound_chart
from boomwright.cli.sound.heard import Heard, heard_of
from boomwright.cli.sound.show import print_sound, sound_values
from boomwright.errors import InputError
from boomwright.outcome.run import run_build
from boomwright.outcome.sound import STATES
from boomwright.paper.charts import chart_svg
from boomwright.physics.limits import LIMITS

CHOIR = ROOT / "examples" / "choir-rehearsal.toml"
FIRST = ROOT / "examples" / "first-attempt.toml"


@cache
def heard(name: str, driver: str = "") -> Heard:
    build = read_build(ROOT / "examples" / f"{name}.toml")
    return heard_of(build, run_build(build, versions=4), driver=driver)


def page(capsys, of: Heard) -> str:
    print_sound(of, file="build.toml", written=[])
    return capsys.readouterr().out


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_page_of_an_example(file, capsys):
    text = page(capsys, heard(file.stem))
    assert max(map(len, text.splitlines())) <= 80
    assert "nan" not in text
    assert "Caution: hearing that is lost" in text
    for voice in heard(file.stem).sound.voices():
        assert voice[1].name in text
    for heading in ("Drivers", "Loudest clean sine", "Loudness over the discharge", "ears take"):
        assert heading in text


def test_command_prints_the_page():
    done = boomwright("sound", CHOIR)
    assert (done.returncode, done.stderr) == (0, "")
    words = " ".join(done.stdout.split())
    for said in (
        "vented, 20.9 L net, tuned to 48 Hz",
        "f3 43 Hz",
        "least impedance 5.2 Ω",
        "made for 4 Ω or more",
        "listeners, 6 m",
        "builder, 1 m",
    ):
        assert said in words
    rows = {line.split()[0]: line.split() for line in done.stdout.splitlines() if " Hz " in line}
    # Below its tuning the cone has nothing to push against; above, the battery's volts are the end.
    assert rows["20"][5] == "travel"
    assert rows["100"][5] == "volts"


def test_shared_air_is_told_what_a_chamber_gives():
    text = " ".join(boomwright("sound", FIRST).stdout.split())
    assert "battery and boards take 1.31 L of its air" in text
    assert "4.53 L net instead of 3.22 L" in text
    assert "19 dB short" in text
    assert "next to nothing" in text
    assert "battery and boards" not in boomwright("sound", CHOIR).stdout


def test_data_is_the_page(capsys):
    values = json.loads(boomwright("sound", CHOIR, "--json").stdout)
    of = heard("choir-rehearsal")
    curves = values["curves"]
    assert np.array(curves["level"]) == pytest.approx(of.sound.level)
    assert list(curves["clean"]) == list(curves["limit"]) == list(STATES)
    assert set(curves["limit"]["full"]) <= set(LIMITS)
    for row in values["table"]:
        place = int(np.argmin(np.abs(np.log(np.array(curves["hertz"]) / row["hertz"]))))
        for state in STATES:
            assert row["clean"][state]["level"] == curves["clean"][state][place]
            assert row["clean"][state]["limit"] == curves["limit"][state][place]
        assert f"{row['clean']['full']['level']:.0f}" in page(capsys, of)
    (output,) = values["outputs"]
    assert output["least_impedance"] == pytest.approx(of.sound.outputs[0].least)
    assert [driver["name"] for driver in values["drivers"]] == ["woofer", "tweeter"]
    assert values["drivers"][0]["box"]["fb"] == pytest.approx(of.boxes[0].fb)
    assert values["drivers"][1]["box"] is None
    moments = values["discharge"]
    assert moments[0]["seconds"] == 0.0
    assert moments[-1]["volts"] < moments[0]["volts"]
    assert values["dose"]["builder"]["level"] > values["dose"]["listeners"]["level"]


def test_one_driver_alone(capsys):
    woofer, tweeter = heard("choir-rehearsal", "woofer"), heard("choir-rehearsal", "tweeter")
    assert woofer.shown.level[20] > tweeter.shown.level[20] + 60.0
    text = page(capsys, tweeter)
    assert "woofer" not in text
    assert "20 Hz " not in text
    assert "8 kHz" in text
    values = sound_values(woofer)
    assert values["driver"] == "woofer"
    assert [driver["name"] for driver in values["drivers"]] == ["woofer"]


def test_unknown_driver_is_refused_by_name():
    done = boomwright("sound", CHOIR, "--driver", "wofer")
    assert done.returncode == 2
    assert "'wofer'" in done.stderr
    assert "'woofer'" in done.stderr
    with pytest.raises(InputError, match="'bass'"):
        heard("choir-rehearsal", "bass")


def test_unknown_driver_of_the_drawer_says_what_it_does_not_know(capsys):
    build = build_of(text_of('[driver]\nname = "odd"\nimpedance = "6 Ω"\n'))
    text = page(capsys, heard_of(build, run_build(build, versions=0)))
    words = " ".join(text.split())
    assert "motor and spring unknown" in words
    assert "Travel of odd is not known." in words


def test_supply_has_no_end(capsys):
    text = text_of()
    head, _, tail = text.partition("[battery]")
    _, _, rest = tail.partition("[amplifier]")
    build = build_of(
        f'{head}[supply]\nvoltage = "19 V"\ncurrent_limit = "4 A"\n\n[amplifier]{rest}'
    )
    of = heard_of(build, run_build(build, versions=0))
    shown = page(capsys, of)
    assert "the start" in shown
    assert "nan" not in shown
    json.dumps(sound_values(of), allow_nan=False)
    assert "Loudness" in chart_svg(sound_chart("loudness", of))


def test_page_of_charts(tmp_path):
    file = tmp_path / "choir.html"
    done = boomwright("sound", CHOIR, "-o", file)
    assert done.returncode == 0
    assert f"Written: {file}." in done.stdout.replace("\n", "")
    text = file.read_text(encoding="utf-8")
    for key, title in CHARTS.items():
        assert f'href="#{key}"' in text
        assert f'id="{key}" tabindex="0" aria-label="{title}"' in text
    assert "Caution: hearing that is lost" in text
    # Nothing is fetched from outside: the only address is the name space of SVG.
    assert set(re.findall(r"https?://[^\"' <)]+", text)) <= {
        "http://www.w3.org/2000/svg",
        "http://www.w3.org/1999/xlink",
    }


def test_folder_of_charts_and_their_data(tmp_path):
    done = boomwright("sound", CHOIR, "-o", tmp_path / "choir", "--json")
    written = json.loads(done.stdout)["written"]
    names = {f"{key}.svg" for key in CHARTS} | {"sound.csv", "loudness.csv"}
    assert {path.name for path in (tmp_path / "choir").iterdir()} == names
    assert {name.rpartition("/")[2] for name in written} == names
    for key in CHARTS:
        root = ElementTree.parse(tmp_path / "choir" / f"{key}.svg").getroot()
        assert root.tag.endswith("svg")
    rows = list(csv.DictReader((tmp_path / "choir" / "sound.csv").read_text().splitlines()))
    of = heard("choir-rehearsal")
    assert [float(row["clean, full"]) for row in rows] == pytest.approx(of.sound.clean[0], abs=1e-3)
    assert {row["limit, full"] for row in rows} <= set(LIMITS)


@pytest.mark.parametrize(("name", "ending"), [("loud.svg", ".svg"), ("loud.htm", ".htm")])
def test_name_of_an_unknown_kind_is_refused(name, ending, tmp_path):
    done = boomwright("sound", CHOIR, "-o", tmp_path / name)
    assert done.returncode == 2
    assert f"'{ending}'" in done.stderr
    assert list(tmp_path.iterdir()) == []
    assert output_problems(tmp_path / "loud.HTML") == []


@pytest.mark.parametrize("width", [420, 760])
@pytest.mark.parametrize("key", CHARTS)
def test_charts_say_what_they_show(key, width):
    svg = chart_svg(sound_chart(key, heard("first-attempt"), width=width))
    said = " ".join(ElementTree.fromstring(svg).itertext())
    wanted = {
        "limits": ("volts", "nearly", "full", "frequency [Hz]"),
        "response": ("sum", "bass", "treble", "level at 4 m [dB]"),
        "impedance": ("impedance [Ω]", "amplifier is made for 4 Ω or more", "output 2"),
        "travel": ("Travel of the cone",),
        "time": ("group delay [ms]", "time [ms]"),
        "loudness": ("asked for 96 dB(A)", "dose so far [%]", "all of it"),
    }[key]
    for words in wanted:
        assert words in said
    assert float(re.search(r'width="([\d.]+)"', svg)[1]) <= width


def test_travel_is_drawn_up_to_its_limit():
    svg = chart_svg(sound_chart("travel", heard("choir-rehearsal")))
    said = " ".join(ElementTree.fromstring(svg).itertext())
    for words in ("travel of woofer [mm]", "xmax 4.5 mm", "air in the vent [m/s]", "17 m/s"):
        assert words in said
    assert said.count("air in the vent") == 2  # its axis and the heading; the tweeter has none


def test_impedance_of_outputs_that_are_alike_is_drawn_once():
    of = heard("market-stall")
    assert len(of.sound.outputs) == 2
    said = " ".join(ElementTree.fromstring(chart_svg(sound_chart("impedance", of))).itertext())
    assert "output 1" in said
    assert "output 2" not in said
