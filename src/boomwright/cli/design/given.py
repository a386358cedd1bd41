"""What a build file, or a battery in words, gives to the design of a block."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from boomwright.build.audio import Amplifier
from boomwright.build.drawer import Drawer
from boomwright.build.model import Build
from boomwright.build.nearest import nearest
from boomwright.build.power import Battery, Cutoff, Fed, Fuse, Named, Polarity, Rail, Switch
from boomwright.cli.asked import Asked
from boomwright.cli.opening import drawer_of, opened
from boomwright.design.cutoff.wish import cutoff_wish
from boomwright.outcome.data import Outcome
from boomwright.outcome.plan import FUSE_KINDS
from boomwright.outcome.run import run_build
from boomwright.physics.chemistry import load_chemistries
from boomwright.physics.fuse import fuse_resistance
from boomwright.physics.pack import battery_pack
from boomwright.physics.wire import wire_resistance

__all__ = [
    "Given",
    "Volts",
    "amplifier_of",
    "battery_resistance",
    "chosen_part",
    "path_resistance",
    "read_given",
    "volts_of",
]

_LEADS = 0.02
"""Leads and contacts beside a battery given in words [Ω]; common practice, no source."""

_Part = TypeVar("_Part", bound=Named)


@dataclass(frozen=True)
class Given:
    """A build with the likely outcome of using it.

    Parameters
    ----------
    file : Path
        Where it stands.
    build : Build
        The build.
    outcome : Outcome
        Its likely version, worked out.
    """

    file: Path
    build: Build
    outcome: Outcome

    def chain(self, part: Fed) -> tuple[Fed, ...]:
        """Parts between the source and a part, the source's side first, the part left out."""
        fed = {item.name: item for _, item in self.build.fed()}
        above: list[Fed] = []
        name = part.fed_by
        while name in fed:
            above.insert(0, fed[name])
            name = fed[name].fed_by
        return tuple(above)

    def rail_of(self, part: Fed) -> Rail | None:
        """Converter nearest above a part."""
        rails = [item for item in self.chain(part) if isinstance(item, Rail)]
        return rails[-1] if rails else None

    def taken_from(self, name: str) -> float:
        """Greatest average current of what hangs on a part, over all ways of use [A]."""
        fed = [item.name for _, item in self.build.fed() if item.fed_by == name]
        return max(
            sum(scenario.part(item).amps.likely for item in fed)
            for scenario in self.outcome.scenarios
        )


@dataclass(frozen=True)
class Volts:
    """Battery volts: emptiest, usual and fullest, with what they are those of.

    Parameters
    ----------
    low, usual, high : float
        Volts [V].
    of : str
        In words.
    battery : Battery or None
        The battery, where it is known.
    """

    low: float
    usual: float
    high: float
    of: str
    battery: Battery | None = None


def read_given(file: Path | None, parts: Path | None) -> tuple[Given | None, Drawer]:
    """A build file worked out, None without one; and the drawer with all own parts over it."""
    if file is None:
        return None, drawer_of(parts)
    build, drawer = opened(file, parts)
    return Given(file, build, run_build(build, versions=0, drawer=drawer)), drawer


def volts_of(asked: Asked, given: Given | None, *, example: str) -> Volts:
    """Battery volts from options, from a battery in words, or from a build file.

    Parameters
    ----------
    asked : Asked
        Options ``--battery``, ``--lowest`` and ``--highest``; what is missing is noted there.
    given : Given or None
        The build.
    example : str
        A whole command that would do.

    Returns
    -------
    Volts
    """
    low, high = asked.number("--lowest", "voltage"), asked.number("--highest", "voltage")
    battery = asked.battery("--battery")
    if given is not None:
        if asked.given("--battery"):
            asked.wrong("--battery", "both a build file and a battery were given", hint="Give one.")
        base = _build_volts(given)
    elif battery is not None:
        wish = cutoff_wish(battery)
        usual = load_chemistries()[battery.chemistry].voltage_nominal * battery.cells
        base = Volts(wish.off, usual, wish.highest, _named(battery), battery)
    else:
        if not asked.given("--battery"):
            missing = [option for option in ("--lowest", "--highest") if not asked.given(option)]
            if missing:
                alone = len(missing) == 1
                says = (
                    f"needs {missing[0]} beside it"
                    if alone
                    else "neither a build file nor --battery nor --lowest and --highest were given"
                )
                other = "--highest" if missing[0] == "--lowest" else "--lowest"
                asked.wrong(other if alone else "", says, hint=f"Such as: {example}")
        bottom, top = low or 10.5, high or 14.4
        return Volts(bottom, 0.5 * (bottom + top), top, "a battery", None)
    bottom = base.low if low is None else low
    top = base.high if high is None else high
    usual = min(max(base.usual, min(bottom, top)), max(bottom, top))
    return Volts(bottom, usual, top, base.of, base.battery)


def _build_volts(given: Given) -> Volts:
    build, source = given.build, given.outcome.source
    if build.battery is None:
        if build.supply is None:
            raise TypeError("a build without a source")
        volts = build.supply.voltage
        return Volts(volts.low, volts.likely, volts.high, build.name)
    battery = build.battery
    floor = max([source.volts_floor, *(cutoff.off.likely for cutoff in build.cutoff)])
    usual = load_chemistries()[battery.chemistry].voltage_nominal * battery.cells
    high = max(source.volts_charging, source.volts_full.likely)
    return Volts(min(floor, usual), usual, high, build.name, battery)


def _named(battery: Battery) -> str:
    return f"{battery.cells} cells of {battery.chemistry}, {battery.capacity}"


def chosen_part(asked: Asked, option: str, parts: Sequence[_Part]) -> _Part | None:
    """The part that an option names, the first without it, None where there is none of them."""
    word = asked.text(option)
    if not word:
        return parts[0] if parts else None
    for part in parts:
        if part.name == word:
            return part
    names = [part.name for part in parts]
    hint = nearest(word, names) if asked.file is not None else "It names a part of a build file."
    asked.wrong(option, f"no part of that name: {word!r}", hint=hint)
    return None


def battery_resistance(battery: Battery) -> float:
    """Resistance of a battery in words with its leads, at once after a step of current [Ω]."""
    chemistry = load_chemistries()[battery.chemistry]
    pack = battery_pack(
        chemistry,
        capacity_rated=battery.capacity.likely,
        duration_rated=chemistry.duration_rated,
        cells=battery.cells,
        strings=battery.strings,
    )
    return float(pack.resistance_ohmic) + _LEADS


def path_resistance(given: Given, parts: Sequence[Fed]) -> float:
    """Resistance of the source and of parts one behind the other with their leads [Ω]."""
    total = given.outcome.source.resistance.likely
    for part in parts:
        total += 2.0 * float(wire_resistance(part.lead.area.likely, part.lead.length.likely))
        if isinstance(part, Switch | Cutoff | Polarity):
            total += part.resistance.likely
        elif isinstance(part, Fuse):
            total += float(fuse_resistance(part.rating.likely, kind=FUSE_KINDS[part.type]))
    return total


def amplifier_of(asked: Asked, given: Given | None) -> Amplifier | None:
    """The amplifier that ``--amplifier`` names, or the build's first."""
    return chosen_part(asked, "--amplifier", given.build.amplifier if given is not None else ())
