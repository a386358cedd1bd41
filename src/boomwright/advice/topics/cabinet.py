"""The box: air for the drivers, tightness, and whether everything fits."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from boomwright.advice.finding import Change, Figure, Fix
from boomwright.advice.rules import Case, Says, rule
from boomwright.advice.swaps import larger_cabinet
from boomwright.build.audio import Driver
from boomwright.build.quantities import format_quantity as shown
from boomwright.outcome.bass import bass_of
from boomwright.outcome.openings import USUAL_TUNING
from boomwright.outcome.room import gross_volume_of
from boomwright.outcome.voices import BASS_BANDS, USUAL_QMS
from boomwright.physics.enclosure import closed_box, closed_box_volume
from boomwright.physics.loudspeaker import qts

__all__: list[str] = []

_BOOMY = 1.2
_GOOD = 0.9
_CROWDED, _FULL = 0.6, 0.949
_HUMP_MOST = 2.4
"""Hump of a closed box at the Q of 1.2 that counts as boomy [dB]; computed, Small 1972."""
_HUMP_COST, _END_COST = 1.0, 1.1
"""Hump [dB] and share of the bass end that a chamber must save to be told of; no source."""


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
        # The share of the air that one of them feels, stuffing counted.
        each = driver.vas.likely / ((outcome.box_fc / driver.fs.likely) ** 2 - 1.0)
        shape = closed_box(fs=driver.fs.likely, qts=own, vas=driver.vas.likely, volume=each)
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
            wanted = closed_box_volume(
                fs=driver.fs.likely, qts=own, vas=driver.vas.likely, qtc=max(_GOOD, 1.05 * own)
            )
            needed = air * float(wanted) / each
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
    "bass-guessed",
    "loud",
    title="A bass end that nothing in the file gives",
    source="usual bass ends and tunings, typical of class, from memory",
)
def bass_guessed(case: Case) -> Iterator[Says]:
    """Bass ends taken from what is usual: a driver or a tuning of which too little is known."""
    cabinet = case.build.cabinet
    if cabinet is None:
        return
    ends = {outcome.name: outcome.low_end for outcome in case.outcome.drivers}
    for driver in case.build.driver:
        if driver.band not in BASS_BANDS or driver.low_end is not None or driver.name not in ends:
            continue
        end = ends[driver.name]
        figures = (Figure("bass end taken", end, "frequency"),)
        lacking = [key for key in ("fs", "qes", "vas") if getattr(driver, key) is None]
        if lacking:
            yield Says(
                "mind",
                driver.name,
                f"The file has no {' and no '.join(lacking)} of this driver, so "
                f"{shown(end, 'frequency', digits=2)} is taken as the end of its bass, "
                + (
                    "worked out from its sensitivity." if lacking == ["vas"] else "the usual value."
                ),
                "Driver and box decide together where the bass ends, and loudness follows from "
                "that.",
                "Measure its resonance and Q from the impedance in free air, and vas with a known "
                'mass on the cone; or write low_end = "… Hz" if you have measured that.',
                numbers=figures,
            )
            continue
        if cabinet.type != "vented" or cabinet.vent is not None or cabinet.tuning is not None:
            continue
        taken = USUAL_TUNING.partition(" [")[0]
        yield Says(
            "mind",
            driver.name,
            f"The file says nothing of the vent or its tuning: {taken} is taken, the usual tuning, "
            f"and the bass ends at {shown(end, 'frequency', digits=2)}.",
            "What tunes a box decides where its bass ends, and loudness follows from that.",
            'Add a [cabinet.vent] table with its sizes, or write tuning = "… Hz" where the '
            "impedance dips between its two peaks.",
            numbers=figures,
        )


@rule(
    "electronics-in-air",
    "loud",
    title="Battery and boards in the drivers' air",
    source="the box with and without what stands in it; 10 % of the bass end or 1 dB of hump, "
    "common practice, no source",
)
def electronics_in_air(case: Case) -> Iterator[Says]:
    """What battery and boards inside cost in bass end and hump."""
    cabinet = case.build.cabinet
    if cabinet is None or cabinet.electronics_apart or cabinet.type == "open":
        return
    if 1.0 - case.outcome.volume_net.likely / gross_volume_of(cabinet) > _CROWDED:
        return
    apart = {"electronics_apart": True, "taken": None}
    other = case.build.model_copy(update={"cabinet": cabinet.model_copy(update=apart)})
    for driver in case.build.driver:
        now, then = bass_of(driver, case.build), bass_of(driver, other)
        if driver.band not in BASS_BANDS or driver.low_end is not None:
            continue
        # A box that booms all the same is too small, and told of as that.
        if now is None or then is None or then.hump > _HUMP_MOST:
            continue
        dearer = now.hump - then.hump > _HUMP_COST
        if not dearer and now.low_end <= _END_COST * then.low_end:
            continue
        taken = then.volume / now.volume
        yield Says(
            "mind",
            "cabinet",
            f"Battery and boards stand in the air of {driver.name}: its bass ends at "
            f"{shown(now.low_end, 'frequency', digits=2)} with a hump of "
            f"{shown(now.hump, 'decibel')}. In a chamber of their own, outside of these litres, "
            f"they would leave it {shown(then.low_end, 'frequency', digits=2)} and "
            f"{shown(then.hump, 'decibel')}.",
            "What stands in the box is air that the cone does not have, and every lead through "
            "the wall and every loose board may leak or buzz.",
            "Put them behind a tight partition or in a box of their own, with air holes to the "
            "outside.",
            numbers=(
                Figure("bass end", now.low_end, "frequency"),
                Figure("bass end, chamber apart", then.low_end, "frequency"),
                Figure("hump", now.hump, "decibel"),
                Figure("hump, chamber apart", then.hump, "decibel"),
                Figure("air, chamber apart, over the air now", taken, "ratio"),
            ),
            fix=None
            if cabinet.taken is not None
            else Fix(
                "a chamber of their own",
                (Change(cabinet.name, "electronics_apart", True),),
            ),
        )
        return


@rule(
    "shared-air",
    "loud",
    title="Different drivers on the same air",
    source="common practice, no source",
)
def shared_air(case: Case) -> Iterator[Says]:
    """Two unlike drivers of the bass or the full band that share one chamber."""
    cabinet = case.build.cabinet
    if cabinet is None or cabinet.type == "open":
        return
    both = [
        driver
        for driver in case.build.driver
        if driver.band in BASS_BANDS and driver.fs and driver.vas and driver.qes
    ]
    both.sort(key=lambda driver: driver.vas.likely if driver.vas else 0.0)
    if len(both) < 2:
        return
    small, large = both[0], both[-1]
    if small.vas is None or large.vas is None or small.fs is None or large.fs is None:
        return
    if small.vas.high >= large.vas.low and small.fs.low <= large.fs.high:
        return
    own, needed = _chamber(small)
    room = (
        f"a chamber of {shown(needed, 'volume', digits=2)}"
        if np.isfinite(needed)
        else "a chamber of its own"
    )
    yield Says(
        "mind",
        small.name,
        f"Both {small.name} and {large.name} work on the same air: "
        f"{shown(small.vas.likely, 'volume', digits=2)} of it are as stiff as the one, "
        f"{shown(large.vas.likely, 'volume', digits=2)} as the other.",
        f"The pressure that {large.name} makes in the box drives the softer cone of {small.name} "
        "backwards, and each note of the one shakes the other.",
        f"Give {small.name} {room}, tight against the rest: a plastic pot or a length of drain "
        "pipe behind it will do.",
        numbers=(
            Figure(f"vas of {small.name}", small.vas.likely, "volume"),
            Figure(f"vas of {large.name}", large.vas.likely, "volume"),
            Figure(f"Q of {small.name}", own, "ratio"),
            *((Figure(f"air for {small.name}", needed, "volume"),) if needed < np.inf else ()),
        ),
    )


def _chamber(driver: Driver) -> tuple[float, float]:
    """Q of a driver, and air that closes all of its kind in well; nan where none does."""
    if driver.fs is None or driver.vas is None or driver.qes is None:
        return float("nan"), float("nan")
    own = float(qts(driver.qms.likely if driver.qms else USUAL_QMS, driver.qes.likely))
    if own >= _GOOD:
        return own, float("nan")
    each = closed_box_volume(fs=driver.fs.likely, qts=own, vas=driver.vas.likely, qtc=_GOOD)
    return own, driver.count * float(each)
