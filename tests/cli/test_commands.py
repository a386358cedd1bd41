"""The commands as a person meets them: words, data, exit codes, no traceback."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
EXAMPLES = sorted((ROOT / "examples").glob("*.toml"))


def boomwright(*words, cwd=ROOT, stdin=""):
    return subprocess.run(
        [sys.executable, "-c", "from boomwright.cli import main; main()", *map(str, words)],
        cwd=cwd,
        input=stdin,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        env={**os.environ, "COLUMNS": "80", "NO_COLOR": "1"},
    )


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_check_example(file):
    done = boomwright("check", file)
    assert done.stderr == ""
    assert done.returncode == (1 if file.stem == "first-attempt" else 0)
    for words in ("how loud", "how long", "how hot", "how safe", "as wanted"):
        assert words in done.stdout
    assert max(len(line) for line in done.stdout.splitlines()) <= 80


def test_check_json_holds_the_contract():
    done = boomwright("check", "examples/first-attempt.toml", "--json")
    values = json.loads(done.stdout)
    assert done.returncode == 1
    assert values["verdict"] == "stop"
    assert set(values["answers"]) == {"loud", "long", "hot", "safe"}
    for answer in values["answers"].values():
        assert {"verdict", "says", "likely", "low", "high", "unit"} <= set(answer)
    long = values["answers"]["long"]
    assert long["low"] <= long["likely"] <= long["high"]
    assert len(values["findings"]) >= 15
    for finding in values["findings"]:
        assert {"id", "level", "where", "says", "numbers", "why", "do"} <= set(finding)
        assert finding["level"] in {"fine", "mind", "stop"}
        for number in finding["numbers"]:
            assert set(number) == {"label", "value", "unit", "shown"}


def test_check_full_holds_the_outcome():
    from boomwright.outcome.data import Outcome

    done = boomwright("check", "examples/market-stall.toml", "--json", "--full")
    outcome = json.loads(done.stdout)["outcome"]
    assert Outcome.from_json(json.dumps(outcome)).wanted.key == "wanted"


def test_terminal_and_data_agree():
    values = json.loads(boomwright("check", "examples/market-stall.toml", "--json").stdout)
    words = boomwright("check", "examples/market-stall.toml").stdout
    for answer in values["answers"].values():
        assert answer["says"] in words


def test_brief_leaves_the_findings_out():
    done = boomwright("check", "examples/first-attempt.toml", "--brief")
    assert "how safe" in done.stdout
    assert "→" not in done.stdout


def test_bad_file_lists_every_problem(tmp_path):
    file = tmp_path / "broken.toml"
    file.write_text('name = "x"\n[battery]\ncapacty = "7 Ah"\ncells = 0\nchemistry = "lead-agn"\n')
    done = boomwright("check", file)
    assert done.returncode == 2
    assert done.stdout == ""
    for words in ("broken.toml:3", "'capacity'", "broken.toml:4", "broken.toml:5", "'lead-agm'"):
        assert words in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["check", "nowhere.toml"], "no such file"),
        (["check", "examples"], "folder"),
        (["drawer", "batery"], "'battery'"),
        (["drawer", "battery", "agm-12v-8ah"], "agm-12v"),
        (["new", "x.toml", "--from", "lead"], "lead-acid"),
        (["new"], "no file named"),
        (["check"], "FILE"),
        (["chek"], "chek"),
    ],
)
def test_wrong_words(words, said):
    done = boomwright(*words)
    assert done.returncode == 2
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_new_then_check(tmp_path):
    done = boomwright("new", "garden-box.toml", cwd=tmp_path)
    assert done.returncode == 0
    assert 'name = "Garden box"' in (tmp_path / "garden-box.toml").read_text(encoding="utf-8")
    assert boomwright("check", "garden-box.toml", cwd=tmp_path).returncode == 0


def test_new_keeps_a_file_that_is_there(tmp_path):
    (tmp_path / "mine.toml").write_text("mine")
    done = boomwright("new", "mine.toml", cwd=tmp_path)
    assert done.returncode == 2
    assert "exists already" in done.stderr
    assert (tmp_path / "mine.toml").read_text() == "mine"
    assert boomwright("new", "mine.toml", "--replace", cwd=tmp_path).returncode == 0
    assert [file.name for file in tmp_path.iterdir()] == ["mine.toml"]


def test_new_by_questions(tmp_path):
    parts = ["lifepo4", "", "class-d-bridge-2x30", "not-a-part", "1"]
    wishes = ["many", "2", "loud", "78 dB(A) at 3 m", ""]
    answers = "\n".join(["Rehearsal box", *parts, *wishes, ""])
    done = boomwright("new", "box.toml", "--ask", cwd=tmp_path, stdin=answers)
    assert done.returncode == 0, done.stderr
    text = (tmp_path / "box.toml").read_text(encoding="utf-8")
    for words in (
        'name = "Rehearsal box"',
        '"class-d-bridge-2x30"',
        '"78 dB(A) at 3 m"',
        "count = 2",
    ):
        assert words in text
    assert "# " in text
    assert "'not-a-part' is not in the list" in done.stdout
    assert "not a whole number" in done.stdout
    assert boomwright("check", "box.toml", cwd=tmp_path).returncode in {0, 1}


def test_new_by_questions_left_half_way_writes_nothing(tmp_path):
    done = boomwright("new", "box.toml", "--ask", cwd=tmp_path, stdin="Box\n")
    assert done.returncode != 0
    assert list(tmp_path.iterdir()) == []
    assert "Traceback" not in done.stderr


def test_name_with_quotes_and_backslashes_is_written_right(tmp_path):
    import tomllib

    boomwright("new", "box.toml", "--name", 'The "big\\one"', cwd=tmp_path)
    assert (
        tomllib.loads((tmp_path / "box.toml").read_text(encoding="utf-8"))["name"]
        == 'The "big\\one"'
    )


@pytest.mark.parametrize("start", ["lead-acid", "li-ion-boost", "lifepo4", "supply"])
def test_every_start_checks_without_a_stop(tmp_path, start):
    boomwright("new", "box.toml", "--from", start, cwd=tmp_path)
    done = boomwright("check", "box.toml", cwd=tmp_path)
    assert done.returncode == 0, done.stdout
    assert "■ stop" not in done.stdout


def test_starts_are_all_tested():
    listed = json.loads(boomwright("new", "--list", "--json").stdout)
    assert set(listed) == {"lead-acid", "li-ion-boost", "lifepo4", "supply"}


def test_own_parts_file(tmp_path):
    (tmp_path / "own.toml").write_text('[fuse.my-fuse]\ntitle = "From the tin"\nrating = "3 A"\n')
    done = boomwright("drawer", "fuse", "my-fuse", "--parts", "own.toml", cwd=tmp_path)
    assert "From the tin" in done.stdout
    (tmp_path / "own.toml").write_text('[fuse.my-fuse]\nratng = "3 A"\n')
    done = boomwright("drawer", "fuse", "--parts", "own.toml", cwd=tmp_path)
    assert done.returncode == 2
    assert "'rating'" in done.stderr


def test_drawer_lists_kinds_parts_and_a_part():
    kinds = json.loads(boomwright("drawer", "--json").stdout)
    assert {"battery", "amplifier", "zener", "wire"} <= set(kinds)
    names = json.loads(boomwright("drawer", "battery", "--json").stdout)
    assert "agm-12v-9ah" in names
    assert "chemistry" in boomwright("drawer", "battery", "agm-12v-9ah").stdout


def test_schema_accepts_the_examples_and_refuses_a_typo():
    import tomllib

    import jsonschema

    schema = json.loads(boomwright("schema").stdout)
    validator = jsonschema.Draft202012Validator(schema)
    for file in EXAMPLES:
        validator.validate(tomllib.loads(file.read_text(encoding="utf-8")))
    broken = tomllib.loads(EXAMPLES[0].read_text(encoding="utf-8"))
    broken["battery"]["capacty"] = "7 Ah"
    assert not validator.is_valid(broken)


def test_version_and_help():
    from boomwright import __version__

    assert __version__ in boomwright("--version").stdout
    assert "check" in boomwright("--help").stdout


def test_reader_that_leaves_early_is_no_error():
    done = subprocess.run(
        f'"{sys.executable}" -c "from boomwright.cli import main; main()" schema | head -1',
        cwd=ROOT,
        shell=True,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.startswith("{")
    assert done.stderr == ""
