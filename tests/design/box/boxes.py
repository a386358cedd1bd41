"""Drivers and wishes that several tests of boxes take."""

from __future__ import annotations

from boomwright.build.audio import Driver
from boomwright.build.quantities import parse_quantity
from boomwright.design.box.wish import BoxWish


def quantity(text, kind):
    return parse_quantity(f"{text} (standard)", kind)


def driver(**other):
    """A 6.5-inch driver made for a vent, every number certain."""
    given = {
        "fs": ("41 Hz", "frequency"),
        "qes": ("0.39", "ratio"),
        "qms": ("4.4", "ratio"),
        "vas": ("21 L", "volume"),
        "sd": ("133 cm²", "cone"),
        "xmax": ("4.5 mm", "length"),
        "re": ("5.7 Ω", "resistance"),
        "le": ("0.4 mH", "inductance"),
        "power": ("45 W", "power"),
        "high_end": ("9 kHz", "frequency"),
        "volume_taken": ("0.6 L", "volume"),
        **other,
    }
    values = {key: quantity(*value) for key, value in given.items() if value is not None}
    return Driver.model_construct(
        name="woofer", impedance=quantity("8 Ω", "resistance"), band="low", **values
    )


def wish(*, changed=None, **other):
    """A wish with that driver on a 12 V battery and a bridge amplifier."""
    values = {"volts": (12.3, 10.9, 9.4), "resistance": 0.2, "versions": 20, **other}
    return BoxWish(driver=driver(**(changed or {})), **values)
