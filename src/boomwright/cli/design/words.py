"""Words that the pages of several blocks share."""

from __future__ import annotations

from boomwright.build.quantities import format_quantity
from boomwright.cli.design.given import Given, Volts

__all__ = ["BATTERY", "amps", "of", "span", "volts"]

BATTERY = '"12 V 7 Ah AGM"'
"""A battery in words, for an example of a command."""


def volts(value: float) -> str:
    """Volts in words, the second decimal of a battery's with them."""
    return format_quantity(value, "voltage", digits=4 if value >= 10.0 else 3)


def amps(value: float) -> str:
    """Current in words, as exact as a load is known."""
    return format_quantity(value, "current", digits=2)


def span(battery: Volts) -> str:
    """Whose volts, and from where to where."""
    if battery.low == battery.high:
        return f"{battery.of}, {volts(battery.low)}"
    return f"{battery.of}, {volts(battery.low)} to {volts(battery.high)}"


def of(given: Given | None) -> str:
    """Name of the build ahead of what it gives; empty without one."""
    return "" if given is None else f"{given.build.name}: "
