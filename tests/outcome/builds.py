"""Builds for the tests of the coupled run, as the text a person would write."""

from __future__ import annotations

import numpy as np

from boomwright.build.draws import Draws
from boomwright.build.model import Build
from boomwright.build.quantities import Quantity
from boomwright.build.read import parse_build
from boomwright.outcome.loudness import asked_volts
from boomwright.outcome.network import Drive
from boomwright.outcome.plan import Plan, make_plan
from boomwright.outcome.scenario import scenarios_of
from boomwright.physics.arrays import Floats

NO_LEAD = "50 mm² (standard), 0 m (standard)"

AGM = """
[battery]
chemistry = "lead-agm"
cells = 6
capacity = "7 Ah (standard)"
health = "100 % (standard)"
charged_to = "100 % (standard)"
"""

AMPLIFIER = f"""
[amplifier]
amplifier_class = "D"
topology = "bridge"
channels = 2
voltage_loss = "1.2 V (standard)"
output_resistance = "0.31 Ω (standard)"
idle_power = "0.7 W (standard)"
supply_min = "6 V"
supply_max = "27 V"
load_min = "4 Ω"
gain = "26 dB (standard)"
lead = "{NO_LEAD}"
"""

DRIVER = """
[driver]
impedance = "6 Ω (standard)"
sensitivity = "87 dB (standard)"
power = "33 W (standard)"
low_end = "90 Hz (standard)"
high_end = "14 kHz (standard)"
lead_length = "0 m"
count = 2
"""

WANT = """
[want]
level = "75 dB(A) at 2 m"
programme = "pop"
place = "floor"
outside = "25 °C (standard)"
"""

REAL = f"""
name = "A real one"
{WANT}
{AGM}
[fuse]
rating = "5 A"
lead = "1 mm² (standard), 0.2 m (standard)"

[switch]
resistance = "23 mΩ (standard)"
lead = "0.75 mm² (standard), 0.3 m (standard)"

[cutoff]
off = "10.8 V (standard)"
resistance = "31 mΩ (standard)"
drain_on = "9 mA (standard)"
drain_off = "1.1 mA (standard)"
lead = "0.75 mm² (standard), 0.25 m (standard)"

[load]
use = "light"
on_share = "100 % (standard)"
current = "0.13 A (standard)"
lead = "0.5 mm² (standard), 0.6 m (standard)"
{AMPLIFIER.replace(NO_LEAD, "0.75 mm² (standard), 0.4 m (standard)")}
{DRIVER}
"""
"""Fuse, switch, cutoff, lamp and a two-channel class D board, nothing uncertain."""

GUESSED = REAL
for _certain, _guess in (
    ('"7 Ah (standard)"', '"7 Ah (label)"'),
    ('health = "100 % (standard)"', 'health = "80 % [60 to 95] (guess)"'),
    ('"0.13 A (standard)"', '"0.13 A (guess)"'),
    ('"87 dB (standard)"', '"87 dB (guess)"'),
    ('"0.7 W (standard)"', '"0.7 W [0.3 to 1.6] (typical)"'),
    ('"1.2 V (standard)"', '"1.2 V [0.5 to 2] (typical)"'),
    ('"23 mΩ (standard)"', '"23 mΩ [5 to 60]"'),
    ('"10.8 V (standard)"', '"10.8 V ±0.2 V"'),
    ('"25 °C (standard)"', '"20 °C [5 to 30]"'),
):
    assert _certain in GUESSED
    GUESSED = GUESSED.replace(_certain, _guess)
GUESSED += """
[cabinet]
volume = "18 L"
"""

RAILS = f"""
name = "Rails"
{WANT.replace("75 dB", "84 dB")}
{AGM.replace("7 Ah", "12 Ah")}
[switch]
resistance = "19 mΩ (standard)"
lead = "1.5 mm² (standard), 0.2 m (standard)"

[[rail]]
name = "five"
type = "buck"
voltage = "5 V"
current_limit = "3 A (standard)"
idle_power = "90 mW (standard)"
efficiency = "87 % (standard)"
lead = "0.5 mm² (standard), 0.3 m (standard)"

[[rail]]
name = "high"
type = "boost"
voltage = "24 V"
current_limit = "4 A (standard)"
idle_power = "210 mW (standard)"
efficiency = "91 % (standard)"
input_min = "9 V (standard)"
lead = "1.5 mm² (standard), 0.15 m (standard)"

[receiver]
current = "45 mA (standard)"
lead = "0.25 mm² (standard), 0.2 m (standard)"

[usb]
current = "1.1 A (standard)"
lead = "0.35 mm² (standard), 0.1 m (standard)"
{AMPLIFIER}
fed_by = "high"
{DRIVER}
"""
"""A receiver and a phone on a buck converter, the amplifier on a boost converter."""


def lamp_box(current: str, *, off: str = "10.5 V (standard)", battery: str = AGM) -> str:
    """A lamp on a battery behind a cutoff without any loss; the amplifier takes next to nothing."""
    return f"""
name = "Lamp"
[want]
level = "30 dB(A) at 0.1 m"
outside = "25 °C (standard)"
{battery}
[cutoff]
off = "{off}"
resistance = "0 Ω (standard)"
drain_on = "0 A"
drain_off = "0 A"
lead = "{NO_LEAD}"

[load]
use = "light"
on_share = "100 % (standard)"
current = "{current} (standard)"
lead = "{NO_LEAD}"
{AMPLIFIER.replace("0.7 W", "0 W").replace("6 V", "1 V")}
{DRIVER}
"""


class Row(Draws):
    """One version of another set of draws, alone."""

    def __init__(self, draws: Draws, row: int) -> None:
        super().__init__(0, seed=draws.seed)
        self._draws, self._row = draws, row

    def take(self, part: str, field: str, quantity: Quantity) -> Floats:
        """Value of that version, shape (1, 1)."""
        values = self._draws.take(part, field, quantity)
        return values[self._row : self._row + 1] if len(values) > 1 else values


def build_of(text: str) -> Build:
    """The build a text describes."""
    return parse_build(text, file="test build")


def plan_of(text: str, *, versions: int = 0, seed: int = 0) -> Plan:
    """The build in numbers."""
    return make_plan(build_of(text), Draws(versions, seed=seed))


def drive_of(plan: Plan, *, volts: float | None = None, mode: str = "music") -> Drive:
    """What the build's scenarios ask for, or so many volts in each."""
    scenarios = scenarios_of(plan.build)
    asked = asked_volts(plan, scenarios)
    flat_out = np.array([scenario.level == "flat-out" for scenario in scenarios])
    if volts is not None:
        asked, flat_out = np.full_like(asked, volts), np.zeros_like(flat_out)
    phone = np.array([float(scenario.phone) for scenario in scenarios])
    return Drive(asked, flat_out, phone, mode=mode)  # type: ignore[arg-type]


def place_of(plan: Plan, name: str) -> int:
    """Place of a part in the plan."""
    return [node.name for node in plan.nodes].index(name)
