"""``boomwright design split`` as a person asks for it: page, data, files, build file, refusals."""

from __future__ import annotations

import csv
import json
import shutil
from xml.etree import ElementTree

import numpy as np
import pytest
from tests.circuit.ngspice import Job, run_ngspice
from tests.cli.test_design_blocks import ROOT, boomwright, data, figure

from boomwright.build.read import read_build

WOOFER, TWEETER = "woofer-6in5-8ohm", "tweeter-dome-25mm-8ohm"
PAIR = ("split", "--woofer", WOOFER, "--tweeter", TWEETER)
FIRST, CHOIR = "examples/first-attempt.toml", "examples/choir-rehearsal.toml"

ASKED = {
    "pair": PAIR,
    "pair, third order": (*PAIR, "--order", "3", "--at", "2.6 kHz", "--box", "18 L"),
    "pair, bessel": (*PAIR, "--kind", "bessel", "--order", "4", "--values", "E24"),
    "woofer alone": ("split", "--woofer", WOOFER, "--at", "900 Hz", "--wire", "1 mm"),
    "one capacitor": ("split", "--tweeter", TWEETER, "--order", "1"),
    "build": ("split", FIRST),
    "build, wired as one": ("split", CHOIR, "--order", "4"),
}


@pytest.mark.parametrize("words", ASKED.values(), ids=ASKED.keys())
def test_page_fits_and_holds_its_sections(words):
    done = boomwright(*words)
    assert (done.returncode, done.stderr) == (0, "")
    lines = done.stdout.splitlines()
    assert max(map(len, lines)) <= 80
    for section in ("What it does", "To mind", "Parts", "Cautions", "On the bench, in this order"):
        assert section in lines
    assert "nan" not in done.stdout.lower().split()


def test_files_are_whole_and_run(tmp_path):
    jobs, wanted = [], []
    for name, words in ASKED.items():
        folder = tmp_path / name
        values = data(*words, "-o", folder)
        assert values == json.loads((folder / "design.json").read_text())
        drawings = sorted(folder.glob("schematic*.svg"))
        assert len(drawings) == (2 if name == "build" else 1)
        said = " ".join(" ".join(ElementTree.parse(one).getroot().itertext()) for one in drawings)
        rows = list(csv.DictReader((folder / "parts.csv").read_text().splitlines()))
        assert all(row["designator"] in said for row in rows)
        for chart in ("response.svg", "impedance.svg"):
            assert ElementTree.parse(folder / chart).getroot().tag.endswith("svg")
        curves = list(csv.DictReader((folder / "response.csv").read_text().splitlines()))
        assert len(curves) > 300
        jobs.append(Job((folder / "circuit.cir").read_text(), ("op",)))
        jobs.append(Job((folder / "drivers.cir").read_text(), ("ac dec 40 20 20k",)))
        wanted.append(curves)
    results = run_ngspice(jobs)
    for name, curves, (rest,), (swept,) in zip(
        ASKED, wanted, results[::2], results[1::2], strict=True
    ):
        assert rest is not None, name
        assert swept is not None, name
        if name == "build":
            continue  # its drivers hang on two channels, which the netlist has as one
        ohms = 1.0 / np.abs(swept["i(v1)"])
        hertz = np.array([float(row["hertz"]) for row in curves])
        told = np.interp(swept["frequency"].real, hertz, [float(row["ohms"]) for row in curves])
        assert np.abs(ohms / told - 1.0).max() < 0.01, name


def test_filters_go_into_the_build_and_come_out_again(tmp_path):
    file = tmp_path / "first.toml"
    shutil.copy(ROOT / FIRST, file)
    before = file.read_text()
    values = data("split", file, "--put")
    build = read_build(file)
    by_name = {driver.name: driver for driver in build.driver}
    bass, treble = by_name["bass"], by_name["treble"]
    assert [str(step) for step in bass.filter] == values["filter"]["woofer"]
    assert [str(step) for step in treble.filter] == values["filter"]["tweeter"]
    assert (bass.reversed, treble.reversed) == (
        values["reversed"]["woofer"], values["reversed"]["tweeter"],
    )  # fmt: skip
    # The capacitor that it had is gone, everything else stands.
    assert treble.capacitor is None
    assert "capacitor" not in file.read_text().split('part = "tweeter-dome-25mm-4ohm"')[1][:200]
    kept = [line for line in before.splitlines() if "capacitor" not in line]
    after = file.read_text().splitlines()
    assert all(line in after for line in kept)
    # Asked again, the design is the same: it starts from the drivers, not from their filter.
    assert data("split", file)["filter"] == values["filter"]


def test_put_needs_a_file():
    done = boomwright(*PAIR, "--put")
    assert done.returncode == 2
    assert "--put: no build file to write the filters into" in done.stderr


def test_one_channel_band_is_told_with_the_way_out():
    done = boomwright("split", FIRST)
    assert "bass hears only the left" in " ".join(done.stdout.split())
    assert "boomwright design sum" in " ".join(done.stdout.split())
    assert "hears only" not in boomwright("split", CHOIR).stdout


def test_drivers_on_two_outputs_share_no_lead(tmp_path):
    """Bridge outputs joined by a common lead burn: each filter has a drawing of its own."""
    values = data("split", FIRST, "-o", tmp_path)
    one, other = (
        ElementTree.parse(tmp_path / name).getroot()
        for name in ("schematic.svg", "schematic-2.svg")
    )
    drawn = [{part.get("data-part") for part in root.iter() if part.get("data-part")}
             for root in (one, other)]  # fmt: skip
    assert drawn[0] & drawn[1] == {"V1"}
    assert ("LS1" in drawn[0], "LS2" in drawn[1]) == (True, True)
    says = [remark["do"] for remark in values["design"]["remarks"]]
    assert any("never join their common leads" in text for text in says)


def test_options_reach_the_design():
    plain = data(*PAIR, "--at", "2.6 kHz")
    assert plain["wish"]["frequency"] == 2600.0
    assert figure(plain, "bands meet at")["likely"] == 2600.0
    louder = data(*PAIR, "--at", "2.6 kHz", "--supply", "24 V")
    assert louder["wish"]["peak"] > 1.9 * plain["wish"]["peak"]
    small = data(*PAIR, "--at", "2.6 kHz", "--amplifier", "class-ab-single-ended-2x5")
    assert small["wish"]["peak"] < 0.7 * plain["wish"]["peak"]
    back = data(*PAIR, "--at", "2.6 kHz", "--offset", "66 mm")
    assert back["reversed"] != plain["reversed"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("split",), "neither a build file nor a driver was given"),
        (
            ("split", "--woofer", "woofer-6in5-8om"),
            "no such driver in the drawer: 'woofer-6in5-8om'. Did you mean 'woofer-6in5-8ohm'?",
        ),
        ((*PAIR, "--at", "3 mm"), "--at: 'mm' is a unit of length, not of frequency"),
        ((*PAIR, "--at", "3 Hz"), "--at: a frequency that coils and capacitors cannot split at"),
        ((*PAIR, "--order", "5"), "--order: a butterworth filter of this order; read 5"),
        ((*PAIR, "--kind", "besel"), "--kind: not known here; read 'besel'"),
        ((*PAIR, "--values", "E13"), "--values: not known here; read 'E13'"),
        ((*PAIR, "--wire", "9 mm"), "--wire: a wire that cannot be right here"),
        ((*PAIR, "--amplifier", "class-z"), "--amplifier: no such amplifier in the drawer"),
        (("split", FIRST, "--tweeter", "trebel"), "--tweeter: no driver of that name: 'trebel'"),
        (("split", FIRST, "--box", "9 L"), "--box: both a build file and a box were given"),
        (("split", "examples/market-stall.toml"), "no woofer and no tweeter to split the band"),
    ],
)
def test_what_cannot_be_is_refused(words, says):
    done = boomwright(*words)
    assert (done.returncode, done.stdout) == (2, "")
    assert says in " ".join(done.stderr.split())


def test_everything_wrong_is_told_at_once():
    done = boomwright(*PAIR, "--at", "soon", "--wire", "thick", "--offset", "back")
    assert done.returncode == 2
    assert all(option in done.stderr for option in ("--at", "--wire", "--offset"))
