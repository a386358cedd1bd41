"""Ten hours of a battery and its cutoff after the first opening, for several gaps."""

from __future__ import annotations

import math

import numpy as np

from boomwright.outcome.cutoff_law import CutoffLaw
from boomwright.outcome.cycling import CutoffRun, run_with_cutoff
from boomwright.physics.battery import battery_full
from boomwright.physics.chemistry import load_chemistries
from boomwright.physics.pack import battery_pack

__all__ = ["GAPS", "HOURS", "ten_hours"]

GAPS = (0.0, 0.02, 0.2, 0.5, 1.0, 1.5, math.inf)
HOURS = 10.0
_CHEMISTRY = load_chemistries()["lead-agm"]
_BATTERY = battery_pack(
    _CHEMISTRY, capacity_rated=9.0 * 3600.0, duration_rated=20.0 * 3600.0, cells=6
)


def ten_hours(gap: float) -> CutoffRun:
    """A 12 V 9 Ah sealed battery under about 0.8 A, from full to 10.5 V and ten hours beyond."""
    law = CutoffLaw(
        off=10.5,
        on=10.5 + gap,
        smoothing=0.05,
        delay_off=0.005,
        delay_on=0.010,
        drain_on=0.03,
        drain_off=0.003,
        resistance=0.03,
    )
    return run_with_cutoff(
        _BATTERY,
        law,
        state=battery_full(_BATTERY),
        load_volts=np.array([9.0, 12.0, 13.0]),
        load_amps=np.array([0.6, 0.8, 0.87]),
        chemistry=_CHEMISTRY,
        cells=6,
        time_after=HOURS * 3600.0,
    )
