"""A proposed box over frequency, for charts: bass, impedance, travel, air, delay and limits."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from boomwright.design.box.choices import BoxDesign, air_load, drive_limits
from boomwright.design.box.heard import side_by_side_db
from boomwright.design.box.wish import BoxWish, Subject
from boomwright.physics.arrays import Floats
from boomwright.physics.box_response import BoxResponse, box_response, passband_pressure
from boomwright.physics.curves import decibels
from boomwright.physics.limits import clean_level
from boomwright.physics.time_response import group_delay

__all__ = ["FREQUENCIES", "BoxCurves", "box_curves"]

FREQUENCIES = np.geomspace(15.0, 20e3, 500)
"""Frequencies of all curves [Hz]."""


@dataclass(frozen=True, eq=False)
class BoxCurves:
    """Curves of a box in its driver's likely version, all of shape (n,) unless said.

    Parameters
    ----------
    frequency : array
        Frequencies [Hz].
    response : array
        Sound over the flat level, the end of the treble included [dB].
    impedance : array
        Size of one driver's impedance [Ω].
    travel : array
        Peak travel of the cone at full volts [m].
    vent_speed : array or None
        Peak speed in the vent at full volts [m/s].
    radiator_travel : array or None
        Peak travel of the passive radiator at full volts [m].
    delay : array
        Group delay [s].
    clean : array, shape (3, n)
        Loudest clean sine at 1 m in half space: battery full, half, nearly empty [dB].
    ruling : array of int, shape (3, n)
        What limits it, as in :data:`boomwright.physics.limits.LIMITS`.
    """

    frequency: Floats
    response: Floats
    impedance: Floats
    travel: Floats
    vent_speed: Floats | None
    radiator_travel: Floats | None
    delay: Floats
    clean: Floats
    ruling: np.ndarray[tuple[int, ...], np.dtype[np.intp]]


def box_curves(design: BoxDesign, wish: BoxWish, subject: Subject) -> BoxCurves:
    """Curves of a proposed box.

    Parameters
    ----------
    design : BoxDesign
        The box.
    wish : BoxWish
        What is wanted.
    subject : Subject
        The driver in its likely version.

    Returns
    -------
    BoxCurves
    """
    load = air_load(design, wish, subject)
    whole = _first(
        box_response(subject.model, load, FREQUENCIES, source_resistance=wish.resistance)
    )
    flat = _first(box_response(subject.flat, load, FREQUENCIES, source_resistance=wish.resistance))
    re = float(np.ravel(subject.model.re)[0])
    level = float(np.ravel(passband_pressure(subject.model))[0]) * re / (re + wish.resistance)
    limits = replace(
        drive_limits(design, wish, subject),
        volts=np.array(wish.volts)[:, np.newaxis],
        xmax=float(subject.xmax[0, 0]),
        power=float(subject.power[0, 0]),
    )
    # Sound from the motor without inductance, current and travel from the one that has it.
    heard = replace(whole, pressure=flat.pressure, impedance=whole.impedance + wish.resistance)
    clean = clean_level(heard, limits, frequency=FREQUENCIES)
    x = FREQUENCIES / float(subject.high_end[0, 0])
    treble = -10.0 * np.log10((1.0 - x**2) ** 2 + 2.0 * x**2)
    flow = np.abs(whole.opening) * wish.volts[0]
    vent, radiator = design.vent, design.radiator
    return BoxCurves(
        frequency=FREQUENCIES,
        response=decibels(flat.pressure / level) + treble,
        impedance=np.abs(whole.impedance),
        travel=np.abs(whole.travel) * wish.volts[0],
        vent_speed=flow * wish.count / (vent.count * vent.area) if vent else None,
        radiator_travel=(
            flow * wish.count / (radiator.count * radiator.cone.sd * 2.0 * np.pi * FREQUENCIES)
            if radiator
            else None
        ),
        delay=group_delay(flat.pressure, FREQUENCIES),
        clean=clean.level + treble + side_by_side_db(wish.count, FREQUENCIES),
        ruling=clean.ruling,
    )


def _first(response: BoxResponse) -> BoxResponse:
    """The likely version alone."""
    return BoxResponse(
        response.impedance[0], response.pressure[0], response.travel[0], response.opening[0]
    )
