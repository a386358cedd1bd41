"""What a build gives at a few settings of the volume knob, and how often it clips there."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from boomwright.build.drawer import Drawer
from boomwright.build.draws import Draws
from boomwright.build.model import Build
from boomwright.outcome.data import Range, range_of
from boomwright.outcome.discharge import Run, run_down
from boomwright.outcome.loudness import asked_volts, level_where_wanted
from boomwright.outcome.network import Drive, Moment
from boomwright.outcome.plan import Plan, make_plan
from boomwright.outcome.scenario import Scenario
from boomwright.outcome.speakers import level_at_1m
from boomwright.physics.arrays import Floats
from boomwright.physics.clipped_programme import clipped_mean_square, share_clipped
from boomwright.physics.programme import Programme, programme_from_table

__all__ = ["OVER_CLEAN_DB", "OutputClipping", "Volume", "clipped_shares", "volumes_of"]

OVER_CLEAN_DB = (0.0, 3.0, 6.0, 10.0)
"""Settings of the knob that are worked out, over the one whose peaks just stay clean [dB]."""

_VERSIONS = 60
_RUNS_ALONE_DB = 3.0


@dataclass(frozen=True)
class OutputClipping:
    """Share of the time that an amplifier output clips: battery full, and at the run's end."""

    amplifier: str
    channel: int
    at_start: Range
    at_end: Range


@dataclass(frozen=True)
class Volume:
    """One setting of the volume knob, left there from full battery to the end.

    Parameters
    ----------
    title : str
        Its name in words.
    over_clean_db : float
        Over the setting whose peaks just stay clean, battery full, in the likely version [dB].
    level : Range
        Level where the build wants it, battery full [dB(A)].
    watts : Range
        Average power from the source, battery full [W].
    duration : Range
        Time to the end [s].
    outputs : tuple of OutputClipping
        How often each amplifier output clips.
    """

    title: str
    over_clean_db: float
    level: Range
    watts: Range
    duration: Range
    outputs: tuple[OutputClipping, ...]

    @property
    def worst(self) -> OutputClipping:
        """The output that clips most at the start, and of those the one that does at the end."""
        return max(self.outputs, key=lambda each: (each.at_start.likely, each.at_end.likely))


def clipped_shares(plan: Plan, moment: Moment) -> tuple[Floats, ...]:
    """Share of the time that the programme is beyond what each amplifier output can swing.

    Parameters
    ----------
    plan : Plan
        The build in numbers.
    moment : Moment
        One moment of a run, its drive being music.

    Returns
    -------
    tuple of array, each (versions, scenarios)
        Shares [1], in the order of ``plan.outputs``.
    """
    # Silence has no crest; any clip level will do for it.
    rms = np.maximum(moment.volts, 1e-12)
    return tuple(share_clipped(plan.programme, peak / rms) for peak in moment.peaks)


def volumes_of(
    build: Build, *, versions: int = _VERSIONS, seed: int = 0, drawer: Drawer | None = None
) -> tuple[Volume, ...]:
    """A build played as loud as wanted, at its clean limit, and beyond it.

    At the clean limit the greatest peak of the music just reaches what the first output to clip
    can swing, battery full. The knob then stays: as the battery sinks, more of the peaks clip.

    Parameters
    ----------
    build : Build
        The build; its own music where it has some.
    versions : int
        Versions of it, besides the likely one, that the ranges rest on.
    seed : int
        Another seed gives another set of versions.
    drawer : Drawer or None
        Where connectors are looked up; the typical parts if None.

    Returns
    -------
    tuple of Volume
        As wanted first, then one for each of `OVER_CLEAN_DB`.
    """
    plan = make_plan(build, Draws(versions, seed=seed), drawer=drawer)
    asked = asked_volts(plan, (Scenario("wanted"),))
    clean = _run(plan, asked, flat_out=True).start.volts
    wanted = _run(plan, asked)
    over = np.maximum(wanted.start.volts, 1e-12) / np.maximum(clean, 1e-12)
    found = [_volume("as wanted", 20.0 * float(np.log10(over[0, 0])), plan, wanted)]
    for over_db in OVER_CLEAN_DB:
        title = f"{over_db:g} dB over that" if over_db else "clean limit"
        driven, volts = _driven(plan, clean, over_db)
        found.append(_volume(title, over_db, driven, _run(driven, volts)))
    return tuple(found)


def _run(plan: Plan, volts: Floats, *, flat_out: bool = False) -> Run:
    drive = Drive(volts=volts, flat_out=np.array([flat_out]), phone=np.zeros(1))
    return run_down(plan.widened(1), (Scenario("wanted"),), drive)


def _driven(plan: Plan, clean: Floats, over_db: float) -> tuple[Plan, Floats]:
    """The plan and its volts rms for a knob that stands so far over the clean limit.

    A run bounds what can be asked at 6 dB over clipping, since nobody turns up further to get a
    wanted level. A knob can stand higher; then the peaks that clip in any case are cut beforehand.
    """
    volts = clean * 10.0 ** (over_db / 20.0)
    if over_db <= _RUNS_ALONE_DB:
        return plan, volts
    cut = float(plan.programme.levels[-1]) * 10.0 ** ((_RUNS_ALONE_DB - over_db) / 20.0)
    left = np.sqrt(clipped_mean_square(plan.programme, cut))
    return replace(plan, programme=_cut(plan.programme, cut)), volts * left


def _cut(programme: Programme, level: float) -> Programme:
    """The programme hard-clipped at a level over its root mean square."""
    kept = programme.levels < level
    share = float(np.interp(level, programme.levels, programme.exceedance))
    return programme_from_table(
        programme.name,
        title=programme.title,
        crest_factor_range_db=programme.crest_factor_range_db,
        amplitudes=np.append(programme.levels[kept], level),
        exceedance=np.append(programme.exceedance[kept], share),
        frequencies=programme.frequencies,
        spectrum_db=programme.spectrum_db,
        status=programme.status,
        source=programme.source,
    )


def _volume(title: str, over_db: float, plan: Plan, run: Run) -> Volume:
    def spread(values: Floats) -> Range:
        return range_of(np.broadcast_to(values, (plan.draws.versions, 1))[:, 0])

    start, end = run.start, run.end
    return Volume(
        title=title,
        over_clean_db=over_db,
        level=spread(level_where_wanted(plan, level_at_1m(plan.outputs, start.mean_squares))),
        watts=spread(start.current * start.terminal),
        duration=spread(run.duration),
        outputs=tuple(
            OutputClipping(output.amplifier, output.channel, spread(first), spread(last))
            for output, first, last in zip(
                plan.outputs, clipped_shares(plan, start), clipped_shares(plan, end), strict=True
            )
        ),
    )
