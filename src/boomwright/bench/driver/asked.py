"""What a fit is asked for: sweeps, what is known beside them, and the unknowns that follow."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from boomwright.bench.driver.model import NO_DOUBTS, SCALES, Doubts, Peak, Setup
from boomwright.bench.driver.start import Hump
from boomwright.physics.nature import ROOM_TEMPERATURE

__all__ = ["COILS", "Asked", "coils_borne_out", "doubts_of", "readings_in", "unknown_names"]

COILS: dict[str, tuple[str, ...]] = {"none": (), "le": ("le",), "lossy": ("le", "le2", "re2")}
"""Kinds of coil and their parameters, the plainest first."""

_FEW, _MANY = 5, 40
_AREA_DOUBT = 3.0
_REACH_LE, _REACH_LOSSY = 3.0, 6.0


@dataclass(frozen=True, eq=False)
class Asked:
    """What is to be fitted to.

    Parameters
    ----------
    setups : tuple of Setup
        Sweeps; the one in free air first, unless the driver sits in its cabinet.
    humps : tuple of Hump
        Peaks of the first sweep.
    peaks : tuple of Peak
        Resonances read alone.
    re : tuple of float and float, or None
        D.c. resistance by ohmmeter and its standard error as a share.
    sd : float or None
        Cone area by the ruler [m²].
    doubts : Doubts
        Of resistor, inputs, mass, volume and cone area.
    volume_known : bool
        Whether the volume of a vented cabinet is known; if not, any serves as well.
    coil : str
        Key of `COILS`; empty for the one that the sweeps bear out.
    creep : bool
        Whether the suspension may creep.
    temperature : float
        Of the air [K].
    """

    setups: tuple[Setup, ...]
    humps: tuple[Hump, ...]
    peaks: tuple[Peak, ...] = ()
    re: tuple[float, float] | None = None
    sd: float | None = None
    doubts: Doubts = NO_DOUBTS
    volume_known: bool = True
    coil: str = ""
    creep: bool = False
    temperature: float = ROOM_TEMPERATURE


def readings_in(asked: Asked) -> int:
    """How many readings there are, those of re, sides and resonances included."""
    swept = sum(
        setup.sweep.frequency.size * (1 if setup.sweep.phase is None else 2)
        for setup in asked.setups
    )
    return swept + len(asked.peaks) + (asked.re is not None)


def coils_borne_out(asked: Asked) -> list[str]:
    """Kinds of coil that the readings may tell apart, the plainest first."""
    reach = float(asked.setups[0].sweep.frequency[-1]) / asked.humps[-1].frequency
    names = unknown_names(asked, "none", leaky=False)
    spare = readings_in(asked) - sum(name not in SCALES for name in names)
    found = ["none"]
    if spare >= 1 and reach > _REACH_LE:
        found.append("le")
    if spare >= _FEW and reach > _REACH_LOSSY:
        found.append("lossy")
    # Every coil has some inductance: with many points that reach high enough none is no choice.
    return found[1:] if spare >= _MANY and len(found) == len(COILS) else found


def unknown_names(asked: Asked, coil: str, leaky: bool) -> tuple[str, ...]:
    """Unknowns: the driver's, the coil's, the box's, then the scales."""
    masses = any(setup.mass for setup in asked.setups) or any(peak.mass for peak in asked.peaks)
    boxes = any(setup.place == "box" for setup in asked.setups) or any(
        np.isfinite(peak.volume) for peak in asked.peaks
    )
    vented = any(setup.place == "vented" for setup in asked.setups)
    names = ["re", "fs", "qms", "qes", *COILS[coil]]
    if masses or boxes or vented:
        names.append("vas")
    if asked.creep:
        names.append("creep")
    if vented:
        names += ["fb", "ql"]
    elif leaky:
        names.append("ql")
    doubts = doubts_of(asked)
    for name, there in (
        ("ohms", True),
        ("mass", masses),
        ("volume", boxes or vented),
        ("area", asked.sd is not None or (masses and boxes)),
    ):
        if there and getattr(doubts, name) > 0.0:
            names.append(name)
    return tuple(names)


def doubts_of(asked: Asked) -> Doubts:
    """Widths of the scales; a cone area that nobody measured may be anything."""
    return asked.doubts if asked.sd is not None else replace(asked.doubts, area=_AREA_DOUBT)
