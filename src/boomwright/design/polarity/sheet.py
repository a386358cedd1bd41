"""The sheet of a protection against swapped poles: parts, bench readings, what to mind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from boomwright.advice.finding import LEVELS
from boomwright.build.components import Diode, Transistor
from boomwright.build.components import Zener as DrawerZener
from boomwright.build.quantities import format_quantity
from boomwright.build.soldered_polarity import gate_rating
from boomwright.circuit.blocks.polarity import PolarityKind
from boomwright.circuit.values import Floats
from boomwright.design.lines import resistor_line
from boomwright.design.polarity.wish import PolarityWish, gate_limit, reverse_volts
from boomwright.design.sheet import BenchReading, Design, Expected, PartLine, Remark
from boomwright.design.spread import expected
from boomwright.physics.fuse import fuse_kind, fuse_minimum, next_rating

__all__ = [
    "CAUTIONS",
    "PolarityChoice",
    "polarity_parts",
    "polarity_readings",
    "polarity_remarks",
]

CAUTIONS = (
    "Never try a reversed battery to see whether the protection works: a battery feeds enough "
    "current to burn wire, diode and fingers. Use a bench supply with its limit at 0.1 A.",
    "The fuse sits at the battery's plus, in front of everything else. No part here replaces it, "
    "nor a plug that cannot be turned round.",
    "Let the series part cool before you touch it.",
)

_HOT_WATTS = 1.0
_LOUD_DB = 0.4
_PARKED_LIMIT = 1e-3
_LOAD_STANDS = 0.3
_ANGLE = {
    "shunt-diode": "band (cathode) to plus, anode to minus: it must not conduct in normal use",
    "series-schottky": "anode to the fuse, band (cathode) to the load",
    "series-silicon": "anode to the fuse, band (cathode) to the load",
}


@dataclass(frozen=True, kw_only=True)
class PolarityChoice:
    """What was chosen for a protection.

    Parameters
    ----------
    kind : str
        Kind of protection.
    name : str
        Drawer name of its diode or transistor.
    device : part
        That part.
    gate_resistor : float
        From gate to ground [Ω].
    gate_zener : part or None
        From gate to source.
    """

    kind: PolarityKind
    name: str
    device: Diode | Transistor
    gate_resistor: float
    gate_zener: DrawerZener | None


def _amps(value: float) -> str:
    return format_quantity(value, "current")


def _volts(value: float) -> str:
    return format_quantity(value, "voltage")


def polarity_parts(choice: PolarityChoice, wish: PolarityWish) -> tuple[PartLine, ...]:
    """Parts list of a protection.

    Parameters
    ----------
    choice : PolarityChoice
        What was chosen.
    wish : PolarityWish
        What is wanted.

    Returns
    -------
    tuple of PartLine
    """
    fuse = PartLine(
        "F1",
        fuse_kind(wish.fuse_type).name,
        value=_amps(wish.fuse_rating),
        carries=f"{_amps(wish.load_current)} on average",
        rating=f"{_amps(fuse_kind(wish.fuse_type).continuous_share * wish.fuse_rating)} for hours",
        margin=fuse_kind(wish.fuse_type).continuous_share * wish.fuse_rating / wish.load_current,
        note="within 100 to 300 mm of the battery's plus",
    )
    device = choice.device
    if isinstance(device, Diode):
        asked = wish.fuse_rating if choice.kind == "shunt-diode" else wish.load_current
        amps, volts = device.current.low, device.voltage_reverse.low
        reverse = reverse_volts(choice.kind, wish)
        line = PartLine(
            "D1",
            device.title,
            carries=f"{_amps(asked)}, {_volts(reverse)} reversed",
            rating=f"{_amps(amps)}, {_volts(volts)}",
            margin=min(amps / asked, volts / reverse),
            part=choice.name,
            note=_ANGLE[choice.kind],
        )
        return fuse, line
    amps, volts = device.current_max.low, device.voltage_max.low
    lines = [
        fuse,
        PartLine(
            "Q1",
            device.title,
            carries=f"{_amps(wish.load_current)}, {_volts(wish.battery_high)} reversed",
            rating=f"{_amps(amps)}, {_volts(volts)}",
            margin=min(amps / wish.load_current, volts / wish.battery_high),
            part=choice.name,
            note="drain to the fuse, source to the load, gate by R1 to minus: the way round that "
            "looks wrong, so that its body diode points to the load",
        ),
    ]
    zener = choice.gate_zener
    over = max(wish.battery_high - zener.voltage.low, 0.0) if zener else wish.battery_high
    lines.append(
        resistor_line(
            "R1",
            choice.gate_resistor,
            watts=over**2 / choice.gate_resistor,
            tolerance=0.05,
            note="gate to minus",
        )
    )
    if zener is not None:
        watts = over / choice.gate_resistor * zener.voltage.high
        lines.append(
            PartLine(
                "D1",
                zener.title,
                value=_volts(zener.voltage.likely),
                carries=format_quantity(watts, "power"),
                rating=format_quantity(zener.power.likely, "power"),
                margin=zener.power.likely / watts if watts > 0.0 else float("inf"),
                part=zener.name,
                note="band (cathode) to the source, anode to the gate",
            )
        )
    return tuple(lines)


def polarity_readings(
    sheet: Design, choice: PolarityChoice, bench: Mapping[str, Floats]
) -> tuple[BenchReading, ...]:
    """Bench readings of a protection, all of them on a current-limited supply.

    Parameters
    ----------
    sheet : Design
        The design with its figures.
    choice : PolarityChoice
        What was chosen.
    bench : mapping of str to array
        Solved at 0.1 A: the drop, and volts and current reversed.

    Returns
    -------
    tuple of BenchReading
    """
    supply = f"bench supply at {_volts(float(bench['supply'][0]))}, limit 0.1 A"
    shunt = choice.kind == "shunt-diode"
    volts = bench["reversed"]
    least, most = float(volts.min()), float(volts.max())
    readings = [
        BenchReading(
            f"Battery and amplifier unplugged. {supply} where the battery goes, plus to plus; "
            "10 kΩ where the load goes. Probes across the load terminals.",
            "multimeter, 20 V direct",
            Expected(
                "right way round",
                float(bench["output"][0]),
                float(bench["output"].min()) - 0.1,
                float(bench["output"].max()) + 0.1,
                "voltage",
            ),
            "If the supply sits in its limit, the part is the wrong way round: switch off.",
        ),
    ]
    if not shunt:
        readings.append(
            BenchReading(
                "The same with a load that draws 0.1 A. Probes across the series part.",
                "multimeter, 2 V direct",
                expected("drop at 0.1 A", bench["drop"], "voltage"),
            )
        )
    readings += [
        BenchReading(
            f"Leads of the {supply}, swapped; 10 kΩ at the load. Probes across the load terminals, "
            "red on plus.",
            "multimeter, 2 V direct",
            Expected(
                "reversed",
                float(volts[0]),
                least - (0.1 if shunt else 0.02),
                most + (0.1 if shunt else 0.02),
                "voltage",
            ),
            "On the bench supply only, never on the battery.",
        ),
        BenchReading(
            "Still swapped: current on the supply's own meter.",
            "supply's meter",
            Expected(
                "current reversed",
                float(bench["current"][0]),
                0.9 * float(bench["current"].min()),
                0.11 if shunt else max(5e-3, float(bench["current"].max())),
                "current",
            ),
        ),
        BenchReading(
            "On the battery, at last, the right way round and everything switched off: meter in "
            "series with plus.",
            "multimeter, 200 mA range, then the finest that reads",
            Expected(
                "drain when parked",
                sheet.figure("drain when parked").likely,
                0.0,
                max(1e-4, 2.0 * sheet.figure("drain when parked").high),
                "current",
            ),
            "Do not switch anything on while the meter is in series.",
        ),
    ]
    return tuple(readings)


def polarity_remarks(
    sheet: Design, choice: PolarityChoice, wish: PolarityWish
) -> tuple[Remark, ...]:
    """What to mind about a protection, worst first.

    Parameters
    ----------
    sheet : Design
        The design with its figures.
    choice : PolarityChoice
        What was chosen.
    wish : PolarityWish
        What is wanted.

    Returns
    -------
    tuple of Remark
    """
    found = [_fuse_first(sheet, wish)] if choice.kind == "shunt-diode" else _series(sheet)
    if choice.kind == "p-mosfet" and isinstance(choice.device, Transistor):
        found += _gate(sheet, choice, wish, choice.device)
    least = float(fuse_minimum(wish.load_current, kind=wish.fuse_type))
    if least > wish.fuse_rating:
        found.append(
            Remark(
                "mind",
                f"{_amps(wish.load_current)} for hours tires a fuse of {_amps(wish.fuse_rating)}: "
                "it opens one day for no visible reason.",
                f"Take {_amps(float(next_rating(least, kind=wish.fuse_type)))}, if the wire "
                "carries that.",
            )
        )
    seen = sheet.figure("load sees, battery reversed")
    if seen.low < -_LOAD_STANDS:
        found.append(
            Remark(
                "mind",
                f"Reversed, the load still sees {_volts(seen.likely)} until the fuse opens.",
                "Amplifier and capacitors stand about 1 V for that long; a series part keeps it "
                "off altogether.",
            )
        )
    if choice.kind == "series-schottky":
        found.append(
            Remark(
                "fine",
                "A hot Schottky diode leaks milliamps when reversed: the load sees a trace of it, "
                "which harms nothing.",
            )
        )
    return tuple(sorted(found, key=lambda remark: -LEVELS.index(remark.level)))


def _fuse_first(sheet: Design, wish: PolarityWish) -> Remark:
    """Whether the fuse opens before the shunt diode dies."""
    opens = sheet.figure("fuse opens within")
    passes = sheet.figure("fuse lets through (A² s)")
    stands = sheet.figure("diode stands (A² s)")
    amps = sheet.figure("battery gives, reversed").likely
    head = f"Reversed, {_amps(amps)} flow through fuse and diode"
    if opens.high == float("inf"):
        return Remark(
            "stop",
            f"{head}: too little for the fuse of {_amps(wish.fuse_rating)} to be sure to open. The "
            "diode burns instead.",
            f"Take a fuse of {_amps(amps / 2.0)} or less, or a series part.",
        )
    numbers = (
        f"the fuse lets {passes.low:.3g} to {passes.high:.3g} A² s through, the diode stands "
        f"{stands.likely:.3g}"
    )
    if stands.likely < passes.low:
        return Remark(
            "stop",
            f"{head}; {numbers}: the diode dies first.",
            "A bigger diode, a smaller fuse, or a series part. Most diodes die as a short, which "
            "still opens the fuse, but some burn open and protect nothing.",
        )
    if stands.likely < passes.high:
        return Remark(
            "mind",
            f"{head}; {numbers}: a slow sample of the fuse outlasts the diode.",
            "After a swapped battery measure the diode before the fuse is renewed, or take a "
            "bigger one.",
        )
    return Remark("fine", f"{head}; {numbers}: the fuse opens first.")


def _series(sheet: Design) -> list[Remark]:
    loss = sheet.figure("clean level lost")
    watts = sheet.figure("heat on average")
    says = (
        f"It costs {_volts(sheet.figure('volts lost at the peak').likely)} at the peak, "
        f"{format_quantity(loss.likely, 'decibel')} of clean level, and turns "
        f"{format_quantity(watts.likely, 'power')} to heat."
    )
    if watts.high > _HOT_WATTS:
        return [Remark("mind", says, "A P-channel transistor loses a tenth of it.")]
    if loss.likely > _LOUD_DB:
        return [Remark("mind", says, "A P-channel transistor costs next to nothing.")]
    return [Remark("fine", says)]


def _gate(
    sheet: Design, choice: PolarityChoice, wish: PolarityWish, device: Transistor
) -> list[Remark]:
    found = [
        Remark(
            "mind",
            "Swapped live, while the load's capacitors are still full, the transistor stays on for "
            "a moment and shorts them to the battery.",
            "Wait until the lamp is out before a battery is changed; the fuse is the last word.",
        )
    ]
    stands = gate_rating(device)
    if choice.gate_zener is not None:
        found.append(
            Remark(
                "fine",
                f"{_volts(wish.battery_high)} is near or above the {_volts(stands)} a gate of this "
                f"class stands: {choice.gate_zener.name} holds it, and takes "
                f"{_amps(sheet.figure('drain when parked').likely)} all the time.",
            )
        )
    elif wish.battery_high > gate_limit(device):
        found.append(
            Remark(
                "stop",
                f"{_volts(wish.battery_high)} is near or above the {_volts(stands)} a gate of this "
                "class stands, and no zener of the drawer fits.",
                "Fit a zener of 12 V from gate to source.",
            )
        )
    threshold = device.threshold
    if threshold is not None and wish.battery_low < 4.5 + (threshold.high - threshold.low):
        found.append(
            Remark(
                "mind",
                f"On {_volts(wish.battery_low)} the gate has little to pull with.",
                "Take a type for logic drive, and measure its drop on the emptiest battery.",
            )
        )
    if sheet.figure("drain when parked").likely > _PARKED_LIMIT:
        found.append(Remark("mind", "The gate's zener drains the battery.", "Take a larger R1."))
    return found
