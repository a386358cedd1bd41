"""Boxes of ``boomwright design box`` as plain values."""

from __future__ import annotations

from typing import Any

from boomwright.design.box.choices import BoxChoice
from boomwright.design.box.remarks import CAUTIONS, box_remarks
from boomwright.design.box.wish import BoxWish
from boomwright.design.sheet import Remark
from boomwright.outcome.data import Range

__all__ = ["box_data"]


def box_data(
    wish: BoxWish, choices: tuple[BoxChoice, ...], about: tuple[Remark, ...], at: int
) -> dict[str, Any]:
    """Boxes as plain values in SI units that :mod:`json` can write.

    Parameters
    ----------
    wish : BoxWish
        What was wanted.
    choices : tuple of BoxChoice
        The boxes.
    about : tuple of Remark
        What the driver says.
    at : int
        Which of them is shown in full.

    Returns
    -------
    dict
    """
    return {
        "wish": {
            "driver": wish.driver.name,
            "count": wish.count,
            "peak_volts": list(wish.volts),
            "peak_amps": wish.amps if wish.amps < float("inf") else None,
            "series_resistance": wish.resistance,
            "programme": wish.programme.name,
            "largest": wish.most,
            "bass": wish.low_end,
            "hump_db": wish.hump,
            "board": wish.wall,
            "stuffing": wish.stuffing,
        },
        "remarks": [_remark_data(remark) for remark in about],
        "chosen": at + 1,
        "boxes": [_choice_data(choice, wish) for choice in choices],
        "cautions": list(CAUTIONS),
    }


def _remark_data(remark: Remark) -> dict[str, str]:
    return {"level": remark.level, "says": remark.says, "do": remark.do}


def _range_data(value: Range | None) -> dict[str, float] | None:
    if value is None:
        return None
    return {"likely": value.likely, "low": value.low, "high": value.high}


def _choice_data(choice: BoxChoice, wish: BoxWish) -> dict[str, Any]:
    design, vent, radiator = choice.design, choice.design.vent, choice.design.radiator
    return {
        "kind": design.kind,
        "title": design.title,
        "volume": design.volume,
        "tuning": design.fb or None,
        "bass_end": _range_data(choice.f3),
        "bass_end_closed": choice.f3_closed,
        "bass_end_leaky": choice.f3_leaky,
        "hump_db": _range_data(choice.hump),
        "resonance": _range_data(choice.resonance),
        "qtc": _range_data(choice.quality),
        "level": {
            state: {**(_range_data(level) or {}), "limit": limit}
            for state, level, limit in zip(
                ("full", "half", "nearly empty"), choice.levels, choice.ruling, strict=True
            )
        },
        "level_at_travel": _range_data(choice.travel_level),
        "level_at_opening": _range_data(choice.opening_level),
        "vent": None
        if vent is None
        else {
            "shape": vent.shape,
            "count": vent.count,
            "across": vent.across,
            "width": vent.width or None,
            "length": vent.length,
            "fits": choice.vent_fit,
            "air_speed": choice.vent_speed,
            "pipe_resonance": choice.pipe,
        },
        "radiator": None
        if radiator is None
        else {
            "title": radiator.cone.title,
            "count": radiator.count,
            "sd": radiator.cone.sd,
            "xmax": radiator.cone.xmax,
            "mass": radiator.mass,
            "fs": radiator.fp,
        },
        "inside": choice.inside,
        "outside": list(choice.outside),
        "remarks": [_remark_data(remark) for remark in box_remarks(choice, wish)],
    }
