"""What to mind about a split, in words."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from boomwright.advice.finding import LEVELS
from boomwright.build.quantities import format_quantity
from boomwright.design.sheet import Remark
from boomwright.design.split.heard import GRID
from boomwright.design.split.ratings import Carried
from boomwright.design.split.sheet import Found
from boomwright.physics.air_coil import air_coil
from boomwright.physics.curves import decibels, least_impedance
from boomwright.physics.nature import speed_of_sound
from boomwright.physics.pads import resonance_notch

__all__ = ["split_remarks"]

_IDLE = 0.25
"""Share of the load that a part in the line must make where the bands meet to matter."""

_HEAVY, _LOSSY = 0.5, 0.10
_MOST_UNEVEN = 3.0
_QUIET = 1.0
_TOO_HIGH = 0.7
_RESONANCE = 10.0


def split_remarks(found: Found) -> tuple[Remark, ...]:
    """What to mind about a split, worst first.

    Parameters
    ----------
    found : Found
        The split.

    Returns
    -------
    tuple of Remark
    """
    remarks = [
        *_place_remarks(found),
        *_load_remarks(found),
        *_level_remarks(found),
        *_value_remarks(found),
        *_tweeter_remarks(found),
        *_coil_remarks(found),
        *_channel_remarks(found),
    ]
    return tuple(sorted(remarks, key=lambda remark: -LEVELS.index(remark.level)))


def _hertz(value: float) -> str:
    return format_quantity(value, "frequency", digits=2)


def _place_remarks(found: Found) -> Iterator[Remark]:
    least, most = found.band
    at = found.frequency
    if "tweeter" in found.drivers and at < 0.98 * least:
        yield Remark(
            "mind",
            f"Below {_hertz(least)} this tweeter is near its resonance, where it distorts and "
            "burns first.",
            "Split higher, or steeper.",
        )
    ends = found.halves[0].branch.drive.driver.high_end.likely
    if "woofer" in found.drivers and at > _TOO_HIGH * ends:
        yield Remark(
            "mind",
            f"The woofer's own sound ends at {_hertz(ends)}, close to the split at {_hertz(at)}: "
            "its filter has little left to do, and the phase there is guessed.",
            "Split lower with a tweeter that stands it, or take a woofer that goes higher.",
        )
    elif "woofer" in found.drivers and at > 1.02 * most:
        yield Remark(
            "mind",
            f"Above {_hertz(most)} this woofer no longer plays to the side: off the axis there is "
            f"a hole up to {_hertz(at)}.",
            "Split lower with a tweeter that stands it, or take a smaller woofer.",
        )
    spacing, wave = found.wish.spacing, float(speed_of_sound()) / at
    if len(found.halves) > 1 and spacing is not None and spacing > wave:
        yield Remark(
            "mind",
            f"The drivers are {format_quantity(spacing, 'length', digits=2)} apart, more than a "
            f"wavelength at {_hertz(at)}: above and below the axis the sum has holes.",
            "Mount them as close as their rims allow.",
        )


def _load_remarks(found: Found) -> Iterator[Remark]:
    least = least_impedance(GRID, found.load)
    value, at = float(least.impedance), float(least.frequency)
    # The standard lets a driver of the rated impedance go down to this share of it.
    allowed = 0.8 * found.wish.load_min
    shown = format_quantity(value, "resistance", digits=2)
    if value < 0.97 * allowed:
        yield Remark(
            "stop" if value < 0.75 * allowed else "mind",
            f"The amplifier sees as little as {shown} at {_hertz(at)}, and is made for loads of "
            f"{format_quantity(found.wish.load_min, 'resistance')}, which may go down to "
            f"{format_quantity(allowed, 'resistance', digits=2)}.",
            "A less steep filter, drivers of more ohms, or an amplifier for less.",
        )
    else:
        yield Remark("fine", f"The amplifier never sees less than {shown}, at {_hertz(at)}.")


def _level_remarks(found: Found) -> Iterator[Remark]:
    if len(found.halves) > 1:
        low, high = found.halves
        flat = [float(decibels(half.branch.drive.flat)[0, 0]) for half in (low, high)]
        lacking = flat[0] - flat[1]
        if lacking > _QUIET:
            yield Remark(
                "mind",
                f"By itself the tweeter is {lacking:.1f} dB quieter than the woofer, which "
                "resistors cannot turn down without losing power and bass; the values bend the "
                "sound to hide what they can of it.",
                "A more sensitive tweeter, or one of less ohms.",
            )
        uneven = float(found.spread.uneven[0])
        swapped = "turned round" if high.branch.reversed else "the same way round as the woofer"
        level = "mind" if uneven > _MOST_UNEVEN else "fine"
        yield Remark(
            "mind" if level == "mind" else "fine",
            f"With the tweeter {swapped} the sum is even to {uneven:.1f} dB an octave either side "
            f"of the split; 95 of 100 builds stay below "
            f"{float(np.quantile(found.spread.uneven, 0.95)):.1f} dB. {_in_step(found)}",
            "Another order or frequency, or the drivers' true offset." if level == "mind" else "",
        )
    for driver, half, watts in zip(found.drivers, found.halves, found.music.clipped, strict=True):
        power = half.branch.drive.driver.power
        stands = power.likely * half.branch.drive.count
        if watts > stands:
            yield Remark(
                "stop" if watts > 2.0 * stands else "mind",
                f"Music that is clipped hard puts {watts:.2g} W into the {driver}, "
                f"which stands {stands:.2g} W.",
                "Keep the volume down by an input pad, or take a stronger driver.",
            )


def _in_step(found: Found) -> str:
    """How far apart in phase both drivers are where both are heard."""
    degrees = np.abs(np.degrees(found.heard.phase))
    there = int(np.argmin(np.abs(GRID - found.frequency)))
    half = np.abs(np.log2(GRID / found.frequency)) <= 0.5
    return (
        f"Where they meet they are {degrees[there]:.0f}° apart in phase, half an octave off at "
        f"most {float(np.max(degrees[half])):.0f}°."
    )


def _value_remarks(found: Found) -> Iterator[Remark]:
    for driver, half in zip(found.drivers, found.halves, strict=True):
        yield Remark(
            "fine",
            f"Book values for {format_quantity(half.branch.drive.rated, 'resistance')} would miss "
            f"the {driver}'s target by {half.book.error:.1f} dB on average; these miss it by "
            f"{half.solution.error:.1f} dB.",
        )
    idle = [one.part.name for one in found.carried if _does_nothing(one, found)]
    if idle:
        yield Remark(
            "mind",
            f"{', '.join(idle)} {'do' if len(idle) > 1 else 'does'} next to nothing: the driver's "
            "own fall is as steep as the filter was to make it.",
            "Leave it out, or ask for one order less.",
        )


def _does_nothing(one: Carried, found: Found) -> bool:
    """Whether a part alone in its step is much smaller, or across much larger, than the load."""
    half = found.halves[one.part.branch]
    step = half.branch.filter[one.part.step]
    if len(step.components) > 1 or one.part.step >= half.section.order:
        return False
    at = np.array([found.frequency])
    load = float(np.abs(half.branch.drive.impedance(at))[0, 0])
    omega, value = 2.0 * np.pi * found.frequency, one.part.component.value.likely
    ohms = omega * value if one.part.component.kind == "coil" else 1.0 / (omega * value)
    return ohms < _IDLE * load if step.place == "series" else load < _IDLE * ohms


def _tweeter_remarks(found: Found) -> Iterator[Remark]:
    if "tweeter" not in found.drivers:
        return
    half = found.halves[-1]
    drive = half.branch.drive
    model, fs = drive.voice.model, drive.driver.fs
    if model is None or fs is None:
        yield Remark(
            "mind",
            "The tweeter's resonance is not known: it counts as a plain resistor here.",
            "Measure its resonance and Q, and design again.",
        )
        return
    passed = decibels(half.branch.ladder(np.array([fs.likely])).transfer[0])
    left = -(float(passed[0]) - half.solution.taken)
    if half.section.order == 1 or left < _RESONANCE:
        notch = resonance_notch(
            model.re * drive.voice.joined, fs=fs.likely, qms=_q(drive.driver.qms, 2.5),
            qes=_q(drive.driver.qes, 1.3),
        )  # fmt: skip
        ohms, henries, farads = (
            format_quantity(float(np.ravel(value)[0]), kind, digits=2)
            for value, kind in (
                (notch.resistance, "resistance"),
                (notch.inductance, "inductance"),
                (notch.capacitance, "capacitance"),
            )
        )
        says = "A single capacitor" if half.section.order == 1 else "This filter"
        yield Remark(
            "mind",
            f"{says} takes only {left:.0f} dB off at the tweeter's resonance of "
            f"{_hertz(fs.likely)}: its impedance peaks there and the cone moves most.",
            f"Steeper or higher; or {ohms}, {henries} and {farads} in a chain across the tweeter, "
            "wire included.",
        )


def _q(value: object, usual: float) -> float:
    return float(getattr(value, "likely", usual))


def _coil_remarks(found: Found) -> Iterator[Remark]:
    for driver, half in zip(found.drivers, found.halves, strict=True):
        if driver != "woofer":
            continue
        coil = next(
            (one for one in found.carried if one.part.branch == 0
             and one.part.component.kind == "coil"), None
        )  # fmt: skip
        if coil is None:
            continue
        wound = air_coil(coil.part.component.value.likely, half.section.wire)
        share = float(wound.resistance) / half.branch.drive.rated
        if share > _LOSSY or float(wound.mass) > _HEAVY:
            yield Remark(
                "mind",
                f"{coil.part.name} takes {format_quantity(float(wound.mass), 'mass', digits=2)} of "
                f"copper and has {100.0 * share:.0f} % of the woofer's ohms.",
                "A coil with a core of iron powder, or a split ahead of the amplifier, which costs "
                "no power at all.",
            )
        if half.correction:
            yield Remark(
                "fine",
                "The resistor and capacitor across the woofer make its coil look like a resistor; "
                f"they bring its sound {half.spared:.1f} dB nearer to the target.",
            )


def _channel_remarks(found: Found) -> Iterator[Remark]:
    if len(found.halves) > 1 and not found.wish.together:
        yield Remark(
            "mind",
            "Woofer and tweeter hang on outputs of their own, so these are two filters.",
            "Give each its own pair of leads, and never join their common leads: on bridge "
            "amplifiers that destroys both outputs.",
        )
    if found.wish.one_channel:
        yield Remark(
            "stop",
            f"{found.wish.one_channel}: what the music has on the other side alone is missing "
            "there.",
            "Feed both from the sum of left and right: boomwright design sum.",
        )
