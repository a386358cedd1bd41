"""A soldered mute, read from a build file and worked out."""

import math

import numpy as np
import pytest
from tests.build.readings import SHORT, problems_of

from boomwright.build.circuits import MuteCircuit
from boomwright.build.drawer import load_drawer
from boomwright.build.read import parse_build
from boomwright.build.soldered_mute import delay_after_break
from boomwright.design.mute.design import design_mute
from boomwright.physics.smoothing import charging_time

DRAWER = load_drawer()
PIN = 'resistor = "10 kΩ"\ncapacitor = "100 µF"\n'


def text_of(circuit: str, more: str = "") -> str:
    return f"{SHORT.replace('[driver]', more + '[driver]')}[amplifier.mute_circuit]\n{circuit}"


def delay(circuit: str, more: str = ""):
    return parse_build(text_of(circuit, more)).amplifier[0].mute_delay


def test_a_capacitor_at_the_pin():
    found = delay(PIN + 'threshold = "5 V (standard)"\n')
    # Midway between the emptiest and the fullest battery, 10.5 V and 14.7 V.
    assert found.likely == pytest.approx(math.log(12.6 / 7.6), rel=1e-4)
    assert found.low < 0.85 * found.likely
    assert found.high > 1.2 * found.likely
    assert found.basis == "typical"


@pytest.mark.parametrize("kind", ["mute-low", "mute-high", "relay"])
@pytest.mark.parametrize("wanted", [0.5, 2.0])
def test_a_delay_is_the_designs(kind, wanted):
    sheet = design_mute(
        kind, on_delay=wanted, supply=12.6, supply_low=10.5, supply_high=14.7, drawer=DRAWER
    )
    ohms = {
        key: sheet.netlist.part(name).resistance
        for key, name in (("resistor", "R1"), ("divider_top", "R2"), ("divider_bottom", "R3"))
    }
    farads = sheet.netlist.part("C1").capacitance
    lines = [f'{key} = "{value:g} Ω"' for key, value in ohms.items()]
    found = delay("\n".join([f'kind = "{kind}"', f'capacitor = "{farads:g} F"', *lines]) + "\n")
    timed = sheet.figure("sound comes after")
    assert found.likely == pytest.approx(timed.likely, rel=0.06)
    # Corners that add up lie further out than what nine in ten boxes do.
    assert timed.low < found.low
    assert found.high < timed.high


def test_what_the_file_says_wins():
    assert delay(PIN, 'mute_delay = "1.3 s (measured)"\n').likely == 1.3


def test_a_stated_tolerance_narrows_it():
    wide = delay(PIN)
    tight = delay('resistor = "10 kΩ ±1 %"\ncapacitor = "100 µF ±5 %"\n')
    assert tight.high / tight.low < wide.high / wide.low


@pytest.mark.parametrize(
    ("circuit", "line", "key", "fragment"),
    [
        ('resistor = "10 kΩ"\n', 14, "capacitor", "missing"),
        (PIN + 'kind = "mute-lo"\n', 17, "kind", "Did you mean 'mute-low'?"),
        (PIN + 'divider_top = "82 kΩ"\n', 17, "divider_top", "no divider"),
        (PIN + 'discharge = "1N4149"\n', 17, "discharge", "Did you mean '1N4148'?"),
        (PIN + 'threshold = "15 V"\n', 14, "", "never lets sound pass"),
        (
            PIN + 'kind = "relay"\ndivider_top = "82 kΩ"\n',
            14,
            "divider_bottom",
            "a mute of kind 'relay' needs it",
        ),
    ],
)
def test_every_mistake_has_its_line_and_key(circuit, line, key, fragment):
    (found,) = problems_of(text_of(circuit), DRAWER)
    assert found.line == line
    assert found.key == ".".join(filter(None, ["amplifier.mute_circuit", key]))
    assert fragment in str(found)


def test_charging_at_its_limits():
    usual = {"divider": np.inf, "voltage": 12.0}
    assert charging_time(1e4, 1e-4, threshold=12.5, **usual) == np.inf
    assert charging_time(1e4, 1e-4, threshold=5.0, start=6.0, **usual) == 0.0
    times = charging_time(1e4, 1e-4, threshold=np.array([[2.0], [4.0]]), start=np.zeros(3), **usual)
    assert times.shape == (2, 3)
    assert np.all(np.diff(times, axis=0) > 0.0)
    half = charging_time(1e4, 1e-4, divider=1e4, voltage=12.0, threshold=3.0)
    assert half == pytest.approx(0.5 * math.log(2.0), rel=1e-12)


def test_a_break_leaves_what_the_rail_or_the_resistors_leave():
    circuit = MuteCircuit.model_validate(
        {"resistor": "10 kΩ", "capacitor": "100 µF", "threshold": "6 V"}
    )
    quick = delay_after_break(circuit, supply=12.0, off=1.0, rail=0.05)
    slow = delay_after_break(circuit, supply=12.0, off=1.0, rail=20.0)
    # The capacitor never stands above what its own resistor leaves.
    left = 12.0 * math.exp(-1.0)
    assert quick == pytest.approx(math.log((12.0 - 0.6) / 6.0), rel=1e-6)
    assert slow == pytest.approx(math.log((12.0 - left) / 6.0), rel=1e-6)
    bare = circuit.model_copy(update={"discharge": ""})
    assert delay_after_break(bare, supply=12.0, off=1.0, rail=0.05) == pytest.approx(slow)
