"""What a driver and a box want to be known: when a vent is a mistake, what to try, what to mind."""

from __future__ import annotations

from typing import Final

from boomwright.build.quantities import format_quantity
from boomwright.design.box.choices import BoxChoice
from boomwright.design.box.search import qts_of
from boomwright.design.box.wish import BoxWish, Subject
from boomwright.design.sheet import Remark
from boomwright.physics.alignment import alignment, efficiency_bandwidth
from boomwright.physics.vent import end_correction

__all__ = ["CAUTIONS", "box_remarks", "driver_remarks"]

_MISTAKE, _DOUBTFUL = 0.7, 0.5
_CLOSED_BELOW, _VENTED_ABOVE = 50.0, 100.0
_LOUD_AIR, _PIPE_LOW = 12.0, 400.0
_HUMP = 1.5
_UNDAMPED = 1.1
_SPREAD = 1.6

CAUTIONS: Final = (
    "Wear eye, ear and dust protection when you cut board; dust of MDF is the worst of all.",
    "Clamp small pieces before you drill or saw a hole; a hole saw throws them.",
)
"""Cautions for the making of a box; local rules and the tool's own manual come first."""


def driver_remarks(wish: BoxWish, subject: Subject) -> tuple[Remark, ...]:
    """What a driver says about the kind of box that it suits.

    Parameters
    ----------
    wish : BoxWish
        What is wanted.
    subject : Subject
        The driver in its likely version.

    Returns
    -------
    tuple of Remark
    """
    fs, qts, vas = qts_of(subject, wish.resistance)
    qes = wish.driver.qes.likely if wish.driver.qes else 1.0
    band = float(efficiency_bandwidth(fs, qes=qes))
    found = []
    if "vented" in wish.kinds and qts > _DOUBTFUL:
        box = alignment(qts, family="C4")
        litres = format_quantity(wish.count * vas / float(box.alpha), "volume", digits=2)
        says = (
            f"with a qts of {qts:.2f} the vented box that keeps the bass even would need {litres}, "
            "and smaller ones hump and ring."
        )
        if qts > _MISTAKE:
            do = "Take a closed box, or a driver of lower qts."
            found.append(Remark("stop", f"A vent is a mistake here: {says}", do))
        else:
            found.append(Remark("mind", f"A vent is doubtful: {says}", "Compare a closed box."))
    if band < _CLOSED_BELOW:
        says = (
            f"The ratio of fs to qes is {band:.0f} Hz, below 50 Hz: the motor suits a closed box."
        )
        found.append(Remark("mind", says, ""))
    elif band > _VENTED_ABOVE and qts <= _DOUBTFUL:
        says = (
            f"The ratio of fs to qes is {band:.0f} Hz, above 100 Hz: the motor suits a vented box."
        )
        found.append(Remark("fine", says, ""))
    if wish.driver.qes and not wish.driver.qes.certain:
        spread = wish.driver.qes.high / wish.driver.qes.low
        if spread > _SPREAD:
            says = (
                f"Its qes is only known to a factor of {spread:.1f}: the ranges below are as wide "
                "as that makes them."
            )
            found.append(Remark("mind", says, "Measure fs, qes and vas of yours before you cut."))
    return tuple(found)


def box_remarks(choice: BoxChoice, wish: BoxWish) -> tuple[Remark, ...]:
    """What to mind about one box.

    Parameters
    ----------
    choice : BoxChoice
        The box.
    wish : BoxWish
        What was wanted.

    Returns
    -------
    tuple of Remark
    """
    design, vent = choice.design, choice.design.vent
    found = []
    if wish.low_end is not None and choice.f3.likely > wish.low_end * 1.005:
        says = (
            f"Its bass ends at {_hertz(choice.f3.likely)}, above the {_hertz(wish.low_end)} wanted."
        )
        found.append(Remark("mind", says, "Allow more litres, or take a driver of lower fs."))
    if choice.hump.likely > _HUMP:
        says = f"The bass humps by {choice.hump.likely:.1f} dB and rings a little."
        do = "Fill it with fibre." if design.kind == "closed" else "Tune it lower, or line it."
        found.append(Remark("mind", says, do))
    if choice.quality is not None and choice.quality.likely > _UNDAMPED:
        says = f"A qtc of {choice.quality.likely:.2f} is boomy."
        found.append(Remark("mind", says, "Allow more litres, or fill it with fibre."))
    if design.kind == "vented" and vent is None:
        says = f"No vent wide enough for {_hertz(design.fb)} goes into {_litres(design.volume)}."
        found.append(Remark("stop", says, "Take the passive radiator, or more litres."))
    if design.kind != "closed" and not choice.gains:
        says = (
            f"A closed box of the same air ends at {_hertz(choice.f3_closed)}: the opening gains "
            "too little for its trouble."
        )
        found.append(Remark("mind", says, "Take the closed box, or allow more litres."))
    if vent is not None:
        found += _vent_remarks(choice)
    if design.radiator is not None and design.radiator.count == 1:
        says = "One passive radiator shakes the box; two on opposite sides do not."
        found.append(Remark("fine", says, ""))
    if "travel" in choice.ruling:
        says = "The cone's travel limits the loudness of bass-heavy music, not the battery."
        do = "A high-pass below the bass end protects it."
        found.append(Remark("mind", says, do if design.kind != "closed" else ""))
    return tuple(found)


def _vent_remarks(choice: BoxChoice) -> list[Remark]:
    vent, found = choice.design.vent, []
    if vent is None:
        return []
    if choice.vent_speed > _LOUD_AIR:
        says = f"Air rushes at {choice.vent_speed:.0f} m/s in the vent with the battery full."
        found.append(Remark("mind", says, "Round its edges over, or take a wider and longer one."))
    if choice.vent_fit == "bent":
        says = "The vent goes in with one bend only; its length counts along the middle."
        found.append(Remark("mind", says, "Keep a diameter of free air at its inner end."))
    if choice.vent_fit in {"too long", "too short"}:
        says = f"The vent comes out {choice.vent_fit} for the box."
        found.append(Remark("stop", says, "Take the passive radiator, or another tuning."))
    if choice.pipe < _PIPE_LOW:
        says = f"As a pipe the vent sings at {_hertz(choice.pipe)}."
        found.append(Remark("mind", says, "Let it open away from the listener."))
    if vent.shape == "slot":
        free, along = (float(end_correction(vent.area, along=panels)) for panels in (0, 1))
        lower = 1.0 - ((vent.length + free) / (vent.length + along)) ** 0.5
        says = (
            f"With one long side on a panel a slot tunes about {100 * lower:.0f} % lower than "
            "reckoned."
        )
        found.append(Remark("mind", says, "Cut it long and shorten it to the measured tuning."))
    below = choice.design.fb / 1.5
    says = f"Below about {_hertz(below)} nothing holds the cone of a vented box."
    found.append(Remark("mind", says, "Keep deep rumble out of it with a high-pass."))
    return found


def _hertz(value: float) -> str:
    return format_quantity(value, "frequency", digits=2 if value < 100.0 else 3)


def _litres(value: float) -> str:
    return format_quantity(value, "volume", digits=2)
