"""Pairs of drivers for the tests of the split, and what is written of a design."""

from __future__ import annotations

from functools import cache

from boomwright.build.audio import Cabinet, Driver
from boomwright.build.drawer import load_drawer
from boomwright.build.draws import Draws
from boomwright.build.model import Build
from boomwright.build.power import Supply
from boomwright.build.quantities import parse_quantity
from boomwright.design.split.design import SplitDesign, design_split
from boomwright.design.split.drive import Drive, drive_of, with_usual_q
from boomwright.design.split.wish import SplitWish

PAIRS = {
    "8 ohm": ("woofer-6in5-8ohm", "tweeter-dome-25mm-8ohm"),
    "4 ohm": ("woofer-compact-4in-4ohm", "tweeter-dome-19mm-4ohm"),
    "small": ("driver-4in-8ohm", "tweeter-cone-2in-8ohm"),
}


def driver(name: str, **changed: object) -> Driver:
    """A driver of the drawer with some values of its own."""
    part = load_drawer().part("driver", name)
    assert isinstance(part, Driver)
    return with_usual_q(part.model_copy(update=changed))


def build_of(*drivers: Driver, volume: str = "20 L") -> Build:
    """The least build that two drivers in a closed box make."""
    return Build(
        name="split",
        supply=Supply(
            name="supply",
            voltage=parse_quantity("12 V", "voltage"),
            current_limit=parse_quantity("3 A", "current"),
        ),
        amplifier=(load_drawer().part("amplifier", "class-d-bridge-2x30"),),
        driver=drivers,
        cabinet=Cabinet(
            name="box", volume=parse_quantity(volume, "volume"), electronics_apart=True
        ),
    )


def drives(*drivers: Driver, count: int = 1) -> tuple[Drive, ...]:
    """Drivers in numbers."""
    build = build_of(*drivers)
    return tuple(drive_of(one, count, build, Draws(0)) for one in drivers)


@cache
def pair(name: str) -> tuple[Drive, Drive]:
    """A woofer and a tweeter of the drawer."""
    low, high = (driver(one) for one in PAIRS[name])
    found = drives(low, high)
    return found[0], found[1]


@cache
def designed(name: str, alignment: str, order: int, builds: int = 60) -> SplitDesign:
    """A pair split."""
    low, high = pair(name)
    wish = SplitWish(alignment=alignment, order=order, builds=builds)  # type: ignore[arg-type]
    return design_split(low, high, wish)
