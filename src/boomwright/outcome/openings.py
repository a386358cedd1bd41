"""The air behind a driver as the build file tells it: box, leaks, stuffing, vent and radiator."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from boomwright.build.audio import Cabinet, Driver
from boomwright.build.draws import Draws
from boomwright.build.fields import typical
from boomwright.build.model import Build
from boomwright.build.quantities import Quantity
from boomwright.outcome.room import inside_size
from boomwright.physics.acoustic_load import (
    AirLoad,
    air_compliance,
    closed_load,
    free_air,
    radiator_load,
    vented_load,
)
from boomwright.physics.arrays import Complexes, Floats, floats
from boomwright.physics.nature import speed_of_sound
from boomwright.physics.stuffing import STUFFINGS
from boomwright.physics.vent import vent_tuning

__all__ = [
    "USUAL_TUNING",
    "air_of",
    "air_share",
    "cancelled_behind",
    "felt_volume",
    "opening_tuning",
    "tuning_of",
]

_LEAK_QS: Final = {"tight": "15 [10 to 40]", "unknown": "7 [5 to 15]", "leaky": "3 [2 to 5]"}
"""Q of the leaks of a box; 5 to 10 is usual for sound wooden boxes, Small's vented-box papers."""

USUAL_TUNING = "55 Hz [40 to 75]"
"""Tuning of a vented box of which nothing is known; typical of class, from memory."""


_USUAL_RESONANCE = 100.0


def air_share(driver: Driver, build: Build) -> float:
    """Share of the cabinet's air that one driver works on.

    Drivers share it as they push it: by the volume of air that each suspension is worth, or by
    number where that is not known of all.
    """
    bass = [other for other in build.driver if other.band in {"full", "low"}]
    known = [other.vas.likely if other.vas else None for other in bass]
    weights = [1.0 if None in known or vas is None else vas for vas in known]
    total = sum(weight * other.count for weight, other in zip(weights, bass, strict=True))
    own = next((weight for weight, other in zip(weights, bass, strict=True) if other is driver), 1)
    return own / total if total else 1.0


def tuning_of(cabinet: Cabinet, draws: Draws, volume: Floats) -> Floats:
    """Tuning of a vented cabinet: measured, from its vent, or usual [Hz].

    Parameters
    ----------
    cabinet : Cabinet
        A vented cabinet.
    draws : Draws
        Where uncertain values come from.
    volume : array (versions, 1)
        Net air in it, stuffing counted [m³].

    Returns
    -------
    array (versions, 1)
    """
    vent = cabinet.vent
    if cabinet.tuning is not None:
        return draws.take("cabinet", "tuning", cabinet.tuning)
    if vent is None:
        return draws.take("cabinet", "tuning", typical(USUAL_TUNING, "frequency"))
    sizes = {
        name: draws.take("cabinet", f"vent.{name}", value)
        for name in ("diameter", "width", "height")
        if (value := getattr(vent, name)) is not None
    }
    length = draws.take("cabinet", "vent.length", vent.length)
    area = (
        np.pi * sizes["diameter"] ** 2 / 4
        if vent.shape == "round"
        else (sizes["width"] * sizes["height"])
    )
    return vent_tuning(
        volume=volume, area=area, length=length, count=vent.count, ends=vent.ends, along=vent.along
    )


def air_of(
    driver: Driver, build: Build, draws: Draws, volume: Floats | None
) -> tuple[AirLoad, Floats | None]:
    """Air behind one driver, and the way round to its front where its back is open.

    Parameters
    ----------
    driver : Driver
        The driver.
    build : Build
        The build it belongs to.
    draws : Draws
        Where uncertain values come from.
    volume : array (versions, 1) or None
        Net air in the cabinet [m³]; None without a cabinet.

    Returns
    -------
    AirLoad
        Its share of the cabinet.
    array or None
        Length from back to front [m]; None where the back is closed.
    """
    cabinet = build.cabinet
    if cabinet is None or volume is None or driver.band not in {"full", "low"}:
        return free_air(), None
    if cabinet.type == "open":
        width, height, depth = inside_size(cabinet)
        return free_air(), floats(depth + min(width, height) / 2.0)
    share = air_share(driver, build)
    stuffing = STUFFINGS[cabinet.stuffing]
    gain = draws.take("cabinet", "stuffing gain", Quantity(*stuffing.gain, "ratio", "typical"))
    air = volume * share * gain
    ql = draws.take("cabinet", "ql", cabinet.ql or typical(_LEAK_QS[cabinet.leaks], "ratio"))
    qa = draws.take("cabinet", "qa", cabinet.qa or Quantity(*stuffing.qa, "ratio", "typical"))
    if cabinet.type == "vented":
        fb = tuning_of(cabinet, draws, air / share)
        qp = draws.take("cabinet", "qp", cabinet.qp) if cabinet.qp else np.inf
        return vented_load(volume=air, fb=fb, ql=ql, qa=qa, qp=qp), None
    if cabinet.type == "radiator" and cabinet.radiator is not None:
        cone = cabinet.radiator
        fp = draws.take("cabinet", "radiator.fs", cone.fs)
        load = radiator_load(
            volume=air,
            area=draws.take("cabinet", "radiator.sd", cone.sd) * cone.count * share,
            mass=draws.take("cabinet", "radiator.mass", cone.mass) * cone.count * share,
            fp=fp,
            ql=ql,
            qa=qa,
        )
        # The file has its Q in free air; the law takes that at the tuning of the box.
        qms = draws.take("cabinet", "radiator.qms", cone.qms)
        return replace(load, resistance=2.0 * np.pi * fp * load.mass / qms), None
    tight = np.inf if cabinet.leaks == "tight" and cabinet.ql is None else ql
    at: Floats | float = _USUAL_RESONANCE
    if driver.fs and driver.vas:
        at = driver.fs.likely * np.sqrt(1.0 + driver.vas.likely / air)
    return closed_load(volume=air, at=at, ql=tight, qa=qa), None


def cancelled_behind(frequency: Floats, way: Floats) -> Complexes:
    """What is left of the front's sound where the back's comes round an open box.

    First-order fall below the frequency whose wavelength is 2 pi times the way; the ripple above
    it, where front and back come in step, is smoothed away.
    """
    x = 2j * np.pi * frequency * way / speed_of_sound()
    return np.asarray(x / (1.0 + x), dtype=np.complex128)


def felt_volume(load: AirLoad) -> float:
    """Air that a driver feels behind it, stuffing counted; likely version [m³]."""
    return float(np.ravel(load.compliance / air_compliance(1.0))[0])


def opening_tuning(load: AirLoad) -> float:
    """Resonance of what moves in the opening on the air behind it [Hz]; nan without an opening."""
    mass = float(np.ravel(load.mass)[0])
    if not np.isfinite(mass):
        return float("nan")
    spring = float(np.ravel(1.0 / load.compliance + load.stiffness)[0])
    return float(np.sqrt(spring / mass) / (2.0 * np.pi))
