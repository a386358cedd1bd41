"""The box: air for the drivers, tightness, and whether everything fits."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.swaps import larger_cabinet
from boomwright.build.quantities import format_quantity as shown
from boomwright.outcome.room import gross_volume_of
from boomwright.outcome.voices import USUAL_QMS
from boomwright.physics.enclosure import closed_box, closed_box_volume
from boomwright.physics.loudspeaker import qts

__all__: list[str] = []

_BOOMY = 1.2
_GOOD = 0.9
_CROWDED, _FULL = 0.6, 0.949
_BASS_BANDS = {"full", "low"}


@rule(
    "box-too-small",
    "loud",
    title="Air for the drivers",
    source="R. H. Small, Closed-Box Loudspeaker Systems, J. Audio Eng. Soc. 1972, from memory",
)
def box_too_small(case: Case) -> Iterator[Says]:
    """Q of each driver in its share of a closed box."""
    drivers = {driver.name: driver for driver in case.build.driver}
    for outcome in case.outcome.drivers:
        driver, quality = drivers[outcome.name], outcome.box_qtc
        if np.isnan(quality) or quality <= _BOOMY:
            continue
        if driver.fs is None or driver.vas is None or driver.qes is None:
            continue
        own = float(qts(driver.qms.likely if driver.qms else USUAL_QMS, driver.qes.likely))
        air = case.outcome.volume_net.likely
        shape = closed_box(
            fs=driver.fs.likely, qts=own, vas=driver.vas.likely, volume=air / driver.count
        )
        hump = float(shape.peak_db)
        figures: tuple[Figure, ...] = (
            Figure("Q in the box", quality, "ratio"),
            Figure("resonance in the box", outcome.box_fc, "frequency"),
            Figure("hump", hump, "decibel"),
            Figure("air in the box", air, "volume"),
        )
        says = (
            f"With {shown(air, 'volume', digits=2)} of air the drivers reach a Q of {quality:.1f}: "
            f"a hump of {hump:.0f} dB at {shown(outcome.box_fc, 'frequency', digits=2)}, and "
            "little below it."
        )
        fix: Fix | None = None
        if own < _GOOD:
            needed = driver.count * float(
                closed_box_volume(
                    fs=driver.fs.likely, qts=own, vas=driver.vas.likely, qtc=max(_GOOD, 1.05 * own)
                )
            )
            do = (
                f"Give them {shown(needed, 'volume', digits=2)} of air, or use fewer or smaller "
                "drivers; wadding helps a little."
            )
            figures = (*figures, Figure("air wanted", needed, "volume"))
            if case.build.cabinet is not None:
                fix = larger_cabinet(case, needed + gross_volume_of(case.build.cabinet) - air)
        else:
            do = (
                f"No closed box tames a driver with a Q of {own:.1f} of its own: open the back or "
                "use another driver."
            )
        yield Says(
            "mind",
            driver.name,
            says,
            "Trapped air is a spring: too little of it makes the bass one loud note.",
            do,
            numbers=figures,
            fix=fix,
        )


@rule(
    "cabinet-missing",
    "loud",
    title="No cabinet in the file",
    source="common practice, no source",
)
def cabinet_missing(case: Case) -> Iterator[Says]:
    """A build that says nothing of its box."""
    if case.build.cabinet is not None:
        return
    count = sum(driver.count for driver in case.build.driver)
    yield Says(
        "mind",
        "cabinet",
        f"The file says nothing of a box for the {count} driver{'s' if count > 1 else ''}, so bass "
        "and heat in the box are not worked out.",
        "Without a box the sound from the back of a cone cancels the bass of its front.",
        "Add a [cabinet] table with its inside sizes, material and type.",
        numbers=(Figure("drivers", float(count), "ratio"),),
    )


@rule(
    "box-leaks",
    "loud",
    title="Leaks of a closed box",
    source="common practice, no source",
)
def box_leaks(case: Case) -> Iterator[Says]:
    """A closed box that is known to leak."""
    cabinet = case.build.cabinet
    if cabinet is None or cabinet.type != "closed" or cabinet.leaks != "leaky":
        return
    air = case.outcome.volume_net.likely
    yield Says(
        "mind",
        "cabinet",
        f"The closed box of {shown(air, 'volume', digits=2)} leaks, so its bass is less than "
        "worked out here.",
        "Air that slips through a gap takes the push from the bass and whistles.",
        "Seal every joint, cable hole and driver rim with foam strip or putty; a strip of paper at "
        "the gap must not move while a bass tone plays.",
        numbers=(Figure("air in the box", air, "volume"),),
        fix=Fix("seal it", (Change(cabinet.name, "leaks", "tight"),)),
    )


@rule(
    "things-do-not-fit",
    "loud",
    title="Space that battery, boards and drivers take",
    source="volumes added up; most boxes need half of their space as air, no source",
)
def things_do_not_fit(case: Case) -> Iterator[Says]:
    """Volume taken by what stands in the box against its gross volume."""
    cabinet = case.build.cabinet
    if cabinet is None:
        return
    gross = gross_volume_of(cabinet)
    share = 1 - case.outcome.volume_net.likely / gross
    if share <= _CROWDED:
        return
    full = share >= _FULL
    yield Says(
        "stop" if full else "mind",
        "cabinet",
        f"Battery, boards and drivers take {'all' if full else f'{share * 100:.0f} %'} of the "
        f"{shown(gross, 'volume')} box.",
        "Things that do not fit get squeezed: leads pinched, cells dented, cones touched."
        if full
        else "Little air is left for the bass and for cooling.",
        f"Use a box of {shown(2 * share * gross, 'volume', digits=2)} or more, or move battery and "
        "boards out of the drivers' air.",
        numbers=(
            Figure("box inside", gross, "volume"),
            Figure("air left", case.outcome.volume_net.likely, "volume"),
            Figure("share taken", share, "share"),
        ),
        fix=larger_cabinet(case, 2 * share * gross),
    )


@rule(
    "bass-not-worked-out",
    "loud",
    title="Bass of a vented or open box",
    source="what this program works out today: closed boxes",
)
def bass_not_worked_out(case: Case) -> Iterator[Says]:
    """Vented and open boxes whose bass end is a usual value only."""
    cabinet = case.build.cabinet
    if cabinet is None or cabinet.type == "closed":
        return
    ends = {outcome.name: outcome.low_end for outcome in case.outcome.drivers}
    for driver in case.build.driver:
        if driver.band in _BASS_BANDS and driver.low_end is None and driver.name in ends:
            end, article = ends[driver.name], "an" if cabinet.type == "open" else "a"
            yield Says(
                "mind",
                driver.name,
                f"The bass of {article} {cabinet.type} box is not worked out yet: "
                f"{shown(end, 'frequency')} is taken as its end, the usual value.",
                "The box decides where the bass ends, and loudness follows from that.",
                'If you know it, write low_end = "… Hz" for the driver, measured or from its old '
                "data.",
                numbers=(Figure("bass end taken", end, "frequency"),),
            )
