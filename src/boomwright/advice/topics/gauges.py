"""Battery gauges by their own marks: whether they can be told apart, and what they show."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from boomwright.advice.finding import Figure
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.terms import percent
from boomwright.build.quantities import format_quantity as shown
from boomwright.build.soldered_meter import charge_at, meter_marks

__all__: list[str] = []

_WRONG = 0.15
"""How much of the charge a gauge may read too low while music plays."""


@rule(
    "gauge-marks-close",
    "long",
    title="Marks of a gauge that cannot be told apart",
    source="two neighbouring marks, each as far off as the gauge's parts allow",
)
def gauge_marks_close(case: Case) -> Iterator[Says]:
    """Neighbouring marks that lie closer than the gauge is exact."""
    battery = case.build.battery
    for load in case.build.load:
        if load.circuit is None or battery is None:
            continue
        marks = meter_marks(load.circuit)
        if marks.size < 2:
            continue
        apart = np.diff(marks)
        blurred = 2.0 * load.circuit.accuracy.likely * marks[1:]
        close = int(np.sum(apart < blurred))
        if not close:
            continue
        worst = int(np.argmin(apart - blurred))
        low, high = float(marks[worst]), float(marks[worst + 1])
        yield Says(
            "mind",
            load.name,
            f"{close} of {apart.size} neighbouring marks cannot be told apart, such as "
            f"{shown(low, 'voltage', digits=4)} and {shown(high, 'voltage', digits=4)}: each may "
            f"be off by {shown(0.5 * float(blurred[worst]), 'voltage', digits=2)}.",
            f"{battery.chemistry} keeps nearly the same volts over much of its charge, and parts "
            "of a few per cent move a mark by more than that."
            if battery.chemistry in {"lifepo4", "nimh"}
            else "Two marks that may change places say nothing about the charge.",
            "Take fewer marks, set one of them with a trimmer against a good meter, or count "
            "ampere-hours.",
            numbers=(
                Figure("lower mark", low, "voltage"),
                Figure("upper mark", high, "voltage"),
                Figure("told apart from", float(blurred[worst]), "voltage"),
            ),
        )


@rule(
    "gauge-reads-low",
    "long",
    title="Mark of a gauge that goes out too early while music plays",
    source="current times resistance, at the gauge's own marks; rested volts of the chemistry",
)
def gauge_reads_low(case: Case) -> Iterator[Says]:
    """Charge at which each mark is passed while music plays, against the same at rest."""
    battery, chemistry = case.build.battery, case.chemistry
    if battery is None or chemistry is None:
        return
    sag = case.outcome.wanted.amps.likely * case.outcome.source.resistance.likely
    for load in case.build.load:
        if load.circuit is None or load.circuit.set_for == "load":
            continue
        marks = meter_marks(load.circuit)
        if not marks.size:
            continue
        rested = charge_at(marks, chemistry, battery.cells)
        playing = charge_at(marks + sag, chemistry, battery.cells)
        worst = int(np.argmax(playing - rested))
        error = float((playing - rested)[worst])
        if error <= _WRONG:
            continue
        mark = float(marks[worst])
        yield Says(
            "mind",
            load.name,
            f"While music plays the battery sags by {shown(sag, 'voltage', digits=2)}: the mark at "
            f"{shown(mark, 'voltage', digits=4)}, which stands for "
            f"{percent(float(rested[worst]))} of the charge, is passed with "
            f"{percent(float(playing[worst]))} still there.",
            "Marks for rested volts read low under load, most where the volts hardly change.",
            "Read it with the music paused for a minute, or set the marks "
            f"{shown(sag, 'voltage', digits=2)} lower and write set_for = 'load'.",
            numbers=(
                Figure("sag", sag, "voltage"),
                Figure("mark", mark, "voltage"),
                Figure("charge it stands for", float(rested[worst]), "share"),
                Figure("charge left when it is passed", float(playing[worst]), "share"),
            ),
        )
