"""Each bass driver's box in the figures of the trade, and what a chamber for the boards gives."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from boomwright.build.draws import Draws
from boomwright.build.model import Build
from boomwright.build.quantities import parse_quantity
from boomwright.outcome.openings import felt_volume, opening_tuning
from boomwright.outcome.plan import make_plan
from boomwright.outcome.room import net_volume_of, taken_of
from boomwright.outcome.speakers import Group
from boomwright.outcome.voices import BASS_BANDS, USUAL_QMS
from boomwright.physics.arrays import Floats
from boomwright.physics.enclosure import closed_box
from boomwright.physics.loudspeaker import qts

__all__ = ["BassBox", "OwnChamber", "bass_boxes", "box_of", "own_chamber"]

BoxKind = Literal["closed", "vented", "radiator", "open", "none"]

_LOOKED_AT: Final = np.geomspace(15.0, 1000.0, 240)


@dataclass(frozen=True)
class BassBox:
    """The box of one kind of driver that works on its air; likely version, nan where unknown.

    Parameters
    ----------
    name : str
        Name of the driver's table.
    kind : str
        closed, vented, radiator or open; none without a cabinet.
    volume : float
        Net air in the cabinet for all drivers [m³].
    fc, qtc : float
        Resonance [Hz] and Q of a closed box, stuffing counted.
    fb : float
        Tuning of a vented box or of a passive radiator [Hz].
    low_end : float
        Where the bass is 3 dB down, filter counted [Hz].
    hump_db : float
        Highest part of the bass over the flat level, half space [dB].
    """

    name: str
    kind: BoxKind
    volume: float
    fc: float
    qtc: float
    fb: float
    low_end: float
    hump_db: float


@dataclass(frozen=True)
class OwnChamber:
    """A bass driver's box as built, and with battery and boards out of its air.

    Parameters
    ----------
    taken : float
        Air that battery and boards take [m³].
    shared, apart : BassBox
        As built, and with a chamber for them outside the speaker's air.
    """

    taken: float
    shared: BassBox
    apart: BassBox


def bass_boxes(build: Build) -> tuple[BassBox, ...]:
    """Box of every kind of driver that works on the cabinet's air.

    Parameters
    ----------
    build : Build
        The build.

    Returns
    -------
    tuple of BassBox
        In the order of the file.
    """
    plan = make_plan(build, Draws(0))
    groups = {group.driver.name: group for output in plan.outputs for group in output.groups}
    return tuple(
        box_of(build, groups[driver.name])
        for driver in build.driver
        if driver.band in BASS_BANDS and driver.name in groups
    )


def own_chamber(build: Build) -> tuple[OwnChamber, ...]:
    """What it would change to take battery and boards out of the speaker's air.

    The chamber is built on, so the speaker gains all the air that they took. A partition inside the
    same box takes more air than it gives, and is worth it for rattle and leaks only.

    Parameters
    ----------
    build : Build
        The build.

    Returns
    -------
    tuple of OwnChamber
        One per bass driver; none where there is no box to share or nothing in it.
    """
    cabinet = build.cabinet
    if cabinet is None or cabinet.electronics_apart or cabinet.type == "open":
        return ()
    taken = taken_of(build).likely
    if taken <= 0.0:
        return ()
    empty = cabinet.model_copy(
        update={"electronics_apart": True, "taken": parse_quantity("0 L (standard)", "volume")}
    )
    apart = bass_boxes(build.model_copy(update={"cabinet": empty}))
    return tuple(
        OwnChamber(taken, shared, other)
        for shared, other in zip(bass_boxes(build), apart, strict=True)
    )


def box_of(build: Build, group: Group) -> BassBox:
    """Box of the drivers of a group, as one of them meets it.

    Parameters
    ----------
    build : Build
        The build.
    group : Group
        Drivers that work on the cabinet's air.

    Returns
    -------
    BassBox
    """
    cabinet, driver, voice = build.cabinet, group.driver, group.voice
    nan = float("nan")
    fc, qtc = nan, nan
    if cabinet is not None and cabinet.type == "closed" and driver.fs and driver.qes and driver.vas:
        mechanical = driver.qms.likely if driver.qms else USUAL_QMS
        total = qts(mechanical, driver.qes.likely)
        found = closed_box(
            fs=driver.fs.likely, qts=total, vas=driver.vas.likely, volume=felt_volume(voice.load)
        )
        fc, qtc = float(found.fc), float(found.qtc)
    return BassBox(
        name=driver.name,
        kind=cabinet.type if cabinet else "none",
        volume=float(net_volume_of(build, Draws(0))[0, 0]) if cabinet else nan,
        fc=fc,
        qtc=qtc,
        fb=opening_tuning(voice.load),
        low_end=float(group.low_end[0, 0]),
        hump_db=_hump(np.abs(voice.likely.shape(_LOOKED_AT))) if voice.corners[0] == 0.0 else nan,
    )


def _hump(shape: Floats) -> float:
    return max(20.0 * float(np.log10(np.max(shape))), 0.0)
