"""Rules on the box."""

import pytest
from tests.advice.cases import BASE, example, findings, mended, only, with_
from tests.advice.tuned import figures, tuned

FIRST = example("first-attempt")


def cabinet(**values):
    return with_(BASE, {"cabinet": values})


SMALL = with_(
    BASE,
    {"driver": {"volume_taken": "0.4 L (standard)"}},
    ["cabinet"],
) + ('\n[cabinet]\nvolume = "3 L (standard)"\nelectronics_apart = true\nleaks = "tight"\n')


def test_box_too_small():
    found = only("box-too-small", SMALL)
    assert (found.level, found.where) == ("mind", "driver")
    # qts 0.632; 1.1 L each against vas 8 L: 0.632 sqrt(1 + 8/1.1) = 1.82
    assert figures(found)["Q in the box"] == pytest.approx(1.82, rel=0.01)
    assert "Q of 1.8" in found.says
    assert "2.2 L" in found.says


def test_air_asked_for_tames_the_box():
    wanted = figures(only("box-too-small", SMALL))["air wanted"]
    # Two drivers of 0.4 L come on top of the air.
    larger = SMALL.replace("3 L (standard)", f"{wanted * 1e3 + 0.8:.1f} L (standard)")
    assert findings("box-too-small", larger) == []


def test_hump_and_air_wanted_count_what_other_drivers_take_of_the_air():
    told = figures(only("box-too-small", both(other="driver-5in-8ohm")))
    # Shares go by vas, so both meet (8 + 50) L/12.16 L = 4.770; qts 0.6316 becomes 1.517, and its
    # hump is 20 log10(Q²/sqrt(Q² - 1/4)) (Small 1972).
    assert told["air in the box"] == pytest.approx(12.16e-3, rel=1e-6)
    assert told["Q in the box"] == pytest.approx(1.517, rel=1e-3)
    assert told["hump"] == pytest.approx(4.12, rel=2e-3)
    # A Q of 0.9 needs 58 L/((0.9/0.6316)² - 1) for both.
    assert told["air wanted"] == pytest.approx(56.3e-3, rel=2e-3)


def test_driver_that_no_box_tames():
    text = with_(BASE, {"driver": {"qes": "2.2 (measured)"}})
    found = only("box-too-small", text)
    assert "No closed box" in found.do
    assert "1.4" in found.do


def test_first_attempt_is_boomy():
    assert "Q of 2.1" in only("box-too-small", FIRST).says


def test_box_of_good_size():
    assert findings("box-too-small", BASE) == []
    assert findings("box-too-small", cabinet(type="vented")) == []


def test_no_cabinet():
    found = only("cabinet-missing", with_(BASE, remove=["cabinet"]))
    assert (found.level, found.where) == ("mind", "cabinet")
    assert "2 drivers" in found.says
    assert findings("cabinet-missing", BASE) == []


def test_leaky_box():
    found = only("box-leaks", cabinet(leaks="leaky"))
    assert (found.level, found.where) == ("mind", "cabinet")
    assert "13 L" in found.says


@pytest.mark.parametrize("leaks", ["tight", "unknown"])
def test_box_not_known_to_leak_is_not_scolded(leaks):
    assert findings("box-leaks", cabinet(leaks=leaks)) == []


def test_leaks_of_a_vented_box_are_not_judged():
    assert findings("box-leaks", cabinet(type="vented", leaks="leaky")) == []


@pytest.mark.parametrize(
    ("taken", "level", "words"), [("10 L", "mind", "78 %"), ("20 L", "stop", "all of the")]
)
def test_things_do_not_fit(taken, level, words):
    found = only("things-do-not-fit", cabinet(taken=f"{taken} (standard)"))
    assert (found.level, found.where) == (level, "cabinet")
    assert words in found.says


def test_things_fit():
    assert findings("things-do-not-fit", BASE) == []
    assert findings("things-do-not-fit", cabinet(taken="7 L (standard)")) == []
    assert findings("things-do-not-fit", with_(BASE, remove=["cabinet"])) == []


def test_bass_of_a_driver_that_is_not_known():
    found = only("bass-guessed", tuned({"fs": None, "qes": None}))
    assert (found.level, found.where) == ("mind", "driver")
    assert "no fs and no qes" in found.says
    assert "100 Hz is taken" in found.says


def test_bass_of_a_driver_without_vas():
    # 89.61 dB for 1 W in the coil is what 40 Hz, 40 L and 0.4504 make (Small 1972); a watt in 8 ohm
    # is 1.25 dB more in the 6 ohm of the coil. The flat box comes back.
    text = tuned({"vas": None, "sensitivity": "90.86 dB (standard)"})
    found = only("bass-guessed", text)
    assert "no vas" in found.says
    assert figures(found)["bass end taken"] == pytest.approx(40.0, rel=0.01)


def test_vented_box_without_vent_or_tuning():
    found = only("bass-guessed", tuned(cabinet={"vent": None}))
    assert (found.level, found.where) == ("mind", "driver")
    assert "55 Hz is taken, the usual tuning" in found.says
    assert "[cabinet.vent]" in found.do


@pytest.mark.parametrize(
    "text",
    [
        BASE,
        tuned(),
        tuned(cabinet={"vent": None, "tuning": "41 Hz (measured)"}),
        tuned({"low_end": "55 Hz (measured)"}, {"vent": None}),
        tuned({"fs": None, "low_end": "55 Hz (measured)"}),
        with_(BASE, {"cabinet": {"type": "open"}}),
        with_(BASE, remove=["cabinet"]),
    ],
    ids=["closed", "vented", "tuning", "end measured", "end of unknown", "open", "no box"],
)
def test_bass_that_is_worked_out_or_given(text):
    assert findings("bass-guessed", text) == []


CROWDED = with_(
    BASE,
    {
        "battery": {"part": "agm-12v-18ah"},
        "driver": [{"part": "driver-6in5-8ohm", "count": 1, "volume_taken": "0 L (standard)"}],
        "cabinet": {"volume": "7 L (standard)", "leaks": "tight"},
    },
    ["cabinet"],
)


def test_battery_in_the_air_of_the_driver():
    found = only("electronics-in-air", CROWDED)
    assert (found.level, found.where) == ("mind", "cabinet")
    # 0.3 L of boards and 18 Ah by 12 V at 12 cm³ a watt-hour: 2.89 L of the 7 L are taken.
    told = figures(found)
    assert told["air, chamber apart, over the air now"] == pytest.approx(7 / 4.108, rel=1e-3)
    # Qts 0.6316: Qtc 0.6316 sqrt(1 + 16/4.108) = 1.398 and, with 7 L, 1.145; humps by Small's
    # formula 20 log10(Q²/sqrt(Q² - 1/4)), of which bare walls take a twentieth.
    assert told["hump"] == pytest.approx(3.50, rel=0.05)
    assert told["hump, chamber apart"] == pytest.approx(2.10, rel=0.05)
    assert findings("electronics-in-air", mended(CROWDED, found)) == []


def test_box_that_booms_all_the_same_is_told_as_too_small():
    assert findings("electronics-in-air", FIRST) == []
    assert findings("box-too-small", FIRST) != []


def test_stated_volume_has_no_edit():
    found = only("electronics-in-air", with_(CROWDED, {"cabinet": {"taken": "3 L (measured)"}}))
    assert found.fix is None


@pytest.mark.parametrize(
    "text",
    [
        BASE,
        with_(BASE, {"cabinet": {"electronics_apart": False}}),
        with_(CROWDED, {"cabinet": {"taken": "6 L (measured)"}}),
        with_(CROWDED, {"cabinet": {"type": "open"}}),
        with_(CROWDED, {"cabinet": {"volume": "40 L (standard)"}}),
    ],
    ids=["apart", "a small battery", "told as crowded", "open", "large"],
)
def test_electronics_that_cost_little_or_are_told_elsewhere(text):
    assert findings("electronics-in-air", text) == []


def both(*, other="driver-3in-8ohm", **keys):
    drivers = [
        {"name": "bass", "part": "woofer-8in-8ohm", "channel": "left"},
        {"name": "wide", "part": other, "channel": "right", **keys},
    ]
    return with_(BASE, {"driver": drivers})


def test_unlike_drivers_on_the_same_air():
    found = only("shared-air", both(other="driver-4in-8ohm"))
    assert (found.level, found.where) == ("mind", "wide")
    # Qts 1/(1/4 + 1/0.85) = 0.701: 3.2 L/((0.9/0.701)² - 1) = 4.93 L.
    assert figures(found)["air for wide"] == pytest.approx(4.93e-3, rel=3e-3)
    assert "chamber of 4.9 L" in found.do


def test_driver_that_no_chamber_tames_gets_its_own_all_the_same():
    found = only("shared-air", both(qes="1.3 (measured)"))
    assert "a chamber of its own" in found.do
    # Qts 1/(1/4 + 1/1.3) = 0.981 has no air that makes it 0.9, so none is named.
    assert figures(found)["Q of wide"] == pytest.approx(0.981, rel=1e-3)
    assert "air for wide" not in figures(found)


@pytest.mark.parametrize(
    "text",
    [
        both(other="woofer-8in-4ohm"),
        both(other="tweeter-dome-25mm-8ohm", capacitor="6.8 µF"),
        with_(both(), {"cabinet": {"type": "open"}}),
        BASE,
    ],
    ids=["alike", "tweeter", "open", "one kind"],
)
def test_drivers_that_may_share(text):
    assert findings("shared-air", text) == []
