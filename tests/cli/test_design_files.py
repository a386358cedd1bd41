"""Designs as files and as words: what is written, what is shown, what cannot be."""

import csv
import io
import json
import re
from dataclasses import replace

import pytest
from rich.console import Console
from tests.circuit.ngspice import run_batch
from tests.design.cutoffs import FAMILIES, design_of

from boomwright.cli.design.cutoff_files import circuit_lines, put_circuit
from boomwright.cli.design.files import csv_text, write_design, write_files
from boomwright.cli.design.show import design_values, plain_table, print_design
from boomwright.design.sheet import Expected
from boomwright.errors import BoomwrightError, WriteError


def test_rows_survive_commas_quotes_and_line_ends():
    rows = [("R1", 'says "no", then', "two\nlines"), ("µ", "", "Ω")]
    text = csv_text(("a", "b", "c"), rows)
    read = [tuple(row) for row in csv.reader(io.StringIO(text))]
    assert read == [("a", "b", "c"), *rows]


def test_folder_is_made_with_its_parents(tmp_path):
    names = write_files(tmp_path / "one" / "two", {"b.txt": "B", "a.txt": "Ä"})
    assert names == ["b.txt", "a.txt"]
    assert (tmp_path / "one" / "two" / "a.txt").read_text(encoding="utf-8") == "Ä"


def test_folder_that_is_a_file_is_refused_by_name(tmp_path):
    (tmp_path / "taken").write_text("", encoding="utf-8")
    with pytest.raises(WriteError, match="taken"):
        write_files(tmp_path / "taken", {"a.txt": "A"})


def test_design_without_a_drawing_has_no_picture(tmp_path):
    design = design_of("comparator-relay").design
    names = write_design(
        tmp_path, design, drawing="", values=design_values(design), more={"x.csv": "1\n"}
    )
    assert names == ["circuit.cir", "parts.csv", "bench.csv", "design.json", "x.csv"]
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(names)
    values = json.loads((tmp_path / "design.json").read_text(encoding="utf-8"))
    assert values == json.loads(json.dumps(design_values(design)))


@pytest.mark.parametrize("family", FAMILIES)
def test_netlist_of_every_kind_runs_unchanged(family, tmp_path):
    design = design_of(family).design
    write_design(tmp_path, design, drawing="", values={}, more={})
    said = run_batch((tmp_path / "circuit.cir").read_text(encoding="utf-8"))
    assert not re.search(r"^\s*(fatal )?error\b", said, re.IGNORECASE | re.MULTILINE)
    assert "Node" in said


@pytest.mark.parametrize("family", FAMILIES)
def test_sheet_fits_80_columns(family):
    screen = Console(file=io.StringIO(), width=80, no_color=True)
    design = design_of(family).design
    print_design(screen, design)
    lines = screen.file.getvalue().splitlines()
    assert max(len(line) for line in lines) <= 80
    words = " ".join(" ".join(lines).split())
    for part in design.parts:
        assert f" {part.name} " in words
    assert words.count("read: ________") == len(design.readings)
    assert "nan" not in words


@pytest.mark.parametrize("family", FAMILIES)
def test_values_have_no_number_that_json_lacks(family):
    values = design_values(design_of(family).design)
    text = json.dumps(values, allow_nan=False)
    assert json.loads(text) == values
    assert len(values["parts"]) == len(design_of(family).design.parts)


@pytest.mark.parametrize(
    ("figure", "shown"),
    [
        (Expected("off", 10.4, 10.1, 10.7, "voltage"), "10.4 V (10.1 V to 10.7 V)"),
        (Expected("off", 10.4, 10.4, 10.4, "voltage"), "10.4 V"),
        (Expected("ohms", 5e3, 5e3, float("inf"), "resistance"), "5 kΩ or more"),
        (Expected("on", float("nan"), float("nan"), float("nan"), "voltage"), "never"),
    ],
)
def test_figure_is_shown_with_its_limits(figure, shown):
    assert figure.shown == shown
    assert str(figure) == f"{figure.label} {shown}"


def test_table_has_no_lines():
    table = plain_table("a", "b", widths=(4,))
    assert table.box is None
    assert [column.header for column in table.columns] == ["a", "b"]
    assert table.columns[0].width == 4


@pytest.mark.parametrize("family", FAMILIES)
def test_lines_of_a_circuit_leave_out_what_its_kind_has_not(family):
    lines = circuit_lines(design_of(family).circuit)
    keys = [line.split(" = ")[0] for line in lines]
    assert keys[0] == "family"
    assert ("zener" in keys) == family.startswith("zener")
    assert ("comparator" in keys) == family.startswith("comparator")
    assert ("relay" in keys) == ("relay" in family)


TABLE = """# mine
[battery]
chemistry = "lead-agm" # bought second-hand

[cutoff]
part = "lead-12v-latching"
drain_on = "9 mA"
name = "guard" # its name stays
"""


@pytest.mark.parametrize(
    "text",
    [TABLE, TABLE.replace("[cutoff]", "[[cutoff]]"), TABLE[: TABLE.index("[cutoff]")]],
    ids=["table", "list of tables", "none yet"],
)
def test_circuit_is_put_into_any_form_of_the_table(text, tmp_path):
    file = tmp_path / "build.toml"
    file.write_text(text, encoding="utf-8")
    put_circuit(file, design_of("reference-relay").circuit)
    found = file.read_text(encoding="utf-8")
    assert 'family = "reference-relay"' in found
    assert "# mine" in found
    assert "# bought second-hand" in found
    assert "lead-12v-latching" not in found
    assert "drain_on" not in found
    assert ("# its name stays" in found) == ("guard" in text)


def test_another_circuit_takes_the_first_ones_place(tmp_path):
    file = tmp_path / "build.toml"
    file.write_text(TABLE, encoding="utf-8")
    put_circuit(file, design_of("zener-relay-emitter").circuit)
    put_circuit(file, design_of("comparator-mosfet").circuit)
    found = file.read_text(encoding="utf-8")
    assert 'family = "comparator-mosfet"' in found
    assert "zener" not in found
    assert "emitter_resistor" not in found
    assert found.count("family") == 1


def test_put_into_no_file_is_refused(tmp_path):
    with pytest.raises(BoomwrightError, match="gone"):
        put_circuit(tmp_path / "gone.toml", design_of("reference-relay").circuit)


def test_figures_are_not_shared_between_designs():
    design = design_of("zener-relay").design
    other = replace(design, title="another")
    assert design_values(other)["title"] == "another"
    assert design_values(design)["title"] != "another"
