"""What every version of a build gives, so that two builds can be compared version by version."""

from __future__ import annotations

import numpy as np

from boomwright.build.draws import Draws
from boomwright.build.model import MANY_KINDS, ONE_KINDS, Build
from boomwright.outcome.loudness import level_where_wanted
from boomwright.outcome.speakers import level_at_1m
from boomwright.outcome.worked import Worked
from boomwright.physics.amplifier import clean_power
from boomwright.physics.arrays import Floats

__all__ = ["versions_of"]


def versions_of(worked: Worked) -> dict[str, Floats]:
    """Figures of every version of a build, the likely one first.

    Parameters
    ----------
    worked : Worked
        From :func:`boomwright.outcome.worked.work_out`; its Outcome's ranges rest on the same
        versions.

    Returns
    -------
    dict of str to array (versions + 1,)
        ``duration``, ``level``, ``watts`` and ``air`` with the key of the scenario, ``junction``
        with that and a part, ``clean`` with amplifier and channel, and ``mass`` and ``price`` [SI].
    """
    plan, run, warmth, scenarios = worked.plan, worked.run, worked.warmth, worked.scenarios
    shape = (plan.draws.versions, len(scenarios))
    level = np.broadcast_to(
        level_where_wanted(plan, level_at_1m(plan.outputs, run.start.mean_squares)), shape
    )
    watts = np.broadcast_to(run.start.current * run.start.terminal, shape)
    air = np.broadcast_to(warmth.air, shape)
    found = _totals(plan.build, plan.draws)
    for column, scenario in enumerate(scenarios):
        key = scenario.key
        found[f"duration {key}"] = run.duration[:, column]
        found[f"level {key}"] = level[:, column]
        found[f"watts {key}"] = watts[:, column]
        found[f"air {key}"] = air[:, column]
        for node, hot in zip(plan.nodes, warmth.hottest, strict=True):
            if hot is not None:
                found[f"junction {key} {node.name}"] = np.broadcast_to(hot, shape)[:, column]
        if key == "flat-out":
            for output, peak in zip(plan.outputs, run.start.peaks, strict=True):
                watts_out = np.broadcast_to(clean_power(peak, output.load), shape)[:, column]
                found[f"clean {output.amplifier} {output.channel}"] = watts_out
    return found


def _totals(build: Build, draws: Draws) -> dict[str, Floats]:
    """Weight and price of every version, summed over the parts that say theirs."""
    found: dict[str, Floats] = {}
    for kind in (*ONE_KINDS, *MANY_KINDS):
        content = getattr(build, kind)
        for part in content if isinstance(content, tuple) else (content,):
            for key in ("mass", "price"):
                value = getattr(part, key, None)
                if value is not None:
                    each = draws.take(part.name, key, value)[:, 0] * getattr(part, "count", 1)
                    found[key] = found.get(key, np.zeros(draws.versions)) + each
    return found
