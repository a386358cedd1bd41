"""Boxes proposed for a driver, each with what it plays from this battery and what it takes up."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from boomwright.design.box.heard import music_levels, music_response
from boomwright.design.box.search import (
    INSIDE_OVER_NET,
    Found,
    best_radiator,
    best_vented,
    qts_of,
)
from boomwright.design.box.shapes import (
    BORES,
    SLOT_HEIGHTS,
    Fit,
    Radiator,
    Vent,
    outside_size,
    slot_width,
    vent_fit,
)
from boomwright.design.box.wish import BoxKind, BoxWish, Subject, subject_of
from boomwright.outcome.data import Range, range_of
from boomwright.physics.acoustic_load import AirLoad, closed_load, radiator_load, vented_load
from boomwright.physics.alignment import BOX_LOSS_Q, AlignmentName, alignment, flat_qts
from boomwright.physics.arrays import Floats
from boomwright.physics.box_response import BoxResponse, box_response, passband_pressure
from boomwright.physics.curves import decibels, response_corner
from boomwright.physics.driver import small_signal
from boomwright.physics.enclosure import ClosedBox, closed_box, closed_box_volume
from boomwright.physics.limits import LIMITS, DriveLimits
from boomwright.physics.stuffing import STUFFINGS
from boomwright.physics.vent import least_vent_area, pipe_resonance, vent_length

__all__ = ["BoxChoice", "BoxDesign", "air_load", "choice_of", "drive_limits", "proposed"]

_QTCS = (0.577, 0.707, 0.85, 1.0)
_QTC_NAMES = {
    0.577: "qtc 0.58, even delay",
    0.707: "qtc 0.71, flat",
    0.85: "qtc 0.85, small",
    1.0: "qtc 1, smallest",
}
_BRACES = 0.03
_WORTH_IT = 1.1
_GRID = np.geomspace(3.0, 1200.0, 400)
_AT = LIMITS.index


@dataclass(frozen=True)
class BoxDesign:
    """A box before it is judged.

    Parameters
    ----------
    kind : str
        closed, vented or radiator.
    title : str
        What it is: its alignment, or what it is best for.
    volume : float
        Net air [m³].
    fb : float
        Tuning [Hz]; 0 for a closed box.
    vent : Vent or None
        Its vent; None as well where none fits.
    radiator : Radiator or None
        Its passive radiator.
    """

    kind: BoxKind
    title: str
    volume: float
    fb: float = 0.0
    vent: Vent | None = None
    radiator: Radiator | None = None


@dataclass(frozen=True)
class BoxChoice:
    """A box with what comes of it. Ranges are over what is uncertain of the driver.

    Parameters
    ----------
    design : BoxDesign
        The box.
    f3 : Range
        Where its bass is 3 dB down [Hz].
    f3_closed : float
        The same of a closed box of the same air, driver in its likely version [Hz].
    f3_leaky : float
        The same of a closed box with the leaks that are usual where nobody looked for them [Hz];
        `f3` where there is an opening, whose leaks count anyway.
    hump : Range
        Highest rise of the bass above the flat level [dB].
    resonance, quality : Range or None
        Resonance [Hz] and Q [1] of a closed box.
    levels : tuple of Range
        Music at 1 m in half space: battery full, half, nearly empty [dB(A)].
    ruling : tuple of str
        What limits each of them, of :data:`boomwright.physics.limits.LIMITS`.
    travel_level, opening_level : Range or None
        Level at which the cone's travel, and the air in the vent or the radiator's travel, would
        be met [dB(A)]; None without such an opening.
    vent_speed : float
        Peak speed in the vent, battery full, music at its limit [m/s]; 0 without.
    vent_fit : str
        How the vent goes in; empty without.
    pipe : float
        First resonance of the vent as a pipe [Hz]; 0 without.
    inside : float
        Inside volume with driver, vent and braces [m³].
    outside : (float, float, float)
        Outside width, height and depth [m].
    """

    design: BoxDesign
    f3: Range
    f3_closed: float
    f3_leaky: float
    hump: Range
    resonance: Range | None
    quality: Range | None
    levels: tuple[Range, Range, Range]
    ruling: tuple[str, str, str]
    travel_level: Range
    opening_level: Range | None
    vent_speed: float
    vent_fit: Fit | None
    pipe: float
    inside: float
    outside: tuple[float, float, float]

    @property
    def gains(self) -> bool:
        """Whether the opening gets at least a tenth lower than the same air closed."""
        return self.f3.likely * _WORTH_IT < self.f3_closed


def proposed(wish: BoxWish, *, subject: Subject | None = None) -> tuple[BoxDesign, ...]:
    """Boxes that suit the wish, closed ones first, each kind from large to small.

    Parameters
    ----------
    wish : BoxWish
        What is wanted.
    subject : Subject or None
        The driver in its likely version; worked out if None.

    Returns
    -------
    tuple of BoxDesign
    """
    driver = subject or subject_of(wish, versions=0)
    found: list[BoxDesign] = []
    if "closed" in wish.kinds:
        found += _closed(wish, driver)
    if "vented" in wish.kinds:
        found += _named(wish, driver)
        best = best_vented(wish, driver)
        if best is not None:
            found.append(_from(best, "vented"))
    if "radiator" in wish.kinds:
        best = best_radiator(wish, driver)
        if best is not None:
            found.append(_from(best, "radiator"))
    return tuple(found)


def _from(found: Found, kind: BoxKind) -> BoxDesign:
    return BoxDesign(
        kind,
        "best for this battery",
        found.volume,
        found.fb,
        vent=found.vent,
        radiator=found.radiator,
    )


def _closed(wish: BoxWish, subject: Subject) -> Iterator[BoxDesign]:
    fs, qts, vas = qts_of(subject, wish.resistance)
    gain = STUFFINGS[wish.stuffing].gain[0]
    if wish.net is not None:
        yield BoxDesign("closed", "the air there is", wish.net)
        return
    reached = False
    for qtc in _QTCS:
        if qtc <= qts * 1.001:
            continue
        air = float(closed_box_volume(fs=fs, qts=qts, vas=vas, qtc=qtc)) * wish.count / gain
        if air <= wish.most:
            if not reached and air < 0.9 * wish.most:
                yield _largest(wish, fs, qts, vas)
            reached = True
            yield BoxDesign("closed", _QTC_NAMES[qtc], air)
    if not reached:
        yield _largest(wish, fs, qts, vas)


def _largest(wish: BoxWish, fs: float, qts: float, vas: float) -> BoxDesign:
    air = wish.most * STUFFINGS[wish.stuffing].gain[0] / wish.count
    box = closed_box(fs=fs, qts=qts, vas=vas, volume=air)
    return BoxDesign("closed", f"largest, qtc {float(box.qtc):.2f}", wish.most)


def _named(wish: BoxWish, subject: Subject) -> Iterator[BoxDesign]:
    fs, qts, vas = qts_of(subject, wish.resistance)
    families: tuple[AlignmentName, ...] = ("C4",) if qts >= flat_qts() else ("SC4", "QB3")
    for family in families:
        box = alignment(qts, family=family)
        if not np.isfinite(box.h):
            continue
        volume, fb = wish.count * vas / float(box.alpha), fs * float(box.h)
        if wish.net is None and volume <= wish.most:
            vent = _vent_for(wish, subject, volume, fb)
            yield BoxDesign("vented", family, volume, fb, vent=vent)


def _vent_for(wish: BoxWish, subject: Subject, volume: float, fb: float) -> Vent | None:
    """A vent for a given box: wide enough, straight before bent, then the shortest."""
    inside = INSIDE_OVER_NET * volume
    moved = wish.count * float(np.ravel(subject.model.sd)[0] * subject.xmax[0, 0])
    least = float(least_vent_area(fb=fb, displacement=moved))
    width = float(slot_width(inside))
    shapes = [Vent("round", count, bore) for count in (1, 2) for bore in BORES]
    shapes += [Vent("slot", 1, height, width) for height in SLOT_HEIGHTS]
    fitting: list[tuple[bool, float, Vent]] = []
    for share in (1.0, 0.5):
        for shape in shapes:
            if shape.count * shape.area < share * least:
                continue
            length = float(vent_length(volume=volume, fb=fb, area=shape.area, count=shape.count))
            fit = vent_fit(length, volume=inside, across=shape.across, wall=wish.wall)
            if fit in {"straight", "bent"}:
                fitting.append((fit == "bent", length, replace(shape, length=length)))
        if fitting:
            return min(fitting, key=lambda item: item[:2])[2]
    return None


def air_load(
    design: BoxDesign, wish: BoxWish, subject: Subject, *, leaks: float = np.inf
) -> AirLoad:
    """Air behind one driver of a proposed box, in the driver's versions.

    Parameters
    ----------
    design : BoxDesign
        The box.
    wish : BoxWish
        What is wanted.
    subject : Subject
        The driver.
    leaks : float
        Q of the leaks of a closed box [1]; of others it is the usual one.

    Returns
    -------
    AirLoad
        Fields of shape (versions, 1) or (1, 1).
    """
    share = np.full((1, 1), design.volume / wish.count)
    if design.kind == "closed":
        stuffing = STUFFINGS[wish.stuffing]
        air = share * stuffing.gain[0]
        known = small_signal(subject.model)
        fc = known.fs * np.sqrt(1.0 + known.vas / air)
        return closed_load(volume=air, at=fc, ql=leaks, qa=stuffing.qa[0])
    if design.radiator is not None:
        cone, count = design.radiator.cone, design.radiator.count
        return radiator_load(
            volume=share,
            area=count * cone.sd / wish.count,
            mass=count * design.radiator.mass / wish.count,
            fp=design.radiator.fp,
            ql=BOX_LOSS_Q,
        )
    return vented_load(volume=share, fb=design.fb, ql=BOX_LOSS_Q)


def drive_limits(design: BoxDesign, wish: BoxWish, subject: Subject) -> DriveLimits:
    """What one driver of a proposed box stands; the volts are those of the full battery.

    Parameters
    ----------
    design : BoxDesign
        The box.
    wish : BoxWish
        What is wanted.
    subject : Subject
        The driver.

    Returns
    -------
    DriveLimits
        Fields of shape (versions, 1), or one number.
    """
    vent, radiator = design.vent, design.radiator
    return DriveLimits(
        volts=wish.volts[0],
        amps=wish.amps,
        xmax=subject.xmax,
        vent_area=vent.count * vent.area / wish.count if vent else np.inf,
        radiator_area=radiator.count * radiator.cone.sd / wish.count if radiator else np.inf,
        radiator_xmax=radiator.cone.xmax if radiator else np.inf,
        power=subject.power,
    )


def choice_of(design: BoxDesign, wish: BoxWish, subject: Subject) -> BoxChoice:
    """A proposed box with its bass, its levels, its limits and its size.

    Parameters
    ----------
    design : BoxDesign
        The box.
    wish : BoxWish
        What is wanted.
    subject : Subject
        The driver in many versions.

    Returns
    -------
    BoxChoice
    """
    load = air_load(design, wish, subject)
    bass = box_response(subject.flat, load, _GRID, source_resistance=wish.resistance)
    over = decibels(bass.pressure / _flat_pressure(subject, wish.resistance))
    # Where even the lowest of the grid is not 3 dB down there is no bass end to speak of.
    f3 = np.nan_to_num(response_corner(_GRID, over, side="low"), nan=float(_GRID[0]))
    response = music_response(subject.flat, load, wish.programme, resistance=wish.resistance)
    limits = drive_limits(design, wish, subject)
    full = _levels(response, limits, wish, subject)
    states = [full]
    for volts in wish.volts[1:]:
        lower = full.copy()
        lower[_AT("volts")] += 20.0 * np.log10(volts / wish.volts[0])
        states.append(lower)
    opening = full[_AT("vent air")] if design.vent else full[_AT("radiator travel")]
    closed = _closed_box(design, wish, subject)
    vent, speed, pipe, fit = design.vent, 0.0, 0.0, None
    inside = _inside(design, wish)
    if vent is not None:
        margin = float(full[_AT("vent air"), 0] - np.min(full[:, 0]))
        speed = float(limits.vent_speed) * 10.0 ** (-margin / 20.0)
        pipe = float(pipe_resonance(vent.length, area=vent.area))
        fit = vent_fit(vent.length, volume=inside, across=vent.across, wall=wish.wall)
    levels = [range_of(np.min(state, axis=0)) for state in states]
    ruling = [LIMITS[int(np.argmin(state[:, 0]))] for state in states]
    return BoxChoice(
        design=design,
        f3=range_of(f3),
        f3_closed=float(closed.f3[0, 0]),
        f3_leaky=_leaky_end(design, wish, subject),
        hump=range_of(np.maximum(np.max(over, axis=-1), 0.0)),
        resonance=range_of(closed.fc[:, 0]) if design.kind == "closed" else None,
        quality=range_of(closed.qtc[:, 0]) if design.kind == "closed" else None,
        levels=(levels[0], levels[1], levels[2]),
        ruling=(ruling[0], ruling[1], ruling[2]),
        travel_level=range_of(full[_AT("travel")]),
        opening_level=range_of(opening) if design.vent or design.radiator else None,
        vent_speed=speed,
        vent_fit=fit,
        pipe=pipe,
        inside=inside,
        outside=outside_size(inside, wall=wish.wall),
    )


def _leaky_end(design: BoxDesign, wish: BoxWish, subject: Subject) -> float:
    leaky = BOX_LOSS_Q if design.kind == "closed" else np.inf
    load = air_load(design, wish, subject, leaks=leaky)
    bass = box_response(subject.flat, load, _GRID, source_resistance=wish.resistance)
    over = decibels(bass.pressure / _flat_pressure(subject, wish.resistance))
    corner = np.ravel(response_corner(_GRID, over, side="low"))[0]
    return float(np.nan_to_num(corner, nan=float(_GRID[0])))


def _levels(response: BoxResponse, limits: DriveLimits, wish: BoxWish, subject: Subject) -> Floats:
    found = music_levels(
        response,
        limits,
        wish.programme,
        high_end=subject.high_end,
        resistance=wish.resistance,
        count=wish.count,
    )
    return np.array(np.broadcast_to(found, (found.shape[0], subject.draws.versions)))


def _flat_pressure(subject: Subject, resistance: float) -> Floats:
    re = subject.model.re
    return passband_pressure(subject.model) * re / (re + resistance)


def _closed_box(design: BoxDesign, wish: BoxWish, subject: Subject) -> ClosedBox:
    """The air of a box with nothing open."""
    known = small_signal(subject.model)
    damped = known.qes * (subject.model.re + wish.resistance) / subject.model.re
    gain = STUFFINGS[wish.stuffing].gain[0] if design.kind == "closed" else 1.0
    return closed_box(
        fs=known.fs,
        qts=known.qms * damped / (known.qms + damped),
        vas=known.vas,
        volume=gain * design.volume / wish.count,
    )


def _inside(design: BoxDesign, wish: BoxWish) -> float:
    taken = wish.driver.volume_taken
    driver = wish.count * taken.likely if taken else 0.0
    vent = design.vent.taken(wish.wall) if design.vent else 0.0
    return design.volume * (1.0 + _BRACES) + driver + vent
