"""What to mind about a split, in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from boomwright.advice.finding import LEVELS
from boomwright.build.quantities import format_quantity
from boomwright.design.sheet import Remark
from boomwright.design.split.branch import Branch
from boomwright.design.split.choose import Half
from boomwright.design.split.heard import GRID, ends_of, greatest_gain, whole_band
from boomwright.design.split.sheet import Found
from boomwright.design.split.target import GAIN_MOST
from boomwright.physics.air_coil import air_coil
from boomwright.physics.curves import decibels, least_impedance
from boomwright.physics.driver import small_signal
from boomwright.physics.nature import speed_of_sound
from boomwright.physics.pads import resonance_notch

__all__ = ["split_remarks"]

_HEAVY, _LOSSY = 0.5, 0.10
_MOST_UNEVEN = 3.0
_QUIET = 1.0
_TOO_HIGH = 0.7
_RESONANCE = 10.0
_RINGS = 0.5
"""Volts that a resistor or a branch must keep from the woofer to be spoken of [dB]."""

_ORDERS = {1: "First", 2: "Second", 3: "Third", 4: "Fourth"}


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
        *_even_remarks(found),
        *_value_remarks(found),
        *_ringing_remarks(found),
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
        left_out = half.section.left_out
        if left_out:
            order = half.section.order
            yield Remark(
                "mind",
                f"{_ORDERS[order]} order was asked for. {left_out} of the {order} coils and "
                f"capacitors of the {driver}'s filter brought its sound no nearer, or rang with "
                "its coil, and are left out: the driver's own fall above "
                f"{_hertz(half.branch.drive.driver.high_end.likely)} takes their place.",
                "Measure where its treble ends: if higher than its file says, design again.",
            )


def _ringing_remarks(found: Found) -> Iterator[Remark]:
    """Volts over the amplifier's that are left, and what keeps others away."""
    for driver, half in zip(found.drivers, found.halves, strict=True):
        gain = greatest_gain(half.branch)
        if gain.level > GAIN_MOST:
            yield Remark(
                "mind",
                f"The {driver}'s filter rings: at {_hertz(gain.frequency)} the driver gets "
                f"{gain.level:.1f} dB more than the amplifier gives.",
                "A higher split, another order, or a driver of other ohms.",
            )
        spared = _undamped(half)
        kept = greatest_gain(spared) if spared is not None else gain
        if kept.level > gain.level + _RINGS:
            what = "branch across it" if half.correction else "resistor with the capacitor"
            yield Remark(
                "fine",
                f"The {driver}'s filter would ring with its coil without the {what}: "
                f"{kept.level:.1f} dB more than the amplifier gives at {_hertz(kept.frequency)}.",
            )


def _undamped(half: Half) -> Branch | None:
    """The filter without the branch against the coil or the resistor in a chain."""
    steps = half.branch.filter
    if half.correction:
        return replace(half.branch, filter=steps[:-1])
    place = half.section.damped_place
    if place is None:
        return None
    bare = replace(
        steps[place],
        components=tuple(one for one in steps[place].components if one.kind != "resistor"),
    )
    return replace(half.branch, filter=(*steps[:place], bare, *steps[place + 1 :]))


def _even_remarks(found: Found) -> Iterator[Remark]:
    """Where over all that both drivers cover the sum strays most."""
    if len(found.halves) < 2:
        return
    uneven = float(found.spread.uneven_all[0])
    drives = [half.branch.drive for half in found.halves]
    low, high = whole_band(drives, found.frequency)
    inside = (low <= GRID) & (high >= GRID)
    levels = found.heard.both - ends_of(drives, GRID)
    strays = np.where(inside, np.abs(levels - np.median(levels[inside])), 0.0)
    at = int(np.argmax(strays))
    band = f"from {_hertz(low)} to {_hertz(high)}"
    if uneven <= _MOST_UNEVEN:
        yield Remark("fine", f"The sum is even to {uneven:.1f} dB {band}.")
        return
    more = "louder" if levels[at] > np.median(levels[inside]) else "quieter"
    yield Remark(
        "mind",
        f"The sum is uneven by {uneven:.1f} dB {band}; most at {_hertz(float(GRID[at]))}, "
        f"{strays[at]:.1f} dB {more} than the rest.",
        "Another order or frequency, or drivers that suit each other better.",
    )


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
        own = small_signal(model)
        notch = resonance_notch(model.re * drive.voice.joined, fs=own.fs, qms=own.qms, qes=own.qes)
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
