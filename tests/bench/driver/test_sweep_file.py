"""Sweep files of every kind of program, and what is wrong with some, named."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.bench.driver.drivers import DRIVER, grid

from boomwright.bench.driver.sweep_file import parse_sweep, read_sweep
from boomwright.errors import InputError
from boomwright.physics.driver import electrical_impedance

HERTZ = grid(48)
OHMS = electrical_impedance(DRIVER, HERTZ)


def text(*, sep=",", mark=".", head="", phase="deg", hertz=HERTZ, ohms=OHMS, form="{:.5f}"):
    columns = [hertz, np.abs(ohms)]
    if phase == "deg":
        columns.append(np.angle(ohms, deg=True))
    if phase == "rad":
        columns.append(np.angle(ohms))
    rows = (sep.join(form.format(cell) for cell in row) for row in zip(*columns, strict=True))
    body = "\n".join(rows).replace(".", mark)
    return f"{head}\n{body}\n" if head else f"{body}\n"


def says(sweep):
    return " ".join(remark.says for remark in sweep.remarks)


@pytest.mark.parametrize(("sep", "mark"), [
    (",", "."), (", ", "."), (";", "."), (";", ","), ("; ", ","), ("\t", "."), ("\t", ","),
    (" ", "."), ("   ", ","),
])  # fmt: skip
@pytest.mark.parametrize("head", ["", "Freq(Hz) Z(Ohms) Phase(deg)", "# made on an allotment day"])
def test_separators_decimal_marks_and_heads(sep, mark, head):
    sweep = parse_sweep(text(sep=sep, mark=mark, head=head.replace(" ", sep)))
    assert sweep.frequency == pytest.approx(HERTZ, rel=1e-4)
    assert sweep.magnitude == pytest.approx(np.abs(OHMS), rel=1e-4)
    assert sweep.phase == pytest.approx(np.angle(OHMS), abs=1e-4)  # rad, five decimals of a degree


@pytest.mark.parametrize("raw", [
    lambda t: t.encode("utf-8-sig"), lambda t: t.encode("utf-16"),
    lambda t: t.encode("latin-1"), lambda t: t.replace("\n", "\r\n").encode(),
    lambda t: t.replace("\n", "\r").encode(),
])  # fmt: skip
def test_encodings_and_line_ends(tmp_path, raw):
    file = tmp_path / "z.txt"
    file.write_bytes(raw(text(sep=";", head="f;|Z|;Winkel °")))
    assert read_sweep(file).magnitude == pytest.approx(np.abs(OHMS), rel=1e-4)


def test_columns_are_taken_by_the_words_above_them():
    rows = "\n".join(
        f"{np.angle(z, deg=True):.5f},{abs(z):.5f},{f:.5f}"
        for f, z in zip(HERTZ, OHMS, strict=True)
    )
    sweep = parse_sweep(f"phase [deg],|Z| [ohm],frequency [Hz]\n{rows}\n")
    assert sweep.frequency == pytest.approx(HERTZ, rel=1e-4)
    assert sweep.phase == pytest.approx(np.angle(OHMS), abs=1e-4)  # rad


def test_real_and_imaginary_columns():
    rows = "\n".join(
        f"{f:.5f}\t{z.real:.6f}\t{z.imag:.6f}" for f, z in zip(HERTZ, OHMS, strict=True)
    )
    sweep = parse_sweep(f"freq\tRe\tIm\n{rows}\n")
    assert sweep.magnitude == pytest.approx(np.abs(OHMS), rel=1e-4)
    assert sweep.phase == pytest.approx(np.angle(OHMS), abs=1e-4)  # rad


def test_kilohertz_by_its_head():
    head = "f [kHz];Z [Ohm]"
    sweep = parse_sweep(text(sep=";", head=head, phase="", hertz=HERTZ / 1e3, form="{:.7f}"))
    assert sweep.frequency == pytest.approx(HERTZ, rel=1e-4)


def test_missing_phase_is_fine_and_said():
    sweep = parse_sweep(text(phase=""))
    assert sweep.phase is None
    assert "no phase" in says(sweep)


def test_phase_in_radians_is_seen_by_its_size():
    sweep = parse_sweep(text(phase="rad"))
    assert sweep.phase == pytest.approx(np.angle(OHMS), abs=1e-4)  # rad
    assert "radians" in says(sweep)


@pytest.mark.parametrize("phase", ["deg", "rad"])
def test_phase_of_the_wrong_sign_is_turned(phase):
    sweep = parse_sweep(text(phase=phase, ohms=np.conj(OHMS)))
    assert sweep.phase == pytest.approx(np.angle(OHMS), abs=1e-4)  # rad
    assert "wrong sign" in says(sweep)


def test_phase_of_something_else_is_left_out():
    ohms = np.abs(OHMS) * np.exp(1j * np.random.default_rng(5).uniform(-1.2, 1.2, OHMS.size))
    sweep = parse_sweep(text(ohms=ohms))
    assert sweep.phase is None
    assert "does not follow from the magnitude" in says(sweep)


def test_unsorted_and_doubled_frequencies_are_put_right():
    order = np.random.default_rng(2).permutation(np.r_[np.arange(HERTZ.size), 7, 7])
    sweep = parse_sweep(text(hertz=HERTZ[order], ohms=OHMS[order]))
    assert sweep.frequency == pytest.approx(HERTZ, rel=1e-4)
    assert sweep.magnitude == pytest.approx(np.abs(OHMS), rel=1e-4)
    assert "were sorted" in says(sweep)
    assert "1 frequencies stood more than once" in says(sweep)


@pytest.mark.parametrize("word", ["nan", "NaN", "inf", "-inf", "---", "1.#INF", "0", "-4.2"])
def test_a_few_rows_that_are_no_measurement_are_left_out(word):
    lines = text().splitlines()
    lines[20] = f"{HERTZ[20]:.3f},{word},0"
    sweep = parse_sweep("\n".join(lines))
    assert sweep.frequency.size == HERTZ.size - 1
    assert "line 21" in says(sweep)


def refused(written):
    with pytest.raises(InputError) as caught:
        parse_sweep(written, file="stall.csv")
    return str(caught.value)


def test_many_such_rows_are_refused():
    lines = text().splitlines()
    for number in range(10, 25):
        lines[number] = f"{HERTZ[number]:.3f},0,0"
    told = refused("\n".join(lines))
    assert "15 of 48 rows are no measurement" in told
    assert "lines 11, 12" in told


def test_swapped_columns_are_named():
    told = refused("\n".join(f"{abs(z):.4f} {f:.4f}" for f, z in zip(HERTZ, OHMS, strict=True)))
    assert "columns are swapped" in told
    assert "10 to 8000 in the second" in told


def test_kilohertz_read_as_hertz_are_named():
    told = refused(text(phase="", hertz=grid(48, 20.0, 2e4) / 1e3, form="{:.6f}"))
    assert "kilohertz" in told
    assert "0.02 to 20" in told


def test_frequencies_a_thousand_times_too_high_are_named():
    told = refused(text(phase="", hertz=1e3 * grid(48, 20.0, 2e4)))
    assert "a thousand times too high" in told
    assert "20000 to 2e+07" in told


def test_comma_between_columns_and_in_numbers_is_named():
    told = refused("\n".join(f"{20 + n},5,{7 + n},3" for n in range(12)))
    assert "20, 5, 7, 3" in told
    assert "within the numbers too" in told


def test_lines_that_are_no_rows_are_all_named():
    lines = text().splitlines()
    lines[5], lines[9] = "35,5 Hz and more", "a cup of tea"
    told = refused("\n".join(lines))
    assert "stall.csv:6:" in told
    assert "a cup of tea" in told


def test_row_with_a_column_too_many_is_named():
    lines = text(phase="").splitlines()
    lines[7] += ",5"
    told = refused("\n".join(lines))
    assert "stall.csv:8:" in told
    assert repr(lines[7]) in told


def test_typeset_minus_is_a_minus():
    typeset = text().replace("-", "\N{MINUS SIGN}")
    assert typeset != text()
    assert np.array_equal(parse_sweep(typeset).phase, parse_sweep(text()).phase)


def test_ohms_below_zero_show_what_was_read():
    told = refused(text(ohms=OHMS, phase="").replace(",", ",-"))
    assert "no frequencies and ohms above zero; read" in told
    assert "stall.csv:" in told


def test_too_few_points_lead_to_the_other_command():
    told = refused(text(hertz=HERTZ[:5], ohms=OHMS[:5]))
    assert "only 5 points" in told
    assert "identify readings" in told


@pytest.mark.parametrize("written", ["", "\n\n", "nothing here\n", "1\n2\n3\n", "# only words\n"])
def test_text_without_numbers_is_refused(written):
    assert "no numbers in columns" in refused(written)


def test_file_that_is_missing_or_no_text(tmp_path):
    with pytest.raises(InputError, match="No such file"):
        read_sweep(tmp_path / "gone.txt")
    sound = tmp_path / "take.wav"
    sound.write_bytes(b"RIFF\x00\x00\x00\x00WAVEfmt ")
    with pytest.raises(InputError, match=r"identify recording take\.wav"):
        read_sweep(sound)


@settings(max_examples=150, deadline=None)
@given(st.text(alphabet="0123456789.,;- \t\neEnaif#°Ω", max_size=300))
def test_any_text_is_read_or_refused_in_words(written):
    try:
        sweep = parse_sweep(written)
    except InputError:
        pass
    else:
        assert (np.diff(sweep.frequency) > 0.0).all()
        assert (sweep.magnitude > 0.0).all()
