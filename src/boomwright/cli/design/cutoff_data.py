"""``boomwright design cutoff`` as plain values that JSON can hold."""

from __future__ import annotations

import math
from typing import Any

from boomwright.cli.design.show import design_values
from boomwright.design.cutoff.calibration import Calibration
from boomwright.design.cutoff.choice import CutoffChoice, ModuleChoice
from boomwright.design.cutoff.design import CutoffDesign

__all__ = ["cutoff_data"]


def cutoff_data(
    found: CutoffDesign,
    choices: tuple[CutoffChoice, ...],
    modules: tuple[ModuleChoice, ...],
    calibration: Calibration | None,
) -> dict[str, Any]:
    """All of a cutoff's design as plain values; null where there is no number.

    Parameters
    ----------
    found : CutoffDesign
        The design.
    choices, modules : tuple
        What it was compared with; empty where it was not.
    calibration : Calibration or None
        What explains the readings, where there were any.

    Returns
    -------
    dict
    """
    run = found.run
    circuit = {
        key: str(value)
        for key, value in found.circuit.model_dump().items()
        if value not in (None, "")
    }
    values: dict[str, Any] = {
        "wish": {"off": found.wish.off, "on": found.wish.on, "load": found.wish.load_current},
        "design": design_values(found.design),
        "circuit": circuit,
        "by_temperature": [
            {"kelvin": kelvin, "off": _number(off), "on": _number(on)}
            for kelvin, off, on in found.by_temperature
        ],
        "worst_off": [_number(value) for value in found.worst_off],
        "worst_on": [_number(value) for value in found.worst_on],
        "share_within": found.share_within,
        "run": {
            "first_opening": _number(run.first_opening),
            "chatters": run.chatters,
            "openings_per_hour": [int(count) for count in run.openings_per_hour],
            "ruined_after": _number(run.ruined_after),
            "charge_left": run.at_end.charge,
        },
        "moves": [
            {
                "designator": move.designator,
                "before": move.before,
                "after": move.after,
                "off": _number(move.off_after),
                "on": _number(move.on_after),
            }
            for move in found.moves
        ],
        "trimmer": {
            "designator": found.trimmer.designator,
            "low": found.trimmer.low,
            "high": found.trimmer.high,
            "fixed": found.trimmer.fixed,
            "trimmer": found.trimmer.trimmer,
            "covers": found.trimmer.covers,
        },
    }
    if choices:
        values["kinds"] = [
            {
                "family": choice.family,
                "level": choice.level,
                "off": None if choice.design is None else _number(choice.design.solved.off[0]),
                "on": None if choice.design is None else _number(choice.design.solved.on[0]),
                "problems": [str(problem) for problem in choice.problems],
            }
            for choice in choices
        ]
        values["modules"] = [{"part": module.part, "off": module.off.likely} for module in modules]
    if calibration is not None:
        values["calibration"] = {
            "off": calibration.off,
            "on": _number(calibration.on),
            "fits": calibration.fits,
            "suspects": [
                {"field": field, "value": text, "place": place, "explains": share}
                for field, text, place, share in calibration.suspects
            ],
            "moves": [str(move) for move in calibration.moves],
        }
    return values


def _number(value: Any) -> float | None:
    return float(value) if math.isfinite(float(value)) else None
