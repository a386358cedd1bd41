"""Parts of the drawer as devices of a circuit, with their spread drawn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from boomwright.build import components
from boomwright.build.circuits import CutoffCircuit
from boomwright.build.drawer import Drawer
from boomwright.build.draws import Draws
from boomwright.build.power import Named
from boomwright.build.quantities import Quantity, parse_quantity
from boomwright.circuit.blocks.cutoff import CUTOFF_FAMILIES, CutoffValues
from boomwright.circuit.parts import (
    Bipolar,
    Comparator,
    Diode,
    Mosfet,
    Relay,
    ShuntReference,
    Zener,
)
from boomwright.circuit.values import Floats
from boomwright.physics.wire import COPPER_TEMPERATURE_COEFFICIENT
from boomwright.physics.zener import zener_knee_and_slope, zener_temperature_coefficient

__all__ = ["DEVICE_KINDS", "Spread", "capacitor_spread", "cutoff_values", "resistor_spread"]

DEVICE_KINDS = {
    "relay": "relay",
    "zener": "zener",
    "transistor": "transistor",
    "mosfet": "transistor",
    "reference": "reference",
    "comparator": "comparator",
    "flyback": "diode",
}
"""Field of a circuit that names a device → kind of drawer part."""

_RESISTORS = (
    *("series_resistor", "base_resistor", "emitter_resistor", "zener_resistor"),
    *("feedback_resistor", "divider_top"),
    *("divider_bottom", "gate_resistor", "drive_resistor", "reference_resistor"),
)
_RESISTOR_TOLERANCE = 0.05
_CAPACITOR_SPREAD = (0.8, 1.5)
# Typical of class, from memory: an NPN at 1 mA stands between 0.60 and 0.67 V at 25 °C.
_SATURATION = parse_quantity("1 [0.3 to 4] (typical)", "ratio")
_SATURATION_SIZE = 1e-14
_ZENER_SHARE = parse_quantity("0.4 [0.15 to 1] (typical)", "ratio")
# A transistor whose threshold is at least this is meant for 10 V of drive, the others for 4.5 V;
# common practice, no source.
_FULL_DRIVE_THRESHOLD = 2.5
_LEAST_KNEE, _LEAST_CONTACT, _LEAST_DRIVE = 1e-3, 1e-6, 0.5
_FULL_DRIVE, _LOGIC_DRIVE = 10.0, 4.5


@dataclass(frozen=True, eq=False)
class Spread:
    """Draws for one circuit, as arrays of shape (versions,), the likely value first.

    Parameters
    ----------
    draws : Draws
        Where the values come from.
    owner : str
        Name of the circuit's part in the build.
    """

    draws: Draws
    owner: str

    def take(self, field: str, quantity: Quantity) -> Floats:
        """Values of a quantity."""
        values = self.draws.take(self.owner, f"circuit.{field}", quantity)[:, 0]
        return values if values.size > 1 else np.full(self.draws.versions, values[0])


def resistor_spread(quantity: Quantity) -> Quantity:
    """A resistor's value with 5 % of tolerance, unless its own is written.

    Examples
    --------
    >>> value = resistor_spread(parse_quantity("4.7 kΩ", "resistance"))
    >>> round(value.low), round(value.high)
    (4465, 4935)
    >>> round(resistor_spread(parse_quantity("4.7 kΩ ±1 %", "resistance")).high)
    4747
    """
    text = quantity.text
    if quantity.basis != "label" or any(mark in text for mark in "±[") or " to " in text:
        return quantity
    low, high = (quantity.likely * (1.0 + sign * _RESISTOR_TOLERANCE) for sign in (-1, 1))
    return Quantity(quantity.likely, low, high, quantity.kind, quantity.basis, text)


def capacitor_spread(quantity: Quantity) -> Quantity:
    """A capacitor's value with an electrolytic's tolerance, unless its own is written.

    Examples
    --------
    >>> value = capacitor_spread(parse_quantity("100 µF", "capacitance"))
    >>> round(value.low * 1e6), round(value.high * 1e6)
    (80, 150)
    """
    text = quantity.text
    if quantity.basis != "label" or any(mark in text for mark in "±[") or " to " in text:
        return quantity
    low, high = (quantity.likely * share for share in _CAPACITOR_SPREAD)
    return Quantity(quantity.likely, low, high, quantity.kind, quantity.basis, quantity.text)


def cutoff_values(
    circuit: CutoffCircuit, drawer: Drawer, spread: Spread, *, load_resistance: float
) -> CutoffValues:
    """Values of a cutoff circuit over the versions that its tolerances allow.

    Parameters
    ----------
    circuit : CutoffCircuit
        As the build file has it; its family's needs are met.
    drawer : Drawer
        Where its devices are looked up.
    spread : Spread
        Where values are drawn.
    load_resistance : float
        What hangs on it [Ω].

    Returns
    -------
    CutoffValues
        Arrays of shape (versions,).

    Raises
    ------
    KeyError
        If the drawer lacks a device.
    """
    needs = set(CUTOFF_FAMILIES[circuit.family].needs)

    def part(field: str) -> Named:
        return drawer.part(DEVICE_KINDS[field], getattr(circuit, field))

    found: dict[str, object] = {}
    if "relay" in needs:
        found["relay"] = _relay(part("relay"), spread)
    if "zener" in needs:
        found["zener"] = _zener(part("zener"), spread)
    if "transistor" in needs:
        found["transistor"] = _bipolar(part("transistor"), spread)
    if "mosfet" in needs:
        found["mosfet"] = _mosfet(part("mosfet"), spread)
    if "reference" in needs:
        found["reference"] = _reference(part("reference"), spread)
    if "comparator" in needs:
        item = part("comparator")
        if not isinstance(item, components.Comparator):
            raise TypeError(f"{circuit.comparator} is no comparator")
        found["comparator"] = Comparator(
            name="U1",
            plus="",
            minus="",
            output="",
            ground="",
            offset=spread.take("comparator.offset", item.offset),
        )
        found["supply_current"] = spread.take("comparator.supply_current", item.supply_current)
    if "flyback" in needs:
        found["flyback"] = Diode(
            name="D2", anode="", cathode="", saturation_current=1e-9, emission=1.8
        )
    for field in _RESISTORS:
        value = getattr(circuit, field)
        if value is not None:
            found[field] = spread.take(field, resistor_spread(value))
    if circuit.filter_capacitor is not None:
        capacitor = capacitor_spread(circuit.filter_capacitor)
        found["filter_capacitor"] = spread.take("filter_capacitor", capacitor)
    return CutoffValues(load_resistance=load_resistance, **found)  # type: ignore[arg-type]


def _relay(item: Named, spread: Spread) -> Relay:
    if not isinstance(item, components.Relay):
        raise TypeError(f"{item.title} is no relay")
    cold = spread.take("relay.coil_resistance", item.coil_resistance)
    # Shares of the rated voltage hold at 20 °C, and what pulls is the current.
    rated = item.coil_voltage.likely / cold
    operate = spread.take("relay.operate", item.operate) * rated
    contact = spread.take("relay.contact_resistance", item.contact_resistance)
    release = np.minimum(spread.take("relay.release", item.release) * rated, 0.95 * operate)
    return Relay(
        name="K1",
        coil_a="",
        coil_b="",
        coil_resistance=cold * (1.0 + 5.0 * COPPER_TEMPERATURE_COEFFICIENT),
        coil_inductance=spread.take("relay.coil_inductance", item.coil_inductance),
        operate=operate,
        release=release,
        contact_resistance=np.maximum(contact, _LEAST_CONTACT),
    )


def _zener(item: Named, spread: Spread) -> Zener:
    if not isinstance(item, components.Zener):
        raise TypeError(f"{item.title} is no zener diode")
    knee, slope = zener_knee_and_slope(
        test_current=item.test_current.likely,
        slope_most=item.slope.likely,
        knee_current=item.knee_current.likely,
        knee_slope_most=item.knee_slope.likely,
        share=spread.take("zener.share", _ZENER_SHARE),
    )
    voltage = spread.take("zener.voltage", item.voltage)
    return Zener(
        name="D1",
        anode="",
        cathode="",
        voltage=voltage,
        test_current=item.test_current.likely,
        # A diode without any knee or slope is none that can be solved, nor bought.
        knee=np.maximum(knee, _LEAST_KNEE),
        slope=np.maximum(slope, 0.0),
        temperature_coefficient=zener_temperature_coefficient(voltage),
    )


def _bipolar(item: Named, spread: Spread) -> Bipolar:
    if not isinstance(item, components.Transistor) or item.gain is None:
        raise TypeError(f"{item.title} is no bipolar transistor")
    return Bipolar(
        name="Q1",
        collector="",
        base="",
        emitter="",
        polarity="pnp" if item.type == "pnp" else "npn",
        saturation_current=_SATURATION_SIZE * spread.take("transistor.saturation", _SATURATION),
        gain=spread.take("transistor.gain", item.gain),
    )


def _mosfet(item: Named, spread: Spread) -> Mosfet:
    if not isinstance(item, components.Transistor):
        raise TypeError(f"{item.title} is no transistor")
    if item.threshold is None or item.on_resistance is None:
        raise TypeError(f"{item.title} is no MOS transistor")
    threshold = spread.take("mosfet.threshold", item.threshold)
    full = item.threshold.likely >= _FULL_DRIVE_THRESHOLD
    drive = _FULL_DRIVE if full else _LOGIC_DRIVE
    resistance = spread.take("mosfet.on_resistance", item.on_resistance)
    return Mosfet(
        name="Q1",
        drain="",
        gate="",
        source="",
        polarity="p" if item.type == "p-mosfet" else "n",
        threshold=threshold,
        transconductance=1.0 / (resistance * np.maximum(drive - threshold, _LEAST_DRIVE)),
    )


def _reference(item: Named, spread: Spread) -> ShuntReference:
    if not isinstance(item, components.Reference):
        raise TypeError(f"{item.title} is no shunt reference")
    return ShuntReference(
        name="U1",
        cathode="",
        reference="",
        anode="",
        voltage=spread.take("reference.voltage", item.voltage),
        cathode_least=spread.take("reference.cathode_least", item.cathode_least),
        reference_current=spread.take("reference.pin_current", item.pin_current),
        idle_current=spread.take("reference.idle_current", item.idle_current),
    )
