"""The air in the box: how much is left, and the size of its walls."""

from __future__ import annotations

import numpy as np

from boomwright.build.audio import Cabinet
from boomwright.build.draws import Draws
from boomwright.build.model import Build
from boomwright.build.quantities import Quantity, parse_quantity
from boomwright.physics.arrays import Floats

__all__ = ["gross_volume_of", "inside_size", "net_volume_of", "taken_of", "vent_volume"]

_BATTERY_VOLUME_PER_WH = {"lead": 0.012e-3, "other": 0.006e-3}
_TUBE_WALL = 2.5e-3
"""Wall of a plastic tube [m]; typical of drain pipe, from memory."""
_BOARDS = "0.3 L [0.1 to 0.8]"
# Width to height to depth of a box of which only the volume is known.
_USUAL_SHAPE = (1.0, 1.26, 0.8)


def inside_size(cabinet: Cabinet) -> tuple[float, float, float]:
    """Inside width, height and depth [m]; a usual shape where only the volume is given."""
    sizes = (cabinet.width, cabinet.height, cabinet.depth)
    if all(size is not None for size in sizes):
        width, height, depth = (size.likely for size in sizes if size is not None)
        return width, height, depth
    volume = cabinet.volume.likely if cabinet.volume else 10e-3
    edge = (volume / float(np.prod(_USUAL_SHAPE))) ** (1 / 3)
    return edge * _USUAL_SHAPE[0], edge * _USUAL_SHAPE[1], edge * _USUAL_SHAPE[2]


def gross_volume_of(cabinet: Cabinet) -> float:
    """Inside volume before anything is put in [m³]."""
    if cabinet.volume is not None and not (cabinet.width and cabinet.height and cabinet.depth):
        return cabinet.volume.likely
    return float(np.prod(inside_size(cabinet)))


def taken_of(build: Build) -> Quantity:
    """Volume of what stands in the speaker's air, stated or estimated [m³]."""
    cabinet = build.cabinet
    if cabinet is None:
        raise ValueError("a build without a cabinet has no air to take")
    if cabinet.taken is not None:
        return cabinet.taken
    if cabinet.electronics_apart:
        return parse_quantity("0 L", "volume")
    boards = parse_quantity(f"{_BOARDS} (typical)", "volume")
    battery = 0.0
    if build.battery is not None:
        cell_volts = 2.0 if build.battery.chemistry.startswith("lead") else 3.4
        energy = build.battery.capacity.likely / 3600 * build.battery.strings
        energy *= build.battery.cells * cell_volts
        family = "lead" if build.battery.chemistry.startswith("lead") else "other"
        battery = energy * _BATTERY_VOLUME_PER_WH[family]
    return Quantity(
        boards.likely + battery,
        boards.low + 0.8 * battery,
        boards.high + 1.4 * battery,
        "volume",
        "typical",
    )


def net_volume_of(build: Build, draws: Draws) -> Floats:
    """Air left for the drivers, at least a twentieth of the box, shape (versions, 1) [m³]."""
    cabinet = build.cabinet
    if cabinet is None:
        raise ValueError("a build without a cabinet has no air")
    gross = gross_volume_of(cabinet)
    taken = draws.take("cabinet", "taken", taken_of(build))
    drivers = sum(
        driver.count * (driver.volume_taken.likely if driver.volume_taken else 0.0)
        for driver in build.driver
    )
    fixed = drivers + cabinet.bracing.likely + vent_volume(cabinet)
    return np.maximum(gross - taken - fixed, gross / 20)


def vent_volume(cabinet: Cabinet) -> float:
    """Volume that the vents themselves take inside the box, walls included [m³]."""
    vent = cabinet.vent
    if vent is None or cabinet.type != "vented":
        return 0.0
    inside = max(vent.length.likely - cabinet.wall.likely, 0.0)
    if vent.diameter is not None and vent.shape == "round":
        across = vent.diameter.likely + 2.0 * _TUBE_WALL
        return vent.count * np.pi * across**2 / 4.0 * inside
    if vent.width is None or vent.height is None:
        return 0.0
    # One board makes a slot; the box is its other side.
    return vent.count * vent.width.likely * (vent.height.likely + cabinet.wall.likely) * inside
