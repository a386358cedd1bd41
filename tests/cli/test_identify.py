"""``boomwright identify``: from files to a known driver, printed, drawn and written."""

import json
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile
from tests.bench.driver.drivers import DRIVER, LAUNCH, free, grid, truth, vented, weighed
from tests.bench.driver.test_readings import form
from tests.bench.driver.test_recording import SIGNAL, through
from typer.testing import CliRunner

from boomwright.bench.driver.signal import signal_samples
from boomwright.build.read import read_build
from boomwright.cli.app import app
from boomwright.physics.driver import electrical_impedance


def columns(setup):
    sweep = setup.sweep
    rows = zip(sweep.frequency, sweep.magnitude, np.rad2deg(sweep.phase), strict=True)
    return "f,z,phase\n" + "\n".join(f"{f:.4f},{z:.5f},{p:.4f}" for f, z, p in rows)


@pytest.fixture
def bench(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    hertz, rng = grid(200), np.random.default_rng(9)
    files = {
        "free.csv": free(hertz, noise=0.004, rng=rng),
        "mass.csv": weighed(hertz, noise=0.004, rng=rng),
        "vented.csv": vented(hertz, noise=0.004, rng=rng),
    }
    for name, setup in files.items():
        (tmp_path / name).write_text(columns(setup), encoding="utf-8")
    (tmp_path / "form.toml").write_text(form(), encoding="utf-8")
    market = read_example()
    (tmp_path / "launch.toml").write_text(market, encoding="utf-8")
    return tmp_path


def read_example():
    from tests.loaded import load_script

    text = load_script("write_docs").rule_pages.example("market-stall")
    head, _, tail = text.partition("[driver]")
    return head + "# the kitchen hi-fi's\n[driver]" + tail


def run(*words):
    return CliRunner(env={"NO_COLOR": "1", "TERM": "dumb", "COLUMNS": "80"}).invoke(
        app, ["identify", *words]
    )


def data(*words):
    done = run(*words, "--json")
    assert done.exit_code == 0, done.output
    return json.loads(done.output)


WEIGHED = (
    *("sweep", "free.csv", "--with-mass", "mass.csv", "--mass", "12 g ±0.1 g"),
    *("--diameter", "13.11 cm ±1 mm", "--re", "6.3 Ω"),
)


def test_sweeps_make_a_driver(bench):
    found = data(*WEIGHED)["parameters"]
    for name in ("re", "fs", "qms", "qes", "qts", "vas", "mms", "cms", "rms", "bl", "sensitivity"):
        assert found[name]["value"] == pytest.approx(truth()[name], rel=0.02), name
        assert found[name]["low"] < found[name]["value"] < found[name]["high"]


def test_page_fits_80_columns_and_shows_every_parameter(bench):
    done = run(*WEIGHED)
    assert done.exit_code == 0
    assert max(len(line.rstrip()) for line in done.output.splitlines()) <= 80
    for name in data(*WEIGHED)["parameters"]:
        assert re.search(rf"^{name} ", done.output, re.MULTILINE), name
    assert "mm/N" in done.output
    assert not re.search(r"\bnan\b", done.output)


def test_free_air_alone_says_what_would_tell_the_rest(bench):
    done = run("sweep", "free.csv")
    assert "--with-mass" in done.output
    assert "bl" not in data("sweep", "free.csv")["parameters"]


def test_vented_cabinet(bench):
    found = data("sweep", "vented.csv", "--cabinet", "vented", "--box", "20 L ±2 %")
    assert found["cabinet"] == "vented"
    assert found["parameters"]["fb"]["value"] == pytest.approx(48.0, rel=0.01)
    assert found["parameters"]["vas"]["value"] == pytest.approx(LAUNCH["vas"], rel=0.03)


def test_form_is_written_and_read(bench):
    assert run("sheet", "-o", "new.toml").exit_code == 0
    assert "[free_air]" in (bench / "new.toml").read_text(encoding="utf-8")
    assert data("readings", "form.toml")["parameters"]["fs"]["value"] == pytest.approx(
        58.0, rel=0.01
    )


def test_recording_makes_a_driver(bench):
    samples = signal_samples(SIGNAL)
    at_driver = through(samples, SIGNAL.rate, lambda f: electrical_impedance(DRIVER, f))
    soundfile.write(bench / "take.wav", np.column_stack((samples, at_driver)), SIGNAL.rate)
    found = data("recording", "take.wav", "--resistor", "100 Ω ±1 %", "--driver-channel", "right")
    for name in ("re", "fs", "qms", "qes", "le"):
        assert found["parameters"][name]["value"] == pytest.approx(LAUNCH[name], rel=0.02), name


def test_signal_is_written(bench):
    done = run("signal", "-o", "sweep.wav", "--duration", "2 s", "--rate", "44.1 kHz")
    assert done.exit_code == 0
    assert "never a bridge amplifier's output" in " ".join(done.output.split())
    info = soundfile.info(bench / "sweep.wav")
    assert (info.samplerate, info.channels, info.duration) == (44_100, 2, 4.0)


def test_typical_ranks_three_measurements():
    found = json.loads(run("typical", "5 in", "8 Ω", "--box", "6 L", "--json").output)
    assert found["part"] == "driver-5in-8ohm"
    assert len(found["measure_next"]) == 3
    page = run("typical", "5 in", "8 Ω", "--box", "6 L").output
    assert "electrical Q" in page
    assert "No box was named" not in page
    assert "No box was named" in run("typical", "5 in", "8 Ω").output
    assert max(len(line.rstrip()) for line in page.splitlines()) <= 80
    assert f"1. {found['measure_next'][0]['name']}" in page


@pytest.mark.parametrize("ending", ["svg", "png", "html"])
def test_chart_is_drawn(bench, ending):
    done = run(*WEIGHED, "--chart", f"curve.{ending}")
    assert done.exit_code == 0
    raw = (bench / f"curve.{ending}").read_bytes()
    assert len(raw) > 5000
    if ending == "svg":
        assert "with mass" in raw.decode()


def test_values_go_into_the_build_and_out_again(bench):
    before = (bench / "launch.toml").read_text(encoding="utf-8")
    done = run(*WEIGHED, "--put", "launch.toml")
    assert done.exit_code == 0, done.output
    text = (bench / "launch.toml").read_text(encoding="utf-8")
    assert "# the kitchen hi-fi's\n[driver]" in text
    assert text.replace("\n", "").count("(measured)") - before.count("(measured)") >= 9
    (driver,) = read_build(bench / "launch.toml").driver
    for name in ("re", "fs", "qms", "qes", "vas", "sd", "mms", "bl", "le", "le2", "re2"):
        value = getattr(driver, name)
        assert value.basis == "measured", name
        assert value.likely == pytest.approx(truth()[name], rel=0.03), name
        assert value.low <= value.likely <= value.high
    assert driver.sensitivity.basis == "measured"
    undone = CliRunner().invoke(app, ["undo", "launch.toml"])
    assert undone.exit_code == 0
    assert (bench / "launch.toml").read_text(encoding="utf-8") == before


def test_own_sensitivity_stays(bench):
    text = (bench / "launch.toml").read_text(encoding="utf-8")
    text = text.replace("[driver]\n", '[driver]\nsensitivity = "91 dB (claim)"\n')
    (bench / "launch.toml").write_text(text, encoding="utf-8")
    assert run(*WEIGHED, "--put", "launch.toml").exit_code == 0
    after = (bench / "launch.toml").read_text(encoding="utf-8")
    assert 'sensitivity = "91 dB (claim)"' in after


def test_several_drivers_need_a_name(bench):
    text = (bench / "launch.toml").read_text(encoding="utf-8")
    head, _, tail = text.partition("[driver]\n")
    cone = '[[driver]]\nname = "treble"\npart = "tweeter-cone-2in-8ohm"\nchannel = "left"\n\n'
    text = f'{head}{cone}[[driver]]\nname = "bass"\n{tail}'
    (bench / "launch.toml").write_text(text, encoding="utf-8")
    assert "which one was measured" in failed(bench, *WEIGHED, "--put", "launch.toml")
    told = failed(bench, *WEIGHED, "--put", "launch.toml", "--driver", "bas")
    assert "Did you mean 'bass'?" in told
    assert (bench / "launch.toml").read_text(encoding="utf-8") == text
    assert run(*WEIGHED, "--put", "launch.toml", "--driver", "bass").exit_code == 0
    treble, bass = read_build(bench / "launch.toml").driver
    assert treble.mms is None
    assert bass.mms.likely == pytest.approx(truth()["mms"], rel=0.02)


def failed(bench, *words):
    """Words of the real command, which must refuse with exit code 2 and no traceback."""
    code = "import sys; from boomwright.cli import main; sys.argv[0] = 'boomwright'; main()"
    done = subprocess.run(
        [sys.executable, "-c", code, "identify", *words], cwd=bench, capture_output=True, text=True
    )
    assert done.returncode == 2, done.stdout + done.stderr
    assert "Traceback" not in done.stderr
    assert done.stdout == ""
    return done.stderr


def test_wrong_resistor_stops_and_writes_nothing(bench):
    before = (bench / "launch.toml").read_text(encoding="utf-8")
    words = [*WEIGHED[:-1], "4.7 Ω"]
    done = run(*words, "--put", "launch.toml")
    assert done.exit_code == 1
    assert "Nothing was written into launch.toml" in " ".join(done.output.split())
    assert (bench / "launch.toml").read_text(encoding="utf-8") == before


def test_driver_without_a_name_goes_by_its_usual_one(bench):
    done = run(*WEIGHED, "--put", "launch.toml", "--driver", "driver")
    assert done.exit_code == 0
    assert read_build(bench / "launch.toml").driver[0].mms.likely == pytest.approx(
        truth()["mms"], rel=0.02
    )


def test_decimal_point_in_the_mass_is_minded(bench):
    tenfold = ["120 g" if word.startswith("12 g") else word for word in WEIGHED]
    says = "Check the decimal point of the added mass"
    assert says in " ".join(run(*tenfold).output.split())
    assert says not in " ".join(run(*WEIGHED).output.split())


def test_resistor_ten_times_off_is_minded_without_an_ohmmeter(bench):
    free = (bench / "free.csv").read_text(encoding="utf-8").splitlines()
    rows = [line.split(",") for line in free[1:]]
    tenth = [f"{hertz},{float(ohms) / 10:.6f},{angle}" for hertz, ohms, angle in rows]
    (bench / "tenth.csv").write_text("\n".join([free[0], *tenth]), encoding="utf-8")
    shown = " ".join(run("sweep", "tenth.csv").output.split())
    assert "of d.c. resistance is hardly any driver's: 1.2 Ω to 60 Ω is usual" in shown


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["sweep", "gone.csv"], "gone.csv: cannot be read"),
        (["sweep", "free.csv", "--mass", "5 g"], "takes --with-mass FILE and --mass"),
        (["sweep", "free.csv", "--with-mass", "mass.csv"], "takes --with-mass FILE and --mass"),
        (["sweep", "free.csv", "--in-box", "mass.csv"], "takes its volume too"),
        (["sweep", "free.csv", "--box", "8 L"], "no sweep on that box"),
        (["sweep", "free.csv", "--cabinet", "vent"], "Did you mean 'vented'?"),
        (["sweep", "free.csv", "--diameter", "13"], "'13'"),
        (["sweep", "free.csv", "--re", "-3 Ω"], "not above zero"),
        (["sweep", "free.csv", "--chart", "c.gif"], ".gif"),
        (["sweep", "free.csv", "--driver", "bass"], "Give --put BUILD"),
        (["sweep", "free.csv", "--cabinet", "closed", "--put", "launch.toml"], "hides the driver"),
        (["recording", "free.csv", "--resistor", "100 Ω"], "not a sound file"),
        (["recording", "free.csv", "--resistor", "100"], "'100'"),
        (["signal", "-o", "s.wav", "--level", "6 dB"], "6 dB"),
        (["signal", "-o", "gone/s.wav"], "cannot be written"),
        (["signal", "-o", "s.mp3"], "Write s.wav"),
        (
            ["signal", "-o", "s.wav", "--rate", "3 Hz"],
            "--rate: sample rate out of range; read 3 Hz",
        ),
        (["typical", "5 furlongs"], "furlongs"),
        (["readings", "free.csv"], "free.csv"),
        (["readings", "gone.toml"], "identify sheet -o gone.toml"),
        (["readings", "launch.toml"], "not a form of readings"),
        (["recording", "free.csv", "--resistor", "-47 Ω"], "not above zero: -47 Ω"),
        (["sweep", "free.csv", "--put", "launch.toml", "--driver", "tweeter"], "Known here: "),
    ],
)
def test_wrong_words_are_refused_by_what_was_written(bench, words, says):
    assert says in failed(bench, *words)


def test_all_wrong_options_come_at_once(bench):
    told = failed(bench, "sweep", "free.csv", "--re", "much", "--mass", "x", "--cabinet", "hut")
    assert told.count("\n  ") >= 4


def test_form_is_not_written_over_unasked(bench):
    assert "exists already" in failed(bench, "sheet", "-o", "form.toml")


def test_help_loads_nothing_heavy():
    code = (
        "import sys\nsys.argv = ['boomwright', 'identify', 'recording', '--help']\n"
        "from boomwright.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "print('LOADED', *sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    text, _, loaded = done.stdout.partition("LOADED")
    assert "never a bridge amplifier's output" in " ".join(text.split())
    tops = {name.partition(".")[0] for name in loaded.split()}
    assert not tops & {"numpy", "scipy", "altair", "soundfile", "tomlkit"}


def test_page_of_the_manual_shows_what_is_printed(bench):
    """The filled-in form of docs/identify.md and the page below it."""
    page = (Path(__file__).parents[2] / "docs" / "identify.md").read_text(encoding="utf-8")
    filled = re.search(r"```toml\n(.*?)```", page, re.DOTALL)[1]
    shown = re.search(r"```text\n(.*?)```", page, re.DOTALL)[1]
    (bench / "allotment.toml").write_text(filled, encoding="utf-8")
    done = run("readings", "allotment.toml")
    printed = "\n".join(line.rstrip() for line in done.output.splitlines())
    assert printed.strip() == shown.strip()


def test_commands_of_the_manual_exist():
    page = (Path(__file__).parents[2] / "docs" / "identify.md").read_text(encoding="utf-8")
    named = set(re.findall(r"identify (\w+)", page)) - {"takes"}
    helped = run("--help").output
    for name in named:
        assert re.search(rf"\b{name}\b", helped), name
    for option in set(re.findall(r"(--[a-z][a-z-]+)", page)):
        assert any(option in run(name, "--help").output for name in named), option
