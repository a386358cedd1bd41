"""``boomwright design cutoff`` as a person meets it: words, data, files, put and undone."""

import csv
import io
import json
import re
import sys
import tomllib
from functools import partial
from pathlib import Path
from xml.etree import ElementTree

import pytest
from tests.circuit.ngspice import run_batch
from tests.design.cutoffs import FAMILIES, design_of

from boomwright.build.circuits import CutoffCircuit
from boomwright.cli import main
from boomwright.design.cutoff.choice import compare_cutoffs
from boomwright.design.cutoff.design import design_cutoff
from boomwright.paper.schematic import Label, schematic_svg

EXAMPLES = Path(__file__).resolve().parent.parent.parent / "examples"
SEALED = ("--battery", "12 V 9 Ah AGM")
SVG = "{http://www.w3.org/2000/svg}svg"


def run(*words):
    """Exit code, what was printed, and what was complained of."""
    out, err = io.StringIO(), io.StringIO()
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("NO_COLOR", "1")
        patch.setenv("COLUMNS", "80")
        patch.setattr(sys, "argv", ["boomwright", *map(str, words)])
        patch.setattr(sys, "stdout", out)
        patch.setattr(sys, "stderr", err)
        with pytest.raises(SystemExit) as end:
            main()
    assert "Traceback" not in err.getvalue()
    return end.value.code or 0, out.getvalue(), err.getvalue()


def design(*words):
    with pytest.MonkeyPatch.context() as patch:
        if "-o" not in words:
            # What is printed does not rest on how many versions there are; what is written does.
            quick = partial(design_cutoff, versions=60)
            patch.setattr("boomwright.cli.design.cutoff.design_cutoff", quick)
        return run("design", "cutoff", *words)


def compared(*words):
    """A design of all kinds, which are compared once for each wish."""

    def known(wish, drawer, *, step):
        step("all of them")
        if (key := repr(wish)) not in _COMPARED:
            with pytest.MonkeyPatch.context() as few:
                # Words and data do not rest on how many versions there are.
                few.setattr("boomwright.design.cutoff.choice._VERSIONS", 4)
                _COMPARED[key] = compare_cutoffs(wish, drawer)
        return _COMPARED[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("boomwright.cli.design.cutoff.compare_cutoffs", known)
        return design(*words)


_COMPARED = {}


@pytest.fixture(scope="module")
def all_kinds():
    return compared(*SEALED)


@pytest.fixture(scope="module", params=["zener-relay-holding", "comparator-mosfet"])
def written(request, tmp_path_factory):
    """A folder that a kind was written to, and what was printed."""
    folder = tmp_path_factory.mktemp(request.param)
    code, out, err = design(*SEALED, "--kind", request.param, "-o", folder / "board")
    assert (code, err) == (0, "")
    return request.param, folder / "board", out


@pytest.fixture(scope="module")
def put(tmp_path_factory):
    """The example with a soldered cutoff put into it, what it was before, what was printed."""
    file = tmp_path_factory.mktemp("put") / "stall.toml"
    before = (EXAMPLES / "market-stall.toml").read_bytes()
    file.write_bytes(before)
    code, out, err = design(file, "--kind", "zener-relay-holding", "--put")
    assert (code, err) == (0, "")
    return file, before, out


# Words and data.


def test_words_fit_the_page(all_kinds):
    code, out, err = all_kinds
    assert (code, err) == (0, "")
    assert max(len(line) for line in out.splitlines()) <= 80
    for words in (
        "Kinds side by side",
        "What it does",
        "Parts",
        "On the bench, in this order",
        "Cautions",
        "To move the threshold",
        "A trimmer in place of R1",
        *FAMILIES,
    ):
        assert words in out
    assert "nan" not in out
    assert "inf " not in out


def test_data_is_complete():
    words = (*SEALED, "--kind", "comparator-relay", "--measured-off", "11.2 V", "--json")
    code, out, err = design(*words)
    values = json.loads(out, parse_constant=lambda name: pytest.fail(f"{name} is not JSON"))
    assert (code, err) == (0, "")
    assert values["wish"] == {"off": pytest.approx(11.4), "on": pytest.approx(12.6), "load": 1.0}
    assert values["design"]["family"] == values["circuit"]["family"] == "comparator-relay"
    assert set(values["design"]) == {
        *("block", "family", "title", "figures", "parts", "readings", "remarks", "cautions")
    }
    for figure in (
        *values["design"]["figures"],
        *(reading["expect"] for reading in values["design"]["readings"]),
    ):
        assert set(figure) == {"label", "likely", "low", "high", "kind"}
    for part in values["design"]["parts"]:
        assert {"name", "what", "value", "carries", "stands", "spare"} <= set(part)
    assert [round(entry["kelvin"], 2) for entry in values["by_temperature"]] == [
        *(263.15, 298.15, 323.15)
    ]
    assert values["worst_off"][0] < values["by_temperature"][1]["off"] < values["worst_off"][1]
    assert 0.0 <= values["share_within"] <= 1.0
    assert {"first_opening", "chatters", "openings_per_hour", "ruined_after"} <= set(values["run"])
    assert len(values["moves"]) >= 8
    assert values["trimmer"]["designator"] == "R1"
    assert values["calibration"]["off"] == 11.2
    assert values["calibration"]["on"] is None
    assert values["calibration"]["suspects"]


def test_data_of_all_kinds():
    code, out, _ = compared(*SEALED, "--json")
    values = json.loads(out)
    assert code == 0
    assert [kind["family"] for kind in values["kinds"]] == list(FAMILIES)
    holding = next(kind for kind in values["kinds"] if kind["family"] == "zener-relay-holding")
    assert holding["on"] is None
    assert values["circuit"]["family"] in FAMILIES
    assert values["modules"]


def test_wish_and_load_are_taken_from_the_options():
    words = ("--off", "11.1 V", "--on", "12.2 V", "--load", "0.4 A", "--peak", "1.7 A")
    code, out, _ = design(*SEALED, *words, "--kind", "zener-relay-holding")
    assert code == 0
    assert "lets go at 11.1 V, comes back at 12.2 V; load 400 mA, 1.7 A on a beat" in out


def test_measured_volts_are_explained():
    words = ("--measured-off", "11.1 V", "--measured-on", "11.9 V")
    code, out, err = design(*SEALED, "--kind", "zener-relay", *words)
    assert (code, err) == (0, "")
    assert "Measured off 11.1 V, on 11.9 V" in out
    assert "Parts within their ranges explain it" in " ".join(out.split())
    assert re.search(r"D1 +zener.voltage +9\.\d+ V", out)


def test_measured_volts_that_nothing_explains():
    code, out, err = design(*SEALED, "--kind", "zener-relay", "--measured-off", "6.2 V")
    assert (code, err) == (0, "")
    assert "No parts within their ranges explain it" in " ".join(out.split())


# Files.


def rows_of(path):
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))


def test_every_file_is_written_and_named(written):
    _, folder, out = written
    names = {path.name for path in folder.iterdir()}
    assert names == {
        *("schematic.svg", "circuit.cir", "parts.csv", "bench.csv", "design.json"),
        *("discharge.svg", "sweep.svg", "thresholds.svg"),
        *("discharge.csv", "sweep.csv", "thresholds.csv", "cutoff.toml"),
    }
    told = " ".join(out.split())
    assert all(name in told for name in names)


def test_pictures_are_svg(written):
    _, folder, _ = written
    for path in folder.glob("*.svg"):
        assert ElementTree.fromstring(path.read_text(encoding="utf-8")).tag == SVG


def test_netlist_runs_in_ngspice_unchanged(written):
    _, folder, _ = written
    said = run_batch((folder / "circuit.cir").read_text(encoding="utf-8"))
    assert not re.search(r"^\s*(fatal )?error\b", said, re.IGNORECASE | re.MULTILINE)
    volts = next(line.split()[1] for line in said.splitlines() if line.split()[:1] == ["batt"])
    assert float(volts) == pytest.approx(14.7)


def test_tables_have_the_right_counts(written):
    family, folder, _ = written
    values = json.loads((folder / "design.json").read_text(encoding="utf-8"))
    parts, bench = rows_of(folder / "parts.csv"), rows_of(folder / "bench.csv")
    assert [row["designator"] for row in parts] == [
        part["name"] for part in values["design"]["parts"]
    ]
    assert len(bench) == len(values["design"]["readings"])
    assert [int(row["step"]) for row in bench] == list(range(1, len(bench) + 1))
    swept = rows_of(folder / "sweep.csv")
    assert [row["way"] for row in swept] == ["down"] * 220 + ["up"] * 220
    down = [float(row["volts"]) for row in swept[:220]]
    assert down == sorted(down, reverse=True)
    last_on = min(float(row["volts"]) for row in swept[:220] if row["on"] == "1")
    assert last_on == pytest.approx(values["by_temperature"][1]["off"], abs=0.03)  # V, one step
    came_back = any(row["on"] == "1" for row in swept[220:])
    assert came_back == (family != "zener-relay-holding")
    discharge = rows_of(folder / "discharge.csv")
    seconds = [float(row["seconds"]) for row in discharge]
    assert seconds == sorted(seconds)
    assert seconds[-1] == pytest.approx(values["run"]["first_opening"] + 3600.0)


def test_yield_is_what_the_table_of_builds_holds(written):
    _, folder, _ = written
    values = json.loads((folder / "design.json").read_text(encoding="utf-8"))
    builds = rows_of(folder / "thresholds.csv")
    near = sum(abs(float(row["off volts"]) - 11.4) <= 0.025 * 11.4 for row in builds)
    assert len(builds) == 1001
    assert values["share_within"] == pytest.approx(near / 1001)


def test_lines_for_a_build_file_are_a_circuit(written):
    family, folder, _ = written
    table = tomllib.loads((folder / "cutoff.toml").read_text(encoding="utf-8"))
    circuit = CutoffCircuit.model_validate(table["cutoff"]["circuit"])
    assert circuit.family == family


@pytest.mark.parametrize("family", FAMILIES)
def test_every_kind_is_drawn(family):
    found = design_of(family)
    labels = {part.name: Label(text=part.part) for part in found.design.parts if part.part}
    drawing = schematic_svg(found.design.netlist, family, labels=labels)
    words = "".join(ElementTree.fromstring(drawing).itertext())
    assert all(part.name in words for part in found.design.parts)


def test_folder_that_cannot_be_made(tmp_path):
    taken = tmp_path / "taken"
    taken.write_text("a file stands here", encoding="utf-8")
    code, _, err = design(*SEALED, "--kind", "zener-relay-holding", "-o", taken)
    assert code == 2
    assert "taken" in err


# Into the build file and out of it.


def test_put_keeps_what_the_circuit_does_not_replace(put):
    file, before, out = put
    old, new = before.decode().splitlines(), file.read_text(encoding="utf-8").splitlines()
    gone = [line for line in old if line not in new]
    # The module and the threshold that its trimmer was set to; nothing else.
    assert [line.split(" ")[0] for line in gone] == ["part", "off"]
    table = tomllib.loads(file.read_text(encoding="utf-8"))["cutoff"]
    assert table["circuit"]["family"] == "zener-relay-holding"
    assert table["lead"] == "1.5 mm², 0.2 m"
    assert "undo" in out


def test_check_reads_what_was_put(put):
    file, _, _ = put
    code, out, err = run("check", file, "--no-effects")
    assert (code in {0, 1}, err) == (True, "")
    assert "how long" in out


def test_circuit_of_the_file_is_proved_without_a_kind(put):
    file, _, _ = put
    code, out, err = design(file)
    assert (code, err) == (0, "")
    assert "zener-relay-holding: " in out
    assert "Kinds side by side" not in out


OWN_RELAY = """[relay.shed]
coil_voltage = "12 V"
coil_resistance = "400 Ω"
coil_inductance = "700 mH"
operate = "68 %"
release = "22 %"
contact_current = "8 A"
contact_resistance = "30 mΩ"
contacts = "changeover"
mass = "12 g"
"""


def test_parts_file_of_the_build_is_used_for_its_circuit(put, tmp_path):
    file, _, _ = put
    text = file.read_text(encoding="utf-8")
    relay = tomllib.loads(text)["cutoff"]["circuit"]["relay"]
    box = tmp_path / "box.toml"
    box.write_text('parts = "mine.toml"\n' + text.replace(relay, "shed"), encoding="utf-8")
    (tmp_path / "mine.toml").write_text(OWN_RELAY, encoding="utf-8")
    code, out, err = design(box, "--json")
    assert (code, err) == (0, "")
    assert json.loads(out)["circuit"]["relay"] == "shed"


def test_undo_restores_every_byte(put, tmp_path):
    file, before, _ = put
    assert file.read_bytes() != before
    code, _, err = run("undo", file)
    assert (code, err) == (0, "")
    assert file.read_bytes() == before


# What cannot be.


@pytest.mark.parametrize(
    ("words", "names"),
    [
        ((*SEALED, "--off", "11,4 W"), ["--off", "'11,4 W'", "voltage"]),
        ((*SEALED, "--on", "12.5 A"), ["--on", "'12.5 A'", "voltage"]),
        ((*SEALED, "--load", "lots"), ["--load", "'lots'", "current"]),
        ((*SEALED, "--peak", "3 V"), ["--peak", "'3 V'", "current"]),
        ((*SEALED, "--measured-off", "?"), ["--measured-off", "'?'", "voltage"]),
        ((*SEALED, "--measured-on", "12 V"), ["--measured-on", "--measured-off"]),
        ((*SEALED, "--kind", "zener-rely"), ["'zener-rely'", "Did you mean 'zener-relay'"]),
        ((), ["--battery", "build file"]),
        ((*SEALED, "--put"), ["--put", "build file"]),
        (("--battery", "12 V 9 Ah AGN"), ["'AGN'", "agm"]),
        (("--battery", "96 V 9 Ah AGM"), ["48", "30"]),
        ((*SEALED, "--load", "0 A"), ["load", "above 0"]),
        ((*SEALED, "--off", "8.4 V"), ["off", "8.4 V", "9.9 V"]),
        ((*SEALED, "--off", "11.6 V", "--on", "11.2 V"), ["on", "11.2 V", "11.6 V"]),
        (("no-such.toml",), ["no-such.toml"]),
    ],
)
def test_wrong_option_is_named_with_what_was_expected(words, names):
    code, out, err = design(*words)
    assert (code, out) == (2, "")
    assert all(name in err for name in names), err


def test_everything_wrong_is_said_at_once():
    code, _, err = design("--off", "11", "--on", "12 A", "--load", "lots", "--put")
    assert code == 2
    assert "5 things to put right" in err
    assert all(option in err for option in ("--off", "--on", "--load", "--put", "--battery"))


def test_wrong_kind_and_wrong_volts_are_said_at_once():
    code, _, err = design(*SEALED, "--off", "11", "--kind", "zener-rely")
    assert code == 2
    assert "--off" in err
    assert "zener-rely" in err


def test_peak_below_the_average_is_refused():
    code, _, err = design(*SEALED, "--load", "2 A", "--peak", "0.5 A", "--kind", "zener-relay")
    assert code == 2
    assert "peak" in err


@pytest.mark.parametrize("words", ["60 V 20 Ah AGM", "1S 2 Ah Li-ion", "2 V 3 Ah AGM"])
def test_unusual_battery_gets_an_answer(words):
    code, out, err = compared("--battery", words)
    assert code in {0, 2}
    assert "Low-voltage cutoff for" in out or "things to put right" in err
