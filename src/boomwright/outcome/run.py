"""From a Build to its Outcome."""

from __future__ import annotations

import numpy as np

from boomwright.build.drawer import Drawer
from boomwright.build.model import Build
from boomwright.outcome.boards import amplifier_outcomes, driver_outcomes
from boomwright.outcome.data import (
    Curve,
    Outcome,
    PartOutcome,
    Range,
    ScenarioOutcome,
    SourceOutcome,
    range_of,
)
from boomwright.outcome.discharge import ENDINGS, Run
from boomwright.outcome.influence import influences
from boomwright.outcome.loudness import level_where_wanted, wanted_level_at_1m
from boomwright.outcome.network import Drive, Moment, solve_moment
from boomwright.outcome.parked import parked_outcome
from boomwright.outcome.plan import Plan
from boomwright.outcome.room import net_volume_of
from boomwright.outcome.scenario import Scenario
from boomwright.outcome.source import label_charge
from boomwright.outcome.speakers import level_at_1m
from boomwright.outcome.warmth import Warmth
from boomwright.outcome.worked import Worked, work_out
from boomwright.physics.arrays import Floats
from boomwright.physics.battery import Battery, rested_voltage, short_circuit_current

__all__ = ["VERSIONS", "outcome_of", "run_build"]

VERSIONS = 160
"""Versions besides the likely one that a check works out."""

_NAN = Range(np.nan, np.nan, np.nan)


def run_build(
    build: Build, *, versions: int = VERSIONS, seed: int = 0, drawer: Drawer | None = None
) -> Outcome:
    """Outcome of a build: how loud, how long, how hot, and what flows where.

    Parameters
    ----------
    build : Build
        The build.
    versions : int
        Versions of it, besides the likely one, that the ranges rest on.
    seed : int
        Another seed gives another set of versions.
    drawer : Drawer or None
        Where connectors are looked up.

    Returns
    -------
    Outcome
    """
    return outcome_of(work_out(build, versions=versions, seed=seed, drawer=drawer))


def outcome_of(worked: Worked) -> Outcome:
    """Outcome of a build that is worked out.

    Parameters
    ----------
    worked : Worked
        From :func:`boomwright.outcome.worked.work_out`.

    Returns
    -------
    Outcome
    """
    plan, run, warmth = worked.plan, worked.run, worked.warmth
    peaks = _at_peak(worked, run.start), _at_peak(worked, run.end)
    wanted, loudest = worked.column("wanted"), worked.column("flat-out")
    build = plan.build
    return Outcome(
        name=build.name,
        versions=plan.draws.versions,
        scenarios=tuple(
            _scenario(
                plan, scenario, column, run, worked.powers, warmth, peaks[0], worked.scenarios
            )
            for column, scenario in enumerate(worked.scenarios)
        ),
        amplifiers=amplifier_outcomes(plan, run, peaks, wanted=wanted, loudest=loudest),
        drivers=driver_outcomes(plan, run, loudest=loudest),
        source=_source(plan, worked.battery, worked.resistance, wanted),
        parked=parked_outcome(plan, worked.battery, run, wanted),
        volume_net=(
            range_of(_column(net_volume_of(build, plan.draws), plan, 0)) if build.cabinet else _NAN
        ),
        settled=run.settled and all(moment.settled for moment in peaks),
        influences=influences(plan.draws, _answers(worked)),
    )


def _answers(worked: Worked) -> dict[str, Floats]:
    """How long, how loud and how hot over the versions, as the verdict asks it."""
    plan, run = worked.plan, worked.run
    loudest = worked.column("flat-out")
    hottest = worked.column("flat-out+phone") if plan.build.usb else loudest
    found = {
        "long": _column(run.duration, plan, worked.column("wanted")),
        "loud": _column(_clean_level(plan, run.start), plan, loudest),
    }
    spots = [_column(spot, plan, hottest) for spot in worked.warmth.hottest if spot is not None]
    if spots:
        found["hot"] = max(spots, key=lambda spot: float(spot[0]))
    return found


def _at_peak(worked: Worked, moment: Moment) -> Moment:
    """The same moment when every output swings to its limit at once."""
    drive, resistance = worked.drive, worked.resistance
    emf = moment.terminal + moment.current * resistance
    at_once = Drive(drive.volts, drive.flat_out, drive.phone, mode="peak")
    return solve_moment(worked.wide, emf=emf, resistance=resistance, drive=at_once)


def _column(values: Floats, plan: Plan, column: int) -> Floats:
    """One scenario's values over the versions."""
    width = values.shape[1] if values.ndim > 1 else 1
    wide = np.broadcast_to(values, (plan.draws.versions, max(width, column + 1)))
    return wide[:, column]


def _scenario(
    plan: Plan,
    scenario: Scenario,
    column: int,
    run: Run,
    powers: Floats,
    warmth: Warmth,
    peak: Moment,
    scenarios: tuple[Scenario, ...],
) -> ScenarioOutcome:
    def spread(values: Floats) -> Range:
        return range_of(_column(values, plan, column))

    wanted = float(level_where_wanted(plan, wanted_level_at_1m(plan, scenarios))[0, column])
    endings = np.bincount(run.ending[:, column], minlength=len(ENDINGS)) / plan.draws.versions
    start, end = run.start, run.end
    return ScenarioOutcome(
        key=scenario.key,
        title=scenario.title,
        level_asked=np.nan if scenario.level == "flat-out" else wanted,
        level_start=spread(_level(plan, start.mean_squares)),
        level_end=spread(_level(plan, end.mean_squares)),
        clean_start=spread(_clean_level(plan, start)),
        clean_end=spread(_clean_level(plan, end)),
        duration=spread(run.duration),
        ending=ENDINGS[int(run.ending[0, column])],
        endings={name: float(share) for name, share in zip(ENDINGS, endings, strict=True) if share},
        amps=spread(start.current),
        watts=spread(start.current * start.terminal),
        amps_peak=spread(peak.current),
        volts_end=spread(end.terminal),
        charge_left=spread(run.charge_left),
        rebound=spread(run.rebound[-1]),
        rebound_soon=spread(run.rebound[0]),
        air=spread(warmth.air),
        heat=spread(warmth.heat_inside),
        parts=tuple(
            PartOutcome(
                name=node.name,
                kind=node.kind,
                volts_in=spread(start.inputs[place]),
                volts_out=spread(start.outputs[place]),
                amps=spread(start.currents[place]),
                amps_peak=spread(peak.currents[place]),
                own=spread(powers[place]),
                loss=spread(warmth.losses[place]),
                junction=_NAN if (hot := warmth.hottest[place]) is None else spread(hot),
            )
            for place, node in enumerate(plan.nodes)
        ),
        energy=_energy(plan, run, column),
        curve=_curve(run, column, plan),
    )


def _level(plan: Plan, mean_squares: tuple[Floats, ...]) -> Floats:
    return level_where_wanted(plan, level_at_1m(plan.outputs, mean_squares))


def _clean_level(plan: Plan, moment: Moment) -> Floats:
    """Level at which the peaks of the first output to clip just reach their limit."""
    crest = 10 ** (plan.programme.crest_factor_db / 20)
    lowest = np.minimum.reduce(moment.peaks)
    return _level(plan, tuple((lowest / crest) ** 2 for _ in moment.peaks))


def _energy(plan: Plan, run: Run, column: int) -> dict[str, float]:
    names = [node.name for node in plan.nodes] + ["leads", "battery itself"]
    return {name: float(energy) for name, energy in zip(names, run.energy[:, column], strict=True)}


def _curve(run: Run, column: int, plan: Plan) -> Curve:
    """The likely version's readings, cut where its run ends."""
    trace, end = run.trace, float(run.duration[0, column])
    time = trace.time[:, column]
    # Readings after the end repeat it; the first of them is the end itself.
    last = int(np.argmax(time >= end)) if np.any(time >= end) else len(time) - 1
    level = level_where_wanted(plan, trace.level[: last + 1, column])
    rows = (time, trace.terminal[:, column], trace.current[:, column], trace.charge[:, column])
    cut = [tuple(float(value) for value in row[: last + 1]) for row in rows]
    return Curve(cut[0], cut[1], cut[2], cut[3], tuple(float(value) for value in level))


def _source(plan: Plan, battery: Battery | None, resistance: Floats, wanted: int) -> SourceOutcome:
    build, chemistry = plan.build, plan.chemistry
    if build.battery is None or battery is None or chemistry is None:
        supply = build.supply
        if supply is None:
            raise ValueError(f"{build.name} has no source")
        volts = range_of(_column(plan.take(supply.name, "voltage", supply.voltage), plan, 0))
        limit = supply.current_limit.likely
        return SourceOutcome(
            name=supply.name,
            volts_full=volts,
            volts_floor=0.0,
            volts_charging=volts.likely,
            resistance=range_of(_column(resistance, plan, 0)),
            short_circuit=Range(limit, limit, limit),
            energy_full=Range(np.inf, np.inf, np.inf),
        )
    table = build.battery
    full = rested_voltage(battery, state_of_charge=1.0)
    charge = label_charge(plan)
    top = chemistry.voltage_full_charge or chemistry.voltage_nominal * 1.1
    return SourceOutcome(
        name=table.name,
        volts_full=range_of(_column(full, plan, wanted)),
        volts_floor=chemistry.voltage_floor * table.cells,
        volts_charging=top * table.cells,
        resistance=range_of(_column(battery.resistance_ohmic, plan, wanted)),
        short_circuit=range_of(_column(short_circuit_current(battery), plan, wanted)),
        energy_full=range_of(_column(charge * chemistry.voltage_nominal * table.cells, plan, 0)),
    )
