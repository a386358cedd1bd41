"""The form for meter readings: as it comes, filled in, and filled in wrongly."""

import contextlib
import tempfile
import tomllib
from pathlib import Path

import numpy as np
import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.bench.driver.drivers import DRIVER, LAUNCH, MASS, truth

from boomwright.bench.driver.identified import cone_area, identify
from boomwright.bench.driver.model import Doubts, Setup
from boomwright.bench.driver.readings import likely_error, read_readings
from boomwright.bench.driver.sheet import form_text
from boomwright.bench.driver.sweep import ImpedanceSweep
from boomwright.errors import InputError
from boomwright.physics.driver import electrical_impedance

HERTZ = np.array([29.0, 40.0, 47.0, 58.0, 71.0, 84.0, 130.0, 1000.0, 5000.0])


def form(*, readings=HERTZ, resistor=10.0, more="", driver="", noise=0.0, digits=5):
    rng = np.random.default_rng(4)
    rows = []
    for hertz in readings:
        ohms = abs(electrical_impedance(DRIVER, hertz)) * np.exp(noise * rng.normal())
        rows.append(f'["{hertz} Hz", "0.1 V", "{0.1 * ohms / resistor:.{digits}f} V"],')
    body = "\n".join(rows)
    driver = driver or 'name = "launch"\ndiameter = "13.11 cm ±1 mm"\ndc_ohms = "6.5 Ω"'
    return (
        f'[driver]\n{driver}\ndc_leads = "0.2 Ω"\n[meter]\nresistor = "{resistor} Ω ±1 %"\n'
        f'error = "1 %"\nlast_digit = "0.1 mV"\n[free_air]\nreadings = [\n{body}\n]\n{more}'
    )


@pytest.fixture
def written(tmp_path):
    def write(text):
        file = tmp_path / "form.toml"
        file.write_text(text, encoding="utf-8")
        return file

    return write


def found(form):
    return identify(
        form.setups,
        peaks=form.peaks,
        re=form.re,
        sd=None if form.diameter is None else cone_area(form.diameter.likely),
        doubts=Doubts(likely_error(form.resistor)),
    )


def test_form_is_toml_that_asks_for_readings(written):
    tomllib.loads(form_text())
    with pytest.raises(InputError, match=r"free_air\.readings: no readings filled in"):
        read_readings(written(form_text()))


def test_form_warns_where_it_can_hurt():
    words = " ".join(form_text().replace("#", "").split())
    assert "CAUTION" in words
    assert "burns a small driver, and your ears" in words


def test_nine_readings_and_a_mass_make_a_driver(written):
    heavier = 58.0 / np.sqrt(1.0 + MASS / truth()["mms"])
    more = f'[mass]\nmass = "{1e3 * MASS} g ±0.1 g"\npeak = "{heavier:.3f} Hz ±0.2 Hz"\n'
    known = found(read_readings(written(form(more=more))))
    for name in ("re", "fs", "qms", "qes", "qts", "mms", "bl", "vas", "sensitivity"):
        item = known.parameters[name]
        assert abs(item.value - truth()[name]) < 1.5 * item.error, name
    assert known.parameters["fs"].error < 0.5  # Hz


def test_three_readings_and_the_ohmmeter_are_enough_without_inductance(written):
    text = form(readings=HERTZ[[2, 3, 4]])
    known = found(read_readings(written(text)))
    assert known.fitted.coil == "none"
    assert known.parameters["fs"].value == pytest.approx(58.0, rel=0.01)
    assert known.parameters["qts"].value == pytest.approx(truth()["qts"], rel=0.03)


def test_leads_are_taken_off_the_ohms(written):
    form_ = read_readings(written(form()))
    assert form_.re[0] == pytest.approx(6.3, rel=1e-9)
    assert form_.name == "launch"


def test_meter_error_is_in_every_reading(written):
    sweep = read_readings(written(form())).setups[0].sweep
    # Two readings of ±1 %, evenly likely within: 1 %·sqrt(2/3), and half a digit of 0.1 mV.
    assert sweep.error.min() == pytest.approx(0.01 * np.sqrt(2.0 / 3.0), rel=0.02)


def test_readings_that_scatter_more_than_the_meter_widen_the_ranges(written):
    quiet = found(read_readings(written(form())))
    rough = found(read_readings(written(form(noise=0.05))))
    assert any("scatter" in remark.says for remark in rough.remarks)
    assert rough.parameters["qms"].error > 1.5 * quiet.parameters["qms"].error


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"58.0 Hz"', '"58.0"', "58.0"),
        ('"58.0 Hz"', '"58.0 volts"', "58.0 volts"),
        ('"58.0 Hz", "0.1 V"', '"58.0 Hz", "0 V"', "not above zero"),
        ('["58.0 Hz", "0.1 V", ', '["58.0 Hz", ', "not a reading"),
        ('dc_leads = "0.2 Ω"', 'dc_leads = "7 Ω"', "as many ohms as the whole"),
        ('error = "1 %"', 'eror = "1 %"', "Did you mean 'error'?"),
        ("[meter]", "[metre]", "Did you mean 'meter'?"),
        ('resistor = "10.0 Ω ±1 %"', 'resistor = ""', "not filled in"),
        ('resistor = "10.0 Ω ±1 %"', "resistor = 10", "10"),
        ('diameter = "13.11 cm', 'diameter = "13,11 cm', "a comma inside a number"),
    ],
)
def test_wrong_entry_is_named_with_its_line(written, old, new, says):
    text = form()
    assert old in text
    with pytest.raises(InputError) as caught:
        read_readings(written(text.replace(old, new)))
    told = str(caught.value)
    assert says in told
    assert "form.toml:" in told


def test_all_wrong_entries_come_at_once(written):
    text = form().replace('"58.0 Hz"', '"58 cups"').replace('"1 %"', '"one"', 1)
    with pytest.raises(InputError) as caught:
        read_readings(written(text.replace('dc_ohms = "6.5 Ω"', 'dc_ohms = "-3 Ω"')))
    assert len(caught.value.problems) == 3


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ('[mass]\npeak = "45 Hz"\n', "not filled in, yet there are readings"),
        ('[mass]\nmass = "10 g"\n', "nothing that was read with it"),
        ('[box]\nvolume = "10 L"\n', "nothing that was read with it"),
        ("[mass]\nmass = 10\n", "not text in quotes"),
    ],
)
def test_mass_and_box_are_whole_or_absent(written, more, says):
    with pytest.raises(InputError, match=says):
        read_readings(written(form(more=more)))


def test_two_readings_are_too_few(written):
    with pytest.raises(InputError, match="only 2 readings"):
        read_readings(written(form(readings=HERTZ[[3, 5]])))


def test_cone_area_is_that_of_the_ruler():
    assert cone_area(0.1311) == pytest.approx(LAUNCH["sd"], rel=1e-3)


def test_ranges_of_readings_hold_the_truth_as_often_as_they_say():
    """Meter and last digit evenly likely within their limits, over 200 forms."""
    rng, draws, found = np.random.default_rng(31), 200, {}
    hertz = HERTZ[:7]
    ohms = np.abs(electrical_impedance(DRIVER, hertz))
    error = np.full(hertz.size, 0.01 * np.sqrt(2.0 / 3.0))
    for _ in range(draws):
        off = rng.uniform(-0.01, 0.01, size=(2, hertz.size))
        sweep = ImpedanceSweep(hertz, ohms * (1.0 + off[0]) / (1.0 + off[1]), None, "form", error)
        meter = 6.3 * (1.0 + rng.uniform(-0.005, 0.005))
        known = identify([Setup(sweep)], re=(meter, 0.005 / np.sqrt(3.0)), coil="le")
        for name in ("fs", "qms", "qes", "qts"):
            item = known.parameters[name]
            found.setdefault(name, []).append(abs(item.value - truth()[name]) / item.error)
    for name, misses in found.items():
        for edge, share in ((1.0, 0.6827), (1.959964, 0.95)):
            within = float(np.mean(np.array(misses) < edge))
            # Binomial: three standard deviations; wider than said is no fault.
            assert within > share - 3.0 * np.sqrt(share * (1.0 - share) / draws), (name, edge)
        assert np.mean(np.array(misses) < 1.0) < 0.85, name


@settings(max_examples=120, deadline=None)
@given(
    st.sampled_from(["driver", "meter", "free_air", "mass", "box", "cup"]),
    st.sampled_from(
        ["name", "diameter", "dc_ohms", "resistor", "error", "readings", "peak", "tea"]
    ),
    st.one_of(
        st.integers(-3, 3), st.booleans(), st.text(max_size=12), st.floats(allow_nan=False),
        st.lists(st.one_of(st.text(max_size=6), st.integers(0, 9)), max_size=4),
        st.lists(st.lists(st.sampled_from(["50 Hz", "0.1 V", "", "x"]), max_size=4), max_size=3),
    ),
)  # fmt: skip
def test_any_entry_is_read_or_refused_in_words(table, key, value):
    tables = tomllib.loads(form())
    tables.setdefault(table, {})[key] = value
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "form.toml"
        file.write_text(tomlkit.dumps(tables), encoding="utf-8")
        with contextlib.suppress(InputError):
            found(read_readings(file))
